package picture

import (
	"image/color"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/standard"
)

// TestPortraits: every number but the pipes is drawn once, fittings at one scale that lets all of them fit, nothing cut
// off at the edge.
func TestPortraits(t *testing.T) {
	d := drawingOf(t, "bay")
	plan, meshes := d.plan, d.frame.Mesh
	const wide, high = 50, 32
	all, scale, err := Portraits(plan, meshes, wide, high)
	require.NoError(t, err)
	require.NotEmpty(t, all)
	want := map[int]bool{}
	for _, p := range plan.Parts {
		if p.Number > 0 && p.Kind != standard.Pipe {
			want[p.Number] = true
		}
	}
	got := map[int]bool{}
	for _, p := range all {
		assert.False(t, got[p.Number], "number %d twice", p.Number)
		got[p.Number] = true
		r := p.Image.Rect
		assert.LessOrEqual(t, float64(r.Dx()), float64(wide*PortraitPerMM+16))
		assert.LessOrEqual(t, float64(r.Dy()), float64(high*PortraitPerMM+16))
		inked := false
		for x := range r.Dx() {
			for y := range r.Dy() {
				edge := x == 0 || y == 0 || x == r.Dx()-1 || y == r.Dy()-1
				white := p.Image.NRGBAAt(x, y) == color.NRGBA{255, 255, 255, 255}
				inked = inked || !white
				assert.True(t, white || !edge, "number %d is cut off at %d, %d", p.Number, x, y)
			}
		}
		assert.True(t, inked)
	}
	assert.Equal(t, want, got)
	assert.Contains(t, portraitScales, scale)
}
