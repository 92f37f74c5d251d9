package solve

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

func stockOf(t *testing.T, a *assembly.Assembly, pipe string) *assembly.Stock {
	t.Helper()
	for _, p := range a.Pipes {
		if p.Part == pipe {
			return p.Stock
		}
	}
	require.Fail(t, "no pipe "+pipe)
	return nil
}

// moves are the shifts of points, in inches of the design's axes.
func moves(st *assembly.Stock) map[string]geom.Vec {
	out := map[string]geom.Vec{}
	for _, m := range st.Moves {
		out[m.Point] = geom.V(round(m.By.X/25.4), round(-m.By.Y/25.4), round(m.By.Z/25.4))
	}
	return out
}

func round(x float64) float64 { return math.Round(x*1e4)/1e4 + 0 }

// TestStockRectangle: four posts' worth of moving, worked by hand. A free rectangle 40 x 20 stands on the floor with its
// left post held by an arm to the left wall; its lower rail becomes longer when its upper one does.
func TestStockRectangle(t *testing.T) {
	a := solved(t, measured+`
points:
  foot-l: 5, 5, floor
  foot-r: 45, 5, floor
  low-l: foot-l, z = 10
  low-r: foot-r, z = 10
  top-l: foot-l, z = 30
  top-r: foot-r, z = 30
  w: top-l, x = left
runs:
  pl: foot-l to top-l
  pr: foot-r to top-r
  low: low-l to union to low-r
  top: top-l to top-r
  arm: top-l to w
`)
	// top: 40 - 0.75 - 0.75 = 38.5; stock 36: the right post comes in by 2.5, and nothing else.
	st := stockOf(t, a, "top.1")
	require.NotNil(t, st)
	assert.InDelta(t, 36, inches(st.LengthMM), 1e-9)
	assert.Equal(t, map[string]geom.Vec{"foot-r": {X: -2.5}, "low-r": {X: -2.5}, "top-r": {X: -2.5}}, moves(st))
	// lower posts, both alike: 10 - 0.25 - 0.75 = 9; a stock length.
	st = stockOf(t, a, "pl.1")
	require.NotNil(t, st)
	assert.Empty(t, st.Moves)
	assert.True(t, part(t, a, "pl.1").Stock)
	// upper posts: 20 - 1.5 = 18.5; stock 18. The low rail or the top ones move: the low rail has the fewer points.
	st = stockOf(t, a, "pr.2")
	require.NotNil(t, st)
	assert.Equal(t, map[string]geom.Vec{"low-l": {Z: 0.5}, "low-r": {Z: 0.5}}, moves(st))
	// the two halves of the low rail: 20 - 0.75 - 0.5 = 18.75; each loses 0.75, the right post comes in by 1.5.
	st = stockOf(t, a, "low.1")
	require.NotNil(t, st)
	assert.InDelta(t, 18, inches(st.LengthMM), 1e-9)
	assert.Equal(t, map[string]geom.Vec{"foot-r": {X: -1.5}, "low-r": {X: -1.5}, "top-r": {X: -1.5}}, moves(st))
	// the arm: 5 - 0.75 - 0.25 = 4, stock as it is.
	assert.Empty(t, stockOf(t, a, "arm.1").Moves)
}

// TestStockHeld: between two walls nothing can move, nor can a given cut.
func TestStockHeld(t *testing.T) {
	a := solved(t, rodDesign)
	assert.Nil(t, stockOf(t, a, "rod.1"))
	a = solved(t, measured+`
points:
  foot-l: 5, 5, floor
  foot-r: foot-l, x + ?
  top-l: foot-l, z = 30.6
  top-r: foot-r, z = 30.6
  low-l: foot-l, z = 10
  low-r: foot-r, z = 10
runs:
  pl: foot-l to top-l
  pr: foot-r to top-r
  top: top-l to top-r
  low: {path: low-l to union to low-r, cut: 7.3 then 9.2}
`)
	assert.Nil(t, stockOf(t, a, "top.1"), "the given cuts of the low rail would not hold")
	require.NotNil(t, stockOf(t, a, "pl.2"))
}

