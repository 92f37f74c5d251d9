package bom

import (
	"cmp"
	"slices"

	"turnwise/assembly"
)

// KerfMM is what one cut takes off a stick besides the piece itself: the width of a saw cut and the facing of the end
// before the thread is cut. Common practice, no source; a wheel cutter takes less.
const KerfMM = 3.0

// Shortest piece, in mm, that a shop's threading machine can grip for both of its ends: 8 in. Common practice, no source.
const gripMM = 8 * 25.4

// stickSearch bounds the search for a plan with fewer sticks than the first one found, in pieces tried. It is exhausted
// only by lists that nobody cuts by hand; the plan found first is kept then.
const stickSearch = 200_000

// Sticks plans how all pipes that are not bought at their length are cut from sticks of stock length: sizes in the order
// of their first pipe, in each as few sticks as were found (a first fit of the longest first, then a search that is
// exact unless it runs out). Each piece takes its length and a kerf; the last of a stick needs none. The same parts
// always give the same plan. Pipes longer than the stick are left out: a finding tells of them.
func Sticks(a *assembly.Assembly) []assembly.Stick {
	var out []assembly.Stick
	for _, s := range a.Sticks {
		pieces := stickPieces(a.Parts, s)
		for _, group := range fewestSticks(pieces, s.LengthMM) {
			stick := assembly.Stick{StockStick: s, LeftMM: s.LengthMM}
			for _, p := range group {
				stick.Pieces = append(stick.Pieces, p)
				stick.LeftMM -= p.LengthMM + KerfMM
			}
			stick.LeftMM = max(0, stick.LeftMM)
			out = append(out, stick)
		}
	}
	return out
}

// stickPieces are the pipes of a size to be cut, the longest first, equal ones by number.
func stickPieces(parts []assembly.Part, s assembly.StockStick) []assembly.StickPiece {
	var out []assembly.StickPiece
	for _, p := range parts {
		if !isPipe(p) || p.Stock || len(p.Size) == 0 || p.Size[0] != s.Size || p.LengthMM > s.LengthMM {
			continue
		}
		out = append(out, assembly.StickPiece{Number: p.Number, LengthMM: p.LengthMM, Short: p.LengthMM < gripMM})
	}
	slices.SortStableFunc(out, func(x, y assembly.StickPiece) int {
		return cmp.Or(cmp.Compare(y.LengthMM, x.LengthMM), x.Number-y.Number)
	})
	return out
}

// fewestSticks shares pieces, longest first, out among sticks of one length.
func fewestSticks(pieces []assembly.StickPiece, lengthMM float64) [][]assembly.StickPiece {
	room := lengthMM + KerfMM // the last piece of a stick needs no kerf
	best := firstFit(pieces, room)
	s := &stickSearcher{pieces: pieces, room: room, left: stickSearch}
	for len(best) > leastSticks(pieces, room) {
		fewer := s.within(len(best) - 1)
		if fewer == nil {
			break
		}
		best = fewer
	}
	return best
}

// leastSticks is a lower bound: all that is needed end to end.
func leastSticks(pieces []assembly.StickPiece, room float64) int {
	sum := 0.0
	for _, p := range pieces {
		sum += p.LengthMM + KerfMM
	}
	n := int(sum / room)
	if sum > float64(n)*room+stickSlack {
		n++
	}
	return n
}

// stickSlack keeps sums of lengths from failing by rounding, in mm: far below what any saw holds.
const stickSlack = 1e-6

// firstFit puts each piece on the first stick that has room for it.
func firstFit(pieces []assembly.StickPiece, room float64) [][]assembly.StickPiece {
	var out [][]assembly.StickPiece
	var left []float64
	for _, p := range pieces {
		need := p.LengthMM + KerfMM
		i := slices.IndexFunc(left, func(l float64) bool { return l >= need-stickSlack })
		if i < 0 {
			i = len(out)
			out, left = append(out, nil), append(left, room)
		}
		out[i] = append(out[i], p)
		left[i] -= need
	}
	return out
}

// stickSearcher looks for a plan with a given number of sticks, piece by piece.
type stickSearcher struct {
	pieces []assembly.StickPiece
	room   float64
	left   int // pieces that may still be tried
	at     []int
	free   []float64
}

// within returns a plan with at most n sticks, or nil when there is none or the search ran out.
func (s *stickSearcher) within(n int) [][]assembly.StickPiece {
	s.at, s.free = make([]int, len(s.pieces)), make([]float64, n)
	for i := range s.free {
		s.free[i] = s.room
	}
	if !s.place(0) {
		return nil
	}
	out := make([][]assembly.StickPiece, n)
	for i, stick := range s.at {
		out[stick] = append(out[stick], s.pieces[i])
	}
	return slices.DeleteFunc(out, func(g []assembly.StickPiece) bool { return len(g) == 0 })
}

// place tries piece i on every stick that has room, of sticks with equal room only the first; equal pieces go on sticks
// in rising order, since any other order is the same plan.
func (s *stickSearcher) place(i int) bool {
	if i == len(s.pieces) {
		return true
	}
	if s.left--; s.left < 0 {
		return false
	}
	need, first := s.pieces[i].LengthMM+KerfMM, 0
	if i > 0 && s.pieces[i].LengthMM == s.pieces[i-1].LengthMM {
		first = s.at[i-1]
	}
	for k := first; k < len(s.free); k++ {
		if s.free[k] < need-stickSlack || slices.Contains(s.free[first:k], s.free[k]) {
			continue
		}
		s.at[i] = k
		s.free[k] -= need
		if s.place(i + 1) {
			return true
		}
		s.free[k] += need
		if s.left < 0 {
			return false
		}
	}
	return false
}
