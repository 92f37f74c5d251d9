package sequence

import (
	"cmp"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/closing"
	"turnwise/assembly/standard"
)

// Seconds of work. They weigh orders against one another and tell hard steps from easy ones; nobody is timed by them.
const (
	// Picking up and turning a part the right way round, by how alike it is end for end and about its axis: the rows of
	// the manual handling table of design for assembly for parts handled by one hand (Boothroyd and Dewhurst; from memory).
	handleRound  = 1.13
	handleEnds   = 1.5
	handleTurned = 1.8
	handleAll    = 1.95

	screwSeconds = 8.0 // driving one wood screw: the same table's worksheets, from memory

	// All that follows is proposed here, after trying it in thought, with no source.
	handTurnNear   = 1.0 // one turn by hand of something within nearSwing of its axis
	handTurnWide   = 2.5 // within wideSwing
	handTurnFar    = 6.0 // beyond, by two
	wrenchTurn     = 6.0 // one turn past hand-tight, in bites of 60 degrees
	nutSeconds     = 15.0
	readSeconds    = 10.0 // finding the parts of a step and reading it, once for all copies
	liftSeconds    = 10.0 // taking a group up and turning it round
	liftPerKG      = 1.0
	holdSeconds    = 5.0  // holding one group meanwhile
	leaveSeconds   = 20.0 // beginning another group while one is unfinished
	toolSeconds    = 5.0  // another tool than in the step before
	noveltySeconds = 15.0 // a kind of action for the first time
	stopSeconds    = 2.0  // bringing something round to where it must point

	nearSwing = 150.0 // mm
	wideSwing = 500.0 // mm

	strapScrews = 2 // of a strap whose holes are not known
	mostHardest = 3 // how many steps are named as the hardest
)

// estimate sets the seconds of every step, all its copies together, and sums them up.
func (f *frame) estimate(steps []assembly.Step) assembly.Effort {
	e := &estimator{f: f, joint: f.jointIndex(), placed: make([]bool, len(f.parts)), done: map[assembly.Action]bool{},
		groups: closing.NewForest(len(f.parts)), open: map[int]bool{}}
	var effort assembly.Effort
	for i := range steps {
		s := &steps[i]
		sum := e.once(s)
		for n, c := range works([]assembly.Step{*s}) {
			sum += e.copy(c, n)
		}
		s.Seconds = math.Round(sum*10) / 10
		effort.Seconds += s.Seconds
	}
	effort.Seconds = math.Round(effort.Seconds*10) / 10
	effort.Hardest = hardest(steps)
	return effort
}

// hardest names the steps of which one copy takes longest.
func hardest(steps []assembly.Step) []int {
	order := make([]int, len(steps))
	for i := range order {
		order[i] = i
	}
	one := func(i int) float64 { return steps[i].Seconds / float64(1+len(steps[i].Repeats)) }
	slices.SortStableFunc(order, func(a, b int) int { return -cmp.Compare(one(a), one(b)) })
	out := []int{}
	for _, i := range order[:min(mostHardest, len(order))] {
		out = append(out, steps[i].Number)
	}
	return out
}

// estimator follows what has been done so far.
type estimator struct {
	f      *frame
	joint  map[string]int
	placed []bool
	done   map[assembly.Action]bool
	tool   string
	groups closing.Forest
	open   map[int]bool // groups that lie on the bench, by root
}

// once is what a step takes however many copies it has.
func (e *estimator) once(s *assembly.Step) float64 {
	t := readSeconds
	if !e.done[s.Action] {
		e.done[s.Action] = true
		t += noveltySeconds
	}
	if tool := toolOf(s.Action); tool != "" && tool != e.tool {
		e.tool = tool
		t += toolSeconds
	}
	if isBegin(*s) && len(e.open) > 0 {
		t += leaveSeconds
	}
	return t
}

// isBegin tells whether a step begins a group on the bench.
func isBegin(s assembly.Step) bool {
	return s.Action == assembly.Place && len(s.Onto) == 0 && len(s.Joints) == 0
}

