// Package sdftest checks that a solid keeps the contract of package sdf. One suite serves every primitive, every
// operation and every part: Check holds it against a test for "inside" that knows nothing of distances.
package sdftest

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Claim is what a solid says of itself and what is known of it otherwise.
type Claim struct {
	// Inside tells whether a point is in the material, worked out without distances. On the surface itself it may
	// say either.
	Inside func(p geom.Vec) bool
	// Exact: the distance is exact everywhere. Otherwise it may be less than the true one.
	Exact bool
	// Primitive: every line that sdf.Features names lies on the surface.
	Primitive bool
	// Points is how many points are tried; 0 means 2,000.
	Points int
	// Within is where points are tried; an empty or zero box means the bounds of the solid and a third more.
	Within geom.Box
}

// Tolerances in mm, for solids up to some metres: rounding alone, with a wide margin.
const (
	roundMM = 1e-7 // between two ways to compute one length
	skinMM  = 1e-5 // steps to one side of a surface: far above rounding, far below any wall
	edgeMM  = 1e-3 // nearer than this to a second leaf a point counts as on an edge
)

const (
	defaultPoints = 2000
	ballTries     = 12     // points tried in each ball that must be all inside or all outside
	shyMM         = 1e-9   // that ball is smaller than the distance by this
	flatSlope     = 0.999  // below this slope a point is near a middle surface, where no single way is nearest
	shareOfFlat   = 0.35   // at most this share of points may be left out for it
	slopeRounding = 1e-9   // relative
	probeMM       = 1e-5   // step of the numeric gradient
	gradientTol   = 1e-4   // between a gradient and its differences
	growth        = 1. / 3 // of the bounds, where nothing else is said
)

// suite is one run over one solid.
type suite struct {
	t     testing.TB
	s     sdf.Solid
	claim Claim
	rand  *rand.Rand
	box   geom.Box
}

// Check runs every check of the suite. Solids that are not Leafed are excused from the checks of leaves.
func Check(t testing.TB, s sdf.Solid, claim Claim) {
	t.Helper()
	if claim.Points == 0 {
		claim.Points = defaultPoints
	}
	c := &suite{t: t, s: s, claim: claim, rand: rand.New(rand.NewSource(1)), box: claim.Within}
	if c.box.Diagonal() == 0 {
		c.box = s.Bounds()
		c.box = c.box.Grow(c.box.Diagonal() * growth)
	}
	require.True(t, c.box.Min.IsFinite() && c.box.Max.IsFinite() && !c.box.IsEmpty(),
		"bounds %v: say where to look", c.box)
	c.signs()
	c.slopes()
	c.amounts()
	if l, ok := s.(sdf.Leafed); ok {
		c.leaves(l)
		c.surface(l)
		if claim.Primitive {
			c.features(l)
		}
	}
}

func (c *suite) point() geom.Vec {
	d := c.box.Size()
	return c.box.Min.Add(geom.V(d.X*c.rand.Float64(), d.Y*c.rand.Float64(), d.Z*c.rand.Float64()))
}

// direction returns a random unit vector, all directions equally likely.
func (c *suite) direction() geom.Vec {
	for {
		v := geom.V(c.rand.NormFloat64(), c.rand.NormFloat64(), c.rand.NormFloat64())
		if v.Len() > 1e-3 {
			return v.Unit()
		}
	}
}

// signs: negative exactly where the material is, and the bounds hold all of it.
func (c *suite) signs() {
	inside := 0
	for i := 0; i < c.claim.Points; i++ {
		p := c.point()
		f := c.s.Distance(p)
		require.False(c.t, math.IsNaN(f), "distance at %v is no number", p)
		if math.Abs(f) < roundMM {
			continue
		}
		in := c.claim.Inside(p)
		require.Equal(c.t, in, f < 0, "sign of %v at %v", f, p)
		if in {
			inside++
			require.True(c.t, c.s.Bounds().Grow(roundMM).Contains(p), "%v is material outside the bounds %v", p, c.s.Bounds())
		}
	}
	b := c.s.Bounds()
	for i := 0; i < c.claim.Points/4; i++ {
		p := c.point()
		if !b.Contains(p) {
			require.False(c.t, c.claim.Inside(p), "material at %v outside the bounds %v", p, b)
		}
	}
	c.near(inside)
}

