// Package sdf describes solids by their signed distance: a number at every point of space, negative inside the
// material, positive outside.
//
// # Primitives
//
// The distance of every primitive is exact, inside and outside: it is the length of the way to the nearest point of
// the surface.
//
//	Box, Boxes      one box; the union of several boxes, which may touch or overlap
//	Cylinder        a full cylinder along a line
//	Cone            a frustum along a line, such as a taper thread's pitch cone
//	Tube            a pipe with flat ends
//	Revolve         polygons of (distance along a line, radius) turned about that line
//	Sphere, Torus   the ball and the full ring
//	Star            rods from one point, the corners between them rounded; exact outside, capped deep inside
//	Bend            the tube round an arc, cut flat, with straight leads before and after it
//	Prism           a regular prism: square, hexagon, octagon ...
//	HalfSpace       everything behind a plane; its bounds are infinite
//	Screw           everything within a helical thread: the one whose distance is only a bound
//
// # Operations
//
//	Join            union: the least of the distances. Exact outside when the members are; inside a bound.
//	Cut, Common     difference and intersection: the greatest of the distances. A bound, except where the nearest
//	                surface point belongs to the deciding member.
//	Apart           union of bodies that do not touch, which a mesher can take one by one (Pieces)
//	Move            a rigid motion: as exact as what it moves
//	Threaded        a body with threads cut, which a mesher can take apart again (Threads)
//
// A bound is never more than the true distance. All of them change by at most 1 per millimetre.
//
// Members of a Join must overlap, not only touch: two boxes face to face have distance 0 on the face between them,
// although it lies inside the material. (Boxes and Revolve take touching pieces.) In the same way the tool of a Cut
// has to reach beyond the face through which it enters.
//
// A primitive without volume, or with a dimension that is not finite, is Empty. Constructors never fail, so a shape
// can be written down in one expression; whoever reads dimensions from outside checks them first.
//
// Solids never change once made, and may be asked by several goroutines at a time.
//
// # Leaves
//
// Every constructor returns a Leafed solid. Its leaves are the smooth surfaces that bound it, as the types PlaneLeaf,
// CylinderLeaf, ConeLeaf, TorusLeaf and SphereLeaf, in the frame of the solid whatever joins, cuts and motions lie
// between: a mesher may read radii and directions from them. Surfaces that coincide and face the same way are one
// leaf. Features lists the edges and seams of the primitives.
package sdf

import "turnwise/geom"

// Solid is a closed body of material.
type Solid interface {
	// Distance is negative inside the material, positive outside and zero on the surface. Its amount is never more
	// than the true distance to the surface, and it changes by at most 1 per millimetre of way (slope at most 1).
	Distance(p geom.Vec) float64
	// Bounds returns a box that holds all the material.
	Bounds() geom.Box
}

// Leaf is one smooth surface that bounds a solid: a cylinder, a plane, a cone, a torus.
type Leaf interface {
	// Distance is the signed distance to the leaf's own surface, negative on the side of the material.
	Distance(p geom.Vec) float64
	// Gradient is the direction in which Distance grows at p, a unit vector away from singular lines.
	Gradient(p geom.Vec) geom.Vec
}

// Leafed is a Solid that can say which of its surfaces decides the distance at a point. A mesher finds sharp edges
// where the answer changes.
type Leafed interface {
	Solid
	// ActiveLeaf returns the number of the deciding leaf at p: an index into Leaves, or -1 when there is none (Empty).
	ActiveLeaf(p geom.Vec) int
	// Leaves lists the bounding surfaces. |Leaves()[ActiveLeaf(p)].Distance(p)| equals |Distance(p)| where the
	// nearest point lies within that surface. Where the nearest point lies on an edge, the distance to the edge is
	// more than that to the surface drawn on beyond its edge: there the leaf's is the smaller one. On the surface of
	// the solid both are zero.
	Leaves() []Leaf
}

// Nearest returns Distance and ActiveLeaf of s at p for little more than the cost of one of them.
func Nearest(s Leafed, p geom.Vec) (distance float64, leaf int) {
	if f, ok := s.(field); ok {
		return f.eval(p)
	}
	return s.Distance(p), s.ActiveLeaf(p)
}

// field is what every solid of this package has: both answers from one pass.
type field interface {
	Leafed
	eval(p geom.Vec) (float64, int)
	// features lists edges and seams.
	features() []Feature
	// exactOutside tells whether positive distances are exact.
	exactOutside() bool
}
