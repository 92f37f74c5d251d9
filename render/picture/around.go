package picture

import (
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render/lettering"
)

// What a step picture shows of the world round the parts: which way is up, the ceiling, what holds a frame up that is
// not fastened yet, and how far a fitting lies from the one before it.
const (
	bearingMM   = 6.0 // length of an arrow that lies across the line of sight
	bearingPen  = 0.3
	bearingHead = 1.6
	propMM      = 13.0 // least length of a prop on the sheet
	propWideMM  = 0.9
	propBarMM   = 4.0
	floorFacing = -0.5 // height of a face's direction from which it stands on the floor
	atCeilingMM = 5    // a frame that ends nearer than this below a ceiling meets it
	centresOut  = 8.0  // of a dimension line from the axis, on the sheet
)

// bearings draws, at the foot of a picture on the bench, which way up, right and back the parts will stand in the room:
// nothing else there shows it. In place floor and walls do.
func (sh *sheet) bearings() {
	j, w := sh.step.job, sh.step.words
	if j.inPlace {
		return
	}
	f := j.frame(sh.step.columns)
	const reach = 9.0
	o := pt(f.Left-stepRingMM+12, sh.size.Y-reach)
	if r := pt(f.Right+stepRingMM-14, o.Y); sh.covers(around(r, reach)) < sh.covers(around(o, reach)) {
		o = r
	}
	for _, d := range []struct {
		dir  geom.Vec
		word string
	}{{geom.AxisZ, "dial.up"}, {geom.AxisX, "mark.right"}, {geom.AxisY, "dial.back"}} {
		dx, dy := d.dir.Dot(sh.view.Right)*bearingMM, -d.dir.Dot(sh.view.Up)*bearingMM
		l := math.Hypot(dx, dy)
		if l < 1 {
			continue
		}
		tip := pt(o.X+dx, o.Y+dy)
		sh.over.line(o, tip, bearingPen, thinInk)
		sh.over.fill(arrowHead(o, tip, bearingHead, 0), thinInk)
		text := w.Say(d.word)
		half := lettering.Regular.Width(text, dialTextMM) / 2
		at := pt(tip.X+math.Copysign(half+1, dx), tip.Y)
		if d.dir == geom.AxisZ {
			at = pt(tip.X, tip.Y-2.2)
		} else if math.Abs(dx) < 0.5 {
			at.X = tip.X + half + 1.2
		}
		sh.over.centred(lettering.Regular, text, dialTextMM, max(half+0.5, at.X), min(sh.size.Y-dialTextMM/2-0.3, at.Y), thinInk)
	}
	sh.step.write(around(o, reach))
}

// around is the square round a place.
func around(p point, half float64) box { return box{p.X - half, p.Y - half, p.X + half, p.Y + half} }

// ceiling returns the corners of the ceiling above a frame that a picture fastens to it; none for others, and none where
// it is seen from below and drawn.
func (s *stage) ceiling(j *stepJob) []geom.Vec {
	if !j.inPlace || !j.hangsFromCeiling() {
		return nil
	}
	var boxes []geom.Box
	for _, p := range s.plan.Parts {
		if p.Kind == standard.Room {
			boxes = append(boxes, p.Boxes...)
		}
	}
	all, meets := geom.EmptyBox(), false
	var first, last geom.Box
	for _, b := range boxes { // a leaning ceiling is many pieces
		cut := b.Intersect(s.built.Grow(roomMarginMM))
		if cut.IsEmpty() || b.Min.Z < s.built.Centre().Z {
			continue
		}
		if all.IsEmpty() || b.Min.X < first.Min.X {
			first = b
		}
		if all.IsEmpty() || b.Max.X > last.Max.X {
			last = b
		}
		all = all.Union(cut)
		meets = meets || math.Abs(b.Min.Z-s.built.Max.Z) < atCeilingMM
	}
	if !meets {
		return nil
	}
	near := insideRoom(boxes, s.built)
	x0, x1, y0, y1 := max(all.Min.X, near.Min.X), min(all.Max.X, near.Max.X), max(all.Min.Y, near.Min.Y), min(all.Max.Y, near.Max.Y)
	return []geom.Vec{geom.V(x0, y0, first.Min.Z), geom.V(x1, y0, last.Min.Z), geom.V(x1, y1, last.Min.Z), geom.V(x0, y1, first.Min.Z)}
}

