package joinery

import (
	"errors"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/standard"
	"turnwise/geom"
)

// tolMM is rounding only: every sum here has a handful of terms of a few hundred millimetres.
const tolMM = 1e-9

// orientations are the 24 ways to lay a right-handed frame along the axes.
func orientations() []geom.Pose {
	axes := []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ, geom.AxisX.Neg(), geom.AxisY.Neg(), geom.AxisZ.Neg()}
	var out []geom.Pose
	for _, x := range axes {
		for _, y := range axes {
			if x.Dot(y) == 0 {
				out = append(out, geom.Pose{X: x, Y: y, Z: x.Cross(y)})
			}
		}
	}
	return out
}

// line makes a line.
func line(name string, dir geom.Vec, size standard.Size) Line {
	return Line{Name: name, Dir: dir.Unit(), Size: size}
}

// sitesFor are the sites at which a kind should find itself again: its own ports' directions, one size or the reducing
// forms.
func linesFor(kind standard.Kind, sizes []standard.Size, pose geom.Pose) []Line {
	var out []Line
	for i, p := range standard.PortsOf(kind) {
		out = append(out, line("run-"+p.Name, pose.Rotate(geom.V(p.Dir[0], p.Dir[1], p.Dir[2])), sizes[min(i, len(sizes)-1)]))
	}
	return out
}

func TestOrientations(t *testing.T) {
	all := orientations()
	require.Len(t, all, 24)
	for _, p := range all {
		assert.True(t, p.IsRigid(1e-12))
	}
}

// Every kind that directions decide, at every size, in every orientation, with its lines in every order, finds itself
// back: right-handed, each line on a port that points along it.
func TestChooseEveryKindEverySizeEveryWay(t *testing.T) {
	kinds := []standard.Kind{
		standard.Coupling, standard.Elbow, standard.Elbow45, standard.Tee, standard.SideElbow, standard.Cross, standard.SideTee,
	}
	for _, fam := range []standard.Family{standard.NPT, standard.BSPT} {
		c := &standard.Catalogue{Family: fam}
		for _, kind := range kinds {
			for i, size := range standard.Sizes {
				if testing.Short() && i != 3 {
					continue
				}
				for _, pose := range orientations() {
					lines := linesFor(kind, []standard.Size{size}, pose)
					orders := assignments(len(lines), len(lines))
					if i != 3 { // every order at one size, the first and the last at the others
						orders = [][]int{orders[0], orders[len(orders)-1]}
					}
					for _, order := range orders {
						mixed := make([]Line, len(lines))
						for i, k := range order {
							mixed[i] = lines[k]
						}
						ch, err := Choose(c, Site{Point: "p", Lines: mixed})
						require.NoError(t, err, "%s %s", size, kind)
						require.Equal(t, kind, ch.Fitting.Kind)
						checkChoice(t, ch, mixed)
						require.Empty(t, ch.Plugs)
					}
				}
			}
		}
	}
}

// checkChoice checks what holds of every choice: a rigid pose, ports along their lines, used once, takeouts to the
// pipe's end.
func checkChoice(t *testing.T, ch Choice, lines []Line) {
	t.Helper()
	require.True(t, ch.Pose.IsRigid(1e-9), "pose %v", ch.Pose)
	require.Len(t, ch.Lines, len(lines))
	seen := map[string]bool{}
	for i, u := range ch.Lines {
		require.False(t, seen[u.Port], "port %s twice", u.Port)
		seen[u.Port] = true
		p, ok := ch.Fitting.Port(u.Port)
		require.True(t, ok)
		out := ch.Pose.Rotate(geom.V(p.Dir[0], p.Dir[1], p.Dir[2]))
		require.InDelta(t, 0, out.Angle(lines[i].Dir), 1e-7, "port %s of %s", u.Port, ch.Fitting.Text)
		end := ch.Pose.Origin.Dot(lines[i].Dir) + p.ReachMM
		if !p.Male {
			end -= p.Engagement.MM
		}
		require.InDelta(t, end, u.TakeoutMM, tolMM)
		require.Equal(t, p.Male, u.Street)
		if !p.Plain {
			require.Equal(t, lines[i].Size, p.Size)
		}
	}
}

