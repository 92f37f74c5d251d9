package sdf

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
)

// On random points the distance to a sweep is never more than the least distance to the moving solid, looked up at many
// moments, and where the sweep is tight no less.
func TestSweep(t *testing.T) {
	board := Box(geom.Box{Max: geom.V(60, 40, 18)})
	// Holes reach far out of the board, so that its distances are true above and below them.
	hole := Cylinder(geom.V(20, 20, -200), geom.AxisZ, 400, 8)
	bored := Cut(board, hole, Cylinder(geom.V(45, 20, 5), geom.AxisZ, 200, 6))
	pipe := Revolve(geom.V(5, 0, 0), geom.AxisX, []Station{{0, 8}, {0, 10}, {6, 12}, {80, 12}, {80, 8}})
	slant := geom.Facing(geom.V(3, -7, 11), geom.V(1, 2, 3), geom.AxisX)
	for _, tt := range []struct {
		name  string
		s     Solid
		by    geom.Vec
		tight bool
	}{
		{"not at all", board, geom.Vec{}, true},
		{"box along an axis", board, geom.V(0, -70, 0), true},
		{"box across a plane", board, geom.V(0, -70, 40), false},
		{"box across space", board, geom.V(30, -70, 40), false},
		{"boxes along", Boxes(geom.Box{Max: geom.V(60, 40, 18)}, geom.Box{Min: geom.V(0, 0, 18), Max: geom.V(10, 40, 90)}), geom.V(25, 0, 0), true},
		{"boxes across", Boxes(geom.Box{Max: geom.V(60, 40, 18)}, geom.Box{Min: geom.V(0, 0, 18), Max: geom.V(10, 40, 90)}), geom.V(25, 35, 0), false},
		{"cylinder along", Cylinder(geom.V(1, 2, 3), geom.AxisY, 30, 9), geom.V(0, -20, 0), true},
		{"pipe along", pipe, geom.V(33, 0, 0), false},
		{"bored along one hole", Cut(board, hole), geom.V(0, 0, 50), true},
		{"bored and pocketed", bored, geom.V(0, 0, 50), false},
		{"bored across", bored, geom.V(50, 0, 0), false},
		{"placed", Move(board, slant), slant.Rotate(geom.V(0, 0, 44)), true},
		{"placed and bored", Move(bored, slant), slant.Rotate(geom.V(0, 0, 44)), false},
		{"joined", Join(board, Cylinder(geom.V(10, 10, 0), geom.AxisZ, 50, 8)), geom.V(0, 0, 25), true},
	} {
		t.Run(tt.name, func(t *testing.T) {
			swept, tight, ok := Sweep(tt.s, tt.by)
			require.True(t, ok)
			assert.Equal(t, tt.tight, tight)
			r := rand.New(rand.NewSource(1))
			box := swept.Bounds().Grow(30)
			size := box.Size()
			for range 3000 {
				p := box.Min.Add(geom.V(size.X*r.Float64(), size.Y*r.Float64(), size.Z*r.Float64()))
				least, step := math.Inf(1), tt.by.Len()/200
				for i := range 201 {
					least = min(least, tt.s.Distance(p.Sub(tt.by.Mul(float64(i)/200))))
				}
				d := swept.Distance(p)
				if least < 0 && !tt.tight {
					least *= 0.75 // inside a union distances are bounds
				}
				if d > max(least, -5)+1e-9 {
					require.Fail(t, fmt.Sprintf("%v is %v from the sweep, %v from the solid", p, d, least))
				}
				if tight && d > 0 {
					require.GreaterOrEqual(t, d, least-step, "at %v", p)
				}
			}
		})
	}
	_, _, ok := Sweep(pipe, geom.V(0, 10, 0))
	assert.False(t, ok, "a pipe across its axis")
	_, _, ok = Sweep(Sphere(geom.Vec{}, 3), geom.V(0, 10, 0))
	assert.False(t, ok)
}
