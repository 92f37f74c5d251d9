package fuse

import (
	"errors"
	"fmt"
	"math"
	"os"
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
	tolMM  = 0.02
	pipeMM = 150.0
)

// rig is a fitting at the origin with a pipe in each of its openings.
type rig struct{ in Input }

func newRig(t testing.TB) *rig {
	r := &rig{Input{ToleranceMM: tolMM}}
	r.in.Mesh = func(p assembly.Part) *mesh.Mesh { return meshOf(t, p) }
	return r
}

// meshed keeps meshes by the key of their solids, since most tests need the same few.
var meshed = map[string]*mesh.Mesh{}

func meshOf(t testing.TB, p assembly.Part) *mesh.Mesh {
	key := p.Half + solidify.Key(p)
	if meshed[key] == nil {
		s, err := solidify.Solid(p)
		require.NoError(t, err)
		meshed[key], _, err = isosurface.Mesh(s, isosurface.Options{ToleranceMM: tolMM})
		require.NoError(t, err)
	}
	return meshed[key]
}

// fit screws a pipe into every opening of a fitting, and a coupling onto every male end; by gives the engagement of each.
func fit(t testing.TB, c standard.Catalogue, kind standard.Kind, by func(standard.Port) float64, sizes ...standard.Size) *rig {
	if sizes == nil {
		sizes = []standard.Size{"3/4"}
	}
	f, err := c.Fitting(kind, sizes)
	require.NoError(t, err)
	r := newRig(t)
	halves := []string{""}
	if kind == standard.Union {
		halves = []string{"a", "b"}
		r.in.Joints = append(r.in.Joints, assembly.Joint{ID: "nut", Kind: assembly.UnionNut, A: assembly.End{Part: "fitting.a"}, B: assembly.End{Part: "fitting.b"}})
	}
	for _, h := range halves {
		p := partOf("fitting", f, geom.Identity())
		if p.Half = h; h != "" {
			p.ID += "." + h
		}
		r.in.Parts = append(r.in.Parts, p)
	}
	for _, port := range f.Ports {
		switch {
		case port.Plain:
		case port.Male:
			r.screwOn(t, c, port)
		default:
			r.screw(t, c, port, by(port), kind == standard.Union)
		}
	}
	return r
}

// partOf is a part at a pose, with the ports of its fitting.
func partOf(id string, f standard.Fitting, pose geom.Pose) assembly.Part {
	p := assembly.Part{ID: id, Kind: f.Kind, Size: f.Sizes, Dims: f.Dims, Pose: pose, Solid: id}
	for _, q := range f.Ports {
		out := geom.V(q.Dir[0], q.Dir[1], q.Dir[2])
		p.Ports = append(p.Ports, assembly.Port{Name: q.Name, At: pose.Apply(out.Mul(q.ReachMM)), Out: pose.Rotate(out)})
	}
	return p
}

