package picture

import (
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/explode"
)

const (
	// clutterViews is from how many of the best sides it is tried to keep parts off one another on paper.
	clutterViews = 3
	// clutterWeight times the largest overlap of two outlines, as a share of the smaller, is what it costs a view.
	clutterWeight = 25.0
	// clearedSizeWeight times the scale, as a fraction of that before, is what a large drawing is worth here.
	clearedSizeWeight = 40.0
	// clearedShrink is how small the drawing may get for it, as a fraction of that of the frame in one piece.
	clearedShrink = 0.4
	// mostCleared is how far anything is taken off for it, in diagonals of the frame.
	mostCleared = 0.6
)

// unclutter takes apart further what lies over other parts on paper, for the best few cameras, and returns the best
// of these and the one given.
func (s *stage) unclutter(apart explode.Result, best scored, widen float64) (explode.Result, scored, error) {
	cameras := []render.Camera{best.view.Camera}
	for _, v := range best.others[:min(clutterViews-1, len(best.others))] {
		if v.hidden == 0 && v.view.Camera != best.view.Camera {
			cameras = append(cameras, v.view.Camera)
		}
	}
	// What was chosen first is measured the same way.
	as, vs, errs := make([]explode.Result, len(cameras)), make([]scored, len(cameras)), make([]error, len(cameras))
	boxes := s.boxes()
	parallel(len(cameras), func(i int) {
		as[i] = s.fitGaps(apart, boxes, cameras[i], widen, s.paper(cameras[i]))
		vs[i], errs[i] = s.moved(as[i].Offsets).bestOf(cameras[i : i+1])
	})
	sizeOf := best.view.PixelMM
	first := true
	for i := range cameras {
		if errs[i] != nil {
			return apart, best, errs[i]
		}
		vs[i].score += clearedSizeWeight*(sizeOf/vs[i].view.PixelMM-1) - clutterWeight*as[i].Overlap
		if vs[i].hidden > 0 || s.shrink(as[i], cameras[i]) < clearedShrink {
			continue
		}
		if first || vs[i].score > best.score {
			apart, best, first = as[i], vs[i], false
		}
	}
	return apart, best, nil
}

// paper is what a camera sees of the parts, each as a box along its own axes.
func (s *stage) paper(c render.Camera) *explode.Paper {
	p := &explode.Paper{Right: c.Right, Up: c.Up, Back: c.Back, Corners: map[string][]geom.Vec{}, MostMM: mostCleared * s.built.Diagonal()}
	for i, in := range s.scene.Instances {
		var at []geom.Vec
		for _, v := range in.Shape.Box.Corners() {
			at = append(at, in.Pose.Apply(v))
		}
		p.Corners[s.parts[i].ID] = at
	}
	return p
}
