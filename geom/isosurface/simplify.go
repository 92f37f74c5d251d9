package isosurface

import (
	"math"
	"slices"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// Figures of making a mesh lean.
const (
	// leastHeight is the height of a new triangle, in tolerances, below which it is refused: STL's floats and the
	// programs that read them merge what is lower.
	leastHeight = 0.05
	// mostTurn is the cosine of the greatest angle between a new triangle and its leaf: 60 degrees.
	mostTurn = 0.5
	// firstPart is the part of the tolerance that the first passes may use: they take what costs nothing, so that
	// what is left of a barrel are straight strips, before round edges are made coarser.
	firstPart = 0.05
	// enoughTaken ends a pass when fewer than this part of the vertices went.
	enoughTaken = 0.002
	maxPasses   = 40
)

// thinner takes vertices away by moving one end of an edge onto the other.
type thinner struct {
	*skin
	star  [][]int32 // triangles at each vertex
	dirty []int32   // by vertex: the last pass in which its surroundings changed
	limit float64   // greatest distance from a leaf, in mm
	mark  []int32   // by vertex, for finding common neighbours
	stamp int32
}

// simplify makes the mesh lean. It moves an end of an edge onto the other end, shortest edge first, ties by number,
// wherever topology, leaves and most of the tolerance allow. No vertex gets a new place, so all stay exactly on the surface.
func (d *skin) simplify(most float64) {
	w := newThinner(d)
	pass := int32(1)
	for i, part := range [3]float64{firstPart, most / 2, most} {
		if w.limit = part * d.tol; i > 0 {
			w.untangle()
		}
		for v := range w.dirty {
			w.dirty[v] = pass
		}
		for range maxPasses {
			pass++
			if w.pass(pass) <= int(enoughTaken*float64(len(d.v))) {
				break
			}
		}
	}
	w.untangle()
}

// candidate is a possible move of from onto to.
type candidate struct {
	from, to int32
	length   float64 // its square
}

// pass tries every edge whose surroundings changed since the last one, and returns how many vertices it took away.
func (w *thinner) pass(now int32) int {
	list := w.candidates(now - 1)
	taken := 0
	for _, c := range list {
		if len(w.star[c.from]) == 0 || len(w.star[c.to]) == 0 {
			continue
		}
		if w.try(c.from, c.to) {
			w.touch(c.to, now)
			taken++
		}
	}
	return taken
}

// candidates lists the moves along edges of which an end was touched in the pass since, shortest first.
func (w *thinner) candidates(since int32) []candidate {
	var list []candidate
	for v := range w.star {
		for _, t := range w.star[v] {
			a, _ := others(w.t[t], int32(v))
			if w.dirty[v] >= since || w.dirty[a] >= since {
				step := w.v[v].Sub(w.v[a])
				list = append(list, candidate{int32(v), a, step.Dot(step)})
			}
		}
	}
	slices.SortFunc(list, func(a, b candidate) int {
		switch {
		case a.length < b.length:
			return -1
		case a.length > b.length:
			return 1
		case a.from != b.from:
			return int(a.from - b.from)
		}
		return int(a.to - b.to)
	})
	return list
}

// touch marks a vertex and its neighbours as changed.
func (w *thinner) touch(v, now int32) {
	w.dirty[v] = now
	for _, t := range w.star[v] {
		a, b := others(w.t[t], v)
		w.dirty[a], w.dirty[b] = now, now
	}
}

// others returns the corners after v, in order.
func others(t [3]int32, v int32) (a, b int32) {
	switch v {
	case t[0]:
		return t[1], t[2]
	case t[1]:
		return t[2], t[0]
	}
	return t[0], t[1]
}

// try moves from onto to, if that is allowed.
func (w *thinner) try(from, to int32) bool {
	if !w.leavesAllow(from, to) || !w.linkAllows(from, to) {
		return false
	}
	for _, t := range w.star[from] {
		a, b := others(w.t[t], from)
		if a == to || b == to {
			continue
		}
		if !w.shapeAllows(w.leaf[t], to, a, b) {
			return false
		}
	}
	for _, t := range w.star[from] {
		a, b := others(w.t[t], from)
		if a != to && b != to && !w.edgeAllows(t, from, to, a) {
			return false
		}
	}
	w.move(from, to)
	return true
}

// leavesAllow tells whether from may go to to: freely when all its triangles are of one leaf; along the edge when it
// lies on one edge of the solid; never from a corner.
func (w *thinner) leavesAllow(from, to int32) bool {
	changes, along := 0, false
	for _, t := range w.star[from] {
		a, _ := others(w.t[t], from)
		if u := w.across(t, from, a); w.leaf[u] != w.leaf[t] {
			changes++
			along = along || a == to
		}
	}
	return changes == 0 || (changes == 2 && along)
}

// across returns the other triangle at the edge from v to its next corner a in t.
func (w *thinner) across(t, v, a int32) int32 {
	for _, u := range w.star[v] {
		if _, b := others(w.t[u], v); b == a && u != t {
			return u
		}
	}
	return t
}

// linkAllows is the link condition: the only neighbours that both ends share are the two beside the edge.
func (w *thinner) linkAllows(from, to int32) bool {
	w.stamp++
	for _, t := range w.star[from] {
		a, _ := others(w.t[t], from)
		w.mark[a] = w.stamp
	}
	shared := 0
	for _, t := range w.star[to] {
		a, _ := others(w.t[t], to)
		if w.mark[a] == w.stamp {
			shared++
		}
	}
	return shared == 2 && len(w.star[from])+len(w.star[to]) > 7
}

// shapeAllows tells whether a new triangle keeps to its leaf.
func (w *thinner) shapeAllows(leaf, a, b, c int32) bool {
	l := w.leaves[leaf]
	p, q, r := w.v[a], w.v[b], w.v[c]
	if mesh.Height(p, q, r) < leastHeight*w.tol {
		return false
	}
	if facing(l, p, q, r) < mostTurn {
		return false
	}
	return w.near(leaf, a, b, c)
}

// near tells whether the triangle stands off its leaf by no more than the limit, at its middle and those of its sides
// at a.
func (w *thinner) near(leaf, a, b, c int32) bool {
	l := w.leaves[leaf]
	p, q, r := w.v[a], w.v[b], w.v[c]
	for _, m := range [3]geom.Vec{p.Lerp(q, 0.5), p.Lerp(r, 0.5), p.Add(q).Add(r).Mul(1.0 / 3)} {
		if math.Abs(l.Distance(m)) > w.limit {
			return false
		}
	}
	return true
}

// edgeAllows tells whether the new edge from to to a keeps to the curve in which its leaves meet, if it is on one.
func (w *thinner) edgeAllows(t, from, to, a int32) bool {
	u := w.across(t, from, a)
	if w.leaf[u] == w.leaf[t] {
		return true
	}
	mid := w.v[to].Lerp(w.v[a], 0.5)
	return offCurve(w.leaves[w.leaf[t]], w.leaves[w.leaf[u]], mid) <= w.limit
}

// move replaces from by to and takes away the triangles that had both.
func (w *thinner) move(from, to int32) {
	keep := w.star[to][:0:0]
	for _, t := range w.star[to] {
		if a, b := others(w.t[t], to); a != from && b != from {
			keep = append(keep, t)
		}
	}
	for _, t := range w.star[from] {
		a, b := others(w.t[t], from)
		switch to {
		case a:
			w.drop(b, t)
			w.t[t][0] = -1
		case b:
			w.drop(a, t)
			w.t[t][0] = -1
		default:
			for k := range 3 {
				if w.t[t][k] == from {
					w.t[t][k] = to
				}
			}
			keep = append(keep, t)
		}
	}
	w.star[to], w.star[from] = keep, nil
}

// drop takes triangle t off the list of v.
func (w *thinner) drop(v, t int32) {
	s := w.star[v]
	for i, u := range s {
		if u == t {
			w.star[v] = append(s[:i], s[i+1:]...)
			return
		}
	}
}
