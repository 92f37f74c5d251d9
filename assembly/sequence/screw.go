package sequence

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// gaps are the distances, in mm, that an unscrewed body is drawn along its axis before it is taken out sideways.
var gaps = []float64{3, 10, 30, 100, 300}

// tryScrew looks for a way to unscrew thread k by turning bodies, of which body has the thread.
func (s *scene) tryScrew(k, body int, bodies []int) *removal {
	f := s.f
	j := &f.joints[k]
	key := moveKey{'s', k, body}
	if s.isBlocked(key) || s.wrenches && s.isBlocked(moveKey{'w', k, body}) || s.waits(bodies) {
		return nil
	}
	others := without(s.crossing(bodies), k)
	if c, held := s.heldBy(j, body, bodies, others); held {
		s.remember(key, []clash{c})
		return nil
	}
	fixed := s.rest(bodies)
	end := f.here(bodies)
	mate := j.other(body)
	skip := func(m, e int) bool { return m == body && e == mate }
	into := j.into(body)
	turns := j.turns() + j.extra
	travel := turns * j.PitchMM
	t := turn{j.Axis.At, into.Neg(), travel}
	if c, met := f.spin(end, fixed, t, skip); met {
		s.remember(key, []clash{c})
		return nil
	}
	off := end.turned(j.Axis.At, into, -handed(j, 2*math.Pi*turns), -travel)
	legs, clashes := s.drawOff(off, fixed, into.Neg(), skip)
	if legs == nil {
		s.remember(key, clashes)
		return nil
	}
	radius := swing(end, j.Axis.At, into)
	tight, ok := s.reachable(k, body, bodies, fixed, radius)
	if !ok {
		return nil
	}
	if c, ok := s.tooHigh(body, end, append([]leg{{at: j.Axis.At, dir: into.Neg(), turns: turns, travel: travel}}, legs...)); ok {
		s.remember(key, []clash{c})
		return nil
	}
	out := []leg{{at: j.Axis.At, dir: into.Neg(), turns: turns, travel: travel, left: j.Hand == "left"}}
	ordered := append([]int{body}, without(bodies, body)...)
	return &removal{
		bodies: ordered, held: []int{mate}, screw: k, joints: others, inPlace: s.room,
		out: append(out, legs...), pose: f.pose[body], swing: radius, tight: tight,
	}
}

// heldBy tells whether another joint between bodies and the rest forbids turning them.
func (s *scene) heldBy(j *joint, body int, bodies, others []int) (clash, bool) {
	for _, n := range others {
		o := &s.f.joints[n]
		own, fixed := o.a, o.b
		if !contains(bodies, own) {
			own, fixed = fixed, own
		}
		hold := clash{moving: own, fixed: fixed, why: holds}
		switch {
		case o.Kind == assembly.UnionNut:
			// The seats meet at the end of the turn only if they face along its axis, and the way it advances.
			if o.into(own).Dot(j.into(body)) < 1-1e-6 {
				return hold, true
			}
		case o.Kind == assembly.Face && !s.joinsFoot(o):
		default:
			return hold, true
		}
	}
	return clash{}, false
}

// drawOff finds the straight way out of a body that is off its thread: along the axis, or a little along it and then
// sideways.
func (s *scene) drawOff(off side, fixed []int, out geom.Vec, skip pairFilter) ([]leg, []clash) {
	around := s.around(fixed)
	box := off.box()
	far := clearing(box, around, out)
	var clashes []clash
	clear := func(from side, skip pairFilter) func(v geom.Vec) bool {
		return func(v geom.Vec) bool {
			c, met := s.f.slide(from, fixed, v, skip)
			if met {
				clashes = append(clashes, c)
			}
			return !met
		}
	}
	t, held := s.intoOpen(off, out, far, clear(off, skip))
	if t > 0 {
		return []leg{{by: out.Mul(t)}}, nil
	}
	if held != nil {
		clashes = append(clashes, *held)
	}
	none := func(int, int) bool { return false }
	for _, g := range gaps {
		if g >= far {
			break
		}
		if c, met := s.f.slide(off, fixed, out.Mul(g), skip); met {
			clashes = append(clashes, c)
			break
		}
		drawn := off.moved(out.Mul(g))
		for _, d := range sideways(out) {
			t, held := s.intoOpen(drawn, d, clearing(drawn.box(), around, d), clear(drawn, none))
			if t > 0 {
				return []leg{{by: out.Mul(g)}, {by: d.Mul(t)}}, nil
			}
			if held != nil {
				clashes = append(clashes, *held)
			}
		}
	}
	return nil, clashes
}

// sideways lists eight directions square to an axis.
func sideways(axis geom.Vec) []geom.Vec {
	u := axis.Across()
	v := axis.Cross(u)
	var out []geom.Vec
	for _, half := range []float64{0, 0.5} {
		for i := 0.0; i < 4; i++ {
			sin, cos := math.Sincos((i + half) * math.Pi / 2)
			out = append(out, u.Mul(cos).Add(v.Mul(sin)))
		}
	}
	return out
}

func without(list []int, x int) []int {
	out := make([]int, 0, len(list))
	for _, y := range list {
		if y != x {
			out = append(out, y)
		}
	}
	return out
}
