package solve

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly/design"
)

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
	s.checkParts()
	if !s.errs.none() || s.doubt.any {
		s.inspectHealthy()
	}
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

// checkParts refuses what has more parts than can be put in an order.
func (s *solver) checkParts() {
	n := len(s.net.nodes) + len(s.boards)
	for _, g := range s.net.segs {
		n += len(g.pipes) + len(g.parts)
	}
	if n > MaxParts {
		s.errs.add(design.Pos{Line: 1, Col: 1}, "the design makes %d parts; at most %d are planned at once: divide it into several files", n, MaxParts)
	}
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
