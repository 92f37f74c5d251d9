package explode

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/render/rendertest"
)

const gap = 40

func options(f *rendertest.Frame, plan *assembly.Plan) Options {
	o := Options{Gap: func(geom.Vec) float64 { return gap }, Boxes: map[string]geom.Box{}}
	for _, p := range plan.Parts {
		if m := f.Mesh(p); m != nil {
			b := geom.EmptyBox()
			for _, v := range m.Vertices {
				b = b.Include(p.Pose.Apply(v))
			}
			o.Boxes[p.ID] = b
		}
	}
	return o
}

// skew is a loop with two 45 degree offsets in it: it can only open if both axes give way together.
func skew() *rendertest.Frame {
	f := &rendertest.Frame{}
	f.Point("a", 0, 0, 0)
	f.Point("b", 600, 0, 0)
	f.Point("c", 900, 0, 300)
	f.Point("d", 900, 0, 900)
	f.Point("e", 300, 0, 900)
	f.Point("f", 0, 0, 600)
	f.Run("a", "b", "c", "d", "e", "f", "a")
	f.Union()
	return f
}

// cage is a box of pipe: five loops in three directions.
func cage() *rendertest.Frame {
	f := &rendertest.Frame{}
	n := func(i, j, k int) string { return fmt.Sprintf("n%d%d%d", i, j, k) }
	for i := range 2 {
		for j := range 2 {
			for k := range 2 {
				f.Point(n(i, j, k), float64(i)*500, float64(j)*400, float64(k)*300)
			}
		}
	}
	for i := range 2 {
		for j := range 2 {
			f.Run(n(i, j, 0), n(i, j, 1))
			f.Run(n(i, 0, j), n(i, 1, j))
			f.Run(n(0, i, j), n(1, i, j))
			if i == 0 {
				f.Union()
			}
		}
	}
	return f
}

var frames = map[string]func() *rendertest.Frame{
	"ring": rendertest.RingFrame, "bay": rendertest.Bay, "skew": skew, "cage": cage, "stand": rendertest.Stand,
}

// tolerance of positions, in mm: far below a pixel.
const tolerance = 0.01

// TestEveryJointOpensAlongItsAxis: on both sides of every joint, loops too, parts have moved apart by at least what
// they were engaged and the gap, and not at all sideways.
func TestEveryJointOpensAlongItsAxis(t *testing.T) {
	for name, make := range frames {
		t.Run(name, func(t *testing.T) {
			f := make()
			plan := f.Plan(name)
			res := Apart(plan, options(f, plan))
			n := 0
			for _, j := range plan.Joints {
				if !j.Kind.IsThreaded() {
					continue
				}
				n++
				d := res.Offsets[j.B.Part].Sub(res.Offsets[j.A.Part])
				along := d.Dot(j.Axis.Dir)
				assert.GreaterOrEqual(t, along, j.EngagementMM+gap-tolerance, "%s opens", j.ID)
				assert.InDelta(t, 0, d.Sub(j.Axis.Dir.Mul(along)).Len(), tolerance, "%s: sideways", j.ID)
			}
			assert.Greater(t, n, 10)
		})
	}
}

// TestOrderAlongAnAxisStays: of two parts on one line the one in front stays in front, and their boxes stay apart.
func TestOrderAlongAnAxisStays(t *testing.T) {
	for name, make := range frames {
		f := make()
		plan := f.Plan(name)
		o := options(f, plan)
		res := Apart(plan, o)
		for _, j := range plan.Joints {
			if !j.Kind.IsThreaded() {
				continue
			}
			_, a := span(o.Boxes[j.A.Part], j.Axis.Dir)
			b, _ := span(o.Boxes[j.B.Part], j.Axis.Dir)
			a += res.Offsets[j.A.Part].Dot(j.Axis.Dir)
			b += res.Offsets[j.B.Part].Dot(j.Axis.Dir)
			// Fittings reach past their mouth by nothing; the nut of a union covers its other half by a little.
			const nutMM = 15
			assert.Greater(t, b-a, -nutMM+gap/2.0, "%s: %s", name, j.ID)
		}
	}
}

