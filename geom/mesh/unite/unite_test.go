package unite

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// block is a box with its corners turned and placed by a pose.
func block(size geom.Vec, pose geom.Pose) *mesh.Mesh {
	m := &mesh.Mesh{}
	for _, c := range (geom.Box{Min: size.Mul(-0.5), Max: size.Mul(0.5)}).Corners() {
		m.Vertices = append(m.Vertices, pose.Apply(c))
	}
	at := map[geom.Vec]int32{}
	for i, c := range (geom.Box{Min: size.Mul(-0.5), Max: size.Mul(0.5)}).Corners() {
		at[geom.V(math.Copysign(1, c.X), math.Copysign(1, c.Y), math.Copysign(1, c.Z))] = int32(i)
	}
	quad := func(a, b, c, d geom.Vec) {
		m.Triangles = append(m.Triangles, [3]int32{at[a], at[b], at[c]}, [3]int32{at[a], at[c], at[d]})
	}
	v := geom.V
	quad(v(1, -1, -1), v(1, 1, -1), v(1, 1, 1), v(1, -1, 1))
	quad(v(-1, -1, -1), v(-1, -1, 1), v(-1, 1, 1), v(-1, 1, -1))
	quad(v(-1, 1, -1), v(-1, 1, 1), v(1, 1, 1), v(1, 1, -1))
	quad(v(-1, -1, -1), v(1, -1, -1), v(1, -1, 1), v(-1, -1, 1))
	quad(v(-1, -1, 1), v(1, -1, 1), v(1, 1, 1), v(-1, 1, 1))
	quad(v(-1, -1, -1), v(-1, 1, -1), v(1, 1, -1), v(1, -1, -1))
	return m
}

// rod is a prism of n sides about Z, a pipe with n sides when it has a bore.
func rod(radius, bore, length float64, n int, pose geom.Pose) *mesh.Mesh {
	m := &mesh.Mesh{}
	ring := func(r, z float64) int32 {
		first := int32(len(m.Vertices))
		for k := range n {
			s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
			m.Vertices = append(m.Vertices, pose.Apply(geom.V(r*c, r*s, z)))
		}
		return first
	}
	strip := func(a, b int32) {
		for k := range int32(n) {
			l := (k + 1) % int32(n)
			m.Triangles = append(m.Triangles, [3]int32{a + k, a + l, b + l}, [3]int32{a + k, b + l, b + k})
		}
	}
	lo, li := ring(radius, 0), ring(bore, 0)
	ho, hi := ring(radius, length), ring(bore, length)
	strip(lo, ho)
	strip(ho, hi)
	strip(hi, li)
	strip(li, lo)
	return m
}

func turned(r *rand.Rand, at geom.Vec) geom.Pose {
	z := geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()).Unit()
	p := geom.Facing(at, z, geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()))
	return p
}

func room(far float64) geom.Box { return geom.BoxOf(geom.V(-far, -far, -far), geom.V(far, far, far)) }

// TestTwoBlocks: volumes by inclusion and exclusion, flush or not.
func TestTwoBlocks(t *testing.T) {
	for name, tt := range map[string]struct {
		size, at geom.Vec
		common   float64
	}{
		"corner in corner":       {geom.V(20, 20, 20), geom.V(12, 13, 14), 8 * 7 * 6},
		"through":                {geom.V(5, 6, 60), geom.V(1, 2, 3), 5 * 6 * 20},
		"flush on three sides":   {geom.V(20, 20, 20), geom.V(7, 0, 0), 13 * 20 * 20},
		"flush top, standing in": {geom.V(8, 8, 10), geom.V(0, 0, 5), 8 * 8 * 10},
	} {
		u := New(room(1000))
		require.NoError(t, u.Add(block(geom.V(20, 20, 20), geom.Identity())), name)
		require.NoError(t, u.Add(block(tt.size, geom.At(tt.at))), name)
		m := u.Mesh()
		require.NoError(t, mesh.Check(m), name)
		want := 8000 + tt.size.X*tt.size.Y*tt.size.Z - tt.common
		assert.InEpsilon(t, want, mesh.Volume(m), 2e-3, name)
	}
}

