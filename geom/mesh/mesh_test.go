package mesh_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// cube is the box from lo to hi as twelve triangles, outward.
func cube(lo, hi geom.Vec) *mesh.Mesh {
	c := geom.Box{Min: lo, Max: hi}.Corners()
	return &mesh.Mesh{Vertices: c[:], Triangles: [][3]int32{
		{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
		{2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}}}
}

func unit() *mesh.Mesh { return cube(geom.V(0, 0, 0), geom.V(1, 1, 1)) }

func TestMeasures(t *testing.T) {
	m := cube(geom.V(1000, 2, 3), geom.V(1002, 5, 7))
	assert.InDelta(t, 24, mesh.Volume(m), 1e-9)
	assert.InDelta(t, 52, mesh.Area(m), 1e-9)
	assert.True(t, mesh.Centroid(m).Near(geom.V(1001, 3.5, 5), 1e-9), "%v", mesh.Centroid(m))
	assert.Equal(t, geom.Box{Min: geom.V(1000, 2, 3), Max: geom.V(1002, 5, 7)}, mesh.Bounds(m))
	// a tetrahedron: volume 1/6 of the box, centroid at the mean of its corners
	tet := &mesh.Mesh{Vertices: []geom.Vec{{}, {X: 3}, {Y: 4}, {Z: 5}}, Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}}}
	assert.InDelta(t, 10, mesh.Volume(tet), 1e-12)
	assert.True(t, mesh.Centroid(tet).Near(geom.V(0.75, 1, 1.25), 1e-12))
	assert.InDelta(t, 2.4, mesh.Height(geom.Vec{}, geom.V(3, 0, 0), geom.V(0, 4, 0)), 1e-12, "over the long side of a 3-4-5 triangle")
	assert.Zero(t, mesh.Height(geom.Vec{}, geom.Vec{}, geom.Vec{}))
	empty := &mesh.Mesh{}
	assert.Zero(t, mesh.Volume(empty))
	assert.True(t, mesh.Bounds(empty).IsEmpty())
	assert.Error(t, mesh.Check(empty))
}

// TestExamine breaks a sound cube in one way after the other.
func TestExamine(t *testing.T) {
	require.NoError(t, mesh.Check(unit()))
	assert.Equal(t, "sound", mesh.Examine(unit()).String())
	tests := []struct {
		name string
		do   func(m *mesh.Mesh)
		want func(f mesh.Faults) int
	}{
		{"a triangle is missing", func(m *mesh.Mesh) { m.Triangles = m.Triangles[1:] }, func(f mesh.Faults) int { return f.Open }},
		{"a triangle twice", func(m *mesh.Mesh) { m.Triangles = append(m.Triangles, m.Triangles[0]) }, func(f mesh.Faults) int { return f.Overused }},
		{"a triangle turned over", func(m *mesh.Mesh) { v := &m.Triangles[0]; v[0], v[1] = v[1], v[0] }, func(f mesh.Faults) int { return f.Misdirected }},
		{"two bodies at one corner", func(m *mesh.Mesh) { mesh.Append(m, cube(geom.V(1, 1, 1), geom.V(2, 2, 2))) }, func(f mesh.Faults) int { return f.Pinched }},
		{"two bodies on one edge", func(m *mesh.Mesh) { mesh.Append(m, cube(geom.V(1, 1, 0), geom.V(2, 2, 1))) }, func(f mesh.Faults) int { return f.Overused }},
		{"a flat triangle", func(m *mesh.Mesh) {
			m.Vertices = append(m.Vertices, geom.V(0.5, 0, 0))
			m.Triangles = append(m.Triangles, [3]int32{0, 8, 1})
		}, func(f mesh.Faults) int { return f.Degenerate }},
		{"corners that 32-bit floats make one", func(m *mesh.Mesh) { m.Vertices[1] = geom.V(1e-46, 0, 0) }, func(f mesh.Faults) int { return f.Degenerate }},
		{"bodies in one another's way", func(m *mesh.Mesh) { mesh.Append(m, cube(geom.V(0.5, 0.4, 0.3), geom.V(2, 2, 2))) }, func(f mesh.Faults) int { return f.Crossing }},
		{"a vertex pulled through a face", func(m *mesh.Mesh) { m.Vertices[7] = geom.V(0.5, 0.4, -1) }, func(f mesh.Faults) int { return f.Crossing }},
		{"no such vertex", func(m *mesh.Mesh) { m.Triangles[3][1] = 8 }, func(f mesh.Faults) int { return f.OutOfRange }},
		{"no number", func(m *mesh.Mesh) { m.Vertices[3].X = math.NaN() }, func(f mesh.Faults) int { return f.OutOfRange }},
	}
	for _, tt := range tests {
		m := unit()
		tt.do(m)
		f := mesh.Examine(m)
		assert.Positive(t, tt.want(f), "%s: %s", tt.name, f)
		assert.False(t, f.OK(), tt.name)
		var e *mesh.FaultError
		assert.ErrorAs(t, mesh.Check(m), &e, tt.name)
	}
	out := unit()
	for i, v := range out.Triangles {
		out.Triangles[i] = [3]int32{v[0], v[2], v[1]}
	}
	assert.Equal(t, mesh.Faults{Volume: -1}, mesh.Examine(out), "inside out")
	assert.Error(t, mesh.Check(out))
}

