package picture

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/packing"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/callout"
)

// The sheet of a step picture: 1,600 x 1,200 pixels.
const (
	StepWidthMM  = 160
	StepHeightMM = 120
)

// StepPicture is the picture of one or several steps.
type StepPicture struct {
	Number int
	*Picture
}

// StepPictures draws the steps of a plan, one picture for each number that its steps name. Done is called with each, in
// order; it may keep it. An error of done ends the work.
func StepPictures(plan *assembly.Plan, meshes Meshes, done func(StepPicture) error) error {
	words, err := wording.EnglishPages()
	if err != nil {
		return err
	}
	whole := newStage(plan, meshes)
	whole.dashes = true // the views of steps start from that of the finished frame
	if len(whole.parts) == 0 || len(plan.Steps) == 0 {
		return nil
	}
	jobs := whole.stepJobs()
	cameras, err := whole.stepCameras(jobs)
	if err != nil {
		return fmt.Errorf("choosing the views of the steps: %w", err)
	}
	relay(jobs)
	return inOrder(len(jobs), func(i int) (*Picture, error) {
		if i > 0 {
			jobs[i].before = &cameras[i-1]
		}
		p, err := jobs[i].draw(cameras[i], words)
		if err != nil {
			return nil, fmt.Errorf("drawing the picture of step %d: %w", jobs[i].steps[0].Number, err)
		}
		return p, nil
	}, func(i int, p *Picture) error { return done(StepPicture{jobs[i].number, p}) })
}

// inOrder makes n things, as many at a time as there are processors, and hands each over in order.
func inOrder(n int, make1 func(i int) (*Picture, error), done func(i int, p *Picture) error) error {
	const atOnce = 8 // pictures kept until those before them are handed over
	for from := 0; from < n; from += atOnce {
		k := min(atOnce, n-from)
		out, errs := make([]*Picture, k), make([]error, k)
		parallel(k, func(i int) { out[i], errs[i] = make1(from + i) })
		if err := errors.Join(errs...); err != nil {
			return err
		}
		for i, p := range out {
			if err := done(from+i, p); err != nil {
				return err
			}
		}
	}
	return nil
}

// standing tells on which side of a picture the balloons of numbers stood last.
type standing map[int]callout.Side

// relay ties the jobs of pictures together, so that each knows where balloons stood in those before it. Pictures are
// drawn several at a time, but begun in their order, so none waits for one that is not being drawn.
func relay(jobs []*stepJob) {
	stood := make(chan standing, 1)
	stood <- standing{}
	for _, j := range jobs {
		j.stood, j.stand = stood, make(chan standing, 1)
		stood = j.stand
	}
}

// handOver gives the next picture what was known before, changed by f. Only the first call does anything.
func (j *stepJob) handOver(f func(stood standing)) {
	if j.stood == nil {
		return
	}
	s := <-j.stood
	if f != nil {
		f(s)
	}
	j.stood = nil
	j.stand <- s
}

// stepJob is a step picture to be drawn.
type stepJob struct {
	whole   *stage
	number  int
	steps   []assembly.Step
	inPlace bool
	shown   map[string]bool // parts
	fresh   map[string]bool // of these, what the picture is about
	joints  []opened        // in the order of the steps, first copies and others
	adds    map[string]bool // parts not seen in any picture before
	before  *render.Camera  // of the picture before, nil for the first

	stood, stand chan standing // from the picture before, and to the one after; nil when there is none
}

// opened is a joint or contact that is drawn open: moves come onto what is held, along dir.
type opened struct {
	step     *assembly.Step
	copy     int // 0, or which of its repeats
	moves    []string
	onto     []string
	joint    *assembly.Joint // nil where there is none with an axis
	dir      geom.Vec        // the way the moving side goes at the end
	turnsDeg float64         // by which it turns about dir at the end; 0 when it does not
	tilt     assembly.Move   // the turn by which a frame is stood up; no other has one
}

// stepJobs walks the plan and gathers what each picture shows.
func (s *stage) stepJobs() []*stepJob {
	w := newWalker(s)
	var out []*stepJob
	for i := range s.plan.Steps {
		st := s.plan.Steps[i]
		if len(out) == 0 || out[len(out)-1].number != st.Picture {
			out = append(out, &stepJob{whole: s, number: st.Picture, fresh: map[string]bool{}, adds: map[string]bool{}})
		}
		j := out[len(out)-1]
		j.steps = append(j.steps, st)
		w.take(j, &s.plan.Steps[i])
		j.shown = w.around(st)
		j.inPlace = st.Where == "place"
	}
	return out
}

