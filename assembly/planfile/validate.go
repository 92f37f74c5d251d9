package planfile

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/geom"
)

// Fault is something in a plan that cannot be right.
type Fault struct {
	Path string // where: a part, joint or step
	Text string // what is wrong, in plain words
}

// String puts place and text together.
func (f Fault) String() string { return f.Path + ": " + f.Text }

// Tolerances of Validate.
const (
	// placeTolerance is how far apart, in mm, places may lie that should be one. The file keeps a millionth of a
	// millimetre; sums over long chains lose a little more.
	placeTolerance = 1e-3
	// angleTolerance is the same for directions, as the length of the difference of two unit vectors.
	angleTolerance = 1e-6
	// turnTolerance is the same for turns, against rounding at the ends of a window.
	turnTolerance = 1e-6
	// lengthTolerance is how far, in mm, lengths may differ that should be one.
	lengthTolerance = 1e-3
)

// Validate lists what contradicts itself in p, in the order of the file: ids that stand twice or name nothing,
// numbers that do not rise in order of first use or differ for interchangeable parts, ports off their part, axes off
// their ports, union seats apart, turns out of their window, and steps that do not place every part and close every
// joint just once. An empty list means that p is sound as a document.
//
// A plan with a finding of severity stop may have its steps end early.
func Validate(p assembly.Plan) []Fault {
	v := &validator{plan: p, parts: map[string]*assembly.Part{}, joints: map[string]*assembly.Joint{}}
	v.index()
	for i := range p.Parts {
		v.part(&p.Parts[i])
	}
	for i := range p.Joints {
		v.joint(&p.Joints[i])
	}
	v.interchangeable()
	v.loops()
	v.steps()
	v.numbers()
	v.effort()
	v.findings()
	return v.faults
}

type validator struct {
	plan   assembly.Plan
	parts  map[string]*assembly.Part
	joints map[string]*assembly.Joint
	faults []Fault
}

func (v *validator) fault(path, format string, args ...any) {
	v.faults = append(v.faults, Fault{path, fmt.Sprintf(format, args...)})
}

// index finds parts and joints by id.
func (v *validator) index() {
	for i := range v.plan.Parts {
		p := &v.plan.Parts[i]
		if v.parts[p.ID] != nil || p.ID == "" {
			v.fault(fmt.Sprintf("parts[%d]", i), "the id %q is empty or stands twice", p.ID)
		}
		v.parts[p.ID] = p
	}
	for i := range v.plan.Joints {
		j := &v.plan.Joints[i]
		if v.joints[j.ID] != nil || j.ID == "" {
			v.fault(fmt.Sprintf("joints[%d]", i), "the id %q is empty or stands twice", j.ID)
		}
		v.joints[j.ID] = j
	}
}

func (v *validator) part(p *assembly.Part) {
	path := "part " + p.ID
	if p.Kind == "room" {
		if p.Number != 0 || p.Solid != "" || p.ID != "room" {
			v.fault(path, "the room has the id room, and neither number nor solid")
		}
		return
	}
	if p.Kind == "pipe" {
		v.pipe(path, p)
	}
	seen := map[string]bool{}
	for _, port := range p.Ports {
		if seen[port.Name] {
			v.fault(path, "port %q stands twice", port.Name)
		}
		seen[port.Name] = true
	}
}

// pipe checks that the ports of a straight pipe are its two ends.
func (v *validator) pipe(path string, p *assembly.Part) {
	a, okA := portOf(p, "a")
	b, okB := portOf(p, "b")
	if !okA || !okB {
		v.fault(path, "a pipe has the ports a and b")
		return
	}
	if p.LengthMM <= 0 {
		v.fault(path, "a pipe has a length; this one has %v mm", p.LengthMM)
	}
	end := p.Pose.Apply(geom.V(0, 0, p.LengthMM))
	if !a.At.Near(p.Pose.Origin, lengthTolerance) || !b.At.Near(end, lengthTolerance) {
		v.fault(path, "port a lies at the pose's origin and port b %.6g mm along its z; these do not", p.LengthMM)
	}
}

