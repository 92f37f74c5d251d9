package picture

import (
	"fmt"
	"math"
	"sort"

	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/callout"
	"turnwise/render/explode"
	"turnwise/render/raster"
)

// Metric is one thing measured on a picture. A hard one that is not met is a fault of the picture; the others make its
// score.
type Metric struct {
	ID     string  `json:"id"`
	Name   string  `json:"name"`
	Value  float64 `json:"value"`
	Target float64 `json:"target"`
	AtMost bool    `json:"at_most"` // the target is the most allowed, else the least
	Hard   bool    `json:"hard"`
	Met    bool    `json:"met"`
}

// ScoreToShip is the score a picture should have: our own choice.
const ScoreToShip = 80

const (
	softWeight = 0.25 // how much one soft metric counts
	leastShare = 0.1  // of its target, below which a metric counts as this much
)

// metrics gathers what is measured on a picture.
type metrics struct{ list []Metric }

func (m *metrics) atLeast(id, name string, value, target float64, hard bool) *Metric {
	return m.add(Metric{ID: id, Name: name, Value: round(value), Target: target, Hard: hard, Met: value >= target})
}

func (m *metrics) atMost(id, name string, value, target float64, hard bool) *Metric {
	return m.add(Metric{ID: id, Name: name, Value: round(value), Target: target, AtMost: true, Hard: hard, Met: value <= target})
}

func (m *metrics) add(x Metric) *Metric {
	m.list = append(m.list, x)
	return &m.list[len(m.list)-1]
}

// score is 100 times the product over the soft metrics of how nearly each is met.
func (m *metrics) score() float64 {
	s := 100.0
	for _, x := range m.list {
		if x.Hard || x.Met {
			continue
		}
		share := x.Value / x.Target
		if x.AtMost {
			share = x.Target / x.Value
		}
		s *= math.Pow(max(leastShare, min(1, share)), softWeight)
	}
	return math.Round(s*10) / 10
}

// measure returns the metrics of a finished sheet. The names follow a study of pictures for builders; M1 to M9 are of
// the plan and not of its pictures.
func (sh *sheet) measure(s Scores) ([]Metric, float64, error) {
	m := &metrics{}
	if sh.step != nil {
		if err := sh.measureStep(m); err != nil {
			return nil, 0, err
		}
	} else {
		x := m.atLeast("M10", "mean visible fraction of the parts", s.MeanVisible, 0.6, false)
		x.Met = x.Met || sh.stage.dashes // what is hidden is drawn in dashes
	}
	if sh.lines != nil {
		if err := sh.measureExplosion(m); err != nil {
			return nil, 0, err
		}
	}
	if len(sh.marked) > 0 {
		sh.measureMarks(m, s)
	}
	return m.list, m.score(), nil
}

// measureStep measures what a step picture is about.
func (sh *sheet) measureStep(m *metrics) error {
	j := sh.step.job
	v, err := j.sight(sh.stage, sh.stage.scene, sh.view.Finer(super), sh.buffers)
	if err != nil {
		return err
	}
	least, mouth := j.sightOf(v, sh.step.insets) // what is hidden may be shown in an inset
	m.atLeast("M10", "visible fraction of the least visible new part", least, hiddenPart, true)
	m.atLeast("M10m", "mean visible fraction of the new parts", v.mean, 0.8, false)
	m.atLeast("M11", "visible share of the least visible mouth", mouth, hiddenMouth, true)
	if least, ok := sh.leastPart(); ok {
		m.atLeast("M12", "shorter side of the part worked on, on the sheet, in mm", least, smallPartMM, true)
	}
	if sh.step.before != nil {
		x := m.atMost("M23", "turn of the view since the picture before, in degrees", degrees(sh.view.Camera, *sh.step.before), mostTurnDeg, false)
		x.Met = x.Met || sh.step.isTurned()
	}
	if sh.step.isContrast {
		m.atLeast("M24", "difference in brightness between new and old parts", sh.step.contrast, 0.25, false)
	}
	return nil
}

// leastPart is the shorter side on the sheet of the smallest of the parts worked on, each as large as the picture or an
// inset of a part of the same number shows it.
func (sh *sheet) leastPart() (mm float64, ok bool) {
	j := sh.step.job
	mm = math.Inf(1)
	for _, o := range j.joints {
		p := j.whole.part(j.workedOn(o, sight{}))
		if p == nil || o.copy > 0 {
			continue
		}
		short, _ := j.whole.seenSize(p.ID, sh.view.Camera)
		size := short / (sh.view.PixelMM * PixelsPerMM)
		for _, in := range sh.step.insets {
			if q := j.whole.part(in.part); q.Number == p.Number {
				size = max(size, in.partMM)
			}
		}
		mm = min(mm, size)
	}
	return mm, !math.IsInf(mm, 1)
}

