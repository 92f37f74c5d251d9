package render

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// SoftEdgeDeg is the angle between two faces up to which their common edge is drawn round. Meshes of round parts turn
// by less than 15 degrees from face to face, and edges meant to be sharp by 40 and more, so anything between serves.
const SoftEdgeDeg = 32

// NewShape makes m ready for drawing. Corner normals are the mean of the faces that meet there within SoftEdgeDeg of
// the face itself, weighted by their angle at the corner, so that the fineness of the mesh does not tilt them.
func NewShape(m *mesh.Mesh) *Shape {
	s := &Shape{Mesh: m, Box: geom.BoxOf(m.Vertices...), Normals: make([][3][3]float32, len(m.Triangles))}
	faces := faceNormals(m)
	first, around := cornersAround(m)
	soft := math.Cos(SoftEdgeDeg * math.Pi / 180)
	for t, tri := range m.Triangles {
		for k, v := range tri {
			n := smoothNormal(faces, around[first[v]:first[v+1]], faces[t], soft)
			s.Normals[t][k] = [3]float32{float32(n.X), float32(n.Y), float32(n.Z)}
		}
	}
	return s
}

// corner is one triangle at a vertex, with its angle there in radians.
type corner struct {
	triangle int32
	angle    float64
}

func faceNormals(m *mesh.Mesh) []geom.Vec {
	faces := make([]geom.Vec, len(m.Triangles))
	for i, t := range m.Triangles {
		a, b, c := m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
		faces[i] = b.Sub(a).Cross(c.Sub(a)).Unit()
	}
	return faces
}

// cornersAround lists the corners at each vertex: those of v are around[first[v]:first[v+1]].
func cornersAround(m *mesh.Mesh) (first []int32, around []corner) {
	first = make([]int32, len(m.Vertices)+1)
	for _, t := range m.Triangles {
		for _, v := range t {
			first[v+1]++
		}
	}
	for v := range m.Vertices {
		first[v+1] += first[v]
	}
	next := append([]int32(nil), first...)
	around = make([]corner, first[len(m.Vertices)])
	for i, t := range m.Triangles {
		for k, v := range t {
			p, q, r := m.Vertices[v], m.Vertices[t[(k+1)%3]], m.Vertices[t[(k+2)%3]]
			around[next[v]] = corner{int32(i), q.Sub(p).Angle(r.Sub(p))}
			next[v]++
		}
	}
	return first, around
}

func smoothNormal(faces []geom.Vec, around []corner, face geom.Vec, soft float64) geom.Vec {
	var sum geom.Vec
	for _, c := range around {
		if f := faces[c.triangle]; f.Dot(face) >= soft {
			sum = sum.Add(f.Mul(c.angle))
		}
	}
	if n := sum.Unit(); n != (geom.Vec{}) {
		return n
	}
	return face
}

// Coarse returns a mesh like m for pictures in which cellMM is small: vertices in one cell of a grid become one, and
// triangles that collapse are left out. It is meant for counting pixels and is not closed.
func Coarse(m *mesh.Mesh, cellMM float64) *mesh.Mesh {
	type cell [3]int32
	if !(cellMM > 0) {
		return m
	}
	out := &mesh.Mesh{}
	at := map[cell]int32{}
	to := make([]int32, len(m.Vertices))
	for i, v := range m.Vertices {
		c := cell{int32(math.Round(v.X / cellMM)), int32(math.Round(v.Y / cellMM)), int32(math.Round(v.Z / cellMM))}
		k, ok := at[c]
		if !ok {
			k = int32(len(out.Vertices))
			at[c] = k
			out.Vertices = append(out.Vertices, v)
		}
		to[i] = k
	}
	for _, t := range m.Triangles {
		a, b, c := to[t[0]], to[t[1]], to[t[2]]
		if a != b && b != c && c != a {
			out.Triangles = append(out.Triangles, [3]int32{a, b, c})
		}
	}
	return out
}
