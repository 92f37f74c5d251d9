// Package solve turns a design tree into an assembly: every part in its finished place, every joint, cut lengths with
// their sums, and what the builder must know of them.
//
//	a, errs := solve.Solve(tree)
//
// # The way
//
//  1. Groups are expanded into copies (scope.go). A copy is its drawn group moved or mirrored along the axes.
//  2. Givens, surfaces, boards and points are evaluated on demand, each coordinate a cell of its own, so that order in
//     the file does not matter and circles are found (cell.go, env.go, place.go, board.go, surface.go).
//  3. Legs and the points on them make a network of nodes and segments; package joinery chooses the fitting of every
//     node (network.go), and what it takes off gives the pipes (lengths.go).
//  4. Where distances are asked for by "?", steps 2 and 3 repeat, round after round, until nothing changes (rounds.go, distances.go).
//  5. What is wrong with the network is told (faults.go), save for what hangs on a fault already known (doubt.go). A
//     faulty design ends here.
//  6. Parts, poses and joints are laid down in the finished frame (build.go, joints.go, wood.go, room.go), and each pipe
//     is tried at the nearest stock length by moving what hangs on it (sums.go, stock.go).
//  7. What the builder must know is told as findings (inspect.go); loads, wishes, prices and assumptions are carried for
//     the checks that follow (carry.go).
//
// # Axes
//
// Everything up to step 4 is in the axes of the design: x from the left, y out from the back, z up, which is
// left-handed. The finished frame is right-handed: finished is the one function that turns y round.
package solve

import (
	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// Agreement is how far two given lengths may differ and still be one: 1/64 in, as the design format promises.
const Agreement = float64(units.Inch) / 64

// Solve works a design out. Faults of the file come back as errors, in file order, and then there is no assembly. What
// the builder must know of a design that can be computed is in the assembly's findings.
func Solve(t *design.Tree) (*assembly.Assembly, design.Errors) {
	s := newSolver(t)
	s.work()
	if s.errs.none() && s.silent { // reading found faults, and was not asked for them
		s.errs.add(design.Pos{Line: 1, Col: 1}, "what cannot be read in this file leaves the design unsolved")
	}
	if !s.errs.none() {
		return nil, s.errs.sorted()
	}
	a := s.build()
	if !s.errs.none() {
		return nil, s.errs.sorted()
	}
	return a, nil
}

// Faults works out as much as can be of a design in which reading found faults, and returns those faults with all that
// solving finds besides, in file order. What hangs on a faulty entry is not reported. Nothing is built.
func Faults(t *design.Tree, found design.Errors) design.Errors {
	if len(found) == 0 {
		_, errs := Solve(t)
		return errs
	}
	s := newSolver(t)
	if s.doubt = doubtOf(t, found); s.doubt.all {
		return found
	}
	s.work()
	return t.Merge(found, s.errs.sorted())
}

// work takes a design up to the last round, with all that can be evaluated, so that one run tells all it can.
func (s *solver) work() {
	s.expand()
	if s.full {
		return
	}
	s.evaluateAll()
	s.rounds()
}

// solver holds one design while it is worked out.
type solver struct {
	t      *design.Tree
	errs   errorList
	doubt  doubt
	full   bool // the design is larger, or takes longer, than anything built by hand: nothing more is looked at
	silent bool // something has no value because of a fault

	root     *scope
	scopes   []*scope
	points   []*point
	boards   []*board
	runs     []*run
	fittings []*ask
	unknowns []*unknown
	order    []*unknown // those found, in that order

	givens   map[string]*given
	surfaces map[string]*surface
	cleats   map[string]*cleat
	zones    []*zone
	cat      *catalogueCell
	sets     int // copies, points, boards and runs made so far

	stack []*cell // what is being evaluated, outermost first
	spent int     // evaluations so far

	net     *network
	choices map[string]chosen         // by what bears on them
	od      map[standard.Size]float64 // of pipe

	out          *assembly.Assembly
	findings     []placed
	straps       map[string]int
	jointIDs     map[string]bool
	segmentOf    map[string]*segment // by pipe
	boredBoards  []*board
	partOf       map[string]int // index in out.Parts by id
	assumed      map[string]bool
	surfaceNamed map[string]bool // names of surfaces and cleats that the file uses
	surfaceUse   map[string]bool // those that stand
}

func newSolver(t *design.Tree) *solver {
	s := &solver{
		t: t, errs: errorList{file: t.File, seen: map[design.Error]bool{}},
		givens: map[string]*given{}, surfaces: map[string]*surface{}, cleats: map[string]*cleat{},
		choices: map[string]chosen{}, od: map[standard.Size]float64{},
		partOf: map[string]int{}, segmentOf: map[string]*segment{}, jointIDs: map[string]bool{}, straps: map[string]int{}, assumed: map[string]bool{},
	}
	s.cat = &catalogueCell{cell: cell{label: "parts"}}
	s.out = &assembly.Assembly{Points: map[string]geom.Vec{}, People: t.People, Design: baseName(t.File)}
	return s
}

// finished takes a point or direction of the design's left-handed axes to the right-handed finished frame, and back.
func finished(v geom.Vec) geom.Vec {
	return geom.V(v.X+0, 0-v.Y, v.Z+0) // adding to zero leaves no negative zeros to be printed
}

// finishedBox does the same with a box.
func finishedBox(b geom.Box) geom.Box {
	return geom.Box{Min: geom.V(b.Min.X, 0-b.Max.Y, b.Min.Z), Max: geom.V(b.Max.X, 0-b.Min.Y, b.Max.Z)}
}

// sizeOf is a size by its reference, or the design's main one.
func (s *solver) sizeOf(r *design.SizeRef) standard.Size {
	if s.doubt.sizes {
		return standIn
	}
	if r != nil {
		return r.Size
	}
	return s.t.Pipe.Size
}
