// Package lettering holds the fonts of every picture and page: outlines of text, and how wide text is. Text is drawn
// as outlines, so nothing has to be installed where a picture is made or seen.
//
// The fonts are the Go fonts (Bigelow & Holmes), which come with golang.org/x/image under a BSD licence.
package lettering

import (
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// Heights of capitals and figures in millimetres on the sheet, from the series of ISO 3098 (1.8 2.5 3.5 5 7; from
// memory of the standard).
const (
	SmallMM = 1.8
	NoteMM  = 2.5
	HeadMM  = 3.5
	TitleMM = 5.0
)

// Op is what a segment of an outline does.
type Op uint8

// The operations: go to a point, draw a line to it, a quadratic or a cubic curve with one or two control points first.
const (
	MoveTo Op = iota
	LineTo
	QuadTo
	CubeTo
)

// Point is in millimetres on the sheet, x to the right and y down.
type Point struct{ X, Y float64 }

// Segment is one stroke of an outline; the last of its points is where it ends.
type Segment struct {
	Op     Op
	Points [3]Point
	N      int // how many of Points are used
}

// Outline is a filled shape of closed contours, filled by the non-zero rule.
type Outline []Segment

// Font is a typeface in one weight. It may be used by several goroutines.
type Font struct {
	mu     sync.Mutex
	font   *sfnt.Font
	buffer sfnt.Buffer
	cap    float64 // height of a capital as a fraction of the em
}

// The fonts.
var (
	Regular = parse(goregular.TTF)
	Bold    = parse(gobold.TTF)
)

// unitsPerEm is the resolution glyphs are read at: fine enough that rounding to 1/64 of it never shows.
const unitsPerEm = 2048

func parse(ttf []byte) *Font {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		panic("lettering: the built-in font cannot be read: " + err.Error())
	}
	out := &Font{font: f}
	m, err := f.Metrics(&out.buffer, fixed.I(unitsPerEm), font.HintingNone)
	if err != nil || m.CapHeight <= 0 {
		panic("lettering: the built-in font has no height of capitals")
	}
	out.cap = float64(m.CapHeight) / 64 / unitsPerEm
	return out
}

// Width returns how wide text is when its capitals are heightMM high.
func (f *Font) Width(text string, heightMM float64) float64 {
	return f.each(text, heightMM, nil)
}

// Outline returns text whose capitals are heightMM high, beginning at x on the base line y.
func (f *Font) Outline(text string, heightMM, x, y float64) Outline {
	var out Outline
	f.each(text, heightMM, func(at float64, scale float64, segments sfnt.Segments) {
		for _, s := range segments {
			out = append(out, convert(s, x+at, y, scale))
		}
	})
	return out
}

// each walks the glyphs and returns the width of all. A character the font lacks is shown as its box.
func (f *Font) each(text string, heightMM float64, do func(at, scale float64, s sfnt.Segments)) float64 {
	f.mu.Lock()
	defer f.mu.Unlock()
	scale := heightMM / f.cap / unitsPerEm / 64
	at := 0.0
	last := sfnt.GlyphIndex(0)
	for _, r := range text {
		g, err := f.font.GlyphIndex(&f.buffer, r)
		if err != nil {
			continue
		}
		if k, err := f.font.Kern(&f.buffer, last, g, fixed.I(unitsPerEm), font.HintingNone); last != 0 && err == nil {
			at += float64(k) * scale
		}
		if do != nil {
			if s, err := f.font.LoadGlyph(&f.buffer, g, fixed.I(unitsPerEm), nil); err == nil {
				do(at, scale, s)
			}
		}
		if a, err := f.font.GlyphAdvance(&f.buffer, g, fixed.I(unitsPerEm), font.HintingNone); err == nil {
			at += float64(a) * scale
		}
		last = g
	}
	return at
}

func convert(s sfnt.Segment, x, y, scale float64) Segment {
	out := Segment{N: 1}
	switch s.Op {
	case sfnt.SegmentOpMoveTo:
		out.Op = MoveTo
	case sfnt.SegmentOpLineTo:
		out.Op = LineTo
	case sfnt.SegmentOpQuadTo:
		out.Op, out.N = QuadTo, 2
	case sfnt.SegmentOpCubeTo:
		out.Op, out.N = CubeTo, 3
	}
	for i := range out.N {
		out.Points[i] = Point{x + float64(s.Args[i].X)*scale, y + float64(s.Args[i].Y)*scale}
	}
	return out
}

// Wrap breaks text at spaces into lines no wider than widthMM; a single word that is wider stays whole.
func (f *Font) Wrap(text string, heightMM, widthMM float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		longer := word
		if line != "" {
			longer = line + " " + word
		}
		if line != "" && f.Width(longer, heightMM) > widthMM {
			lines = append(lines, line)
			longer = word
		}
		line = longer
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
