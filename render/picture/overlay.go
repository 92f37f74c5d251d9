package picture

import (
	"image"
	"image/color"
	"math"

	"golang.org/x/image/vector"

	"turnwise/render"
	"turnwise/render/lettering"
)

// overlay draws crisp shapes over a finished image. Places and sizes are millimetres on the sheet from its top left
// corner.
type overlay struct {
	img   *image.NRGBA
	perMM float64
	fills *[]VectorFill // all that is filled, in order, if anybody wants it
}

type point = lettering.Point

func pt(x, y float64) point { return point{X: x, Y: y} }

// fill fills closed contours by the non-zero rule.
func (o overlay) fill(path lettering.Outline, c render.Colour) {
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, s := range path {
		for _, p := range s.Points[:s.N] {
			x0, y0, x1, y1 = min(x0, p.X), min(y0, p.Y), max(x1, p.X), max(y1, p.Y)
		}
	}
	box := image.Rect(int(math.Floor(x0*o.perMM)), int(math.Floor(y0*o.perMM)), int(math.Ceil(x1*o.perMM)), int(math.Ceil(y1*o.perMM)))
	if len(path) == 0 || box.Intersect(o.img.Rect).Empty() {
		return
	}
	if o.fills != nil {
		*o.fills = append(*o.fills, VectorFill{path, c})
	}
	r := vector.NewRasterizer(box.Dx(), box.Dy())
	px := func(p point) (float32, float32) {
		return float32(p.X*o.perMM - float64(box.Min.X)), float32(p.Y*o.perMM - float64(box.Min.Y))
	}
	for _, s := range path {
		ax, ay := px(s.Points[0])
		bx, by := px(s.Points[1])
		cx, cy := px(s.Points[2])
		switch s.Op {
		case lettering.MoveTo:
			r.ClosePath()
			r.MoveTo(ax, ay)
		case lettering.LineTo:
			r.LineTo(ax, ay)
		case lettering.QuadTo:
			r.QuadTo(ax, ay, bx, by)
		case lettering.CubeTo:
			r.CubeTo(ax, ay, bx, by, cx, cy)
		}
	}
	r.ClosePath()
	r.Draw(o.img, box, image.NewUniform(color.NRGBA{c.R, c.G, c.B, 255}), image.Point{})
}

// polygon returns the closed contour of points.
func polygon(points ...point) lettering.Outline {
	out := make(lettering.Outline, len(points))
	for i, p := range points {
		out[i] = lettering.Segment{Op: lettering.LineTo, Points: [3]point{p}, N: 1}
	}
	if len(out) > 0 {
		out[0].Op = lettering.MoveTo
	}
	return out
}

// line draws a straight line with square ends.
func (o overlay) line(a, b point, widthMM float64, c render.Colour) {
	dx, dy := b.X-a.X, b.Y-a.Y
	l := math.Hypot(dx, dy)
	if l == 0 {
		return
	}
	nx, ny := -dy/l*widthMM/2, dx/l*widthMM/2
	o.fill(polygon(pt(a.X+nx, a.Y+ny), pt(b.X+nx, b.Y+ny), pt(b.X-nx, b.Y-ny), pt(a.X-nx, a.Y-ny)), c)
}

// disc fills a circle.
func (o overlay) disc(at point, radiusMM float64, c render.Colour) {
	const k = 0.5522847498 // control points of a quarter circle by a cubic: 4/3 (sqrt 2 - 1)
	r, q := radiusMM, radiusMM*k
	cube := func(a, b, c point) lettering.Segment {
		return lettering.Segment{Op: lettering.CubeTo, Points: [3]point{pt(at.X+a.X, at.Y+a.Y), pt(at.X+b.X, at.Y+b.Y), pt(at.X+c.X, at.Y+c.Y)}, N: 3}
	}
	o.fill(lettering.Outline{
		{Op: lettering.MoveTo, Points: [3]point{pt(at.X+r, at.Y)}, N: 1},
		cube(pt(r, q), pt(q, r), pt(0, r)), cube(pt(-q, r), pt(-r, q), pt(-r, 0)),
		cube(pt(-r, -q), pt(-q, -r), pt(0, -r)), cube(pt(q, -r), pt(r, -q), pt(r, 0)),
	}, c)
}

// rect fills a rectangle.
func (o overlay) rect(x0, y0, x1, y1 float64, c render.Colour) {
	o.fill(polygon(pt(x0, y0), pt(x1, y0), pt(x1, y1), pt(x0, y1)), c)
}

// blankAround clears all that lies outside a frame.
func (o overlay) blankAround(f render.Frame) {
	w, h := float64(o.img.Rect.Dx())/o.perMM, float64(o.img.Rect.Dy())/o.perMM
	o.rect(0, 0, w, f.Top, paper)
	o.rect(0, f.Bottom, w, h, paper)
	o.rect(0, f.Top, f.Left, f.Bottom, paper)
	o.rect(f.Right, f.Top, w, f.Bottom, paper)
}

// text writes from x on the base line y.
func (o overlay) text(f *lettering.Font, s string, heightMM, x, y float64, c render.Colour) {
	o.fill(f.Outline(s, heightMM, x, y), c)
}

// centred writes with the middle of the text at x, y.
func (o overlay) centred(f *lettering.Font, s string, heightMM, x, y float64, c render.Colour) {
	o.text(f, s, heightMM, x-f.Width(s, heightMM)/2, y+heightMM/2, c)
}
