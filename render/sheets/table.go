package sheets

import (
	"cmp"
	"image/color"
	"slices"
	"strings"
)

// table sets rows under a head.
func (s *setter) table(b Table) []piece {
	widths := s.widths(b)
	row := func(st style, cells []string, ground color.RGBA, line float64) piece {
		wrapped := make([][]string, len(widths))
		most := 1
		for i := range widths {
			if i < len(cells) {
				wrapped[i] = s.fonts.wrap(st, cells[i], widths[i]-2*cellPadMM)
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
						p.textRight(st, ink, at+w-cellPadMM, ly, l)
					} else {
						p.text(st, ink, at+cellPadMM, ly, l)
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
	for i, r := range b.Rows {
		p := row(noteStyle, r, color.RGBA{}, 0.15)
		if b.heads(r) {
			p = s.groupHead(r[0])
		}
		p.head = &head
		p.stay = b.heads(r) || i < len(b.Rows)-1 && (i == 0 || i == len(b.Rows)-2) // no row is left alone at either end of a page
		out = append(out, p)
	}
	out[len(out)-1].height += gapMM
	return out
}

// heads tells whether a row is the heading of those under it.
func (b Table) heads(row []string) bool { return len(row) == 1 && len(b.Columns) > 1 }

// groupHead is a heading across a table.
func (s *setter) groupHead(words string) piece {
	const above = 2.4
	lines := s.fonts.wrap(strongStyle, words, bodyWidthMM-2*cellPadMM)
	h := above + float64(len(lines))*strongStyle.leadMM + 0.8
	return piece{height: h, draw: func(p *pen, x, y float64) {
		p.lines(strongStyle, ink, x+cellPadMM, y+above, lines)
		p.rule(x, x+bodyWidthMM, y+h, rule, 0.4)
	}}
}

// widths shares the width of the page out among the columns: each gets what its longest word needs, and of the rest as
// much as its longest cell asks for. What is left over then goes to the column that has most words.
func (s *setter) widths(b Table) []float64 {
	n := len(b.Columns)
	least, want := make([]float64, n), make([]float64, n)
	measure := func(st style, cells []string) {
		for i, cell := range cells[:min(n, len(cells))] {
			want[i] = max(want[i], s.fonts.width(st, cell)+2*cellPadMM+cellPlayMM)
			for _, word := range strings.FieldsFunc(Bind(Bind(cell)), isBreak) {
				least[i] = max(least[i], min(s.fonts.width(st, word)+2*cellPadMM+cellPlayMM, longWordMM))
			}
		}
	}
	titles := make([]string, n)
	for i, c := range b.Columns {
		titles[i] = c.Title
	}
	measure(noteBold, titles)
	for _, r := range b.Rows {
		if !b.heads(r) {
			measure(noteStyle, r)
		}
	}
	return share(least, want, bodyWidthMM)
}

// Cells keep their words off one another by this much on either side; a word longer than longWordMM is broken.
const (
	cellPadMM  = 1.0
	cellPlayMM = 0.1 // so that rounding breaks no line that just fits
	longWordMM = 48.0
)

// share divides a width: those that want least get what they want, the others the same share of what is left, but none
// less than its least. Anything over goes to the one that wants most; where even the least is too much, all give way.
func share(least, want []float64, width float64) []float64 {
	n := len(least)
	order, out := make([]int, n), make([]float64, n)
	sum := 0.0
	for i := range order {
		order[i] = i
		want[i] = max(want[i], least[i])
		sum += least[i]
	}
	if sum >= width {
		for i := range out {
			out[i] = least[i] * width / sum
		}
		return out
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(want[a], want[b]) })
	left, needed := width, sum
	for k, i := range order {
		needed -= least[i]
		out[i] = max(least[i], min(want[i], left/float64(n-k), left-needed))
		left -= out[i]
	}
	if n > 0 {
		out[order[n-1]] += left
	}
	return out
}
