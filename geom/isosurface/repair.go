package isosurface

import (
	"turnwise/geom"
	"turnwise/geom/mesh"
)

// repairRounds is how often vertices are taken back into their cells.
const repairRounds = 8

// repaired returns a sound mesh in which the vertices that made this one unsound have been taken back into their own
// cells, to the middle of their crossings. Vertices inside their cells can hardly cross, but an edge of the solid is
// cut off there. It returns nil when the mesh does not become sound.
func (d *skin) repaired() *skin {
	d.frozen = make([]bool, len(d.v))
	for range repairRounds {
		c := d.copy()
		c.untangle()
		c.refine()
		bad := c.troubled(len(d.v))
		if len(bad) == 0 {
			return c
		}
		moved := false
		for _, v := range bad {
			moved = moved || !d.frozen[v]
			d.v[v], d.frozen[v] = d.safe[v], true
		}
		if !moved {
			return nil
		}
	}
	return nil
}

// troubled lists, in rising order, the vertices below n of triangles that cross, are folded or have no height, and
// those that share their place with another.
func (d *skin) troubled(n int) []int32 {
	mark := make([]bool, len(d.v))
	m := &mesh.Mesh{Vertices: make([]geom.Vec, len(d.v))}
	at := map[geom.Vec]int32{}
	for i, v := range d.v {
		m.Vertices[i] = mesh.Round32Vec(v)
	}
	blame := func(t [3]int32) { mark[t[0]], mark[t[1]], mark[t[2]] = true, true, true }
	for i, t := range d.t {
		if t[0] < 0 {
			continue
		}
		m.Triangles = append(m.Triangles, t)
		p, q, r := m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
		if mesh.Height(p, q, r) < mesh.DegenerateMM || facing(d.leaves[d.leaf[i]], p, q, r) < 0 {
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
