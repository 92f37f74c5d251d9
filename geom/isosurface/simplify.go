package isosurface

import (
	"math"
	"slices"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// Figures of making a mesh lean.
const (
	// leastHeight is the height of a new triangle, in tolerances, below which it is refused: STL's floats and the
	// programs that read them merge what is lower.
	leastHeight = 0.1
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
	zone  []int8 // by vertex: its zone while zones are worked on at the same time, -1 beside another zone; nil otherwise
	keys  []uint64
	moves [][2]int32
	guard *guard // nil where crossings are looked for afterwards only
}

// simplify makes the mesh lean. It moves an end of an edge onto the other end, shortest edge first, ties by number,
// wherever topology, leaves and most of the tolerance allow. No vertex gets a new place, so all stay exactly on the surface.
// Zones of the mesh are worked on at the same time, and then what lies between them.
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
		zone := w.zones()
		var last [zones]int32
		inParallel(zones, func(z int) {
			own := *w
			own.zone, own.mark = zone, make([]int32, len(w.v))
			own.keys, own.moves = nil, nil
			last[z] = own.passes(pass, int8(z))
		})
		// what zones had to leave alone, and what is beside that
		pass = slices.Max(last[:]) + 1
		for v := range w.dirty {
			if zone[v] < 0 {
				w.dirty[v] = pass
			}
		}
		pass = w.passes(pass, allZones)
	}
	w.untangle()
	w.raise()
}

// simplifyGuarded does the same to a mesh that has no crossings, and makes none. It rounds the vertices to 32-bit floats.
func (d *skin) simplifyGuarded(most float64) {
	w := newThinner(d)
	w.watch()
	pass := int32(1)
	for _, part := range [3]float64{firstPart, most / 2, most} {
		w.limit = part * d.tol
		for v := range w.dirty {
			w.dirty[v] = pass
		}
		pass = w.passes(pass, allZones)
	}
}

// raiseRounds is how often low triangles are looked for: taking one away may lower another.
const raiseRounds = 4

// raise takes away triangles that are lower than leastHeight: a needle by making the ends of its short side one, whatever
// leaves they lie on, as they are so near; a flat one by turning its long side.
func (w *thinner) raise() {
	least := leastHeight * w.tol
	low := func(a, b, c int32) bool { return mesh.Height(w.v[a], w.v[b], w.v[c]) < least }
	for range raiseRounds {
		done := true
		for i := range w.t {
			t := w.t[i]
			if t[0] < 0 || !low(t[0], t[1], t[2]) {
				continue
			}
			for k := range 3 {
				a, b := t[k], t[(k+1)%3]
				if w.raiseNeedle(a, b, least) || w.raiseNeedle(b, a, least) || w.raiseFlat(int32(i), t[(k+2)%3]) {
					done = false
					break
				}
			}
		}
		if done {
			return
		}
	}
}

// raiseNeedle moves from onto to if they are less than twice the least height apart and no triangle suffers.
func (w *thinner) raiseNeedle(from, to int32, least float64) bool {
	if w.v[from].Sub(w.v[to]).Len() > 2*least || !w.linkAllows(from, to) {
		return false
	}
	for _, t := range w.star[from] {
		a, b := others(w.t[t], from)
		if a != to && b != to && !w.shapeAllows(w.leaf[t], to, a, b) {
			return false
		}
	}
	w.move(from, to)
	return true
}

// raiseFlat turns the side of t opposite v, if both triangles then are high enough and keep to the leaf of the other
// triangle. Where that is another leaf the edge of the solid goes through v then, which lies that near to it.
func (w *thinner) raiseFlat(t, v int32) bool {
	a, b := others(w.t[t], v)
	u := w.across(t, a, b)
	if u == t {
		return false
	}
	c := apex(w.t[u], a, b)
	if c == v || len(w.star[a]) <= 3 || len(w.star[b]) <= 3 || w.joinedBy(v, c) ||
		!w.shapeAllows(w.leaf[u], v, a, c) || !w.shapeAllows(w.leaf[u], v, c, b) {
		return false
	}
	w.turn(t, u, v, a, b, c)
	w.leaf[t] = w.leaf[u]
	return true
}

// zones is the number of parts of the mesh that are worked on at the same time. It does not depend on the number of
// cores.
const zones = 6

// allZones stands for the whole mesh.
const allZones int8 = -2

