// Package replay is the proof that a plan can be built. It takes a plan as read back from its file, starts from
// nothing, and does what the steps say: it follows which bodies are where, which are rigidly joined, how far each thread
// is turned, and moves the true solids along every motion past all that stands in the way.
//
// It shares no code with the planner and knows nothing of how a plan was found.
//
// # What is checked
//
// Structure: the plan is sound as a document; a step moves whole rigid groups; what it meets is there; a taper thread is
// screwed between bodies that are not yet rigidly joined; the turn of a screw lies on the joint's axis, goes round as
// its hand asks, advances by its pitch and ends at its engagement; right-and-left pieces and long screws close both
// their joints at once; every motion ends where the finished frame has the body, or a later step takes it there.
//
// Beginnings: what comes to hand in place starts clear of the room, its convex hull too, so that it was carried there by
// some motion and does not begin threaded through a hole; see checkRoom.
//
// Geometry: no moving body runs into anything that stands in its way. On the bench only the bodies that the step meets
// and those rigidly joined to them are in the way, in place everything that stands there, room included. In the end no
// two bodies of the frame overlap.
//
// # How a motion is proved clear
//
// For two solids with signed distances fA and fB let g(p) = max(fA(p), fB(p)). Where g < 0 both have material. Both
// distances change by at most 1 per millimetre, and fA at a fixed point changes by no more than the way of A's material
// there. So over a box with half diagonal h and a stretch of time in which no point of A in it travels further than v,
// the least g is at least g(middle) - h - v/2. Boxes of space and time where that is above zero are clear, however long the
// way: nothing is sampled there, and nothing can be jumped over, be it as thin as a wire. Others are
// halved. What is left in the end are the places where bodies touch or nearly touch, at moments between which no surface
// point of A travels more than 2 mm, the end of the motion always among them. There the search goes down the slope of g
// to the deepest common point: from the middle of boxes of 2 mm half diagonal, or, where two faces lie along one another,
// of up to 10 mm, when half the sum of both distances at points round about shows no overlap either.
//
// So a clear distance is proved, and contact is sampled: a crash of features a few millimetres small between samples can
// be missed where bodies slide on one another by turning, and nowhere else.
//
// Straight ways are searched without moments where it can be done: one body stands, and the other is a solid that holds
// all places it takes up on the way (a board drawn along a pipe is a longer board). That is clear of the first, or the
// search by moments decides. See atOnce.
//
// Turns that close no thread, as when a frame is stood up or a board tilted, are proved the same way.
//
// A body that is round about the axis it turns on does not travel by turning; neither does anything that turns on a
// round body, seen from it, or over faces that lie flat across the axis as far as it reaches. The first is taken as so only
// where the kind of part is round and samples of the solid agree, the last only for solids made of boxes.
//
// Bodies may touch: common material up to OverlapToleranceMM deep counts as contact. Mating threads may overlap by
// (engagement - hand-tight) / 32 on the radius besides, between the two faces of the joint: taper threads bind so, and it
// is the one exemption.
//
// The nut of a union is loose and counts as drawn back on its half until the union is closed; see nutBack.
package replay

