package picture

import (
	"errors"
	"math"
	"runtime"
	"sort"
	"sync"
	"sync/atomic"

	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/render"
)

// Weights of a view's score, our own choice. What counts first is that nothing is wholly hidden, and after that the
// number of parts that can be pointed at; the rest decides between equals.
const (
	hiddenWeight     = 100.0 // when any part is wholly hidden: a view that hides none goes before all others
	eachHiddenWeight = 3.0   // per part wholly hidden, when there is no such view
	dashedWeight     = 20.0  // times the share of parts wholly hidden, where these are drawn in dashes
	unanchoredWeight = 10.0  // per number no part of which has room for the end of a leader
	fractionWeight   = 10.0  // times the mean visible fraction
	worstWeight      = 4.0   // times the visible fraction of the least visible part
	axesWeight       = 6.0   // times the least foreshortening of the frame's own axes, up to enoughLength
	broadWeight      = 40.0  // times the mean foreshortening of the frame's three sides, the longer the more
	behindWeight     = 8.0   // times the share of what is fixed to the room that is seen from the surface's back
	frontWeight      = 10.0  // for a view from the side a person stands on who faces the back wall
	flatWeight       = 8.0   // against views so low that floors and boards are nearly lines
	sizeWeight       = 6.0   // times the scale, as a fraction of the largest scale of all views
)

const (
	// enoughLength is the foreshortening from which a direction counts as well seen.
	enoughLength = 0.5
	// anchorPixels is the least distance to the edge of a visible region, in pixels of a survey, at which a leader
	// can end.
	anchorPixels = 1
	// flatSine is the sine of the elevation, 15 degrees, under which a view is flat.
	flatSine = 0.26
	// hiddenPixels is how few pixels of a survey count as wholly hidden.
	hiddenPixels = 0
)

// view is a camera with its survey and score.
type scored struct {
	survey
	finest  float64 // the scale it was rated by, in scene millimetres per pixel
	score   float64
	hidden  int
	missing int      // numbers that cannot be pointed at
	mean    float64  // visible fraction of all parts
	others  []scored // the next best views, where they were asked for
}

// cameras are those of a view and of the next best.
func (v scored) cameras() []render.Camera {
	out := []render.Camera{v.view.Camera}
	for _, o := range v.others {
		if o.view.Camera != v.view.Camera {
			out = append(out, o.view.Camera)
		}
	}
	return out
}

// bestView surveys the scene from all candidates and returns the best one.
func (s *stage) bestView() (scored, error) { return s.bestOf(candidates()) }

// bestOf surveys the scene from some cameras and returns the best one, measured; of equals the first.
func (s *stage) bestOf(cameras []render.Camera) (scored, error) {
	few, err := s.bestFew(cameras, 1)
	if err != nil {
		return scored{}, err
	}
	best := few[0]
	if err := best.measure(s.coarse); err != nil {
		return scored{}, err
	}
	return s.rate(best.survey, best.finest), nil
}

// glanced is how many of many views are counted closely: a quarter of those of a survey. What a glance at half the size
// rates worse than that many others has not been the best of any picture yet.
const glanced = 16

// bestFew surveys the scene from some cameras and returns the best of them, at most n, the best first; of equals the
// first.
func (s *stage) bestFew(cameras []render.Camera, n int) ([]scored, error) {
	if len(cameras) > glanced {
		worth, err := s.rated(cameras, glanceWidth)
		if err != nil {
			return nil, err
		}
		cameras = nil
		for _, v := range worth[:glanced] {
			cameras = append(cameras, v.view.Camera)
		}
	}
	rated, err := s.rated(cameras, surveyWidth)
	return rated[:min(n, len(rated))], err
}

// rated surveys the scene from some cameras in pictures of a width, and returns them all, the best first.
func (s *stage) rated(cameras []render.Camera, width int) ([]scored, error) {
	all, errs := make([]survey, len(cameras)), make([]error, len(cameras))
	parallel(len(cameras), func(i int) { all[i], errs[i] = takeSurvey(s.coarse, cameras[i], width) })
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	compare(all)
	finest := all[0].view.PixelMM
	for _, v := range all {
		finest = min(finest, v.view.PixelMM)
	}
	rated := make([]scored, len(all))
	for i, v := range all {
		rated[i] = s.rate(v, finest)
	}
	sort.SliceStable(rated, func(i, k int) bool { return rated[i].score > rated[k].score })
	return rated, nil
}

