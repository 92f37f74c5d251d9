package oracletest

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/mockup"
	"turnwise/assembly/replay"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// modelOf is the scale model of a plan, and what the proof says of it: its own dimensions, its own joints and motions.
func modelOf(t *testing.T, plan assembly.Plan) (*mockup.Model, replay.Report) {
	t.Helper()
	m, err := mockup.Build(plan, mockup.Options{Scale: 8})
	require.NoError(t, err)
	return m, replay.Check(m.Plan, func(p assembly.Part) (sdf.Solid, error) { return m.Solid(p) })
}

// failed tells whether a report has a failure of a kind that names a part.
func failed(r replay.Report, code, part string) bool {
	return slices.ContainsFunc(r.Failures, func(f replay.Failure) bool { return f.Code == code && slices.Contains(f.Parts, part) })
}

// The known answers of screwed frames, replayed with the model's own motions.

// A ring of four elbows and four pipes cannot be closed by a quarter turn either; with a union, whose halves are clipped
// together, it can.
func TestModelOfRing(t *testing.T) {
	w := refused(t, strings.Replace(sound["ring"], "a to union to b", "a to b", 1))
	_, r := modelOf(t, w.inPlace("a", "stay.1", "d", "top.1", "c", "mast.1", "b", "low.1"))
	assert.True(t, failed(r, replay.CodeLocked, "low.1"), "%v", failures(r))
	_, r = modelOf(t, planned(t, sound["ring"]).plan)
	assert.Empty(t, failures(r))
}

// A pipe does not go between two fittings that stand: on its way in it meets the other one.
func TestModelOfPipeBetweenStandingFittings(t *testing.T) {
	w := refused(t, strings.Replace(sound["ring"], "a to union to b", "a to b", 1))
	_, r := modelOf(t, w.inPlace("a", "stay.1", "d", "top.1", "c", "mast.1", "b", "low.1"))
	assert.True(t, failed(r, replay.CodeCrash, "low.1"), "%v", failures(r))
}

// A right-and-left piece draws two posts together, as far as the joints of the model are deep.
func TestModelOfRightAndLeft(t *testing.T) {
	m, r := modelOf(t, planned(t, sound["right-left"]).plan)
	assert.Empty(t, failures(r))
	drawn, depth := 0.0, 0.0
	for _, s := range m.Plan.Steps {
		for _, d := range s.Draws {
			drawn += d.By.Len()
		}
	}
	for _, j := range m.Plan.Joints {
		if j.Kind == assembly.RightLeft {
			depth += j.EngagementMM
		}
	}
	assert.InDelta(t, depth, drawn, 1e-6)
}

// A rod goes between two walls, its flanges held by pins at the last.
func TestModelOfRodBetweenWalls(t *testing.T) {
	m, r := modelOf(t, planned(t, sound["rod"]).plan)
	assert.Empty(t, failures(r))
	assert.Equal(t, 4, m.Pins, "two for each flange")
}

// A bored board goes over its post before what is wider comes on top; an order that leaves it for the last is refused.
func TestModelOfBoardThatGoesFirst(t *testing.T) {
	w := planned(t, sound["deck"])
	_, r := modelOf(t, w.plan)
	require.Empty(t, failures(r))
	late := w.plan
	late.Steps = slices.Clone(late.Steps)
	i := slices.IndexFunc(late.Steps, func(s assembly.Step) bool { return slices.Contains(s.Moves, "deck") && len(s.Moves) == 1 })
	require.GreaterOrEqual(t, i, 0)
	deck := late.Steps[i]
	late.Steps = append(slices.Delete(late.Steps, i, i+1), deck)
	renumber(&late)
	require.NotEmpty(t, w.prove(late).Failures, "steel")
	_, r = modelOf(t, late)
	assert.True(t, failed(r, replay.CodeCrash, "deck"), "%v", failures(r))
}

// An elbow beside a wall, 8 mm nearer than it swings in steel: its quarter turn goes clear, from one side at least. Then the
// whole turn that is proven beside it tells what steel would say; with the wall further off it has nothing to tell.
func TestModelOfElbowBesideWall(t *testing.T) {
	lamp := planned(t, sound["lamp"])
	elbow := lamp.plan.Parts[slices.IndexFunc(lamp.plan.Parts, func(p assembly.Part) bool { return p.ID == "k" })]
	radius := 0.0
	for _, q := range cloudOf(lamp.solids["k"], lamp.solids["k"].Bounds(), 1.5) {
		at := elbow.Pose.Apply(q)
		radius = max(radius, math.Hypot(at.X-500, at.Y+500))
	}
	told := 0
	for _, side := range []float64{-1, 1} {
		for _, along := range []bool{true, false} {
			for _, off := range []float64{radius - 8, radius + 60} {
				a, err := solved(sound["lamp"])
				require.NoError(t, err)
				near, far := off, off+40
				if side < 0 {
					near, far = -off-40, -off
				}
				wall := geom.Box{Min: geom.V(500+near, -900, 400), Max: geom.V(500+far, -100, 900)}
				if !along {
					wall = geom.Box{Min: geom.V(100, -500+near, 400), Max: geom.V(900, -500+far, 900)}
				}
				for i := range a.Parts {
					if a.Parts[i].Kind == "room" {
						a.Parts[i].Boxes = append(slices.Clone(a.Parts[i].Boxes), wall)
					}
				}
				w := work(t, a)
				plan := w.inPlace("f", "p.1", "k")
				m, quarter := modelOf(t, plan)
				whole := replay.Check(m.WholeTurns(), func(p assembly.Part) (sdf.Solid, error) { return m.Solid(p) })
				steel := failed(w.prove(plan), replay.CodeCrash, "k")
				if steel && !failed(quarter, replay.CodeCrash, "k") {
					told++
					assert.True(t, failed(whole, replay.CodeCrash, "k"), "steel refuses, the model does not, and nothing tells of it")
				}
				if off > radius {
					assert.False(t, steel || failed(whole, replay.CodeCrash, "k"), "%v", failures(whole))
				}
			}
		}
	}
	assert.Positive(t, told, "no case where the quarter turn alone is clear")
}
