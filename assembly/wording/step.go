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

// beginWith begins the step of a part that meets no other.
const beginWith = "Begin with "

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
		lines = []string{"Fasten " + b.theAll(s.Moves)}
	}
	if rest, ok := strings.CutPrefix(lines[0], beginWith); ok {
		if t.begun {
			lines[0] = "Start another group with " + rest
		}
		t.begun = true
	}
	if s.Action == assembly.Screw && len(s.Joints) == 1 {
		lines = append(lines, b.screwing(s, t)...)
	}
	if b.opensAgain(s) && !t.opens {
		t.opens = true
		lines = append(lines, "Here the frame comes apart again when you move house: do not seal or paint over it")
	}
	if s.Action == assembly.Fasten && !t.drilled && b.drills(s) {
		t.drilled = true
		lines = append([]string{"Look for cables and pipes before you drill"}, lines...)
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
			lines = append(lines, "This is a left-hand thread: turn it anticlockwise, seen from behind it")
		case !t.screwed:
			t.screwed = true
			lines = append(lines, "Turn it clockwise, seen from behind it, and hold the other piece still with a second wrench")
		}
	}
	if words := stopHint(s.Clock); words != "" && !t.stops[s.Clock.Symmetry] {
		t.stops[s.Clock.Symmetry] = true
		lines = append(lines, words)
	}
	if s.SwingRadiusMM > wideSwingMM {
		lines = append(lines, "It needs "+b.clear(s.SwingRadiusMM)+" clear all round while it turns")
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
		return "It comes round once in a turn: once past it, go on round to the next time and do not turn back"
	case c.Symmetry == 2:
		return "It comes round every half turn: once past it, go on to the next time and do not turn back"
	}
	return "It comes round " + strconv.Itoa(c.Symmetry) + " times in a turn: take the next one that is tight"
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
		lines = append(lines, "This takes "+people(s.People))
	} else if b.mass(s.Moves) > liftKG {
		lines = append(lines, "It is too heavy to lift alone: get help")
	}
	if len(s.Props) > 0 {
		lines = append(lines, "Prop up "+b.theAll(s.Props)+" meanwhile: there are more groups to hold than hands")
	}
	if b.hangs(s) {
		lines = append(lines, "Prop it until every screw is tight, and let nobody stand below")
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
	return b.base(fixed, base, port) == "the floor"
}

func people(n int) string {
	if n == 2 {
		return "two people"
	}
	return strconv.Itoa(n) + " people"
}

// repeats says how often, with which parts, and what is different: "Do the same 3 more times (x 4): leg-2 on side.2;
// ...".
func (b *Book) repeats(s assembly.Step) []string {
	words := "Do the same once more (x 2)"
	if n := len(s.Repeats); n > 1 {
		words = "Do the same " + Count(n, "more time") + " (x " + strconv.Itoa(n+1) + ")"
	}
	var clauses []string
	for _, r := range s.Repeats {
		if c := b.copyWords(s, r); c != "" {
			clauses = append(clauses, c)
		}
	}
	if len(clauses) > 0 {
		words += ": " + strings.Join(clauses, "; ")
	}
	lines := []string{words}
	if s.Mirrored {
		lines = append(lines, "They are a left and a right one, not all alike: mind which way each points")
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
		words = append(words, "on "+b.spot(r.Onto[0]))
	}
	if s.Clock != nil && r.Clock != nil && !r.Clock.Toward.Near(s.Clock.Toward, slantShare) {
		words = append(words, "until "+b.stop(r.Clock, r.Moves))
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
		return []string{"Stand up " + b.group(s.Moves) + ". Lift at the posts, not at a loose part"}
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
		return []string{"Run " + b.theAll(s.Moves) + " back on " + b.othersOr(s, "the long thread")}
	}
	j := b.joints[s.Joints[0]]
	if j == nil {
		return []string{"Screw " + b.theAll(s.Moves) + " on"}
	}
	mover, held := b.sides(s, j)
	what := b.fresh(mover)
	if n := len(s.Moves); n > 1 {
		what = b.short(mover) + ", with " + others(n-1) + " on it" + b.weight(s.Moves) + ","
	}
	return []string{"Screw " + what + " " + b.intoOrOnto(mover, held) + " " + b.short(held) + b.turning(s, j)}
}

