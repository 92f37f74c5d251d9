package oracletest

import (
	"fmt"
	"math/rand"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/assembly"
	"turnwise/assembly/replay"
)

// clearNeed is the clearance with which the exhaustive search must get through before it calls the planner's no wrong:
// more than the width of its steps and of its clouds' skins, so that no verdict hangs on a touch.
const clearNeed = leastStep + 2*skinMM

// TestPlannerAgainstExhaustiveSearch: on random frames, bare and in cluttered rooms, the planner's yes is confirmed by
// the proof and its no by the exhaustive search; where the planner says
// yes the search must find an order too but for a few, or it would be too weak to judge a no.
func TestPlannerAgainstExhaustiveSearch(t *testing.T) {
	each := 25
	if testing.Short() {
		each = 3
	}
	tally := map[string]int{}
	for _, sh := range shapes {
		for seed := range each {
			s := newSheet(int64(seed))
			sh.draw(s)
			a, err := solved(s.text())
			if err != nil {
				tally["not a frame"]++
				continue
			}
			if seed%4 != 0 {
				clutter(a, rand.New(rand.NewSource(int64(seed))))
			}
			verdict := compare(t, fmt.Sprintf("%s %d", sh.name, seed), a)
			tally[verdict]++
		}
	}
	t.Log(tally)
	all := len(shapes) * each
	assert.Greater(t, tally["yes"], all/3)
	assert.LessOrEqual(t, tally["yes, beyond the search"], all/20, "the search is too weak for its no to count")
	assert.Greater(t, tally["no, LOOP"], 0)
	assert.LessOrEqual(t, tally["no, SWING, and the search finds a way"], 1+all/200, "frames refused for want of a way out that there is")
	assert.GreaterOrEqual(t, tally["no, TRAVEL"]+tally["no, SWING"], all/40)
}

// compare judges one frame.
func compare(t *testing.T, name string, a *assembly.Assembly) string {
	strict := newSeeker(t, a, clearNeed)
	if strict.overlaps() {
		return "parts overlap"
	}
	w := work(t, a)
	switch code := w.stop(); code {
	case "":
		if slices.ContainsFunc(w.report.Failures, func(f replay.Failure) bool { return f.Code == replay.CodeOverlap }) {
			return "parts overlap"
		}
		assert.Empty(t, failures(w.report), "%s: the planner says yes, the proof no", name)
		if !newSeeker(t, a, contactNeed).canBuild() {
			t.Log(name, "is beyond the search")
			return "yes, beyond the search"
		}
		return "yes"
	case "SWING":
		if strict.canBuild() { // the ways out that the planner tries in a cluttered room are fewer than those of the search
			t.Logf("%s: the planner says SWING, the search has found an order: %s", name, w.order.Findings[0].Text)
			return "no, SWING, and the search finds a way"
		}
		return "no, SWING"
	case "LOOP", "TRAVEL", "STUCK": // TILT and HAND-REACH ask for more than the search looks at
		assert.False(t, strict.canBuild(), "%s: the planner says %s, the search has found an order: %s", name, code, w.order.Findings[0].Text)
		return "no, " + code
	default:
		return "other: " + code
	}
}

// overlaps tells whether parts of the finished frame are in one another.
func (s *seeker) overlaps() bool {
	for i := range s.things {
		for k := range s.things[:i] {
			if gap(s.things[i], s.poses[i], s.things[k], s.poses[k]) < contactNeed {
				return true
			}
		}
	}
	return false
}
