package wording

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// wideSwingMM is the swing radius from which a step asks for room: beyond arm's reach of the joint.
const wideSwingMM = 300

// liftKG is what one person lifts at most under the best conditions: the load constant of the revised lifting equation
// of the United States institute for occupational safety (Waters and others, Ergonomics 36, 1993), 51 lb.
const liftKG = 23

// Words that are said when their matter first comes up, and not on every step after it.
type told struct {
	screwed bool // which way round, and what to hold
	drilled bool // cables and pipes
	begun   bool // the first group of parts
	opens   bool // a joint that comes apart again

	stops map[int]bool // how often something comes round, by its symmetry
}

// Steps says in sentences what to do in each step, in order. What holds for many steps is said at the first of them.
func (b *Book) Steps(steps []assembly.Step) []string {
	t := told{stops: map[int]bool{}}
	texts := make([]string, len(steps))
	for i, s := range steps {
		texts[i] = b.step(s, &t)
	}
	return texts
}

// Step says in sentences what to do in a step: what moves, onto what, how many turns, where it must point in the end,
// what to hold, and how often. It needs the step's action, bodies, joints, turns, motion and people, not its text.
func (b *Book) Step(s assembly.Step) string { return b.step(s, &told{stops: map[int]bool{}}) }

func (b *Book) step(s assembly.Step, t *told) string {
	lines := b.action(s)
	if len(lines) == 0 { // joints that are not in the plan
		lines = []string{say("step.fasten-plain", b.theAll(s.Moves))}
	}
	if what := b.beginning(s); what != "" {
		if t.begun {
			lines = []string{say("step.another", what)}
		}
		t.begun = true
	}
	if s.Action == assembly.Screw && len(s.Joints) == 1 {
		lines = append(lines, b.screwing(s, t)...)
	}
	if b.opensAgain(s) && !t.opens {
		t.opens = true
		lines = append(lines, say("step.opens"))
	}
	if s.Action == assembly.Fasten && !t.drilled && b.drills(s) {
		t.drilled = true
		lines = append([]string{say("step.cables")}, lines...)
	}
	lines = append(lines, b.lifting(s)...)
	if len(s.Repeats) > 0 {
		lines = append(lines, b.repeats(s)...)
	}
	return strings.Join(lines, ". ") + "."
}

// screwing adds to the first screw which way round and what to hold, and to wide ones the room they need.
func (b *Book) screwing(s assembly.Step, t *told) []string {
	var lines []string
	if j := b.joints[s.Joints[0]]; j != nil {
		switch {
		case j.Hand == "left":
			lines = append(lines, say("step.left-hand"))
		case !t.screwed:
			t.screwed = true
			lines = append(lines, say("step.clockwise"))
		}
	}
	if words := stopHint(s.Clock); words != "" && !t.stops[s.Clock.Symmetry] {
		t.stops[s.Clock.Symmetry] = true
		lines = append(lines, words)
	}
	if s.SwingRadiusMM > wideSwingMM {
		lines = append(lines, say("step.clear", b.clear(s.SwingRadiusMM)))
	}
	return lines
}

// stopHint says how often something comes round to where it must point. Sealed threads are never backed off to line up;
// the program keeps to that for dry ones.
func stopHint(c *assembly.Clock) string {
	switch {
	case c == nil:
		return ""
	case c.Symmetry == 1:
		return say("step.comes-once")
	case c.Symmetry == 2:
		return say("step.comes-twice")
	}
	return say("step.comes-often", strconv.Itoa(c.Symmetry))
}

// opensAgain tells whether a step closes a joint, between lengths of pipe, that is made to be opened again.
func (b *Book) opensAgain(s assembly.Step) bool {
	for _, id := range s.Joints {
		if j := b.joints[id]; j != nil && j.Kind.IsThreaded() && j.Kind.Reopens() {
			return true
		}
	}
	return false
}

// clear is a length rounded up to whole inches or centimetres: room to keep free.
func (b *Book) clear(mm float64) string {
	step := units.Inch.MM()
	if b.units == units.MetricSystem {
		step = units.Centimetre.MM()
	}
	return Near(b.units, math.Ceil(mm/step-1e-9)*step)
}

