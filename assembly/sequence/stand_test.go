package sequence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// slab is a scene of one box that moves, alone in the room.
func slab(size geom.Vec, room ...geom.Box) (*frame, side, []int) {
	k := newKit()
	k.room(room...)
	k.board("slab", size.Mul(-0.5), size.Mul(0.5))
	f := newFrame(k.input())
	return f, f.here([]int{f.index["slab"]}), []int{f.room}
}

// TestTurnInAlcove: 2000 x 300 turned between two walls is as wide as a cos f + t sin f, at most sqrt(a^2 + t^2) = 2022.4
// at tan f = t/a. Between walls 2020 apart it does not turn, though it slides in; 2030 apart it does, with 5 to spare.
// Closed form.
func TestTurnInAlcove(t *testing.T) {
	const a, d = 2000.0, 300.0
	most := math.Hypot(a, d)
	assert.InDelta(t, 2022.4, most, 0.05)
	walls := func(gap float64) []geom.Box {
		return []geom.Box{
			{Min: geom.V(-2000, -5000, -1000), Max: geom.V(-gap/2, 5000, 1000)},
			{Min: geom.V(gap/2, -5000, -1000), Max: geom.V(2000, 5000, 1000)},
		}
	}
	for _, c := range []struct {
		gap   float64
		clear bool
	}{{2020, false}, {most + 2*margin - 0.1, false}, {most + 2*margin + 0.1, true}, {2030, true}} {
		f, s, fixed := slab(geom.V(a, d, 500), walls(c.gap)...)
		over := tilt{dir: geom.AxisZ, angle: math.Pi / 6}
		_, met := f.turn(s, fixed, over)
		assert.Equal(t, c.clear, !met, "gap %g", c.gap)
		_, met = f.slide(s, fixed, geom.V(0, -3000, 0), allPairs)
		assert.False(t, met, "it slides in")
		widest := 0.0
		for deg := 0.0; deg <= 30; deg += 0.5 {
			sin, cos := math.Sincos(deg * math.Pi / 180)
			w := s.width(geom.V(cos, sin, 0))
			assert.InDelta(t, a*cos+d*sin, w, 1e-9)
			widest = math.Max(widest, w)
		}
		assert.InDelta(t, most, widest, 0.1)
		assert.Less(t, widest, 2030-5.0)
	}
}

// goalpost stands on two flanges, 2100 high, with an arm that reaches forward from the middle of its top.
func goalpost(ceiling float64) *kit {
	k := newKit()
	k.room(floor(), geom.Box{Min: geom.V(-3000, -6000, ceiling), Max: geom.V(5000, 3000, ceiling+50)})
	const top = 2100 - kitBand/2
	for i, x := range []float64{0, 1000} {
		id := []string{"left", "right"}[i]
		k.flange("foot-"+id, geom.V(x, 0, 0), ez)
		k.fitting("knee-"+id, "elbow", geom.V(x, 0, top), mz, []geom.Vec{ex, mx}[i])
		k.pipe("post-"+id, "foot-"+id, "knee-"+id, ez)
		k.join(assembly.Rest, "foot-"+id, "face", "room", "")
	}
	k.fitting("tee", "tee", geom.V(500, 0, top), mx, ex, my)
	k.pipe("rail.1", "knee-left", "tee", ex)
	k.pipe("rail.2", "tee", "knee-right", ex)
	k.rod("arm", geom.V(500, -kitReach+kitE, top), geom.V(500, -armReach, top))
	k.thread("tee", "c", "arm", "a")
	return k
}

const armReach = 400.0

// armRadius is the farthest that the goalpost's top goes from the edge it is stood up on: the round of the knees, seen
// along it, about the foot of the arm's end. Closed form.
func armRadius() float64 {
	return math.Hypot(2100-kitBand/2, armReach) + kitBand/2
}

func standUps(steps []assembly.Step) []assembly.Step {
	var out []assembly.Step
	for _, s := range steps {
		if s.Action == assembly.StandUp {
			out = append(out, s)
		}
	}
	return out
}

// TestStandUp: under a ceiling as high as the diagonal of height and depth, and the margin, the whole frame is stood up;
// a millimetre lower the arm is screwed in after the rest stands.
func TestStandUp(t *testing.T) {
	high := armRadius() + margin
	steps := planned(t, goalpost(high+0.2))
	up := standUps(steps)
	require.Len(t, up, 1)
	assert.Contains(t, up[0].Moves, "arm")
	assert.Len(t, up[0].Moves, 10)
	require.Len(t, up[0].Motion, 1)
	m := up[0].Motion[0]
	assert.Equal(t, assembly.Turn, m.Kind)
	assert.InDelta(t, 90, math.Abs(m.ByDeg), 1e-9)
	assert.Zero(t, m.AdvanceMM)
	assert.Equal(t, "place", up[0].Where)

	steps = planned(t, goalpost(high-0.8))
	up = standUps(steps)
	require.Len(t, up, 1)
	assert.NotContains(t, up[0].Moves, "arm")
	arm := closedBy(t, steps, "j11")
	assert.Greater(t, arm.Number, up[0].Number)
	assert.Equal(t, "place", arm.Where)
}

// TestLowFrameStandsAlready: nothing is stood up that is put together within reach.
func TestLowFrameStandsAlready(t *testing.T) {
	assert.Empty(t, standUps(planned(t, table())))
}

// TestFrameThatCannotBeStoodUp: wished on the bench in one piece, a frame under a ceiling that its diagonal does not fit
// under is told of with what is missing.
func TestFrameThatCannotBeStoodUp(t *testing.T) {
	f := newFrame(goalpost(armRadius() + margin - 0.8).input())
	var all []int
	for i := range f.parts {
		if i != f.room {
			all = append(all, i)
		}
	}
	s := f.newScene(all, true, f.ranks())
	s.tilting = true
	assert.Nil(t, s.tryStraight(all), "another way is asked for first")
	assert.True(t, s.isBlocked(lying(moveKey{'t', all[0], len(all)})))
	s.tilting = false
	r := s.tryStraight(all)
	require.NotNil(t, r)
	require.NotNil(t, r.risen)
	fd := f.risenFinding(r.risen)
	assert.Equal(t, "TILT", fd.Code)
	box := f.here(all).box().Size()
	assert.InDelta(t, math.Hypot(box.Z, box.Y), fd.Values["tilt_mm"], 1e-9)
	assert.Positive(t, fd.Values["missing_mm"])
}

// width is the extent of s along the unit vector u: support that way plus support the other way. A frame turned by an
// angle f inside a gap has to have width(u of f) <= gap all along. Of a rectangle a x t it is a cos f + t sin f, at most
// sqrt(a^2 + t^2), where tan f = t/a.
func (s side) width(u geom.Vec) float64 {
	far, near := math.Inf(-1), math.Inf(1)
	for i := range s.shapes {
		for k := range s.shapes[i].solids {
			b := &s.shapes[i].solids[k]
			far = math.Max(far, b.support(u).Dot(u))
			near = math.Min(near, b.support(u.Neg()).Dot(u))
		}
	}
	return far - near
}
