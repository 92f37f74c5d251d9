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
	view    render.View
	visible []int     // pixels by id
	whole   []float64 // by id, the pixels that count as seeing all of it
	anchor  []int     // by id: greatest distance in pixels from the edge of its visible region
}

// surveyWidth and surveyHeight are the size of a picture that is only counted.
const surveyWidth, surveyHeight = 480, 360

// takeSurvey counts what a camera sees of a scene. What counts as the whole of a part is left open.
func takeSurvey(scene render.Scene, c render.Camera) (survey, error) {
	seen := scene.Bounds(c, nil)
	view := render.Fit(c, seen, surveyWidth, surveyHeight, render.Frame{Left: 4, Top: 4, Right: surveyWidth - 4, Bottom: surveyHeight - 4})
	b, err := raster.Draw(scene, view)
	if err != nil {
		return survey{}, err
	}
	n := len(scene.Instances) + 1
	s := survey{view: view, visible: make([]int, n), whole: make([]float64, n), anchor: depths(b, n)}
	for i := range b.Packed {
		s.visible[b.ID(i)]++
	}
	return s, nil
}

// compare takes as the whole of each part the most that any of the surveys saw of it. That is nearly as good as
// drawing it alone, for choosing between the surveys, and needs no drawing.
func compare(all []survey) {
	for id := range all[0].whole {
		most := 0.0
		for _, s := range all {
			most = max(most, float64(s.visible[id])*s.view.PixelMM*s.view.PixelMM)
		}
		for _, s := range all {
			s.whole[id] = most / (s.view.PixelMM * s.view.PixelMM)
		}
	}
}

// measure takes as the whole of each part what is seen of it when nothing else stands there.
func (s survey) measure(scene render.Scene) error {
	for _, in := range scene.Instances {
		k, err := raster.Alone(in, s.view)
		if err != nil {
			return err
		}
		s.whole[in.ID] = float64(k)
	}
	return nil
}

// fraction returns how much of id is seen, 0 to 1; 1 for what would not be seen alone either.
func (s survey) fraction(id int) float64 {
	if s.whole[id] == 0 {
		return 1
	}
	return min(1, float64(s.visible[id])/s.whole[id])
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
