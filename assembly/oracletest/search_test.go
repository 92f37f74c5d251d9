package oracletest

import (
	"math"
	"math/bits"
	"testing"

	"turnwise/assembly"
	"turnwise/geom"
)

// seeker searches all orders in which a frame can be taken apart, and with them all orders in which it can be built.
//
// A state is the set of bodies that still stand in the room. From each, every connected set of bodies is tried as the
// one that is taken away next; between it and the rest there may be at most one screwed thread, which is undone by
// turning that set (the other side is another such set), or none. Unions and faces are undone where they stand. What was
// carried away in one piece has to come apart on the bench by the same rules, where only its two sides are in each
// other's way.
//
// Ways out are tried blindly: straight along the axes and the diagonals between two axes, and any way along an axis for
// one of seven lengths followed by any other axis; after a turn the same along the joint, with the body left at any of
// four angles. A way ends where the boxes of both sides have parted; in the room what has
// been taken away has to stand clear of it as a whole, as the plan and its proof ask too; how it comes there from outside
// is not asked. Flanges that meet the room may be screwed deeper beforehand, all of them or none.
type seeker struct {
	things []*thing // the room last, if there is one
	poses  []geom.Pose
	joints []link
	room   int // index, or -1
	all    uint32
	need   float64 // clearance asked for between bodies that no joint holds together
	deep   []geom.Vec
	ways   []way
	pairs  map[passKey]bool
	place  map[uint32]bool
	bench  map[uint32]bool
	joined map[[2]int]bool
}

type link struct {
	assembly.Joint
	a, b    int
	screwed bool // counts as a thread that must be turned off
}

// way is a short straight leg, which may be nothing, and a direction to go on in.
type way struct{ first, then geom.Vec }

// lengthsMM are how far a way may go on in its second direction.
var lengthsMM = []float64{3, 10, 30, 100, 300, 600, 1200, farMM}

// passKey is one body on one way past another: joint -1 is a straight way, way -1 is the turn itself.
type passKey struct {
	joint, side, angle, way, length int
	deep                            bool
	a, b                            int
}

// contactNeed is the gap asked for between bodies that touch when joined: none, and as much overlap as threads and
// rounding have.
const contactNeed = -0.4

func newSeeker(t testing.TB, a *assembly.Assembly, need float64) *seeker {
	s := &seeker{room: -1, need: need, pairs: map[passKey]bool{}, place: map[uint32]bool{0: true}, bench: map[uint32]bool{}, joined: map[[2]int]bool{}}
	at := map[string]int{}
	add := func(p assembly.Part) {
		at[p.ID] = len(s.things)
		s.things = append(s.things, newThing(t, p))
		s.poses = append(s.poses, p.Pose)
	}
	for _, p := range a.Parts {
		if p.Kind != "room" {
			add(p)
		}
	}
	s.all = uint32(1)<<len(s.things) - 1
	for _, p := range a.Parts {
		if p.Kind == "room" {
			s.room = len(s.things)
			add(p)
		}
	}
	for _, j := range a.Joints {
		l := link{Joint: j, a: at[j.A.Part], b: at[j.B.Part]}
		l.screwed = j.Kind == assembly.Thread || j.Kind == assembly.LongScrew && s.running(l)
		s.joints = append(s.joints, l)
		s.joined[[2]int{l.a, l.b}], s.joined[[2]int{l.b, l.a}] = true, true
	}
	s.ways = allWays()
	s.deepen()
	return s
}

// running tells whether a joint of a long screw is the one on whose pipe the coupling runs back. The other is undone by
// that, without anything else being turned.
func (s *seeker) running(l link) bool {
	for _, e := range []struct {
		body int
		port string
	}{{l.a, l.A.Port}, {l.b, l.B.Port}} {
		if r := s.things[e.body].part.Running; r != "" && r == e.port {
			return true
		}
	}
	return false
}

func axes() []geom.Vec {
	return []geom.Vec{geom.AxisX, geom.AxisX.Neg(), geom.AxisY, geom.AxisY.Neg(), geom.AxisZ, geom.AxisZ.Neg()}
}

