package picture

import (
	"math"
	"slices"
	"strconv"

	"turnwise/assembly/wording"
	"turnwise/render"
	"turnwise/render/callout"
	"turnwise/render/lettering"
)

// The frame of the drawing on the sheet of a step picture, and the columns beside it for dials and insets.
const (
	stepEdgeMM   = 3
	stepHeadMM   = 8
	stepRingMM   = 15 // round the drawing, for balloons
	stepColumnMM = 36
	columnTopMM  = stepHeadMM + 2
	columnEndMM  = StepHeightMM - 1
	insetPitchMM = insetMM + 2.5
	dialPitchMM  = 19.5
	dialRadiusMM = 7
	dialTextMM   = 2.1
	dialLineMM   = 3
	leftShare    = 0.35 // of the drawing's width: places of work farther to the left have their column there
)

// columns says which of the columns a picture has.
type columns int

const (
	noColumn    columns = 0
	leftColumn  columns = 1
	rightColumn columns = 2
)

func (j *stepJob) frame(c columns) render.Frame {
	f := render.Frame{Left: stepRingMM, Top: stepHeadMM + stepRingMM, Right: StepWidthMM - stepRingMM, Bottom: StepHeightMM - stepRingMM}
	if c&leftColumn != 0 {
		f.Left += stepColumnMM
	}
	if c&rightColumn != 0 {
		f.Right -= stepColumnMM
	}
	return f
}

// group is what stands together in a column: an inset with its dial, or either alone.
type group struct {
	inset *inset
	dial  int // of the picture's dials; -1 for none
	side  columns
	high  float64
	x, y  float64 // of its top left corner
}

// layColumns shares insets and dials out between the columns: on the side where the work is as far as there is room,
// the rest on the other. What fits on neither is left to the words.
func (m *stepMarks) layColumns() {
	var all []group
	used := map[int]bool{}
	for _, in := range m.insets {
		g := group{inset: in, dial: in.dial, high: insetPitchMM}
		if in.dial >= 0 {
			used[in.dial] = true
			g.high += dialPitchMM
		}
		all = append(all, g)
	}
	for d := range m.dials {
		if !used[d] {
			all = append(all, group{dial: d, high: dialPitchMM})
		}
	}
	side := rightColumn
	if m.worksLeft() {
		side = leftColumn
	}
	room := map[columns]float64{leftColumn: columnEndMM - columnTopMM, rightColumn: columnEndMM - columnTopMM}
	apart := m.worksApart()
	for _, g := range all {
		if g.inset != nil && apart != nil {
			side = apart[g.inset]
		}
		for _, s := range []columns{side, leftColumn + rightColumn - side} {
			if room[s] >= g.high {
				room[s] -= g.high
				g.side = s
				m.columns |= s
				m.groups = append(m.groups, g)
				break
			}
		}
	}
	m.insets = slices.DeleteFunc(m.insets, func(in *inset) bool {
		return !slices.ContainsFunc(m.groups, func(g group) bool { return g.inset == in })
	})
}

// worksLeft tells whether the places of work lie at the left of the drawing.
func (m *stepMarks) worksLeft() bool {
	sum := 0.0
	for _, s := range m.shares() {
		sum += s
	}
	return len(m.insets) > 0 && sum/float64(len(m.insets)) < leftShare
}

// shares is how far to the right each inset's place lies, as a share of the drawing's width.
func (m *stepMarks) shares() []float64 {
	if len(m.insets) == 0 {
		return nil
	}
	st := m.job.staged(m.camera, m.job.frame(rightColumn))
	b := st.scene.Bounds(m.camera, nil)
	var out []float64
	for _, in := range m.insets {
		r, _, _ := m.camera.Project(st.middle(in))
		out = append(out, (r-b.Min.X)/max(b.Max.X-b.Min.X, 1e-9))
	}
	return out
}

// worksApart gives each inset the column on its own side where their places lie at both ends of the drawing and a second
// column leaves that nearly as large; otherwise nil.
func (m *stepMarks) worksApart() map[*inset]columns {
	const nearly = 0.8
	out := map[*inset]columns{}
	both := noColumn
	for k, s := range m.shares() {
		side := rightColumn
		if s < 0.5 {
			side = leftColumn
		}
		out[m.insets[k]] = side
		both |= side
	}
	j := m.job
	one, two := j.frame(rightColumn), j.frame(leftColumn|rightColumn)
	if both != leftColumn|rightColumn || j.staged(m.camera, two).scaleIn(m.camera, two)*nearly > j.staged(m.camera, one).scaleIn(m.camera, one) {
		return nil
	}
	return out
}

// drawColumns draws the insets and the dials. Those of one column follow one another as their places do, so that the
// lines to those do not cross; a single one stands level with its place.
func (sh *sheet) drawColumns() error {
	m := sh.step
	for _, side := range []columns{leftColumn, rightColumn} {
		var in []group
		high := 0.0
		for _, g := range m.groups {
			if g.side == side {
				in = append(in, g)
				high += g.high
			}
		}
		if len(in) == 0 {
			continue
		}
		x := float64(stepEdgeMM)
		if side == rightColumn {
			x = StepWidthMM - stepEdgeMM - insetMM
		}
		m.take(box{x - stepEdgeMM, 0, x + insetMM + stepEdgeMM, StepHeightMM})
		sh.stack(in, x, high)
		for _, g := range in {
			if err := sh.drawGroup(g); err != nil {
				return err
			}
		}
	}
	return nil
}

