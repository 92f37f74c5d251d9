package sheets

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"io"
	"strconv"

	"github.com/tdewolff/canvas"
	"github.com/tdewolff/canvas/renderers/pdf"
)

// WritePDF lays the document out and writes its pages, with real text and embedded fonts. The same document gives the
// same bytes.
func WritePDF(w io.Writer, d *Document) error {
	f, err := newFonts()
	if err != nil {
		return err
	}
	s := &setter{fonts: f, doc: d}
	pages := s.pages()
	var b bytes.Buffer
	r := pdf.New(&b, PageWidthMM, PageHeightMM, nil)
	r.SetInfo(d.Title, "", "", "", d.Language) // this writer takes the document's language from its creator
	r.SetLang(d.Language)
	images, stood, raws := map[*Drawing]image.Image{}, map[*Drawing]image.Image{}, []raw{}
	for i, pg := range pages {
		if i > 0 {
			r.NewPage(PageWidthMM, PageHeightMM)
		}
		ctx := canvas.NewContext(r)
		ctx.SetCoordSystem(canvas.CartesianIV)
		s.drawPage(&pen{ctx: ctx, fonts: f, images: images, stood: stood, raws: &raws}, pg, i+1, len(pages))
	}
	if err := r.Close(); err != nil {
		return fmt.Errorf("writing the pages: %w", err)
	}
	fixed, err := withoutClock(b.Bytes(), raws)
	if err != nil {
		return fmt.Errorf("writing the pages: %w", err)
	}
	_, err = w.Write(fixed)
	return err
}

// drawPage draws one page: warning, body, foot.
func (s *setter) drawPage(p *pen, pg page, number, of int) {
	p.box(0, 0, PageWidthMM, PageHeightMM, color.RGBA{255, 255, 255, 255}, color.RGBA{}, 0)
	if s.doc.Warning != "" {
		p.box(marginMM, marginMM-2, bodyWidthMM, headMM, grave, color.RGBA{}, 0)
		p.text(strongStyle, color.RGBA{255, 255, 255, 255}, marginMM+2, marginMM-1, s.doc.Warning)
	}
	for _, q := range pg {
		q.piece.draw(p, marginMM, q.y)
	}
	y := PageHeightMM - marginMM - footMM + 4
	p.rule(marginMM, PageWidthMM-marginMM, y, rule, 0.15)
	p.text(noteStyle, grey, marginMM, y+1, s.doc.Foot)
	p.textRight(noteStyle, grey, PageWidthMM-marginMM, y+1, strconv.Itoa(number)+" / "+strconv.Itoa(of))
}

// Pages returns how many pages the document takes.
func Pages(d *Document) (int, error) {
	f, err := newFonts()
	if err != nil {
		return 0, err
	}
	return len((&setter{fonts: f, doc: d}).pages()), nil
}
