package raster_test

import (
	"fmt"
	"math"

	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/raster"
	"turnwise/render/rendertest"
)

// A block of 40 x 20 x 30 mm, seen from the front at a millimetre to the pixel.
func ExampleDraw() {
	block := rendertest.Box(geom.Box{Max: geom.V(40, 20, 30)})
	scene := render.Scene{Instances: []render.Instance{{ID: 7, Shape: render.NewShape(block), Pose: geom.Identity()}}}
	view := render.View{Camera: render.LookFrom(-math.Pi/2, 0), Width: 60, Height: 60, PixelMM: 1, MidRight: 20, MidUp: 15}
	b, err := raster.Draw(scene, view)
	if err != nil {
		fmt.Println(err)
		return
	}
	n := 0
	for i := range b.Packed {
		if b.ID(i) == 7 {
			n++
		}
	}
	fmt.Println(n, "pixels")
	// Output: 1200 pixels
}