// TestNothingMeetsAfterwards: no two parts' boxes overlap that stood clear of one another, in frames of square joints.
func TestNothingMeetsAfterwards(t *testing.T) {
	for _, name := range []string{"ring", "bay", "cage", "stand"} {
		f := frames[name]()
		plan := f.Plan(name)
		o := options(f, plan)
		res := Apart(plan, o)
		moved := func(id string) geom.Box {
			b := o.Boxes[id]
			return geom.Box{Min: b.Min.Add(res.Offsets[id]), Max: b.Max.Add(res.Offsets[id])}
		}
		for i, p := range plan.Parts {
			for _, q := range plan.Parts[:i] {
				if p.Number == 0 || q.Number == 0 {
					continue
				}
				assert.False(t, moved(p.ID).Grow(-0.1).Overlaps(moved(q.ID)), "%s: %s and %s", name, p.ID, q.ID)
			}
		}
	}
}

// TestRingTakesTheLongestPath compares with the difference constraints worked by hand. Both rails of the ring lie
// between the same posts. The upper one has five joints (two of pipe and fitting on either side of the union, and its
// nut), the lower one two; so the posts part by the sum of the upper five, and the lower two share that evenly.
func TestRingTakesTheLongestPath(t *testing.T) {
	f := rendertest.RingFrame()
	plan := f.Plan("ring")
	res := Apart(plan, options(f, plan))
	upper := 4*(rendertest.Engagement+gap) + gap
	got := res.Offsets["low-right"].X - res.Offsets["low-left"].X
	// The least squares give a little more than the bare sum when sharing the excess over all seven joints is
	// cheaper; the excess of the lower rail is (upper - 2 t)/2 on two joints, and widening the upper costs more.
	assert.InDelta(t, float64(upper), got, 0.1)
	var lower []float64
	for _, j := range plan.Joints {
		if j.A.Part == "low-left" && j.Axis.Dir.X > 0.9 || j.B.Part == "low-right" && j.Axis.Dir.X > 0.9 {
			lower = append(lower, res.Offsets[j.B.Part].X-res.Offsets[j.A.Part].X)
		}
	}
	require.Len(t, lower, 2)
	assert.InDelta(t, float64(upper)/2, lower[0], 0.1)
	assert.InDelta(t, float64(upper)/2, lower[1], 0.1)
	assert.InDelta(t, 0, res.Offsets["low-right"].Y, tolerance, "a flat ring stays flat")
}

// TestBoardGoesUpOnItsPosts: a board that posts go through is drawn between the ends of the posts and what is screwed
// onto them, clear of both.
func TestBoardGoesUpOnItsPosts(t *testing.T) {
	f := rendertest.Stand()
	plan := f.Plan("stand")
	o := options(f, plan)
	res := Apart(plan, o)
	z := func(id string) (float64, float64) {
		low, high := span(o.Boxes[id], geom.AxisZ)
		return low + res.Offsets[id].Z, high + res.Offsets[id].Z
	}
	low, high := z("shelf")
	for _, post := range []string{"pipe-1", "pipe-3"} {
		_, end := z(post)
		assert.GreaterOrEqual(t, low-end, gap-tolerance, "over the end of %s", post)
	}
	for _, tee := range []string{"knee-0", "knee-1"} {
		under, _ := z(tee)
		assert.GreaterOrEqual(t, under-high, gap-1.0, "under %s", tee)
	}
	assert.InDelta(t, 0, res.Offsets["shelf"].X-(res.Offsets["pipe-1"].X+res.Offsets["pipe-3"].X)/2, tolerance, "midway between its posts")
}

