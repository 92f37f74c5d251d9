// Package booklet makes the instructions of a plan: one set of pages, written as a PDF file and as one web page that
// needs no other file.
//
// [Compose] says what stands on the pages, as blocks of package sheets; [sheets.WritePDF] and [WriteHTML] set the same
// blocks. The words come from package wording, the figures from the plan, so that numbers, lengths and counts are those
// of the lists and pictures.
//
//   - booklet.go: what a booklet is made from, and its sections in order
//   - before.go: cover and what to know before work
//   - trade.go, drawings.go: the words of the trade, each with a drawing
//   - parts.go, shop.go: parts; cut sheet, boring of boards, shopping list, labels
//   - work.go: steps, exploded picture
//   - after.go: findings in full, after-care, taking apart
//   - html.go: blocks to a web page
package booklet

import (
	"math"
	"strconv"

	"turnwise/assembly"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render/sheets"
)

// Input is what a booklet is made from. Drawings may be nil where there are none.
type Input struct {
	Plan        assembly.Plan
	Loads       []assembly.Load
	ToleranceMM float64 // how true the pipes are to be cut, either way
	Sticks      []assembly.Stick
	KerfMM      float64  // what a cut takes off a stick
	Built       geom.Box // round the frame as built

	Finished *sheets.Drawing
	Exploded *sheets.Drawing
	Groups   []Group                 // of a big frame
	Legend   *sheets.Drawing         // of the marks on the pictures of steps
	Steps    map[int]*sheets.Drawing // by number of the picture
	Parts    map[int]*sheets.Drawing // by number of the part; all but boards to one scale
	// PartsPerMM is that scale on the page, in pixels to the millimetre, and PartsScale in words, such as "1:4".
	PartsPerMM float64
	PartsScale string
}

// Group is a group of parts drawn apart, and the step it is begun with.
type Group struct {
	Step    int
	Drawing *sheets.Drawing
}

// composer is an Input with what its sections share.
type composer struct {
	Input
	say   *wording.Pages
	units units.System
	book  *wording.Book
}

// Compose makes the document.
func Compose(in Input) (*sheets.Document, error) {
	say := wording.InUse()
	u := units.System(in.Plan.Design.Units)
	c := &composer{Input: in, say: say, units: u, book: wording.NewBook(u, in.Plan.Parts, in.Plan.Joints)}
	d := &sheets.Document{
		Title: in.Plan.Design.Title, Language: say.Say("language.tag"), Foot: say.Say("page.foot", in.Plan.Design.Title),
		Sections: []sheets.Section{
			c.cover(), c.before(), c.trade(), c.parts(), c.cuts(), c.sums(), c.boring(), c.shopping(), c.labels(),
			c.steps(), c.exploded(), c.found(), c.after(), c.apart(),
		},
	}
	if c.refused() {
		d.Warning = say.Say("refused.banner")
	}
	kept := d.Sections[:0]
	for _, s := range d.Sections {
		if len(s.Blocks) > 0 {
			kept = append(kept, s)
		}
	}
	d.Sections = kept
	return d, nil
}

// refused tells whether the frame cannot be built as drawn.
func (c *composer) refused() bool {
	for _, f := range c.Plan.Findings {
		if f.Severity == assembly.Stop {
			return true
		}
	}
	return false
}

// length writes a length as the lists do.
func (c *composer) length(mm float64) string { return c.units.Format(units.Length(mm)) }

// cut writes the length of a pipe as a tape shows it, unless that would take more than half of what the cut may be off.
func (c *composer) cut(mm float64) string {
	return c.units.Cut(units.Length(mm), units.Length(c.ToleranceMM))
}

// atLeast writes what must not come out smaller, such as a hole, to the next sixteenth or millimetre up.
func (c *composer) atLeast(mm float64) string {
	const hair = 1e-6 // mm: a size that is on a mark stays on it
	step := float64(units.Inch) / 16
	if c.units == units.MetricSystem {
		step = 1
	}
	return c.about(math.Ceil(mm/step-hair) * step)
}

// about writes a length to the nearest sixteenth or millimetre.
func (c *composer) about(mm float64) string { return wording.Near(c.units, mm) }

func (c *composer) people(n int) string {
	if n == 1 {
		return c.say.Say("people.one")
	}
	return c.say.Say("people.some", strconv.Itoa(n))
}
