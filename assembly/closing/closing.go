// Package closing finds the cheapest places to close the rings of a frame.
//
// A frame of taper threads alone must hang together without rings, since the last thread of a ring cannot be turned.
// Bodies are the nodes of a graph and their threads its edges; a closing piece takes an edge out. What is chosen is not
// an edge but a line of the design, which takes out an edge in every copy that it draws, and costs what it costs in all
// of them. Wanted is the cheapest set of lines that leaves no ring: a hitting set over all rings.
//
// Where every line takes out one edge, the edges that stay are a spanning forest of greatest price, and growing it
// greedily is exact, because forests are the independent sets of a matroid (Edmonds, "Matroids and the greedy
// algorithm", Mathematical Programming 1, 1971; from memory). Lines that take out several edges spoil that. So up to
// [MostExact] lines every set is looked at, but for those that cost more than the best so far; beyond that the forest is
// grown line by line, and a lower bound says how far from the cheapest the answer can be at most.
package closing

import (
	"math"
	"sort"
)

// MostExact is how many lines are searched exhaustively: 4096 sets of up to a dozen, each checked by union-find.
const MostExact = 12

// Edge is a thread between two bodies, numbered from 0.
type Edge struct{ A, B int }

// Line is a line of the design that can be changed.
type Line struct {
	Price  float64 // for all copies together, above zero; +Inf when it must not be taken
	Breaks []int   // edges that the change takes out
	Like   string  // equal for lines that divide equal pipes in equal places
}

// Problem is what to close.
type Problem struct {
	Bodies int
	Edges  []Edge
	Lines  []Line
}

// Set is a choice of lines, by rising index, that leaves no ring.
type Set struct {
	Lines []int
	Price float64
}

// Answer is what was found.
type Answer struct {
	Sets   []Set   // cheapest first, none of them with a line to spare; empty when nothing can close every ring
	Bound  float64 // no set costs less
	Proven bool    // the first of Sets is the cheapest there is
	Rings  int     // independent rings
	Lines  int     // lines that take an edge out of some ring
	Held   [][]int // edges of rings that no line can open, one ring for each reason; empty when Sets is not
}

// agree is how far two sums of prices may differ and still be one.
const agree = 1e-9

// Cheapest finds up to most sets of lines that open every ring.
func Cheapest(p Problem, most int) Answer {
	f := newFinder(p)
	a := Answer{Rings: f.rings, Lines: len(f.lines)}
	if a.Held = f.held(); len(a.Held) > 0 || f.rings == 0 {
		a.Proven = f.rings == 0
		return a
	}
	if len(f.lines) <= MostExact {
		a.Sets = f.everySet(most)
		a.Bound, a.Proven = a.Sets[0].Price, true
		return a
	}
	a.Sets = f.grown(most)
	a.Bound = math.Min(f.bound(), a.Sets[0].Price)
	a.Proven = a.Sets[0].Price <= a.Bound+agree
	return a
}

// finder holds a problem with what does not matter left out: edges on no ring, and lines that take out no other.
type finder struct {
	p      Problem
	ringed []bool // edge is on some ring
	rings  int
	lines  []int   // of the problem, those that can be taken and matter
	breaks [][]int // their edges on rings
	line   []int   // of each edge: index in lines, or -1
}

func newFinder(p Problem) *finder {
	f := &finder{p: p, ringed: OnRings(p), line: make([]int, len(p.Edges))}
	u := NewForest(p.Bodies)
	for i, e := range p.Edges {
		f.line[i] = -1
		if !u.Join(e.A, e.B) {
			f.rings++
		}
	}
	for i, l := range p.Lines {
		if math.IsInf(l.Price, 1) {
			continue
		}
		var on []int
		for _, e := range l.Breaks {
			if f.ringed[e] && f.line[e] < 0 {
				f.line[e] = len(f.lines)
				on = append(on, e)
			}
		}
		if len(on) > 0 {
			f.lines = append(f.lines, i)
			f.breaks = append(f.breaks, on)
		}
	}
	return f
}

// held lists the rings of edges that no line takes out.
func (f *finder) held() [][]int {
	u := NewForest(f.p.Bodies)
	at := make([][]int, f.p.Bodies)
	var out [][]int
	for i, e := range f.p.Edges {
		if f.line[i] >= 0 {
			continue
		}
		if u.Join(e.A, e.B) {
			at[e.A], at[e.B] = append(at[e.A], i), append(at[e.B], i)
			continue
		}
		out = append(out, append(f.way(at, e.A, e.B), i))
	}
	return out
}

