package fuse

import (
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/solidify"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

const (
	tolMM  = 0.1
	pipeMM = 150.0
)

// rig is a fitting at the origin with a pipe in each of its openings.
type rig struct{ in Input }

func newRig(t testing.TB) *rig {
	r := &rig{Input{ToleranceMM: tolMM, Solid: solidify.Solid}}
	r.in.Mesh = func(p assembly.Part) *mesh.Mesh { return meshOf(t, p) }
	return r
}

func meshOf(t testing.TB, p assembly.Part) *mesh.Mesh {
	s, err := solidify.Solid(p)
	require.NoError(t, err)
	m, _, err := isosurface.Mesh(s, isosurface.Options{ToleranceMM: tolMM})
	require.NoError(t, err)
	return m
}

// fit screws a pipe into every opening of a fitting; by gives the engagement of each.
func fit(t testing.TB, c standard.Catalogue, kind standard.Kind, by func(standard.Port) float64) *rig {
	f, err := c.Fitting(kind, []standard.Size{"3/4"})
	require.NoError(t, err)
	r := newRig(t)
	halves := []string{""}
	if kind == standard.Union {
		halves = []string{"a", "b"}
		r.in.Joints = append(r.in.Joints, assembly.Joint{ID: "nut", Kind: assembly.UnionNut, A: assembly.End{Part: "fitting.a"}, B: assembly.End{Part: "fitting.b"}})
	}
	for _, h := range halves {
		p := assembly.Part{ID: "fitting", Kind: kind, Size: f.Sizes, Dims: f.Dims, Half: h, Pose: geom.Identity(), Solid: "fitting" + h}
		if h != "" {
			p.ID += "." + h
		}
		r.in.Parts = append(r.in.Parts, p)
	}
	for _, port := range f.Ports {
		if port.HandTight.MM > 0 {
			r.screw(t, c, port, by(port), kind == standard.Union)
		}
	}
	return r
}

func (r *rig) screw(t testing.TB, c standard.Catalogue, port standard.Port, engagement float64, union bool) {
	pipe, err := c.Pipe(standard.PipeSpec{Size: "3/4", LengthMM: pipeMM})
	require.NoError(t, err)
	out := geom.V(port.Dir[0], port.Dir[1], port.Dir[2])
	id, to := "pipe-"+port.Name, "fitting"
	if union {
		to += "." + port.Name
	}
	p := assembly.Part{ID: id, Kind: standard.Pipe, Size: pipe.Sizes, Dims: pipe.Dims, LengthMM: pipeMM, Solid: "pipe"}
	p.Pose = geom.Facing(out.Mul(port.ReachMM-engagement), out, geom.Vec{})
	p.Ports = []assembly.Port{{Name: "a", At: p.Pose.Origin, Out: p.Pose.Z.Neg()}, {Name: "b", At: p.Pose.Apply(geom.V(0, 0, pipeMM)), Out: p.Pose.Z}}
	r.in.Parts = append(r.in.Parts, p)
	r.in.Joints = append(r.in.Joints, assembly.Joint{
		ID: id, Kind: assembly.Thread, EngagementMM: engagement,
		A: assembly.End{Part: to, Port: port.Name}, B: assembly.End{Part: id, Port: "a"},
	})
}

func madeUp(p standard.Port) float64 { return p.Engagement.MM }

// assertUnion checks a frame against the fields of its parts: samples of its triangles lie on the union of them, or in
// the filling of a thread, and it holds as much as they do together but for what threads overlap.
func assertUnion(t *testing.T, in Input, m *mesh.Mesh, name string) {
	require.NoError(t, mesh.Check(m), name)
	var parts []sdf.Solid
	sum := 0.0
	for _, p := range in.Parts {
		s, err := in.Solid(p)
		require.NoError(t, err)
		parts = append(parts, sdf.Move(s, p.Pose))
		sum += mesh.Volume(meshOf(t, p))
	}
	all := sdf.Join(parts...)
	// A tenth of the tolerance is for places where the filling of a thread meets its mouth.
	off, n := 0, 0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		for _, p := range []geom.Vec{a, b, c, a.Lerp(b, 0.5), a.Add(b).Add(c).Mul(1.0 / 3)} {
			n++
			if d := math.Abs(all.Distance(p)); d > 1.1*tolMM {
				off++
				require.LessOrEqual(t, d, fillMM, "%s at %v", name, p)
			}
		}
	}
	assert.Less(t, off, n/50, "%s: samples off the surface", name)
	// Threads overlap by (e - L1)/32 on the radius over e, about 200 mm3 each of some 45,000; a nut's gap is 700 mm3.
	assert.InEpsilon(t, sum, mesh.Volume(m), 0.02, name)
}

