package booklet

import (
	_ "embed"
	"encoding/base64"
	"fmt"
	"html"
	"io"
	"strconv"
	"strings"

	"turnwise/render/sheets"
)

//go:embed booklet.css
var css string

// WriteHTML writes a document as one web page that needs no other file and no network: pictures stand in it as data. It
// is read by keyboard and screen reader (sections with headings, pictures with words, a list of contents to jump from),
// fits a telephone, and prints on A4 and US letter.
func WriteHTML(w io.Writer, d *sheets.Document) error {
	h := &page{}
	h.f("<!DOCTYPE html>\n<html lang=%q>\n<head>\n<meta charset=\"utf-8\"/>\n", d.Language)
	h.f("<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n<title>%s</title>\n<style>\n%s</style>\n</head>\n<body>\n",
		esc(d.Title), css)
	if d.Warning != "" {
		h.f("<p class=\"banner\" role=\"alert\">%s</p>\n", esc(d.Warning))
	}
	h.contents(d)
	h.f("<main>\n")
	for i, s := range d.Sections {
		h.section(s, i == 0)
	}
	h.f("</main>\n<footer>%s</footer>\n</body>\n</html>\n", esc(d.Foot))
	if _, err := io.WriteString(w, h.String()); err != nil {
		return fmt.Errorf("writing the page: %w", err)
	}
	return nil
}

// page is a web page being written.
type page struct{ strings.Builder }

func (h *page) f(format string, args ...any) { fmt.Fprintf(h, format, args...) }

func esc(words string) string { return html.EscapeString(words) }

// contents is a list of links to the sections that have a title, but the first.
func (h *page) contents(d *sheets.Document) {
	if len(d.Sections) < 2 {
		return
	}
	h.f("<nav><ul>\n")
	for _, s := range d.Sections[1:] {
		h.f("<li><a href=\"#%s\">%s</a></li>\n", esc(s.ID), esc(s.Title))
	}
	h.f("</ul></nav>\n")
}

func (h *page) section(s sheets.Section, first bool) {
	class := ""
	if s.NewPage {
		class = " class=\"new\""
	}
	h.f("<section id=%q%s>\n", s.ID, class)
	if s.Title != "" {
		level := 2
		if first {
			level = 1
		}
		h.f("<h%d>%s</h%d>\n", level, esc(s.Title), level)
	}
	for _, b := range s.Blocks {
		h.block(b)
	}
	h.f("</section>\n")
}

func (h *page) block(b sheets.Block) {
	switch b := b.(type) {
	case sheets.Text:
		class := ""
		if b.Large {
			class = " class=\"large\""
		}
		h.f("<p%s>%s</p>\n", class, esc(b.Words))
	case sheets.Subhead:
		h.f("<h3>%s</h3>\n", esc(b.Words))
	case sheets.List:
		h.list(b)
	case sheets.Notice:
		h.notice(b)
	case sheets.Table:
		h.table(b)
	case sheets.Figure:
		h.figure(b)
	case sheets.Cards:
		h.cards(b)
	case sheets.Panel:
		h.panel(b)
	case sheets.Bars:
		h.bars(b)
	}
}

func (h *page) list(b sheets.List) {
	if !b.Tick {
		h.f("<ul>\n")
		for _, it := range b.Items {
			h.f("<li>%s</li>\n", esc(it))
		}
		h.f("</ul>\n")
		return
	}
	h.f("<ul class=\"tick\">\n")
	for _, it := range b.Items {
		h.f("<li><label><input type=\"checkbox\"/> %s</label></li>\n", esc(it))
	}
	h.f("</ul>\n")
}

func (h *page) notice(b sheets.Notice) {
	class := "notice"
	if b.Grave {
		class += " grave"
	}
	h.f("<aside class=%q>\n<h3>%s</h3>\n<ul>\n", class, esc(b.Title))
	for _, it := range b.Items {
		h.f("<li>%s</li>\n", esc(it))
	}
	h.f("</ul>\n</aside>\n")
}