// TestStockTakenUp: where a neighbour is cut to what is left, it takes the difference up and nothing moves.
func TestStockTakenUp(t *testing.T) {
	a := solved(t, measured+`
room: {right: 40}
points:
  a: left, 5, 40
  b: right, 5, 40
runs:
  r: {path: a to union to b, cut: 5.9 then rest}
`)
	st := stockOf(t, a, "r.1")
	require.NotNil(t, st)
	assert.InDelta(t, 6, inches(st.LengthMM), 1e-9)
	assert.Empty(t, st.Moves)
	assert.False(t, part(t, a, "r.1").Stock, "it is not cut so yet")
}

// TestStockOfTheShop: the design's own list of lengths; the longest is the full stick.
func TestStockOfTheShop(t *testing.T) {
	a := solved(t, `
pipe: 1/2
points:
  a: 5, 5, floor
  b: a, z = 40
runs:
  r: a to b
parts:
  1/2: {stock: "33, 41, 252", engagement: 1/2}
  1/2 flange: {height: 3/4}
`)
	st := stockOf(t, a, "r.1")
	require.NotNil(t, st)
	assert.InDelta(t, 41, inches(st.LengthMM), 1e-9)
	assert.Equal(t, map[string]geom.Vec{"b": {Z: 1.25}}, moves(st))
}

// TestStockSlope: along a stair the moved end keeps to the slope, and to the leaning wall it sits on.
func TestStockSlope(t *testing.T) {
	a := solveBrief(t, "cellar-handrail-in-a-village-hall")
	st := stockOf(t, a, "rail.3") // 18.36, nearest 18: the far end comes back 0.36 in along the slope 0.8, 0.6
	require.NotNil(t, st)
	assert.Equal(t, map[string]geom.Vec{"wall-4": {X: -0.288, Z: -0.216}, "rail-4": {X: -0.288, Z: -0.216}}, moves(st))
	a = solved(t, measured+`
room:
  left: 0 at z 0, 1 at z 100
points:
  w: left, 5, 10
  v: left, 5, 49.8
  c: w, x = 20
  d: v, x = 20
runs:
  lower: w to c
  upper: v to d
  post: c to d
`)
	st = stockOf(t, a, "post.1") // 39.8 - 1.5 = 38.3, stock 36: one arm moves 2.3 along the post, its flange along the wall
	require.NotNil(t, st)
	got := moves(st)
	require.Len(t, got, 2)
	for _, end := range [][2]string{{"w", "c"}, {"v", "d"}} {
		if by, ok := got[end[0]]; ok {
			assert.InDelta(t, 2.3, math.Abs(by.Z), 1e-4)
			assert.InDelta(t, by.Z/100, by.X, 1e-4, "the wall leans 1 in 100")
			assert.Equal(t, 0., got[end[1]].X)
		}
	}
}

// TestStockMovesHold solves the moved frame anew from coordinates: with every point where the shift puts it, the pipes
// have the stock length, and all others the length they are said to need.
func TestStockMovesHold(t *testing.T) {
	// All points by coordinates, so that the moved design can be written down again.
	at := map[string][3]float64{
		"a": {0, 0, 0}, "b": {0, 0, 30.2}, "c": {40.3, 0, 30.2}, "d": {40.3, 0, 3}, "e": {40.3, 17.7, 30.2}, "f": {0, 17.7, 30.2},
	}
	order := []string{"a", "b", "c", "d", "e", "f"}
	write := func(by map[string]geom.Vec) string {
		text := measured + "points:\n"
		for _, n := range order {
			p := at[n]
			text += fmt.Sprintf("  %s: %.6f, %.6f, %.6f\n", n, p[0]+by[n].X, p[1]+by[n].Y, p[2]+by[n].Z)
		}
		return text + "runs:\n  ab: a to b\n  bc: b to union to c\n  cd: c to d\n  ce: c to e\n  ef: e to f\n  fb: f to b\n"
	}
	a := solved(t, write(nil))
	tried := 0
	for _, p := range a.Pipes {
		if p.Stock == nil || len(p.Stock.Moves) == 0 {
			continue
		}
		tried++
		b := solved(t, write(moves(p.Stock)))
		assert.InDelta(t, p.Stock.LengthMM, part(t, b, p.Part).LengthMM, 0.02, p.Part)
		assertSound(t, b)
	}
	assert.GreaterOrEqual(t, tried, 4)
}