// contrast is how much darker new parts are than old ones on a picture that has no marks yet, in shares of the range from black to
// white; false where there is only one of the two.
func (sh *sheet) contrast() (float64, bool) {
	var sum, n [2]float64
	b := sh.buffers
	for y := 0; y < b.Height; y += 2 * super {
		for x := 0; x < b.Width; x += 2 * super {
			id := b.ID(y*b.Width + x)
			if id == 0 || id > len(sh.stage.parts) {
				continue
			}
			k := 0
			if sh.step.strong[id] {
				k = 1
			}
			c := sh.over.img.NRGBAAt(x/super, y/super)
			sum[k] += render.Colour{R: c.R, G: c.G, B: c.B}.Luma()
			n[k]++
		}
	}
	if n[0] == 0 || n[1] == 0 {
		return 0, false
	}
	return sum[0]/n[0] - sum[1]/n[1], true
}

// measureExplosion measures how the parts of an exploded picture lie.
func (sh *sheet) measureExplosion(m *metrics) error {
	worst, err := sh.worstOverlap()
	if err != nil {
		return err
	}
	m.atMost("M13", "largest overlap of two silhouettes, as a share of the smaller", worst, 0.05, false)
	order, gaps := 1.0, 0.0
	for _, l := range sh.axisLines() {
		order = min(order, sh.order(l))
		gaps = max(gaps, sh.unevenness(l))
	}
	m.atLeast("M14", "parts along a line stand as they are joined (rank correlation)", order, 1, true)
	m.atMost("M15", "spread of the gaps on one line, as a share of their mean", gaps, 0.25, false)
	return nil
}

// worstOverlap compares the silhouettes of all pairs of parts, each drawn alone and small. A board and what stands on
// the side of it that is seen, in line with a hole or screwed on, are meant to lie over one another.
func (sh *sheet) worstOverlap() (float64, error) {
	scene := sh.stage.coarse
	view := render.Fit(sh.view.Camera, scene.Bounds(sh.view.Camera, nil), surveyWidth, surveyWidth*3/4, render.Frame{Left: 4, Top: 4, Right: surveyWidth - 4, Bottom: surveyWidth*3/4 - 4})
	masks := make([][]uint64, len(scene.Instances))
	area := make([]int, len(masks))
	errs := make([]error, len(masks))
	parallel(len(masks), func(i int) {
		b, err := raster.Draw(render.Scene{Instances: scene.Instances[i : i+1]}, view)
		if err != nil {
			errs[i] = err
			return
		}
		masks[i] = make([]uint64, (len(b.Packed)+63)/64)
		for k, p := range b.Packed {
			if p != 0 {
				masks[i][k/64] |= 1 << (k % 64)
				area[i]++
			}
		}
	})
	for _, err := range errs {
		if err != nil {
			return 0, err
		}
	}
	worst := 0.0
	for i := range masks {
		for k := range i {
			if n := min(area[i], area[k]); n > 0 && !sh.nested[pair(i+1, k+1)] {
				worst = max(worst, float64(common(masks[i], masks[k]))/float64(n))
			}
		}
	}
	return worst, nil
}

// axisLine is joints whose axes lie on one line of an exploded picture, with their guides.
type axisLine []explode.Guide

// axisLines groups the guides by the line they lie on, in the order of the plan's joints.
func (sh *sheet) axisLines() []axisLine {
	const grid = 1.0 // mm: guides of one line agree to rounding
	at := map[string]int{}
	var out []axisLine
	for _, g := range sh.lines {
		d := g.To.Sub(g.From).Unit()
		if d.X < -1e-6 || math.Abs(d.X) < 1e-6 && (d.Y < -1e-6 || math.Abs(d.Y) < 1e-6 && d.Z < 0) {
			d = d.Neg()
		}
		foot := g.From.Sub(d.Mul(g.From.Dot(d)))
		key := fmt.Sprintf("%.2f %.2f %.2f|%.0f %.0f %.0f", d.X+0, d.Y+0, d.Z+0, foot.X/grid+0, foot.Y/grid+0, foot.Z/grid+0)
		k, ok := at[key]
		if !ok {
			k = len(out)
			at[key] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], g)
	}
	return out
}

// order is Kendall's rank correlation of how the joints of a line follow one another in the frame as built and in the
// picture: 1 when no two have changed places.
func (sh *sheet) order(l axisLine) float64 {
	dir := l[0].To.Sub(l[0].From).Unit()
	built := map[string]geom.Vec{}
	for _, j := range sh.stage.plan.Joints {
		if j.Axis != nil {
			built[j.ID] = j.Axis.At
		}
	}
	pairs, turned := 0, 0
	for i := range l {
		for k := range i {
			a, okA := built[l[i].Joint]
			b, okB := built[l[k].Joint]
			if !okA || !okB || a.Near(b, 1e-6) {
				continue
			}
			pairs++
			if a.Sub(b).Dot(dir)*l[i].From.Lerp(l[i].To, 0.5).Sub(l[k].From.Lerp(l[k].To, 0.5)).Dot(dir) < 0 {
				turned++
			}
		}
	}
	if pairs == 0 {
		return 1
	}
	return 1 - 2*float64(turned)/float64(pairs)
}

