package oracletest

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"math/rand"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/planfile"
	"turnwise/assembly/replay"
	"turnwise/assembly/sequence"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// The known answers of the theory of screwed frames, each worked out by hand or in closed form. Measures are made up,
// sizes of parts are those of the catalogue. Two of them stand beside what they test: that one turn, judged by profiles
// alone, is never called clear against dense sampling of a thousand random pairs, and blocked falsely in less than one of
// fifty, is TestSpinAgainstSampling of the planner; that its whole verdict is right on random frames is
// TestPlannerAgainstExhaustiveSearch here.

// planned is a design that has to be planned and proved.
func planned(t *testing.T, text string) *worked {
	t.Helper()
	w := refused(t, text)
	require.Empty(t, w.stop(), "%v", w.order.Findings)
	require.Empty(t, failures(w.report))
	return w
}

// refused is a design planned, whatever the verdict.
func refused(t *testing.T, text string) *worked {
	t.Helper()
	a, err := solved(text)
	require.NoError(t, err)
	return work(t, a)
}

// lastClosed is the kind of the joint that is closed last.
func (w *worked) lastClosed() assembly.JointKind {
	for _, s := range slices.Backward(w.plan.Steps) {
		if len(s.Joints) > 0 {
			return jointOf(&w.plan, s.Joints[0]).Kind
		}
	}
	return ""
}

// actions counts the steps by what is done.
func (w *worked) actions() map[assembly.Action]int {
	n := map[assembly.Action]int{}
	for _, s := range w.plan.Steps {
		n[s.Action]++
	}
	return n
}

// A rectangle of four elbows and four pipes has one loop and is refused; with one union it is built, the union closed
// last, and no tight joint is turned again.
func TestRectangleNeedsOneUnion(t *testing.T) {
	plain := strings.Replace(sound["ring"], "a to union to b", "a to b", 1)
	w := refused(t, plain)
	assert.Equal(t, "LOOP", w.stop())
	assert.Len(t, w.order.Loops, 1)
	w = planned(t, sound["ring"])
	assert.Len(t, w.order.Loops, 1)
	assert.Equal(t, assembly.UnionNut, w.lastClosed())
	assert.Zero(t, w.actions()[assembly.Adjust])
}

// A ladder of two posts and m rungs has m - 1 loops.
func TestLadderLoops(t *testing.T) {
	for m := 2; m <= 5; m++ {
		points := `f: "300, 300, 100", g: "900, 300, 100"`
		left, right, runs := "f", "g", ""
		for i := range m {
			points += fmt.Sprintf(`, l%d: "300, 300, %d", r%d: "900, 300, %d"`, i, 300+200*i, i, 300+200*i)
			left, right = left+fmt.Sprintf(" to l%d", i), right+fmt.Sprintf(" to r%d", i)
			runs += fmt.Sprintf(", rung%d: l%d to r%d", i, i, i)
		}
		w := refused(t, testHead+"points: {"+points+"}\nruns: {up: "+left+", down: "+right+runs+"}\n")
		assert.Len(t, w.order.Loops, m-1)
		assert.Equal(t, "LOOP", w.stop())
	}
}

// A grid of a x b x c fittings has (a-1)bc + a(b-1)c + ab(c-1) pipes and one loop more than pipes less fittings:
// 128 - 60 + 1 = 69 for 5 x 2 x 6. Only the graph counts, so the fittings of this test have more openings than are sold.
func TestGridLoops(t *testing.T) {
	for _, g := range []struct{ a, b, c, loops int }{{2, 1, 3, 2}, {3, 1, 4, 6}, {3, 2, 4, 23}, {4, 2, 5, 43}, {5, 2, 6, 69}} {
		pipes := (g.a-1)*g.b*g.c + g.a*(g.b-1)*g.c + g.a*g.b*(g.c-1)
		require.Equal(t, g.loops, pipes-g.a*g.b*g.c+1)
		r := sequence.Plan(sequence.Input{Assembly: graph(g.a, g.b, g.c), Outlines: map[string]assembly.Outline{}})
		assert.Len(t, r.Loops, g.loops, "%v", g)
	}
}

