package booklet

import (
	"bytes"
	"encoding/xml"
	"image"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render/sheets"
)

func shown() *sheets.Drawing {
	return &sheets.Drawing{Image: image.NewNRGBA(image.Rect(0, 0, 40, 30)), PNG: []byte("not looked at")}
}

// rack is an invented plan with one of everything a booklet shows.
func rack() Input {
	pipe := assembly.Part{ID: "rod.1", Number: 2, Kind: standard.Pipe, Size: assembly.Sizes{"3/4"}, LengthMM: 600, Finish: "black", Ports: []assembly.Port{{Name: "a"}, {Name: "b", At: geom.V(600, 0, 0)}}}
	tee := assembly.Part{ID: "knee", Number: 1, Kind: standard.Tee, Size: assembly.Sizes{"3/4"}, MassKG: 0.4, Ports: []assembly.Port{{Name: "a"}}}
	other := tee
	other.ID = "hip"
	board := assembly.Part{ID: "shelf", Number: 3, Kind: standard.Board, Material: "pine", Boxes: []geom.Box{geom.BoxOf(geom.V(0, 0, 0), geom.V(800, 300, 18))},
		Holes: []assembly.Hole{{At: geom.V(100, 50, 0), Dir: geom.V(0, 0, 1), Diameter: 28}, {At: geom.V(700, 250, 0), Dir: geom.V(0, 0, 1), Diameter: 40, Depth: 6}}}
	return Input{
		Plan: assembly.Plan{
			Design: assembly.Header{Title: "Rack <for> a \"club\" & friends", Units: "mm", Thread: standard.NPT},
			Parts:  []assembly.Part{tee, other, pipe, board, {ID: "room", Kind: standard.Room}},
			Joints: []assembly.Joint{{ID: "j1", Kind: assembly.Thread, A: assembly.End{Part: "knee", Port: "a"}, B: assembly.End{Part: "rod.1", Port: "a"}},
				{ID: "j2", Kind: assembly.Face, A: assembly.End{Part: "hip"}, B: assembly.End{Part: "room"}}},
			Steps: []assembly.Step{
				{Number: 1, Action: assembly.Place, Where: "bench", People: 1, Picture: 1, Text: "Begin with the tee."},
				{Number: 2, Action: assembly.Screw, Where: "bench", People: 1, Picture: 1, Text: "Screw the pipe in."},
				{Number: 3, Action: assembly.Fasten, Where: "place", People: 2, Picture: 2, SwingRadiusMM: 900, Text: "Fasten it."},
			},
			Findings:    []assembly.Finding{{Code: "SAG", Severity: assembly.Warn, Text: "rod sags 9 mm"}, {Code: "NOTE", Severity: assembly.Note, Text: "a note"}},
			Cuts:        []assembly.Cut{{Number: 2, Size: "3/4", LengthMM: 600, Count: 1, Label: "rod.1", Formula: "640 - 40 = 600 mm"}},
			Shopping:    []assembly.Item{{Group: "fittings", Kind: standard.Tee, Text: "3/4 in tee", Count: 2, Spare: 1}, {Group: "fixings", Text: "wood screw", Count: 4}},
			Assumptions: []assembly.Assumption{{Text: "threads go in 14 mm", Key: "make-up"}},
		},
		Loads:       []assembly.Load{{On: "rod", PerMetre: 400, Dir: geom.V(0, 0, -1)}, {On: "shelf", Newtons: 500, Dir: geom.V(0, 0, -1)}},
		ToleranceMM: 1, Built: geom.BoxOf(geom.V(0, 0, 0), geom.V(812, 300, 600)), Finished: shown(), Exploded: shown(), PartsPerMM: 12, PartsScale: "1:3",
		Steps: map[int]*sheets.Drawing{1: shown(), 2: shown()}, Parts: map[int]*sheets.Drawing{1: shown(), 3: shown()},
	}
}

func page1(t *testing.T, in Input) string {
	d, err := Compose(in)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, WriteHTML(&b, d))
	return strings.ReplaceAll(b.String(), "\u00a0", " ")
}

