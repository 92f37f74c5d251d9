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
	// spread may stand lower than it must, where its page has room left.
	spread bool
	// section is the ID of the section that begins with the piece, "" within one.
	section string
}

// setter breaks a document into pages.
type setter struct {
	fonts *fonts
	doc   *Document
	begin map[string]int // the page on which each section begins, from 1, known when all are laid out
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
	pages := s.paginate(pieces)
	s.begin = map[string]int{}
	for n, pg := range pages {
		s.spread(pg)
		for _, q := range pg {
			if q.piece.section != "" {
				s.begin[q.piece.section] = n + 1
			}
		}
	}
	return pages
}

// mostSpreadMM is the most that is put between two pieces to fill a page: beyond it they no longer look as if they
// belonged together. A matter of taste.
const mostSpreadMM = 26.0

// spread shares out what is left of a page among the gaps before those of its pieces that may stand lower.
func (s *setter) spread(pg page) {
	last := pg[len(pg)-1]
	left, gaps := s.bottom()-last.y-last.piece.height, -1 // the first of them stays
	for _, q := range pg {
		if q.piece.spread {
			gaps++
		}
	}
	if gaps <= 0 || left/float64(gaps) > mostSpreadMM*2 {
		return
	}
	add, down := min(left/float64(gaps), mostSpreadMM), 0.0
	found := false
	for i := range pg {
		if pg[i].piece.spread && found {
			down += add
		}
		found = found || pg[i].piece.spread
		pg[i].y += down
	}
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
	if len(out) == 0 {
		return nil
	}
	out[0].breaks, out[0].section = sec.NewPage, sec.ID
	if !sec.NewPage && !first {
		s.keepWhole(out)
	}
	return out
}

// keepWhole keeps pieces together that go on one page.
func (s *setter) keepWhole(pieces []piece) {
	sum := 0.0
	for _, p := range pieces {
		sum += p.height
	}
	if sum > s.bottom()-s.top() {
		return
	}
	for i := range pieces[:len(pieces)-1] {
		pieces[i].stay = true
	}
}