// stack gives the groups of a column their places, in that order from the top in which the lines to their places cross
// least and are shortest. A single one stands level with its place.
func (sh *sheet) stack(in []group, x, high float64) {
	put := func(order []int) float64 {
		y := float64(columnTopMM)
		if at := sh.levelOf(in[0]); len(in) == 1 && !math.IsInf(at, 1) {
			y = max(y, min(columnEndMM-high, at-insetMM/2))
		}
		for _, k := range order {
			in[k].x, in[k].y = x, y
			if in[k].inset != nil {
				in[k].inset.x, in[k].inset.y = x, y
			}
			y += in[k].high
		}
		return sh.lineCost(in)
	}
	best, cost := []int(nil), math.Inf(1)
	for _, order := range orders(len(in)) {
		if c := put(order); c < cost {
			best, cost = order, c
		}
	}
	put(best)
}

// orders returns all orders of n things, n being small; that of the things as they are first.
func orders(n int) [][]int {
	if n == 0 {
		return [][]int{nil}
	}
	var out [][]int
	for at := n - 1; at >= 0; at-- {
		for _, o := range orders(n - 1) {
			out = append(out, slices.Insert(slices.Clone(o), at, n-1))
		}
	}
	return out
}

// lineCost is the length of the lines from insets to their places, and much for each that comes near another's place
// or crosses its line.
func (sh *sheet) lineCost(in []group) float64 {
	const crossed, nearMM = 1000, 3
	type line struct{ a, b point }
	var lines []line
	for _, g := range in {
		if g.inset != nil {
			at, _ := sh.sheetPoint(sh.stage.middle(g.inset))
			lines = append(lines, line{at, g.inset.lineTo(at)})
		}
	}
	sum := 0.0
	for i, l := range lines {
		sum += math.Hypot(l.a.X-l.b.X, l.a.Y-l.b.Y)
		for k, o := range lines {
			if k < i && callout.Within(l.a, l.b, o.a, o.b, nearMM) {
				sum += crossed
			}
		}
	}
	return sum
}

// levelOf is how far down the sheet the place of work of a group lies; those without an inset come last.
func (sh *sheet) levelOf(g group) float64 {
	if g.inset == nil {
		return math.Inf(1)
	}
	p, _ := sh.sheetPoint(sh.stage.middle(g.inset))
	return p.Y
}

func (sh *sheet) drawGroup(g group) error {
	x, y := g.x, g.y
	if g.inset != nil {
		if err := sh.drawInset(g.inset); err != nil {
			return err
		}
		y += insetPitchMM
	}
	if g.dial >= 0 {
		d := sh.step.dials[g.dial]
		name := sh.step.words.Say("dial.step", strconv.Itoa(d.step), strconv.Itoa(d.number))
		if g.inset != nil || len(sh.step.job.steps) == 1 { // the inset or the head of the sheet says which step
			name = sh.step.words.Say("dial.part", strconv.Itoa(d.number))
		}
		sh.dial(d, name, x, y)
	}
	return nil
}

// dial draws the clock face of a dial with its name and words beside it. Its column begins at x, and it at y.
func (sh *sheet) dial(d dial, name string, x, y float64) {
	const r = dialRadiusMM
	_, _, top := d.face()
	w := sh.step.words
	cx, cy := x+r, y+r+3.8
	sh.face(d, cx, cy, r)
	sh.over.centred(lettering.Regular, w.Say(top), dialTextMM, cx, cy-r-1.8, markInk)

	words := w.Say("dial.points", wording.Direction(d.branches[0]))
	if len(d.branches) > 1 && d.branches[0].Near(d.branches[1].Neg(), 1e-2) {
		words = w.Say("dial.lies", wording.Line(d.branches[0]))
	}
	if d.holes {
		words = w.Say("dial.holes", wording.Line(d.branches[0]))
	}
	left := x + 2*r + 0.7
	var lines []string
	for _, text := range []string{name, words, w.Say("dial.seen." + seenFrom(d.axis))} {
		lines = append(lines, lettering.Regular.Wrap(text, dialTextMM, x+insetMM+2.5-left)...)
	}
	for k, l := range lines {
		base := cy + dialLineMM*(float64(k)-float64(len(lines)-1)/2) + dialTextMM/2
		sh.over.text(lettering.Regular, l, dialTextMM, left, base, markInk)
	}
}

// face draws the clock face of a dial alone, its middle at a place.
func (sh *sheet) face(d dial, cx, cy, r float64) {
	right, up, _ := d.face()
	sh.over.disc(pt(cx, cy), r, markInk)
	sh.over.disc(pt(cx, cy), r-0.25, paper)
	for k := range 12 {
		s, c := math.Sincos(float64(k) * math.Pi / 6)
		in := r - 0.8
		if k%3 == 0 {
			in = r - 1.5
		}
		sh.over.line(pt(cx+c*in, cy+s*in), pt(cx+c*(r-0.2), cy+s*(r-0.2)), 0.25, markInk)
	}
	for _, b := range d.branches {
		bx, by := b.Dot(right), -b.Dot(up)
		tip := pt(cx+bx*(r-2.2), cy+by*(r-2.2))
		sh.over.line(pt(cx, cy), tip, 1.4, actInk)
		sh.over.fill(arrowHead(pt(cx, cy), tip, 3, 0), actInk)
	}
	sh.over.disc(pt(cx, cy), 2, actInk)
	sh.over.disc(pt(cx, cy), 1.2, paper)
}
