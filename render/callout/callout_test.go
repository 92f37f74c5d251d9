package callout

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/render"
)

// randomMarks scatters n marks with one to four anchors each over a drawing of w x h at 20, 20.
func randomMarks(r *rand.Rand, n int, w, h float64) []Mark {
	marks := make([]Mark, n)
	for i := range marks {
		for range 1 + r.IntN(4) {
			marks[i].Anchors = append(marks[i].Anchors, Anchor{
				At: Point{X: 20 + r.Float64()*w, Y: 20 + r.Float64()*h}, Inside: r.Float64() * 3, ID: i})
		}
	}
	return marks
}

func layoutFor(w, h float64) Layout {
	return Layout{MinX: 10, MinY: 10, MaxX: 30 + w, MaxY: 30 + h, Radius: 4, Pitch: 10.6}
}

// TestPlaceRandom: whatever is scattered, no leaders cross, no balloon lies on another or on another's leader, every
// mark has its balloon, and every leader ends at one of its mark's anchors.
func TestPlaceRandom(t *testing.T) {
	const seed = 7
	for _, n := range []int{1, 5, 12, 25, 40} {
		t.Run(fmt.Sprintf("balloons=%d", n), func(t *testing.T) {
			r := rand.New(rand.NewPCG(seed, uint64(n)))
			for k := range 60 {
				w, h := 120+r.Float64()*60, 90+r.Float64()*50
				marks, l := randomMarks(r, n, w, h), layoutFor(w, h)
				bs := Place(marks, l)
				require.Len(t, bs, n, "seed %d, layout %d", seed, k)
				assert.Zero(t, Crossings(bs), "crossings, seed %d, layout %d", seed, k)
				assert.Zero(t, Overlaps(bs, l.Radius), "overlaps, seed %d, layout %d", seed, k)
				for _, b := range bs {
					assert.Contains(t, marks[b.Mark].Anchors, b.End)
					assert.InDelta(t, l.Radius, distance(b.Start, b.Centre), 1e-9, "the leader starts on the circle")
				}
			}
		})
	}
}

// TestPlaceWithPenalties: costs for passing over parts bring no crossing in.
func TestPlaceWithPenalties(t *testing.T) {
	const seed = 11
	r := rand.New(rand.NewPCG(seed, 1))
	for k := range 60 {
		marks, l := randomMarks(r, 30, 150, 120), layoutFor(150, 120)
		bars := []float64{40 + r.Float64()*30, 90 + r.Float64()*30}
		l.Over = func(a, b Point, id int) float64 { // two upright bars of 8 mm
			sum := 0.0
			for _, x := range bars {
				if (a.X-x)*(b.X-x) < 0 {
					sum += 8
				}
			}
			return sum
		}
		bs := Place(marks, l)
		assert.Zero(t, Crossings(bs), "seed %d, layout %d", seed, k)
		assert.Zero(t, Overlaps(bs, l.Radius), "seed %d, layout %d", seed, k)
	}
}

func TestPlaceIsRepeatable(t *testing.T) {
	marks, l := randomMarks(rand.New(rand.NewPCG(3, 3)), 40, 150, 120), layoutFor(150, 120)
	assert.Equal(t, Place(marks, l), Place(marks, l))
}

func TestPlaceLeavesOutWhatCannotBePointedAt(t *testing.T) {
	marks := []Mark{{Text: "1"}, {Text: "2", Anchors: []Anchor{{At: Point{X: 50, Y: 50}, Inside: 2}}}}
	bs := Place(marks, layoutFor(60, 60))
	require.Len(t, bs, 1)
	assert.Equal(t, 1, bs[0].Mark)
	assert.Nil(t, Place(nil, layoutFor(60, 60)))
}

// TestMoreMarksThanPlaces: the places are set closer until there are enough.
func TestMoreMarksThanPlaces(t *testing.T) {
	marks := randomMarks(rand.New(rand.NewPCG(5, 5)), 60, 100, 80)
	require.Less(t, len(layoutFor(100, 80).slotsAt(10.6)), 60)
	assert.Len(t, Place(marks, layoutFor(100, 80)), 60)
}

