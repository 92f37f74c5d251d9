package sequence

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

func kindOf(s string) standard.Kind { return standard.Kind(s) }

// planned plans a frame that has an order, follows the steps, and returns them.
func planned(t *testing.T, k *kit) []assembly.Step {
	t.Helper()
	r := Plan(k.input())
	for _, f := range r.Findings {
		require.NotEqual(t, assembly.Stop, f.Severity, f.Text)
	}
	require.NotEmpty(t, r.Steps)
	follow(t, k, r.Steps)
	return works(r.Steps)
}

// codes lists the codes of the findings.
func codes(r Result) []string {
	var out []string
	for _, f := range r.Findings {
		out = append(out, f.Code)
	}
	return out
}

// placedBy returns the number of the first work that moves a part; repeats count as works of their own.
func placedBy(t *testing.T, steps []assembly.Step, id string) int {
	t.Helper()
	for _, s := range works(steps) {
		for _, m := range s.Moves {
			if m == id {
				return s.Number
			}
		}
	}
	require.Fail(t, "no step moves "+id)
	return 0
}

// closedBy returns the step that closes a joint.
func closedBy(t *testing.T, steps []assembly.Step, id string) assembly.Step {
	t.Helper()
	for _, s := range works(steps) {
		for _, j := range s.Joints {
			if j == id {
				return s
			}
		}
	}
	require.Fail(t, "no step closes "+id)
	return assembly.Step{}
}

// TestRectangle: a ring of plain threads is refused and its parts are named; one union makes it possible.
func TestRectangle(t *testing.T) {
	r := Plan(rectangle(false, 900, 600).input())
	require.Len(t, r.Loops, 1)
	assert.Empty(t, r.Loops[0].ClosedBy)
	assert.Len(t, r.Loops[0].Parts, 8)
	require.Len(t, r.Findings, 1)
	assert.Equal(t, "LOOP", r.Findings[0].Code)
	assert.ElementsMatch(t, r.Loops[0].Parts, r.Findings[0].Parts)
	assert.Empty(t, r.Steps)

	k := rectangle(true, 900, 600)
	r = Plan(k.input())
	assert.Equal(t, []string{"LENGTH-STEP"}, codes(r), "the posts have nothing that sets their length")
	require.Len(t, r.Loops, 1)
	assert.Equal(t, "j3", r.Loops[0].ClosedBy)
	follow(t, k, r.Steps)
	assert.Equal(t, assembly.JoinUnion, closedBy(t, r.Steps, "j3").Action)
}

// TestGrid counts the loops of frames of a x b x c fittings: pipes - fittings + 1.
func TestGrid(t *testing.T) {
	for _, g := range []struct{ a, b, c, loops int }{{2, 1, 3, 2}, {3, 1, 4, 6}, {3, 2, 4, 23}, {4, 2, 5, 43}, {5, 2, 6, 69}} {
		k := grid(g.a, g.b, g.c)
		k.a.People = 20 // for the weight
		r := Plan(k.input())
		assert.Len(t, r.Loops, g.loops, "%v", g)
		assert.Equal(t, []string{"LENGTH-STEP"}, codes(r))
		closers := map[string]bool{}
		for _, l := range r.Loops {
			assert.False(t, closers[l.ClosedBy])
			closers[l.ClosedBy] = true
		}
		if g.a*g.b*g.c <= 12 || !testing.Short() && g.a*g.b*g.c <= 24 {
			follow(t, k, r.Steps)
		}
	}
}

// bay is a rod between two walls, 1.2 m apart, with flanges whose threads end at the given engagement.
func bay() *kit {
	k := newKit()
	w := 1200.0
	k.room(geom.Box{Min: geom.V(-50, -800, 0), Max: geom.V(0, 800, 2400)}, geom.Box{Min: geom.V(w, -800, 0), Max: geom.V(w+50, 800, 2400)}, floor())
	k.flange("fl", geom.V(0, 0, 1700), ex)
	k.flange("fr", geom.V(w, 0, 1700), mx)
	k.pipe("rod.1", "fl", "fr", ex)
	k.join(assembly.Face, "fl", "face", "room", "")
	k.join(assembly.Face, "fr", "face", "room", "")
	return k
}