// drills tells whether a step fixes something to the room.
func (b *Book) drills(s assembly.Step) bool {
	for _, id := range s.Joints {
		if j := b.joints[id]; j != nil && j.Kind == assembly.Face && (b.isRoom(j.A.Part) || b.isRoom(j.B.Part)) {
			return true
		}
	}
	return false
}

func (b *Book) isRoom(id string) bool {
	p := b.parts[id]
	return p != nil && p.Kind == standard.Room
}

// mass is what bodies weigh together, in kg.
func (b *Book) mass(ids []string) float64 {
	sum := 0.0
	for _, id := range ids {
		if p := b.parts[id]; p != nil {
			sum += p.MassKG
		}
	}
	return sum
}

// lifting says who lifts, and what holds it up there.
func (b *Book) lifting(s assembly.Step) []string {
	var lines []string
	if s.People > 1 {
		lines = append(lines, say("step.takes", people(s.People)))
	} else if b.mass(s.Moves) > liftKG {
		lines = append(lines, say("step.heavy"))
	}
	if len(s.Props) > 0 {
		lines = append(lines, say("step.prop-up", b.theAll(s.Props)))
	}
	if b.hangs(s) {
		lines = append(lines, say("step.prop-it"))
	}
	return lines
}

// hangs tells whether a step fixes a group to walls or the ceiling and nothing of it stands on the floor.
func (b *Book) hangs(s assembly.Step) bool {
	if s.Action != assembly.Fasten || len(s.Moves) < 2 {
		return false
	}
	isHung := false
	for _, id := range s.Joints {
		j := b.joints[id]
		if j == nil {
			continue
		}
		_, base, _ := b.fixedTo(j)
		if !b.isRoom(base) || b.onFloor(j) {
			return false
		}
		isHung = true
	}
	return isHung
}

// onFloor tells whether a face joint lies on the floor of the room.
func (b *Book) onFloor(j *assembly.Joint) bool {
	fixed, base, port := b.fixedTo(j)
	return b.base(fixed, base, port) == say("place.the", say("place.floor"))
}

func people(n int) string {
	if n == 2 {
		return say("step.people-two")
	}
	return say("step.people", strconv.Itoa(n))
}

// repeats says how often, with which parts, and what is different: "Do the same 3 more times (x 4): leg-2 on side.2;
// ...".
func (b *Book) repeats(s assembly.Step) []string {
	words := say("step.again-once")
	if n := len(s.Repeats); n > 1 {
		words = say("step.again", strconv.Itoa(n), strconv.Itoa(n+1))
	}
	var clauses []string
	for _, r := range s.Repeats {
		if c := b.copyWords(s, r); c != "" {
			clauses = append(clauses, c)
		}
	}
	if len(clauses) > 0 {
		words = say("step.again-with", words, strings.Join(clauses, "; "))
	}
	lines := []string{words}
	if s.Mirrored && s.Clock != nil { // what points nowhere is neither left nor right
		lines = append(lines, say("step.mirrored"))
	}
	return lines
}

// copyWords says what one more copy is made of, where that differs: the part by its place, what it goes on, and which
// way it points.
func (b *Book) copyWords(s assembly.Step, r assembly.Repeat) string {
	var words []string
	if len(r.Moves) > 0 {
		words = append(words, b.spot(r.Moves[0]))
	}
	if len(r.Onto) == 1 && len(s.Onto) == 1 && r.Onto[0] != s.Onto[0] {
		words = append(words, say("step.copy-on", b.spot(r.Onto[0])))
	}
	if s.Clock != nil && r.Clock != nil && !b.pointAlike(s, r) {
		words = append(words, say("step.copy-until", b.stop(r.Clock, r.Moves, r.Joints)))
	}
	return strings.Join(words, " ")
}

// spot is the place of a part in the design, which tells it from others of its number.
func (b *Book) spot(id string) string {
	if where := b.which(id, ""); where != "" {
		return where
	}
	return b.short(id)
}

func (b *Book) action(s assembly.Step) []string {
	switch s.Action {
	case assembly.Screw:
		return b.screw(s)
	case assembly.JoinUnion:
		return b.joinUnion(s)
	case assembly.Fasten:
		return b.fasten(s)
	case assembly.PutStrap:
		return b.strap(s)
	case assembly.ThreadOn:
		return b.threadOn(s)
	case assembly.StandUp:
		return []string{say("step.stand-up", b.group(s.Moves)), say("step.lift-posts")}
	case assembly.Adjust:
		return b.adjust(s)
	}
	return b.place(s)
}

