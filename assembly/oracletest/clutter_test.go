package oracletest

import (
	"math/rand"

	"turnwise/assembly"
	"turnwise/geom"
)

// standOffMM is how far clutter keeps from the frame, so that no verdict hangs on a touch.
const standOffMM = 2

// clutter puts boxes into the room, close to the frame but off it, and takes the play out of some threads: what makes
// frames impossible without any fault of their own. It changes nothing where the design has no room.
func clutter(a *assembly.Assembly, r *rand.Rand) {
	var parts []*assembly.Part
	var room *assembly.Part
	frame := geom.EmptyBox()
	for i := range a.Parts {
		p := &a.Parts[i]
		if p.Kind == "room" {
			room = p
			continue
		}
		parts = append(parts, p)
		frame = frame.Union(extent(p))
	}
	if room == nil {
		return
	}
	if r.Intn(4) == 0 {
		for i := range a.Joints {
			if j := &a.Joints[i]; j.Turns != nil && j.PitchMM > 0 {
				j.Turns.Max = j.EngagementMM / j.PitchMM
			}
		}
	}
	boxes := append([]geom.Box{}, room.Boxes...)
	if r.Intn(2) == 0 {
		boxes = append(boxes, cage(frame, r)...)
	}
	for range r.Intn(5) {
		if b := beside(extent(parts[r.Intn(len(parts))]), r); !near(b, parts) {
			boxes = append(boxes, b)
		}
	}
	room.Boxes = boxes
}

// extent is a box round a part: that of its ports with the width of a fitting about them, or its own boxes.
func extent(p *assembly.Part) geom.Box {
	const wide = 50 // mm; a flange, the widest part, is 45 at its plate
	b := geom.BoxOf(p.Pose.Origin)
	for _, q := range p.Ports {
		b = b.Include(q.At)
	}
	if len(p.Boxes) == 0 {
		return b.Grow(wide)
	}
	for _, one := range p.Boxes {
		b = b.Union(p.Pose.Box(one))
	}
	return b
}

func near(b geom.Box, parts []*assembly.Part) bool {
	for _, p := range parts {
		if b.Gap(extent(p)) < standOffMM {
			return true
		}
	}
	return false
}

// beside is a box next to another, on a random side.
func beside(b geom.Box, r *rand.Rand) geom.Box {
	size := geom.V(30+300*r.Float64(), 30+300*r.Float64(), 30+300*r.Float64())
	d := axes()[r.Intn(6)]
	half := b.Size().Mul(0.5)
	out := reachAlong(d, half) + reachAlong(d, size.Mul(0.5)) + standOffMM + 1 + 50*r.Float64()
	shift := geom.V((r.Float64()-0.5)*half.X, (r.Float64()-0.5)*half.Y, (r.Float64()-0.5)*half.Z)
	c := b.Centre().Add(d.Mul(out)).Add(shift.Sub(d.Mul(shift.Dot(d))))
	return geom.Box{Min: c.Sub(size.Mul(0.5)), Max: c.Add(size.Mul(0.5))}
}

// reachAlong is how far half sizes reach along an axis.
func reachAlong(d, half geom.Vec) float64 { return max(d.Dot(half), -d.Dot(half)) }

// cage is plates around the frame with one side or two left open.
func cage(frame geom.Box, r *rand.Rand) []geom.Box {
	const thick = 40
	open := r.Intn(6)
	also := r.Intn(9)
	grown := frame
	grown.Min = grown.Min.Sub(geom.V(1+90*r.Float64(), 1+90*r.Float64(), 1+90*r.Float64()))
	grown.Max = grown.Max.Add(geom.V(1+90*r.Float64(), 1+90*r.Float64(), 1+90*r.Float64()))
	var out []geom.Box
	for i, d := range axes() {
		if i == open || i == also || touches(frame, d) {
			continue
		}
		b := grown.Grow(thick)
		switch {
		case d.X > 0:
			b.Min.X = grown.Max.X
		case d.X < 0:
			b.Max.X = grown.Min.X
		case d.Y > 0:
			b.Min.Y = grown.Max.Y
		case d.Y < 0:
			b.Max.Y = grown.Min.Y
		case d.Z > 0:
			b.Min.Z = grown.Max.Z
		default:
			b.Max.Z = grown.Min.Z
		}
		out = append(out, b)
	}
	return out
}

// touches tells whether the frame stands on a floor, left wall or back wall on that side: there is something already.
func touches(frame geom.Box, d geom.Vec) bool {
	const on = 50 // mm
	return d.Z < 0 && frame.Min.Z < on || d.X < 0 && frame.Min.X < on || d.Y > 0 && frame.Max.Y > -on
}