// graph is a grid of fittings and pipes without shapes.
func graph(a, b, c int) *assembly.Assembly {
	out := &assembly.Assembly{People: 2}
	name := func(p [3]int) string { return fmt.Sprintf("n%d-%d-%d", p[0], p[1], p[2]) }
	limit := [3]int{a, b, c}
	for x := range a {
		for y := range b {
			for z := range c {
				p := [3]int{x, y, z}
				at := geom.V(float64(x), float64(y), float64(z)).Mul(500)
				out.Parts = append(out.Parts, assembly.Part{ID: name(p), Kind: "tee", Pose: geom.At(at)})
				for axis, d := range [3]geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
					q := p
					if q[axis]++; q[axis] == limit[axis] {
						continue
					}
					pipe := name(p) + fmt.Sprint("-", axis)
					out.Parts = append(out.Parts, assembly.Part{ID: pipe, Kind: "pipe", Pose: geom.Facing(at, d, d.Across()), LengthMM: 460})
					for i, end := range []string{name(p), name(q)} {
						out.Joints = append(out.Joints, assembly.Joint{ID: fmt.Sprint(pipe, i), Kind: assembly.Thread, Hand: "right",
							A: assembly.End{Part: pipe, Port: "ab"[i : i+1]}, B: assembly.End{Part: end, Port: fmt.Sprint("p", axis, i)},
							Axis: &assembly.Axis{At: at, Dir: d}, PitchMM: 1.8, EngagementMM: 14})
					}
				}
			}
		}
	}
	return out
}

// A rod between two walls needs no union: a flange is screwed deeper by a turn, and turned back against its wall in
// place. That is asked for where the room left is less than 2 mm; the rod fits exactly here.
func TestRodBetweenWallsBacksOff(t *testing.T) {
	w := planned(t, sound["rod"])
	assert.Empty(t, w.order.Loops)
	n := w.actions()
	assert.Zero(t, n[assembly.JoinUnion])
	require.Positive(t, n[assembly.Adjust])
	for _, s := range w.plan.Steps {
		if s.Action == assembly.Adjust {
			assert.InDelta(t, -25.4/14, s.Motion[0].AdvanceMM, 1e-6, "one turn of 14 to the inch, outwards")
		}
	}
}

// A frame that meets one wall goes on along the wall's normal (margin 1); one on a wall and the floor, or on two walls,
// half way between the normals (margin 0.707); one between opposite walls slides along both (margin 0).
func TestDirectionOfApproach(t *testing.T) {
	margin := func(text string) float64 {
		w := planned(t, text)
		for _, s := range w.plan.Steps {
			if s.Where != "place" || len(s.Moves) < 2 {
				continue
			}
			long := slices.MaxFunc(s.Motion, func(a, b assembly.Move) int { return cmp.Compare(a.By.Len(), b.By.Len()) })
			by := long.By.Unit()
			least := 1.0
			for _, j := range w.plan.Joints {
				if j.Kind == assembly.Face && slices.Contains([]string{j.A.Part, j.B.Part}, "room") {
					flange := strings.Replace(j.A.Part+j.B.Part, "room", "", 1)
					p := w.plan.Parts[slices.IndexFunc(w.plan.Parts, func(p assembly.Part) bool { return p.ID == flange })]
					k := slices.IndexFunc(p.Ports, func(q assembly.Port) bool { return q.Name == "face" })
					least = min(least, p.Ports[k].Out.Dot(by))
				}
			}
			return least
		}
		require.Fail(t, "nothing is carried in")
		return 0
	}
	u := `points: {w: "300, back, 900", k: "300, 200, 900", e: "900, 200, 900", v: "900, back, 900"}
runs: {a: w to k, b: k to e, c: e to v}
`
	assert.InDelta(t, 1, margin(testHead+u), 1e-6)
	corner := `points: {a: "300, 200, floor", m: "300, 200, 700", b: "300, back, 700"}
runs: {one: a to m, two: m to b}
`
	assert.InDelta(t, math.Sqrt2/2, margin(testHead+corner), 1e-6)
	assert.InDelta(t, 0, margin(sound["rod"]), 1e-6)
}

