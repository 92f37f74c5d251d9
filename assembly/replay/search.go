package replay

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/sdf"
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
	flushPoints = 16
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
	// maxSamples bounds one pair's search. The hardest pair of a real frame takes some ten thousand.
	maxSamples = 20_000_000
)

// path is the motion of a body A seen from a body B: a turn about an axis with an advance along it, and a straight shift
// besides, all even in time from 0 to 1. Everything is in B's part frame.
type path struct {
	start   geom.Pose
	at, dir geom.Vec
	angle   float64 // radians
	shift   geom.Vec
}

// pose is A's pose at time s.
func (m path) pose(s float64) geom.Pose {
	if m.angle == 0 {
		return m.start.Moved(m.shift.Mul(s))
	}
	return m.start.Turned(m.at, m.dir, m.angle*s, 0).Moved(m.shift.Mul(s))
}

// radius is the distance of p from the axis at time s.
func (m path) radius(p geom.Vec, s float64) float64 {
	return p.Sub(m.shift.Mul(s)).Sub(m.at).Cross(m.dir).Len()
}

// speed bounds how fast A's material moves, in mm per unit of time, within h of p over a time d about s.
func (m path) speed(p geom.Vec, h, s, d float64) float64 {
	if m.angle == 0 {
		return m.shift.Len()
	}
	return math.Abs(m.angle)*(m.radius(p, s)+h+m.shift.Len()*d/2) + m.shift.Len()
}

// zone is where mating threads may overlap: between two planes across an axis, in B's frame. The allowance on the radius
// grows evenly with time.
type zone struct {
	at, dir geom.Vec
	lo, hi  float64 // along dir from at
	from    float64 // allowance at time 0, may be negative
	to      float64 // at time 1
}

// allowance is how deep bodies may overlap at p and time s because of the zone.
func (z zone) allowance(p geom.Vec, s float64) float64 {
	if t := p.Sub(z.at).Dot(z.dir); t < z.lo || t > z.hi {
		return 0
	}
	return max(0, z.from+(z.to-z.from)*s)
}

// holds tells whether a box lies between the planes.
func (z zone) holds(b geom.Box) bool {
	for _, c := range b.Corners() {
		if t := c.Sub(z.at).Dot(z.dir); t < z.lo || t > z.hi {
			return false
		}
	}
	return true
}

// query is the search for common material of two solids along a path.
type query struct {
	a, b       sdf.Solid
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

// flush tells whether the surfaces in a cell at most touch. Half the sum of both distances is a lower bound of g, and
// where faces overlap it is below zero not only between them but as far around as they reach: along the line across two
// faces, what one distance gains the other loses. So the search goes down to where the bodies come nearest in the cell,
// and looks at that sum round about it, in the plane of B's face, as far as the cell reaches. When it is nowhere below
// what contact allows, or what was met before, and does not vary by more than that where the faces are near, the cell is done.
func (q *query) flush(c cell, p geom.Vec, h, s float64) bool {
	near, n, ok := q.nearest(p, h, s, c.pose)
	if !ok {
		return false
	}
	u := n.Across()
	v := n.Cross(u)
	reach := 0.0
	for _, corner := range c.box.Corners() {
		d := corner.Sub(near)
		reach = max(reach, d.Sub(n.Mul(d.Dot(n))).Len())
	}
	least, most, floor := math.Inf(1), math.Inf(-1), max(q.floor(near, s), q.wanted())
	for i := range flushPoints {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / flushPoints)
		r := reach
		if i%2 == 1 {
			r = reach / 2
		}
		at := near.Add(u.Mul(r * cos)).Add(v.Mul(r * sin))
		q.samples += 2
		ga, gb := q.a.Distance(c.pose.Local(at)), q.b.Distance(at)
		q.note(at, s, max(ga, gb))
		half := (ga + gb) / 2
		least, floor = min(least, half), max(floor, q.floor(at, s))
		if half < floor+flushGapMM {
			most = max(most, half)
		}
		if q.hit || least < floor || most > least && least-(most-least) < floor {
			return false
		}
	}
	return true
}

// wanted is the value of g below which a better one would count as a smaller clearance.
func (q *query) wanted() float64 {
	if q.cap == 0 {
		return math.Inf(-1)
	}
	return q.limit() - flushGapMM/2
}

