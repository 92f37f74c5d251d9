package main

import "sort"

// triangle has its corners anticlockwise seen from outside.
type triangle [3]point

func (t *triangle) normal() point   { return t[1].sub(t[0]).cross(t[2].sub(t[0])) }
func (t *triangle) centroid() point { return t[0].add(t[1]).add(t[2]).mul(1.0 / 3) }

// nearest returns the point of the triangle that is nearest to p, by the regions of its corners, sides and inside
// (Ericson, Real-Time Collision Detection, 5.1.5).
func (t *triangle) nearest(p point) point {
	ab, ac, ap := t[1].sub(t[0]), t[2].sub(t[0]), p.sub(t[0])
	d1, d2 := ab.dot(ap), ac.dot(ap)
	if d1 <= 0 && d2 <= 0 {
		return t[0]
	}
	bp := p.sub(t[1])
	d3, d4 := ab.dot(bp), ac.dot(bp)
	if d3 >= 0 && d4 <= d3 {
		return t[1]
	}
	if vc := d1*d4 - d3*d2; vc <= 0 && d1 >= 0 && d3 <= 0 {
		return t[0].add(ab.mul(d1 / (d1 - d3)))
	}
	cp := p.sub(t[2])
	d5, d6 := ab.dot(cp), ac.dot(cp)
	if d6 >= 0 && d5 <= d6 {
		return t[2]
	}
	if vb := d5*d2 - d1*d6; vb <= 0 && d2 >= 0 && d6 <= 0 {
		return t[0].add(ac.mul(d2 / (d2 - d6)))
	}
	va := d3*d6 - d5*d4
	if va <= 0 && d4-d3 >= 0 && d5-d6 >= 0 {
		return t[1].add(t[2].sub(t[1]).mul((d4 - d3) / ((d4 - d3) + (d5 - d6))))
	}
	vb, vc := d5*d2-d1*d6, d1*d4-d3*d2
	n := 1 / (va + vb + vc)
	return t[0].add(ab.mul(vb * n)).add(ac.mul(vc * n))
}

// tree finds the triangle nearest to a point.
type tree struct {
	tris  []triangle
	nodes []node
}

// node covers tris[from:to]. The first child follows it, the second is right; 0 marks a node that is not divided.
type node struct {
	lo, hi          point
	from, to, right int32
}

// leafTriangles is the number of triangles that are no longer divided.
const leafTriangles = 6

// newTree leaves out triangles without area: their sides belong to others too.
func newTree(tris []triangle) *tree {
	t := &tree{}
	for i := range tris {
		if tris[i].normal() != (point{}) {
			t.tris = append(t.tris, tris[i])
		}
	}
	t.build(0, int32(len(t.tris)))
	return t
}

func (t *tree) build(from, to int32) {
	at := len(t.nodes)
	part := t.tris[from:to]
	lo, hi := part[0][0], part[0][0]
	for i := range part {
		for _, c := range part[i] {
			lo, hi = lo.min(c), hi.max(c)
		}
	}
	t.nodes = append(t.nodes, node{lo: lo, hi: hi, from: from, to: to})
	if to-from <= leafTriangles {
		return
	}
	d := hi.sub(lo)
	key := func(q *triangle) float64 { return q[0].x + q[1].x + q[2].x }
	switch {
	case d.y >= d.x && d.y >= d.z:
		key = func(q *triangle) float64 { return q[0].y + q[1].y + q[2].y }
	case d.z >= d.x:
		key = func(q *triangle) float64 { return q[0].z + q[1].z + q[2].z }
	}
	sort.Slice(part, func(i, j int) bool { return key(&part[i]) < key(&part[j]) })
	mid := (from + to) / 2
	t.build(from, mid)
	t.nodes[at].right = int32(len(t.nodes))
	t.build(mid, to)
}

// distance returns how far p is from the nearest triangle.
func (t *tree) distance(p point) float64 {
	best := 1e300
	t.visit(0, p, &best)
	return best
}

func (n *node) away(p point) float64 { return p.sub(p.max(n.lo).min(n.hi)).len() }

func (t *tree) visit(at int32, p point, best *float64) {
	n := &t.nodes[at]
	if n.right == 0 {
		for i := n.from; i < n.to; i++ {
			*best = min(*best, t.tris[i].nearest(p).from(p))
		}
		return
	}
	first, second := at+1, n.right
	a, b := t.nodes[first].away(p), t.nodes[second].away(p)
	if b < a {
		first, second, a, b = second, first, b, a
	}
	if a < *best {
		t.visit(first, p, best)
	}
	if b < *best {
		t.visit(second, p, best)
	}
}
