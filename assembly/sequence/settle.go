package sequence

import (
	"math"
)

// A group between two faces of the room that face each other, as a rod between two walls, has no way in: it fits
// exactly. Its flanges on one side are therefore screwed a turn deeper on the bench and turned back out when the group
// stands, until they lie against the face; then they are screwed down.

const (
	// mostSettled is the most turns that a flange is screwed deeper for this.
	mostSettled = 2
	// leastPlay is the room, in mm, without which a frame cannot be slid in between two faces: common practice, no
	// source.
	leastPlay = 1.0
)

// settle finds the flanges to screw deeper so that no two contacts of a group face each other any more, and turns them
// there. It returns the reason when there are none.
func (s *scene) settle(bodies []int, cs []contact) ([]adjustment, []clash) {
	var done []adjustment
	for {
		i, k, ok := s.facing(cs)
		if !ok {
			return done, nil
		}
		if !s.isRoom(cs[i].fixed) || !s.isRoom(cs[k].fixed) {
			s.unsettle(done)
			return nil, []clash{{moving: s.ownOf(bodies, cs[i]), fixed: cs[i].fixed, why: holds, toward: cs[i].normal.Neg()}}
		}
		one, whyOne := s.deepen(bodies, cs, cs[i])
		if one == nil {
			var why *clash
			if one, why = s.deepen(bodies, cs, cs[k]); one == nil {
				s.unsettle(done)
				return nil, []clash{*whyOne, *why}
			}
		}
		done = append(done, one...)
		cs = withoutSettled(cs, one)
	}
}

// isRoom tells whether a body stands as firmly as the room.
func (s *scene) isRoom(b int) bool { return b == s.f.room || s.isFixture(b) }

// deepen turns in all flanges of a group that face the way of c.
func (s *scene) deepen(bodies []int, cs []contact, c contact) ([]adjustment, *clash) {
	var out []adjustment
	for _, d := range cs {
		if d.normal.Dot(c.normal) < 1-leastParting {
			continue
		}
		a, why := s.deepenOne(bodies, d)
		if why != nil {
			s.unsettle(out)
			return nil, why
		}
		out = append(out, *a)
	}
	return out, nil
}

// deepenRest turns in the flanges on the other side too, of a frame that has some screwed deeper already and still is too
// long to be stood up. Then it floats until they are turned back, and is held or packed up meanwhile.
func (s *scene) deepenRest(r *removal, cs []contact) bool {
	if len(r.settle) == 0 {
		return false
	}
	var more []adjustment
	for _, c := range cs {
		if !s.isRoom(c.fixed) || c.hole || math.Abs(c.normal.Z) < 1-leastParting {
			continue
		}
		a, why := s.deepenOne(r.bodies, c)
		if why != nil {
			s.unsettle(more)
			return false
		}
		more = append(more, *a)
	}
	r.settle = append(r.settle, more...)
	return len(more) > 0
}

func (s *scene) deepenOne(bodies []int, c contact) (*adjustment, *clash) {
	f := s.f
	flange := f.joints[c.joint].other(c.fixed)
	n, k := s.screws(flange)
	j := &f.joints[max(k, 0)]
	if n != 1 || j.Turns == nil || j.extra != 0 {
		return nil, &clash{moving: flange, fixed: c.fixed, short: leastPlay, why: noPlay, toward: c.normal.Neg()}
	}
	turns := math.Min(j.Turns.Max-j.turns(), mostSettled)
	if whole := math.Floor(turns + 1e-6); whole >= 1 {
		turns = whole // the flange's holes come back to where they were
	}
	if play := turns * j.PitchMM; play < leastPlay {
		return nil, &clash{moving: flange, fixed: c.fixed, short: leastPlay - play, why: noPlay, toward: c.normal.Neg()}
	}
	into := j.into(flange)
	t := turn{j.Axis.At, into, turns * j.PitchMM}
	mate := j.other(flange)
	skip := func(m, e int) bool { return e == mate }
	if met, ok := f.spin(f.here([]int{flange}), s.rest([]int{flange}), t, skip); ok {
		return nil, &met
	}
	a := &adjustment{joint: k, bodies: []int{flange}, turns: turns, joints: []int{c.joint}}
	f.setPose(flange, f.pose[flange].Turned(j.Axis.At, into, handed(j, 2*math.Pi*turns), turns*j.PitchMM))
	j.extra = turns
	return a, nil
}

// handed gives the angle of a screw about the direction of its advance its sign.
func handed(j *joint, angle float64) float64 {
	if j.Hand == "left" {
		return -angle
	}
	return angle
}

// unsettle turns flanges back to where they end.
func (s *scene) unsettle(as []adjustment) {
	for _, a := range as {
		s.f.joints[a.joint].extra = 0
		for _, b := range a.bodies {
			s.f.setPose(b, s.f.parts[b].Pose)
		}
	}
}

// withoutSettled drops the contacts that adjustments have opened.
func withoutSettled(cs []contact, as []adjustment) []contact {
	open := map[int]bool{}
	for _, a := range as {
		for _, k := range a.joints {
			open[k] = true
		}
	}
	var out []contact
	for _, c := range cs {
		if !open[c.joint] {
			out = append(out, c)
		}
	}
	return out
}
