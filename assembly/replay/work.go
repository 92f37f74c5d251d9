package replay

import (
	"fmt"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/geom"
)

// job is a step or one repeat of it.
type job struct {
	moves, onto, joints []string
	start               geom.Pose
	motion              []assembly.Move
	draws               []assembly.Draw
}

// copies lists the step itself and its repeats.
func copies(s assembly.Step) []job {
	out := []job{{s.Moves, s.Onto, s.Joints, s.Start, s.Motion, s.Draws}}
	for _, r := range s.Repeats {
		out = append(out, job{r.Moves, r.Onto, r.Joints, r.Start, r.Motion, r.Draws})
	}
	return out
}

func (w *world) fail(code string, off float64, parts []string, format string, args ...any) {
	w.failures = append(w.failures, Failure{
		Step: w.stepNumber, Copy: w.copyNumber, Code: code, Text: fmt.Sprintf(format, args...), Parts: parts, MM: off,
	})
}

// step does what a step says, its repeats too.
func (w *world) step(s assembly.Step) []StepReport {
	var out []StepReport
	for i, c := range copies(s) {
		w.stepNumber, w.copyNumber = s.Number, i
		out = append(out, StepReport{Step: s.Number, Copy: i})
		if i > 0 {
			w.likeness(s, c)
		}
		w.do(s, c)
	}
	return out
}

// likeness checks that a repeat moves the same kinds of parts as the step.
func (w *world) likeness(s assembly.Step, c job) {
	first := copies(s)[0]
	same := len(first.moves) == len(c.moves) && len(first.joints) == len(c.joints) && len(first.motion) == len(c.motion)
	for i := 0; same && i < len(c.moves); i++ {
		same = w.byID[first.moves[i]].part.Number == w.byID[c.moves[i]].part.Number
	}
	if !same {
		w.fail(CodeOrder, 0, c.moves, "it repeats the step with other parts, joints or moves")
	}
}

// do carries out one job: it checks who moves, moves them, and closes the joints.
func (w *world) do(s assembly.Step, c job) {
	movers := w.all(c.moves)
	w.checkMovers(s, c, movers)
	threads := w.checkThreads(s, c, movers)
	if len(movers) > 0 {
		w.move(s, c, movers)
	}
	w.close(s, c, threads)
	for _, b := range movers {
		b.site = siteOf(s)
	}
	w.settle(s, c)
	w.checkEnds(s, c)
}

func siteOf(s assembly.Step) site {
	if s.Where == "bench" {
		return bench
	}
	return placed
}

func (w *world) all(ids []string) []*body {
	out := make([]*body, len(ids))
	for i, id := range ids {
		out[i] = w.byID[id]
	}
	return out
}

// checkMovers checks that whole groups move, and that what is held still is where the work is done.
func (w *world) checkMovers(s assembly.Step, c job, movers []*body) {
	moving := set(movers)
	for _, b := range movers {
		if isRoom(b.part) {
			w.fail(CodeOrder, 0, c.moves, "the room does not move")
		}
		if b.site == placed && s.Where == "bench" {
			w.fail(CodeOrder, 0, []string{b.part.ID}, "%s stands in place and cannot be worked on at the bench", b.part.ID)
		}
	}
	if s.Action != assembly.Adjust {
		for _, in := range movers {
			for _, j := range in.joints {
				if out := j.other(in); j.closed && j.Kind.IsRigid() && !moving[out] {
					w.fail(CodeOrder, 0, []string{in.part.ID, out.part.ID}, "%s moves without %s, to which %s holds it", in.part.ID, out.part.ID, j.ID)
				}
			}
		}
	}
	for _, id := range c.onto {
		b := w.byID[id]
		switch {
		case b.site == absent:
			w.fail(CodeOrder, 0, []string{id}, "%s is to be held still, but is not there yet", id)
		case b.site == bench && s.Where == "place":
			w.fail(CodeOrder, 0, []string{id}, "%s is to be met in place, but lies on the bench", id)
		case b.site == placed && s.Where == "bench" && !isRoom(b.part):
			w.fail(CodeOrder, 0, []string{id}, "%s is to be met on the bench, but stands in place", id)
		}
	}
}

func set(bodies []*body) map[*body]bool {
	m := map[*body]bool{}
	for _, b := range bodies {
		m[b] = true
	}
	return m
}

// groupOf is everything rigidly joined to the given bodies, themselves included.
func (w *world) groupOf(seeds []*body) map[*body]bool {
	group := set(seeds)
	todo := slices.Clone(seeds)
	for len(todo) > 0 {
		b := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		for _, j := range b.joints {
			if other := j.other(b); j.closed && j.Kind.IsRigid() && !group[other] {
				group[other] = true
				todo = append(todo, other)
			}
		}
	}
	return group
}

// other is the body at the other side of a joint.
func (j *closing) other(b *body) *body {
	if j.a == b {
		return j.b
	}
	return j.a
}

