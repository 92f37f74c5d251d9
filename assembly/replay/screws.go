package replay

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// axisOffMM is how far the axis of a turn may lie from that of its joint, and axisSlant how far its direction may differ.
const (
	axisOffMM = 1e-3
	axisSlant = 1e-6
)

// checkThreads checks the threaded joints that a job closes or adjusts. It returns the turns made on each.
func (w *world) checkThreads(s assembly.Step, c job, movers []*body) map[*closing]float64 {
	moving := set(movers)
	turns := map[*closing]float64{}
	var single, double []*closing
	for _, id := range c.joints {
		j := w.jointBy[id]
		switch j.Kind {
		case assembly.Thread:
			single = append(single, j)
		case assembly.RightLeft, assembly.LongScrew:
			double = append(double, j)
		}
	}
	if len(single) > 0 && len(c.joints) > 1 {
		w.fail(CodeThread, 0, c.moves, "a thread is closed by a step of its own; this one closes %d joints", len(c.joints))
	}
	if len(single) > 0 && s.Action != assembly.Screw || len(double) > 0 && s.Action != assembly.Screw {
		w.fail(CodeThread, 0, c.moves, "threads are closed by a screw step, not by %s", s.Action)
	}
	for _, j := range single {
		turns[j] = s.Turns
		w.checkScrew(s, c, j, moving)
	}
	if len(double) > 0 {
		w.checkPair(s, c, double, moving)
		for _, j := range double {
			turns[j] = s.Turns
		}
	}
	if s.Action == assembly.Adjust {
		w.adjust(c, moving)
	}
	return turns
}

// checkScrew checks one taper thread: bodies apart before, and the last move a true screw motion.
func (w *world) checkScrew(s assembly.Step, c job, j *closing, moving map[*body]bool) {
	parts := []string{j.A.Part, j.B.Part}
	if w.groupOf([]*body{j.a})[j.b] {
		w.fail(CodeLocked, 0, parts, "%s and %s are rigidly joined already: %s cannot be screwed", j.A.Part, j.B.Part, j.ID)
	}
	if moving[j.a] == moving[j.b] {
		w.fail(CodeThread, 0, parts, "%s is closed, but not one of %s and %s moves", j.ID, j.A.Part, j.B.Part)
		return
	}
	held := j.b
	if moving[j.b] {
		held = j.a
	}
	if !contains(c.onto, held.part.ID) {
		w.fail(CodeThread, 0, parts, "%s is closed on %s, which the step does not name as met", j.ID, held.part.ID)
	}
	w.window(s, j)
	towards := j.Axis.Dir
	if moving[j.b] {
		towards = towards.Neg()
	}
	turn, ok := w.lastTurn(c, j)
	if !ok {
		return
	}
	along := turn.AdvanceMM * turn.Axis.Dir.Dot(towards)
	round := turn.ByDeg * turn.Axis.Dir.Dot(towards)
	w.screwSense(j, parts, along, round)
	if off := math.Abs(along - s.Turns*j.PitchMM); off > turnTolerance {
		w.fail(CodeThread, off, parts, "%s advances %.6g mm in %.6g turns, its pitch asks for %.6g", j.ID, along, s.Turns, s.Turns*j.PitchMM)
	}
	if math.Abs(math.Abs(turn.ByDeg)-360*s.Turns) > 360*turnTolerance {
		w.fail(CodeThread, 0, parts, "%s is turned by %.6g degrees, %.6g turns are %.6g", j.ID, turn.ByDeg, s.Turns, 360*s.Turns)
	}
}

// screwSense checks that a body turns and advances as the hand of the thread asks: a right-hand thread that goes in
// turns clockwise seen from behind, which is positive about the way in.
func (w *world) screwSense(j *closing, parts []string, along, round float64) {
	if along <= 0 {
		w.fail(CodeThread, 0, parts, "%s is screwed outwards: it must advance into %s", j.ID, j.B.Part)
		return
	}
	if round > 0 != (j.Hand == "right") {
		w.fail(CodeThread, 0, parts, "%s turns the wrong way round for a %s-hand thread", j.ID, j.Hand)
	}
}

