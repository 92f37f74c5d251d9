package booklet

import (
	"image/color"
	"math"

	"turnwise/render/sheets"
)

// Pens and tones of drawings. Widths are in millimetres; the tones are pale, so that words over them are read.
const (
	outlineMM = 0.35
	thinMM    = 0.18
)

var (
	metal  = color.RGBA{214, 220, 226, 255}
	pale   = color.RGBA{238, 240, 242, 255}
	white  = color.RGBA{255, 255, 255, 255}
	accent = color.RGBA{0, 84, 112, 255}
)

// draft is a drawing being made.
type draft struct{ sheets.Sketch }

func newDraft(w, h float64) *draft {
	return &draft{sheets.Sketch{WidthMM: w, HeightMM: h}}
}

func at(x, y float64) sheets.SketchPoint { return sheets.SketchPoint{X: x, Y: y} }

func (d *draft) add(l sheets.SketchLine) { d.Lines = append(d.Lines, l) }

// line is a thin line through points.
func (d *draft) line(points ...sheets.SketchPoint) {
	d.add(sheets.SketchLine{Points: points, WidthMM: thinMM})
}

// shape is a filled outline.
func (d *draft) shape(fill color.RGBA, points ...sheets.SketchPoint) {
	d.add(sheets.SketchLine{Points: points, WidthMM: outlineMM, Closed: true, Fill: fill})
}

func (d *draft) rect(fill color.RGBA, x0, y0, x1, y1 float64) {
	d.shape(fill, at(x0, y0), at(x1, y0), at(x1, y1), at(x0, y1))
}

// arcSteps is into how many straight pieces a full turn is divided: fine enough that nobody sees the corners on paper.
const arcSteps = 72

// arc is a part of a circle, from one angle to another in degrees, 0 to the right, growing clockwise on the page.
func arc(x, y, r, fromDeg, toDeg float64) []sheets.SketchPoint {
	n := max(2, int(math.Ceil(math.Abs(toDeg-fromDeg)/360*arcSteps)))
	out := make([]sheets.SketchPoint, n+1)
	for i := range out {
		a := (fromDeg + (toDeg-fromDeg)*float64(i)/float64(n)) * math.Pi / 180
		out[i] = at(x+r*math.Cos(a), y+r*math.Sin(a))
	}
	return out
}

func (d *draft) circle(fill color.RGBA, x, y, r float64) { d.shape(fill, arc(x, y, r, 0, 360)...) }

// axis is a dashed line.
func (d *draft) axis(points ...sheets.SketchPoint) {
	d.add(sheets.SketchLine{Points: points, WidthMM: thinMM, Dashed: true})
}

// turn is an arrow that goes round.
func (d *draft) turn(x, y, r, fromDeg, toDeg float64) {
	d.add(sheets.SketchLine{Points: arc(x, y, r, fromDeg, toDeg), WidthMM: 0.5, Colour: accent, Heads: [2]bool{false, true}})
}

func (d *draft) words(x, y float64, align int, words string) {
	d.Words = append(d.Words, sheets.SketchWords{X: x, Y: y, Align: align, Words: words})
}

// across is a dimension between two upright lines at x0 and x1 that come from y, with its words over it.
func (d *draft) across(x0, x1, from, y float64, words string) {
	past := math.Copysign(1, y-from)
	d.line(at(x0, from), at(x0, y+past))
	d.line(at(x1, from), at(x1, y+past))
	d.add(sheets.SketchLine{Points: []sheets.SketchPoint{at(x0, y), at(x1, y)}, WidthMM: thinMM, Heads: [2]bool{true, true}})
	d.words((x0+x1)/2, y-1.4, 0, words)
}

// narrow is a dimension too short for arrows between its lines: they stand outside, and its words beyond the right one.
func (d *draft) narrow(x0, x1, from, y float64, words string) {
	past := math.Copysign(1, y-from)
	d.line(at(x0, from), at(x0, y+past))
	d.line(at(x1, from), at(x1, y+past))
	d.add(sheets.SketchLine{Points: []sheets.SketchPoint{at(x0-5, y), at(x0, y)}, WidthMM: thinMM, Heads: [2]bool{false, true}})
	d.add(sheets.SketchLine{Points: []sheets.SketchPoint{at(x1+5, y), at(x1, y)}, WidthMM: thinMM, Heads: [2]bool{false, true}})
	d.words(x1+6, y+1, -1, words)
}

// pointer leads from words to what they name.
func (d *draft) pointer(x, y float64, align int, words string, to sheets.SketchPoint) {
	const letters = 2.2 // their height, in mm
	d.words(x, y, align, words)
	from := at(x+float64(align)*0.8, y-letters/2)
	switch {
	case align == 0 && to.Y > y:
		from.Y = y + 0.9
	case align == 0:
		from.Y = y - letters - 0.6
	}
	d.line(from, to)
}

// thread marks thread on a pipe lying from x0 to x1 between two heights: slanted lines, a pitch apart.
func (d *draft) thread(x0, x1, y0, y1, pitch float64) {
	for x := x0 + pitch/2; x < x1-pitch/4; x += pitch {
		d.line(at(x, y1), at(x+pitch/3, y0))
	}
}