// tightAlcove is a board 2,000 x 300 that is turned into place from a tilt, or slid, between two walls.
func tightAlcove(gap float64, motion func(final geom.Pose) (geom.Pose, assembly.Move)) assembly.Plan {
	final := geom.At(geom.V((gap-2000)/2, -150, 0))
	start, m := motion(final)
	wall := []geom.Box{{Min: geom.V(-100, -4000, -50), Max: geom.V(0, 400, 200)}, {Min: geom.V(gap, -4000, -50), Max: geom.V(gap+100, 400, 200)}}
	return assembly.Plan{
		Format: assembly.Format, Design: assembly.Header{Title: "alcove", Units: "mm", Thread: "npt"},
		Parts: []assembly.Part{
			{ID: "room", Kind: "room", Pose: geom.Identity(), Boxes: wall},
			{ID: "board", Kind: "board", Number: 1, Pose: final, Boxes: []geom.Box{{Max: geom.V(2000, 300, 18)}}, Solid: "solids/01-board.stl"},
		},
		Steps: []assembly.Step{{Number: 1, Action: assembly.Place, Moves: []string{"board"}, Where: "place", People: 2, Start: start, Motion: []assembly.Move{m}}},
	}
}

// A rectangle a x t tilted by an angle is a cos + t sin wide, sqrt(a^2 + t^2) at the most: 2,022.4 for 2,000 x 300. So it is
// not turned into an alcove 2,020 wide, but slid, and turned into one of 2,030, which leaves 5 mm and more.
func TestTiltIntoAlcove(t *testing.T) {
	assert.InDelta(t, 2022.4, math.Hypot(2000, 300), 0.05)
	tilt := func(final geom.Pose) (geom.Pose, assembly.Move) {
		const deg = 20
		at := final.Apply(geom.V(1000, 150, 0))
		return final.Turned(at, geom.AxisZ, -deg*math.Pi/180, 0), assembly.Move{Kind: assembly.Turn, Axis: assembly.Axis{At: at, Dir: geom.AxisZ}, ByDeg: deg}
	}
	slide := func(final geom.Pose) (geom.Pose, assembly.Move) {
		return final.Moved(geom.V(0, -600, 0)), assembly.Move{Kind: assembly.Translate, By: geom.V(0, 600, 0)}
	}
	prove := func(p assembly.Plan) replay.Report {
		w := &worked{solids: map[string]sdf.Solid{"room": sdf.Boxes(p.Parts[0].Boxes...), "board": sdf.Box(p.Parts[1].Boxes[0])}}
		return w.prove(p)
	}
	r := prove(tightAlcove(2020, tilt))
	require.NotEmpty(t, r.Failures)
	assert.Equal(t, replay.CodeCrash, r.Failures[0].Code)
	assert.InDelta(t, (2022.4-2020)/2, r.Failures[0].MM, 1.2, "a millimetre at each side")
	assert.Empty(t, failures(prove(tightAlcove(2020, slide))))
	r = prove(tightAlcove(2030, tilt))
	assert.Empty(t, failures(r))
	assert.Greater(t, r.Steps[0].ClearanceMM, 2.5)
}

