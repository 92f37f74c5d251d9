package mesh

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/geom"
)

// TestToTriangle: the distances over the inside, a side and a corner of a right-angled triangle, by Pythagoras.
func TestToTriangle(t *testing.T) {
	a, b, c := geom.V(0, 0, 0), geom.V(4, 0, 0), geom.V(0, 3, 0)
	for _, tt := range []struct {
		p    geom.Vec
		want float64
	}{
		{geom.V(1, 1, -2), 2}, {geom.V(2, -3, 4), 5}, {geom.V(-3, -4, 0), 5}, {geom.V(7, 0, 4), 5},
		{geom.V(2+3, 1.5+4, 0), 5}, // square to the longest side, from its middle
		{geom.V(1, 1, 0), 0}, {geom.V(0, 3, 0), 0},
	} {
		assert.InDelta(t, tt.want, ToTriangle(tt.p, a, b, c), 1e-12, "%v", tt.p)
	}
	assert.InDelta(t, 5, ToTriangle(geom.V(1, 3, 4), a, b, b.Mul(0.5)), 1e-12, "a triangle without area is its longest side")
}

// TestFinder: the tree finds what going through all triangles finds, and keeps to its limits.
func TestFinder(t *testing.T) {
	rnd := rand.New(rand.NewSource(1))
	point := func(size float64) geom.Vec {
		return geom.V(rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()).Mul(size)
	}
	m := &Mesh{}
	for i := range int32(300) {
		at := point(10)
		m.Vertices = append(m.Vertices, at, at.Add(point(2)), at.Add(point(2)))
		m.Triangles = append(m.Triangles, [3]int32{3 * i, 3*i + 1, 3*i + 2})
	}
	f := NewFinder(m)
	for range 300 {
		p, want := point(15), math.Inf(1)
		for i := range m.Triangles {
			a, b, c := m.Corners(i)
			want = min(want, ToTriangle(p, a, b, c))
		}
		assert.InDelta(t, want, f.Distance(p, 0, math.Inf(1)), 1e-12)
		assert.InDelta(t, min(want, 1), f.Distance(p, 0, 1), 1e-12)
		if d := f.Distance(p, 2, math.Inf(1)); want <= 2 {
			assert.LessOrEqual(t, d, 2.0)
		} else {
			assert.InDelta(t, want, d, 1e-12)
		}
	}
	assert.Equal(t, 3.0, NewFinder(&Mesh{}).Distance(geom.Vec{}, 0, 3), "a mesh without triangles")
}