func allWays() []way {
	var out []way
	for _, d := range axes() {
		out = append(out, way{then: d})
	}
	for i, d := range axes() {
		for _, e := range axes()[i+1:] {
			if d.Dot(e) == 0 {
				out = append(out, way{then: d.Add(e).Unit()})
			}
		}
	}
	for _, d := range axes() {
		for _, l := range []float64{2, 6, 15, 40, 80, 160, 320} {
			for _, e := range axes() {
				if d.Dot(e) == 0 {
					out = append(out, way{d.Mul(l), e})
				}
			}
		}
	}
	return out
}

// deepen finds how far each flange can be drawn off its face by screwing it deeper.
func (s *seeker) deepen() {
	s.deep = make([]geom.Vec, len(s.things))
	for i, b := range s.things {
		if b.part.Kind != "flange" {
			continue
		}
		for _, l := range s.joints {
			if l.Kind == assembly.Thread && (l.a == i || l.b == i) && l.Turns != nil {
				into := l.Axis.Dir
				if l.b == i {
					into = into.Neg()
				}
				s.deep[i] = into.Mul(max(0, l.Turns.Max*l.PitchMM-l.EngagementMM))
			}
		}
	}
}

// canBuild tells whether any order builds the frame.
func (s *seeker) canBuild() bool { return s.standing(s.all) }

// standing tells whether the bodies that stand in the room can all be taken away.
func (s *seeker) standing(set uint32) bool {
	if known, ok := s.place[set]; ok {
		return known
	}
	s.place[set] = false
	for m := set; m > 0; m = (m - 1) & set {
		if s.connected(m) && s.onBench(m) && s.goes(m, set&^m, true) && s.standing(set&^m) {
			s.place[set] = true
			break
		}
	}
	if !s.place[set] && s.letOut(set) {
		s.place[set] = true
	}
	return s.place[set]
}

// onBench tells whether bodies that lie on the bench in one piece come apart.
func (s *seeker) onBench(set uint32) bool {
	if bits.OnesCount32(set) <= 1 {
		return true
	}
	if known, ok := s.bench[set]; ok {
		return known
	}
	s.bench[set] = false
	for m := (set - 1) & set; m > 0; m = (m - 1) & set {
		rest := set &^ m
		if s.connected(m) && s.connected(rest) && s.goes(m, rest, false) && s.onBench(m) && s.onBench(rest) {
			s.bench[set] = true
			break
		}
	}
	if !s.bench[set] && s.letOutOnBench(set) {
		s.bench[set] = true
	}
	return s.bench[set]
}

// connected tells whether joints of any kind make a set one piece.
func (s *seeker) connected(set uint32) bool {
	seen := set & -set
	for grown := true; grown; {
		grown = false
		for _, l := range s.joints {
			a, b := bit(l.a), bit(l.b)
			if set&a != 0 && set&b != 0 && (seen&a != 0) != (seen&b != 0) {
				seen |= a | b
				grown = true
			}
		}
	}
	return seen == set
}

func bit(i int) uint32 { return 1 << i }

// goes tells whether the set m can be taken off the rest by one motion.
func (s *seeker) goes(m, rest uint32, inRoom bool) bool {
	thread, n := -1, 0
	for k, l := range s.joints {
		if l.a == s.room || l.b == s.room || (m&bit(l.a) != 0) == (m&bit(l.b) != 0) || (m|rest)&bit(l.a) == 0 || (m|rest)&bit(l.b) == 0 {
			continue
		}
		if l.Kind == assembly.RightLeft {
			return false // see letOut
		}
		if l.screwed {
			thread, n = k, n+1
		}
	}
	if n > 1 {
		return false
	}
	against := rest
	if inRoom && s.room >= 0 {
		against |= bit(s.room)
	}
	if n == 1 {
		return s.unscrews(m, rest, against, thread)
	}
	tight, play := s.wedged(m, against)
	for i, w := range s.ways {
		for _, l := range s.ends(m, rest, w.first, w.then) {
			by := w.first.Add(w.then.Mul(lengthsMM[l]))
			end := func(b int) geom.Pose { return s.poses[b].Moved(by) }
			if !(inRoom && tight) && s.passes(m, against, passKey{joint: -1, way: i, length: l}) && s.inTheOpen(m, against, end) {
				return true
			}
			if inRoom && play && s.passes(m, against, passKey{joint: -1, way: i, length: l, deep: true}) && s.inTheOpen(m, against, end) {
				return true
			}
		}
	}
	return false
}

