package solidify

import (
	"math"
	"math/rand"
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
	"turnwise/geom/sdf/sdftest"
)

// threadTolMM is what diameters and depths of threads may be off.
const threadTolMM = 0.02

// helixRadius is the radius of a thread's surface at a place along its axis and an angle, worked out ridge by ridge from
// the basic form: no distances.
func helixRadius(h standard.Helix, s, angle float64) float64 {
	lead := h.Pitch / (2 * math.Pi)
	if h.Left {
		lead = -lead
	}
	cot := 1 / math.Tan(h.FlankDeg*math.Pi/180)
	radius := func(l standard.Line, s float64) float64 { return l.R + l.Slope*s }
	first := lead * angle
	near := math.Round((s - first) / h.Pitch)
	sharp, row := math.Inf(-1), 0.0
	valley := func(mid float64) float64 { // the lowest of the groove before the ridge at mid
		return (radius(h.Cone, mid-h.Pitch/4)+radius(h.Cone, mid-3*h.Pitch/4))/2 - cot*h.Pitch/4
	}
	for k := near - 1; k <= near+1; k++ {
		mid := first + k*h.Pitch
		up := radius(h.Cone, mid-h.Pitch/4) + cot*(s-mid+h.Pitch/4)
		down := radius(h.Cone, mid+h.Pitch/4) - cot*(s-mid-h.Pitch/4)
		sharp = max(sharp, min(up, down))
	}
	row = sharp
	if h.Round > 0 {
		half, reach := h.Round/math.Sin(h.FlankDeg*math.Pi/180), h.Round*math.Cos(h.FlankDeg*math.Pi/180)
		for k := near - 1; k <= near+1; k++ {
			mid := first + k*h.Pitch
			lean := h.Cone.Slope / cot * h.Pitch / 4
			apex := (radius(h.Cone, mid-h.Pitch/4)+radius(h.Cone, mid+h.Pitch/4))/2 + cot*h.Pitch/4
			if x := s - mid - lean; math.Abs(x) < reach {
				row = min(row, apex-half+math.Sqrt(h.Round*h.Round-x*x))
			}
			if x := s - mid + h.Pitch/2 + lean; math.Abs(x) < reach {
				row = max(row, valley(mid)+half-math.Sqrt(h.Round*h.Round-x*x))
			}
		}
	}
	floor, ceiling := math.Inf(-1), math.Inf(1)
	for _, l := range h.Floor {
		floor = max(floor, radius(l, s))
	}
	for _, l := range h.Ceiling {
		ceiling = min(ceiling, radius(l, s))
	}
	if h.Internal {
		return max(floor, min(ceiling, row))
	}
	return min(ceiling, max(floor, row))
}

// cutBy tells whether a thread takes a point away.
func cutBy(h standard.Helix, p geom.Vec) bool {
	dir := vec(h.Dir)
	q := geom.Facing(vec(h.At), dir, dir.Across()).Local(p)
	if q.Z <= h.From-h.Before || q.Z >= h.To+h.After {
		return false
	}
	r := math.Hypot(q.X, q.Y)
	if !h.Internal && r > h.End.R+0.5 { // the tool reaches a little over the metal of the end, not to the rest of the part
		return false
	}
	return (r < helixRadius(h, q.Z, math.Atan2(q.Y, q.X))) == h.Internal
}

// threadedParts are all samples that have threads, with their true threads.
func threadedParts(t testing.TB, short bool, do func(s sample, solid sdf.Leafed, shape standard.Threaded)) {
	n := 0
	for _, tt := range everyPart(t, short) {
		tt.part.Family = tt.fitting.Family
		if tt.fitting.Family == "" {
			continue
		}
		for _, p := range tt.fitting.Ports {
			if p.Left {
				tt.part.LeftEnd = p.Name
			}
		}
		s, err := Threaded(tt.part)
		require.NoError(t, err, tt.name)
		shape, err := standard.ThreadedOf(tt.part.Kind, tt.part.Half, tt.part.Dims, tt.part.Family, tt.part.LeftEnd)
		require.NoError(t, err, tt.name)
		do(tt, s.(sdf.Leafed), shape)
		n++
	}
	require.Greater(t, n, 20)
}

