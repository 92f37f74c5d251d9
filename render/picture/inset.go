package picture

import (
	"image"
	"image/draw"
	"math"
	"slices"
	"sort"
	"strconv"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/lettering"
	"turnwise/render/raster"
)

// An inset shows a place of work enlarged, where it is small on the sheet or hidden.
const (
	insetMM      = 32  // its side
	insetPartMM  = 11  // the shorter side of the part worked on, in the inset
	insetMostMM  = 30  // its longest side there
	smallPartMM  = 8   // shorter than this on the sheet, a part needs an inset
	hiddenPart   = 0.5 // a part less visible than this needs one
	hiddenMouth  = 0.3 // so does a mouth
	nearlyHidden = 0.05
	insetLeastMM = 1.2 // least radius of the circle that marks its place on the sheet
	mostInsets   = 3   // in one picture: our own choice, as many as stand beside the drawing with their dials
)

// inset is a place of work to be shown enlarged.
type inset struct {
	o       opened
	part    string  // the one worked on
	scaleMM float64 // scene millimetres to one of the sheet
	partMM  float64 // the shorter side of the part on the sheet, in the inset
	camera  render.Camera
	sight   insetSight
	dial    int     // of the picture's dials, which is its own; -1 for none
	x, y    float64 // of its top left corner
}

// insetSight is how well an inset shows its place of work.
type insetSight struct {
	part, mouth float64 // visible shares of the part worked on and of the mouth
	face        float64 // cosine between the way out of the screw holes and the way to the eye; 1 where there are none
}

// sightOf joins what a picture and its insets show: the visible fraction of every new part, by the part's id, and of
// every mouth, by its joint's.
func (j *stepJob) sightOf(v sight, insets []*inset) (least, mouth float64) {
	least, mouth = 1, 1
	for _, p := range j.whole.parts {
		f, ok := v.fraction[p.ID]
		if !ok {
			continue
		}
		for _, in := range insets {
			if q := j.whole.part(in.part); q != nil && q.Number == p.Number {
				f = max(f, in.sight.part)
			}
		}
		least = min(least, f)
	}
	for _, o := range j.joints {
		m, ok := v.mouths[o.key()]
		if !ok {
			continue
		}
		for _, in := range insets {
			if j.work(in.o) == j.work(o) {
				m = max(m, in.sight.mouth)
			}
		}
		mouth = min(mouth, m)
	}
	return least, mouth
}

// insets chooses the places of work that a picture must show enlarged: the part worked on is small there, or it or its
// mouth hidden. Each kind of part is shown once, and once more for every other way that it must point. Where there are
// more than have room, what must point some way goes first, then what is hidden.
func (j *stepJob) insets(c render.Camera) ([]*inset, error) {
	v, err := j.seen(c)
	if err != nil {
		return nil, err
	}
	scale := j.staged(c, j.frame(rightColumn)).scaleIn(c, j.frame(rightColumn))
	type candidate struct {
		*inset
		rank, at int
	}
	var found []candidate
	dials := j.dials()
	for k, o := range j.firsts() {
		id := j.workedOn(o.opened, v)
		if id == "" {
			continue
		}
		short, long := j.whole.seenSize(id, c)
		hidden := j.isHidden(o.opened, v)
		if short/scale >= smallPartMM && !hidden {
			continue
		}
		in := &inset{o: o.opened, part: id, scaleMM: max(short/insetPartMM, long/insetMostMM), dial: -1, camera: c}
		in.partMM = short / in.scaleMM
		rank := 2
		for d := range dials {
			if dials[d].step == o.step.Number {
				in.dial, rank = d, 0
			}
		}
		if rank > 0 && hidden {
			rank = 1
		}
		found = append(found, candidate{in, rank, k})
	}
	sort.SliceStable(found, func(a, b int) bool { return found[a].rank < found[b].rank })
	shown := map[[2]int]bool{}
	var kept []candidate
	for _, f := range found {
		n := j.whole.part(f.part).Number
		if shown[[2]int{n, f.dial}] || f.rank == 2 && shown[[2]int{n, -2}] || len(kept) == mostInsets {
			continue
		}
		shown[[2]int{n, f.dial}], shown[[2]int{n, -2}] = true, true
		kept = append(kept, f)
	}
	sort.SliceStable(kept, func(a, b int) bool { return kept[a].at < kept[b].at })
	var out []*inset
	for _, f := range kept {
		if err := j.turnInset(f.inset); err != nil {
			return nil, err
		}
		out = append(out, f.inset)
	}
	return out, nil
}

