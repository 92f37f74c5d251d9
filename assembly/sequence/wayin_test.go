package sequence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// TestPasses checks boxes against openings: squarely, slanted, and not at all.
func TestPasses(t *testing.T) {
	for _, c := range []struct {
		size  geom.Vec
		w, h  float64
		ok    bool
		short float64
	}{
		{geom.V(3000, 27, 27), 800, 2000, true, 0},   // a pipe, lengthwise
		{geom.V(2400, 1200, 18), 800, 2000, true, 0}, // a sheet on edge
		{geom.V(2400, 2100, 900), 800, 2000, false, 100},
		{geom.V(2400, 2000, 850), 800, 2000, false, 50},
		// Thin sheets go through corner to corner: up to the diagonal, less what their thickness takes.
		{geom.V(3000, math.Hypot(800, 2000)-1, 0.5), 800, 2000, true, 0},
		{geom.V(3000, math.Hypot(800, 2000)+1, 0), 800, 2000, false, math.Hypot(800, 2000) + 1 - 2000},
	} {
		short, ok := fitsThrough(c.size, c.w, c.h)
		assert.Equal(t, c.ok, ok, "%v", c)
		assert.InDelta(t, c.short, short, 1e-9, "%v", c)
	}
}

// TestPassesAgainstTurning compares the rule for slanted rectangles with turning them: p cos f + q sin f wide and
// p sin f + q cos f high.
func TestPassesAgainstTurning(t *testing.T) {
	const w, h = 700.0, 1000.0
	for p := 300.0; p < 1300; p += 37 {
		for q := 10.0; q <= p; q += 41 {
			turned := false
			for deg := 0.0; deg <= 90 && !turned; deg += 0.05 {
				sin, cos := math.Sincos(deg * math.Pi / 180)
				turned = p*cos+q*sin <= h+1e-9 && p*sin+q*cos <= w+1e-9
			}
			_, ok := fitsThrough(geom.V(5000, p, q), w, h)
			if ok != turned { // turning in steps of 1/20 degree may miss a slant that just fits
				_, tight := fitsThrough(geom.V(5000, p+1, q+1), w, h)
				require.True(t, ok && !tight, "%g x %g", p, q)
			}
		}
	}
}

// TestWayIn: a board that does not pass the door stops the plan, a frame that does not is put together inside.
func TestWayIn(t *testing.T) {
	k := table()
	k.a.Room.WayInMM = [2]float64{500, 700}
	r := Plan(k.input())
	require.NotEmpty(t, r.Steps)
	var found []assembly.Finding
	for _, f := range r.Findings {
		if f.Code == "WAY-IN" {
			found = append(found, f)
		}
	}
	require.NotEmpty(t, found)
	for _, f := range found {
		assert.Equal(t, assembly.Note, f.Severity)
	}

	k.a.Room.WayInMM = [2]float64{400, 400}
	r = Plan(k.input())
	var stop []assembly.Finding
	for _, f := range r.Findings {
		if f.Code == "WAY-IN" && f.Severity == assembly.Stop {
			stop = append(stop, f)
		}
	}
	require.Len(t, stop, 1)
	assert.Equal(t, []string{"top"}, stop[0].Parts)
	assert.InDelta(t, 650-400, stop[0].Values["missing_mm"], 1e-9)
	assert.Empty(t, r.Steps)
}