// screw words the three kinds of steps that close threads.
func (b *Book) screw(s assembly.Step) []string {
	if len(s.Joints) == 2 {
		return b.pair(s)
	}
	if len(s.Joints) == 0 {
		return []string{say("step.run-back", b.theAll(s.Moves), b.othersOr(s, "step.long-thread"))}
	}
	j := b.joints[s.Joints[0]]
	if j == nil {
		return []string{say("step.screw-plain", b.theAll(s.Moves))}
	}
	mover, held := b.sides(s, j)
	what := b.fresh(mover)
	if n := len(s.Moves); n > 1 {
		what = say("step.with-parts", b.short(mover), others(n-1), b.weight(s.Moves))
	}
	return []string{say(b.intoOrOnto(mover, held), what, b.short(held)) + b.turning(s, j)}
}

func others(n int) string {
	if n == 1 {
		return say("step.the-part")
	}
	return say("step.the-parts", strconv.Itoa(n))
}

// weight is what a group weighs, in brackets, from the weight on that a person feels with both hands: common practice,
// no source.
func (b *Book) weight(ids []string) string {
	const feltKG = 5
	kg := b.mass(ids)
	if kg < feltKG {
		return ""
	}
	return " (" + b.units.FormatMass(wholeMass(b.units, kg)) + ")"
}

// wholeMass rounds to whole pounds or kilograms.
func wholeMass(s units.System, kg float64) units.Mass {
	unit := units.Pound
	if s == units.MetricSystem {
		unit = units.Kilogram
	}
	return units.Mass(math.Round(kg/float64(unit))) * unit
}

// turning says how far to turn, and where to stop. A joint that must come round is given its window and no number of
// turns: where threads start is chance.
func (b *Book) turning(s assembly.Step, j *assembly.Joint) string {
	stop := b.stop(s.Clock, s.Moves, s.Joints)
	switch {
	case j.Turns == nil && stop == "":
		return ""
	case j.Turns == nil:
		return say("step.stop-only", stop)
	case stop == "":
		return say("step.turns", Turns(s.Turns, stepWindow(s, *j))) + b.deep(s, j)
	}
	return say("step.turns-stop", windowTurns(stepWindow(s, *j)), stop) + b.deep(s, j)
}

// deep says by how much a joint is turned further than it stays, and that it is turned back later; "" where it is not.
func (b *Book) deep(s assembly.Step, j *assembly.Joint) string {
	if x := deeper(s, *j); x > 0 {
		return say("step.deeper", turnCount(x))
	}
	return ""
}

// threadOn words a board that goes over posts, or posts that go through a board.
func (b *Book) threadOn(s assembly.Step) []string {
	if b.boards(s.Onto) && !b.boards(s.Moves) {
		return []string{say("step.through-hole", b.group(s.Moves), b.theAll(s.Onto))}
	}
	return []string{say("step.slide", b.group(s.Moves), b.othersOr(s, "step.the-posts")), say("step.level")}
}

// boards tells whether a board is among bodies.
func (b *Book) boards(ids []string) bool {
	return slices.ContainsFunc(ids, func(id string) bool { return b.parts[id] != nil && b.parts[id].Kind == standard.Board })
}

// sides tells which body of a joint moves in the step, and which is held.
func (b *Book) sides(s assembly.Step, j *assembly.Joint) (mover, held string) {
	for _, id := range s.Moves {
		if id == j.A.Part {
			return j.A.Part, j.B.Part
		}
	}
	return j.B.Part, j.A.Part
}

// intoOrOnto names the words for a screw: a male end goes into an opening, an opening onto a male end.
func (b *Book) intoOrOnto(mover, held string) string {
	m, h := b.parts[mover], b.parts[held]
	if m != nil && isMaleKind(m.Kind) && !(h != nil && h.Kind == standard.Pipe) {
		return "step.screw-into"
	}
	return "step.screw-onto"
}

// isMaleKind tells which kinds have outside threads where they meet a fitting.
func isMaleKind(k standard.Kind) bool {
	switch k {
	case standard.Pipe, standard.Plug, standard.Bushing, standard.StreetElbow, standard.StreetElbow45:
		return true
	}
	return false
}

