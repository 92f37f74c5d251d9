package isosurface

import (
	"slices"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// Figures of hardening.
const (
	// hardRounds is how often cells in trouble are hardened before a grid is given up.
	hardRounds = 10
	// hardInset keeps points of hard cells off the cell's borders, in parts of the cell: so no triangle loses its area
	// by rounding.
	hardInset = 0.01
)

// hardener makes a skin in which cells in trouble are hard: every triangle of a hard cell stays in that cell. The
// surface in it is a cone, from a vertex in the cell over the closed line in which the surface crosses the cell's
// sides. That line goes through the crossings of the cell's edges and one point on each side, where the surface passes
// from leaf to leaf if it does so there. Cones over simple closed lines on the border of a convex body do not cross
// themselves, and those of different cells meet only in the line on their common side. So hardening comes to an end
// where moving vertices about does not; the price are four triangles for one.
type hardener struct {
	g      *grid
	cells  []ringCell
	where  []int32
	hard   []bool             // by cell
	origin [][]int32          // by vertex: the cells that it belongs to
	fresh  []int32            // cells that were made hard last; nil before any were
	onFace map[[2]int32]int32 // by the two crossings that a side links: the vertex between them
}

// hardened returns a skin without crossings, or nil when hardening does not come to an end.
func (g *grid) hardened() *skin {
	h := &hardener{g: g, cells: g.found, where: g.where, hard: make([]bool, len(g.found))}
	var d *skin
	for range hardRounds {
		var ok bool
		if d, ok = h.build(); !ok {
			return nil
		}
		d.untangle()
		d.refine()
		bad := d.troubled(len(h.origin), h.nearFresh())
		if len(bad) == 0 && h.fresh != nil {
			bad = d.troubled(len(h.origin), all)
		}
		if len(bad) == 0 {
			return d
		}
		if !h.harden(bad) {
			break
		}
	}
	// what is left may be no more than folded
	if !mesh.Examine(mesh.Round32(d.mesh())).OK() {
		return nil
	}
	return d
}

// all is true for every triangle.
func all([3]int32) bool { return true }

// freshReach is how many cells about those that were made hard last are looked at again: a little more than what
// untangling passes on.
const freshReach = 4

// nearFresh returns whether a triangle is near cells that were made hard last.
func (h *hardener) nearFresh() func(t [3]int32) bool {
	if h.fresh == nil {
		return all
	}
	near := make([]bool, len(h.cells))
	edge := h.fresh
	for range freshReach + 1 {
		var next []int32
		for _, c := range edge {
			if !near[c] {
				near[c] = true
				next = append(next, h.beside(c)...)
			}
		}
		edge = next
	}
	return func(t [3]int32) bool {
		refined := 0 // vertices that refining put in belong to no cell
		for _, v := range t {
			if int(v) >= len(h.origin) {
				refined++
				continue
			}
			for _, c := range h.origin[v] {
				if near[c] {
					return true
				}
			}
		}
		return refined == 3
	}
}

// beside lists the cells that have a side in common with one.
func (h *hardener) beside(c int32) []int32 {
	var out []int32
	for axis := range 3 {
		for _, step := range [2]int{-1, 1} {
			at := int(h.cells[c].node) + step*h.g.stride(axis)
			if at >= 0 && at < len(h.where) && h.where[at] >= 0 {
				out = append(out, h.where[at])
			}
		}
	}
	return out
}

// harden makes the cells of the given vertices hard. Where they are hard already, so become those beside them. It
// returns false when nothing changes.
func (h *hardener) harden(bad []int32) bool {
	h.fresh = []int32{}
	set := func(c int32) {
		if !h.hard[c] {
			h.hard[c], h.fresh = true, append(h.fresh, c)
			h.g.placeHard(&h.cells[c])
		}
	}
	var again []int32
	for _, v := range bad {
		for _, c := range h.origin[v] {
			if h.hard[c] {
				again = append(again, c)
			}
		}
	}
	for _, v := range bad {
		for _, c := range h.origin[v] {
			set(c)
		}
	}
	for _, c := range again {
		for _, b := range h.beside(c) {
			set(b)
		}
	}
	return len(h.fresh) > 0
}

// build makes the skin.
func (h *hardener) build() (*skin, bool) {
	g := h.g
	d := &skin{leaves: g.leaves, tol: g.tol}
	h.origin, h.onFace = h.origin[:0], map[[2]int32]int32{}
	for i := range h.cells {
		c := &h.cells[i]
		c.first = int32(len(d.v))
		for k, v := range c.v {
			h.put(d, v, c.safe[k], h.hard[i], int32(i))
		}
	}
	for i := range g.cross {
		if !h.polygon(d, int32(i)) {
			return nil, false
		}
	}
	return d, true
}

// put adds a vertex that belongs to some cells.
func (h *hardener) put(d *skin, v, safe geom.Vec, frozen bool, cells ...int32) int32 {
	d.v, d.safe, d.frozen = append(d.v, v), append(d.safe, safe), append(d.frozen, frozen)
	h.origin = append(h.origin, cells)
	return int32(len(d.v) - 1)
}

// polygon adds the triangles about one crossing.
func (h *hardener) polygon(d *skin, i int32) bool {
	g := h.g
	c := &g.cross[i]
	ways, ok := g.ways(c)
	if !ok {
		return false
	}
	var corners, about []int32
	hard := false
	for k, w := range ways {
		n := h.where[w.cell]
		cell, next := &h.cells[n], &h.cells[h.where[ways[(k+1)%4].cell]]
		about = append(about, n)
		hard = hard || h.hard[n]
		p, q := cell.linkVertex(w.edge, w.enter), cell.linkVertex(w.edge, w.leave)
		if corners = append(corners, p); p != q {
			corners = append(corners, q)
		}
		if h.hard[n] || h.hard[h.where[next.node]] {
			corners = append(corners, h.between(d, i, cell, w.edge, w.leave, h.where[next.node]))
		}
	}
	if !c.out {
		slices.Reverse(corners)
	}
	if !hard {
		d.addPolygon(corners, c.leaf)
		return true
	}
	p := g.insetCrossing(c)
	mid := h.put(d, p, p, true, about...)
	for k, a := range corners {
		d.add(c.leaf, [3]int32{mid, a, corners[(k+1)%len(corners)]})
	}
	return true
}

// between returns the vertex on the side of a cell through which a crossing is linked to another.
func (h *hardener) between(d *skin, i int32, c *ringCell, edge int8, face int, other int32) int32 {
	g := h.g
	e := c.linked(edge, face)
	j := g.crossing[e/4][g.edgeNode(int(c.node), e)]
	key := [2]int32{min(i, j), max(i, j)}
	if v, ok := h.onFace[key]; ok {
		return v
	}
	p := g.facePoint(key, c, face)
	v := h.put(d, p, p, true, h.where[c.node], other)
	h.onFace[key] = v
	return v
}

// linked returns the edge to which a ring links the given one through a face.
func (c *ringCell) linked(edge int8, face int) int8 {
	r := c.ring[edge]
	from, to := int8(0), c.end[r]
	if r > 0 {
		from = c.end[r-1]
	}
	for n := from; n < to; n++ {
		next := n + 1
		if next == to {
			next = from
		}
		if int(c.faces[n]) == face && c.edges[n] == edge {
			return c.edges[next]
		}
		if int(c.faces[n]) == face && c.edges[next] == edge {
			return c.edges[n]
		}
	}
	panic("isosurface: an edge is not linked through a face")
}

// insetCrossing returns a crossing, moved off the ends of its grid edge.
func (g *grid) insetCrossing(c *crossing) geom.Vec {
	i := g.index(int(c.node))
	a := g.point(i[0], i[1], i[2])
	i[c.axis]++
	return clamp(inset(geom.Box{Min: a, Max: g.point(i[0], i[1], i[2])}), c.p)
}

// inset takes a little off all sides of a box, flat ones excepted.
func inset(b geom.Box) geom.Box {
	s := b.Size().Mul(hardInset)
	return geom.Box{Min: b.Min.Add(s), Max: b.Max.Sub(s)}
}

// clamp returns the point of a box that is nearest to p.
func clamp(b geom.Box, p geom.Vec) geom.Vec { return p.Max(b.Min).Min(b.Max) }

// cellBox returns the box of a cell.
func (g *grid) cellBox(node int32) geom.Box {
	i := g.index(int(node))
	return geom.Box{Min: g.point(i[0], i[1], i[2]), Max: g.point(i[0]+1, i[1]+1, i[2]+1)}
}

// facePoint returns the point of the line from crossing to crossing on a side of a cell: where it passes to another
// leaf, else its middle. On a side with two such lines it keeps to the straight ones, so that they cannot cross.
func (g *grid) facePoint(key [2]int32, c *ringCell, face int) geom.Vec {
	a, b := &g.cross[key[0]], &g.cross[key[1]]
	axis := face / 2
	box := inset(g.cellBox(c.node))
	at := coord(a.p, axis)
	room := box
	box.Min, box.Max = withCoord(box.Min, axis, at), withCoord(box.Max, axis, at)
	room.Min, room.Max = withCoord(room.Min, axis, at-nearMM), withCoord(room.Max, axis, at+nearMM)
	e := faceEdges[face]
	two := c.ring[e[0]] >= 0 && c.ring[e[1]] >= 0 && c.ring[e[2]] >= 0 && c.ring[e[3]] >= 0
	p := a.p.Lerp(b.p, 0.5)
	switch {
	case two && a.leaf != b.leaf:
		p = g.switchPoint(a, b)
	case two:
	case a.leaf != b.leaf:
		p = g.change(a, b, axis, room)
	default:
		normal := [3]geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ}[axis]
		if q := solve(p, []sdf.Leaf{g.leaves[a.leaf]}, sdf.PlaneLeaf{At: a.p, Normal: normal}); q.IsFinite() && room.Contains(q) {
			p = q
		}
	}
	return clamp(box, p)
}

