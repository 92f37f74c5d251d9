package mesh

// Shells returns how many pieces the triangles make that share no vertex. A hollow inside a body is a piece of its own.
func Shells(m *Mesh) int {
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
	n := 0
	seen := make([]bool, len(m.Vertices))
	for _, t := range m.Triangles {
		if r := find(t[0]); !seen[r] {
			seen[r] = true
			n++
		}
	}
	return n
}
