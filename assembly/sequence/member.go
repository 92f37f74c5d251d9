package sequence

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// A right-and-left piece and a long screw have two joints that close in one step, while neither side turns.
//
// The right-and-left piece turns where it is and draws one side in by the engagement of both its threads; so one side
// has to be free to move along the axis. The long screw is a coupling that was run back on its pipe and runs forward on
// to the other; no side moves.

// member opens a right-and-left or long-screw piece.
func (s *scene) member() *removal {
	for _, c := range s.byRank() {
		near, far, ok := s.memberJoints(c)
		if !ok {
			continue
		}
		var r *removal
		if s.f.joints[near].Kind == assembly.LongScrew {
			r = s.runBack(c, near, far)
		} else if r = s.letGo(c, near, far); r == nil {
			r = s.letGo(c, far, near)
		}
		if r != nil {
			return r
		}
	}
	return nil
}

// memberJoints finds the two closed joints of a piece; of a long screw the one with the running thread first.
func (s *scene) memberJoints(c int) (near, far int, ok bool) {
	var both []int
	for _, k := range s.f.at[c] {
		j := &s.f.joints[k]
		if j.isMember() && j.state == closed && s.in[j.other(c)] && isPiece(s.f.parts[c]) {
			both = append(both, k)
		}
	}
	if len(both) != 2 {
		return 0, 0, false
	}
	near, far = both[0], both[1]
	j := &s.f.joints[far]
	x := j.other(c)
	if s.f.parts[x].Running != "" && s.f.parts[x].Running == j.port(x) {
		near, far = far, near
	}
	return near, far, true
}

// isPiece tells the piece in the middle from the pipes at its ends.
func isPiece(p assembly.Part) bool { return p.Kind == "right-left" || p.Kind == "long-screw" }

// runBack turns a long screw's coupling back on its running thread. It stays there until it can be slid off.
func (s *scene) runBack(c, near, far int) *removal {
	f := s.f
	key := moveKey{'s', far, c}
	if s.isBlocked(key) {
		return nil
	}
	j := &f.joints[far]
	out := f.joints[near].into(c)
	t := turn{j.Axis.At, out, j.turns() * j.PitchMM}
	mates := []int{f.joints[near].other(c), j.other(c)}
	skip := func(_, e int) bool { return contains(mates, e) }
	end := f.here([]int{c})
	if met, ok := f.spin(end, s.rest([]int{c}), t, skip); ok {
		s.remember(key, []clash{met})
		return nil
	}
	r := &removal{
		mover: []int{c}, held: mates, screw: far, pair: []int{near, far}, inPlace: s.room, pose: f.pose[c],
		out:   []leg{{at: t.at, dir: out, turns: j.turns(), travel: t.travel, left: j.Hand == "left"}},
		swing: swing(end, t.at, out),
	}
	f.setPose(c, f.pose[c].Turned(t.at, out, handed(j, 2*math.Pi*j.turns()), t.travel))
	f.joints[near].state, j.state = loosened, open
	return r
}

// letGo turns a right-and-left piece off, the side beyond its joint far being let out by both engagements, and takes
// that side away.
func (s *scene) letGo(c, near, far int) *removal {
	f := s.f
	key := moveKey{'s', far, c}
	if s.isBlocked(key) {
		return nil
	}
	j, o := &f.joints[far], &f.joints[near]
	x := j.other(c)
	drawn := s.beyond(far, x)
	out := j.into(x).Neg()
	travel := j.turns() * (j.PitchMM + o.PitchMM)
	others := without(s.crossing(drawn), far)
	if held, ok := s.heldAlong(drawn, c, others, out); ok {
		s.remember(key, []clash{held})
		return nil
	}
	notPiece := func(_, e int) bool { return e == c }
	if met, ok := f.slide(f.here(drawn), s.rest(drawn), out.Mul(travel), notPiece); ok {
		s.remember(key, []clash{met})
		return nil
	}
	r := &removal{
		bodies: []int{c}, held: []int{o.other(c), x}, screw: far, pair: []int{near, far}, joints: others,
		inPlace: s.room, pose: f.pose[c], swing: swing(f.here([]int{c}), j.Axis.At, out),
		draws: drawn, drawBy: out.Mul(travel),
	}
	f.shift(drawn, out.Mul(travel))
	met := s.takePiece(r, c, near, out)
	if len(met) == 0 {
		met = s.takeDrawn(r, c, drawn)
	}
	f.shift(drawn, out.Mul(-travel))
	if len(met) > 0 {
		s.remember(key, met)
		return nil
	}
	j.state, o.state = open, open
	return r
}

// heldAlong tells whether a joint keeps a side from moving along out.
func (s *scene) heldAlong(side []int, c int, joints []int, out geom.Vec) (clash, bool) {
	if contains(side, c) {
		return clash{moving: c, fixed: side[0], why: bothFixed}, true
	}
	for _, k := range joints {
		o := &s.f.joints[k]
		own, fixed := o.a, o.b
		if !contains(side, own) {
			own, fixed = fixed, own
		}
		n, ok := s.f.normal(o, own, fixed)
		free := ok && n.Dot(out) >= -1e-9 && (o.Kind == assembly.Face || o.Kind == assembly.UnionNut && n.Dot(out) > 1-1e-6)
		if !free {
			return clash{moving: own, fixed: fixed, why: bothFixed}, true
		}
	}
	return clash{}, false
}

// shift moves bodies for a while.
func (f *frame) shift(bodies []int, v geom.Vec) {
	for _, b := range bodies {
		f.setPose(b, f.pose[b].Moved(v))
	}
}

// takePiece finds the way of the piece out from between its sides: turned, drawn off the side that stays, and away.
func (s *scene) takePiece(r *removal, c, near int, out geom.Vec) []clash {
	f := s.f
	o := &f.joints[near]
	fixed := s.rest([]int{c})
	skip := func(_, e int) bool { return contains(r.held, e) }
	end := f.here([]int{c})
	if met, ok := f.spin(end, fixed, turn{o.Axis.At, out, 0}, skip); ok {
		return []clash{met}
	}
	off := out.Mul(o.turns() * o.PitchMM)
	if met, ok := f.slide(end, fixed, off, skip); ok {
		return []clash{met}
	}
	// The turn tightens both threads; seen along its way on to the side that stays it goes as that thread's hand asks.
	r.out = []leg{{at: o.Axis.At, dir: out, turns: o.turns(), left: o.Hand == "left"}, {by: off}}
	free := end.moved(off)
	around := s.around(fixed)
	var clashes []clash
	for _, d := range sideways(out) {
		v := d.Mul(clearing(free.box(), around, d))
		met, ok := f.slide(free, fixed, v, skip)
		if !ok {
			r.out = append(r.out, leg{by: v})
			return nil
		}
		clashes = append(clashes, met)
	}
	return clashes
}

// takeDrawn finds the way of the drawn side out, once the piece is gone; it starts where it was let out to.
func (s *scene) takeDrawn(r *removal, c int, drawn []int) []clash {
	f := s.f
	s.in[c] = false
	legs, clashes := s.wayOut(drawn, nil)
	s.in[c] = true
	if legs == nil {
		return clashes
	}
	r.then = &removal{bodies: drawn, screw: -1, inPlace: s.room, out: legs, pose: f.pose[drawn[0]]}
	return nil
}