// TestHTMLIsSound: the page is well formed, asks for nothing outside itself, names every picture, and jumps only to
// places it has.
func TestHTMLIsSound(t *testing.T) {
	web := page1(t, rack())
	dec := xml.NewDecoder(strings.NewReader(web))
	dec.Strict, dec.AutoClose, dec.Entity = true, xml.HTMLAutoClose, xml.HTMLEntity
	ids, jumps := map[string]bool{}, []string{}
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		el, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		at := map[string]string{}
		for _, a := range el.Attr {
			at[a.Name.Local] = a.Value
		}
		if id := at["id"]; id != "" {
			assert.False(t, ids[id], "%s twice", id)
			ids[id] = true
		}
		if src, ok := at["src"]; ok {
			assert.True(t, strings.HasPrefix(src, "data:image/png;base64,"), src)
			assert.NotEmpty(t, at["alt"])
		}
		if href, ok := at["href"]; ok {
			require.True(t, strings.HasPrefix(href, "#"), href)
			jumps = append(jumps, href[1:])
		}
	}
	require.Greater(t, len(jumps), 5)
	for _, j := range jumps {
		assert.True(t, ids[j], j)
	}
	assert.Contains(t, web, "Rack &lt;for&gt; a &#34;club&#34; &amp; friends")
	assert.NotContains(t, strings.ToLower(web), "<script")
	assert.NotContains(t, web, "url(")
}

// TestBookletSays: what a builder needs stands there, with the numbers of the lists.
func TestBookletSays(t *testing.T) {
	web := page1(t, rack())
	for _, want := range []string{
		"Overall 812 mm wide, 300 mm deep, 600 mm high", "2 × 3/4 in tee", "1 × 3/4 in, 600 mm", "Joins three pipes", // parts, explained
		"rod.1", "640 - 40 = 600 mm", "from end to end, threads included", // cut sheet
		"28 mm, right through", "40 mm, 6 mm deep", // boring
		"Step by step", "Screw the pipe in.", "2 people", // steps
		"rod sags 9 mm", "A note.", "Threads go in 14 mm", "make-up", // findings and assumptions
		"4 × wood screw", "400 N/m down", "500 N down", // small things, loads
		"find cables", "Local codes", "handrail", // cautions
	} {
		assert.Contains(t, strings.ToLower(web), strings.ToLower(want))
	}
	assert.NotContains(t, web, "cannot be built")
}

// threaded gives the rack's parts the measures that words of the trade are drawn to: 3/4 in pipe and a tee, ASME B16.3
// and B1.20.1, from memory.
func threaded() Input {
	in := rack()
	figures := func(mm map[string]float64) standard.Dims {
		d := standard.Dims{}
		for name, v := range mm {
			d[name] = standard.Figure{MM: v}
		}
		return d
	}
	for i := range in.Plan.Parts {
		switch p := &in.Plan.Parts[i]; p.Kind {
		case standard.Pipe:
			p.Dims = figures(map[string]float64{"od": 26.67, "bore": 20.93, "thread-length.a": 16.1, "pitch.a": 1.814})
		case standard.Tee:
			p.Dims = figures(map[string]float64{"reach.a": 33.3, "band-od.a": 37, "band-width.a": 7, "body-od.a": 33.5})
		}
	}
	in.Plan.Joints[0].EngagementMM = 14.3
	return in
}

// TestWordsAreDrawn: each word of the trade stands there once with a drawing that lies on its sheet, and one for a part
// only where there is such a part.
func TestWordsAreDrawn(t *testing.T) {
	in := threaded()
	d, err := Compose(in)
	require.NoError(t, err)
	seen := map[string]bool{}
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			cards, ok := b.(sheets.Cards)
			for _, c := range cards.Items {
				if !ok || c.Sketch == nil {
					continue
				}
				assert.False(t, seen[c.Title], "%s twice", c.Title)
				seen[c.Title] = true
				assertOnSheet(t, c)
			}
		}
	}
	for _, want := range []string{"Nominal size", "Engagement", "Run and branch", "Centre line and take-out", "Turn and hold", "Which way it points", "Swing"} {
		assert.True(t, seen[want], want)
	}
	assert.False(t, seen["Union"], "there is none in this frame")
	in.Plan.Parts = append(in.Plan.Parts, assembly.Part{ID: "u.a", Half: "a", Number: 9, Kind: standard.Union, Dims: standard.Dims{"length": {MM: 51}, "across": {MM: 47}}})
	assert.Contains(t, page1(t, in), "half with the nut")
	assert.NotContains(t, page1(t, rack()), "<svg", "nothing is known to draw to")
}

