package callout

import (
	"math"
	"sort"
)

const (
	// orderedEnough is the share of pairs of balloons that may be out of order round the drawing: our own choice.
	orderedEnough = 0.2
	// orderCost is how many millimetres of leader a pair that is put in order may cost.
	orderCost = 8
	// orderReach is how many pairs one change is thought to put in order at most.
	orderReach = 12
	// orderRounds is how many balloons are moved for it at most.
	orderRounds = 20
	// orderMost is the number of balloons up to which they are put in order. More stand so close that nearly every
	// change brings a crossing.
	orderMost = 32
)

// Disorder goes round the drawing from the best place in the better direction and returns the share of pairs of
// balloons whose marks fall. Marks are taken to rise with their index.
func Disorder(bs []Balloon) float64 {
	at := make([]Point, len(bs))
	mark := make([]int, len(bs))
	for i, b := range bs {
		at[i], mark[i] = b.Centre, b.Mark
	}
	falls, pairs := falls(at, mark)
	return float64(falls) / float64(max(1, pairs))
}

// falls counts the pairs out of order, and all pairs. When the first of a round is put last, each smaller one after it
// becomes one before it, and each greater one the other way, so one count gives those of all starts.
func falls(at []Point, mark []int) (least, pairs int) {
	n := len(at)
	if n < 3 {
		return 0, n * (n - 1) / 2
	}
	var mid Point
	for _, p := range at {
		mid.X, mid.Y = mid.X+p.X/float64(n), mid.Y+p.Y/float64(n)
	}
	angle, order := make([]float64, n), make([]int, n)
	for i, p := range at {
		angle[i], order[i] = math.Atan2(p.Y-mid.Y, p.X-mid.X), i
	}
	sort.SliceStable(order, func(i, k int) bool { return angle[order[i]] < angle[order[k]] })
	now := 0
	smaller := make([]int, n) // by place in the round
	for i := range order {
		for k := range order {
			if mark[order[k]] < mark[order[i]] {
				smaller[i]++
				if k > i {
					now++
				}
			}
		}
	}
	pairs = n * (n - 1) / 2
	least = min(now, pairs-now)
	for i := range n {
		now += n - 1 - 2*smaller[i]
		least = min(least, now, pairs-now)
	}
	return least, pairs
}

// order moves and exchanges balloons until their marks rise round the drawing nearly enough, where no leader comes to
// cross another and none gets much longer for it.
func (p *placer) order() {
	if len(p.which) > orderMost {
		return
	}
	at, mark := make([]Point, len(p.which)), make([]int, len(p.which))
	count := func() int {
		for i, m := range p.which {
			at[i], mark[i] = p.slots[p.slotOf[i]].at, m
		}
		n, _ := falls(at, mark)
		return n
	}
	_, pairs := falls(make([]Point, len(p.which)), make([]int, len(p.which)))
	now := count()
	for range orderRounds {
		if float64(now) <= orderedEnough*float64(pairs) || !p.orderOnce(&now, count) {
			return
		}
	}
}

// orderOnce makes the one change that puts most pairs in order for its cost.
func (p *placer) orderOnce(now *int, count func() int) bool {
	taken := make([]int, len(p.slots)) // by slot, one more than who stands there
	for i, s := range p.slotOf {
		taken[s] = i + 1
	}
	bestI, bestS, best := -1, -1, 0.0
	for i := range p.which {
		for s := range p.slots {
			extra, ok := p.extra(i, s, taken)
			if !ok || extra > orderCost*orderReach {
				continue
			}
			was := p.put(i, s, taken)
			won := float64(*now-count())*orderCost - extra
			if won > best && p.isClear(i, taken[s]-1) {
				bestI, bestS, best = i, s, won
			}
			p.undo(i, s, was, taken)
		}
	}
	if bestI < 0 {
		return false
	}
	p.put(bestI, bestS, taken)
	*now = count()
	return true
}

// extra is what it costs to put balloon i at slot s, its place going to the one that stands there; false where that
// cannot be.
func (p *placer) extra(i, s int, taken []int) (mm float64, ok bool) {
	from := p.slotOf[i]
	k := taken[s] - 1
	if from == s || k >= 0 && k < i {
		return 0, false // each exchange is looked at once
	}
	mm = p.cost[i][s] - p.cost[i][from]
	if p.length[i][s] >= blocked {
		return 0, false
	}
	if k >= 0 {
		if p.length[k][from] >= blocked {
			return 0, false
		}
		mm += p.cost[k][from] - p.cost[k][s]
	}
	return mm, true
}

// put does it and returns where i was. Taken stays as it is.
func (p *placer) put(i, s int, taken []int) (was int) {
	was = p.slotOf[i]
	p.slotOf[i] = s
	if k := taken[s] - 1; k >= 0 {
		p.slotOf[k] = was
	}
	return was
}

func (p *placer) undo(i, s, was int, taken []int) {
	p.slotOf[i] = was
	if k := taken[s] - 1; k >= 0 {
		p.slotOf[k] = s
	}
}

// isClear tells whether the leaders of i and k, -1 for none, cross no other.
func (p *placer) isClear(i, k int) bool {
	for j := range p.which {
		if j != i && p.cross(i, j) || k >= 0 && j != k && p.cross(k, j) {
			return false
		}
	}
	return true
}