// near tries the sign of points close to the surface too, where thin walls are found.
func (c *suite) near(inside int) {
	require.True(c.t, inside > 0 || c.claim.Points < 500, "no point of %d was inside: the check is blind", c.claim.Points)
	for i := 0; i < c.claim.Points; i++ {
		p := c.towards(c.point(), math.Pow(10, -3*c.rand.Float64()))
		if f := c.s.Distance(p); math.Abs(f) > roundMM {
			require.Equal(c.t, c.claim.Inside(p), f < 0, "sign of %v at %v, near the surface", f, p)
		}
	}
}

// towards walks from p towards the surface until it is about off mm away.
func (c *suite) towards(p geom.Vec, off float64) geom.Vec {
	for i := 0; i < 60; i++ {
		f := c.s.Distance(p)
		if math.Abs(f) < 2*off {
			break
		}
		g := gradient(c.s, p)
		if g.Len() == 0 {
			p = p.Add(c.direction().Mul(off))
			continue
		}
		p = p.Sub(g.Unit().Mul(f * 0.9))
	}
	return p
}

// slopes: the distance changes by at most 1 per mm, over long ways and short ones.
func (c *suite) slopes() {
	for i := 0; i < c.claim.Points; i++ {
		p := c.point()
		q := c.point()
		if i%2 == 0 {
			q = p.Add(c.direction().Mul(c.box.Diagonal() * math.Pow(10, -6*c.rand.Float64())))
		}
		way := q.Sub(p).Len()
		change := math.Abs(c.s.Distance(q) - c.s.Distance(p))
		require.LessOrEqual(c.t, change, way*(1+slopeRounding)+roundMM, "slope between %v and %v", p, q)
	}
}

// amounts: no surface within |f|; where the distance is exact, a surface just beyond.
func (c *suite) amounts() {
	flat := 0
	for i := 0; i < c.claim.Points; i++ {
		p := c.point()
		if i%2 == 0 {
			p = c.towards(p, 2*c.rand.Float64())
		}
		f := c.s.Distance(p)
		in := c.claim.Inside(p)
		if math.Abs(f) < roundMM {
			continue
		}
		for j := 0; j < ballTries; j++ {
			r := math.Abs(f) - shyMM
			if j%2 == 0 {
				r *= math.Cbrt(c.rand.Float64())
			}
			q := p.Add(c.direction().Mul(r))
			if math.Abs(c.s.Distance(q)) > roundMM {
				require.Equal(c.t, in, c.claim.Inside(q), "%v at %v overstates: the surface is nearer, at %v", f, p, q)
			}
		}
		g := gradient(c.s, p)
		if g.Len() < flatSlope {
			flat++
			continue
		}
		q := p.Sub(g.Unit().Mul(f))
		if c.claim.Exact {
			require.True(c.t, c.crossed(q, g, in), "%v at %v understates: no surface at %v", f, p, q)
		}
	}
	if c.claim.Exact {
		require.Less(c.t, float64(flat), shareOfFlat*float64(c.claim.Points), "too many points without a nearest way")
	}
}

// crossed tells whether the other side of the surface is met within a skin of q: straight on, or, at a sharp corner,
// anywhere around.
func (c *suite) crossed(q, gradient geom.Vec, in bool) bool {
	const skin, tries = 10 * skinMM, 1000
	on := gradient.Unit().Mul(skin)
	if c.claim.Inside(q.Sub(on)) != in || c.claim.Inside(q.Add(on)) != in {
		return true
	}
	for j := 0; j < tries; j++ {
		if c.claim.Inside(q.Add(c.direction().Mul(skin))) != in {
			return true
		}
	}
	return false
}

// gradient takes central differences.
func gradient(s interface{ Distance(geom.Vec) float64 }, p geom.Vec) geom.Vec {
	slope := func(d geom.Vec) float64 {
		return (s.Distance(p.Add(d.Mul(probeMM))) - s.Distance(p.Sub(d.Mul(probeMM)))) / (2 * probeMM)
	}
	return geom.V(slope(geom.AxisX), slope(geom.AxisY), slope(geom.AxisZ))
}

// leaves: numbers are in range, no leaf is farther away than the surface, and gradients are what they say.
func (c *suite) leaves(l sdf.Leafed) {
	all := l.Leaves()
	require.NotEmpty(c.t, all)
	for i := 0; i < c.claim.Points; i++ {
		p := c.point()
		f := l.Distance(p)
		k := l.ActiveLeaf(p)
		require.True(c.t, k >= 0 && k < len(all), "leaf %d of %d at %v", k, len(all), p)
		d, n := sdf.Nearest(l, p)
		require.Equal(c.t, f, d, "both ways to ask at %v", p)
		require.Equal(c.t, k, n, "both ways to ask at %v", p)
		require.LessOrEqual(c.t, math.Abs(all[k].Distance(p)), math.Abs(f)+roundMM, "leaf %d %+v at %v", k, all[k], p)
		g := gradient(all[k], p)
		if g.Len() > flatSlope && math.Abs(g.Len()-1) < gradientTol {
			require.True(c.t, g.Near(all[k].Gradient(p), gradientTol), "gradient of leaf %d %+v at %v", k, all[k], p)
		}
	}
}

