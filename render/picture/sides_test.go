package picture

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/geom/mesh"
)

// TestSides: four views of a body, none hidden behind another, each a turn and no mirror image.
func TestSides(t *testing.T) {
	for _, s := range sides {
		assert.True(t, s.pose.IsRigid(1e-9), s.name)
	}
	wedge := &mesh.Mesh{
		Vertices:  []geom.Vec{{}, {X: 30}, {Y: 20}, {Z: 10}},
		Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}},
	}
	p, err := Sides(assembly.Header{Units: "mm"}, assembly.Part{Kind: "tee", Pose: geom.Identity()}, wedge, "a wedge")
	require.NoError(t, err)
	assert.Empty(t, p.Scores.Hidden)
	assert.InDelta(t, 1, p.Scores.MeanVisible, 0.01)
	assert.Equal(t, SheetWidthMM*PixelsPerMM, p.Image.Bounds().Dx())
}