func assertOnSheet(t *testing.T, c sheets.Card) {
	assert.NotEmpty(t, c.Sketch.Lines, c.Title)
	assert.Contains(t, c.Sketch.Alt, c.Title)
	for _, l := range c.Sketch.Lines {
		for _, p := range l.Points {
			assert.True(t, p.X >= 0 && p.X <= c.Sketch.WidthMM && p.Y >= 0 && p.Y <= c.Sketch.HeightMM+0.5, "%s: a line at %v", c.Title, p)
		}
	}
	for _, w := range c.Sketch.Words {
		assert.True(t, w.X >= 0 && w.X <= c.Sketch.WidthMM && w.Y >= 2 && w.Y <= c.Sketch.HeightMM, "%s: %s", c.Title, w.Words)
		assert.NotContains(t, w.Words, "<")
	}
}

// TestShopSheet: lengths as a tape shows them, threads row by row, sticks cut alike drawn once, and a label for each number
// with the words of the lists.
func TestShopSheet(t *testing.T) {
	in := rack()
	in.Plan.Parts[2].LengthMM, in.Plan.Cuts[0].LengthMM = 600.3, 600.3
	in.Plan.Parts[2].LeftEnd = "b"
	stick := assembly.Stick{StockStick: assembly.StockStick{Size: "3/4", LengthMM: 3000, Source: "the shop"}, LeftMM: 1197,
		Pieces: []assembly.StickPiece{{Number: 2, LengthMM: 600.3}, {Number: 2, LengthMM: 600.3}, {Number: 7, LengthMM: 150, Short: true}}}
	in.Sticks, in.KerfMM = []assembly.Stick{stick, stick}, 3
	in.Plan.Steps[1].Moves = []string{"rod.1"}
	web := page1(t, in)
	for _, want := range []string{
		"<td class=\"short\">600 mm</td>", "one end right-hand, one left-hand",
		"2 × 3/4 in pipe, 3000 mm", "Cut 2 × 600 mm (2), 150 mm (7); 1197 mm left over", "too short for most threading machines",
		"600 mm overall", "Pieces: 1", "for step 2",
	} {
		assert.Contains(t, web, want)
	}
	in.ToleranceMM = 0.1
	assert.Contains(t, page1(t, in), "600.3 mm", "a cut that must be truer than a tape shows is given exactly")
}

// TestTakingApart: from the last step to the first, alike ones together, and the joint that is made to open by name.
func TestTakingApart(t *testing.T) {
	in := rack()
	in.Plan.Parts = append(in.Plan.Parts, assembly.Part{ID: "rod.union.a", Half: "a", Number: 8, Size: assembly.Sizes{"3/4"}, Kind: standard.Union},
		assembly.Part{ID: "rod.union.b", Half: "b", Number: 8, Size: assembly.Sizes{"3/4"}, Kind: standard.Union})
	in.Plan.Joints = append(in.Plan.Joints, assembly.Joint{ID: "u", Kind: assembly.UnionNut, A: assembly.End{Part: "rod.union.a"}, B: assembly.End{Part: "rod.union.b"}})
	in.Plan.Steps = []assembly.Step{
		{Number: 1, Action: assembly.Place}, {Number: 2, Action: assembly.Screw, Joints: []string{"j1"}}, {Number: 3, Action: assembly.Screw, Joints: []string{"j1"}},
		{Number: 4, Action: assembly.JoinUnion, Joints: []string{"u"}}, {Number: 5, Action: assembly.Fasten, Joints: []string{"j2"}},
	}
	d, err := Compose(in)
	require.NoError(t, err)
	var rows [][]string
	for _, s := range d.Sections {
		if s.ID == "apart" {
			rows = s.Blocks[len(s.Blocks)-1].(sheets.Table).Rows
		}
	}
	require.Len(t, rows, 4)
	assert.Equal(t, []string{"5", "4", "3 to 2", "1"}, []string{rows[0][0], rows[1][0], rows[2][0], rows[3][0]})
	assert.Contains(t, rows[1][1], "3/4 in union (8) at rod.union")
}

// TestGists: a finding is told in short before work and in full behind the steps; what has no words of its own is told
// by its first clause, unless that says too little.
func TestGists(t *testing.T) {
	in := rack()
	in.Plan.Findings = []assembly.Finding{
		{Code: "LENGTH-STEP", Severity: assembly.Note, Text: "a ring has sides; measure"},
		{Code: "OTHER", Severity: assembly.Warn, Text: "hook: the drop meets the ceiling askew; shim it"},
	}
	d, err := Compose(in)
	require.NoError(t, err)
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			switch b := b.(type) {
			case sheets.Notice:
				if len(b.Items) == 3 {
					assert.Equal(t, "Hook: the drop meets the ceiling askew.", b.Items[0], "warnings first")
					assert.Contains(t, b.Items[1], "measure its opposite sides")
				}
			case sheets.Facts:
				require.Len(t, b.Items, 2)
				assert.Equal(t, "Hook: the drop meets the ceiling askew; shim it.", b.Items[1].Words)
				assert.Equal(t, "warning, OTHER", b.Items[1].Note)
			}
		}
	}
}

