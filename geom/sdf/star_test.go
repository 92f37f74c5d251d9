package sdf_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/geom"
	"turnwise/geom/sdf"
	"turnwise/geom/sdf/sdftest"
)

// stars are the bodies of castings: tees, a cross, side-outlet forms, unequal legs, legs at 135 degrees.
func stars() map[string][]sdf.Rod {
	x, y, z := geom.AxisX, geom.AxisY, geom.AxisZ
	slant := geom.V(1, 1, 0).Unit()
	return map[string][]sdf.Rod{
		"tee":        {{z, 30, 14}, {z.Neg(), 30, 14}, {x, 30, 14}},
		"small side": {{z, 30, 14}, {z.Neg(), 28, 14}, {x, 30, 8}},
		"bull-head":  {{z, 30, 9}, {z.Neg(), 30, 9}, {x, 30, 14}},
		"cross":      {{z, 30, 14}, {z.Neg(), 30, 14}, {x, 30, 14}, {x.Neg(), 30, 14}},
		"side tee":   {{z, 30, 14}, {z.Neg(), 30, 14}, {x, 30, 14}, {y, 30, 14}},
		"side elbow": {{z, 30, 14}, {x, 30, 14}, {y, 30, 14}},
		"elbow":      {{y, 30, 14}, {x, 25, 10}},
		"bent":       {{y.Neg(), 30, 14}, {slant, 30, 14}},
		"run":        {{z, 30, 14}, {z.Neg(), 30, 10}, {x, 30, 12}},
	}
}

var starOrder = []string{"tee", "small side", "bull-head", "cross", "side tee", "side elbow", "elbow", "bent", "run"}

// rayDistance is the distance from a rod that begins in a ball, cut flat, from its definition.
func rayDistance(r sdf.Rod, p geom.Vec) float64 {
	s := p.Dot(r.Dir)
	if s < 0 {
		return p.Len() - r.Radius
	}
	across := p.Sub(r.Dir.Mul(s)).Len() - r.Radius
	if s <= r.Length {
		return across
	}
	return math.Hypot(s-r.Length, max(0, across))
}

// roller holds, for rods and a ball, the curves on which the ball touches two rods. It shares nothing with the solid but
// the rods: each place of a curve is found by halving along the thinner rod.
type roller struct {
	rods   []sdf.Rod
	fillet float64
	curves []func(angle float64) (geom.Vec, bool)
	known  [][]geom.Vec // of each curve, at rollAngles angles
	points []geom.Vec   // where it touches three
}

const rollAngles = 240

func newRoller(rods []sdf.Rod, fillet float64) *roller {
	r := &roller{rods: rods, fillet: fillet}
	for i, a := range rods {
		for _, b := range rods[:i] {
			if a.Radius > b.Radius {
				r.add(b, a)
			} else {
				r.add(a, b)
			}
			if a.Radius == b.Radius { // where a ball is in the way neither is the thinner
				r.add(b, a)
			}
		}
	}
	return r
}

// add lists the curve of two rods and its places where a third is touched.
func (r *roller) add(thin, thick sdf.Rod) {
	u := thin.Dir.Across()
	w := thin.Dir.Cross(u)
	curve := func(angle float64) (geom.Vec, bool) {
		ring := u.Mul(math.Cos(angle)).Add(w.Mul(math.Sin(angle))).Mul(thin.Radius + r.fillet)
		lo, hi := 0.0, 100.0
		at := func(s float64) geom.Vec { return ring.Add(thin.Dir.Mul(s)) }
		thick.Length = 1000
		if rayDistance(thick, at(lo)) > r.fillet {
			return geom.Vec{}, false
		}
		for range 60 {
			if m := (lo + hi) / 2; rayDistance(thick, at(m)) > r.fillet {
				hi = m
			} else {
				lo = m
			}
		}
		return at(hi), true
	}
	r.curves = append(r.curves, curve)
	var list []geom.Vec
	for k := range rollAngles {
		c, ok := curve(2 * math.Pi * float64(k) / rollAngles)
		if !ok {
			c = geom.V(1e9, 0, 0)
		}
		list = append(list, c)
		lo, hi := float64(k), float64(k+1)
		free := func(k float64) bool { c, ok := curve(2 * math.Pi * k / rollAngles); return ok && r.free(c) }
		if a := free(lo); a != free(hi) {
			for range 60 {
				if m := (lo + hi) / 2; free(m) == a {
					lo = m
				} else {
					hi = m
				}
			}
			if !a {
				lo = hi
			}
			c, _ := curve(2 * math.Pi * lo / rollAngles)
			r.points = append(r.points, c)
		}
	}
	r.known = append(r.known, list)
}