// TestEveryThreadedPart runs the suite of package sdf on every kind with true threads: stock less what the helices cut.
func TestEveryThreadedPart(t *testing.T) {
	threadedParts(t, testing.Short(), func(s sample, solid sdf.Leafed, shape standard.Threaded) {
		t.Run(s.name, func(t *testing.T) {
			holds := holdsOf(shape.Stock)
			sdftest.Check(t, solid, sdftest.Claim{Points: 250, Inside: func(p geom.Vec) bool {
				if !holds(p) {
					return false
				}
				for _, h := range shape.Threads {
					if cutBy(h, p) {
						return false
					}
				}
				return true
			}})
		})
	})
}

// TestEveryThreadIsMade: every threaded opening and end of every kind has its helix, left-hand where the part says so.
func TestEveryThreadIsMade(t *testing.T) {
	threadedParts(t, false, func(s sample, _ sdf.Leafed, shape standard.Threaded) {
		want := map[string]bool{}
		for _, p := range s.fitting.Ports {
			if !p.Plain && (s.part.Half == "" || s.part.Half == p.Name) {
				want[p.Name] = p.Left
			}
		}
		if s.part.Kind == standard.LongScrew { // one thread from face to face
			delete(want, "b")
		}
		got := map[string]bool{}
		for _, h := range shape.Threads {
			got[h.Port] = h.Left
		}
		assert.Equal(t, want, got, s.name)
	})
}

// gauge is one row of a published table, lengths in mm.
type gauge struct {
	size                     standard.Size
	length, pitchDia, majors float64
}

// ASME B1.20.1-2013 Table 2: L1 and E1.
var nptGauges = []gauge{
	{"1/4", 0.2278 * 25.4, 0.49163 * 25.4, 0}, {"3/8", 0.240 * 25.4, 0.62701 * 25.4, 0},
	{"1/2", 0.320 * 25.4, 0.77843 * 25.4, 0}, {"3/4", 0.339 * 25.4, 0.98887 * 25.4, 0},
	{"1", 0.400 * 25.4, 1.23863 * 25.4, 0}, {"1-1/4", 0.420 * 25.4, 1.58338 * 25.4, 0},
	{"1-1/2", 0.420 * 25.4, 1.82234 * 25.4, 0}, {"2", 0.436 * 25.4, 2.29627 * 25.4, 0},
}

// ISO 7-1 (EN 10226-1): basic gauge length, pitch and major diameter at the gauge plane.
var bsptGauges = []gauge{
	{"1/4", 6.0, 12.301, 13.157}, {"3/8", 6.4, 15.806, 16.662}, {"1/2", 8.2, 19.793, 20.955}, {"3/4", 9.5, 25.279, 26.441},
	{"1", 10.4, 31.770, 33.249}, {"1-1/4", 12.7, 40.431, 41.910}, {"1-1/2", 12.7, 46.324, 47.803}, {"2", 15.9, 58.135, 59.614},
}

// someOf leaves the middle sizes of a table when tests are to be short.
func someOf(gauges []gauge) []gauge {
	if testing.Short() {
		return gauges[3:4]
	}
	return gauges
}

// turnOf measures the radii of a surface at many angles in the plane z: radius finds one.
func turnOf(radius func(angle float64) float64) (median, most float64) {
	const n = 360
	var rs []float64
	for k := range n {
		rs = append(rs, radius(2*math.Pi*(float64(k)+0.5)/n))
	}
	sort.Float64s(rs)
	return (rs[n/2-1] + rs[n/2]) / 2, rs[n-1]
}

// edgeBetween finds by halving where the solid ends between two radii at one angle of the plane z.
func edgeBetween(s sdf.Solid, z, angle, r0, r1 float64) float64 {
	sin, cos := math.Sincos(angle)
	at := func(r float64) bool { return s.Distance(geom.V(r*cos, r*sin, z)) < 0 }
	first := at(r0)
	for range 50 {
		if m := (r0 + r1) / 2; at(m) == first {
			r0 = m
		} else {
			r1 = m
		}
	}
	return (r0 + r1) / 2
}