func others(n int) string {
	if n == 1 {
		return "the part"
	}
	return "the " + Count(n, "part")
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
	stop := b.stop(s.Clock, s.Moves)
	switch {
	case j.Turns == nil && stop == "":
		return ""
	case j.Turns == nil:
		return ", and stop when " + stop
	case stop == "":
		return ": " + Turns(s.Turns, *j.Turns)
	}
	return ": " + windowTurns(*j.Turns) + ", and stop when " + stop
}

// threadOn words a board that goes over posts, or posts that go through a board.
func (b *Book) threadOn(s assembly.Step) []string {
	if b.boards(s.Onto) && !b.boards(s.Moves) {
		return []string{"Push " + b.group(s.Moves) + " through the hole in " + b.theAll(s.Onto)}
	}
	return []string{"Slide " + b.group(s.Moves) + " over " + b.othersOr(s, "the posts") + ". Keep it level and do not force it"}
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

// intoOrOnto: a male end goes into an opening, an opening onto a male end.
func (b *Book) intoOrOnto(mover, held string) string {
	m, h := b.parts[mover], b.parts[held]
	if m != nil && isMaleKind(m.Kind) && !(h != nil && h.Kind == standard.Pipe) {
		return "into"
	}
	return "onto"
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
func (b *Book) stop(c *assembly.Clock, moves []string) string {
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
		return b.the(c.Part) + " has its edge " + Line(c.Toward)
	case assembly.HolesPort:
		words := "two opposite screw holes"
		if c.Part != mover {
			words += " of " + b.short(c.Part)
		}
		return words + " lie " + Line(c.Toward) + ", along the timber behind it"
	}
	return b.opening(mover, p, assembly.Port{Name: c.Port}) + pointing(p, c)
}

// pointing says where an opening faces; a straight run has two ends, so that only its line can be seen.
func pointing(p *assembly.Part, c *assembly.Clock) string {
	if !isRun(p, assembly.Port{Name: c.Port}) {
		return " points " + Direction(c.Toward)
	}
	return " lies " + Line(c.Toward)
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
	name := "the free opening"
	switch p.Kind {
	case standard.Tee, standard.Cross, standard.SideTee:
		name = "the branch"
		if isRun(p, port) {
			name = "the straight run"
		}
	case standard.Pipe:
		name = "the end"
	case standard.Flange:
		name = "the face"
	}
	if p.ID == mover {
		return name
	}
	return name + " of " + b.short(p.ID)
}

// pair words a right-and-left piece or a long screw.
func (b *Book) pair(s assembly.Step) []string {
	j := b.joints[s.Joints[0]]
	what := b.theAll(s.Moves)
	if j != nil && j.Kind == assembly.LongScrew {
		return []string{
			"Run " + what + " forward off the long thread onto " + b.othersOr(s, "the pipe that it meets"),
			"The pipes do not turn; lock it with the back nut",
		}
	}
	return []string{
		"Start " + what + " on both sides at once, within a quarter turn of one another, and turn it until both are tight",
		"It draws the two sides together by " + b.drawn(s) + "; neither of them turns",
	}
}

// drawn is how far the sides come together in all.
func (b *Book) drawn(s assembly.Step) string {
	sum := 0.0
	for _, d := range s.Draws {
		sum += d.By.Len()
	}
	if sum == 0 {
		return "the depth of both threads"
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
	words := "Put " + b.theAll(s.Moves) + " over "
	if len(over) == 0 {
		words += "the pipe"
	} else {
		words += b.theAll(over)
	}
	if len(to) == 0 {
		return []string{words + " and screw it down"}
	}
	return []string{words + " and screw it to " + b.theAll(to)}
}

func (b *Book) joinUnion(s assembly.Step) []string {
	var halves []string
	for _, id := range s.Joints {
		if j := b.joints[id]; j != nil {
			halves = append(halves, j.A.Part, j.B.Part)
		}
	}
	union := "the union"
	if len(halves) > 0 {
		if p := b.parts[halves[0]]; p != nil {
			union = "the " + sized(*p) + number(p)
		}
	}
	lines := []string{}
	if len(s.Moves) > 0 {
		lines = append(lines, "Bring "+b.group(s.Moves)+" up until the two halves of "+union+" meet")
	} else {
		lines = append(lines, "Let the two halves of "+union+" meet")
	}
	return append(lines, "Tighten its nut, and hold both pipes so that neither turns")
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
		line := "Stand " + b.group(s.Moves) + b.standing(s)
		if b.hangs(s) {
			line = "Lift " + b.group(s.Moves) + " into place"
		}
		lines = append(lines, line)
	}
	return append(lines, b.faces(s)...)
}

// standing says what a group stands on without screws, " in place" when on nothing else.
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
		return " in place"
	}
	return " on " + And(on)
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
			clauses = append(clauses, b.group(s.Moves)+" onto the stem of "+b.short(foot.ID))
			continue
		}
		clauses = append(clauses, b.freshPlain(foot.ID)+" into the end of "+b.short(pipe.ID)+", as far as it goes")
	}
	return []string{"Push " + And(clauses)}
}