// withCoord returns v with one coordinate replaced.
func withCoord(v geom.Vec, axis int, x float64) geom.Vec {
	switch axis {
	case 0:
		v.X = x
	case 1:
		v.Y = x
	default:
		v.Z = x
	}
	return v
}

// placeHard gives every ring of a cell one vertex inside the cell: the place that its leaves ask for if that is inside,
// else the nearest in the cell or the middle of the ring, whichever is less off its leaves. Where there are several
// rings each keeps to its middle, so that their cones stay apart.
func (g *grid) placeHard(c *ringCell) {
	box := inset(g.cellBox(c.node))
	c.v, c.safe = c.v[:0], c.safe[:0]
	from := int8(0)
	for r := range c.count {
		to := c.end[r]
		ring := g.corners(c, from, to, box)
		mid := middle(ring, func(int) bool { return true })
		p := mid
		if c.count == 1 {
			p = g.insideVertex(ring, box, mid)
		}
		for n := from; n < to; n++ {
			c.at[n] = int8(len(c.v))
		}
		c.v, c.safe = append(c.v, clamp(box, p)), append(c.safe, mid)
		from = to
	}
}

func (g *grid) insideVertex(ring []corner, box geom.Box, mid geom.Vec) geom.Vec {
	wide := box.Grow(box.Diagonal())
	p, _ := g.place(ring, wide)
	var seen []sdf.Leaf
	for _, k := range ring {
		seen = append(seen, g.leaves[k.leaf])
	}
	best, off := mid, offLeaves(mid, seen)
	for _, q := range [2]geom.Vec{clamp(box, p), clamp(box, solve(clamp(box, p), seen))} {
		if f := offLeaves(q, seen); q.IsFinite() && f < off {
			best, off = q, f
		}
	}
	return best
}