// stop says where some opening points in the end, or "" when any angle serves.
func (b *Book) stop(c *assembly.Clock, moves, joints []string) string {
	if c == nil {
		return ""
	}
	p := b.parts[c.Part]
	if p == nil {
		return ""
	}
	mover := ""
	if len(moves) > 0 {
		mover = moves[0]
	}
	switch c.Port {
	case "":
		return say("stop.edge", b.the(c.Part), Line(c.Toward))
	case assembly.HolesPort:
		if c.Part != mover {
			return say("stop.holes-of", b.short(c.Part), Line(c.Toward))
		}
		return say("stop.holes", Line(c.Toward))
	}
	if outs := b.sideOuts(c, joints); len(outs) == 2 {
		name := say("opening.two")
		if c.Part != mover {
			name = say("opening.of", name, b.short(p.ID))
		}
		return say("stop.two", name, Direction(outs[0]), Direction(outs[1]))
	}
	return pointing(b.opening(mover, p, assembly.Port{Name: c.Port}), p, c)
}

// sideOuts are where the two openings of a side-outlet fitting point that go round with it: one of them alone does not
// tell the angle, for the other could point either way. Nil for all other fittings.
func (b *Book) sideOuts(c *assembly.Clock, joints []string) []geom.Vec {
	p := b.parts[c.Part]
	if p == nil || p.Kind != standard.SideElbow && p.Kind != standard.SideTee || isRun(p, assembly.Port{Name: c.Port}) {
		return nil
	}
	if len(joints) == 0 || b.joints[joints[0]] == nil || b.joints[joints[0]].Axis == nil {
		return nil
	}
	axis := b.joints[joints[0]].Axis.Dir
	var outs []geom.Vec
	for _, q := range p.Ports {
		if math.Abs(q.Out.Dot(axis)) < slantShare {
			outs = append(outs, q.Out)
		}
	}
	return outs
}

// pointAlike tells whether a copy points where the first one does.
func (b *Book) pointAlike(s assembly.Step, r assembly.Repeat) bool {
	one, two := b.sideOuts(s.Clock, s.Joints), b.sideOuts(r.Clock, r.Joints)
	if len(one) == 2 && len(two) == 2 {
		near := func(i, k int) bool { return one[0].Near(two[i], slantShare) && one[1].Near(two[k], slantShare) }
		return near(0, 1) || near(1, 0)
	}
	return r.Clock.Toward.Near(s.Clock.Toward, slantShare)
}

// pointing says where an opening faces; a straight run has two ends, so that only its line can be seen.
func pointing(what string, p *assembly.Part, c *assembly.Clock) string {
	if !isRun(p, assembly.Port{Name: c.Port}) {
		return say("stop.points", what, Direction(c.Toward))
	}
	return say("stop.lies", what, Line(c.Toward))
}

// isRun tells whether a port is one end of a straight run.
func isRun(p *assembly.Part, port assembly.Port) bool {
	switch p.Kind {
	case standard.Tee, standard.Cross, standard.SideTee:
		return port.Name == "a" || port.Name == "b"
	}
	return false
}

// opening names a port of the body that turns, or of one that it carries.
func (b *Book) opening(mover string, p *assembly.Part, port assembly.Port) string {
	name := say("opening.free")
	switch p.Kind {
	case standard.Tee, standard.Cross, standard.SideTee:
		name = say("opening.branch")
		if isRun(p, port) {
			name = say("opening.run")
		}
	case standard.Pipe:
		name = say("opening.end")
	case standard.Flange:
		name = say("opening.face")
	}
	if p.ID == mover {
		return name
	}
	return say("opening.of", name, b.short(p.ID))
}

// pair words a right-and-left piece or a long screw.
func (b *Book) pair(s assembly.Step) []string {
	j := b.joints[s.Joints[0]]
	what := b.theAll(s.Moves)
	if j != nil && j.Kind == assembly.LongScrew {
		return []string{
			say("step.run-forward", what, b.othersOr(s, "step.pipe-met")),
			say("step.back-nut"),
		}
	}
	return []string{
		say("step.both-sides", what),
		say("step.draws", b.drawn(s)),
	}
}

// drawn is how far the sides come together in all.
func (b *Book) drawn(s assembly.Step) string {
	sum := 0.0
	for _, d := range s.Draws {
		sum += d.By.Len()
	}
	if sum == 0 {
		return say("step.both-depths")
	}
	return Near(b.units, sum)
}

