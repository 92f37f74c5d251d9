package picture

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/callout"
	"turnwise/render/explode"
	"turnwise/render/lettering"
)

// actInk is the colour of what the builder does: turns, ways, where to hold. Its shapes tell it apart besides.
var actInk = render.Colour{R: 0, G: 84, B: 112}

// Sizes on the sheet of a step picture, in millimetres.
const (
	stepBalloonMM = 3.6 // radius
	stepTextMM    = 2.5
	turnWidthMM   = 0.7
	turnHeadMM    = 2.6
	leastTurnMM   = 4.2 // radius of a turn arrow
	turnRoundDeg  = 300
)

// stepMarks draws all that lies over the parts of a step picture. Of work that is done several times over in the same
// way only the first copy is marked.
func (sh *sheet) stepMarks() error {
	m := sh.step
	sh.guides(m.job.guides(sh.stage))
	sh.heads()
	if err := sh.drawColumns(); err != nil {
		return err
	}
	first := m.job.firsts()
	sh.dimensions()
	sh.ceiling()
	sh.bearings()
	for _, o := range first {
		sh.arrow(o.opened)
		for _, id := range sh.stage.fastens(o.opened) {
			if sh.isRoomy(o.opened, id) {
				sh.drawScrews(o.opened, id)
			}
		}
	}
	sh.stepBalloons()
	held := map[string]bool{}
	for _, o := range first {
		sh.say(o, held)
	}
	sh.props()
	sh.centres(first)
	return nil
}

// first is a joint that stands for itself and all others of a picture that are made in the same way.
type first struct {
	opened
	times int
}

// work is a kind of work: joints that are made in the same way are of one.
type work struct {
	action      assembly.Action
	moves, onto int
	half        string
	turns       float64
	way         [3]float64
}

// work returns the kind of work of a joint; that of one without parts on both sides has no moves.
func (j *stepJob) work(o opened) work {
	w := work{action: o.step.Action, turns: o.step.Turns}
	if len(o.moves) > 0 && len(o.onto) > 0 {
		if p := j.whole.part(o.moves[0]); p != nil {
			w.moves, w.half = p.Number, p.Half
		}
		if p := j.whole.part(o.onto[0]); p != nil {
			w.onto = p.Number
		}
		w.way = [3]float64{round(o.dir.X) + 0, round(o.dir.Y) + 0, round(o.dir.Z) + 0}
	}
	return w
}

// firsts returns of all joints of a picture the first of each kind of work, in their order, with how often it is done.
func (j *stepJob) firsts() []first {
	at := map[work]int{}
	var out []first
	for _, o := range j.joints {
		w := j.work(o)
		k, ok := at[w]
		if !ok || w.moves == 0 {
			k = len(out)
			at[w] = k
			out = append(out, first{opened: o})
		}
		out[k].times++
	}
	return out
}

// guides are the lines from mouth to mouth of what is drawn open.
func (j *stepJob) guides(s *stage) []explode.Guide {
	var out []explode.Guide
	for _, o := range j.joints {
		if !o.draws() || len(o.onto) == 0 {
			continue
		}
		if o.joint != nil {
			a, b := s.end(o.joint.A, o.joint.Axis.At), s.end(o.joint.B, o.joint.Axis.At)
			out = append(out, explode.Guide{Joint: o.joint.ID, From: a, To: b})
			continue
		}
		// A board or foot: from the middle of each thing it meets back along its way.
		shift := s.shift(o.moves[0]).Sub(s.shift(o.onto[0]))
		for _, id := range o.step.Joints {
			if q := j.contact(id); q != nil {
				at := s.contactAt(q, o.onto)
				out = append(out, explode.Guide{Joint: id, From: at, To: at.Add(shift)})
			}
		}
	}
	return out
}

func (j *stepJob) contact(id string) *assembly.Joint {
	for i := range j.whole.plan.Joints {
		if q := &j.whole.plan.Joints[i]; q.ID == id {
			return q
		}
	}
	return nil
}

// contactAt is where a contact without an axis is, on the held side: the port of either part, or the middle of a round
// one. Held names what is held; the contact lies where that is drawn.
func (s *stage) contactAt(q *assembly.Joint, held []string) geom.Vec {
	var by geom.Vec
	for _, e := range []assembly.End{q.A, q.B} {
		if slices.Contains(held, e.Part) {
			by = s.shift(e.Part)
		}
	}
	for _, e := range []assembly.End{q.B, q.A} {
		if p := s.part(e.Part); p != nil {
			for _, port := range p.Ports {
				if port.Name == e.Port {
					return port.At.Add(by)
				}
			}
		}
	}
	for _, e := range []assembly.End{q.B, q.A} {
		if i := s.id[e.Part]; i > 0 {
			in := s.scene.Instances[i-1]
			return in.Pose.Box(in.Shape.Box).Centre().Sub(s.shift(e.Part)).Add(by)
		}
	}
	return geom.Vec{}
}

