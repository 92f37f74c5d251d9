package bom

import (
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
		if r := particular(pr, p); r > rank || r == rank && r > 0 && better(s.a.Prices, i, best) {
			best, rank = i, r
		}
	}
	if best < 0 {
		return
	}
	pr := s.a.Prices[best]
	if pr.Amount > 0 {
		amount, source := pr.Amount, "the design"+lineOf(pr.At)
		if pr.Unit != "" {
			source += ", in " + pr.Unit
		}
		it.PriceEach, it.PriceSource = &amount, &source
	}
	if have := s.inHand(p, it); have > 0 {
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
	const lengthSlack = 0.4 // mm: agreement of lengths in a design, 1/64 in
	if p.Kind == standard.Pipe && pr.Amount > 0 && pr.Length+lengthSlack < p.LengthMM {
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
		if sizeText(pr.Size) != sizeText(p.Size) {
			return 0
		}
		rank += 2
	}
	return rank
}

// inHand is how many of a part are in hand: the greatest number that an entry for this kind gives.
func (s *shopper) inHand(p assembly.Part, it *assembly.Item) int {
	var have []int
	for _, pr := range s.a.Prices {
		if pr.Have > 0 && particular(pr, p) > 0 && (pr.Kind == p.Kind || pr.Kind == "" && p.Kind == standard.Pipe) {
			have = append(have, pr.Have)
		}
	}
	if len(have) == 0 {
		return 0
	}
	return slices.Max(have)
}

// lineOf is ", line 12" of FILE:LINE:COL.
func lineOf(at string) string {
	fields := strings.Split(at, ":")
	if len(fields) < 3 {
		return ""
	}
	return ", line " + fields[len(fields)-2]
}
