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

// place finds the vertex of one ring: the crossings in order, and the faces between them. On one leaf it is the mean
// of the crossings, moved onto the leaf. On several it starts from the mean of the points where the ring passes from
// leaf to leaf, which lie on the edges.
func (g *grid) place(c *ringCell, from, to int8) geom.Vec {
	i := g.index(int(c.node))
	lo := g.point(i[0], i[1], i[2])
	hi := g.point(i[0]+1, i[1]+1, i[2]+1)
	grown := cellRoom(lo, hi)
	var mean, edge geom.Vec
	changes := 0
	var seen []sdf.Leaf
	var ids []int32
	for n := from; n < to; n++ {
		next := n + 1
		if next == to {
			next = from
		}
		a, b := g.crossOf(c, c.edges[n]), g.crossOf(c, c.edges[next])
		mean = mean.Add(a.p)
		if !has(ids, a.leaf) {
			ids = append(ids, a.leaf)
			seen = append(seen, g.leaves[a.leaf])
		}
		if a.leaf != b.leaf {
			edge = edge.Add(g.change(a, b, int(c.faces[n])/2, grown))
			changes++
		}
	}
	start := mean.Mul(1 / float64(to-from))
	if changes > 0 {
		start = edge.Mul(1 / float64(changes))
	}
	p := solve(start, seen)
	if !p.IsFinite() || !grown.Contains(p) {
		return start
	}
	return p
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