// strap words a strap over a pipe, screwed to a board.
func (b *Book) strap(s assembly.Step) []string {
	var over, to []string
	for _, id := range s.Onto {
		if p := b.parts[id]; p != nil && p.Kind == standard.Pipe {
			over = append(over, id)
		} else {
			to = append(to, id)
		}
	}
	pipe := say("step.the-pipe")
	if len(over) > 0 {
		pipe = b.theAll(over)
	}
	if len(to) == 0 {
		return []string{say("step.strap-down", b.theAll(s.Moves), pipe)}
	}
	return []string{say("step.strap-to", b.theAll(s.Moves), pipe, b.theAll(to))}
}

func (b *Book) joinUnion(s assembly.Step) []string {
	var halves []string
	for _, id := range s.Joints {
		if j := b.joints[id]; j != nil {
			halves = append(halves, j.A.Part, j.B.Part)
		}
	}
	union := say("step.the-union")
	if len(halves) > 0 {
		if p := b.parts[halves[0]]; p != nil {
			union = say("place.the", sized(*p)+number(p))
		}
	}
	lines := []string{}
	if len(s.Moves) > 0 {
		lines = append(lines, say("step.bring-halves", b.group(s.Moves), union))
	} else {
		lines = append(lines, say("step.let-halves", union))
	}
	return append(lines, say("step.nut"))
}

// fasten words a flange screwed to wood or to the room.
func (b *Book) fasten(s assembly.Step) []string {
	if len(s.Joints) == 0 {
		return b.place(s)
	}
	if lines := b.pushed(s); lines != nil {
		return lines
	}
	var lines []string
	if len(s.Moves) > len(s.Joints) {
		line := b.standing(s)
		if b.hangs(s) {
			line = say("step.lift-place", b.group(s.Moves))
		}
		lines = append(lines, line)
	}
	return append(lines, b.faces(s)...)
}

// standing says where to stand a group: on what, without screws, or in place when on nothing else.
func (b *Book) standing(s assembly.Step) string {
	var on []string
	for _, id := range s.Joints {
		if j := b.joints[id]; j != nil && j.Kind == assembly.Rest {
			if words := b.resting(s, j); !slices.Contains(on, words) {
				on = append(on, words)
			}
		}
	}
	if len(on) == 0 {
		return say("step.stand-place", b.group(s.Moves))
	}
	return say("step.stand-on", b.group(s.Moves), And(on))
}

// pushed words feet that are held by a stem in the end of a pipe: nothing is screwed there. It is nil for other steps.
func (b *Book) pushed(s assembly.Step) []string {
	var clauses []string
	for _, id := range s.Joints {
		j := b.joints[id]
		if j == nil {
			return nil
		}
		foot, pipe := b.parts[j.B.Part], b.parts[j.A.Part]
		if pipe != nil && pipe.Kind != standard.Pipe {
			foot, pipe = pipe, foot
		}
		if foot == nil || pipe == nil || pipe.Kind != standard.Pipe || foot.Kind != standard.Glide && foot.Kind != standard.Caster {
			return nil
		}
		if !slices.Contains(s.Moves, foot.ID) {
			clauses = append(clauses, say("step.onto-stem", b.group(s.Moves), b.short(foot.ID)))
			continue
		}
		clauses = append(clauses, say("step.into-end", b.freshPlain(foot.ID), b.short(pipe.ID)))
	}
	return []string{say("step.push", And(clauses))}
}

// maxNamed is how many bodies a sentence names one by one; more are a group.
const maxNamed = 6

// group names bodies that move as one.
func (b *Book) group(ids []string) string {
	if len(ids) <= maxNamed {
		return b.theAll(ids)
	}
	size := say("step.parts", strconv.Itoa(len(ids)))
	if kg := b.mass(ids); kg > 0 {
		size += ", " + b.units.FormatMass(wholeMass(b.units, kg))
	}
	if 2*len(ids) > b.solid {
		return say("step.frame", size)
	}
	return say("step.group", size)
}

