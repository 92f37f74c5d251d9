package sheets

import "image/color"

// The grid of cards.
const (
	cardsAcross   = 3
	cardGapMM     = 4.0
	cardPictureMM = 34.0 // height kept for the picture
	cardPadMM     = 2.5
)

// card is one card, measured.
type card struct {
	Card
	width  float64 // of the picture, on the page
	shrunk bool
	title  []string
	lines  []string
	height float64
}

func (s *setter) cards(b Cards) []piece {
	var out []piece
	n := b.across()
	for i := 0; i < len(b.Items); i += n {
		out = append(out, s.cardRow(b, b.Items[i:min(i+n, len(b.Items))]))
	}
	return out
}

func (b Cards) across() int {
	if b.Across > 0 {
		return b.Across
	}
	return cardsAcross
}

// cardWidth is the width of one card.
func (b Cards) cardWidth() float64 {
	n := float64(b.across())
	return (bodyWidthMM - (n-1)*cardGapMM) / n
}

func (s *setter) cardRow(b Cards, items []Card) piece {
	row := make([]card, len(items))
	high := 0.0
	for i, c := range items {
		row[i] = s.card(b, c)
		high = max(high, row[i].height)
	}
	return piece{height: high + cardGapMM, draw: func(p *pen, x, y float64) {
		for i, c := range row {
			b.draw(p, c, x+float64(i)*(b.cardWidth()+cardGapMM), y, high)
		}
	}}
}

func (s *setter) card(b Cards, c Card) card {
	m := card{Card: c}
	inner := b.cardWidth() - 2*cardPadMM - c.indent()
	if c.Drawing != nil {
		size := c.Drawing.Image.Bounds().Size()
		m.width = float64(size.X) / b.PerMM
		if w, _ := fit(c.Drawing, inner, cardPictureMM); w < m.width {
			m.width, m.shrunk = w, true
		}
	}
	m.title = s.fonts.wrap(strongStyle, c.Title, inner)
	for _, l := range c.Lines {
		m.lines = append(m.lines, s.fonts.wrap(noteStyle, l, inner)...)
	}
	if m.shrunk {
		m.lines = append(m.lines, s.fonts.wrap(noteStyle, b.Shrunk, inner)...)
	}
	m.height = 2*cardPadMM + float64(len(m.title))*strongStyle.leadMM + float64(len(m.lines))*noteStyle.leadMM +
		boxesHeight(c.Boxes, boxesAcross) + 1
	if c.Drawing != nil {
		m.height += cardPictureMM
	}
	if c.Sketch != nil {
		m.height += c.Sketch.HeightMM + 1
	}
	return m
}

// indent is how far words stand in, beside a number that has no picture to stand on.
func (c Card) indent() float64 {
	if c.Drawing != nil || c.Sketch != nil || c.Tag == "" {
		return 0
	}
	return 2*tagRadiusMM + 2
}

// boxesAcross is how many boxes to tick go in a row of a card.
const boxesAcross = 12

func (b Cards) draw(p *pen, c card, x, y, high float64) {
	width := b.cardWidth()
	if b.Cut {
		p.dashed(x, y, width, high)
	} else {
		p.box(x, y, width, high, color.RGBA{}, rule, 0.2)
	}
	inner := x + cardPadMM + c.indent()
	at := y + cardPadMM
	if c.Drawing != nil {
		size := c.Drawing.Image.Bounds().Size()
		h := c.width * float64(size.Y) / float64(size.X)
		p.image(c.Drawing, x+(width-c.width)/2, at+(cardPictureMM-h)/2, c.width)
		at += cardPictureMM
	}
	if c.Sketch != nil {
		p.sketch(c.Sketch, x+(width-c.Sketch.WidthMM)/2, at)
		at += c.Sketch.HeightMM + 1
	}
	p.tag(c.Tag, x+cardPadMM, y+cardPadMM)
	at = p.lines(strongStyle, ink, inner, at, c.title)
	at = p.lines(noteStyle, ink, inner, at, c.lines)
	p.boxes(inner, at+1, c.Boxes, boxesAcross)
}

// tagRadiusMM is that of the ring round a number.
const tagRadiusMM = 3.6

// tag draws the number of a part in a ring, its top left corner at x, y.
func (p *pen) tag(words string, x, y float64) {
	if words == "" {
		return
	}
	p.ring(x+tagRadiusMM, y+tagRadiusMM, tagRadiusMM)
	p.text(tagStyle, ink, x+tagRadiusMM-p.fonts.width(tagStyle, words)/2, y+tagRadiusMM-tagStyle.leadMM*0.49, words)
}