// meshRadius returns the radius at which a ray in the plane z leaves a mesh beyond the radius r0, or enters it.
func meshRadius(m *mesh.Mesh, z, r0 float64) func(angle float64) float64 {
	type span struct{ a, b geom.Vec }
	var cut []span
	for i := range m.Triangles {
		p, q, r := m.Corners(i)
		if min(p.Z, q.Z, r.Z) > z || max(p.Z, q.Z, r.Z) < z {
			continue
		}
		var ends []geom.Vec
		for _, e := range [3][2]geom.Vec{{p, q}, {q, r}, {r, p}} {
			if (e[0].Z > z) != (e[1].Z > z) {
				ends = append(ends, e[0].Lerp(e[1], (z-e[0].Z)/(e[1].Z-e[0].Z)))
			}
		}
		if len(ends) == 2 && min(math.Hypot(ends[0].X, ends[0].Y), math.Hypot(ends[1].X, ends[1].Y)) > r0 {
			cut = append(cut, span{ends[0], ends[1]})
		}
	}
	return func(angle float64) float64 {
		sin, cos := math.Sincos(angle)
		side := func(v geom.Vec) float64 { return v.Y*cos - v.X*sin }
		nearest := math.Inf(1)
		for _, c := range cut {
			if d, e := side(c.a), side(c.b); (d > 0) != (e > 0) {
				v := c.a.Lerp(c.b, d/(d-e))
				if r := v.X*cos + v.Y*sin; r > 0 {
					nearest = min(nearest, r)
				}
			}
		}
		return nearest
	}
}

// meshed is the mesh as it would be written.
func meshed(t testing.TB, s sdf.Solid) *mesh.Mesh {
	m, r, err := isosurface.Mesh(s, isosurface.Options{ToleranceMM: 0.02})
	require.NoError(t, err)
	require.Empty(t, r.Rejected)
	return m
}

// TestExternalThreadTables: on the solid and on its mesh the pitch diameter at L1 from the small end is E1, and for ISO
// 7-1 that of the gauge plane, where the major diameter is the gauge diameter. In a plane square to the axis a thread is
// half the turn over and half under its pitch diameter.
func TestExternalThreadTables(t *testing.T) {
	for family, gauges := range map[standard.Family][]gauge{standard.NPT: nptGauges, standard.BSPT: bsptGauges} {
		c := standard.Catalogue{Family: family}
		for _, g := range someOf(gauges) {
			pipe, err := c.Pipe(standard.PipeSpec{Size: g.size, LengthMM: 120})
			require.NoError(t, err)
			part := partsOf("pipe", pipe, 120)[0].part
			part.Family = family
			s, err := Threaded(part)
			require.NoError(t, err)
			bore := pipe.Dims.MM(standard.DimBore, "") / 2
			mid, most := turnOf(func(a float64) float64 { return edgeBetween(s, g.length, a, bore+0.2, 2*bore) })
			meshMid, meshMost := turnOf(meshRadius(meshed(t, s), g.length, bore+0.2))
			for _, d := range []float64{mid, meshMid} {
				assert.InDelta(t, g.pitchDia, 2*d, threadTolMM, "%s %s: pitch diameter", family, g.size)
			}
			if g.majors > 0 {
				assert.InDelta(t, g.majors, 2*most, threadTolMM, "%s %s: major diameter", family, g.size)
				assert.InDelta(t, g.majors, 2*meshMost, threadTolMM, "%s %s: major diameter of the mesh", family, g.size)
			}
		}
	}
}

// TestInternalThreadTables: the same at the face of a coupling, where the gauge plane of an internal thread lies; measured
// three pitches deep, behind the chamfer. A taper thread is narrower there by 1 in 16.
func TestInternalThreadTables(t *testing.T) {
	for _, tt := range []struct {
		c      standard.Catalogue
		gauges []gauge
		taper  float64
	}{
		{standard.Catalogue{Family: standard.NPT}, nptGauges, 1.0 / 16},
		{standard.Catalogue{Family: standard.BSPT}, bsptGauges, 0},
		{standard.Catalogue{Family: standard.BSPT, TaperInside: true}, bsptGauges, 1.0 / 16},
	} {
		for _, g := range someOf(tt.gauges) {
			f, err := tt.c.Fitting(standard.Coupling, []standard.Size{g.size})
			require.NoError(t, err)
			part := partsOf("coupling", f, 0)[0].part
			part.Family = tt.c.Family
			s, err := Threaded(part)
			require.NoError(t, err)
			deep := 3 * f.Dims.MM(standard.DimPitch, "b")
			z := f.Dims.MM(standard.DimReach, "b") - deep
			mid, most := turnOf(func(a float64) float64 { return edgeBetween(s, z, a, 0, g.pitchDia/2+2) })
			meshMid, meshMost := turnOf(meshRadius(meshed(t, s), z, 1))
			for _, d := range []float64{mid, meshMid} {
				assert.InDelta(t, g.pitchDia-deep*tt.taper, 2*d, threadTolMM, "%v %s: pitch diameter", tt.c, g.size)
			}
			if g.majors > 0 {
				assert.InDelta(t, g.majors-deep*tt.taper, 2*most, threadTolMM, "%v %s: major diameter", tt.c, g.size)
				assert.InDelta(t, g.majors-deep*tt.taper, 2*meshMost, threadTolMM, "%v %s: major diameter of the mesh", tt.c, g.size)
			}
		}
	}
}