// way lists the edges from body a to body b along a forest.
func (f *finder) way(at [][]int, a, b int) []int {
	by := map[int]int{a: -1}
	queue := []int{a}
	for len(queue) > 0 {
		x := queue[0]
		queue = queue[1:]
		for _, e := range at[x] {
			if y := f.p.Edges[e].other(x); y != x {
				if _, seen := by[y]; !seen {
					by[y] = e
					queue = append(queue, y)
				}
			}
		}
	}
	var out []int
	for x := b; x != a; x = f.p.Edges[by[x]].other(x) {
		out = append(out, by[x])
	}
	return out
}

func (e Edge) other(x int) int {
	if e.A == x {
		return e.B
	}
	return e.A
}

// opens tells whether taking out the edges of the chosen lines leaves no ring.
func (f *finder) opens(chosen func(line int) bool) bool {
	u := NewForest(f.p.Bodies)
	for i, e := range f.p.Edges {
		if f.ringed[i] && (f.line[i] < 0 || !chosen(f.line[i])) && !u.Join(e.A, e.B) {
			return false
		}
	}
	return true
}

// everySet looks at all sets of lines, but for those that are dearer than the most cheapest found so far, or take out
// fewer edges than there are rings.
func (f *finder) everySet(most int) []Set {
	var found []Set
	var mask uint
	open := func(i int) bool { return mask&(1<<i) != 0 }
	for mask = 1; mask < 1<<len(f.lines); mask++ {
		price, edges := 0.0, 0
		for i := range f.lines {
			if open(i) {
				price += f.price(i)
				edges += len(f.breaks[i])
			}
		}
		if edges < f.rings || len(found) == most && price > found[most-1].Price+agree || !f.opens(open) || f.hasSpare(&mask) {
			continue
		}
		found = f.keep(found, f.set(open), most)
	}
	return found
}

// hasSpare tells whether a set still opens every ring with one of its lines left out.
func (f *finder) hasSpare(mask *uint) bool {
	whole := *mask
	defer func() { *mask = whole }()
	for i := range f.lines {
		if whole&(1<<i) == 0 {
			continue
		}
		less := whole &^ (1 << i)
		if f.opens(func(k int) bool { return less&(1<<k) != 0 }) {
			return true
		}
	}
	return false
}

func (f *finder) price(i int) float64 { return f.p.Lines[f.lines[i]].Price }

func (f *finder) set(chosen func(int) bool) Set {
	var s Set
	for i, l := range f.lines {
		if chosen(i) {
			s.Lines = append(s.Lines, l)
			s.Price += f.price(i)
		}
	}
	return s
}

// keep puts a set in its place among the most cheapest. Of equal price, the one that divides fewer kinds of pipe comes
// first, so that equal copies stay equal; then the one that names earlier lines.
func (f *finder) keep(found []Set, s Set, most int) []Set {
	for _, o := range found {
		if compareLines(o.Lines, s.Lines) == 0 {
			return found
		}
	}
	found = append(found, s)
	sort.SliceStable(found, func(i, k int) bool {
		a, b := found[i], found[k]
		if math.Abs(a.Price-b.Price) > agree {
			return a.Price < b.Price
		}
		if x, y := f.unlike(a), f.unlike(b); x != y {
			return x < y
		}
		return compareLines(a.Lines, b.Lines) < 0
	})
	return found[:min(len(found), most)]
}

// unlike counts the kinds of places in a set.
func (f *finder) unlike(s Set) int {
	kinds := map[string]bool{}
	for _, l := range s.Lines {
		kinds[f.p.Lines[l].Like] = true
	}
	return len(kinds)
}

func compareLines(a, b []int) int {
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			return a[i] - b[i]
		}
	}
	return len(a) - len(b)
}

// grown finds sets by growing a forest: the cheapest it finds, then those without one of its first lines in turn.
func (f *finder) grown(most int) []Set {
	best := f.grow(-1)
	found := f.keep(nil, best, most)
	at := map[int]int{}
	for i, l := range f.lines {
		at[l] = i
	}
	for _, l := range best.Lines[:min(len(best.Lines), most)] {
		if s := f.grow(at[l]); s.Lines != nil {
			found = f.keep(found, s, most)
		}
	}
	return found
}