func portOf(p *assembly.Part, name string) (assembly.Port, bool) {
	for _, port := range p.Ports {
		if port.Name == name {
			return port, true
		}
	}
	return assembly.Port{}, false
}

func (v *validator) joint(j *assembly.Joint) {
	path := "joint " + j.ID
	a, okA := v.end(path, "a", j.A)
	b, okB := v.end(path, "b", j.B)
	if j.A.Part == j.B.Part {
		v.fault(path, "it joins %q to itself", j.A.Part)
	}
	if j.Kind.IsThreaded() && j.Axis == nil {
		v.fault(path, "a %s joint has an axis", j.Kind)
		return
	}
	if !okA || !okB || j.Axis == nil {
		return
	}
	for _, port := range []assembly.Port{a, b} {
		if offAxis(port.At, *j.Axis) > placeTolerance {
			v.fault(path, "port %s lies %.4g mm off the axis", port.Name, offAxis(port.At, *j.Axis))
		}
	}
	if !a.Out.Near(j.Axis.Dir, angleTolerance) {
		v.fault(path, "the axis points from a to b, along port a; it does not")
	}
	if !b.Out.Near(j.Axis.Dir.Neg(), angleTolerance) {
		v.fault(path, "the ports do not face each other")
	}
	v.threads(path, j, a, b)
}

// threads checks what the figures of a threaded joint say of one another.
func (v *validator) threads(path string, j *assembly.Joint, a, b assembly.Port) {
	switch j.Kind {
	case assembly.UnionNut:
		if !a.At.Near(b.At, placeTolerance) {
			v.fault(path, "the seats of the union lie %.4g mm apart", a.At.Sub(b.At).Len())
		}
		return
	case assembly.Thread, assembly.RightLeft, assembly.LongScrew:
	default:
		return
	}
	if j.Hand != "right" && j.Hand != "left" {
		v.fault(path, "its hand is right or left, found %q", j.Hand)
	}
	if j.PitchMM <= 0 || j.EngagementMM <= 0 || j.Turns == nil {
		v.fault(path, "it wants a pitch, an engagement and a window of turns")
		return
	}
	if j.Turns.Min > j.Turns.Max || j.Turns.Min <= 0 {
		v.fault(path, "its window of turns runs from %.4g to %.4g", j.Turns.Min, j.Turns.Max)
	}
	if deep := a.At.Sub(b.At).Dot(j.Axis.Dir); math.Abs(deep-j.EngagementMM) > placeTolerance {
		v.fault(path, "its faces lie %.4g mm inside one another, its engagement is %.4g mm", deep, j.EngagementMM)
	}
}

// end finds the port of one side of a joint. The second result tells whether there is one.
func (v *validator) end(path, side string, e assembly.End) (assembly.Port, bool) {
	p := v.parts[e.Part]
	if p == nil {
		v.fault(path, "its side %s names %q, which is no part", side, e.Part)
		return assembly.Port{}, false
	}
	if e.Port == "" {
		return assembly.Port{}, false
	}
	port, ok := portOf(p, e.Port)
	if !ok {
		v.fault(path, "its side %s names port %q, which %q does not have", side, e.Port, e.Part)
	}
	return port, ok
}

// offAxis is the distance of p from the line of a.
func offAxis(p geom.Vec, a assembly.Axis) float64 { return p.Sub(a.At).Cross(a.Dir).Len() }

// interchangeable checks that parts of one number are alike, as far as the fields tell.
func (v *validator) interchangeable() {
	first := map[int]*assembly.Part{}
	files := map[string]int{}
	for i := range v.plan.Parts {
		p := &v.plan.Parts[i]
		if p.Number == 0 {
			if p.Kind != "room" && len(v.plan.Steps) > 0 && !v.stopped() {
				v.fault("part "+p.ID, "it has no number")
			}
			continue
		}
		f := first[p.Number]
		if f == nil {
			f, first[p.Number] = p, p
		}
		if f.Kind != p.Kind || f.Size.Text() != p.Size.Text() || math.Abs(f.LengthMM-p.LengthMM) > lengthTolerance {
			v.fault("part "+p.ID, "it shares number %d with %s, but is not like it", p.Number, f.ID)
		}
		if f.Half == p.Half && f.Solid != p.Solid {
			v.fault("part "+p.ID, "it shares number %d with %s, but not its solid", p.Number, f.ID)
		}
		if n, ok := files[p.Solid]; ok && n != p.Number && p.Solid != "" {
			v.fault("part "+p.ID, "its solid %s belongs to number %d", p.Solid, n)
		}
		files[p.Solid] = p.Number
	}
	v.alike()
}