func (r *roller) free(c geom.Vec) bool {
	for _, rod := range r.rods {
		if rayDistance(rod, c) < r.fillet-1e-10 {
			return false
		}
	}
	return true
}

// holds tells whether p is in a rod or out of reach of every free ball.
func (r *roller) holds(p geom.Vec) bool {
	near := false
	for _, rod := range r.rods {
		d := rayDistance(rod, p)
		if d < 0 && p.Dot(rod.Dir) < rod.Length {
			return true
		}
		near = near || d < r.fillet
	}
	return near && r.away(p) > r.fillet
}

// away is how far the nearest free centre is.
func (r *roller) away(p geom.Vec) float64 {
	best := math.Inf(1)
	try := func(c geom.Vec) {
		if d := c.Sub(p).Len(); d < best && r.free(c) {
			best = d
		}
	}
	for _, rod := range r.rods { // straight off one rod
		s := p.Dot(rod.Dir)
		out := p.Sub(rod.Dir.Mul(max(0, s)))
		if s > rod.Length {
			out = out.Unit().Mul(max(0, out.Len()-rod.Radius)).Add(rod.Dir.Mul(s - rod.Length))
		}
		try(p.Add(out.Unit().Mul(r.fillet - rayDistance(rod, p))))
	}
	for _, c := range r.points {
		try(c)
	}
	for k, list := range r.known {
		at := func(i int) float64 { return list[(i+rollAngles)%rollAngles].Sub(p).Len() }
		for i := range list {
			if at(i) < best+1 && at(i) <= at(i-1) && at(i) <= at(i+1) {
				try(r.nearest(k, float64(i), p))
			}
		}
	}
	return best
}

// nearest narrows down the place of a curve that is nearest to p, beside a place that was looked at.
func (r *roller) nearest(k int, i float64, p geom.Vec) geom.Vec {
	at := func(i float64) geom.Vec {
		if c, ok := r.curves[k](2 * math.Pi * i / rollAngles); ok {
			return c
		}
		return geom.V(1e9, 0, 0)
	}
	lo, hi := i-1, i+1
	for range 60 {
		a, b := lo+(hi-lo)*0.382, lo+(hi-lo)*0.618
		if at(a).Sub(p).Len() < at(b).Sub(p).Len() {
			hi = b
		} else {
			lo = a
		}
	}
	return at((lo + hi) / 2)
}

// TestStar: the suite, against the definition by a rolled ball. Points are tried all over and then about the corner.
func TestStar(t *testing.T) {
	for _, name := range starOrder {
		for _, fillet := range []float64{0, 3} {
			t.Run(fmt.Sprintf("%s/fillet=%g", name, fillet), func(t *testing.T) {
				rods := stars()[name]
				s := sdf.Star(geom.Vec{}, fillet, rods...)
				claim := sdftest.Claim{Points: 600, Inside: newRoller(rods, fillet).holds}
				sdftest.Check(t, s, claim)
				claim.Within = geom.Box{Min: geom.V(-20, -20, -20), Max: geom.V(20, 20, 20)}
				sdftest.Check(t, s, claim)
				pose := geom.Facing(geom.V(5, -3, 8), geom.V(1, 2, 3).Unit(), geom.AxisX)
				for k, l := range sdf.Move(s, pose).Leaves() {
					p := geom.V(9, 11, 13)
					assert.InDelta(t, s.Leaves()[k].Distance(p), l.Distance(pose.Apply(p)), 1e-9)
				}
			})
		}
	}
}

// TestStarFillet: between equal barrels that cross square, seen in the plane of their lines, the corner is a quarter of a
// circle: its middle is (sqrt 2 - 1) x fillet from the sharp corner, and the barrels are as they were beyond the circle.
func TestStarFillet(t *testing.T) {
	s := sdf.Star(geom.Vec{}, 3, stars()["tee"]...)
	d := 3 * (1 - math.Sqrt2/2)
	assert.InDelta(t, 0, s.Distance(geom.V(14+d, 0, 14+d)), 1e-9)
	assert.InDelta(t, 0, s.Distance(geom.V(17, 0, 14)), 1e-9)
	assert.InDelta(t, 0, s.Distance(geom.V(0, 14, 0)), 1e-9, "no swelling at the side, where the barrels run into one another")
	assert.InDelta(t, 3-math.Sqrt(2), s.Distance(geom.V(16, 0, 16)), 1e-9)
}

func TestStarOfNothing(t *testing.T) {
	for _, rods := range [][]sdf.Rod{nil, {{geom.Vec{}, 1, 1}}, {{geom.AxisX, 0, 1}}, {{geom.AxisX, 1, math.NaN()}}, make([]sdf.Rod, 9)} {
		assert.True(t, sdf.Star(geom.Vec{}, 1, rods...).Bounds().IsEmpty())
	}
}