// ends are the lengths to try after a first leg: where nothing else stands any, otherwise the shortest that brings the box
// of m wholly outside that of the rest.
func (s *seeker) ends(m, rest uint32, first, d geom.Vec) []int {
	if rest == 0 {
		out := make([]int, len(lengthsMM))
		for i := range out {
			out[i] = i
		}
		return out
	}
	own, others := s.boxOf(m), s.boxOf(rest)
	for i, l := range lengthsMM {
		by := first.Add(d.Mul(l))
		moved := geom.Box{Min: own.Min.Add(by), Max: own.Max.Add(by)}
		if !moved.Overlaps(others) {
			return []int{i}
		}
	}
	return nil
}

// boxOf is the box round a set of bodies.
func (s *seeker) boxOf(set uint32) geom.Box {
	b := geom.EmptyBox()
	for i := range s.things {
		if set&bit(i) != 0 {
			b = b.Union(s.poses[i].Box(s.things[i].box))
		}
	}
	return b
}

// leastPlay is what a frame that goes between two faces must be shorter than they are apart, in mm: without any play it
// would have to be drawn along both. The planner asks for the same.
const leastPlay = 1

// wedged tells whether a set meets faces or union seats of the others that look at each other, and whether screwing its
// flanges deeper gives it play there.
func (s *seeker) wedged(m, against uint32) (tight, play bool) {
	type meeting struct{ out, deep geom.Vec }
	var met []meeting
	for _, l := range s.joints {
		if l.Kind != assembly.Face && l.Kind != assembly.UnionNut {
			continue
		}
		own, other, mine, theirs := l.a, l.b, l.A.Port, l.B.Port
		if m&bit(own) == 0 {
			own, other, mine, theirs = other, own, theirs, mine
		}
		if m&bit(own) == 0 || against&bit(other) == 0 {
			continue
		}
		out, ok := s.port(own, mine)
		if !ok {
			out, ok = s.port(other, theirs)
			out = out.Neg()
		}
		if ok {
			met = append(met, meeting{out, s.deep[own]})
		}
	}
	play = true
	for i, a := range met {
		for _, b := range met[:i] {
			if a.out.Dot(b.out) < -0.99 {
				tight = true
				play = play && -a.deep.Dot(a.out)-b.deep.Dot(b.out) >= leastPlay
			}
		}
	}
	return tight, play
}

// port is the direction out of a port.
func (s *seeker) port(body int, name string) (geom.Vec, bool) {
	for _, p := range s.things[body].part.Ports {
		if p.Name == name {
			return p.Out, true
		}
	}
	return geom.Vec{}, false
}

// unscrews tells whether m can be turned off at a joint and carried away.
func (s *seeker) unscrews(m, rest, against uint32, joint int) bool {
	side := 0
	if m&bit(s.joints[joint].b) != 0 {
		side = 1
	}
	if !s.passes(m, against, passKey{joint: joint, side: side, way: -1}) {
		return false
	}
	out := s.outward(joint, side)
	off := out.Mul(s.joints[joint].EngagementMM)
	for angle := range 4 {
		for i, w := range exits(out) {
			for _, l := range s.ends(m, rest, off.Add(w.first), w.then) {
				end := func(b int) geom.Pose {
					return s.unscrewed(b, joint, out, angle).Moved(w.first.Add(w.then.Mul(lengthsMM[l])))
				}
				if s.passes(m, against, passKey{joint: joint, side: side, angle: angle, way: i, length: l}) && s.inTheOpen(m, against, end) {
					return true
				}
			}
		}
	}
	return false
}

// outward is the direction in which the body at one side of a joint leaves the other.
func (s *seeker) outward(joint, side int) geom.Vec {
	d := s.joints[joint].Axis.Dir
	if side == 0 {
		d = d.Neg()
	}
	return d
}

// exits are the ways away from a joint once it is undone.
func exits(out geom.Vec) []way {
	list := []way{{then: out}}
	for _, l := range []float64{0, 3, 15, 35, 80, 160, 320} {
		for _, e := range axes() {
			if math.Abs(out.Dot(e)) < 0.99 {
				list = append(list, way{out.Mul(l), e})
			}
		}
	}
	return list
}

