package picture

import (
	"errors"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/render"
	"turnwise/render/raster"
)

// What the view of a step picture costs, in points; our own choice. A view that hides the work costs more than any way
// of turning the picture.
const (
	unseenPoints  = 100 // times what the least visible new part lacks of enoughSeen
	mouthPoints   = 60  // times what the least visible mouth lacks of enoughMouth
	shortPoints   = 40  // times what the most foreshortened way lacks of enoughAxis
	darkPoints    = 5   // times the mean hidden fraction of the new parts
	turnPoints    = 6   // for every change from one picture to the next, and
	degreePoints  = 0.2 // for every degree of it
	awayPoints    = 0.1 // for every degree from the view of the finished frame
	farthestDeg   = 80  // no view is taken farther than this from it
	enoughSeen    = 0.6 // visible fraction of a part; the least allowed without an inset is half
	enoughMouth   = 0.4 // the least allowed without an inset is 0.3
	enoughAxis    = 0.4
	surveyStepPx  = 320 // width of a picture that is only counted; its height is three quarters
	mouthSamples  = 24
	mouthRing     = 1.25 // radius of a mouth's edge in radii of the thinner part
	mouthSlackPix = 2.5
)

var stepElevationsDeg = []float64{12, 24, 36}

// stepCandidates are the views that step pictures may be taken from: that of the finished frame first.
func stepCandidates(reference render.Camera) []render.Camera {
	out := []render.Camera{reference}
	for _, e := range stepElevationsDeg {
		for i := range compassSteps {
			c := render.LookFrom((float64(i)+0.5)*2*math.Pi/compassSteps, e*math.Pi/180)
			if degrees(c, reference) <= farthestDeg {
				out = append(out, c)
			}
		}
	}
	return out
}

// degrees is the angle between the lines of sight of two cameras.
func degrees(a, b render.Camera) float64 { return a.Back.Angle(b.Back) * 180 / math.Pi }

// stepCameras chooses the camera of every picture: the path through pictures and views that costs least in all, so that
// one picture that needs another side does not make the view go to and fro.
func (s *stage) stepCameras(jobs []*stepJob) ([]render.Camera, error) {
	best, err := s.bestView()
	if err != nil {
		return nil, err
	}
	cameras := stepCandidates(best.view.Camera)
	cost := make([][]float64, len(jobs))
	errs := make([]error, len(jobs))
	parallel(len(jobs), func(i int) {
		cost[i], errs[i] = jobs[i].costs(cameras)
	})
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	var out []render.Camera
	for _, k := range cheapestPath(cost, func(a, b int) float64 {
		if a == b {
			return 0
		}
		return turnPoints + degreePoints*degrees(cameras[a], cameras[b])
	}) {
		out = append(out, cameras[k])
	}
	return out, nil
}

// cheapestPath takes one of the choices of each row so that their costs and those of going from choice to choice are
// least in all; of equals the first.
func cheapestPath(cost [][]float64, change func(a, b int) float64) []int {
	if len(cost) == 0 {
		return nil
	}
	sum := append([]float64(nil), cost[0]...)
	from := make([][]int, len(cost))
	for i := 1; i < len(cost); i++ {
		next := make([]float64, len(cost[i]))
		from[i] = make([]int, len(cost[i]))
		for b := range next {
			next[b] = math.Inf(1)
			for a := range sum {
				if v := sum[a] + change(a, b); v < next[b] {
					next[b], from[i][b] = v, a
				}
			}
			next[b] += cost[i][b]
		}
		sum = next
	}
	at := 0
	for k := range sum {
		if sum[k] < sum[at] {
			at = k
		}
	}
	out := make([]int, len(cost))
	for i := len(cost) - 1; i >= 0; i-- {
		out[i] = at
		if i > 0 {
			at = from[i][at]
		}
	}
	return out
}

// costs rates one picture from each camera. If the first serves well the others are not looked at: they cost as much
// as the worst.
func (j *stepJob) costs(cameras []render.Camera) ([]float64, error) {
	out := make([]float64, len(cameras))
	for k, c := range cameras {
		v, err := j.seen(c)
		if err != nil {
			return nil, err
		}
		out[k] = v.points() + awayPoints*degrees(c, cameras[0])
		if k == 0 && v.isEnough() {
			for i := 1; i < len(out); i++ {
				out[i] = out[0] + awayPoints*degrees(cameras[i], c)
			}
			return out, nil
		}
	}
	return out, nil
}

// sight is how well a picture shows what it is about.
type sight struct {
	least, mean float64            // visible fraction of the new parts
	mouth       float64            // of the least visible mouth; 1 when there is none
	axis        float64            // foreshortening of the most foreshortened way
	fraction    map[string]float64 // of each new part, by its id
	mouths      map[string]float64 // of each joint that is drawn open, by its key
}

func (v sight) isEnough() bool {
	return v.least >= enoughSeen && v.mouth >= enoughMouth && v.axis >= enoughAxis
}

func (v sight) points() float64 {
	return unseenPoints*max(0, enoughSeen-v.least) + mouthPoints*max(0, enoughMouth-v.mouth) +
		shortPoints*max(0, enoughAxis-v.axis) + darkPoints*(1-v.mean)
}

