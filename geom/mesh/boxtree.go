package mesh

import "turnwise/geom"

// boxTree finds the boxes that overlap a given one.
type boxTree struct {
	boxes []geom.Box
	order []int32
	key   []float64 // by box, for sorting
	nodes []boxNode
}

// boxNode covers order[from:to]. Its first child is the next node, the second is right; right 0 marks a leaf.
type boxNode struct {
	box      geom.Box
	from, to int32
	right    int32
}

// leafBoxes is the number of boxes that are no longer divided: testing a few is cheaper than descending.
const leafBoxes = 8

func newBoxTree(boxes []geom.Box) *boxTree {
	t := &boxTree{boxes: boxes, order: make([]int32, len(boxes)), key: make([]float64, len(boxes))}
	for i := range t.order {
		t.order[i] = int32(i)
	}
	if len(boxes) > 0 {
		t.build(0, int32(len(boxes)))
	}
	return t
}

// build divides at the middle box along the longest side of the boxes' centres.
func (t *boxTree) build(from, to int32) {
	at := len(t.nodes)
	box, centres := geom.EmptyBox(), geom.EmptyBox()
	part := t.order[from:to]
	for _, i := range part {
		box = box.Union(t.boxes[i])
		centres = centres.Include(t.boxes[i].Centre())
	}
	t.nodes = append(t.nodes, boxNode{box: box, from: from, to: to})
	if to-from <= leafBoxes {
		return
	}
	d := centres.Size()
	axis := 0
	switch {
	case d.Y >= d.X && d.Y >= d.Z:
		axis = 1
	case d.Z >= d.X:
		axis = 2
	}
	for _, i := range part {
		t.key[i] = twiceCentre(&t.boxes[i], axis)
	}
	mid := (from + to) / 2
	t.halve(part, int(mid-from))
	t.build(from, mid)
	t.nodes[at].right = int32(len(t.nodes))
	t.build(mid, to)
}

// halve moves those of a list with the lesser keys before place k, and the others behind it: quicksort that goes on with
// one part only.
func (t *boxTree) halve(list []int32, k int) {
	for lo, hi := 0, len(list)-1; lo < hi; {
		a, b, c := t.key[list[lo]], t.key[list[(lo+hi)/2]], t.key[list[hi]]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := lo, hi
		for i <= j {
			for t.key[list[i]] < pivot {
				i++
			}
			for t.key[list[j]] > pivot {
				j--
			}
			if i <= j {
				list[i], list[j] = list[j], list[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return
		}
	}
}

// twiceCentre is the box's middle on an axis, doubled.
func twiceCentre(b *geom.Box, axis int) float64 {
	switch axis {
	case 0:
		return b.Min.X + b.Max.X
	case 1:
		return b.Min.Y + b.Max.Y
	}
	return b.Min.Z + b.Max.Z
}

// each calls do for every box that overlaps b.
func (t *boxTree) each(b geom.Box, do func(i int32)) {
	if len(t.nodes) > 0 {
		t.visit(0, &b, do)
	}
}

func (t *boxTree) visit(at int32, b *geom.Box, do func(i int32)) {
	n := &t.nodes[at]
	if !overlap(&n.box, b) {
		return
	}
	if n.right == 0 {
		for _, i := range t.order[n.from:n.to] {
			if overlap(&t.boxes[i], b) {
				do(i)
			}
		}
		return
	}
	t.visit(at+1, b, do)
	t.visit(n.right, b, do)
}

func overlap(a, b *geom.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y &&
		a.Min.Z <= b.Max.Z && b.Min.Z <= a.Max.Z
}
