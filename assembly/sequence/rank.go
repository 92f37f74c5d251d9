package sequence

// ranks gives every body its place in the order that would read best: along the threads from a root outwards, one
// branch after another, what the builder wants first before all else. Bodies with a higher rank are put on later, so
// they are taken off earlier. Bodies without threads come after the frame that carries them.
func (f *frame) ranks() []int {
	rank := make([]int, len(f.parts))
	for i := range rank {
		rank[i] = -1
	}
	next := 0
	for class := comesFirst; class <= comesLast; class++ {
		for _, b := range f.edge(rank, class) {
			f.walk(b, class, rank, &next)
		}
		for {
			root := f.nextRoot(rank, class)
			if root < 0 {
				break
			}
			f.walk(root, class, rank, &next)
		}
	}
	return rank
}

// edge lists the bodies of a class that hang on a body ranked before, in the order of those.
func (f *frame) edge(rank []int, class int) []int {
	var ranked, out []int
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
				out = append(out, o)
			}
		}
	}
	return out
}

// nextRoot picks the fitting with most threads of those of a class not ranked: the core comes first, long legs last. Of
// equals the first in the list. Bodies without threads come when no others are left.
func (f *frame) nextRoot(rank []int, class int) int {
	best, most := -1, -1
	for b := range f.parts {
		if rank[b] >= 0 || b == f.room || f.wishes.class[b] != class {
			continue
		}
		n := 0
		for _, k := range f.at[b] {
			if f.joints[k].isScrew() {
				n++
			}
		}
		if n > 0 && f.parts[b].Kind == "pipe" {
			n = 1
		}
		if n > most {
			best, most = b, n
		}
	}
	return best
}

// walk ranks what hangs on root, branch by branch, within a class.
func (f *frame) walk(root, class int, rank []int, next *int) {
	stack := []int{root}
	for len(stack) > 0 {
		b := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		if rank[b] >= 0 {
			continue
		}
		rank[b] = *next
		*next++
		for i := len(f.at[b]) - 1; i >= 0; i-- {
			j := &f.joints[f.at[b][i]]
			if o := j.other(b); (j.isScrew() || j.isMember()) && rank[o] < 0 && f.wishes.class[o] == class {
				stack = append(stack, o)
			}
		}
	}
}