var families = map[string]standard.Catalogue{
	"npt": {Family: standard.NPT}, "bspt": {Family: standard.BSPT}, "bspt, Rc": {Family: standard.BSPT, TaperInside: true},
}

// TestEveryFitting: each kind, made up with a pipe in each opening, is one shell.
func TestEveryFitting(t *testing.T) {
	kinds := []standard.Kind{
		standard.Tee, standard.Union, standard.Flange, standard.Elbow, standard.Elbow45, standard.Cross,
		standard.SideElbow, standard.SideTee, standard.Coupling, standard.Cap,
	}
	if testing.Short() {
		kinds = kinds[:3]
	}
	for _, family := range []string{"npt", "bspt"} {
		for _, kind := range kinds {
			r := fit(t, families[family], kind, madeUp)
			m, report, err := Frame(r.in)
			require.NoError(t, err, "%s %s", family, kind)
			assert.Equal(t, 1, mesh.Shells(m), "%s %s", family, kind)
			assert.Positive(t, report.Barrels)
			assertUnion(t, r.in, m, family+" "+string(kind))
		}
		if testing.Short() {
			break
		}
	}
}

// TestThreadsThatTouch: at hand-tight the cones of thread and socket only touch, or stand apart where one is parallel;
// still there is one body.
func TestThreadsThatTouch(t *testing.T) {
	for _, family := range []string{"npt", "bspt", "bspt, Rc"} {
		for _, less := range []float64{0, 1} {
			r := fit(t, families[family], standard.Coupling, func(p standard.Port) float64 { return p.HandTight.MM - less })
			m, _, err := Frame(r.in)
			require.NoError(t, err, family)
			assert.Equal(t, 1, mesh.Shells(m), family)
		}
	}
}

// TestPipeAlone: a pipe is cut into two ends and a barrel; what comes out has the volume of its solid, by the formula for
// the tube and the two thread cones: frustums, less the bore.
func TestPipeAlone(t *testing.T) {
	c := families["npt"]
	pipe, err := c.Pipe(standard.PipeSpec{Size: "3/4", LengthMM: 400})
	require.NoError(t, err)
	r := newRig(t)
	pose := geom.Facing(geom.V(1000, 2000, 3000), geom.V(1, 2, 3), geom.Vec{})
	r.in.Parts = []assembly.Part{{ID: "p", Kind: standard.Pipe, Dims: pipe.Dims, LengthMM: 400, Pose: pose, Solid: "p"}}
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	assert.Equal(t, Report{Knots: 2, Distinct: 1, Barrels: 1, MaxErrorMM: report.MaxErrorMM}, report)
	assert.Equal(t, 1, mesh.Shells(m))
	d := pipe.Dims
	od, bore := d.MM(standard.DimOD, "")/2, d.MM(standard.DimBore, "")/2
	r0, l, v := d.MM(standard.DimPitchDia, "a")/2, d.MM(standard.DimThreadLength, "a"), d.MM(standard.DimVanish, "a")
	r1 := r0 + l/32
	frustum := func(a, b, h float64) float64 { return math.Pi * h * (a*a + a*b + b*b) / 3 }
	want := 2*frustum(r0, r1, l) + 2*frustum(r1, od, v) + math.Pi*od*od*(400-2*l-2*v) - math.Pi*bore*bore*400
	// Chords stand off two circles by the tolerance at most, which is 3 % of a wall of 2.9 mm each way.
	assert.InEpsilon(t, want, mesh.Volume(m), 0.02)
	assert.Less(t, len(m.Triangles), 1500, "a barrel costs no triangles along its length")
}