// TestStockOfTheBriefs: what the briefs say of stock nipples. 7 in ones as the lower legs of the potting bench raise the
// knees by 0.02; 18 in ones as the drops of the wheel rail would bring it to 77.69, 77.32 and 76.94.
func TestStockOfTheBriefs(t *testing.T) {
	a := solveBrief(t, "allotment-shed-potting-bench")
	st := stockOf(t, a, "high.leg-back.1")
	require.NotNil(t, st)
	assert.InDelta(t, 7, inches(st.LengthMM), 1e-9)
	got := moves(st)
	for _, n := range []string{"high.knee-back", "high.knee-front", "high.mid"} {
		assert.Equal(t, geom.V(0, 0, 0.02), got[n], n)
	}
	assert.NotContains(t, got, "high.foot-back", "the feet stand")
	assert.NotContains(t, got, "high.head-back", "the upper legs take it up")

	a = solveBrief(t, "bike-workshop-wheel-rail-hung-from-ceiling")
	for i, want := range []float64{77.69, 77.32, 76.94} {
		st := stockOf(t, a, fmt.Sprintf("drop-%d.1", i+1))
		require.NotNil(t, st)
		assert.InDelta(t, 18, inches(st.LengthMM), 1e-9)
		point := fmt.Sprintf("rail-%d", i+1)
		assert.InDelta(t, want, inches(a.Points[point].Z)+moves(st)[point].Z, 0.006)
		assert.NotContains(t, moves(st), fmt.Sprintf("hook-%d", i+1), "the ceiling holds")
	}
	a = solveBrief(t, "record-library-in-an-alcove")
	st = stockOf(t, a, "post-back-left.6") // 2.94: the 3 in nipple brings the tie to 68.06
	require.NotNil(t, st)
	assert.InDelta(t, 68.06, inches(a.Points["tie-left"].Z)+moves(st)["tie-left"].Z, 1e-4)
	st = stockOf(t, a, "post-back-left.3") // 12 in nipples: a pitch of 12.28 in place of 14.75
	require.NotNil(t, st)
	for i := 1; i < 5; i++ {
		low, high := fmt.Sprintf("level-%d.back-left", i), fmt.Sprintf("level-%d.back-left", i+1)
		pitch := inches(a.Points[high].Z-a.Points[low].Z) + moves(st)[high].Z - moves(st)[low].Z
		assert.InDelta(t, 12.28, pitch, 0.001)
	}
}

// TestStockSticks: each size is told once, with the longest length that the design lists, else the mill's single random
// length of 21 ft (common practice, no source).
func TestStockSticks(t *testing.T) {
	const frame = `
points:
  foot: 5, 5, floor
  top: foot, z = 30
  end: top, x = 45
runs:
  post: foot to top to end
`
	for text, want := range map[string]float64{"": 252, "  3/4 pipe: {stock: \"48, 120\"}\n": 120} {
		a := solved(t, measured+text+frame)
		require.Len(t, a.Sticks, 1)
		assert.Equal(t, standard.Size("3/4"), a.Sticks[0].Size)
		assert.InDelta(t, want, inches(a.Sticks[0].LengthMM), 1e-9)
		assert.NotEmpty(t, a.Sticks[0].Source)
	}
}
