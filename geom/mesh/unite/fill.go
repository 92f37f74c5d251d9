package unite

import (
	"cmp"
	"slices"
)

// triangles divides a face. Its sides stay; the others are turned until no angle can be made larger.
func (f face) triangles(at map[int32]flat) [][3]int32 {
	ring := slices.Clone(f.loops[0].points)
	holes := slices.Clone(f.loops[1:])
	right := func(l loop) (v int) {
		for i, p := range l.points {
			if at[p].x > at[l.points[v]].x {
				v = i
			}
		}
		return v
	}
	slices.SortStableFunc(holes, func(a, b loop) int { return cmp.Compare(at[b.points[right(b)]].x, at[a.points[right(a)]].x) })
	for i, h := range holes {
		ring = bridge(ring, h.points, right(h), holes[i+1:], at)
	}
	out := clip(ring, at)
	f.turnSides(out, at)
	return out
}

// bridge opens a ring at the point nearest to a hole's that is seen from it past all holes, and goes round the hole there.
func bridge(ring, hole []int32, from int, others []loop, at map[int32]flat) []int32 {
	p := at[hole[from]]
	order := make([]int, len(ring))
	far := make([]float64, len(ring))
	for i, v := range ring {
		q := at[v].sub(p)
		order[i], far[i] = i, q.dot(q)
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(far[i], far[j]) })
	free := func(i int) bool {
		q := at[ring[i]]
		ok := opensTo(ring, i, p, at) && seen(ring, ring[i], hole[from], p, q, at) && seen(hole, ring[i], hole[from], p, q, at)
		for _, o := range others {
			ok = ok && seen(o.points, ring[i], hole[from], p, q, at)
		}
		return ok
	}
	best := order[0] // where rounding hides all the nearest will do, and is found out later if it does not
	if k := slices.IndexFunc(order, free); k >= 0 {
		best = order[k]
	}
	out := slices.Clone(ring[:best+1])
	for k := range len(hole) + 1 {
		out = append(out, hole[(from+k)%len(hole)])
	}
	return append(out, ring[best:]...)
}

// opensTo tells whether the ring's corner i has p in its angle.
func opensTo(ring []int32, i int, p flat, at map[int32]flat) bool {
	n := len(ring)
	a, b, c := at[ring[(i+n-1)%n]], at[ring[i]], at[ring[(i+1)%n]]
	left, right := turn(a, b, p) > 0, turn(b, c, p) > 0
	if turn(a, b, c) >= 0 {
		return left && right
	}
	return left || right
}

// seen tells whether no side of a ring lies between the points v and w, at p and q. Sides that end at either are let pass.
func seen(ring []int32, v, w int32, p, q flat, at map[int32]flat) bool {
	for k, a := range ring {
		b := ring[(k+1)%len(ring)]
		if a == v || a == w || b == v || b == w {
			continue
		}
		if x, y := at[a], at[b]; turn(p, q, x)*turn(p, q, y) <= 0 && turn(x, y, p)*turn(x, y, q) <= 0 {
			return false
		}
	}
	return true
}

// ears is a polygon while its corners are cut off.
type ears struct {
	ring       []int32
	at         map[int32]flat
	prev, next []int
}

// worth is how well shaped the triangle at corner i is, below nought when it may not be cut off.
func (e *ears) worth(i int) float64 {
	ring := e.ring
	v, w, x := ring[e.prev[i]], ring[i], ring[e.next[i]]
	a, b, c := e.at[v], e.at[w], e.at[x]
	if area := turn(a, b, c); area <= 0 {
		return -1 + area // folded: last of all
	}
	for k := e.next[e.next[i]]; k != e.prev[i]; k = e.next[k] {
		if y := ring[k]; y == v || y == w || y == x {
			continue
		}
		if p := e.at[ring[k]]; turn(a, b, p) >= 0 && turn(b, c, p) >= 0 && turn(c, a, p) >= 0 {
			return -1
		}
	}
	return shapely(a, b, c)
}

// clip cuts the ears of a polygon off, the best shaped first.
func clip(ring []int32, at map[int32]flat) [][3]int32 {
	n := len(ring)
	e := ears{ring, at, make([]int, n), make([]int, n)}
	for i := range n {
		e.prev[i], e.next[i] = (i+n-1)%n, (i+1)%n
	}
	worth := make([]float64, n)
	for i := range n {
		worth[i] = e.worth(i)
	}
	var out [][3]int32
	start := 0
	for left := n; left >= 3; left-- {
		best := start
		for k, i := 0, start; k < left; k, i = k+1, e.next[i] {
			if worth[i] > worth[best] {
				best = i
			}
		}
		p, q := e.prev[best], e.next[best]
		out = append(out, [3]int32{ring[p], ring[best], ring[q]})
		e.next[p], e.prev[q] = q, p
		start = p
		if left > 4 {
			worth[p], worth[q] = e.worth(p), e.worth(q)
		}
	}
	return out
}

// turnSides turns sides between triangles of a face where the smallest angle grows by it, and where a triangle has no height.
func (f face) turnSides(ts [][3]int32, at map[int32]flat) {
	fixed := map[edge]bool{}
	for _, l := range f.loops {
		for i, v := range l.points {
			w := l.points[(i+1)%len(l.points)]
			fixed[edgeOf(v, w)] = true
		}
	}
	for range 4 + len(ts) {
		owner := map[edge]int{}
		changed := false
		busy := make([]bool, len(ts))
		for i := range ts {
			for k := range 3 {
				v, w := ts[i][k], ts[i][(k+1)%3]
				e := edgeOf(v, w)
				if fixed[e] {
					continue
				}
				j, ok := owner[e]
				if !ok {
					owner[e] = i
					continue
				}
				if busy[i] || busy[j] {
					continue
				}
				if turnSide(ts, i, j, v, w, at) {
					busy[i], busy[j], changed = true, true, true
				}
			}
		}
		if !changed {
			return
		}
	}
}

// turnSide gives triangles i and j their other diagonal, when the lower of the two grows by it. i has the side v-w.
func turnSide(ts [][3]int32, i, j int, v, w int32, at map[int32]flat) bool {
	a, b := apex(ts[i], v, w), apex(ts[j], v, w)
	if a == b {
		return false
	}
	is := min(shapely(at[v], at[w], at[a]), shapely(at[w], at[v], at[b]))
	could := min(shapely(at[a], at[v], at[b]), shapely(at[b], at[w], at[a]))
	if could <= is*(1+1e-9) || could <= 0 {
		return false
	}
	ts[i], ts[j] = [3]int32{a, v, b}, [3]int32{b, w, a}
	return true
}

// shapely is a measure of a triangle: twice its area over its longest side squared, negative when it is folded.
func shapely(a, b, c flat) float64 {
	longest := max(b.sub(a).dot(b.sub(a)), c.sub(b).dot(c.sub(b)), a.sub(c).dot(a.sub(c)))
	if longest == 0 {
		return 0
	}
	return turn(a, b, c) / longest
}

// apex is the corner of t that is neither v nor w.
func apex(t [3]int32, v, w int32) int32 {
	for _, x := range t {
		if x != v && x != w {
			return x
		}
	}
	return t[0]
}
