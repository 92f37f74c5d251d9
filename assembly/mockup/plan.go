package mockup

import (
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
	var steps []assembly.Step
	for _, s := range p.Steps {
		if s.Action == assembly.Adjust {
			continue // the model has no such play: a flange that is backed off in steel goes straight to its place
		}
		b.smallStep(&s, p)
		s.Number = len(steps) + 1
		steps = append(steps, s)
	}
	p.Steps = steps
	p.Findings, p.Cuts, p.Shopping, p.Assumptions = []assembly.Finding{}, []assembly.Cut{}, []assembly.Item{}, []assembly.Assumption{}
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
		q.At = b.smallVec(q.At).Add(q.Out.Mul(b.lugs[end{p.ID, q.Name}].more))
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

// smallStep makes the motion of a step that of the model, and its start what the motion makes it.
func (b *builder) smallStep(s *assembly.Step, small assembly.Plan) {
	closing := b.closes(s.Action, s.Joints)
	if closing {
		s.Turns = QuarterTurn
	}
	s.Clock = nil // a joint of the model stops at one angle, and that is the right one
	s.SwingRadiusMM = b.small(s.SwingRadiusMM)
	s.Motion = b.smallMotion(s.Motion, s.Joints, closing)
	s.Start = startOf(small, s.Moves, s.Motion)
	s.Draws = slices.Clone(s.Draws)
	for i := range s.Draws {
		s.Draws[i].By = b.smallVec(s.Draws[i].By)
	}
	s.Repeats = slices.Clone(s.Repeats)
	for i := range s.Repeats {
		r := &s.Repeats[i]
		r.Clock = nil
		r.Motion = b.smallMotion(r.Motion, r.Joints, closing)
		r.Start = startOf(small, r.Moves, r.Motion)
	}
}

// closes tells whether a step screws something up.
func (b *builder) closes(a assembly.Action, joints []string) bool {
	return a == assembly.Screw && len(joints) > 0
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

// startOf is the pose of the first moved body before a motion that ends at its final place.
func startOf(p assembly.Plan, moves []string, motion []assembly.Move) geom.Pose {
	if len(moves) == 0 {
		return geom.Pose{}
	}
	var pose geom.Pose
	for i := range p.Parts {
		if p.Parts[i].ID == moves[0] {
			pose = p.Parts[i].Pose
		}
	}
	for i := len(motion) - 1; i >= 0; i-- {
		m := motion[i]
		if m.Kind == assembly.Turn {
			pose = pose.Turned(m.Axis.At, m.Axis.Dir, -m.ByDeg*math.Pi/180, -m.AdvanceMM)
			continue
		}
		pose = pose.Moved(m.By.Neg())
	}
	return pose
}
