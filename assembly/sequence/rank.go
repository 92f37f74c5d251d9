package sequence

// ranks gives every body its place in the order that would read best: along the threads from a root outwards, one
// branch after another. Bodies with a higher rank are put on later, so they are taken off earlier. Bodies without
// threads come after the frame that carries them.
func (f *frame) ranks() []int {
	rank := make([]int, len(f.parts))
	for i := range rank {
		rank[i] = -1
	}
	next := 0
	for {
		root := f.nextRoot(rank)
		if root < 0 {
			break
		}
		f.walk(root, rank, &next)
	}
	return rank
}

// nextRoot picks the fitting with most threads of those not ranked: the core comes first, long legs last. Of equals the
// first in the list. Bodies without threads come when no others are left.
func (f *frame) nextRoot(rank []int) int {
	best, most := -1, -1
	for b := range f.parts {
		if rank[b] >= 0 || b == f.room {
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

// walk ranks what hangs on root, branch by branch.
func (f *frame) walk(root int, rank []int, next *int) {
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
			if o := j.other(b); (j.isScrew() || j.isMember()) && rank[o] < 0 {
				stack = append(stack, o)
			}
		}
	}
}
