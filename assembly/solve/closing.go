package solve

import (
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
)

// closingKinds are the pieces that close a ring of threads, in the order in which they are thought of.
var closingKinds = []standard.Kind{standard.Union, standard.RightLeft, standard.LongScrew}

// closings are the changes of the design's text that divide a pipe by a closing piece, one for each kind. There are
// none where one given length holds for several pipes of the run, or the leg has a piece there already.
func (s *solver) closings(g *segment, p *pipe) []assembly.Closing {
	cut, ok := s.restCut(g, p)
	if !ok {
		return nil
	}
	before, after, ok := s.namedEnds(g)
	if !ok {
		return nil
	}
	cat, err := s.catalogue()
	if err != nil {
		return nil
	}
	at := g.leg.run.src.Path[g.leg.toItem].Name.At
	if at.Line < 1 || at.Line > len(s.t.Lines) || at.Col > len([]rune(s.t.Lines[at.Line-1])) {
		return nil
	}
	var out []assembly.Closing
	for _, kind := range closingKinds {
		f, err := cat.Fitting(kind, []standard.Size{p.size})
		if err != nil {
			continue // not made in this size
		}
		need := (&inline{fitting: f}).takeoff() + 2*s.closeNipple(p.size)
		piece := assembly.Splice{Line: at.Line, Col: at.Col, Insert: before + string(kind) + " to " + after, Order: g.index()}
		out = append(out, assembly.Closing{
			Part: p.id, Kind: kind, From: g.a.name, To: g.b.name, At: s.at(at),
			MissingMM: max(0, need-p.length), LosesCut: p.given, Splices: append([]assembly.Splice{piece}, cut...),
		})
	}
	return out
}

// index is the place of a segment in its leg.
func (g *segment) index() int {
	for i, o := range g.leg.segs {
		if o == g {
			return i
		}
	}
	return 0
}

// restCut tells whether a pipe may be divided as far as the cuts of its run go, and gives the change of the cuts that
// makes two of it: where every pipe has an entry of its own, that becomes "rest then rest".
func (s *solver) restCut(g *segment, p *pipe) ([]assembly.Splice, bool) {
	if len(g.parts) > 0 || len(g.pipes) != 1 {
		return nil, false
	}
	cuts := g.leg.run.src.Cuts
	if len(cuts) == 0 || len(cuts) == 1 && cuts[0].Word == design.Rest {
		return nil, true
	}
	if p.cut == nil || len(cuts) == 1 && len(g.leg.run.pipes()) > 1 {
		return nil, false // one entry that holds for other pipes too
	}
	const both = design.Rest + " then " + design.Rest
	was := p.cut.Word
	if p.cut.Expr != nil {
		was = p.cut.Expr.Text
	}
	return []assembly.Splice{{Line: p.cut.At.Line, Col: p.cut.At.Col, Remove: len([]rune(was)), Insert: both}}, true
}

// namedEnds are the points to be written before and after a piece, so that it stands in this segment of its leg.
func (s *solver) namedEnds(g *segment) (before, after string, ok bool) {
	l := g.leg
	for _, end := range []struct {
		node, leg *node
		text      *string
	}{{g.a, l.a, &before}, {g.b, l.b, &after}} {
		if end.node == end.leg {
			continue
		}
		name, ok := s.nameFrom(l.run.sc, end.node)
		if !ok {
			return "", "", false
		}
		*end.text = name + " to "
	}
	return before, after, true
}

// nameFrom is a name for a node's place that means it when written inside a scope.
func (s *solver) nameFrom(sc *scope, n *node) (string, bool) {
	for _, p := range n.points {
		for _, name := range []string{p.src.Name.Text, p.id} {
			if t, ok := s.find(sc, name); ok && t.point == p {
				if name == p.id && sc.path != "" && p.sc != sc { // it would mean one copy from inside all of them
					continue
				}
				return name, true
			}
		}
	}
	return "", false
}

// carryAvoid hands on what the design does not want, each word with the change of the text that allows it.
func (s *solver) carryAvoid() {
	words := s.t.Avoid
	for i, w := range words {
		out := assembly.Avoided{What: w.Text}
		sp := assembly.Splice{Line: w.At.Line, Col: w.At.Col, Remove: len([]rune(w.Text))}
		switch {
		case len(words) == 1:
			if text := s.t.Lines[w.At.Line-1]; strings.HasPrefix(text, "avoid:") {
				out.Allow = []assembly.Splice{{Line: w.At.Line, Col: 1, Insert: "# "}}
			}
		case i+1 < len(words) && words[i+1].At.Line == w.At.Line:
			sp.Remove = words[i+1].At.Col - w.At.Col
			out.Allow = []assembly.Splice{sp}
		case i > 0 && words[i-1].At.Line == w.At.Line:
			from := words[i-1].At.Col + len([]rune(words[i-1].Text))
			sp.Col, sp.Remove = from, sp.Col+sp.Remove-from
			out.Allow = []assembly.Splice{sp}
		}
		s.out.Avoid = append(s.out.Avoid, out)
	}
}
