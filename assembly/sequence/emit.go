package sequence

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// writer turns removals round into steps.
type writer struct {
	f     *frame
	steps []assembly.Step
}

// group writes the steps that build a group: the seed that is left over, then the removals from the last to the first.
func (w *writer) group(seed int, removals []*removal) {
	if seed >= 0 {
		w.add(assembly.Step{Action: assembly.Place, Moves: w.f.ids([]int{seed}), Start: w.f.pose[seed], Where: "bench"})
	}
	for i := len(removals) - 1; i >= 0; i-- {
		w.removal(removals[i])
	}
}

func (w *writer) removal(r *removal) {
	if len(r.bodies) > 1 {
		left := r.bodies
		for _, in := range r.inner {
			for _, b := range in.bodies {
				left = without(left, b)
			}
		}
		seed := -1
		if len(left) > 0 {
			seed = left[0]
		}
		w.group(seed, r.inner)
	}
	switch {
	case len(r.pair) > 0:
		w.piece(r)
	case r.screw >= 0:
		w.screw(r)
	default:
		w.straight(r)
	}
}

// piece writes the step that closes both joints of a right-and-left or long-screw piece.
func (w *writer) piece(r *removal) {
	s := w.base(r, assembly.Screw)
	s.Joints = w.f.jointIDs(r.pair)
	s.Turns = r.out[0].turns
	if len(r.draws) > 0 {
		s.Draws = []assembly.Draw{{Moves: w.f.ids(r.draws), By: r.drawBy.Neg()}}
	}
	w.add(s)
	w.closeStanding(r.joints, r.inPlace)
}

func (w *writer) add(s assembly.Step) {
	s.Number = len(w.steps) + 1
	for i := range s.Motion {
		s.Motion[i].By, s.Motion[i].Axis.Dir = plain(s.Motion[i].By), plain(s.Motion[i].Axis.Dir)
	}
	s.People = max(s.People, 1)
	for _, list := range []*[]string{&s.Moves, &s.Onto, &s.Joints} {
		if *list == nil {
			*list = []string{}
		}
	}
	if s.Motion == nil {
		s.Motion = []assembly.Move{}
	}
	if s.Draws == nil {
		s.Draws = []assembly.Draw{}
	}
	s.Repeats = []assembly.Repeat{}
	w.steps = append(w.steps, s)
}

// plain takes the sign off zeros.
func plain(v geom.Vec) geom.Vec { return v.Add(geom.Vec{}) }

// base fills what every step made from a removal has.
func (w *writer) base(r *removal, action assembly.Action) assembly.Step {
	movers := r.bodies
	if len(movers) == 0 {
		movers = r.mover
	}
	s := assembly.Step{
		Action: action, Moves: w.f.ids(movers), Onto: w.f.ids(r.held), SwingRadiusMM: r.swing,
		Where: where(r.inPlace),
	}
	s.Start, s.Motion = turnRound(r.pose, r.out)
	return s
}

func where(inPlace bool) string {
	if inPlace {
		return "place"
	}
	return "bench"
}

// turnRound reverses a motion outwards: it returns where it ends, as the start, and the motion back.
func turnRound(pose geom.Pose, out []leg) (geom.Pose, []assembly.Move) {
	moves := make([]assembly.Move, len(out))
	for i, l := range out {
		m := assembly.Move{Kind: assembly.Translate, By: l.by.Neg()}
		if l.turns != 0 {
			m = l.screwMove()
			pose = pose.Turned(m.Axis.At, m.Axis.Dir, -m.ByDeg*math.Pi/180, -m.AdvanceMM)
		} else {
			pose = pose.Moved(l.by)
		}
		moves[len(out)-1-i] = m
	}
	return pose, moves
}

// screwMove is the turn that undoes l: seen from behind the body that turns, a right-hand thread goes clockwise, which
// about the direction of advance is a positive angle.
func (l leg) screwMove() assembly.Move {
	m := assembly.Move{
		Kind: assembly.Turn, Axis: assembly.Axis{At: l.at, Dir: l.dir.Neg()},
		ByDeg: 360 * l.turns, AdvanceMM: l.travel,
	}
	if l.left {
		m.ByDeg = -m.ByDeg
	}
	return m
}

