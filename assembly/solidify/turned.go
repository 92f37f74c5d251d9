package solidify

import (
	"math"
	"sort"

	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// sameMM is how far apart places may come out by rounding and still be one; as a number without unit it serves
// directions too.
const sameMM = 1e-9

// line is an axis: a point and a unit direction.
type line struct{ at, dir geom.Vec }

// profile is the outline of a turned body: straight between stations with rising S; equal S make a step.
type profile []standard.Station

// spindle holds the turned bodies about one line.
type spindle struct {
	line     line
	profiles []profile
}

// carry returns a profile about m as one about l, when both are the same line.
func (l line) carry(m line, p profile) (profile, bool) {
	d := m.at.Sub(l.at)
	if l.dir.Cross(m.dir).Len() > sameMM || d.Cross(l.dir).Len() > sameMM {
		return nil, false
	}
	shift, sense := d.Dot(l.dir), math.Copysign(1, l.dir.Dot(m.dir))
	out := make(profile, len(p))
	for i, s := range p {
		k := i
		if sense < 0 {
			k = len(p) - 1 - i
		}
		out[k] = standard.Station{S: shift + sense*s.S, R: s.R}
	}
	return out, true
}

// on returns the radii of the profile at both ends of a stretch that holds no station of it, and false where the
// profile does not reach.
func (p profile) on(s0, s1 float64) (r0, r1 float64, ok bool) {
	for i := 1; i < len(p); i++ {
		a, b := p[i-1], p[i]
		if b.S-a.S > sameMM && a.S <= s0+sameMM && b.S >= s1-sameMM {
			slope := (b.R - a.R) / (b.S - a.S)
			return a.R + slope*(s0-a.S), a.R + slope*(s1-a.S), true
		}
	}
	return 0, 0, false
}

// slice is a stretch of a turned body: metal between the radii bore and radius, each straight from s0 to s1.
type slice struct{ s0, s1, radius0, radius1, bore0, bore1 float64 }

// slices cuts the union of the bodies in add less the union of those in cut, all about one line, into stretches on
// which it is straight. Stretches without metal are left out.
func slices(add, cut []profile) []slice {
	marks := stations(append(append([]profile(nil), add...), cut...))
	var out []slice
	for i := 1; i < len(marks); i++ {
		s0, s1 := marks[i-1], marks[i]
		a0, a1, ok := widest(add, s0, s1)
		c0, c1, _ := widest(cut, s0, s1)
		if ok && (a0+a1)-(c0+c1) > sameMM {
			out = append(out, slice{s0, s1, a0, a1, min(c0, a0), min(c1, a1)})
		}
	}
	return out
}

// widest returns the greatest of the profiles' radii at both ends of a stretch on which none crosses another.
func widest(ps []profile, s0, s1 float64) (r0, r1 float64, ok bool) {
	for _, p := range ps {
		if a, b, on := p.on(s0, s1); on && (!ok || a+b > r0+r1) {
			r0, r1, ok = a, b, true
		}
	}
	return r0, r1, ok
}

// stations returns, in order, the places of all stations and of all crossings of two profiles.
func stations(ps []profile) []float64 {
	var marks []float64
	for _, p := range ps {
		for _, s := range p {
			marks = append(marks, s.S)
		}
	}
	marks = distinct(marks)
	all := append([]float64(nil), marks...)
	for k := 1; k < len(marks); k++ {
		for i := range ps {
			for j := range ps[:i] {
				all = append(all, crossing(ps[i], ps[j], marks[k-1], marks[k])...)
			}
		}
	}
	return distinct(all)
}

// crossing returns where two profiles cross strictly within a stretch that holds no station.
func crossing(p, q profile, s0, s1 float64) []float64 {
	p0, p1, okP := p.on(s0, s1)
	q0, q1, okQ := q.on(s0, s1)
	if d0, d1 := p0-q0, p1-q1; okP && okQ && d0*d1 < 0 {
		return []float64{s0 + (s1-s0)*d0/(d0-d1)}
	}
	return nil
}

// distinct sorts and drops what is equal but for rounding.
func distinct(xs []float64) []float64 {
	sort.Float64s(xs)
	out := xs[:0]
	for _, x := range xs {
		if len(out) == 0 || x-out[len(out)-1] > sameMM {
			out = append(out, x)
		}
	}
	return out
}

// turn makes the solid of all bodies on the spindle less the profiles in bore.
func (a spindle) turn(bore []profile) sdf.Leafed {
	return sdf.Revolve(a.line.at, a.line.dir, loops(slices(a.profiles, bore))...)
}

// loops joins neighbouring slices that share metal into closed polygons.
func loops(ss []slice) [][]sdf.Station {
	var out [][]sdf.Station
	var upper, lower []sdf.Station
	flush := func() {
		for i := len(lower) - 1; i >= 0; i-- {
			upper = append(upper, lower[i])
		}
		if len(upper) > 0 {
			out = append(out, tidy(upper))
		}
		upper, lower = nil, nil
	}
	for i, s := range ss {
		if i > 0 && !ss[i-1].joins(s) {
			flush()
		}
		upper = append(upper, sdf.Station{S: s.s0, R: s.radius0}, sdf.Station{S: s.s1, R: s.radius1})
		lower = append(lower, sdf.Station{S: s.s0, R: s.bore0}, sdf.Station{S: s.s1, R: s.bore1})
	}
	flush()
	return out
}

// joins tells whether the metal of s goes on in its neighbour t.
func (s slice) joins(t slice) bool {
	return t.s0-s.s1 <= sameMM && min(s.radius1, t.radius0)-max(s.bore1, t.bore0) > sameMM
}

// tidy drops corners that are none: repeated ones and those on a straight line between their neighbours.
func tidy(loop []sdf.Station) []sdf.Station {
	for changed := true; changed && len(loop) > 3; {
		changed = false
		for i := range loop {
			n := len(loop)
			a, b, c := loop[(i+n-1)%n], loop[i], loop[(i+1)%n]
			base := math.Hypot(c.S-a.S, c.R-a.R)
			twice := (b.S-a.S)*(c.R-a.R) - (b.R-a.R)*(c.S-a.S)
			ahead := (b.S-a.S)*(c.S-b.S) + (b.R-a.R)*(c.R-b.R)
			same := math.Hypot(b.S-a.S, b.R-a.R) <= sameMM
			if same || (base > 0 && math.Abs(twice) <= sameMM*base && ahead >= 0) {
				loop = append(loop[:i:i], loop[i+1:]...)
				changed = true
				break
			}
		}
	}
	return loop
}
