package solve

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly/design"
	"turnwise/assembly/standard"
)

// MaxRounds is how often fittings and distances are worked out at most, as the format says.
const MaxRounds = 8

// sameDistance is how little, in mm, an unknown distance may change between two rounds that agree.
const sameDistance = 1e-6

// changesLength is the least slope of a leg's length, in mm per mm, that counts as a change.
const changesLength = 1e-6

// maxWork bounds the work spent on unknown distances, in the price of one value that hangs on one of them. A frame of a
// hundred takes about a hundredth of it; a file made to be slow is refused within a quarter of a second.
const maxWork = 12_000_000

// evaluateAll works out everything that has a value, so that every fault is reported.
func (s *solver) evaluateAll() {
	report := func(err error, at design.Pos) { s.errs.formulaFault(err, at) }
	for i := range s.t.Givens {
		_, err := s.given(s.givens[s.t.Givens[i].Name.Text])
		report(err, s.t.Givens[i].Name.At)
	}
	_, err := s.catalogue()
	report(err, design.Pos{Line: 1, Col: 1})
	for _, name := range design.SurfaceNames {
		if f, ok := s.surfaces[name]; ok {
			_, err := s.surfaceFace(name)
			report(err, f.at)
		}
	}
	for _, k := range sortedKeys(s.cleats) {
		_, err := s.cleatAt(s.cleats[k], func(int) (float64, error) { return 0, nil })
		report(err, s.cleats[k].at)
	}
	for _, z := range s.zones {
		_, err := s.zoneBox(z)
		report(err, z.at)
	}
	s.guess()
	for _, p := range s.points {
		_, err := s.place(p)
		report(err, p.src.Name.At)
	}
	for _, b := range s.boards {
		_, err := s.boardBox(b)
		report(err, b.src.Name.At)
	}
	s.checkCarried()
}

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

// rounds works out network, fittings, lengths and unknown distances until nothing changes, and reports what is wrong
// once all places are known.
func (s *solver) rounds() {
	if _, err := s.catalogue(); err != nil {
		return
	}
	last := ""
	for round := 1; ; round++ {
		s.net = s.weave()
		if s.full {
			return
		}
		s.choose(s.net)
		s.cutPipes(s.net)
		before := s.values()
		s.findDistances()
		if s.full {
			return
		}
		moved := false
		for i, u := range s.unknowns {
			moved = moved || math.Abs(u.value-before[i]) > sameDistance
		}
		mark := s.net.mark()
		if !moved && mark == last || len(s.unknowns) == 0 {
			break
		}
		last = mark
		if round == MaxRounds {
			s.unsettled()
			break
		}
	}
	s.checkNetwork()
}

// checkNetwork reports what is wrong with what is known: what hangs on a fault already told stays silent.
func (s *solver) checkNetwork() {
	told := s.doubtDistances()
	s.skipUnsure()
	s.tellAtFaults(&told)
	s.reportOpen(told)
	s.reportFaults()
	if !s.doubt.lengths {
		s.checkCuts()
	}
	s.checkSurfaces()
	if !s.errs.none() || s.doubt.any {
		s.inspectHealthy()
	}
}

func (s *solver) values() []float64 {
	out := make([]float64, len(s.unknowns))
	for i, u := range s.unknowns {
		out[i] = u.value
	}
	return out
}

