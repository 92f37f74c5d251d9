package sequence

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// A frame that stands between two faces of the room without being fastened to both, as on a foot under a ceiling or with a
// cap beside a wall, goes in as drawn. But pipes are cut within a millimetre and walls are measured within two, so where
// there is next to no room left the end has to be made to give: screwed deeper, and jacked out against the face in place.

// jackOutMM is the room, in mm, below which that is advised: common practice, no source.
const jackOutMM = 2.0

// clearAlong is the room along a direction of the axes between the pieces of the room on both sides of a box, and the
// width of the box; infinite where there is none on one side.
func (f *frame) clearAlong(b geom.Box, n geom.Vec) (room, width float64) {
	u, v := geom.V(math.Abs(n.Y), math.Abs(n.Z), math.Abs(n.X)), geom.V(math.Abs(n.Z), math.Abs(n.X), math.Abs(n.Y))
	low, high := math.Inf(-1), math.Inf(1)
	mid := b.Centre().Dot(n)
	for _, r := range f.shapes[f.room].boxes {
		if !beside(r, b, u) || !beside(r, b, v) {
			continue
		}
		if top := greatest(n, r); top <= mid {
			low = math.Max(low, top)
		} else if bottom := least(n, r); bottom >= mid {
			high = math.Min(high, bottom)
		}
	}
	return high - low, greatest(n, b) - least(n, b)
}

// beside tells whether two boxes lie beside one another along n by more than a wall leans.
func beside(a, b geom.Box, n geom.Vec) bool {
	return math.Min(greatest(n, a), greatest(n, b))-math.Max(least(n, a), least(n, b)) > touchTolerance
}

// tightFits advises to jack out an end of frames that have next to no room between two faces, in the order of the steps.
// Those fastened to both are backed off anyway.
func (f *frame) tightFits(removals []*removal) []assembly.Finding {
	if f.room < 0 {
		return nil
	}
	var out []assembly.Finding
	for i := len(removals) - 1; i >= 0; i-- {
		r := removals[i]
		if !r.inPlace || r.screw >= 0 || len(r.bodies) < 2 || len(r.settle) > 0 {
			continue
		}
		for _, n := range []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
			b := f.here(r.bodies).box()
			room, width := f.clearAlong(b, n)
			end, ok := f.endAlong(r.bodies, b, n)
			if spare := room - width; ok && spare < jackOutMM && spare > -touchTolerance {
				out = append(out, f.tightFit(r.bodies, end, math.Max(spare, 0)))
			}
		}
	}
	return out
}

// endAlong finds a body at either end of a group that can be screwed deeper along n: it reaches as far as the group does
// and hangs on one thread that runs that way.
func (f *frame) endAlong(bodies []int, whole geom.Box, n geom.Vec) (int, bool) {
	for _, b := range bodies {
		own := f.shapes[b].box
		if greatest(n, own) < greatest(n, whole)-touchTolerance && least(n, own) > least(n, whole)+touchTolerance {
			continue
		}
		threads, along := 0, false
		for _, k := range f.at[b] {
			if j := &f.joints[k]; j.isScrew() {
				threads++
				along = j.Axis.Dir.Cross(n).Len() < parallelTolerance && j.Turns != nil && j.Turns.Max > j.turns()
			}
		}
		if threads == 1 && along {
			return b, true
		}
	}
	return 0, false
}

func (f *frame) tightFit(bodies []int, end int, spare float64) assembly.Finding {
	return assembly.Finding{
		Code: "JACK-OUT", Severity: assembly.Note, Parts: f.ids([]int{end}), Repairs: []assembly.Repair{},
		Values: map[string]float64{"spare_mm": spare},
		Text: fmt.Sprintf("the group of %d parts has only %s of room between two faces of the room: measure there first; screw %s a turn deeper than it stays, and turn it back out against the face when the group stands",
			len(bodies), f.length(spare), f.parts[end].ID),
		Source: "less than 2 mm between what is cut and where it goes: common practice, no source",
	}
}
