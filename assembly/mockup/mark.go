package mockup

import (
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Figures on pieces: seven strokes each, as on a pocket calculator, because straight strokes of one width print well.
const (
	strokeMM   = 0.5 // a little more than one line of a 0.4 mm nozzle
	sinkMM     = 0.4 // two layers
	leastHigh  = 3.4 // of a number with its line: the least that is read after printing; common practice, no source
	mostHigh   = 5.0
	figureWide = 0.6 // over its height
	figureGap  = 0.3
	underMM    = 1.2 // taken by the line under a number and the space above it
)

// segments of the figures 0 to 9: top, upper left, upper right, middle, lower left, lower right, bottom.
var segments = [10]uint8{0b1110111, 0b0010010, 0b1011101, 0b1011011, 0b0111010, 0b1101011, 0b1101111, 0b1010010, 0b1111111, 0b1111011}

// spot is a place for a number: a rectangle whose middle is at at, with x to the right, y up and z out of the surface.
type spot struct {
	pose       geom.Pose
	wide, high float64
	tag        []sdf.Solid // to be added for it: a tag and the bridge it is broken off at
}

// figures are the strokes of a number as boxes in the frame of a spot, centred, from depth below to above. A line under
// the number tells its foot: 12 stood on its head would read 21.
func figures(words string, high, below, above float64) []geom.Box {
	total := high
	high -= underMM
	wide := high * figureWide
	pitch := wide + high*figureGap
	x0 := -(pitch*float64(len(words)) - high*figureGap) / 2
	h := strokeMM / 2
	out := []geom.Box{{Min: geom.V(x0, -total/2, -below), Max: geom.V(-x0, -total/2+strokeMM, above)}}
	for n, r := range words {
		if r < '0' || r > '9' {
			continue
		}
		left := x0 + float64(n)*pitch + h
		right := left + wide - strokeMM
		top, bottom := total/2-h, total/2-high+h
		mid := (top + bottom) / 2
		lines := [7][4]float64{
			{left, top, right, top}, {left, mid, left, top}, {right, mid, right, top}, {left, mid, right, mid},
			{left, bottom, left, mid}, {right, bottom, right, mid}, {left, bottom, right, bottom},
		}
		for i, l := range lines {
			if segments[r-'0']&(1<<(6-i)) != 0 {
				out = append(out, geom.Box{Min: geom.V(l[0]-h, l[1]-h, -below), Max: geom.V(l[2]+h, l[3]+h, above)})
			}
		}
	}
	return out
}

// figureHeight is how high the figures of a number can be on a spot; 0 when they could not be read.
func figureHeight(words string, s spot) float64 {
	const margin = 0.8 // as much as a wall
	n := float64(len(words))
	h := min(mostHigh, s.high-2*margin, (s.wide-2*margin)/(n*figureWide+(n-1)*figureGap))
	if h < leastHigh {
		return 0
	}
	return h
}

// marked is the solid with a number sunk into the first spot that is large enough, a tag's included.
func (s shape) marked(words string) sdf.Leafed {
	plain := s.solid()
	for _, at := range s.marks {
		h := figureHeight(words, at)
		if h == 0 {
			continue
		}
		strokes := sdf.Move(sdf.Boxes(figures(words, h, sinkMM, 0.5)...), at.pose)
		body := plain
		if len(at.tag) > 0 {
			body = sdf.Join(append([]sdf.Solid{plain}, at.tag...)...)
		}
		return sdf.Cut(body, strokes)
	}
	return plain
}

// armSpots are the flats of arms that face up, longest first, and a tag for when none of them is large enough.
func (s *shape) armSpots() []spot {
	var out []spot
	for _, a := range s.arms {
		if abs(a.dir.Dot(s.up)) > 0.1 {
			continue
		}
		flat := 2 * a.radius * eighth
		at := a.at.Add(a.dir.Mul(a.length / 2)).Add(s.up.Mul(a.radius))
		out = append(out, spot{pose: geom.Facing(at, s.up, a.dir), wide: a.length, high: flat})
	}
	return append(out, s.tagAtBase())
}

// eighth is the side of an eight-sided prism over the distance across its flats: tan 22.5 degrees.
const eighth = 0.41421

// Tags to break off.
const (
	tagThickMM  = 1.2
	tagHighMM   = 5.5
	bridgeMM    = 0.7 // across
	bridgeLong  = 1.4
	tagDigitsMM = 7.6 // width: room for two figures
)

// tagAtBase is a tag beside the lowest part of the body, flat on the plate.
func (s *shape) tagAtBase() spot {
	box := s.solid().Bounds()
	side := s.up.Across()
	low, far := 0.0, 0.0
	for _, c := range box.Corners() {
		low = min(low, c.Dot(s.up))
		far = max(far, c.Dot(side))
	}
	// The lowest point of the solid, not of its box: bodies that stand on one arm are wide at the foot.
	for _, a := range s.arms {
		for _, p := range []geom.Vec{a.at, a.at.Add(a.dir.Mul(a.length))} {
			low = min(low, p.Dot(s.up))
		}
	}
	return tag(side, s.up, far-0.3, low)
}

// tag is a plate on the print bed at a distance along side, its underside at low along up.
func tag(side, up geom.Vec, from, low float64) spot {
	across := up.Cross(side)
	frame := geom.Pose{Origin: up.Mul(low), X: side, Y: across, Z: up}
	start := from + bridgeLong
	plate := geom.Box{Min: geom.V(start, -tagDigitsMM/2, 0), Max: geom.V(start+tagHighMM, tagDigitsMM/2, tagThickMM)}
	bridge := geom.Box{Min: geom.V(from-1.5, -bridgeMM/2, 0.15), Max: geom.V(start+0.5, bridgeMM/2, 0.15+bridgeMM)}
	middle := frame.Apply(geom.V(start+tagHighMM/2, 0, tagThickMM))
	return spot{
		pose: geom.Pose{Origin: middle, X: across, Y: side.Neg(), Z: up}, wide: tagDigitsMM, high: tagHighMM,
		tag: []sdf.Solid{sdf.Move(sdf.Boxes(plate, bridge), frame)},
	}
}

// tagBeside is a tag beside the middle of a rod that lies on the plate.
func (b *builder) tagBeside(f fit, long float64, up geom.Vec) spot {
	r := f.rod * rodShare / 2
	t := tag(geom.AxisZ.Cross(up), up, r-0.1, -r)
	shift := geom.At(geom.V(0, 0, long/2))
	t.pose = shift.Compose(t.pose)
	t.tag = []sdf.Solid{sdf.Move(t.tag[0], shift)}
	return t
}

// tagRound is a tag beside a round body that stands on the plate.
func (b *builder) tagRound(radius float64, up geom.Vec) spot {
	return tag(up.Across(), up, radius-0.2, 0)
}

// boardSpot is the middle of a board's upper side.
func (b *builder) boardSpot(hull geom.Box, thin int) spot {
	up := axisOf(thin)
	long := (thin + 1) % 3
	if side(hull, (thin+2)%3) > side(hull, long) {
		long = (thin + 2) % 3
	}
	top := b.smallVec(hull.Centre())
	high := b.small(side(hull, thin))
	top = top.Add(up.Mul(max(high, sheetMM) - high/2))
	// A little off the middle, where a hole or a post may be.
	return spot{pose: geom.Facing(top, up, axisOf(long)), wide: b.small(side(hull, long)) / 3, high: b.small(side(hull, 3-thin-long))}
}
