package replay

import (
	"math"

	"turnwise/geom"
)

// path is the motion of a body A seen from a body B: a turn about an axis with an advance along it, and a straight shift
// besides, all even in time from 0 to 1. Everything is in B's part frame.
type path struct {
	start   geom.Pose
	at, dir geom.Vec
	angle   float64 // radians
	shift   geom.Vec
}

// pose is A's pose at time s.
func (m path) pose(s float64) geom.Pose {
	if m.angle == 0 {
		return m.start.Moved(m.shift.Mul(s))
	}
	return m.start.Turned(m.at, m.dir, m.angle*s, 0).Moved(m.shift.Mul(s))
}

// radius is the distance of p from the axis at time s.
func (m path) radius(p geom.Vec, s float64) float64 {
	return p.Sub(m.shift.Mul(s)).Sub(m.at).Cross(m.dir).Len()
}

// speed bounds how fast A's material moves, in mm per unit of time, within h of p over a time d about s.
func (m path) speed(p geom.Vec, h, s, d float64) float64 {
	if m.angle == 0 {
		return m.shift.Len()
	}
	return math.Abs(m.angle)*(m.radius(p, s)+h+m.shift.Len()*d/2) + m.shift.Len()
}

// zone is where mating threads may overlap: between two planes across an axis, in B's frame. The allowance on the radius
// grows evenly with time.
type zone struct {
	at, dir geom.Vec
	lo, hi  float64 // along dir from at
	from    float64 // allowance at time 0, may be negative
	to      float64 // at time 1
}

// allowance is how deep bodies may overlap at p and time s because of the zone.
func (z zone) allowance(p geom.Vec, s float64) float64 {
	if t := p.Sub(z.at).Dot(z.dir); t < z.lo || t > z.hi {
		return 0
	}
	return max(0, z.from+(z.to-z.from)*s)
}

// holds tells whether a box lies between the planes.
func (z zone) holds(b geom.Box) bool {
	for _, c := range b.Corners() {
		if t := c.Sub(z.at).Dot(z.dir); t < z.lo || t > z.hi {
			return false
		}
	}
	return true
}

// ring is the solid of revolution that a turning box sweeps: all within some radius and between two planes. It is for
// paths that shift along their axis only.
type ring struct {
	at, dir geom.Vec
	radius  float64
	lo, hi  float64
	known   bool
}

// ringOf is the ring of A's box on its path.
func ringOf(box geom.Box, m path) ring {
	r := ring{at: m.at, dir: m.dir, lo: math.Inf(1), hi: math.Inf(-1)}
	if m.angle == 0 || m.shift.Cross(m.dir).Len() > gradientMM {
		return r
	}
	r.known = true
	advance := m.shift.Dot(m.dir)
	for _, c := range box.Corners() {
		p := m.start.Apply(c).Sub(m.at)
		r.radius = max(r.radius, p.Cross(m.dir).Len())
		t := p.Dot(m.dir)
		r.lo, r.hi = min(r.lo, t, t+advance), max(r.hi, t, t+advance)
	}
	return r
}

// clear tells whether everything within h of p stays more than gap outside the ring.
func (r ring) clear(p geom.Vec, h, gap float64) bool {
	if !r.known {
		return false
	}
	d := p.Sub(r.at)
	t := d.Dot(r.dir)
	reach := h + gap
	return d.Cross(r.dir).Len()-reach > r.radius || t+reach < r.lo || t-reach > r.hi
}