// hangsFromCeiling tells whether a picture fastens something to a face above it.
func (j *stepJob) hangsFromCeiling() bool {
	for _, st := range j.steps {
		for _, id := range st.Joints {
			q := j.contact(id)
			if q == nil || q.Kind != assembly.Face || !j.whole.isRoom(q.A.Part) && !j.whole.isRoom(q.B.Part) {
				continue
			}
			for _, e := range []assembly.End{q.A, q.B} {
				if p := j.whole.part(e.Part); p != nil && slices.ContainsFunc(p.Ports, func(port assembly.Port) bool {
					return port.Name == e.Port && port.Out.Z > -floorFacing
				}) {
					return true
				}
			}
		}
	}
	return false
}

// ceiling draws the outline of the ceiling in dashes, for it would hide the frame.
func (sh *sheet) ceiling() {
	at := sh.stage.ceiling(sh.step.job)
	if len(at) == 0 || sh.view.Back.Z < 0 {
		return
	}
	const dash, gap, pen = 2.0, 1.2, 0.25
	lowest := pt(0, math.Inf(-1))
	for k := range at {
		a, _ := sh.sheetPoint(at[k])
		b, _ := sh.sheetPoint(at[(k+1)%len(at)])
		l := math.Hypot(b.X-a.X, b.Y-a.Y)
		for t := 0.0; t < l; t += dash + gap {
			e := min(l, t+dash)
			sh.over.line(pt(a.X+(b.X-a.X)*t/l, a.Y+(b.Y-a.Y)*t/l), pt(a.X+(b.X-a.X)*e/l, a.Y+(b.Y-a.Y)*e/l), pen, thinInk)
		}
		if a.Y > lowest.Y {
			lowest = a
		}
	}
	sh.place("", sh.step.words.Say("mark.ceiling"), lowest, thinInk)
}

// props draws what holds up a frame that hangs from walls or a ceiling until all screws are in, and what a step asks to
// be propped up while there are more groups than hands.
func (sh *sheet) props() {
	j := sh.step.job
	var under []string
	for i := range j.steps {
		under = append(under, j.steps[i].Props...)
		if sh.hangs(&j.steps[i]) {
			under = append(under, sh.ends(j.steps[i].Moves)...)
		}
	}
	for k, id := range under {
		if sh.stage.id[id] == 0 || slices.Contains(under[:k], id) {
			continue
		}
		in := sh.stage.scene.Instances[sh.stage.id[id]-1]
		b := in.Pose.Box(in.Shape.Box)
		at := b.Centre()
		at.Z = b.Min.Z
		head, _ := sh.sheetPoint(at)
		foot := pt(head.X, head.Y+propMM)
		if at.Z > 0 && j.whole.hasFloor() {
			at.Z = 0
			if p, _ := sh.sheetPoint(at); p.Y < sh.size.Y-1 {
				foot = p
			}
		}
		sh.over.prop(head, foot)
		sh.step.take(box{head.X - propBarMM/2, head.Y, head.X + propBarMM/2, foot.Y})
		if k == 0 {
			sh.place("", sh.step.words.Say("mark.prop"), pt(head.X, (head.Y+foot.Y)/2), actInk)
		}
	}
}

// prop draws a post with a head and a foot.
func (o overlay) prop(head, foot point) {
	for _, pass := range []float64{0.7, 0} {
		c := actInk
		if pass > 0 {
			c = paper
		}
		o.line(pt(head.X, head.Y+0.8), foot, propWideMM+pass, c)
		o.line(pt(head.X-propBarMM/2, head.Y+0.8), pt(head.X+propBarMM/2, head.Y+0.8), propWideMM+pass, c)
		o.line(pt(foot.X-propBarMM*0.7, foot.Y), pt(foot.X+propBarMM*0.7, foot.Y), propWideMM+pass, c)
	}
}