// surface: at points of the surface the active leaf is zero too, its gradient points out of the material, and just
// beside the surface it is the distance.
func (c *suite) surface(l sdf.Leafed) {
	all, found := l.Leaves(), 0
	for i := 0; i < c.claim.Points; i++ {
		p, ok := c.onSurface()
		if !ok {
			continue
		}
		k := l.ActiveLeaf(p)
		require.InDelta(c.t, 0, all[k].Distance(p), roundMM, "leaf %d %+v at %v on the surface", k, all[k], p)
		if !alone(all, k, p) {
			continue
		}
		found++
		g := all[k].Gradient(p)
		for _, step := range []float64{skinMM, -skinMM} {
			q := p.Add(g.Mul(step))
			require.InDelta(c.t, step, l.Distance(q), roundMM, "distance %v off leaf %d %+v at %v", step, k, all[k], p)
			require.Equal(c.t, k, l.ActiveLeaf(q), "leaf %v off leaf %d at %v", step, k, p)
			require.Equal(c.t, step < 0, c.claim.Inside(q), "material %v off leaf %d %+v at %v", step, k, all[k], p)
		}
	}
	assert.Greater(c.t, found, c.claim.Points/20, "too few points of the surface were found: the check is blind")
}

// alone tells whether no leaf but k is near p.
func alone(all []sdf.Leaf, k int, p geom.Vec) bool {
	for i, l := range all {
		if i != k && math.Abs(l.Distance(p)) < edgeMM {
			return false
		}
	}
	return true
}

// onSurface finds a point of the surface between one inside and one outside.
func (c *suite) onSurface() (geom.Vec, bool) {
	a := c.towards(c.point(), 1)
	b := a.Add(c.direction().Mul(3))
	if c.claim.Inside(a) == c.claim.Inside(b) {
		return a, false
	}
	if !c.claim.Inside(a) {
		a, b = b, a
	}
	for i := 0; i < 60; i++ {
		m := a.Lerp(b, 0.5)
		if c.claim.Inside(m) {
			a = m
		} else {
			b = m
		}
	}
	return b, true
}

// features: every edge and seam lies on the surface.
func (c *suite) features(l sdf.Leafed) {
	for _, f := range sdf.Features(l) {
		for i := 0; i < 16; i++ {
			p := f.At.Lerp(f.To, c.rand.Float64())
			if f.Radius > 0 {
				u := f.Dir.Across()
				s, co := math.Sincos(2 * math.Pi * c.rand.Float64())
				p = f.At.Add(u.Mul(f.Radius * co)).Add(f.Dir.Cross(u).Mul(f.Radius * s))
			}
			require.InDelta(c.t, 0, l.Distance(p), roundMM, "%+v at %v", f, p)
			require.True(c.t, f.Box().Grow(roundMM).Contains(p), "%+v: box", f)
		}
	}
}

// Volume measures the volume of s in cubic mm: cubes that are wholly inside by their distance are counted whole, the
// others are divided down to a side of cellMM, and then counted by how deep their middle lies. The error falls with
// about the square of cellMM; it is good for some thousandths at a thirtieth of the thinnest wall.
func Volume(s sdf.Solid, cellMM float64) float64 {
	b := s.Bounds()
	if b.IsEmpty() {
		return 0
	}
	half := cellMM / 2
	for size := b.Size(); 2*half < max(size.X, size.Y, size.Z); {
		half *= 2
	}
	return volume(s, b.Centre(), half, cellMM)
}

// volume is that within the cube of half a side about c.
func volume(s sdf.Solid, c geom.Vec, half, cell float64) float64 {
	f := s.Distance(c)
	whole := 8 * half * half * half
	switch {
	case f >= half*math.Sqrt(3):
		return 0
	case f <= -half*math.Sqrt(3):
		return whole
	case 2*half <= cell*1.0001:
		return whole * min(1, max(0, 0.5-f/(2*half)))
	}
	sum := 0.0
	h := half / 2
	for _, corner := range (geom.Box{Min: geom.V(-h, -h, -h), Max: geom.V(h, h, h)}).Corners() {
		sum += volume(s, c.Add(corner), h, cell)
	}
	return sum
}
