package isosurface

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Figures of untangling.
const (
	// goodFacing is the cosine, between a triangle and its leaf, below which a triangle is worked on. Small ones on a
	// fine grid face their leaf within a few degrees unless they are folded.
	goodFacing = 0.4
	// untangleRounds is how often all vertices of such triangles are tried.
	untangleRounds = 8
	// equalMM is how near two vertices are taken for one: the step of 32-bit floats at 100 mm.
	equalMM = 1e-5
	// leastGain is the least gain of a cosine for which anything is changed: it keeps two vertices from taking turns.
	leastGain = 1e-3
)

// untangle turns triangles that face away from their leaf. Where an edge of the solid runs close to a side of a cell,
// the quadrangle beside it may not be convex, or even folded. A vertex on one leaf moves to the middle of its
// neighbours, one on an edge to the middle of its neighbours on the edge, both back onto their leaves; or the
// diagonal between two triangles is turned. Only what makes the worst triangle about it better is done.
func (d *skin) untangle() {
	w := newThinner(d)
	w.limit = math.Inf(1) // refining comes later
	w.mergeEqual()
	w.untangle()
}

// mergeEqual makes vertices one that share an edge and lie in one place: several cells about a corner of the solid may
// all have found that corner.
func (w *thinner) mergeEqual() {
	for v := range w.star {
		for again := true; again; {
			again = false
			for _, t := range w.star[v] {
				a, b := others(w.t[t], int32(v))
				for _, u := range [2]int32{a, b} {
					if w.v[v].Near(w.v[u], equalMM) && !w.isFrozen(int32(v)) && !w.isFrozen(u) && w.linkAllows(u, int32(v)) {
						w.move(u, int32(v))
						again = true
						break
					}
				}
				if again {
					break
				}
			}
		}
	}
}

// untangle does the same on a mesh that is partly lean, within the limit that holds there.
func (w *thinner) untangle() {
	d := w.skin
	for range untangleRounds {
		bad := w.badTriangles()
		if len(bad) == 0 {
			return
		}
		moved := false
		for _, t := range bad {
			if w.facing(t) >= goodFacing {
				continue
			}
			for k := range 3 {
				moved = w.turnDiagonal(t, d.t[t][k]) || moved
			}
			for k := range 3 {
				moved = w.centre(d.t[t][k]) || moved
			}
		}
		if !moved {
			return
		}
	}
}

func newThinner(d *skin) *thinner {
	w := &thinner{skin: d, star: make([][]int32, len(d.v)), dirty: make([]int32, len(d.v)), mark: make([]int32, len(d.v))}
	count := make([]int32, len(d.v))
	total := int32(0)
	for _, t := range d.t {
		if t[0] >= 0 {
			count[t[0]]++
			count[t[1]]++
			count[t[2]]++
			total += 3
		}
	}
	all := make([]int32, total)
	for v, n := range count {
		w.star[v], all = all[:0:n], all[n:]
	}
	for i, t := range d.t {
		if t[0] >= 0 {
			for _, v := range t {
				w.star[v] = append(w.star[v], int32(i))
			}
		}
	}
	return w
}

func (w *thinner) facing(t int32) float64 {
	c := w.t[t]
	return facing(w.leaves[w.leaf[t]], w.v[c[0]], w.v[c[1]], w.v[c[2]])
}

func (w *thinner) badTriangles() []int32 {
	var bad []int32
	for i := range w.t {
		if w.t[i][0] >= 0 && w.facing(int32(i)) < goodFacing {
			bad = append(bad, int32(i))
		}
	}
	return bad
}

// worst returns the least facing about a vertex.
func (w *thinner) worst(v int32) float64 {
	least := 1.0
	for _, t := range w.star[v] {
		least = min(least, w.facing(t))
	}
	return least
}

// centre moves a vertex to the middle of its neighbours, if that is better.
func (w *thinner) centre(v int32) bool {
	if w.isFrozen(v) {
		return false
	}
	all, edge := geom.Vec{}, geom.Vec{}
	n, changes := 0, 0
	leaves := []sdf.Leaf{w.leaves[w.leaf[w.star[v][0]]]}
	for _, t := range w.star[v] {
		a, _ := others(w.t[t], v)
		all = all.Add(w.v[a])
		n++
		if u := w.across(t, v, a); w.leaf[u] != w.leaf[t] {
			edge = edge.Add(w.v[a])
			changes++
			leaves = []sdf.Leaf{w.leaves[w.leaf[t]], w.leaves[w.leaf[u]]}
		}
	}
	to := all.Mul(1 / float64(n))
	switch changes {
	case 0:
	case 2:
		to = edge.Mul(0.5)
	default:
		return false
	}
	was, old := w.worst(v), w.v[v]
	for _, part := range [2]float64{1, 0.5} {
		p := solve(old.Lerp(to, part), leaves)
		if !p.IsFinite() || offLeaves(p, leaves) > nearMM {
			continue
		}
		if w.v[v] = p; w.worst(v) > was+leastGain && w.starAllows(v) {
			return true
		}
	}
	w.v[v] = old
	return false
}

// starAllows tells whether all triangles about a vertex keep to their leaves.
func (w *thinner) starAllows(v int32) bool {
	for _, t := range w.star[v] {
		a, b := others(w.t[t], v)
		if !w.near(w.leaf[t], v, a, b) || !w.edgeAllows(t, v, v, a) {
			return false
		}
	}
	return true
}

// turnDiagonal replaces the side of t after its corner v by the other diagonal of its quadrangle, if that is better.
func (w *thinner) turnDiagonal(t, v int32) bool {
	a, b := others(w.t[t], v)
	u := w.across(t, a, b)
	if u == t || w.leaf[u] != w.leaf[t] {
		return false
	}
	c := apex(w.t[u], a, b)
	for _, x := range [4]int32{v, a, b, c} {
		if w.isFrozen(x) {
			return false
		}
	}
	if c == v || len(w.star[a]) <= 3 || len(w.star[b]) <= 3 || w.joinedBy(v, c) {
		return false
	}
	l := w.leaves[w.leaf[t]]
	was := min(w.facing(t), w.facing(u))
	now := min(facing(l, w.v[v], w.v[a], w.v[c]), facing(l, w.v[v], w.v[c], w.v[b]))
	if now <= was+leastGain || !w.near(w.leaf[t], v, a, c) || !w.near(w.leaf[t], v, c, b) {
		return false
	}
	w.turn(t, u, v, a, b, c)
	return true
}

// turn replaces the triangles t (v, a, b) and u (c, b, a) by those on the other diagonal, from v to c.
func (w *thinner) turn(t, u, v, a, b, c int32) {
	w.t[t], w.t[u] = [3]int32{v, a, c}, [3]int32{v, c, b}
	w.drop(b, t)
	w.drop(a, u)
	w.star[c] = append(w.star[c], t)
	w.star[v] = append(w.star[v], u)
}

// apex returns the corner of t that is neither a nor b.
func apex(t [3]int32, a, b int32) int32 {
	for _, v := range t {
		if v != a && v != b {
			return v
		}
	}
	return t[0]
}

// joinedBy tells whether a mesh edge runs from v to c.
func (w *thinner) joinedBy(v, c int32) bool {
	for _, t := range w.star[v] {
		if a, b := others(w.t[t], v); a == c || b == c {
			return true
		}
	}
	return false
}