// TestRodBetweenWalls: accepted without a union; a flange is screwed deeper, backed off in place, and fastened last.
func TestRodBetweenWalls(t *testing.T) {
	k := bay()
	steps := planned(t, k)
	last := steps[len(steps)-1]
	assert.Equal(t, assembly.Fasten, last.Action)
	assert.Empty(t, last.Moves)
	before := steps[len(steps)-2]
	assert.Equal(t, assembly.Adjust, before.Action)
	assert.InDelta(t, -kitPitch, before.Motion[0].AdvanceMM, 1e-9, "backed off by one turn")

	// Without play in the threads there is no way in.
	for i := range k.a.Joints {
		if j := &k.a.Joints[i]; j.Turns != nil {
			j.Turns.Max = kitE / kitPitch
		}
	}
	r := Plan(k.input())
	require.NotEmpty(t, r.Findings)
	assert.Equal(t, assembly.Stop, r.Findings[0].Severity)
	assert.Equal(t, "TRAVEL", r.Findings[0].Code)
	assert.InDelta(t, leastPlay, r.Findings[0].Values["missing_mm"], 1e-6)
}

// TestOffWallRail: two arms and a rail are made up on the bench and fastened in one piece.
func TestOffWallRail(t *testing.T) {
	k := newKit()
	k.room(geom.Box{Min: geom.V(-500, 0, 0), Max: geom.V(2000, 50, 2400)}, floor())
	for i, x := range []float64{0, 1000} {
		n := fmt.Sprint(i)
		k.flange("f"+n, geom.V(x, 0, 1500), my)
		k.fitting("e"+n, "elbow", geom.V(x, -120, 1500), ey, []geom.Vec{ex, mx}[i])
		k.pipe("arm"+n, "f"+n, "e"+n, my)
		k.join(assembly.Face, "f"+n, "face", "room", "")
	}
	k.pipe("rail.1", "e0", "e1", ex)
	steps := planned(t, k)
	last := steps[len(steps)-1]
	assert.Equal(t, assembly.Fasten, last.Action)
	assert.Len(t, last.Moves, 7)
	assert.Len(t, last.Joints, 2)
}

// table is a board on four legs: flanges under the board, flanges on the floor, an H of stretchers.
func table() *kit {
	k := newKit()
	k.room(floor())
	for i, x := range []float64{0, 1500} {
		for n, y := range []float64{0, -450} {
			id := fmt.Sprint(i, n)
			out := []geom.Vec{my, ey}[n]
			k.flange("foot"+id, geom.V(x, y, 0), ez)
			k.fitting("knee"+id, "tee", geom.V(x, y, 200), mz, ez, out)
			k.flange("head"+id, geom.V(x, y, 850), mz)
			k.pipe("lower"+id, "foot"+id, "knee"+id, ez)
			k.pipe("upper"+id, "knee"+id, "head"+id, ez)
			k.join(assembly.Face, "foot"+id, "face", "room", "")
		}
		k.fitting("mid"+fmt.Sprint(i), "tee", geom.V(x, -225, 200), ey, my, []geom.Vec{ex, mx}[i])
		k.pipe("half"+fmt.Sprint(i, 0), "knee"+fmt.Sprint(i, 0), "mid"+fmt.Sprint(i), my)
		k.pipe("half"+fmt.Sprint(i, 1), "mid"+fmt.Sprint(i), "knee"+fmt.Sprint(i, 1), my)
	}
	k.pipe("long.1", "mid0", "mid1", ex)
	k.board("top", geom.V(-150, -550, 850), geom.V(1650, 100, 888))
	for i := range 2 {
		for n := range 2 {
			k.join(assembly.Face, "head"+fmt.Sprint(i, n), "face", "top", "")
		}
	}
	return k
}

// TestTable: the frame stands before the top is laid on it; both are fastened by faces, which close no loop of threads.
func TestTable(t *testing.T) {
	k := table()
	r := Plan(k.input())
	assert.Empty(t, r.Loops)
	steps := planned(t, k)
	last := steps[len(steps)-1]
	assert.Equal(t, []string{"top"}, last.Moves)
	assert.Len(t, last.Joints, 4)
	for _, s := range steps {
		if s.Action == assembly.Screw {
			assert.Len(t, s.Moves, 1, "leaf growth turns one body at a time: %v", s.Moves)
		}
	}
}