// TestUnevenPosts: four posts that only two boards hold together, each pair of another make-up, still carry both boards
// level: every board lies over the ends of all four posts and under what is screwed onto them.
func TestUnevenPosts(t *testing.T) {
	f := &rendertest.Frame{}
	var pipes [2][]string
	for i := range 4 {
		n := func(s string) string { return fmt.Sprintf("%s-%d", s, i) }
		x, y := float64(i%2)*700, float64(i/2)*250
		f.Point(n("foot"), x, y, 0)
		names := []string{n("foot")}
		if i >= 2 { // the posts at the back have one coupling more, under the first board
			f.Point(n("extra"), x, y, 150)
			names = append(names, n("extra"))
		}
		for k, z := range []float64{600, 1000} {
			f.Point(n(fmt.Sprintf("joint%d", k)), x, y, z)
			names = append(names, n(fmt.Sprintf("joint%d", k)))
		}
		f.Point(n("top"), x, y, 1200)
		f.Run(append(names, n("top"))...)
		pipe := []int{1, 4, 7, 11}[i] // the first of each post's members, by the order they were laid in
		if i >= 2 {
			pipe++
		}
		pipes[0] = append(pipes[0], fmt.Sprintf("pipe-%d", pipe))
		pipes[1] = append(pipes[1], fmt.Sprintf("pipe-%d", pipe+1))
	}
	f.BoredBoard("low", -50, -50, 400, 800, 350, pipes[0]...)
	f.BoredBoard("high", -50, -50, 800, 800, 350, pipes[1]...)
	plan := f.Plan("uneven")
	o := options(f, plan)
	res := Apart(plan, o)
	z := func(id string) (float64, float64) {
		low, high := span(o.Boxes[id], geom.AxisZ)
		return low + res.Offsets[id].Z, high + res.Offsets[id].Z
	}
	for k, board := range []string{"low", "high"} {
		low, high := z(board)
		for i := range 4 {
			_, end := z(pipes[k][i])
			next, _ := z(fmt.Sprintf("joint%d-%d", k, i))
			assert.GreaterOrEqual(t, low-end, gap-1.0, "%s over %s", board, pipes[k][i])
			assert.GreaterOrEqual(t, next-high, gap-1.0, "%s under joint%d-%d", board, k, i)
			assert.Less(t, next-end, 24+2.5*gap, "no more room than the board and its gaps need")
		}
	}
}

// TestBoardsLeaveTheWayTheyCame: a shelf that was laid down from above is lifted off what it lies on; one slid in from
// the front is drawn out to the front.
func TestBoardsLeaveTheWayTheyCame(t *testing.T) {
	f := rendertest.Bay()
	plan := f.Plan("bay")
	res := Apart(plan, options(f, plan))
	for _, tee := range []string{"p001", "p101"} {
		assert.GreaterOrEqual(t, res.Offsets["shelf-1"].Z-res.Offsets[tee].Z, gap-tolerance, "over %s", tee)
	}
	plan.Steps[0].Motion = []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 300, 0)}, {Kind: assembly.Translate, By: geom.V(0, 0, -0.6)}}
	res = Apart(plan, options(f, plan))
	assert.GreaterOrEqual(t, res.Offsets["shelf-1"].Z-res.Offsets["p001"].Z, gap-tolerance, "let down at the end")
	plan.Steps[0].Motion = plan.Steps[0].Motion[:1]
	res = Apart(plan, options(f, plan))
	assert.LessOrEqual(t, res.Offsets["shelf-1"].Y-res.Offsets["p001"].Y, float64(-gap)+tolerance)
}

// TestSeparateFrames: four legs that only a top holds together do not move sideways, and the top goes off them.
func TestSeparateFrames(t *testing.T) {
	f := &rendertest.Frame{}
	for i := range 4 {
		x, y := float64(i%2)*600, float64(i/2)*400
		f.Point(fmt.Sprintf("top-%d", i), x, y, 500)
		f.Point(fmt.Sprintf("foot-%d", i), x, y, 0)
		f.Run(fmt.Sprintf("top-%d", i), fmt.Sprintf("foot-%d", i))
	}
	plan := f.Plan("legs")
	top := assembly.Part{ID: "slab", Number: 90, Kind: standard.Board, Pose: geom.At(geom.V(-50, -50, 500)), Boxes: []geom.Box{{Max: geom.V(700, 500, 30)}}}
	plan.Parts = append(plan.Parts, top)
	for i := range 4 {
		id := fmt.Sprintf("top-%d", i)
		plan.Joints = append(plan.Joints, assembly.Joint{ID: "face-" + id, Kind: assembly.Face, A: assembly.End{Part: id, Port: "face"},
			B: assembly.End{Part: "slab"}})
	}
	o := options(f, plan)
	o.Boxes["slab"] = top.Pose.Box(top.Boxes[0])
	res := Apart(plan, o)
	for i := range 4 {
		off := res.Offsets[fmt.Sprintf("top-%d", i)]
		assert.InDelta(t, 0, math.Hypot(off.X, off.Y), tolerance)
		assert.GreaterOrEqual(t, res.Offsets["slab"].Z-off.Z, gap-tolerance)
	}
	faces := 0
	for _, g := range res.Guides {
		if len(g.Joint) > 5 && g.Joint[:5] == "face-" {
			faces++
			assert.InDelta(t, gap, g.To.Sub(g.From).Len(), tolerance, "from the flange to its place on the slab")
		}
	}
	assert.Equal(t, 4, faces)
}