// shift is how far a part is drawn from where it belongs.
func (s *stage) shift(id string) geom.Vec {
	if i := s.id[id]; i > 0 {
		return s.scene.Instances[i-1].Pose.Origin.Sub(s.parts[i-1].Pose.Origin)
	}
	return geom.Vec{}
}

// end is where a joint is on a part as it is drawn.
func (s *stage) end(e assembly.End, otherwise geom.Vec) geom.Vec {
	if p := s.part(e.Part); p != nil {
		for _, port := range p.Ports {
			if port.Name == e.Port {
				return port.At.Add(s.shift(e.Part))
			}
		}
	}
	return otherwise.Add(s.shift(e.Part))
}

// heads writes which steps these are, and where and by how many people they are done.
func (sh *sheet) heads() {
	j, w := sh.step.job, sh.step.words
	text := strconv.Itoa(j.steps[0].Number)
	if n := len(j.steps); n > 1 {
		text += "–" + strconv.Itoa(j.steps[n-1].Number)
	}
	if n := j.copies(); n > 1 {
		text += "  ×" + strconv.Itoa(n)
	}
	const base = stepEdgeMM + lettering.TitleMM
	sh.over.text(lettering.Bold, text, lettering.TitleMM, stepEdgeMM, base, markInk)
	sh.step.take(box{0, 0, StepWidthMM, stepHeadMM + 1})
	note := w.Say("mark.bench")
	if j.inPlace {
		note = w.Say("mark.place")
	}
	people := 1
	for _, s := range j.steps {
		people = max(people, s.People)
	}
	if people > 1 {
		note += " · " + w.Say("people.some", strconv.Itoa(people))
	}
	if slices.ContainsFunc(j.steps, func(s assembly.Step) bool { return s.Mirrored }) {
		note += " · " + w.Say("mark.mirrored")
	}
	if slices.ContainsFunc(j.steps, func(s assembly.Step) bool { return sh.drills(s) }) {
		note += " · " + w.Say("mark.cables")
	}
	if sh.step.isTurned() {
		note += " · " + w.Say("mark.turned")
	}
	sh.over.text(lettering.Regular, note, stepTextMM, stepEdgeMM+lettering.Bold.Width(text, lettering.TitleMM)+3, base, markInk)
	state := w.Say("mark." + j.state())
	if j.state() == "snug" && j.steps[0].Action == assembly.Adjust {
		state = w.Say("mark.flat")
	}
	left := StepWidthMM - stepEdgeMM - lettering.Regular.Width(state, stepTextMM)
	sh.over.text(lettering.Regular, state, stepTextMM, left, base, markInk)
	sh.over.tightness(j.state(), pt(left-2.6, base-stepTextMM/2))
}

// drills tells whether a step fixes something to the room.
func (sh *sheet) drills(st assembly.Step) bool {
	return slices.ContainsFunc(st.Joints, func(id string) bool {
		q := sh.step.job.contact(id)
		return q != nil && q.Kind == assembly.Face && (sh.stage.isRoom(q.A.Part) || sh.stage.isRoom(q.B.Part))
	})
}

// tightness draws the mark that says how tight joints are when a picture is done: a broken ring for loose, a whole one
// for snug, a ring with a filled middle for final. Their shapes tell them apart.
func (o overlay) tightness(state string, at point) {
	const r, pen, n = 1.5, 0.4, 40
	for k := range n {
		a, b := 2*math.Pi*float64(k)/n, 2*math.Pi*float64(k+1)/n
		if state == "loose" && k%(n/4) < n/8 {
			continue
		}
		o.line(pt(at.X+r*math.Cos(a), at.Y+r*math.Sin(a)), pt(at.X+r*math.Cos(b), at.Y+r*math.Sin(b)), pen, markInk)
	}
	if state == "final" {
		o.disc(at, r*0.55, markInk)
	}
}

// copies is how often the work of a picture is done: with what is repeated elsewhere in the same way.
func (j *stepJob) copies() int {
	n := 1
	for _, s := range j.steps {
		n = max(n, 1+len(s.Repeats))
	}
	return n
}

