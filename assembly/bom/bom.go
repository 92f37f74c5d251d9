// Package bom makes the cut list and the shopping list of a solved and numbered assembly.
//
// Cuts has one line per distinct pipe. Shopping has everything to buy, grouped as one walks through a shop: pipe,
// fittings, fixings, boards, finish, safety. Count is always what the frame uses, Spare what to buy on top; what the
// design says is in hand is told in the text and never subtracted, so that the list stays the list of the frame.
//
// Numbers must be set (by the order of assembly) before; parts without a number are told apart by their looks.
package bom

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
)

// Cuts lists the distinct pipes, by number; pipes without a number come last, in the order of Parts.
//
// The formula is that of the first pipe of the number. What using a stock length would move is gathered from all pipes
// of the number; a point that several of them move is listed with its greatest shift.
func Cuts(a *assembly.Assembly) []assembly.Cut {
	sums := map[string]assembly.PipeSum{}
	for _, s := range a.Pipes {
		sums[s.Part] = s
	}
	g := guessesOf(a)
	var cuts []assembly.Cut
	for _, group := range distinct(a.Parts, isPipe) {
		first := a.Parts[group[0]]
		c := assembly.Cut{
			Number: first.Number, LengthMM: first.LengthMM, Count: len(group),
			Label: label(a.Parts, group), Formula: sums[first.ID].Formula,
		}
		if len(first.Size) > 0 {
			c.Size = first.Size[0]
		}
		for _, i := range group {
			sum := sums[a.Parts[i].ID]
			c.Stock = mergeStock(c.Stock, sum.Stock)
			c.Measure = g.gather(c.Measure, sum.Formula)
		}
		cuts = append(cuts, c)
	}
	return cuts
}

func isPipe(p assembly.Part) bool { return p.Kind == standard.Pipe }

// distinct groups the indices of the parts that keep holds for: by number, else by looks. Groups come in order of
// their numbers, then of Parts.
func distinct(parts []assembly.Part, keep func(assembly.Part) bool) [][]int {
	at := map[string]int{}
	var groups [][]int
	for i, p := range parts {
		if !keep(p) {
			continue
		}
		key := looks(p)
		g, ok := at[key]
		if !ok {
			g = len(groups)
			at[key], groups = g, append(groups, nil)
		}
		groups[g] = append(groups[g], i)
	}
	slices.SortStableFunc(groups, func(x, y []int) int {
		return rank(parts[x[0]].Number) - rank(parts[y[0]].Number)
	})
	return groups
}

// rank puts parts without a number last.
func rank(number int) int {
	if number == 0 {
		return math.MaxInt32
	}
	return number
}

// looks tells parts apart: by number where they have one, else by what a shop would see.
func looks(p assembly.Part) string {
	if p.Number != 0 {
		return strconv.Itoa(p.Number)
	}
	return fmt.Sprintf("%s|%v|%.3f|%s|%s|%s|%s|%v", p.Kind, p.Size, p.LengthMM, p.LeftEnd, p.Running, p.Finish, p.Family, p.Boxes)
}

// label names the pipes of a group for the tape that is stuck on them.
func label(parts []assembly.Part, group []int) string {
	names := make([]string, len(group))
	for n, i := range group {
		names[n] = parts[i].ID
	}
	return strings.Join(names, ", ")
}

// mergeStock adds the shifts of t to those of s.
func mergeStock(s, t *assembly.Stock) *assembly.Stock {
	if t == nil {
		return s
	}
	if s == nil {
		s = &assembly.Stock{LengthMM: t.LengthMM}
	}
	for _, m := range t.Moves {
		i := slices.IndexFunc(s.Moves, func(o assembly.PointShift) bool { return o.Point == m.Point })
		switch {
		case i < 0:
			s.Moves = append(s.Moves, m)
		case m.By.Len() > s.Moves[i].By.Len():
			s.Moves[i] = m
		}
	}
	return s
}

// Shopping lists all there is to buy, in the order of the groups.
func Shopping(a *assembly.Assembly) []assembly.Item {
	s := &shopper{a: a, units: units.System(a.Header.Units)}
	s.pipes(piecesInHand(a))
	s.fittings()
	s.fixings()
	s.boards()
	s.finish()
	s.safety()
	return s.items
}

// The groups of the shopping list.
const (
	groupPipe     = "pipe"
	groupFittings = "fittings"
	groupFixings  = "fixings"
	groupBoards   = "boards"
	groupFinish   = "finish"
	groupSafety   = "safety"
)

// shopper gathers the items.
type shopper struct {
	a     *assembly.Assembly
	units units.System
	items []assembly.Item
}

func (s *shopper) add(it assembly.Item) { s.items = append(s.items, it) }

// length is a length in the units of the design.
func (s *shopper) length(mm float64) string { return s.units.Format(units.Length(mm)) }

// pipes makes one item per number.
func (s *shopper) pipes(pieces map[string]pieces) {
	for _, group := range distinct(s.a.Parts, isPipe) {
		p := s.a.Parts[group[0]]
		text := p.Size.Words() + " " + metal(p) + " pipe, " + s.units.Cut(units.Length(p.LengthMM), units.Length(s.a.ToleranceMM)) + " long, " + ends(p)
		if p.Stock {
			text += ", a stock length"
		}
		it := assembly.Item{
			Group: groupPipe, Kind: p.Kind, Text: text, Size: p.Size, Number: p.Number, LengthMM: p.LengthMM, Count: len(group),
		}
		s.price(&it, p)
		it.Text += pieces[looks(p)].text()
		s.add(it)
	}
}

// ends says how a pipe is threaded.
func ends(p assembly.Part) string {
	switch {
	case p.LeftEnd != "":
		return "one end threaded right-hand, one left-hand"
	case p.Running != "":
		return "one end with a long running thread for coupling and back nut"
	}
	return "threaded at both ends"
}

