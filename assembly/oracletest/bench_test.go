package oracletest

import (
	"fmt"
	"math"
	"os"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/sequence"
)

// gridText is a flat grid of wide x high fittings that stands off the floor. Uprights and the lowest rail are plain; every
// other rail has a union, one for each loop.
func gridText(wide, high int) string {
	var points, runs []string
	name := func(x, z int) string { return fmt.Sprintf("n%d_%d", x, z) }
	for x := range wide {
		for z := range high {
			points = append(points, fmt.Sprintf("%s: %d, 500, %d", name(x, z), 500+320*x, 300+320*z))
			if z+1 < high {
				runs = append(runs, fmt.Sprintf("up%d_%d: %s to %s", x, z, name(x, z), name(x, z+1)))
			}
			if x+1 < wide && z == 0 {
				runs = append(runs, fmt.Sprintf("rail%d_%d: %s to %s", x, z, name(x, z), name(x+1, z)))
			} else if x+1 < wide {
				runs = append(runs, fmt.Sprintf("rail%d_%d: %s to union to %s", x, z, name(x, z), name(x+1, z)))
			}
		}
	}
	return "units: mm\nthread: npt\npipe: 3/4\npoints:\n  " + strings.Join(points, "\n  ") + "\nruns:\n  " + strings.Join(runs, "\n  ") + "\n"
}

// grids are frames of about 80, 300 and 1,000 bodies.
var grids = [][2]int{{4, 5}, {8, 8}, {13, 14}}

func gridOf(t testing.TB, g [2]int) *assembly.Assembly {
	a, err := solved(gridText(g[0], g[1]))
	require.NoError(t, err)
	return a
}

// TestGridsAreProven: grid frames with a union in every loop are planned and proved, with as many loops as the formula
// says: pipes - fittings + 1, a rail with its union counted as one pipe.
func TestGridsAreProven(t *testing.T) {
	sizes := grids[:2]
	if testing.Short() {
		sizes = grids[:1]
	}
	for _, g := range sizes {
		w := work(t, gridOf(t, g))
		require.Empty(t, w.stop())
		assert.Empty(t, failures(w.report))
		assert.Len(t, w.order.Loops, (g[0]-1)*(g[1]-1))
	}
}

// BenchmarkPlanAndProve plans a frame, writes the plan, reads it back and proves it, solids included.
func BenchmarkPlanAndProve(b *testing.B) {
	for _, g := range grids {
		a := gridOf(b, g)
		b.Run(fmt.Sprintf("bodies=%d", len(a.Parts)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				w := work(b, a)
				require.True(b, w.report.OK())
			}
		})
	}
	for _, name := range []string{"theatre-wardrobe-bay", "bakery-alcove-shelves"} {
		text, err := os.ReadFile("../../examples/" + name + ".yaml")
		require.NoError(b, err)
		a, err := solved(string(text))
		require.NoError(b, err)
		b.Run(fmt.Sprintf("design=%s/bodies=%d", name, len(a.Parts)), func(b *testing.B) {
			for b.Loop() {
				w := work(b, a)
				require.True(b, w.report.OK())
			}
		})
	}
}

// BenchmarkGrowth measures the exponent with which the time of planning, and of planning and proving, grows with the
// number of bodies of grid frames, from about 300 to about 1,000, and the planner's memory at 1,000.
func BenchmarkGrowth(b *testing.B) {
	small, large := gridOf(b, grids[1]), gridOf(b, grids[2])
	ratio := math.Log(float64(len(large.Parts)) / float64(len(small.Parts)))
	b.ReportAllocs()
	for b.Loop() {
		planSmall, _ := planOnly(b, small)
		planLarge, bytes := planOnly(b, large)
		all := func(a *assembly.Assembly) time.Duration {
			start := time.Now()
			require.True(b, work(b, a).report.OK())
			return time.Since(start)
		}
		allSmall, allLarge := all(small), all(large)
		b.ReportMetric(math.Log(planLarge.Seconds()/planSmall.Seconds())/ratio, "exponent-plan")
		b.ReportMetric(math.Log(allLarge.Seconds()/allSmall.Seconds())/ratio, "exponent-proven")
		b.ReportMetric(float64(bytes)/(1<<20), "MiB-allocated")
	}
}

// planOnly plans and returns the time taken and the bytes allocated, which bound the memory held.
func planOnly(b *testing.B, a *assembly.Assembly) (time.Duration, uint64) {
	in := sequence.Input{Assembly: a, Outlines: outlines(b, a)}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	r := sequence.Plan(in)
	d := time.Since(start)
	runtime.ReadMemStats(&after)
	require.NotEmpty(b, r.Steps)
	return d, after.TotalAlloc - before.TotalAlloc
}
