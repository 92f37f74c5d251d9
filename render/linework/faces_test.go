package linework_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/linework"
)

// paint makes buffers in which id tells what is seen at the middle of each pixel.
func paint(w, h int, id func(x, y float64) int) *render.Buffers {
	b := &render.Buffers{Width: w, Height: h, PixelMM: 1, Packed: make([]uint32, w*h), Depth: make([]float32, w*h)}
	for i := range b.Packed {
		if k := id(float64(i%w)+0.5, float64(i/w)+0.5); k > 0 {
			b.Packed[i] = render.Pack(k, geom.AxisZ)
		}
	}
	return b
}

// area is that within contours, holes taken off.
func area(f linework.Face) float64 {
	sum := 0.0
	for _, c := range f.Contours {
		for i, p := range c {
			q := c[(i+1)%len(c)]
			sum += float64(p.X*q.Y-q.X*p.Y) / 2
		}
	}
	return sum
}

// TestFacesOfKnownShapes: a disc, a ring round it and the rest of the sheet have the areas of the closed forms, and no
// point of a contour lies farther from the circles than a tenth of a millimetre at 20 pixels to one.
func TestFacesOfKnownShapes(t *testing.T) {
	const w, h, perMM = 400, 300, 20
	b := paint(w, h, func(x, y float64) int {
		switch r := math.Hypot(x-200, y-150); {
		case r < 50:
			return 7
		case r < 100:
			return 3
		case r < 120:
			return 0
		}
		return 1
	})
	faces := linework.Faces(b, perMM)
	require.Len(t, faces, 3)
	want := map[int]float64{7: math.Pi * 2500, 3: math.Pi * 7500, 1: w*h - math.Pi*14400}
	contours := map[int]int{7: 1, 3: 2, 1: 2}
	last := 0
	for _, f := range faces {
		assert.Greater(t, f.ID, last, "rising")
		last = f.ID
		assert.InEpsilon(t, want[f.ID], area(f), 0.02, "id %d", f.ID)
		assert.Len(t, f.Contours, contours[f.ID], "id %d", f.ID)
		if f.ID == 1 {
			continue
		}
		for _, c := range f.Contours {
			for i, p := range c {
				q := c[(i+1)%len(c)]
				for _, m := range []linework.Vertex{p, {X: (p.X + q.X) / 2, Y: (p.Y + q.Y) / 2}} {
					r := math.Hypot(float64(m.X)-200, float64(m.Y)-150)
					assert.Less(t, min(math.Abs(r-50), math.Abs(r-100)), 0.1*perMM, "id %d", f.ID)
				}
			}
		}
	}
}

// TestFacesPartAtCorners: two pixels that meet at a corner are two contours.
func TestFacesPartAtCorners(t *testing.T) {
	b := paint(8, 8, func(x, y float64) int {
		if x < 4 && y < 4 || x > 4 && y > 4 {
			return 2
		}
		return 0
	})
	faces := linework.Faces(b, 20)
	require.Len(t, faces, 1)
	assert.Len(t, faces[0].Contours, 2)
}
