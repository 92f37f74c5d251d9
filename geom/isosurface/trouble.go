package isosurface

import (
	"turnwise/geom"
	"turnwise/geom/mesh"
)

// troubled lists, in rising order, the vertices below n of triangles that cross, are folded or have no height, and
// those that share their place with another. Only triangles for which look is true are looked at.
func (d *skin) troubled(n int, look func(t [3]int32) bool) []int32 {
	mark := make([]bool, len(d.v))
	m := &mesh.Mesh{Vertices: make([]geom.Vec, len(d.v))}
	at := map[geom.Vec]int32{}
	for i, v := range d.v {
		m.Vertices[i] = mesh.Round32Vec(v)
	}
	// a triangle of hard cells only cannot be helped by hardening, and crosses nothing though it be folded
	allFrozen := func(t [3]int32) bool { return d.isFrozen(t[0]) && d.isFrozen(t[1]) && d.isFrozen(t[2]) }
	blame := func(t [3]int32) { mark[t[0]], mark[t[1]], mark[t[2]] = true, true, true }
	for i, t := range d.t {
		if t[0] < 0 || !look(t) {
			continue
		}
		m.Triangles = append(m.Triangles, t)
		p, q, r := m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
		if mesh.Height(p, q, r) < mesh.DegenerateMM || (!allFrozen(t) && facing(d.leaves[d.leaf[i]], p, q, r) < 0) {
			blame(t)
		}
		for _, v := range t {
			if other, ok := at[m.Vertices[v]]; ok && other != v {
				mark[v], mark[other] = true, true
			}
			at[m.Vertices[v]] = v
		}
	}
	for _, pair := range mesh.Crossings(m) {
		blame(m.Triangles[pair[0]])
		blame(m.Triangles[pair[1]])
	}
	// a vertex that refining put in points back to the corners of its triangles
	for _, t := range d.t {
		if t[0] >= 0 && ((int(t[0]) >= n && mark[t[0]]) || (int(t[1]) >= n && mark[t[1]]) || (int(t[2]) >= n && mark[t[2]])) {
			blame(t)
		}
	}
	var bad []int32
	for v := range min(n, len(mark)) {
		if mark[v] {
			bad = append(bad, int32(v))
		}
	}
	return bad
}
