package replay

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

const (
	// roundSamples is at how many points a solid is compared with itself turned. Any flat, hole or lug alters the distance
	// over a whole neighbourhood, so that it cannot hide between so many points of a part.
	roundSamples = 400
	// roundMM is how exactly the distances must agree: rounding of sums only.
	roundMM = 1e-7
	// roundOffMM is how far the axis of a turn may lie from that of a round part, and roundSlant how far its direction
	// may differ, to count as the same: what they leave unseen is far below the overlap tolerance.
	roundOffMM = 1e-3
	roundSlant = 1e-6
)

// roundKinds are the kinds of parts that are round about the z axis of their frame.
var roundKinds = map[string]bool{
	"pipe": true, "coupling": true, "reducer": true, "cap": true, "right-left": true, "long-screw": true,
	"glide": true, "pad": true, "union": true,
}

// isRound tells whether the part is round about z: its kind must be, and its solid agree with itself turned by many
// angles. The points come from a fixed sequence that fills the part's box evenly (the golden ratio of three
// dimensions), so that the answer is the same each time.
func isRound(p *assembly.Part, s sdf.Solid, box geom.Box) bool {
	if !roundKinds[string(p.Kind)] || box.IsEmpty() {
		return false
	}
	const g = 1.22074408460575947536 // the real root of x^4 = x + 1
	size := box.Size()
	frac := func(x float64) float64 { return x - math.Floor(x) }
	for i := range roundSamples {
		n := float64(i + 1)
		at := geom.V(frac(n/g)*size.X, frac(n/(g*g))*size.Y, frac(n/(g*g*g))*size.Z).Add(box.Min)
		f := s.Distance(at)
		for _, turn := range [...]float64{0.3, 1.1, 2.0, 2.9, 4.4, 5.6} {
			sin, cos := math.Sincos(turn + n)
			q := geom.V(at.X*cos-at.Y*sin, at.X*sin+at.Y*cos, at.Z)
			if math.Abs(s.Distance(q)-f) > roundMM {
				return false
			}
		}
	}
	return true
}

// turnsInPlace tells whether a turn about the line through at along dir leaves a body with pose p as it was.
func (b *body) turnsInPlace(p geom.Pose, at, dir geom.Vec) bool {
	return b.round && p.Z.Cross(dir).Len() <= roundSlant && p.Origin.Sub(at).Cross(dir).Len() <= roundOffMM
}

// faces tells whether all that a turning body can reach of a solid, with the clearance asked for, is boxes that lie flat
// across the axis from side to side, as a floor does under a flange. Those are round about the axis as far as the body
// can tell.
func faces(s sdf.Solid, r ring) bool {
	list, ok := sdf.BoxesOf(s)
	if !ok || !r.known {
		return false
	}
	const reach = ClearanceCapMM
	for _, b := range list {
		if r.clear(b.Centre(), b.Diagonal()/2, reach) || r.misses(b, reach) {
			continue
		}
		if !r.covered(b, reach) {
			return false
		}
	}
	return true
}

// alongSlant is how far an axis may lie from an edge of a box, as a sine, to count as along it.
const alongSlant = 1e-9

// misses tells from boxes alone that b keeps more than gap off the ring.
func (r ring) misses(b geom.Box, gap float64) bool { return r.box().Gap(b) > gap }

// box is the box round the ring. Across a direction u a disc reaches as far as the sine of the angle between u and its axis.
func (r ring) box() geom.Box {
	across := geom.V(math.Sqrt(max(0, 1-r.dir.X*r.dir.X)), math.Sqrt(max(0, 1-r.dir.Y*r.dir.Y)), math.Sqrt(max(0, 1-r.dir.Z*r.dir.Z))).Mul(r.radius)
	low, high := r.at.Add(r.dir.Mul(r.lo)), r.at.Add(r.dir.Mul(r.hi))
	return geom.Box{Min: low.Min(high).Sub(across), Max: low.Max(high).Add(across)}
}

// covered tells whether b reaches across the whole ring and gap beyond, on all sides of the axis, which must be along one
// of its edges.
func (r ring) covered(b geom.Box, gap float64) bool {
	need := r.box().Grow(gap)
	in := func(low, high, from, to float64) bool { return low <= from && high >= to }
	x, y, z := in(b.Min.X, b.Max.X, need.Min.X, need.Max.X), in(b.Min.Y, b.Max.Y, need.Min.Y, need.Max.Y), in(b.Min.Z, b.Max.Z, need.Min.Z, need.Max.Z)
	switch {
	case math.Abs(r.dir.X) >= 1-alongSlant:
		return y && z
	case math.Abs(r.dir.Y) >= 1-alongSlant:
		return z && x
	case math.Abs(r.dir.Z) >= 1-alongSlant:
		return x && y
	}
	return false
}
