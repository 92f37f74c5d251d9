package sdf

import (
	"math"

	"turnwise/geom"
)

// Station is one corner of a profile: S along the axis, R away from it.
type Station struct{ S, R float64 }

// revolve is a solid of revolution.
type revolve struct {
	axis   line
	edges  []profileEdge
	leaves []Leaf
	box    geom.Box
}

// profileEdge is one straight side of a profile in the half plane (along, radius), from (s, r) in the unit direction
// (us, ur) for length. Its outward normal is (ns, nr).
type profileEdge struct {
	s, r, us, ur, length float64
	low, high            float64 // the edge's reach along the axis, of the corners themselves: neighbours meet without a gap
	ns, nr               float64
	leaf                 int
}

// Cone is the frustum about the line from at along dir, for length, with radius r0 at at and r1 at the far end; one
// of them may be 0. Exact. Leaves: the end at at, the far end, the cone (a cylinder when the radii are equal).
func Cone(at, dir geom.Vec, length, r0, r1 float64) Leafed {
	if r0 < 0 || r1 < 0 || length <= 0 {
		return Empty()
	}
	return Revolve(at, dir, []Station{{0, 0}, {0, r0}, {length, r1}, {length, 0}})
}

// Tube is the material between the radii bore and radius about the line from at along dir, for length. A bore of 0
// gives the full cylinder. Exact.
func Tube(at, dir geom.Vec, length, radius, bore float64) Leafed {
	if bore <= 0 {
		return Cylinder(at, dir, length, radius)
	}
	if bore >= radius || length <= 0 {
		return Empty()
	}
	return Revolve(at, dir, []Station{{0, bore}, {0, radius}, {length, radius}, {length, bore}})
}

// Revolve turns closed polygons about the line from at along dir. The corners of a loop may run either way round;
// the last joins the first. A point is inside when an odd number of loops hold it, so that a loop within a loop is a
// hollow. Loops must not cross themselves or one another; radii must not be negative. Sides on the axis bound no
// material. Exact. Leaves: the surface of each side in the order given, those that coincide once.
func Revolve(at, dir geom.Vec, loops ...[]Station) Leafed {
	l, ok := newLine(at, dir)
	if !ok {
		return Empty()
	}
	v := &revolve{axis: l, box: geom.EmptyBox()}
	for _, loop := range loops {
		if !v.addLoop(loop) {
			return Empty()
		}
	}
	if len(v.edges) == 0 || v.area() <= 0 {
		return Empty()
	}
	v.face()
	return v
}

// addLoop lists the sides of one polygon, and tells whether its numbers can be used.
func (v *revolve) addLoop(loop []Station) bool {
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		if !finite(a.S, a.R) || a.R < 0 || math.IsInf(b.S-a.S, 0) {
			return false
		}
		v.box = v.box.Union(v.axis.box(a.S, a.R))
		length := math.Hypot(b.S-a.S, b.R-a.R)
		if length == 0 || (a.R == 0 && b.R == 0) {
			continue
		}
		v.edges = append(v.edges, profileEdge{
			s: a.S, r: a.R, us: (b.S - a.S) / length, ur: (b.R - a.R) / length, length: length,
			low: min(a.S, b.S), high: max(a.S, b.S),
		})
	}
	return true
}

// area returns the sum of the areas of all sides' strips down to the axis, taken positive: 0 only when nothing is
// enclosed.
func (v *revolve) area() float64 {
	sum := 0.0
	for _, e := range v.edges {
		sum += math.Abs(e.us) * e.length * (e.r + e.ur*e.length/2)
	}
	return sum
}

// face finds which side of every edge is outside and makes its leaf. The test stands off the middle of the edge by a
// small part of its length, and halves that until a step to the left and one to the right disagree.
func (v *revolve) face() {
	const firstStep, smallest = 1e-3, 1e-9 // of the edge's length
	var list leafList
	for i := range v.edges {
		e := &v.edges[i]
		e.ns, e.nr = -e.ur, e.us
		ms, mr := e.s+e.us*e.length/2, e.r+e.ur*e.length/2
		for h := firstStep * e.length; h > smallest*e.length; h /= 2 {
			in, out := v.holds(ms-h*e.ns, mr-h*e.nr), v.holds(ms+h*e.ns, mr+h*e.nr)
			if in != out {
				if out {
					e.ns, e.nr = -e.ns, -e.nr
				}
				break
			}
		}
		e.leaf = list.add(v.leafOf(*e))
	}
	v.leaves = list
}