// metal is the finish and the metal: "black steel", "galvanised malleable iron".
func metal(p assembly.Part) string {
	m := p.Material
	if m == "iron" {
		m = "malleable iron"
	}
	base, _, _ := strings.Cut(p.Finish, " ")
	return strings.TrimSpace(strings.Trim(base, ",") + " " + m)
}

// isFitting tells which parts are listed under fittings. A union counts once, by its half a.
func isFitting(p assembly.Part) bool {
	switch p.Kind {
	case standard.Pipe, standard.Board, standard.Cleat, standard.Strap, standard.Room:
		return false
	}
	return p.Half != "b"
}

// fittings makes one item per kind, size and finish, in the order of first number.
func (s *shopper) fittings() {
	at := map[string]int{}
	first := len(s.items)
	for _, group := range distinct(s.a.Parts, isFitting) {
		p := s.a.Parts[group[0]]
		key := fmt.Sprintf("%s|%v|%s|%s|%s", p.Kind, p.Size, p.Finish, p.Family, measureYours(s, p))
		if i, ok := at[key]; ok {
			s.items[i].Count += len(group)
			continue
		}
		at[key] = len(s.items)
		it := assembly.Item{Group: groupFittings, Kind: p.Kind, Text: fittingText(s, p), Size: p.Size, Count: len(group)}
		s.price(&it, p)
		s.add(it)
	}
	for i := first; i < len(s.items); i++ {
		s.items[i].Spare = spares(s.items[i].Kind, s.items[i].Count)
	}
}

// fittingText is what to say at the counter.
func fittingText(s *shopper, p assembly.Part) string {
	text := strings.TrimSpace(p.Size.Words()+" "+p.Kind.Words()) + ", " + metal(p)
	if p.Family != "" {
		text += ", " + strings.ToUpper(string(p.Family)) + " thread"
	}
	if standard.IsSpecialOrder(p.Kind) {
		text += ", special order"
	}
	return strings.TrimSuffix(text, ", ") + measureYours(s, p)
}

// lengthDims are the dimensions on which cut lengths hang.
var lengthDims = []string{standard.DimReach, standard.DimLength, standard.DimHeight}

// measureYours asks to measure a part whose lengths are not from a table that can be relied on: "; measure yours (height
// taken as 3/4 in + 0.025)".
func measureYours(s *shopper, p assembly.Part) string {
	said := guesses(s.units, p)
	if len(said) == 0 {
		return ""
	}
	return "; measure yours (" + strings.Join(said, ", ") + ")"
}

// guesses names the lengths of a part that no table vouches for: "height taken as 3/4 in + 0.025". A length or height
// tells all there is to measure: reaches follow from it.
func guesses(u units.System, p assembly.Part) []string {
	_, isTold := p.Dims[standard.DimHeight]
	if !isTold {
		_, isTold = p.Dims[standard.DimLength]
	}
	words := map[string]string{standard.DimReach: "centre to end", standard.DimLength: "length", standard.DimHeight: "height"}
	var said []string
	for _, name := range sortedDims(p.Dims) {
		f := p.Dims[name]
		base, _, _ := strings.Cut(name, ".")
		isGuess := f.Grade == standard.MemoryLow || f.Grade == standard.CommonPractice
		if !slices.Contains(lengthDims, base) || !isGuess || isTold && base == standard.DimReach {
			continue
		}
		said = append(said, words[base]+" taken as "+u.Format(units.Length(f.MM)))
	}
	return slices.Compact(said)
}

// guessed are the parts with lengths that no table vouches for, by the name that sums give them, with what is guessed.
type guessed struct {
	names []string
	said  map[string]string
}

func guessesOf(a *assembly.Assembly) guessed {
	g := guessed{said: map[string]string{}}
	for _, p := range a.Parts {
		said := guesses(units.System(a.Header.Units), p)
		if len(said) == 0 || p.Half == "b" {
			continue
		}
		name := p.ID
		if p.Half != "" {
			name = strings.TrimSuffix(name, "."+p.Half)
		}
		g.names = append(g.names, name)
		g.said[name] = strings.TrimSpace(p.Size.Words()+" "+p.Kind.Words()) + " " + strings.Join(said, ", ")
	}
	return g
}

// gather adds to a list what is guessed in a sum. Sums name each part they take from as "(flange foot-left)".
func (g guessed) gather(list []string, sum string) []string {
	for _, name := range g.names {
		if strings.Contains(sum, " "+name+")") && !slices.Contains(list, g.said[name]) {
			list = append(list, g.said[name])
		}
	}
	return list
}

func sortedDims(d standard.Dims) []string {
	names := make([]string, 0, len(d))
	for name := range d {
		names = append(names, name)
	}
	slices.Sort(names)
	return names
}

// Spare parts: none of what is not screwed up hard, one of each dear kind, a tenth of the cheap ones. Common practice among builders, no source.
const cheapSpareShare = 0.1

// isDear tells kinds that cost several times an elbow. Relative prices: common practice, no source.
func isDear(k standard.Kind) bool {
	switch k {
	case standard.Flange, standard.Union, standard.Cross, standard.SideElbow, standard.SideTee,
		standard.RightLeft, standard.LongScrew:
		return true
	}
	return false
}

// spares is how many to buy on top of n.
func spares(k standard.Kind, n int) int {
	switch {
	case k == standard.Caster || k == standard.Glide || k == standard.Pad:
		return 0
	case isDear(k):
		return 1
	}
	return tenth(n)
}

// tenth is a tenth of n, rounded up.
func tenth(n int) int { return int(math.Ceil(float64(n)*cheapSpareShare - 1e-9)) }