// walker replays which parts are there, and which hang together.
type walker struct {
	stage  *stage
	joints map[string]*assembly.Joint
	group  map[string]int
	next   int
	placed map[string]bool // parts that are there
	room   map[int]bool    // groups that stand in the room
}

func newWalker(s *stage) *walker {
	w := &walker{stage: s, joints: map[string]*assembly.Joint{}, group: map[string]int{}, placed: map[string]bool{}, room: map[int]bool{}}
	for i := range s.plan.Joints {
		w.joints[s.plan.Joints[i].ID] = &s.plan.Joints[i]
	}
	return w
}

// take does a step: what moves joins the group of what it meets.
func (w *walker) take(j *stepJob, st *assembly.Step) {
	w.do(j, st, 0, st.Moves, st.Onto, st.Joints, st.Motion)
	for k, r := range st.Repeats {
		w.do(j, st, k+1, r.Moves, r.Onto, r.Joints, r.Motion)
	}
}

func (w *walker) do(j *stepJob, st *assembly.Step, nth int, moves, onto, joints []string, motion []assembly.Move) {
	w.next++
	g := w.next
	for _, ids := range [][]string{moves, onto} {
		for _, id := range ids {
			if old, ok := w.group[id]; ok && old != g {
				w.merge(old, g)
			}
			if _, isPart := w.stage.id[id]; isPart {
				w.group[id] = g
			}
		}
	}
	if st.Where == "place" {
		w.room[g] = true
	}
	for _, id := range moves {
		if !w.placed[id] {
			j.adds[id] = true
		}
		w.placed[id], j.fresh[id] = true, true
	}
	for _, id := range joints {
		if q := w.joints[id]; q != nil && len(moves) == 0 {
			j.fresh[q.A.Part], j.fresh[q.B.Part] = true, true
		}
	}
	j.joints = append(j.joints, w.open(st, nth, moves, onto, joints, motion))
}

func (w *walker) merge(old, into int) {
	for id, g := range w.group {
		if g == old {
			w.group[id] = into
		}
	}
	if w.room[old] {
		w.room[into] = true
	}
}

// open says how the contact of a step is drawn open.
func (w *walker) open(st *assembly.Step, nth int, moves, onto, joints []string, motion []assembly.Move) opened {
	o := opened{step: st, copy: nth, moves: moves, onto: onto}
	for _, id := range joints {
		if q := w.joints[id]; q != nil && q.Axis != nil {
			o.joint = q
			break
		}
	}
	if o.joint == nil && st.Action == assembly.Adjust {
		o.joint = w.threadOf(moves)
	}
	if n := len(motion); n > 0 {
		last := motion[n-1]
		if st.Action == assembly.StandUp {
			for _, m := range motion {
				if m.Kind == assembly.Turn {
					o.tilt = m
				}
			}
		} else if last.Kind == assembly.Turn {
			o.dir, o.turnsDeg = last.Axis.Dir.Unit(), last.ByDeg
			if last.AdvanceMM < 0 {
				o.dir, o.turnsDeg = o.dir.Neg(), -last.ByDeg
			}
		} else {
			o.dir = approach(motion)
		}
	}
	if st.Action == assembly.JoinUnion && o.joint != nil {
		// The nut sits on half b, goes towards half a, and tightens like any right-hand thread.
		o.dir, o.turnsDeg = o.joint.Axis.Dir.Neg(), 360
	}
	return o
}

// approach is the way of the last stretch of a motion that is long enough to see.
func approach(motion []assembly.Move) geom.Vec {
	const leastMM = 5
	for i := len(motion) - 1; i >= 0; i-- {
		if m := motion[i]; m.Kind == assembly.Translate && m.By.Len() >= leastMM {
			return m.By.Unit()
		}
	}
	return geom.Vec{}
}

// threadOf returns the thread that a part already sits on, to be adjusted.
func (w *walker) threadOf(moves []string) *assembly.Joint {
	for i := range w.stage.plan.Joints {
		q := &w.stage.plan.Joints[i]
		if q.Kind.IsThreaded() && q.Axis != nil && (slices.Contains(moves, q.A.Part) || slices.Contains(moves, q.B.Part)) {
			return q
		}
	}
	return nil
}