// window checks the turns of a step against a joint.
func (w *world) window(s assembly.Step, j *closing) {
	if j.Turns == nil {
		return
	}
	if s.Turns < j.Turns.Min-turnTolerance || s.Turns > j.Turns.Max+turnTolerance {
		w.fail(CodeThread, 0, []string{j.A.Part, j.B.Part}, "%s takes %.4g to %.4g turns, the step gives it %.4g",
			j.ID, j.Turns.Min, j.Turns.Max, s.Turns)
	}
}

// lastTurn is the turn that ends a motion; it must lie on the joint's axis.
func (w *world) lastTurn(c job, j *closing) (assembly.Move, bool) {
	parts := []string{j.A.Part, j.B.Part}
	if len(c.motion) == 0 || c.motion[len(c.motion)-1].Kind != assembly.Turn {
		w.fail(CodeThread, 0, parts, "%s is closed without a turn at the end", j.ID)
		return assembly.Move{}, false
	}
	m := c.motion[len(c.motion)-1]
	if off := offAxis(m.Axis, *j.Axis); off > axisOffMM {
		w.fail(CodeThread, off, parts, "the turn lies %.4g mm off the axis of %s", off, j.ID)
		return m, false
	}
	if m.Axis.Dir.Cross(j.Axis.Dir).Len() > axisSlant {
		w.fail(CodeThread, 0, parts, "the turn is not about the axis of %s", j.ID)
		return m, false
	}
	return m, true
}

// offAxis is the distance of one axis' point from the other.
func offAxis(a, b assembly.Axis) float64 { return a.At.Sub(b.At).Cross(b.Dir).Len() }

func contains(ids []string, id string) bool {
	for _, one := range ids {
		if one == id {
			return true
		}
	}
	return false
}

// checkPair checks a right-and-left piece or a long screw: both joints at once, by the piece alone.
func (w *world) checkPair(s assembly.Step, c job, pair []*closing, moving map[*body]bool) {
	var parts []string
	for _, j := range pair {
		parts = append(parts, j.ID)
	}
	if len(pair) != 2 || len(c.joints) != 2 || pair[0].Kind != pair[1].Kind {
		w.fail(CodeThread, 0, c.moves, "a %s piece closes its two joints in one step", pair[0].Kind)
		return
	}
	if len(moving) != 1 || moving[pair[0].a] == moving[pair[0].b] || moving[pair[1].a] == moving[pair[1].b] {
		w.fail(CodeThread, 0, c.moves, "%s and %s are closed by turning the piece between them, and nothing else", parts[0], parts[1])
		return
	}
	turn, ok := w.lastTurn(c, pair[0])
	if !ok {
		return
	}
	for _, j := range pair {
		w.window(s, j)
	}
	if math.Abs(math.Abs(turn.ByDeg)-360*s.Turns) > 360*turnTolerance {
		w.fail(CodeThread, 0, c.moves, "the piece is turned by %.6g degrees, %.6g turns are %.6g", turn.ByDeg, s.Turns, 360*s.Turns)
	}
	if pair[0].Kind == assembly.RightLeft {
		w.checkRightLeft(s, c, pair, turn, moving)
		return
	}
	w.checkLongScrew(s, c, pair, turn, moving)
}

// wayIn is the direction in which the piece goes on to the other body of j.
func wayIn(j *closing, moving map[*body]bool) geom.Vec {
	if moving[j.a] {
		return j.Axis.Dir
	}
	return j.Axis.Dir.Neg()
}

