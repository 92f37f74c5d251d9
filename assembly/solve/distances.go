package solve

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly/design"
)

// changesLength is the least slope of a leg's length, in mm per mm, that counts as a change.
const changesLength = 1e-6

// maxWork bounds the work spent on unknown distances, in the price of one value that hangs on one of them. A frame of a
// hundred takes about a hundredth of it; a file made to be slow is refused within a quarter of a second.
const maxWork = 12_000_000

// firstGuess is what an unknown distance is, in mm, before any cut says better.
const firstGuess = 300.0

// guessStep keeps the first guesses of different distances apart, in mm, so that no two points start in one place.
const guessStep = 1.7

// guess starts every unknown distance at the first cut of a run that goes to its point.
func (s *solver) guess() {
	for i, u := range s.unknowns {
		u.value = firstGuess + guessStep*float64(i)
	}
	set := map[*point]bool{}
	for _, r := range s.runs {
		for i, p := range s.pathPoints(r) {
			if len(p.gaps) == 0 || set[p] || len(r.src.Cuts) == 0 {
				continue
			}
			if v, ok := s.cutLength(r, min(max(i-1, 0), len(r.src.Cuts)-1)); ok {
				set[p] = true
				for _, u := range p.gaps {
					u.value = v + guessStep*float64(u.index)
				}
			}
		}
	}
}

// cutLength is the i-th cut of a run, if it is a length.
func (s *solver) cutLength(r *run, i int) (float64, bool) {
	c := r.src.Cuts[i]
	switch {
	case c.Word == design.Close:
		return s.closeNipple(r.size), true
	case c.Expr != nil:
		v, err := s.positive(c.Expr, env{s: s, sc: r.sc}, "a cut")
		return v, err == nil
	}
	return 0, false
}

// wants is the length that a leg asks for, if all its pipes have a given cut.
func (l *leg) wants() (float64, bool) {
	sum := 0.0
	for _, g := range l.segs {
		if !g.isGiven() {
			return 0, false
		}
		sum += g.wants()
	}
	return sum, true
}

// findDistances takes the legs whose pipes are all given, in file order, again and again: a leg whose length just one
// unknown distance changes gives it.
func (s *solver) findDistances() {
	for _, u := range s.unknowns {
		u.found, u.short = false, nil
	}
	s.order = s.order[:0]
	used := map[*leg]bool{}
	for progress := true; progress; {
		progress = false
		for _, l := range s.net.legs {
			want, ok := l.wants()
			if !ok || used[l] || s.doubt.lengths {
				continue
			}
			open := s.openIn(l)
			if s.spend(perCell); s.full {
				return
			}
			if len(open) != 1 || open[0].bad {
				continue
			}
			used[l] = true
			if s.findDistance(l, open[0], want) {
				open[0].found, open[0].by, progress = true, l, true
				s.order = append(s.order, open[0])
			}
		}
	}
}

// spend counts evaluations, and gives up when a file asks for too many.
func (s *solver) spend(n int) {
	if s.spent += n; s.spent > maxWork && !s.full {
		s.full = true
		s.errs.add(s.unknowns[0].place(), "too many ? hang on one another to be worked out; give a number in place of some")
	}
}

// length is how long a leg is where its points are now.
func (s *solver) legLength(l *leg) float64 {
	a, _ := s.place(l.from)
	b, _ := s.place(l.to)
	return b.Sub(a).Len()
}

// openEnough is how many unknown distances of one leg are looked for: with two it gives none, with three a message has
// all it needs.
const openEnough = 3

// openIn lists the unknown distances not yet found that change a leg's length, three at most.
func (s *solver) openIn(l *leg) []*unknown {
	s.legLength(l)
	var hangs bits
	for _, p := range []*point{l.from, l.to} {
		for i := range p.coord {
			hangs.join(p.coord[i].hangs)
		}
	}
	var out []*unknown
	hangs.each(func(i int) {
		u := s.unknowns[i]
		if len(out) < openEnough && !u.found && !s.full && math.Abs(s.slope(l, u)) > changesLength {
			out = append(out, u)
		}
	})
	return out
}

// set gives an unknown distance a value.
func (u *unknown) set(v float64) {
	u.forget()
	u.value = v
}

// slopeStep is the half step, in mm, over which slopes are measured.
const slopeStep = 0.01

// slope is how fast a leg's length changes with an unknown distance.
func (s *solver) slope(l *leg, u *unknown) float64 {
	v := u.value
	u.set(v + slopeStep)
	hi := s.legLength(l)
	u.set(v - slopeStep)
	lo := s.legLength(l)
	u.set(v)
	return (hi - lo) / (2 * slopeStep)
}

// newtonSteps is far more than a length, which is nearly straight in the distance, ever takes.
const newtonSteps = 60