// around returns the parts that hang together with what a step works on, and with it all that stands in the room once
// that does.
func (w *walker) around(st assembly.Step) map[string]bool {
	out := map[string]bool{}
	groups := map[int]bool{}
	for _, ids := range [][]string{st.Moves, st.Onto} {
		for _, id := range ids {
			if g, ok := w.group[id]; ok {
				groups[g] = true
			}
		}
	}
	if st.Where == "place" {
		for g := range w.room {
			groups[g] = true
		}
	}
	for id, g := range w.group {
		if groups[g] && w.placed[id] {
			out[id] = true
		}
	}
	return out
}

// draws tells whether a joint is drawn open: what moves is set off along the way it comes.
func (o opened) draws() bool {
	if o.step.Action == assembly.Adjust || len(o.moves) == 0 || o.dir == (geom.Vec{}) {
		return false
	}
	return !(o.step.Action == assembly.Fasten && len(o.moves) > 1) && o.step.Action != assembly.StandUp
}

// offsets sets off what each joint moves by a gap in space that shows as gapMM on a sheet of the given scale (scene
// millimetres to one of the sheet), seen by a camera.
func (j *stepJob) offsets(scale float64, c render.Camera) map[string]geom.Vec {
	out := map[string]geom.Vec{}
	for _, o := range j.joints {
		if !o.draws() {
			continue
		}
		gap := max(gapMM, stepGapMM*scale/max(leastForeshortening, c.Foreshortening(o.dir)))
		if o.joint != nil {
			gap += o.joint.EngagementMM
		}
		by := o.dir.Mul(-gap)
		if len(o.onto) > 0 {
			by = by.Add(out[o.onto[0]])
		}
		for _, id := range o.moves {
			out[id] = by
		}
	}
	return out
}

// stepGapMM is the gap between mouths on the sheet of a step picture.
const stepGapMM = 6

// staged returns what the picture shows, seen by a camera: gaps and scale brought into line.
func (j *stepJob) staged(c render.Camera, frame render.Frame) *stage {
	keep := func(p assembly.Part) bool { return j.shown[p.ID] }
	scale := j.whole.subset(keep, nil).scaleIn(c, frame)
	var out *stage
	for range gapRounds {
		out = j.whole.subset(keep, j.offsets(scale, c))
		scale = out.scaleIn(c, frame)
	}
	return out
}

// scaleIn is how many millimetres go to one of the sheet, at least leastStepScale.
func (s *stage) scaleIn(c render.Camera, f render.Frame) float64 {
	return max(leastStepScale, 1/fitScale(f, s.scene.Bounds(c, nil)))
}

// leastStepScale keeps a single fitting from filling the sheet: 1:1.6.
const leastStepScale = 1.6

// stepMarks says what a step picture is about.
type stepMarks struct {
	job          *stepJob
	words        *wording.Pages
	strong, pale []bool // by id
	taken        []box  // places on the sheet that hold something already
	written      []box  // that balloons keep off: insets, dials, dimensions, bearings
	measured     box    // around the dimensions, empty when there are none
	dials        []dial
	insets       []*inset
	columns      columns
	groups       []group // what stands in the columns
	camera       render.Camera
	contrast     float64        // of new parts to old ones, before marks are drawn over them
	isContrast   bool           // there are both
	before       *render.Camera // of the picture before, nil for the first
}

// mostTurnDeg is how far the view may turn from picture to picture without a word.
const mostTurnDeg = 30

// isTurned tells whether the picture must say that it is seen from another side than the one before.
func (m *stepMarks) isTurned() bool {
	return m.before != nil && degrees(m.camera, *m.before) > mostTurnDeg
}

// box is a rectangle on the sheet.
type box struct{ x0, y0, x1, y1 float64 }

func (b box) overlaps(c box) float64 {
	w, h := min(b.x1, c.x1)-max(b.x0, c.x0), min(b.y1, c.y1)-max(b.y0, c.y0)
	return max(0, w) * max(0, h)
}

// paleTone is that of parts that only stand there: light greys in which families still differ a little.
func paleTone(t render.Tone) render.Tone {
	grey := func(c render.Colour) render.Colour {
		const white, share = 255, 0.25
		y := uint8(math.Round(c.Luma() * white))
		return render.Colour{R: white, G: white, B: white}.Lerp(render.Colour{R: y, G: y, B: y}, share)
	}
	return render.Tone{Light: grey(t.Light), Shade: grey(t.Shade)}
}