// checkRightLeft checks that the hands differ, that the turn tightens both, and that the sides come together as far as
// both threads go in.
func (w *world) checkRightLeft(s assembly.Step, c job, pair []*closing, turn assembly.Move, moving map[*body]bool) {
	if pair[0].Hand == pair[1].Hand {
		w.fail(CodeThread, 0, c.moves, "%s and %s have the same hand; one turn cannot tighten both", pair[0].ID, pair[1].ID)
		return
	}
	if math.Abs(turn.AdvanceMM) > turnTolerance {
		w.fail(CodeThread, math.Abs(turn.AdvanceMM), c.moves, "the piece stays where it is while it turns; it advances %.4g mm", turn.AdvanceMM)
	}
	approach := 0.0
	for _, j := range pair {
		in := wayIn(j, moving)
		if round := turn.ByDeg * turn.Axis.Dir.Dot(in); round > 0 != (j.Hand == "right") {
			w.fail(CodeThread, 0, c.moves, "the turn opens %s instead of tightening it", j.ID)
		}
		other := j.b
		if moving[j.b] {
			other = j.a
		}
		for _, d := range c.draws {
			if contains(d.Moves, other.part.ID) {
				approach -= d.By.Dot(in)
			}
		}
	}
	want := s.Turns * (pair[0].PitchMM + pair[1].PitchMM)
	if off := math.Abs(approach - want); off > turnTolerance {
		w.fail(CodeThread, off, c.moves, "the sides come together by %.5g mm, both threads take %.5g mm", approach, want)
	}
}

// checkLongScrew checks that the coupling runs forward on to the pipe it meets.
func (w *world) checkLongScrew(s assembly.Step, c job, pair []*closing, turn assembly.Move, moving map[*body]bool) {
	way := turn.Axis.Dir.Mul(turn.AdvanceMM)
	j := pair[0]
	if way.Dot(wayIn(j, moving)) < 0 {
		j = pair[1]
	}
	in := wayIn(j, moving)
	w.screwSense(j, c.moves, way.Dot(in), turn.ByDeg*turn.Axis.Dir.Dot(in))
	if off := math.Abs(way.Dot(in) - s.Turns*j.PitchMM); off > turnTolerance {
		w.fail(CodeThread, off, c.moves, "the coupling advances %.6g mm in %.6g turns, its pitch asks for %.6g", way.Dot(in), s.Turns, s.Turns*j.PitchMM)
	}
}

// adjust turns closed threads further: every joint that holds what turns to what does not must be a thread on the axis
// of the turn, and take the advance that its pitch and hand ask for.
func (w *world) adjust(c job, moving map[*body]bool) {
	if len(c.joints) > 0 {
		w.fail(CodeThread, 0, c.moves, "an adjusting step closes no joint")
	}
	found := false
	for _, j := range w.joints {
		if !j.closed || !j.Kind.IsRigid() || moving[j.a] == moving[j.b] {
			continue
		}
		found = true
		if j.Kind == assembly.UnionNut || !j.Kind.IsThreaded() {
			w.fail(CodeThread, 0, c.moves, "%s holds %s and %s; it is no thread that could be adjusted", j.ID, j.A.Part, j.B.Part)
			continue
		}
		for _, m := range c.motion {
			w.adjustBy(j, m, moving)
		}
	}
	if !found {
		w.fail(CodeThread, 0, c.moves, "nothing is adjusted: no closed joint holds what turns")
	}
}

// adjustBy adds one move of an adjusting step to the turns of j.
func (w *world) adjustBy(j *closing, m assembly.Move, moving map[*body]bool) {
	parts := []string{j.A.Part, j.B.Part}
	if m.Kind != assembly.Turn || offAxis(m.Axis, *j.Axis) > axisOffMM || m.Axis.Dir.Cross(j.Axis.Dir).Len() > axisSlant {
		w.fail(CodeThread, 0, parts, "%s can only be turned about its own axis", j.ID)
		return
	}
	in := wayIn(j, moving)
	n := m.ByDeg / 360 * m.Axis.Dir.Dot(in)
	if j.Hand == "left" {
		n = -n
	}
	if off := math.Abs(m.AdvanceMM*m.Axis.Dir.Dot(in) - n*j.PitchMM); off > turnTolerance {
		w.fail(CodeThread, off, parts, "%s advances %.6g mm in %.6g turns, its pitch asks for %.6g", j.ID, m.AdvanceMM, n, n*j.PitchMM)
	}
	j.turns += n
	if j.Turns != nil && (j.turns < j.Turns.Min-turnTolerance || j.turns > j.Turns.Max+turnTolerance) {
		w.fail(CodeThread, 0, parts, "%s takes %.4g to %.4g turns, adjusting leaves it %.4g", j.ID, j.Turns.Min, j.Turns.Max, j.turns)
	}
}
