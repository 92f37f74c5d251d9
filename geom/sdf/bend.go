package sdf

import (
	"math"

	"turnwise/geom"
)

// bend is the tube round an arc with straight leads.
type bend struct {
	frame    geom.Pose // origin at the arc's centre, X towards its start, Y its direction there, Z its axis
	ring, r  float64   // radius of the arc, of the tube
	cos, sin float64   // of the turn
	first    lead
	last     lead
	leaves   []Leaf
	box      geom.Box
}

// lead is a straight piece of tube: from at along the unit vector out for length (0: the arc is cut flat there). All
// in the bend's frame, where z of both is 0.
type lead struct {
	at, out   geom.Vec
	length    float64
	wall, end int // leaves
}

// Bend is the tube of radius about an arc of radius ring that begins at at in the direction dir and turns
// towards side (made square to dir) by turn radians, up to pi, with a straight lead of length before behind at
// and one of length after beyond the arc. It is cut flat at both ends. Exact. It is Empty unless radius is at most ring,
// and with a lead turn must be at most pi/2 or the leads could meet.
// Leaves: the torus, the flat end before, the flat end after, then the barrel of each lead that has a length.
func Bend(at, dir, side geom.Vec, ring, radius, turn, before, after float64) Leafed {
	l, ok := newLine(at, dir)
	if !ok || !side.IsFinite() || !finite(ring, radius, turn, before, after) ||
		radius <= 0 || radius > ring || turn <= 0 || turn > math.Pi || before < 0 || after < 0 ||
		(before+after > 0 && turn > math.Pi/2+sameTol) {
		return Empty()
	}
	towards := geom.Facing(at, l.dir, side).X
	v := &bend{ring: ring, r: radius}
	v.frame = geom.Pose{Origin: at.Add(towards.Mul(ring)), X: towards.Neg(), Y: l.dir, Z: l.dir.Cross(towards)}
	v.sin, v.cos = math.Sincos(turn)
	if math.Abs(v.cos) < sameTol { // a right angle: keep its leaves along the axes
		v.sin, v.cos = 1, 0
	}
	v.first = lead{at: geom.V(ring, 0, 0), out: geom.V(0, -1, 0), length: before, wall: 0, end: 1}
	v.last = lead{at: geom.V(ring*v.cos, ring*v.sin, 0), out: geom.V(-v.sin, v.cos, 0), length: after, wall: 0, end: 2}
	v.leaves = []Leaf{
		TorusLeaf{v.frame.Origin, v.frame.Z, ring, radius, false},
		v.endLeaf(v.first), v.endLeaf(v.last),
	}
	v.addBarrel(&v.first)
	v.addBarrel(&v.last)
	v.box = v.bounds(turn)
	return v
}

func (v *bend) endLeaf(e lead) Leaf {
	return PlaneLeaf{v.frame.Apply(e.at.Add(e.out.Mul(e.length))), v.frame.Rotate(e.out)}
}

// addBarrel gives a lead its own leaf.
func (v *bend) addBarrel(e *lead) {
	if e.length > 0 {
		e.wall = len(v.leaves)
		v.leaves = append(v.leaves, CylinderLeaf{v.frame.Apply(e.at), v.frame.Rotate(e.out), v.r, false})
	}
}

// boxSteps divides the arc for its bounding box.
const boxSteps = 64

// bounds gathers discs along the arc. Between two of them the tube reaches further by at most the arc's sagitta.
func (v *bend) bounds(turn float64) geom.Box {
	b := geom.EmptyBox()
	for i := 0; i <= boxSteps; i++ {
		s, c := math.Sincos(turn * float64(i) / boxSteps)
		l := line{v.frame.Apply(geom.V(v.ring*c, v.ring*s, 0)), v.frame.Rotate(geom.V(-s, c, 0))}
		b = b.Union(l.box(0, v.r))
	}
	b = b.Grow((v.ring + v.r) * (1 - math.Cos(turn/boxSteps/2)))
	for _, e := range []lead{v.first, v.last} {
		l := line{v.frame.Apply(e.at), v.frame.Rotate(e.out)}
		b = b.Union(l.box(0, v.r)).Union(l.box(e.length, v.r))
	}
	return b
}

// along returns the distances of q along and from a lead's line.
func (e *lead) along(q geom.Vec) (s, r float64) {
	d := q.Sub(e.at)
	s = d.X*e.out.X + d.Y*e.out.Y
	t := d.X*e.out.Y - d.Y*e.out.X
	return s, math.Sqrt(t*t + q.Z*q.Z)
}

// outside returns the distance from a lead's piece of tube to a point at (s, r) beyond its beginning, and the leaf.
func (e *lead) outside(s, r, radius float64) (float64, int) {
	ds, dr := s-e.length, r-radius
	leaf := e.wall
	if ds > dr {
		leaf = e.end
	}
	return hypot(max(ds, 0), max(dr, 0)), leaf
}

func (v *bend) eval(p geom.Vec) (float64, int) {
	q := v.frame.Local(p)
	s0, r0 := v.first.along(q)
	s1, r1 := v.last.along(q)
	inArc := s0 <= 0 && s1 <= 0
	wall, leaf := math.Inf(1), 0 // least distance from the middle line
	if inArc {
		wall = hypot(hypot(q.X, q.Y)-v.ring, q.Z)
	}
	if s0 > 0 {
		wall, leaf = r0, v.first.wall
	}
	if s1 > 0 && r1 < wall {
		wall, leaf = r1, v.last.wall
	}
	wall -= v.r
	if v.inside(inArc, wall, s0, r0, s1, r1) {
		return v.within(wall, leaf, s0, r0, s1, r1)
	}
	if inArc {
		return wall, leaf
	}
	best, leaf := math.Inf(1), -1
	if s0 > 0 {
		best, leaf = v.first.outside(s0, r0, v.r)
	}
	if s1 > 0 {
		if d, l := v.last.outside(s1, r1, v.r); d < best {
			best, leaf = d, l
		}
	}
	return best, leaf
}

// inside tells whether a point lies in the tube: in the arc, or in one of the leads.
func (v *bend) inside(inArc bool, wall, s0, r0, s1, r1 float64) bool {
	if inArc {
		return wall < 0
	}
	return (s0 > 0 && s0 < v.first.length && r0 < v.r) || (s1 > 0 && s1 < v.last.length && r1 < v.r)
}

// within returns the negative distance of a point in the tube: to its wall or to the nearer flat end.
func (v *bend) within(wall float64, leaf int, s0, r0, s1, r1 float64) (float64, int) {
	f := wall
	if d := -disc(s0-v.first.length, r0, v.r); d > f {
		f, leaf = d, v.first.end
	}
	if d := -disc(s1-v.last.length, r1, v.r); d > f {
		f, leaf = d, v.last.end
	}
	return f, leaf
}

func (v *bend) Distance(p geom.Vec) float64 { d, _ := v.eval(p); return d }
func (v *bend) ActiveLeaf(p geom.Vec) int   { _, l := v.eval(p); return l }
func (v *bend) Leaves() []Leaf              { return v.leaves }
func (v *bend) Bounds() geom.Box            { return v.box }
func (v *bend) exactOutside() bool          { return true }
func (v *bend) features() []Feature {
	var fs []Feature
	for _, e := range []lead{v.first, v.last} {
		l := line{v.frame.Apply(e.at), v.frame.Rotate(e.out)}
		fs = append(fs, l.circle(e.length, v.r))
		if e.length > 0 {
			seam := l.circle(0, v.r)
			seam.Seam = true
			fs = append(fs, seam)
		}
	}
	return fs
}