// alike checks that parts that differ in nothing but their place share one number.
func (v *validator) alike() {
	first := map[string]*assembly.Part{}
	for i := range v.plan.Parts {
		p := &v.plan.Parts[i]
		if p.Number == 0 {
			continue
		}
		f := first[signature(p)]
		if f == nil {
			first[signature(p)] = p
		} else if f.Number != p.Number {
			v.fault("part "+p.ID, "it is like %s in every way, but has number %d, not %d", f.ID, p.Number, f.Number)
		}
	}
}

// signature is all that a file says of a part but its name, number, place and file.
func signature(p *assembly.Part) string {
	q := *p
	q.ID, q.Number, q.Solid, q.Pose, q.Ports, q.Override = "", 0, "", geom.Identity(), nil, nil
	var b bytes.Buffer
	printFlat(&b, partNode(q))
	return b.String()
}

func (v *validator) stopped() bool {
	return slices.ContainsFunc(v.plan.Findings, func(f assembly.Finding) bool { return f.Severity == assembly.Stop })
}

// loops counts independent cycles over threaded joints and checks how each is closed.
func (v *validator) loops() {
	closers := map[string]bool{}
	for i, l := range v.plan.Loops {
		path := fmt.Sprintf("loops[%d]", i)
		for _, id := range l.Parts {
			if v.parts[id] == nil {
				v.fault(path, "it names %q, which is no part", id)
			}
		}
		if l.ClosedBy == "" {
			if !v.stopped() {
				v.fault(path, "nothing closes it, and no finding says so")
			}
			continue
		}
		j := v.joints[l.ClosedBy]
		switch {
		case j == nil:
			v.fault(path, "it is closed by %q, which is no joint", l.ClosedBy)
		case j.Kind == assembly.Thread:
			v.fault(path, "it is closed by %q, a plain thread, which closes no loop", l.ClosedBy)
		case closers[l.ClosedBy]:
			v.fault(path, "%q closes another loop already", l.ClosedBy)
		case !slices.Contains(l.Parts, j.A.Part) || !slices.Contains(l.Parts, j.B.Part):
			v.fault(path, "%q, which closes it, does not lie on it", l.ClosedBy)
		}
		closers[l.ClosedBy] = true
	}
	if want := v.cycles(); want != len(v.plan.Loops) {
		v.fault("loops", "the threaded joints make %d independent loops, %d are listed", want, len(v.plan.Loops))
	}
}

// cycles is joints - bodies + components over threaded joints: the joints that meet two bodies already connected.
func (v *validator) cycles() int {
	groups := newGroups()
	n := 0
	for i := range v.plan.Joints {
		j := &v.plan.Joints[i]
		if j.Kind.IsThreaded() && !groups.join(j.A.Part, j.B.Part) {
			n++
		}
	}
	return n
}

// groups is a union-find over ids.
type groups map[string]string

func newGroups() groups { return groups{} }

func (g groups) root(id string) string {
	for g[id] != "" && g[id] != id {
		id = g[id]
	}
	return id
}

// join tells whether a and b were apart, and makes them one.
func (g groups) join(a, b string) bool {
	a, b = g.root(a), g.root(b)
	if a == b {
		return false
	}
	g[a] = b
	return true
}

// work is one motion of a step: the step itself or a repeat of it.
type work struct {
	path                string
	moves, onto, joints []string
	clock               *assembly.Clock
}