// The mirror image of a side-outlet elbow or tee is served by turning it, never by a left-handed pose.
func TestChooseMirrored(t *testing.T) {
	c := &standard.Catalogue{}
	for _, kind := range []standard.Kind{standard.SideElbow, standard.SideTee, standard.Tee, standard.Elbow45} {
		lines := linesFor(kind, []standard.Size{"1/2"}, geom.Identity())
		for i := range lines {
			lines[i].Dir.X = -lines[i].Dir.X
		}
		ch, err := Choose(c, Site{Point: "p", Lines: lines})
		require.NoError(t, err)
		require.Equal(t, kind, ch.Fitting.Kind)
		checkChoice(t, ch, lines)
		if kind == standard.SideElbow {
			assert.NotEqual(t, "a", ch.Lines[0].Port+ch.Lines[1].Port+ch.Lines[2].Port)
			assert.NotEqual(t, "abc", ch.Lines[0].Port+ch.Lines[1].Port+ch.Lines[2].Port)
		}
	}
}

// A square corner opened or closed by some degrees: straight to 0.5, sprung to 2, refused beyond.
func TestChooseAngleTolerance(t *testing.T) {
	c := &standard.Catalogue{}
	for _, base := range []float64{90, 135, 180} {
		for _, off := range []float64{-2.1, -1.9, -0.6, -0.4, 0, 0.4, 0.6, 1.9, 2.1} {
			if base == 180 && off > 0 {
				continue
			}
			a := (base + off) * math.Pi / 180
			lines := []Line{line("post", geom.AxisX, "3/4"), line("brace", geom.V(math.Cos(a), math.Sin(a), 0), "3/4")}
			ch, err := Choose(c, Site{Point: "mid", Lines: lines})
			switch {
			case math.Abs(off) > SprungDeg:
				var f *Fault
				require.ErrorAs(t, err, &f, "%v", base+off)
				assert.Equal(t, FaultAngle, f.Code)
			case math.Abs(off) > StraightDeg:
				require.NoError(t, err)
				require.Len(t, ch.Notes, 1, "%v", base+off)
				assert.InDelta(t, math.Abs(off), ch.Notes[0].Deg, 1e-6)
				assert.True(t, ch.Pose.IsRigid(1e-9))
			default:
				require.NoError(t, err)
				assert.Empty(t, ch.Notes)
			}
		}
	}
}

// The two lines of a sprung elbow share the error: each port is off by half of it.
func TestChooseSharesTheError(t *testing.T) {
	c := &standard.Catalogue{}
	a := 91.5 * math.Pi / 180
	lines := []Line{line("p", geom.AxisX, "1"), line("q", geom.V(math.Cos(a), math.Sin(a), 0), "1")}
	ch, err := Choose(c, Site{Point: "k", Lines: lines})
	require.NoError(t, err)
	assert.InDelta(t, 0.75, degrees(ch.Pose.X.Angle(lines[0].Dir)), 1e-6)
	assert.InDelta(t, 0.75, degrees(ch.Pose.Y.Angle(lines[1].Dir)), 1e-6)
}

