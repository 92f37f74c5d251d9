package mockup

import (
	"slices"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Figures on pieces: seven strokes each, as on a pocket calculator, because straight strokes of one width print well.
const (
	strokeMM   = 0.5 // a little more than one line of a 0.4 mm nozzle
	sinkMM     = 0.4 // two layers
	leastHigh  = 3.7 // of a number with its line: what its strokes enclose is then a line of the nozzle wide, and stands
	mostHigh   = 5.0
	figureWide = 0.6 // over its height
	figureGap  = 0.3
	underMM    = 1.2 // taken by the line under a number and the space above it
)

// segments of the figures 0 to 9 and of letters: top, upper left, upper right, middle, lower left, lower right, bottom.
var segments = map[rune]uint8{
	'0': 0b1110111, '1': 0b0010010, '2': 0b1011101, '3': 0b1011011, '4': 0b0111010, '5': 0b1101011, '6': 0b1101111, '7': 0b1010010,
	'8': 0b1111111, '9': 0b1111011,
	'a': 0b1111110, 'b': 0b0101111, 'c': 0b1100101, 'd': 0b0011111, 'e': 0b1101101, 'f': 0b1101100, 'h': 0b0111110, 'j': 0b0010111,
	'l': 0b0100101, 'p': 0b1111100, 'u': 0b0110111,
}

// letters that seven strokes can draw, and that look like no figure.
const letters = "abcdefhjlpu"

// letter names the nth of pieces that share a number; beyond the alphabet there are two letters, and so on.
func letter(n int) string {
	if n < len(letters) {
		return letters[n : n+1]
	}
	return letter(n/len(letters)-1) + letters[n%len(letters):n%len(letters)+1]
}

// spot is a place for a number: a rectangle whose middle is at at, with x to the right, y up and z out of the surface.
type spot struct {
	pose       geom.Pose
	wide, high float64
	tag        []sdf.Solid             // to be added for it: a tag and the bridge it is broken off at
	remade     func(wide float64) spot // the same tag, that wide
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
		left := x0 + float64(n)*pitch + h
		right := left + wide - strokeMM
		top, bottom := total/2-h, total/2-high+h
		mid := (top + bottom) / 2
		lines := [7][4]float64{
			{left, top, right, top}, {left, mid, left, top}, {right, mid, right, top}, {left, mid, right, mid},
			{left, bottom, left, mid}, {right, bottom, right, mid}, {left, bottom, right, bottom},
		}
		for i, l := range lines {
			if segments[r]&(1<<(6-i)) != 0 {
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
	h := min(mostHigh, s.high-2*margin, underMM+(s.wide-2*margin)/(n*figureWide+(n-1)*figureGap))
	if h < leastHigh {
		return 0
	}
	return h
}

// marked is the solid with a number sunk into the first spot that is large enough, and whether that is on a tag.
func (s shape) marked(words string) (marked sdf.Leafed, tagged bool) {
	plain := s.solid()
	for _, at := range s.marks {
		at = at.forWords(words)
		h := figureHeight(words, at)
		if h == 0 || len(at.tag) == 0 && !whole(plain, at, words, h) {
			continue
		}
		strokes := sdf.Move(sdf.Boxes(figures(words, h, sinkMM, 0.5)...), at.pose)
		body := plain
		if len(at.tag) > 0 {
			body = sdf.Join(append([]sdf.Solid{plain}, at.tag...)...)
		}
		return sdf.Cut(body, strokes), len(at.tag) > 0
	}
	return plain, false
}

// whole tells whether the surface is flat and solid all round a number: not where a hole or a pocket is.
func whole(body sdf.Solid, at spot, words string, h float64) bool {
	n := float64(len(words))
	wide := (h-underMM)*(n*figureWide+(n-1)*figureGap) + 2*strokeMM
	const steps, air, under = 8, 0.05, leastWallMM // what must be left below a stroke
	for i := range steps + 1 {
		for k := range steps + 1 {
			x, y := wide*(float64(i)/steps-0.5), h*(float64(k)/steps-0.5)
			if body.Distance(at.pose.Apply(geom.V(x, y, air))) <= 0 || body.Distance(at.pose.Apply(geom.V(x, y, -sinkMM-under))) >= 0 {
				return false
			}
		}
	}
	return true
}

// forWords makes a tag wide enough for a longer mark.
func (s spot) forWords(words string) spot {
	if len(s.tag) == 0 || s.remade == nil || len(words) <= tagFigures {
		return s
	}
	n := float64(len(words))
	const high = tagHighMM - 1.6 - underMM // of the figures of a tag: what margins and the line leave
	return s.remade(1.6 + high*(n*figureWide+(n-1)*figureGap) + 0.1)
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
	bridgeInMM  = 1.5 // that it goes into the body, at least
	tagDigitsMM = 7.6 // width: room for tagFigures
	tagFigures  = 2
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
	for _, a := range slices.Concat(s.arms, s.stems) {
		for _, p := range []geom.Vec{a.at, a.at.Add(a.dir.Mul(a.length))} {
			low = min(low, p.Dot(s.up))
		}
	}
	thickest := 0.0
	for _, a := range s.arms {
		if abs(a.dir.Dot(s.up)) < 0.9 {
			thickest = max(thickest, a.radius)
		}
	}
	return tag(side, s.up, far-0.3, low, underArm(thickest))
}

// underArm is how far the bridge of a tag goes in under the side of an arm that lies on the plate, to where its flat is.
func underArm(radius float64) float64 { return max(bridgeInMM, radius*(1-eighth)+0.2) }

// tag is a plate on the print bed at a distance along side, its underside at low along up; its bridge goes so far into the body.
func tag(side, up geom.Vec, from, low, in float64) spot {
	s := tagOf(side, up, from, low, in, tagDigitsMM)
	s.remade = func(wide float64) spot { return tagOf(side, up, from, low, in, wide) }
	return s
}

func tagOf(side, up geom.Vec, from, low, in, wide float64) spot {
	across := up.Cross(side)
	frame := geom.Pose{Origin: up.Mul(low), X: side, Y: across, Z: up}
	start := from + bridgeLong
	plate := geom.Box{Min: geom.V(start, -wide/2, 0), Max: geom.V(start+tagHighMM, wide/2, tagThickMM)}
	bridge := geom.Box{Min: geom.V(from-in, -bridgeMM/2, 0.15), Max: geom.V(start+0.5, bridgeMM/2, 0.15+bridgeMM)}
	middle := frame.Apply(geom.V(start+tagHighMM/2, 0, tagThickMM))
	return spot{
		pose: geom.Pose{Origin: middle, X: across, Y: side.Neg(), Z: up}, wide: wide, high: tagHighMM,
		tag: []sdf.Solid{sdf.Move(sdf.Boxes(plate, bridge), frame)},
	}
}

// tagBeside is a tag beside the middle of a rod that lies on the plate.
func (b *builder) tagBeside(f fit, long float64, up geom.Vec) spot {
	r := f.rod * rodShare / 2
	make := func(wide float64) spot {
		t := tagOf(geom.AxisZ.Cross(up), up, r-0.1, -r, underArm(r), wide)
		shift := geom.At(geom.V(0, 0, long/2))
		t.pose = shift.Compose(t.pose)
		t.tag = []sdf.Solid{sdf.Move(t.tag[0], shift)}
		return t
	}
	t := make(tagDigitsMM)
	t.remade = make
	return t
}

// tagRound is a tag beside a round body that stands on the plate.
func (b *builder) tagRound(radius float64, up geom.Vec) spot {
	return tag(up.Across(), up, radius-0.2, 0, bridgeInMM)
}

// boardSpots are places on a board's upper side, from the middle outwards, and a tag for when none of them is whole.
func (b *builder) boardSpots(s *shape, hull geom.Box, thin int) []spot {
	up := axisOf(thin)
	long := (thin + 1) % 3
	if side(hull, (thin+2)%3) > side(hull, long) {
		long = (thin + 2) % 3
	}
	short := 3 - thin - long
	top := b.smallVec(hull.Centre())
	high := b.small(side(hull, thin))
	top = top.Add(up.Mul(max(high, sheetMM) - high/2))
	l, w := b.small(side(hull, long)), b.small(side(hull, short))
	var out []spot
	for _, fx := range []float64{0, 0.15, -0.15, 0.3, -0.3, 0.42, -0.42} {
		for _, fy := range []float64{0, 0.25, -0.25} {
			at := top.Add(axisOf(long).Mul(fx * l)).Add(axisOf(short).Mul(fy * w))
			out = append(out, spot{pose: geom.Facing(at, up, axisOf(long)), wide: (1 - 2*abs(fx)) * l, high: (1 - 2*abs(fy)) * w})
		}
	}
	return append(out, s.tagAtBase())
}
