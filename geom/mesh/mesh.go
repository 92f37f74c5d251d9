// Package mesh holds indexed triangle meshes, measures them and checks them.
package mesh

import "turnwise/geom"

// Mesh is a set of triangles over shared vertices. Seen from outside the body, the corners of every triangle run
// anticlockwise.
type Mesh struct {
	Vertices  []geom.Vec
	Triangles [][3]int32
}
