package solidify

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
	"turnwise/geom/sdf/sdftest"
)

// mateTolMM is what the depth of one thread in another may be off: the task of a collision check is to tell such
// depths from real clashes, which are tenths of a mm.
const mateTolMM = 0.02

// matedPair are a fitting and a pipe whose end a stands in one of its ports.
type matedPair struct {
	fitting, pipe sdf.Solid
	pose          geom.Pose
	out           geom.Vec
}

func mate(t *testing.T, s sample, port standard.Port, pipe standard.Fitting, engagement float64) matedPair {
	f, err := Solid(s.part)
	require.NoError(t, err)
	p, err := Solid(partsOf("pipe", pipe, 300)[0].part)
	require.NoError(t, err)
	return matedPair{f, p, intoPort(port, engagement), vec(port.Dir)}
}

// deepest returns how deep, on the radius, the pipe's outside stands in the fitting's metal at the distance z from the
// pipe's end: the most of several places round the pipe, negative when it stands clear. The pipe's radius is measured
// on its own solid, by walking in from outside.
func (m matedPair) deepest(z float64) float64 {
	r := surfaceRadius(m.pipe, z)
	most := math.Inf(-1)
	for k := range 16 {
		s, c := math.Sincos(2 * math.Pi * (float64(k) + 0.5) / 16)
		most = max(most, -m.fitting.Distance(m.pose.Apply(geom.V(r*c, r*s, z))))
	}
	return most
}

// surfaceRadius is the outer radius of a solid about z at that height, by bisection.
func surfaceRadius(s sdf.Solid, z float64) float64 {
	b := s.Bounds()
	out, in := b.Max.X+1, 0.0
	for r := out; r > 0; r -= 0.5 {
		if s.Distance(geom.V(r, 0, z)) < 0 {
			in = r
			break
		}
		out = r
	}
	for range 60 {
		if m := (in + out) / 2; s.Distance(geom.V(m, 0, z)) < 0 {
			in = m
		} else {
			out = m
		}
	}
	return (in + out) / 2
}

// TestTaperThreadsMate, npt in npt: at L1 (ASME B1.20.1) the pitch cones just touch along the whole thread; at a deeper
// engagement e they overlap by (e - L1)/32 on the radius (the taper of 1 in 16 on the diameter), everywhere alike.
func TestTaperThreadsMate(t *testing.T) {
	tapped(t, true, func(name string, s sample, port standard.Port, pipe standard.Fitting) {
		if port.Parallel {
			return
		}
		l1 := port.HandTight.MM
		for _, e := range []float64{l1, l1 + 1.5, port.Engagement.MM} {
			m := mate(t, s, port, pipe, e)
			want := (e - l1) / 32
			along := min(e, pipe.Dims.MM(standard.DimThreadLength, "a"))
			for z := 0.3; z < along-0.3; z += along / 12 {
				assert.InDelta(t, want, m.deepest(z), mateTolMM, "%s at engagement %.2f, %.2f mm from the pipe's end", name, e, z)
			}
		}
	})
}

// TestRunningThread: a long screw's coupling runs along the parallel thread of its pipe, touching it, wherever it
// stands.
func TestRunningThread(t *testing.T) {
	for _, c := range catalogues() {
		f, err := c.Fitting(standard.LongScrew, []standard.Size{"3/4"})
		require.NoError(t, err)
		pipe, err := c.Pipe(standard.PipeSpec{Size: "3/4", LengthMM: 300, Running: "a"})
		require.NoError(t, err)
		port, ok := f.Port("a")
		require.True(t, ok)
		s := partsOf("long screw", f, 0)[0]
		for _, e := range []float64{5, 10, port.Engagement.MM} {
			m := mate(t, s, port, pipe, e)
			for z := 0.3; z < e-0.3; z += e / 12 {
				assert.InDelta(t, 0, m.deepest(z), mateTolMM, "engagement %.2f, %.2f mm from the pipe's end", e, z)
			}
		}
	}
}

// TestMatesOverlapNowhereElse: beyond the face of the fitting the pipe stands clear of it, its end face meets no
// shoulder, and no point of the pipe's metal is deeper in the fitting than the threads are.
func TestMatesOverlapNowhereElse(t *testing.T) {
	tapped(t, testing.Short(), func(name string, s sample, port standard.Port, pipe standard.Fitting) {
		e := port.Engagement.MM
		m := mate(t, s, port, pipe, e)
		grip := 0.0
		for d := 0.0; d <= e; d += e / 20 {
			grip = max(grip, threadGrip(pipe.Dims, s.part.Dims, port.Name, e, d))
		}
		for z := e + 0.05; z < e+30; z += 1.7 {
			require.Negative(t, m.deepest(z), "%s: outside the mouth, %.2f mm from the pipe's end", name, z)
		}
		for _, p := range metal(m.pipe, 400) {
			p.Z = math.Mod(p.Z, 1.2*e) // the end that is screwed in
			if m.pipe.Distance(p) >= 0 {
				continue
			}
			require.LessOrEqual(t, -m.fitting.Distance(m.pose.Apply(p)), grip+mateTolMM, "%s: %v of the pipe", name, p)
		}
	})
}