// isHidden tells whether a picture hides the mouth that a joint is made at, or what moves there.
func (j *stepJob) isHidden(o opened, v sight) bool {
	if m, ok := v.mouths[o.key()]; ok && m < hiddenMouth+nearlyHidden {
		return true
	}
	return slices.ContainsFunc(o.moves, func(id string) bool {
		f, ok := v.fraction[id]
		return ok && f < hiddenPart+nearlyHidden
	})
}

// The views an inset may be taken from besides that of its picture, in degrees of azimuth from that, and of elevation.
var (
	insetTurnsDeg      = []float64{0, -20, 20, -45, 45, -70, 70}
	insetElevationsDeg = []float64{25, -25, 50}
)

const (
	insetSurveyPx = 144 // side of an inset that is only counted
	enoughFace    = 0.3 // cosine from which screws are seen going in
	facePoints    = 90  // times what it lacks
	insetTurnCost = 0.15
)

// turnInset turns the view of an inset where its place of work cannot be seen from where the picture is taken.
func (j *stepJob) turnInset(in *inset) error {
	s, err := j.insetSeen(in, in.camera)
	if err != nil {
		return err
	}
	in.sight = s
	if s.isEnough() {
		return nil
	}
	from := in.camera
	best := s.points()
	azimuth := math.Atan2(from.Back.Y, from.Back.X)
	for _, e := range insetElevationsDeg {
		for _, d := range insetTurnsDeg {
			c := render.LookFrom(azimuth+d*math.Pi/180, e*math.Pi/180)
			s, err := j.insetSeen(in, c)
			if err != nil {
				return err
			}
			if p := s.points() + insetTurnCost*degrees(c, from); p < best {
				best, in.camera, in.sight = p, c, s
			}
		}
	}
	short, long := j.whole.seenSize(in.part, in.camera)
	in.scaleMM = max(short/insetPartMM, long/insetMostMM)
	in.partMM = short / in.scaleMM
	in.sight, err = j.insetSeen(in, in.camera)
	return err
}

func (s insetSight) isEnough() bool {
	return s.part >= enoughSeen && s.mouth >= enoughMouth && s.face >= enoughFace
}

func (s insetSight) points() float64 {
	return unseenPoints*max(0, enoughSeen-s.part) + mouthPoints*max(0, enoughMouth-s.mouth) + facePoints*max(0, enoughFace-s.face)
}

// insetSeen counts the pixels of a small inset.
func (j *stepJob) insetSeen(in *inset, c render.Camera) (insetSight, error) {
	st := j.whole.subset(func(p assembly.Part) bool { return j.shown[p.ID] }, j.offsets(in.scaleMM, c))
	r, u, _ := c.Project(st.middle(in))
	view := render.View{Camera: c, Width: insetSurveyPx, Height: insetSurveyPx, PixelMM: in.scaleMM * insetMM / insetSurveyPx, MidRight: r, MidUp: u}
	out := insetSight{part: 1, mouth: 1, face: 1}
	b, err := raster.Draw(st.coarse, view)
	if err != nil {
		return out, err
	}
	seen := make([]int, len(st.parts)+2)
	for i := range b.Packed {
		if id := b.ID(i); id < len(seen) {
			seen[id]++
		}
	}
	for _, id := range append([]string{in.part}, in.o.moves[:min(1, len(in.o.moves))]...) {
		i := st.id[id]
		if i == 0 || id != in.part && j.isWood(id) {
			continue
		}
		alone, err := raster.Alone(st.coarse.Instances[i-1], view)
		if err != nil {
			return out, err
		}
		if alone > 0 {
			out.part = min(out.part, float64(seen[i])/float64(alone))
		}
	}
	if in.o.joint != nil && in.o.draws() {
		out.mouth = st.mouth(in.o, view, b)
	}
	for _, p := range st.screws(in.o, in.part) {
		out.face = min(out.face, -p.dir.Dot(c.Back))
	}
	return out, nil
}

