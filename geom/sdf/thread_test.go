package sdf_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/sdf"
	"turnwise/geom/sdf/sdftest"
)

// rowRadius is the radius of a reference row in the half plane at angle a, in its own words: ridges of a period, with flats
// of equal width on crest and root and straight flanks between, over a root line.
func rowRadius(a, z, pitch, depth, root, z0 float64) float64 {
	flat := (pitch - 2*depth*math.Tan(math.Pi/6)) / 2
	u := math.Mod(z-z0-pitch*a/(2*math.Pi), pitch)
	if u < 0 {
		u += pitch
	}
	u = min(u, pitch-u)
	switch {
	case u <= flat/2:
		return root + depth
	case u >= pitch/2-flat/2:
		return root
	}
	return root + depth*(pitch/2-flat/2-u)/(pitch/2-flat)
}

const refPitch, refDepth = 1.814, 1.4512

// refNippleThread is the taper thread of the reference nipple.
func refNippleThread() sdf.Thread {
	root := sdf.Limit{Radius: 9.2194 + 15.0/32, Slope: -1.0 / 32}
	return sdf.Thread{
		Dir: geom.AxisZ, Side: geom.AxisX, From: 5, To: 25, Pitch: refPitch, Ridge: 15, Sheared: true, Flank: math.Pi / 6,
		Cone:    sdf.Limit{Radius: root.Radius + refDepth/2, Slope: root.Slope},
		Floor:   []sdf.Limit{root},
		Ceiling: []sdf.Limit{{Radius: root.Radius + refDepth, Slope: root.Slope}, {Radius: 10.67}},
	}
}

// refNipple is the reference nipple: its crests are cut by the outside of the pipe up to about z = 15.
func refNipple() sdf.Leafed {
	o, z := geom.Vec{}, geom.AxisZ
	stock := sdf.Tube(o.Sub(z.Mul(25)), z, 50, 10.67, 7.9)
	zone := sdf.Zone{Thread: refNippleThread(), Start: sdf.Station{S: 4.5, R: 10.67}, End: sdf.Station{S: 25, R: 8.5}, After: 1}
	return sdf.Threaded(stock, stock, zone)
}

func inRefNipple(p geom.Vec) bool {
	s, r := axial(p)
	if s <= -25 || s >= 25 || r >= 10.67 || r <= 7.9 {
		return false
	}
	return s <= 5 || r < rowRadius(math.Atan2(p.Y, p.X), s, refPitch, refDepth, 9.2194-(s-15)/32, 15)
}

// refCoupling is the reference coupling: hexagonal, with a parallel thread right through.
func refCoupling() sdf.Leafed {
	z := geom.AxisZ
	stock := sdf.Prism(z.Mul(-17), z, geom.AxisX, 34, 30, 6)
	zone := sdf.Zone{
		Thread: sdf.Thread{
			Dir: z, Side: geom.AxisX, From: -17, To: 17, Pitch: refPitch, Flank: math.Pi / 6,
			Cone: sdf.Limit{Radius: 9.2 + refDepth/2}, Floor: []sdf.Limit{{Radius: 9.2}}, Ceiling: []sdf.Limit{{Radius: 9.2 + refDepth}},
		},
		Start: sdf.Station{S: -17, R: 11}, End: sdf.Station{S: 17, R: 11}, Internal: true, Before: 1, After: 1,
	}
	return sdf.Threaded(stock, stock, zone)
}

// whitworth is a taper thread of 55 degrees, rounded; the rounded section is worked out by walking along it in small
// steps, not by distances.
func whitworth(left bool) sdf.Thread {
	const pitch = 1.814
	return sdf.Thread{
		At: geom.V(1, 2, 3), Dir: geom.V(1, 2, -1), Side: geom.V(0, 1, 0), From: 0, To: 18, Pitch: pitch, Ridge: 0.3, Left: left,
		Cone: sdf.Limit{Radius: 9.64, Slope: 1.0 / 32}, Flank: 27.5 * math.Pi / 180, Round: 0.137329 * pitch,
		Floor:   []sdf.Limit{{Radius: 9.64 - 0.34*pitch, Slope: 1.0 / 32}, {Radius: 9.64 - 0.34*pitch - 2, Slope: 0.2}},
		Ceiling: []sdf.Limit{{Radius: 9.64 + 0.34*pitch, Slope: 1.0 / 32}, {Radius: 10.6}, {Radius: 8.8, Slope: 1}},
	}
}

// inWhitworth knows the thread by the standard's own words: flanks of 27.5 degrees to the plane square to the axis,
// crests and roots rounded by circles that touch both flanks.
func inWhitworth(t sdf.Thread, p geom.Vec) bool {
	f := geom.Facing(t.At, t.Dir, t.Side)
	q := f.Local(p)
	s, r := q.Z, math.Hypot(q.X, q.Y)
	if s <= t.From || s >= t.To {
		return false
	}
	hand := 1.0
	if t.Left {
		hand = -1
	}
	row := math.Inf(-1)
	first := t.Ridge + hand*t.Pitch*math.Atan2(q.Y, q.X)/(2*math.Pi)
	near := math.Round((s - first) / t.Pitch)
	for k := near - 1; k <= near+1; k++ {
		mid := first + k*t.Pitch
		row = max(row, ridgeRadius(t, mid, s, r))
	}
	floor, ceiling := math.Inf(-1), math.Inf(1)
	for _, l := range t.Floor {
		floor = max(floor, l.Radius+l.Slope*s)
	}
	for _, l := range t.Ceiling {
		ceiling = min(ceiling, l.Radius+l.Slope*s)
	}
	return r < min(ceiling, max(floor, row))
}