// findDistance gives an unknown distance the value at which the leg has the length wanted.
func (s *solver) findDistance(l *leg, u *unknown, want float64) bool {
	before := u.value
	tooShort := func() bool {
		u.set(before)
		if u.short = l; !l.isFaulty() { // else its end is looked at first
			s.reportShort(u)
		}
		return false
	}
	if want <= 0 {
		return tooShort()
	}
	for try := 0; try < 2; try++ {
		if s.newton(l, u, want) {
			if u.value > 0 {
				return true
			}
			u.set(math.Max(-u.value, 1)) // the same length the other way
			continue
		}
		u.set(want)
	}
	if s.newton(l, u, want) && u.value > 0 {
		return true
	}
	return tooShort()
}

// reportShort says that a cut is too short for any distance.
func (s *solver) reportShort(u *unknown) {
	cuts := 0.0
	for _, g := range u.short.segs {
		for _, p := range g.pipes {
			cuts += p.length
		}
	}
	u.bad = true
	s.errs.add(u.short.cutAt(), "%s less what the fittings take is below zero", s.fraction(cuts)+" "+string(s.t.Units))
}

func (s *solver) newton(l *leg, u *unknown, want float64) bool {
	for i := 0; i < newtonSteps; i++ {
		off := s.legLength(l) - want
		if math.Abs(off) < 1e-10*math.Max(1, want) {
			return true
		}
		slope := s.slope(l, u)
		if math.Abs(slope) <= changesLength {
			return false
		}
		next := u.value - off/slope
		if math.IsNaN(next) || math.Abs(next) > 1e6 {
			return false
		}
		u.set(next)
	}
	return math.Abs(s.legLength(l)-want) < sameDistance
}

// isFaulty tells whether a point of the leg has no fitting.
func (l *leg) isFaulty() bool {
	for _, g := range l.segs {
		if g.isFaulty() {
			return true
		}
	}
	return false
}

// cutAt is the place of the first cut of a leg.
func (l *leg) cutAt() design.Pos {
	for _, g := range l.segs {
		for _, p := range g.pipes {
			if p.cut != nil {
				return p.cut.At
			}
		}
	}
	return l.run.src.PathAt
}

// reportOpen says of every distance that was not found why, unless a fault told elsewhere is the cause.
func (s *solver) reportOpen(told bits) {
	for _, u := range s.unknowns {
		if u.short != nil && !told.has(u.index) {
			s.reportShort(u)
			told.add(u.index)
		}
	}
	var open [][]*unknown
	var legs []*leg
	for _, l := range s.net.legs {
		if _, ok := l.wants(); ok {
			if o := s.openIn(l); len(o) > 1 {
				open, legs = append(open, o), append(legs, l)
			}
		}
	}
	told.spread(open)
	for i, l := range legs {
		if !told.has(open[i][0].index) {
			s.reportShared(l, open[i], &told)
		}
	}
	for _, u := range s.unknowns {
		if !u.found && !told.has(u.index) {
			s.errs.add(u.place(), "nothing says how far %s: give cut on a run between them, or a number", u.words())
		}
	}
}

// spread adds what shares a leg with a distance of the set, again and again.
func (b *bits) spread(open [][]*unknown) {
	for more := true; more; {
		more = false
		for _, o := range open {
			any, all := false, true
			for _, u := range o {
				any, all = any || b.has(u.index), all && b.has(u.index)
			}
			if any && !all {
				more = true
				for _, u := range o {
					b.add(u.index)
				}
			}
		}
	}
}

// reportShared reports distances that only one leg is there to give.
func (s *solver) reportShared(l *leg, open []*unknown, told *bits) {
	names := make([]string, len(open))
	first := open[0]
	for i, u := range open {
		names[i] = u.words()
		told.add(u.index)
		if u.place().IsBefore(first.place()) {
			first = u
		}
	}
	s.errs.add(first.place(), "one leg, %s to %s, cannot say both how far %s: give a cut on another run between them, or a number",
		l.from.id, l.to.id, strings.Join(names, " and how far "))
}

// place is where the "?" stands.
func (u *unknown) place() design.Pos { return u.change.ExprAt }

// words says what an unknown distance is: "b is above a".
func (u *unknown) words() string {
	from, c := u.point.src.From.Text, u.change
	if c.Op == design.Toward {
		return fmt.Sprintf("%s is from %s toward %s", u.point.id, from, c.To.Text)
	}
	way := [3][2]string{{"to the right of", "to the left of"}, {"out from", "back from"}, {"above", "below"}}[c.Axis.Index()][bit(c.Minus)]
	return fmt.Sprintf("%s is %s %s", u.point.id, way, from)
}

func bit(b bool) int {
	if b {
		return 1
	}
	return 0
}

// unsettled is a design whose fittings change one another for ever.
func (s *solver) unsettled() {
	for _, u := range s.unknowns {
		u.bad = true
	}
	s.errs.add(s.unknowns[0].place(), "after %d rounds the fittings still change with the distances: give a number in place of a ?", MaxRounds)
}