// workedOn is the small part that a joint is about: the fitting, of a fitting and a pipe; "" where there is none, as
// when a board is laid.
func (j *stepJob) workedOn(o opened, v sight) string {
	if o.joint == nil {
		return j.fastened(o, v)
	}
	for _, e := range []assembly.End{o.joint.A, o.joint.B} {
		if p := j.whole.part(e.Part); p != nil && p.Kind != standard.Pipe && len(p.Boxes) == 0 {
			return e.Part
		}
	}
	return ""
}

// fastened is the part that a step without a thread is about: of those that it screws on, the one seen best.
func (j *stepJob) fastened(o opened, v sight) string {
	best, most := "", -1.0
	for _, id := range o.step.Joints {
		q := j.contact(id)
		if q == nil || o.step.Action != assembly.Fasten && o.step.Action != assembly.PutStrap {
			continue
		}
		for _, e := range []assembly.End{q.A, q.B} {
			if p := j.whole.part(e.Part); p != nil && len(p.Boxes) == 0 && v.fraction[e.Part] > most {
				best, most = e.Part, v.fraction[e.Part]
			}
		}
	}
	return best
}

func (j *stepJob) isWood(id string) bool {
	p := j.whole.part(id)
	return p != nil && len(p.Boxes) > 0
}

// seenSize returns the shorter and the longer side of a part as a camera sees it, in scene millimetres.
func (s *stage) seenSize(id string, c render.Camera) (short, long float64) {
	i := s.id[id]
	if i == 0 {
		return 0, 0
	}
	size := render.Scene{Instances: s.coarse.Instances[i-1 : i]}.Bounds(c, nil).Size()
	return min(size.X, size.Y), max(size.X, size.Y)
}

// drawInset draws an inset at its place in a column and marks its place on the sheet.
func (sh *sheet) drawInset(in *inset) error {
	j := sh.step.job
	keep := func(p assembly.Part) bool { return j.shown[p.ID] }
	st := j.whole.subset(keep, j.offsets(in.scaleMM, in.camera))
	marks := &stepMarks{job: j, words: sh.step.words}
	marks.paint(st)
	sub := &sheet{stage: st, scene: st.withRoom(j), size: pt(insetMM, insetMM), step: marks, joined: st.areJoined, isInset: true}
	r, u, _ := in.camera.Project(st.middle(in))
	sub.view = render.View{Camera: in.camera, Width: insetMM * PixelsPerMM, Height: insetMM * PixelsPerMM,
		PixelMM: in.scaleMM / PixelsPerMM, MidRight: r, MidUp: u}
	if err := sub.draw(); err != nil {
		return err
	}
	sub.guides(j.guides(st))
	if len(st.screws(in.o, in.part)) > 0 {
		sub.drawScrews(in.o, in.part)
	} else {
		sub.arrow(in.o)
	}
	if in.o.joint != nil && in.o.turnsDeg != 0 {
		for _, id := range in.o.held() {
			sub.jaws(in.o, id)
		}
	}
	sh.paste(sub, in.x, in.y)
	sh.frameInset(in, sh.stage.middle(in))
	return nil
}

// middle is the middle of the place an inset shows: half-way between what is joined.
func (s *stage) middle(in *inset) geom.Vec {
	o := in.o
	if at := s.screws(o, in.part); len(at) > 0 { // before the holes, where the screws and the driver are
		const before = 3.5 // mm of the inset
		var mid geom.Vec
		for _, p := range at {
			mid = mid.Add(p.at.Sub(p.dir.Mul(before * in.scaleMM)).Mul(1 / float64(len(at))))
		}
		return mid
	}
	if o.joint == nil {
		for _, id := range o.step.Joints {
			for i := range s.plan.Joints {
				if q := &s.plan.Joints[i]; q.ID == id && (q.A.Part == in.part || q.B.Part == in.part) {
					at := s.contactAt(q, o.onto)
					if len(o.moves) > 0 && o.draws() && len(o.onto) > 0 {
						at = at.Add(s.shift(o.moves[0]).Sub(s.shift(o.onto[0])).Mul(0.5))
					}
					return at
				}
			}
		}
	}
	a, b := s.end(o.joint.A, o.joint.Axis.At), s.end(o.joint.B, o.joint.Axis.At)
	return a.Lerp(b, 0.5)
}