// move brings the movers from their start along the motion, and the drawn sides along their way, and notes which pairs
// of bodies have to be proved clear meanwhile.
func (w *world) move(s assembly.Step, c job, movers []*body) {
	lead := movers[0]
	starts := w.starts(c, movers)
	if lead.site == placed && s.Where == "place" {
		if off := poseGap(lead.now, c.start); off > placeTolerance {
			w.fail(CodePose, off, []string{lead.part.ID}, "%s stands in place %.4g mm from where the motion starts", lead.part.ID, off)
		}
	}
	drawn := w.drawn(c)
	w.checkLoose(c, movers)
	way := w.inTheWay(s, c, movers, drawn)
	if lead.site == absent && len(c.motion) > 0 {
		w.checkOpen(movers, starts, way)
	}
	if lead.site != placed && s.Where == "place" && len(c.motion) > 0 {
		w.checkRoom(movers, starts)
	}
	if lead.site == absent && len(c.motion) == 0 && len(way) > 0 {
		w.fail(CodePose, 0, c.moves, "%s is there all at once: bodies that come among others need a motion", lead.part.ID)
	}
	poses := starts
	for i, m := range c.motion {
		last := i == len(c.motion)-1
		for k, b := range movers {
			w.confront(b, poses[k], m, way)
		}
		if last {
			w.confrontDrawn(movers, poses, m, drawn, way)
		}
		for k := range poses {
			poses[k] = moved(poses[k], m, 1)
		}
	}
	for k, b := range movers {
		if len(c.motion) == 0 {
			w.confront(b, poses[k], assembly.Move{Kind: assembly.Translate}, way)
		}
		b.now, b.on = poses[k], nil
	}
	if len(c.joints) == 0 && len(c.onto) > 0 {
		lead.on = w.byID[c.onto[0]]
	}
	for _, d := range drawn {
		d.body.now = d.body.now.Moved(d.by)
	}
}

// checkLoose checks that a body that was put on another without a joint is taken up from where it was put: a coupling that
// was run on to a pipe does not leave it by itself.
func (w *world) checkLoose(c job, movers []*body) {
	lead := movers[0]
	if lead.on == nil || set(movers)[lead.on] {
		return
	}
	into := lead.on.now.Inverse()
	if off := poseGap(into.Compose(lead.now), into.Compose(c.start)); off > placeTolerance {
		w.fail(CodePose, off, []string{lead.part.ID}, "%s was put on %s %.4g mm from where the motion starts", lead.part.ID, lead.on.part.ID, off)
	}
}

// starts gives every mover its pose before the motion: bodies already there keep their places to one another, new ones
// come as they will stand in the finished frame.
func (w *world) starts(c job, movers []*body) []geom.Pose {
	before := func(b *body) geom.Pose {
		if b.site == absent {
			return b.part.Pose
		}
		return b.now
	}
	toStart := c.start.Compose(before(movers[0]).Inverse())
	out := make([]geom.Pose, len(movers))
	for i, b := range movers {
		out[i] = toStart.Compose(before(b))
	}
	return out
}

// moved is a pose a fraction of the way along a move.
func moved(p geom.Pose, m assembly.Move, s float64) geom.Pose {
	if m.Kind == assembly.Translate {
		return p.Moved(m.By.Mul(s))
	}
	return p.Turned(m.Axis.At, m.Axis.Dir, m.ByDeg*s*math.Pi/180, m.AdvanceMM*s)
}

// poseGap is how far two poses lie apart: the greater of the shift of their origins and, as if at 1 m, of their axes.
func poseGap(a, b geom.Pose) float64 {
	const arm = 1000 // mm
	return max(a.Origin.Sub(b.Origin).Len(), arm*a.X.Sub(b.X).Len()*angleTolerance/placeTolerance,
		arm*a.Z.Sub(b.Z).Len()*angleTolerance/placeTolerance)
}

// pull is a body of a side that a right-and-left piece draws in.
type pull struct {
	body *body
	by   geom.Vec
}

// drawn lists the bodies of the sides that are drawn in, and checks that whole sides are.
func (w *world) drawn(c job) []pull {
	var out []pull
	for _, d := range c.draws {
		moving := set(w.all(d.Moves))
		for _, j := range w.joints {
			if j.closed && j.Kind.IsRigid() && moving[j.a] != moving[j.b] {
				w.fail(CodeOrder, 0, d.Moves, "a side is drawn in without all of it: %s holds it to the rest", j.ID)
			}
		}
		for _, b := range w.all(d.Moves) {
			if b.site == absent || isRoom(b.part) {
				w.fail(CodeOrder, 0, []string{b.part.ID}, "%s is drawn in, but is not there to be moved", b.part.ID)
			}
			out = append(out, pull{b, d.By})
		}
	}
	return out
}

// inTheWay lists the bodies that a motion has to clear: on the bench those met and all rigidly joined to them, in place
// all that stand there.
func (w *world) inTheWay(s assembly.Step, c job, movers []*body, drawn []pull) []*body {
	moving := set(movers)
	for _, d := range drawn {
		moving[d.body] = true
	}
	var group map[*body]bool
	if s.Where == "bench" {
		group = w.groupOf(w.all(c.onto))
	}
	var out []*body
	for _, b := range w.bodies {
		if moving[b] || b.site == absent || group != nil && !group[b] || group == nil && b.site != placed {
			continue
		}
		out = append(out, b)
	}
	return out
}

