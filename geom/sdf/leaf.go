package sdf

import (
	"math"

	"turnwise/geom"
)

// PlaneLeaf is a plane through At; Normal is unit and points out of the material.
type PlaneLeaf struct{ At, Normal geom.Vec }

// CylinderLeaf is a cylinder about the line through At along the unit vector Dir. Inward is true for a bore: the
// material lies outside the cylinder.
type CylinderLeaf struct {
	At, Dir geom.Vec
	Radius  float64
	Inward  bool
}

// ConeLeaf is a cone about the line through At along the unit vector Dir. Its radius is Radius at At and grows by
// Slope per length along Dir. Inward is true for a bore.
type ConeLeaf struct {
	At, Dir       geom.Vec
	Radius, Slope float64
	Inward        bool
}

// TorusLeaf is the surface at distance Minor from the circle of radius Major about At, square to the unit vector Dir.
// Inward is true for a bore.
type TorusLeaf struct {
	At, Dir      geom.Vec
	Major, Minor float64
	Inward       bool
}

// SphereLeaf is a sphere about At. Inward is true for a hollow.
type SphereLeaf struct {
	At     geom.Vec
	Radius float64
	Inward bool
}

// side is +1 for a leaf with its material within, -1 for a bore.
func side(inward bool) float64 {
	if inward {
		return -1
	}
	return 1
}

// radial returns the distance along and from a line, and the unit vector away from it. On the line itself that
// vector is any square to it.
func radial(at, dir, p geom.Vec) (s, r float64, out geom.Vec) {
	d := p.Sub(at)
	s = d.Dot(dir)
	out = d.Sub(dir.Mul(s))
	r = out.Len()
	if r == 0 {
		return s, 0, dir.Across()
	}
	return s, r, out.Mul(1 / r)
}

// Distance is the distance in front of the plane.
func (l PlaneLeaf) Distance(p geom.Vec) float64 { return p.Sub(l.At).Dot(l.Normal) }

// Gradient is the plane's normal.
func (l PlaneLeaf) Gradient(geom.Vec) geom.Vec { return l.Normal }

// Distance is the distance from the cylinder.
func (l CylinderLeaf) Distance(p geom.Vec) float64 {
	_, r, _ := radial(l.At, l.Dir, p)
	return side(l.Inward) * (r - l.Radius)
}

// Gradient points away from the axis, or towards it for a bore. It is singular on the axis.
func (l CylinderLeaf) Gradient(p geom.Vec) geom.Vec {
	_, _, out := radial(l.At, l.Dir, p)
	return out.Mul(side(l.Inward))
}

// normal returns the outward normal of the cone's line in the half plane (along, radius).
func (l ConeLeaf) normal() (ns, nr float64) {
	c := 1 / math.Sqrt(1+l.Slope*l.Slope)
	return -l.Slope * c, c
}

// Distance is the distance from the cone's line in the half plane through p.
func (l ConeLeaf) Distance(p geom.Vec) float64 {
	s, r, _ := radial(l.At, l.Dir, p)
	ns, nr := l.normal()
	return side(l.Inward) * (s*ns + (r-l.Radius)*nr)
}

// Gradient is square to the cone. It is singular on the axis.
func (l ConeLeaf) Gradient(p geom.Vec) geom.Vec {
	_, _, out := radial(l.At, l.Dir, p)
	ns, nr := l.normal()
	return l.Dir.Mul(ns).Add(out.Mul(nr)).Mul(side(l.Inward))
}

// toRing returns the way from the nearest point of the torus's middle circle to p.
func (l TorusLeaf) toRing(p geom.Vec) geom.Vec {
	s, r, out := radial(l.At, l.Dir, p)
	return out.Mul(r - l.Major).Add(l.Dir.Mul(s))
}

// Distance is the distance from the torus.
func (l TorusLeaf) Distance(p geom.Vec) float64 {
	return side(l.Inward) * (l.toRing(p).Len() - l.Minor)
}

// Gradient points away from the middle circle, or towards it for a bore. It is singular on that circle and the axis.
func (l TorusLeaf) Gradient(p geom.Vec) geom.Vec {
	d := l.toRing(p)
	if d == (geom.Vec{}) {
		return l.Dir
	}
	return d.Unit().Mul(side(l.Inward))
}

// Distance is the distance from the sphere.
func (l SphereLeaf) Distance(p geom.Vec) float64 {
	return side(l.Inward) * (p.Sub(l.At).Len() - l.Radius)
}

// Gradient points away from the centre, or towards it for a hollow. It is singular at the centre.
func (l SphereLeaf) Gradient(p geom.Vec) geom.Vec {
	d := p.Sub(l.At)
	if d == (geom.Vec{}) {
		return geom.AxisZ
	}
	return d.Unit().Mul(side(l.Inward))
}

