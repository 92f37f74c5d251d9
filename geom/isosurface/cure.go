package isosurface

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// Figures of curing.
const (
	// cureRounds is how often the ill triangles are gone over.
	cureRounds = 12
	// cureReach is the greatest length, in tolerances, of an edge that is taken away although its ends lie on different
	// leaves: so an edge of the solid moves by less than the tolerance.
	cureReach = 0.5
	// leastCure is the least gain for which anything is done.
	leastCure = 1e-6
	// worse is how much more than being low it counts that a triangle is folded or off.
	worse = 10
	// mostCrumb is the greatest number of vertices of a loose piece that may be left out.
	mostCrumb = 200
)

// curer takes away what is wrong with single triangles of a mesh that is closed and free of crossings: that they are
// low, face against the solid or stand off it. It measures by the solid itself, not by leaves, and makes no crossings.
type curer struct {
	*thinner
	solid sdf.Leafed
	ill   []float64 // by triangle, negative where that is not known
}

// cure works on a skin whose mesh is sound, and rounds its vertices to 32-bit floats.
func (d *skin) cure(s sdf.Leafed) {
	w := newThinner(d)
	w.limit = d.tol
	w.watch()
	c := &curer{thinner: w, solid: s, ill: make([]float64, len(d.t))}
	inParallel(slabs, func(k int) {
		from, to := slab(k, len(d.t))
		for i := from; i < to; i++ {
			if t := d.t[i]; t[0] >= 0 {
				c.ill[i] = c.illness(t)
			}
		}
	})
	c.dropCrumbs()
	for range cureRounds {
		done := true
		for i := range d.t {
			if d.t[i][0] >= 0 && c.ill[i] > 0 && c.treat(int32(i)) {
				done = false
			}
		}
		if done {
			return
		}
	}
}

// illness is 0 for a sound triangle.
func (c *curer) illness(t [3]int32) float64 {
	p, q, r := c.v[t[0]], c.v[t[1]], c.v[t[2]]
	ill := 0.0
	if h := mesh.Height(p, q, r); h < leastHeight*c.tol {
		ill += 2 - h/(leastHeight*c.tol)
	}
	if most, _ := sampleTriangle(c.solid, p, q, r); most > c.tol*(1+errorSlack) {
		ill += worse + most/c.tol
	}
	if isFolded(c.solid, p, q, r) {
		ill += worse
	}
	return ill
}

// sum adds the illness of triangles of the mesh.
func (c *curer) sum(ts []int32) float64 {
	total := 0.0
	for _, t := range ts {
		total += c.ill[t]
	}
	return total
}

// fresh adds the illness of new triangles, as long as that is less than most.
func (c *curer) fresh(ts [][3]int32, most float64) float64 {
	total := 0.0
	for _, t := range ts {
		if c.thinDown(t) {
			return math.Inf(1)
		}
		if total += c.illness(t); total >= most {
			break
		}
	}
	return total
}

// thinDown tells whether a triangle has no height at all.
func (c *curer) thinDown(t [3]int32) bool {
	return mesh.Height(c.v[t[0]], c.v[t[1]], c.v[t[2]]) < 2*mesh.DegenerateMM
}

// treat tries everything about a triangle, and returns whether anything helped.
func (c *curer) treat(t int32) bool {
	corners := c.t[t]
	for k := range 3 {
		a, b := corners[k], corners[(k+1)%3]
		if c.join(a, b) || c.join(b, a) || c.flip(t, corners[k]) {
			return true
		}
	}
	for k := range 3 {
		for _, u := range c.around(corners[k]) {
			if c.join(corners[k], u) || c.join(u, corners[k]) {
				return true
			}
		}
	}
	for k := range 3 {
		if c.shift(corners[k], c.places(corners[k])) {
			return true
		}
	}
	for k := range 3 {
		if c.shift(corners[k], c.nudges(corners[k])) {
			return true
		}
	}
	for k := range 3 {
		for _, u := range c.around(corners[k]) {
			if c.shift(u, c.places(u)) || c.shift(u, c.nudges(u)) {
				return true
			}
		}
	}
	return false
}

// dropCrumbs takes away loose pieces that have something wrong with them and are thin all over: they need not be kept.
func (c *curer) dropCrumbs() {
	done := make([]bool, len(c.v))
	for v := range c.v {
		if done[v] || len(c.star[v]) == 0 {
			continue
		}
		piece, ill := c.piece(int32(v), done)
		if !ill || len(piece) > mostCrumb || !c.isCrumb(piece) {
			continue
		}
		for _, u := range piece {
			for _, t := range c.star[u] {
				c.t[t][0] = -1
			}
			c.star[u] = nil
		}
	}
}

// piece lists the vertices joined with v by edges, and tells whether a triangle there is ill.
func (c *curer) piece(v int32, done []bool) (out []int32, ill bool) {
	done[v] = true
	out = []int32{v}
	for i := 0; i < len(out); i++ {
		for _, t := range c.star[out[i]] {
			ill = ill || c.ill[t] > 0
			for _, u := range c.t[t] {
				if !done[u] {
					done[u] = true
					out = append(out, u)
				}
			}
		}
	}
	return out, ill
}

// isCrumb tells whether a piece is thin at all its vertices, as isThin says. It need not lie on the surface quite.
func (c *curer) isCrumb(piece []int32) bool {
	for _, v := range piece {
		if !isThin(c.solid, c.v[v], c.tol) {
			return false
		}
	}
	return true
}