// withRoom is the scene with floor and walls where the picture shows them.
func (s *stage) withRoom(j *stepJob) render.Scene {
	scene := s.scene
	if !j.inPlace {
		return scene
	}
	room := roomShape(j.whole.plan, s.built)
	if room == nil {
		return scene
	}
	in := append([]render.Instance(nil), scene.Instances...)
	scene.Instances = append(in, render.Instance{ID: len(s.parts) + 1, Shape: room, Pose: geom.Identity(), Tone: roomTone, Ground: true})
	return scene
}

// paint marks the parts of a stage as strong or pale and gives the pale ones their tone.
func (m *stepMarks) paint(st *stage) {
	m.strong, m.pale = make([]bool, len(st.parts)+2), make([]bool, len(st.parts)+2)
	for i, p := range st.parts {
		m.strong[i+1] = m.job.isStrong(p.ID)
		m.pale[i+1] = !m.strong[i+1]
		tone := &st.scene.Instances[i].Tone
		if m.pale[i+1] {
			*tone = paleTone(*tone)
		} else {
			*tone = strongTone(*tone)
		}
	}
}

// paste copies a finished smaller sheet into this one.
func (sh *sheet) paste(sub *sheet, x, y float64) {
	at := image.Pt(int(x*PixelsPerMM), int(y*PixelsPerMM))
	draw.Draw(sh.over.img, sub.over.img.Rect.Add(at), sub.over.img, image.Point{}, draw.Src)
	sh.pasted = append(sh.pasted, pasted{sub, x, y})
	sh.step.take(box{x - 1, y - 1, x + insetMM + 1, y + insetMM + 1})
}

// pasted is a smaller sheet on a larger one.
type pasted struct {
	*sheet
	x, y float64
}

// frameInset draws the frame of an inset, a circle round its place on the sheet, and a line between the two; and writes
// of which step it is, and from where it is seen when that is not as in the picture.
func (sh *sheet) frameInset(in *inset, place geom.Vec) {
	const lineMM = 0.35
	x0, y0, x1, y1 := in.x, in.y, in.x+insetMM, in.y+insetMM
	for _, l := range [4][2]point{{pt(x0, y0), pt(x1, y0)}, {pt(x1, y0), pt(x1, y1)}, {pt(x1, y1), pt(x0, y1)}, {pt(x0, y1), pt(x0, y0)}} {
		sh.over.line(l[0], l[1], lineMM, actInk)
		sh.over.disc(l[0], lineMM/2, actInk)
	}
	at, _ := sh.sheetPoint(place)
	r := max(insetLeastMM, insetMM/2*in.scaleMM/(sh.view.PixelMM*PixelsPerMM))
	sh.ring(at, r, lineMM)
	to := in.lineTo(at)
	if l := math.Hypot(to.X-at.X, to.Y-at.Y); l > r && (at.X < x0 || at.X > x1) {
		from := pt(at.X+(to.X-at.X)*r/l, at.Y+(to.Y-at.Y)*r/l)
		sh.over.line(from, to, 0.18, actInk)
		sh.step.line(from, to)
	}
	write := func(text string, y float64) {
		w := lettering.Regular.Width(text, stepTextMM)
		sh.over.rect(x0, y, x0+w+2, y+stepTextMM+1.6, paper)
		sh.over.text(lettering.Regular, text, stepTextMM, x0+1, y+stepTextMM+0.8, actInk)
	}
	if len(sh.step.job.steps) > 1 {
		write(sh.step.words.Say("mark.step", strconv.Itoa(in.o.step.Number)), y0)
	}
	if degrees(in.camera, sh.view.Camera) > mostTurnDeg {
		write(sh.step.words.Say("dial.seen."+eyeFrom(in.camera)), y1-stepTextMM-1.6)
	}
}

// lineTo is where on the frame of an inset the line to its place ends.
func (in *inset) lineTo(at point) point {
	to := pt(in.x, max(in.y+2, min(in.y+insetMM-2, at.Y)))
	if at.X > in.x+insetMM {
		to.X = in.x + insetMM
	}
	return to
}

// ring draws a circle.
func (sh *sheet) ring(at point, r, widthMM float64) {
	const n = 48
	last := pt(at.X+r, at.Y)
	for k := 1; k <= n; k++ {
		s, c := math.Sincos(2 * math.Pi * float64(k) / n)
		p := pt(at.X+r*c, at.Y+r*s)
		sh.over.line(last, p, widthMM, actInk)
		last = p
	}
}