// ridgeRadius is the radius of one ridge, half a pitch to each side of its middle, -Inf beyond.
func ridgeRadius(t sdf.Thread, mid, s, r float64) float64 {
	q, cot := t.Pitch/4, 1/math.Tan(t.Flank)
	left := func(s, mid float64) float64 { return t.Cone.At(mid-q) + cot*(s-mid+q) }
	right := func(s, mid float64) float64 { return t.Cone.At(mid+q) - cot*(s-mid-q) }
	// the valleys are where the flank of this ridge meets that of the next
	meet := func(a, b func(float64, float64) float64, ma, mb float64) float64 {
		lo, hi := mid-3*q, mid+3*q
		fa := func(s float64) float64 { return a(s, ma) - b(s, mb) }
		if ma < mb { // valley after: the right flank falls, the left of the next rises
			lo = mid
		} else {
			hi = mid
		}
		for range 60 {
			m := (lo + hi) / 2
			if (fa(m) > 0) == (fa(lo) > 0) {
				lo = m
			} else {
				hi = m
			}
		}
		return lo
	}
	from, to := meet(left, right, mid, mid-t.Pitch), meet(right, left, mid, mid+t.Pitch)
	if s < from || s > to {
		return math.Inf(-1)
	}
	v := min(left(s, mid), right(s, mid))
	half := t.Round / math.Sin(t.Flank) // from a sharp corner to the centre of its circle
	apex := mid + (t.Cone.At(mid+q)-t.Cone.At(mid-q))/(2*cot)
	if y := left(apex, mid) - half; math.Abs(s-apex) < t.Round*math.Cos(t.Flank) {
		v = min(v, y+math.Sqrt(t.Round*t.Round-(s-apex)*(s-apex)))
	}
	for _, x := range []float64{from, to} {
		y := left(x, mid) + half
		if x == to {
			y = right(x, mid) + half
		}
		if math.Abs(s-x) < t.Round*math.Cos(t.Flank) {
			v = max(v, y-math.Sqrt(t.Round*t.Round-(s-x)*(s-x)))
		}
	}
	return v
}

// TestThreads runs the suite on threads of both forms, external and internal, parallel and taper, of both hands.
func TestThreads(t *testing.T) {
	right, left := whitworth(false), whitworth(true)
	for _, tt := range []struct {
		name   string
		s      sdf.Leafed
		inside func(geom.Vec) bool
	}{
		{"nipple", refNipple(), inRefNipple},
		{"coupling", refCoupling(), func(p geom.Vec) bool {
			s, r := axial(p)
			return between(s, -17, 17) && flats(p, 6, 30) && r > rowRadius(math.Atan2(p.Y, p.X), s, refPitch, refDepth, 9.2, 0)
		}},
		{"rounded, right", sdf.Screw(right), func(p geom.Vec) bool { return inWhitworth(right, p) }},
		{"rounded, left", sdf.Screw(left), func(p geom.Vec) bool { return inWhitworth(left, p) }},
	} {
		t.Run(tt.name, func(t *testing.T) { sdftest.Check(t, tt.s, sdftest.Claim{Inside: tt.inside, Points: 3000}) })
	}
}

// TestThreadForm: NPT's basic form (ASME B1.20.1: depth 0.8 p between flats of 0.038 p) and the rounded one of ISO 7-1
// (depth 0.640327 p, radius 0.137329 p, sharp height 0.960491 p) as the row's own corners.
func TestThreadForm(t *testing.T) {
	n := refNippleThread()
	sharp := n.Form(0)
	require.Len(t, sharp, 3)
	assert.InDelta(t, 0.866025*refPitch, sharp[1].R-sharp[0].R, 1e-5, "height of the sharp form of 60 degrees, 0.866025 p")
	w := whitworth(false)
	w.Cone.Slope = 0
	sharp = w.Form(0)
	assert.InDelta(t, 0.960491*w.Pitch, sharp[1].R-sharp[0].R, 1e-5)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, c := range w.Form(8) {
		lo, hi = min(lo, c.R), max(hi, c.R)
	}
	assert.InDelta(t, 0.640327*w.Pitch, hi-lo, 1e-5)
	assert.InDelta(t, 0, hi+lo, 1e-12, "the pitch line halves the depth")
}

// TestNoThread: numbers that make no thread give nothing.
func TestNoThread(t *testing.T) {
	for _, spoil := range []func(*sdf.Thread){
		func(h *sdf.Thread) { h.Pitch = 0 },
		func(h *sdf.Thread) { h.Flank = math.NaN() },
		func(h *sdf.Thread) { h.To = h.From },
		func(h *sdf.Thread) { h.Dir = geom.Vec{} },
		func(h *sdf.Thread) { h.Floor = nil },
		func(h *sdf.Thread) { h.Cone.Radius = 0.5 },
	} {
		h := refNippleThread()
		spoil(&h)
		assert.True(t, sdf.Screw(h).Bounds().IsEmpty())
	}
}
