// Package sequence finds an order in which a frame can be screwed together, with the motion of every step, or says
// what stands in the way.
//
// [Plan] counts the independent loops of threaded joints and names what closes each; then it takes the finished frame
// apart and turns that round. [Number] gives the parts their numbers by first use.
//
// # What makes an order sound
//
// A taper thread is closed by several full turns of one side against the other. Two bodies that are already one cannot
// turn against each other, so the threads that are screwed form a forest, and every loop needs a joint of another kind
// to close it: a union, a right-and-left or long-screw piece, or a face that is fastened last. Taking apart obeys this
// by itself: whatever hangs on one thread, and on nothing else but unions and faces, may be turned off.
//
// # How it searches
//
//  1. Loops: spanning forest, plain threads first (loops.go). A loop of plain threads alone ends the search.
//  2. In the room, whole groups come off first: a loose board, everything that threads make one, everything rigid.
//     What is carried out in one piece is taken apart on the bench, where nothing else is in the way.
//  3. A group between two faces of the room gets its flanges screwed deeper first, at both ends where it has to be stood
//     up and is too long with one (settle.go). Sides joined by unions only are stood up one by one.
//  4. Single bodies are unscrewed, then whole sides, smallest first (screw.go); pieces with two joints are opened
//     (member.go).
//  5. The builder's wishes hold back what should stay longer, until nothing else goes (wishes.go).
//  6. A removal that fails remembers the pairs of bodies that meet, and is tried again only when one of them is gone.
//
// Taking bodies away only makes room, so whatever could be removed before still can be: the search never has to go
// back, and when it ends with bodies left, no order of these moves exists. (Flanges screwed deeper stand further from
// their wall than before, which takes no room from anything but their own pipe.)
//
// # Which order
//
// Every removal prefers what has the higher rank (rank.go): outwards from a root, equal branches side by side. A few
// roots are tried, each searched and tested as a whole, and the order of least work is kept (improve.go, cost.go). Groups
// that the bench sees more than once are built together, and equal steps that follow one another become one with repeats
// (modules.go, repeats.go); mirror images are told apart. Each thread is told what it must come round to and how often it
// can stop (clock.go), each step how many people it takes (hands.go).
//
// # How it tests a motion
//
// Outlines are coaxial tubes and boxes. Whatever makes a full turn sweeps a solid of revolution: both sides are
// compared as (distance from the axis, distance along it), and pairs whose images meet only as bounds are walked
// through the turn in steps no longer than the free distance allows. Straight motions sweep convex bodies into convex
// bodies, whose distance is computed. See sweep.go, gjk.go.
//
// The nut of a union counts as pushed back on its half until its step: with the nut in front, a ring with one union
// could never be closed.
//
// Whoever turns a thread needs room for it (reach.go): a wrench's swing on what is turned and a grip on what is held, or
// a part that reaches out far enough to be the handle. Where only a hand fits, another order is tried first.
//
// A motion into place begins in the open: the convex hull of all that moves is clear of the room there, so nothing begins
// threaded through it (open.go). Frames with less than 2 mm between two faces are advised to be jacked out (jack.go).
//
// A frame that is put together away from its place and is more than a metre high lies meanwhile; it is stood up over one
// of its lower edges, under the ceiling and between what stands (tilt.go, stand.go). Where there is no room for that,
// parts are added in place instead, and where that does not help it is put together standing. Single parts have to pass the
// narrowest opening on the way in; groups that do not are put together behind it (wayin.go). A union that is closed
// sideways needs its sides bent apart, where they are not too stiff for that (spring.go).
package sequence

import (
	"turnwise/assembly"
)

// Input is a solved assembly with the outlines of its parts by id, each in its part frame. Boards, cleats and the room
// need none: their boxes and holes are in the assembly.
type Input struct {
	Assembly *assembly.Assembly
	Outlines map[string]assembly.Outline
}

// Result is what Plan finds. With a finding of severity stop, Steps is empty.
type Result struct {
	Loops    []assembly.Loop
	Steps    []assembly.Step
	Findings []assembly.Finding
	Effort   assembly.Effort
}

// Plan finds loops, steps and findings. It changes nothing in the assembly; hand the steps to Number for the parts'
// numbers. The same input gives the same result.
func Plan(in Input) Result {
	f := newFrame(in)
	r := Result{Steps: []assembly.Step{}}
	r.Loops, r.Findings = f.loops()
	if r.Loops == nil {
		r.Loops = []assembly.Loop{}
	}
	if r.Findings == nil {
		r.Findings = []assembly.Finding{}
	}
	if len(r.Findings) > 0 {
		return r
	}
	if r.Findings = append(r.Findings, f.tooWide()...); len(r.Findings) > 0 {
		return r
	}
	o := bestOrder(in, r.Loops)
	if o.possible {
		r.Steps, r.Effort = o.steps, o.effort
	}
	r.Findings = append(r.Findings, o.found...)
	return r
}
