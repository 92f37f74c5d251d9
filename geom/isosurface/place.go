package isosurface

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Figures of placing vertices.
const (
	// solvedMM is how near to all its leaves a placed point is sought.
	solvedMM = 1e-9
	// nearMM is how far from a leaf a point may be and still count as on it.
	nearMM = 1e-6
	// damping cuts off directions in which leaves that are nearly tangent say nothing: the square of a sine of 1e-4.
	damping = 1e-8
	// beyondCell is how far outside its cell a vertex may come to lie, in units of the cell's middle side. An edge of
	// the solid can dip through a face of the cell and come back without meeting a grid edge: where the cell face cuts
	// a sharp edge at a slant, the edge looks like a wedge much narrower than the cell.
	beyondCell = 1.0
)

// solve moves p onto all the leaves by the shortest way, as far as they meet (Gauss-Newton steps, damped). rows are
// further planes that p has to stay on.
func solve(p geom.Vec, leaves []sdf.Leaf, rows ...sdf.Leaf) geom.Vec {
	for range 30 {
		var m [3][3]float64
		var rhs geom.Vec
		most := 0.0
		for _, list := range [2][]sdf.Leaf{leaves, rows} {
			for _, l := range list {
				d, n := l.Distance(p), l.Gradient(p)
				most = max(most, math.Abs(d))
				rhs = rhs.Sub(n.Mul(d))
				m[0][0] += n.X * n.X
				m[0][1] += n.X * n.Y
				m[0][2] += n.X * n.Z
				m[1][1] += n.Y * n.Y
				m[1][2] += n.Y * n.Z
				m[2][2] += n.Z * n.Z
			}
		}
		if most <= solvedMM {
			return p
		}
		step := solve3(m, rhs)
		p = p.Add(step)
		if step.Len() <= solvedMM/10 {
			return p
		}
	}
	return p
}

// solve3 solves (m + damping) x = b for symmetric m, given by its upper half.
func solve3(m [3][3]float64, b geom.Vec) geom.Vec {
	m[0][0] += damping
	m[1][1] += damping
	m[2][2] += damping
	r0 := geom.V(m[0][0], m[0][1], m[0][2])
	r1 := geom.V(m[0][1], m[1][1], m[1][2])
	r2 := geom.V(m[0][2], m[1][2], m[2][2])
	c0, c1, c2 := r1.Cross(r2), r2.Cross(r0), r0.Cross(r1)
	det := r0.Dot(c0)
	if det == 0 {
		return geom.Vec{}
	}
	return c0.Mul(b.X).Add(c1.Mul(b.Y)).Add(c2.Mul(b.Z)).Mul(1 / det)
}

// offLeaves returns the greatest distance of p from the leaves.
func offLeaves(p geom.Vec, leaves []sdf.Leaf) float64 {
	most := 0.0
	for _, l := range leaves {
		most = max(most, math.Abs(l.Distance(p)))
	}
	return most
}

// corner is one crossing of a ring, and where the ring passes on to another leaf on its way to the next crossing.
type corner struct {
	p       geom.Vec
	leaf    int32
	changes bool
	change  geom.Vec
}

// placeAll finds the vertices of all rings of a cell.
func (g *grid) placeAll(c *ringCell) {
	i := g.index(int(c.node))
	grown := cellRoom(g.point(i[0], i[1], i[2]), g.point(i[0]+1, i[1]+1, i[2]+1))
	from := int8(0)
	for r := range c.count {
		to := c.end[r]
		ring := g.corners(c, from, to, grown)
		p, off := g.place(ring, grown)
		first := int8(len(c.v))
		if a, b, at, ok := g.placePair(ring, grown, off); ok {
			c.v = append(c.v, a, b)
			for n := range ring {
				c.at[int(from)+n] = first + at[n]
			}
			c.safe = append(c.safe, middle(ring, func(n int) bool { return at[n] == 0 }), middle(ring, func(n int) bool { return at[n] == 1 }))
		} else {
			c.v = append(c.v, p)
			c.safe = append(c.safe, middle(ring, func(int) bool { return true }))
			for n := from; n < to; n++ {
				c.at[n] = first
			}
		}
		from = to
	}
}

// middle returns the mean of some of a ring's crossings. It lies in the cell.
func middle(ring []corner, of func(n int) bool) geom.Vec {
	sum, n := geom.Vec{}, 0.0
	for i, k := range ring {
		if of(i) {
			sum = sum.Add(k.p)
			n++
		}
	}
	return sum.Mul(1 / n)
}

// corners lists the crossings of one ring with the places where it passes from leaf to leaf.
func (g *grid) corners(c *ringCell, from, to int8, grown geom.Box) []corner {
	ring := make([]corner, 0, 12)
	for n := from; n < to; n++ {
		next := n + 1
		if next == to {
			next = from
		}
		a, b := g.crossOf(c, c.edges[n]), g.crossOf(c, c.edges[next])
		k := corner{p: a.p, leaf: a.leaf}
		if a.leaf != b.leaf {
			k.changes, k.change = true, g.change(a, b, int(c.faces[n])/2, grown)
		}
		ring = append(ring, k)
	}
	return ring
}