// zones divides the vertices along the longest side of the body into parts of equal number. A vertex with a neighbour
// in another part gets -1: nothing next to it may be changed while others work there.
func (w *thinner) zones() []int8 {
	box := geom.BoxOf(w.v...)
	long := 0
	for k := 1; k < 3; k++ {
		if coord(box.Size(), k) > coord(box.Size(), long) {
			long = k
		}
	}
	var at []float64
	for v := range w.v {
		if len(w.star[v]) > 0 {
			at = append(at, coord(w.v[v], long))
		}
	}
	slices.Sort(at)
	part := make([]int8, len(w.v))
	for v := range w.v {
		for z := 1; z < zones; z++ {
			if len(at) > 0 && coord(w.v[v], long) >= at[z*len(at)/zones] {
				part[v] = int8(z)
			}
		}
	}
	out := slices.Clone(part)
	for _, t := range w.t {
		if t[0] >= 0 && (part[t[0]] != part[t[1]] || part[t[0]] != part[t[2]]) {
			out[t[0]], out[t[1]], out[t[2]] = -1, -1, -1
		}
	}
	return out
}

// passes goes over a zone until little goes any more. What changed in pass now is tried first. It returns the last pass.
func (w *thinner) passes(now int32, zone int8) int32 {
	mine := make([]int32, 0, len(w.v))
	for v := range w.v {
		// The zone first: lists of another's vertices are being changed meanwhile.
		if (zone == allZones || w.zone[v] == zone) && len(w.star[v]) > 0 {
			mine = append(mine, int32(v))
		}
	}
	for range maxPasses {
		now++
		if w.pass(now, mine) <= int(enoughTaken*float64(len(mine))) {
			break
		}
	}
	return now
}

// pass tries every edge of the given vertices whose surroundings changed since the last one, and returns how many
// vertices it took away.
func (w *thinner) pass(now int32, mine []int32) int {
	w.candidates(now-1, mine)
	taken := 0
	for _, k := range w.keys {
		from, to := w.moves[k&math.MaxUint32][0], w.moves[k&math.MaxUint32][1]
		if len(w.star[from]) == 0 || len(w.star[to]) == 0 {
			continue
		}
		if w.try(from, to) {
			w.touch(to, now)
			taken++
		}
	}
	return taken
}

// candidates lists the moves along edges of which an end was touched in the pass since, shortest first. A key is the
// square of the edge's length, as the bits of a 32-bit float, over the number of the move.
func (w *thinner) candidates(since int32, mine []int32) {
	w.keys, w.moves = w.keys[:0], w.moves[:0]
	for _, v := range mine {
		fixed := -1 // whether v cannot go anywhere, once that is known
		for _, t := range w.star[v] {
			a, _ := others(w.t[t], v)
			if w.dirty[v] < since && w.dirty[a] < since || w.zone != nil && w.zone[a] != w.zone[v] {
				continue
			}
			if fixed < 0 {
				fixed = 0
				if w.isFixed(v) {
					fixed = 1
				}
			}
			if fixed == 1 {
				break
			}
			step := w.v[v].Sub(w.v[a])
			bits := uint64(math.Float32bits(float32(step.Dot(step))))
			w.keys = append(w.keys, bits<<32|uint64(len(w.moves)))
			w.moves = append(w.moves, [2]int32{v, a})
		}
	}
	slices.Sort(w.keys)
}

// isFixed tells whether a vertex is a corner of the solid: it lies on more than one edge and may not move.
func (w *thinner) isFixed(v int32) bool {
	leaf := w.leaf[w.star[v][0]]
	same := true
	for _, t := range w.star[v] {
		same = same && w.leaf[t] == leaf
	}
	if same {
		return false
	}
	changes := 0
	for _, t := range w.star[v] {
		a, _ := others(w.t[t], v)
		if w.leaf[w.across(t, v, a)] != w.leaf[t] {
			changes++
		}
	}
	return changes != 2
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
	if w.guard != nil && !w.clear(w.moved(from, to), w.star[from]) {
		return false
	}
	w.move(from, to)
	w.enter(to)
	return true
}

// leavesAllow tells whether from may go to to: freely when all its triangles are of one leaf; along the edge when it
// lies on one edge of the solid; never from a corner.
func (w *thinner) leavesAllow(from, to int32) bool {
	changes, along := 0, false
	leaf, same := w.leaf[w.star[from][0]], true
	for _, t := range w.star[from] {
		same = same && w.leaf[t] == leaf
	}
	if same {
		return true
	}
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
	if _, ok := l.(sdf.StarLeaf); !ok {
		return true
	}
	// barrels and the narrow hollows between them are one leaf: what is straight in the middle may bend beside it
	within := true
	eachSample(p, q, r, func(m geom.Vec) { within = within && math.Abs(l.Distance(m)) <= w.limit })
	return within
}

// edgeAllows tells whether the new edge from to to a keeps to the curve in which its leaves meet, if it is on one.
func (w *thinner) edgeAllows(t, from, to, a int32) bool {
	u := w.across(t, from, a)
	if w.leaf[u] == w.leaf[t] {
		return true
	}
	for _, part := range [3]float64{0.5, 0.25, 0.75} { // a curve is not always farthest off in the middle
		if offCurve(w.leaves[w.leaf[t]], w.leaves[w.leaf[u]], w.v[to].Lerp(w.v[a], part)) > w.limit {
			return false
		}
	}
	return true
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