// maxNamed is how many bodies a sentence names one by one; more are a group.
const maxNamed = 6

// group names bodies that move as one.
func (b *Book) group(ids []string) string {
	if len(ids) <= maxNamed {
		return b.theAll(ids)
	}
	what := "the assembled group ("
	if 2*len(ids) > b.solid {
		what = "the assembled frame ("
	}
	what += Count(len(ids), "part")
	if kg := b.mass(ids); kg > 0 {
		what += ", " + b.units.FormatMass(wholeMass(b.units, kg))
	}
	return what + ")"
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
		clauses = append(clauses, what+" to "+key.base)
		lines = append(lines, "Fasten "+clauses[len(clauses)-1]+withScrews(key.screws, len(fixed[key])))
	}
	if len(order) < 2 || len(screws) > 1 {
		return lines
	}
	line := "Fasten " + And(clauses)
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
	words := " with " + Count(n, "screw")
	if parts > 1 {
		words += " each"
	}
	return words
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
			return "the " + Surface(q.Out)
		}
	}
	if f.Kind == standard.Cleat {
		return "the wall" // cleats have no ports to tell which
	}
	return "the room"
}

// place words what is only put somewhere.
func (b *Book) place(s assembly.Step) []string {
	if len(s.Moves) == 0 {
		return []string{"Check that " + b.theAll(s.Onto) + " sit where they should"}
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
		return []string{"Bring " + what + " into place, and hold it there or pack it up: nothing fastens it yet"}
	}
	if len(on) == 0 && len(s.Onto) > 0 {
		return []string{"Bring " + what + " to " + b.theAll(s.Onto)}
	}
	if len(on) == 0 {
		return []string{beginWith + what}
	}
	verb := "Put "
	if len(s.Moves) > maxNamed {
		verb = "Stand "
	}
	return []string{verb + what + " on " + And(on)}
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
	words := "Turn " + b.theAll(s.Moves)
	if b.backs(s.Moves, along) {
		words += " back"
	}
	words += " by about " + turnCount(math.Abs(deg)/360)
	if along.Len() > 0 {
		words += ", which moves it " + Near(b.units, along.Len()) + " " + Direction(along)
	}
	for _, id := range s.Moves {
		if p := b.parts[id]; p != nil && p.Kind == standard.Flange {
			words += ", until its face lies flat"
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
		return units.Fraction(x) + " turns"
	}
	return units.Fraction(x) + " turn"
}

// othersOr names what is held still, or a word for it when the step names nothing.
func (b *Book) othersOr(s assembly.Step, word string) string {
	if len(s.Onto) == 0 {
		return word
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