import (
	"cmp"
	"fmt"
	"runtime"
	"slices"
	"sync"

	"turnwise/assembly"
	"turnwise/assembly/planfile"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Figures of the proof.
const (
	// OverlapToleranceMM is how deep two bodies may lie in one another and still count as touching. The solids of bodies
	// that touch share a surface; rounding of poses and the stairs of slanted boxes must not make that a crash. A builder
	// cannot feel 1/20 mm.
	OverlapToleranceMM = 0.05
	// SampleTravelMM is the most that a moving surface point travels between two samples where nothing proves it clear.
	SampleTravelMM = 2
	// ClearanceCapMM is the clearance beyond which no exact figure is worked out: at 3 mm a hand feels no contact.
	ClearanceCapMM = 3
	// placeTolerance is how far from its place, in mm, a body may end. The plan file keeps a millionth; a chain of turns
	// loses a little more.
	placeTolerance = 1e-3
	// angleTolerance is the same for its axes, as the length of the difference of unit vectors.
	angleTolerance = 1e-6
	// turnTolerance is how exact turns and advances must be, in turns and in mm.
	turnTolerance = 1e-4
	// maxReachMM and maxTurns bound what a plan may hold, so that a senseless one cannot keep the search busy: a design
	// reaches 100 m at most, and no thread takes a hundred turns.
	maxReachMM = 200_000
	maxTurns   = 100
	// maxFailures bounds the failures of a report; a plan that fails often is told no better by more.
	maxFailures = 50
)

// The codes of failures.
const (
	CodeDocument = "DOCUMENT" // the plan contradicts itself
	CodeOrder    = "ORDER"    // bodies missing, placed twice, moved apart, joints left open
	CodeLocked   = "LOCKED"   // a thread between bodies that are rigidly joined already
	CodeThread   = "THREAD"   // axis, hand, advance or turns do not fit the joint
	CodePose     = "POSE"     // a motion does not start or end where it must
	CodeCrash    = "CRASH"    // a moving body runs into another
	CodeOverlap  = "OVERLAP"  // two bodies of the finished frame overlap
	CodeUnproven = "UNPROVEN" // the search gave up; counts as a failure
	CodeSolid    = "SOLID"    // a part has no solid
)

// Failure is something that proves that the plan cannot be carried out as written.
type Failure struct {
	Step  int // number of the step, 0 for the finished frame
	Copy  int // 0 for the step itself, n for its n-th repeat
	Code  string
	Text  string
	Parts []string
	At    *geom.Vec // where bodies meet, finished frame
	MM    float64   // how deep they overlap at least, or how far something is off
}

// StepReport is what was measured on one step or one repeat of it.
type StepReport struct {
	Step, Copy int
	// ClearanceMM is the least distance met between a moving body and one it is not joined to, between faces within about a
	// quarter of a millimetre and between corners within one or two, never less than the truth; ClearanceCapMM when it is
	// more than that, or when nothing is near.
	ClearanceMM float64
	Near        [2]string // the two bodies that came nearest; empty at the cap
	Pairs       int       // pairs of bodies looked at closely
	Samples     int       // values of signed distances taken
}

// Report is the outcome of a replay.
type Report struct {
	Steps    []StepReport
	Failures []Failure
	Samples  int
}

// OK tells whether the plan is proved.
func (r Report) OK() bool { return len(r.Failures) == 0 }

// Findings turns the failures into findings of severity stop.
func (r Report) Findings() []assembly.Finding {
	var out []assembly.Finding
	for _, f := range r.Failures {
		out = append(out, f.Finding())
	}
	return out
}

// Finding is the failure as a finding of severity stop.
func (f Failure) Finding() assembly.Finding {
	values := map[string]float64{}
	switch {
	case f.MM == 0:
	case f.Code == CodeCrash || f.Code == CodeOverlap:
		values["overlap_mm"] = f.MM
	default:
		values["off_mm"] = f.MM
	}
	return assembly.Finding{
		Code: f.Code, Severity: assembly.Stop, Text: f.String(), Parts: f.Parts, Values: values,
		Source: "replay of the plan against the solids of its parts",
	}
}

// String is the failure as a sentence with its place.
func (f Failure) String() string {
	switch {
	case f.Step == 0:
		return "finished frame: " + f.Text
	case f.Copy == 0:
		return fmt.Sprintf("step %d: %s", f.Step, f.Text)
	}
	return fmt.Sprintf("step %d, repeat %d: %s", f.Step, f.Copy, f.Text)
}

// Check replays a plan. The function solids gives each part its true solid in its part frame; it is called from several
// goroutines. A plan that stops early (finding of severity stop) is replayed as far as it goes, and its finished frame
// is not judged. The report is the same whatever the number of processors.
func Check(plan assembly.Plan, solids func(part assembly.Part) (sdf.Solid, error)) Report {
	var r Report
	for _, f := range planfile.Validate(plan) {
		r.Failures = append(r.Failures, Failure{Code: CodeDocument, Text: f.String()})
	}
	w := newWorld(plan)
	if far := w.farthest(); !(far <= maxReachMM) {
		r.Failures = append(r.Failures, Failure{Code: CodeDocument, MM: far,
			Text: fmt.Sprintf("it reaches %.3g mm far; nothing beyond %d m is looked at", far, maxReachMM/1000)})
		return r.cut()
	}
	if !w.sound() {
		return r.cut()
	}
	r.Failures = append(r.Failures, w.loadSolids(solids)...)
	if len(r.Failures) > 0 && slices.ContainsFunc(r.Failures, func(f Failure) bool { return f.Code == CodeSolid }) {
		return r.cut()
	}
	w.listOccasions()
	for _, s := range plan.Steps {
		r.Steps = append(r.Steps, w.step(s)...)
	}
	if !w.stopped {
		w.finish()
	}
	r.Failures = append(r.Failures, w.failures...)
	results := prove(w.tasks)
	r.collect(w.tasks, results)
	return r.cut()
}

// cut sorts failures by step and keeps the first of them.
func (r Report) cut() Report {
	slices.SortStableFunc(r.Failures, func(a, b Failure) int {
		return cmp.Or(cmp.Compare(stepRank(a), stepRank(b)), cmp.Compare(a.Copy, b.Copy))
	})
	if len(r.Failures) > maxFailures {
		r.Failures = r.Failures[:maxFailures]
	}
	return r
}

// stepRank puts faults of the document first and of the finished frame last.
func stepRank(f Failure) int {
	switch {
	case f.Code == CodeDocument || f.Code == CodeSolid:
		return -1
	case f.Step == 0:
		return 1 << 30
	}
	return f.Step
}

// prove works through the tasks on all processors. Results keep the order of the tasks.
func prove(tasks []task) []result {
	results := make([]result, len(tasks))
	var wg sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), max(1, len(tasks))) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				results[i] = tasks[i].run()
			}
		}()
	}
	for i := range tasks {
		next <- i
	}
	close(next)
	wg.Wait()
	return results
}

// collect gathers what the tasks found into step reports and failures.
func (r *Report) collect(tasks []task, results []result) {
	at := map[[2]int]int{}
	for i := range r.Steps {
		r.Steps[i].ClearanceMM = ClearanceCapMM
		at[[2]int{r.Steps[i].Step, r.Steps[i].Copy}] = i
	}
	for i, t := range tasks {
		res := results[i]
		r.Samples += res.samples
		if res.failure != nil {
			r.Failures = append(r.Failures, *res.failure)
		}
		k, ok := at[[2]int{t.step, t.copy}]
		if !ok {
			continue
		}
		s := &r.Steps[k]
		s.Samples += res.samples
		if res.samples > 0 {
			s.Pairs++
		}
		if t.measured && res.clearance < s.ClearanceMM {
			s.ClearanceMM, s.Near = max(0, res.clearance), [2]string{t.a.part.ID, t.b.part.ID}
		}
	}
}
