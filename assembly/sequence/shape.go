package sequence

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// shape is a body's material in the finished frame.
type shape struct {
	solids []solid
	boxes  []geom.Box // of each solid
	box    geom.Box   // of all
}

func newShape(solids []solid) shape {
	s := shape{solids: solids, boxes: make([]geom.Box, len(solids)), box: geom.EmptyBox()}
	for i := range solids {
		s.boxes[i] = solids[i].bounds()
		s.box = s.box.Union(s.boxes[i])
	}
	return s
}

// shapeOf places a part's outline. Boards, cleats and the room are their own boxes, less their holes.
func shapeOf(p *assembly.Part, o assembly.Outline, pose geom.Pose) shape {
	var out []solid
	boxes := o.Boxes
	if len(p.Boxes) > 0 {
		boxes = pierced(p)
	} else {
		for _, t := range o.Tubes {
			out = append(out, tubeSolid(t, pose))
		}
	}
	for _, b := range boxes {
		out = append(out, boxSolid(b, pose))
	}
	return newShape(out)
}

func tubeSolid(t assembly.Tube, pose geom.Pose) solid {
	d := pose.Rotate(t.Dir).Unit()
	return solid{
		round: true, axis: d, half: t.Length / 2, radius: t.Radius, bore: t.Bore,
		centre: pose.Apply(t.At).Add(d.Mul(t.Length / 2)),
	}
}

func boxSolid(b geom.Box, pose geom.Pose) solid {
	h := b.Size().Mul(0.5)
	return solid{centre: pose.Apply(b.Centre()), edge: [3]geom.Vec{pose.X.Mul(h.X), pose.Y.Mul(h.Y), pose.Z.Mul(h.Z)}}
}

// pierced returns the boxes of a board less its holes, each hole taken as the square round it: a pipe that fits the
// hole fits the square, and a part that does not fit still meets the middle of its sides.
func pierced(p *assembly.Part) []geom.Box {
	boxes := append([]geom.Box(nil), p.Boxes...)
	for _, h := range p.Holes {
		var next []geom.Box
		for _, b := range boxes {
			next = append(next, b.Subtract(holeBox(h, b))...)
		}
		boxes = next
	}
	return boxes
}

// holeBox is the square prism round a hole, through b when the hole goes right through.
func holeBox(h assembly.Hole, b geom.Box) geom.Box {
	long := h.Depth
	from := h.At
	if long == 0 {
		long = 2 * (b.Diagonal() + h.At.Sub(b.Centre()).Len())
		from = h.At.Sub(h.Dir.Mul(long / 2))
	}
	line := geom.BoxOf(from, from.Add(h.Dir.Mul(long)))
	r := h.Diameter / 2
	across := func(c float64) float64 { return r * math.Sqrt(math.Max(0, 1-c*c)) }
	g := geom.V(across(h.Dir.X), across(h.Dir.Y), across(h.Dir.Z))
	return geom.Box{Min: line.Min.Sub(g), Max: line.Max.Add(g)}
}

// ring is where a body passes when it turns right round an axis: distances from the axis and along it.
type ring struct{ near, far, low, high float64 }

// parallelTolerance is the sine below which two directions count as one.
const parallelTolerance = 1e-9

// ringOf returns bounds of the image of s about the line through at along dir, and whether they are exact because
// both share the axis.
func ringOf(s *solid, at, dir geom.Vec) (ring, bool) {
	r := ring{low: s.support(dir.Neg()).Sub(at).Dot(dir), high: s.support(dir).Sub(at).Dot(dir)}
	if s.round {
		return tubeRing(s, at, dir, r)
	}
	var far float64
	for i := 0; i < 8; i++ {
		p := s.centre
		for k, e := range s.edge {
			if i>>k&1 == 0 {
				p = p.Add(e)
			} else {
				p = p.Sub(e)
			}
		}
		far = math.Max(far, offAxis(p, at, dir))
	}
	r.far = far
	long := solid{round: true, centre: at.Add(dir.Mul((r.low + r.high) / 2)), axis: dir, half: (r.high-r.low)/2 + 1}
	r.near = distance(&long, s, math.Inf(1))
	return r, false
}

// rimSteps is the number of points on the rim of a disc whose largest distance from the axis stands for the rim's;
// rimExcess is the most that the rim can lie further out between two of them, in radii.
const rimSteps = 16

var rimExcess = 1 - math.Cos(math.Pi/rimSteps)

func tubeRing(s *solid, at, dir geom.Vec, r ring) (ring, bool) {
	if s.axis.Cross(dir).Len() < parallelTolerance {
		d := offAxis(s.centre, at, dir)
		if d < coaxialTolerance {
			r.near, r.far = s.bore, s.radius
			return r, true
		}
		r.near, r.far = math.Max(0, d-s.radius), d+s.radius
		return r, false
	}
	u := s.axis.Across()
	v := s.axis.Cross(u)
	for _, end := range []float64{-s.half, s.half} {
		c := s.centre.Add(s.axis.Mul(end))
		for i := 0; i < rimSteps; i++ {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / rimSteps)
			p := c.Add(u.Mul(s.radius * cos)).Add(v.Mul(s.radius * sin))
			r.far = math.Max(r.far, offAxis(p, at, dir)+rimExcess*s.radius)
		}
	}
	r.near = math.Max(0, lineToSegment(s, at, dir)-s.radius)
	return r, false
}

// coaxialTolerance is how far apart, in mm, two parallel lines may lie to count as one: far below any clearance, far
// above the rounding of a frame of a hundred metres.
const coaxialTolerance = 1e-3

func offAxis(p, at, dir geom.Vec) float64 {
	d := p.Sub(at)
	return d.Sub(dir.Mul(d.Dot(dir))).Len()
}

// lineToSegment is the least distance of the middle line of s from the line through at along dir. Seen along dir the
// line is a point, and the segment stays one.
func lineToSegment(s *solid, at, dir geom.Vec) float64 {
	flat := func(p geom.Vec) geom.Vec { d := p.Sub(at); return d.Sub(dir.Mul(d.Dot(dir))) }
	a, b := flat(s.centre.Sub(s.axis.Mul(s.half))), flat(s.centre.Add(s.axis.Mul(s.half)))
	w := [4]geom.Vec{a, b}
	v, _, _ := nearestOnSegment(&w)
	return v.Len()
}
