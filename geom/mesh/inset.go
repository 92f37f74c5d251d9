package mesh

import "turnwise/geom"

// insetRounds is how often each vertex is pushed behind its planes in turn. Three planes square to one another take one
// round; those of a rim, whose facets differ by a few degrees, some ten.
const insetRounds = 60

// sameFacing is the cosine from which two faces at a vertex count as one: about 0.5 degrees.
const sameFacing = 0.99996

// Inset returns the mesh with every face moved inwards by mm, as far as the faces at each vertex agree on a place for
// it. It is meant for moves far smaller than any edge, which leave the mesh as sound as it was.
func Inset(m *Mesh, mm float64) *Mesh {
	out := &Mesh{Vertices: make([]geom.Vec, len(m.Vertices)), Triangles: m.Triangles}
	star := Stars(m)
	for v := range m.Vertices {
		var planes []geom.Vec
		for _, t := range star(v) {
			n := Normal(m.Corners(int(t)))
			known := n == geom.Vec{}
			for _, p := range planes {
				known = known || p.Dot(n) > sameFacing
			}
			if !known {
				planes = append(planes, n)
			}
		}
		out.Vertices[v] = m.Vertices[v].Add(behind(planes, mm))
	}
	return out
}

// behind returns the shortest way that leads mm behind all of some planes through the origin, by projecting onto one
// after the other (S. Kaczmarz, 1937), which comes to it when there is one.
func behind(planes []geom.Vec, mm float64) geom.Vec {
	var d geom.Vec
	for range insetRounds {
		for _, n := range planes {
			d = d.Add(n.Mul(-mm - n.Dot(d)))
		}
	}
	return d
}