func (w *writer) screw(r *removal) {
	s := w.base(r, assembly.Screw)
	s.Joints = w.f.jointIDs([]int{r.screw})
	s.Turns = r.out[0].turns
	w.add(s)
	w.closeStanding(r.joints, r.inPlace)
}

// closeStanding writes the steps that close joints between bodies that stand already: nuts one by one, faces that lie
// against the same body together.
func (w *writer) closeStanding(joints []int, inPlace bool) {
	var faces []int
	for _, k := range joints {
		if w.f.joints[k].Kind == assembly.UnionNut {
			w.add(assembly.Step{Action: assembly.JoinUnion, Onto: w.f.ids(w.ends([]int{k})), Joints: w.f.jointIDs([]int{k}), Where: where(inPlace)})
		} else {
			faces = append(faces, k)
		}
	}
	if len(faces) > 0 {
		w.add(assembly.Step{Action: assembly.Fasten, Onto: w.f.ids(w.ends(faces)), Joints: w.f.jointIDs(faces), Where: where(inPlace)})
	}
}

// ends lists the bodies that joints join, each once.
func (w *writer) ends(joints []int) []int {
	var out []int
	for _, k := range joints {
		for _, b := range []int{w.f.joints[k].a, w.f.joints[k].b} {
			if !contains(out, b) {
				out = append(out, b)
			}
		}
	}
	return out
}

func (w *writer) straight(r *removal) {
	settled := map[int]bool{}
	for _, a := range r.settle {
		for _, k := range a.joints {
			settled[k] = true
		}
	}
	var now, later []int
	for _, k := range r.joints {
		switch {
		case settled[k] || w.f.joints[k].isMember():
		case w.f.joints[k].Kind == assembly.UnionNut:
			later = append(later, k)
		default:
			now = append(now, k)
		}
	}
	if len(now) == 0 && len(later) > 0 {
		now, later = later[:1], later[1:]
	}
	w.standUp(r)
	s := w.base(r, w.action(r, now))
	s.Joints = w.f.jointIDs(now)
	w.add(s)
	for _, a := range r.settle {
		w.adjust(a, r.inPlace)
	}
	w.closeStanding(later, r.inPlace)
}

// standUp writes how a frame that was put together lying is stood up beside its place.
func (w *writer) standUp(r *removal) {
	if len(r.stand) == 0 {
		return
	}
	upright, _ := turnRound(r.pose, r.out)
	s := w.base(r, assembly.StandUp)
	s.Onto, s.SwingRadiusMM = nil, 0
	s.Start, s.Motion = turnRound(upright, r.stand)
	w.add(s)
}

// action names what a straight motion is.
func (w *writer) action(r *removal, joints []int) assembly.Action {
	has := map[assembly.JointKind]bool{}
	for _, k := range joints {
		has[w.f.joints[k].Kind] = true
	}
	switch {
	case has[assembly.Face]:
		return assembly.Fasten
	case has[assembly.StrapOn]:
		return assembly.PutStrap
	case has[assembly.Bored]:
		return assembly.ThreadOn
	case has[assembly.UnionNut]:
		return assembly.JoinUnion
	}
	return assembly.Place
}

// adjust writes how a flange is turned back against its face and screwed down.
func (w *writer) adjust(a adjustment, inPlace bool) {
	f := w.f
	j := &f.joints[a.joint]
	body := a.bodies[0]
	into := j.into(body)
	travel := a.turns * j.PitchMM
	start := f.parts[body].Pose.Turned(j.Axis.At, into, handed(j, 2*math.Pi*a.turns), travel)
	w.add(assembly.Step{
		Action: assembly.Adjust, Moves: f.ids(a.bodies), Onto: f.ids([]int{j.other(body)}), Turns: a.turns, Start: start,
		Motion: []assembly.Move{{
			Kind: assembly.Turn, Axis: assembly.Axis{At: j.Axis.At, Dir: into},
			ByDeg: -handed(j, 360*a.turns), AdvanceMM: -travel,
		}},
		SwingRadiusMM: swing(f.here(a.bodies), j.Axis.At, into), Where: where(inPlace),
	})
	w.closeStanding(a.joints, inPlace)
}
