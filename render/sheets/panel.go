package sheets

import "image/color"

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
	if len(below) > 0 { // set again under it, in two columns
		below = s.twoColumns(b.Steps[len(beside):])
	}
	main := piece{height: max(h, used) + gapMM, spread: true, stay: len(below) > 0, draw: func(p *pen, x, y float64) {
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

// twoColumns sets steps side by side in rows of two; one by itself goes across the page.
func (s *setter) twoColumns(steps []PanelStep) []piece {
	if len(steps) < 2 {
		return s.steps(steps, bodyWidthMM, 0)
	}
	const between = 6.0
	width := (bodyWidthMM - between) / 2
	cells := s.steps(steps, width, 0)
	var out []piece
	for i := 0; i < len(cells); i += 2 {
		row := cells[i:min(i+2, len(cells))]
		high := 0.0
		for _, q := range row {
			high = max(high, q.height)
		}
		out = append(out, piece{height: high, draw: func(p *pen, x, y float64) {
			for k, q := range row {
				q.draw(p, x+float64(k)*(width+between), y)
			}
		}})
	}
	return out
}

// Across the page the number of a step stands in a gutter, and its words begin as much lower as puts both on one base
// line. In the narrow column beside a picture the number stands above them.
const (
	stepGutterMM = 10.0
	stepDropMM   = 1.8
)

// steps sets steps one under another in a column, one piece each.
func (s *setter) steps(steps []PanelStep, width, indent float64) []piece {
	var out []piece
	for _, st := range steps {
		gutter, drop := stepGutterMM, stepDropMM
		if indent > 0 {
			gutter, drop = 0, stepStyle.leadMM
		}
		width := width - gutter
		words := s.fonts.wrap(bodyStyle, st.Words, width)
		var facts []string
		for _, f := range st.Facts {
			facts = append(facts, s.fonts.wrap(noteStyle, f, width)...)
		}
		h := max(stepStyle.leadMM, drop+float64(len(words))*bodyStyle.leadMM+float64(len(facts))*noteStyle.leadMM) + 3
		out = append(out, piece{height: h, draw: func(p *pen, x, y float64) {
			x += indent
			p.text(stepStyle, ink, x, y, st.Number)
			y = p.lines(bodyStyle, ink, x+gutter, y+drop, words)
			p.lines(noteStyle, grey, x+gutter, y, facts)
		}})
	}
	return out
}