// around lists the neighbours of a vertex.
func (c *curer) around(v int32) []int32 {
	var out []int32
	for _, t := range c.star[v] {
		a, _ := others(c.t[t], v)
		out = append(out, a)
	}
	return out
}

// join moves from onto to if that makes the triangles about it better.
func (c *curer) join(from, to int32) bool {
	if len(c.star[from]) == 0 || len(c.star[to]) == 0 {
		return false
	}
	near := c.v[from].Sub(c.v[to]).Len() <= cureReach*c.tol
	was := c.sum(c.star[from])
	if was == 0 || !near && !c.leavesAllow(from, to) || !c.linkAllows(from, to) {
		return false
	}
	if !near {
		for _, t := range c.star[from] {
			if a, b := others(c.t[t], from); a != to && b != to && !c.edgeAllows(t, from, to, a) {
				return false
			}
		}
	}
	now := c.moved(from, to)
	if c.fresh(now, was) >= was-leastCure || !c.clear(now, c.star[from]) {
		return false
	}
	c.move(from, to)
	c.settle(to)
	return true
}

// settle looks at the triangles about a vertex anew.
func (c *curer) settle(v int32) {
	for _, t := range c.star[v] {
		c.ill[t] = c.illness(c.t[t])
	}
	c.enter(v)
}

// flip turns the side of t opposite v if that makes the two triangles better.
func (c *curer) flip(t, v int32) bool {
	a, b := others(c.t[t], v)
	u := c.across(t, a, b)
	if u == t {
		return false
	}
	x := apex(c.t[u], a, b)
	if x == v || len(c.star[a]) <= 3 || len(c.star[b]) <= 3 || c.joinedBy(v, x) {
		return false
	}
	was := c.ill[t] + c.ill[u]
	now := [][3]int32{{v, a, x}, {v, x, b}}
	if c.fresh(now, was) >= was-leastCure || !c.clear(now, []int32{t, u}) {
		return false
	}
	other := c.leaf[u]
	c.turn(t, u, v, a, b, x)
	if c.leaf[t] != other { // the edge of the solid goes through v or x now: both triangles to the leaf that they are nearer to
		own := c.leaf[t]
		for _, k := range [2]int32{t, u} {
			p := c.v[c.t[k][0]].Add(c.v[c.t[k][1]]).Add(c.v[c.t[k][2]]).Mul(1.0 / 3)
			if c.leaf[k] = own; math.Abs(c.leaves[other].Distance(p)) < math.Abs(c.leaves[own].Distance(p)) {
				c.leaf[k] = other
			}
		}
	}
	c.ill[t], c.ill[u] = c.illness(c.t[t]), c.illness(c.t[u])
	c.guard.put(t, c.t[t])
	c.guard.put(u, c.t[u])
	return true
}

// shift moves a vertex to the best of a few places, if that is better than where it is.
func (c *curer) shift(v int32, places []geom.Vec) bool {
	if len(c.star[v]) == 0 {
		return false
	}
	old, was := c.v[v], c.sum(c.star[v])
	if was == 0 {
		return false
	}
	var now [][3]int32
	for _, t := range c.star[v] {
		now = append(now, c.t[t])
	}
	best, least := old, was-leastCure
	for _, p := range places {
		if c.v[v] = mesh.Round32Vec(p); c.v[v] == old {
			continue
		}
		if f := c.fresh(now, least); f < least && c.clear(now, c.star[v]) {
			best, least = c.v[v], f
		}
	}
	if c.v[v] = best; best == old {
		return false
	}
	c.settle(v)
	return true
}

// places lists where a vertex may go: onto the leaves about it, from where it is and from the middles of its
// neighbours.
func (c *curer) places(v int32) []geom.Vec {
	var leaves []sdf.Leaf
	var ids []int32
	mean, n := geom.Vec{}, 0.0
	for _, t := range c.star[v] {
		if !has(ids, c.leaf[t]) {
			ids = append(ids, c.leaf[t])
			leaves = append(leaves, c.leaves[c.leaf[t]])
		}
		a, _ := others(c.t[t], v)
		mean = mean.Add(c.v[a])
		n++
	}
	mean = mean.Mul(1 / n)
	var out []geom.Vec
	add := func(from geom.Vec, on ...sdf.Leaf) {
		if p := solve(from, on); p.IsFinite() && offLeaves(p, on) <= nearMM {
			out = append(out, p)
		}
	}
	old := c.v[v]
	for _, from := range []geom.Vec{old, old.Lerp(mean, 0.25), old.Lerp(mean, 0.5), mean} {
		add(from, leaves...)
	}
	if len(leaves) > 1 {
		near := []geom.Vec{old, old.Lerp(mean, 0.5)}
		for i, l := range leaves {
			for _, from := range near {
				add(from, l)
			}
			for _, k := range leaves[:i] {
				add(old, l, k)
			}
		}
	}
	return out
}

// nudges lists places about a vertex that are on no leaf: what is left when those on the leaves do not help.
func (c *curer) nudges(v int32) []geom.Vec {
	var out []geom.Vec
	for _, part := range nudgeParts {
		for k := range 27 {
			if k != 13 { // the middle one
				d := geom.V(float64(k%3-1), float64(k/3%3-1), float64(k/9-1)).Unit()
				out = append(out, c.v[v].Add(d.Mul(part*c.tol)))
			}
		}
	}
	return out
}

// nudgeParts are the lengths of nudges in tolerances.
var nudgeParts = [3]float64{0.1, 0.3, 0.7}