// gaps are the clear lengths of a line's guides. One that goes through a board is two gaps, one on each side of it.
func (sh *sheet) gaps(l axisLine) []float64 {
	var out []float64
	for _, g := range l {
		whole := g.To.Sub(g.From)
		at := 0.0
		for _, cut := range sh.boardsOn(g) {
			if d := (cut[0] - at) * whole.Len(); d > leastGapMM {
				out = append(out, d)
			}
			at = max(at, cut[1])
		}
		if d := (1 - at) * whole.Len(); d > leastGapMM {
			out = append(out, d)
		}
	}
	return out
}

// leastGapMM is the length from which a stretch of a guide is a gap: a board that touches a part leaves none.
const leastGapMM = 1

// boardsOn returns the stretches of a guide that lie in boards, as shares of its length, in order.
func (sh *sheet) boardsOn(g explode.Guide) [][2]float64 {
	var out [][2]float64
	for i, in := range sh.stage.scene.Instances {
		if sh.stage.parts[i].Kind != standard.Board {
			continue
		}
		if from, to, ok := within(in.Shape.Box, in.Pose.Local(g.From), in.Pose.Local(g.To)); ok {
			out = append(out, [2]float64{from, to})
		}
	}
	sort.Slice(out, func(i, k int) bool { return out[i][0] < out[k][0] })
	return out
}

// within returns the stretch of a line that lies in a box, as shares of its length.
func within(b geom.Box, p, q geom.Vec) (from, to float64, ok bool) {
	to = 1
	for _, s := range [3][4]float64{{p.X, q.X, b.Min.X, b.Max.X}, {p.Y, q.Y, b.Min.Y, b.Max.Y}, {p.Z, q.Z, b.Min.Z, b.Max.Z}} {
		d := s[1] - s[0]
		if math.Abs(d) < 1e-9 {
			if s[0] < s[2] || s[0] > s[3] {
				return 0, 0, false
			}
			continue
		}
		a, z := (s[2]-s[0])/d, (s[3]-s[0])/d
		from, to = max(from, min(a, z)), min(to, max(a, z))
	}
	return from, to, from < to
}

// unevenness is the standard deviation of the gaps of a line over their mean.
func (sh *sheet) unevenness(l axisLine) float64 {
	gaps := sh.gaps(l)
	if len(gaps) < 2 {
		return 0
	}
	sum, square := 0.0, 0.0
	for _, d := range gaps {
		sum, square = sum+d, square+d*d
	}
	n := float64(len(gaps))
	mean := sum / n
	return math.Sqrt(max(0, square/n-mean*mean)) / max(mean, 1e-9)
}

// measureMarks measures balloons and leaders.
func (sh *sheet) measureMarks(m *metrics, s Scores) {
	m.atMost("M16", "pairs of leaders that cross", float64(s.Crossings), 0, true)
	m.atMost("M17", "balloons over balloons, leaders or parts", float64(s.Overlaps+s.OverParts), 0, true)
	var over, long []float64
	angle := 90.0
	vague := 0
	for _, b := range sh.marked {
		l := math.Hypot(b.Start.X-b.End.At.X, b.Start.Y-b.End.At.Y)
		long = append(long, l/math.Hypot(sh.size.X, sh.size.Y))
		over = append(over, sh.foreign(b.Start, b.End.At, b.End.ID)/max(l, 1e-9))
		angle = min(angle, leaderAngle(b))
		if b.End.Inside < 1 && b.End.Inside >= dotInsideMM {
			vague++
		}
	}
	sort.Float64s(over)
	sort.Float64s(long)
	m.atMost("M18", "median share of a leader that lies over other parts", over[len(over)/2], 0.25, false)
	m.atMost("M19", "median length of leaders, in diagonals of the sheet", long[len(long)/2], 0.15, false)
	m.atMost("M19m", "longest leader, in diagonals of the sheet", long[len(long)-1], 0.35, false)
	m.atLeast("M20", "least angle of a leader to the part it ends on, in degrees", angle, 15, false)
	m.atMost("M21", "ends of leaders near an edge without an arrow", float64(vague), 0, true)
	m.atMost("M22", "share of pairs of numbers out of order round the sheet", callout.Disorder(sh.marked), 0.2, false)
}

// leaderAngle is the angle in degrees between a leader and the length of the part it ends on; 90 where that has none.
// Leaders that lie level or upright are not counted against a picture: on upright posts the level ones stand square.
func leaderAngle(b callout.Balloon) float64 {
	ax, ay := b.End.Along.X, b.End.Along.Y
	dx, dy := b.End.At.X-b.Start.X, b.End.At.Y-b.Start.Y
	n := math.Hypot(ax, ay) * math.Hypot(dx, dy)
	if n == 0 {
		return 90
	}
	return math.Asin(min(1, math.Abs(ax*dy-ay*dx)/n)) * 180 / math.Pi
}