// inPlace is a plan by hand: bodies are put up where they stand, one after the other, each screwed into the one before by
// the thread between them.
func (w *worked) inPlace(first string, order ...string) assembly.Plan {
	p := w.plan
	p.Steps = nil
	add := func(s assembly.Step) {
		s.Number, s.Where, s.People = len(p.Steps)+1, "place", 2
		p.Steps = append(p.Steps, s)
	}
	part := func(id string) *assembly.Part {
		return &p.Parts[slices.IndexFunc(p.Parts, func(q assembly.Part) bool { return q.ID == id })]
	}
	there := []string{first}
	add(assembly.Step{Action: assembly.Place, Moves: there, Start: part(first).Pose.Moved(geom.V(0, 0, 40)),
		Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 0, -40)}}})
	for _, id := range order {
		for _, j := range p.Joints {
			other := strings.Replace(j.A.Part+"|"+j.B.Part, id, "", 1)
			other = strings.Trim(other, "|")
			if j.Kind != assembly.Thread || j.A.Part != id && j.B.Part != id || !slices.Contains(there, other) {
				continue
			}
			into := j.Axis.Dir
			if j.B.Part == id {
				into = into.Neg()
			}
			n := j.EngagementMM / j.PitchMM
			add(assembly.Step{Action: assembly.Screw, Moves: []string{id}, Onto: []string{other}, Joints: []string{j.ID}, Turns: n,
				Start: part(id).Pose.Turned(j.Axis.At, into, -2*math.Pi*n, -j.EngagementMM).Moved(into.Mul(-30)),
				Motion: []assembly.Move{{Kind: assembly.Translate, By: into.Mul(30)},
					{Kind: assembly.Turn, Axis: assembly.Axis{At: j.Axis.At, Dir: into}, ByDeg: 360 * n, AdvanceMM: j.EngagementMM}}})
		}
		there = append(there, id)
	}
	return p
}

// An elbow whose far end swings to a radius that the wall stands 8 mm inside of cannot be turned there; the same wall is in
// nobody's way when the elbow is turned on before the frame comes to the wall.
func TestElbowBesideWall(t *testing.T) {
	lamp := planned(t, sound["lamp"])
	elbow := lamp.plan.Parts[slices.IndexFunc(lamp.plan.Parts, func(p assembly.Part) bool { return p.ID == "k" })]
	radius := 0.0
	cloud := cloudOf(lamp.solids["k"], lamp.solids["k"].Bounds(), 1.5)
	for _, q := range cloud {
		radius = max(radius, math.Hypot(elbow.Pose.Apply(q).X-500, elbow.Pose.Apply(q).Y+500))
	}
	withWall := func(off float64) (*assembly.Assembly, *worked) {
		a, err := solved(sound["lamp"])
		require.NoError(t, err)
		for i := range a.Parts {
			if a.Parts[i].Kind == "room" {
				a.Parts[i].Boxes = append(slices.Clone(a.Parts[i].Boxes), geom.Box{Min: geom.V(500-off-40, -900, 400), Max: geom.V(500-off, -100, 900)})
			}
		}
		return a, work(t, a)
	}
	_, w := withWall(radius - 8)
	assert.Empty(t, w.stop(), "made up first, carried to the wall then")
	assert.Empty(t, failures(w.report))
	r := w.prove(w.inPlace("f", "p.1", "k"))
	k := slices.IndexFunc(r.Failures, func(f replay.Failure) bool { return f.Code == replay.CodeCrash && slices.Contains(f.Parts, "k") })
	require.GreaterOrEqual(t, k, 0, "%v", failures(r))
	assert.ElementsMatch(t, []string{"k", "room"}, r.Failures[k].Parts)
	assert.LessOrEqual(t, r.Failures[k].MM, 8.6, "no deeper than the wall is short")
	_, w = withWall(radius + 1)
	r = w.prove(w.inPlace("f", "p.1", "k"))
	assert.False(t, slices.ContainsFunc(r.Failures, func(f replay.Failure) bool { return f.Code == replay.CodeCrash }), "%v", failures(r))
}

// A right-and-left piece between two posts of which one may slide draws them together by both engagements; in a ring
// nothing can give and it is refused, where a long screw serves.
func TestRightAndLeftOrLongScrew(t *testing.T) {
	w := planned(t, sound["right-left"])
	drawn := 0.0
	for _, s := range w.plan.Steps {
		for _, d := range s.Draws {
			drawn += d.By.Len()
		}
	}
	j := w.plan.Joints[slices.IndexFunc(w.plan.Joints, func(j assembly.Joint) bool { return j.Kind == assembly.RightLeft })]
	assert.InDelta(t, 2*j.EngagementMM, drawn, 1e-6)
	held := strings.Replace(sound["ring"], "union", "right-left", 1)
	assert.Equal(t, "TRAVEL", refused(t, held).stop())
	planned(t, sound["long-screw"])
}