// close closes the joints of a job.
func (w *world) close(s assembly.Step, c job, threads map[*closing]float64) {
	for _, id := range c.joints {
		j := w.jointBy[id]
		if j.closed {
			w.fail(CodeOrder, 0, []string{j.A.Part, j.B.Part}, "%s is closed already", id)
		}
		j.closed = true
		if n, ok := threads[j]; ok {
			j.turns = n
		}
	}
}

// settle takes over what was on the bench into place with the bodies it was carried with: a group is in one spot.
func (w *world) settle(s assembly.Step, c job) {
	if s.Where != "place" || len(c.moves) == 0 {
		return
	}
	group := w.groupOf(w.all(c.moves))
	for _, b := range w.bodies {
		if b.site == bench && group[b] {
			b.site = placed
		}
	}
}

// checkMet checks that a step names all that it joins: what is neither moved nor met would not be kept clear of.
func (w *world) checkMet(c job, j *closing) {
	for _, b := range []*body{j.a, j.b} {
		if !contains(c.moves, b.part.ID) && !contains(c.onto, b.part.ID) {
			w.fail(CodeOrder, 0, []string{b.part.ID}, "it closes %s, but does not name %s among what it moves or meets", j.ID, b.part.ID)
		}
	}
}

// checkEnds checks that the joints just closed hold their bodies as the finished frame has them, or that a later step
// adjusts one of them.
func (w *world) checkEnds(s assembly.Step, c job) {
	for _, id := range c.joints {
		j := w.jointBy[id]
		w.checkThere(s, j)
		w.checkMet(c, j)
		if w.movesLater(s, j) {
			continue
		}
		want := j.a.part.Pose.Inverse().Compose(j.b.part.Pose)
		got := j.a.now.Inverse().Compose(j.b.now)
		if off := poseGap(want, got); off > placeTolerance {
			w.fail(CodePose, off, []string{j.A.Part, j.B.Part},
				"after it %s and %s lie %.4g mm off their places in the finished frame", j.A.Part, j.B.Part, off)
		}
	}
}

// checkThere checks that both bodies of a joint are where the work is done.
func (w *world) checkThere(s assembly.Step, j *closing) {
	for _, b := range []*body{j.a, j.b} {
		if b.site != siteOf(s) && !(isRoom(b.part) && s.Where == "place") {
			w.fail(CodeOrder, 0, []string{b.part.ID}, "it closes %s, but %s is not there", j.ID, b.part.ID)
		}
	}
}

// movesLater tells whether a later step moves one side of a joint and not the other.
func (w *world) movesLater(s assembly.Step, j *closing) bool {
	later := func(b *body) []occasion {
		for i, o := range b.moved {
			if o.step > s.Number {
				return b.moved[i:]
			}
		}
		return nil
	}
	return !slices.Equal(later(j.a), later(j.b))
}

// occasion is a step, or one repeat of it, in which a body moves.
type occasion struct{ step, copy int }

// listOccasions notes for every body when it moves.
func (w *world) listOccasions() {
	for _, s := range w.plan.Steps {
		for i, c := range copies(s) {
			for _, id := range c.moves {
				w.byID[id].moved = append(w.byID[id].moved, occasion{s.Number, i})
			}
			for _, d := range c.draws {
				for _, id := range d.Moves {
					w.byID[id].moved = append(w.byID[id].moved, occasion{s.Number, i})
				}
			}
		}
	}
}

// finish checks the finished frame: everything there, in place, joined, and clear of one another.
func (w *world) finish() {
	w.stepNumber, w.copyNumber = 0, 0
	for _, b := range w.bodies {
		if b.site == absent {
			w.fail(CodeOrder, 0, []string{b.part.ID}, "%s was never placed", b.part.ID)
			continue
		}
		if b.site == bench {
			w.fail(CodeOrder, 0, []string{b.part.ID}, "%s is left on the bench", b.part.ID)
		}
		if off := poseGap(b.now, b.part.Pose); off > placeTolerance {
			w.fail(CodePose, off, []string{b.part.ID}, "%s ends %.4g mm from its place", b.part.ID, off)
		}
	}
	for _, j := range w.joints {
		if !j.closed {
			w.fail(CodeOrder, 0, []string{j.A.Part, j.B.Part}, "%s was never closed", j.ID)
		} else if j.turns != 0 && j.PitchMM > 0 && math.Abs(j.turns*j.PitchMM-j.EngagementMM) > turnTolerance {
			w.fail(CodeThread, math.Abs(j.turns*j.PitchMM-j.EngagementMM), []string{j.A.Part, j.B.Part},
				"%s ends %.4g turns in, its engagement asks for %.4g", j.ID, j.turns, j.EngagementMM/j.PitchMM)
		}
	}
	for i, a := range w.bodies {
		for _, b := range w.bodies[:i] {
			w.compare(a, a.part.Pose, b, b.part.Pose, assembly.Move{Kind: assembly.Translate}, geom.Vec{})
		}
	}
}