// nearest goes down the slope of g from p, no further than h, and returns where it comes to and the direction in which B's
// distance grows there.
func (q *query) nearest(p geom.Vec, h, s float64, pose geom.Pose) (geom.Vec, geom.Vec, bool) {
	from := p
	for range flushSteps {
		fa, fb := q.a.Distance(pose.Local(p)), q.b.Distance(p)
		q.samples += 2
		q.note(p, s, max(fa, fb))
		n := q.slopeB(p, fb)
		if q.hit {
			return p, n, false
		}
		way, ok := downhill(fa, fb, q.slopeA(p, fa, pose), n, max(fa, fb)-q.floor(p, s), h)
		if !ok || way.Len() < evenMM {
			return p, n, true
		}
		p = p.Sub(way)
		if !p.Near(from, h) {
			return p, n, false
		}
	}
	return p, q.slopeB(p, q.b.Distance(p)), true
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

// dive goes down the slope of g from p, at a standing time, no further than twice h. Where one distance is the greater
// it goes against that one's slope until both are alike, there along both; where the slopes oppose one another the
// deepest point is reached.
func (q *query) dive(p geom.Vec, h, s float64, pose geom.Pose) {
	from := p
	for range diveSteps {
		fa, fb := q.a.Distance(pose.Local(p)), q.b.Distance(p)
		q.samples += 2
		g := max(fa, fb)
		q.note(p, s, g)
		if q.hit {
			return
		}
		way, ok := downhill(fa, fb, q.slopeA(p, fa, pose), q.slopeB(p, fb), g-q.floor(p, s), h)
		p = p.Sub(way)
		if !ok || !p.Near(from, 2*h) {
			return
		}
	}
}

const (
	// evenMM is the difference of two distances below which they count as alike.
	evenMM = 1e-3
	// opposed is the length of the sum of two unit slopes below which no way leads down.
	opposed = 0.02
)

// downhill is the step back from where max(fa, fb) grows, at most h long; wanted is how far down g should come. The second
// result is false where no step helps.
func downhill(fa, fb float64, na, nb geom.Vec, wanted, h float64) (geom.Vec, bool) {
	if fa < fb {
		fa, fb, na, nb = fb, fa, nb, na
	}
	if gap := fa - fb; gap > evenMM {
		rate := max(1-na.Dot(nb), opposed)
		return na.Mul(min(gap/rate, wanted+gap, h)), true
	}
	d := na.Add(nb)
	l := d.Len()
	if l < opposed {
		return geom.Vec{}, false
	}
	return d.Mul(min(2*wanted/l, h) / l), true
}

// slopeA is the direction in which A's distance grows.
func (q *query) slopeA(p geom.Vec, f float64, pose geom.Pose) geom.Vec {
	return pose.Rotate(slope(q.a, pose.Local(p), f, &q.samples))
}

func (q *query) slopeB(p geom.Vec, f float64) geom.Vec { return slope(q.b, p, f, &q.samples) }

// slope is the direction in which the distance of s grows at p, where it is f: that of the deciding surface when that is
// as far away, else, near edges and corners, a quotient of differences.
func slope(s sdf.Solid, p geom.Vec, f float64, samples *int) geom.Vec {
	if l, ok := s.(sdf.Leafed); ok {
		*samples++
		leaves := l.Leaves()
		if k := l.ActiveLeaf(p); k >= 0 && k < len(leaves) && math.Abs(leaves[k].Distance(p)-f) < sameSurfaceMM {
			return leaves[k].Gradient(p)
		}
	}
	*samples += 3
	return geom.V(
		s.Distance(geom.V(p.X+gradientMM, p.Y, p.Z))-f,
		s.Distance(geom.V(p.X, p.Y+gradientMM, p.Z))-f,
		s.Distance(geom.V(p.X, p.Y, p.Z+gradientMM))-f,
	).Unit()
}

// ring is the solid of revolution that a turning box sweeps: all within some radius and between two planes. It is for
// paths that shift along their axis only.
type ring struct {
	at, dir geom.Vec
	radius  float64
	lo, hi  float64
	known   bool
}

// ringOf is the ring of A's box on its path.
func ringOf(box geom.Box, m path) ring {
	r := ring{at: m.at, dir: m.dir, lo: math.Inf(1), hi: math.Inf(-1)}
	if m.angle == 0 || m.shift.Cross(m.dir).Len() > gradientMM {
		return r
	}
	r.known = true
	advance := m.shift.Dot(m.dir)
	for _, c := range box.Corners() {
		p := m.start.Apply(c).Sub(m.at)
		r.radius = max(r.radius, p.Cross(m.dir).Len())
		t := p.Dot(m.dir)
		r.lo, r.hi = min(r.lo, t, t+advance), max(r.hi, t, t+advance)
	}
	return r
}

// clear tells whether everything within h of p stays more than gap outside the ring.
func (r ring) clear(p geom.Vec, h, gap float64) bool {
	if !r.known {
		return false
	}
	d := p.Sub(r.at)
	t := d.Dot(r.dir)
	reach := h + gap
	return d.Cross(r.dir).Len()-reach > r.radius || t+reach < r.lo || t-reach > r.hi
}

// deepest goes on down the slope from a hit, at its time, and returns how deep the bodies overlap there at least, in mm.
func (q *query) deepest() float64 {
	const rounds = 40
	pose := q.path.pose(q.when)
	p, step := q.at, 1.0
	value := func(p geom.Vec) (float64, float64) { return q.a.Distance(pose.Local(p)), q.b.Distance(p) }
	fa, fb := value(p)
	for range rounds {
		n := q.slopeB(p, fb)
		if fa > fb {
			n = q.slopeA(p, fa, pose)
		}
		next := p.Sub(n.Mul(step))
		ga, gb := value(next)
		if max(ga, gb) < max(fa, fb) {
			p, fa, fb = next, ga, gb
			continue
		}
		step /= 2
	}
	q.at = p
	return -2 * max(fa, fb)
}