// TestBoardBetweenFlanges: posts stand on a board by flanges, over the flanges of the posts that carry it. Each upper
// flange stays in line with the one under it, and the board is drawn between them.
func TestBoardBetweenFlanges(t *testing.T) {
	f := &rendertest.Frame{}
	for i, x := range []float64{0, 500} {
		n := func(s string) string { return fmt.Sprintf("%s-%d", s, i) }
		f.Point(n("low"), x, 0, 0)
		f.Point(n("under"), x, 0, 400)
		f.Run(n("under"), n("low"))
		f.Point(n("over"), x, 0, 424)
		f.Point(n("high"), x, 0, 800)
		f.Run(n("over"), n("high"))
	}
	f.Run("high-0", "high-1")
	plan := f.Plan("between")
	board := assembly.Part{ID: "slab", Number: 90, Kind: standard.Board, Pose: geom.At(geom.V(-50, -50, 400)), Boxes: []geom.Box{{Max: geom.V(600, 100, 24)}}}
	plan.Parts = append(plan.Parts, board)
	for _, id := range []string{"over-0", "under-0", "under-1", "over-1"} {
		plan.Joints = append(plan.Joints, assembly.Joint{ID: id, Kind: assembly.Face, A: assembly.End{Part: id, Port: "face"}, B: assembly.End{Part: "slab"}})
	}
	plan.Steps = []assembly.Step{{Action: assembly.Place, Moves: []string{"slab"}, Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 0, -50)}}}}
	o := options(f, plan)
	o.Boxes["slab"] = board.Pose.Box(board.Boxes[0])
	res := Apart(plan, o)
	for i := range 2 {
		under, over := res.Offsets[fmt.Sprintf("under-%d", i)], res.Offsets[fmt.Sprintf("over-%d", i)]
		assert.InDelta(t, 0, math.Hypot(over.X-under.X, over.Y-under.Y), tolerance, "in line")
		assert.GreaterOrEqual(t, res.Offsets["slab"].Z-under.Z, gap-tolerance)
		assert.GreaterOrEqual(t, over.Z-res.Offsets["slab"].Z, gap-tolerance)
	}
}