// state is how tight the joints of a picture are when it is done: loose where a later step turns them again or fastens
// what only stands there, snug where nothing holds but weight, final otherwise.
func (j *stepJob) state() string {
	last := j.steps[len(j.steps)-1]
	for _, s := range j.whole.plan.Steps {
		if s.Number <= last.Number || s.Action != assembly.Adjust {
			continue
		}
		for _, id := range s.Moves {
			if j.fresh[id] && j.isSmall(id) {
				return "loose"
			}
		}
	}
	switch last.Action {
	case assembly.Place, assembly.ThreadOn, assembly.StandUp:
		if len(last.Onto) == 0 && len(j.steps) > 1 {
			return "final"
		}
		return "snug"
	case assembly.Adjust:
		return "snug"
	}
	return "final"
}

// isSmall tells whether a part moved by itself in this picture.
func (j *stepJob) isSmall(id string) bool {
	for _, o := range j.joints {
		if len(o.moves) == 1 && o.moves[0] == id {
			return true
		}
	}
	return false
}

// arrow draws how what moves gets home: a turn about the joint's axis, or a straight way.
func (sh *sheet) arrow(o opened) {
	switch {
	case o.step.Action == assembly.StandUp:
		path := sh.stage.tiltPath(o)
		for len(path) > 2 && !sh.isInside(path[0]) {
			path = path[1:] // it comes from outside the sheet
		}
		sh.ribbon(path)
	case o.dir == (geom.Vec{}):
	case o.turnsDeg != 0 && o.joint != nil:
		sh.turnArrow(o)
	default:
		sh.wayArrow(o)
	}
}

// body is the box along and about an axis of what turns: how far it reaches the way it goes and back, and its radius
// near the axis.
func (sh *sheet) body(o opened) (at geom.Vec, fore, back, radius float64) {
	id := o.nut()
	at = sh.stage.end(assembly.End{Part: id, Port: o.port(id)}, o.joint.Axis.At)
	i := sh.stage.id[id]
	if i == 0 {
		return at, 0, 0, 0
	}
	in := sh.stage.scene.Instances[i-1]
	fore, back = math.Inf(-1), math.Inf(1)
	size := in.Shape.Box.Size()
	for _, v := range in.Pose.Box(in.Shape.Box).Corners() {
		d := v.Sub(at).Dot(o.dir)
		fore, back = max(fore, d), min(back, d)
	}
	return at, fore, back, min(size.X, size.Y, size.Z) / 2
}

// nut is the part that turns: the first that moves, or the half of a union that has the nut.
func (o opened) nut() string {
	if len(o.moves) > 0 {
		return o.moves[0]
	}
	return o.joint.B.Part
}

func endOf(o opened, id string) assembly.End { return assembly.End{Part: id, Port: o.port(id)} }

// key tells the joints of a picture apart.
func (o opened) key() string {
	if o.joint == nil {
		return ""
	}
	return o.joint.ID + "/" + strconv.Itoa(o.copy)
}

func (o opened) port(id string) string {
	if o.joint.A.Part == id {
		return o.joint.A.Port
	}
	return o.joint.B.Port
}

// turnCentre is the middle of a turn arrow: half-way along a pipe, or just behind a fitting.
func (sh *sheet) turnCentre(o opened) (at geom.Vec, radius float64) {
	at, _, back, near := sh.body(o)
	perMM := sh.view.PixelMM * PixelsPerMM
	p := sh.stage.part(o.nut())
	mid := back / 2
	if p != nil && p.Kind != standard.Pipe && len(o.moves) > 0 {
		mid = back - 1.2*perMM
	}
	if len(o.moves) == 0 {
		mid = 0
	} else if sh.isInset {
		mid = max(back/2, -insetTurnMM*perMM)
	}
	return at.Add(o.dir.Mul(mid)), max(near*1.5, leastTurnMM*perMM)
}

// insetTurnMM is how far behind its end a pipe's turn arrow stands in an inset.
const insetTurnMM = 7

// turnArrow draws an arc of most of a turn in the plane of the turn, its gap on the side away from the eye, and an
// arrow head at its end. The sense is that of the motion.
func (sh *sheet) turnArrow(o opened) {
	centre, r := sh.turnCentre(o)
	u := sh.view.Back.Sub(o.dir.Mul(sh.view.Back.Dot(o.dir)))
	if u.Len() < 1e-6 {
		u = o.dir.Across()
	}
	u = u.Unit().Neg() // away from the eye: where the gap is
	v := o.dir.Cross(u)
	sense := 1.0
	if o.turnsDeg < 0 {
		sense = -1
	}
	const n = 72
	var path []geom.Vec
	for i := range n + 1 {
		deg := (360-turnRoundDeg)/2 + turnRoundDeg*float64(i)/n
		s, c := math.Sincos(deg * math.Pi / 180 * sense)
		path = append(path, centre.Add(u.Mul(c*r)).Add(v.Mul(s*r)))
	}
	sh.ribbon(path)
}

