package picture

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render/rendertest"
)

// TestLongerPipesAreDrawnLonger: whole up to a length, and never out of order.
func TestLongerPipesAreDrawnLonger(t *testing.T) {
	last := 0.0
	for l := 10.0; l < 4000; l += 10 {
		d := drawnLength(l, 26.7)
		assert.Greater(t, d, last)
		assert.LessOrEqual(t, d, l)
		if l <= wholeDiameters*26.7 {
			assert.Equal(t, l, d)
		}
		last = d
	}
}

// TestWaveCutsATube: what is left on each side is closed, and both sides together are the tube: the wave takes from one
// what it gives the other, and rises as much as it falls, so that a cut in the middle halves the tube.
func TestWaveCutsATube(t *testing.T) {
	tube := rendertest.Tube(48, 13, 10, 400)
	whole := mesh.Volume(tube)
	for _, turned := range []float64{0, 0.3} {
		s, c := math.Sincos(turned)
		w := wave{origin: geom.V(0, 0, 200), up: geom.AxisZ, x: geom.V(c, s, 0), y: geom.V(-s, c, 0), heightMM: 7}
		near := w.cut(tube)
		w.flip = true
		far := w.cut(tube)
		for _, m := range []*mesh.Mesh{near, far} {
			require.Zero(t, mesh.Examine(m).Open, "open edges")
			assert.InEpsilon(t, whole/2, mesh.Volume(m), 0.01)
		}
		assert.InEpsilon(t, whole, mesh.Volume(near)+mesh.Volume(far), 1e-6)
		assert.InDelta(t, 207, mesh.Bounds(near).Max.Z, 0.2)
		assert.InDelta(t, 193, mesh.Bounds(far).Min.Z, 0.2)
	}
}

// benchFrame is a made-up bench three metres long: legs with a rail between them under a top that is screwed to both.
func benchFrame() *rendertest.Frame {
	f := &rendertest.Frame{}
	for i, x := range []float64{0, 3000} {
		f.Point([]string{"foot-0", "foot-1"}[i], x, 0, 0)
		f.Point([]string{"knee-0", "knee-1"}[i], x, 0, 300)
		f.Point([]string{"top-0", "top-1"}[i], x, 0, 2200)
		f.Run([]string{"foot-0", "foot-1"}[i], []string{"knee-0", "knee-1"}[i], []string{"top-0", "top-1"}[i])
	}
	f.Run("knee-0", "knee-1")
	f.Board("shelf", -50, -200, 2200, 3100, 400, "top-0", "top-1")
	return f
}

// TestPipesAreBrokenWhereNothingLies: the long posts of a bench are broken in a small drawing, and the rail is not, whose
// two ends a board holds at their distance.
func TestPipesAreBrokenWhereNothingLies(t *testing.T) {
	f := benchFrame()
	plan := f.Plan("bench")
	s := newStage(plan, f.Mesh)
	cuts := s.cuts()
	for _, p := range plan.Parts {
		if p.Kind != standard.Pipe {
			continue
		}
		k, ok := cuts[p.ID]
		upright := math.Abs(p.Ports[0].Out.Z) > 0.5
		assert.Equal(t, upright && p.LengthMM > 1000, ok, "%s, %.0f mm long", p.ID, p.LengthMM)
		if ok {
			assert.InDelta(t, p.LengthMM, k.from+k.to, 1e-6, "in its middle")
		}
	}
	sh, err := exploded(plan, f.Mesh)
	require.NoError(t, err)
	halves, numbers := 0, map[int]int{}
	for _, p := range sh.stage.parts {
		if sh.isCut(p.ID) {
			halves++
		}
		if p.Half != "b" {
			numbers[p.Number]++
		}
	}
	assert.Equal(t, 4, halves)
	for _, p := range s.parts {
		numbers[p.Number]--
	}
	for n, left := range numbers {
		assert.Zero(t, left, "count of number %d", n)
	}
	assertBreaks(t, sh)
	var text []string
	for _, m := range sh.marks() {
		text = append(text, m.Text)
	}
	assert.Len(t, text, len(s.numbers()))
}

// assertBreaks: the ends at each break face one another in line, a little apart.
func assertBreaks(t *testing.T, sh *sheet) {
	t.Helper()
	for i, p := range sh.stage.parts {
		if !strings.HasSuffix(p.ID, farHalf) {
			continue
		}
		near := sh.stage.id[strings.TrimSuffix(p.ID, farHalf)] - 1
		at := func(i int) geom.Vec {
			q := sh.stage.parts[i]
			return sh.scene.Instances[i].Pose.Apply(q.Pose.Local(q.Ports[1].At))
		}
		a, _ := sh.sheetPoint(at(near))
		b, _ := sh.sheetPoint(at(i))
		assert.InDelta(t, breakGapMM, math.Hypot(a.X-b.X, a.Y-b.Y), 0.35, p.ID)
		assert.Less(t, at(i).Sub(at(near)).Cross(p.Ports[1].Out).Len(), 1e-3, "%s stays in line", p.ID)
	}
}

// TestLengthsStandClear: the length of each broken pipe is written, and lies over nothing.
func TestLengthsStandClear(t *testing.T) {
	f := benchFrame()
	plan := f.Plan("bench")
	plan.Design.Units = "mm"
	sh, err := exploded(plan, f.Mesh)
	require.NoError(t, err)
	for i, p := range sh.stage.parts {
		if sh.isCut(p.ID) {
			l, ok := sh.lengthPlace(i+1, "1900 mm", nil)
			require.True(t, ok)
			assert.True(t, sh.isBlank(l, nil))
			assert.False(t, sh.isBlank(l, []label{l}), "no two over one another")
		}
	}
}