// slab is a board at a place.
func slab(at, size geom.Vec) assembly.Part {
	return assembly.Part{ID: "board", Kind: standard.Board, Pose: geom.At(at), Solid: "board", Boxes: []geom.Box{{Max: size}}}
}

func (r *rig) lay(board assembly.Part, on ...string) {
	r.in.Parts = append(r.in.Parts, board)
	for _, id := range on {
		r.in.Joints = append(r.in.Joints, assembly.Joint{ID: id + "/board", Kind: assembly.Rest, A: assembly.End{Part: "board"}, B: assembly.End{Part: id}})
	}
}

// TestLooseBodies: a body that is joined to nothing is a shell of its own, and touches nothing; one inside another is told.
func TestLooseBodies(t *testing.T) {
	r := fit(t, families["npt"], standard.Coupling, madeUp)
	od := r.in.Parts[1].Dims.MM(standard.DimOD, "")
	// The board's upper face is the plane on which the pipes lie, with the coupling over its edge.
	r.lay(slab(geom.V(-od/2-18, -50, 40), geom.V(18, 100, 80)))
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	assert.Equal(t, 1, report.Loose)
	assert.Equal(t, 2, mesh.Shells(m))
	r.in.Parts[len(r.in.Parts)-1].Pose.Origin.X += 5
	_, _, err = Frame(r.in)
	assert.ErrorIs(t, err, ErrFaulty, "a board in a pipe is told")
}

// TestBoardOnPipe: a board that lies on a pipe becomes one with it by a block, and is drawn in by AirMM for the rest.
func TestBoardOnPipe(t *testing.T) {
	r := fit(t, families["npt"], standard.Coupling, madeUp)
	bare, _, err := Frame(r.in)
	require.NoError(t, err)
	od := r.in.Parts[1].Dims.MM(standard.DimOD, "")
	size := geom.V(18, 100, 80)
	r.lay(slab(geom.V(-od/2-size.X, -50, 40), size), r.in.Parts[2].ID)
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	require.NoError(t, report.Apart)
	assert.Equal(t, 0, report.Loose)
	assert.Equal(t, 1, mesh.Shells(m))
	assert.Equal(t, 3, report.Barrels, "the pipe is cut on both sides of the block")
	wood := (size.X - 2*AirMM) * (size.Y - 2*AirMM) * (size.Z - 2*AirMM)
	// Beside the air, the block fills a gap that is never higher than the rise of the pipe's circle over half its width.
	rise := od/2 - math.Sqrt(od*od/4-padWideMM*padWideMM/4)
	block := padLongMM * padWideMM * (AirMM + rise/3)
	assert.InDelta(t, mesh.Volume(bare)+wood+block, mesh.Volume(m), 0.5*block+0.002*mesh.Volume(bare))
}

// TestBoardOnFitting: a board on the mouth of a fitting sinks into its face on all sides.
func TestBoardOnFitting(t *testing.T) {
	r := newRig(t)
	c := families["npt"]
	f, err := c.Fitting(standard.Coupling, []standard.Size{"3/4"})
	require.NoError(t, err)
	r.in.Parts = []assembly.Part{{ID: "fitting", Kind: standard.Coupling, Size: f.Sizes, Dims: f.Dims, Pose: geom.Identity(), Solid: "fitting"}}
	for _, port := range f.Ports {
		if port.Name == "a" {
			r.screw(t, c, port, madeUp(port), false)
		}
	}
	top := 0.0
	for _, port := range f.Ports {
		if port.Name == "b" {
			top = port.ReachMM * port.Dir[2]
		}
	}
	require.NotZero(t, top)
	size := geom.V(60, 70, 18)
	low := top
	if top < 0 {
		low = top - size.Z
	}
	r.lay(slab(geom.V(-30, -35, low), size), "fitting")
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	require.NoError(t, report.Apart)
	assert.Equal(t, 1, mesh.Shells(m))
	box := mesh.Bounds(m).Size()
	assert.InDelta(t, size.Y+2*SinkMM, box.Y, 0.01)
}

