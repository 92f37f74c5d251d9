package sequence

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// Clearances of motions.
const (
	// margin is how near, in mm, a moving body may come to one that it does not end up nearer to. It covers the
	// difference between outlines and true shapes and the hand's play.
	margin = 1.0
	// slack is how much nearer than its final place, in mm, a body may come: bodies that end touching slide along
	// each other, and sums of a long chain differ in the last places.
	slack = 0.02
	// maxSamples bounds the places looked at in one turn for one pair; a pair that cannot be told apart by then is
	// counted as blocked.
	maxSamples = 4000
)

// clash is a pair of bodies that meet in a motion, and by how much, in mm.
type clash struct {
	moving, fixed int
	short         float64
	why           reason
	own, other    int      // the solids that meet
	toward        geom.Vec // from the moving body to the face that it lies against; zero where it meets solids
}

// stands names what a clash is with: a part by its id, the room by the surface of it.
func (f *frame) stands(c clash) string {
	if c.fixed != f.room {
		return f.parts[c.fixed].ID
	}
	switch c.why {
	case inTheWay, swings, noTravel, tilts:
		return f.a.Room.Words(f.shapes[c.fixed].solids[c.other].centre)
	}
	if c.why == noGrip {
		return f.a.Room.Words(f.nearestOf(c.fixed, c.moving).centre)
	}
	if c.toward != (geom.Vec{}) {
		return assembly.SurfaceWords(assembly.SurfaceAlong(c.toward))
	}
	return "the room"
}

// reason is what kind of motion a clash ended.
type reason int

const (
	inTheWay  reason = iota // a straight motion
	swings                  // a full turn
	noTravel                // a full turn that has room all round, and none to come off its thread
	holds                   // no motion: another joint or contact holds the body
	noPlay                  // stands between two faces, and its flanges cannot be screwed deeper
	noGrip                  // a full turn that neither a hand nor a wrench has room for
	stiff                   // a union meets sideways, and its side is too stiff to be sprung open
	tilts                   // a turn of less than a full one
	headroom                // a frame put together standing has no room above or below for this
	encloses                // a way that ends about a piece of the room, or within it
	bothFixed               // a right-and-left piece, and no side of it can be drawn in
)

// nearestOf is the solid of one body that lies nearest to another.
func (f *frame) nearestOf(body, to int) *solid {
	best, least := 0, math.Inf(1)
	for k, b := range f.shapes[body].boxes {
		if gap := b.Gap(f.shapes[to].box); gap < least {
			best, least = k, gap
		}
	}
	return &f.shapes[body].solids[best]
}

// side is a group of bodies in motion: their shapes where the motion begins.
type side struct {
	bodies []int
	shapes []shape
}

// here returns the side of bodies at the places where they end.
func (f *frame) here(bodies []int) side {
	s := side{bodies: bodies, shapes: make([]shape, len(bodies))}
	for i, b := range bodies {
		s.shapes[i] = f.shapes[b]
	}
	return s
}

func (s side) box() geom.Box {
	b := geom.EmptyBox()
	for i := range s.shapes {
		b = b.Union(s.shapes[i].box)
	}
	return b
}

// moved returns the side shifted by v.
func (s side) moved(v geom.Vec) side {
	out := side{bodies: s.bodies, shapes: make([]shape, len(s.shapes))}
	for i, sh := range s.shapes {
		t := shape{solids: make([]solid, len(sh.solids)), boxes: make([]geom.Box, len(sh.solids))}
		t.box = geom.Box{Min: sh.box.Min.Add(v), Max: sh.box.Max.Add(v)}
		for k := range sh.solids {
			t.solids[k] = sh.solids[k].moved(v)
			t.boxes[k] = geom.Box{Min: sh.boxes[k].Min.Add(v), Max: sh.boxes[k].Max.Add(v)}
		}
		out.shapes[i] = t
	}
	return out
}