func TestRefusedBookletSaysSo(t *testing.T) {
	in := rack()
	in.Plan.Steps = nil
	in.Plan.Findings = append(in.Plan.Findings, assembly.Finding{Code: "LOOP", Severity: assembly.Stop, Text: "a ring"})
	web := page1(t, in)
	assert.Contains(t, web, "class=\"banner\"")
	assert.Contains(t, web, "A ring.")
	assert.Contains(t, web, "no order was found")
	d, err := Compose(in)
	require.NoError(t, err)
	assert.NotEmpty(t, d.Warning)
}

// TestEveryStepHasItsPicture: steps of one picture share a panel, in order, each once.
func TestEveryStepHasItsPicture(t *testing.T) {
	d, err := Compose(rack())
	require.NoError(t, err)
	var numbers []string
	panels := 0
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if p, ok := b.(sheets.Panel); ok {
				panels++
				assert.NotNil(t, p.Drawing)
				for _, st := range p.Steps {
					numbers = append(numbers, st.Number)
				}
			}
		}
	}
	assert.Equal(t, 2, panels)
	assert.Equal(t, []string{"1", "2", "3"}, numbers)
}

func TestPlainPlan(t *testing.T) {
	d, err := Compose(Input{Plan: assembly.Plan{Design: assembly.Header{Title: "Nothing", Units: "in"}}})
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, WriteHTML(&b, d))
	require.NoError(t, sheets.WritePDF(&b, d))
}

// TestWordsAreUsed: every name asked for here and in the words of steps stands in the file of words, every one there is
// asked for, and as many things are put in as it has places for.
func TestWordsAreUsed(t *testing.T) {
	say, err := wording.EnglishPages()
	require.NoError(t, err)
	used := map[string]bool{}
	quoted := regexp.MustCompile(`"([a-z-]+\.[a-z0-9-]+)"`)
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	steps, err := filepath.Glob("../../assembly/wording/*.go")
	require.NoError(t, err)
	require.NotEmpty(t, steps)
	for _, f := range append(files, steps...) {
		if strings.HasSuffix(f, "_test.go") {
			continue
		}
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		for _, m := range quoted.FindAllStringSubmatch(string(text), -1) {
			if m[1] != "booklet.css" {
				used[m[1]] = true
			}
		}
	}
	have := map[string]bool{}
	for _, n := range say.Names() {
		have[n] = true
		first, _, _ := strings.Cut(n, ".")
		switch first {
		case "mark", "dial", "apart": // words on pictures
		case "what", "group", "kind", "kinds", "place", "trade", "gist", "severity": // asked for by a kind or a place
		default:
			assert.True(t, used[n], "%s is never asked for", n)
		}
	}
	for n := range used {
		assert.True(t, have[n], "%s has no words", n)
	}
	for _, k := range standard.Kinds() {
		assert.True(t, have["what."+string(k)] || k == standard.Room, "%s is not explained", k)
		assert.Equal(t, k.Words(), wording.KindName(k), "messages and pages use one word")
		assert.NotEmpty(t, wording.KindNames(k))
		assert.NotContains(t, wording.KindNames(k), "<")
	}
	for n := range have {
		assert.NotRegexp(t, `\{\d`, fill(say, n))
	}
}

// fill puts something in all places of words that are filled in order from {0}.
func fill(say *wording.Pages, name string) string {
	args := []string{}
	for i := range 9 {
		if !strings.Contains(say.Say(name), "{"+strconv.Itoa(i)+"}") {
			break
		}
		args = append(args, "x")
	}
	return say.Say(name, args...)
}

func TestSentence(t *testing.T) {
	for in, want := range map[string]string{
		"rod sags": "Rod sags.", "left-low is deeper": "left-low is deeper.", "Stop!": "Stop!", "": "", "knee.x is 4": "knee.x is 4.",
		"3/4 threads": "3/4 threads.",
	} {
		assert.Equal(t, want, sentence(in), in)
	}
}
