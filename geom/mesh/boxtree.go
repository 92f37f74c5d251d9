package mesh

import (
	"sort"

	"turnwise/geom"
)

// boxTree finds the boxes that overlap a given one.
type boxTree struct {
	boxes []geom.Box
	order []int32
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
	t := &boxTree{boxes: boxes, order: make([]int32, len(boxes))}
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
	key := func(i int32) float64 { return t.boxes[i].Min.X + t.boxes[i].Max.X }
	switch {
	case d.Y >= d.X && d.Y >= d.Z:
		key = func(i int32) float64 { return t.boxes[i].Min.Y + t.boxes[i].Max.Y }
	case d.Z >= d.X:
		key = func(i int32) float64 { return t.boxes[i].Min.Z + t.boxes[i].Max.Z }
	}
	sort.Slice(part, func(i, j int) bool {
		a, b := key(part[i]), key(part[j])
		return a < b || (a == b && part[i] < part[j])
	})
	mid := (from + to) / 2
	t.build(from, mid)
	t.nodes[at].right = int32(len(t.nodes))
	t.build(mid, to)
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
