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
