package picture

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"

	"turnwise/render"
	"turnwise/render/lettering"
	"turnwise/render/linework"
)

// Vector is a picture as vectors, in millimetres on its sheet: what is seen of each part filled in one pale tone, the
// lines of the parts, smaller sheets that lie on it, and over them all the marks and the lettering, which is outlines too.
type Vector struct {
	WidthMM, HeightMM float64
	Faces             []VectorFill
	Lines             []VectorLine
	Insets            []VectorInset
	Fills             []VectorFill
}

// VectorLine is a line with round ends.
type VectorLine struct {
	Points  []lettering.Point
	WidthMM float64
	Colour  render.Colour
}

// VectorFill is a filled shape.
type VectorFill struct {
	Path   lettering.Outline
	Colour render.Colour
}

// VectorInset is a smaller sheet at a place on a larger one, cut off at its edges.
type VectorInset struct {
	X, Y float64
	Vector
}

// vector gathers what was drawn on the sheet.
func (sh *sheet) vector() Vector {
	v := Vector{WidthMM: sh.size.X, HeightMM: sh.size.Y, Lines: vectorLines(sh.strokes, PixelsPerMM*super)}
	v.Faces, v.Lines = sh.faces, append(v.Lines, sh.hair...)
	if sh.over.fills != nil {
		v.Fills = *sh.over.fills
	}
	for _, p := range sh.pasted {
		v.Insets = append(v.Insets, VectorInset{p.x, p.y, p.vector()})
	}
	v.Insets = append(v.Insets, sh.thumbs...)
	return v
}

// vectorFaces fills what is seen of each body with the mean of its shades.
func vectorFaces(b *render.Buffers, tones []render.Tone, perMM float64) []VectorFill {
	lit := meanLit(b, len(tones))
	var out []VectorFill
	for _, f := range linework.Faces(b, perMM) {
		if f.ID >= len(tones) {
			continue
		}
		var path lettering.Outline
		for _, c := range f.Contours {
			points := make([]point, len(c))
			for i, p := range c {
				points[i] = pt(float64(p.X)/perMM, float64(p.Y)/perMM)
			}
			path = append(path, polygon(points...)...)
		}
		out = append(out, VectorFill{path, tones[f.ID].Shade.Lerp(tones[f.ID].Light, lit[f.ID])})
	}
	return out
}

// meanLit is by id how far what is seen of a body looks into the light on average: 1 is straight into it, 0 away from it.
func meanLit(b *render.Buffers, ids int) []float64 {
	const stride = 5
	light := fromAbove.Unit()
	sum, n := make([]float64, ids), make([]float64, ids)
	for y := stride / 2; y < b.Height; y += stride {
		for x := stride / 2; x < b.Width; x += stride {
			i := y*b.Width + x
			if id := b.ID(i); id > 0 && id < ids {
				sum[id] += (b.Normal(i).Dot(light) + 1) / 2
				n[id]++
			}
		}
	}
	for id := range sum {
		if n[id] == 0 {
			sum[id], n[id] = 0.5, 1 // too small to be met
		}
		sum[id] /= n[id]
	}
	return sum
}

func vectorLines(strokes []linework.Stroke, perMM float64) []VectorLine {
	inks := [...]render.Colour{render.InkFaint: faintInk, render.InkThin: thinInk, render.InkLine: lineInk}
	out := make([]VectorLine, len(strokes))
	for i, s := range strokes {
		l := VectorLine{WidthMM: s.WidthMM, Colour: inks[s.Ink], Points: make([]lettering.Point, len(s.Points))}
		for k, p := range s.Points {
			l.Points[k] = pt(float64(p.X)/perMM, float64(p.Y)/perMM)
		}
		out[i] = l
	}
	return out
}

// WriteSVG writes the picture as SVG 1.1 with lengths in millimetres: no script, no font, no other file.
func (v Vector) WriteSVG(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%smm\" height=\"%smm\" viewBox=\"0 0 %s %s\">\n",
		number(v.WidthMM), number(v.HeightMM), number(v.WidthMM), number(v.HeightMM))
	v.write(b)
	b.WriteString("</svg>\n")
	return b.Flush()
}

func (v Vector) write(b *bufio.Writer) {
	fmt.Fprintf(b, "<rect width=\"%s\" height=\"%s\" fill=\"#fff\"/>\n", number(v.WidthMM), number(v.HeightMM))
	for _, f := range v.Faces {
		f.write(b)
	}
	b.WriteString("<g fill=\"none\" stroke-linecap=\"round\" stroke-linejoin=\"round\">\n")
	for i := 0; i < len(v.Lines); {
		first := v.Lines[i]
		fmt.Fprintf(b, "<path stroke=\"%s\" stroke-width=\"%s\" d=\"", hex(first.Colour), number(first.WidthMM))
		for ; i < len(v.Lines) && v.Lines[i].Colour == first.Colour && v.Lines[i].WidthMM == first.WidthMM; i++ {
			v.Lines[i].write(b)
		}
		b.WriteString("\"/>\n")
	}
	b.WriteString("</g>\n")
	for _, in := range v.Insets {
		fmt.Fprintf(b, "<svg x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\" viewBox=\"0 0 %s %s\">\n", number(in.X), number(in.Y),
			number(in.WidthMM), number(in.HeightMM), number(in.WidthMM), number(in.HeightMM))
		in.write(b)
		b.WriteString("</svg>\n")
	}
	for _, f := range v.Fills {
		f.write(b)
	}
}

func (f VectorFill) write(b *bufio.Writer) {
	fmt.Fprintf(b, "<path fill=\"%s\" d=\"", hex(f.Colour))
	writeOutline(b, f.Path)
	b.WriteString("\"/>\n")
}

func (l VectorLine) write(b *bufio.Writer) {
	for i, p := range l.Points {
		if i == 0 {
			b.WriteByte('M')
		} else {
			b.WriteByte('L')
		}
		writePoint(b, p)
	}
}

func writeOutline(b *bufio.Writer, path lettering.Outline) {
	for i, s := range path {
		switch s.Op {
		case lettering.MoveTo:
			if i > 0 {
				b.WriteByte('Z')
			}
			b.WriteByte('M')
		case lettering.LineTo:
			b.WriteByte('L')
		case lettering.QuadTo:
			b.WriteByte('Q')
		case lettering.CubeTo:
			b.WriteByte('C')
		}
		for k, p := range s.Points[:s.N] {
			if k > 0 {
				b.WriteByte(' ')
			}
			writePoint(b, p)
		}
	}
	b.WriteByte('Z')
}

func writePoint(b *bufio.Writer, p lettering.Point) {
	b.WriteString(number(p.X))
	b.WriteByte(' ')
	b.WriteString(number(p.Y))
}

// number writes millimetres to a hundredth, without needless zeros.
func number(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64)
}

func hex(c render.Colour) string { return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B) }
