package replay

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// task is one pair of bodies and one move to prove clear.
type task struct {
	step, copy int
	a, b       *body
	solidA     sdf.Solid
	solidB     sdf.Solid
	boxA, boxB geom.Box
	poseB      geom.Pose
	path       path
	zones      []zone
	measured   bool // the clearance counts: no joint is between the two
	final      bool // the finished frame
	deg        float64
}

// result is what a task found.
type result struct {
	samples   int
	clearance float64
	failure   *Failure
}

// confront notes the pairs that a moving body makes with all that is in the way during one move.
func (w *world) confront(b *body, pose geom.Pose, m assembly.Move, way []*body) {
	for _, other := range way {
		w.compareMoving(b, pose, other, other.now, m, geom.Vec{})
	}
}

// confrontDrawn notes the pairs that drawn sides make with the movers and with all that stands still, while the movers do
// their last move.
func (w *world) confrontDrawn(movers []*body, poses []geom.Pose, m assembly.Move, drawn []pull, way []*body) {
	for _, d := range drawn {
		still := assembly.Move{Kind: assembly.Translate, By: d.by}
		for _, other := range way {
			w.compareMoving(d.body, d.body.now, other, other.now, still, geom.Vec{})
		}
		for k, b := range movers {
			w.compareMoving(b, poses[k], d.body, d.body.now, m, d.by)
		}
	}
}

// compareMoving notes a pair during a step.
func (w *world) compareMoving(a *body, poseA geom.Pose, b *body, poseB geom.Pose, m assembly.Move, drift geom.Vec) {
	t := w.pair(a, poseA, b, poseB, m, drift)
	t.step, t.copy = w.stepNumber, w.copyNumber
	w.enlist(t)
}

// compare notes a pair of the finished frame.
func (w *world) compare(a *body, poseA geom.Pose, b *body, poseB geom.Pose, m assembly.Move, drift geom.Vec) {
	t := w.pair(a, poseA, b, poseB, m, drift)
	t.final, t.measured = true, false
	w.enlist(t)
}

// enlist keeps a task unless the boxes of its bodies stay apart.
func (w *world) enlist(t task) {
	if !t.apart() {
		w.tasks = append(w.tasks, t)
	}
}

// pair prepares the motion of a seen from b, which drifts meanwhile.
func (w *world) pair(a *body, poseA geom.Pose, b *body, poseB geom.Pose, m assembly.Move, drift geom.Vec) task {
	into := poseB.Inverse()
	p := path{start: into.Compose(poseA), dir: geom.AxisZ}
	t := task{a: a, b: b, poseB: poseB, measured: true}
	t.solidA, t.boxA = a.shape()
	t.solidB, t.boxB = b.shape()
	shift := m.By
	if m.Kind == assembly.Turn {
		p.at, p.dir = into.Apply(m.Axis.At), into.Rotate(m.Axis.Dir)
		shift = m.Axis.Dir.Mul(m.AdvanceMM)
		if !w.seesNoTurn(a, poseA, b, poseB, m, drift) {
			p.angle = m.ByDeg * math.Pi / 180
		}
	}
	p.shift = into.Rotate(shift.Sub(drift))
	if p.angle != 0 && faces(t.solidB, ringOf(t.boxA, p)) {
		p.angle = 0
	}
	t.path, t.deg = p, p.angle*180/math.Pi
	for _, j := range a.joints {
		if j.other(a) == b {
			t.measured = false
			if z, ok := zoneOf(j, t); ok {
				t.zones = append(t.zones, z)
			}
		}
	}
	return t
}

// seesNoTurn tells whether a turn changes nothing between two bodies, because one of them is round about its axis.
func (w *world) seesNoTurn(a *body, poseA geom.Pose, b *body, poseB geom.Pose, m assembly.Move, drift geom.Vec) bool {
	if a.turnsInPlace(poseA, m.Axis.At, m.Axis.Dir) {
		return true
	}
	return drift.Cross(m.Axis.Dir).Len() <= roundOffMM && b.turnsInPlace(poseB, m.Axis.At, m.Axis.Dir)
}

// zoneMarginMM is how far beyond the faces of a joint its threads' overlap may reach: the edge of a thread's end.
const zoneMarginMM = 0.2

// taperRadius is the growth of a taper thread's radius per mm of engagement: 1 in 16 on the diameter.
const taperRadius = 1.0 / 32

// zoneOf is where the threads of j may overlap while task t runs.
func zoneOf(j *closing, t task) (zone, bool) {
	if j.Kind != assembly.Thread && j.Kind != assembly.RightLeft && j.Kind != assembly.LongScrew || j.HandTightMM <= 0 {
		return zone{}, false
	}
	first, last := t.path.start, t.path.pose(1)
	faceA, okA := localFace(t.a, end(j, t.a))
	faceB, okB := localFace(t.b, end(j, t.b))
	if !okA || !okB {
		return zone{}, false
	}
	z := zone{at: faceB.At, dir: faceB.Out}
	depth := func(p geom.Pose) float64 { return faceB.At.Sub(p.Apply(faceA.At)).Dot(faceB.Out) }
	from, to := depth(first), depth(last)
	z.lo, z.hi = -max(from, to, 0)-zoneMarginMM, zoneMarginMM
	z.from, z.to = (from-j.HandTightMM)*taperRadius, (to-j.HandTightMM)*taperRadius
	return z, true
}