// place finds one vertex for the crossings of a ring, and how far it is off their leaves. On one leaf it is the mean
// of the crossings, moved onto the leaf. On several it starts from the mean of the points where the ring passes from
// leaf to leaf, which lie on the edges.
func (g *grid) place(ring []corner, grown geom.Box) (geom.Vec, float64) {
	var mean, edge geom.Vec
	changes := 0
	var seen []sdf.Leaf
	var ids []int32
	for _, k := range ring {
		mean = mean.Add(k.p)
		if !has(ids, k.leaf) {
			ids = append(ids, k.leaf)
			seen = append(seen, g.leaves[k.leaf])
		}
		if k.changes {
			edge = edge.Add(k.change)
			changes++
		}
	}
	start := mean.Mul(1 / float64(len(ring)))
	if changes > 0 {
		start = edge.Mul(1 / float64(changes))
	}
	p := g.tip(seen, grown, solve(start, seen))
	if !p.IsFinite() || !grown.Contains(p) {
		p = start
	}
	return p, offLeaves(p, seen)
}

// tip returns the apex of a cone where one of the leaves has it in the cell and on the surface, else p.
func (g *grid) tip(seen []sdf.Leaf, grown geom.Box, p geom.Vec) geom.Vec {
	for _, l := range seen {
		c, ok := l.(sdf.ConeLeaf)
		if !ok {
			continue
		}
		apex := c.At.Sub(c.Dir.Mul(c.Radius / c.Slope))
		if apex.Sub(p).Len() < grown.Diagonal()/4 && grown.Contains(apex) && math.Abs(g.solid.Distance(apex)) <= nearMM {
			return apex
		}
	}
	return p
}

// pairPart is the part of the tolerance by which one vertex must be off its leaves before two are tried.
const pairPart = 0.1

// placePair finds two vertices for a ring that has no single one: where a strip narrower than the cell runs through it,
// with another leaf on either side. The ring then passes through four runs of leaves, two opposite ones of the strip's.
// Each of the others takes the vertex on its edge with the strip. at tells which vertex each link takes.
func (g *grid) placePair(ring []corner, grown geom.Box, off float64) (a, b geom.Vec, at [12]int8, ok bool) {
	if off <= pairPart*g.tol {
		return a, b, at, false
	}
	var ends []int // the corners after which the leaf changes
	for n, k := range ring {
		if k.changes {
			ends = append(ends, n)
		}
	}
	if len(ends) != 4 {
		return a, b, at, false
	}
	for turn := range 2 {
		// the strip is the leaf of the runs that end with changes turn and turn+2
		e0, e1, e2, e3 := ends[turn], ends[turn+1], ends[(turn+2)%4], ends[(turn+3)%4]
		strip := ring[e0].leaf
		if ring[e2].leaf != strip {
			continue
		}
		var okA, okB bool
		a, okA = g.onPair(strip, ring[e1].leaf, ring[e0].change.Lerp(ring[e1].change, 0.5), grown)
		b, okB = g.onPair(strip, ring[e3].leaf, ring[e2].change.Lerp(ring[e3].change, 0.5), grown)
		if !okA || !okB || a.Near(b, nearMM) {
			continue
		}
		// links from change e0 to change e1 lie about the first run, the others about the second
		for n := range ring {
			at[n] = 1
		}
		for n := e0; ; n = (n + 1) % len(ring) {
			at[n] = 0
			if n == e1 {
				break
			}
		}
		return a, b, at, true
	}
	return a, b, at, false
}

// onPair moves p onto two leaves, if they meet in the cell.
func (g *grid) onPair(i, j int32, p geom.Vec, grown geom.Box) (geom.Vec, bool) {
	pair := []sdf.Leaf{g.leaves[i], g.leaves[j]}
	p = solve(p, pair)
	return p, p.IsFinite() && grown.Contains(p) && offLeaves(p, pair) <= pairPart*g.tol
}

// cellRoom is the cell grown by as much as a vertex may lie outside it.
func cellRoom(lo, hi geom.Vec) geom.Box {
	s := hi.Sub(lo)
	middle := max(min(s.X, s.Y), min(max(s.X, s.Y), s.Z))
	room := geom.V(middle, middle, middle).Mul(beyondCell)
	return geom.Box{Min: lo.Sub(room), Max: hi.Add(room)}
}

func has(list []int32, x int32) bool {
	for _, y := range list {
		if x == y {
			return true
		}
	}
	return false
}

func (g *grid) crossOf(c *ringCell, edge int8) *crossing {
	return &g.cross[g.crossing[edge/4][g.edgeNode(int(c.node), edge)]]
}

// change finds where, on the cell face that a and b lie on, the surface passes from the leaf of a to that of b. Leaves
// that touch, such as a bend and its leads, do not fix the point by their distances: there the solid is asked which of
// them is active, along the line from a to b.
func (g *grid) change(a, b *crossing, axis int, grown geom.Box) geom.Vec {
	la, lb := g.leaves[a.leaf], g.leaves[b.leaf]
	mid := a.p.Lerp(b.p, 0.5)
	const touching = 0.999 // cosine of 2.6 degrees
	if la.Gradient(mid).Dot(lb.Gradient(mid)) < touching {
		normal := [3]geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ}[axis]
		plane := sdf.PlaneLeaf{At: a.p, Normal: normal}
		pair := []sdf.Leaf{la, lb}
		p := solve(mid, pair, plane)
		if p.IsFinite() && grown.Contains(p) && offLeaves(p, pair) <= nearMM {
			return p
		}
	}
	return g.switchPoint(a, b)
}

// switchPoint finds where, on the straight line between two crossings, the active leaf stops being that of a.
func (g *grid) switchPoint(a, b *crossing) geom.Vec {
	lo, hi := 0.0, 1.0
	for range 24 {
		t := (lo + hi) / 2
		if p := a.p.Lerp(b.p, t); g.solid.ActiveLeaf(p) == int(a.leaf) {
			lo = t
		} else {
			hi = t
		}
	}
	return a.p.Lerp(b.p, (lo+hi)/2)
}
