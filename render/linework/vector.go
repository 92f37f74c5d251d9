package linework

import (
	"math"

	"turnwise/render"
)

// Stroke is a line of a drawing as a polyline, in pixels of the buffers from their top left corner. A closed one ends
// where it begins.
type Stroke struct {
	Points  []Vertex
	WidthMM float64
	Ink     uint8 // as in render.Ink
}

// Vertex is a corner of a stroke.
type Vertex struct{ X, Y float32 }

// SmoothMM is how far a stroke may lie from the edge between pixels that it follows: a tenth of a millimetre, of which
// half a pixel is spent on the stairs of the pixels themselves.
const SmoothMM = 0.1

// strokes follows the very edges that were marked and returns them as strokes: those that ink shows, and not what a halo
// keeps clear. Strokes end where edges meet, so that lines of unlike weight join without a gap. Their order follows from
// the buffers alone.
func strokes(b *render.Buffers, o Options, ink *render.Ink, marks [][]mark) []Stroke {
	widths := o.Pens.widths()
	sides := sidesOf(b, ink, marks)
	net := &net{width: b.Width + 1, ways: make([]uint8, (b.Width+1)*(b.Height+1))}
	tolerance := SmoothMM*o.PixelsPer - 0.5
	var out []Stroke
	for k := range sides {
		net.add(sides[k])
		for _, line := range net.lines(sides[k]) {
			out = append(out, Stroke{Points: simplify(line, max(0.5, tolerance)), WidthMM: widths[k], Ink: inkOf[k]})
		}
	}
	return out
}

// edge is a side of a pixel that a line runs along: from grid point at, to the right or down.
type edge struct {
	at   int32
	down bool
}

// sidesOf lists by kind the sides of pixels that lines run along, row by row. What a halo keeps clear is left out.
func sidesOf(b *render.Buffers, ink *render.Ink, marks [][]mark) (out [kinds][]edge) {
	for _, rows := range marks {
		for i := range rows {
			if m := &rows[i]; ink.Mask[int(m.y)*b.Width+int(m.x)] > render.InkHalo {
				out[m.kind] = append(out[m.kind], m.side)
			}
		}
	}
	return out
}

// Ways from a grid point.
const (
	toRight uint8 = 1 << iota
	toDown
	toLeft
	toUp
)

// net is the edges of one kind: from every grid point, the ways still to be gone.
type net struct {
	width int
	ways  []uint8
}

func (n *net) add(edges []edge) {
	for _, e := range edges {
		a, b, way := n.ends(e)
		n.ways[a] |= way
		n.ways[b] |= opposite(way)
	}
}

func (n *net) ends(e edge) (a, b int, way uint8) {
	a = int(e.at)
	if e.down {
		return a, a + n.width, toDown
	}
	return a, a + 1, toRight
}

func opposite(way uint8) uint8 { return (way<<2 | way>>2) & 15 }

func (n *net) step(at int, way uint8) int {
	switch way {
	case toRight:
		return at + 1
	case toDown:
		return at + n.width
	case toLeft:
		return at - 1
	}
	return at - n.width
}

// isThrough tells whether exactly two edges meet at a point.
func isThrough(ways uint8) bool {
	w := ways & (ways - 1)
	return w != 0 && w&(w-1) == 0
}

// lines takes all edges out of the net: first those that begin where other than two meet, then the rings that are left.
func (n *net) lines(edges []edge) [][]Vertex {
	var out [][]Vertex
	open := map[int]bool{} // points where lines end, as the net stood at first
	for _, e := range edges {
		a, b, _ := n.ends(e)
		for _, p := range [2]int{a, b} {
			if !isThrough(n.ways[p]) {
				open[p] = true
			}
		}
	}
	for _, e := range edges {
		a, b, way := n.ends(e)
		if open[a] && n.ways[a]&way != 0 {
			out = append(out, n.walk(a, way, open))
		}
		if back := opposite(way); open[b] && n.ways[b]&back != 0 {
			out = append(out, n.walk(b, back, open))
		}
	}
	for _, e := range edges {
		if a, _, way := n.ends(e); n.ways[a]&way != 0 {
			out = append(out, n.walk(a, way, open))
		}
	}
	return out
}

// walk follows edges from a point until a point where lines end, or round to where it began, taking them out. The line
// runs through the middles of the edges, which takes the stairs off it.
func (n *net) walk(from int, way uint8, open map[int]bool) []Vertex {
	line := []Vertex{n.vertex(from)}
	for at := from; ; {
		next := n.step(at, way)
		n.ways[at] &^= way
		n.ways[next] &^= opposite(way)
		a, b := n.vertex(at), n.vertex(next)
		line = append(line, Vertex{(a.X + b.X) / 2, (a.Y + b.Y) / 2})
		at = next
		if open[at] || n.ways[at] == 0 {
			if at == from && !open[at] { // a ring: begin in the middle of an edge too
				line[0] = line[len(line)-1]
				return line
			}
			return append(line, n.vertex(at))
		}
		way = n.ways[at] & -n.ways[at]
	}
}

func (n *net) vertex(at int) Vertex { return Vertex{float32(at % n.width), float32(at / n.width)} }

// simplify leaves out points of a line as long as none lies farther than tolerance from what is left (Douglas and
// Peucker, "Algorithms for the reduction of the number of points required to represent a digitized line", 1973).
func simplify(line []Vertex, tolerance float64) []Vertex {
	keep := make([]bool, len(line))
	keep[0], keep[len(line)-1] = true, true
	stack := [][2]int{{0, len(line) - 1}}
	for len(stack) > 0 {
		a, b := stack[len(stack)-1][0], stack[len(stack)-1][1]
		stack = stack[:len(stack)-1]
		far, most := -1, tolerance
		for i := a + 1; i < b; i++ {
			if d := line[i].from(line[a], line[b]); d > most {
				far, most = i, d
			}
		}
		if far >= 0 {
			keep[far] = true
			stack = append(stack, [2]int{a, far}, [2]int{far, b})
		}
	}
	out := line[:0:0]
	for i, v := range line {
		if keep[i] {
			out = append(out, v)
		}
	}
	return out
}

// from returns the distance of v from the segment a to b.
func (v Vertex) from(a, b Vertex) float64 {
	dx, dy := float64(b.X-a.X), float64(b.Y-a.Y)
	px, py := float64(v.X-a.X), float64(v.Y-a.Y)
	t := 0.0
	if l := dx*dx + dy*dy; l > 0 {
		t = max(0, min(1, (px*dx+py*dy)/l))
	}
	return math.Hypot(px-t*dx, py-t*dy)
}