// stepWorks lists the step and its repeats.
func stepWorks(s assembly.Step) []work {
	path := fmt.Sprintf("step %d", s.Number)
	out := []work{{path, s.Moves, s.Onto, s.Joints, s.Clock}}
	for i, r := range s.Repeats {
		out = append(out, work{fmt.Sprintf("%s, repeat %d", path, i+1), r.Moves, r.Onto, r.Joints, r.Clock})
	}
	return out
}

// steps checks numbers, references, windows, and that each part is placed and each joint closed once.
func (v *validator) steps() {
	placed, closed := map[string]bool{}, map[string]bool{}
	for i, s := range v.plan.Steps {
		if s.Number != i+1 {
			v.fault(fmt.Sprintf("steps[%d]", i), "steps are numbered from 1 without gaps; this one is %d", s.Number)
		}
		if s.Where != "bench" && s.Where != "place" {
			v.fault(fmt.Sprintf("step %d", s.Number), "work is done on the bench or in place, found %q", s.Where)
		}
		for _, w := range stepWorks(s) {
			v.bodies(w, placed)
			v.closes(s, w, placed, closed)
			v.clock(w, w.clock)
		}
		v.alikeCopies(s)
	}
	if v.stopped() || len(v.plan.Parts) == 0 {
		return
	}
	for i := range v.plan.Parts {
		if p := &v.plan.Parts[i]; p.Kind != "room" && !placed[p.ID] {
			v.fault("part "+p.ID, "no step places it")
		}
	}
	for i := range v.plan.Joints {
		if id := v.plan.Joints[i].ID; !closed[id] {
			v.fault("joint "+id, "no step closes it")
		}
	}
}

// clock checks where a part must point: a part that moves or is carried, a line of length one square enough to the
// joint's axis to tell an angle, and stops that agree with the window.
func (v *validator) clock(w work, c *assembly.Clock) {
	if c == nil {
		return
	}
	if len(w.joints) != 1 || v.joints[w.joints[0]] == nil || v.joints[w.joints[0]].Turns == nil {
		v.fault(w.path, "it says where to stop, but closes no thread")
		return
	}
	j := v.joints[w.joints[0]]
	p := v.parts[c.Part]
	if p == nil || !slices.Contains(w.moves, c.Part) {
		v.fault(w.path, "%q, which is to point somewhere, does not move", c.Part)
		return
	}
	if _, ok := portOf(p, c.Port); !ok && c.Port != "" && c.Port != assembly.HolesPort {
		v.fault(w.path, "%q has no port %q to point anywhere", c.Part, c.Port)
	}
	if j.Axis != nil && j.Axis.Dir.Cross(c.Toward).Len() < angleTolerance {
		v.fault(w.path, "what is to point lies along the axis of %q", j.ID)
	}
	if c.Symmetry < 1 || math.Abs(c.StopTurns*float64(c.Symmetry)-1) > turnTolerance {
		v.fault(w.path, "of %d angles a turn, each is 1/%d turn from the next, not %.4g", c.Symmetry, c.Symmetry, c.StopTurns)
		return
	}
	if room := (j.Turns.Max - j.Turns.Min) * float64(c.Symmetry); float64(c.Stops) > room+turnTolerance {
		v.fault(w.path, "%d stops do not lie in a window of %.4g", c.Stops, room)
	}
}

// alikeCopies checks that a repeat does to parts of the same numbers what its step does.
func (v *validator) alikeCopies(s assembly.Step) {
	for i, r := range s.Repeats {
		path := fmt.Sprintf("step %d, repeat %d", s.Number, i+1)
		if len(r.Moves) != len(s.Moves) || len(r.Joints) != len(s.Joints) || len(r.Motion) != len(s.Motion) {
			v.fault(path, "it has other moves, joints or motions than its step")
			continue
		}
		for k, id := range r.Moves {
			a, b := v.parts[s.Moves[k]], v.parts[id]
			if a != nil && b != nil && a.Number != b.Number {
				v.fault(path, "it moves %s where its step moves %s, which has another number", id, s.Moves[k])
			}
		}
		for k, id := range r.Joints {
			a, b := v.joints[s.Joints[k]], v.joints[id]
			if a != nil && b != nil && a.Kind != b.Kind {
				v.fault(path, "it closes %s where its step closes %s, which is of another kind", id, s.Joints[k])
			}
		}
	}
}

