package solidify

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// Outlines are coarser than solids by at most these amounts.
const (
	// taperStepMM is how far a tube may stand off a tapered wall: the thread of a pipe end takes three tubes or four.
	taperStepMM = 0.15
	// arcStepDeg is the turn of a bend that one straight tube stands for: off by 0.2 mm at a radius of 25 mm.
	arcStepDeg = 15.0
	// ballSlices is the number of discs that a ball is cut into.
	ballSlices = 12
)

// Outline returns tubes and boxes, in the part frame, that hold all the material of a part and little more: bores are
// kept, so that a pipe may enter; tapered walls are off by at most taperStepMM, hexagons and squares are as round as
// their corners reach. Two things stay closed that are open in the solid, and a made-up pipe end may stand in them: the bore of a leg where
// it enters the side of another leg, and that of an elbow's legs within a quarter of the body's diameter of the bend.
func Outline(p assembly.Part) (assembly.Outline, error) {
	if isBoxes(p.Kind) {
		return woodOutline(p.Boxes, p.Holes), nil
	}
	shape, err := standard.SolidOf(p.Kind, p.Half, p.Dims)
	if err != nil {
		return assembly.Outline{}, fmt.Errorf("outline of %s: %w", p.ID, err)
	}
	o := outline(shape)
	for _, l := range shape.Loose {
		more := outline(l)
		o.Tubes, o.Boxes = append(o.Tubes, more.Tubes...), append(o.Boxes, more.Boxes...)
	}
	return o, nil
}

// outline is that of one body.
func outline(shape standard.Solid) assembly.Outline {
	adds, cuts := unfold(shape.Add), unfold(shape.Cut)
	var o assembly.Outline
	for _, a := range adds.spindles {
		o.Tubes = append(o.Tubes, tubes(a.line, slices(a.profiles, cuts.find(a.line)))...)
	}
	for _, a := range adds.arcs {
		o.Tubes = append(o.Tubes, arcTubes(a, boreOf(a, cuts.arcs))...)
	}
	for _, b := range adds.balls {
		o.Tubes = append(o.Tubes, ballTubes(b, cuts.balls, adds.spindles)...)
	}
	o.Tubes = append(o.Tubes, adds.corners...)
	o.Boxes = adds.blocks
	if len(cuts.blocks) > 0 { // sheet metal bent round a pipe: only boxes can show its gap
		for _, t := range o.Tubes {
			o.Boxes = append(o.Boxes, tubeBoxes(t)...)
		}
		o.Tubes = nil
	}
	for _, c := range cuts.blocks {
		o.Boxes = subtract(o.Boxes, c)
	}
	return o
}

// unfolded are primitives taken apart for an outline: bends into arcs and straight ends, prisms as round as their
// corners reach.
type unfolded struct {
	gathered
	arcs, balls []standard.Primitive
	blocks      []geom.Box
	corners     []assembly.Tube
}

func unfold(ps []standard.Primitive) unfolded {
	u := unfolded{gathered: gather(ps)}
	for _, p := range u.rest {
		at, dir, side := vec(p.At), vec(p.Dir), vec(p.Side)
		switch p.Form {
		case standard.Bend:
			u.arcs = append(u.arcs, p)
			end, out := arcPoint(p, p.TurnDeg)
			u.straight(line{at, dir.Neg()}, p.Lead, p.Radius)
			u.straight(line{end, out}, p.Trail, p.Radius)
		case standard.Prism:
			u.straight(line{at, dir}, p.Length, p.Across/2/math.Cos(math.Pi/float64(p.Flats)))
		case standard.Ball:
			u.balls = append(u.balls, p)
		case standard.Star:
			u.star(p)
		case standard.Flare:
			u.flare(line{at, dir}, p)
		case standard.Block:
			h := vec(p.Half)
			u.blocks = append(u.blocks, geom.Pose{Origin: at, X: dir, Y: side, Z: dir.Cross(side)}.Box(geom.Box{Min: h.Neg(), Max: h}))
		}
	}
	return u
}

// star mounts the rods of a star, the ball that they begin in where it shows, and what fills the corners.
func (u *unfolded) star(p standard.Primitive) {
	widest := 0.0
	for _, r := range p.Rods {
		u.mount(line{vec(p.At), vec(r.Dir)}, []standard.Station{{S: 0, R: r.Radius}, {S: r.Length, R: r.Radius}})
		widest = max(widest, r.Radius)
	}
	if !p.HoldsBall() {
		u.balls = append(u.balls, standard.Primitive{Form: standard.Ball, At: p.At, Radius: widest})
	}
	for i, a := range p.Rods {
		for _, b := range p.Rods[:i] {
			if a.Radius > b.Radius {
				u.corner(p, b, a)
			} else {
				u.corner(p, a, b)
			}
		}
	}
}

