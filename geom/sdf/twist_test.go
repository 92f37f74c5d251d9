package sdf_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/geom"
	"turnwise/geom/sdf"
	"turnwise/geom/sdf/sdftest"
)

// TestTwistedWedge checks slots such as lead a lug round, right- and left-handed, against plain angles.
func TestTwistedWedge(t *testing.T) {
	for _, rate := range []float64{0.7, -0.7, 0.1} {
		const low, high, length, radius = -0.4, 0.5, 3, 2.6
		s := sdf.TwistedWedge(geom.Vec{}, geom.AxisZ, geom.AxisX, length, radius, low, high, rate)
		// The wedge is a small part of its box: points are tried nearer to it.
		near := geom.Box{Min: geom.V(-1, -2.5, -0.5), Max: geom.V(3, 2.5, 3.5)}
		sdftest.Check(t, s, sdftest.Claim{Within: near, Inside: func(p geom.Vec) bool {
			if p.Z <= 0 || p.Z >= length || math.Hypot(p.X, p.Y) >= radius {
				return false
			}
			a := math.Remainder(math.Atan2(p.Y, p.X)-rate*p.Z-(low+high)/2, 2*math.Pi)
			return math.Abs(a) < (high-low)/2
		}})
	}
	for _, bad := range []sdf.Leafed{
		sdf.TwistedWedge(geom.Vec{}, geom.AxisZ, geom.AxisX, 0, 1, 0, 1, 1), sdf.TwistedWedge(geom.Vec{}, geom.AxisZ, geom.AxisX, 1, 1, 1, 1, 1),
		sdf.TwistedWedge(geom.Vec{}, geom.AxisZ, geom.AxisX, 1, 1, 0, 3.2, 1), sdf.TwistedWedge(geom.Vec{}, geom.AxisZ, geom.AxisX, 1, -1, 0, 1, 1),
	} {
		assert.Empty(t, bad.Leaves())
	}
}