// strongTone is that of parts a picture is about: a shade darker than in other pictures, so that brightness alone sets
// them off.
func strongTone(t render.Tone) render.Tone {
	const towards, black = 0.6, 0.15
	// A face to the light, where most of a board is seen, must lie a quarter of the range below one that is pale.
	const lightest, step = 0.58, 0.02
	out := render.Tone{Light: t.Light.Lerp(t.Shade, towards), Shade: t.Shade.Lerp(render.Colour{}, black)}
	for k := step; k < 1 && out.Light.Luma() > lightest; k += step {
		out.Light = t.Light.Lerp(t.Shade, towards).Lerp(render.Colour{}, k)
	}
	return out
}

// draw makes the picture.
func (j *stepJob) draw(c render.Camera, words *wording.Pages) (*Picture, error) {
	defer j.handOver(nil)
	in, err := j.insets(c)
	if err != nil {
		return nil, err
	}
	marks := &stepMarks{job: j, words: words, dials: j.dials(), insets: in, camera: c, before: j.before}
	marks.layColumns()
	frame := j.frame(marks.columns)
	st := j.staged(c, frame)
	marks.paint(st)
	sh := &sheet{stage: st, scene: st.withRoom(j), view: render.View{Camera: c}, size: pt(StepWidthMM, StepHeightMM), step: marks, joined: st.areJoined}
	seen := sh.scene.Bounds(c, nil)
	for _, o := range j.joints {
		for _, v := range st.tiltPath(o) {
			seen = seen.Include(geom.V(c.Project(v)))
		}
	}
	for _, v := range st.ceiling(j) {
		seen = seen.Include(geom.V(c.Project(v)))
	}
	if shown, cut := mostly(frame, st.scene.Bounds(c, nil), seen); cut {
		seen, sh.crop = shown, &frame
	}
	sh.aim(atLeast(seen, frame), frame)
	if err := sh.draw(); err != nil {
		return nil, err
	}
	marks.contrast, marks.isContrast = sh.contrast()
	if sh.crop != nil {
		sh.over.blankAround(*sh.crop)
	}
	if err := sh.stepMarks(); err != nil {
		return nil, err
	}
	return sh.picture(fmt.Sprintf("step-%02d", j.number))
}

// atLeast widens what is seen so that it is not drawn larger than leastStepScale.
func atLeast(seen geom.Box, f render.Frame) geom.Box {
	mid := seen.Centre()
	half := geom.V((f.Right-f.Left)/2, (f.Bottom-f.Top)/2, 0).Mul(leastStepScale)
	if size := seen.Size(); size.X >= 2*half.X || size.Y >= 2*half.Y {
		return seen
	}
	return seen.Include(mid.Sub(half)).Include(mid.Add(half))
}

// isStrong tells whether a picture is about a part. Where the whole frame is moved, only what is fastened is.
func (j *stepJob) isStrong(id string) bool {
	if !j.fresh[id] {
		return false
	}
	for _, o := range j.joints {
		if o.step.Action == assembly.Fasten && len(o.moves) > 1 && slices.Contains(o.moves, id) {
			return j.isFastened(o.step, id)
		}
	}
	return true
}

// isFastened tells whether one of a step's joints is at a part.
func (j *stepJob) isFastened(st *assembly.Step, id string) bool {
	for _, q := range j.whole.plan.Joints {
		if slices.Contains(st.Joints, q.ID) && (q.A.Part == id || q.B.Part == id) {
			return true
		}
	}
	return false
}

// dials says which way something must point in the end, each once for every kind of part. What may stop at any angle
// has none.
func (j *stepJob) dials() []dial {
	var out []dial
	for _, o := range j.joints {
		c := o.step.Clock
		if c == nil || o.copy > 0 || o.joint == nil || len(o.moves) == 0 || o.dir == (geom.Vec{}) {
			continue
		}
		p := j.whole.part(c.Part)
		if p == nil {
			continue
		}
		d := dial{number: p.Number, axis: o.dir, step: o.step.Number, holes: c.Port == assembly.HolesPort}
		toward := c.Toward.Sub(o.dir.Mul(c.Toward.Dot(o.dir))).Unit()
		switch {
		case d.holes:
			d.branches = []geom.Vec{toward, toward.Neg()}
		case c.Part == o.moves[0]:
			d.branches = packing.Branches(*p, o.dir)
		default:
			d.branches = []geom.Vec{toward}
		}
		if len(d.branches) > 0 && d.branches[0] != (geom.Vec{}) && !slices.ContainsFunc(out, d.same) {
			out = append(out, d)
		}
	}
	return out
}

func (s *stage) part(id string) *assembly.Part {
	if i := s.id[id]; i > 0 {
		return &s.parts[i-1]
	}
	return nil
}
