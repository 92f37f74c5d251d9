// Package callout places numbered balloons around a drawing, each with a straight leader that ends on the part it
// names.
//
// Balloons stand in rows and columns on a frame around all that is drawn, so none can lie on a part. Which balloon goes
// where is the assignment of least total cost, and the cost is the length of the leader: were two leaders to cross,
// exchanging their balloons would shorten both together (triangle inequality), so the least total has no crossing.
// Costs for passing over other parts or at a flat angle are added and may bring a crossing back; then balloons are
// exchanged, which ends because the total length falls each time. A leader that would run over the place of another
// balloon is never taken while there is any other. Last, balloons change places until their numbers rise round the
// drawing nearly enough, where that costs little and brings no crossing.
//
// Lengths are millimetres on the sheet, x to the right and y down. The same input gives the same result.
package callout

import (
	"math"

	"turnwise/render/lettering"
)

// Point is a place on the sheet.
type Point = lettering.Point

// Anchor is a place where a leader may end.
type Anchor struct {
	At     Point
	Inside float64 // distance to the edge of the region it lies in
	ID     int     // of the instance it lies on
	Extra  float64 // millimetres of leader that ending here costs
	Along  Point   // the direction of a long region, any length; zero for others
}

// Mark is what gets a balloon.
type Mark struct {
	Text    string   // in the balloon
	Note    string   // beside it, "" for none
	Anchors []Anchor // where its leader may end; it ends at one of them
	// Was is the side on which the balloon stood in the picture before, and Stood tells that it did.
	Was   Side
	Stood bool
}

// Side of the frame a balloon stands on.
type Side int

// The sides.
const (
	Left Side = iota
	Top
	Right
	Bottom
)

// Balloon is a placed mark.
type Balloon struct {
	Mark   int // index of its mark
	Centre Point
	Side   Side
	Start  Point // of the leader, on the balloon's edge
	End    Anchor
}

// Layout says how balloons stand.
type Layout struct {
	// Frame is the rectangle that balloon centres stand on; everything drawn must lie clear of it by a radius.
	MinX, MinY, MaxX, MaxY float64
	Radius                 float64 // of a balloon
	Pitch                  float64 // least distance of centres
	// Taken tells whether a balloon at a place would lie on something that is there already. It may be nil.
	Taken func(at Point) bool
	// Over returns how much of a straight line lies over things other than id, in mm. It may be nil.
	Over func(a, b Point, id int) float64
}

// The costs, in millimetres of leader they are worth; our own choice.
const (
	overCost     = 2  // per millimetre over other parts
	flatCost     = 5  // for a leader within flatDeg of its row or column
	flatDeg      = 15 // ISO 128-22 asks for leaders at an angle; the figure is common practice
	parallelCost = 12 // for a leader within parallelDeg of the length of the part it ends on
	parallelDeg  = 25 // ISO 128-22 asks for leaders that are not parallel to the lines they meet
	shallowCost  = 6  // for each millimetre that the anchor lies less than deepMM inside its region
	deepMM       = 1.2
	movedCost    = 5    // for a balloon on another side than in the picture before
	blocked      = 1e6  // over the place of another balloon
	betweenMM    = 0.6  // least distance of a leader from another balloon's edge
	touchMM      = 0.4  // leaders nearer than this to one another count as crossing
	improvements = 2000 // exchanges tried at most
)

// Place gives each mark that has an anchor a balloon. Marks without an anchor get none; when there are more marks
// than places, the places are set closer.
func Place(marks []Mark, l Layout) []Balloon {
	var which []int
	for i, m := range marks {
		if len(m.Anchors) > 0 {
			which = append(which, i)
		}
	}
	if len(which) == 0 {
		return nil
	}
	slots := l.slots(len(which))
	p := newPlacer(marks, which, slots, l)
	p.assign(p.cost)
	if !p.improve() {
		p.assign(p.length)
		p.improve()
	}
	p.order()
	return p.balloons()
}

// slot is a place for a balloon.
type slot struct {
	at   Point
	side Side
}

// slots returns at least n places on the frame, an even distance apart on each side, corners left free.
func (l Layout) slots(n int) []slot {
	pitch := l.Pitch
	for range 20 {
		if s := l.slotsAt(pitch); len(s) >= n {
			return s
		}
		pitch *= 0.9
	}
	l.Taken = nil // rather on something than nowhere
	return l.slotsAt(pitch)
}

func (l Layout) slotsAt(pitch float64) []slot {
	var out []slot
	put := func(at Point, side Side) {
		if l.Taken == nil || !l.Taken(at) {
			out = append(out, slot{at, side})
		}
	}
	w, h := l.MaxX-l.MinX, l.MaxY-l.MinY
	row := func(length float64, add func(t float64)) {
		k := int(length/pitch) - 1
		for i := range k {
			add(length/2 + (float64(i)-float64(k-1)/2)*length/float64(k+1))
		}
	}
	row(h, func(t float64) { put(Point{X: l.MinX, Y: l.MinY + t}, Left) })
	row(w, func(t float64) { put(Point{X: l.MinX + t, Y: l.MinY}, Top) })
	row(h, func(t float64) { put(Point{X: l.MaxX, Y: l.MinY + t}, Right) })
	row(w, func(t float64) { put(Point{X: l.MinX + t, Y: l.MaxY}, Bottom) })
	return out
}

// placer looks for the best places.
type placer struct {
	marks  []Mark
	which  []int
	slots  []slot
	layout Layout
	cost   [][]float64 // by place in which, and slot
	length [][]float64
	anchor [][]int // the anchor that cost is for
	slotOf []int
}

