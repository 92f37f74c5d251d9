package solve

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
)

// sumDecimals are the decimals of written-out sums: one more than a saw can follow, so that the sum comes out.
const sumInchDecimals = 3

// sumNum writes a length in a written-out sum.
func (s *solver) sumNum(mm float64) string {
	if s.t.Units == units.MetricSystem {
		return trimNumber(mm, sumInchDecimals-1)
	}
	return trimNumber(units.Length(mm).Inches(), sumInchDecimals)
}

// stick notes in what length pipe of a size is bought, once for each size.
func (s *solver) stick(size standard.Size) {
	isOf := func(k assembly.StockStick) bool { return k.Size == size }
	if stick := s.fullStick(size); !slices.ContainsFunc(s.out.Sticks, isOf) {
		s.out.Sticks = append(s.out.Sticks, assembly.StockStick{Size: size, LengthMM: stick.MM, Source: stick.Source})
	}
}

// sums tells how the length of every pipe came about, marks stock pipes, and finds what stock lengths would move.
func (s *solver) sums() {
	shifter := s.newShifter()
	for _, l := range s.net.legs {
		for _, g := range l.segs {
			for i, p := range g.pipes {
				sum := assembly.PipeSum{Part: p.id, Formula: s.formula(g, i), At: s.at(l.run.src.PathAt)}
				sum.Stock = shifter.stock(p)
				if p.cut != nil && p.cut.Word == design.Close { // bought as it is, whatever else the shop keeps
					sum.Stock = &assembly.Stock{LengthMM: p.length, Moves: []assembly.PointShift{}}
				}
				if sum.Stock != nil && math.Abs(sum.Stock.LengthMM-p.length) <= stockAgreement {
					s.part(p.id).Stock = true
				}
				s.out.Pipes = append(s.out.Pipes, sum)
				s.stick(p.size)
				s.out.Closings = append(s.out.Closings, s.closings(g, p)...)
			}
		}
	}
}

// formula writes out how the length of the i-th pipe of a segment came about.
func (s *solver) formula(g *segment, i int) string {
	p := g.pipes[i]
	end := " = " + s.sumNum(p.length) + " " + string(s.t.Units)
	switch {
	case p.cut != nil && p.cut.Word == design.Close:
		return "close nipple" + end
	case p.given:
		return "as given" + end
	}
	terms := newTerms(s)
	if g.spreadOut {
		s.middleTerms(g, i, terms)
	} else {
		s.shareTerms(g, p, terms)
	}
	return terms.String() + end
}

// terms is a sum in the making.
type terms struct {
	s *solver
	b strings.Builder
}

func newTerms(s *solver) *terms { return &terms{s: s} }

// less takes a length off; what is below zero is added.
func (t *terms) less(mm float64, what string) {
	sign := " - "
	if mm < 0 {
		sign, mm = " + ", -mm
	}
	fmt.Fprintf(&t.b, "%s%s (%s)", sign, t.s.sumNum(mm), what)
}

func (t *terms) String() string { return t.b.String() }

// shareTerms: the distance less all that is taken off, shared by the pipes that are cut to what is left.
func (s *solver) shareTerms(g *segment, p *pipe, t *terms) {
	rest := 0
	for _, q := range g.pipes {
		if !q.given {
			rest++
		}
	}
	if rest > 1 {
		t.b.WriteString("(")
	}
	t.b.WriteString(s.sumNum(g.dist))
	s.lessEnd(g.a, g.useA.TakeoutMM, t)
	for _, q := range g.parts {
		t.less(q.takeoff(), string(q.kind)+" "+q.id)
	}
	for _, q := range g.pipes {
		if q != p && q.given {
			t.less(q.length, q.id)
		}
	}
	s.lessEnd(g.b, g.useB.TakeoutMM, t)
	if g.clearance > 0 {
		t.less(g.clearance, "clearance")
	}
	if rest > 1 {
		fmt.Fprintf(&t.b, ") / %d", rest)
	}
}

// lessEnd takes off what the fitting at a node takes.
func (s *solver) lessEnd(n *node, takeout float64, t *terms) {
	kind := string(n.choice.Fitting.Kind)
	if n.choice.None || n.choice.Fitting.Kind == standard.Cap && takeout == 0 {
		return
	}
	t.less(takeout, kind+" "+n.name)
}

// middleTerms: the distance between the middles of two neighbours less what they take off.
func (s *solver) middleTerms(g *segment, i int, t *terms) {
	k := i
	if g.useA.Street {
		k++
	}
	from, to := 0.0, g.dist
	if k > 0 {
		from = g.parts[k-1].offset
	}
	if k < len(g.parts) {
		to = g.parts[k].offset
	}
	t.b.WriteString(s.sumNum(to - from))
	if k > 0 {
		ends := inlineEnds(g.parts[k-1].fitting)
		t.less(ends[1].TakeoutMM(), string(g.parts[k-1].kind)+" "+g.parts[k-1].id)
	} else {
		s.lessEnd(g.a, g.useA.TakeoutMM, t)
	}
	if k < len(g.parts) {
		ends := inlineEnds(g.parts[k].fitting)
		t.less(ends[0].TakeoutMM(), string(g.parts[k].kind)+" "+g.parts[k].id)
		return
	}
	s.lessEnd(g.b, g.useB.TakeoutMM, t)
	if g.clearance > 0 {
		t.less(g.clearance, "clearance")
	}
}