// effort checks the estimate of the work.
func (v *validator) effort() {
	sum := 0.0
	for _, s := range v.plan.Steps {
		if !(s.Seconds >= 0) {
			v.fault(fmt.Sprintf("step %d", s.Number), "it takes %.4g seconds", s.Seconds)
		}
		sum += s.Seconds
		for _, id := range s.Props {
			if v.parts[id] == nil {
				v.fault(fmt.Sprintf("step %d", s.Number), "it props %q, which is no part", id)
			}
		}
	}
	const rounding = 0.05 // seconds a step: the file keeps tenths
	if e := v.plan.Effort; e.Seconds != 0 && math.Abs(e.Seconds-sum) > rounding*float64(1+len(v.plan.Steps)) {
		v.fault("effort", "the steps take %.1f seconds together, not %.1f", sum, e.Seconds)
	}
	for _, n := range v.plan.Effort.Hardest {
		if n < 1 || n > len(v.plan.Steps) {
			v.fault("effort", "it names step %d, which is none", n)
		}
	}
}

// bodies follows which parts are there.
func (v *validator) bodies(w work, placed map[string]bool) {
	here := map[string]bool{}
	for _, id := range w.moves {
		if v.parts[id] == nil {
			v.fault(w.path, "it moves %q, which is no part", id)
		} else if v.parts[id].Kind == "room" {
			v.fault(w.path, "it moves the room")
		}
		if here[id] {
			v.fault(w.path, "it moves %q twice", id)
		}
		here[id], placed[id] = true, true
	}
	for _, id := range w.onto {
		switch {
		case v.parts[id] == nil:
			v.fault(w.path, "it holds %q still, which is no part", id)
		case here[id]:
			v.fault(w.path, "it both moves %q and holds it still", id)
		case !placed[id] && v.parts[id].Kind != "room":
			v.fault(w.path, "it meets %q, which no earlier step has placed", id)
		}
	}
}

// closes follows which joints are closed.
func (v *validator) closes(s assembly.Step, w work, placed, closed map[string]bool) {
	for _, id := range w.joints {
		j := v.joints[id]
		if j == nil {
			v.fault(w.path, "it closes %q, which is no joint", id)
			continue
		}
		if closed[id] {
			v.fault(w.path, "it closes %q, which is closed already", id)
		}
		closed[id] = true
		for _, e := range []assembly.End{j.A, j.B} {
			if p := v.parts[e.Part]; p != nil && p.Kind != "room" && !placed[e.Part] {
				v.fault(w.path, "it closes %q, but %q is not there yet", id, e.Part)
			}
		}
		if s.Turns != 0 && j.Turns != nil && (s.Turns < j.Turns.Min-turnTolerance || s.Turns > j.Turns.Max+turnTolerance) {
			v.fault(w.path, "%.4g turns lie outside the window of %q, %.4g to %.4g", s.Turns, id, j.Turns.Min, j.Turns.Max)
		}
	}
}

// numbers checks that numbers rise by one in the order in which the steps first use them.
func (v *validator) numbers() {
	next := 1
	for _, s := range v.plan.Steps {
		for _, w := range stepWorks(s) {
			for _, id := range w.moves {
				p := v.parts[id]
				if p == nil || p.Number < next {
					continue
				}
				if p.Number > next {
					v.fault(w.path, "it is the first to use number %d (%s), but number %d has not been used", p.Number, id, next)
				}
				next = p.Number + 1
			}
		}
	}
}

// findings checks severities and the parts they name.
func (v *validator) findings() {
	for i, f := range v.plan.Findings {
		path := fmt.Sprintf("findings[%d]", i)
		if f.Severity != assembly.Stop && f.Severity != assembly.Warn && f.Severity != assembly.Note {
			v.fault(path, "its severity is stop, warn or note, found %q", f.Severity)
		}
		for _, id := range f.Parts {
			if v.parts[id] == nil && len(v.plan.Parts) > 0 {
				v.fault(path, "it names %q, which is no part", id)
			}
		}
	}
}