// tiltPath is the way of a point high on a frame that is stood up, up to a little short of its end: nothing for other
// steps.
func (s *stage) tiltPath(o opened) []geom.Vec {
	const high, fromDeg, toDeg, n = 0.75, 65, 10, 24
	if o.tilt.ByDeg == 0 {
		return nil
	}
	axis := o.tilt.Axis
	top := s.built.Centre()
	top.Z = s.built.Min.Z + high*s.built.Size().Z
	foot := axis.At.Add(axis.Dir.Mul(top.Sub(axis.At).Dot(axis.Dir)))
	back := math.Copysign(math.Pi/180, o.tilt.ByDeg)
	var path []geom.Vec
	for i := range n + 1 {
		deg := fromDeg + (toDeg-fromDeg)*float64(i)/n
		path = append(path, foot.Add(geom.Identity().Turned(geom.Vec{}, axis.Dir, -deg*back, 0).Rotate(top.Sub(foot))))
	}
	return path
}

// isInside tells whether a place in space falls well inside the sheet.
func (sh *sheet) isInside(v geom.Vec) bool {
	const edge = 4
	p, _ := sh.sheetPoint(v)
	return p.X > edge && p.X < sh.size.X-edge && p.Y > stepHeadMM+edge && p.Y < sh.size.Y-edge
}

// wayArrow draws a straight arrow beside what moves, the way it goes.
func (sh *sheet) wayArrow(o opened) {
	if len(o.moves) == 0 {
		return
	}
	perMM := sh.view.PixelMM * PixelsPerMM
	b := geom.EmptyBox()
	for _, id := range o.moves {
		if i := sh.stage.id[id]; i > 0 {
			in := sh.stage.scene.Instances[i-1]
			b = b.Union(in.Pose.Box(in.Shape.Box))
		}
	}
	if b.IsEmpty() {
		return
	}
	const longMM = 9
	long := longMM * perMM / max(leastForeshortening, sh.view.Foreshortening(o.dir))
	if len(o.moves) > 1 {
		// A whole group goes home: show it at something that is fastened, or at one that comes to stand on something.
		if id := sh.landing(o); id != "" {
			in := sh.stage.scene.Instances[sh.stage.id[id]-1]
			b = in.Pose.Box(in.Shape.Box)
		}
	}
	mid := b.Centre()
	half := 0.0
	for _, c := range b.Corners() {
		half = max(half, c.Sub(mid).Dot(o.dir))
	}
	from := mid.Sub(o.dir.Mul(half + 2*perMM + long))
	sh.ribbon([]geom.Vec{from, from.Add(o.dir.Mul(long))})
}

// landing is the part of a group at which the arrow stands: what is fastened, or the first of it that meets something.
func (sh *sheet) landing(o opened) string {
	j := sh.step.job
	if id := j.workedOn(o, sight{}); id != "" && o.step.Action == assembly.Fasten {
		return id
	}
	for _, id := range o.step.Joints {
		q := j.contact(id)
		if q == nil {
			continue
		}
		for _, e := range []assembly.End{q.A, q.B} {
			if slices.Contains(o.moves, e.Part) && sh.stage.id[e.Part] > 0 && !j.isWood(e.Part) {
				return e.Part
			}
		}
	}
	return ""
}

// ribbon draws a line in space with an arrow head at its end, in front of everything or, where parts lie before it, not
// at all.
func (sh *sheet) ribbon(path []geom.Vec) {
	var seen [][2]point
	const slackMM = 1
	for i := 1; i < len(path); i++ {
		a, da := sh.sheetPoint(path[i-1])
		b, db := sh.sheetPoint(path[i])
		if mid := pt((a.X+b.X)/2, (a.Y+b.Y)/2); len(path) > 2 && (da+db)/2 > sh.partDepth(mid)+slackMM {
			continue
		}
		seen = append(seen, [2]point{a, b})
		sh.step.take(box{min(a.X, b.X) - 0.5, min(a.Y, b.Y) - 0.5, max(a.X, b.X) + 0.5, max(a.Y, b.Y) + 0.5})
	}
	n := len(path) - 1
	if n < 1 {
		return
	}
	tip, _ := sh.sheetPoint(path[n])
	// The head takes its direction from the last stretch that is as long as itself.
	k := n - 1
	back, _ := sh.sheetPoint(path[k])
	for k > 0 && math.Hypot(tip.X-back.X, tip.Y-back.Y) < turnHeadMM {
		k--
		back, _ = sh.sheetPoint(path[k])
	}
	sh.over.ribbon(seen, back, tip)
	sh.step.take(box{tip.X - 1.5, tip.Y - 1.5, tip.X + 1.5, tip.Y + 1.5})
}

