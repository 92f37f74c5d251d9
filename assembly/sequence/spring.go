package sequence

import (
	"fmt"

	"turnwise/assembly"
)

// The halves of a union meet face to face in the drawing, but the seats of real ones reach into one another by some
// millimetres: halves that come together sideways have to be sprung apart by that gap meanwhile. Halves that come
// together along their axis, as in all turns and most straight motions, need nothing.

// sprung is a union whose sides are bent apart while it is brought together.
type sprung struct {
	joint, body int
	newtons     float64
}

// springs lists the unions that a straight removal opens sideways, with the force on the side that stays, and the one
// that is too stiff, if any.
func (s *scene) springs(r *removal, cs []contact) ([]sprung, []clash) {
	f := s.f
	if len(r.out) == 0 || r.out[0].turns != 0 {
		return nil, nil
	}
	first := r.out[0].by.Unit()
	var out []sprung
	for _, c := range cs {
		j := &f.joints[c.joint]
		if j.Kind != assembly.UnionNut || c.normal.Dot(first) >= leastParting {
			continue
		}
		pipe := f.pipeBehind(c.fixed)
		if pipe < 0 {
			continue
		}
		lever, ok := f.parallelPipe(pipe, s.has)
		if !ok {
			continue // a free end bends by hand
		}
		force := f.springForce(pipe, lever)
		if force > springNewtons {
			return nil, []clash{{moving: j.other(c.fixed), fixed: c.fixed, short: seatGapMM, why: stiff}}
		}
		out = append(out, sprung{c.joint, c.fixed, force})
	}
	return out, nil
}

// pipeBehind is the pipe screwed into half of a union, or -1.
func (f *frame) pipeBehind(half int) int {
	for _, k := range f.at[half] {
		if o := f.joints[k].other(half); f.joints[k].isScrew() && f.parts[o].Kind == pipeKind {
			return o
		}
	}
	return -1
}

const pipeKind = "pipe"

// springSource is the rule behind findings of springing.
const springSource = "F = 3 E I g / L^3, a post held at the next rung at distance L; a gap of 3.8 mm is common practice, the limit of 222 N (50 lb) proposed"

// sprungJoints tells which unions are sprung open, in the order of the steps.
func (f *frame) sprungJoints(removals []*removal) []assembly.Finding {
	var out []assembly.Finding
	for i := len(removals) - 1; i >= 0; i-- {
		r := removals[i]
		out = append(out, f.sprungJoints(r.inner)...)
		for _, u := range r.sprung {
			j := &f.joints[u.joint]
			out = append(out, assembly.Finding{
				Code: "SPRING", Severity: assembly.Warn, Parts: f.ids([]int{j.a, j.b}), Repairs: []assembly.Repair{}, Source: springSource,
				Values: map[string]float64{"gap_mm": seatGapMM, "force_n": u.newtons},
				Text: fmt.Sprintf("the halves of %s come together sideways: bend %s away by %s, with about %.0f N, until they face each other",
					j.ID, f.parts[u.body].ID, f.length(seatGapMM), u.newtons),
			})
		}
	}
	return out
}
