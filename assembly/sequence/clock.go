package sequence

import (
	"fmt"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// Clocking: a body that is round about the axis of its thread may stop anywhere in the window of turns. What points
// somewhere may stop once in 1/s of a turn, s being the order of its symmetry about the axis, and only if something on
// the other side of the thread points somewhere too: before that nothing tells one angle from another.
//
// A pipe hands the angle on. By the chain law the engagements on one axis, each times its hand and over its pitch, add
// up to the turns of the two end bodies against each other and change with nothing else; so between two bodies that
// point somewhere the windows of all joints add up, and the lengths go in steps of pitch / s.

// Tolerances of clocking.
const (
	// onAxis is the sine of the angle, and nearAxis the distance in mm, up to which a port lies on an axis. Ports are
	// placed to a thousandth.
	onAxis   = 1e-3
	nearAxis = 0.05
	// sameSpot is how far apart, in mm, ports of a group turned on itself may lie: cuts agree to a sixteenth of an inch,
	// and half a millimetre cannot be felt.
	sameSpot = 0.5
	// mostMatched bounds the groups whose symmetry is looked at; a larger one counts as having none, which only asks for
	// more care than is needed.
	mostMatched = 64
	// stopSlack is how many turns a window may lack for a stop by rounding.
	stopSlack = 1e-6
)

// clocker follows the steps and tells what each thread must come round to.
type clocker struct {
	f      *frame
	closed []bool // joints, by the steps so far
	class  []int
	round  map[[2]int]bool // body, joint: nothing of the body is off the joint's axis
}

func (f *frame) newClocker() *clocker {
	return &clocker{f: f, closed: make([]bool, len(f.joints)), class: classes(f.parts), round: map[[2]int]bool{}}
}

// clocks sets the Clock of every step and reports joints that cannot come round.
func (c *clocker) clocks(steps []assembly.Step) []assembly.Finding {
	var out []assembly.Finding
	ids := c.f.jointIndex()
	for i := range steps {
		s := &steps[i]
		if s.Action == assembly.Screw && len(s.Joints) == 1 {
			k := ids[s.Joints[0]]
			var window float64
			s.Clock, window = c.clock(k, s.Moves)
			if short := c.lacking(s.Clock, window); short > 0 {
				out = append(out, c.refuse(s, k, window, short))
			}
		}
		for _, id := range s.Joints {
			c.closed[ids[id]] = true
		}
	}
	return out
}

func (f *frame) jointIndex() map[string]int {
	ids := make(map[string]int, len(f.joints))
	for k := range f.joints {
		ids[f.joints[k].ID] = k
	}
	return ids
}

// clock tells what a thread must come round to when moves are turned, with the turns that all joints between the two
// bodies allow. It is nil when any angle serves.
func (c *clocker) clock(k int, moves []string) (*assembly.Clock, float64) {
	f := c.f
	j := &f.joints[k]
	if j.Turns == nil || j.PitchMM <= 0 {
		return nil, 0
	}
	mover, held := j.a, j.b
	if !slices.Contains(moves, f.parts[mover].ID) {
		mover, held = held, mover
	}
	window := j.Turns.Max - j.Turns.Min
	fixed, w := c.pointer(held, k, k)
	if fixed < 0 {
		return nil, 0
	}
	window += w
	turned, w := c.pointer(mover, k, k)
	if turned < 0 {
		return c.holes(k, mover, fixed), window
	}
	window += w
	s := lcm(c.symmetry(turned, k), c.symmetry(fixed, k))
	port, toward := f.watched(turned, j.Axis.Dir)
	return stops(j, &assembly.Clock{
		Part: f.parts[turned].ID, Port: port, Toward: toward, Against: f.parts[fixed].ID, Symmetry: s,
	}), window
}

// stops fills in what follows from the symmetry and the joint's own window.
func stops(j *joint, c *assembly.Clock) *assembly.Clock {
	s := float64(c.Symmetry)
	c.StopTurns, c.StopMM = 1/s, j.PitchMM/s
	c.Stops = int(math.Floor((j.Turns.Max-j.Turns.Min)*s + stopSlack))
	return c
}

// lacking is how many turns the window is short of holding a stop whatever the start of the threads.
func (c *clocker) lacking(k *assembly.Clock, window float64) float64 {
	if k == nil || window >= k.StopTurns-stopSlack {
		return 0
	}
	return k.StopTurns - window
}

func lcm(a, b int) int {
	x, y := a, b
	for y != 0 {
		x, y = y, x%y
	}
	return a / x * b
}

// pointer follows the axis of joint k from body on, away from joint from, over closed joints, to the first body that is
// not round about it, and adds up the turns that the joints on the way allow. It is -1 when there is none. A union's nut
// swivels until it is tightened, and hands the angle on from then on.
func (c *clocker) pointer(body, from, k int) (int, float64) {
	window := 0.0
	for n := 0; n <= len(c.f.parts); n++ {
		if !c.isRound(body, k) {
			return body, window
		}
		next := -1
		for _, x := range c.f.at[body] {
			if x != from && c.closed[x] && c.f.joints[x].Kind.IsRigid() {
				next = x
				break
			}
		}
		if next < 0 {
			return -1, window
		}
		j := &c.f.joints[next]
		if j.isScrew() && j.Turns != nil {
			window += j.Turns.Max - j.Turns.Min
		}
		body, from = j.other(body), next
	}
	return -1, window
}

// isRound tells whether nothing of a body lies off the axis of joint k.
func (c *clocker) isRound(body, k int) bool {
	key := [2]int{body, k}
	round, ok := c.round[key]
	if !ok {
		round = c.f.isRoundAbout(body, *c.f.joints[k].Axis)
		c.round[key] = round
	}
	return round
}

func (f *frame) isRoundAbout(body int, a assembly.Axis) bool {
	p := &f.parts[body]
	switch p.Kind {
	case standard.Board, standard.Cleat, standard.Room, standard.Strap:
		return false
	}
	for _, q := range p.Ports {
		if q.Out.Cross(a.Dir).Len() > onAxis || q.At.Sub(a.At).Cross(a.Dir).Len() > nearAxis {
			return false
		}
	}
	return true
}

// watched is the opening by which a body's angle about an axis is told: the last one off the axis. A board is told by
// one of its edges.
func (f *frame) watched(body int, axis geom.Vec) (string, geom.Vec) {
	p := &f.parts[body]
	for i := len(p.Ports) - 1; i >= 0; i-- {
		if p.Ports[i].Out.Cross(axis).Len() > onAxis {
			return p.Ports[i].Name, plain(p.Ports[i].Out)
		}
	}
	edge := p.Pose.X
	if math.Abs(edge.Dot(axis)) > math.Abs(p.Pose.Y.Dot(axis)) {
		edge = p.Pose.Y
	}
	return "", plain(edge)
}

// symmetry is how many turns of a body on itself about the axis of joint k leave it, and all that is joined to it so
// far, as they are.
func (c *clocker) symmetry(body, k int) int {
	f := c.f
	axis := *f.joints[k].Axis
	var group []int
	for _, n := range []int{4, 3, 2} {
		if !f.mapsOn([]int{body}, axis, n, c.class) {
			continue
		}
		if group == nil {
			group = c.group(body, k)
		}
		if len(group) <= mostMatched && f.mapsOn(group, axis, n, c.class) {
			return n
		}
	}
	return 1
}

// group lists what is rigidly joined to body so far, without going over joint k; at most one more than is matched.
func (c *clocker) group(body, k int) []int {
	seen := map[int]bool{body: true}
	out := []int{body}
	for i := 0; i < len(out) && len(out) <= mostMatched; i++ {
		for _, x := range c.f.at[out[i]] {
			j := &c.f.joints[x]
			if o := j.other(out[i]); x != k && c.closed[x] && j.Kind.IsRigid() && !seen[o] {
				seen[o] = true
				out = append(out, o)
			}
		}
	}
	return out
}

// mapsOn tells whether 1/n of a turn about an axis brings bodies on to bodies of their class, port on port.
func (f *frame) mapsOn(bodies []int, axis assembly.Axis, n int, class []int) bool {
	angle := 2 * math.Pi / float64(n)
	for _, b := range bodies {
		if class[b] < 0 || len(f.parts[b].Boxes) > 0 {
			return false // the room, or wood
		}
		if !slices.ContainsFunc(bodies, func(o int) bool { return class[o] == class[b] && f.turnsInto(b, o, axis, angle) }) {
			return false
		}
	}
	return true
}

// turnsInto tells whether the ports of b come to lie on ports of o.
func (f *frame) turnsInto(b, o int, axis assembly.Axis, angle float64) bool {
	for i, p := range f.parts[b].Ports {
		t := geom.At(p.At).Turned(axis.At, axis.Dir, angle, 0).Origin
		ok := slices.ContainsFunc(f.parts[o].Ports, func(q assembly.Port) bool {
			return q.At.Near(t, sameSpot) && f.portSize(o, q.Name) == f.portSize(b, f.parts[b].Ports[i].Name)
		})
		if !ok {
			return false
		}
	}
	return true
}

// portSize is the nominal size of a port; of parts with one size, that.
func (f *frame) portSize(body int, port string) standard.Size {
	p := &f.parts[body]
	if len(p.Size) == 0 {
		return ""
	}
	if len(p.Size) == len(p.Ports) {
		for i := range p.Ports {
			if p.Ports[i].Name == port {
				return p.Size[i]
			}
		}
	}
	return p.Size[0]
}

// holes is the clock of a flange whose face is to lie on a stud or joist: a pair of opposite holes along the timber.
// Nil when no timber runs there, or the holes make no pair.
func (c *clocker) holes(k, mover, against int) *assembly.Clock {
	f := c.f
	p := &f.parts[mover]
	n := int(math.Round(p.Dims[standard.DimHoles].MM))
	line, ok := f.timberLine(mover)
	if p.Kind != standard.Flange || n < 2 || n%2 != 0 || !ok {
		return nil
	}
	return stops(&f.joints[k], &assembly.Clock{
		Part: p.ID, Port: assembly.HolesPort, Toward: line, Against: f.parts[against].ID, Symmetry: n,
	})
}

// timberLine is the direction of the stud or joist behind a flange that is screwed to the room.
func (f *frame) timberLine(flange int) (geom.Vec, bool) {
	for _, k := range f.at[flange] {
		j := &f.joints[k]
		if j.Kind != assembly.Face || f.room < 0 || j.other(flange) != f.room {
			continue
		}
		for _, p := range f.parts[flange].Ports {
			if p.Name == j.port(flange) {
				return f.a.Room.TimberLine(p)
			}
		}
	}
	return geom.Vec{}, false
}

// refuse words a joint that cannot come round.
func (c *clocker) refuse(s *assembly.Step, k int, window, short float64) assembly.Finding {
	j := &c.f.joints[k]
	return assembly.Finding{
		Code: "CLOCK", Severity: assembly.Stop, Parts: []string{s.Clock.Part, s.Clock.Against},
		Text: fmt.Sprintf("%s must point one way and %s another, and the threads between them can be turned by %.2f turns in all: "+
			"a stop comes only every %s turn, so %.2f turns are missing; a union between the two, or an end that stays free, lets them point anywhere",
			s.Clock.Part, s.Clock.Against, window, stopWords(s.Clock.Symmetry), short),
		Values:  map[string]float64{"window_turns": window, "stop_turns": s.Clock.StopTurns, "missing_turns": short, "stop_mm": j.PitchMM / float64(s.Clock.Symmetry)},
		Repairs: []assembly.Repair{}, Source: "the chain law: on one axis, engagements over pitch add up to the turns of the ends against each other",
	}
}

func stopWords(s int) string {
	if s == 1 {
		return "whole"
	}
	return fmt.Sprintf("1/%d", s)
}

// stretch is a line of threads of a loop between two bodies that point somewhere.
type stretch struct {
	dir  geom.Vec
	step float64 // of its length, in mm; 0 when it can be set to any length
}

// quantised notes loops with a direction in which nothing can be set to any length: what the threads' starts leave over
// is then up to half a step either way.
func (c *clocker) quantised(loops []assembly.Loop) []assembly.Finding {
	for k := range c.closed {
		c.closed[k] = true
	}
	var parts []string
	worst, n := 0.0, 0
	for _, l := range loops {
		step := c.coarsest(l)
		if step == 0 {
			continue
		}
		n++
		if step > worst {
			worst, parts = step, l.Parts
		}
	}
	if n == 0 {
		return nil
	}
	which := "a ring of pipe has"
	if n > 1 {
		which = fmt.Sprintf("%d rings of pipe have", n)
	}
	return []assembly.Finding{{
		Code: "LENGTH-STEP", Severity: assembly.Note, Parts: slices.Clone(parts), Repairs: []assembly.Repair{},
		Text: fmt.Sprintf("%s sides of which the length can only be set from stop to stop, in steps of %s: opposite sides may come out "+
			"%s longer or shorter than drawn; measure one against the other before the ring is closed, and turn the shorter one to an earlier stop",
			which, c.f.length(worst), c.f.length(worst/2)),
		Values: map[string]float64{"rings_count": float64(n), "step_mm": worst, "residual_mm": worst / 2},
		Source: "the chain law: between two fittings that point somewhere, lengths go in steps of pitch / symmetry",
	}}
}

// coarsest is the greatest step of length of a loop in a direction that has nothing to set it with; 0 when every
// direction has.
func (c *clocker) coarsest(l assembly.Loop) float64 {
	lines := c.stretches(l)
	worst := 0.0
	for i, a := range lines {
		finest := a.step
		for k, b := range lines {
			if math.Abs(a.dir.Dot(b.dir)) > 1-onAxis && k != i {
				finest = math.Min(finest, b.step)
			}
		}
		worst = math.Max(worst, finest)
	}
	return worst
}

// stretches lists the lines of threads round a loop.
func (c *clocker) stretches(l assembly.Loop) []stretch {
	f := c.f
	n := len(l.Parts)
	joints := make([]int, n) // from part i to the next
	for i := range l.Parts {
		joints[i] = f.between(f.index[l.Parts[i]], f.index[l.Parts[(i+1)%n]])
		if joints[i] < 0 {
			return nil
		}
	}
	points := func(i int) bool { // whether part i is no round link between joints i-1 and i
		return !c.isRound(f.index[l.Parts[i%n]], joints[i%n])
	}
	first := 0
	for first < n && !points(first) {
		first++
	}
	var out []stretch
	for i := first; i < first+n && first < n; {
		from, free, pitch := i%n, false, 0.0
		for {
			j := &f.joints[joints[i%n]]
			free = free || j.Kind == assembly.UnionNut || j.Kind == assembly.RightLeft
			pitch = math.Max(pitch, j.PitchMM)
			i++
			if points(i) {
				break
			}
		}
		k := joints[(i-1)%n]
		s := lcm(c.symmetry(f.index[l.Parts[from]], joints[from]), c.symmetry(f.index[l.Parts[i%n]], k))
		one := stretch{dir: f.joints[k].Axis.Dir, step: pitch / float64(s)}
		if free {
			one.step = 0
		}
		out = append(out, one)
	}
	return out
}

// between is a threaded joint of two bodies, or -1.
func (f *frame) between(a, b int) int {
	for _, k := range f.at[a] {
		if f.joints[k].Kind.IsThreaded() && f.joints[k].other(a) == b {
			return k
		}
	}
	return -1
}
