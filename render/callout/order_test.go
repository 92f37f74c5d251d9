package callout

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func ring(marks ...int) []Balloon {
	var out []Balloon
	for i, m := range marks {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(len(marks)))
		out = append(out, Balloon{Mark: m, Centre: Point{X: 50 + 40*c, Y: 50 + 40*s}})
	}
	return out
}

// TestDisorder is checked by counting on the fingers: any start and either way round is as good.
func TestDisorder(t *testing.T) {
	assert.Zero(t, Disorder(ring(0, 1, 2, 3, 4)))
	assert.Zero(t, Disorder(ring(3, 4, 0, 1, 2)), "from another start")
	assert.Zero(t, Disorder(ring(2, 1, 0, 4, 3)), "the other way round")
	assert.InDelta(t, 1.0/10, Disorder(ring(0, 2, 1, 3, 4)), 1e-12, "one pair of ten")
	assert.Zero(t, Disorder(ring(0, 1)))
}

// TestNumbersRiseRoundTheDrawing: marks that can be reached from several sides are put in order; no leaders cross for
// it, and none is longer than the drawing is wide.
func TestNumbersRiseRoundTheDrawing(t *testing.T) {
	// Twelve posts in two rows, numbered so that neighbours are far apart in number.
	var marks []Mark
	for _, k := range []int{0, 7, 2, 9, 4, 11, 6, 1, 8, 3, 10, 5} {
		at := Point{X: 20 + 14*float64(k%6), Y: 40 + 20*float64(k/6)}
		marks = append(marks, Mark{Anchors: []Anchor{{At: at, Inside: 2, ID: k}, {At: Point{X: 110 - at.X, Y: 100 - at.Y}, Inside: 2, ID: k, Extra: 1}}})
	}
	l := Layout{MinX: 0, MinY: 0, MaxX: 110, MaxY: 100, Radius: 4, Pitch: 10}
	which := make([]int, len(marks))
	for i := range which {
		which[i] = i
	}
	p := newPlacer(marks, which, l.slots(len(marks)), l)
	p.assign(p.cost)
	p.improve()
	before := Disorder(p.balloons())
	after := Place(marks, l)
	require.Greater(t, before, orderedEnough, "nothing to put in order")
	assert.Less(t, Disorder(after), before)
	assert.Zero(t, Crossings(after))
	assert.Zero(t, Overlaps(after, l.Radius))
}
