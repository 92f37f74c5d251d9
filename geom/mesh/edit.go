package mesh

import "turnwise/geom"

// Round32 returns the mesh with every coordinate rounded to a 32-bit float, as an STL file holds it, and vertices that
// became equal made one. Triangles that lost a corner that way are kept; Examine counts them.
func Round32(m *Mesh) *Mesh {
	r := &Mesh{Vertices: make([]geom.Vec, len(m.Vertices)), Triangles: m.Triangles}
	for i, v := range m.Vertices {
		r.Vertices[i] = Round32Vec(v)
	}
	return Weld(r)
}

// Round32Vec rounds every coordinate to a 32-bit float. Minus nought becomes nought, so that equal points have equal
// bits.
func Round32Vec(v geom.Vec) geom.Vec {
	return geom.V(float64(float32(v.X))+0, float64(float32(v.Y))+0, float64(float32(v.Z))+0)
}

// Weld returns the mesh with equal vertices made one and unused ones left out, in the order of their first use.
func Weld(m *Mesh) *Mesh {
	w := &Mesh{Triangles: make([][3]int32, len(m.Triangles))}
	number := make(map[geom.Vec]int32, len(m.Vertices))
	for i, t := range m.Triangles {
		for k, v := range t {
			p := m.Vertices[v]
			n, ok := number[p]
			if !ok {
				n = int32(len(w.Vertices))
				number[p] = n
				w.Vertices = append(w.Vertices, p)
			}
			w.Triangles[i][k] = n
		}
	}
	return w
}

// Append adds the triangles of n to m; no vertices are shared between them.
func Append(m *Mesh, n *Mesh) {
	first := int32(len(m.Vertices))
	m.Vertices = append(m.Vertices, n.Vertices...)
	for _, t := range n.Triangles {
		m.Triangles = append(m.Triangles, [3]int32{t[0] + first, t[1] + first, t[2] + first})
	}
}

// Placed returns the mesh in the outer frame of pose.
func Placed(m *Mesh, pose geom.Pose) *Mesh {
	p := &Mesh{Vertices: make([]geom.Vec, len(m.Vertices)), Triangles: m.Triangles}
	for i, v := range m.Vertices {
		p.Vertices[i] = pose.Apply(v)
	}
	return p
}
