package booklet

import (
	_ "embed"
	"encoding/base64"
	"fmt"
	"html"
	"image/color"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

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
type page struct {
	strings.Builder
	title string // of the section being written
}

func (h *page) f(format string, args ...any) { fmt.Fprintf(h, format, args...) }

func esc(words string) string { return html.EscapeString(sheets.Bind(sheets.Bind(words))) }

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
	switch {
	case s.NewPage:
		class = " class=\"new\""
	case !first:
		class = " class=\"whole\""
	}
	h.title = s.Title
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
	case sheets.Facts:
		h.facts(b)
	case sheets.Sticks:
		h.sticks(b)
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
	h.f("<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"%s\"><table>\n<thead><tr>", esc(h.title))
	for i, c := range b.Columns {
		h.f("<th scope=\"col\"%s>%s</th>", columnClass(b, i), esc(c.Title))
	}
	h.f("</tr></thead>\n<tbody>\n")
	for _, row := range b.Rows {
		if len(row) == 1 && len(b.Columns) > 1 {
			h.f("<tr class=\"group\"><th scope=\"colgroup\" colspan=\"%d\">%s</th></tr>\n", len(b.Columns), esc(row[0]))
			continue
		}
		h.f("<tr>")
		for i, cell := range row {
			if i < len(b.Columns) {
				h.f("<td%s>%s</td>", columnClass(b, i), esc(cell))
			}
		}
		h.f("</tr>\n")
	}
	h.f("</tbody>\n</table></div>\n")
}

// shortCell is how many letters a cell may have to be kept on one line.
const shortCell = 14

// columnClass sets figures flush right, and keeps columns of short cells from being broken.
func columnClass(b sheets.Table, i int) string {
	short := true
	for _, row := range b.Rows {
		if i < len(row) && len(row) > 1 && utf8.RuneCountInString(row[i]) > shortCell {
			short = false
		}
	}
	switch {
	case b.Columns[i].Right:
		return " class=\"right\""
	case short:
		return " class=\"short\""
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
	class := "cards"
	if b.Across > 0 {
		class += " wider"
	}
	if b.Cut {
		class += " slips"
	}
	h.f("<div class=%q>\n", class)
	for _, c := range b.Items {
		h.card(c, b)
	}
	h.f("</div>\n")
}

func (h *page) card(c sheets.Card, b sheets.Cards) {
	h.f("<div class=\"card\">\n")
	if c.Tag != "" {
		h.f("<span class=\"tag\">%s</span>\n", esc(c.Tag))
	}
	if c.Drawing != nil || c.Sketch != nil {
		h.f("<div class=\"shown\">\n")
		if c.Drawing != nil {
			h.image(c.Drawing, float64(c.Drawing.Image.Bounds().Dx())/b.PerMM)
		}
		h.sketch(c.Sketch)
		h.f("</div>\n")
	}
	h.f("<p class=\"name\">%s</p>\n", esc(c.Title))
	for _, l := range c.Lines {
		h.f("<p>%s</p>\n", esc(l))
	}
	h.ticks(c.Tag, c.Boxes)
	h.f("</div>\n")
}

// facts writes what each comes to in bold, and the rest under it.
func (h *page) facts(b sheets.Facts) {
	h.f("<ul class=\"facts\">\n")
	for _, f := range b.Items {
		h.f("<li><strong>%s</strong>", esc(f.Head))
		if f.Words != "" {
			h.f("<br/>%s", esc(f.Words))
		}
		if f.Note != "" {
			h.f("<br/><small>%s</small>", esc(f.Note))
		}
		h.f("</li>\n")
	}
	h.f("</ul>\n")
}

// sticks draws each length of stock as a strip of its pieces, all at one scale.
func (h *page) sticks(b sheets.Sticks) {
	longest := 0.0
	for _, it := range b.Items {
		longest = max(longest, it.LengthMM)
	}
	if longest <= 0 {
		return
	}
	for _, it := range b.Items {
		h.f("<div class=\"stick\"><p class=\"name\">%s</p>\n<div class=\"length\" style=\"width:%.2f%%\">", esc(it.Title), 100*it.LengthMM/longest)
		for _, c := range it.Pieces {
			h.f("<span style=\"width:%.2f%%\">%s</span>", 100*c.LengthMM/it.LengthMM, esc(c.Tag))
		}
		h.f("</div>\n<p>%s</p>\n</div>\n", esc(it.Note))
	}
}

// sketch writes a line drawing as vectors, in millimetres of paper.
func (h *page) sketch(k *sheets.Sketch) {
	if k == nil {
		return
	}
	h.f("<svg role=\"img\" aria-label=\"%s\" viewBox=\"0 0 %s %s\" style=\"width:%smm\">\n", esc(k.Alt), mm(k.WidthMM), mm(k.HeightMM), mm(k.WidthMM))
	for _, l := range k.Lines {
		fill, dash := "none", ""
		if l.Closed && l.Fill.A > 0 {
			fill = rgb(l.Fill)
		}
		if l.Dashed {
			dash = " stroke-dasharray=\"1.4 0.9\""
		}
		h.f("<path d=\"%s\" fill=\"%s\" stroke=\"%s\" stroke-width=\"%s\"%s/>\n", outline(l.Points, l.Closed), fill, rgb(l.Ink()), mm(l.WidthMM), dash)
		for _, head := range l.HeadShapes() {
			h.f("<path d=\"%s\" fill=\"%s\"/>\n", outline(head[:], true), rgb(l.Ink()))
		}
	}
	for _, w := range k.Words {
		anchor := [...]string{"start", "middle", "end"}[w.Align+1]
		h.f("<text x=\"%s\" y=\"%s\" text-anchor=\"%s\">%s</text>\n", mm(w.X), mm(w.Y), anchor, esc(w.Words))
	}
	h.f("</svg>\n")
}

func mm(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) }

func rgb(c color.RGBA) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }

// outline is a path of vectors through points.
func outline(points []sheets.SketchPoint, closed bool) string {
	var b strings.Builder
	for i, p := range points {
		word := "L"
		if i == 0 {
			word = "M"
		}
		b.WriteString(word + mm(p.X) + " " + mm(p.Y))
	}
	if closed {
		b.WriteString("Z")
	}
	return b.String()
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
		h.f("<div class=\"bar\"><span class=\"tag\">%s</span><div><p class=\"name\">%s</p>\n<div class=\"pipe%s%s\" style=\"width:%.2f%%\"></div>\n",
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
