package closing

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// grid is a frame of a x b x c fittings with a pipe between neighbours, each pipe a line of its own.
func grid(a, b, c int, price func(i int) float64) Problem {
	at := func(x, y, z int) int { return x + a*(y+b*z) }
	p := Problem{Bodies: a * b * c}
	add := func(i, k int) {
		p.Lines = append(p.Lines, Line{Price: price(len(p.Edges)), Breaks: []int{len(p.Edges)}})
		p.Edges = append(p.Edges, Edge{i, k})
	}
	for z := range c {
		for y := range b {
			for x := range a {
				if x+1 < a {
					add(at(x, y, z), at(x+1, y, z))
				}
				if y+1 < b {
					add(at(x, y, z), at(x, y+1, z))
				}
				if z+1 < c {
					add(at(x, y, z), at(x, y, z+1))
				}
			}
		}
	}
	return p
}

func one(int) float64 { return 1 }

// TestRings counts rings by the cyclomatic number, pipes - fittings + 1 (Euler; Berge, Graphs and Hypergraphs, 1973):
// a rectangle has one, a ladder of m rungs m - 1, a grid as the formula says.
func TestRings(t *testing.T) {
	square := Problem{Bodies: 4, Edges: []Edge{{0, 1}, {1, 2}, {2, 3}, {3, 0}}, Lines: []Line{{Price: 1, Breaks: []int{2}}}}
	a := Cheapest(square, 3)
	assert.Equal(t, 1, a.Rings)
	assert.True(t, a.Proven)
	require.Len(t, a.Sets, 1)
	assert.Equal(t, []int{0}, a.Sets[0].Lines)

	for m := 2; m <= 9; m++ {
		p := Problem{Bodies: 2 * m}
		for i := range m {
			p.Edges = append(p.Edges, Edge{2 * i, 2*i + 1})
			p.Lines = append(p.Lines, Line{Price: 1, Breaks: []int{len(p.Edges) - 1}})
			if i > 0 {
				p.Edges = append(p.Edges, Edge{2*i - 2, 2 * i}, Edge{2*i - 1, 2*i + 1})
			}
		}
		a := Cheapest(p, 1)
		assert.Equal(t, m-1, a.Rings, "a ladder of %d rungs", m)
		assert.Len(t, a.Sets[0].Lines, m-1)
	}

	for _, g := range [][4]int{{2, 1, 3, 2}, {3, 1, 4, 6}, {3, 2, 4, 23}, {4, 2, 5, 43}, {5, 2, 6, 69}} {
		a := Cheapest(grid(g[0], g[1], g[2], one), 2)
		assert.Equal(t, g[3], a.Rings, "%v", g)
		assert.Len(t, a.Sets[0].Lines, g[3])
		assert.InDelta(t, float64(g[3]), a.Bound, 1e-9)
		assert.True(t, a.Proven, "single pipes make a matroid: the bound is met")
	}
}

// TestSharedPipe: two rings with a pipe in common need two pieces, though dividing that pipe opens both: what is left
// of them is a ring still.
func TestSharedPipe(t *testing.T) {
	p := Problem{Bodies: 6, Edges: []Edge{{0, 1}, {1, 2}, {2, 3}, {3, 0}, {2, 4}, {4, 5}, {5, 3}}}
	for i := range p.Edges {
		p.Lines = append(p.Lines, Line{Price: 10, Breaks: []int{i}})
	}
	p.Lines[2].Price = 1 // the shared one
	p.Lines[4].Price = 3
	a := Cheapest(p, 1)
	assert.Equal(t, 2, a.Rings)
	assert.Equal(t, []int{2, 4}, a.Sets[0].Lines)
	assert.InDelta(t, 4, a.Sets[0].Price, 1e-9)
}

// TestHeld: a ring that no line can open is named, and pipes off every ring do not count.
func TestHeld(t *testing.T) {
	p := Problem{Bodies: 5, Edges: []Edge{{0, 1}, {1, 2}, {2, 0}, {2, 3}, {3, 4}}, Lines: []Line{
		{Price: math.Inf(1), Breaks: []int{0}}, {Price: 1, Breaks: []int{3}},
	}}
	a := Cheapest(p, 1)
	assert.Empty(t, a.Sets)
	require.Len(t, a.Held, 1)
	assert.ElementsMatch(t, []int{0, 1, 2}, a.Held[0])
	assert.Zero(t, a.Lines)
}

// TestLike: of sets that cost the same, the one that divides equal pipes comes first.
func TestLike(t *testing.T) {
	p := Problem{Bodies: 6, Edges: []Edge{{0, 1}, {1, 2}, {2, 0}, {3, 4}, {4, 5}, {5, 3}}}
	for i, like := range []string{"short", "long", "middle", "long", "odd", "last"} {
		p.Lines = append(p.Lines, Line{Price: 5, Breaks: []int{i}, Like: like})
	}
	assert.Equal(t, []int{1, 3}, Cheapest(p, 2).Sets[0].Lines)
}

