package picture

import (
	"image"
	"image/draw"
	"math"

	"turnwise/assembly/standard"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render/callout"
	"turnwise/render/lettering"
)

// The sheet of the legend: as wide as a page's text, two columns of marks with their meanings.
const (
	legendWideMM  = 180
	legendRowMM   = 13
	legendMarkMM  = 25 // of a column, for the mark
	legendTextMM  = 2.9
	legendLineMM  = 4
	legendColumns = 2
)

// legendEntry is one mark, and the name of the words that say what it means.
type legendEntry struct {
	words string
	draw  func(sh *sheet, at point) // its middle at a place
}

// Legend draws every mark that step pictures use, by the very code that draws it there, with what it means.
func Legend() (*Picture, error) {
	words, err := wording.EnglishPages()
	if err != nil {
		return nil, err
	}
	rows := (len(legend) + legendColumns - 1) / legendColumns
	sh := &sheet{size: pt(legendWideMM, float64(rows)*legendRowMM), step: &stepMarks{words: words}}
	img := image.NewNRGBA(image.Rect(0, 0, int(sh.size.X*PixelsPerMM), int(sh.size.Y*PixelsPerMM)))
	draw.Draw(img, img.Rect, image.White, image.Point{}, draw.Src)
	sh.over = overlay{img: img, perMM: PixelsPerMM, fills: &[]VectorFill{}}
	const wide = legendWideMM / legendColumns
	for k, e := range legend {
		x, y := float64(k/rows)*wide, (float64(k%rows)+0.5)*legendRowMM
		e.draw(sh, pt(x+legendMarkMM/2, y))
		lines := lettering.Regular.Wrap(words.Say(e.words), legendTextMM, wide-legendMarkMM-4)
		for i, l := range lines {
			base := y + legendLineMM*(float64(i)-float64(len(lines)-1)/2) + legendTextMM/2
			sh.over.text(lettering.Regular, l, legendTextMM, x+legendMarkMM+1, base, markInk)
		}
	}
	return &Picture{Image: img, Vector: sh.vector()}, nil
}

