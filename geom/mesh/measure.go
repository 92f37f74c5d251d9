package mesh

import (
	"math"

	"turnwise/geom"
)

// Volume returns the volume in mm3 that the mesh encloses, negative when it is inside out. It sums tetrahedra from
// the middle of the bounding box, so that a body far from the origin keeps its digits.
func Volume(m *Mesh) float64 {
	if len(m.Vertices) == 0 {
		return 0
	}
	o := Bounds(m).Centre()
	sum := 0.0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		sum += a.Sub(o).Dot(b.Sub(o).Cross(c.Sub(o)))
	}
	return sum / 6
}

// Area returns the area of all triangles in mm2.
func Area(m *Mesh) float64 {
	sum := 0.0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		sum += b.Sub(a).Cross(c.Sub(a)).Len()
	}
	return sum / 2
}

// Centroid returns the centre of volume. For a mesh without volume it is the middle of the bounding box.
func Centroid(m *Mesh) geom.Vec {
	if len(m.Vertices) == 0 {
		return geom.Vec{}
	}
	o := Bounds(m).Centre()
	sum, moment := 0.0, geom.Vec{}
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		a, b, c = a.Sub(o), b.Sub(o), c.Sub(o)
		v := a.Dot(b.Cross(c))
		sum += v
		moment = moment.Add(a.Add(b).Add(c).Mul(v / 4))
	}
	if sum == 0 {
		return o
	}
	return o.Add(moment.Mul(1 / sum))
}

// Bounds returns the bounding box of the vertices, empty for a mesh without any.
func Bounds(m *Mesh) geom.Box { return geom.BoxOf(m.Vertices...) }

// Normal returns the unit normal of a triangle, anticlockwise seen from its tip; zero when it has no area.
func Normal(a, b, c geom.Vec) geom.Vec { return b.Sub(a).Cross(c.Sub(a)).Unit() }

// Height returns the least height of a triangle: twice its area over its longest side; 0 when all corners are one.
func Height(a, b, c geom.Vec) float64 {
	longest := math.Sqrt(max(sq(b.Sub(a)), sq(c.Sub(b)), sq(a.Sub(c))))
	if longest == 0 {
		return 0
	}
	return b.Sub(a).Cross(c.Sub(a)).Len() / longest
}

func sq(v geom.Vec) float64 { return v.Dot(v) }
