package isosurface

import (
	"math"
	"slices"
	"sort"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// Figures of looking for surface that a mesh has missed.
const (
	// footSteps is the greatest number of steps from the middle of a cell to the surface.
	footSteps = 12
	// farMissed is the distance, in tolerances, beyond which it does not matter how far a point of the surface is off.
	farMissed = 20
	// nearFoot is the part of what is allowed within which a foot is near enough to a triangle for others not to be tried.
	nearFoot = 0.5
	// borderMM is how far about a point one looks whether it is on the border of the material.
	borderMM = 1e-3
)

// findFeet finds points of the true surface for which it is not sure that the mesh comes near them: corners of the solid and
// points of its edges that vertices were put on, and places in cells whose corners all have one sign, where a rib or slot
// may pass between the nodes. Those are sought from the middles of all cells that are nearer to the surface than half their
// diagonal, by steps along the distance. With care all places are taken that are found so.
func (g *grid) findFeet() []geom.Vec {
	if g.feet != nil && g.feetCare == g.careful {
		return g.feet
	}
	parts := make([][]geom.Vec, slabs)
	inParallel(slabs, func(i int) {
		from, to := slab(i, g.n[2]-1)
		if from < to {
			parts[i] = g.feetIn(nil, [3]int{0, 0, from}, [3]int{g.n[0] - 1, g.n[1] - 1, to})
		}
	})
	g.feet, g.feetCare = slices.Concat([]geom.Vec{}, slices.Concat(parts...)), g.careful
	return g.feet
}

// feetIn adds the feet of the cells from lo to before hi. Blocks away from the surface are skipped as in fill.
func (g *grid) feetIn(out []geom.Vec, lo, hi [3]int) []geom.Vec {
	a, b := g.point(lo[0], lo[1], lo[2]), g.point(hi[0], hi[1], hi[2])
	mid := a.Lerp(b, 0.5)
	size, long := b.Sub(a), -1
	for k := range 3 {
		if hi[k]-lo[k] > 1 && (long < 0 || coord(size, k) > coord(size, long)) {
			long = k
		}
	}
	var cell *ringCell
	if long < 0 && g.where[g.node(lo[0], lo[1], lo[2])] >= 0 {
		cell = &g.found[g.where[g.node(lo[0], lo[1], lo[2])]]
		out = g.onEdges(out, cell, mid)
	}
	f := math.Abs(g.solid.Distance(mid))
	if f > size.Len()/2 {
		return out
	}
	if long < 0 {
		// along the length of a long cell nothing is known to change
		if middle := max(min(size.X, size.Y), min(max(size.X, size.Y), size.Z)); f > middle*math.Sqrt(3)/2 {
			return out
		}
		return g.footOf(out, mid, cell)
	}
	half := (lo[long] + hi[long]) / 2
	hi1, lo2 := hi, lo
	hi1[long], lo2[long] = half, half
	return g.feetIn(g.feetIn(out, lo, hi1), lo2, hi)
}

// footOf adds the foot of a cell from its middle. cell is nil where there are no crossings. Without care a foot in a cell
// with crossings counts only if it lies on a leaf that none of them is on.
func (g *grid) footOf(out []geom.Vec, mid geom.Vec, cell *ringCell) []geom.Vec {
	if !g.careful && cell != nil && g.knows(cell, g.solid.ActiveLeaf(mid)) {
		return out
	}
	p, ok := g.foot(mid)
	if !ok {
		return out
	}
	if !g.careful {
		if at := g.cellAt(p); at != nil && g.knows(at, g.solid.ActiveLeaf(p)) {
			return out
		}
	}
	return append(out, p)
}

// knows tells whether a crossing of a cell lies on a leaf.
func (g *grid) knows(c *ringCell, leaf int) bool {
	for _, e := range c.edges[:c.end[c.count-1]] {
		if int(g.crossOf(c, e).leaf) == leaf {
			return true
		}
	}
	return false
}

// onEdges adds the vertices of a cell that lie on an edge of the solid, the places where its rings pass from leaf to leaf,
// and the foot from its middle if there are such.
func (g *grid) onEdges(out []geom.Vec, c *ringCell, mid geom.Vec) []geom.Vec {
	from, edges := int8(0), false
	add := func(p geom.Vec) {
		if math.Abs(g.solid.Distance(p)) <= nearMM {
			out = append(out, p)
		}
	}
	for r := range c.count {
		to := c.end[r]
		if g.oneLeaf(c, from, to) {
			from = to
			continue
		}
		edges = true
		i := g.index(int(c.node))
		for _, k := range g.corners(c, from, to, cellRoom(g.point(i[0], i[1], i[2]), g.point(i[0]+1, i[1]+1, i[2]+1))) {
			if k.changes {
				add(k.change)
			}
		}
		from = to
	}
	if !edges {
		return out
	}
	for _, v := range c.v {
		add(v)
	}
	if p, ok := g.foot(mid); ok {
		add(p)
	}
	return out
}

// oneLeaf tells whether all crossings of a ring lie on one leaf.
func (g *grid) oneLeaf(c *ringCell, from, to int8) bool {
	for n := from + 1; n < to; n++ {
		if g.crossOf(c, c.edges[n]).leaf != g.crossOf(c, c.edges[from]).leaf {
			return false
		}
	}
	return true
}

// cellAt returns the cell with crossings that a point is in, or nil.
func (g *grid) cellAt(p geom.Vec) *ringCell {
	var at [3]int
	for k := range 3 {
		at[k] = sort.SearchFloat64s(g.at[k], coord(p, k)) - 1
		if at[k] < 0 || at[k] >= g.n[k]-1 {
			return nil
		}
	}
	if i := g.where[g.node(at[0], at[1], at[2])]; i >= 0 {
		return &g.found[i]
	}
	return nil
}

// foot goes from p to the surface.
func (g *grid) foot(p geom.Vec) (geom.Vec, bool) {
	for range footSteps {
		f := g.solid.Distance(p)
		if math.Abs(f) <= nearMM {
			return p, true
		}
		p = p.Sub(g.leaves[g.solid.ActiveLeaf(p)].Gradient(p).Mul(f))
	}
	return p, false
}

// isBorder tells whether a point at distance 0 has material on one side and none on the other: where bodies touch there
// is material all about, where a tool ends in a face there is none.
func isBorder(s sdf.Solid, p geom.Vec) bool {
	const least = borderMM / 100
	in, out := false, false
	for k := range 27 {
		d := geom.V(float64(k%3-1), float64(k/3%3-1), float64(k/9-1)).Mul(borderMM)
		f := s.Distance(p.Add(d))
		if in, out = in || f < -least, out || f > least; in && out {
			return true
		}
	}
	return false
}

// misses tells how far points of the surface are off a mesh.
type misses struct {
	most float64    // of those that are not thin, in mm and up to farMissed tolerances
	thin float64    // of those that are
	far  []geom.Vec // those that are not thin and farther off than allowed
}

// missed looks for surface that a mesh has missed: which of the feet are farther from it than allowed.
func (g *grid) missed(m *mesh.Mesh, allowed float64) misses {
	feet, f := g.findFeet(), mesh.NewFinder(m)
	off, thin := make([]float64, len(feet)), make([]bool, len(feet))
	inParallel(slabs, func(k int) {
		from, to := slab(k, len(feet))
		for i := from; i < to; i++ {
			off[i] = f.Distance(feet[i], nearFoot*allowed, farMissed*g.tol)
			if off[i] > allowed && !isBorder(g.solid, feet[i]) {
				off[i] = 0
			}
			thin[i] = off[i] > allowed && isThin(g.solid, feet[i], g.tol)
		}
	})
	var out misses
	for i, d := range off {
		if thin[i] {
			out.thin = max(out.thin, d)
			continue
		}
		if out.most = max(out.most, d); d > allowed {
			out.far = append(out.far, feet[i])
		}
	}
	return out
}

// isThin tells whether a point of the surface belongs to a wall, slot or tip that is thinner than the tolerance: whether
// no ball with the tolerance as its diameter fits into the material, or none into the space outside, that comes as near
// to the point as the tolerance. At an edge of 90 degrees such a ball comes within 0.21 tolerances, at one of 39 degrees
// within one.
func isThin(s sdf.Solid, p geom.Vec, tol float64) bool {
	in, out := false, false
	for _, part := range thinReach {
		for k := range 27 {
			d := geom.V(float64(k%3-1), float64(k/3%3-1), float64(k/9-1)).Unit()
			f := s.Distance(p.Add(d.Mul(part * tol)))
			if in, out = in || f <= -tol/2, out || f >= tol/2; in && out {
				return false
			}
		}
	}
	return true
}

// thinReach are the distances, in tolerances, at which middles of balls are sought: from their radius to that and one more.
var thinReach = [4]float64{0.5 + 1e-6, 0.75, 1.1, 1.5}
