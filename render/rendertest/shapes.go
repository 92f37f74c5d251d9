// Package rendertest makes things to draw in tests: plain shapes, and frames of pipe with made-up dimensions. Nothing
// here is a table value; the shapes only look like the parts they stand for.
package rendertest

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// Box returns a closed mesh of b.
func Box(b geom.Box) *mesh.Mesh {
	m := &mesh.Mesh{}
	for _, c := range b.Corners() {
		m.Vertices = append(m.Vertices, c)
	}
	for _, q := range [][4]int32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.Triangles = append(m.Triangles, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	}
	return m
}

// Ring is a point of a profile that is turned about the z axis: radius and height.
type Ring struct{ R, Z float64 }

// Turned returns the closed mesh of a closed profile turned about z. Seen with z up and the radius to the right, the
// profile runs anticlockwise.
func Turned(sides int, profile ...Ring) *mesh.Mesh {
	m := &mesh.Mesh{}
	n := int32(len(profile))
	for s := range sides {
		sin, cos := math.Sincos(2 * math.Pi * float64(s) / float64(sides))
		for _, p := range profile {
			m.Vertices = append(m.Vertices, geom.V(p.R*cos, p.R*sin, p.Z))
		}
	}
	for s := range int32(sides) {
		a, b := s*n, (s+1)%int32(sides)*n
		for i := range n {
			j := (i + 1) % n
			// A side of no radius has no area; leave it out.
			if profile[i].R > 0 {
				m.Triangles = append(m.Triangles, [3]int32{a + i, b + i, b + j})
			}
			if profile[j].R > 0 {
				m.Triangles = append(m.Triangles, [3]int32{a + i, b + j, a + j})
			}
		}
	}
	return m
}

// Tube returns a hollow cylinder about z from height 0 to length.
func Tube(sides int, outer, bore, length float64) *mesh.Mesh {
	return Turned(sides, Ring{bore, 0}, Ring{outer, 0}, Ring{outer, length}, Ring{bore, length})
}

// Rod returns a solid cylinder about z from height 0 to length.
func Rod(sides int, radius, length float64) *mesh.Mesh {
	return Turned(sides, Ring{0, 0}, Ring{radius, 0}, Ring{radius, length}, Ring{0, length})
}

// Posed returns m moved to p.
func Posed(m *mesh.Mesh, p geom.Pose) *mesh.Mesh {
	out := &mesh.Mesh{Triangles: m.Triangles}
	for _, v := range m.Vertices {
		out.Vertices = append(out.Vertices, p.Apply(v))
	}
	return out
}

// Joined returns all meshes as one. They may run through one another.
func Joined(ms ...*mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	for _, m := range ms {
		base := int32(len(out.Vertices))
		out.Vertices = append(out.Vertices, m.Vertices...)
		for _, t := range m.Triangles {
			out.Triangles = append(out.Triangles, [3]int32{t[0] + base, t[1] + base, t[2] + base})
		}
	}
	return out
}