// faces words face joints, those to one base together, and all in one sentence where all take as many screws: "Fasten 4
// floor flanges (11) to the floor and the floor flange (11) at tie to the back wall, with 4 screws each".
func (b *Book) faces(s assembly.Step) []string {
	type to struct {
		base   string
		screws int
	}
	var order []to
	fixed := map[to][]string{}
	total, screws := 0, map[int]bool{}
	for _, id := range s.Joints {
		j := b.joints[id]
		if j == nil || j.Kind == assembly.Rest {
			continue
		}
		part, base, port := b.fixedTo(j)
		key := to{b.base(part, base, port), b.screws(part)}
		if fixed[key] == nil {
			order = append(order, key)
		}
		fixed[key] = append(fixed[key], part)
		total++
		screws[key.screws] = true
	}
	var clauses, lines []string
	for _, key := range order {
		what := b.theAll(fixed[key])
		if slices.Equal(s.Moves, fixed[key]) && len(s.Moves) == 1 {
			what = b.freshPlain(s.Moves[0])
		}
		clauses = append(clauses, say("step.fasten-clause", what, key.base))
		lines = append(lines, say("step.fasten-plain", clauses[len(clauses)-1])+withScrews(key.screws, len(fixed[key])))
	}
	if len(order) < 2 || len(screws) > 1 {
		return lines
	}
	line := say("step.fasten-plain", And(clauses))
	if words := withScrews(order[0].screws, total); words != "" {
		line += "," + words
	}
	return []string{line}
}

// withScrews says with how many screws each of some parts is fastened; "" when it is not known.
func withScrews(n, parts int) string {
	if n == 0 {
		return ""
	}
	screws := say("step.screw-one")
	if n > 1 {
		screws = say("step.screw-many", strconv.Itoa(n))
	}
	if parts > 1 {
		return " " + say("step.with-each", screws)
	}
	return " " + say("step.with", screws)
}

// screws is how many holes for screws a part has, 0 when that is not known.
func (b *Book) screws(id string) int {
	p := b.parts[id]
	if p == nil {
		return 0
	}
	return int(math.Round(p.Dims[standard.DimHoles].MM))
}

// fixedTo tells which part a face joint fixes, what carries it, and by which of its ports.
func (b *Book) fixedTo(j *assembly.Joint) (fixed, base, port string) {
	if b.carries(j.A.Part) && !b.carries(j.B.Part) {
		return j.B.Part, j.A.Part, j.B.Port
	}
	return j.A.Part, j.B.Part, j.A.Port
}

// carries tells what things are fixed to: the room, a board, a cleat.
func (b *Book) carries(id string) bool {
	p := b.parts[id]
	return p != nil && (p.Kind == standard.Room || p.Kind == standard.Board || p.Kind == standard.Cleat)
}

// base names what carries a face: a board, or a surface of the room.
func (b *Book) base(fixed, base, port string) string {
	p, f := b.parts[base], b.parts[fixed]
	if p == nil || p.Kind != standard.Room || f == nil {
		return b.short(base)
	}
	for _, q := range f.Ports {
		if q.Name == port {
			return say("place.the", Surface(q.Out))
		}
	}
	switch f.Kind { // these have no ports to tell which
	case standard.Cleat:
		if d, ok := behind(p, f); ok {
			return say("place.the", Surface(d))
		}
		return say("place.a-wall")
	case standard.Board:
		return say("place.the", Surface(geom.V(0, 0, -1))) // nothing else of the room can carry a loose board
	}
	if len(f.Ports) == 1 { // a cap that stands on its end
		return say("place.the", Surface(f.Ports[0].Out.Neg()))
	}
	return say("place.the-room")
}

// touchMM is how near, in mm, a cleat lies to the boxes that stand for its wall: a leaning one is a stack of them, off by at
// most 1 mm.
const touchMM = 1.5

// behind is the direction in which a flat timber lies against the room: square to its face.
func behind(room, timber *assembly.Part) (geom.Vec, bool) {
	box := geom.EmptyBox()
	for _, b := range timber.Boxes {
		box = box.Union(timber.Pose.Box(b))
	}
	if box.IsEmpty() {
		return geom.Vec{}, false
	}
	axis, size := geom.AxisX, box.Size()
	if size.Y < size.X && size.Y <= size.Z {
		axis = geom.AxisY
	} else if size.Z < size.X {
		axis = geom.AxisZ
	}
	for _, d := range []geom.Vec{axis, axis.Neg()} {
		at := box.Centre().Add(d.Mul(box.Size().Dot(axis)/2 + touchMM))
		for _, b := range room.Boxes {
			if b.Contains(at) {
				return d, true
			}
		}
	}
	return geom.Vec{}, false
}

