package sdf

import "math"

// marked is a solid with another list of features.
type marked struct {
	field
	list []Feature
}

// Marked is s with fs as its Features, for a caller who knows better which of them count: those of a member may lie
// inside another and be no edges of the whole.
func Marked(s Solid, fs []Feature) Leafed { return &marked{asField(s), fs} }

func (m *marked) features() []Feature { return m.list }

// exposedSteps is how many points of a circle are asked, and exposedMM how near to the surface one must lie.
const (
	exposedSteps = 12
	exposedMM    = 1e-6
)

// Exposed returns those of some features that lie on the surface of s in at least one of a dozen places. The others lie
// inside, or were cut away.
func Exposed(s Solid, fs []Feature) []Feature {
	var kept []Feature
	for _, f := range fs {
		if f.touches(s) {
			kept = append(kept, f)
		}
	}
	return kept
}

// touches tells whether any of some points of the line lies on the surface of s.
func (f Feature) touches(s Solid) bool {
	for k := range exposedSteps {
		t := float64(k) / exposedSteps
		p := f.At.Lerp(f.To, t)
		if f.Radius > 0 {
			u := f.Dir.Across()
			sin, cos := math.Sincos(2 * math.Pi * t)
			p = f.At.Add(u.Mul(cos).Add(f.Dir.Cross(u).Mul(sin)).Mul(f.Radius))
		}
		if d := s.Distance(p); d <= exposedMM && d >= -exposedMM {
			return true
		}
	}
	return false
}
