package explode

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/render/rendertest"
)

func square(x, y, side float64) outline {
	return hull([]geom.Vec{{X: x, Y: y}, {X: x + side, Y: y}, {X: x, Y: y + side}, {X: x + side, Y: y + side}, {X: x + side/2, Y: y + side/2}})
}

// TestOutlines checks areas and ways against plain geometry of squares.
func TestOutlines(t *testing.T) {
	a := square(0, 0, 2)
	assert.Len(t, a, 4, "the point inside is no corner")
	assert.InDelta(t, 4, a.area(), 1e-12)
	assert.InDelta(t, 0.25, share(a, square(1, 1, 2)), 1e-12)
	assert.InDelta(t, 1, share(a, square(0.5, 0.5, 1)), 1e-12, "the smaller lies inside")
	assert.Zero(t, share(a, square(2, 0, 2)), "they touch")

	assert.InDelta(t, 0.5, separation(a, square(1.5, 1, 2), geom.AxisX), 1e-12)
	assert.InDelta(t, 1, separation(a, square(1.5, 1, 2), geom.AxisY), 1e-12)
	assert.InDelta(t, 3.5, separation(a, square(1.5, 1, 2), geom.AxisX.Neg()), 1e-12, "back and past the whole of it")
	slant := geom.V(1, 1, 0).Mul(1 / math.Sqrt2)
	assert.InDelta(t, 0.5*math.Sqrt2, separation(a, square(1.5, 1, 2), slant), 1e-12)
}

// seenFrom is the paper of a view from the front, 30 degrees round and 25 up.
func seenFrom(f *rendertest.Frame, plan *assembly.Plan, mostMM float64) *Paper {
	az, el := -math.Pi/2+math.Pi/6, 25*math.Pi/180
	p := &Paper{Right: geom.V(-math.Sin(az), math.Cos(az), 0), MostMM: mostMM, Corners: map[string][]geom.Vec{}}
	p.Back = geom.V(math.Cos(el)*math.Cos(az), math.Cos(el)*math.Sin(az), math.Sin(el))
	p.Up = p.Back.Cross(p.Right)
	for _, x := range plan.Parts {
		if m := f.Mesh(x); m != nil {
			for _, v := range m.Vertices {
				p.Corners[x.ID] = append(p.Corners[x.ID], x.Pose.Apply(v))
			}
		}
	}
	return p
}

// TestPartsComeClearOnPaper: with leave to move, less lies over one another than without, no joint opens less than
// wanted, and each still opens along its own axis.
func TestPartsComeClearOnPaper(t *testing.T) {
	for name, f := range map[string]*rendertest.Frame{"stand": rendertest.Stand(), "bay": rendertest.Bay(), "cage": cage()} {
		plan := f.Plan(name)
		o := options(f, plan)
		o.Paper = seenFrom(f, plan, 0)
		before := Apart(plan, o)
		o.Paper.MostMM = 1500
		after := Apart(plan, o)
		require.Greater(t, before.Overlap, overlapShare, "%s: nothing to clear", name)
		assert.Less(t, after.Overlap, before.Overlap/2, name)
		assert.Equal(t, after, Apart(plan, o), "%s: twice the same", name)
		loose := map[string]bool{}
		for _, p := range plan.Parts {
			loose[p.ID] = isLoose(p)
		}
		for _, j := range plan.Joints {
			_, okA := o.Boxes[j.A.Part]
			_, okB := o.Boxes[j.B.Part]
			if j.Axis == nil || !okA || !okB || loose[j.A.Part] || loose[j.B.Part] {
				continue
			}
			by := after.Offsets[j.B.Part].Sub(after.Offsets[j.A.Part])
			dir := j.Axis.Dir.Unit()
			assert.GreaterOrEqual(t, by.Dot(dir), j.EngagementMM+gap-0.1, "%s: %s", name, j.ID)
			assert.Less(t, by.Cross(dir).Len(), 0.1, "%s: %s opens along its axis", name, j.ID)
		}
	}
}

// TestGapsOnALineAreLike: where a loop opens one side of a frame further than wanted, the joints in line with that side
// go along. A spread over the mean of a quarter is the most for gaps that lie between 0.6 and 1 of the widest.
func TestGapsOnALineAreLike(t *testing.T) {
	f := &rendertest.Frame{}
	f.Point("a", 0, 0, 0)
	f.Point("b", 1200, 0, 0)
	f.Point("c", 1200, 0, 900)
	f.Point("d", 0, 0, 900)
	f.Point("e", 1800, 0, 900) // beyond the corner, in line with the top
	for _, n := range []string{"m1", "m2", "m3"} {
		x := map[string]float64{"m1": 300, "m2": 600, "m3": 900}[n]
		f.Point(n, x, 0, 0)
		f.Point(n+"f", x, 0, -300)
		f.Run(n, n+"f")
	}
	f.Run("a", "m1", "m2", "m3", "b", "c", "d", "a")
	f.Run("c", "e")
	plan := f.Plan("line")
	o := options(f, plan)
	g := newGraph(plan, o)
	g.solve()
	require.Greater(t, g.worstSpread(), 0.25, "the loop alone leaves them uneven")
	g.evenAll()
	assert.LessOrEqual(t, g.worstSpread(), 0.25)
}

func (g *graph) worstSpread() float64 {
	worst := 0.0
	for _, line := range g.lines() {
		sum, square := 0.0, 0.0
		for _, k := range line {
			sum, square = sum+g.clearOf(k), square+g.clearOf(k)*g.clearOf(k)
		}
		n := float64(len(line))
		worst = max(worst, math.Sqrt(max(0, square/n-sum*sum/n/n))/(sum/n))
	}
	return worst
}