// hangs tells whether a step fixes a group to walls or the ceiling and nothing of it stands on the floor.
func (sh *sheet) hangs(st *assembly.Step) bool {
	if st.Action != assembly.Fasten || len(st.Moves) < 2 {
		return false
	}
	hung := false
	for _, id := range st.Joints {
		q := sh.step.job.contact(id)
		if q == nil {
			continue
		}
		if !sh.stage.isRoom(q.A.Part) && !sh.stage.isRoom(q.B.Part) {
			return false
		}
		for _, e := range []assembly.End{q.A, q.B} {
			if p := sh.stage.part(e.Part); p != nil {
				for _, port := range p.Ports {
					if port.Name == e.Port && port.Out.Z < floorFacing {
						return false
					}
				}
			}
		}
		hung = true
	}
	return hung
}

// ends names the parts at both ends of a group, along its longer level way: of those farthest out the lowest.
func (sh *sheet) ends(ids []string) []string {
	all := geom.EmptyBox()
	boxes := map[string]geom.Box{}
	for _, id := range ids {
		if i := sh.stage.id[id]; i > 0 {
			in := sh.stage.scene.Instances[i-1]
			boxes[id] = in.Pose.Box(in.Shape.Box)
			all = all.Union(boxes[id])
		}
	}
	if len(boxes) == 0 {
		return nil
	}
	axis := 0
	if s := all.Size(); s.Y > s.X {
		axis = 1
	}
	const farMM = 60
	best := [2]string{}
	for _, id := range ids {
		b, ok := boxes[id]
		if !ok {
			continue
		}
		for k, out := range [2]float64{along(b.Min, axis) - along(all.Min, axis), along(all.Max, axis) - along(b.Max, axis)} {
			if out < farMM && (best[k] == "" || b.Min.Z < boxes[best[k]].Min.Z) {
				best[k] = id
			}
		}
	}
	return best[:]
}

// centres draws how far the centre of a fitting that must point some way lies in the end from that of the fitting at the
// other end of its pipe: what is measured to choose among the stops. The parts are drawn apart, so the line is broken. A
// picture has one such dimension, for the last of them.
func (sh *sheet) centres(all []first) {
	for i := len(all) - 1; i >= 0; i-- {
		o := all[i]
		if o.joint == nil || o.step.Clock == nil || len(o.moves) == 0 || len(o.onto) == 0 || o.step.Clock.Part != o.moves[0] {
			continue
		}
		far := sh.behind(o.onto[0], o.moves[0])
		a, b := sh.stage.part(far), sh.stage.part(o.moves[0])
		if a == nil || b == nil || !isBranched(a.Kind) || !isBranched(b.Kind) {
			continue
		}
		mm := b.Pose.Origin.Sub(a.Pose.Origin).Len()
		if math.Abs(b.Pose.Origin.Sub(a.Pose.Origin).Dot(o.dir)) < mm*0.999 {
			continue // not in line
		}
		sh.centre(a.Pose.Origin.Add(sh.stage.shift(far)), b.Pose.Origin.Add(sh.stage.shift(b.ID)), mm)
		return
	}
}

// behind is the fitting at the other end of a pipe.
func (sh *sheet) behind(pipe, not string) string {
	if p := sh.stage.part(pipe); p == nil || p.Kind != standard.Pipe {
		return ""
	}
	for _, q := range sh.stage.plan.Joints {
		if q.Kind != assembly.Thread {
			continue
		}
		for _, e := range [][2]assembly.End{{q.A, q.B}, {q.B, q.A}} {
			if e[0].Part == pipe && e[1].Part != not && sh.stage.id[e[1].Part] > 0 {
				return e[1].Part
			}
		}
	}
	return ""
}