// screwed is a male thread in a female one: both solids, and the pose of the male in the frame of the female. Z of that
// pose runs from the female's mouth inwards.
type screwed struct {
	female, male sdf.Solid
	pose         geom.Pose
	in           geom.Vec // direction in which the male goes in
	mouth        geom.Vec
}

// depthAt is how far the male's surface stands beyond the female's, on the radius, at the depth z from the mouth.
func (c screwed) depthAt(z, angle float64) float64 {
	f := geom.Facing(c.mouth.Add(c.in.Mul(z)), c.in, geom.Vec{})
	sin, cos := math.Sincos(angle)
	radius := func(inside func(geom.Vec) bool) float64 {
		at := func(r float64) bool { return inside(f.Apply(geom.V(r*cos, r*sin, 0))) }
		lo := 4.0 // within every bore
		for lo < 40 && !at(lo) {
			lo += 0.1
		}
		hi := lo
		for hi < 40 && at(hi) {
			hi += 0.1
		}
		for range 40 {
			if m := (lo + hi) / 2; at(m) {
				lo = m
			} else {
				hi = m
			}
		}
		return lo
	}
	male := radius(func(p geom.Vec) bool { return c.male.Distance(c.pose.Local(p)) < 0 })
	female := radius(func(p geom.Vec) bool { return c.female.Distance(p) >= 0 })
	return male - female
}

// turned returns the male screwed on by turns of its hand, which is 1 for right and -1 for left.
func (c screwed) turned(turns, pitch, hand float64) screwed {
	c.pose = c.pose.Turned(c.mouth, c.in, 2*math.Pi*turns*hand, turns*pitch)
	return c
}

// seat turns the male in its place until the flanks fit best.
func (c screwed) seat(depths []float64) screwed {
	worst := func(s screwed) float64 {
		most := math.Inf(-1)
		for i, z := range depths {
			most = max(most, s.depthAt(z, float64(i)*2.4))
		}
		return most
	}
	at, step := c, math.Pi/12
	best := worst(c)
	for k := 1; k < 24; k++ {
		if s := c.turned(float64(k)/24, 0, 1); worst(s) < best {
			best, at = worst(s), s
		}
	}
	for ; step > 1e-5; step /= 2 {
		for _, d := range []float64{-step, step} {
			if s := at.turned(d/(2*math.Pi), 0, 1); worst(s) < best {
				best, at = worst(s), s
			}
		}
	}
	return at
}

