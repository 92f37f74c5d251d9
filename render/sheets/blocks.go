package sheets

import (
	"image/color"
	"strconv"
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
	case Contents:
		return s.contents(b)
	case Facts:
		return s.facts(b)
	case Sticks:
		return s.sticks(b)
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
		out = append(out, piece{height: h, stay: len(lines) > 1 && (i == 0 || i == len(lines)-2), draw: func(p *pen, x, y float64) { p.text(st, c, x, y, l) }})
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

// contents lists the sections with their pages, which are known only when it is drawn.
func (s *setter) contents(b Contents) []piece {
	out := s.words(subStyle, ink, b.Title, 1)
	for i := range out {
		out[i].stay = true
	}
	for _, sec := range s.doc.Sections[1:] {
		if sec.Title == "" {
			continue
		}
		out = append(out, piece{height: bodyStyle.leadMM + 0.6, draw: func(p *pen, x, y float64) {
			p.text(bodyStyle, ink, x, y, sec.Title)
			from, to := x+s.fonts.width(bodyStyle, sec.Title)+2, x+contentsMM-8
			if to > from {
				p.rule(from, to, y+bodyStyle.leadMM*0.72, rule, 0.2)
			}
			p.textRight(bodyStyle, ink, x+contentsMM, y, strconv.Itoa(s.begin[sec.ID]))
		}})
	}
	if len(out) > 0 {
		out[len(out)-1].height += gapMM
	}
	return out
}

// contentsMM is the width of the list of contents: titles are short, and an eye follows a line only so far.
const contentsMM = 110.0

// facts sets each fact as one piece.
func (s *setter) facts(b Facts) []piece {
	var out []piece
	for i, f := range b.Items {
		head := s.fonts.wrap(strongStyle, f.Head, bodyWidthMM-listIndentMM)
		words := s.fonts.wrap(bodyStyle, f.Words, bodyWidthMM-listIndentMM)
		note := s.fonts.wrap(noteStyle, f.Note, bodyWidthMM-listIndentMM)
		h := float64(len(head))*strongStyle.leadMM + float64(len(words))*bodyStyle.leadMM + float64(len(note))*noteStyle.leadMM + 1.8
		if i == len(b.Items)-1 {
			h += gapMM
		}
		out = append(out, piece{height: h, draw: func(p *pen, x, y float64) {
			p.box(x+1.6, y+1.9, 1.2, 1.2, grey, color.RGBA{}, 0)
			y = p.lines(strongStyle, ink, x+listIndentMM, y, head)
			y = p.lines(bodyStyle, ink, x+listIndentMM, y, words)
			p.lines(noteStyle, grey, x+listIndentMM, y, note)
		}})
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
