package picture

import (
	"math"

	"turnwise/render"
	"turnwise/render/raster"
)

// The directions a picture may be taken from: steps round the compass at a few heights above the horizon. The compass
// starts off the axes, so that no view looks straight along a wall.
// The heights are about that of the isometric view, 35 degrees, and some way to either side; the lowest looks under
// boards.
const compassSteps = 16

var elevationsDeg = []float64{10, 22, 32, 42}

// candidates returns the cameras to choose from.
func candidates() []render.Camera {
	var out []render.Camera
	for _, e := range elevationsDeg {
		for i := range compassSteps {
			az := (float64(i) + 0.5) * 2 * math.Pi / compassSteps
			out = append(out, render.LookFrom(az, e*math.Pi/180))
		}
	}
	return out
}

// survey is what was counted of one view.
type survey struct {
	camera  render.Camera
	visible []int   // pixels by id
	alone   []int   // pixels by id if nothing else stood there
	anchor  []int   // by id: greatest distance in pixels from the edge of its visible region
	pixelMM float64 // scene millimetres per pixel when it fills the picture
}

// surveyWidth and surveyHeight are the size of a picture that is only counted.
const surveyWidth, surveyHeight = 480, 360

// takeSurvey counts what a camera sees of a scene.
func takeSurvey(scene render.Scene, c render.Camera) (survey, error) {
	seen := scene.Bounds(c, nil)
	view := render.Fit(c, seen, surveyWidth, surveyHeight, render.Frame{Left: 4, Top: 4, Right: surveyWidth - 4, Bottom: surveyHeight - 4})
	b, err := raster.Draw(scene, view)
	if err != nil {
		return survey{}, err
	}
	n := len(scene.Instances) + 1
	s := survey{camera: c, visible: make([]int, n), alone: make([]int, n)}
	for i := range b.Packed {
		s.visible[b.ID(i)]++
	}
	for _, in := range scene.Instances {
		k, err := raster.Alone(in, view)
		if err != nil {
			return survey{}, err
		}
		s.alone[in.ID] = k
	}
	s.anchor = depths(b, n)
	s.pixelMM = view.PixelMM
	return s, nil
}

// fraction returns how much of id is seen, 0 to 1; 1 for what would not be seen alone either.
func (s survey) fraction(id int) float64 {
	if s.alone[id] == 0 {
		return 1
	}
	return min(1, float64(s.visible[id])/float64(s.alone[id]))
}

// depths returns for each id how far inside its visible region a pixel can lie, in steps from pixel to pixel (up,
// down, left, right), 0 for ids not seen.
func depths(b *render.Buffers, n int) []int {
	w, h := b.Width, b.Height
	d := make([]int32, w*h)
	most := make([]int, n)
	at := func(x, y, id int) int32 { // steps to the edge at a neighbour of the same id, -1 across the edge
		if x < 0 || y < 0 || x >= w || y >= h || b.ID(y*w+x) != id {
			return -1
		}
		return d[y*w+x]
	}
	for y := range h {
		for x := range w {
			if id := b.ID(y*w + x); id != 0 {
				d[y*w+x] = min(at(x-1, y, id), at(x, y-1, id)) + 1
			}
		}
	}
	for y := h - 1; y >= 0; y-- {
		for x := w - 1; x >= 0; x-- {
			if id := b.ID(y*w + x); id != 0 {
				k := min(d[y*w+x], at(x+1, y, id)+1, at(x, y+1, id)+1)
				d[y*w+x] = k
				most[id] = max(most[id], int(k))
			}
		}
	}
	return most
}
