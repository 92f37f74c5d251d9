package bom

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
)

// price fills in what the design says a part costs and how many are in hand.
//
// Of the entries that hold for the part the most particular wins: size and kind, then size, then kind; of equals the
// last. A pipe takes the price of the shortest listed piece that is long enough; one longer than all has no price.
func (s *shopper) price(it *assembly.Item, p assembly.Part) {
	best, rank := -1, 0
	for i, pr := range s.a.Prices {
		if pr.Amount == 0 {
			continue
		}
		if r := particular(pr, p); r > rank || r == rank && r > 0 && better(s.a.Prices, i, best) {
			best, rank = i, r
		}
	}
	if best >= 0 {
		pr := s.a.Prices[best]
		amount, source := pr.Amount, "the design"+lineOf(pr.At)
		if pr.Unit != "" {
			source += ", in " + pr.Unit
		}
		it.PriceEach, it.PriceSource = &amount, &source
	}
	if have := s.inHand(p); have > 0 {
		it.Text += "; " + strconv.Itoa(have) + " in hand"
	}
}

// better chooses among entries of one rank: the shorter piece of pipe, else the later entry.
func better(prices []assembly.Price, i, best int) bool {
	if best < 0 {
		return true
	}
	if prices[i].Length > 0 && prices[best].Length > 0 {
		return prices[i].Length < prices[best].Length
	}
	return true
}

// particular ranks how well a price entry fits a part; 0 when it does not hold for it.
func particular(pr assembly.Price, p assembly.Part) int {
	if p.Kind == standard.Pipe && pr.Length+lengthSlack < p.LengthMM {
		return 0
	}
	if p.Kind != standard.Pipe && pr.Length > 0 {
		return 0
	}
	rank := 1
	if pr.Kind != "" {
		if pr.Kind != p.Kind {
			return 0
		}
		rank++
	}
	if len(pr.Size) > 0 {
		if pr.Size.Text() != p.Size.Text() {
			return 0
		}
		rank += 2
	}
	return rank
}

// inHand is how many of a part are in hand: the greatest number that an entry for this kind gives. Pipes are counted by
// the piece instead.
func (s *shopper) inHand(p assembly.Part) int {
	most := 0
	for _, pr := range s.a.Prices {
		if p.Kind != standard.Pipe && pr.Kind == p.Kind && particular(pr, p) > 0 {
			most = max(most, pr.Have)
		}
	}
	return most
}

// lengthSlack is how far lengths may lie apart that a design means to be equal, in mm: 1/64 in.
const lengthSlack = 0.4

// pieces are the pieces of pipe in hand that serve the pipes of one number: those of its length, and longer ones.
type pieces struct{ ready, longer int }

func (p pieces) text() string {
	text := ""
	if p.ready > 0 {
		text += "; " + strconv.Itoa(p.ready) + " in hand"
	}
	if p.longer > 0 {
		text += "; " + strconv.Itoa(p.longer) + " to cut from longer pieces in hand"
	}
	return text
}

// piecesInHand deals the pieces of pipe in hand out to the pipes, by looks: shortest piece first, each to the longest
// pipe of its size that it makes and that still wants one. So a piece goes to a pipe of its own length before all others.
func piecesInHand(a *assembly.Assembly) map[string]pieces {
	var have []assembly.Price
	for _, pr := range a.Prices {
		for range pr.Have {
			if pr.Kind == standard.Pipe && pr.Length > 0 {
				have = append(have, pr)
			}
		}
	}
	slices.SortStableFunc(have, func(x, y assembly.Price) int { return cmp.Compare(x.Length, y.Length) })
	groups := distinct(a.Parts, isPipe)
	slices.SortStableFunc(groups, func(x, y []int) int {
		return cmp.Compare(a.Parts[y[0]].LengthMM, a.Parts[x[0]].LengthMM)
	})
	out := map[string]pieces{}
	for _, pr := range have {
		for _, group := range groups {
			p := a.Parts[group[0]]
			got := out[looks(p)]
			if particular(pr, p) == 0 || got.ready+got.longer == len(group) {
				continue
			}
			if pr.Length-p.LengthMM <= lengthSlack {
				got.ready++
			} else {
				got.longer++
			}
			out[looks(p)] = got
			break
		}
	}
	return out
}

// lineOf is ", line 12" of FILE:LINE:COL.
func lineOf(at string) string {
	fields := strings.Split(at, ":")
	if len(fields) < 3 {
		return ""
	}
	return ", line " + fields[len(fields)-2]
}
