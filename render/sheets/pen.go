package sheets

import (
	"fmt"
	"image"
	"image/color"
	"regexp"
	"strings"

	"github.com/tdewolff/canvas"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
)

// style is a size and weight of text. Sizes are in points, lead in millimetres from base line to base line.
type style struct {
	points float64
	bold   bool
	leadMM float64
}

// The styles of a page. Notes are 8 points: the least that is read with ease at arm's length is a matter of taste;
// common practice, no source.
var (
	titleStyle   = style{24, true, 11}
	sectionStyle = style{16, true, 8}
	subStyle     = style{11.5, true, 6}
	bodyStyle    = style{9.5, false, 4.6}
	strongStyle  = style{9.5, true, 4.6}
	largeStyle   = style{12, false, 5.8}
	noteStyle    = style{8, false, 3.8}
	noteBold     = style{8, true, 3.8}
	tagStyle     = style{12, true, 5.5}
	stepStyle    = style{15, true, 7}
)

var (
	ink     = color.RGBA{22, 26, 32, 255}
	grey    = color.RGBA{98, 104, 112, 255}
	rule    = color.RGBA{196, 200, 204, 255}
	wash    = color.RGBA{244, 244, 240, 255}
	caution = color.RGBA{252, 244, 222, 255}
	grave   = color.RGBA{176, 22, 22, 255}
)

// fonts are the two weights in every style, made once for a document.
type fonts struct {
	family *canvas.FontFamily
	faces  map[faceKey]*canvas.FontFace
}

type faceKey struct {
	points float64
	bold   bool
	colour color.RGBA
}

func newFonts() (*fonts, error) {
	f := &fonts{family: canvas.NewFontFamily("page"), faces: map[faceKey]*canvas.FontFace{}}
	if err := f.family.LoadFont(goregular.TTF, 0, canvas.FontRegular); err != nil {
		return nil, fmt.Errorf("loading the page font: %w", err)
	}
	if err := f.family.LoadFont(gobold.TTF, 0, canvas.FontBold); err != nil {
		return nil, fmt.Errorf("loading the bold page font: %w", err)
	}
	return f, nil
}

func (f *fonts) face(s style, c color.RGBA) *canvas.FontFace {
	k := faceKey{s.points, s.bold, c}
	if f.faces[k] == nil {
		weight := canvas.FontRegular
		if s.bold {
			weight = canvas.FontBold
		}
		f.faces[k] = f.family.Face(s.points, c, weight)
	}
	return f.faces[k]
}

func (f *fonts) width(s style, words string) float64 { return f.face(s, ink).TextWidth(words) }

// bound are the places where a figure would be torn from its fraction or its unit: "8 1/2 in", "470 mm", "2 of".
var bound = regexp.MustCompile(`(\d"?) (\d+/\d+|in\b|mm\b|lb\b|kg\b|N\b|ft\b)|× `)

// Bind puts a space that does not break between a figure and its fraction or unit.
func Bind(words string) string {
	return bound.ReplaceAllStringFunc(words, func(s string) string { return strings.ReplaceAll(s, " ", noBreak) })
}

// noBreak is the space that does not break (U+00A0).
const noBreak = "\u00a0"

// wrap breaks words at spaces into lines no wider than widthMM, but no figure from its unit. A word that is wider is
// broken where it must. The lines have plain spaces only, so that they are found by searching.
func (f *fonts) wrap(s style, words string, widthMM float64) []string {
	lines := f.fill(s, Bind(Bind(words)), widthMM)
	for i := range lines {
		lines[i] = strings.ReplaceAll(lines[i], noBreak, " ")
	}
	return lines
}

