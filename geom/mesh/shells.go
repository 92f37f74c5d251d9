package mesh

// Shells returns how many pieces the triangles make that share no vertex. A hollow inside a body is a piece of its own.
func Shells(m *Mesh) int {
	_, n := shellOf(m)
	return n
}

// Apart divides a mesh into the pieces that Shells counts, in the order of their first triangles.
func Apart(m *Mesh) []*Mesh {
	of, n := shellOf(m)
	out := make([]*Mesh, n)
	for k := range out {
		out[k] = &Mesh{}
	}
	is := map[int32]int32{} // a vertex of m in its piece
	for i, t := range m.Triangles {
		piece := out[of[i]]
		var corners [3]int32
		for k, v := range t {
			n, ok := is[v]
			if !ok {
				n = int32(len(piece.Vertices))
				is[v] = n
				piece.Vertices = append(piece.Vertices, m.Vertices[v])
			}
			corners[k] = n
		}
		piece.Triangles = append(piece.Triangles, corners)
	}
	return out
}

// shellOf numbers the pieces of a mesh in the order of their first triangles, and gives each triangle its own.
func shellOf(m *Mesh) (of []int, n int) {
	root := make([]int32, len(m.Vertices))
	for i := range root {
		root[i] = int32(i)
	}
	find := func(v int32) int32 {
		for root[v] != v {
			root[v] = root[root[v]]
			v = root[v]
		}
		return v
	}
	for _, t := range m.Triangles {
		root[find(t[1])] = find(t[0])
		root[find(t[2])] = find(t[0])
	}
	of = make([]int, len(m.Triangles))
	number := map[int32]int{}
	for i, t := range m.Triangles {
		r := find(t[0])
		k, seen := number[r]
		if !seen {
			k = len(number)
			number[r] = k
		}
		of[i] = k
	}
	return of, len(number)
}
