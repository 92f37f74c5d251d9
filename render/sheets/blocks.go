package sheets

import (
	"image/color"
)

// block sets one block.
func (s *setter) block(b Block) []piece {
	switch b := b.(type) {
	case Text:
		if b.Large {
			return s.words(largeStyle, ink, b.Words, gapMM)
		}
		return s.words(bodyStyle, ink, b.Words, gapMM)
	case Subhead:
		p := s.words(subStyle, ink, b.Words, 1)
		for i := range p {
			p[i].stay = true
		}
		return p
	case List:
		return s.list(b)
	case Notice:
		return s.notice(b)
	case Table:
		return s.table(b)
	case Figure:
		return s.figure(b)
	case Cards:
		return s.cards(b)
	case Panel:
		return s.panel(b)
	case Bars:
		return s.bars(b)
	}
	return nil
}

// words sets a paragraph, a line to a piece, with a gap after the last.
func (s *setter) words(st style, c color.RGBA, words string, gap float64) []piece {
	lines := s.fonts.wrap(st, words, bodyWidthMM)
	var out []piece
	for i, l := range lines {
		h := st.leadMM
		if i == len(lines)-1 {
			h += gap
		}
		out = append(out, piece{height: h, stay: i == 0 && len(lines) > 1, draw: func(p *pen, x, y float64) { p.text(st, c, x, y, l) }})
	}
	return out
}

// listIndentMM is how far the words of a list stand in.
const listIndentMM = 6.0

func (s *setter) list(b List) []piece {
	var out []piece
	for i, item := range b.Items {
		lines := s.fonts.wrap(bodyStyle, item, bodyWidthMM-listIndentMM)
		h := float64(len(lines))*bodyStyle.leadMM + 1.2
		if i == len(b.Items)-1 {
			h += gapMM
		}
		out = append(out, piece{height: h, draw: func(p *pen, x, y float64) {
			if b.Tick {
				p.boxes(x+0.6, y+0.7, 1, 1)
			} else {
				p.box(x+1.6, y+1.9, 1.2, 1.2, grey, color.RGBA{}, 0)
			}
			p.lines(bodyStyle, ink, x+listIndentMM, y, lines)
		}})
	}
	return out
}

// notice is a list on a coloured ground. Each item is a piece, so a long notice runs over pages.
func (s *setter) notice(b Notice) []piece {
	const pad = 3.0
	ground, bar := caution, color.RGBA{214, 158, 46, 255}
	if b.Grave {
		ground, bar = color.RGBA{252, 234, 232, 255}, grave
	}
	row := func(st style, lines []string, above, below, indent float64) piece {
		h := float64(len(lines))*st.leadMM + above + below
		return piece{height: h, draw: func(p *pen, x, y float64) {
			p.box(x, y, bodyWidthMM, h+0.05, ground, color.RGBA{}, 0)
			p.box(x, y, 1.4, h+0.05, bar, color.RGBA{}, 0)
			if indent > 0 {
				p.box(x+pad+1.6, y+above+1.9, 1.2, 1.2, bar, color.RGBA{}, 0)
			}
			p.lines(st, ink, x+pad+indent, y+above, lines)
		}}
	}
	head := row(subStyle, s.fonts.wrap(subStyle, b.Title, bodyWidthMM-2*pad), 2, 1, 0)
	head.stay = true
	out := []piece{head}
	for i, item := range b.Items {
		below := 1.2
		if i == len(b.Items)-1 {
			below = 2.4
		}
		out = append(out, row(bodyStyle, s.fonts.wrap(bodyStyle, item, bodyWidthMM-2*pad-listIndentMM), 0, below, listIndentMM))
	}
	return append(out, piece{height: gapMM, draw: func(*pen, float64, float64) {}})
}

// table sets rows under a head.
func (s *setter) table(b Table) []piece {
	widths := b.widths()
	row := func(st style, cells []string, ground color.RGBA, line float64) piece {
		wrapped := make([][]string, len(widths))
		most := 1
		for i := range widths {
			if i < len(cells) {
				wrapped[i] = s.fonts.wrap(st, cells[i], widths[i]-2)
				most = max(most, len(wrapped[i]))
			}
		}
		h := float64(most)*st.leadMM + 1.6
		return piece{height: h, draw: func(p *pen, x, y float64) {
			p.box(x, y, bodyWidthMM, h, ground, color.RGBA{}, 0)
			p.rule(x, x+bodyWidthMM, y+h, rule, line)
			at := x
			for i, w := range widths {
				for k, l := range wrapped[i] {
					ly := y + 0.8 + float64(k)*st.leadMM
					if b.Columns[i].Right {
						p.textRight(st, ink, at+w-1, ly, l)
					} else {
						p.text(st, ink, at+1, ly, l)
					}
				}
				at += w
			}
		}}
	}
	titles := make([]string, len(b.Columns))
	for i, c := range b.Columns {
		titles[i] = c.Title
	}
	head := row(noteBold, titles, wash, 0.4)
	head.stay = true
	out := []piece{head}
	for _, r := range b.Rows {
		p := row(noteStyle, r, color.RGBA{}, 0.15)
		p.head = &head
		out = append(out, p)
	}
	out[len(out)-1].height += gapMM
	return out
}