// TestUnionHalvesMeet: the seats coincide at the origin and the halves share no metal, wherever the nut is.
func TestUnionHalvesMeet(t *testing.T) {
	for _, tt := range everyPart(t, testing.Short()) {
		if tt.part.Half != "a" {
			continue
		}
		other := tt.part
		other.Half = "b"
		a, err := Solid(tt.part)
		require.NoError(t, err)
		b, err := Solid(other)
		require.NoError(t, err)
		shared := 0.0
		for _, p := range append(metal(a, 500), metal(b, 500)...) {
			shared = max(shared, min(-a.Distance(p), -b.Distance(p)))
		}
		assert.LessOrEqual(t, shared, 1e-9, tt.name)
		wall := (tt.part.Dims.MM(standard.DimBodyOD, "b") - tt.part.Dims.MM(standard.DimBore, "b")) / 2
		wide := tt.part.Dims.MM(standard.DimBore, "b")/2 + 0.85*wall
		for _, down := range []float64{0.3, 0.4, 0.5} { // on the cone of 45 degrees
			for _, s := range []sdf.Solid{a, b} {
				assert.InDelta(t, 0, s.Distance(geom.V(wide-down*wall, 0, -down*wall)), 1e-9, "%s: both are on the seat", tt.name)
			}
		}
		assertNut(t, tt.name, b, a, tt.part.Dims)
	}
}

// assertNut: the nut is a body of its own with six flats, clear of both halves all round, and cannot slip off over the
// shoulder.
func assertNut(t *testing.T, name string, b, a sdf.Solid, d standard.Dims) {
	pieces, ok := sdf.Pieces(b)
	require.True(t, ok, name)
	require.Len(t, pieces, 2, name)
	tail, nut := pieces[0], pieces[1]
	for _, p := range metal(nut, 400) {
		assert.Greater(t, tail.Distance(p), 0.2, "%s: nut and tail at %v", name, p)
		assert.Greater(t, a.Distance(p), 0.2, "%s: nut and half a at %v", name, p)
	}
	flat := d.MM(standard.DimAcross, "") / 2
	for k := range 6 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 3)
		assert.InDelta(t, 0, nut.Distance(geom.V(flat*cos, flat*sin, -1)), 1e-9, "%s: flat %d", name, k)
	}
	shoulder, body := d.MM(standard.DimCollarOD, "")/2, d.MM(standard.DimBodyOD, "b")/2
	assert.Negative(t, tail.Distance(geom.V(shoulder-0.1, 0, d.MM(standard.DimShoulder, "")/2)), name)
	assert.Negative(t, nut.Distance(geom.V(shoulder-0.1, 0, d.MM(standard.DimNutBack, "")-0.2)), "%s: the lip holds the shoulder", name)
	assert.Greater(t, shoulder, body, name)
}

// TestFlangeHoles: screws pass where the flange says they do, through the plate alone.
func TestFlangeHoles(t *testing.T) {
	var c standard.Catalogue
	f, err := c.Fitting(standard.Flange, []standard.Size{"3/4"})
	require.NoError(t, err)
	s, err := Solid(partsOf("flange", f, 0)[0].part)
	require.NoError(t, err)
	holes := standard.FlangeHoles(f.Dims)
	require.Len(t, holes, int(f.Dims.MM(standard.DimHoles, "")))
	for _, h := range holes {
		for _, z := range []float64{-0.5, 0.5, f.Dims.MM(standard.DimPlate, "") / 2, f.Dims.MM(standard.DimPlate, "") + 0.5} {
			assert.Positive(t, s.Distance(geom.V(h[0], h[1], z)), "%v at %v", h, z)
		}
	}
	assert.Negative(t, s.Distance(geom.V(f.Dims.MM(standard.DimCircle, "")/2, 0, 1)), "between two holes")
}