// TestAssignAgainstEveryPermutation compares with trying all ways, up to 7 rows and 9 columns.
func TestAssignAgainstEveryPermutation(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for k := range 200 {
		n := 1 + r.IntN(6)
		m := n + r.IntN(3)
		cost := make([][]float64, n)
		for i := range cost {
			cost[i] = make([]float64, m)
			for j := range cost[i] {
				cost[i][j] = math.Floor(r.Float64() * 20) // whole numbers: many ties
			}
		}
		got, used := 0.0, map[int]bool{}
		for i, j := range Assign(cost) {
			got += cost[i][j]
			assert.False(t, used[j], "column %d twice", j)
			used[j] = true
		}
		assert.Equal(t, leastSum(cost, 0, make([]bool, m)), got, "case %d: %v", k, cost)
	}
	assert.Empty(t, Assign(nil))
}

func leastSum(cost [][]float64, i int, used []bool) float64 {
	if i == len(cost) {
		return 0
	}
	least := math.Inf(1)
	for j := range used {
		if !used[j] {
			used[j] = true
			least = min(least, cost[i][j]+leastSum(cost, i+1, used))
			used[j] = false
		}
	}
	return least
}

// TestLeastLengthDoesNotCross: with plain lengths the assignment alone has no crossing (triangle inequality), and
// putting each balloon at its nearest free place has many.
func TestLeastLengthDoesNotCross(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	greedy := 0
	for range 40 {
		l := layoutFor(150, 120)
		slots := l.slots(30)
		points := make([]Point, 30)
		cost := make([][]float64, 30)
		for i := range points {
			points[i] = Point{X: 20 + r.Float64()*150, Y: 20 + r.Float64()*120}
			for _, s := range slots {
				cost[i] = append(cost[i], distance(points[i], s.at))
			}
		}
		assert.Zero(t, crossingsOf(points, slots, Assign(cost)))
		greedy += crossingsOf(points, slots, nearestFree(cost))
	}
	assert.Greater(t, greedy, 100)
}

func nearestFree(cost [][]float64) []int {
	used := make([]bool, len(cost[0]))
	out := make([]int, len(cost))
	for i := range cost {
		best := -1
		for j := range used {
			if !used[j] && (best < 0 || cost[i][j] < cost[i][best]) {
				best = j
			}
		}
		used[best], out[i] = true, best
	}
	return out
}

func crossingsOf(points []Point, slots []slot, to []int) int {
	n := 0
	for i := range points {
		for j := range i {
			if segmentsWithin(points[i], slots[to[i]].at, points[j], slots[to[j]].at, 0) {
				n++
			}
		}
	}
	return n
}

func TestPlane(t *testing.T) {
	p := func(x, y float64) Point { return Point{X: x, Y: y} }
	assert.InDelta(t, 3, fromSegment(p(5, 3), p(0, 0), p(10, 0)), 1e-12)
	assert.InDelta(t, 5, fromSegment(p(-3, 4), p(0, 0), p(10, 0)), 1e-12)
	assert.InDelta(t, 5, fromSegment(p(3, 4), p(0, 0), p(0, 0)), 1e-12)
	assert.True(t, segmentsWithin(p(0, 0), p(10, 10), p(0, 10), p(10, 0), 0))
	assert.False(t, segmentsWithin(p(0, 0), p(10, 0), p(0, 2), p(10, 2), 1))
	assert.True(t, segmentsWithin(p(0, 0), p(10, 0), p(0, 2), p(10, 2), 3))
}

// buffers makes buffers of a picture as text; letters are ids.
func buffers(picture string) *render.Buffers {
	lines := strings.Fields(picture)
	b := &render.Buffers{Width: len(lines[0]), Height: len(lines), PixelMM: 1}
	for _, l := range lines {
		for _, c := range l {
			id := 0
			if c != '.' {
				id = int(c-'a') + 1
				b.Packed = append(b.Packed, render.Pack(id, geom.AxisZ))
			} else {
				b.Packed = append(b.Packed, 0)
			}
			b.Depth = append(b.Depth, 0)
		}
	}
	return b
}