// cornerParts are where, in parts of its height, a corner is divided across the plane of both lines.
var cornerParts = [...]float64{0, 0.5, 0.8, 1}

// corner lays what fills the corner of two rods: boxes where they are square to one another and to the axes, else a ring
// about the thinner. In the plane at the height h over that of both lines the corner begins where the barrels cross and ends
// where the ball last touches them, each of which shrinks with h; the ball that touches at h has its centre higher by
// (radius + fillet) / radius.
func (u *unfolded) corner(p standard.Primitive, thin, thick standard.Rod) {
	at, x, y := vec(p.At), vec(thin.Dir), vec(thick.Dir)
	if x.Dot(y) < -1+sameMM {
		return
	}
	a, b, f := thin.Radius, thick.Radius, p.Fillet
	n := x.Cross(y)
	if !onAxis(x) || !onAxis(y) || math.Abs(x.Dot(y)) > sameMM {
		u.corners = append(u.corners, assembly.Tube{At: at, Dir: x, Length: p.CornerEnd(thin), Radius: a + f, Bore: a})
		return
	}
	block := func(x0, x1, y0, y1, n0, n1 float64) {
		lo := at.Add(x.Mul(x0)).Add(y.Mul(y0)).Add(n.Mul(n0))
		hi := at.Add(x.Mul(x1)).Add(y.Mul(y1)).Add(n.Mul(n1))
		u.blocks = append(u.blocks, geom.BoxOf(lo, hi))
	}
	half := func(r, h float64) float64 { return math.Sqrt(max(0, r*r-h*h)) }
	top := (a + f) * b / (b + f) // where the ball last touches the thicker rod
	for k := 1; k < len(cornerParts); k++ {
		low, high := top*cornerParts[k-1], top*cornerParts[k]
		centre := low * (b + f) / b
		x0, x1, y0, y1 := half(b, high), half(b+f, centre), half(a, high), half(a+f, centre)
		if k == 1 {
			block(x0, x1, y0, y1, -high, high)
			continue
		}
		block(x0, x1, y0, y1, low, high)
		block(x0, x1, y0, y1, -high, -low)
	}
	if b > a { // on the side away from the thicker rod its ball makes the corner
		block(half(b, top), half(b+f, a+f), -top, 0, -top, top)
	}
}

// onAxis tells whether a direction is that of an axis.
func onAxis(d geom.Vec) bool { return max(math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)) > 1-sameMM }

// flare mounts a flare as two discs.
func (u *unfolded) flare(l line, p standard.Primitive) {
	const third = 1. / 3
	rim := p.Radius + p.Fillet
	neck := rim - p.Fillet*math.Sqrt(1-(1-third)*(1-third))
	u.mount(l, []standard.Station{{S: 0, R: rim}, {S: p.Fillet * third, R: rim}})
	u.mount(l, []standard.Station{{S: 0, R: neck}, {S: p.Fillet, R: neck}})
}

// straight mounts a cylinder of length, if it has one.
func (u *unfolded) straight(l line, length, radius float64) {
	if length > 0 {
		u.mount(l, []standard.Station{{S: 0, R: radius}, {S: length, R: radius}})
	}
}

// tubes makes the tubes that hold slices. Tapered ones are divided; equal neighbours become one.
func tubes(l line, ss []slice) []assembly.Tube {
	var out []assembly.Tube
	end := math.Inf(-1)
	for _, s := range ss {
		most := max(math.Abs(s.radius1-s.radius0), math.Abs(s.bore1-s.bore0))
		n := max(1, int(math.Ceil(most/taperStepMM-sameMM)))
		for i := range n {
			t := s.part(float64(i)/float64(n), float64(i+1)/float64(n))
			radius, bore := max(t.radius0, t.radius1), max(0, min(t.bore0, t.bore1))
			if last := len(out) - 1; last >= 0 && t.s0-end <= sameMM && out[last].Radius == radius && out[last].Bore == bore {
				out[last].Length = t.s1 - out[last].At.Sub(l.at).Dot(l.dir)
			} else {
				out = append(out, assembly.Tube{At: l.at.Add(l.dir.Mul(t.s0)), Dir: l.dir, Length: t.s1 - t.s0, Radius: radius, Bore: bore})
			}
			end = t.s1
		}
	}
	return out
}

// part returns the slice between the fractions a and b of its length.
func (s slice) part(a, b float64) slice {
	mix := func(x0, x1, t float64) float64 { return x0 + (x1-x0)*t }
	return slice{
		mix(s.s0, s.s1, a), mix(s.s0, s.s1, b),
		mix(s.radius0, s.radius1, a), mix(s.radius0, s.radius1, b),
		mix(s.bore0, s.bore1, a), mix(s.bore0, s.bore1, b),
	}
}

