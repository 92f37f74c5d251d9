package fuse

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// TestThinCrossings: a sliver that folds over its neighbour is let pass, a triangle of some height that runs through
// another is not.
func TestThinCrossings(t *testing.T) {
	plate := []geom.Vec{geom.V(-10, -10, 0), geom.V(10, -10, 0), geom.V(0, 10, 0)}
	through := func(high float64) *mesh.Mesh {
		return &mesh.Mesh{
			Vertices:  append(append([]geom.Vec{}, plate...), geom.V(-1, 0, -high/2), geom.V(1, 0, -high/2), geom.V(0, 0, high/2)),
			Triangles: [][3]int32{{0, 1, 2}, {3, 4, 5}},
		}
	}
	for _, tt := range []struct {
		high float64
		want bool
	}{{0.004, true}, {0.5, false}} {
		m := through(tt.high)
		assert.NotEmpty(t, mesh.Crossings(m), "%v", tt.high)
		assert.Equal(t, tt.want, thinCrossings(m, 0.01), "%v", tt.high)
	}
}
