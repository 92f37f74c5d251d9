package isosurface

import (
	"math"
	"slices"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// skin is a mesh under work. Every triangle belongs to one leaf, and all its corners lie on that leaf; edges of the
// solid are the mesh edges between triangles of different leaves.
type skin struct {
	leaves []sdf.Leaf
	tol    float64
	v      []geom.Vec
	safe   []geom.Vec // for each vertex of a ring, a place inside its own cell
	frozen []bool     // by vertex, those of rings only: taken back into its cell, and to stay there
	t      [][3]int32 // a triangle that was taken away has -1 for its first corner
	leaf   []int32
}

func (d *skin) mesh() *mesh.Mesh {
	m := &mesh.Mesh{Vertices: d.v}
	for _, t := range d.t {
		if t[0] >= 0 {
			m.Triangles = append(m.Triangles, t)
		}
	}
	return m
}

func (d *skin) copy() *skin {
	c := *d
	c.v, c.t, c.leaf = slices.Clone(d.v), slices.Clone(d.t), slices.Clone(d.leaf)
	return &c
}

// isFrozen tells whether a vertex has been taken back into its cell.
func (d *skin) isFrozen(v int32) bool { return int(v) < len(d.frozen) && d.frozen[v] }

func (d *skin) count() int {
	n := 0
	for _, t := range d.t {
		if t[0] >= 0 {
			n++
		}
	}
	return n
}

// dual makes one vertex for every ring and one quadrangle for every crossing, of the crossing's leaf. It returns why
// that cannot be done, or "".
func (g *grid) dual() (*skin, string) {
	cells, where, ok := g.rings()
	if !ok {
		return nil, "rings that share a face twice"
	}
	g.found, g.where = cells, where
	d := &skin{leaves: g.leaves, tol: g.tol}
	inParallel(slabs, func(s int) {
		from, to := slab(s, len(cells))
		for i := from; i < to; i++ {
			g.placeAll(&cells[i])
		}
	})
	for i := range cells {
		cells[i].first = int32(len(d.v))
		d.v = append(d.v, cells[i].v...)
		d.safe = append(d.safe, cells[i].safe...)
	}
	for i := range g.cross {
		corners, ok := g.around(&g.cross[i], cells, where)
		if !ok {
			return nil, "a crossing at the border of the grid"
		}
		d.addPolygon(corners, g.cross[i].leaf)
	}
	return d, ""
}

// way is one step round a crossed edge: a cell, the edge's number in it, and the faces through which the way round,
// anticlockwise seen from the edge's far end, enters and leaves.
type way struct {
	cell         int32
	edge         int8
	enter, leave int
}

// ways returns the four steps round a crossed edge, or false at the border of the grid.
func (g *grid) ways(c *crossing) (out [4]way, ok bool) {
	axis := int(c.axis)
	u, v := (axis+1)%3, (axis+2)%3
	i := g.index(int(c.node))
	if i[u] == 0 || i[v] == 0 || i[u]+1 >= g.n[u] || i[v]+1 >= g.n[v] {
		return out, false
	}
	back := [4]int{g.stride(u) + g.stride(v), g.stride(v), 0, g.stride(u)}
	// the edge's least corner within each of the cells
	least := [4]int{1<<u | 1<<v, 1 << v, 0, 1 << u}
	enter := [4]int{2*v + 1, 2 * u, 2 * v, 2*u + 1}
	leave := [4]int{2*u + 1, 2*v + 1, 2 * u, 2 * v}
	for k := range 4 {
		out[k] = way{c.node - int32(back[k]), edgeAt(axis, least[k]), enter[k], leave[k]}
	}
	return out, true
}

// around returns the vertices of the four cells about a crossed edge, anticlockwise seen from outside. A cell whose
// ring has two vertices may give both.
func (g *grid) around(c *crossing, cells []ringCell, where []int32) ([]int32, bool) {
	ways, ok := g.ways(c)
	if !ok {
		return nil, false
	}
	out := make([]int32, 0, 8)
	for _, w := range ways {
		cell := &cells[where[w.cell]]
		p, q := cell.linkVertex(w.edge, w.enter), cell.linkVertex(w.edge, w.leave)
		if out = append(out, p); p != q {
			out = append(out, q)
		}
	}
	if !c.out {
		slices.Reverse(out)
	}
	return out, true
}

// linkVertex returns the vertex of the link from an edge across a face.
func (c *ringCell) linkVertex(edge int8, face int) int32 {
	r := c.ring[edge]
	from, to := int8(0), c.end[r]
	if r > 0 {
		from = c.end[r-1]
	}
	for n := from; n < to; n++ {
		if c.edges[n] != edge {
			continue
		}
		if int(c.faces[n]) == face {
			return c.first + int32(c.at[n])
		}
		if n == from {
			n = to
		}
		return c.first + int32(c.at[n-1])
	}
	panic("isosurface: an edge is not in its ring")
}

// edgeAt returns the number of the cell edge along axis from a corner.
func edgeAt(axis, corner int) int8 {
	for e := 4 * axis; ; e++ {
		if int(edgeCorners[e][0]) == corner {
			return int8(e)
		}
	}
}

// addPolygon divides a polygon of one leaf into triangles. One of more than four corners loses, again and again, the
// corner whose triangle faces the leaf best.
func (d *skin) addPolygon(corners []int32, leaf int32) {
	for len(corners) > 4 {
		best, most := 0, math.Inf(-1)
		n := len(corners)
		for i := range corners {
			f := facing(d.leaves[leaf], d.v[corners[(i+n-1)%n]], d.v[corners[i]], d.v[corners[(i+1)%n]])
			if f > most+nearMM {
				best, most = i, f
			}
		}
		d.add(leaf, [3]int32{corners[(best+n-1)%n], corners[best], corners[(best+1)%n]})
		corners = slices.Delete(corners, best, best+1)
	}
	d.addQuad([4]int32(corners), leaf)
}

// addQuad divides a quadrangle along the better diagonal: the one that gives no triangle facing against the leaf, then
// the one nearer to the leaf, then the shorter.
func (d *skin) addQuad(q [4]int32, leaf int32) {
	if d.diagonal(q, leaf, 0).better(d.diagonal(q, leaf, 1)) {
		d.add(leaf, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	} else {
		d.add(leaf, [3]int32{q[1], q[2], q[3]}, [3]int32{q[1], q[3], q[0]})
	}
}

func (d *skin) add(leaf int32, ts ...[3]int32) {
	for _, t := range ts {
		d.t = append(d.t, t)
		d.leaf = append(d.leaf, leaf)
	}
}

// quality tells how good a diagonal is: the least cosine between its two triangles and the leaf, its height over the
// leaf, and its length.
type quality struct{ facing, off, length float64 }

func (a quality) better(b quality) bool {
	const good = 0.2 // a cosine from which both triangles surely face outward
	if fa, fb := min(a.facing, good), min(b.facing, good); fa != fb {
		return fa > fb
	}
	if math.Abs(a.off-b.off) > nearMM {
		return a.off < b.off
	}
	return a.length <= b.length
}

func (d *skin) diagonal(q [4]int32, leaf int32, first int) quality {
	a, b, c, e := d.v[q[first]], d.v[q[first+1]], d.v[q[first+2]], d.v[q[(first+3)%4]]
	l := d.leaves[leaf]
	return quality{
		facing: min(facing(l, a, b, c), facing(l, a, c, e)),
		off:    math.Abs(l.Distance(a.Lerp(c, 0.5))),
		length: a.Sub(c).Len(),
	}
}

// facing is the cosine between a triangle's normal and the leaf's gradient at its middle, 0 without area.
func facing(l sdf.Leaf, a, b, c geom.Vec) float64 {
	n := b.Sub(a).Cross(c.Sub(a))
	size := n.Len()
	if size == 0 {
		return 0
	}
	return n.Dot(l.Gradient(a.Add(b).Add(c).Mul(1.0/3))) / size
}
