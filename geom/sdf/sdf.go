// Package sdf describes solids by their signed distance: a number at every point of space, negative inside the
// material, positive outside.
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
	// ActiveLeaf returns the number of the deciding leaf at p: an index into Leaves.
	ActiveLeaf(p geom.Vec) int
	// Leaves lists the bounding surfaces. |Leaves()[ActiveLeaf(p)].Distance(p)| equals |Distance(p)| where Distance
	// is exact.
	Leaves() []Leaf
}