// fill is wrap before spaces that do not break are made plain.
func (f *fonts) fill(s style, words string, widthMM float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.FieldsFunc(words, isBreak) {
		for f.width(s, word) > widthMM {
			head, tail := f.breakWord(s, word, widthMM)
			if line != "" {
				lines = append(lines, line)
				line = ""
			}
			lines = append(lines, head)
			word = tail
		}
		switch {
		case line == "":
			line = word
		case f.width(s, line+" "+word) <= widthMM:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

func isBreak(r rune) bool { return r == ' ' || r == '\n' || r == '\t' }

// breakWord divides a word that is wider than a line after as many letters as fit, at least one.
func (f *fonts) breakWord(s style, word string, widthMM float64) (head, tail string) {
	letters := []rune(word)
	n := 1
	for n < len(letters)-1 && f.width(s, string(letters[:n+1])) <= widthMM {
		n++
	}
	return string(letters[:n]), string(letters[n:])
}

// pen draws on the page in hand.
type pen struct {
	ctx    *canvas.Context
	fonts  *fonts
	images map[*Drawing]image.Image // as they are handed to the writer, which knows them again
	stood  map[*Drawing]image.Image // stand-ins for pictures whose data is put in later
	raws   *[]raw                   // that data, in the order of first use
}

// baseShare is where the base line lies in the box of a line, from its top.
const baseShare = 0.76

// text writes one line whose line box begins at y.
func (p *pen) text(s style, c color.RGBA, x, y float64, words string) {
	if words == "" {
		return
	}
	p.ctx.DrawText(x, y+s.leadMM*baseShare, canvas.NewTextLine(p.fonts.face(s, c), words, canvas.Left))
}

func (p *pen) textRight(s style, c color.RGBA, right, y float64, words string) {
	p.text(s, c, right-p.fonts.width(s, words), y, words)
}

// lines writes lines one under another and returns where they end.
func (p *pen) lines(s style, c color.RGBA, x, y float64, lines []string) float64 {
	for _, l := range lines {
		p.text(s, c, x, y, l)
		y += s.leadMM
	}
	return y
}

// box draws a rectangle; a colour with no alpha is left out.
func (p *pen) box(x, y, w, h float64, fill, stroke color.RGBA, lineMM float64) {
	if w <= 0 || h <= 0 {
		return
	}
	p.ctx.SetFillColor(fill)
	p.ctx.SetStrokeColor(stroke)
	p.ctx.SetStrokeWidth(lineMM)
	p.ctx.DrawPath(x, y, canvas.Rectangle(w, h))
}

func (p *pen) rule(x0, x1, y float64, c color.RGBA, lineMM float64) {
	p.box(x0, y-lineMM/2, x1-x0, lineMM, c, color.RGBA{}, 0)
}

// image draws a picture into a rectangle of its own proportions.
func (p *pen) image(d *Drawing, x, y, widthMM float64) {
	if p.embed(d, x, y, widthMM) {
		return
	}
	if p.images[d] == nil {
		p.images[d] = steady(d.Image)
	}
	p.ctx.DrawImage(x, y, p.images[d], canvas.DPMM(float64(d.Image.Bounds().Dx())/widthMM))
}

// steadyImage hands out one colour for pixels alike in a row. The writer of pages asks for every pixel as a color.Color, and
// to make each of these anew takes longer than to compress the picture. It is read by one goroutine at a time.
type steadyImage struct {
	*image.NRGBA
	last  color.NRGBA
	given color.Color
}

// steady wraps the kind of image that pictures are.
func steady(m image.Image) image.Image {
	if n, ok := m.(*image.NRGBA); ok {
		return &steadyImage{NRGBA: n, given: color.NRGBA{}}
	}
	return m
}

// At is the colour of a pixel; that of an opaque one as color.RGBA, which is the same and sooner read.
func (s *steadyImage) At(x, y int) color.Color {
	c := s.NRGBAAt(x, y)
	if c == s.last {
		return s.given
	}
	s.last, s.given = c, c
	if c.A == 0xff {
		s.given = color.RGBA(c)
	}
	return s.given
}

// boxes draws n boxes to tick in rows of at most perRow, and returns how high they stand.
func (p *pen) boxes(x, y float64, n, perRow int) float64 {
	for i := range n {
		p.box(x+float64(i%perRow)*tickPitchMM, y+float64(i/perRow)*tickPitchMM, tickMM, tickMM, color.RGBA{}, grey, 0.25)
	}
	return boxesHeight(n, perRow)
}

// Boxes to tick, and how far they stand apart.
const (
	tickMM      = 2.8
	tickPitchMM = 4.2
)

func boxesHeight(n, perRow int) float64 {
	if n <= 0 || perRow <= 0 {
		return 0
	}
	return float64((n+perRow-1)/perRow) * tickPitchMM
}