func newPlacer(marks []Mark, which []int, slots []slot, l Layout) *placer {
	p := &placer{marks: marks, which: which, slots: slots, layout: l, slotOf: make([]int, len(which))}
	for _, m := range which {
		cost, length, anchor := make([]float64, len(slots)), make([]float64, len(slots)), make([]int, len(slots))
		for s := range slots {
			cost[s], length[s] = math.Inf(1), math.Inf(1)
			for a, at := range marks[m].Anchors {
				c, d := p.leaderCost(s, at)
				if c < cost[s] {
					cost[s], length[s], anchor[s] = c, d, a
				}
			}
			if marks[m].Stood && slots[s].side != marks[m].Was {
				cost[s] += movedCost
			}
		}
		p.cost, p.length, p.anchor = append(p.cost, cost), append(p.length, length), append(p.anchor, anchor)
	}
	return p
}

// leaderCost returns what a leader from a slot to an anchor costs in all, and its length with what blocks it.
func (p *placer) leaderCost(s int, a Anchor) (cost, length float64) {
	from := p.slots[s]
	length = distance(from.at, a.At)
	if p.isBlocked(s, a.At) {
		length += blocked
	}
	cost = length + a.Extra + shallowCost*max(0, deepMM-a.Inside)
	across := math.Abs(a.At.X - from.at.X)
	if from.side == Top || from.side == Bottom {
		across = math.Abs(a.At.Y - from.at.Y)
	}
	if across < length*math.Sin(flatDeg*math.Pi/180) {
		cost += flatCost
	}
	if isParallel(from.at, a) {
		cost += parallelCost
	}
	if p.layout.Over != nil {
		cost += overCost * p.layout.Over(from.at, a.At, a.ID)
	}
	return cost, length
}

// isParallel tells whether a leader runs along the part it ends on rather than to it.
func isParallel(from Point, a Anchor) bool {
	dx, dy := a.At.X-from.X, a.At.Y-from.Y
	cross := math.Abs(dx*a.Along.Y - dy*a.Along.X)
	return cross < math.Hypot(dx, dy)*math.Hypot(a.Along.X, a.Along.Y)*math.Sin(parallelDeg*math.Pi/180)
}

func (p *placer) isBlocked(s int, to Point) bool {
	clear := p.layout.Radius + betweenMM
	for k := range p.slots {
		if k != s && fromSegment(p.slots[k].at, p.slots[s].at, to) < clear {
			return true
		}
	}
	return false
}

func (p *placer) assign(cost [][]float64) { p.slotOf = Assign(cost) }

// improve exchanges balloons, or moves one to a free place, until no leaders cross. It tells whether it got there.
func (p *placer) improve() bool {
	for range improvements {
		i, j, crossing := p.firstCrossing()
		if !crossing {
			return true
		}
		if !p.exchange(i, j) && !p.moveAway(i) && !p.moveAway(j) {
			return false
		}
	}
	return false
}

func (p *placer) firstCrossing() (i, j int, found bool) {
	for i := range p.which {
		for j := range i {
			if p.cross(i, j) {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

func (p *placer) cross(i, j int) bool {
	a, b := p.leader(i)
	c, d := p.leader(j)
	return segmentsWithin(a, b, c, d, touchMM)
}

func (p *placer) leader(i int) (from, to Point) {
	s := p.slotOf[i]
	return p.slots[s].at, p.marks[p.which[i]].Anchors[p.anchor[i][s]].At
}

// exchange swaps two balloons when that shortens their leaders together.
func (p *placer) exchange(i, j int) bool {
	a, b := p.slotOf[i], p.slotOf[j]
	if p.length[i][b]+p.length[j][a] >= p.length[i][a]+p.length[j][b] {
		return false
	}
	p.slotOf[i], p.slotOf[j] = b, a
	return true
}

// moveAway puts a balloon at the cheapest free place from which its leader crosses no other.
func (p *placer) moveAway(i int) bool {
	used := make([]bool, len(p.slots))
	for _, s := range p.slotOf {
		used[s] = true
	}
	was, best := p.slotOf[i], -1
	for s := range p.slots {
		if used[s] || p.cost[i][s] >= blocked || best >= 0 && p.cost[i][s] >= p.cost[i][best] {
			continue
		}
		p.slotOf[i] = s
		free := true
		for j := range p.which {
			free = free && (j == i || !p.cross(i, j))
		}
		if free {
			best = s
		}
	}
	p.slotOf[i] = was
	if best < 0 {
		return false
	}
	p.slotOf[i] = best
	return true
}

func (p *placer) balloons() []Balloon {
	out := make([]Balloon, len(p.which))
	for i, m := range p.which {
		s := p.slotOf[i]
		a := p.marks[m].Anchors[p.anchor[i][s]]
		at := p.slots[s].at
		d := distance(at, a.At)
		t := min(1, p.layout.Radius/max(d, p.layout.Radius))
		out[i] = Balloon{Mark: m, Centre: at, Side: p.slots[s].side, End: a,
			Start: Point{X: at.X + (a.At.X-at.X)*t, Y: at.Y + (a.At.Y-at.Y)*t}}
	}
	return out
}

// Crossings counts the pairs of leaders that cross or all but touch.
func Crossings(bs []Balloon) int {
	n := 0
	for i := range bs {
		for j := range i {
			if segmentsWithin(bs[i].Start, bs[i].End.At, bs[j].Start, bs[j].End.At, touchMM) {
				n++
			}
		}
	}
	return n
}

// Overlaps counts the pairs of balloons that overlap, and of balloons and leaders of others.
func Overlaps(bs []Balloon, radius float64) int {
	n := 0
	for i := range bs {
		for j := range bs {
			if j < i && distance(bs[i].Centre, bs[j].Centre) < 2*radius {
				n++
			}
			if j != i && fromSegment(bs[i].Centre, bs[j].Start, bs[j].End.At) < radius {
				n++
			}
		}
	}
	return n
}