// TestLeftApart: where what touches cannot be made one, it is left apart, and the report says so.
func TestLeftApart(t *testing.T) {
	r := fit(t, families["npt"], standard.Coupling, madeUp)
	od := r.in.Parts[1].Dims.MM(standard.DimOD, "")
	r.lay(slab(geom.V(-od/2-18, -50, 40), geom.V(18, 100, 80)), r.in.Parts[2].ID)
	// A second board leaves a tenth of a millimetre beside the first, which is less than that one grows when it has two boxes.
	first := &r.in.Parts[len(r.in.Parts)-1]
	first.Boxes = append(first.Boxes, geom.Box{Min: geom.V(0, 0, 70), Max: geom.V(18, 100, 90)})
	second := slab(geom.V(-od/2-18, 50.1, 40), geom.V(18, 50, 80))
	second.ID, second.Solid = "second", "second"
	r.in.Parts = append(r.in.Parts, second)
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	assert.NoError(t, report.Apart, "drawn in by more than the other grows")
	assert.Equal(t, 2, mesh.Shells(m))
	r.in.Parts[len(r.in.Parts)-1].Pose.Origin.Y -= 0.25 // now they run into one another, but not when both are drawn in
	m, report, err = Frame(r.in)
	require.NoError(t, err)
	assert.ErrorIs(t, report.Apart, ErrFaulty)
	assert.Equal(t, 3, mesh.Shells(m))
}

func TestNothing(t *testing.T) {
	_, _, err := Frame(newRig(t).in)
	assert.ErrorIs(t, err, ErrEmpty)
}

// TestSameOnOneCore: the mesh does not depend on the number of processors.
func TestSameOnOneCore(t *testing.T) {
	r := fit(t, families["npt"], standard.Elbow, madeUp)
	two, _, err := Frame(r.in)
	require.NoError(t, err)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one, _, err := Frame(r.in)
	require.NoError(t, err)
	assert.Equal(t, two, one)
}

// TestZip: rings of different numbers of vertices, started anywhere, are joined into a closed tube without folds.
func TestZip(t *testing.T) {
	for _, n := range [][2]int{{3, 3}, {3, 17}, {40, 7}, {26, 26}} {
		for _, shift := range []float64{0, 0.3, 2, 5.9} {
			f := &frame{}
			ring := func(n int, z, shift float64) []int32 {
				var out []int32
				for k := range n {
					s, c := math.Sincos(shift + 2*math.Pi*float64(k)/float64(n))
					out = append(out, int32(len(f.mesh.Vertices)))
					f.mesh.Vertices = append(f.mesh.Vertices, geom.V(10*c, 10*s, z))
				}
				return out
			}
			sorted := func(vs []int32) []turned {
				inner := ring(3, f.mesh.Vertices[vs[0]].Z, 0)
				for _, v := range inner {
					f.mesh.Vertices[v] = f.mesh.Vertices[v].Mul(0.5)
				}
				_, out, err := f.rings(geom.Identity(), append(inner, vs...))
				require.NoError(t, err)
				return out
			}
			low, high := ring(n[0], 0, 0.1), ring(n[1], 50, shift)
			f.zip(sorted(low), sorted(high), false)
			require.Len(t, f.mesh.Triangles, n[0]+n[1])
			// closed by a fan over each end
			for k := 2; k < n[0]; k++ {
				f.mesh.Triangles = append(f.mesh.Triangles, [3]int32{low[0], low[k], low[k-1]})
			}
			for k := 2; k < n[1]; k++ {
				f.mesh.Triangles = append(f.mesh.Triangles, [3]int32{high[0], high[k-1], high[k]})
			}
			assert.NoError(t, mesh.Check(&f.mesh), "%v %v", n, shift)
		}
	}
}

func BenchmarkFrame(b *testing.B) {
	r := fit(b, families["npt"], standard.Tee, madeUp)
	b.Run("knots=4", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := Frame(r.in); err != nil {
				b.Fatal(err)
			}
		}
	})
}
