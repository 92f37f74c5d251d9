package pipeline

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/solidify"
	"turnwise/geom"
	"turnwise/geom/mesh"
)

// compareAnswers checks a plan against the rows of answers.csv for one brief, and returns how many rows it checked.
// Members of one length share a row of the cut list, so the counts of equal lengths are compared in sum.
func compareAnswers(t *testing.T, brief string, rows [][]string, p assembly.Plan) int {
	wantCount, checked, pieces, total := map[float64]int{}, 0, 0, 0.0
	for _, c := range p.Cuts {
		pieces += c.Count
		total += float64(c.Count) * c.LengthMM / 25.4
	}
	for _, row := range rows {
		if row[0] != brief {
			continue
		}
		checked++
		switch row[1] {
		case "cut":
			wantCount[number(t, row[4])] += int(number(t, row[5]))
		case "fitting":
			assert.Equal(t, int(number(t, row[5])), countKind(p, row[3]), "%s: %s", brief, row[3])
		case "loops":
			assert.Len(t, p.Loops, int(number(t, row[5])), "%s: loops", brief)
		case "unions":
			assert.Equal(t, int(number(t, row[5])), countKind(p, "union"), "%s: unions", brief)
		case "pipes":
			assert.Equal(t, int(number(t, row[5])), pieces, "%s: pieces of pipe", brief)
		case "total":
			assert.InDelta(t, number(t, row[4]), total, 0.01, "%s: pipe in all", brief)
		default:
			t.Errorf("%s: a row of an unknown kind: %v", brief, row)
		}
	}
	for length, n := range wantCount {
		got := 0
		for _, c := range p.Cuts {
			if math.Abs(c.LengthMM/25.4-length) <= 0.01 {
				got += c.Count
			}
		}
		assert.Equal(t, n, got, "%s: pieces %.3f in long, of %v", brief, length, p.Cuts)
	}
	return checked
}

func number(t *testing.T, s string) float64 {
	v, err := strconv.ParseFloat(s, 64)
	require.NoError(t, err)
	return v
}

func countKind(p assembly.Plan, kind string) int {
	n := 0
	for _, q := range p.Parts {
		if string(q.Kind) == kind && q.Half != "b" {
			n++
		}
	}
	return n
}

// assertSolid checks one part's mesh as read back from its file: closed, of the mass the plan states, and lying on the
// part's solid in the part's own frame. A mirrored mesh of a part that is not its own mirror image fails the last.
func assertSolid(t *testing.T, p assembly.Part, m *mesh.Mesh) {
	require.NoError(t, mesh.Check(m), p.Solid)
	s, err := solidify.Solid(p)
	require.NoError(t, err)
	worst := 0.0
	for _, v := range m.Vertices {
		worst = math.Max(worst, math.Abs(s.Distance(v)))
	}
	assert.LessOrEqual(t, worst, ToleranceMM, "%s: vertices off the surface", p.Solid)
	if density := densityOf(p); density > 0 {
		assert.InEpsilon(t, p.MassKG, mesh.Volume(m)*density, 0.05, "%s: mass", p.Solid)
	}
	lo, hi := mesh.Bounds(m), s.Bounds()
	assert.True(t, hi.Grow(ToleranceMM).Contains(lo.Min) && hi.Grow(ToleranceMM).Contains(lo.Max), "%s: %v outside %v", p.Solid, lo, hi)
	for _, q := range p.Ports {
		assert.LessOrEqual(t, hi.Distance(p.Pose.Local(q.At)), 0.01, "%s: port %s is off the body", p.ID, q.Name)
	}
}

// densityOf is the density in kg per mm3 of the metal parts, whose masses come from closed forms; 0 for others.
// Steel 7.85 g/cm3 (EN 10255), malleable iron 7.3 (from memory).
func densityOf(p assembly.Part) float64 {
	switch p.Kind {
	case "pipe":
		return 7.85e-6
	case "board", "cleat", "room", "pad", "glide", "caster", "strap":
		return 0
	}
	return 7.3e-6
}

// TestFinishedFrameIsRightHanded: the design's axes are left-handed, and what comes out is not. In the packing bench x
// grows to the right, y towards the viewer and z up; seen from the front, the far end is on the right, and a right-hand
// thread that is turned clockwise, seen from behind the turning body, goes forward.
func TestFinishedFrameIsRightHanded(t *testing.T) {
	r, err := Check(request(t, root+"/examples/workshop-packing-bench.yaml"))
	require.NoError(t, err)
	at := map[string]geom.Vec{}
	for _, p := range r.Plan.Parts {
		at[p.ID] = p.Pose.Origin
		require.True(t, p.Pose.IsRigid(1e-6), p.ID)
	}
	right := at["far.rear-foot"].Sub(at["near.rear-foot"]).Unit()
	front := at["near.front-foot"].Sub(at["near.rear-foot"]).Unit()
	up := at["near.rear-head"].Sub(at["near.rear-foot"]).Unit()
	assert.InDelta(t, 1, right.Cross(up).Dot(front), 0.01, "right x up points at a viewer in front")
	turned := 0
	for _, s := range r.Plan.Steps {
		if s.Action != assembly.Screw {
			continue
		}
		m := s.Motion[len(s.Motion)-1]
		require.Equal(t, assembly.Turn, m.Kind)
		// Clockwise seen from behind is a right-handed turn about the direction of travel.
		travel := m.Axis.Dir.Mul(m.AdvanceMM)
		spin := m.Axis.Dir.Mul(m.ByDeg)
		assert.Positive(t, travel.Dot(spin), "step %d", s.Number)
		turned += 1 + len(s.Repeats)
	}
	assert.Greater(t, turned, 20)
}
