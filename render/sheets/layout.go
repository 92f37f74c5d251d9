package sheets

// The page: as wide as A4 and as high as US letter, so that it prints unscaled on both.
const (
	PageWidthMM  = 210.0
	PageHeightMM = 279.4
	marginMM     = 15.0
	footMM       = 9.0 // below the body, for the foot
	headMM       = 7.0 // above the body, for the warning, when there is one
	bodyWidthMM  = PageWidthMM - 2*marginMM
	gapMM        = 3.2 // between blocks
)

// piece is what is never divided between two pages.
type piece struct {
	height float64
	draw   func(p *pen, x, y float64)
	// stay keeps the piece with the one after it: a heading is not left at the foot of a page.
	stay bool
	// head is drawn again where a page begins with this piece.
	head *piece
	// breaks begins a new page before the piece.
	breaks bool
}

// setter breaks a document into pages.
type setter struct {
	fonts *fonts
	doc   *Document
}

// placed is a piece at a height of a page.
type placed struct {
	piece piece
	y     float64
}

// page is what stands on one.
type page []placed

func (s *setter) top() float64 {
	if s.doc.Warning != "" {
		return marginMM + headMM
	}
	return marginMM
}

func (s *setter) bottom() float64 { return PageHeightMM - marginMM - footMM }

// pages lays out the whole document.
func (s *setter) pages() []page {
	var pieces []piece
	for i, sec := range s.doc.Sections {
		pieces = append(pieces, s.section(sec, i == 0)...)
	}
	return s.paginate(pieces)
}

// paginate fills pages from top to bottom. A run of pieces that stay together moves as one, unless it is higher than a
// page.
func (s *setter) paginate(pieces []piece) []page {
	var pages []page
	var now page
	y := s.top()
	turn := func() {
		pages = append(pages, now)
		now, y = nil, s.top()
	}
	for i := 0; i < len(pieces); {
		n := 1
		need := pieces[i].height
		for i+n < len(pieces) && pieces[i+n-1].stay {
			need += pieces[i+n].height
			n++
		}
		if len(now) > 0 && (pieces[i].breaks || y+need > s.bottom()) {
			turn()
		}
		for k := range n {
			p := pieces[i+k]
			if len(now) > 0 && y+p.height > s.bottom() {
				turn()
			}
			if p.head != nil && len(now) == 0 {
				now = append(now, placed{*p.head, y})
				y += p.head.height
			}
			now = append(now, placed{p, y})
			y += p.height
		}
		i += n
	}
	if len(now) > 0 {
		turn()
	}
	return pages
}

// section sets a section: its title, then its blocks.
func (s *setter) section(sec Section, first bool) []piece {
	var out []piece
	if sec.Title != "" {
		st := sectionStyle
		if first {
			st = titleStyle
		}
		out = append(out, s.words(st, ink, sec.Title, gapMM)...)
		for i := range out {
			out[i].stay = true
		}
	}
	for _, b := range sec.Blocks {
		out = append(out, s.block(b)...)
	}
	if sec.NewPage && len(out) > 0 {
		out[0].breaks = true
	}
	return out
}
