package linework

import (
	"slices"

	"turnwise/render"
)

// Face is what is seen of one body: closed contours in pixels of the buffers, to be filled by the non-zero rule. What a
// body encloses without showing it, the inside of a ring say, has a contour that runs the other way.
type Face struct {
	ID       int
	Contours [][]Vertex
}

// boundary is a side of a pixel, with the body it bounds on its right.
type boundary struct{ from, to int32 }

// Faces follows the regions of the ids, rising, smoothed like strokes.
func Faces(b *render.Buffers, pixelsPer float64) []Face {
	sides := boundaries(b)
	var out []Face
	tolerance := max(0.5, SmoothMM*pixelsPer-0.5)
	for id, own := range sides {
		if len(own) > 0 {
			out = append(out, Face{ID: id, Contours: contours(own, b.Width+1, tolerance)})
		}
	}
	return out
}

// boundaries lists by id the sides of its pixels towards others, also at the rim of the buffers.
func boundaries(b *render.Buffers) [][]boundary {
	var out [][]boundary
	w := b.Width
	add := func(i int, from, to int) {
		id := b.ID(i)
		if id == 0 {
			return
		}
		for len(out) <= id {
			out = append(out, nil)
		}
		out[id] = append(out[id], boundary{int32(from), int32(to)})
	}
	const idShift = 20
	for y := range b.Height {
		for x := range w {
			i, at := y*w+x, y*(w+1)+x
			p := b.Packed[i] >> idShift
			if p == 0 {
				continue
			}
			if y == 0 || b.Packed[i-w]>>idShift != p {
				add(i, at, at+1)
			}
			if y+1 == b.Height || b.Packed[i+w]>>idShift != p {
				add(i, at+w+2, at+w+1)
			}
			if x == 0 || b.Packed[i-1]>>idShift != p {
				add(i, at+w+1, at)
			}
			if x+1 == w || b.Packed[i+1]>>idShift != p {
				add(i, at+1, at+w+2)
			}
		}
	}
	return out
}

// contours joins boundaries to closed lines. Where two pixels of a body meet at a corner only, they are parted.
func contours(own []boundary, width int, tolerance float64) [][]Vertex {
	slices.SortFunc(own, func(a, c boundary) int { return int(a.from - c.from) })
	taken := make([]bool, len(own))
	var out [][]Vertex
	for i := range own {
		if taken[i] {
			continue
		}
		var line []Vertex
		for k := i; !taken[k]; k = onward(own, taken, k, width) {
			taken[k] = true
			a, c := vertexOf(own[k].from, width), vertexOf(own[k].to, width)
			line = append(line, Vertex{(a.X + c.X) / 2, (a.Y + c.Y) / 2})
		}
		if len(line) > 2 {
			out = append(out, simplifyRing(line, tolerance))
		}
	}
	return out
}

func vertexOf(at int32, width int) Vertex {
	return Vertex{float32(int(at) % width), float32(int(at) / width)}
}

// onward is the boundary that follows k: of two the one that turns right, round the same pixel.
func onward(own []boundary, taken []bool, k, width int) int {
	to := own[k].to
	i, _ := slices.BinarySearchFunc(own, to, func(b boundary, at int32) int { return int(b.from - at) })
	best := k
	for ; i < len(own) && own[i].from == to; i++ {
		if !taken[i] && (best == k || turnsRight(own[k], own[i], width)) {
			best = i
		}
	}
	return best
}

func turnsRight(a, b boundary, width int) bool {
	p, q, r := vertexOf(a.from, width), vertexOf(a.to, width), vertexOf(b.to, width)
	return (q.X-p.X)*(r.Y-q.Y)-(q.Y-p.Y)*(r.X-q.X) > 0 // y runs down
}

// simplifyRing is simplify for a closed line, which is cut at its first point and the one farthest from that.
func simplifyRing(line []Vertex, tolerance float64) []Vertex {
	far := 0
	for i, v := range line {
		if v.from(line[0], line[0]) > line[far].from(line[0], line[0]) {
			far = i
		}
	}
	one, two := simplify(line[:far+1], tolerance), simplify(append(slices.Clone(line[far:]), line[0]), tolerance)
	return append(one, two[1:len(two)-1]...)
}