// TestScrewedTogether: screwed in by hand to L1, the flanks of both threads touch all along and nothing overlaps by more
// than the tolerance; n more turns of the right hand advance n pitches and overlap by (e - L1) / 32 on the radius, the taper
// of 1 in 16 on the diameter, and nowhere more. A parallel internal thread has that at its mouth.
func TestScrewedTogether(t *testing.T) {
	rnd := rand.New(rand.NewSource(2))
	for _, tt := range []struct {
		name string
		c    standard.Catalogue
		kind standard.Kind
		port string
		hand float64
	}{
		{"npt", standard.Catalogue{Family: standard.NPT}, standard.Tee, "c", 1},
		{"npt left", standard.Catalogue{Family: standard.NPT}, standard.RightLeft, "b", -1},
		{"Rc", standard.Catalogue{Family: standard.BSPT, TaperInside: true}, standard.Elbow, "a", 1},
		{"Rp", standard.Catalogue{Family: standard.BSPT}, standard.Coupling, "a", 1},
	} {
		for _, size := range []standard.Size{"1/2", "1"} {
			f, err := tt.c.Fitting(tt.kind, []standard.Size{size})
			require.NoError(t, err)
			port, ok := f.Port(tt.port)
			require.True(t, ok)
			spec := standard.PipeSpec{Size: size, LengthMM: 120}
			part := partsOf("fitting", f, 0)[0].part
			part.Family = tt.c.Family
			if tt.hand < 0 {
				spec.Left, part.LeftEnd = "a", tt.port
			}
			pipe, err := tt.c.Pipe(spec)
			require.NoError(t, err)
			pp := partsOf("pipe", pipe, 120)[0].part
			pp.Family, pp.LeftEnd = tt.c.Family, spec.Left
			female, err := Threaded(part)
			require.NoError(t, err)
			male, err := Threaded(pp)
			require.NoError(t, err)
			l1, pitch := port.HandTight.MM, port.Pitch.MM
			c := screwed{female, male, intoPort(port, l1), vec(port.Dir).Neg(), vec(port.Dir).Mul(port.ReachMM)}
			// from behind the chamfer of the mouth to before that of the pipe's end
			var depths []float64
			for z := 1.2 * pitch; z < l1-1.2*pitch; z += pitch / 5 {
				depths = append(depths, z)
			}
			c = c.seat(depths)
			for _, turns := range []float64{0, 0.25, 1, 1.5} {
				s := c.turned(turns, pitch, tt.hand)
				touch := 0
				for range 300 {
					z := depths[0] + rnd.Float64()*(depths[len(depths)-1]-depths[0])
					want := turns * pitch / 32
					if port.Parallel {
						want -= z / 32 // the male is narrower towards its end
					}
					got := s.depthAt(z, 2*math.Pi*rnd.Float64())
					require.LessOrEqual(t, got, want+threadTolMM, "%s %s, %.2f turns: %.2f mm deep", tt.name, size, turns, z)
					if got >= want-threadTolMM {
						touch++
					}
				}
				assert.Greater(t, touch, 200, "%s %s, %.2f turns: flanks apart", tt.name, size, turns)
			}
		}
	}
}

// TestThreadedMeshes: every kind's threads are put into its mesh, which is sound and keeps the tolerance.
func TestThreadedMeshes(t *testing.T) {
	const tolerance = 0.02
	n := 0
	threadedParts(t, true, func(s sample, solid sdf.Leafed, shape standard.Threaded) {
		if n++; testing.Short() && n%16 != 0 {
			return
		}
		m, r, err := isosurface.Mesh(solid, isosurface.Options{ToleranceMM: tolerance})
		require.NoError(t, err, s.name)
		require.NoError(t, mesh.Check(m), s.name)
		assert.Equal(t, len(shape.Threads), r.Threads, "%s: %v", s.name, r.Rejected)
		assert.LessOrEqual(t, r.MaxErrorMM, tolerance*1.02, "%s: %v", s.name, r.Rejected)
	})
}

// TestSmallPlugs: the corners of a small plug's head come within tenths of a mm of the end of its thread, and it is cut all
// the same.
func TestSmallPlugs(t *testing.T) {
	for _, family := range []standard.Family{standard.NPT, standard.BSPT} {
		for _, size := range []standard.Size{"1/4", "1/2"} {
			c := standard.Catalogue{Family: family}
			f, err := c.Fitting(standard.Plug, []standard.Size{size})
			require.NoError(t, err)
			part := partsOf("plug", f, 0)[0].part
			part.Family = family
			for threads, make := range []func(assembly.Part) (sdf.Solid, error){Solid, Threaded} {
				s, err := make(part)
				require.NoError(t, err)
				_, r, err := isosurface.Mesh(s, isosurface.Options{ToleranceMM: meshToleranceMM})
				require.NoError(t, err)
				assert.Equal(t, threads, r.Threads, "%s %s", family, size)
				assert.LessOrEqual(t, r.MaxErrorMM, meshToleranceMM*1.02, "%s %s", family, size)
				assert.Equal(t, 1, r.Attempts, "%s %s: %v", family, size, r.Rejected)
			}
		}
	}
}
