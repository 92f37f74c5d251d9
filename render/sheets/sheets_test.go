package sheets

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"io"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font/gofont/goregular"
)

// picture is a plain drawing of a size.
func picture(w, h int) *Drawing {
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	for i := range img.Pix {
		img.Pix[i] = 200
	}
	img.Set(0, 0, color.Black)
	return &Drawing{Image: img, Alt: "a grey field"}
}

// everything is a document with every kind of block, long enough for many pages.
func everything() *Document {
	words := strings.Repeat("Turn the pipe until it points to the wall and hold the tee behind it. ", 4)
	rows := make([][]string, 90)
	for i := range rows {
		rows[i] = []string{fmt.Sprint(i + 1), words, "left"}
	}
	cards := Cards{PerMM: 12, Shrunk: "(smaller)"}
	bars := Bars{}
	for i := range 14 {
		cards.Items = append(cards.Items, Card{Tag: fmt.Sprint(i), Drawing: picture(300+40*i, 200), Title: "2 × tee", Lines: []string{"Joins three pipes."}, Boxes: 7})
		bars.Items = append(bars.Items, Bar{Tag: fmt.Sprint(i), LengthMM: float64(100 + 150*i), Title: "pipe", Note: words, Boxes: 60, Ends: [2]bool{true, i%2 == 0}})
	}
	d := &Document{Title: "Bench", Language: "en", Foot: "Bench", Warning: "Not to be built", Sections: []Section{
		{ID: "a", Title: "Bench", Blocks: []Block{Text{Words: words, Large: true}, Figure{Drawing: picture(800, 600), Caption: words, Height: 0.6}}},
		{ID: "b", Title: "Lists", NewPage: true, Blocks: []Block{
			List{Items: []string{words, words}}, List{Items: []string{words}, Tick: true}, Notice{Title: "Mind", Items: []string{words, words}, Grave: true},
			Subhead{Words: "Rows"}, Table{Columns: []Column{{"No.", true}, {"What", false}, {"Where", false}}, Rows: rows},
		}},
		{ID: "c", Title: "Parts", Blocks: []Block{cards, bars}},
	}}
	steps := Section{ID: "d", Title: "Steps", NewPage: true}
	for i := range 9 {
		p := Panel{Drawing: picture(400, 300)}
		for k := range i + 1 {
			p.Steps = append(p.Steps, PanelStep{Number: fmt.Sprint(10*i + k), Words: words, Facts: []string{"on the bench"}})
		}
		steps.Blocks = append(steps.Blocks, p)
	}
	sketch := &Sketch{WidthMM: 40, HeightMM: 20, Alt: "a line", Words: []SketchWords{{X: 20, Y: 10, Words: "here"}},
		Lines: []SketchLine{{Points: []SketchPoint{{1, 1}, {39, 19}}, WidthMM: 0.3, Heads: [2]bool{true, true}, Dashed: true}}}
	d.Sections = append(d.Sections, steps, Section{ID: "e", Title: "Slips", Blocks: []Block{
		Cards{Items: []Card{{Tag: "1", Title: "tee", Lines: []string{words}}, {Sketch: sketch, Title: "line"}, {Title: "x"}}, Across: 2, Cut: true},
		Facts{Items: []Fact{{Head: "Short", Words: words, Note: "somewhere"}, {Head: "Alone"}}},
		Sticks{Items: []StickBar{{Title: "stick", LengthMM: 3000, KerfMM: 3, Pieces: []StickCut{{"2", 1500}, {"3", 20}}, Note: words}}},
		Contents{Title: "Pages"},
	}})
	return d
}

func setterOf(t *testing.T, d *Document) *setter {
	f, err := newFonts()
	require.NoError(t, err)
	return &setter{fonts: f, doc: d}
}

