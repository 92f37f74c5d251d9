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

// TestStar: the suite, against the definition by a rolled ball. Points are tried all over and then about the corner.
func TestStar(t *testing.T) {
	points := 400
	if testing.Short() {
		points = 60
	}
	for _, name := range starOrder {
		for _, fillet := range []float64{0, 3} {
			t.Run(fmt.Sprintf("%s/fillet=%g", name, fillet), func(t *testing.T) {
				rods := stars()[name]
				s := sdf.Star(geom.Vec{}, fillet, rods...)
				claim := sdftest.Claim{Points: points, Inside: sdftest.Rolled(fillet, rods...)}
				sdftest.Check(t, s, claim)
				claim.Within = geom.Box{Min: geom.V(-20, -20, -20), Max: geom.V(20, 20, 20)}
				sdftest.Check(t, s, claim)
				claim.Within = geom.Box{Min: geom.V(8, 8, -14), Max: geom.V(14, 14, 14)} // where three corners meet
				claim.Points /= 4
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
