package sequence

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// mayClose says that a pipe may be divided in a line of the design. Pipes of one line are copies.
func (k *kit) mayClose(line int, pipes ...string) {
	for _, id := range pipes {
		for _, kind := range []standard.Kind{standard.Union, standard.RightLeft, standard.LongScrew} {
			k.a.Closings = append(k.a.Closings, assembly.Closing{
				Part: id, Kind: kind, From: "one", To: "other", At: fmt.Sprintf("x.yaml:%d:1", line),
				Splices: []assembly.Splice{{Line: line, Col: 5, Insert: string(kind) + " to "}},
			})
		}
	}
}

// TestCheapestCloser: the finding proposes the rung that carries nothing, not the one with a board, nor a post.
func TestCheapestCloser(t *testing.T) {
	k := rectangle(false, 900, 600)
	k.board("shelf", geom.V(50, -100, 600+kitOD/2), geom.V(850, 100, 620))
	k.join(assembly.Rest, "shelf", "", "top.1", "")
	k.mayClose(10, "left.1")
	k.mayClose(11, "top.1")
	k.mayClose(12, "low.1")
	r := Plan(k.input())
	require.Len(t, r.Findings, 1)
	f := r.Findings[0]
	require.NotEmpty(t, f.Repairs)
	assert.Equal(t, 12, f.Repairs[0].Splices[0].Line)
	assert.Equal(t, "union to ", f.Repairs[0].Splices[0].Insert)
	assert.Equal(t, "x.yaml:12:1", f.At)
	assert.Equal(t, f.Values["set_points"], f.Values["bound_points"])
	assert.Contains(t, f.Text, "at y 0 mm")
	assert.Contains(t, f.Text, "x 0 mm to 900 mm")
}

// TestAvoidedCloser: what the design does not want is not proposed; where that leaves nothing, the ways round are.
func TestAvoidedCloser(t *testing.T) {
	k := rectangle(false, 900, 600)
	k.mayClose(12, "low.1")
	k.a.Avoid = []assembly.Avoided{{What: "union", Allow: []assembly.Splice{{Line: 2, Col: 1, Insert: "# "}}}}
	f := Plan(k.input()).Findings[0]
	for _, r := range f.Repairs {
		assert.NotContains(t, r.Splices[0].Insert, "union")
	}
	assert.Equal(t, "long-screw to ", f.Repairs[0].Splices[0].Insert, "it needs no room along the axis")

	k.a.Avoid = append(k.a.Avoid, assembly.Avoided{What: "right-left"}, assembly.Avoided{What: "long-screw"})
	f = Plan(k.input()).Findings[0]
	require.Len(t, f.Repairs, 2)
	assert.Contains(t, f.Text, "low.1 (every piece for it is under avoid)")
	assert.Contains(t, f.Text, "left.1 (its length is given, or it has a piece already)")
	assert.Contains(t, f.Repairs[0].Text, "take the word off the avoid list")
	assert.Equal(t, []int{2, 12}, []int{f.Repairs[0].Splices[0].Line, f.Repairs[0].Splices[1].Line})
	assert.Contains(t, f.Repairs[1].Text, "flange")
}

// TestCopiesPay: a line that divides a pipe in two copies costs twice, and closes a ring in both.
func TestCopiesPay(t *testing.T) {
	k := newKit()
	for i := range 2 {
		n := fmt.Sprint(i)
		y := float64(i) * 400
		k.fitting("a"+n, "elbow", geom.V(0, y, 0), ex, ez)
		k.fitting("b"+n, "elbow", geom.V(900, y, 0), mx, ez)
		k.fitting("c"+n, "elbow", geom.V(900, y, 600), mx, mz)
		k.fitting("d"+n, "elbow", geom.V(0, y, 600), ex, mz)
		k.pipe("low"+n, "a"+n, "b"+n, ex)
		k.pipe("left"+n, "a"+n, "d"+n, ez)
		k.pipe("right"+n, "b"+n, "c"+n, ez)
		k.pipe("top"+n, "d"+n, "c"+n, ex)
	}
	k.mayClose(7, "top0", "top1")
	r := Plan(k.input())
	require.Len(t, r.Findings, 2)
	one := r.Findings[0]
	assert.Contains(t, one.Repairs[0].Text, "2 copies")
	assert.Len(t, one.Repairs[0].Splices, 1)
	both := one.Values["set_points"]
	assert.GreaterOrEqual(t, both, 2.0*pricePiece)

	k.a.Closings = nil
	k.mayClose(7, "top0")
	k.mayClose(8, "top1")
	f := Plan(k.input()).Findings[0]
	assert.InDelta(t, both, f.Values["set_points"], 1e-9, "two lines of one pipe each cost as much")
	assert.Len(t, f.Repairs[0].Splices, 2)
}

// TestUnionComesLast: in a ring with one union the union's nut is the last thing done, and no thread is turned twice.
func TestUnionComesLast(t *testing.T) {
	k := rectangle(true, 900, 600)
	steps := planned(t, k)
	var last []string // joints of the last step that closes any
	closed := map[string]int{}
	for _, s := range steps {
		assert.NotEqual(t, assembly.Adjust, s.Action)
		if len(s.Joints) > 0 {
			last = s.Joints
		}
		for _, j := range s.Joints {
			closed[j]++
		}
	}
	assert.Equal(t, []string{"j3"}, last)
	for _, j := range k.a.Joints {
		assert.Equal(t, 1, closed[j.ID], j.ID)
	}
}

