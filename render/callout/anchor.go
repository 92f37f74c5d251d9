package callout

import (
	"math"

	"turnwise/render"
)

// Regions measures what is seen of each id: how large it is, and the place in it that is farthest from its edge.
type Regions struct {
	Pixels []int // by id
	Inside []float64
	At     []Point // pixels of the buffers
	// More are further places in long regions, half-way from At to either end and about as far inside.
	More [][]Point
}

// chamfer steps of 3 straight and 4 across give distances within 6 percent, in thirds of a pixel (Borgefors,
// "Distance transformations in digital images", 1986).
const (
	straight = 3
	diagonal = 4
)

// Measure finds the regions of ids up to top in the buffers, looking at every stride-th pixel each way. Where several
// places are about as far inside, the one nearest to the middle of the region is taken, so the leader of a long pipe
// ends half-way along it.
func Measure(b *render.Buffers, top, stride int) Regions {
	w, h := b.Width/stride, b.Height/stride
	ids := make([]int32, w*h)
	for y := range h {
		for x := range w {
			ids[y*w+x] = int32(b.ID((y*stride+stride/2)*b.Width + x*stride + stride/2))
		}
	}
	m := &measurer{ids: ids, width: w, distance: inside(ids, w, h), stride: stride,
		Regions: Regions{Pixels: make([]int, top+1), Inside: make([]float64, top+1), At: make([]Point, top+1), More: make([][]Point, top+1)}}
	m.measure(top)
	m.lengthen(top)
	return m.Regions
}

// measurer works on every stride-th pixel.
type measurer struct {
	Regions
	ids, distance []int32
	most          []int32 // by id: the greatest distance
	width, stride int
}

// measure fills all but More.
func (m *measurer) measure(top int) {
	middle := make([]Point, top+1)
	m.most = make([]int32, top+1)
	for i, id := range m.ids {
		if id == 0 || int(id) > top {
			continue
		}
		m.Pixels[id] += m.stride * m.stride
		middle[id].X += float64(i % m.width)
		middle[id].Y += float64(i / m.width)
		m.most[id] = max(m.most[id], m.distance[i])
	}
	for id := range middle {
		if n := float64(m.Pixels[id]) / float64(m.stride*m.stride); n > 0 {
			middle[id] = Point{X: middle[id].X / n, Y: middle[id].Y / n}
			m.Inside[id] = float64(m.most[id]) / straight * float64(m.stride)
		}
	}
	for id, p := range m.pick(middle, -1) {
		m.At[id] = m.pixel(p)
	}
}

// lengthen finds the places in long regions.
func (m *measurer) lengthen(top int) {
	const long = 6 // length over width from which a region is long
	middle := make([]Point, top+1)
	for id, p := range m.At {
		middle[id] = Point{X: p.X/float64(m.stride) - 0.5, Y: p.Y/float64(m.stride) - 0.5}
	}
	one := m.pick(middle, 1)
	other := m.pick(one, 1)
	for _, end := range [][]Point{one, other} {
		half := make([]Point, top+1)
		for id := range half {
			half[id] = Point{X: (middle[id].X + end[id].X) / 2, Y: (middle[id].Y + end[id].Y) / 2}
		}
		for id, p := range m.pick(half, -1) {
			if m.Inside[id] > 0 && float64(m.Pixels[id]) > long*4*m.Inside[id]*m.Inside[id] {
				m.More[id] = append(m.More[id], m.pixel(p))
			}
		}
	}
}

// pick returns for each id the pixel nearest to a given place (sign -1) or farthest from it (+1), of those at least
// nine tenths as far inside as the best.
func (m *measurer) pick(from []Point, sign float64) []Point {
	out, best := make([]Point, len(from)), make([]float64, len(from))
	for i := range best {
		best[i] = math.Inf(-1)
	}
	for i, id := range m.ids {
		if id == 0 || int(id) >= len(from) || 10*m.distance[i] < 9*m.most[id] {
			continue
		}
		at := Point{X: float64(i % m.width), Y: float64(i / m.width)}
		if d := sign * distance(at, from[id]); d > best[id] {
			best[id], out[id] = d, at
		}
	}
	return out
}

// pixel returns the middle of a pixel in the buffers.
func (m *measurer) pixel(p Point) Point {
	return Point{X: (p.X + 0.5) * float64(m.stride), Y: (p.Y + 0.5) * float64(m.stride)}
}

// inside returns for each pixel its distance to the edge of its region, in thirds of a pixel; the edge of the picture
// counts as one.
func inside(ids []int32, w, h int) []int32 {
	d := make([]int32, len(ids))
	at := func(x, y int, id int32) int32 {
		if x < 0 || y < 0 || x >= w || y >= h || ids[y*w+x] != id {
			return 0
		}
		return d[y*w+x]
	}
	for y := range h {
		for x := range w {
			if id := ids[y*w+x]; id != 0 {
				d[y*w+x] = min(at(x-1, y, id)+straight, at(x, y-1, id)+straight, at(x-1, y-1, id)+diagonal, at(x+1, y-1, id)+diagonal)
			}
		}
	}
	for y := h - 1; y >= 0; y-- {
		for x := w - 1; x >= 0; x-- {
			if id := ids[y*w+x]; id != 0 {
				d[y*w+x] = min(d[y*w+x], at(x+1, y, id)+straight, at(x, y+1, id)+straight, at(x+1, y+1, id)+diagonal, at(x-1, y+1, id)+diagonal)
			}
		}
	}
	return d
}
