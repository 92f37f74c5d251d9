package pipeline

import (
	"bytes"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/bom"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render/booklet"
)

// madeUp is the file of words with every letter of English put into another alphabet, so that no Latin letter is left
// but in what is put in from outside: a translation, as far as a program can see.
func madeUp(t *testing.T) *wording.Pages {
	text, err := os.ReadFile(filepath.Join(root, "assembly", "wording", "english.txt"))
	require.NoError(t, err)
	var out strings.Builder
	for line := range strings.Lines(string(text)) {
		name, words, ok := strings.Cut(line, ":")
		if !ok || strings.HasPrefix(line, "#") {
			continue
		}
		out.WriteString(name + ":" + strings.Map(func(r rune) rune {
			switch {
			case r >= 'a' && r <= 'z':
				return r - 'a' + 'а' // Cyrillic from here on
			case r >= 'A' && r <= 'Z':
				return r - 'A' + 'А'
			}
			return r
		}, words))
	}
	p, err := wording.ReadPages(out.String())
	require.NoError(t, err)
	return p
}

// TestAnotherLanguage: with another file of words no English is left on the pages and in the steps, but for the names
// of the design and the texts of the plan: findings, assumptions, and what is said of things to buy.
func TestAnotherLanguage(t *testing.T) {
	before := wording.Use(madeUp(t))
	defer wording.Use(before)
	files := []string{"examples/workshop-packing-bench.yaml"}
	if !testing.Short() {
		files = append(files, "examples/bakery-alcove-shelves.yaml", "testdata/briefs/school-cloakroom-rolling-coat-frame.yaml")
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			r, w, err := plan(request(t, filepath.Join(root, file)))
			require.NoError(t, err)
			require.NotEmpty(t, r.Plan.Steps)
			doc, err := booklet.Compose(booklet.Input{
				Plan: r.Plan, Loads: w.solved.Loads, ToleranceMM: w.solved.ToleranceMM, Sticks: bom.Sticks(w.solved), KerfMM: bom.KerfMM,
				Built: geom.BoxOf(geom.V(0, 0, 0), geom.V(1, 1, 1)), PartsScale: "1:2",
			})
			require.NoError(t, err)
			var page bytes.Buffer
			require.NoError(t, booklet.WriteHTML(&page, doc))
			left := latin(page.String(), r.Plan, w.solved)
			assert.Empty(t, left, "English on the pages")
		})
	}
}

var (
	styleOfPage = regexp.MustCompile(`(?s)<style>.*?</style>`)
	tagOfPage   = regexp.MustCompile(`<[^>]*>`)
	labelOfTag  = regexp.MustCompile(`(?:alt|aria-label)="([^"]*)"`)
	latinWord   = regexp.MustCompile(`[A-Za-z][a-z]{2,}`)
)

// latin are the words in Latin letters on a page, besides those of the design and of the texts of the plan.
func latin(page string, p assembly.Plan, a *assembly.Assembly) []string {
	page = styleOfPage.ReplaceAllString(page, "")
	for _, m := range labelOfTag.FindAllStringSubmatch(page, -1) {
		page += " <p>" + m[1]
	}
	words := html.UnescapeString(tagOfPage.ReplaceAllString(page, "\n"))
	words = strings.ToLower(strings.ReplaceAll(words, "\u00a0", " "))
	for _, own := range ownWords(p, a) {
		words = strings.ReplaceAll(words, strings.ToLower(own), " ")
	}
	found := latinWord.FindAllString(words, -1)
	slices.Sort(found)
	return slices.Compact(found)
}

// ownWords are the texts of a design and its plan, the longest first.
func ownWords(p assembly.Plan, a *assembly.Assembly) []string {
	own := []string{p.Design.Title}
	for _, f := range p.Findings {
		own = append(own, f.Text, f.Code, f.At)
		if i := strings.IndexAny(f.Text, ":;"); i > 0 {
			own = append(own, f.Text[:i])
		}
	}
	for _, x := range p.Assumptions {
		own = append(own, x.Text, x.Key)
	}
	for _, it := range p.Shopping {
		own = append(own, it.Text)
	}
	for _, k := range p.Cuts {
		own = append(own, append(k.Measure, k.Formula)...)
	}
	for _, part := range p.Parts {
		own = append(own, part.ID, strings.TrimSuffix(strings.TrimSuffix(part.ID, ".a"), ".b"), part.Material, part.Finish)
	}
	for _, s := range a.Sticks {
		own = append(own, s.Source)
	}
	for _, l := range a.Loads {
		own = append(own, l.On)
	}
	for name := range a.Points {
		own = append(own, name)
	}
	own = append(own, "ASME", "NPT") // names of standards
	own = slices.DeleteFunc(own, func(s string) bool { return s == "" })
	slices.SortFunc(own, func(a, b string) int {
		if len(a) != len(b) {
			return len(b) - len(a)
		}
		return strings.Compare(a, b)
	})
	return own
}