func TestChooseMessages(t *testing.T) {
	c := &standard.Catalogue{}
	x, y, z := geom.AxisX, geom.AxisY, geom.AxisZ
	at := func(deg float64) geom.Vec {
		s, c := math.Sincos(deg * math.Pi / 180)
		return geom.V(c, s, 0)
	}
	tests := []struct {
		name string
		site Site
		code Code
		want []string
	}{
		{"angle", Site{Point: "mid", Lines: []Line{line("brace", x, "1/2"), line("post", at(70), "1/2")}}, FaultAngle,
			[]string{"mid: 70 degrees between brace and post; fittings turn 45 or 90"}},
		{"six", Site{Point: "hub", Lines: []Line{line("a", x, "1/2"), line("b", x.Neg(), "1/2"), line("c", y, "1/2"),
			line("d", y.Neg(), "1/2"), line("e", z, "1/2"), line("f", z.Neg(), "1/2")}}, FaultCount,
			[]string{"six pipes meet at hub; no fitting has more than four openings"}},
		{"three at odd angles", Site{Point: "k", Lines: []Line{line("a", x, "1/2"), line("b", at(120), "1/2"), line("c", at(240), "1/2")}},
			FaultAngle, []string{"k: 120 degrees between a and b, 120 between a and c, 120 between b and c; fittings turn 45 or 90"}},
		{"a brace into a post", Site{Point: "mid", Lines: []Line{line("post", x, "1/2"), line("post", x.Neg(), "1/2"), line("brace", at(110), "1/2")}},
			FaultAngle, []string{"mid: 70 degrees between post and brace; fittings turn 45 or 90"}},
		{"a tee on a wall", Site{Point: "w", Lines: []Line{line("rod", x, "1/2")}, OnSurface: true, SurfaceName: "left wall", SurfaceOut: x,
			Ask: Ask{Kind: standard.Tee}}, FaultAsk,
			[]string{"w: a tee here would stand half in the left wall", "move the point off it, or write flange, cap, glide or caster"}},
		{"a brace into a run", Site{Point: "k", Lines: []Line{line("rail", x, "1/2"), line("rail", x.Neg(), "1/2"), line("brace", at(45), "1/2")}},
			FaultAngle, []string{"45 between", "a close nipple apart, would do", "in between their centres"}},
		{"sizes", Site{Point: "k", Lines: []Line{line("rail", x, "3/4"), line("rail", x.Neg(), "1/2"), line("leg", z, "1/2")}},
			FaultSize, []string{"k: no tee of 3/4 (rail), 1/2 (rail), 1/2 (leg) in the tables", "a 3/4 x 3/4 x 1/2 reducing tee with a 3/4 x 1/2 bushing would do: draw a point of its own for it, ? from this one, with bushing under fittings"}},
		{"avoid", Site{Point: "k", Avoid: map[standard.Kind]bool{standard.SideElbow: true},
			Lines: []Line{line("a", x, "1/2"), line("b", y, "1/2"), line("c", z, "1/2")}}, FaultAvoid,
			[]string{"k: a side-outlet elbow is needed here, and it is under avoid", "a close nipple apart, would do", "end one of the three runs"}},
		{"surface", Site{Point: "a", OnSurface: true, SurfaceName: "left wall", SurfaceOut: x, Lines: []Line{line("rod", at(10), "3/4")}},
			FaultSurface, []string{"a: rod meets the left wall 10 degrees from square; a floor flange takes up to 3"}},
		{"street without into", Site{Point: "k", Ask: Ask{Kind: standard.StreetElbow},
			Lines: []Line{line("a", x, "1/2"), line("b", y, "1/2")}}, FaultAsk, []string{"write street-elbow into a or into b"}},
		{"asked does not fit", Site{Point: "k", Ask: Ask{Kind: standard.Tee},
			Lines: []Line{line("a", x, "1/2"), line("b", at(135), "1/2")}}, FaultAsk, []string{"a tee does not fit", "a 45 degree elbow would"}},
		{"two on a flange", Site{Point: "k", Ask: Ask{Kind: standard.Flange},
			Lines: []Line{line("a", x, "1/2"), line("b", y, "1/2")}}, FaultAsk, []string{"two pipes meet here; a floor flange has one opening"}},
		{"plug on a pipe", Site{Point: "k", Ask: Ask{Kind: standard.Plug}, Lines: []Line{line("a", x, "1/2")}}, FaultAsk, []string{"a pipe's end takes a cap"}},
		{"open in the middle", Site{Point: "k", Ask: Ask{Open: true},
			Lines: []Line{line("a", x, "1/2"), line("b", x.Neg(), "1/2")}}, FaultAsk, []string{"open is for a pipe's end"}},
		{"caster without board", Site{Point: "k", Ask: Ask{Kind: standard.Caster}}, FaultAsk, []string{"no run comes here"}},
		{"no direction", Site{Point: "k", Lines: []Line{{Name: "a", Size: "1/2"}}}, FaultAngle, []string{"a has no direction here"}},
		{"along nobody", Site{Point: "k", Ask: Ask{Kind: standard.Tee, Along: "q"}, Lines: []Line{line("a", x, "1/2"), line("b", y, "1/2")}},
			FaultAsk, []string{"no run q leaves it; runs here are a, b"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, err := Choose(c, tt.site)
			var f *Fault
			require.True(t, errors.As(err, &f), "%v", err)
			assert.Equal(t, tt.code, f.Code)
			assert.Equal(t, tt.site.Point, f.Point)
			for _, w := range tt.want {
				assert.Contains(t, f.Error(), w)
			}
			t.Log(f.Error())
		})
	}
}