// turned returns the side turned and shifted as solid.turned does.
func (s side) turned(at, dir geom.Vec, angle, advance float64) side {
	out := side{bodies: s.bodies, shapes: make([]shape, len(s.shapes))}
	for i, sh := range s.shapes {
		solids := make([]solid, len(sh.solids))
		for k := range sh.solids {
			solids[k] = sh.solids[k].turned(at, dir, angle, advance)
		}
		out.shapes[i] = newShape(solids)
	}
	return out
}

// pairFilter tells whether a pair of bodies is left out of a test.
type pairFilter func(moving, fixed int) bool

// overlap tells whether two boxes share a point. It is asked most often of all.
func overlap(a, b *geom.Box) bool {
	return a.Min.X <= b.Max.X && b.Min.X <= a.Max.X && a.Min.Y <= b.Max.Y && b.Min.Y <= a.Max.Y &&
		a.Min.Z <= b.Max.Z && b.Min.Z <= a.Max.Z
}

// reachOf is the box that b sweeps along v, with the margin round it.
func reachOf(b geom.Box, v geom.Vec) geom.Box {
	grow := func(lo, hi *float64, d float64) {
		if d < 0 {
			*lo += d
		} else {
			*hi += d
		}
		*lo -= margin
		*hi += margin
	}
	grow(&b.Min.X, &b.Max.X, v.X)
	grow(&b.Min.Y, &b.Max.Y, v.Y)
	grow(&b.Min.Z, &b.Max.Z, v.Z)
	return b
}

// slide tests a straight motion of s along v against the bodies of fixed. It returns the first pair that meets.
func (f *frame) slide(s side, fixed []int, v geom.Vec, skip pairFilter) (clash, bool) {
	for i, m := range s.bodies {
		reach := reachOf(s.shapes[i].box, v)
		for _, e := range fixed {
			if !overlap(&reach, &f.shapes[e].box) || skip(m, e) {
				continue
			}
			if c, met := f.slidePair(&s.shapes[i], m, e, v); met {
				return c, true
			}
		}
	}
	return clash{}, false
}

// slidePair tests one moving body, of shape sh, against one that stands.
func (f *frame) slidePair(sh *shape, m, e int, v geom.Vec) (clash, bool) {
	still := &f.shapes[e]
	for k := range sh.solids {
		reach := reachOf(sh.boxes[k], v)
		if !overlap(&reach, &still.box) {
			continue
		}
		for l := range still.solids {
			if !overlap(&reach, &still.boxes[l]) {
				continue
			}
			c := clash{moving: m, fixed: e, why: inTheWay, own: k, other: l}
			if c.short = f.slideOne(sh, c, v); c.short > 0 {
				return c, true
			}
		}
	}
	return clash{}, false
}

// slideOne tests the two solids that c names. It returns how much is missing, 0 when they do not meet.
func (f *frame) slideOne(sh *shape, c clash, v geom.Vec) float64 {
	a, b := &sh.solids[c.own], &f.shapes[c.fixed].solids[c.other]
	swept := a.swept(v)
	d := distance(&swept, b, margin)
	if d >= margin {
		return 0
	}
	return slideSolid(a, &f.shapes[c.moving].solids[c.own], b, v, f.needed(c.moving, c.fixed), d)
}

// needed is the distance that two bodies must keep on the way: the margin, or what they keep where the motion ends; 0
// when they end touching.
func (f *frame) needed(m, e int) float64 {
	key := [2]int{min(m, e), max(m, e)}
	if n, ok := f.needs[key]; ok {
		return n
	}
	a, b := &f.shapes[m], &f.shapes[e]
	gap := margin
	if f.settles(m, e) {
		gap = 0
	}
	for k := range a.solids {
		reach := reachOf(a.boxes[k], geom.Vec{})
		if !overlap(&reach, &b.box) {
			continue
		}
		for l := range b.solids {
			if overlap(&reach, &b.boxes[l]) {
				gap = math.Min(gap, endGap(&a.solids[k], &b.solids[l]))
			}
		}
	}
	f.needs[key] = math.Max(0, gap-slack)
	return f.needs[key]
}