// trouble is where a mesh is faulty.
type trouble struct {
	boxes []geom.Box
}

// troubleOf lists boxes about the places where triangles are low, face against the solid or stand off too far, and where
// surface was missed.
func (g *grid) troubleOf(m *mesh.Mesh, o Options) trouble {
	parts := make([]trouble, slabs)
	inParallel(slabs, func(k int) {
		from, to := slab(k, len(m.Triangles))
		for i := from; i < to; i++ {
			a, b, c := m.Corners(i)
			box := offBox(g.solid, a, b, c, o.ToleranceMM*(1+errorSlack))
			if mesh.Height(a, b, c) < leastHeight*o.ToleranceMM || isFolded(g.solid, a, b, c) {
				box = m.TriangleBox(i)
			}
			if !box.IsEmpty() {
				parts[k].boxes = append(parts[k].boxes, box)
			}
		}
	})
	var out trouble
	for _, p := range parts {
		out.boxes = append(out.boxes, p.boxes...)
	}
	for _, p := range g.missed(m, o.ToleranceMM*(1+errorSlack)).far {
		out.boxes = append(out.boxes, geom.BoxOf(p).Grow(o.ToleranceMM))
	}
	return out
}

// offBox returns the box of those samples of a triangle that stand off too far, grown by the way between samples; empty
// when none does. Of a long strip only the faulty part counts.
func offBox(s sdf.Solid, a, b, c geom.Vec, most float64) geom.Box {
	box := geom.EmptyBox()
	eachSample(a, b, c, func(p geom.Vec) {
		if d := s.Distance(p); d > most || d < -most {
			box = box.Include(p)
		}
	})
	if box.IsEmpty() {
		return box
	}
	return box.Grow(max(b.Sub(a).Len(), c.Sub(b).Len(), a.Sub(c).Len()) / sampleSteps / 2).Intersect(geom.BoxOf(a, b, c))
}

// Figures of denser grids.
const (
	// denserParts is the number of cells into which one in trouble is divided.
	denserParts = 3
	// denserSkew puts the new plane off the middle, so that it does not fall on what lies there.
	denserSkew = 0.03
)

// denser returns the grid with cells divided where a mesh on it was at fault.
func (g *grid) denser(bad trouble) *grid {
	n := &grid{solid: g.solid, leaves: g.leaves, tol: g.tol, flip: map[faceKey]bool{}}
	for axis := range 3 {
		at := g.at[axis]
		split := make([]bool, len(at))
		for _, b := range bad.boxes {
			lo, hi := coord(b.Min, axis), coord(b.Max, axis)
			for i := 0; i+1 < len(at); i++ {
				split[i] = split[i] || (at[i] < hi && at[i+1] > lo)
			}
		}
		for i, x := range at {
			n.at[axis] = append(n.at[axis], x)
			if !split[i] || i+1 == len(at) || at[i+1]-x < g.tol/4 {
				continue
			}
			for k := 1; k < denserParts; k++ {
				n.at[axis] = append(n.at[axis], x+(at[i+1]-x)*(float64(k)/denserParts+denserSkew))
			}
		}
		n.n[axis] = len(n.at[axis])
	}
	return n
}