// ribbon draws pieces of a line with white on both sides, and an arrow head at tip that comes from back.
func (o overlay) ribbon(pieces [][2]point, back, tip point) {
	for _, p := range pieces {
		o.line(p[0], p[1], turnWidthMM+0.7, paper)
	}
	o.fill(arrowHead(back, tip, turnHeadMM+0.7, 0.35), paper)
	for _, p := range pieces {
		o.line(p[0], p[1], turnWidthMM, actInk)
		o.disc(p[1], turnWidthMM/2, actInk)
	}
	o.fill(arrowHead(back, tip, turnHeadMM, 0), actInk)
}

// arrowHead is a head as long as given that ends a little past tip, coming from a point.
func arrowHead(from, tip point, long, past float64) lettering.Outline {
	l := math.Hypot(tip.X-from.X, tip.Y-from.Y)
	if l == 0 {
		return nil
	}
	ux, uy := (tip.X-from.X)/l, (tip.Y-from.Y)/l
	end := pt(tip.X+ux*(past+long*0.35), tip.Y+uy*(past+long*0.35))
	x, y, h := end.X-ux*long, end.Y-uy*long, long*0.42
	return polygon(end, pt(x-uy*h, y+ux*h), pt(x+uy*h, y-ux*h))
}

// partDepth is the depth at a place on the sheet, floor and walls left out.
func (sh *sheet) partDepth(p point) float64 {
	i, ok := sh.buffer(p)
	if !ok {
		return math.Inf(1)
	}
	if id := sh.buffers.ID(i); id == 0 || id > len(sh.stage.parts) {
		return math.Inf(1)
	}
	return float64(sh.buffers.Depth[i])
}

// isWritten tells whether a balloon at a place would lie on something that balloons keep off.
func (m *stepMarks) isWritten(at point) bool {
	const r = stepBalloonMM + 0.5
	return slices.ContainsFunc(m.written, func(b box) bool { return b.overlaps(box{at.X - r, at.Y - r, at.X + r, at.Y + r}) > 0 })
}

// write keeps labels and balloons off a place.
func (m *stepMarks) write(b box) {
	m.take(b)
	m.written = append(m.written, b)
}

func (m *stepMarks) take(b box) { m.taken = append(m.taken, b) }

// stepBalloons places one balloon for every number that the picture adds, with how many there are and, for pipes, how
// long they are.
func (sh *sheet) stepBalloons() {
	j := sh.step.job
	stride := 2
	sh.regions = callout.Measure(sh.buffers, len(sh.stage.parts), stride)
	count, anchors := map[int]int{}, map[int][]callout.Anchor{}
	first := map[int]assembly.Part{}
	var order []int
	for i, p := range sh.stage.parts {
		if !sh.marksBalloon(p) {
			continue
		}
		if _, ok := first[p.Number]; !ok {
			first[p.Number] = p
			order = append(order, p.Number)
		}
		if p.Half != "b" || count[p.Number] == 0 {
			count[p.Number]++
		}
		for _, a := range sh.anchors(i + 1) {
			if a.Inside > 0 {
				anchors[p.Number] = append(anchors[p.Number], a)
			}
		}
	}
	sh.numbers = order
	var marks []callout.Mark
	u := units.System(j.whole.plan.Design.Units)
	for _, n := range order {
		m := callout.Mark{Text: strconv.Itoa(n), Anchors: anchors[n]}
		if count[n] > 1 {
			m.Note = fmt.Sprintf("×%d", count[n])
		}
		if p := first[n]; p.Kind == standard.Pipe {
			if m.Note != "" {
				m.Note += "  "
			}
			m.Note += wording.Near(u, p.LengthMM)
		}
		marks = append(marks, m)
	}
	x0, y0, x1, y1 := sh.partsDrawn()
	d := clearMM + stepBalloonMM
	f := j.frame(sh.step.columns)
	l := callout.Layout{MinX: max(f.Left-stepRingMM+stepBalloonMM+1, x0-d), MinY: max(stepHeadMM+stepBalloonMM+4, y0-d),
		MaxX: min(f.Right+stepRingMM-stepBalloonMM-1, x1+d), MaxY: min(StepHeightMM-stepBalloonMM-5, y1+d),
		Radius: stepBalloonMM, Pitch: stepPitchMM, Over: sh.foreign, Taken: sh.step.isWritten}
	if m := sh.step.measured; m.x1 > m.x0 {
		keep := stepBalloonMM + 1.0
		l.MinX, l.MinY = min(l.MinX, max(stepBalloonMM+1, m.x0-keep)), min(l.MinY, max(stepHeadMM+stepBalloonMM+1, m.y0-keep))
		l.MaxX, l.MaxY = max(l.MaxX, min(f.Right+stepRingMM-stepBalloonMM-1, m.x1+keep)), max(l.MaxY, min(StepHeightMM-stepBalloonMM-5, m.y1+keep))
	}
	sh.radius = stepBalloonMM
	place := func(stood standing) {
		for i, n := range order {
			marks[i].Was, marks[i].Stood = stood[n]
		}
		sh.marked = callout.Place(marks, l)
		for _, b := range sh.marked {
			stood[order[b.Mark]] = b.Side
		}
	}
	if j.stood == nil {
		place(standing{})
	} else {
		j.handOver(place)
	}
	for _, b := range sh.marked {
		sh.leader(b)
		sh.step.leader(b)
	}
	for _, b := range sh.marked {
		sh.stepBalloon(marks[b.Mark], b)
	}
}

