package isosurface

import (
	"fmt"
	"math"
	"math/rand"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

const refPitch, refDepth = 1.814, 1.4512

// refNipple is a pipe of 50 mm with a taper thread whose crests the outside of the pipe cuts up to about z = 15, and which
// stops at the plane z = 5.
func refNipple() sdf.Leafed {
	const od, bore = 10.67, 7.9
	z := geom.AxisZ
	root := sdf.Limit{Radius: 9.2194 + 15.0/32, Slope: -1.0 / 32}
	start, end := sdf.Station{S: 4, R: od}, sdf.Station{S: 25, R: 8.6}
	zone := sdf.Zone{
		Thread: sdf.Thread{
			Dir: z, Side: geom.AxisX, From: 5, To: 25, Pitch: refPitch, Ridge: 15, Sheared: true, Flank: math.Pi / 6,
			Cone:    sdf.Limit{Radius: root.Radius + refDepth/2, Slope: root.Slope},
			Floor:   []sdf.Limit{root},
			Ceiling: []sdf.Limit{{Radius: root.Radius + refDepth, Slope: root.Slope}, {Radius: od}},
		},
		Start: start, End: end, After: 1,
	}
	stock := sdf.Tube(z.Mul(-25), z, 50, od, bore)
	plain := sdf.Revolve(geom.Vec{}, z, []sdf.Station{{S: -25, R: bore}, {S: -25, R: od}, start, end, {S: 25, R: bore}})
	return sdf.Threaded(stock, plain, zone)
}

// refCoupling is a hexagonal coupling with a parallel thread right through.
func refCoupling() sdf.Leafed {
	z := geom.AxisZ
	stock := sdf.Prism(z.Mul(-17), z, geom.AxisX, 34, 30, 6)
	zone := sdf.Zone{
		Thread: sdf.Thread{
			Dir: z, Side: geom.AxisX, From: -17, To: 17, Pitch: refPitch, Flank: math.Pi / 6,
			Cone: sdf.Limit{Radius: 9.2 + refDepth/2}, Floor: []sdf.Limit{{Radius: 9.2}}, Ceiling: []sdf.Limit{{Radius: 9.2 + refDepth}},
		},
		Start: sdf.Station{S: -17, R: 11.5}, End: sdf.Station{S: 17, R: 11.5}, Internal: true, Before: 1, After: 1,
	}
	return sdf.Threaded(stock, sdf.Cut(stock, sdf.Cylinder(z.Mul(-18), z, 36, 11.5)), zone)
}

// TestReferenceThreads: nipple and coupling keep the tolerance, on the mesh and off it.
func TestReferenceThreads(t *testing.T) {
	for _, ref := range []namedSolid{{"nipple", refNipple()}, {"coupling", refCoupling()}} {
		m, r := sound(t, ref.name, ref.s, Options{ToleranceMM: tolMM})
		assert.Equal(t, 1, r.Threads, "%v", r.Rejected)
		assert.LessOrEqual(t, len(m.Triangles), 40000, ref.name)
		off, thin := missed(ref.s, m, tolMM)
		assert.LessOrEqual(t, max(off, thin), tolMM, "%s: points of the surface off the mesh", ref.name)
		t.Logf("%-12s %5d triangles, greatest error %.4f mm, rms %.4f mm, %s", ref.name, len(m.Triangles), r.MaxErrorMM, r.RMSErrorMM, r.Method)
	}
}

func BenchmarkThreads(b *testing.B) {
	for _, ref := range []namedSolid{{"nipple", refNipple()}, {"coupling", refCoupling()}} {
		b.Run("solid="+ref.name, func(b *testing.B) {
			for range b.N {
				if _, _, err := Mesh(ref.s, Options{ToleranceMM: tolMM}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// anyThread makes up a thread on a rod or in a block: any hand, taper, pitch, form, chamfers, run-outs and place.
func anyThread(rnd *rand.Rand) (sdf.Leafed, sdf.Zone) {
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rnd.Float64() }
	r, pitch := between(4, 30), between(1, 2.5)
	length := between(4, 12) * pitch
	slope := []float64{0, 1.0 / 32, -1.0 / 32}[rnd.Intn(3)]
	h := sdf.Thread{
		At: geom.V(between(-50, 50), between(-50, 50), between(-50, 50)), Dir: geom.V(rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()).Unit(),
		To: length, Pitch: pitch, Left: rnd.Intn(2) == 0, Ridge: between(-3, 3), Sheared: rnd.Intn(2) == 0,
		Cone: sdf.Limit{Radius: r, Slope: slope}, Flank: math.Pi / 6,
	}
	h.Side = h.Dir.Across()
	depth := 0.8 * pitch
	if rnd.Intn(2) == 0 {
		h.Flank, h.Round, depth = 27.5*math.Pi/180, 0.137329*pitch, 0.68*pitch
	}
	low, high := r-depth/2, r+depth/2
	z := sdf.Zone{Thread: h, Internal: rnd.Intn(2) == 0, Before: 1}
	least := min(low, low+slope*length)
	if z.Internal {
		z.FloorWins = true
		z.Floor = []sdf.Limit{{Radius: low, Slope: slope}, {Radius: high + 0.1*pitch, Slope: -1}}
		out := length - 0.3*pitch // the grooves end there
		z.Ceiling = []sdf.Limit{{Radius: high, Slope: slope}, {Radius: low + slope*out + out*1.1, Slope: -1.1}}
		z.Start, z.End = sdf.Station{S: 0, R: high + 0.1*pitch}, sdf.Station{S: length, R: low + slope*length}
		across := 2 * (max(high, high+slope*length) + 4)
		stock := sdf.Prism(h.At, h.Dir, h.Side, length+5, across, 4+rnd.Intn(5))
		a, b := z.PlainCone(-1), z.PlainCone(length)
		tool := sdf.Revolve(h.At, h.Dir, []sdf.Station{{S: a.S, R: 0}, a, b, {S: b.S, R: 0}})
		return sdf.Threaded(stock, sdf.Cut(stock, tool), z), z
	}
	od := max(high, high+slope*length) - between(0.05, 0.3)*pitch
	ramp := (od - least) / (1.5 * pitch)
	z.Floor = []sdf.Limit{{Radius: low, Slope: slope}, {Radius: od - ramp*(length-0.3*pitch), Slope: ramp}}
	z.Ceiling = []sdf.Limit{{Radius: high, Slope: slope}, {Radius: od}, {Radius: low - 0.1*pitch, Slope: 1}}
	z.Start, z.End = sdf.Station{S: 0, R: low - 0.1*pitch}, sdf.Station{S: length + 0.5, R: od}
	stock := sdf.Cylinder(h.At, h.Dir, length+10, od)
	plain := sdf.Revolve(h.At, h.Dir, []sdf.Station{{S: 0, R: 0}, z.Start, z.End, {S: length + 10, R: od}, {S: length + 10, R: 0}})
	return sdf.Threaded(stock, plain, z), z
}

// TestAnyThread: threads of all makes, in any place, are put in and keep every promise.
func TestAnyThread(t *testing.T) {
	rnd := rand.New(rand.NewSource(4))
	n := 60
	if testing.Short() {
		n = 6
	}
	for i := range n {
		s, z := anyThread(rnd)
		name := fmt.Sprintf("%d: %+v", i, z)
		m, r := sound(t, name, s, Options{ToleranceMM: tolMM})
		require.Equal(t, 1, r.Threads, "%s: %v", name, r.Rejected)
		for k := range m.Triangles {
			a, b, c := m.Corners(k)
			require.Greater(t, mesh.Height(a, b, c), 0.9*tolMM/10, "%s: triangle %v %v %v", name, a, b, c)
		}
		if i%20 == 0 {
			off, _ := missed(s, m, tolMM)
			assert.LessOrEqual(t, off, tolMM, name)
		}
	}
}

// TestThreadsOnAnyCores: the same bytes on one core and on two.
func TestThreadsOnAnyCores(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one, _ := sound(t, "one", refCoupling(), Options{ToleranceMM: tolMM})
	runtime.GOMAXPROCS(2)
	two, _ := sound(t, "two", refCoupling(), Options{ToleranceMM: tolMM})
	assert.Equal(t, one, two)
}

// TestMovedThreads: a threaded solid in another place is meshed as such.
func TestMovedThreads(t *testing.T) {
	s := sdf.Move(refNipple(), geom.Facing(geom.V(100, -7, 3), geom.V(1, 2, 3), geom.V(1, 0, 0)))
	m, r := sound(t, "moved", s, Options{ToleranceMM: tolMM})
	assert.Equal(t, 1, r.Threads)
	still, _ := sound(t, "still", refNipple(), Options{ToleranceMM: tolMM})
	assert.InEpsilon(t, mesh.Volume(still), mesh.Volume(m), 2e-3)
}

// TestThreadsLeftOut: where a thread has no place on the plain body, that is said, and the body comes without.
func TestThreadsLeftOut(t *testing.T) {
	plain, zones, ok := sdf.Threads(refNipple())
	require.True(t, ok)
	zones[0].Start.R += 0.5
	m, r, err := Mesh(sdf.Threaded(plain, plain, zones...), Options{ToleranceMM: tolMM})
	require.NoError(t, err)
	require.NoError(t, mesh.Check(m))
	assert.True(t, r.ThreadsLeftOut)
	assert.NotEmpty(t, r.Rejected)
	assert.Zero(t, r.Threads)
}

// TestThreadEdges: points on the true edges of the reference nipple's thread, by the words of its form, lie on the mesh:
// crests and roots end at half a flat from the middles of ridges and grooves, and the outside of the pipe cuts flanks.
func TestThreadEdges(t *testing.T) {
	m, _ := sound(t, "nipple", refNipple(), Options{ToleranceMM: tolMM})
	f := mesh.NewFinder(m)
	flat := (refPitch - 2*refDepth*math.Tan(math.Pi/6)) / 2
	most, n := 0.0, 0
	try := func(a, z, r float64) {
		if z > 5 && z < 25 {
			sin, cos := math.Sincos(a)
			most, n = max(most, f.Distance(geom.V(r*cos, r*sin, z), 0, 1)), n+1
		}
	}
	for k := -8.0; k < 8; k++ {
		for i := range 300 {
			a := -math.Pi + 2*math.Pi*(float64(i)+0.5)/300
			ridge := 15 + refPitch*(a/(2*math.Pi)+k)
			for _, side := range []float64{-1, 1} {
				root := func(z float64) float64 { return 9.2194 - (z-15)/32 }
				z := ridge + side*(refPitch-flat)/2
				try(a, z, root(z))
				if z = ridge + side*flat/2; root(z)+refDepth < 10.67 {
					try(a, z, root(z)+refDepth)
					continue
				}
				for range 40 { // where the flank meets the outside: the height over the root falls off at both sides of the crest
					z = ridge + side*(flat/2+(refDepth-(10.67-root(z)))*(refPitch/2-flat)/refDepth)
				}
				try(a, z, 10.67)
			}
		}
	}
	require.Greater(t, n, 10000)
	assert.LessOrEqual(t, most, tolMM)
	t.Logf("%d points on edges, farthest %.4f mm off the mesh", n, most)
}