// TestKey: equal solids have equal keys, whatever they are called and wherever they stand; others have others.
func TestKey(t *testing.T) {
	seen := map[string]string{}
	for _, tt := range everyPart(t, true) {
		key := Key(tt.part)
		moved := tt.part
		moved.ID, moved.Pose, moved.Number = "other", geom.At(geom.V(1, 2, 3)), 7
		assert.Equal(t, key, Key(moved), tt.name)
		if first, ok := seen[key]; ok {
			assertSameSolid(t, first, tt)
		}
		seen[key] = tt.name
	}
	a, b := board(), board()
	assert.Equal(t, Key(a), Key(b))
	b.Boxes[0].Min.X = math.Copysign(0, -1)
	assert.Equal(t, Key(a), Key(b), "minus nought is nought")
	b.Holes[0].Diameter += 0.01
	assert.NotEqual(t, Key(a), Key(b))
	left := assembly.Part{Kind: a.Kind, Boxes: a.Boxes}
	assert.NotEqual(t, Key(a), Key(left))
}

// assertSameSolid: only board casters, which have no size, come up twice in the list of parts.
func assertSameSolid(t *testing.T, first string, again sample) {
	assert.Contains(t, first, "board caster", again.name)
	assert.Contains(t, again.name, "board caster")
}

// TestLeafed: every part's solid can name its surfaces, and none of them twice.
func TestLeafed(t *testing.T) {
	for _, tt := range everyPart(t, true) {
		s, err := Solid(tt.part)
		require.NoError(t, err)
		l, ok := s.(sdf.Leafed)
		require.True(t, ok, tt.name)
		seen := map[sdf.Leaf]bool{}
		for _, leaf := range l.Leaves() {
			assert.False(t, seen[leaf], "%s: %+v", tt.name, leaf)
			seen[leaf] = true
		}
		assert.NotEmpty(t, sdf.Features(s), tt.name)
	}
}

func BenchmarkDistance(b *testing.B) {
	var c standard.Catalogue
	for _, k := range []standard.Kind{standard.Elbow, standard.Tee, standard.SideTee, standard.Flange, standard.Union} {
		f, err := c.Fitting(k, []standard.Size{"3/4"})
		require.NoError(b, err)
		parts := partsOf("x", f, 0)
		s, err := Solid(parts[len(parts)-1].part)
		require.NoError(b, err)
		points := metal(s, 1000)
		b.Run("kind="+string(k), func(b *testing.B) {
			for i := 0; i < b.N; i++ {
				s.Distance(points[i%len(points)])
			}
		})
	}
}

// TestCountersunkFlange: the holes widen to the diameter given at the top of the plate, at 45 degrees to their axes, and
// the solid keeps its distances and its volume.
func TestCountersunkFlange(t *testing.T) {
	c := standard.Catalogue{Overrides: []standard.Override{{Kind: standard.Flange, Key: standard.KeyCountersink, Values: []float64{9}}}}
	f, err := c.Fitting(standard.Flange, []standard.Size{"3/4"})
	require.NoError(t, err)
	s := partsOf("countersunk flange", f, 0)[0]
	solid, err := Solid(s.part)
	require.NoError(t, err)
	shape, err := standard.SolidOf(s.part.Kind, "", s.part.Dims)
	require.NoError(t, err)
	sdftest.Check(t, solid, sdftest.Claim{Inside: holdsOf(shape)})
	plate := f.Dims.MM(standard.DimPlate, "")
	for _, h := range standard.FlangeHoles(f.Dims) {
		for _, down := range []float64{0.2, 0.7} {
			for _, aside := range []float64{-0.05, 0.05} {
				p := geom.V(h[0]+9.0/2-down+aside, h[1], plate-down)
				assert.Equal(t, aside > 0, solid.Distance(p) < 0, "%v", p)
			}
		}
	}
	volume, err := shape.Volume()
	require.NoError(t, err)
	plain, err := (&standard.Catalogue{}).Fitting(standard.Flange, []standard.Size{"3/4"})
	require.NoError(t, err)
	whole, err := standard.SolidOf(standard.Flange, "", plain.Dims)
	require.NoError(t, err)
	straight, err := whole.Volume()
	require.NoError(t, err)
	r, deep := f.Dims.MM(standard.DimHole, "")/2, 9.0/2-f.Dims.MM(standard.DimHole, "")/2
	// frustum less cylinder
	want := math.Pi * deep * ((4.5*4.5+4.5*r+r*r)/3 - r*r) * f.Dims.MM(standard.DimHoles, "")
	assert.InEpsilon(t, want, straight-volume, 0.01)

	for _, wide := range []float64{1, 30} {
		c.Overrides[0].Values = []float64{wide}
		_, err := c.Fitting(standard.Flange, []standard.Size{"3/4"})
		assert.ErrorContains(t, err, "countersink", "%v mm", wide)
	}
}