// cheapestBySearch is the least price over all sets of lines, by plain recursion; +Inf when none opens every ring.
func cheapestBySearch(p Problem, from int, out []bool, price float64) float64 {
	u := NewForest(p.Bodies)
	ring := false
	for i, e := range p.Edges {
		if !out[i] && !u.Join(e.A, e.B) {
			ring = true
		}
	}
	if !ring {
		return price
	}
	best := math.Inf(1)
	for l := from; l < len(p.Lines); l++ {
		next := append([]bool(nil), out...)
		for _, e := range p.Lines[l].Breaks {
			next[e] = true
		}
		best = math.Min(best, cheapestBySearch(p, l+1, next, price+p.Lines[l].Price))
	}
	return best
}

// random is a graph of a few bodies with lines that divide up to three edges.
func random(r *rand.Rand, lines int) Problem {
	p := Problem{Bodies: 5 + r.Intn(5)}
	for i := 1; i < p.Bodies; i++ {
		p.Edges = append(p.Edges, Edge{i, r.Intn(i)})
	}
	for range 1 + r.Intn(7) {
		a, b := r.Intn(p.Bodies), r.Intn(p.Bodies)
		if a != b {
			p.Edges = append(p.Edges, Edge{a, b})
		}
	}
	free := r.Perm(len(p.Edges))
	for len(free) > 0 && len(p.Lines) < lines {
		n := min(len(free), 1+r.Intn(3))
		p.Lines = append(p.Lines, Line{Price: 1 + float64(r.Intn(20)), Breaks: free[:n]})
		free = free[n:]
	}
	return p
}

// TestExact compares with a plain search over all sets.
func TestExact(t *testing.T) {
	r := rand.New(rand.NewSource(7))
	for i := range 300 {
		p := random(r, 9)
		want := cheapestBySearch(p, 0, make([]bool, len(p.Edges)), 0)
		a := Cheapest(p, 4)
		if math.IsInf(want, 1) {
			assert.NotEmpty(t, a.Held, "case %d", i)
			continue
		}
		if a.Rings == 0 {
			assert.Zero(t, want)
			continue
		}
		require.NotEmpty(t, a.Sets, "case %d", i)
		assert.InDelta(t, want, a.Sets[0].Price, 1e-9, "case %d", i)
		for k := 1; k < len(a.Sets); k++ {
			assert.LessOrEqual(t, a.Sets[k-1].Price, a.Sets[k].Price+agree)
		}
	}
}

// TestGrown: the forest that is grown opens every ring, never costs less than the cheapest, and the bound is one.
func TestGrown(t *testing.T) {
	r := rand.New(rand.NewSource(8))
	compared := 0
	for i := range 300 {
		p := random(r, 9)
		f := newFinder(p)
		if f.rings == 0 || len(f.held()) > 0 {
			continue
		}
		want := cheapestBySearch(p, 0, make([]bool, len(p.Edges)), 0)
		for _, s := range f.grown(3) {
			assert.GreaterOrEqual(t, s.Price, want-agree, "case %d", i)
			in := map[int]bool{}
			for _, l := range s.Lines {
				in[l] = true
			}
			assert.True(t, f.opens(func(k int) bool { return in[f.lines[k]] }), "case %d", i)
		}
		assert.LessOrEqual(t, f.bound(), want+agree, "case %d", i)
		compared++
	}
	assert.Greater(t, compared, 100)
}

// TestBoundOfCopies: in a grid of 60 fittings whose posts are drawn once for all, the answer lies within its bound.
func TestBoundOfCopies(t *testing.T) {
	p := grid(5, 2, 6, one)
	p.Lines = nil
	for i := range p.Edges {
		if i%2 == 0 {
			p.Lines = append(p.Lines, Line{Price: float64(2 + i%3), Breaks: []int{i}})
		} else if i%4 == 1 {
			p.Lines = append(p.Lines, Line{Price: 7, Breaks: []int{i, min(i+2, len(p.Edges)-1)}})
		}
	}
	a := Cheapest(p, 3)
	require.Greater(t, a.Lines, MostExact)
	if len(a.Held) > 0 {
		t.Fatal("some ring cannot be opened")
	}
	assert.LessOrEqual(t, a.Bound, a.Sets[0].Price)
	assert.Greater(t, a.Bound, 0.8*a.Sets[0].Price)
}

func BenchmarkCheapest(b *testing.B) {
	for _, g := range [][3]int{{2, 1, 3}, {3, 2, 4}, {5, 2, 6}, {10, 5, 10}} {
		p := grid(g[0], g[1], g[2], one)
		b.Run(fmt.Sprintf("size=%dx%dx%d/lines=%d", g[0], g[1], g[2], len(p.Lines)), func(b *testing.B) {
			for b.Loop() {
				if a := Cheapest(p, 1); len(a.Sets) == 0 {
					b.Fatal("no set")
				}
			}
		})
	}
}