// TestCastersUnderABoard: casters under a board and a frame on top of it are separate; the board is drawn off the
// casters, and the frame off the board.
func TestCastersUnderABoard(t *testing.T) {
	f := &rendertest.Frame{}
	f.Point("foot-left", 0, 0, 124)
	f.Point("foot-right", 500, 0, 124)
	f.Point("top-left", 0, 0, 800)
	f.Point("top-right", 500, 0, 800)
	f.Run("foot-left", "top-left", "top-right", "foot-right")
	plan := f.Plan("rolling")
	o := options(f, plan)
	add := func(p assembly.Part, b geom.Box) {
		plan.Parts = append(plan.Parts, p)
		o.Boxes[p.ID] = b
	}
	base := geom.Box{Min: geom.V(-100, -200, 100), Max: geom.V(600, 200, 124)}
	add(assembly.Part{ID: "base", Number: 90, Kind: standard.Board, Pose: geom.At(base.Min), Boxes: []geom.Box{{Max: base.Size()}}}, base)
	for i := range 4 {
		id := fmt.Sprintf("caster-%d", i)
		at := geom.V(float64(i%2)*500, float64(i/2)*300-150, 0)
		add(assembly.Part{ID: id, Number: 91, Kind: standard.Caster, Pose: geom.At(at),
			Ports: []assembly.Port{{Name: "face", At: at, Out: geom.AxisZ.Neg()}, {Name: "a", At: at.Add(geom.V(0, 0, 100)), Out: geom.AxisZ}}},
			geom.Box{Min: at.Add(geom.V(-30, -30, 0)), Max: at.Add(geom.V(30, 30, 100))})
		plan.Joints = append(plan.Joints, assembly.Joint{ID: id, Kind: assembly.Face, A: assembly.End{Part: id, Port: "a"}, B: assembly.End{Part: "base"}})
	}
	for _, id := range []string{"foot-left", "foot-right"} {
		plan.Joints = append(plan.Joints, assembly.Joint{ID: id, Kind: assembly.Face, A: assembly.End{Part: id, Port: "face"}, B: assembly.End{Part: "base"}})
	}
	for _, down := range []float64{-1, 1} { // however the board came
		plan.Steps = []assembly.Step{{Action: assembly.Place, Moves: []string{"base"}, Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 0, down*50)}}}}
		res := Apart(plan, o)
		board := res.Offsets["base"].Z
		for i := range 4 {
			assert.GreaterOrEqual(t, board-res.Offsets[fmt.Sprintf("caster-%d", i)].Z, gap-tolerance)
		}
		for _, id := range []string{"foot-left", "foot-right"} {
			assert.GreaterOrEqual(t, res.Offsets[id].Z-board, gap-tolerance)
		}
	}
}

// TestGuidesRunFromMouthToMouth: each guide line lies on its joint's axis and is as long as the gap that is seen.
func TestGuidesRunFromMouthToMouth(t *testing.T) {
	f := rendertest.RingFrame()
	plan := f.Plan("ring")
	res := Apart(plan, options(f, plan))
	joints := map[string]assembly.Joint{}
	for _, j := range plan.Joints {
		joints[j.ID] = j
	}
	n := 0
	for _, g := range res.Guides {
		j := joints[g.Joint]
		require.True(t, j.Kind.IsThreaded())
		d := g.To.Sub(g.From)
		assert.GreaterOrEqual(t, d.Dot(j.Axis.Dir), gap-tolerance, j.ID)
		assert.InDelta(t, 0, d.Cross(j.Axis.Dir).Len(), tolerance, j.ID)
		n++
	}
	assert.Equal(t, 15, n, "joints of the ring")
}

func TestRepeatable(t *testing.T) {
	f := rendertest.Bay()
	plan := f.Plan("bay")
	assert.Equal(t, Apart(plan, options(f, plan)), Apart(plan, options(f, plan)))
}

func TestNothingToMove(t *testing.T) {
	res := Apart(&assembly.Plan{}, Options{Gap: func(geom.Vec) float64 { return 1 }})
	assert.Empty(t, res.Offsets)
	assert.Empty(t, res.Guides)
}

