package replay

import (
	"math"

	"turnwise/geom"
)

const (
	// leafHalfMM is the half diagonal of the boxes in which nearly touching bodies are searched by going down the slope.
	leafHalfMM = 2
	// threadHalfMM is the same between mating threads: two cones that lie in one another have no small features there.
	threadHalfMM = 4
	// flushHalfMM is the half diagonal of boxes in which faces may be found to lie along one another, touching at most.
	// flushPoints is how many points are looked at there on two rings, flushSteps how often the slope is followed before,
	// and flushGapMM the half gap below which faces count as near.
	flushHalfMM = 10
	flushPoints = 12
	flushSteps  = 4
	flushGapMM  = 0.1
	// spanSlack keeps a moment's way below SampleTravelMM in spite of rounding.
	spanSlack = 1e-9
	// wideCellMM is the edge down to which space is halved before time while a body turns through more than quarterTurn:
	// a box away from the ring that the body sweeps is then dropped without looking at single moments.
	wideCellMM  = 60
	quarterTurn = math.Pi / 2
	// diveSteps is how often a search goes down the slope. On flat and cylindrical faces two steps reach the bottom; the
	// rest is for corners.
	diveSteps = 6
	// gradientMM is the step of the difference quotient that gives the slope.
	gradientMM = 1e-4
	// sameSurfaceMM is how near the distance of a surface must be to that of the solid to be the one that decides it.
	sameSurfaceMM = 1e-9
	// maxSamples bounds one pair's search. A board that slides 1.5 m along a rail takes 4 million.
	maxSamples = 20_000_000
)

// query is the search for common material of two solids along a path.
type query struct {
	a, b       surface
	boxA, boxB geom.Box // in their own frames
	path       path
	zones      []zone
	cap        float64 // clearance up to which the least distance is wanted; 0 for none

	samples int
	least   float64  // least g met
	hit     bool     // common material deeper than allowed
	at      geom.Vec // where, in B's frame
	when    float64
	gaveUp  bool
	ring    ring
}

// cell is a box of space and time. Times beyond 1 do not count.
type cell struct {
	box    geom.Box
	s0, s1 float64
	pose   geom.Pose // of A in the middle of the time that counts
}

// middle is the middle and the length of the cell's time.
func (c cell) middle() (mid, length float64) {
	end := min(c.s1, 1)
	return (c.s0 + end) / 2, end - c.s0
}

// span is a time of at least 1 that halving brings to moments of just SampleTravelMM, so that none are shorter than they
// need be.
func (q *query) span() float64 {
	way := 0.0
	for _, p := range q.boxA.Corners() {
		way = max(way, q.path.speed(q.path.start.Apply(p), 0, 0, 0))
	}
	if way <= SampleTravelMM {
		return 1
	}
	halvings := math.Ceil(math.Log2(way / SampleTravelMM))
	return math.Exp2(halvings) * SampleTravelMM / way * (1 - spanSlack)
}

// run searches all of space and time. Afterwards hit, at, when and least tell the outcome.
func (q *query) run() {
	q.least = math.Inf(1)
	q.ring = ringOf(q.boxA, q.path)
	root := cell{box: q.boxB.Grow(q.cap / 2), s0: 0, s1: q.span()}
	stack := q.timed(nil, cell{box: root.box, s0: 1, s1: 1}) // the end itself is always a sample
	if q.path.angle != 0 || q.path.shift != (geom.Vec{}) {
		stack = q.timed(stack, root)
	}
	for len(stack) > 0 && !q.hit {
		if q.samples > maxSamples {
			q.gaveUp = true
			return
		}
		c := stack[len(stack)-1]
		stack = q.examine(stack[:len(stack)-1], c)
	}
}