// TestPagesHold: nothing runs over the foot of a page, nothing overlaps, no heading is left alone at the end of one, and
// every piece is set once.
func TestPagesHold(t *testing.T) {
	s := setterOf(t, everything())
	want := 0
	for i, sec := range s.doc.Sections {
		want += len(s.section(sec, i == 0))
	}
	got := 0
	pages := s.pages()
	require.Greater(t, len(pages), 8)
	for n, pg := range pages {
		require.NotEmpty(t, pg, "page %d", n+1)
		y := s.top()
		for i, q := range pg {
			if q.piece.spread {
				assert.GreaterOrEqual(t, q.y, y-1e-9, "page %d, piece %d", n+1, i)
			} else {
				assert.InDelta(t, y, q.y, 1e-9, "page %d, piece %d", n+1, i)
			}
			y = q.y + q.piece.height
			if i == 0 && q.piece.head == nil && i+1 < len(pg) && pg[i+1].piece.head != nil && n > 0 {
				got-- // the head of a table drawn again
			}
			got++
		}
		assert.LessOrEqual(t, y, s.bottom()+1e-9, "page %d", n+1)
		assert.False(t, pg[len(pg)-1].piece.stay, "page %d ends with a heading", n+1)
	}
	assert.Equal(t, want, got)
}

func TestWrap(t *testing.T) {
	s := setterOf(t, &Document{})
	const width = 40.0
	words := "Screw the tee (1) onto the pipe " + strings.Repeat("x", 90) + " and stop"
	lines := s.fonts.wrap(bodyStyle, words, width)
	for _, l := range lines {
		assert.LessOrEqual(t, s.fonts.width(bodyStyle, l), width, l)
	}
	strip := func(w string) string { return strings.ReplaceAll(w, " ", "") }
	assert.Equal(t, strip(words), strip(strings.Join(lines, "")), "no letter is lost")
	assert.Empty(t, s.fonts.wrap(bodyStyle, "  ", width))
	for _, l := range s.fonts.wrap(bodyStyle, strings.Repeat("5 1/2 to 8 1/2 in and 470 mm of 2 × 3/4 in pipe ", 9), 23) {
		assert.NotRegexp(t, `^(1/2|3/4|in|mm)\b|×$`, l, "a figure is torn from its fraction or unit")
		assert.NotContains(t, l, noBreak)
	}
	assert.NotPanics(t, func() { s.fonts.wrap(bodyStyle, "word", 0.1) }, "a column narrower than a letter")
}

// TestPDF: what is written does not hang on the clock, its table of offsets is right (ISO 32000-1, 7.5.4), and the words
// are there to be searched.
func TestPDF(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WritePDF(&b, everything()))
	file := b.Bytes()
	assert.Contains(t, string(file), "/CreationDate(D:20000101000000Z)")
	assert.Contains(t, string(file), "/Lang(en)")
	objects, _, err := splitObjects(file)
	require.NoError(t, err)
	for _, o := range objects {
		assert.True(t, bytes.HasPrefix(o.body, fmt.Appendf(nil, "%d 0 obj\n", o.number)), "object %d", o.number)
		assert.True(t, bytes.HasSuffix(o.body, []byte("endobj\n")), "object %d", o.number)
	}
	fonts := 0
	for _, m := range fontRef.FindAllSubmatch(file, -1) {
		for _, o := range objects {
			if fmt.Sprint(o.number) == string(m[1]) {
				fonts++
				checkFont(t, unpack(t, o.body))
			}
		}
	}
	assert.Equal(t, 2, fonts)
	n, err := Pages(everything())
	require.NoError(t, err)
	assert.Len(t, regexp.MustCompile(`/Type/Page/`).FindAll(file, -1), n)
}