// settles tells whether a body has been turned off the face of another that it ends on: then it may touch it meanwhile.
func (f *frame) settles(m, e int) bool {
	for _, k := range f.at[m] {
		if j := &f.joints[k]; j.Kind == assembly.Face && j.other(m) == e {
			return f.pose[m] != f.parts[m].Pose
		}
	}
	return false
}

// slideSolid decides for a straight motion that brings one solid within margin of another: d is how near. end is the
// same solid where the whole motion ends. It returns how much is missing, 0 when they do not meet.
func slideSolid(a, end, b *solid, v geom.Vec, need, d float64) float64 {
	if coaxial(a, b) && v.Cross(b.axis).Len() < parallelTolerance*math.Max(1, v.Len()) {
		if math.Max(b.bore-a.radius, a.bore-b.radius) >= need-slack {
			return 0
		}
	}
	if need > 0 || d > 0 {
		return math.Max(0, need-d)
	}
	if slidesDeeper(a, end, b, v) {
		return margin
	}
	return 0
}

// overlaps are the depths, in mm, to which two outlines may lie in one another where the motion ends: contact first,
// then outlines that are fatter than their parts.
var overlaps = []float64{slack, 0.1, 0.3, 0.6, 1.2, 2}

// slidesDeeper tests the straight motion of a solid that ends touching b, or overlapping it as drawn: it may lie no
// deeper in b on the way than it does in the end.
func slidesDeeper(a, end, b *solid, v geom.Vec) bool {
	for _, deep := range overlaps {
		if drawn := end.shrunk(deep); distance(&drawn, b, slack) == 0 {
			continue
		}
		thin := a.shrunk(deep).swept(v)
		return distance(&thin, b, slack) == 0
	}
	return false // one is drawn inside the other: a thread in its socket, or a fault of the design
}

// coaxial tells whether two solids are round about the same line.
func coaxial(a, b *solid) bool {
	return a.round && b.round && a.axis.Cross(b.axis).Len() < parallelTolerance &&
		offAxis(a.centre, b.centre, b.axis) < coaxialTolerance
}

// endGap is the distance of two solids where they end, up to margin. A body inside the bore of another has the gap
// between their walls.
func endGap(a, b *solid) float64 {
	if coaxial(a, b) {
		if wall := math.Max(b.bore-a.radius, a.bore-b.radius); wall >= 0 {
			return math.Min(wall, margin)
		}
	}
	return math.Min(distance(a, b, margin), margin)
}

// turn is a full turn, or several, about a line, while the moving side also shifts along it by up to travel.
type turn struct {
	at, dir geom.Vec
	travel  float64 // along dir, away from the fixed side
}

// spin tests at least one full turn of s, about the axis of t, from where s ends to travel further along the axis.
// Whatever turns right round sweeps a solid of revolution; so first the images of both sides in (distance from the
// axis, distance along it) are compared, and where these meet but are only bounds, the turn is walked through.
func (f *frame) spin(s side, fixed []int, t turn, skip pairFilter) (clash, bool) {
	rings, whole := t.rings(s)
	for _, e := range fixed {
		if t.clears(whole, f.shapes[e].box) {
			continue
		}
		still := &f.shapes[e]
		images := make([]ring, len(still.solids))
		exact := make([]bool, len(still.solids))
		for l := range still.solids {
			images[l], exact[l] = ringOf(&still.solids[l], t.at, t.dir)
		}
		worst := clash{fixed: e, short: -1}
		for i, m := range s.bodies {
			if skip(m, e) {
				continue
			}
			need := -1.0
			for k := range s.shapes[i].solids {
				for l := range images {
					r := rings[i][k]
					if gap := r.ring.apart(images[l], t.travel); gap >= margin || -gap <= worst.short {
						continue
					}
					if need < 0 {
						need = f.needed(m, e)
					}
					sharp := r.exact && exact[l]
					if short, met := t.meet(&s.shapes[i].solids[k], &still.solids[l], r.ring, images[l], sharp, need); met {
						if short > worst.short { // the two may come nearer elsewhere
							worst.moving, worst.short, worst.why, worst.own, worst.other = m, short, swings, k, l
							if r.ring.apart(images[l], 0) >= -slack {
								worst.why = noTravel
							}
						}
					}
				}
			}
		}
		if worst.short >= 0 {
			return worst, true
		}
	}
	return clash{}, false
}

