package picture

import (
	"turnwise/render/lettering"
)

// title writes the line at the foot of the sheet: what is shown, of which design, in what units.
func (sh *sheet) title(what string) {
	const margin, base = 10, SheetHeightMM - 8
	h := sh.stage.plan.Design
	sh.over.text(lettering.Bold, h.Title, lettering.HeadMM, margin, base, markInk)
	w := lettering.Bold.Width(h.Title, lettering.HeadMM)
	sh.over.text(lettering.Regular, what, lettering.NoteMM, margin+w+5, base, markInk)
}