// TestPicturesAreTakenOver: the data of a PNG file stands in the PDF as it is, and comes back as the same pixels; each
// picture once, also where it is shown twice, and in its own place. Other kinds of files are compressed anew.
func TestPicturesAreTakenOver(t *testing.T) {
	encoded := func(w, h int, c color.NRGBA) *Drawing {
		m := image.NewNRGBA(image.Rect(0, 0, w, h))
		for i := range w * h {
			c.R = uint8(i)
			m.SetNRGBA(i%w, i/w, c)
		}
		var b bytes.Buffer
		require.NoError(t, png.Encode(&b, m))
		return &Drawing{Image: m, PNG: b.Bytes()}
	}
	first, second, clear := encoded(40, 30, color.NRGBA{0, 1, 2, 255}), encoded(64, 20, color.NRGBA{0, 9, 8, 255}), encoded(10, 10, color.NRGBA{0, 9, 8, 100})
	var blocks []Block
	for _, d := range []*Drawing{first, clear, second, first} {
		blocks = append(blocks, Figure{Drawing: d, Height: 0.2})
	}
	var b bytes.Buffer
	require.NoError(t, WritePDF(&b, &Document{Title: "x", Sections: []Section{{Title: "x", Blocks: blocks}}}))
	objects, _, err := splitObjects(b.Bytes())
	require.NoError(t, err)
	var seen []*Drawing
	pictures := 0
	for _, o := range objects {
		if bytes.Contains(o.body, []byte("/Subtype/Image")) {
			pictures++
		}
		for _, d := range []*Drawing{first, second} {
			if r, ok := rawOf(d.PNG); assert.True(t, ok) && bytes.Contains(o.body, r.data) {
				seen = append(seen, d)
				size := d.Image.Bounds().Size()
				assert.Contains(t, string(o.body[:200]), fmt.Sprintf("/Width %d/Height %d/", size.X, size.Y))
				assert.Contains(t, string(o.body[:300]), fmt.Sprintf("/Predictor 15/Colors 3/BitsPerComponent 8/Columns %d>>/Length %d>>", size.X, len(r.data)))
			}
		}
	}
	assert.Equal(t, []*Drawing{first, second}, seen)
	assert.Equal(t, 4, pictures, "two taken over, one with its mask")
	_, ok := rawOf(clear.PNG)
	assert.False(t, ok, "see-through")
	for _, bad := range []string{"", pngMark, pngMark + "\xff\xff\xff\xffIDAT....", "GIF89a"} {
		_, ok := rawOf([]byte(bad))
		assert.False(t, ok, "%q", bad)
	}
}

func unpack(t *testing.T, body []byte) []byte {
	from, to := bytes.Index(body, streamStart), bytes.LastIndex(body, streamEnd)
	require.Contains(t, string(body[:from]), fmt.Sprintf("/Length %d", to-from-len(streamStart)))
	r, err := zlib.NewReader(bytes.NewReader(body[from+len(streamStart) : to]))
	require.NoError(t, err)
	font, err := io.ReadAll(r)
	require.NoError(t, err)
	return font
}

// checkFont: the whole font adds up to the sum the OpenType specification demands (table head, checkSumAdjustment; the
// figure is from memory of it), and no time is left in it.
func checkFont(t *testing.T, font []byte) {
	head := headTable(t, font)
	assert.Equal(t, make([]byte, 8), head[modifiedAt:modifiedAt+8], "modified")
	adjusted := binary.BigEndian.Uint32(head[adjustmentAt:])
	clear(head[adjustmentAt : adjustmentAt+4])
	assert.Equal(t, uint32(wholeSum), sum32(font)+adjusted)
}

func headTable(t *testing.T, font []byte) []byte {
	for i := range int(binary.BigEndian.Uint16(font[4:])) {
		e := font[directoryAt+i*directoryEntry:]
		if string(e[:4]) == "head" {
			return font[binary.BigEndian.Uint32(e[8:]):]
		}
	}
	t.Fatal("no head table")
	return nil
}

// TestClearModified: fonts that differ in their time alone come out alike.
func TestClearModified(t *testing.T) {
	a, b := bytes.Clone(goregular.TTF), bytes.Clone(goregular.TTF)
	headTable(t, b)[modifiedAt+7]++
	require.NoError(t, clearModified(a))
	require.NoError(t, clearModified(b))
	assert.Equal(t, a, b)
	assert.Error(t, clearModified(a[:40]))
	assert.Error(t, clearModified(nil))
}

func TestWithoutClockOfOtherFiles(t *testing.T) {
	for _, bad := range []string{"", "%PDF-1.7\n", "startxref\n5\n%%EOF", "startxref\n99999\n%%EOF", "xref\n0 9\nstartxref\n0\n%%EOF"} {
		_, err := withoutClock([]byte(bad), nil)
		assert.Error(t, err, "%q", bad)
	}
}

func BenchmarkWritePDF(b *testing.B) {
	d := everything()
	n, err := Pages(d)
	require.NoError(b, err)
	b.Run(fmt.Sprintf("pages=%d", n), func(b *testing.B) {
		for b.Loop() {
			require.NoError(b, WritePDF(io.Discard, d))
		}
	})
}