// TestBoredShelf: a board bored by a post goes on before the coupling above it.
func TestBoredShelf(t *testing.T) {
	k := newKit()
	k.room(floor())
	var holes []assembly.Hole
	for i, x := range []float64{100, 700} {
		id := fmt.Sprint(i)
		k.flange("foot"+id, geom.V(x, 0, 0), ez)
		k.fitting("low"+id, "coupling", geom.V(x, 0, 300-kitReach), mz, ez)
		k.fitting("high"+id, "coupling", geom.V(x, 0, 700-kitReach), mz, ez)
		k.fitting("cap"+id, "cap", geom.V(x, 0, 1000), mz)
		k.pipe("a"+id, "foot"+id, "low"+id, ez)
		k.pipe("b"+id, "low"+id, "high"+id, ez)
		k.pipe("c"+id, "high"+id, "cap"+id, ez)
		k.join(assembly.Face, "foot"+id, "face", "room", "")
		holes = append(holes, assembly.Hole{At: geom.V(x-0, 150, 0), Dir: ez, Diameter: kitOD + 3})
	}
	for n, z := range []float64{300, 700} {
		id := fmt.Sprint("shelf", n)
		k.board(id, geom.V(0, -150, z), geom.V(800, 150, z+30), holes...)
		for i := range 2 {
			k.join(assembly.Rest, id, "", fmt.Sprint([]string{"low", "high"}[n], i), "")
			k.join(assembly.Bored, id, "", fmt.Sprint([]string{"b", "c"}[n], i), "")
		}
	}
	steps := planned(t, k)
	for n := range 2 {
		shelf := placedBy(t, steps, fmt.Sprint("shelf", n))
		assert.Equal(t, assembly.ThreadOn, steps[shelf-1].Action)
		for i := range 2 {
			assert.Less(t, placedBy(t, steps, fmt.Sprint([]string{"b", "c"}[n], i)), shelf)
			assert.Less(t, shelf, placedBy(t, steps, fmt.Sprint([]string{"high", "cap"}[n], i)))
		}
	}
}

// TestRolling: board on casters, posts on the board, ring closed by a union.
func TestRolling(t *testing.T) {
	k := rolling()
	steps := planned(t, k)
	last := steps[len(steps)-1]
	assert.Equal(t, assembly.Fasten, last.Action, "the frame comes last, on to the board")
	for _, s := range steps {
		if len(s.Joints) > 0 && s.Joints[0] == "j1" {
			assert.Len(t, s.Moves, 5, "board and casters are set down together")
		}
	}
}

func rolling() *kit {
	k := newKit()
	k.room(floor())
	k.board("base", geom.V(-150, -300, 95), geom.V(1350, 300, 114))
	for i, c := range []geom.Vec{{X: -80, Y: -230}, {X: 1280, Y: -230}, {X: -80, Y: 230}, {X: 1280, Y: 230}} {
		id := fmt.Sprint("wheel", i)
		k.add(assembly.Part{ID: id, Kind: kindOf("caster"), Pose: geom.At(c), MassKG: 0.4, Ports: []assembly.Port{
			{Name: "face", At: c, Out: mz}, {Name: "a", At: c.Add(ez.Mul(95)), Out: ez},
		}}, assembly.Outline{Tubes: []assembly.Tube{
			{At: geom.V(-12, 0, 37), Dir: ex, Length: 24, Radius: 37},
			tube(ez, 37, 90, 30, 0), tube(ez, 90, 95, 60, 0),
		}})
		k.join(assembly.Rest, id, "face", "room", "")
		k.join(assembly.Face, id, "a", "base", "")
	}
	for i, x := range []float64{0, 1200} {
		n := fmt.Sprint(i)
		in := []geom.Vec{ex, mx}[i]
		k.flange("foot"+n, geom.V(x, 0, 114), ez)
		k.fitting("low"+n, "tee", geom.V(x, 0, 700), mz, ez, in)
		k.fitting("top"+n, "elbow", geom.V(x, 0, 1100), mz, in)
		k.pipe("lower"+n, "foot"+n, "low"+n, ez)
		k.pipe("upper"+n, "low"+n, "top"+n, ez)
		k.join(assembly.Face, "foot"+n, "face", "base", "")
	}
	k.pipe("coat.1", "top0", "top1", ex)
	k.unionPipe("bag", "low0", "low1", ex, 152)
	return k
}