// place words what is only put somewhere.
func (b *Book) place(s assembly.Step) []string {
	if len(s.Moves) == 0 {
		return []string{say("step.check", b.theAll(s.Onto))}
	}
	what := b.group(s.Moves)
	if len(s.Moves) == 1 {
		what = b.freshPlain(s.Moves[0])
	}
	var on []string
	for _, id := range s.Joints {
		j := b.joints[id]
		if j == nil {
			continue
		}
		words := b.resting(s, j)
		if words != "" && !slices.Contains(on, words) {
			on = append(on, words)
		}
	}
	if len(on) == 0 && len(s.Onto) == 1 && b.isRoom(s.Onto[0]) {
		return []string{say("step.bring-place", what)}
	}
	if len(on) == 0 && len(s.Onto) > 0 {
		return []string{say("step.bring", what, b.theAll(s.Onto))}
	}
	if len(on) == 0 && s.Where == "place" {
		return []string{say("step.bring-place", what)}
	}
	if len(on) == 0 {
		return []string{say("step.begin", what)}
	}
	if len(s.Moves) > maxNamed {
		return []string{say("step.stand-on", what, And(on))}
	}
	return []string{say("step.put", what, And(on))}
}

// beginning names what a step begins with, when it puts something down that meets no other; else "".
func (b *Book) beginning(s assembly.Step) string {
	switch s.Action {
	case assembly.Screw, assembly.JoinUnion, assembly.PutStrap, assembly.ThreadOn, assembly.StandUp, assembly.Adjust:
		return ""
	}
	if len(s.Moves) == 0 || len(s.Onto) > 0 || len(s.Joints) > 0 || s.Where == "place" {
		return ""
	}
	if len(s.Moves) == 1 {
		return b.freshPlain(s.Moves[0])
	}
	return b.group(s.Moves)
}

// resting names what a moved body rests on through j.
func (b *Book) resting(s assembly.Step, j *assembly.Joint) string {
	mover, held := b.sides(s, j)
	port := j.A.Port
	if mover == j.B.Part {
		port = j.B.Port
	}
	return b.base(mover, held, port)
}

// adjust words a thread turned once more after it was closed.
func (b *Book) adjust(s assembly.Step) []string {
	deg, along := 0.0, geom.Vec{}
	for _, m := range s.Motion {
		if m.Kind == assembly.Turn {
			deg += m.ByDeg
			along = along.Add(m.Axis.Dir.Mul(m.AdvanceMM))
		}
	}
	name := "step.adjust"
	if b.backs(s.Moves, along) {
		name = "step.adjust-back"
	}
	words := say(name, b.theAll(s.Moves), turnCount(math.Abs(deg)/360))
	if along.Len() > 0 {
		words += say("step.which-moves", Near(b.units, along.Len()), Direction(along))
	}
	for _, id := range s.Moves {
		if p := b.parts[id]; p != nil && p.Kind == standard.Flange {
			words += say("step.lies-flat")
			break
		}
	}
	return []string{words}
}

// backs tells whether a flange moves away from what it is screwed to: against the way its one threaded opening points.
func (b *Book) backs(moves []string, along geom.Vec) bool {
	if len(moves) == 0 || b.parts[moves[0]] == nil || b.parts[moves[0]].Kind != standard.Flange {
		return false
	}
	for _, q := range b.parts[moves[0]].Ports {
		if q.Name != "face" && q.Out.Dot(along) < 0 {
			return true
		}
	}
	return false
}

// turnCount writes a number of turns to the nearest quarter: "1/2 turn", "1 turn", "2 1/4 turns".
func turnCount(x float64) string {
	x = max(quarter, math.Round(x/quarter)*quarter)
	if x > 1 {
		return say("turn.many", units.Fraction(x))
	}
	return say("turn.one", units.Fraction(x))
}

// othersOr names what is held still, or by the words of that name when the step names nothing.
func (b *Book) othersOr(s assembly.Step, name string) string {
	if len(s.Onto) == 0 {
		return say(name)
	}
	return b.theAll(s.Onto)
}

// number is the balloon number in brackets, with a space before.
func number(p *assembly.Part) string {
	if p.Number == 0 {
		return ""
	}
	return " (" + strconv.Itoa(p.Number) + ")"
}