// TestCutsCloseAsFarAsTheirRingLetsThem: in a ring of two posts and two rails, both rails and one post may lose a stretch.
// The rails lose all of theirs; the post, whose other side is whole, loses nothing but what evens the gaps out, and no
// gap is less than it must be.
func TestCutsCloseAsFarAsTheirRingLetsThem(t *testing.T) {
	f := &rendertest.Frame{}
	f.Point("a", 0, 0, 0)
	f.Point("b", 900, 0, 0)
	f.Point("c", 900, 0, 900)
	f.Point("d", 0, 0, 900)
	f.Run("a", "b", "c", "d", "a")
	plan := f.Plan("ring")
	o := options(f, plan)
	const out = 300
	o.Cuts = map[string]float64{}
	for _, id := range []string{"pipe-1", "pipe-3", "pipe-2"} {
		at, dir := geom.Vec{}, geom.Vec{}
		for i, p := range plan.Parts {
			if p.ID != id {
				continue
			}
			a, b := p.Ports[0], p.Ports[1]
			at, dir = a.At.Lerp(b.At, 0.5), b.Out
			plan.Parts[i].Ports = []assembly.Port{a, {Name: "cut", At: at, Out: dir}}
			p.ID, p.Ports = id+"/far", []assembly.Port{b, {Name: "cut", At: at, Out: dir.Neg()}}
			plan.Parts = append(plan.Parts, p)
			o.Boxes[p.ID] = o.Boxes[id]
			break
		}
		for i, j := range plan.Joints {
			if j.A.Part == id && j.A.Port == "b" {
				plan.Joints[i].A.Part = id + "/far"
			}
		}
		plan.Joints = append(plan.Joints, assembly.Joint{ID: id + "/cut", Kind: assembly.Face, A: assembly.End{Part: id, Port: "cut"},
			B: assembly.End{Part: id + "/far", Port: "cut"}, Axis: &assembly.Axis{At: at, Dir: dir}})
		o.Cuts[id+"/cut"] = out
	}
	res := Apart(plan, o)
	assert.InDelta(t, out, res.Closed["pipe-1/cut"], 0.1)
	assert.InDelta(t, out, res.Closed["pipe-3/cut"], 0.1)
	assert.GreaterOrEqual(t, res.Closed["pipe-2/cut"], -1e-3, "no pipe is drawn longer than it is")
	assert.Less(t, res.Closed["pipe-2/cut"], out/4.0)
	for _, j := range plan.Joints {
		opened := res.Offsets[j.B.Part].Sub(res.Offsets[j.A.Part])
		if mm, ok := res.Closed[j.ID]; ok {
			assert.InDelta(t, -mm, opened.Dot(j.Axis.Dir), 1e-6, j.ID)
		} else {
			assert.GreaterOrEqual(t, opened.Dot(j.Axis.Dir), gap+j.EngagementMM-0.1, j.ID)
		}
		assert.InDelta(t, 0, opened.Cross(j.Axis.Dir).Len(), 1e-3, "%s opens along its axis", j.ID)
	}
	for _, g := range res.Guides {
		assert.NotContains(t, g.Joint, "/cut", "no guide leads through a pipe")
	}
}

// TestOrthonormal: rows come out square and of unit length, and those that follow from others are dropped.
func TestOrthonormal(t *testing.T) {
	got := orthonormal([][]float64{{3, 0, 0}, {1, 1, 0}, {4, 1, 0}, {0, 0, 0}, {1, 2, 3}})
	require.Len(t, got, 3)
	for i := range got {
		for j := range got {
			want := 0.0
			if i == j {
				want = 1
			}
			assert.InDelta(t, want, dot(got[i], got[j]), 1e-12)
		}
	}
}

// TestNearest: closed form. Of t1 + t2 = t3 with least 1, 1, 5 the nearest is 2.5, 2.5, 5 when the sum may not fall
// short; of t1 = t2 with least 1 and 4 it is 4 and 4.
func TestNearest(t *testing.T) {
	inf := math.Inf(1)
	got := nearest([]float64{1, 1, 5}, []float64{inf, inf, inf}, orthonormal([][]float64{{1, 1, -1}}))
	for i, want := range []float64{2.5, 2.5, 5} {
		assert.InDelta(t, want, got[i], 1e-3)
	}
	got = nearest([]float64{1, 4}, []float64{inf, inf}, orthonormal([][]float64{{1, -1}}))
	assert.InDelta(t, 4, got[0], 1e-3)
	assert.InDelta(t, 4, got[1], 1e-3)
	// Of t1 + t2 = 0 with t1 at least 1 and t2 from -3 to -2 the nearest is 2.5, -2.5 but for the middle of what they ask.
	got = nearest([]float64{1, -3}, []float64{inf, -2}, orthonormal([][]float64{{1, 1}}))
	assert.InDelta(t, 2, got[0], 1e-3)
	assert.InDelta(t, -2, got[1], 1e-3)
}

func BenchmarkApart(b *testing.B) {
	for _, name := range []string{"ring", "bay"} {
		f := frames[name]()
		plan := f.Plan(name)
		o := options(f, plan)
		b.Run(fmt.Sprintf("parts=%d", len(plan.Parts)), func(b *testing.B) {
			for b.Loop() {
				Apart(plan, o)
			}
		})
	}
}