// Hand-made takeouts: 1/2 npt at normal engagement 0.5 in, A 1.12 in, coupling 1.34 in, cap 0.87 in.
func TestChooseTakeouts(t *testing.T) {
	c := &standard.Catalogue{}
	in := func(v float64) float64 { return v * 25.4 }
	one := []Line{line("r", geom.AxisZ, "1/2")}
	down := geom.AxisZ.Neg()
	tests := []struct {
		name   string
		site   Site
		kind   standard.Kind
		take   []float64
		origin geom.Vec
	}{
		{"elbow", Site{Lines: []Line{line("a", geom.AxisX, "1/2"), line("b", geom.AxisY, "1/2")}}, standard.Elbow, []float64{in(.62), in(.62)}, geom.Vec{}},
		{"coupling", Site{Lines: []Line{line("a", geom.AxisX, "1/2"), line("b", geom.AxisX.Neg(), "1/2")}}, standard.Coupling, []float64{in(.17), in(.17)}, geom.Vec{}},
		{"coupling under a board", Site{UnderBoard: true, BoardUp: geom.AxisZ, Lines: []Line{line("a", down, "1/2"), line("a", geom.AxisZ, "1/2")}},
			standard.Coupling, []float64{in(.84), in(-.5)}, geom.V(0, 0, in(-.67))},
		{"cap on a free end", Site{Lines: one}, standard.Cap, []float64{0}, geom.V(0, 0, in(.5))},
		{"cap as a foot", Site{Lines: one, OnSurface: true, SurfaceOut: geom.AxisZ, Ask: Ask{Kind: standard.Cap}}, standard.Cap, []float64{in(.37)}, geom.V(0, 0, in(.87))},
		{"flange", Site{Lines: one, OnSurface: true, SurfaceOut: geom.AxisZ}, standard.Flange, []float64{in(.2)}, geom.Vec{}},
		{"flange on a pad", Site{Lines: one, OnSurface: true, SurfaceOut: geom.AxisZ, Ask: Ask{PadMM: 5}}, standard.Flange, []float64{in(.2) + 5}, geom.V(0, 0, 5)},
		{"glide", Site{Lines: one, OnSurface: true, SurfaceOut: geom.AxisZ, Ask: Ask{Kind: standard.Glide}}, standard.Glide, []float64{standard.GlideHeightMM}, geom.Vec{}},
		{"caster on a pad", Site{Lines: one, OnSurface: true, SurfaceOut: geom.AxisZ, Ask: Ask{Kind: standard.Caster, PadMM: 3}}, standard.Caster, []float64{standard.CasterHeightMM + 3}, geom.V(0, 0, 3)},
		{"street elbow", Site{Lines: []Line{line("a", geom.AxisX, "1/2"), line("b", geom.AxisY, "1/2")}, Ask: Ask{Kind: standard.StreetElbow, Into: "a"}},
			standard.StreetElbow, []float64{in(1.63), in(.62)}, geom.Vec{}},
		{"reducer", Site{Lines: []Line{line("a", geom.AxisX, "1/2"), line("b", geom.AxisX.Neg(), "3/4")}}, standard.Reducer, []float64{in(.72 - .5), in(.72 - .5625)}, geom.Vec{}},
		{"bushing", Site{Lines: []Line{line("a", geom.AxisX, "3/4"), line("b", geom.AxisX.Neg(), "1/2")}, Ask: Ask{Kind: standard.Bushing}},
			standard.Bushing, []float64{in(.63 + .22), in(-.5)}, geom.Vec{}},
		{"union", Site{Lines: []Line{line("a", geom.AxisX, "1/2"), line("b", geom.AxisX.Neg(), "1/2")}, Ask: Ask{Kind: standard.Union}}, standard.Union, []float64{in(1.81/2 - .5), in(1.81/2 - .5)}, geom.Vec{}},
		{"reducing tee", Site{Lines: []Line{line("l", geom.AxisZ, "1/2"), line("a", geom.AxisX, "3/4"), line("a", geom.AxisX.Neg(), "3/4")}},
			standard.Tee, []float64{in(1.22 - .5), in(1.20 - .5625), in(1.20 - .5625)}, geom.Vec{}},
		{"reducing elbow, small first", Site{Lines: []Line{line("a", geom.AxisZ, "1/2"), line("b", geom.AxisX, "3/4")}},
			standard.Elbow, []float64{in(1.22 - .5), in(1.20 - .5625)}, geom.Vec{}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			ch, err := Choose(c, tt.site)
			require.NoError(t, err)
			assert.Equal(t, tt.kind, ch.Fitting.Kind)
			require.Len(t, ch.Lines, len(tt.take))
			for i, want := range tt.take {
				assert.InDelta(t, want, ch.Lines[i].TakeoutMM, 1e-9, "line %d", i)
			}
			assert.True(t, ch.Pose.Origin.Near(tt.origin, 1e-9), "origin %v", ch.Pose.Origin)
			checkChoice(t, ch, tt.site.Lines)
		})
	}
}