// stepPitchMM is the distance of balloons, wide enough for a length between two.
const stepPitchMM = 15

// marksBalloon tells whether a part gets a balloon: it is added here, or, where nothing is, it is what is worked on.
func (sh *sheet) marksBalloon(p assembly.Part) bool {
	j := sh.step.job
	if p.Number == 0 {
		return false
	}
	if len(j.adds) > 0 {
		return j.adds[p.ID]
	}
	return j.counts(p.ID)
}

// partsDrawn returns the rectangle on the sheet that parts are drawn in.
func (sh *sheet) partsDrawn() (x0, y0, x1, y1 float64) {
	b := sh.stage.scene.Bounds(sh.view.Camera, nil)
	at := func(r, u float64) point {
		v := sh.view
		return pt((float64(v.Width)/2+(r-v.MidRight)/v.PixelMM)/PixelsPerMM, (float64(v.Height)/2-(u-v.MidUp)/v.PixelMM)/PixelsPerMM)
	}
	p, q := at(b.Min.X, b.Max.Y), at(b.Max.X, b.Min.Y)
	return p.X, p.Y, q.X, q.Y
}

// leader keeps labels off a leader.
func (m *stepMarks) leader(b callout.Balloon) { m.line(b.Start, b.End.At) }

// line keeps labels off a line.
func (m *stepMarks) line(from, to point) {
	const steps = 24
	for i := range steps + 1 {
		t := float64(i) / steps
		x, y := from.X+(to.X-from.X)*t, from.Y+(to.Y-from.Y)*t
		m.take(box{x - 0.4, y - 0.4, x + 0.4, y + 0.4})
	}
}

// stepBalloon draws a balloon with its note under it, or over it at the top.
func (sh *sheet) stepBalloon(m callout.Mark, b callout.Balloon) {
	plain := m
	plain.Note = ""
	sh.balloon(plain, b, stepBalloonMM)
	r := stepBalloonMM
	sh.step.take(box{b.Centre.X - r, b.Centre.Y - r, b.Centre.X + r, b.Centre.Y + r})
	if m.Note == "" {
		return
	}
	w := lettering.Regular.Width(m.Note, stepTextMM)
	best, cost := b.Centre, math.Inf(1)
	for k, at := range []point{{X: 0, Y: 1}, {X: 0, Y: -1}, {X: -1, Y: 0}, {X: 1, Y: 0}} {
		p := pt(b.Centre.X+at.X*(r+1+w/2), b.Centre.Y+at.Y*(r+1+stepTextMM/2))
		p.X = max(stepEdgeMM+w/2, min(sh.size.X-stepEdgeMM-w/2, p.X))
		c := box{p.X - w/2 - 0.4, p.Y - stepTextMM/2 - 0.5, p.X + w/2 + 0.4, p.Y + stepTextMM/2 + 0.5}
		v := 0.5*float64(k) + 3*sh.covers(c)
		for _, t := range sh.step.taken {
			v += 8 * c.overlaps(t)
		}
		if v < cost {
			best, cost = p, v
		}
	}
	sh.label(m.Note, best.X, best.Y, markInk)
}