func (h *page) table(b sheets.Table) {
	h.f("<div class=\"wide\" tabindex=\"0\"><table>\n<thead><tr>")
	for _, c := range b.Columns {
		h.f("<th scope=\"col\"%s>%s</th>", right(c), esc(c.Title))
	}
	h.f("</tr></thead>\n<tbody>\n")
	for _, row := range b.Rows {
		h.f("<tr>")
		for i, cell := range row {
			if i < len(b.Columns) {
				h.f("<td%s>%s</td>", right(b.Columns[i]), esc(cell))
			}
		}
		h.f("</tr>\n")
	}
	h.f("</tbody>\n</table></div>\n")
}

func right(c sheets.Column) string {
	if c.Right {
		return " class=\"right\""
	}
	return ""
}

// image writes a picture as data. widthMM is how wide it is meant to be on paper; 0 leaves it to the page.
func (h *page) image(d *sheets.Drawing, widthMM float64) {
	if d == nil {
		return
	}
	size := d.Image.Bounds().Size()
	style := ""
	if widthMM > 0 {
		style = " style=\"width:" + strconv.FormatFloat(widthMM, 'f', 1, 64) + "mm\""
	}
	h.f("<img alt=\"%s\" width=\"%d\" height=\"%d\"%s src=\"data:image/png;base64,%s\"/>\n",
		esc(d.Alt), size.X, size.Y, style, base64.StdEncoding.EncodeToString(d.PNG))
}

func (h *page) figure(b sheets.Figure) {
	if b.Drawing == nil {
		return
	}
	h.f("<figure>\n")
	h.image(b.Drawing, 0)
	h.f("<figcaption>%s</figcaption>\n</figure>\n", esc(b.Caption))
}

func (h *page) cards(b sheets.Cards) {
	h.f("<div class=\"cards\">\n")
	for _, c := range b.Items {
		h.f("<div class=\"card\">\n<span class=\"tag\">%s</span>\n<div class=\"shown\">\n", esc(c.Tag))
		if c.Drawing != nil {
			h.image(c.Drawing, float64(c.Drawing.Image.Bounds().Dx())/b.PerMM)
		}
		h.f("</div>\n<h4>%s</h4>\n", esc(c.Title))
		for _, l := range c.Lines {
			h.f("<p>%s</p>\n", esc(l))
		}
		h.ticks(c.Tag, c.Boxes)
		h.f("</div>\n")
	}
	h.f("</div>\n")
}

// ticks writes a box to tick for each piece.
func (h *page) ticks(tag string, n int) {
	if n <= 0 {
		return
	}
	h.f("<p class=\"ticks\">")
	for i := range n {
		h.f("<input type=\"checkbox\" aria-label=\"%s: %d / %d\"/>", esc(tag), i+1, n)
	}
	h.f("</p>\n")
}

func (h *page) panel(b sheets.Panel) {
	h.f("<article class=\"panel\">\n")
	if b.Drawing != nil {
		h.f("<div class=\"shown\">\n")
		h.image(b.Drawing, 0)
		h.f("</div>\n")
	}
	h.f("<div class=\"steps\">\n")
	for _, s := range b.Steps {
		h.f("<div class=\"step\" id=\"step-%s\"><h3>%s</h3>\n<p>%s</p>\n", esc(s.Number), esc(s.Number), esc(s.Words))
		for _, f := range s.Facts {
			h.f("<p class=\"fact\">%s</p>\n", esc(f))
		}
		h.f("</div>\n")
	}
	h.f("</div>\n</article>\n")
}

// bars draws each pipe as a strip whose width is its share of the longest.
func (h *page) bars(b sheets.Bars) {
	longest := 0.0
	for _, it := range b.Items {
		longest = max(longest, it.LengthMM)
	}
	if longest <= 0 {
		return
	}
	h.f("<div class=\"bars\">\n")
	for _, it := range b.Items {
		h.f("<div class=\"bar\"><span class=\"tag\">%s</span><div><h4>%s</h4>\n<div class=\"pipe%s%s\" style=\"width:%.2f%%\"></div>\n",
			esc(it.Tag), esc(it.Title), end(it.Ends[0], " cut-a"), end(it.Ends[1], " cut-b"), 100*it.LengthMM/longest)
		if it.Note != "" {
			h.f("<p>%s</p>\n", esc(it.Note))
		}
		h.ticks(it.Tag, it.Boxes)
		h.f("</div></div>\n")
	}
	h.f("</div>\n")
}

func end(cut bool, class string) string {
	if cut {
		return class
	}
	return ""
}