// mark is what the fittings of a round are, as text, to be compared with the next.
func (n *network) mark() string {
	var b strings.Builder
	for _, o := range n.nodes {
		fmt.Fprintf(&b, "%s:%s%v;", o.name, o.choice.Fitting.Kind, o.choice.Fitting.Sizes)
	}
	return b.String()
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

// reportFaults puts points without a fitting among the errors.
func (s *solver) reportFaults() {
	for _, l := range s.net.flat {
		if l.run.doubtful || l.a.unsure {
			continue
		}
		s.errs.add(l.run.src.Path[l.toItem].Name.At, "%s and %s are in one place: no pipe goes from one to the other", l.from.id, l.to.id)
	}
	for _, n := range s.net.nodes {
		if n.fault == nil || n.skipped {
			continue
		}
		at := n.points[0].src.Name.At
		if n.ask != nil {
			at = n.ask.src.At
		}
		s.errs.add(at, "%s", n.fault.Error())
	}
}

// checkCuts compares the given cuts with the distances, and shares out the rest.
func (s *solver) checkCuts() {
	for _, r := range s.runs {
		if r.miscut && !r.doubtful && !r.isFaulty() {
			s.errs.add(r.src.CutsAt, "%d cuts for %d pipes: %s", len(r.src.Cuts), len(r.pipes()), strings.Join(r.stretches(), ", "))
		}
	}
	for _, l := range s.net.legs {
		if l.run.broken && len(l.run.src.Cuts) > 0 { // which cut is whose is not known
			continue
		}
		for _, g := range l.segs {
			if g.isFaulty() {
				continue
			}
			if off := g.wants() - g.dist; g.isGiven() && math.Abs(off) > Agreement {
				s.twoAnswers(g, off)
				continue
			}
			g.share(s.closeNipple(l.run.size))
			for _, p := range g.pipes {
				if p.length <= 0 {
					s.errs.add(l.run.src.PathAt, "%s", s.tooShort(p))
				}
			}
		}
	}
}

// tooShort says that a pipe cannot be had.
func (s *solver) tooShort(p *pipe) string {
	return fmt.Sprintf("%s would be %s in; the shortest %s pipe with two threads (close nipple) is %s", p.label(), s.num(p.length), p.size,
		s.fraction(s.closeNipple(p.size)))
}

// label is the pipe as messages call it: by its run, if that has no other.
func (p *pipe) label() string {
	if len(p.seg.leg.run.pipes()) == 1 {
		return p.seg.leg.run.id
	}
	return p.id
}

// twoAnswers reports a segment whose given pipes do not fill it.
func (s *solver) twoAnswers(g *segment, off float64) {
	if len(g.pipes) == 0 {
		s.errs.add(g.leg.run.src.PathAt, "%s: %s and %s are %s apart, the street elbow between them asks for %s; give the distance as ?",
			g.leg.run.id, g.a.name, g.b.name, s.length(g.dist), s.length(g.wants()))
		return
	}
	p := g.pipes[0]
	said, left := 0.0, 0.0
	for _, q := range g.pipes {
		said += q.length
	}
	left = said - off
	at := g.leg.run.src.PathAt
	if p.cut != nil {
		at = p.cut.At
	}
	if s.hangs(g.leg.from) || s.hangs(g.leg.to) {
		s.errs.add(at, "%s: %s do not close: cut says %s, %s is left", p.label(), strings.Join(s.net.ring(g), ", "), s.num(said), s.num(left))
		return
	}
	s.errs.add(at, "two answers for %s: the points ask for %s, cut says %s", p.label(), s.num(left), s.num(said))
}

func (s *solver) hangs(p *point) bool {
	for i := range p.coord {
		if !p.coord[i].hangs.isEmpty() {
			return true
		}
	}
	return false
}

// ring names the nodes from one end of a segment to the other the shortest other way round, both ends included.
func (n *network) ring(g *segment) []string {
	from := map[*node]*node{g.a: g.a}
	queue := []*node{g.a}
	for len(queue) > 0 && from[g.b] == nil {
		at := queue[0]
		queue = queue[1:]
		for _, ln := range at.lines {
			next := ln.seg.b
			if ln.isEnd {
				next = ln.seg.a
			}
			if ln.seg != g && from[next] == nil {
				from[next] = at
				queue = append(queue, next)
			}
		}
	}
	if from[g.b] == nil {
		return []string{g.a.name, g.b.name}
	}
	var back []string
	for at := g.b; at != g.a; at = from[at] {
		back = append(back, at.name)
	}
	out := []string{g.a.name}
	for i := len(back) - 1; i >= 0; i-- {
		out = append(out, back[i])
	}
	return out
}

// kindIsFoot tells whether a part stands under a pipe.
func kindIsFoot(k standard.Kind) bool {
	switch k {
	case standard.Flange, standard.Glide, standard.Caster, standard.Cap, standard.Pad:
		return true
	}
	return false
}

// checkSurfaces reports points that lie off the surface they are said to be on.
func (s *solver) checkSurfaces() {
	for _, p := range s.points {
		at, err := s.place(p)
		if err != nil || s.isUnsure(p) {
			continue
		}
		for i := range p.coord {
			if on := p.coord[i].on; on != nil {
				s.checkSurface(p, on, coords(at))
			}
		}
	}
}

func (s *solver) checkSurface(p *point, on *contact, at [3]float64) {
	box := everywhere()
	var err error
	switch {
	case on.cleat != nil:
		box, err = s.cleatRange(on.cleat)
	case on.board != nil:
		box, err = s.boardBox(on.board)
	case on.zone != nil:
		box, err = s.zoneBox(on.zone)
	}
	if err != nil {
		return
	}
	lo, hi := coords(box.Min), coords(box.Max)
	for i := range at {
		if i != on.axis && (at[i] < lo[i]-Agreement || at[i] > hi[i]+Agreement) {
			s.errs.add(p.src.Name.At, "%s: %s reaches %s %s to %s, the point is at %s %s", p.id, on.name(), design.Axes[i],
				s.num(lo[i]), s.num(hi[i]), design.Axes[i], s.num(at[i]))
		}
	}
	if on.surface == "" {
		return
	}
	for _, z := range s.zones {
		if z.src.Kind.Text != design.Opening || z.src.Surface.Text != on.surface {
			continue
		}
		box, _ := s.zoneBox(z)
		lo, hi := coords(box.Min), coords(box.Max)
		in := true
		for i := range at {
			in = in && (i == on.axis || at[i] > lo[i]+Agreement && at[i] < hi[i]-Agreement)
		}
		if in {
			s.errs.add(p.src.Name.At, "%s is in the opening %s", p.id, z.src.Name.Text)
		}
	}
}