// goal is two posts that stand on the floor, joined by one rung with a piece in it. fixed screws the posts down with
// flanges; otherwise they only stand.
func goal(kind assembly.JointKind, ring bool) *kit {
	k := newKit()
	k.room(floor())
	for i, x := range []float64{0, 800} {
		n, in := fmt.Sprint(i), []geom.Vec{ex, mx}[i]
		k.flange("foot"+n, geom.V(x, 0, 0), ez)
		k.fitting("knee"+n, "tee", geom.V(x, 0, 400), mz, ez, in)
		k.fitting("head"+n, "elbow", geom.V(x, 0, 900), mz, in)
		k.pipe("low"+n, "foot"+n, "knee"+n, ez)
		k.pipe("high"+n, "knee"+n, "head"+n, ez)
		k.join(assembly.Face, "foot"+n, "face", "room", "")
	}
	if ring {
		k.pipe("top.1", "head0", "head1", ex)
	}
	k.piecePipe("rung", "knee0", "knee1", ex, kind, 300)
	return k
}

// TestRightAndLeft: between posts that may slide a right-and-left piece draws one side in by both engagements; inside a
// ring that is rigid it cannot, and a long screw does it.
func TestRightAndLeft(t *testing.T) {
	k := goal(assembly.RightLeft, false)
	steps := planned(t, k)
	drawn := 0
	for _, s := range steps {
		for _, d := range s.Draws {
			drawn++
			assert.Len(t, s.Joints, 2)
			assert.InDelta(t, 2*kitE, d.By.Len(), 1e-9, "the sides approach by two engagements")
			last := s.Motion[len(s.Motion)-1]
			assert.Zero(t, last.AdvanceMM)
		}
	}
	assert.Equal(t, 1, drawn)

	r := Plan(goal(assembly.RightLeft, true).input())
	require.Len(t, r.Loops, 1)
	require.NotEmpty(t, r.Findings)
	assert.Equal(t, "TRAVEL", r.Findings[0].Code)
	assert.Contains(t, r.Findings[0].Repairs[0].Text, "long screw")

	k = goal(assembly.LongScrew, true)
	steps = planned(t, k)
	for _, s := range steps {
		if len(s.Joints) == 2 && s.Action == assembly.Screw {
			assert.Len(t, s.Motion, 1, "the coupling only runs forward")
			assert.InDelta(t, kitE, s.Motion[0].AdvanceMM, 1e-9)
			assert.Less(t, placedBy(t, steps, "rung.long-screw-1"), s.Number, "it was run back before")
		}
	}
}

// TestWishes: the core of a table first, its top before a leg cannot be: the wish is reported.
func TestWishes(t *testing.T) {
	core := []string{"half0 0", "half0 1", "half1 0", "half1 1", "long.1"}
	k := table()
	k.a.Wishes = []assembly.Wish{{Kind: "first", A: core, Text: "stretchers first"}}
	r := Plan(k.input())
	assert.Empty(t, r.Findings)
	follow(t, k, r.Steps)
	last := 0
	for _, id := range core {
		last = max(last, placedBy(t, r.Steps, id))
	}
	for _, id := range []string{"lower0 0", "upper1 1", "foot0 1", "top"} {
		assert.Greater(t, placedBy(t, r.Steps, id), last, id)
	}

	k = table()
	k.a.Wishes = []assembly.Wish{{Kind: "last", A: []string{"foot0 0"}, Text: "foot last", At: "x.yaml:9:3"}}
	r = Plan(k.input())
	follow(t, k, r.Steps)
	require.Empty(t, r.Findings)
	assert.Equal(t, len(k.a.Parts)-1, countBefore(r.Steps, "foot0 0"), "all others stand before it")

	k = bay()
	k.a.Wishes = []assembly.Wish{
		{Kind: "before", A: []string{"fr"}, B: []string{"fl"}, Text: "fr before fl", At: "x.yaml:9:3"},
		{Kind: "before", A: []string{"fl"}, B: []string{"fr"}, Text: "fl before fr", At: "x.yaml:9:3"},
	}
	r = Plan(k.input())
	follow(t, k, r.Steps)
	require.Len(t, r.Findings, 1, "two wishes that contradict each other")
	assert.Equal(t, "WISH", r.Findings[0].Code)
	assert.Equal(t, assembly.Warn, r.Findings[0].Severity)
	assert.Equal(t, "x.yaml:9:3", r.Findings[0].At)
	assert.ElementsMatch(t, []string{"fl", "fr"}, r.Findings[0].Parts)

	k = table()
	k.a.Wishes = []assembly.Wish{{Kind: "bench", A: []string{"knee0 0", "lower0 0", "foot0 0"}, Text: "leg on the bench"}}
	assert.Empty(t, Plan(k.input()).Findings)
}