// TestRingsOfCopiedSquares: rings found one after another are short and each has a joint of its own: a ladder of m
// rungs gives m - 1 rings of two posts and two rungs each.
func TestRingsOfCopiedSquares(t *testing.T) {
	const m = 6
	k := newKit()
	for i := range m {
		z := float64(i) * 400
		for side, in := range []geom.Vec{ex, mx} {
			dirs := []geom.Vec{in}
			if i > 0 {
				dirs = append(dirs, mz)
			}
			if i < m-1 {
				dirs = append(dirs, ez)
			}
			k.fitting(fmt.Sprint("n", side, i), "tee", geom.V(float64(side)*600, 0, z), dirs...)
		}
		k.pipe(fmt.Sprint("rung", i), fmt.Sprint("n", 0, i), fmt.Sprint("n", 1, i), ex)
		k.mayClose(10+i, fmt.Sprint("rung", i))
	}
	for i := 1; i < m; i++ {
		for side := range 2 {
			k.pipe(fmt.Sprint("post", side, i), fmt.Sprint("n", side, i-1), fmt.Sprint("n", side, i), ez)
		}
	}
	r := Plan(k.input())
	require.Len(t, r.Loops, m-1)
	require.Len(t, r.Findings, m-1)
	for i, l := range r.Loops {
		assert.Len(t, l.Parts, 8)
		assert.Empty(t, l.ClosedBy)
		assert.Equal(t, l.Parts, r.Findings[i].Parts)
	}
	assert.Len(t, r.Findings[0].Repairs[0].Splices, m-1)
}

// TestPriceTerms: each thing that speaks against a place makes it dearer, by as much as it should.
func TestPriceTerms(t *testing.T) {
	k := rectangle(false, 900, 600)
	all := func(int) bool { return true }
	price := func(c assembly.Closing) float64 {
		f := newFrame(k.input())
		return f.closingPrice(f.index[c.Part], c, all)
	}
	low := assembly.Closing{Part: "low.1", Kind: standard.Union}
	assert.InDelta(t, pricePiece, price(low), 1e-9)
	assert.InDelta(t, pricePiece+priceUpright, price(assembly.Closing{Part: "left.1", Kind: standard.Union}), 1e-9)
	assert.InDelta(t, pricePiece+priceRightLeft+priceDrawn, price(assembly.Closing{Part: "low.1", Kind: standard.RightLeft}), 1e-9)
	assert.True(t, price(assembly.Closing{Part: "low.1", Kind: standard.Union, MissingMM: 1}) > 1e9)

	k.a.Loads = []assembly.Load{{On: "low", Parts: []string{"low.1"}, PerMetre: 100}}
	assert.InDelta(t, pricePiece+priceCarries, price(low), 1e-9)
	k.a.Loads[0].PerMetre = 3000
	assert.InDelta(t, pricePiece+priceCarries+priceBends, price(low), 1e-9)
	k.a.Loads = nil

	k.room(geom.Box{Min: geom.V(-500, 220, -500), Max: geom.V(2000, 260, 2400)}, geom.Box{Min: geom.V(-500, -500, -80), Max: geom.V(2000, 260, -40)},
		geom.Box{Min: geom.V(-500, -260, -500), Max: geom.V(2000, -220, 700)})
	assert.InDelta(t, pricePiece, price(low), 1e-9, "open upwards: 300 mm swings through 60 degrees between walls 440 mm apart")
	k.board("lid", geom.V(-500, -220, 200), geom.V(2000, 220, 220))
	assert.InDelta(t, pricePiece+priceCramped, price(low), 1e-9)
}

// TestSpringForce compares with a table of cantilevers sprung by 0.15 in: schedule 40 pipe, 3/4 in, 24 in long, 35 lb
// (worked out by hand from I = 0.037 in^4, E = 29e6 psi).
func TestSpringForce(t *testing.T) {
	k := rectangle(false, 900, 24*25.4)
	f := newFrame(k.input())
	body := f.index["low.1"]
	lever, ok := f.parallelPipe(body, func(int) bool { return true })
	require.True(t, ok)
	assert.InDelta(t, 24*25.4, lever, 1e-9)
	assert.InDelta(t, 35*4.448, f.springForce(body, lever), 10)
}

// TestBendingShare: 100 lb at the middle of 1 m of 3/4 in pipe: M = P l / 4, against 0.46 of the section modulus
// (0.0705 in^3 for schedule 40) at 0.6 of 35 ksi.
func TestBendingShare(t *testing.T) {
	k := rectangle(false, 1000+2*(kitReach-kitE), 600)
	k.a.Loads = []assembly.Load{{Parts: []string{"low.1"}, Newtons: 444.8, Anywhere: true}}
	f := newFrame(k.input())
	want := 100.0 * 1000 / 25.4 / 4 / (0.0705 * 0.46 * 0.6 * 35000)
	assert.InDelta(t, want, f.bendingShare(f.index["low.1"]), 0.05*want)
}
