package linework_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/linework"
	"turnwise/render/raster"
	"turnwise/render/rendertest"
)

// vectors draws at 20 pixels to the millimetre of the sheet, as pictures are.
func vectors(t *testing.T, view render.View, in ...render.Instance) ([]linework.Stroke, *render.Ink) {
	t.Helper()
	b, err := raster.Draw(render.Scene{Instances: in}, view)
	require.NoError(t, err)
	o := linework.Options{Pens: linework.Scale, PixelsPer: 20, HaloStepMM: 5}
	ink, strokes := linework.Lines(b, o)
	return strokes, ink
}

// TestCubeAsVectors: a cube over a corner comes out as its outline, one closed stroke of six straight sides, and three
// creases of one side each: nine edges. Every corner of a stroke is a corner of the cube to a tenth of a millimetre.
func TestCubeAsVectors(t *testing.T) {
	c := render.LookFrom(-30*rad, 30*rad)
	cube := at(1, centred(100, 100, 100), geom.Identity())
	view := render.Fit(c, render.Scene{Instances: []render.Instance{cube}}.Bounds(c, nil), 800, 800, render.Frame{Left: 20, Top: 20, Right: 780, Bottom: 780})
	strokes, _ := vectors(t, view, cube)
	edges, near := visibleEdges(cube, view)
	require.Len(t, edges, 9)
	sum, want := 0.0, 0.0
	for _, s := range strokes {
		for i, p := range s.Points {
			require.Less(t, near(float64(p.X), float64(p.Y)), linework.SmoothMM*20, "a corner of a stroke lies on an edge")
			if i > 0 {
				sum += math.Hypot(float64(p.X-s.Points[i-1].X), float64(p.Y-s.Points[i-1].Y))
			}
		}
	}
	for _, e := range edges {
		want += e[1].Sub(e[0]).Len()
	}
	assert.InEpsilon(t, want, sum, 0.02, "all strokes together are as long as nine edges")
	outline := 0
	for _, s := range strokes {
		if s.Ink == render.InkLine {
			outline++
			assert.Equal(t, s.Points[0], s.Points[len(s.Points)-1], "the outline is closed")
			assert.LessOrEqual(t, len(s.Points), 6+1+3, "it has six sides, and no stairs are left of its pixels")
		}
	}
	assert.Equal(t, 1, outline)
}

// TestVectorsAreTheLinesOfThePicture compares both ways: every stroke runs on ink, and all ink lies by a stroke. F1 is
// the harmonic mean of the two shares within two pixels, a tenth of a millimetre.
func TestVectorsAreTheLinesOfThePicture(t *testing.T) {
	near := at(1, rendertest.Rod(48, 13, 400), geom.Facing(geom.V(-200, -60, 0), geom.AxisX, geom.AxisZ))
	far := at(2, rendertest.Rod(48, 13, 400), geom.At(geom.V(0, 60, -200)))
	c := render.LookFrom(-80*rad, 20*rad)
	view := render.Fit(c, render.Scene{Instances: []render.Instance{near, far}}.Bounds(c, nil), 900, 900, render.Frame{Left: 20, Top: 20, Right: 880, Bottom: 880})
	strokes, ink := vectors(t, view, near, far)
	drawn := make([]bool, len(ink.Mask))
	on, all := 0, 0
	for _, s := range strokes {
		half := int(s.WidthMM*20/2) + 2
		for i := 1; i < len(s.Points); i++ {
			a, b := s.Points[i-1], s.Points[i]
			n := int(math.Hypot(float64(b.X-a.X), float64(b.Y-a.Y))) + 1
			for k := range n + 1 {
				f := float32(k) / float32(n)
				x, y := int(a.X+(b.X-a.X)*f), int(a.Y+(b.Y-a.Y)*f)
				all++
				if inked(ink, float64(x), float64(y), 2) {
					on++
				}
				for dy := -half; dy <= half; dy++ {
					for dx := -half; dx <= half; dx++ {
						if px, py := x+dx, y+dy; px >= 0 && py >= 0 && px < ink.Width && py < ink.Height {
							drawn[py*ink.Width+px] = true
						}
					}
				}
			}
		}
	}
	covered, inks := 0, 0
	for i, m := range ink.Mask {
		if m > render.InkHalo {
			inks++
			if drawn[i] {
				covered++
			}
		}
	}
	precision, recall := float64(on)/float64(all), float64(covered)/float64(inks)
	assert.GreaterOrEqual(t, 2*precision*recall/(precision+recall), 0.98, "precision %.3f, recall %.3f", precision, recall)
	// The far rod's outlines stop short of the near one: no stroke of it runs in the gap.
	for _, s := range strokes {
		for _, p := range s.Points {
			x, y := int(p.X), int(p.Y)
			if x > 0 && y > 0 && x < ink.Width && y < ink.Height {
				assert.True(t, inked(ink, float64(p.X), float64(p.Y), 2), "a stroke at %v in a gap", p)
			}
		}
	}
}
