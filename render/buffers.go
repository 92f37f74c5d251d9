package render

import (
	"math"

	"turnwise/geom"
)

// A packed pixel holds 12 bits of id over 10 + 10 bits of normal.
const (
	idBits     = 12
	normalBits = 10
	normalMost = 1<<normalBits - 1
)

// Buffers is a scene drawn: for each pixel which instance is seen, how its surface is turned, and how far it is.
// Pixels run from the top left, row by row.
type Buffers struct {
	Width, Height int
	PixelMM       float64  // scene millimetres per pixel
	Packed        []uint32 // id and normal; 0 where nothing is seen
	// Depth is in mm away from the eye as Camera.Project gives it, +Inf where nothing is seen.
	Depth []float32
}

// ID returns the id at pixel i, 0 where nothing is seen.
func (b *Buffers) ID(i int) int { return int(b.Packed[i] >> (2 * normalBits)) }

// Normal returns the surface normal at pixel i as the camera sees it: right, up, towards the eye. Its error is below
// a quarter of a degree.
func (b *Buffers) Normal(i int) geom.Vec { return UnpackNormal(b.Packed[i]) }

// Pack puts an id and a unit normal (right, up, towards the eye) in one word. Normals are folded onto an octahedron
// and that is opened flat, which spreads the error evenly.
func Pack(id int, n geom.Vec) uint32 {
	s := math.Abs(n.X) + math.Abs(n.Y) + math.Abs(n.Z)
	if s == 0 {
		n, s = geom.AxisZ, 1
	}
	u, v := n.X/s, n.Y/s
	if n.Z < 0 {
		u, v = math.Copysign(1-math.Abs(n.Y/s), n.X), math.Copysign(1-math.Abs(n.X/s), n.Y)
	}
	q := func(t float64) uint32 { return uint32((t+1)/2*normalMost + 0.5) }
	return uint32(id)<<(2*normalBits) | q(u)<<normalBits | q(v)
}

// UnpackNormal gives the normal of a packed pixel back.
func UnpackNormal(p uint32) geom.Vec {
	u := float64(p>>normalBits&normalMost)/normalMost*2 - 1
	v := float64(p&normalMost)/normalMost*2 - 1
	z := 1 - math.Abs(u) - math.Abs(v)
	if z < 0 {
		u, v = math.Copysign(1-math.Abs(v), u), math.Copysign(1-math.Abs(u), v)
	}
	return geom.V(u, v, z).Unit()
}

// NormalsNear tells quickly whether two packed pixels surely have normals within a few degrees of one another. It may
// say no of normals that are near, never yes of normals that are not.
func NormalsNear(p, q uint32) bool {
	const few = 24 // of 1023 across the octahedron: at most about 6 degrees
	du := int32(p>>normalBits&normalMost) - int32(q>>normalBits&normalMost)
	dv := int32(p&normalMost) - int32(q&normalMost)
	return du >= -few && du <= few && dv >= -few && dv <= few
}

// Ink is what linework lays over a picture, one byte per pixel of the buffers it was traced from.
type Ink struct {
	Width, Height int
	Mask          []uint8 // one of the Ink values
}

// Values of a pixel of Ink.
const (
	InkNone  uint8 = iota // the fill shows
	InkHalo               // left blank, so that what passes in front stands off
	InkFaint              // lines of floor and walls
	InkThin               // creases within a part
	InkLine               // outlines
)
