package picture

import (
	"fmt"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/lettering"
)

// key is the list on an exploded sheet that names every number.
type key struct {
	lines []keyLine
	wide  float64 // of the widest line
}

type keyLine struct {
	number int
	text   string
	family family
	count  int
}

const (
	keyPitchMM  = 4.3 // from line to line
	keyTextMM   = 2.2
	keyIndentMM = 12 // for swatch and number
	keyGapMM    = 6  // between columns
	footMM      = 18 // of the sheet, for the title
	edgeMM      = 8  // of the sheet, left clear
)

func newKey(plan *assembly.Plan) *key {
	k := &key{}
	at := map[int]int{}
	for _, p := range plan.Parts {
		if p.Number == 0 {
			continue
		}
		i, ok := at[p.Number]
		if !ok {
			i = len(k.lines)
			at[p.Number] = i
			k.lines = append(k.lines, keyLine{number: p.Number, text: describe(plan, p), family: familyOf(p.Kind)})
		}
		if p.Half != "b" {
			k.lines[i].count++
		}
	}
	sortLines(k.lines)
	for i := range k.lines {
		l := &k.lines[i]
		if l.count > 1 {
			l.text = fmt.Sprintf("%s  ×%d", l.text, l.count)
		}
		k.wide = max(k.wide, keyIndentMM+lettering.Regular.Width(l.text, keyTextMM))
	}
	return k
}

// columns returns how many columns and rows the key takes in a height.
func (k *key) columns(heightMM float64) (columns, rows int) {
	rows = max(1, int(heightMM/keyPitchMM))
	return (len(k.lines) + rows - 1) / rows, rows
}

// beside tells whether the key stands to the right of a drawing of the given shape or under it: wherever that leaves
// the drawing larger.
func (k *key) beside(seen geom.Box) bool {
	side, under := k.rightFrame(), k.underFrame()
	size := seen.Size()
	scale := func(f render.Frame) float64 { return min((f.Right-f.Left)/size.X, (f.Bottom-f.Top)/size.Y) }
	return scale(side) >= scale(under)
}

// drawing returns the frame left for the drawing itself, inside the balloons.
func (k *key) drawing(seen geom.Box) render.Frame {
	if k.beside(seen) {
		return k.rightFrame()
	}
	return k.underFrame()
}

func (k *key) inner(right, bottom float64) render.Frame {
	d := clearMM + 2*balloonRadius(len(k.lines)) + noteRoomMM
	return render.Frame{Left: edgeMM + d, Top: edgeMM + d - noteRoomMM/2, Right: right - d, Bottom: bottom - d + noteRoomMM/2}
}

func (k *key) rightFrame() render.Frame {
	n, _ := k.columns(SheetHeightMM - footMM - 2*edgeMM)
	return k.inner(SheetWidthMM-edgeMM-float64(n)*(k.wide+keyGapMM), SheetHeightMM-footMM)
}

// underRows returns the rows of a key that runs along the foot of the sheet.
func (k *key) underRows() (columns, rows int) {
	columns = max(1, int((SheetWidthMM-2*edgeMM+keyGapMM)/(k.wide+keyGapMM)))
	return columns, (len(k.lines) + columns - 1) / columns
}

func (k *key) underFrame() render.Frame {
	_, rows := k.underRows()
	return k.inner(SheetWidthMM-edgeMM, SheetHeightMM-footMM-float64(rows)*keyPitchMM)
}

// key writes the key where the drawing leaves room for it.
func (sh *sheet) key(k *key) {
	seen := sh.scene.Bounds(sh.view.Camera, nil)
	columns, rows := k.underRows()
	x0, y0 := float64(edgeMM), SheetHeightMM-footMM-float64(rows)*keyPitchMM
	if k.beside(seen) {
		columns, rows = k.columns(SheetHeightMM - footMM - 2*edgeMM)
		x0, y0 = SheetWidthMM-edgeMM-float64(columns)*(k.wide+keyGapMM)+keyGapMM, edgeMM
	}
	for i, l := range k.lines {
		x, y := x0+float64(i/rows)*(k.wide+keyGapMM), y0+float64(i%rows+1)*keyPitchMM
		sh.keyLine(l, x, y)
	}
}

func (sh *sheet) keyLine(l keyLine, x, y float64) {
	t := tones[l.family]
	const swatchMM, rimMM = 2.2, 0.13
	sh.over.rect(x-rimMM, y-swatchMM-rimMM, x+swatchMM*1.4+rimMM, y+rimMM, markInk)
	sh.over.rect(x, y-swatchMM, x+swatchMM*1.4, y, t.Shade.Lerp(t.Light, 0.75))
	n := fmt.Sprint(l.number)
	sh.over.text(lettering.Bold, n, keyTextMM, x+keyIndentMM-2-lettering.Bold.Width(n, keyTextMM), y, markInk)
	sh.over.text(lettering.Regular, l.text, keyTextMM, x+keyIndentMM, y, markInk)
}
