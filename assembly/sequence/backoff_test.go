package sequence

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// poles are posts from floor to ceiling, at places along x, tied by a rail each to the next.
func poles(high float64, xs ...float64) *kit {
	k := newKit()
	k.room(floor(), geom.Box{Min: geom.V(-3000, -6000, high), Max: geom.V(5000, 3000, high+50)})
	for i, x := range xs {
		low, top := fmt.Sprintf("low%d", i), fmt.Sprintf("top%d", i)
		k.flange(low, geom.V(x, 0, 0), ez)
		k.flange(top, geom.V(x, 0, high), mz)
		if len(xs) == 1 {
			k.pipe("post", low, top, ez)
		} else {
			tee := fmt.Sprintf("tee%d", i)
			k.fitting(tee, "tee", geom.V(x, 0, high/2), ez, mz, []geom.Vec{ex, mx}[i])
			k.pipe("stand"+tee, low, tee, ez)
			k.pipe("hang"+tee, tee, top, ez)
		}
		k.join(assembly.Face, low, "face", "room", "")
		k.join(assembly.Face, top, "face", "room", "")
	}
	if len(xs) == 2 {
		k.pipe("rail", "tee0", "tee1", ex)
	}
	return k
}

// adjusted lists the steps that turn a flange back, and checks that each is followed by screwing it down.
func adjusted(t *testing.T, steps []assembly.Step) []assembly.Step {
	var out []assembly.Step
	for i, s := range steps {
		if s.Action == assembly.Adjust {
			out = append(out, s)
			require.Less(t, i+1, len(steps))
			assert.Equal(t, assembly.Fasten, steps[i+1].Action)
		}
	}
	return out
}

// TestExactlyBetweenFloorAndCeiling: a post of length H with flanges D across is stood up under sqrt(H^2 + D^2) and the
// margin. One flange a turn deeper takes a pitch off H, both take two. With 1.814 mm to the turn and D = 89, a room of
// 2,300 mm asks for 2300 - (sqrt(H^2 + 89^2) + 1): it lacks 0.91 with one flange deeper and has 0.91 to spare with both;
// in a room of 1,000.5 mm it lacks 1.34. Closed form.
func TestExactlyBetweenFloorAndCeiling(t *testing.T) {
	spare := func(room float64, deeper int) float64 {
		return room - math.Hypot(room-float64(deeper)*kitPitch, kitAcross) - margin
	}
	assert.InDelta(t, -0.91, spare(2300, 1), 0.01)
	assert.InDelta(t, 0.91, spare(2300, 2), 0.01)
	for _, c := range []struct {
		room float64
		xs   []float64
	}{{2300, []float64{0}}, {2440, []float64{0}}, {1600, []float64{0}}, {2300, []float64{0, 900}}} {
		require.Positive(t, spare(c.room, 2))
		steps := planned(t, poles(c.room, c.xs...))
		assert.Len(t, adjusted(t, steps), 2*len(c.xs), "both ends, room of %g", c.room)
		assert.Len(t, standUps(steps), 1)
	}
	const wide = 5000.0
	assert.Positive(t, spare(wide, 1))
	assert.Len(t, adjusted(t, planned(t, poles(wide, 0))), 1, "one end is enough")

	const low = 1200.0
	require.Negative(t, spare(low, 2))
	r := Plan(poles(low, 0).input())
	assert.Empty(t, r.Steps)
	require.Len(t, r.Findings, 1)
	assert.Equal(t, "TILT", r.Findings[0].Code)
	assert.InDelta(t, -spare(low, 2), r.Findings[0].Values["missing_mm"], 0.05)
}