// widths shares the width of the page out among the columns.
func (b Table) widths() []float64 {
	sum := 0.0
	for _, c := range b.Columns {
		sum += c.Weight
	}
	out := make([]float64, len(b.Columns))
	for i, c := range b.Columns {
		out[i] = bodyWidthMM * c.Weight / sum
	}
	return out
}

// figure is a picture with its caption under it.
func (s *setter) figure(b Figure) []piece {
	if b.Drawing == nil {
		return nil
	}
	caption := s.fonts.wrap(noteStyle, b.Caption, bodyWidthMM)
	below := float64(len(caption))*noteStyle.leadMM + gapMM
	w, h := fit(b.Drawing, bodyWidthMM, (s.bottom()-s.top())*b.Height-below)
	return []piece{{height: h + below, draw: func(p *pen, x, y float64) {
		p.image(b.Drawing, x+(bodyWidthMM-w)/2, y, w)
		p.lines(noteStyle, grey, x, y+h+1, caption)
	}}}
}

// fit returns the largest size of a picture within a frame.
func fit(d *Drawing, width, height float64) (w, h float64) {
	size := d.Image.Bounds().Size()
	share := float64(size.Y) / float64(size.X)
	w = width
	if w*share > height {
		w = height / share
	}
	return w, w * share
}

// panelPictureMM is the width of the picture of a panel; two panels of 4:3 pictures go on a page.
const panelPictureMM = 122.0

// panel sets a picture with its steps beside it, and below it what does not fit there. What belongs to one picture
// stays on one page unless it is more than a page.
func (s *setter) panel(b Panel) []piece {
	if b.Drawing == nil {
		return s.steps(b.Steps, bodyWidthMM, 0)
	}
	w, h := fit(b.Drawing, panelPictureMM, (s.bottom()-s.top())/2-gapMM)
	side := s.steps(b.Steps, bodyWidthMM-w-5, w+5)
	var beside, below []piece
	used := 0.0
	for i, p := range side {
		if used+p.height > h && i > 0 {
			below = side[i:]
			break
		}
		beside = append(beside, p)
		used += p.height
	}
	if len(below) > 0 { // set again across the page
		below = s.steps(b.Steps[len(beside):], bodyWidthMM, 0)
	}
	main := piece{height: max(h, used) + gapMM, stay: len(below) > 0, draw: func(p *pen, x, y float64) {
		p.image(b.Drawing, x, y, w)
		p.box(x, y, w, h, color.RGBA{}, rule, 0.2)
		for _, q := range beside {
			q.draw(p, x, y)
			y += q.height
		}
	}}
	all := main.height
	for _, q := range below {
		all += q.height
	}
	for i := range below {
		below[i].stay = i < len(below)-1 && all <= s.bottom()-s.top()
	}
	return append([]piece{main}, below...)
}

// The number of a step stands in a gutter; its words begin as much lower as puts both on one base line.
const (
	stepGutterMM = 10.0
	stepDropMM   = 1.8
)

// steps sets steps one under another in a column, one piece each.
func (s *setter) steps(steps []PanelStep, width, indent float64) []piece {
	var out []piece
	for _, st := range steps {
		width := width - stepGutterMM
		words := s.fonts.wrap(bodyStyle, st.Words, width)
		var facts []string
		for _, f := range st.Facts {
			facts = append(facts, s.fonts.wrap(noteStyle, f, width)...)
		}
		h := max(stepStyle.leadMM, stepDropMM+float64(len(words))*bodyStyle.leadMM+float64(len(facts))*noteStyle.leadMM) + 3
		out = append(out, piece{height: h, draw: func(p *pen, x, y float64) {
			x += indent
			p.text(stepStyle, ink, x, y, st.Number)
			y = p.lines(bodyStyle, ink, x+stepGutterMM, y+stepDropMM, words)
			p.lines(noteStyle, grey, x+stepGutterMM, y, facts)
		}})
	}
	return out
}
