package isosurface

import (
	"fmt"
	"sort"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// The six tetrahedra of a cell about its diagonal from corner 0 to corner 7: each goes through three axes in another
// order. Cells next to one another divide their common face alike.
var tetrahedra = [6][4]int{{0, 1, 3, 7}, {0, 3, 2, 7}, {0, 2, 6, 7}, {0, 6, 4, 7}, {0, 4, 5, 7}, {0, 5, 1, 7}}

// tetraInset keeps crossings off the ends of their edges, in parts of the edge, so that no triangle is lost by rounding.
const tetraInset = 0.02

// tetraMesh is marching tetrahedra on the first grid that fits. It is closed and free of crossings whatever the signs
// of the nodes, because inside each tetrahedron it is one flat piece. Edges of the solid are cut off.
func tetraMesh(s sdf.Leafed, o Options, r *Report) (*mesh.Mesh, error) {
	for _, scale := range [2]float64{0.5, 1} {
		g, err := newGrid(s, o.ToleranceMM, scale, 0)
		if err != nil {
			continue
		}
		r.Method = Tetrahedra
		r.CellsX, r.CellsY, r.CellsZ = g.cells()
		g.sample()
		m := mesh.Round32(g.march())
		if len(m.Triangles) == 0 {
			return nil, fmt.Errorf("meshing: %w", ErrEmpty)
		}
		if f := mesh.Examine(m); !f.OK() {
			r.Rejected = append(r.Rejected, "tetrahedra: "+f.String())
			continue
		}
		r.RawTriangles = len(m.Triangles)
		r.measure(s, m, o.ToleranceMM)
		return m, nil
	}
	return nil, fmt.Errorf("meshing: %w (%v)", ErrUnsound, r.Rejected)
}

// march makes the triangles of all tetrahedra.
func (g *grid) march() *mesh.Mesh {
	parts := make([]mesh.Mesh, slabs)
	inParallel(slabs, func(n int) {
		from, to := slab(n, g.n[2]-1)
		for k := from; k < to; k++ {
			for j := range g.n[1] - 1 {
				for i := range g.n[0] - 1 {
					node := g.node(i, j, k)
					if s := g.signs(node); s != 0 && s != 255 {
						for _, t := range tetrahedra {
							g.marchOne(&parts[n], node, s, t)
						}
					}
				}
			}
		}
	})
	m := &mesh.Mesh{}
	for i := range parts {
		mesh.Append(m, &parts[i])
	}
	return mesh.Weld(m)
}

// marchOne cuts one tetrahedron.
func (g *grid) marchOne(m *mesh.Mesh, node int, signs uint8, t [4]int) {
	var in, out []int
	for _, c := range t {
		if signs>>c&1 == 1 {
			in = append(in, c)
		} else {
			out = append(out, c)
		}
	}
	if len(in) == 0 || len(out) == 0 {
		return
	}
	var p []geom.Vec
	switch {
	case len(in) == 1:
		p = []geom.Vec{g.between(node, in[0], out[0]), g.between(node, in[0], out[1]), g.between(node, in[0], out[2])}
	case len(out) == 1:
		p = []geom.Vec{g.between(node, in[0], out[0]), g.between(node, in[1], out[0]), g.between(node, in[2], out[0])}
	default:
		p = []geom.Vec{g.between(node, in[0], out[0]), g.between(node, in[0], out[1]),
			g.between(node, in[1], out[1]), g.between(node, in[1], out[0])}
	}
	// outward: from an inside corner towards an outside one
	if mesh.Normal(p[0], p[1], p[2]).Dot(g.corner(node, out[0]).Sub(g.corner(node, in[0]))) < 0 {
		for i, j := 0, len(p)-1; i < j; i, j = i+1, j-1 {
			p[i], p[j] = p[j], p[i]
		}
	}
	first := int32(len(m.Vertices))
	m.Vertices = append(m.Vertices, p...)
	for i := 2; i < len(p); i++ {
		m.Triangles = append(m.Triangles, [3]int32{first, first + int32(i) - 1, first + int32(i)})
	}
}

func (g *grid) corner(node, c int) geom.Vec {
	i := g.index(node)
	return g.point(i[0]+c&1, i[1]+c>>1&1, i[2]+c>>2)
}

// between finds the crossing between two corners of a cell. It is computed from the lesser corner, so that all
// tetrahedra at an edge find the same point.
func (g *grid) between(node, a, b int) geom.Vec {
	ends := []int{a, b}
	sort.Ints(ends)
	p, q := g.corner(node, ends[0]), g.corner(node, ends[1])
	in := g.solid.Distance(p) < 0
	lo, hi := 0.0, 1.0
	for range 40 {
		t := (lo + hi) / 2
		if (g.solid.Distance(p.Lerp(q, t)) < 0) == in {
			lo = t
		} else {
			hi = t
		}
	}
	return p.Lerp(q, min(max(lo, tetraInset), 1-tetraInset))
}