// label writes text on a pale ground, its middle at a place, and keeps that place.
func (sh *sheet) label(text string, x, y float64, c render.Colour) {
	w := lettering.Regular.Width(text, stepTextMM)
	b := box{x - w/2 - 0.4, y - stepTextMM/2 - 0.5, x + w/2 + 0.4, y + stepTextMM/2 + 0.5}
	sh.over.rect(b.x0, b.y0, b.x1, b.y1, paper)
	sh.over.centred(lettering.Regular, text, stepTextMM, x, y, c)
	sh.step.take(b)
}

// say writes how far to turn beside a turn arrow and marks what to hold.
func (sh *sheet) say(o first, held map[string]bool) {
	if o.joint == nil || o.turnsDeg == 0 {
		return
	}
	w := sh.step.words
	centre, _ := sh.turnCentre(o.opened)
	at, _ := sh.sheetPoint(centre)
	text := w.Say("mark.nut")
	if o.step.Turns > 0 {
		text = wording.TurnsMark(*o.step, *o.joint)
	}
	tag := ""
	switch {
	case o.times > 1:
		text = w.Say("mark.each", text)
	case len(sh.step.job.steps) > 1:
		tag = strconv.Itoa(o.step.Number)
	}
	sh.place(tag, text, at, actInk)
	for _, id := range o.held() {
		if !held[id] {
			held[id] = true
			sh.hold(o.opened, id)
		}
	}
}

// held names what is held still: what is screwed onto, or the pipes behind a union.
func (o opened) held() []string {
	if len(o.moves) == 0 {
		return []string{o.joint.A.Part}
	}
	if len(o.onto) > 0 {
		return o.onto[:1]
	}
	return nil
}

// hold marks a part to be held: two jaws on either side of it, and the word.
func (sh *sheet) hold(o opened, id string) {
	i := sh.stage.id[id]
	if i == 0 {
		return
	}
	if sh.step.job.adds[id] && len(sh.step.job.steps) > 1 {
		return // it is being built up in this very picture: the first thing held is enough
	}
	sh.place("", sh.step.words.Say("mark.hold"), sh.jaws(o, id), actInk)
}

// jaws draws two jaws on either side of what is held, and returns the place between them.
func (sh *sheet) jaws(o opened, id string) point {
	i := sh.stage.id[id]
	if i == 0 {
		return point{}
	}
	mouth := sh.stage.end(assembly.End{Part: id, Port: o.port(id)}, o.joint.Axis.At)
	in := sh.stage.scene.Instances[i-1]
	size := in.Shape.Box.Size()
	half := min(size.X, size.Y, size.Z) / 2
	into := sh.into(o, id)
	mid := mouth.Add(into.Mul(max(half, gripMM)))
	if p := sh.stage.parts[i-1]; p.Kind == standard.Flange {
		mid = mouth.Add(into.Mul(half)) // by the rim of its plate
		half = max(size.X, size.Y, size.Z) / 2
	}
	a, _ := sh.sheetPoint(mid)
	b, _ := sh.sheetPoint(mid.Add(into.Mul(10)))
	l := math.Hypot(b.X-a.X, b.Y-a.Y)
	if l == 0 {
		return a
	}
	ux, uy := (b.X-a.X)/l, (b.Y-a.Y)/l
	r := half*1.25/(sh.view.PixelMM*PixelsPerMM) + 0.8
	sh.step.take(sh.over.jaws(a, ux, uy, r))
	return a
}

// jaws draws two jaws at a distance r to both sides of a place; ux, uy is the unit vector along what they hold. It
// returns what they cover.
func (o overlay) jaws(a point, ux, uy, r float64) box {
	const jawMM, thickMM, stemMM = 3.2, 0.9, 1.6
	for _, s := range []float64{-1, 1} {
		x, y := a.X-uy*r*s, a.Y+ux*r*s
		p, q := pt(x-ux*jawMM/2, y-uy*jawMM/2), pt(x+ux*jawMM/2, y+uy*jawMM/2)
		out := pt(x-uy*stemMM*s, y+ux*stemMM*s)
		for _, pass := range []struct {
			grow float64
			c    render.Colour
		}{{0.7, paper}, {0, actInk}} {
			o.line(p, q, thickMM+pass.grow, pass.c)
			o.line(pt(x, y), out, thickMM+pass.grow, pass.c)
		}
	}
	w, h := math.Abs(uy)*(r+1)+math.Abs(ux)*2.6, math.Abs(ux)*(r+1)+math.Abs(uy)*2.6
	return box{a.X - w, a.Y - h, a.X + w, a.Y + h}
}

// into is the way into a held part from the mouth at which it is joined.
func (sh *sheet) into(o opened, id string) geom.Vec {
	if p := sh.stage.part(id); p != nil {
		for _, q := range p.Ports {
			if q.Name == o.port(id) && q.Out != (geom.Vec{}) {
				return q.Out.Neg()
			}
		}
	}
	return o.dir
}

