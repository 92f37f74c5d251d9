package sequence

import (
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// Prices of closing a ring at a pipe, in points: how much a builder would give not to have the piece there. Proposed,
// no source; only their order of size matters.
const (
	pricePiece      = 10 // any piece at all
	priceRightLeft  = 4  // on top: special order, one pipe end cut left-hand, both ends to be started together
	priceDrawn      = 12 // a right-and-left piece on a ring: its sides have to come apart by two engagements, which a rigid ring forbids
	priceLongScrew  = 5  // on top: special order, weak in bending, and a back nut that shows
	priceCarries    = 6  // it carries a board or a load: hangers catch on the nut, straps do not fit over it
	priceBends      = 8  // the load bends it beyond what a joint at mid-length should take
	priceStiff      = 4  // the frame cannot be sprung by the gap of a seat there: what clocking leaves stays as stress
	priceCramped    = 5  // two wrenches find no room to swing
	priceFront      = 2  // it is seen first
	priceNoParallel = 8  // no other pipe of a ring runs the same way, so the ring cannot be closed by turning one
	priceCut        = 7  // the length that the design gives for the pipe is given up
	priceUpright    = 1  // a post rather than a rung: all that hangs on it comes off with it
)

// Figures behind the prices.
const (
	seatGapMM = 3.8 // how far the halves of a union are sprung apart to pass each other: 0.15 in, common practice, no source

	// most that two hands spring a frame by: 50 lb. Proposed, no source.
	springNewtons = 222.0

	// steelMPa is Young's modulus of steel (handbook value).
	steelMPa = 200e3

	// yieldMPa is the yield point of the common grade of steel pipe (ASTM A53 grade B: 35 ksi, from memory); bendShare
	// of it is allowed, and threadShare of the pipe's section modulus is left at the mouth of a thread (worked out from
	// the thread's depth: 46 to 50 in the hundred). From jointShare of that on, a joint is kept away from mid-length.
	yieldMPa    = 241.0
	bendShare   = 0.6
	threadShare = 0.46
	jointShare  = 0.3

	// A wrench is a handle of wrenchMM length and wrenchThickMM thickness that swings by wrenchSwing steps of headingDeg:
	// 60 degrees, common practice, no source.
	wrenchMM      = 300.0
	wrenchThickMM = 25.0
	headings      = 24 // of 15 degrees
	wrenchSwing   = 4
	wrenchStepMM  = 25.0

	frontMM = 25.0 // depth within which parts of the frame count as its front
)

// closingPrice is what it costs to close a ring at one pipe by a piece of the given kind; +Inf when it cannot be.
func (f *frame) closingPrice(body int, c assembly.Closing, onRing func(int) bool) float64 {
	if c.MissingMM > 0 {
		return math.Inf(1)
	}
	p := &f.parts[body]
	dir := p.Pose.Z
	mid := p.Pose.Apply(geom.V(0, 0, p.LengthMM/2))
	price := float64(pricePiece)
	switch c.Kind {
	case standard.RightLeft:
		price += priceRightLeft
		if onRing(body) {
			price += priceDrawn
		}
	case standard.LongScrew:
		price += priceLongScrew
	}
	if c.LosesCut {
		price += priceCut
	}
	if f.carries(body) {
		price += priceCarries
	}
	if f.bendingShare(body) > jointShare {
		price += priceBends
	}
	if math.Abs(dir.Dot(geom.AxisZ)) > uprightCos {
		price += priceUpright
	}
	if f.isFront(mid) {
		price += priceFront
	}
	if !f.wrenchFits(body, mid, dir) {
		price += priceCramped
	}
	lever, ok := f.parallelPipe(body, onRing)
	switch {
	case c.Kind == standard.LongScrew: // no side moves
	case !ok:
		price += priceNoParallel
	case c.Kind == standard.Union && f.springForce(body, lever) > springNewtons:
		price += priceStiff
	}
	return price
}

// uprightCos is the cosine of 26 degrees: steeper than that is a post.
const uprightCos = 0.9

// carries tells whether a board or a load bears on a body.
func (f *frame) carries(body int) bool {
	for _, k := range f.at[body] {
		if kind := f.joints[k].Kind; kind == assembly.Rest || kind == assembly.StrapOn {
			return true
		}
	}
	for _, l := range f.a.Loads {
		if hasID(l.Parts, f.parts[body].ID) {
			return true
		}
	}
	return false
}

func hasID(list []string, id string) bool {
	for _, x := range list {
		if x == id {
			return true
		}
	}
	return false
}

// bendingShare is the bending moment at a pipe's middle, it being held at both ends only against falling, as a share of
// what a threaded joint may take: w l^2/8, W l/8 and P l/4 (beam formulas of any handbook).
func (f *frame) bendingShare(body int) float64 {
	od, bore, ok := f.pipeBores(body)
	if !ok {
		return 0
	}
	length := f.parts[body].LengthMM
	moment := 0.0 // N mm
	for _, l := range f.a.Loads {
		if hasID(l.Parts, f.parts[body].ID) {
			moment += f.loadMoment(l, body)
			continue
		}
		for _, k := range f.at[body] { // a board's load is shared by what it lies on
			j := &f.joints[k]
			if o := j.other(body); (j.Kind == assembly.Rest || j.Kind == assembly.StrapOn) && hasID(l.Parts, f.parts[o].ID) {
				moment += f.loadNewtons(l, o) / float64(f.rests(o)) * length / 8
			}
		}
	}
	section := math.Pi / 32 * (math.Pow(od, 4) - math.Pow(bore, 4)) / od
	return moment / (section * threadShare * yieldMPa * bendShare)
}

// loadMoment is the moment of a load that acts on the pipe itself.
func (f *frame) loadMoment(l assembly.Load, body int) float64 {
	length := f.parts[body].LengthMM
	if l.PerMetre != 0 {
		return l.PerMetre / 1000 * length * length / 8
	}
	if l.Anywhere {
		return l.Newtons * length / 4
	}
	all := 0.0
	for _, id := range l.Parts {
		if b, ok := f.index[id]; ok {
			all += f.parts[b].LengthMM
		}
	}
	if all <= 0 {
		return 0
	}
	return l.Newtons * length / all * length / 8
}

// loadNewtons is the whole of a load on a board.
func (f *frame) loadNewtons(l assembly.Load, board int) float64 {
	if l.PerMetre == 0 {
		return l.Newtons
	}
	longest := 0.0
	for _, b := range f.parts[board].Boxes {
		longest = math.Max(longest, math.Max(b.Size().X, b.Size().Y))
	}
	return l.PerMetre * longest / 1000
}

// rests counts what a board lies on.
func (f *frame) rests(board int) int {
	n := 0
	for _, k := range f.at[board] {
		if kind := f.joints[k].Kind; kind == assembly.Rest || kind == assembly.StrapOn {
			n++
		}
	}
	return max(n, 1)
}

// pipeBores are the outside and inside diameters of a pipe, from its outline.
func (f *frame) pipeBores(body int) (od, bore float64, ok bool) {
	for _, t := range f.forms[body].Tubes {
		if d := 2 * t.Radius; d > od {
			od, bore = d, 2*t.Bore
		}
	}
	return od, bore, od > 0
}

// springForce is the force, in N, that springs a side of the frame by the gap of a seat: 3 E I g / L^3, a post held at
// the next rung at distance lever.
func (f *frame) springForce(body int, lever float64) float64 {
	od, bore, ok := f.pipeBores(body)
	if !ok || lever <= 0 {
		return 0
	}
	inertia := math.Pi / 64 * (math.Pow(od, 4) - math.Pow(bore, 4))
	return 3 * steelMPa * inertia * seatGapMM / math.Pow(lever, 3)
}

// parallelPipe finds the nearest pipe on a ring that runs the same way on another line, and how far off it is.
func (f *frame) parallelPipe(body int, onRing func(int) bool) (float64, bool) {
	dir := f.parts[body].Pose.Z
	best, found := math.Inf(1), false
	for o := range f.parts {
		p := &f.parts[o]
		if o == body || p.Kind != standard.Pipe || !onRing(o) || p.Pose.Z.Cross(dir).Len() > parallelTolerance {
			continue
		}
		if off := offAxis(p.Pose.Origin, f.parts[body].Pose.Origin, dir); off > 1 {
			best, found = math.Min(best, off), true
		}
	}
	return best, found
}

// isFront tells whether a place lies in the front of a frame that has a front: the finished frame's y points away from
// the person in the room.
func (f *frame) isFront(at geom.Vec) bool {
	box := geom.EmptyBox()
	for i := range f.parts {
		if f.parts[i].Kind == standard.Pipe {
			box = box.Union(f.shapes[i].box)
		}
	}
	return box.Size().Y > 4*frontMM && at.Y < box.Min.Y+frontMM
}

// wrenchFits tells whether a wrench on the middle of a pipe has room to swing.
func (f *frame) wrenchFits(body int, mid, dir geom.Vec) bool {
	side := dir.Cross(geom.AxisZ)
	if side.Len() < 0.1 {
		side = dir.Cross(geom.AxisX)
	}
	side = side.Unit()
	up := dir.Cross(side)
	reach := geom.BoxOf(mid, mid).Grow(wrenchMM + wrenchThickMM)
	var near []int
	for o := range f.parts {
		if o != body && f.shapes[o].box.Overlaps(reach) {
			near = append(near, o)
		}
	}
	free, run := 0, 0
	for h := range headings + wrenchSwing { // once round, and as far again as one swing
		angle := 2 * math.Pi * float64(h%headings) / headings
		out := side.Mul(math.Cos(angle)).Add(up.Mul(math.Sin(angle)))
		if f.handleFree(near, mid, out) {
			run++
			free = max(free, run)
		} else {
			run = 0
		}
	}
	return free > wrenchSwing
}

// handleFree tells whether a handle from the middle outwards clears the bodies near it.
func (f *frame) handleFree(near []int, mid, out geom.Vec) bool {
	for r := 2 * wrenchStepMM; r <= wrenchMM; r += wrenchStepMM {
		at := mid.Add(out.Mul(r))
		for _, o := range near {
			for i := range f.shapes[o].solids {
				if f.shapes[o].boxes[i].Distance(at) < wrenchThickMM/2 && f.shapes[o].solids[i].near(at, wrenchThickMM/2) {
					return false
				}
			}
		}
	}
	return true
}

// near tells whether a point lies in a solid or within a distance of it, measured along its own directions.
func (s *solid) near(p geom.Vec, within float64) bool {
	d := p.Sub(s.centre)
	if s.round {
		along := d.Dot(s.axis)
		return math.Abs(along) < s.half+within && d.Sub(s.axis.Mul(along)).Len() < s.radius+within
	}
	for _, e := range s.edge {
		if n := e.Len(); n > 0 && math.Abs(d.Dot(e)/n) > n+within {
			return false
		}
	}
	return true
}