// isBranched tells fittings that turn or branch a line: those with a centre that lengths are measured to.
func isBranched(k standard.Kind) bool {
	switch k {
	case standard.Tee, standard.Elbow, standard.Cross, standard.SideElbow, standard.SideTee:
		return true
	}
	return false
}

// centre draws the dimension between two centres on the side of their line where it covers least.
func (sh *sheet) centre(from, to geom.Vec, mm float64) {
	a, _ := sh.sheetPoint(from)
	b, _ := sh.sheetPoint(to)
	l := math.Hypot(b.X-a.X, b.Y-a.Y)
	if l < 4*heightHeadMM {
		return
	}
	ux, uy := (b.X-a.X)/l, (b.Y-a.Y)/l
	text := sh.step.words.Say("mark.centres", wording.Near(units.System(sh.step.job.whole.plan.Design.Units), mm))
	w := lettering.Regular.Width(text, stepTextMM)
	var p, q, c point
	cost := math.Inf(1)
	for _, side := range []float64{1, -1} {
		for _, out := range []float64{1, 1.6, 2.2, 3, 3.8, 4.6} {
			out *= centresOut
			nx, ny := -uy*side*out, ux*side*out
			s, e := pt(a.X+nx, a.Y+ny), pt(b.X+nx, b.Y+ny)
			m := pt((s.X+e.X)/2-uy*side*(1.2+w/2*math.Abs(uy)), (s.Y+e.Y)/2+ux*side*(2.4+w/2*math.Abs(ux*uy)))
			v := out*0.25 + sh.crowd(box{m.X - w/2, m.Y - stepTextMM/2, m.X + w/2, m.Y + stepTextMM/2}) +
				3*sh.under(s, e) + 0.4*(sh.under(a, s)+sh.under(b, e))
			if v < cost && sh.isFree(m, w/2) && sh.isFree(s, 0) && sh.isFree(e, 0) {
				p, q, c, cost = s, e, m, v
			}
		}
	}
	if cost > centreMost {
		return // no room for it: the words of the cut list have the lengths
	}
	sh.extension(a, p)
	sh.extension(b, q)
	sh.over.line(p, q, heightLineMM, markInk)
	sh.over.fill(arrowHead(q, p, heightHeadMM, -heightHeadMM*0.35), markInk)
	sh.over.fill(arrowHead(p, q, heightHeadMM, -heightHeadMM*0.35), markInk)
	sh.over.broken(pt(p.X+(q.X-p.X)*0.75, p.Y+(q.Y-p.Y)*0.75), ux, uy)
	sh.label(text, c.X, c.Y, markInk)
}

// centreMost is what a dimension between centres may cover of parts and other marks, as crowd and under count it. An
// extension line begins on its part and runs over half of it.
const centreMost = 18

// isFree tells whether a place with as much to its left and right lies on the sheet, off its head.
func (sh *sheet) isFree(p point, half float64) bool {
	return p.X-half > 1 && p.X+half < sh.size.X-1 && p.Y > stepHeadMM+2 && p.Y < sh.size.Y-2
}

// under is how many millimetres of a line lie over parts or over what is written.
func (sh *sheet) under(a, b point) float64 {
	const stepMM = 0.5
	l := math.Hypot(b.X-a.X, b.Y-a.Y)
	n := 0.0
	for t := 0.0; t < l; t += stepMM {
		p := pt(a.X+(b.X-a.X)*t/l, a.Y+(b.Y-a.Y)*t/l)
		here := around(p, 0.2)
		if !math.IsInf(sh.partDepth(p), 1) || slices.ContainsFunc(sh.step.taken, func(c box) bool { return here.overlaps(c) > 0 }) {
			n += stepMM
		}
	}
	return n
}

// crowd counts what lies under a box: parts in square millimetres, and twice what is written there.
func (sh *sheet) crowd(b box) float64 {
	v := sh.covers(b)
	for _, t := range sh.step.taken {
		v += 2 * b.overlaps(t)
	}
	return v
}
