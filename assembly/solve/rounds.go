package solve

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly/design"
)

// MaxRounds is how often fittings and distances are worked out at most, as the format says.
const MaxRounds = 8

// sameDistance is how little, in mm, an unknown distance may change between two rounds that agree.
const sameDistance = 1e-6

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