func toolOf(a assembly.Action) string {
	switch a {
	case assembly.Screw, assembly.JoinUnion, assembly.Adjust:
		return "wrench"
	case assembly.Fasten, assembly.PutStrap:
		return "screwdriver"
	}
	return ""
}

// copy is what the n-th copy of a step takes.
func (e *estimator) copy(s assembly.Step, n int) float64 {
	t := e.handling(s) + e.turning(s) + e.fixing(s)
	if len(s.Onto) > 0 && (s.Where != "bench" || s.Action == assembly.Screw) {
		t += holdSeconds
	}
	t += holdSeconds * float64(len(s.Props))
	if s.Clock != nil {
		t += stopSeconds
	}
	e.join(s)
	return t
}

// handling is picking up new parts, and lifting groups.
func (e *estimator) handling(s assembly.Step) float64 {
	t, mass, old := 0.0, 0.0, false
	for _, id := range s.Moves {
		b := e.f.index[id]
		mass += e.f.parts[b].MassKG
		if e.placed[b] {
			old = true
			continue
		}
		e.placed[b] = true
		t += handle(e.f.parts[b].Kind)
	}
	if old && s.Action != assembly.Adjust {
		t += liftSeconds + liftPerKG*mass
	}
	return t
}

// handle is what picking up a part takes, by how many ways round it may be put.
func handle(k standard.Kind) float64 {
	switch k {
	case standard.Pipe, standard.Coupling:
		return handleRound
	case standard.Elbow, standard.Elbow45, standard.StreetElbow, standard.StreetElbow45, standard.SideElbow, standard.SideTee:
		return handleAll
	case standard.Tee, standard.Cross, standard.Strap:
		return handleTurned
	}
	return handleEnds
}

// turning is screwing threads: by hand until they bind, by the wrench from there.
func (e *estimator) turning(s assembly.Step) float64 {
	turns := s.Turns
	if turns == 0 || !turnsRound(s) {
		return 0
	}
	tight := 0.0
	for _, id := range s.Joints {
		if j := &e.f.joints[e.joint[id]]; j.PitchMM > 0 {
			tight = math.Max(tight, j.HandTightMM/j.PitchMM)
		}
	}
	byHand := math.Min(turns, tight)
	if s.Action == assembly.Adjust {
		byHand = 0
	}
	rate := handTurnFar
	switch {
	case s.SwingRadiusMM <= nearSwing:
		rate = handTurnNear
	case s.SwingRadiusMM <= wideSwing:
		rate = handTurnWide
	}
	return byHand*rate + (turns-byHand)*math.Max(wrenchTurn, rate)
}

// fixing is driving screws and tightening nuts.
func (e *estimator) fixing(s assembly.Step) float64 {
	t := 0.0
	for _, id := range s.Joints {
		j := &e.f.joints[e.joint[id]]
		switch j.Kind {
		case assembly.UnionNut:
			t += nutSeconds
		case assembly.Face:
			t += screwSeconds * math.Max(e.screws(j.a), e.screws(j.b))
		case assembly.StrapOn:
			if n := math.Max(e.screws(j.a), e.screws(j.b)); n > 0 {
				t += screwSeconds * n
			} else {
				t += screwSeconds * strapScrews
			}
		}
	}
	return t
}

// screws is how many holes for screws a body has.
func (e *estimator) screws(b int) float64 { return e.f.parts[b].Dims[standard.DimHoles].MM }

// join follows which groups lie on the bench.
func (e *estimator) join(s assembly.Step) {
	into := -1
	for _, id := range append(slices.Clone(s.Moves), s.Onto...) {
		b := e.f.index[id]
		if b == e.f.room {
			continue
		}
		r := e.groups.Root(b)
		delete(e.open, r)
		if into < 0 {
			into = r
		}
		e.groups.Join(into, r)
		into = e.groups.Root(r)
	}
	if into >= 0 && s.Where == "bench" {
		e.open[into] = true
	}
}
