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

const (
	// surveyWidth is the width of a picture that is only counted, and surveyMargin what is left clear around. Its
	// height is three quarters.
	surveyWidth  = 480
	surveyMargin = 4
	// glanceWidth is that of one that only tells which views are worth counting.
	glanceWidth = 240
)

// takeSurvey counts what a camera sees of a scene, in a picture of a width in pixels. What counts as the whole of a
// part is left open.
func takeSurvey(scene render.Scene, c render.Camera, width int) (survey, error) {
	height, right := width*3/4, float64(width-surveyMargin)
	frame := render.Frame{Left: surveyMargin, Top: surveyMargin, Right: right, Bottom: float64(height - surveyMargin)}
	view := render.Fit(c, scene.Bounds(c, nil), width, height, frame)
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
// down, left, right), 0 for ids not seen. Pixels at the rim of the buffers lie at an edge.
func depths(b *render.Buffers, n int) []int {
	w, h := b.Width, b.Height
	d := make([]int32, w*h)
	most := make([]int, n)
	for y := 1; y < h-1; y++ {
		for i := y*w + 1; i < y*w+w-1; i++ {
			if b.Packed[i] != 0 {
				if id := b.ID(i); id == b.ID(i-1) && id == b.ID(i-w) {
					d[i] = min(d[i-1], d[i-w]) + 1
				}
			}
		}
	}
	for y := h - 2; y > 0; y-- {
		for i := y*w + w - 2; i > y*w; i-- {
			if d[i] == 0 {
				continue
			}
			id := b.ID(i)
			if id != b.ID(i+1) || id != b.ID(i+w) {
				d[i] = 0
				continue
			}
			d[i] = min(d[i], d[i+1]+1, d[i+w]+1)
			most[id] = max(most[id], int(d[i]))
		}
	}
	return most
}