// A pipe that is to go between two fittings which both stand: its far end meets the other fitting on the way in, and the
// second thread would close a loop. Both are refused, and name the pipe and the fitting.
func TestPipeBetweenStandingFittings(t *testing.T) {
	w := refused(t, strings.Replace(sound["ring"], "a to union to b", "a to b", 1))
	r := w.prove(w.inPlace("a", "stay.1", "d", "top.1", "c", "mast.1", "b", "low.1"))
	for _, code := range []string{replay.CodeCrash, replay.CodeLocked} {
		k := slices.IndexFunc(r.Failures, func(f replay.Failure) bool { return f.Code == code && slices.Contains(f.Parts, "low.1") })
		require.GreaterOrEqual(t, k, 0, "%s: %v", code, failures(r))
		assert.Len(t, r.Failures[k].Parts, 2)
	}
}

// Four equal legs share their numbers, so that one drawing serves all four.
func TestEqualLegsShareNumbers(t *testing.T) {
	var points, runs []string
	for i, at := range []string{"300, 300", "900, 300", "300, 700", "900, 700"} {
		points = append(points, fmt.Sprintf(`f%d: "%s, floor", t%d: "%s, 400"`, i, at, i, at))
		runs = append(runs, fmt.Sprintf("leg%d: f%d to t%d", i, i, i))
	}
	w := planned(t, testHead+"points: {"+strings.Join(points, ", ")+"}\nruns: {"+strings.Join(runs, ", ")+"}\n")
	numbers := map[int]int{}
	for _, p := range w.plan.Parts {
		if p.Number > 0 {
			numbers[p.Number]++
		}
	}
	assert.Equal(t, map[int]int{1: 4, 2: 4, 3: 4}, numbers, "flange, pipe and cap, four of each")
}

// A pipe whose far fitting has to point one way, as an elbow or a tee on its run, has one stop in every turn; where two ways
// serve, as with a tee on its branch, one in every half; a flange with screws anywhere is free.
func TestStops(t *testing.T) {
	stop := func(text, part string) *assembly.Clock {
		for _, s := range planned(t, text).plan.Steps {
			if s.Clock != nil && (s.Clock.Part == part || s.Clock.Against == part) {
				return s.Clock
			}
		}
		return nil
	}
	// A pipe between an elbow m and another elbow, or a tee by its branch, at n.
	bar := func(points, run string) string {
		return testHead + `points: {m: "300, 300, 600", n: "900, 300, 600", e: "300, 300, 900", ` + points + "}\nruns: {bar: m to n, stem: m to e, " + run + "}\n"
	}
	c := stop(bar(`v: "900, 300, 900"`, "other: n to v"), "m")
	require.NotNil(t, c)
	assert.Equal(t, 1, c.Symmetry, "an elbow against an elbow")
	assert.InDelta(t, 1, c.StopTurns, 1e-12)
	c = stop(bar(`u: "900, 100, 600", v: "900, 500, 600"`, "other: u to n to v"), "n")
	require.NotNil(t, c)
	assert.Equal(t, 2, c.Symmetry, "a tee by its branch, with equal arms")
	assert.InDelta(t, 0.5, c.StopTurns, 1e-12)
	assert.Nil(t, stop(sound["lamp"], "f"), "a flange may be screwed down at any angle")
}

// The same design gives the same plan file, byte for byte, again and on one processor; other orders would do as well.
func TestSameBytes(t *testing.T) {
	file := func() []byte {
		var b bytes.Buffer
		require.NoError(t, planfile.Write(&b, planned(t, sound["shelf"]).plan))
		return b.Bytes()
	}
	want := file()
	require.Equal(t, want, file())
	old := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(old)
	require.Equal(t, want, file())
}

