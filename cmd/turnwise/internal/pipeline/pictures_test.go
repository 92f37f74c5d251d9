package pipeline

import (
	"bytes"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/wording"
	"turnwise/render/picture"
)

// TestPicturesServeABuilder draws every picture of every example and of five measured rooms, and asks of each what it
// must have: what is new and where it goes is seen, or shown enlarged; nothing that is worked on is too small; leaders
// do not cross, and balloons lie clear. Every step has its picture, and both say the same number of turns.
func TestPicturesServeABuilder(t *testing.T) {
	files := append(designs(t, "examples"), designs(t, "testdata/briefs")...)
	if testing.Short() {
		files = []string{files[1]}
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			r, err := CheckPictures(request(t, file))
			require.NoError(t, err)
			assertPictures(t, r)
		})
	}
}

// assertTurnsSaid: how far to turn, as printed in a picture, stands word for word in the text of its step, for every
// thread that is turned. Pieces that close two threads at once have no number in their text.
func assertTurnsSaid(t *testing.T, plan assembly.Plan) {
	t.Helper()
	joints := map[string]assembly.Joint{}
	for _, j := range plan.Joints {
		joints[j.ID] = j
	}
	n := 0
	for _, s := range plan.Steps {
		var j assembly.Joint
		if s.Action == assembly.Screw && len(s.Joints) == 1 {
			j = joints[s.Joints[0]]
		} else if s.Action != assembly.Adjust {
			continue
		}
		n++
		assert.Contains(t, s.Text, wording.TurnsMark(s, j), "step %d", s.Number)
	}
	assert.Positive(t, n)
}

func assertPictures(t *testing.T, r *Result) {
	t.Helper()
	names := map[string]bool{}
	for _, s := range r.Scores {
		names[s.Picture] = true
		for _, m := range s.Faults() {
			t.Errorf("%s: %s %s is %g, wanted %g", s.Picture, m.ID, m.Name, m.Value, m.Target)
		}
		assert.Positive(t, s.Score, s.Picture)
		if s.Picture == "exploded" {
			assert.GreaterOrEqual(t, s.Score, float64(picture.ScoreToShip), s.Picture)
		}
	}
	assertTurnsSaid(t, r.Plan)
	last := 0
	for _, s := range r.Plan.Steps {
		require.Contains(t, []int{last, last + 1}, s.Picture, "picture of step %d", s.Number)
		last = s.Picture
		assert.True(t, names[stepName(s.Picture)], "step %d has no picture", s.Number)
	}
	groups := picture.Modules(&r.Plan)
	for i := range groups {
		assert.True(t, names[picture.ModuleName(i+1)], "group %d has no picture", i+1)
	}
	assert.Len(t, r.Scores, last+2+len(groups))
	var out bytes.Buffer
	require.NoError(t, WriteScores(&out, r.Scores))
	assert.Contains(t, out.String(), "exploded")
}
