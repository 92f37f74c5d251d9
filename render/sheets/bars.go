package sheets

import (
	"image/color"

	"github.com/tdewolff/canvas"
)

// Bars of pipe.
const (
	barMM       = 3.4 // thickness; not to scale
	barRowMM    = 12.5
	barThreadMM = 2.6 // length of the mark at a threaded end; not to scale
)

// bars draws each piece as a bar whose length is to one scale for all of them, the longest across the page.
func (s *setter) bars(b Bars) []piece {
	longest := 0.0
	for _, it := range b.Items {
		longest = max(longest, it.LengthMM)
	}
	if longest <= 0 {
		return nil
	}
	scale := (bodyWidthMM - 2*tagRadiusMM - 4) / longest
	var out []piece
	for _, it := range b.Items {
		note := s.fonts.wrap(noteStyle, it.Note, bodyWidthMM-2*tagRadiusMM-4)
		h := barRowMM + float64(len(note))*noteStyle.leadMM + boxesHeight(it.Boxes, boxesAcross*3)
		out = append(out, piece{height: h, draw: func(p *pen, x, y float64) {
			left := x + 2*tagRadiusMM + 3
			p.tag(it.Tag, x, y)
			p.text(strongStyle, ink, left, y, it.Title)
			p.pipe(left, y+5.4, it.LengthMM*scale, it.Ends)
			at := p.lines(noteStyle, grey, left, y+9.6, note)
			p.boxes(left, at+0.6, it.Boxes, boxesAcross*3)
		}})
	}
	return append(out, piece{height: gapMM, draw: func(*pen, float64, float64) {}})
}

// Rows of stock to be cut.
const (
	stickMM    = 5.0
	stickRowMM = 13.0
)

// sticks draws each length of stock with the pieces that are cut from it, numbered where the number has room.
func (s *setter) sticks(b Sticks) []piece {
	longest := 0.0
	for _, it := range b.Items {
		longest = max(longest, it.LengthMM)
	}
	if longest <= 0 {
		return nil
	}
	scale := bodyWidthMM / longest
	var out []piece
	for _, it := range b.Items {
		note := s.fonts.wrap(noteStyle, it.Note, bodyWidthMM)
		h := stickRowMM + float64(len(note))*noteStyle.leadMM
		out = append(out, piece{height: h, draw: func(p *pen, x, y float64) {
			p.text(strongStyle, ink, x, y, it.Title)
			p.stick(x, y+5, it, scale)
			p.lines(noteStyle, ink, x, y+5+stickMM+0.8, note)
		}})
	}
	return append(out, piece{height: gapMM, draw: func(*pen, float64, float64) {}})
}

// stick draws one length of stock; what is left over is blank.
func (p *pen) stick(x, y float64, it StickBar, scale float64) {
	p.box(x, y, it.LengthMM*scale, stickMM, color.RGBA{255, 255, 255, 255}, grey, 0.2)
	for _, c := range it.Pieces {
		w := c.LengthMM * scale
		p.box(x, y, w, stickMM, color.RGBA{226, 232, 236, 255}, ink, 0.25)
		if tw := p.fonts.width(noteBold, c.Tag); tw+1 < w {
			p.text(noteBold, ink, x+(w-tw)/2, y+(stickMM-noteBold.leadMM)/2, c.Tag)
		}
		x += w + it.KerfMM*scale
	}
}

// pipe draws a bar with marks where thread is cut.
func (p *pen) pipe(x, y, w float64, ends [2]bool) {
	body := color.RGBA{226, 232, 236, 255}
	p.box(x, y, w, barMM, body, ink, 0.25)
	mark := min(barThreadMM, w/3)
	for i, cut := range ends {
		if !cut {
			continue
		}
		at := x
		if i == 1 {
			at = x + w - mark
		}
		p.box(at, y, mark, barMM, color.RGBA{150, 160, 170, 255}, ink, 0.25)
	}
}

// ring draws a circle round its middle.
func (p *pen) ring(x, y, r float64) {
	p.ctx.SetFillColor(color.RGBA{255, 255, 255, 255})
	p.ctx.SetStrokeColor(ink)
	p.ctx.SetStrokeWidth(0.35)
	p.ctx.DrawPath(x, y, canvas.Circle(r))
}