// leafOf returns the surface that an edge sweeps out.
func (v *revolve) leafOf(e profileEdge) Leaf {
	at := v.axis.point(e.s)
	switch {
	case e.us == 0:
		return PlaneLeaf{at, v.axis.dir.Mul(math.Copysign(1, e.ns))}
	case e.ur == 0:
		return CylinderLeaf{at, v.axis.dir, e.r, e.nr < 0}
	}
	return ConeLeaf{at, v.axis.dir, e.r, e.ur / e.us, e.nr < 0}
}

// holds tells whether a point of the half plane is inside, by counting the sides above it.
func (v *revolve) holds(s, r float64) bool {
	in := false
	for i := range v.edges {
		if v.edges[i].below(s, r) {
			in = !in
		}
	}
	return in
}

// below tells whether the point (s, r) is on the axis side of the edge, within its reach along the axis. Each reach
// holds its lower end only, so that a corner counts once.
func (e *profileEdge) below(s, r float64) bool {
	return s >= e.low && s < e.high && r < e.r+(s-e.s)*e.ur/e.us
}

func (v *revolve) eval(p geom.Vec) (float64, int) {
	s, r := v.axis.along(p)
	best, bestOff, leaf, in := math.Inf(1), 0.0, -1, false
	for i := range v.edges {
		e := &v.edges[i]
		if e.below(s, r) {
			in = !in
		}
		ds, dr := s-e.s, r-e.r
		off := ds*e.ns + dr*e.nr
		sq := off * off
		if t := ds*e.us + dr*e.ur; t < 0 {
			sq += t * t
		} else if t > e.length {
			sq += (t - e.length) * (t - e.length)
		}
		// two sides that share the nearest corner are equally far; the one that faces the point more decides
		if sq < best*(1-cornerTie) || (sq <= best*(1+cornerTie) && math.Abs(off) > bestOff) {
			best, bestOff, leaf = min(sq, best), math.Abs(off), e.leaf
		}
	}
	d := math.Sqrt(best)
	if in {
		d = -d
	}
	return d, leaf
}

// cornerTie is the relative difference of two squared distances that is rounding only.
const cornerTie = 1e-12

func (v *revolve) Distance(p geom.Vec) float64 { d, _ := v.eval(p); return d }
func (v *revolve) ActiveLeaf(p geom.Vec) int   { _, l := v.eval(p); return l }
func (v *revolve) Leaves() []Leaf              { return v.leaves }
func (v *revolve) Bounds() geom.Box            { return v.box }
func (v *revolve) exactOutside() bool          { return true }
func (v *revolve) features() []Feature {
	var fs []Feature
	for i := range v.edges {
		e := &v.edges[i]
		if e.r > 0 {
			fs = append(fs, v.axis.circle(e.s, e.r))
		}
	}
	return fs
}

// Side is one straight side of the profile of a solid of revolution, from From to To; Leaf is the number of the surface
// that it sweeps out.
type Side struct {
	From, To Station
	Leaf     int
}

// Profile returns the axis and the sides of a solid of revolution made by Revolve, Cone, Tube or Cylinder, and false
// for every other solid. Each side runs so that the material lies on its right, with the distance along the axis to the right
// and the radius upwards. Sides on the axis are left out.
func Profile(s Solid) (at, dir geom.Vec, sides []Side, ok bool) {
	switch v := s.(type) {
	case *revolve:
		for _, e := range v.edges {
			a := Station{e.s, e.r}
			b := Station{e.s + e.us*e.length, e.r + e.ur*e.length}
			// the normal of a side with its material on the right is (-ur, us)
			if -e.ur*e.ns+e.us*e.nr < 0 {
				a, b = b, a
			}
			sides = append(sides, Side{a, b, e.leaf})
		}
		return v.axis.at, v.axis.dir, sides, true
	case *cylinder:
		h, r := v.half, v.radius
		return v.axis.at, v.axis.dir, []Side{
			{Station{-h, 0}, Station{-h, r}, 1}, {Station{-h, r}, Station{h, r}, 0}, {Station{h, r}, Station{h, 0}, 2},
		}, true
	}
	return geom.Vec{}, geom.Vec{}, nil, false
}
