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
func Pack(id int, n geom.Vec) uint32 { return PackOf(id, float32(n.X), float32(n.Y), float32(n.Z)) }

// PackOf is Pack for a normal of any length in single precision, which is what drawing has at every pixel.
func PackOf(id int, x, y, z float32) uint32 {
	ax, ay, az := abs(x), abs(y), abs(z)
	s := ax + ay + az
	if s == 0 {
		z, s = 1, 1
	}
	u, v := x/s, y/s
	if z < 0 {
		u, v = 1-ay/s, 1-ax/s
		if x < 0 {
			u = -u
		}
		if y < 0 {
			v = -v
		}
	}
	const half = normalMost / 2.0
	return uint32(id)<<(2*normalBits) | uint32(u*half+half+0.5)<<normalBits | uint32(v*half+half+0.5)
}

func abs(v float32) float32 { return math.Float32frombits(math.Float32bits(v) &^ (1 << 31)) }

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

// Slope returns how much farther from the eye a surface goes per step along the picture where it falls away most: the
// tangent of the angle between the normal of a packed pixel and the line of sight. +Inf is a surface seen edge-on or from
// behind. It needs no unit vector, and lines are looked for at every pixel.
func Slope(p uint32) float64 {
	u := float64(p>>normalBits&normalMost)/normalMost*2 - 1
	v := float64(p&normalMost)/normalMost*2 - 1
	z := 1 - math.Abs(u) - math.Abs(v)
	if z <= 0 {
		return math.Inf(1)
	}
	return math.Sqrt(u*u+v*v) / z
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