// arcPoint returns the point of a bend's middle line after a turn of deg, and the direction there.
func arcPoint(p standard.Primitive, deg float64) (at, dir geom.Vec) {
	s, c := math.Sincos(deg * math.Pi / 180)
	d, side := vec(p.Dir), vec(p.Side)
	at = vec(p.At).Add(d.Mul(p.BendRadius * s)).Add(side.Mul(p.BendRadius * (1 - c)))
	return at, d.Mul(c).Add(side.Mul(s))
}

// boreOf returns the radius of the widest bend cut along the same middle line, 0 when there is none.
func boreOf(arc standard.Primitive, cuts []standard.Primitive) float64 {
	bore := 0.0
	for _, c := range cuts {
		if c.At == arc.At && c.Dir == arc.Dir && c.Side == arc.Side && c.BendRadius == arc.BendRadius && c.TurnDeg >= arc.TurnDeg {
			bore = max(bore, c.Radius)
		}
	}
	return bore
}

// arcTubes lays straight tubes along the chords of a bend. They are wider than the bend by the height of the arc over
// its chord, narrower in the bore by as much, and so long that they meet on the outer side. At the bend's two ends
// they stop short, so that nothing reaches out of the bend into a leg where a pipe may stand; a cuff in line with the
// leg holds what is left open there.
func arcTubes(p standard.Primitive, bore float64) []assembly.Tube {
	n := int(math.Ceil(p.TurnDeg/arcStepDeg - sameMM))
	step := p.TurnDeg / float64(n)
	sin, cos := math.Sincos(step / 2 * math.Pi / 180)
	sagitta, over := p.BendRadius*(1-cos), p.Radius*sin
	var out []assembly.Tube
	for i := range n {
		a, _ := arcPoint(p, float64(i)*step)
		b, _ := arcPoint(p, float64(i+1)*step)
		dir := b.Sub(a).Unit()
		from, to := -over, b.Sub(a).Len()+over
		if i == 0 {
			from = over
		}
		if i == n-1 {
			to -= 2 * over
		}
		if to > from {
			out = append(out, assembly.Tube{
				At: a.Add(dir.Mul(from)), Dir: dir, Length: to - from, Radius: p.Radius + sagitta, Bore: max(0, bore-sagitta),
			})
		}
	}
	length := 2 * over / cos
	lift := (p.BendRadius + bore) * (1 - math.Sqrt(max(0, 1-math.Pow(length/(p.BendRadius+bore), 2))))
	// what lies open inside the middle line falls short of the leg's own line by at most this
	dip := p.BendRadius * (1 - math.Sqrt(max(0, 1-math.Pow(1.1*over/cos/p.BendRadius, 2))))
	end, out1 := arcPoint(p, p.TurnDeg)
	for _, l := range []line{{vec(p.At), vec(p.Dir)}, {end, out1.Neg()}} {
		out = append(out, assembly.Tube{At: l.at, Dir: l.dir, Length: length, Radius: p.Radius + dip, Bore: max(0, bore-lift)})
	}
	return out
}

// ballTubes lays a ball as a stack of discs, hollow where a ball about the same centre is cut from it. Of a ball at the
// beginning of a leg as wide as itself, only the half that the leg does not hold is laid.
func ballTubes(p standard.Primitive, cuts []standard.Primitive, legs []spindle) []assembly.Tube {
	hollow := 0.0
	for _, c := range cuts {
		if c.At == p.At {
			hollow = max(hollow, c.Radius)
		}
	}
	chord := func(r, z float64) float64 { return math.Sqrt(max(0, r*r-z*z)) }
	axis, discs := geom.AxisZ, ballSlices
	if leg, ok := legOver(p, legs); ok {
		axis, discs = leg, ballSlices/2
	}
	var out []assembly.Tube
	step := 2 * p.Radius / ballSlices
	for i := range discs {
		z0, z1 := -p.Radius+float64(i)*step, -p.Radius+float64(i+1)*step
		nearest := max(0, z0, -z1)
		out = append(out, assembly.Tube{
			At: vec(p.At).Add(axis.Mul(z0)), Dir: axis, Length: step,
			Radius: chord(p.Radius, nearest), Bore: chord(hollow, max(math.Abs(z0), math.Abs(z1))),
		})
	}
	return out
}

// legOver returns the direction of a leg that begins at a ball's centre and holds the half of the ball on its side.
func legOver(p standard.Primitive, legs []spindle) (geom.Vec, bool) {
	for _, l := range legs {
		for _, q := range l.profiles {
			r0, r1, ok := q.on(0, p.Radius)
			if l.line.at == vec(p.At) && ok && min(r0, r1) >= p.Radius-sameMM {
				return l.line.dir, true
			}
		}
	}
	return geom.Vec{}, false
}

// subtract takes c from every box.
func subtract(from []geom.Box, c geom.Box) []geom.Box {
	var out []geom.Box
	for _, b := range from {
		out = append(out, b.Subtract(c)...)
	}
	return out
}
