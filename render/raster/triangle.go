package raster

import (
	"turnwise/render"
)

// slope is one side of a triangle: a value that is positive on its inner side and grows by dx and dy from pixel to pixel.
type slope struct{ dx, dy, at int64 }

// side returns that of p to q for the middle of pixel x, y. A pixel on the line belongs to one of the two triangles
// that share it: to the one on its right or below.
func side(p, q *corner, x, y int32) slope {
	dx, dy := int64(p.y-q.y), int64(q.x-p.x)
	at := dx*int64(x*sub+half-p.x) + dy*int64(y*sub+half-p.y)
	if dx < 0 || dx == 0 && dy < 0 {
		at--
	}
	return slope{dx * sub, dy * sub, at}
}

// fill draws one triangle, whose corners run so that twice its area is positive. Normals are those of its corners in
// the shape's frame.
func (s *strip) fill(g *shot, a, b, c *corner, area int64, na, nb, nc *[3]float32) {
	w := int32(s.b.Width)
	x0, x1 := max(0, (min(a.x, b.x, c.x)+half-1)>>subBits), min(w-1, (max(a.x, b.x, c.x)-half)>>subBits)
	y0, y1 := max(int32(s.top), (min(a.y, b.y, c.y)+half-1)>>subBits), min(int32(s.bottom)-1, (max(a.y, b.y, c.y)-half)>>subBits)
	if x0 > x1 || y0 > y1 {
		return
	}
	ab, bc, ca := side(a, b, x0, y0), side(b, c, x0, y0), side(c, a, x0, y0)
	// Depth is a plane over the window: z = za + gx (x - xa) + gy (y - ya).
	inv := 1 / float64(area)
	zb, zc := b.depth-a.depth, c.depth-a.depth
	gx := (zb*float64(c.y-a.y) - zc*float64(b.y-a.y)) * inv
	gy := (zc*float64(b.x-a.x) - zb*float64(c.x-a.x)) * inv
	p := painter{g: g, na: na, nb: nb, nc: nc, inv: float32(inv)}
	if *na == *nb && *nb == *nc {
		p.flat, p.packed = true, g.pack(na[0], na[1], na[2])
	}
	for y := y0; y <= y1; y++ {
		from, to := x0, x1
		if x1-x0 > 4 {
			from, to = ab.span(from, to, x0)
			from, to = bc.span(from, to, x0)
			from, to = ca.span(from, to, x0)
		}
		row := int(y) * s.b.Width
		zy := a.depth + gy*float64(y*sub+half-a.y)
		for x := from; x <= to; x++ {
			k := int64(x - x0)
			e1, e2, e3 := ab.at+ab.dx*k, bc.at+bc.dx*k, ca.at+ca.dx*k
			if e1|e2|e3 < 0 {
				continue
			}
			z := float32(zy + gx*float64(x*sub+half-a.x))
			i := row + int(x)
			if z < s.b.Depth[i] {
				s.b.Depth[i] = z
				s.b.Packed[i] = p.at(e2, e3, e1)
			}
		}
		ab.at, bc.at, ca.at = ab.at+ab.dy, bc.at+bc.dy, ca.at+ca.dy
	}
}

// span narrows a row's stretch of pixels to those on the inner side; at is the value at pixel x0.
func (e *slope) span(from, to, x0 int32) (int32, int32) {
	switch {
	case from > to:
	case e.dx > 0:
		if e.at < 0 {
			from = max(from, x0+int32((-e.at+e.dx-1)/e.dx))
		}
	case e.dx < 0:
		if e.at < 0 {
			return 1, 0
		}
		to = int32(min(int64(to), int64(x0)+e.at/-e.dx))
	case e.at < 0:
		return 1, 0
	}
	return from, to
}

// painter gives the packed pixels of one triangle.
type painter struct {
	g          *shot
	na, nb, nc *[3]float32
	inv        float32
	flat       bool
	packed     uint32
}

// at returns the pixel at which the sides opposite to the three corners have the given values.
func (p *painter) at(wa, wb, wc int64) uint32 {
	if p.flat {
		return p.packed
	}
	a, b, c := float32(wa)*p.inv, float32(wb)*p.inv, float32(wc)*p.inv
	na, nb, nc := p.na, p.nb, p.nc
	return p.g.pack(a*na[0]+b*nb[0]+c*nc[0], a*na[1]+b*nb[1]+c*nc[1], a*na[2]+b*nb[2]+c*nc[2])
}

// pack turns a normal of the shape's frame into the camera's and packs it. It need not be a unit vector.
func (g *shot) pack(x, y, z float32) uint32 {
	return render.PackOf(g.id,
		x*g.right[0]+y*g.right[1]+z*g.right[2],
		x*g.up[0]+y*g.up[1]+z*g.up[2],
		x*g.back[0]+y*g.back[1]+z*g.back[2])
}
