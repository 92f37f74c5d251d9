package callout

import (
	"turnwise/render"
)

// Regions measures what is seen of each id: how large it is, and the place in it that is farthest from its edge.
type Regions struct {
	Pixels []int // by id
	Inside []float64
	At     []Point // pixels of the buffers
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
	d := inside(ids, w, h)
	r := Regions{Pixels: make([]int, top+1), Inside: make([]float64, top+1), At: make([]Point, top+1)}
	middle, most := make([]Point, top+1), make([]int32, top+1)
	for i, id := range ids {
		if id == 0 || int(id) > top {
			continue
		}
		r.Pixels[id] += stride * stride
		middle[id].X += float64(i % w)
		middle[id].Y += float64(i / w)
		most[id] = max(most[id], d[i])
	}
	nearest := make([]float64, top+1)
	for i, id := range ids {
		if id == 0 || int(id) > top || 10*d[i] < 9*most[id] {
			continue
		}
		n := float64(r.Pixels[id]) / float64(stride*stride)
		at := Point{X: float64(i % w), Y: float64(i / w)}
		far := distance(at, Point{X: middle[id].X / n, Y: middle[id].Y / n})
		if r.Inside[id] > 0 && far >= nearest[id] {
			continue
		}
		nearest[id] = far
		r.Inside[id] = float64(d[i]) / straight * float64(stride)
		r.At[id] = Point{X: (at.X + 0.5) * float64(stride), Y: (at.Y + 0.5) * float64(stride)}
	}
	return r
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
