package unite

import (
	"math"
	"slices"
)

// triangles divides a face. Its sides stay; the others are turned until no angle can be made larger.
func (f face) triangles(at map[int32]flat) [][3]int32 {
	ring := slices.Clone(f.loops[0].points)
	holes := slices.Clone(f.loops[1:])
	right := func(l loop) (v int, x float64) {
		x = math.Inf(-1)
		for i, p := range l.points {
			if at[p].x > x {
				v, x = i, at[p].x
			}
		}
		return v, x
	}
	slices.SortStableFunc(holes, func(a, b loop) int {
		_, x := right(a)
		_, y := right(b)
		if x > y {
			return -1
		} else if x < y {
			return 1
		}
		return 0
	})
	for _, h := range holes {
		v, _ := right(h)
		ring = bridge(ring, h.points, v, at)
	}
	out := clip(ring, at)
	f.turnSides(out, at)
	return out
}

// bridge opens a ring at the point nearest to a hole's that is seen from it, and goes round the hole there.
func bridge(ring, hole []int32, from int, at map[int32]flat) []int32 {
	p := at[hole[from]]
	best, far := -1, math.Inf(1)
	for i, v := range ring {
		q := at[v].sub(p)
		if d := q.dot(q); d < far && opensTo(ring, i, p, at) && seen(ring, i, p, at) && seen(hole, -1, at[v], at, hole[from]) {
			best, far = i, d
		}
	}
	if best < 0 { // rounding hides all: the nearest will do, and is found out later if it does not
		for i, v := range ring {
			q := at[v].sub(p)
			if d := q.dot(q); d < far {
				best, far = i, d
			}
		}
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

// seen tells whether no side of a ring lies between p and the corner i, or between p and the point to of the ring.
func seen(ring []int32, i int, p flat, at map[int32]flat, to ...int32) bool {
	target := int32(-1)
	if i >= 0 {
		target = ring[i]
	} else {
		target = to[0]
	}
	q := at[target]
	for k := range ring {
		u, v := ring[k], ring[(k+1)%len(ring)]
		if u == target || v == target {
			continue
		}
		a, b := at[u], at[v]
		if turn(p, q, a)*turn(p, q, b) <= 0 && turn(a, b, p)*turn(a, b, q) <= 0 && (a != p && b != p) {
			return false
		}
	}
	return true
}

// clip cuts the ears of a polygon off, the best shaped first.
func clip(ring []int32, at map[int32]flat) [][3]int32 {
	n := len(ring)
	prev, next := make([]int, n), make([]int, n)
	worth := make([]float64, n)
	for i := range n {
		prev[i], next[i] = (i+n-1)%n, (i+1)%n
	}
	value := func(i int) float64 {
		a, b, c := at[ring[prev[i]]], at[ring[i]], at[ring[next[i]]]
		area := turn(a, b, c)
		if area <= 0 {
			return -1 + min(0, area) // none, or folded: last of all
		}
		for k := next[next[i]]; k != prev[i]; k = next[k] {
			v := ring[k]
			if v == ring[prev[i]] || v == ring[i] || v == ring[next[i]] {
				continue
			}
			if p := at[v]; turn(a, b, p) >= 0 && turn(b, c, p) >= 0 && turn(c, a, p) >= 0 {
				return -1
			}
		}
		longest := max(b.sub(a).dot(b.sub(a)), c.sub(b).dot(c.sub(b)), a.sub(c).dot(a.sub(c)))
		return area / longest
	}
	for i := range n {
		worth[i] = value(i)
	}
	var out [][3]int32
	at0 := 0
	for left := n; left >= 3; left-- {
		best := at0
		for k, i := 0, at0; k < left; k, i = k+1, next[i] {
			if worth[i] > worth[best] {
				best = i
			}
		}
		p, q := prev[best], next[best]
		out = append(out, [3]int32{ring[p], ring[best], ring[q]})
		next[p], prev[q] = q, p
		at0 = p
		if left > 4 {
			worth[p], worth[q] = value(p), value(q)
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
			fixed[edge{min(v, w), max(v, w)}] = true
		}
	}
	for range 4 + len(ts) {
		owner := map[edge]int{}
		changed := false
		busy := make([]bool, len(ts))
		for i := range ts {
			for k := range 3 {
				v, w := ts[i][k], ts[i][(k+1)%3]
				e := edge{min(v, w), max(v, w)}
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
