package sdf

import (
	"math"

	"turnwise/geom"
)

// TwistLeaf is a half plane that turns as it goes along its edge, the line through At along Dir: at the distance s along
// it the half plane's plane stands at the angle Angle + Rate s (radians, right-handed about Dir, from Side). The material
// lies where angles are greater, or where they are smaller if Below. Beyond the
// radius Reach distances are those of the nearest point within.
type TwistLeaf struct {
	At, Dir, Side geom.Vec
	Angle, Rate   float64
	Reach         float64
	Below         bool
}

// frame returns p along and across the leaf's line, drawn in to Reach.
func (l TwistLeaf) frame(p geom.Vec) (s, x, y float64) {
	d := p.Sub(l.At)
	s, x, y = d.Dot(l.Dir), d.Dot(l.Side), d.Dot(l.Dir.Cross(l.Side))
	if r := math.Hypot(x, y); r > l.Reach {
		x, y = x*l.Reach/r, y*l.Reach/r
	}
	return s, x, y
}

func (l TwistLeaf) sign() float64 {
	if l.Below {
		return 1
	}
	return -1
}

// Distance is a bound, and exact beside the surface. Let q be the distance from the plane that stands beside p, and r that
// of p from the line. Within a way t of p, q changes by at most sqrt(1 + Rate^2 (r + t)^2) per length; so the surface is no
// nearer than the t at which t times that is |q|. That t grows by at most 1 per length itself.
func (l TwistLeaf) Distance(p geom.Vec) float64 {
	s, x, y := l.frame(p)
	sin, cos := math.Sincos(l.Angle + l.Rate*s)
	q := y*cos - x*sin
	return l.sign() * math.Copysign(l.way(math.Hypot(x, y), math.Abs(q)), q)
}

// twistSteps is enough for full precision at any rate and distance: each step doubles the digits.
const twistSteps = 6

// twistEndMM is a step so small that the next, which is of the order of its square, changes nothing.
const twistEndMM = 1e-8

// way is the t at which t sqrt(1 + Rate^2 (r + t)^2) is q, by Newton's method on a convex function, from above.
func (l TwistLeaf) way(r, q float64) float64 {
	t := q / l.slope(r)
	for range twistSteps {
		at := l.slope(r + t)
		step := (t*at - q) / (at + t*l.Rate*l.Rate*(r+t)/at)
		if t -= step; math.Abs(step) <= twistEndMM {
			break
		}
	}
	return max(0, t)
}

// slope is how fast the distance from the turning plane changes at most, at a distance from the line.
func (l TwistLeaf) slope(r float64) float64 { return math.Sqrt(1 + l.Rate*l.Rate*r*r) }

// Gradient is square to the surface on it. It is singular on the line.
func (l TwistLeaf) Gradient(p geom.Vec) geom.Vec {
	s, x, y := l.frame(p)
	sin, cos := math.Sincos(l.Angle + l.Rate*s)
	third := l.Dir.Cross(l.Side)
	g := l.Side.Mul(-sin).Add(third.Mul(cos)).Add(l.Dir.Mul(-l.Rate * (x*cos + y*sin)))
	q, r := y*cos-x*sin, math.Hypot(x, y)
	if r > 0 { // what t loses as p goes outwards
		t := l.way(r, math.Abs(q))
		loss := t * l.Rate * l.Rate * (r + t) / l.slope(r+t)
		g = g.Sub(l.Side.Mul(x / r).Add(third.Mul(y / r)).Mul(math.Copysign(loss, q)))
	}
	return g.Unit().Mul(l.sign())
}

// twistedWedge is the solid made by TwistedWedge.
type twistedWedge struct {
	barrel    CylinderLeaf
	from, to  PlaneLeaf
	low, high TwistLeaf
	bounds    geom.Box
}

// TwistedWedge is a sector of a cylinder of radius about the line from at along dir, for length, that turns as it goes: at
// the distance s along it, it takes the angles from low + rate s to high + rate s (radians, right-handed about dir, from
// side, made square to dir). High must be above low by less than half a turn; else, and without length or radius, it is
// Empty. A bound, and exact beside the surface. Leaves: the barrel, the end at at, the
// far end, the low side, the high side.
func TwistedWedge(at, dir, side geom.Vec, length, radius, low, high, rate float64) Leafed {
	if length <= 0 || radius <= 0 || high <= low || high-low >= math.Pi {
		return Empty()
	}
	dir = dir.Unit()
	side = side.Sub(dir.Mul(side.Dot(dir))).Unit()
	far := at.Add(dir.Mul(length))
	w := twistedWedge{
		barrel: CylinderLeaf{At: at, Dir: dir, Radius: radius},
		from:   PlaneLeaf{At: at, Normal: dir.Neg()}, to: PlaneLeaf{At: far, Normal: dir},
		low:  TwistLeaf{At: at, Dir: dir, Side: side, Angle: low, Rate: rate, Reach: radius},
		high: TwistLeaf{At: at, Dir: dir, Side: side, Angle: high, Rate: rate, Reach: radius, Below: true},
	}
	w.bounds = Cylinder(at, dir, length, radius).Bounds()
	return w
}

func (w twistedWedge) leaves() [5]Leaf { return [5]Leaf{w.barrel, w.from, w.to, w.low, w.high} }

func (w twistedWedge) eval(p geom.Vec) (float64, int) {
	most, leaf := w.barrel.Distance(p), 0
	for i, d := range [2]float64{w.from.Distance(p), w.to.Distance(p)} {
		if d > most {
			most, leaf = d, i+1
		}
	}
	if most >= w.barrel.Radius {
		return most, leaf // no side is farther than that from anything, since distances from sides are drawn in to the radius
	}
	for i, d := range [2]float64{w.low.Distance(p), w.high.Distance(p)} {
		if d > most {
			most, leaf = d, i+3
		}
	}
	return most, leaf
}

func (w twistedWedge) Distance(p geom.Vec) float64 {
	d, _ := w.eval(p)
	return d
}

func (w twistedWedge) ActiveLeaf(p geom.Vec) int {
	_, leaf := w.eval(p)
	return leaf
}

func (w twistedWedge) Leaves() []Leaf {
	l := w.leaves()
	return l[:]
}

func (w twistedWedge) Bounds() geom.Box { return w.bounds }

func (w twistedWedge) features() []Feature {
	return []Feature{
		{At: w.from.At, Dir: w.barrel.Dir, Radius: w.barrel.Radius}, {At: w.to.At, Dir: w.barrel.Dir, Radius: w.barrel.Radius},
	}
}

func (w twistedWedge) exactOutside() bool { return false }