// gripMM is how far from its mouth a pipe is held.
const gripMM = 25

// place writes a label near a place where it covers least: parts and what is written already count alike. With a tag,
// the number of its step stands before it in a dark box.
func (sh *sheet) place(tag, text string, at point, c render.Colour) {
	tagW := tagWidth(tag)
	w := tagW + lettering.Regular.Width(text, stepTextMM) + 1
	const h = stepTextMM + 1.4
	best, cost := at, math.Inf(1)
	for ring := range 8 {
		r := 4.5 + 1.8*float64(ring)
		for k := range 24 {
			s, co := math.Sincos(float64(k) * 2 * math.Pi / 24)
			p := pt(at.X+co*(r+w/2), at.Y+s*(r+h/2-1))
			b := box{p.X - w/2, p.Y - h/2, p.X + w/2, p.Y + h/2}
			if b.x0 < 1 || b.y0 < 1 || b.x1 > sh.size.X-1 || b.y1 > sh.size.Y-1 {
				continue
			}
			v := r*0.4 + 3*sh.covers(b)
			for _, t := range sh.step.taken {
				v += 8 * b.overlaps(t)
			}
			if v < cost {
				best, cost = p, v
			}
		}
	}
	sh.label(text, best.X+tagW/2, best.Y, c)
	if tag != "" {
		x0, y := best.X-w/2, best.Y
		sh.over.rect(x0, y-h/2, x0+tagW-0.8, y+h/2, c)
		sh.over.centred(lettering.Bold, tag, stepTextMM*0.9, x0+(tagW-0.8)/2, y, paper)
		sh.step.take(box{x0, y - h/2, x0 + tagW, y + h/2})
	}
}

func tagWidth(tag string) float64 {
	if tag == "" {
		return 0
	}
	return lettering.Bold.Width(tag, stepTextMM*0.9) + 2.2
}

// covers returns how many square millimetres of parts lie under a box.
func (sh *sheet) covers(b box) float64 {
	const stepMM = 0.5
	n := 0
	for y := b.y0; y <= b.y1; y += stepMM {
		for x := b.x0; x <= b.x1; x += stepMM {
			if i, ok := sh.buffer(pt(x, y)); ok {
				if id := sh.buffers.ID(i); id > 0 && id <= len(sh.stage.parts) {
					n++
				}
			}
		}
	}
	return float64(n) * stepMM * stepMM
}

// dial is a clock face that shows which way the branches of a part point in the end.
type dial struct {
	number   int
	axis     geom.Vec // the way the part goes as it is screwed on: the builder looks along it
	branches []geom.Vec
	step     int  // the first that it is for
	holes    bool // a pair of screw holes lies that way
}

func (d dial) same(e dial) bool {
	if d.number != e.number || d.holes != e.holes || !d.axis.Near(e.axis, 1e-3) || len(d.branches) != len(e.branches) {
		return false
	}
	for i := range d.branches {
		if !d.branches[i].Near(e.branches[i], 1e-2) {
			return false
		}
	}
	return true
}

// face returns the directions to the right and up on the dial, as somebody sees them who looks along the axis from
// behind the part, and what lies at its top: up, or the back of the room where the axis is upright.
func (d dial) face() (right, up geom.Vec, top string) {
	top, up = "dial.up", geom.AxisZ
	if math.Abs(d.axis.Dot(geom.AxisZ)) > 0.9 {
		top, up = "dial.back", geom.AxisY
	}
	up = up.Sub(d.axis.Mul(up.Dot(d.axis))).Unit()
	return d.axis.Cross(up), up, top
}

// seenFrom says from which side somebody looks along a direction: from above, below, the left...
func seenFrom(d geom.Vec) string {
	switch x, y, z := math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z); {
	case z >= x && z >= y:
		return [2]string{"above", "below"}[sign01(d.Z)]
	case x >= y:
		return [2]string{"right", "left"}[sign01(d.X)]
	default:
		return [2]string{"back", "front"}[sign01(d.Y)]
	}
}

// eyeFrom says from which side a camera looks: from below, where it does, or else from which side of the room.
func eyeFrom(c render.Camera) string {
	const under, over = -0.2, 0.8 // height of the eye, as a share of its distance
	if c.Back.Z < under {
		return "below"
	}
	if c.Back.Z > over {
		return "above"
	}
	return seenFrom(geom.V(-c.Back.X, -c.Back.Y, 0))
}

func sign01(v float64) int {
	if v > 0 {
		return 1
	}
	return 0
}