func (r *rig) screw(t testing.TB, c standard.Catalogue, port standard.Port, engagement float64, union bool) {
	pipe, err := c.Pipe(standard.PipeSpec{Size: port.Size, LengthMM: pipeMM})
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

// screwOn screws a coupling onto a male end.
func (r *rig) screwOn(t testing.TB, c standard.Catalogue, port standard.Port) {
	f, err := c.Fitting(standard.Coupling, []standard.Size{port.Size})
	require.NoError(t, err)
	mouth := f.Ports[0] // a, out -Z
	out := geom.V(port.Dir[0], port.Dir[1], port.Dir[2])
	// Its own Z goes on from the end; its mouth lies an engagement behind that.
	at := out.Mul(port.ReachMM - mouth.Engagement.MM + mouth.ReachMM)
	r.in.Parts = append(r.in.Parts, partOf("on-"+port.Name, f, geom.Facing(at, out, geom.Vec{})))
	r.in.Joints = append(r.in.Joints, assembly.Joint{
		ID: "on-" + port.Name, Kind: assembly.Thread, EngagementMM: mouth.Engagement.MM,
		A: assembly.End{Part: "on-" + port.Name, Port: "a"}, B: assembly.End{Part: "fitting", Port: port.Name},
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
		s, err := solidify.Solid(p)
		require.NoError(t, err)
		parts = append(parts, sdf.Move(s, p.Pose))
		sum += mesh.Volume(meshOf(t, p))
	}
	all := sdf.Join(parts...)
	// Fillings stand out by PastMM and seatMM at most.
	const most = seatMM + 2*tolMM
	off := 0.0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		far := false
		for _, p := range []geom.Vec{a, b, c, a.Lerp(b, 0.5), a.Add(b).Add(c).Mul(1.0 / 3)} {
			d := all.Distance(p)
			if math.Abs(d) > 2*tolMM {
				far = true
				require.GreaterOrEqual(t, d, -FillMM-tolMM, "%s at %v", name, p)
				require.LessOrEqual(t, d, most, "%s stands out at %v", name, p)
			}
		}
		if far {
			off += b.Sub(a).Cross(c.Sub(a)).Len() / 2
		}
	}
	assert.Less(t, off, 0.03*mesh.Area(m), "%s: area off the surface", name)
	// Threads overlap by (e - L1)/32 on the radius over e, about 200 mm3 each of some 45,000; a nut's gap is 700 mm3.
	assert.InEpsilon(t, sum, mesh.Volume(m), 0.03, name)
}

var families = map[string]standard.Catalogue{
	"npt": {Family: standard.NPT}, "bspt": {Family: standard.BSPT}, "bspt, Rc": {Family: standard.BSPT, TaperInside: true},
}

// every lists each kind of fitting that is screwed on pipes.
var every = []standard.Kind{
	standard.Tee, standard.Union, standard.Flange, standard.Bushing, standard.Plug, standard.Elbow, standard.StreetElbow, standard.Cap,
	standard.Elbow45, standard.StreetElbow45, standard.Cross, standard.SideElbow, standard.SideTee, standard.Coupling,
	standard.RightLeft, standard.LongScrew, standard.Reducer,
}

// sizesFor are the nominal sizes of a kind whose largest opening has that size.
func sizesFor(k standard.Kind, largest standard.Size) []standard.Size {
	smaller := map[standard.Size]standard.Size{"1/2": "3/8", "3/4": "1/2", "1": "3/4", "1-1/4": "3/4", "1-1/2": "1"}
	if k == standard.Reducer || k == standard.Bushing {
		return []standard.Size{largest, smaller[largest]}
	}
	return []standard.Size{largest}
}

// TestEveryFitting: each kind, made up with a pipe in each opening, is one shell, at three scales. Sizes and families take
// turns; TURNWISE_FRAMES=all takes all of them, which is a matter of minutes.
func TestEveryFitting(t *testing.T) {
	all := os.Getenv("TURNWISE_FRAMES") == "all"
	sizes, names := []standard.Size{"1/2", "3/4", "1", "1-1/4", "1-1/2"}, []string{"npt", "bspt", "bspt, Rc"}
	for i, kind := range every {
		if testing.Short() && i >= 3 {
			break
		}
		for j := range len(sizes) * len(names) {
			if !all && j != (7*i+1)%(len(sizes)*len(names)) {
				continue
			}
			family, size := names[j%len(names)], sizes[j/len(names)]
			c := families[family]
			var missing *standard.NoRowError
			if _, err := c.Fitting(kind, sizesFor(kind, size)); errors.As(err, &missing) {
				continue // not made
			}
			r := fit(t, c, kind, madeUp, sizesFor(kind, size)...)
			volume := 0.0
			for _, scale := range []float64{1, 1.0 / 8, 1.0 / 20} {
				name := fmt.Sprintf("%s %s %s at %g", family, size, kind, scale)
				r.in.Scale = scale
				m, report, err := Frame(r.in)
				if !assert.NoError(t, err, name) {
					continue
				}
				assert.Equal(t, 1, report.Bodies, name)
				if scale == 1 {
					assertUnion(t, r.in, m, name)
					volume = mesh.Volume(m)
				}
				assert.NoError(t, mesh.Check(m), name)
				assert.InEpsilon(t, volume, mesh.Volume(m)/(scale*scale*scale), 1e-3, name)
			}
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

// TestPipesThatMeet: pipes that meet end to end within a coupling, stand a hair apart or run into one another there.
func TestPipesThatMeet(t *testing.T) {
	for _, family := range []string{"npt", "bspt"} {
		for _, more := range []float64{0, -0.001, -0.02, -0.05, -0.1, -0.15, 0.03} {
			r := fit(t, families[family], standard.Coupling, func(p standard.Port) float64 { return p.ReachMM + more })
			for _, scale := range []float64{1, 1.0 / 20} {
				r.in.Scale = scale
				_, report, err := Frame(r.in)
				require.NoError(t, err, "%s %g at %g", family, more, scale)
				assert.Equal(t, 1, report.Bodies, "%s %g at %g", family, more, scale)
			}
		}
	}
}

// TestOtherWays: the ways that are left when the first fails give the same frame, within their steps.
func TestOtherWays(t *testing.T) {
	r := fit(t, families["npt"], standard.Union, madeUp)
	first, _, err := Frame(r.in)
	require.NoError(t, err)
	for _, w := range ways[1:] {
		m, report, err := newFrame(r.in).join(w)
		require.NoError(t, err)
		assert.Equal(t, 1, report.Bodies)
		assert.InEpsilon(t, mesh.Volume(first), mesh.Volume(m), 0.03)
	}
}

// TestPipeAlone: a pipe has the volume of its solid, by the formula for
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
	assert.Equal(t, Report{Parts: 1, Bodies: 1}, report)
	assert.Equal(t, 1, mesh.Shells(m))
	d := pipe.Dims
	od, bore := d.MM(standard.DimOD, "")/2, d.MM(standard.DimBore, "")/2
	r0, l, v := d.MM(standard.DimPitchDia, "a")/2, d.MM(standard.DimThreadLength, "a"), d.MM(standard.DimVanish, "a")
	r1 := r0 + l/32
	frustum := func(a, b, h float64) float64 { return math.Pi * h * (a*a + a*b + b*b) / 3 }
	want := 2*frustum(r0, r1, l) + 2*frustum(r1, od, v) + math.Pi*od*od*(400-2*l-2*v) - math.Pi*bore*bore*400
	// Chords stand off two circles by the tolerance at most, which is 0.7 % of a wall of 2.9 mm each way.
	assert.InEpsilon(t, want, mesh.Volume(m), 0.007)
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

// TestLooseBodies: a body that is joined to nothing and touches nothing is a shell of its own.
func TestLooseBodies(t *testing.T) {
	r := fit(t, families["npt"], standard.Coupling, madeUp)
	od := r.in.Parts[1].Dims.MM(standard.DimOD, "")
	r.lay(slab(geom.V(-od/2-20, -50, 40), geom.V(18, 100, 80)))
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	assert.Equal(t, 2, report.Bodies)
	assert.Equal(t, 2, mesh.Shells(m))
}

// TestBoardOnPipe: a board that lies on a pipe becomes one with it, and grows by SinkMM.
func TestBoardOnPipe(t *testing.T) {
	r := fit(t, families["npt"], standard.Coupling, madeUp)
	bare, _, err := Frame(r.in)
	require.NoError(t, err)
	od := r.in.Parts[1].Dims.MM(standard.DimOD, "")
	size := geom.V(18, 100, 80)
	r.lay(slab(geom.V(-od/2-size.X, -50, 40), size), r.in.Parts[2].ID)
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	assert.Equal(t, 1, report.Bodies)
	wood := (size.X + 2*SinkMM) * (size.Y + 2*SinkMM) * (size.Z + 2*SinkMM)
	// The circle's segment that is in both: 4/3 of the sagitta times half the chord, over the board's length.
	common := 4.0 / 3 * SinkMM * math.Sqrt(od*SinkMM) * size.Z
	assert.InDelta(t, mesh.Volume(bare)+wood-common, mesh.Volume(m), common)
}

// TestBoardOnFitting: a board on the mouth of a fitting sinks into its face on all sides.
func TestBoardOnFitting(t *testing.T) {
	r := newRig(t)
	c := families["npt"]
	f, err := c.Fitting(standard.Coupling, []standard.Size{"3/4"})
	require.NoError(t, err)
	r.in.Parts = []assembly.Part{partOf("fitting", f, geom.Identity())}
	r.screw(t, c, f.Ports[0], madeUp(f.Ports[0]), false)
	size := geom.V(60, 70, 18)
	r.lay(slab(geom.V(-30, -35, f.Ports[1].ReachMM), size), "fitting")
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	assert.Equal(t, 1, report.Bodies)
	assert.Zero(t, report.Hollows, "the far end of the pipe is open")
	box := mesh.Bounds(m).Size()
	assert.InDelta(t, size.Y+2*SinkMM, box.Y, 0.02)
}

// TestWoodOnWood: boards and cleats that lie on one another, flush on several sides and side by side, are one body.
func TestWoodOnWood(t *testing.T) {
	r := newRig(t)
	for i, at := range []geom.Vec{{}, {X: 200}, {Z: -20}, {X: 180, Y: 100, Z: -20}, {Z: 18}} {
		b := slab(at, geom.V(200, 120, 18))
		b.ID = fmt.Sprint("board-", i)
		if at.Z < 0 {
			b.Kind, b.Boxes[0].Max = standard.Cleat, geom.V(40, 20, 20)
		}
		r.in.Parts = append(r.in.Parts, b)
	}
	for _, scale := range []float64{1, 1.0 / 8, 1.0 / 20} {
		r.in.Scale = scale
		m, report, err := Frame(r.in)
		require.NoError(t, err)
		assert.Equal(t, 1, report.Bodies)
		assert.InEpsilon(t, 3*200*120*18+2*40*20*20, mesh.Volume(m)/(scale*scale*scale), 0.05)
	}
}

// TestBoredBoard: a board that a pipe goes through, and nothing else holds, gets a sleeve in its hole.
func TestBoredBoard(t *testing.T) {
	r := fit(t, families["npt"], standard.Coupling, madeUp)
	bare, _, err := Frame(r.in)
	require.NoError(t, err)
	od := r.in.Parts[1].Dims.MM(standard.DimOD, "")
	b := slab(geom.V(-50, -50, 80), geom.V(100, 100, 18))
	hole := od + 3.2
	b.Holes = []assembly.Hole{{At: geom.V(50, 50, 0), Dir: geom.AxisZ, Diameter: hole}}
	r.in.Parts = append(r.in.Parts, b)
	r.in.Joints = append(r.in.Joints, assembly.Joint{ID: "through", Kind: assembly.Bored, A: assembly.End{Part: "board"}, B: assembly.End{Part: "pipe-b"}})
	m, report, err := Frame(r.in)
	require.NoError(t, err)
	assert.Equal(t, 1, report.Bodies)
	grown := hole - 2*SinkMM
	wood := (100.3*100.3 - math.Pi/4*grown*grown) * 18.3
	sleeve := math.Pi / 4 * (grown*grown - od*od) * 9
	assert.InEpsilon(t, mesh.Volume(bare)+wood+sleeve, mesh.Volume(m), 0.003)
}

// TestStrapAndFeet: a strap round a pipe, and a caster in its end on a pad, are one with it.
func TestStrapAndFeet(t *testing.T) {
	c := families["npt"]
	for _, size := range []standard.Size{"1/2", "3/4", "1-1/2"} {
		for _, kind := range []standard.Kind{standard.Glide, standard.Caster} {
			r := newRig(t)
			foot, err := c.Fitting(kind, []standard.Size{size})
			require.NoError(t, err)
			pad, err := c.PadUnder(foot, 3)
			require.NoError(t, err)
			strap, err := c.StrapOver(size)
			require.NoError(t, err)
			r.in.Parts = []assembly.Part{partOf("fitting", foot, geom.Identity()), partOf("pad", pad, geom.At(geom.V(0, 0, -3))), partOf("strap", strap, geom.At(geom.V(0, 0, 85)))}
			for _, p := range foot.Ports {
				if p.Name == "a" {
					p.Size = size
					r.screw(t, c, p, 0, false)
				}
			}
			m, report, err := Frame(r.in)
			require.NoError(t, err, "%s %s", kind, size)
			assert.Equal(t, 1, report.Bodies, "%s %s", kind, size)
			assert.NoError(t, mesh.Check(m))
		}
	}
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

func BenchmarkFrame(b *testing.B) {
	r := fit(b, families["npt"], standard.Tee, madeUp)
	b.Run("parts=4", func(b *testing.B) {
		for b.Loop() {
			if _, _, err := Frame(r.in); err != nil {
				b.Fatal(err)
			}
		}
	})
}
