package picture

import (
	"fmt"

	"turnwise/assembly"
	"turnwise/assembly/units"
	"turnwise/geom"
	"turnwise/render/lettering"
)

// title writes the line at the foot of the sheet: of which design, what is shown, and at the right a note.
func (sh *sheet) title(what, note string) {
	const base, ruleMM, gapMM = SheetHeightMM - 7, 0.25, 4
	h := sh.stage.plan.Design
	sh.over.rect(edgeMM, base-8, SheetWidthMM-edgeMM, base-8+ruleMM, markInk)
	left := SheetWidthMM - edgeMM - lettering.Regular.Width(note, lettering.NoteMM)
	sh.over.text(lettering.Regular, note, lettering.NoteMM, left, base, markInk)
	room := left - edgeMM - 2*gapMM - lettering.Regular.Width(what, lettering.NoteMM)
	title := shorten(h.Title, lettering.HeadMM, room)
	sh.over.text(lettering.Bold, title, lettering.HeadMM, edgeMM, base, markInk)
	w := lettering.Bold.Width(title, lettering.HeadMM)
	sh.over.text(lettering.Regular, what, lettering.NoteMM, edgeMM+w+gapMM, base, markInk)
}

// unitWord names what lengths are measured in.
func unitWord(u units.System) string {
	if u == units.InchSystem {
		return "inches"
	}
	return "millimetres"
}

// overall is the size of the frame as built, in the design's units.
func overall(u units.System, b geom.Box) string {
	s := b.Size()
	in := func(mm float64) string { return u.Nearest(units.Length(mm)) }
	return fmt.Sprintf("%s wide, %s deep, %s high", in(s.X), in(s.Y), in(s.Z))
}

// shorten cuts a bold text that is too wide and ends it with an ellipsis.
func shorten(text string, heightMM, widthMM float64) string {
	if lettering.Bold.Width(text, heightMM) <= widthMM {
		return text
	}
	r := []rune(text)
	for len(r) > 1 && lettering.Bold.Width(string(r)+"…", heightMM) > widthMM {
		r = r[:len(r)-1]
	}
	return string(r) + "…"
}

// Notices: what the sheet must say of a design that cannot be built.
const (
	noticeMostLines = 4
	noticePitchMM   = 4.2
	noticePadMM     = 2.2
)

// notice returns the lines that say why a plan cannot be built, none when it can.
func notice(plan *assembly.Plan) []string {
	var stops []string
	for _, f := range plan.Findings {
		if f.Severity == assembly.Stop {
			stops = append(stops, f.Text)
		}
	}
	if len(stops) == 0 {
		return nil
	}
	text := "Not to be built as it stands: " + stops[0]
	if len(stops) > 1 {
		text += fmt.Sprintf(" (and %d more)", len(stops)-1)
	}
	lines := lettering.Regular.Wrap(text, lettering.NoteMM, SheetWidthMM-2*edgeMM-2*noticePadMM-4)
	if len(lines) > noticeMostLines {
		lines = lines[:noticeMostLines]
		lines[noticeMostLines-1] += " …"
	}
	return lines
}

// noticeHeight is what the notice takes from the top of the sheet.
func noticeHeight(plan *assembly.Plan) float64 {
	n := len(notice(plan))
	if n == 0 {
		return 0
	}
	return float64(n)*noticePitchMM + 2*noticePadMM
}

// warn writes the notice, framed, at the head of the sheet.
func (sh *sheet) warn() {
	lines := notice(sh.stage.plan)
	if len(lines) == 0 {
		return
	}
	const frameMM, barMM = 0.35, 2
	top, h := float64(edgeMM)/2, noticeHeight(sh.stage.plan)
	left, right := float64(edgeMM), float64(SheetWidthMM-edgeMM)
	sh.over.rect(left, top, right, top+h-noticePadMM, stopInk)
	sh.over.rect(left+barMM, top+frameMM, right-frameMM, top+h-noticePadMM-frameMM, paper)
	for i, l := range lines {
		sh.over.text(lettering.Regular, l, lettering.NoteMM, left+barMM+noticePadMM, top+noticePadMM+lettering.NoteMM+float64(i)*noticePitchMM-0.4, stopInk)
	}
}
