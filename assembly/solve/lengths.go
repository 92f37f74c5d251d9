package solve

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly/design"
	"turnwise/assembly/standard"
)

// cutPipes makes the pipes of every segment and gives them what the design cuts to length.
func (s *solver) cutPipes(n *network) {
	for _, r := range s.runs {
		s.layPipes(r)
		s.giveCuts(r)
	}
}

// layPipes makes the pipes of a run, without lengths.
func (s *solver) layPipes(r *run) {
	clearance := 0.0
	if r.src.Clearance != nil {
		v, err := s.positive(r.src.Clearance, env{s: s, sc: r.sc}, "a clearance")
		s.errs.formulaFault(err, r.src.PathAt)
		clearance = v
		r.broken = r.broken || err != nil
	}
	count := 0
	for _, l := range r.legs {
		for i, g := range l.segs {
			g.clearance = 0
			if i == len(l.segs)-1 {
				g.clearance = clearance
			}
			g.pipes = nil
			for k := 0; k <= len(g.parts); k++ {
				if k == 0 && g.useA.Street || k == len(g.parts) && g.useB.Street {
					continue
				}
				count++
				p := &pipe{seg: g, id: fmt.Sprintf("%s.%d", r.id, count), size: r.size}
				if k > 0 && g.parts[k-1].kind == standard.RightLeft {
					p.left = "a"
				}
				if k < len(g.parts) && g.parts[k].kind == standard.LongScrew {
					p.running = "b"
				}
				g.pipes = append(g.pipes, p)
			}
		}
	}
}

// pipesOf lists the pipes of a run in order.
func (r *run) pipes() []*pipe {
	var out []*pipe
	for _, l := range r.legs {
		for _, g := range l.segs {
			out = append(out, g.pipes...)
		}
	}
	return out
}

// giveCuts hands the cuts of a run to its pipes.
func (s *solver) giveCuts(r *run) {
	cuts := r.src.Cuts
	if len(cuts) == 0 {
		return
	}
	pipes := r.pipes()
	if len(pipes) == 0 || r.broken { // a fault of its points is already known
		return
	}
	if len(cuts) != 1 && len(cuts) != len(pipes) {
		r.miscut, r.broken = true, true
		return
	}
	for i, p := range pipes {
		c := &cuts[min(i, len(cuts)-1)]
		p.cut = c
		switch {
		case c.Word == design.Close:
			p.given, p.length = true, s.closeNipple(r.size)
		case c.Expr != nil:
			v, err := s.positive(c.Expr, env{s: s, sc: r.sc}, "a cut")
			s.errs.formulaFault(err, c.At)
			p.given, p.length = err == nil, v
			r.broken = r.broken || err != nil
		}
	}
}

// stretches names what lies at both ends of each pipe: a-b, b-union, union-c.
func (r *run) stretches() []string {
	var out []string
	for _, l := range r.legs {
		for _, g := range l.segs {
			marks := []string{shortName(g.a.name)}
			for _, p := range g.parts {
				marks = append(marks, string(p.kind))
			}
			marks = append(marks, shortName(g.b.name))
			if g.useA.Street {
				marks = marks[1:]
			}
			if g.useB.Street {
				marks = marks[:len(marks)-1]
			}
			for i := 1; i < len(marks); i++ {
				out = append(out, marks[i-1]+"-"+marks[i])
			}
		}
	}
	return out
}

// shortName is a name without the copies round it.
func shortName(id string) string { return id[strings.LastIndexByte(id, '.')+1:] }

func (s *solver) closeNipple(size standard.Size) float64 {
	return standard.CloseNipple(s.pipeFamily(size), size).MM
}

// pipeFamily is the thread family of pipe of that size.
func (s *solver) pipeFamily(size standard.Size) standard.Family {
	for _, p := range s.t.Parts {
		if p.Thread != "" && (p.Kind == "" || p.Kind == standard.Pipe) && (len(p.Sizes) == 0 || len(p.Sizes) == 1 && p.Sizes[0] == size) {
			return p.Thread
		}
	}
	return s.t.Thread
}

