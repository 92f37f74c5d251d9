package sequence

import (
	"turnwise/assembly"
	"turnwise/assembly/closing"
)

// loops counts the independent cycles over threaded joints and gives each the joint that closes it.
//
// Plain threads are laid into a spanning forest first, so a joint left over is a plain thread only when its whole
// cycle is made of plain threads: then nothing can close it, because closing it by a screw would need full turns
// between two bodies that are already one. Every other joint left over closes its own cycle, a different one each.
func (f *frame) loops() ([]assembly.Loop, []assembly.Finding) {
	tree := make([][]int, len(f.parts)) // forest joints of each body
	u := closing.NewForest(len(f.parts))
	var left []int
	for _, plain := range []bool{true, false} {
		for k := range f.joints {
			j := &f.joints[k]
			if !j.Kind.IsThreaded() || j.isScrew() != plain {
				continue
			}
			if !u.Join(j.a, j.b) {
				left = append(left, k)
				continue
			}
			tree[j.a] = append(tree[j.a], k)
			tree[j.b] = append(tree[j.b], k)
		}
	}
	var loops []assembly.Loop
	var open [][]int // rings of plain threads
	for _, k := range left {
		j := &f.joints[k]
		round := f.treePath(tree, j.a, j.b)
		l := assembly.Loop{Parts: f.ids(round)}
		if !j.isScrew() {
			l.ClosedBy = j.ID
		} else {
			open = append(open, round)
			// Later rings may go this way: each still has its own joint, so they stay independent, and they are shorter.
			tree[j.a] = append(tree[j.a], k)
			tree[j.b] = append(tree[j.b], k)
		}
		loops = append(loops, l)
	}
	return loops, f.openLoops(open)
}

// treePath lists the bodies from a to b along forest joints.
func (f *frame) treePath(tree [][]int, a, b int) []int {
	from := map[int]int{a: -1}
	queue := []int{a}
	for len(queue) > 0 {
		x := queue[0]
		queue = queue[1:]
		if x == b {
			break
		}
		for _, k := range tree[x] {
			y := f.joints[k].other(x)
			if _, seen := from[y]; !seen {
				from[y] = x
				queue = append(queue, y)
			}
		}
	}
	var back []int
	for x := b; x >= 0; x = from[x] {
		back = append(back, x)
		if _, ok := from[x]; !ok {
			break
		}
	}
	for i, k := 0, len(back)-1; i < k; i, k = i+1, k-1 {
		back[i], back[k] = back[k], back[i]
	}
	return back
}

func contains(list []int, x int) bool {
	for _, y := range list {
		if y == x {
			return true
		}
	}
	return false
}