// TestMeasure: the place of a region is where a disc fits best, in the region itself even when its middle is hidden.
func TestMeasure(t *testing.T) {
	b := buffers(`
		................................
		.aaaaaaaaaa.....................
		.aaaaaaaaaa..bbb.............bbb
		.aaaaaaaaaa..bbb.............bbb
		.aaaaaaaaaa..bbbcccccccccccccbbb
		.aaaaaaaaaa..bbbcccccccccccccbbb
		.aaaaaaaaaa..bbbcccccccccccccbbb
		..........a..bbbbbbbbbbbbbbbbbbb
		..........a..bbbbbbbbbbbbbbbbbbb
		..........a..bbbbbbbbbbbbbbbbbbb
		..............d.................`)
	r := Measure(b, 5, 1)
	assert.Equal(t, []int{0, 65 - 2, 87, 39, 1, 0}, []int{r.Pixels[0], r.Pixels[1], r.Pixels[2], r.Pixels[3], r.Pixels[4], r.Pixels[5]})
	assert.InDelta(t, 3, r.Inside[1], 0.01, "of a, 6 high")
	assert.InDelta(t, 4, r.At[1].Y, 0.6)
	assert.InDelta(t, 2, r.Inside[3], 0.01, "of c, 3 high")
	assert.InDelta(t, 22.5, r.At[3].X, 0.1, "half-way along")
	for id := 1; id <= 4; id++ {
		at := r.At[id]
		assert.Equal(t, id, b.ID(int(at.Y)*b.Width+int(at.X)), "the place of %d lies on it", id)
	}
	assert.Zero(t, r.Inside[5], "what is not seen has no place")
	assert.Empty(t, r.More[1], "a is not long")

	row := "." + strings.Repeat("a", 62) + "."
	long := buffers(strings.Join([]string{strings.Repeat(".", 64), row, row, row, strings.Repeat(".", 64)}, "\n"))
	r = Measure(long, 1, 1)
	require.Len(t, r.More[1], 2)
	assert.InDelta(t, 64, r.More[1][0].X+r.More[1][1].X, 2.1, "the same way to either side")
	assert.InDelta(t, 30, math.Abs(r.More[1][0].X-r.More[1][1].X), 2)
	for _, p := range r.More[1] {
		assert.InDelta(t, 2.5, p.Y, 0.01, "on the middle line")
	}
}

// TestInsideAgainstTrueDistances: chamfer distances are within 6 percent and a pixel of the true ones.
func TestInsideAgainstTrueDistances(t *testing.T) {
	const w, h = 48, 40
	r := rand.New(rand.NewPCG(4, 4))
	ids := make([]int32, w*h)
	for i := range ids {
		ids[i] = 1
	}
	for range 9 {
		ids[r.IntN(len(ids))] = 2
	}
	d := inside(ids, w, h)
	for i, id := range ids {
		if id != 1 {
			continue
		}
		want := math.Inf(1)
		for y := -1; y <= h; y++ {
			for x := -1; x <= w; x++ {
				if x < 0 || y < 0 || x >= w || y >= h || ids[y*w+x] != 1 {
					want = min(want, math.Hypot(float64(x-i%w), float64(y-i/w)))
				}
			}
		}
		require.InEpsilon(t, want, float64(d[i])/straight, 0.07, "at %d, %d", i%w, i/w)
	}
}

func BenchmarkPlace(b *testing.B) {
	for _, n := range []int{12, 25, 40} {
		marks, l := randomMarks(rand.New(rand.NewPCG(1, uint64(n))), n, 150, 120), layoutFor(150, 120)
		b.Run(fmt.Sprintf("balloons=%d", n), func(b *testing.B) {
			for b.Loop() {
				Place(marks, l)
			}
		})
	}
}

// TestStaysOnItsSide: a balloon stays on the side on which it stood before, where that is not much longer; and none is put
// where something is already.
func TestStaysOnItsSide(t *testing.T) {
	l := Layout{MaxX: 100, MaxY: 100, Radius: 3, Pitch: 12}
	mark := Mark{Text: "1", Anchors: []Anchor{{At: Point{X: 52, Y: 50}, Inside: 2}}}
	for _, was := range []Side{Left, Right} {
		mark.Was, mark.Stood = was, true
		assert.Equal(t, was, Place([]Mark{mark}, l)[0].Side)
	}
	mark.Anchors[0].At.X = 80
	mark.Was = Left
	assert.Equal(t, Right, Place([]Mark{mark}, l)[0].Side, "not at any price")
	l.Taken = func(at Point) bool { return at.X > 90 }
	assert.NotEqual(t, Right, Place([]Mark{mark}, l)[0].Side)
}