// seen counts pixels of a small picture.
func (j *stepJob) seen(c render.Camera) (sight, error) {
	frame := render.Frame{Right: surveyStepPx / PixelsPerMM, Bottom: surveyStepPx * 3 / 4 / PixelsPerMM}
	st := j.staged(c, j.frame(noColumn))
	scene := st.coarse
	view := render.Fit(c, scene.Bounds(c, nil), surveyStepPx, surveyStepPx*3/4,
		render.Frame{Left: 2, Top: 2, Right: frame.Right*PixelsPerMM - 2, Bottom: frame.Bottom*PixelsPerMM - 2})
	b, err := raster.Draw(scene, view)
	if err != nil {
		return sight{}, err
	}
	return j.sight(st, scene, view, b)
}

// sight measures buffers of what the picture shows.
func (j *stepJob) sight(st *stage, scene render.Scene, view render.View, b *render.Buffers) (sight, error) {
	visible := make([]int, len(st.parts)+2)
	for i := range b.Packed {
		if id := b.ID(i); id < len(visible) {
			visible[id]++
		}
	}
	v := sight{least: 1, mean: 1, mouth: 1, axis: 1, fraction: map[string]float64{}, mouths: map[string]float64{}}
	n, sum := 0, 0.0
	for i, p := range st.parts {
		if !j.counts(p.ID) {
			continue
		}
		alone, err := raster.Alone(scene.Instances[i], view)
		if err != nil {
			return v, err
		}
		seen := visible[i+1]
		if k := j.otherHalf(st, p.ID); k > 0 { // a union that is closed is one body
			if alone, err = together(scene, view, i, k-1); err != nil {
				return v, err
			}
			seen += visible[k]
		}
		f := 1.0
		if alone > 0 {
			f = min(1, float64(seen)/float64(alone))
		}
		v.least, v.fraction[p.ID] = min(v.least, f), f
		n, sum = n+1, sum+f
	}
	if n > 0 {
		v.mean = sum / float64(n)
	}
	for _, o := range j.joints {
		if o.joint == nil || !o.draws() {
			continue
		}
		v.axis = min(v.axis, view.Foreshortening(o.dir))
		if o.copy == 0 {
			m := st.mouth(o, view, b)
			v.mouths[o.key()] = m
			v.mouth = min(v.mouth, m)
		}
	}
	return v, nil
}

// otherHalf is the id of the other half of a union that a picture closes, 0 for other parts.
func (j *stepJob) otherHalf(st *stage, id string) int {
	for _, o := range j.joints {
		if o.step.Action != assembly.JoinUnion || o.joint == nil || o.draws() {
			continue
		}
		switch id {
		case o.joint.A.Part:
			return st.id[o.joint.B.Part]
		case o.joint.B.Part:
			return st.id[o.joint.A.Part]
		}
	}
	return 0
}

// together counts the pixels of two instances that stand alone.
func together(scene render.Scene, view render.View, i, k int) (int, error) {
	b, err := raster.Draw(render.Scene{Instances: []render.Instance{scene.Instances[i], scene.Instances[k]}}, view)
	if err != nil {
		return 0, err
	}
	n := 0
	for _, p := range b.Packed {
		if p != 0 {
			n++
		}
	}
	return n, nil
}

// counts tells whether a part must be seen in a picture: it is added there or, where nothing is, worked on. A group that
// is only moved is one body, and seen.
func (j *stepJob) counts(id string) bool {
	if len(j.adds) > 0 {
		return j.adds[id] && j.isStrong(id)
	}
	for _, o := range j.joints {
		if len(o.moves) > 1 && o.step.Action != assembly.Fasten && slices.Contains(o.moves, id) {
			return false
		}
	}
	return j.isStrong(id)
}

// mouth returns how much of the edge of a held mouth or pipe end is seen, of what would be seen of it alone.
func (s *stage) mouth(o opened, view render.View, b *render.Buffers) float64 {
	if len(o.onto) == 0 || s.id[o.onto[0]] == 0 {
		return 1
	}
	held := o.onto[0]
	at := s.end(endOf(o, held), o.joint.Axis.At)
	r := mouthRing * s.thin(o)
	out := o.dir.Neg()
	u := out.Across()
	v := out.Cross(u)
	slack := mouthSlackPix * view.PixelMM
	alone, seen := 0, 0
	for k := range mouthSamples {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / mouthSamples)
		radial := u.Mul(cos).Add(v.Mul(sin))
		if radial.Dot(view.Back) <= 0 && out.Dot(view.Back) <= 0 {
			continue
		}
		alone++
		x, y, d := view.Pixel(at.Add(radial.Mul(r)))
		px, py := int(x), int(y)
		if px < 0 || py < 0 || px >= b.Width || py >= b.Height {
			continue
		}
		i := py*b.Width + px
		if id := b.ID(i); id == s.id[held] || float64(b.Depth[i]) >= d-slack {
			seen++
		}
	}
	if alone == 0 {
		return 1
	}
	return float64(seen) / float64(alone)
}

// thin is the radius of the thinner of the two parts of a joint.
func (s *stage) thin(o opened) float64 {
	r := math.Inf(1)
	for _, id := range []string{o.joint.A.Part, o.joint.B.Part} {
		if i := s.id[id]; i > 0 {
			size := s.scene.Instances[i-1].Shape.Box.Size()
			r = min(r, min(size.X, size.Y, size.Z)/2)
		}
	}
	if math.IsInf(r, 1) {
		return 0
	}
	return r
}
