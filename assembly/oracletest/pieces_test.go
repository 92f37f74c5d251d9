package oracletest

import (
	"turnwise/assembly"
	"turnwise/geom"
)

// letOut opens a right-and-left piece in the room: one side moves off by what both threads take, the piece goes, and the
// rest is searched as if that side stood at its place.
func (s *seeker) letOut(set uint32) bool {
	return s.eachPiece(set, true, func(rest uint32) bool { return s.standing(rest) })
}

func (s *seeker) letOutOnBench(set uint32) bool {
	return s.eachPiece(set, false, func(rest uint32) bool {
		for m := rest; m > 0; m = (m - 1) & rest {
			if s.connected(m) && s.connected(rest&^m) && s.onBench(m) && s.onBench(rest&^m) {
				return true
			}
		}
		return false
	})
}

// eachPiece tries every right-and-left piece of a set with either side let out.
func (s *seeker) eachPiece(set uint32, inRoom bool, then func(rest uint32) bool) bool {
	for c, b := range s.things {
		if set&bit(c) == 0 || b.part.Kind != "right-left" {
			continue
		}
		ends := s.endsOf(c, set)
		if len(ends) != 2 {
			continue
		}
		for i := range 2 {
			if s.opens(c, ends[i], ends[1-i], set, inRoom) && then(set&^bit(c)) {
				return true
			}
		}
	}
	return false
}

// endsOf are the two joints of a piece.
func (s *seeker) endsOf(c int, set uint32) []link {
	var out []link
	for _, l := range s.joints {
		if l.Kind == assembly.RightLeft && (l.a == c || l.b == c) && set&bit(l.a) != 0 && set&bit(l.b) != 0 {
			out = append(out, l)
		}
	}
	return out
}

// outMM is how far a piece is taken aside.
const outMM = 100

// opens lets the side beyond far out, turns the piece off near, and takes it away sideways.
func (s *seeker) opens(c int, far, near link, set uint32, inRoom bool) bool {
	away := func(l link) geom.Vec { // from the piece into its pipe
		if l.a == c {
			return l.Axis.Dir
		}
		return l.Axis.Dir.Neg()
	}
	drawn := s.side(far.a+far.b-c, c, set)
	if drawn&bit(near.a+near.b-c) != 0 {
		return false // both ends are one: nothing can give
	}
	rest := set &^ drawn &^ bit(c)
	if inRoom && s.room >= 0 {
		rest |= bit(s.room)
	}
	by := away(far).Mul(far.EngagementMM + near.EngagementMM)
	if !s.shifts(drawn, by, rest) {
		return false
	}
	off := away(near).Neg().Mul(near.EngagementMM)
	piece := s.things[c]
	for _, d := range axes() {
		if d.Dot(off) != 0 {
			continue
		}
		ok := true
		for i, b := range s.things {
			switch {
			case drawn&bit(i) != 0:
				ok = ok && follows(piece, s.poses[c].Moved(off), way{then: d}, outMM, b, s.poses[i].Moved(by), contactNeed)
			case rest&bit(i) != 0:
				ok = ok && follows(piece, s.poses[c].Moved(off), way{then: d}, outMM, b, s.poses[i], contactNeed)
			}
		}
		if ok {
			return true
		}
	}
	return false
}

// side is everything that threads, unions and straps hold to a body without the piece c.
func (s *seeker) side(body, c int, set uint32) uint32 {
	seen := bit(body)
	for grown := true; grown; {
		grown = false
		for _, l := range s.joints {
			a, b := bit(l.a), bit(l.b)
			if l.a == c || l.b == c || set&a == 0 || set&b == 0 || (seen&a != 0) == (seen&b != 0) || !l.Kind.IsThreaded() {
				continue
			}
			seen |= a | b
			grown = true
		}
	}
	return seen
}

// shifts tells whether a set of bodies can be moved straight past the rest.
func (s *seeker) shifts(m uint32, by geom.Vec, rest uint32) bool {
	for a := range s.things {
		for b := range s.things {
			if m&bit(a) != 0 && rest&bit(b) != 0 && !slides(s.things[a], s.poses[a], by, s.things[b], s.poses[b], contactNeed) {
				return false
			}
		}
	}
	return true
}