// countBefore counts the parts (and the room) that are there before id is.
func countBefore(steps []assembly.Step, id string) int {
	seen := map[string]bool{"room": true}
	for _, s := range works(steps) {
		for _, m := range s.Moves {
			if m == id {
				return len(seen)
			}
		}
		for _, m := range s.Moves {
			seen[m] = true
		}
	}
	return -1
}

// TestSameEveryTime: the same input gives the same steps and findings, though other orders would do as well.
func TestSameEveryTime(t *testing.T) {
	for _, build := range []func() *kit{table, rolling, bay, func() *kit { return grid(3, 2, 2) }} {
		want := Plan(build().input())
		for range 3 {
			require.Equal(t, want, Plan(build().input()))
		}
	}
}

// TestPipeBetweenPlacedFittings: wished last, a rung between two posts cannot go in; the plan keeps to what can be done
// and names the rung.
func TestPipeBetweenPlacedFittings(t *testing.T) {
	k := newKit()
	k.room(floor())
	for i, x := range []float64{0, 800} {
		n, in := fmt.Sprint(i), []geom.Vec{ex, mx}[i]
		k.flange("foot"+n, geom.V(x, 0, 0), ez)
		k.fitting("head"+n, "elbow", geom.V(x, 0, 900), mz, in)
		k.pipe("post"+n, "foot"+n, "head"+n, ez)
		k.join(assembly.Face, "foot"+n, "face", "room", "")
	}
	k.pipe("rung.1", "head0", "head1", ex)
	k.a.Wishes = []assembly.Wish{
		{Kind: "before", A: []string{"head0"}, B: []string{"rung.1"}, Text: "heads before the rung"},
		{Kind: "before", A: []string{"head1"}, B: []string{"rung.1"}, Text: "heads before the rung"},
		{Kind: "before", A: []string{"rung.1"}, B: []string{"post0"}, Text: "rung before the posts"},
	}
	steps := planned(t, k)
	rung := placedBy(t, steps, "rung.1")
	both := 0
	for _, s := range steps[rung:] { // joints of the rung closed after it came
		for _, id := range s.Joints {
			if id == "j5" || id == "j6" || id == "j7" || id == "j8" {
				both++
			}
		}
	}
	assert.GreaterOrEqual(t, both, 1, "not both its ends can be screwed at once")
}