type image struct {
	ring  ring
	exact bool
}

// rings returns the image of every solid of s, and one round them all.
func (t turn) rings(s side) ([][]image, ring) {
	out := make([][]image, len(s.shapes))
	whole := ring{math.Inf(1), 0, math.Inf(1), math.Inf(-1)}
	for i := range s.shapes {
		for k := range s.shapes[i].solids {
			r, exact := ringOf(&s.shapes[i].solids[k], t.at, t.dir)
			out[i] = append(out[i], image{r, exact})
			whole.near, whole.far = math.Min(whole.near, r.near), math.Max(whole.far, r.far)
			whole.low, whole.high = math.Min(whole.low, r.low), math.Max(whole.high, r.high)
		}
	}
	return out, whole
}

// clears tells quickly that a box lies out of the way of the whole side.
func (t turn) clears(whole ring, b geom.Box) bool {
	c, h := b.Centre(), b.Diagonal()/2
	d := c.Sub(t.at)
	z := d.Dot(t.dir)
	if z-h > whole.high+t.travel+margin || z+h < whole.low-margin {
		return true
	}
	r := offAxis(c, t.at, t.dir)
	return r-h > whole.far+margin || r+h < whole.near-margin
}

// apart is the gap between two images when r also shifts by up to travel; negative when they overlap.
func (r ring) apart(o ring, travel float64) float64 {
	radial := math.Max(o.near-r.far, r.near-o.far)
	axial := math.Max(o.low-r.high-travel, r.low-o.high)
	return math.Max(radial, axial)
}

// behind tells whether o lies wholly behind r, seen the way it travels. Then they cannot meet: r comes no nearer than
// where it ends, as the seats of several unions do that close in one turn.
func (r ring) behind(o ring) bool { return r.low-o.high >= -slack }

// meet decides for two solids whose images are near each other. need is what their bodies keep between them. It also
// returns how far their images overlap: how much room is missing.
func (t turn) meet(a, b *solid, ra, rb ring, exact bool, need float64) (float64, bool) {
	gap := ra.apart(rb, t.travel)
	if gap >= need-slack || ra.behind(rb) {
		return 0, false
	}
	if exact {
		if ra.apart(rb, 0) <= gap+slack {
			return 0, false // they stand no nearer on the way than they end
		}
		return math.Max(-gap, 0), true
	}
	moving := *a
	if need == 0 {
		moving = a.shrunk(slack)
		if distance(&moving, b, slack) == 0 {
			return 0, false // overlap as drawn
		}
	}
	if t.walk(moving, b, ra.far, need) {
		return math.Max(-gap, 0), true
	}
	return 0, false
}

// walk turns a right round in steps that cannot miss a meeting: no point of it moves further in a step than the
// distance then free. It tells whether a comes nearer to b than need, or cannot be told to stay away.
func (t turn) walk(a solid, b *solid, far, need float64) bool {
	a = a.swept(t.dir.Mul(t.travel))
	angle := 0.0
	for i := 0; i < maxSamples; i++ {
		p := a.turned(t.at, t.dir, angle, 0)
		d := distance(&p, b, math.Inf(1))
		if d < need || d == 0 {
			return true
		}
		angle += (d - need) / math.Max(far, 1)
		if angle >= 2*math.Pi {
			return false
		}
	}
	return true
}

// swing is the radius of the outermost point of s about a line.
func swing(s side, at, dir geom.Vec) float64 {
	r := 0.0
	for i := range s.shapes {
		for k := range s.shapes[i].solids {
			image, _ := ringOf(&s.shapes[i].solids[k], at, dir)
			r = math.Max(r, image.far)
		}
	}
	return r
}
