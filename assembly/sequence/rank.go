package sequence

import (
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/standard"
)

// ranksFrom gives every body its place in the order that would read best: along the threads from a root outwards, one
// branch after another and equal branches side by side, what the builder wants first before all else. Bodies with a
// higher rank are put on later, so they are taken off earlier. Bodies without threads come after the frame that carries
// them.
func (f *frame) ranksFrom(rule rootRule) []int {
	rank := make([]int, len(f.parts))
	for i := range rank {
		rank[i] = -1
	}
	alike := classes(f.parts)
	next := 0
	walk := func(roots, hang []int, class int) {
		free := func(b int) bool { return rank[b] < 0 && f.wishes.class[b] == class }
		for _, b := range f.branchesFrom(roots, hang, alike, free).bundled() {
			rank[b] = next
			next++
		}
	}
	for class := comesFirst; class <= comesLast; class++ {
		roots, hang := f.edge(rank, class)
		walk(roots, hang, class)
		for {
			roots, hang := f.nextRoots(rank, class, rule)
			if len(roots) == 0 {
				break
			}
			walk(roots, hang, class)
		}
	}
	return rank
}

// edge lists the bodies of a class that hang on a body ranked before, in the order of those, each with its joint.
func (f *frame) edge(rank []int, class int) (out, hang []int) {
	var ranked []int
	for b := range f.parts {
		if rank[b] >= 0 {
			ranked = append(ranked, b)
		}
	}
	sortBy(ranked, func(b int) int { return rank[b] })
	for _, b := range ranked {
		for _, k := range f.at[b] {
			j := &f.joints[k]
			if o := j.other(b); (j.isScrew() || j.isMember()) && rank[o] < 0 && f.wishes.class[o] == class {
				out, hang = append(out, o), append(hang, k)
			}
		}
	}
	return out, hang
}

// rootRule says where the order begins.
type rootRule int

const (
	fromCore      rootRule = iota // the fitting with most threads: the core comes first, long legs last
	fromFixed                     // the body fixed to the room, or else the lowest: outwards from what does not move
	fromHeart                     // the middle of the tree, so that equal branches hang on it alike
	fromCoreApart                 // as fromCore, one tree of threads after the other
)

// rootRules are those tried, in order; of equal work the first is kept.
var rootRules = []rootRule{fromCore, fromHeart, fromFixed, fromCoreApart}

// nextRoots picks the bodies to begin with: one, or, to build all trees of threads together, one of each.
func (f *frame) nextRoots(rank []int, class int, rule rootRule) (roots, hang []int) {
	taken := slices.Clone(rank)
	free := func(b int) bool { return taken[b] < 0 && f.wishes.class[b] == class }
	for {
		root := f.nextRoot(taken, class, rule)
		if root < 0 || len(roots) > 0 && f.threads(root) == 0 {
			return roots, hang
		}
		roots, hang = append(roots, root), append(hang, -1)
		if rule == fromCoreApart || f.threads(root) == 0 {
			return roots, hang
		}
		order, _ := f.treeOf(root, free)
		for _, b := range order {
			taken[b] = 0
		}
	}
}

// nextRoot picks the body to begin with among those of a class that have no rank: by the rule, then the heaviest, the
// lowest, the furthest left, the first by name. Bodies without threads come when no others are left, and in the order of
// the list.
func (f *frame) nextRoot(rank []int, class int, rule rootRule) int {
	best, most := -1, -1.0
	var merit func(b int) float64
	switch rule {
	case fromFixed:
		merit = f.firmness
	case fromHeart:
		middle := f.middle(rank, class)
		merit = func(b int) float64 { return middle[b] }
	default:
		merit = f.threads
	}
	for b := range f.parts {
		if rank[b] >= 0 || b == f.room || f.wishes.class[b] != class {
			continue
		}
		n := 0.0
		if f.threads(b) > 0 {
			n = 1 + merit(b)
		}
		if n > most || n == most && n > 0 && f.before(b, best) {
			best, most = b, n
		}
	}
	return best
}

// threads is how many threads a body has, a pipe one.
func (f *frame) threads(b int) float64 {
	n := 0
	for _, k := range f.at[b] {
		if f.joints[k].isScrew() {
			n++
		}
	}
	if n > 0 && f.parts[b].Kind == standard.Pipe {
		n = 1
	}
	return float64(n)
}

// firmness is 1 for a body fixed to the room, one half for one that stands on it, else 0.
func (f *frame) firmness(b int) float64 {
	best := 0.0
	for _, k := range f.at[b] {
		j := &f.joints[k]
		if o := j.other(b); f.room < 0 || o != f.room && !f.isFixtureBody(o) {
			continue
		}
		if j.Kind == assembly.Face {
			return 1
		}
		best = 0.5
	}
	return best
}

func (f *frame) isFixtureBody(b int) bool { return f.parts[b].Kind == standard.Cleat }

// middle tells of every body without a rank how evenly the tree of threads hangs on it: 1 less the share of the tree that
// is its greatest branch.
func (f *frame) middle(rank []int, class int) []float64 {
	out := make([]float64, len(f.parts))
	free := func(b int) bool { return rank[b] < 0 && f.wishes.class[b] == class && b != f.room }
	seen := make([]bool, len(f.parts))
	for b := range f.parts {
		if seen[b] || !free(b) {
			continue
		}
		order, parent := f.treeOf(b, free)
		size := map[int]int{}
		for _, x := range slices.Backward(order) {
			seen[x] = true
			size[x]++
			if p := parent[x]; p >= 0 {
				size[p] += size[x]
			}
		}
		most := map[int]int{}
		for _, x := range order {
			most[x] = max(most[x], len(order)-size[x])
			if p := parent[x]; p >= 0 {
				most[p] = max(most[p], size[x])
			}
		}
		for _, x := range order {
			out[x] = 1 - float64(most[x])/float64(len(order))
		}
	}
	return out
}

// treeOf lists what hangs together with b over plain threads and two-jointed pieces, parents before children.
func (f *frame) treeOf(b int, free func(int) bool) ([]int, map[int]int) {
	order, parent := []int{b}, map[int]int{b: -1}
	for i := 0; i < len(order); i++ {
		for _, k := range f.at[order[i]] {
			j := &f.joints[k]
			o := j.other(order[i])
			if _, seen := parent[o]; !seen && (j.isScrew() || j.isMember()) && free(o) {
				parent[o] = order[i]
				order = append(order, o)
			}
		}
	}
	return order, parent
}

// before tells whether b is to be begun with rather than o, of two that are as good: the heavier, the lower, the one
// further left, the first by name.
func (f *frame) before(b, o int) bool {
	if o < 0 {
		return true
	}
	const near = 0.5 // mm, and thousandths of a kilogram: less is no difference
	p, q := &f.parts[b], &f.parts[o]
	for _, d := range []float64{1000 * (q.MassKG - p.MassKG), p.Pose.Origin.Z - q.Pose.Origin.Z, p.Pose.Origin.X - q.Pose.Origin.X} {
		if math.Abs(d) > near {
			return d < 0
		}
	}
	return p.ID < q.ID
}