// timed pushes c with the pose of its time, its box cut down to where A can be meanwhile.
func (q *query) timed(stack []cell, c cell) []cell {
	if c.s0 >= 1 && c.s1 > c.s0 {
		return stack
	}
	q.samples++
	mid, d := c.middle()
	c.pose = q.path.pose(mid)
	far := 0.0
	for _, p := range q.boxA.Corners() {
		far = max(far, q.path.speed(c.pose.Apply(p), 0, mid, d))
	}
	c.box = c.box.Intersect(c.pose.Box(q.boxA).Grow(far*d/2 + q.cap/2))
	if c.box.IsEmpty() {
		return stack
	}
	return append(stack, c)
}

// limit is the value of g above which nothing is of interest.
func (q *query) limit() float64 { return max(0, min(q.cap/2, q.least)) }

// examine decides a cell or halves it.

func (q *query) examine(stack []cell, c cell) []cell {
	mid, d := c.middle()
	p, h := c.box.Centre(), c.box.Diagonal()/2
	wide := math.Abs(q.path.angle)*d > quarterTurn
	if wide && q.ring.clear(p, h, q.cap) {
		return stack
	}
	q.samples++
	fb := q.b.Distance(p)
	if fb-h > q.limit() {
		return stack
	}
	travel := q.path.speed(p, h, mid, d) * d
	q.samples++
	fa := q.a.Distance(c.pose.Local(p))
	if fa-h-travel/2 > q.limit() {
		return stack
	}
	q.note(p, mid, max(fa, fb))
	if q.hit {
		return stack
	}
	leaf := q.leafHalf(c.box)
	if h <= flushHalfMM && travel <= SampleTravelMM {
		ok := q.flush(c, p, h, mid)

		if ok {
			return stack
		}
	} else {

	}
	if h <= leaf && travel <= SampleTravelMM {
		if q.cap > 0 || max(fa-travel/2, fb)-h < q.floor(p, mid) {
			q.dive(p, h, mid, c.pose)
		}
		return stack
	}
	early := h <= flushHalfMM && max(fa, fb) < h // contact: look at single moments first
	return q.halve(stack, c, travel, h > leaf && !early, wide)
}

// leafHalf is the half diagonal down to which a box is halved: larger where it lies between mating threads.
func (q *query) leafHalf(b geom.Box) float64 {
	for _, z := range q.zones {
		if z.holds(b) {
			return threadHalfMM
		}
	}
	return leafHalfMM
}

// halve cuts the cell across its longest extent: an edge, or the way of A in its time.
func (q *query) halve(stack []cell, c cell, travel float64, big, wide bool) []cell {
	size := c.box.Size()
	edge := max(size.X, size.Y, size.Z)
	bySpace := edge >= travel && big || travel <= SampleTravelMM // not big: single moments first
	if wide {
		bySpace = edge > wideCellMM
	}
	if !bySpace {
		mid := (c.s0 + c.s1) / 2
		late, early := c, c
		late.s0, early.s1 = mid, mid
		return q.timed(q.timed(stack, late), early)
	}
	lo, hi := c, c
	m := c.box.Centre()
	switch edge {
	case size.X:
		lo.box.Max.X, hi.box.Min.X = m.X, m.X
	case size.Y:
		lo.box.Max.Y, hi.box.Min.Y = m.Y, m.Y
	default:
		lo.box.Max.Z, hi.box.Min.Z = m.Z, m.Z
	}
	return append(stack, hi, lo)
}

// note records a value of g, and a hit when it is deeper than allowed there.
func (q *query) note(p geom.Vec, s, g float64) {
	q.least = min(q.least, g)
	if g < q.floor(p, s) {
		q.hit, q.at, q.when = true, p, s
	}
}

// floor is the least g that is still contact: bodies that overlap by some depth have their deepest common point half of
// it below both surfaces.
func (q *query) floor(p geom.Vec, s float64) float64 {
	allowed := 0.0
	for _, z := range q.zones {
		allowed = max(allowed, z.allowance(p, s))
	}
	return -(allowed + OverlapToleranceMM) / 2
}
