// Package mesh holds indexed triangle meshes, measures them and checks them.
//
// Volume, Area, Centroid and Bounds measure. Round32, Weld and Append edit; they return new meshes. Examine counts
// everything that keeps a mesh from being the skin of one solid body; Check turns that into an error.
package mesh

import "turnwise/geom"

// Mesh is a set of triangles over shared vertices. Seen from outside the body, the corners of every triangle run
// anticlockwise.
type Mesh struct {
	Vertices  []geom.Vec
	Triangles [][3]int32
}

// Corners returns the three points of triangle i.
func (m *Mesh) Corners(i int) (a, b, c geom.Vec) {
	t := m.Triangles[i]
	return m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
}
