package sequence

import (
	"math"

	"turnwise/geom"
)

// A motion into place begins somewhere, and that has to be somewhere a person can carry things to: free air is not
// enough. A flange, a post and an elbow on either side of a slab with a hole are clear of it, yet have to be put
// together through the hole. What moves counts as in the open when nothing of the room reaches into its convex hull:
// then a plane parts it from every piece of the room, and it hangs on none of them.

// openMM is how far a piece of the room may reach into that hull: rounding, and the stairs by which leaning faces are
// made up, are smaller; whatever a group could hang on is larger.
const openMM = 1.0

// caught is the box round all pieces of the room that reach into the convex hull of a side, or false when it is in the
// open.
func (s *scene) caught(end side) (geom.Box, bool) {
	out := geom.EmptyBox()
	if !s.room || s.f.room < 0 {
		return out, false
	}
	box := end.box()
	var hull *solid
	still := &s.f.shapes[s.f.room]
	for l := range still.solids {
		b := still.boxes[l].Grow(-openMM)
		if b.IsEmpty() || !overlap(&b, &box) {
			continue
		}
		if hull == nil {
			hull = hullOf(end)
		}
		if inner := still.solids[l].shrunk(openMM); distance(hull, &inner, slack) == 0 {
			out = out.Union(still.boxes[l])
		}
	}
	return out, !out.IsEmpty()
}

// hullOf is the convex hull of a side.
func hullOf(s side) *solid {
	out := &solid{centre: s.box().Centre()}
	for i := range s.shapes {
		out.of = append(out.of, s.shapes[i].solids...)
	}
	return out
}

// intoOpen is how far to go along d, t or farther, for a side to be in the open there; clear tells whether a way is clear.
func (s *scene) intoOpen(from side, d geom.Vec, t float64, clear func(v geom.Vec) bool) (float64, *clash) {
	for range 2 { // what lies beyond a piece of the room is looked at once more
		if !clear(d.Mul(t)) {
			return 0, nil
		}
		around, held := s.caught(from.moved(d.Mul(t)))
		if !held {
			return t, nil
		}
		far := clearing(from.box(), around, d)
		if far <= t || math.IsInf(far, 1) {
			break
		}
		t = far
	}
	return 0, &clash{moving: from.bodies[0], fixed: s.f.room, why: encloses}
}