// passes tells whether all of m gets past all of the others on one way.
func (s *seeker) passes(m, against uint32, k passKey) bool {
	for a := range s.things {
		if m&bit(a) == 0 {
			continue
		}
		for b := range s.things {
			if against&bit(b) == 0 {
				continue
			}
			k.a, k.b = a, b
			ok, known := s.pairs[k]
			if !known {
				ok = s.pass(k)
				s.pairs[k] = ok
			}
			if !ok {
				return false
			}
		}
	}
	return true
}

// pass walks one body past another.
func (s *seeker) pass(k passKey) bool {
	a, b := s.things[k.a], s.things[k.b]
	pose, still := s.poses[k.a], s.poses[k.b]
	need := s.need
	if s.joined[[2]int{k.a, k.b}] {
		need = contactNeed
	}
	if k.joint < 0 {
		if k.deep {
			pose = pose.Moved(s.deep[k.a])
		}
		return follows(a, pose, s.ways[k.way], lengthsMM[k.length], b, still, need)
	}
	l := s.joints[k.joint]
	out := s.outward(k.joint, k.side)
	angle := undoing(l)
	mates := k.a == l.a && k.b == l.b || k.a == l.b && k.b == l.a
	if k.way < 0 {
		return mates || turns(a, pose, l.Axis.At, out, angle, l.EngagementMM, b, still, need)
	}
	return follows(a, s.unscrewed(k.a, k.joint, out, k.angle), exits(out)[k.way], lengthsMM[k.length], b, still, need)
}

// undoing is the angle by which a thread is turned off, in radians.
func undoing(l link) float64 {
	angle := 2 * math.Pi * l.EngagementMM / l.PitchMM
	if l.Hand == "left" {
		return -angle // a right-hand thread turns positively about its way, in or out
	}
	return angle
}

// unscrewed is where a body stands when a joint is undone and it is left some quarters of a turn on.
func (s *seeker) unscrewed(body, joint int, out geom.Vec, quarters int) geom.Pose {
	l := s.joints[joint]
	return s.poses[body].Turned(l.Axis.At, out, undoing(l)+math.Pi/2*float64(quarters), l.EngagementMM)
}

// openMM is how far a piece of the room may reach into the hull of what comes from outside: the stairs of leaning faces.
const openMM = 1

// inTheOpen tells whether what has been taken away in the room stands clear of it as a whole: no piece of the room reaches
// into the convex hull of its boxes. What is not clear was threaded through the room, and no motion brought it there.
func (s *seeker) inTheOpen(m, against uint32, end func(body int) geom.Pose) bool {
	if s.room < 0 || against&bit(s.room) == 0 {
		return true
	}
	var points []geom.Vec
	for i, t := range s.things {
		if m&bit(i) == 0 {
			continue
		}
		pose := end(i)
		for _, c := range t.box.Corners() {
			points = append(points, pose.Apply(c))
		}
	}
	bounds := geom.BoxOf(points...)
	for _, b := range s.things[s.room].part.Boxes {
		if inner := b.Grow(-openMM); inner.Overlaps(bounds) && !parted(points, inner) {
			return false
		}
	}
	return true
}

// parted tells whether a plane lies between the convex hull of points and a box, by walking towards the nearest point of
// their difference (Gilbert, An iterative procedure for computing the minimum of a quadratic form on a convex set, 1966).
func parted(points []geom.Vec, b geom.Box) bool {
	const rounds = 300
	corners := b.Corners()
	near := points[0].Sub(corners[0])
	for range rounds {
		low, high := points[0], corners[0] // of the points, the least that way; of the box, the greatest
		for _, p := range points {
			if p.Dot(near) < low.Dot(near) {
				low = p
			}
		}
		for _, c := range corners {
			if c.Dot(near) > high.Dot(near) {
				high = c
			}
		}
		at := low.Sub(high)
		least := at.Dot(near)
		if least > 0 {
			return true
		}
		step := at.Sub(near)
		l := step.Dot(step)
		if l < 1e-12 {
			return false
		}
		near = near.Add(step.Mul(min(1, max(0, -near.Dot(step)/l))))
		if near.Len() < 1e-6 {
			return false
		}
	}
	return false
}

// follows walks one body along a way.
func follows(a *thing, pose geom.Pose, w way, length float64, b *thing, still geom.Pose, need float64) bool {
	return slides(a, pose, w.first, b, still, need) && slides(a, pose.Moved(w.first), w.then.Mul(length), b, still, need)
}