// TestApart: bodies that do not meet stay as they are.
func TestApart(t *testing.T) {
	u := New(room(100))
	require.NoError(t, u.Add(block(geom.V(20, 20, 20), geom.Identity())))
	require.NoError(t, u.Add(block(geom.V(20, 20, 20), geom.At(geom.V(0, 0, 21)))))
	m := u.Mesh()
	require.NoError(t, mesh.Check(m))
	assert.Equal(t, 2, mesh.Shells(m))
	assert.InEpsilon(t, 16000, mesh.Volume(m), 1e-6)
}

// thing is a body with a rule for what lies in it.
type thing struct {
	mesh  *mesh.Mesh
	holds func(geom.Vec) bool
}

// anything is a block or a pipe near a place, turned anyhow.
func anything(r *rand.Rand, at geom.Vec) thing {
	pose := turned(r, at.Add(geom.V(40*r.Float64(), 40*r.Float64(), 40*r.Float64())))
	if r.IntN(2) == 0 {
		size := geom.V(5+30*r.Float64(), 5+30*r.Float64(), 5+30*r.Float64())
		box := geom.Box{Min: size.Mul(-0.5), Max: size.Mul(0.5)}
		return thing{block(size, pose), func(p geom.Vec) bool { return box.Contains(pose.Local(p)) }}
	}
	radius, bore, n := 6+4*r.Float64(), 2+3*r.Float64(), 3+r.IntN(60)
	within := func(p geom.Vec, radius float64) bool { // of a prism with n sides
		side := 2 * math.Pi / float64(n)
		turn := math.Mod(math.Atan2(p.Y, p.X)+2*math.Pi, side) - side/2
		return math.Hypot(p.X, p.Y)*math.Cos(turn) <= radius*math.Cos(side/2)
	}
	return thing{rod(radius, bore, 60, n, pose), func(p geom.Vec) bool {
		p = pose.Local(p)
		return p.Z >= 0 && p.Z <= 60 && within(p, radius) && !within(p, bore)
	}}
}

// TestHeap: blocks and pipes thrown on a heap stay sound, far from the origin too, and the heap's volume is that of counted points.
func TestHeap(t *testing.T) {
	heaps := 12
	if testing.Short() {
		heaps = 3
	}
	for seed := range heaps {
		r := rand.New(rand.NewPCG(uint64(seed), 1))
		u := New(room(4000))
		far := geom.V(3000*r.Float64(), 3000*r.Float64(), 3000*r.Float64())
		var heap []thing
		for range 12 {
			x := anything(r, far)
			heap = append(heap, x)
			require.NoError(t, u.Add(x.mesh), "heap %d", seed)
		}
		m := u.Mesh()
		require.NoError(t, mesh.Check(m), "heap %d", seed)
		const points = 100_000
		box, in := mesh.Bounds(m), 0
		for range points {
			p := box.Min.Add(geom.V(r.Float64()*box.Size().X, r.Float64()*box.Size().Y, r.Float64()*box.Size().Z))
			if slices.ContainsFunc(heap, func(x thing) bool { return x.holds(p) }) {
				in++
			}
		}
		// Counted points scatter by the root of their number: five of those.
		share := float64(in) / points
		assert.InDelta(t, share*box.Volume(), mesh.Volume(m), 5*box.Volume()*math.Sqrt(share/points), "heap %d", seed)
	}
}

func BenchmarkUnion(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 1))
	var heap []thing
	for range 30 {
		heap = append(heap, anything(r, geom.V(1000, 1000, 1000)))
	}
	b.Run("bodies=30", func(b *testing.B) {
		for b.Loop() {
			u := New(room(4000))
			for _, x := range heap {
				if err := u.Add(x.mesh); err != nil {
					b.Fatal(err)
				}
			}
		}
	})
}