// Port a of two-ended parts goes to the first line: the start of the path.
func TestChoosePathOrder(t *testing.T) {
	c := &standard.Catalogue{}
	for _, k := range []standard.Kind{standard.Union, standard.Coupling, standard.RightLeft, standard.LongScrew} {
		for _, pose := range orientations() {
			d := pose.X
			lines := []Line{line("r", d, "3/4"), line("r", d.Neg(), "3/4")}
			ch, err := Choose(c, Site{Point: "r.x", Lines: lines, Ask: Ask{Kind: k}})
			require.NoError(t, err)
			assert.Equal(t, "a", ch.Lines[0].Port)
			assert.True(t, ch.Pose.Z.Near(d.Neg(), 1e-12), "a is out -Z")
			checkChoice(t, ch, lines)
			b, _ := ch.Fitting.Port("b")
			assert.Equal(t, k == standard.RightLeft, b.Left)
		}
	}
}

// Openings left over are plugged: the plug's face lies at the mouth and its thread points into the fitting.
func TestChoosePlugs(t *testing.T) {
	c := &standard.Catalogue{}
	for _, pose := range orientations() {
		lines := []Line{line("a", pose.X, "3/4"), line("b", pose.Y, "3/4")}
		for _, along := range []string{"a", "b"} {
			ch, err := Choose(c, Site{Point: "k", Lines: lines, Ask: Ask{Kind: standard.Tee, Along: along}})
			require.NoError(t, err)
			checkChoice(t, ch, lines)
			require.Len(t, ch.Plugs, 1)
			plug := ch.Plugs[0]
			want := pose.X.Neg()
			if along == "b" {
				want = pose.Y.Neg()
			}
			assert.True(t, plug.Pose.Z.Near(want, 1e-12), "%v", plug.Pose.Z)
			assert.InDelta(t, 1.31*25.4, plug.Pose.Origin.Dot(want), 1e-9)
			assert.True(t, plug.Pose.IsRigid(1e-12))
			assert.Equal(t, standard.Plug, plug.Fitting.Kind)
		}
	}
	ch, err := Choose(c, Site{Point: "k", Lines: []Line{line("a", geom.AxisX, "1/2")}, Ask: Ask{Kind: standard.Cross}})
	require.NoError(t, err)
	assert.Len(t, ch.Plugs, 3)
}

// Every reducing tee and elbow of three or two sizes is either in the tables, or refused with one that has bushings.
func TestChooseReducingCombinations(t *testing.T) {
	for _, fam := range []standard.Family{standard.NPT, standard.BSPT} {
		c := &standard.Catalogue{Family: fam}
		found, refused := 0, 0
		for _, a := range standard.Sizes {
			for _, b := range standard.Sizes {
				for _, o := range standard.Sizes {
					lines := []Line{line("r", geom.AxisX, a), line("r", geom.AxisX.Neg(), b), line("o", geom.AxisZ, o)}
					ch, err := Choose(c, Site{Point: "k", Lines: lines})
					if err == nil {
						checkChoice(t, ch, lines)
						found++
						continue
					}
					refused++
					var row *standard.NoRowError
					require.ErrorAs(t, err, &row, "%s %s %s", a, b, o)
					require.NotEmpty(t, row.Nearest)
					checkAdapted(t, row.Nearest[0], row.Sizes)
				}
			}
		}
		want := map[standard.Family]int{standard.NPT: 8 + 19, standard.BSPT: 8 + 15}[fam]
		assert.Equal(t, want, found, "equal tees and rows of the tables")
		assert.Equal(t, 512-want, refused)
	}
}

// checkAdapted checks that bushings turn an alternative into what was asked for.
func checkAdapted(t *testing.T, a standard.Alternative, want []standard.Size) {
	t.Helper()
	got := append([]standard.Size(nil), a.Sizes...)
	for _, b := range a.Bushings {
		for i, p := range standard.PortsOf(a.Kind) {
			if p.Name == b.Port {
				require.Equal(t, got[i], b.Big)
				got[i] = b.Small
			}
		}
	}
	require.Equal(t, want, got)
}

// A run that meets a leaning wall within 3 degrees gets a flange on its own axis, with a note.
func TestChooseLeaningSurface(t *testing.T) {
	c := &standard.Catalogue{}
	for _, off := range []float64{0, 0.4, 1, 2.9} {
		s, co := math.Sincos(off * math.Pi / 180)
		site := Site{Point: "a", OnSurface: true, SurfaceOut: geom.V(co, 0, s), Lines: []Line{line("rod", geom.AxisX, "3/4")}}
		ch, err := Choose(c, site)
		require.NoError(t, err)
		assert.Equal(t, standard.Flange, ch.Fitting.Kind)
		assert.True(t, ch.Pose.Z.Near(geom.AxisX, 1e-12))
		assert.Equal(t, off > StraightDeg, len(ch.Notes) == 1, "%v", off)
		assert.Equal(t, "face", ch.Surface)
	}
}