// legend lists the marks in the order in which a reader meets them.
var legend = []legendEntry{
	{"mark.means-number", func(sh *sheet, at point) {
		b := callout.Balloon{Centre: pt(at.X-5, at.Y), Start: pt(at.X-5+stepBalloonMM, at.Y), End: callout.Anchor{At: pt(at.X+5, at.Y+1), Inside: dotInsideMM}}
		sh.balloon(callout.Mark{Text: "3"}, b, stepBalloonMM)
		sh.over.line(b.Start, b.End.At, 0.25, markInk)
		sh.over.disc(b.End.At, 0.7, markInk)
		sh.over.text(lettering.Regular, "×4", stepTextMM, at.X+6.5, at.Y+1+stepTextMM/2, markInk)
	}},
	{"mark.means-new", func(sh *sheet, at point) {
		for k, t := range []struct{ strong bool }{{true}, {false}} {
			tone := paleTone(tones[familyOf(standard.Tee)])
			pen := 0.2
			if t.strong {
				tone, pen = strongTone(tones[familyOf(standard.Tee)]), 0.5
			}
			x := at.X - 9 + 10*float64(k)
			sh.over.rect(x-pen, at.Y-3-pen, x+8+pen, at.Y+3+pen, lineInk)
			sh.over.rect(x, at.Y-3, x+8, at.Y+3, tone.Light)
		}
	}},
	{"mark.means-turn", func(sh *sheet, at point) {
		var path [][2]point
		const n, a, b = 48, 6.0, 3.2
		at1 := func(k float64) point {
			s, c := math.Sincos((30 + turnRoundDeg*k/n - 90) * math.Pi / 180)
			return pt(at.X+a*c, at.Y+b*s)
		}
		for k := range n {
			path = append(path, [2]point{at1(float64(k)), at1(float64(k + 1))})
		}
		sh.over.ribbon(path, at1(n-8), at1(n))
	}},
	{"mark.means-way", func(sh *sheet, at point) {
		a, b := pt(at.X-6, at.Y), pt(at.X+5, at.Y)
		sh.over.ribbon([][2]point{{a, b}}, a, b)
	}},
	{"mark.means-hold", func(sh *sheet, at point) {
		sh.over.rect(at.X-9, at.Y-1.4, at.X+9, at.Y+1.4, lineInk)
		sh.over.rect(at.X-9, at.Y-1.1, at.X+9, at.Y+1.1, paleTone(tones[familyPipe]).Light)
		sh.over.jaws(at, 1, 0, 2.6)
	}},
	{"mark.means-step", func(sh *sheet, at point) {
		sh.over.rect(at.X-2.4, at.Y-2, at.X+2.4, at.Y+2, actInk)
		sh.over.centred(lettering.Bold, "7", stepTextMM, at.X, at.Y, paper)
	}},
	{"mark.means-times", func(sh *sheet, at point) {
		sh.over.centred(lettering.Bold, "7  ×2", lettering.TitleMM, at.X, at.Y, markInk)
	}},
	{"mark.means-dial", func(sh *sheet, at point) {
		sh.face(dial{axis: geom.AxisZ.Neg(), branches: []geom.Vec{geom.AxisX}}, at.X, at.Y, 5.4)
	}},
	{"mark.means-inset", func(sh *sheet, at point) {
		sh.ring(pt(at.X-7, at.Y), 2, 0.35)
		sh.over.line(pt(at.X-5, at.Y), pt(at.X, at.Y), 0.18, actInk)
		for _, l := range [][4]float64{{0, -5, 10, -5}, {10, -5, 10, 5}, {10, 5, 0, 5}, {0, 5, 0, -5}} {
			sh.over.line(pt(at.X+l[0], at.Y+l[1]), pt(at.X+l[2], at.Y+l[3]), 0.35, actInk)
		}
		sh.over.disc(pt(at.X+5, at.Y), 2.6, paleTone(tones[familyOf(standard.Tee)]).Shade)
	}},
	{"mark.means-screw", func(sh *sheet, at point) {
		sh.over.screw(pt(at.X-9, at.Y), 1, 0, true)
	}},
	{"mark.means-loose", func(sh *sheet, at point) { sh.over.tightness("loose", at) }},
	{"mark.means-snug", func(sh *sheet, at point) { sh.over.tightness("snug", at) }},
	{"mark.means-final", func(sh *sheet, at point) { sh.over.tightness("final", at) }},
	{"mark.means-measure", func(sh *sheet, at point) {
		o, e := pt(at.X-9, at.Y+1.5), pt(at.X+8, at.Y+1.5)
		sh.over.line(o, e, heightLineMM, markInk)
		sh.over.disc(o, 0.8, markInk)
		sh.over.disc(o, 0.8-heightLineMM, paper)
		sh.over.line(pt(e.X, e.Y+3.5), pt(e.X, e.Y-1), heightLineMM, markInk)
		sh.over.fill(arrowHead(o, e, heightHeadMM, -heightHeadMM*0.35), markInk)
		sh.over.broken(pt(at.X-3, at.Y+1.5), 1, 0)
	}},
	{"mark.means-prop", func(sh *sheet, at point) {
		sh.over.prop(pt(at.X, at.Y-5), pt(at.X, at.Y+4.5))
	}},
	{"mark.means-bearings", func(sh *sheet, at point) {
		for _, d := range []point{{X: 0, Y: -1}, {X: 1, Y: 0.1}, {X: 0.25, Y: -0.35}} {
			o := pt(at.X-3, at.Y+3)
			tip := pt(o.X+d.X*bearingMM, o.Y+d.Y*bearingMM)
			sh.over.line(o, tip, bearingPen, thinInk)
			sh.over.fill(arrowHead(o, tip, bearingHead, 0), thinInk)
		}
	}},
}
