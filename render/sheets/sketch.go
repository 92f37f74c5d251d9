package sheets

import (
	"image/color"
	"math"

	"github.com/tdewolff/canvas"
)

// Sketch is a line drawing, in millimetres of the page. Lines are drawn in their order, words over them.
type Sketch struct {
	WidthMM, HeightMM float64
	Lines             []SketchLine
	Words             []SketchWords
	Alt               string // what it shows, for those who do not see it
}

// SketchLine is a line through points.
type SketchLine struct {
	Points  []SketchPoint
	WidthMM float64
	Closed  bool
	Fill    color.RGBA // of a closed one; with no alpha none
	Colour  color.RGBA // with no alpha the usual ink
	Dashed  bool
	Heads   [2]bool // arrow heads at its first and last point
}

// SketchPoint is a point of a sketch.
type SketchPoint struct{ X, Y float64 }

// SketchWords are words whose base line is at Y. Align is -1 to begin at X, 0 to be centred on it, 1 to end there.
type SketchWords struct {
	X, Y  float64
	Words string
	Align int
}

// SketchPoints is the height of the letters of a sketch, in points of a typesetter.
const SketchPoints = 8.0

// Arrow heads and dashes of sketches, in millimetres.
const (
	headLongMM = 2.2
	headHalfMM = 0.75
	dashOnMM   = 1.4
	dashOffMM  = 0.9
)

// Ink is the colour of the line.
func (l SketchLine) Ink() color.RGBA {
	if l.Colour.A == 0 {
		return ink
	}
	return l.Colour
}

// HeadShapes are the arrow heads of the line as triangles.
func (l SketchLine) HeadShapes() [][3]SketchPoint {
	n := len(l.Points)
	if n < 2 {
		return nil
	}
	var out [][3]SketchPoint
	for i, ends := range [2][2]SketchPoint{{l.Points[0], l.Points[1]}, {l.Points[n-1], l.Points[n-2]}} {
		if l.Heads[i] {
			out = append(out, arrowHead(ends[0], ends[1]))
		}
	}
	return out
}

// arrowHead points to tip, away from tail.
func arrowHead(tip, tail SketchPoint) [3]SketchPoint {
	dx, dy := tail.X-tip.X, tail.Y-tip.Y
	long := math.Hypot(dx, dy)
	if long == 0 {
		return [3]SketchPoint{tip, tip, tip}
	}
	dx, dy = dx/long, dy/long
	foot := SketchPoint{tip.X + dx*headLongMM, tip.Y + dy*headLongMM}
	return [3]SketchPoint{tip, {foot.X - dy*headHalfMM, foot.Y + dx*headHalfMM}, {foot.X + dy*headHalfMM, foot.Y - dx*headHalfMM}}
}

// sketch draws a sketch with its top left corner at x, y.
func (p *pen) sketch(k *Sketch, x, y float64) {
	for _, l := range k.Lines {
		p.sketchLine(l, x, y)
	}
	for _, w := range k.Words {
		at := x + w.X
		switch wide := p.fonts.width(noteStyle, w.Words); {
		case w.Align == 0:
			at -= wide / 2
		case w.Align > 0:
			at -= wide
		}
		p.text(noteStyle, ink, at, y+w.Y-noteStyle.leadMM*baseShare, w.Words)
	}
}

func (p *pen) sketchLine(l SketchLine, x, y float64) {
	if len(l.Points) < 2 {
		return
	}
	p.ctx.SetFillColor(color.RGBA{})
	if l.Closed {
		p.ctx.SetFillColor(l.Fill)
	}
	p.ctx.SetStrokeColor(l.Ink())
	p.ctx.SetStrokeWidth(l.WidthMM)
	if l.Dashed {
		p.ctx.SetDashes(0, dashOnMM, dashOffMM)
	}
	p.ctx.DrawPath(x, y, polyline(l.Points, l.Closed))
	p.ctx.SetDashes(0)
	for _, h := range l.HeadShapes() {
		p.ctx.SetFillColor(l.Ink())
		p.ctx.SetStrokeColor(color.RGBA{})
		p.ctx.DrawPath(x, y, polyline(h[:], true))
	}
}

func polyline(points []SketchPoint, closed bool) *canvas.Path {
	path := &canvas.Path{}
	path.MoveTo(points[0].X, points[0].Y)
	for _, q := range points[1:] {
		path.LineTo(q.X, q.Y)
	}
	if closed {
		path.Close()
	}
	return path
}

// dashed draws the edge of a slip to be cut out.
func (p *pen) dashed(x, y, w, h float64) {
	p.sketchLine(SketchLine{Points: []SketchPoint{{0, 0}, {w, 0}, {w, h}, {0, h}}, Closed: true, WidthMM: 0.25, Colour: grey, Dashed: true}, x, y)
}