// grow lays lines into a forest, those first that are dearest to take, and returns the lines that would close a ring.
// Dear is meant once by the whole line and once by the edge; the cheaper outcome counts. The line without is not taken.
func (f *finder) grow(without int) Set {
	var best Set
	for _, byEdge := range []bool{false, true} {
		weight := func(i int) float64 {
			if i == without {
				return math.Inf(1)
			}
			if byEdge {
				return f.price(i) / float64(len(f.breaks[i]))
			}
			return f.price(i)
		}
		s, ok := f.growBy(weight, without)
		if ok && (best.Lines == nil || s.Price < best.Price-agree) {
			best = s
		}
	}
	return best
}

func (f *finder) growBy(weight func(int) float64, without int) (Set, bool) {
	order := make([]int, len(f.lines))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, k int) bool { return weight(order[i]) > weight(order[k]) })
	u := NewForest(f.p.Bodies)
	for i, e := range f.p.Edges {
		if f.line[i] < 0 && f.ringed[i] {
			u.Join(e.A, e.B)
		}
	}
	taken := map[int]bool{}
	for _, i := range order {
		if edges := f.breaks[i]; len(edges) == 1 { // the common case needs no copy
			taken[i] = !u.Join(f.p.Edges[edges[0]].A, f.p.Edges[edges[0]].B)
			continue
		}
		trial := append(Forest(nil), u...)
		for _, e := range f.breaks[i] {
			taken[i] = taken[i] || !trial.Join(f.p.Edges[e].A, f.p.Edges[e].B)
		}
		if !taken[i] {
			u = trial
		}
	}
	return f.set(func(i int) bool { return taken[i] }), !taken[without]
}

// bound is a price that no set undercuts. Each line's price is shared among its edges on rings. What a set takes out is
// then at least as cheap as the cheapest edges whose loss leaves a forest, which growing finds exactly.
func (f *finder) bound() float64 {
	var order []int
	share := make([]float64, len(f.p.Edges))
	for i := range f.p.Edges {
		if !f.ringed[i] {
			continue
		}
		order = append(order, i)
		share[i] = math.Inf(1)
		if k := f.line[i]; k >= 0 {
			share[i] = f.price(k) / float64(len(f.breaks[k]))
		}
	}
	sort.SliceStable(order, func(i, k int) bool { return share[order[i]] > share[order[k]] })
	u := NewForest(f.p.Bodies)
	sum := 0.0
	for _, e := range order {
		if !u.Join(f.p.Edges[e].A, f.p.Edges[e].B) {
			sum += share[e]
		}
	}
	return sum
}

// OnRings tells of each edge whether it lies on a ring: whether its ends hang together without it. Edges that part the
// frame are found by the depths that a walk reaches (Tarjan, "A note on finding the bridges of a graph", Information
// Processing Letters 2, 1974; from memory), with a stack of its own, since frames may be deep.
func OnRings(p Problem) []bool {
	at := make([][]int, p.Bodies)
	for i, e := range p.Edges {
		at[e.A] = append(at[e.A], i)
		at[e.B] = append(at[e.B], i)
	}
	depth := make([]int, p.Bodies) // from 1; 0: not seen
	low := make([]int, p.Bodies)
	out := make([]bool, len(p.Edges))
	for i := range out {
		out[i] = true
	}
	type visit struct{ body, by, next int }
	for root := range p.Bodies {
		if depth[root] > 0 {
			continue
		}
		depth[root], low[root] = 1, 1
		stack := []visit{{root, -1, 0}}
		for len(stack) > 0 {
			v := &stack[len(stack)-1]
			if v.next < len(at[v.body]) {
				e := at[v.body][v.next]
				v.next++
				o := p.Edges[e].other(v.body)
				switch {
				case e == v.by:
				case depth[o] > 0:
					low[v.body] = min(low[v.body], depth[o])
				default:
					depth[o] = depth[v.body] + 1
					low[o] = depth[o]
					stack = append(stack, visit{o, e, 0})
				}
				continue
			}
			done := *v
			stack = stack[:len(stack)-1]
			if len(stack) > 0 {
				up := stack[len(stack)-1].body
				low[up] = min(low[up], low[done.body])
				out[done.by] = low[done.body] <= depth[up]
			}
		}
	}
	return out
}
