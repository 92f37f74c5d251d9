package woodwork

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
)

var shelf = geom.Box{Max: geom.V(1000, 300, 20)}

func upright(x, y, z0, z1, r float64) Bar { return Bar{geom.V(x, y, z0), geom.V(x, y, z1), r} }

func TestCarveHole(t *testing.T) {
	c := Carve(shelf, []Bar{upright(100, 100, -50, 500, 10)})
	require.Equal(t, []Meeting{Through}, c.Met)
	require.Len(t, c.Holes, 1)
	assert.InDelta(t, 20+HoleAllowance, c.Holes[0].Diameter, 1e-9)
	assert.Equal(t, geom.V(100, 100, 0), c.Holes[0].At)
	assert.Equal(t, []geom.Box{shelf}, c.Boxes, "a hole away from the edges leaves the board one box")
	r := 10 + HoleAllowance/2
	assert.InDelta(t, 1000*300*20-math.Pi*r*r*20, c.Volume(), 1)
}

func TestCarveNotchAtAnEdge(t *testing.T) {
	c := Carve(shelf, []Bar{upright(500, 5, -50, 500, 10)})
	require.Equal(t, []Meeting{Through}, c.Met)
	r := 10 + HoleAllowance/2
	for _, b := range c.Boxes {
		assert.False(t, b.Contains(geom.V(500, 2, 10)), "the notch is open to the front edge")
	}
	// A U-shaped notch: a rectangle from the edge to the middle, and half a disc behind it.
	want := 1000*300*20 - (2*r*5+math.Pi*r*r/2)*20
	assert.InDelta(t, want, c.Volume(), 0.01*2*r*r*20)
}

func TestCarvePocketForACollar(t *testing.T) {
	// A pipe of radius 10 under the board, its tee's collar of radius 14: the collar stands 4 mm into the wood.
	pipe := Bar{geom.V(-20, 150, -10), geom.V(1020, 150, -10), 10}
	collar := Bar{geom.V(480, 150, -10), geom.V(520, 150, -10), 14}
	c := Carve(shelf, []Bar{pipe, collar})
	require.Equal(t, []Meeting{Clear, Dents}, c.Met)
	assert.InDelta(t, 4+PocketAllowance, c.Deep[1], 1e-9)
	for _, b := range c.Boxes {
		assert.False(t, b.Contains(geom.V(500, 150, 1)))
	}
	total := 0.0
	for _, b := range c.Boxes {
		total += b.Volume()
	}
	assert.InDelta(t, total, c.Volume(), 1e-6)
}

func TestCarveTouchingAndWithin(t *testing.T) {
	c := Carve(shelf, []Bar{
		upright(100, 100, -50, 0, 10),                // a coupling whose end carries the board
		upright(200, 100, -50, 9, 10),                // an end that stands in the underside
		upright(300, 100, 5, 15, 10),                 // nothing can be made there
		{geom.V(-5, 50, 10), geom.V(500, 50, 10), 4}, // runs along inside
	})
	assert.Equal(t, []Meeting{Clear, Dents, Within, Within}, c.Met)
	assert.InDelta(t, 9+PocketAllowance, c.Holes[0].Depth, 1e-9)
}

// TestSubtractKeepsVolume checks the box sums that notches rest on: what is taken away and what is left add up.
func TestSubtractKeepsVolume(t *testing.T) {
	b := geom.Box{Max: geom.V(10, 20, 30)}
	for _, c := range []geom.Box{
		{Min: geom.V(2, 3, 4), Max: geom.V(5, 6, 7)}, {Min: geom.V(-1, -1, -1), Max: geom.V(5, 25, 35)},
		{Min: geom.V(9, 19, 29), Max: geom.V(11, 21, 31)}, {Min: geom.V(20, 0, 0), Max: geom.V(30, 5, 5)},
	} {
		left := 0.0
		for _, p := range b.Subtract(c) {
			left += p.Volume()
			assert.Zero(t, p.Intersect(c).Volume(), "a piece still meets what was cut")
		}
		assert.InDelta(t, b.Volume()-b.Intersect(c).Volume(), left, 1e-9)
	}
}
