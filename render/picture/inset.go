package picture

import (
	"image"
	"image/draw"
	"math"
	"strconv"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/lettering"
)

// An inset shows the place of work enlarged, where it is small on the sheet or hidden.
const (
	insetMM      = 34  // its side
	insetPartMM  = 11  // the shorter side of the part worked on, in the inset
	insetMostMM  = 30  // its longest side there
	smallPartMM  = 8   // shorter than this on the sheet, a part needs an inset
	hiddenPart   = 0.5 // a part less visible than this needs one
	hiddenMouth  = 0.3 // so does a mouth
	insetLeastMM = 1.2 // least radius of the circle that marks its place on the sheet
)

// inset is a place of work to be shown enlarged.
type inset struct {
	o       opened
	part    string  // the one worked on
	scaleMM float64 // scene millimetres to one of the sheet
	partMM  float64 // the shorter side of the part on the sheet, in the inset
	x, y    float64 // of its top left corner
}

// inset chooses the place of work that a picture must show enlarged, nil when all of it is plain to see: of several the
// first whose part must point some way, or else the first.
func (j *stepJob) inset(c render.Camera) (*inset, error) {
	v, err := j.seen(c)
	if err != nil {
		return nil, err
	}
	scale := j.staged(c, j.frame(true)).scaleIn(c, j.frame(true))
	isHidden := v.least < hiddenPart+0.05 || v.mouth < hiddenMouth+0.05
	var found *inset
	for _, o := range j.joints {
		id := j.workedOn(o, v)
		if o.copy > 0 || id == "" {
			continue
		}
		short, long := j.whole.seenSize(id, c)
		if short/scale >= smallPartMM && !isHidden {
			continue
		}
		in := &inset{o: o, part: id, scaleMM: max(short/insetPartMM, long/insetMostMM)}
		in.partMM = short / in.scaleMM
		if found == nil || !found.points(j) && in.points(j) {
			found = in
		}
	}
	return found, nil
}

// points tells whether the part of an inset has a dial.
func (in *inset) points(j *stepJob) bool {
	for _, d := range j.dials() {
		if d.step == in.o.step.Number {
			return true
		}
	}
	return false
}

// workedOn is the small part that a joint is about: the fitting, of a fitting and a pipe; "" where there is none, as
// when a board is laid.
func (j *stepJob) workedOn(o opened, v sight) string {
	if o.joint == nil {
		if len(o.moves) == 1 && j.isWood(o.moves[0]) {
			return "" // a board is large, and hides what it is fixed to
		}
		best, most := "", -1.0
		for _, id := range o.step.Joints {
			if q := j.contact(id); q != nil && o.step.Action == assembly.Fasten {
				for _, e := range []assembly.End{q.A, q.B} {
					if p := j.whole.part(e.Part); p != nil && len(p.Boxes) == 0 && v.fraction[e.Part] > most {
						best, most = e.Part, v.fraction[e.Part]
					}
				}
			}
		}
		return best
	}
	for _, e := range []assembly.End{o.joint.A, o.joint.B} {
		if p := j.whole.part(e.Part); p != nil && p.Kind != standard.Pipe && len(p.Boxes) == 0 {
			return e.Part
		}
	}
	return ""
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

// drawInset draws the inset into the column and marks its place on the sheet.
func (sh *sheet) drawInset(in *inset) error {
	j := sh.step.job
	keep := func(p assembly.Part) bool { return j.shown[p.ID] }
	st := j.whole.subset(keep, j.offsets(in.scaleMM, sh.view.Camera))
	marks := &stepMarks{job: j, words: sh.step.words}
	marks.paint(st)
	mid := st.middle(in)
	sub := &sheet{stage: st, scene: st.withRoom(j), size: pt(insetMM, insetMM), step: marks, joined: st.areJoined, isInset: true}
	r, u, _ := sh.view.Project(mid)
	sub.view = render.View{Camera: sh.view.Camera, Width: insetMM * PixelsPerMM, Height: insetMM * PixelsPerMM,
		PixelMM: in.scaleMM / PixelsPerMM, MidRight: r, MidUp: u}
	if err := sub.draw(); err != nil {
		return err
	}
	sub.guides(j.guides(st))
	sub.arrow(in.o)
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
	if o.joint == nil {
		for _, id := range o.step.Joints {
			for i := range s.plan.Joints {
				if q := &s.plan.Joints[i]; q.ID == id && (q.A.Part == in.part || q.B.Part == in.part) {
					at := s.contactAt(q)
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

// frameInset draws the frame of an inset, a circle round its place on the sheet, and a line between the two.
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
	to := pt(x0, max(y0, min(y1, at.Y)))
	if l := math.Hypot(to.X-at.X, to.Y-at.Y); l > r && to.X > at.X+r {
		sh.over.line(pt(at.X+(to.X-at.X)*r/l, at.Y+(to.Y-at.Y)*r/l), to, 0.18, actInk)
	}
	if len(sh.step.job.steps) > 1 {
		text := sh.step.words.Say("mark.step", strconv.Itoa(in.o.step.Number))
		w := lettering.Regular.Width(text, stepTextMM)
		sh.over.rect(x0, y0, x0+w+2, y0+stepTextMM+1.6, paper)
		sh.over.text(lettering.Regular, text, stepTextMM, x0+1, y0+stepTextMM+0.8, actInk)
	}
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