// end is the side of a joint on a body.
func end(j *closing, b *body) assembly.End {
	if j.a == b {
		return j.A
	}
	return j.B
}

// localFace is a port in the part frame.
func localFace(b *body, e assembly.End) (assembly.Port, bool) {
	for _, p := range b.part.Ports {
		if p.Name == e.Port {
			return assembly.Port{Name: p.Name, At: b.part.Pose.Local(p.At), Out: b.part.Pose.Unrotate(p.Out)}, true
		}
	}
	return assembly.Port{}, false
}

// apart tells from the boxes alone that two bodies stay further apart than any clearance of interest.
func (t task) apart() bool {
	if r := ringOf(t.boxA, t.path); r.known {
		return r.clear(t.boxB.Centre(), t.boxB.Diagonal()/2, ClearanceCapMM)
	}
	if t.path.angle != 0 {
		return false
	}
	swept := t.path.start.Box(t.boxA)
	swept = swept.Union(t.path.pose(1).Box(t.boxA))
	return swept.Gap(t.boxB) > ClearanceCapMM
}

// run searches the pair.
func (t task) run() result {
	q, spent := t.atOnce()
	if q == nil {
		q = t.query()
		q.run()
	}
	q.samples += spent
	r := result{samples: q.samples, clearance: min(2*q.least, ClearanceCapMM)}
	switch {
	case q.hit:
		r.failure = t.crash(q)
	case q.gaveUp:
		r.failure = &Failure{
			Step: t.step, Copy: t.copy, Code: CodeUnproven, Parts: []string{t.a.part.ID, t.b.part.ID},
			Text: fmt.Sprintf("no proof that %s clears %s was found in %d samples", t.a.part.ID, t.b.part.ID, maxSamples),
		}
	}
	return r
}

// query is the search of the pair through space and time.
func (t task) query() *query {
	q := &query{a: surfaceOf(t.solidA), b: surfaceOf(t.solidB), boxA: t.boxA, boxB: t.boxB, path: t.path, zones: t.zones}
	if t.measured {
		q.cap = ClearanceCapMM
	}
	return q
}

// atOnce searches all moments of a straight way at once: one body stands, and the other is all that it sweeps. It returns
// nil where that settles nothing, because no sweep is known, or the sweep meets or comes near what the body itself may
// clear. The second result is how many samples that took.
func (t task) atOnce() (*query, int) {
	if t.path.angle != 0 || t.path.shift.Len() <= SampleTravelMM || len(t.zones) > 0 {
		return nil, 0
	}
	spent := 0
	a, tightA, okA := sdf.Sweep(t.solidA, t.path.start.Unrotate(t.path.shift))
	b, tightB, okB := sdf.Sweep(t.solidB, t.path.shift.Neg())
	for _, tight := range [2]bool{true, false} {
		if okA && tightA == tight {
			q := t.standing(a, t.solidB)
			if q.settles(tight) {
				return q, spent
			}
			spent += q.samples
		}
		if okB && tightB == tight {
			q := t.standing(t.solidA, b)
			if q.settles(tight) {
				return q, spent
			}
			spent += q.samples
		}
	}
	return nil, spent
}

// standing searches two solids that do not move, a with its pose at the start of the path.
func (t task) standing(a, b sdf.Solid) *query {
	t.solidA, t.boxA, t.solidB, t.boxB = a, a.Bounds(), b, b.Bounds()
	t.path.shift = geom.Vec{}
	q := t.query()
	q.run()
	return q
}

// settles tells whether a search over a sweep answers for the motion: nothing was met, and the least distance is that of
// the body itself, or of no interest.
func (q *query) settles(tight bool) bool {
	return !q.hit && !q.gaveUp && (tight || 2*q.least >= q.cap)
}

// crash tells where two bodies meet.
func (t task) crash(q *query) *Failure {
	at := t.poseB.Apply(q.at)
	depth := q.deepest()
	a, b := t.a.part.ID, t.b.part.ID
	where := fmt.Sprintf("at %.0f, %.0f, %.0f mm", at.X+0, at.Y+0, at.Z+0)
	f := &Failure{Step: t.step, Copy: t.copy, Code: CodeCrash, Parts: []string{a, b}, At: &at, MM: depth}
	switch {
	case t.final:
		f.Code = CodeOverlap
		f.Text = fmt.Sprintf("%s and %s overlap by at least %.2f mm %s", a, b, depth, where)
	case t.deg != 0:
		f.Text = fmt.Sprintf("%s runs into %s after %.0f degrees, by at least %.2f mm, %s", a, b, math.Abs(t.deg)*q.when, depth, where)
	default:
		f.Text = fmt.Sprintf("%s runs into %s after %.0f %% of the way, by at least %.2f mm, %s", a, b, 100*q.when, depth, where)
	}
	return f
}
