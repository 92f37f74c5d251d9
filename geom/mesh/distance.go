package mesh

import (
	"math"

	"turnwise/geom"
)

// Finder finds how far points are from the surface of a mesh. The mesh must not change meanwhile. It may be used by
// several goroutines at a time.
type Finder struct {
	m    *Mesh
	tree *boxTree
}

// NewFinder returns a finder for m.
func NewFinder(m *Mesh) *Finder {
	boxes := make([]geom.Box, len(m.Triangles))
	for i := range boxes {
		boxes[i] = m.TriangleBox(i)
	}
	return &Finder{m, newBoxTree(boxes)}
}

// Distance returns the distance in mm from p to the nearest triangle, or most when none is nearer than that. Any distance
// up to enough ends the search: then it is the distance to some triangle only.
func (f *Finder) Distance(p geom.Vec, enough, most float64) float64 {
	if len(f.tree.nodes) > 0 {
		f.visit(0, p, enough, &most)
	}
	return most
}

func (f *Finder) visit(at int32, p geom.Vec, enough float64, most *float64) {
	n := &f.tree.nodes[at]
	if *most <= enough || boxDistance(&n.box, p) >= *most {
		return
	}
	if n.right == 0 {
		for _, i := range f.tree.order[n.from:n.to] {
			if *most > enough && boxDistance(&f.tree.boxes[i], p) < *most {
				a, b, c := f.m.Corners(int(i))
				*most = min(*most, ToTriangle(p, a, b, c))
			}
		}
		return
	}
	first, second := at+1, n.right
	if boxDistance(&f.tree.nodes[second].box, p) < boxDistance(&f.tree.nodes[first].box, p) {
		first, second = second, first
	}
	f.visit(first, p, enough, most)
	f.visit(second, p, enough, most)
}

// boxDistance is the distance from p to a box, 0 inside it.
func boxDistance(b *geom.Box, p geom.Vec) float64 {
	x := outside(b.Min.X, b.Max.X, p.X)
	y := outside(b.Min.Y, b.Max.Y, p.Y)
	z := outside(b.Min.Z, b.Max.Z, p.Z)
	if x+y+z == 0 {
		return 0
	}
	return math.Sqrt(x*x + y*y + z*z)
}

// outside is the distance from x to the range from lo to hi.
func outside(lo, hi, x float64) float64 {
	if x < lo {
		return lo - x
	}
	if x > hi {
		return x - hi
	}
	return 0
}

// ToTriangle returns the distance from p to the triangle (a, b, c), its sides and corners included.
func ToTriangle(p, a, b, c geom.Vec) float64 {
	n := Normal(a, b, c)
	inside := n != geom.Vec{}
	least := math.Inf(1)
	for _, e := range [3][2]geom.Vec{{a, b}, {b, c}, {c, a}} {
		d := e[1].Sub(e[0])
		inside = inside && n.Cross(d).Dot(p.Sub(e[0])) >= 0
		t := 0.0
		if l := d.Dot(d); l > 0 {
			t = min(max(p.Sub(e[0]).Dot(d)/l, 0), 1)
		}
		least = min(least, p.Sub(e[0].Add(d.Mul(t))).Len())
	}
	if inside {
		return math.Abs(n.Dot(p.Sub(a)))
	}
	return least
}