// Turning the joints of five bodies on one axis at random, each time with all that hangs beyond: the sum over the joints of
// hand x engagement / pitch changes by the turns of the last body against the first, and by nothing else. Engagement is
// measured between the bodies, turns by the direction of the last body's mark.
func TestChainLaw(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	hands := []float64{1, 1, -1, 1}
	pitches := []float64{25.4 / 14, 25.4 / 14, 25.4 / 11.5, 2.309}
	poses := make([]geom.Pose, 5)
	for i := range poses {
		poses[i] = geom.At(geom.V(0, 0, 100*float64(i)))
	}
	turned, before := 0.0, poses[4].X
	for range 2000 {
		j := r.Intn(4)
		turn := (r.Float64() - 0.5) * 0.5
		for i := j + 1; i < 5; i++ { // beyond the joint; a positive turn about +z drives a right-hand thread along +z, out
			poses[i] = poses[i].Turned(geom.Vec{}, geom.AxisZ, 2*math.Pi*turn, hands[j]*pitches[j]*turn)
		}
		step := math.Atan2(before.Cross(poses[4].X).Z, before.Dot(poses[4].X)) / (2 * math.Pi)
		turned, before = turned+step, poses[4].X
		sum := 0.0
		for i := range hands {
			engaged := 100 - (poses[i+1].Origin.Z - poses[i].Origin.Z)
			sum += hands[i] * engaged / pitches[i]
		}
		require.InDelta(t, -turned, sum, 1e-6)
	}
}

// rank counts the independent ones among the instantaneous motions that a loop's lines allow: a screw of the given pitch about
// each, as six numbers. Gauss elimination with the greatest pivot.
func rank(lines [][2]geom.Vec, pitch float64) int {
	const arm = 500.0 // mm, so that both halves are of one order
	var rows [][]float64
	for _, l := range lines {
		w := l[1].Unit()
		v := l[0].Cross(w).Add(w.Mul(pitch / (2 * math.Pi))).Mul(1 / arm)
		rows = append(rows, []float64{w.X, w.Y, w.Z, v.X, v.Y, v.Z})
	}
	n := 0
	for col := range 6 {
		best := n
		for i := n; i < len(rows); i++ {
			if math.Abs(rows[i][col]) > math.Abs(rows[best][col]) {
				best = i
			}
		}
		if n == len(rows) || math.Abs(rows[best][col]) < 1e-9 {
			continue
		}
		rows[n], rows[best] = rows[best], rows[n]
		for i := n + 1; i < len(rows); i++ {
			f := rows[i][col] / rows[n][col]
			for c := range 6 {
				rows[i][c] -= f * rows[n][c]
			}
		}
		n++
	}
	return n
}

// loopLines are the lines of the pipes round a closed way.
func loopLines(corners ...geom.Vec) [][2]geom.Vec {
	var out [][2]geom.Vec
	for i, c := range corners {
		out = append(out, [2]geom.Vec{c, corners[(i+1)%len(corners)].Sub(c)})
	}
	return out
}

// A loop of loose joints is a chain of screws, one for each line of pipe: the flat rectangle's four have rank 3 and leave one
// small motion, the skew hexagon's six round the edges of a box rank 6 and leave none. So neither makes a full turn, and a
// thread in a ring is not closed by leaving the others loose.
func TestLoopMobility(t *testing.T) {
	v := geom.V
	rectangle := loopLines(v(0, 0, 0), v(900, 0, 0), v(900, 0, 600), v(0, 0, 600))
	assert.Equal(t, 3, rank(rectangle, 25.4/14))
	hexagon := loopLines(v(0, 0, 0), v(900, 0, 0), v(900, 700, 0), v(900, 700, 600), v(0, 700, 600), v(0, 0, 600))
	assert.Equal(t, 6, rank(hexagon, 25.4/14))
}