// TestCrossings: what touches does not cross; what folds back over its neighbour does.
func TestCrossings(t *testing.T) {
	v := []geom.Vec{{}, {X: 2}, {Y: 2}, {X: 2, Y: 2}, {X: 0.5, Y: 0.5}, {X: 1, Y: 0.5, Z: 1}, {X: 1, Y: 0.5, Z: -1}, {X: 3, Y: 0.5}, {X: 1, Y: 0.5}}
	tests := []struct {
		name string
		a, b [3]int32
		want int
	}{
		{"neighbours in a plane", [3]int32{0, 1, 2}, [3]int32{1, 3, 2}, 0},
		{"folded onto its neighbour", [3]int32{0, 1, 2}, [3]int32{2, 1, 4}, 1},
		{"pierced", [3]int32{0, 1, 2}, [3]int32{5, 6, 7}, 1},
		{"touched by a corner", [3]int32{0, 1, 2}, [3]int32{5, 7, 8}, 0},
		{"the same corners", [3]int32{0, 1, 2}, [3]int32{0, 2, 1}, 1},
		{"overlapping in a plane", [3]int32{0, 1, 3}, [3]int32{4, 7, 2}, 1},
	}
	for _, tt := range tests {
		m := &mesh.Mesh{Vertices: v, Triangles: [][3]int32{tt.a, tt.b}}
		assert.Len(t, mesh.Crossings(m), tt.want, tt.name)
	}
}

// TestCrossingsAgainstAllPairs: the search by boxes finds what trying all pairs finds.
func TestCrossingsAgainstAllPairs(t *testing.T) {
	m := &mesh.Mesh{}
	for i := range 60 {
		f := float64(i)
		at := geom.V(5*math.Sin(7*f), 5*math.Sin(11*f), 5*math.Sin(13*f))
		mesh.Append(m, cube(at, at.Add(geom.V(1.3, 0.9, 0.7))))
	}
	want := 0
	for i := range m.Triangles {
		for j := range i {
			pair := &mesh.Mesh{Vertices: m.Vertices, Triangles: [][3]int32{m.Triangles[i], m.Triangles[j]}}
			want += len(mesh.Crossings(pair))
		}
	}
	require.Positive(t, want)
	assert.Len(t, mesh.Crossings(m), want)
}

func TestEdits(t *testing.T) {
	m := unit()
	mesh.Append(m, unit())
	assert.Len(t, m.Vertices, 16)
	assert.Len(t, mesh.Weld(m).Vertices, 8)
	pose := geom.Facing(geom.V(1, 2, 3), geom.V(1, 1, 1), geom.V(1, 0, 0))
	p := mesh.Placed(unit(), pose)
	assert.InDelta(t, 1, mesh.Volume(p), 1e-12)
	assert.True(t, mesh.Centroid(p).Near(pose.Apply(geom.V(0.5, 0.5, 0.5)), 1e-12))
	r := mesh.Round32(&mesh.Mesh{Vertices: []geom.Vec{{X: 0.1}, {X: math.Copysign(0, -1)}, {}}, Triangles: [][3]int32{{0, 1, 2}}})
	assert.Equal(t, []geom.Vec{{X: float64(float32(0.1))}, {}}, r.Vertices)
}

func BenchmarkExamine(b *testing.B) {
	m := &mesh.Mesh{}
	for i := range 1000 {
		at := geom.V(2*float64(i%10), 2*float64(i/10%10), 2*float64(i/100))
		mesh.Append(m, cube(at, at.Add(geom.V(1, 1, 1))))
	}
	b.Run("triangles=12000", func(b *testing.B) {
		for range b.N {
			if err := mesh.Check(m); err != nil {
				b.Fatal(err)
			}
		}
	})
}
