package isosurface

import (
	"math"
	"runtime"
	"sync"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// grid is a box grid with uneven planes, and what was found on it.
type grid struct {
	solid  sdf.Leafed
	leaves []sdf.Leaf
	tol    float64
	at     [3][]float64 // planes
	n      [3]int       // nodes
	inside []bool       // by node, x fastest
	// crossing[axis][node] is the number of the crossing on the edge from node along axis, or -1
	crossing [3][]int32
	cross    []crossing
	flip     map[faceKey]bool
	// found are the cells that the surface passes, where their numbers by node, or -1
	found []ringCell
	where []int32
	// feet are points of the true surface near the grid's cells, once they were asked for, and with how much care
	feet     []geom.Vec
	feetCare bool
	// careful asks for points of the surface in every cell that it passes: an earlier grid has failed
	careful bool
}

// crossing is where a grid edge passes the surface. It lies on a leaf. out tells whether the outside is at the edge's
// far end.
type crossing struct {
	p    geom.Vec
	leaf int32
	axis int8
	out  bool
	node int32
}

// faceKey is a cell face: square to axis, with its least node.
type faceKey struct {
	axis int8
	node int32
}

func newGrid(s sdf.Leafed, tol, scale, phase float64) (*grid, error) {
	return gridOf(s, tol, planes(s, tol, scale, phase, math.Inf(1)))
}

// gridOf returns a grid with the given planes.
func gridOf(s sdf.Leafed, tol float64, at [3][]float64) (*grid, error) {
	g := &grid{solid: s, leaves: s.Leaves(), tol: tol, at: at, flip: map[faceKey]bool{}}
	total := 1.0
	for k := range 3 {
		g.n[k] = len(g.at[k])
		total *= float64(g.n[k])
	}
	if total > maxNodes {
		return nil, ErrTooFine
	}
	return g, nil
}

func (g *grid) nodes() int           { return g.n[0] * g.n[1] * g.n[2] }
func (g *grid) cells() (x, y, z int) { return g.n[0] - 1, g.n[1] - 1, g.n[2] - 1 }
func (g *grid) node(i, j, k int) int { return i + g.n[0]*(j+g.n[1]*k) }
func (g *grid) stride(axis int) int  { return [3]int{1, g.n[0], g.n[0] * g.n[1]}[axis] }
func (g *grid) index(node int) [3]int {
	return [3]int{node % g.n[0], node / g.n[0] % g.n[1], node / (g.n[0] * g.n[1])}
}
func (g *grid) point(i, j, k int) geom.Vec { return geom.V(g.at[0][i], g.at[1][j], g.at[2][k]) }

// slabs is the number of parts that work is divided into. It does not depend on the number of cores, so that neither
// does the result.
const slabs = 16

// inParallel runs do for every part from 0 to n-1, on as many goroutines as there are cores.
func inParallel(n int, do func(i int)) {
	var wg sync.WaitGroup
	next := make(chan int)
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				do(i)
			}
		}()
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

// slab returns part i of the range from 0 to n.
func slab(i, n int) (from, to int) { return i * n / slabs, (i + 1) * n / slabs }

// sample finds which nodes are inside.
func (g *grid) sample() {
	g.inside = make([]bool, g.n[0]*g.n[1]*g.n[2])
	inParallel(slabs, func(i int) {
		from, to := slab(i, g.n[2])
		if from < to {
			g.fill([3]int{0, 0, from}, [3]int{g.n[0], g.n[1], to})
		}
	})
}

// fill decides the nodes from lo to before hi. Where the distance at the middle is more than half the diagonal they
// all are as the middle; else the block is divided across its longest side.
func (g *grid) fill(lo, hi [3]int) {
	a, b := g.point(lo[0], lo[1], lo[2]), g.point(hi[0]-1, hi[1]-1, hi[2]-1)
	f := g.solid.Distance(a.Lerp(b, 0.5))
	if math.Abs(f) > b.Sub(a).Len()/2 || a == b {
		if f < 0 {
			g.setInside(lo, hi)
		}
		return
	}
	size, long := b.Sub(a), 0
	for k := 1; k < 3; k++ {
		if coord(size, k) > coord(size, long) {
			long = k
		}
	}
	mid := (lo[long] + hi[long]) / 2
	hi1, lo2 := hi, lo
	hi1[long], lo2[long] = mid, mid
	g.fill(lo, hi1)
	g.fill(lo2, hi)
}

func (g *grid) setInside(lo, hi [3]int) {
	for k := lo[2]; k < hi[2]; k++ {
		for j := lo[1]; j < hi[1]; j++ {
			at := g.node(0, j, k)
			for i := lo[0]; i < hi[0]; i++ {
				g.inside[at+i] = true
			}
		}
	}
}

// find locates the crossings of all grid edges and returns their number. They are numbered by slab, axis and node.
func (g *grid) find() int {
	parts := make([][]crossing, slabs)
	inParallel(slabs, func(i int) {
		from, to := slab(i, g.n[2])
		for k := from; k < to; k++ {
			for j := range g.n[1] {
				parts[i] = g.findRow(parts[i], j, k)
			}
		}
	})
	for axis := range 3 {
		g.crossing[axis] = make([]int32, len(g.inside))
		for i := range g.crossing[axis] {
			g.crossing[axis][i] = -1
		}
	}
	for _, p := range parts {
		for _, c := range p {
			g.crossing[c.axis][c.node] = int32(len(g.cross))
			g.cross = append(g.cross, c)
		}
	}
	return len(g.cross)
}

func (g *grid) findRow(list []crossing, j, k int) []crossing {
	for i := range g.n[0] {
		at := g.node(i, j, k)
		for axis := range 3 {
			ijk := [3]int{i, j, k}
			if ijk[axis]+1 >= g.n[axis] {
				continue
			}
			if far := at + g.stride(axis); g.inside[at] != g.inside[far] {
				list = append(list, g.crossEdge(at, axis))
			}
		}
	}
	return list
}

// rootMM is how near to the surface a crossing is found.
const rootMM = 1e-9

// crossEdge finds the crossing on the edge from a node along axis, by false position with the Illinois rule.
func (g *grid) crossEdge(node, axis int) crossing {
	i := g.index(node)
	a := g.point(i[0], i[1], i[2])
	i[axis]++
	b := g.point(i[0], i[1], i[2])
	fa, fb := g.solid.Distance(a), g.solid.Distance(b)
	t0, t1, last := 0.0, 1.0, 0
	p := a
	for range 60 {
		t := t0
		if fa != fb {
			t = t0 + (t1-t0)*fa/(fa-fb)
		}
		if !(t > t0 && t < t1) {
			t = (t0 + t1) / 2
		}
		p = a.Lerp(b, t)
		f := g.solid.Distance(p)
		if math.Abs(f) <= rootMM {
			break
		}
		if (f < 0) == (fa < 0) {
			if t0, fa = t, f; last == 1 {
				fb /= 2
			}
			last = 1
		} else {
			if t1, fb = t, f; last == 2 {
				fa /= 2
			}
			last = 2
		}
	}
	return crossing{p, int32(g.solid.ActiveLeaf(p)), int8(axis), g.inside[node], int32(node)}
}