// parallel calls do for 0 to n-1 on all cores.
func parallel(n int, do func(i int)) {
	var next atomic.Int32
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		}()
	}
	wg.Wait()
}

// rate scores a survey. Finest is the scale, in scene millimetres per pixel, of the largest of all views.
func (s *stage) rate(v survey, finest float64) scored {
	out := scored{survey: v, finest: finest}
	numbers := map[int]bool{}
	sum, worst := 0.0, 1.0
	for i, p := range s.parts {
		f := v.fraction(i + 1)
		sum, worst = sum+f, min(worst, f)
		if v.visible[i+1] <= hiddenPixels && v.whole[i+1] > hiddenPixels {
			out.hidden++
		}
		numbers[p.Number] = numbers[p.Number] || v.anchor[i+1] >= anchorPixels
	}
	for _, ok := range numbers {
		if !ok {
			out.missing++
		}
	}
	out.mean = sum / float64(max(1, len(s.parts)))
	switch {
	case s.dashes:
		out.score = -dashedWeight * float64(out.hidden) / float64(max(1, len(s.parts)))
	case out.hidden > 0:
		out.score = -hiddenWeight - eachHiddenWeight*float64(out.hidden)
	}
	if !s.dashes { // such pictures have no numbers
		out.score -= unanchoredWeight * float64(out.missing)
	}
	out.score += fractionWeight*out.mean + worstWeight*worst +
		axesWeight*s.leastAxis(v.view.Camera) + broadWeight*s.breadth(v.view.Camera) - behindWeight*s.seenBehind(v.view.Camera)
	out.score += sizeWeight * finest / v.view.PixelMM
	if v.view.Camera.Back.Z < flatSine {
		out.score -= flatWeight
	}
	// The frame has the back wall on its y side.
	if v.view.Camera.Back.Y < 0 {
		out.score += frontWeight
	}
	return out
}

// leastAxis returns the least foreshortening of the three axes, at most enoughLength, as a fraction of that.
func (s *stage) leastAxis(c render.Camera) float64 {
	least := enoughLength
	for _, a := range []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
		least = min(least, c.Foreshortening(a))
	}
	return least / enoughLength
}

// breadth returns how much of the lengths of the frame's sides is seen: near 1 from its broad side, less from its end,
// where it could be drawn larger but would tell less. Of a frame with slanted pipes it is no more than what is seen of
// the lengths of those: along such a pipe its two sides are seen well and it is not.
func (s *stage) breadth(c render.Camera) float64 {
	const square = 0.999 // cosine from which a pipe lies along an axis
	seen, all, slanted := 0.0, 0.0, false
	for _, p := range s.parts {
		if p.Kind == standard.Pipe {
			d := p.Pose.Z
			slanted = slanted || max(math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)) < square
			seen, all = seen+p.LengthMM*c.Foreshortening(d), all+p.LengthMM
		}
	}
	most := 1.0
	if slanted {
		most = seen / max(all, math.SmallestNonzeroFloat64)
	}
	d := s.box().Size()
	seen = d.X*c.Foreshortening(geom.AxisX) + d.Y*c.Foreshortening(geom.AxisY) + d.Z*c.Foreshortening(geom.AxisZ)
	return min(most, seen/max(d.X+d.Y+d.Z, math.SmallestNonzeroFloat64))
}

// seenBehind returns the share of the joints with the room whose surface is seen from its back.
func (s *stage) seenBehind(c render.Camera) float64 {
	n, behind := 0, 0
	for _, j := range s.plan.Joints {
		end := j.A
		if s.id[j.A.Part] == 0 {
			end = j.B
		}
		if (s.id[j.A.Part] == 0) == (s.id[j.B.Part] == 0) {
			continue
		}
		for _, p := range s.parts[s.id[end.Part]-1].Ports {
			if p.Name != end.Port {
				continue
			}
			n++
			if p.Out.Dot(c.Back) > 0 { // out of the part is into the surface
				behind++
			}
		}
	}
	return float64(behind) / math.Max(1, float64(n))
}