// pipeOD is the outside diameter of pipe of that size.
func (s *solver) pipeOD(size standard.Size) (float64, error) {
	if od, ok := s.od[size]; ok {
		return od, nil
	}
	c, err := s.catalogue()
	if err != nil {
		return 0, err
	}
	od, err := pipeDimension(c, size, standard.DimOD)
	if err == nil {
		s.od[size] = od
	}
	return od, err
}

// taken is what everything but the pipes takes of a segment.
func (g *segment) taken() float64 {
	sum := g.useA.TakeoutMM + g.useB.TakeoutMM + g.clearance
	for _, p := range g.parts {
		sum += p.takeoff()
	}
	return sum
}

// takeoff is what a part in a line takes of its length.
func (p *inline) takeoff() float64 {
	sum := 0.0
	for _, e := range inlineEnds(p.fitting) {
		sum += e.TakeoutMM()
	}
	return sum
}

// isGiven tells whether all pipes of a segment have a given length.
func (g *segment) isGiven() bool {
	for _, p := range g.pipes {
		if !p.given {
			return false
		}
	}
	return true
}

// wants is the distance between its nodes that a segment of given pipes asks for.
func (g *segment) wants() float64 {
	sum := g.taken()
	for _, p := range g.pipes {
		sum += p.length
	}
	return sum
}

// share gives the pipes that are not cut to a given length what is left of their segment, and places all pipes.
func (g *segment) share(least float64) {
	if !(len(g.parts) > 0 && g.isFree() && g.spread(least)) {
		left, rest := g.dist-g.taken(), 0
		for _, p := range g.pipes {
			if p.given {
				left -= p.length
			} else {
				rest++
			}
		}
		for _, p := range g.pipes {
			if !p.given {
				p.length = left / float64(rest)
			}
		}
	}
	for _, p := range g.pipes {
		p.length = math.Round(p.length/lengthStep) * lengthStep
	}
	g.line()
}

// lengthStep is the step, in mm, to which lengths are rounded, so that identical pipes are equal to the last digit.
const lengthStep = 1e-6

// isFree tells whether the design gives no cut for any pipe of the segment.
func (g *segment) isFree() bool {
	for _, p := range g.pipes {
		if p.cut != nil {
			return false
		}
	}
	return true
}

// spread cuts the pipes so that the parts between them sit where they are meant to: in the middle of the leg. It fails
// when that leaves a pipe too short, as with a tee in that place; then the parts divide the segment evenly.
func (g *segment) spread(least float64) bool {
	at := g.useA.TakeoutMM
	k := 0
	for i := 0; i <= len(g.parts); i++ {
		end, next := g.dist-g.useB.TakeoutMM-g.clearance, 0.0
		if i < len(g.parts) {
			ends := inlineEnds(g.parts[i].fitting)
			end = g.parts[i].offset - ends[0].TakeoutMM()
			next = g.parts[i].offset + ends[1].TakeoutMM()
		}
		if i == 0 && g.useA.Street || i == len(g.parts) && g.useB.Street {
			at = next
			continue
		}
		g.pipes[k].length = end - at
		k++
		at = next
	}
	for _, p := range g.pipes {
		if p.length < least {
			return false
		}
	}
	g.spreadOut = true
	return true
}

// line places pipes and parts one after another from the segment's start.
func (g *segment) line() {
	at := g.useA.TakeoutMM
	k := 0
	for i := 0; i <= len(g.parts); i++ {
		if !(i == 0 && g.useA.Street || i == len(g.parts) && g.useB.Street) {
			p := g.pipes[k]
			k++
			p.start = at
			at += p.length
		}
		if i < len(g.parts) {
			ends := inlineEnds(g.parts[i].fitting)
			if len(ends) == 0 {
				continue
			}
			g.parts[i].offset = at + ends[0].TakeoutMM()
			at = g.parts[i].offset + ends[1].TakeoutMM()
		}
	}
}