// flipped is a leaf of unknown type with its material on the other side.
type flipped struct{ of Leaf }

func (l flipped) Distance(p geom.Vec) float64  { return -l.of.Distance(p) }
func (l flipped) Gradient(p geom.Vec) geom.Vec { return l.of.Gradient(p).Neg() }

// moved is a leaf of unknown type in another place.
type moved struct {
	of   Leaf
	pose geom.Pose
}

func (l moved) Distance(p geom.Vec) float64 { return l.of.Distance(l.pose.Local(p)) }
func (l moved) Gradient(p geom.Vec) geom.Vec {
	return l.pose.Rotate(l.of.Gradient(l.pose.Local(p)))
}

// flip returns the leaf with its material on the other side.
func flip(l Leaf) Leaf {
	switch l := l.(type) {
	case PlaneLeaf:
		l.Normal = l.Normal.Neg()
		return l
	case CylinderLeaf:
		l.Inward = !l.Inward
		return l
	case ConeLeaf:
		l.Inward = !l.Inward
		return l
	case TorusLeaf:
		l.Inward = !l.Inward
		return l
	case SphereLeaf:
		l.Inward = !l.Inward
		return l
	}
	return flipped{l}
}

// moveLeaf returns the leaf in the outer frame of pose.
func moveLeaf(l Leaf, pose geom.Pose) Leaf {
	switch l := l.(type) {
	case PlaneLeaf:
		return PlaneLeaf{pose.Apply(l.At), pose.Rotate(l.Normal)}
	case CylinderLeaf:
		l.At, l.Dir = pose.Apply(l.At), pose.Rotate(l.Dir)
		return l
	case ConeLeaf:
		l.At, l.Dir = pose.Apply(l.At), pose.Rotate(l.Dir)
		return l
	case TorusLeaf:
		l.At, l.Dir = pose.Apply(l.At), pose.Rotate(l.Dir)
		return l
	case SphereLeaf:
		l.At = pose.Apply(l.At)
		return l
	case StarLeaf:
		return StarLeaf{l.of.moved(pose)}
	}
	return moved{l, pose}
}

// sameTol is how far apart, in mm or as the sine of an angle, two descriptions of one surface may come out by
// rounding: about a thousand units in the last place of a metre.
const sameTol = 1e-10

// onLine tells whether q lies on the line through at along dir.
func onLine(at, dir, q geom.Vec) bool { return q.Sub(at).Cross(dir).Len() <= sameTol }

// sameAxis tells whether two lines are one, whichever way they point.
func sameAxis(at, dir, at2, dir2 geom.Vec) bool {
	return dir.Cross(dir2).Len() <= sameTol && onLine(at, dir, at2)
}

func near(a, b float64) bool { return math.Abs(a-b) <= sameTol }

// sameLeaf tells whether two leaves are one surface with its material on the same side. Leaves of unknown type never
// are.
func sameLeaf(a, b Leaf) bool {
	switch a := a.(type) {
	case PlaneLeaf:
		b, ok := b.(PlaneLeaf)
		return ok && a.Normal.Near(b.Normal, sameTol) && near(a.Distance(b.At), 0)
	case CylinderLeaf:
		b, ok := b.(CylinderLeaf)
		return ok && a.Inward == b.Inward && near(a.Radius, b.Radius) && sameAxis(a.At, a.Dir, b.At, b.Dir)
	case ConeLeaf:
		b, ok := b.(ConeLeaf)
		return ok && a.Inward == b.Inward && sameAxis(a.At, a.Dir, b.At, b.Dir) &&
			near(a.Slope, b.Slope*a.Dir.Dot(b.Dir)) && near(a.Distance(b.At), b.Distance(b.At))
	case TorusLeaf:
		b, ok := b.(TorusLeaf)
		return ok && a.Inward == b.Inward && near(a.Major, b.Major) && near(a.Minor, b.Minor) &&
			a.At.Near(b.At, sameTol) && a.Dir.Cross(b.Dir).Len() <= sameTol
	case SphereLeaf:
		b, ok := b.(SphereLeaf)
		return ok && a.Inward == b.Inward && near(a.Radius, b.Radius) && a.At.Near(b.At, sameTol)
	}
	return false
}

// leafList gathers leaves so that surfaces that coincide are listed once.
type leafList []Leaf

// add lists l unless it is there, and returns its number.
func (ls *leafList) add(l Leaf) int {
	for i, have := range *ls {
		if sameLeaf(have, l) {
			return i
		}
	}
	*ls = append(*ls, l)
	return len(*ls) - 1
}