func TestChooseBoardCaster(t *testing.T) {
	c := &standard.Catalogue{}
	ch, err := Choose(c, Site{Point: "wheel", BoardUp: geom.AxisZ, UnderBoard: true, Ask: Ask{Kind: standard.Caster, PadMM: 2}})
	require.NoError(t, err)
	assert.Equal(t, geom.V(0, 0, -standard.CasterHeightMM), ch.Pose.Origin)
	require.NotNil(t, ch.Pad)
	assert.InDelta(t, -standard.CasterHeightMM-2, ch.Pad.Pose.Origin.Z, 1e-12)
	assert.Empty(t, ch.Lines)
}

// Two fittings that are proposed in place of one do take all lines: the distance is the sum of both takeouts and a
// close nipple. 1/2 npt: tee and elbow take out 0.62 in each, the close nipple is 1 1/8 in.
func TestChooseSplitDistance(t *testing.T) {
	c := &standard.Catalogue{}
	x, y, z := geom.AxisX, geom.AxisY, geom.AxisZ
	lines := []Line{line("a", x, "1/2"), line("b", x.Neg(), "1/2"), line("c", y, "1/2"), line("d", y.Neg(), "1/2"), line("e", z, "1/2")}
	_, err := Choose(c, Site{Point: "k", Lines: lines})
	require.Error(t, err)
	assert.Contains(t, err.Error(), "2.36 in between their centres") // 2.365
}

// What the design measured may leave no room: the message is in its units and names the keys to look at.
func TestChooseNoRoom(t *testing.T) {
	c := &standard.Catalogue{Overrides: []standard.Override{{Sizes: []standard.Size{"1"}, Key: standard.KeyEngagement, Values: []float64{25.4}}}}
	_, err := Choose(c, Site{Point: "k", Lines: []Line{line("a", geom.AxisX, "1"), line("a", geom.AxisX.Neg(), "1")}})
	require.EqualError(t, err, "k: the thread of the 1 coupling goes in 1.00 in, there is room for 0.84 in; check its engagement, length and centre-to-end under parts")
	var room *standard.RoomError
	require.ErrorAs(t, err, &room)
}

// A coupling asked for between two sizes is a reducing one, also under a board that leans a little.
func TestChooseCouplingOfTwoSizes(t *testing.T) {
	c := &standard.Catalogue{Family: standard.BSPT}
	tilt := geom.V(0.01, 0, 1).Unit()
	lines := []Line{line("a", tilt, "3/4"), line("b", tilt.Neg(), "1/2")}
	ch, err := Choose(c, Site{Point: "k", UnderBoard: true, BoardUp: geom.AxisZ, Lines: lines, Ask: Ask{Kind: standard.Coupling}})
	require.NoError(t, err)
	assert.Equal(t, standard.Reducer, ch.Fitting.Kind)
	assert.True(t, ch.Pose.Origin.Near(tilt.Mul(-39./2), 1e-9), "EN 10242 3/4 x 1/2: 39 mm")
	checkChoice(t, ch, lines)
	assert.InDelta(t, -15, ch.Lines[0].TakeoutMM, 1e-9)
	assert.InDelta(t, 39-13, ch.Lines[1].TakeoutMM, 1e-9)
}

// The same site gives the same choice whatever the direction vectors' rounding.
func TestChooseStableUnderNoise(t *testing.T) {
	c := &standard.Catalogue{}
	for _, pose := range orientations() {
		for _, kind := range []standard.Kind{standard.Cross, standard.SideTee, standard.SideElbow} {
			lines := linesFor(kind, []standard.Size{"1"}, pose)
			plain, err := Choose(c, Site{Lines: lines})
			require.NoError(t, err)
			for i := range lines {
				lines[i].Dir = lines[i].Dir.Add(geom.V(1e-12, -2e-12, 3e-12).Mul(float64(i) - 1))
			}
			noisy, err := Choose(c, Site{Lines: lines})
			require.NoError(t, err)
			for i := range lines {
				assert.Equal(t, plain.Lines[i].Port, noisy.Lines[i].Port)
			}
		}
	}
}