// TestStrap: a strap goes on after the board, from below, away from nothing it holds.
func TestStrap(t *testing.T) {
	k := newKit()
	k.room(floor())
	for i, x := range []float64{0, 800} {
		n, in := fmt.Sprint(i), []geom.Vec{ex, mx}[i]
		k.flange("foot"+n, geom.V(x, 0, 0), ez)
		k.fitting("head"+n, "elbow", geom.V(x, 0, 500), mz, in)
		k.pipe("post"+n, "foot"+n, "head"+n, ez)
		k.join(assembly.Face, "foot"+n, "face", "room", "")
	}
	k.pipe("rung.1", "head0", "head1", ex)
	under := 500 + kitOD/2
	k.board("top", geom.V(100, -150, under), geom.V(700, 150, under+20))
	k.join(assembly.Rest, "top", "", "rung.1", "")
	// A strap of flat iron: two legs beside the pipe, a bow below it, ears under the board. Its X looks at the board.
	at := geom.V(400, 0, 500)
	k.add(assembly.Part{ID: "strap", Kind: kindOf("strap"), Pose: geom.Facing(at, ex, ez)}, assembly.Outline{Boxes: []geom.Box{
		{Min: geom.V(-kitOD/2-2, -kitOD/2-2, -10), Max: geom.V(-kitOD/2, kitOD/2+2, 10)},
		{Min: geom.V(-kitOD/2, -kitOD/2-2, -10), Max: geom.V(kitOD/2, -kitOD/2, 10)},
		{Min: geom.V(-kitOD/2, kitOD/2, -10), Max: geom.V(kitOD/2, kitOD/2+2, 10)},
		{Min: geom.V(kitOD/2-2, -kitOD/2-20, -10), Max: geom.V(kitOD/2, -kitOD/2, 10)},
		{Min: geom.V(kitOD/2-2, kitOD/2, -10), Max: geom.V(kitOD/2, kitOD/2+20, 10)},
	}})
	k.join(assembly.StrapOn, "strap", "", "top", "")
	k.join(assembly.StrapOn, "strap", "", "rung.1", "")
	steps := planned(t, k)
	s := steps[placedBy(t, steps, "strap")-1]
	assert.Equal(t, assembly.PutStrap, s.Action)
	assert.Less(t, placedBy(t, steps, "top"), s.Number)
	last := s.Motion[len(s.Motion)-1]
	assert.Positive(t, last.By.Z, "it comes from below")
}

// TestCleat: a cleat goes up on the wall before what is fastened to it.
func TestCleat(t *testing.T) {
	k := newKit()
	k.room(geom.Box{Min: geom.V(-500, 0, 0), Max: geom.V(2000, 50, 2400)}, floor())
	k.add(assembly.Part{ID: "cleat", Kind: kindOf("cleat"), Pose: geom.At(geom.V(-100, -20, 1400)), Boxes: []geom.Box{{Max: geom.V(1200, 20, 100)}}}, assembly.Outline{})
	k.join(assembly.Face, "cleat", "", "room", "")
	for i, x := range []float64{0, 1000} {
		n := fmt.Sprint(i)
		k.flange("f"+n, geom.V(x, -20, 1450), my)
		k.fitting("e"+n, "elbow", geom.V(x, -140, 1450), ey, []geom.Vec{ex, mx}[i])
		k.pipe("arm"+n, "f"+n, "e"+n, my)
		k.join(assembly.Face, "f"+n, "face", "cleat", "")
	}
	k.pipe("rail.1", "e0", "e1", ex)
	steps := planned(t, k)
	cleat := steps[placedBy(t, steps, "cleat")-1]
	assert.Equal(t, []string{"room"}, cleat.Onto, "the cleat goes up by itself, before what hangs on it")
	assert.Positive(t, cleat.Motion[0].By.Y, "straight on to the wall")
	assert.Equal(t, assembly.Fasten, steps[len(steps)-1].Action)
}

// TestUnionThatNothingRunsAlong: in a triangle no joint runs along the side with the union, so no turn can bring its
// halves together. The finding says so.
func TestUnionThatNothingRunsAlong(t *testing.T) {
	k := newKit()
	slope := geom.V(1, 0, 1).Unit()
	k.fitting("a", "elbow", geom.V(0, 0, 0), ex, slope)
	k.fitting("b", "elbow", geom.V(800, 0, 0), mx, ez)
	k.fitting("c", "elbow", geom.V(800, 0, 800), mz, slope.Neg())
	k.pipe("low.1", "a", "b", ex)
	k.pipe("post.1", "b", "c", ez)
	k.unionPipe("brace", "a", "c", slope, 400)
	r := Plan(k.input())
	require.Len(t, r.Loops, 1)
	assert.NotEmpty(t, r.Loops[0].ClosedBy)
	require.NotEmpty(t, r.Findings)
	assert.Equal(t, assembly.Stop, r.Findings[0].Severity)
	assert.Contains(t, r.Findings[0].Text, "no other joint of the ring runs that way")
	assert.Empty(t, r.Steps)
}
