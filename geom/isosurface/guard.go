package isosurface

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// guardCells is the number of cells along the diagonal of the body in which a guard looks for triangles.
const guardCells = 48

// guard finds the triangles of a mesh under work that new ones would cut through. Triangles are entered into all cells
// of a raster that they pass. Ones that change are entered again, and never taken out: those lists only grow too long.
type guard struct {
	m     mesh.Mesh // over the vertices under work
	least geom.Vec
	cell  float64
	n     [3]int
	lists [][]int32
	boxes []geom.Box // by triangle
	seen  []int32    // by triangle: the last search that looked at it
	stamp int32
}

// watch rounds all vertices to 32-bit floats and sets a guard over the mesh, which must have no crossings: from then on
// nothing is done that makes one.
func (w *thinner) watch() {
	for i, v := range w.v {
		w.v[i] = mesh.Round32Vec(v)
	}
	box := geom.BoxOf(w.v...)
	g := &guard{m: mesh.Mesh{Vertices: w.v}, least: box.Min, cell: max(box.Diagonal()/guardCells, mesh.DegenerateMM)}
	for k := range 3 {
		g.n[k] = int(coord(box.Size(), k)/g.cell) + 1
	}
	g.lists = make([][]int32, g.n[0]*g.n[1]*g.n[2])
	g.boxes, g.seen = make([]geom.Box, len(w.t)), make([]int32, len(w.t))
	w.guard = g
	for i, t := range w.t {
		if t[0] >= 0 {
			g.put(int32(i), t)
		}
	}
}

// put enters triangle i with the given corners.
func (g *guard) put(i int32, t [3]int32) {
	g.boxes[i] = g.box(t)
	g.each(t, func(list *[]int32) bool {
		*list = append(*list, i)
		return true
	})
}

// each calls do for the lists of all cells that a triangle passes, until it returns false. It returns whether it never
// did.
func (g *guard) each(t [3]int32, do func(list *[]int32) bool) bool {
	a, b, c := g.m.Vertices[t[0]], g.m.Vertices[t[1]], g.m.Vertices[t[2]]
	box := g.box(t)
	lo, hi := g.at(box.Min), g.at(box.Max)
	n := mesh.Normal(a, b, c)
	reach := g.cell * math.Sqrt(3) / 2 * (1 + 1e-9)
	for z := lo[2]; z <= hi[2]; z++ {
		for y := lo[1]; y <= hi[1]; y++ {
			for x := lo[0]; x <= hi[0]; x++ {
				mid := g.least.Add(geom.V(float64(x)+0.5, float64(y)+0.5, float64(z)+0.5).Mul(g.cell))
				if math.Abs(mid.Sub(a).Dot(n)) <= reach && !do(&g.lists[x+g.n[0]*(y+g.n[1]*z)]) {
					return false
				}
			}
		}
	}
	return true
}

// at returns the cell of a point, or the nearest one.
func (g *guard) at(p geom.Vec) [3]int {
	var out [3]int
	for k := range 3 {
		out[k] = min(max(int((coord(p, k)-coord(g.least, k))/g.cell), 0), g.n[k]-1)
	}
	return out
}

// clear tells whether new triangles cut through nothing, neither one another nor any triangle that is not gone.
func (w *thinner) clear(fresh [][3]int32, gone []int32) bool {
	g := w.guard
	for i, t := range fresh {
		for _, u := range fresh[:i] {
			if g.m.Cross(t, u) {
				return false
			}
		}
		box := g.box(t)
		g.stamp++
		free := g.each(t, func(list *[]int32) bool { return w.clearOf(t, &box, list, gone) })
		if !free {
			return false
		}
	}
	return true
}

// clearOf does the same for one new triangle and those of one cell. It takes triangles that are no more off the list.
func (w *thinner) clearOf(t [3]int32, box *geom.Box, list *[]int32, gone []int32) bool {
	g := w.guard
	keep := (*list)[:0]
	free := true
	for _, j := range *list {
		if w.t[j][0] < 0 {
			continue
		}
		keep = append(keep, j)
		if !free || g.seen[j] == g.stamp {
			continue
		}
		g.seen[j] = g.stamp
		if apart(box, &g.boxes[j]) || has(gone, j) {
			continue
		}
		free = !g.m.Cross(t, w.t[j])
	}
	*list = keep
	return free
}

// box returns the box of a triangle.
func (g *guard) box(t [3]int32) geom.Box {
	a, b, c := g.m.Vertices[t[0]], g.m.Vertices[t[1]], g.m.Vertices[t[2]]
	return geom.Box{Min: a.Min(b).Min(c), Max: a.Max(b).Max(c)}
}

// apart tells whether two boxes have no point in common.
func apart(a, b *geom.Box) bool {
	return a.Min.X > b.Max.X || b.Min.X > a.Max.X || a.Min.Y > b.Max.Y || b.Min.Y > a.Max.Y ||
		a.Min.Z > b.Max.Z || b.Min.Z > a.Max.Z
}

// moved returns the triangles about from as they are once it has moved onto to.
func (w *thinner) moved(from, to int32) [][3]int32 {
	var out [][3]int32
	for _, t := range w.star[from] {
		c := w.t[t]
		if a, b := others(c, from); a == to || b == to {
			continue
		}
		for k := range 3 {
			if c[k] == from {
				c[k] = to
			}
		}
		out = append(out, c)
	}
	return out
}

// enter enters the triangles about a vertex after a change.
func (w *thinner) enter(v int32) {
	if w.guard == nil {
		return
	}
	for _, t := range w.star[v] {
		w.guard.put(t, w.t[t])
	}
}
