package sdf

import (
	"math"

	"turnwise/geom"
)

// finite tells whether all numbers are finite.
func finite(xs ...float64) bool {
	for _, x := range xs {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// hypot is math.Hypot without its care for numbers whose squares overflow: three times as fast.
func hypot(x, y float64) float64 { return math.Sqrt(x*x + y*y) }

// line is an axis: a point and a unit direction.
type line struct{ at, dir geom.Vec }

// newLine returns the line through at along dir, and false when that is none.
func newLine(at, dir geom.Vec) (line, bool) {
	u := dir.Unit()
	return line{at, u}, at.IsFinite() && u.IsFinite() && u != geom.Vec{}
}

// along returns the distances along and from the line.
func (l line) along(p geom.Vec) (s, r float64) {
	d := p.Sub(l.at)
	s = d.Dot(l.dir)
	return s, d.Sub(l.dir.Mul(s)).Len()
}

// point returns the point of the line at distance s.
func (l line) point(s float64) geom.Vec { return l.at.Add(l.dir.Mul(s)) }

// circle returns the feature at distance s with radius r.
func (l line) circle(s, r float64) Feature {
	return Feature{At: l.point(s), To: l.point(s), Dir: l.dir, Radius: r}
}

// box returns the bounding box of a disc.
func (l line) box(s, r float64) geom.Box { return l.circle(s, r).Box() }

// disc returns the distance from a point at (s, r) to the flat disc of radius radius at s = 0.
func disc(s, r, radius float64) float64 {
	if r <= radius {
		return math.Abs(s)
	}
	return hypot(s, r-radius)
}

// cylinder is a full cylinder about axis, whose point is its middle.
type cylinder struct {
	axis         line
	half, radius float64
	leaves       []Leaf
	box          geom.Box
}

// Cylinder is the full cylinder of radius about the line from at along dir, for length. Exact.
// Leaves: the barrel, the end at at, the far end.
func Cylinder(at, dir geom.Vec, length, radius float64) Leafed {
	l, ok := newLine(at, dir)
	if !ok || !finite(length, radius) || length <= 0 || radius <= 0 {
		return Empty()
	}
	far := l.point(length)
	return &cylinder{
		axis: line{l.point(length / 2), l.dir}, half: length / 2, radius: radius,
		leaves: []Leaf{
			CylinderLeaf{at, l.dir, radius, false},
			PlaneLeaf{at, l.dir.Neg()},
			PlaneLeaf{far, l.dir},
		},
		box: l.box(0, radius).Union(l.box(length, radius)),
	}
}

func (c *cylinder) eval(p geom.Vec) (float64, int) {
	s, r := c.axis.along(p)
	end := 2
	if s < 0 {
		s, end = -s, 1
	}
	ds, dr := s-c.half, r-c.radius
	leaf := 0
	if ds > dr {
		leaf = end
	}
	if ds > 0 && dr > 0 {
		return math.Sqrt(ds*ds + dr*dr), leaf
	}
	return max(ds, dr), leaf
}

func (c *cylinder) Distance(p geom.Vec) float64 { d, _ := c.eval(p); return d }
func (c *cylinder) ActiveLeaf(p geom.Vec) int   { _, l := c.eval(p); return l }
func (c *cylinder) Leaves() []Leaf              { return c.leaves }
func (c *cylinder) Bounds() geom.Box            { return c.box }
func (c *cylinder) exactOutside() bool          { return true }
func (c *cylinder) features() []Feature {
	return []Feature{c.axis.circle(-c.half, c.radius), c.axis.circle(c.half, c.radius)}
}

// sphere is the ball about at.
type sphere struct{ leaf SphereLeaf }

// Sphere is the ball of radius about at. Exact. Its one leaf is the sphere.
func Sphere(at geom.Vec, radius float64) Leafed {
	if !at.IsFinite() || !finite(radius) || radius <= 0 {
		return Empty()
	}
	return sphere{SphereLeaf{at, radius, false}}
}

func (b sphere) eval(p geom.Vec) (float64, int) { return b.leaf.Distance(p), 0 }
func (b sphere) Distance(p geom.Vec) float64    { return b.leaf.Distance(p) }
func (b sphere) ActiveLeaf(geom.Vec) int        { return 0 }
func (b sphere) Leaves() []Leaf                 { return []Leaf{b.leaf} }
func (b sphere) Bounds() geom.Box               { return geom.BoxOf(b.leaf.At).Grow(b.leaf.Radius) }
func (b sphere) exactOutside() bool             { return true }
func (b sphere) features() []Feature            { return nil }

// torus is the full ring.
type torus struct{ leaf TorusLeaf }

// Torus is the full ring: all points within minor of the circle of radius major about at, square to dir. Exact.
// It is Empty unless minor is at most major. Its one leaf is the torus.
func Torus(at, dir geom.Vec, major, minor float64) Leafed {
	l, ok := newLine(at, dir)
	if !ok || !finite(major, minor) || minor <= 0 || minor > major {
		return Empty()
	}
	return torus{TorusLeaf{at, l.dir, major, minor, false}}
}

func (t torus) eval(p geom.Vec) (float64, int) { return t.leaf.Distance(p), 0 }
func (t torus) Distance(p geom.Vec) float64    { return t.leaf.Distance(p) }
func (t torus) ActiveLeaf(geom.Vec) int        { return 0 }
func (t torus) Leaves() []Leaf                 { return []Leaf{t.leaf} }
func (t torus) Bounds() geom.Box {
	return line{t.leaf.At, t.leaf.Dir}.box(0, t.leaf.Major).Grow(t.leaf.Minor)
}
func (t torus) exactOutside() bool  { return true }
func (t torus) features() []Feature { return nil }
