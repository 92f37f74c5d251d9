package mockup

import (
	"maps"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// plan makes the plan of the model from that of the frame: the same parts, joints and steps, with the model's lengths
// and the model's joints.
func (b *builder) plan() {
	p := b.from
	p.Parts = slices.Clone(p.Parts)
	for i := range p.Parts {
		b.smallPart(&p.Parts[i])
	}
	p.Joints = slices.Clone(p.Joints)
	for i := range p.Joints {
		b.smallJoint(&p.Joints[i])
	}
	p.Steps = b.smallSteps(p)
	p.Findings, p.Cuts, p.Shopping, p.Assumptions = []assembly.Finding{}, []assembly.Cut{}, []assembly.Item{}, []assembly.Assumption{}
	p.Effort = assembly.Effort{} // times are of steel
	b.m.Plan = p
}

func (b *builder) smallPart(p *assembly.Part) {
	p.Pose = b.smallPose(p.Pose)
	if p.Kind == standard.Pipe {
		begin, long := b.ends(p)
		p.Pose, p.LengthMM = p.Pose.Moved(p.Pose.Z.Mul(begin)), long
	}
	p.Dims = nil // those of the frame; what the model has instead is in its solids
	p.Ports = slices.Clone(p.Ports)
	for i := range p.Ports {
		q := &p.Ports[i]
		q.At = b.smallVec(q.At).Add(q.Out.Mul(b.lugs[end{p.ID, q.Name}].more + b.raised(b.parts[p.ID], q.Name)))
	}
	p.Boxes = slices.Clone(p.Boxes)
	for i, x := range p.Boxes {
		p.Boxes[i] = geom.Box{Min: b.smallVec(x.Min), Max: b.smallVec(x.Max)}
	}
	p.Holes = slices.Clone(p.Holes)
	for i, h := range p.Holes {
		h.At, h.Diameter, h.Depth = b.smallVec(h.At), b.small(h.Diameter), b.small(h.Depth)
		p.Holes[i] = h
	}
}

// smallJoint turns a thread of many turns into one of a quarter turn that goes in as deep.
func (b *builder) smallJoint(j *assembly.Joint) {
	if j.Axis != nil {
		a := *j.Axis
		a.At = b.smallVec(a.At)
		j.Axis = &a
	}
	if !j.Kind.IsThreaded() || j.Kind == assembly.UnionNut {
		return
	}
	j.EngagementMM = b.depth(j)
	j.HandTightMM = j.EngagementMM
	j.PitchMM = j.EngagementMM / QuarterTurn
	j.Turns = &assembly.Window{Min: QuarterTurn, Max: QuarterTurn}
}

// walk follows where bodies are while the steps are done, in the frame and in the model.
type walk struct {
	b        *builder
	final    map[string]geom.Pose // of the model; until it is run forward, a long screw's is where it is run back to
	made     map[string]geom.Pose // of the model, put together
	back     map[string]geom.Pose // where the long screws that are not yet run forward are in the frame
	steel    map[string]geom.Pose // now
	model    map[string]geom.Pose // now
	adjusted map[string]bool      // bodies that a later step turns back to their place
	lifted   bool                 // the step in hand stands something up
	apart    map[string]drawn     // how far bodies stand from their place until they are drawn in
}

// drawn is by how much a body is drawn to its place, in the frame and in the model.
type drawn struct{ steel, model geom.Vec }

// draws works out how far each body is drawn in the model: as deep as the joints that do it go there.
func (w walk) draws(list []assembly.Draw, joints []string) []assembly.Draw {
	out := slices.Clone(list)
	for i := range out {
		by := out[i].By
		out[i].By = w.b.smallVec(by)
		steel, model := 0.0, 0.0
		for k := range w.b.from.Joints {
			if j := &w.b.from.Joints[k]; slices.Contains(joints, j.ID) && j.Kind.IsThreaded() && j.Kind != assembly.UnionNut {
				steel, model = steel+j.EngagementMM, model+w.b.depth(j)
			}
		}
		if steel > 0 && abs(by.Len()-steel) < sameMM {
			out[i].By = by.Mul(model / steel)
		}
	}
	return out
}

// sameMM is how near two lengths of the frame are that are the same.
const sameMM = 1e-3

// liftMM is how much higher than in steel a model is held while it is stood up, because its flanges and fittings are
// fatter than true.
const liftMM = 4.0

// smallSteps makes the motions of all steps those of the model, and each start what the motion makes it.
func (b *builder) smallSteps(small assembly.Plan) []assembly.Step {
	w := walk{b: b, final: map[string]geom.Pose{}, back: map[string]geom.Pose{}, steel: map[string]geom.Pose{}, model: map[string]geom.Pose{}, adjusted: map[string]bool{}, apart: map[string]drawn{}}
	for _, p := range small.Parts {
		w.final[p.ID] = p.Pose
	}
	w.made = maps.Clone(w.final)
	for _, s := range b.from.Steps {
		w.runBack(s.Action, s.Moves, s.Motion, s.Joints)
		for _, r := range s.Repeats {
			w.runBack(s.Action, r.Moves, r.Motion, r.Joints)
		}
		if s.Action == assembly.Adjust {
			for _, id := range s.Moves {
				w.adjusted[id] = true
			}
		}
		w.note(s.Draws, s.Joints)
		for _, r := range s.Repeats {
			w.note(r.Draws, r.Joints)
		}
	}
	var steps []assembly.Step
	for _, s := range b.from.Steps {
		closing := s.Action == assembly.Screw && len(s.Joints) > 0
		w.lifted = s.Action == assembly.StandUp
		r := w.do(assembly.Repeat{Moves: s.Moves, Onto: s.Onto, Joints: s.Joints, Start: s.Start, Motion: s.Motion, Draws: s.Draws}, closing)
		s.Start, s.Motion, s.Draws = r.Start, r.Motion, r.Draws
		repeats := make([]assembly.Repeat, len(s.Repeats))
		for i := range s.Repeats {
			repeats[i] = w.do(s.Repeats[i], closing)
		}
		if s.Action == assembly.Adjust {
			continue // the model has no such play: a flange that is backed off in steel goes straight to its place
		}
		s.Repeats = repeats
		if closing {
			s.Turns = QuarterTurn
		}
		s.Clock = nil // a joint of the model stops at one angle, and that is the right one
		s.SwingRadiusMM = b.small(s.SwingRadiusMM)
		b.m.steps = append(b.m.steps, s.Number)
		s.Number = len(steps) + 1
		steps = append(steps, s)
	}
	return steps
}

// do carries one motion out in both worlds and returns it as the model's.
func (w walk) do(r assembly.Repeat, closing bool) assembly.Repeat {
	b := w.b
	if closing && len(r.Moves) == 1 {
		w.final[r.Moves[0]] = w.made[r.Moves[0]]
		delete(w.back, r.Moves[0])
	}
	r.Clock = nil
	draws := w.draws(r.Draws, r.Joints)
	for i := range draws {
		for _, id := range draws[i].Moves {
			w.steel[id] = w.steel[id].Moved(r.Draws[i].By)
			w.model[id] = w.model[id].Moved(draws[i].By)
		}
	}
	steelMotion := r.Motion
	r.Motion = b.smallMotion(b.pushes(r.Motion, r.Draws, r.Joints), r.Joints, closing)
	r.Draws = draws
	if len(r.Moves) == 0 {
		return r
	}
	if w.lifted {
		r.Motion = lift(r.Motion)
	}
	first := r.Moves[0]
	end := through(r.Start, steelMotion, false)
	back := geom.Identity()
	if now, ok := w.steel[first]; ok {
		back = now.Inverse()
	}
	for _, id := range r.Moves {
		now, ok := w.steel[id]
		if !ok {
			w.steel[id] = end
			continue
		}
		w.steel[id] = end.Compose(back).Compose(now)
	}
	t := w.shift(r, closing)
	for _, id := range r.Moves {
		w.model[id] = t.Compose(w.final[id])
	}
	r.Motion = w.runOn(r)
	r.Start = through(w.model[first], r.Motion, true)
	return r
}

// runBack notes where the coupling of a long screw is, in both worlds, until the step that runs it forward.
func (w walk) runBack(action assembly.Action, moves []string, motion []assembly.Move, joints []string) {
	if action != assembly.Screw || len(joints) == 0 || len(moves) != 1 || len(motion) == 0 {
		return
	}
	id := moves[0]
	if p := w.b.parts[id]; p != nil && p.Kind == standard.LongScrew {
		w.back[id] = through(p.Pose, motion, true)
		w.final[id] = through(w.final[id], w.b.smallMotion(motion, joints, true), true)
	}
}

// runOn makes the straight move that pushes the coupling of a long screw on to its running thread, or the other way round, the turn
// that runs it right back: the last stretch of the way, two depths of its joint, takes half a turn.
func (w walk) runOn(r assembly.Repeat) []assembly.Move {
	n := len(r.Motion)
	if n == 0 || r.Motion[n-1].Kind != assembly.Translate || w.b.o.Bought {
		return r.Motion
	}
	for i := range w.b.from.Joints {
		j := &w.b.from.Joints[i]
		if !w.b.runs(j) {
			continue
		}
		screw, pipe := j.A.Part, j.B.Part
		if w.b.parts[screw].Kind == standard.Pipe {
			screw, pipe = pipe, screw
		}
		_, open := w.back[screw]
		meets := slices.Contains(r.Moves, screw) && slices.Contains(r.Onto, pipe) || slices.Contains(r.Moves, pipe) && slices.Contains(r.Onto, screw)
		by := r.Motion[n-1].By
		way, long := by.Unit(), 2*w.b.depth(j)
		if !open || !meets || by.Len() < long || abs(way.Dot(w.model[screw].Z)) < 1-1e-6 {
			continue
		}
		turn := 360 * 2 * QuarterTurn
		if j.Hand == "left" {
			turn = -turn
		}
		out := slices.Clone(r.Motion)
		out[n-1].By = by.Sub(way.Mul(long))
		return append(out, assembly.Move{Kind: assembly.Turn, Axis: assembly.Axis{At: w.model[screw].Origin, Dir: way}, ByDeg: turn, AdvanceMM: long})
	}
	return r.Motion
}

// lift raises a motion, and puts down at its end what it moved.
func lift(motion []assembly.Move) []assembly.Move {
	up := geom.V(0, 0, liftMM)
	for i := range motion {
		motion[i].Axis.At = motion[i].Axis.At.Add(up)
	}
	return append(motion, assembly.Move{Kind: assembly.Translate, By: up.Neg()})
}

// shift is the rigid motion that takes the moved bodies of the finished model to where the step leaves them.
func (w walk) shift(r assembly.Repeat, closing bool) geom.Pose {
	if closing && len(r.Onto) > 0 {
		if now, ok := w.model[r.Onto[0]]; ok { // what is screwed on stands to the other side as in the finished model
			return now.Compose(w.final[r.Onto[0]].Inverse())
		}
	}
	id := r.Moves[0]
	for _, q := range r.Moves {
		if !w.adjusted[q] {
			id = q
			break
		}
	}
	of := w.b.parts[id].Pose
	if back, ok := w.back[id]; ok {
		of = back
	}
	t := w.steel[id].Compose(of.Inverse())
	if d, ok := w.apart[id]; ok && t.Apply(geom.Vec{}).Add(d.steel).Len() < sameMM && t.X.Dot(geom.AxisX)+t.Y.Dot(geom.AxisY) > 2-1e-9 {
		return geom.At(d.model.Neg())
	}
	return w.b.smallPose(t)
}

// note adds up how far bodies are drawn.
func (w walk) note(list []assembly.Draw, joints []string) {
	small := w.draws(list, joints)
	for i, d := range list {
		for _, id := range d.Moves {
			a := w.apart[id]
			w.apart[id] = drawn{a.steel.Add(d.By), a.model.Add(small[i].By)}
		}
	}
}

// pushes makes the straight move by which a right-and-left piece is set to its threads, as long as they are deep, one that
// is as long as the joint of the model: still at the size of the frame.
func (b *builder) pushes(motion []assembly.Move, draws []assembly.Draw, joints []string) []assembly.Move {
	if len(draws) == 0 || len(joints) == 0 {
		return motion
	}
	out := slices.Clone(motion)
	for i := range b.from.Joints {
		j := &b.from.Joints[i]
		if j.ID != joints[0] || j.EngagementMM <= 0 {
			continue
		}
		for k := range out {
			if m := &out[k]; m.Kind == assembly.Translate && abs(m.By.Len()-j.EngagementMM) < sameMM && abs(abs(m.By.Dot(draws[0].By))-m.By.Len()*draws[0].By.Len()) < sameMM {
				m.By = m.By.Mul(b.depth(j) * b.scale / j.EngagementMM)
			}
		}
	}
	return out
}

// through is the pose that a motion takes a pose to, or, undone, the pose that it comes from.
func through(pose geom.Pose, motion []assembly.Move, undo bool) geom.Pose {
	list := slices.Clone(motion)
	sign := 1.0
	if undo {
		slices.Reverse(list)
		sign = -1
	}
	for _, m := range list {
		if m.Kind == assembly.Turn {
			pose = pose.Turned(m.Axis.At, m.Axis.Dir, sign*m.ByDeg*math.Pi/180, sign*m.AdvanceMM)
			continue
		}
		pose = pose.Moved(m.By.Mul(sign))
	}
	return pose
}

// smallMotion makes each stretch smaller; the turn that closes a thread becomes a quarter turn as deep as the joint.
func (b *builder) smallMotion(motion []assembly.Move, joints []string, closing bool) []assembly.Move {
	out := slices.Clone(motion)
	for i := range out {
		m := &out[i]
		m.By = b.smallVec(m.By)
		m.Axis.At = b.smallVec(m.Axis.At)
		if m.Kind != assembly.Turn {
			continue
		}
		if !closing || i != len(out)-1 {
			m.AdvanceMM = b.small(m.AdvanceMM)
			continue
		}
		depth := b.depthOf(joints)
		m.ByDeg = math.Copysign(360*QuarterTurn, m.ByDeg)
		if m.AdvanceMM != 0 {
			m.AdvanceMM = math.Copysign(depth, m.AdvanceMM)
		}
	}
	return out
}

// depthOf is how deep the joint of a step goes in the model.
func (b *builder) depthOf(joints []string) float64 {
	for i := range b.from.Joints {
		if slices.Contains(joints, b.from.Joints[i].ID) {
			return b.depth(&b.from.Joints[i])
		}
	}
	return leastDepthMM
}
