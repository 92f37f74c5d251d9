package sequence

import (
	"cmp"

	"turnwise/assembly"
)

// How good an order is hangs on where it begins. A few beginnings are tried, each searched and tested as a whole, so
// that none is any less sound, and the one of least work is kept. How many is bounded by the size of the frame and not
// by time, so that the same design gives the same order everywhere.

// triedBodies bounds the bodies of all orders tried for one frame beyond the first.
const triedBodies = 300

// order is one whole order of work.
type order struct {
	steps    []assembly.Step
	effort   assembly.Effort
	found    []assembly.Finding
	possible bool
}

// bestOrder tries the beginnings and returns the order that is best by [order.compare]; the first when none is possible.
func bestOrder(in Input, loops []assembly.Loop) order {
	best := newFrame(in).orderFrom(rootRules[0], loops)
	left := triedBodies
	for _, rule := range rootRules[1:] {
		left -= len(in.Assembly.Parts)
		if !best.possible || left < 0 {
			break
		}
		if o := newFrame(in).orderFrom(rule, loops); o.compare(best) < 0 {
			best = o
		}
	}
	return best
}

// compare puts first what is possible and not refused, then what grants more wishes and asks for less care, then fewer people, then less
// time.
func (o order) compare(p order) int {
	impossible := func(o order) int {
		if o.possible {
			return 0
		}
		return 1
	}
	return cmp.Or(
		cmp.Compare(impossible(o), impossible(p)),
		cmp.Compare(o.count(assembly.Stop), p.count(assembly.Stop)),
		cmp.Compare(o.count(assembly.Warn), p.count(assembly.Warn)),
		cmp.Compare(o.people(), p.people()),
		cmp.Compare(o.effort.Seconds, p.effort.Seconds),
	)
}

// count is how many findings of a severity an order has.
func (o order) count(s assembly.Severity) int {
	n := 0
	for _, f := range o.found {
		if f.Severity == s {
			n++
		}
	}
	return n
}

// people is how many the order takes at most.
func (o order) people() int {
	n := 0
	for _, s := range o.steps {
		n = max(n, s.People)
	}
	return n
}

// orderFrom searches one order, from the beginning that rule picks.
func (f *frame) orderFrom(rule rootRule, loops []assembly.Loop) order {
	var bodies []int
	for i := range f.parts {
		if i != f.room {
			bodies = append(bodies, i)
		}
	}
	s := f.newScene(bodies, true, f.ranksFrom(rule))
	removals, ok := s.takeApart()
	if !ok {
		return order{found: []assembly.Finding{s.stuck()}}
	}
	w := &writer{f: f}
	w.group(-1, removals)
	turns := f.newClocker()
	if refused := turns.clocks(w.steps); len(refused) > 0 {
		return order{found: refused}
	}
	o := order{steps: f.gather(w.steps), possible: true}
	wishes := f.checkWishes(o.steps)
	if f.wishes.any && len(wishes) > 0 {
		if as := f.checkWishes(w.steps); len(as) < len(wishes) {
			o.steps, wishes = w.steps, as // building copies together is not worth a wish
		}
	}
	o.found = append(o.found, f.hands(o.steps)...)
	o.found = append(o.found, f.standingFrames(removals)...)
	o.found = append(o.found, f.groupsTooWide(removals)...)
	o.found = append(o.found, f.tightFits(removals)...)
	o.found = append(o.found, f.sprungJoints(removals)...)
	o.found = append(o.found, f.looseBoards(removals)...)
	o.found = append(o.found, f.tightSpots(removals)...)
	o.found = append(o.found, turns.quantised(loops)...)
	o.found = append(o.found, wishes...)
	o.effort = f.estimate(o.steps)
	return o
}
