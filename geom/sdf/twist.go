package sdf

import (
	"math"

	"turnwise/geom"
)

// TwistLeaf is a half plane that turns as it goes along its edge, the line through At along Dir: at the distance s along
// it the half plane's plane stands at the angle Angle + Rate s (radians, right-handed about Dir, from Side). The material
// lies where angles are greater, or where they are smaller if Below. Distances count up to the radius Reach and are
// scaled so that they grow by at most 1 per length there; beyond it they are those of the nearest point within.
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

// slope is the greatest slope of the plain distance from the turning plane within Reach.
func (l TwistLeaf) slope() float64 { return math.Sqrt(1 + l.Rate*l.Rate*l.Reach*l.Reach) }

// Distance is a bound: the distance from the plane that stands beside p, over the slope.
func (l TwistLeaf) Distance(p geom.Vec) float64 {
	s, x, y := l.frame(p)
	sin, cos := math.Sincos(l.Angle + l.Rate*s)
	return l.sign() * (y*cos - x*sin) / l.slope()
}

// Gradient is square to the surface.
func (l TwistLeaf) Gradient(p geom.Vec) geom.Vec {
	s, x, y := l.frame(p)
	sin, cos := math.Sincos(l.Angle + l.Rate*s)
	g := l.Side.Mul(-sin).Add(l.Dir.Cross(l.Side).Mul(cos)).Add(l.Dir.Mul(-l.Rate * (x*cos + y*sin)))
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
// Empty. A bound: distances from the turning sides are scaled down by their slope. Leaves: the barrel, the end at at, the
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
	for i, d := range [4]float64{w.from.Distance(p), w.to.Distance(p), w.low.Distance(p), w.high.Distance(p)} {
		if d > most {
			most, leaf = d, i+1
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
