package sequence

import (
	"turnwise/assembly"
	"turnwise/assembly/closing"
	"turnwise/geom"
)

// removal is one thing taken off the finished frame. Turned round, it is the step that puts it on.
type removal struct {
	bodies  []int // what is taken off
	held    []int // bodies it met, by its joints
	screw   int   // the thread undone by turning, or -1
	joints  []int // other joints between bodies and the rest
	out     []leg // the motion, from the finished place outwards
	pose    geom.Pose
	swing   float64
	tight   *cramped // what only hands have room to turn
	inPlace bool
	stand   []leg        // how a tall frame, brought out, is laid down
	sprung  []sprung     // unions bent open on the way
	risen   *risen       // it cannot be, and is put together standing
	settle  []adjustment // turns to be taken back before this removal, so that it goes at all
	inner   []*removal   // how bodies come apart on the bench, in the order of taking off

	// Pieces with two joints:
	mover  []int    // what moves, when nothing is taken off
	pair   []int    // both joints
	draws  []int    // the side that is let out,
	drawBy geom.Vec // and by how much
	then   *removal // how that side is taken away, straight after
}

// leg is one stretch of a motion outwards.
type leg struct {
	by      geom.Vec // straight, when turn is 0
	at, dir geom.Vec // turn: the axis, dir in the direction of travel outwards
	turns   float64
	travel  float64
	left    bool // left-hand thread
}

// adjustment is a thread turned further in, to be turned back to its place when the group stands.
type adjustment struct {
	joint  int
	bodies []int // the flange side
	turns  float64
	joints []int // faces closed once it is back
}

// pair is a moving and a fixed body that block a removal while both are there.
type pair struct{ moving, fixed int }

// scene is a set of bodies being taken apart, on the bench or in the room.
type scene struct {
	f       *frame
	in      []bool
	heights heights // room for a frame that is put together standing
	risen   *risen  // why it is
	members []int
	room    bool

	strict   bool  // the builder's wishes are kept
	wrenches bool  // every thread is turned with room for a wrench
	tilting  bool  // tall frames come lying, and have to be stood up
	rank     []int // of each body: higher is taken off earlier

	blocked map[moveKey][]pair
	reports map[moveKey]clash // the first reason of each, for the finding
}

// moveKey names a removal that may be tried again.
type moveKey struct {
	kind  byte // 's' screw, 'w' screw by a wrench, 't' straight, 'u' stood up
	joint int  // screw: the joint; straight: the lowest body
	side  int  // screw: the body on the moving side
}

func (f *frame) newScene(bodies []int, room bool, rank []int) *scene {
	s := &scene{f: f, in: make([]bool, len(f.parts)), room: room, rank: rank,
		blocked: map[moveKey][]pair{}, reports: map[moveKey]clash{}, heights: anyHeights}
	for _, b := range bodies {
		s.in[b] = true
	}
	s.members = append(s.members, bodies...)
	return s
}

// has tells whether a body stands in the scene; the room does when work is in place.
func (s *scene) has(b int) bool { return s.in[b] || b == s.f.room && s.room }

// drop takes bodies out of the scene.
func (s *scene) drop(bodies []int) {
	for _, b := range bodies {
		s.in[b] = false
	}
	kept := s.members[:0]
	for _, b := range s.members {
		if s.in[b] {
			kept = append(kept, b)
		}
	}
	s.members = kept
}

// rest lists the bodies that stand still while others move.
func (s *scene) rest(moving []int) []int {
	for _, b := range moving {
		s.f.marked[b] = true
	}
	out := make([]int, 0, len(s.members)+1)
	for _, b := range s.members {
		if !s.f.marked[b] {
			out = append(out, b)
		}
	}
	for _, b := range moving {
		s.f.marked[b] = false
	}
	if s.room && s.f.room >= 0 {
		out = append(out, s.f.room)
	}
	return out
}

// crossing lists the joints between bodies and what stands in the scene.
func (s *scene) crossing(bodies []int) []int {
	f := s.f
	for _, b := range bodies {
		f.marked[b] = true
	}
	var out []int
	for _, b := range bodies {
		for _, k := range f.at[b] {
			o := f.joints[k].other(b)
			if !f.marked[o] && s.has(o) && f.joints[k].state != open {
				out = append(out, k)
			}
		}
	}
	for _, b := range bodies {
		f.marked[b] = false
	}
	return out
}

// isBlocked tells whether every way tried for a removal is still blocked by bodies that are there.
func (s *scene) isBlocked(k moveKey) bool {
	pairs, ok := s.blocked[k]
	if !ok {
		return false
	}
	for _, p := range pairs {
		if !s.has(p.moving) || !s.has(p.fixed) {
			delete(s.blocked, k)
			return false
		}
	}
	return true
}

// remember notes why a removal fails.
func (s *scene) remember(k moveKey, clashes []clash) {
	pairs := make([]pair, len(clashes))
	for i, c := range clashes {
		pairs[i] = pair{c.moving, c.fixed}
	}
	s.blocked[k] = pairs
	if len(clashes) > 0 {
		s.reports[k] = clashes[0]
	}
}

// takeApart removes everything from the scene and returns the removals in order. When it gets stuck, the scene still
// holds what could not be removed, and ok is false.
//
// No choice can lead into a dead end: what comes off a whole also comes off each part of it, because taking bodies
// away only makes room. So the search never goes back.
func (s *scene) takeApart() (out []*removal, ok bool) {
	for len(s.members) > 0 {
		if !s.room && len(s.members) == 1 {
			break // the seed of a group on the bench
		}
		r := s.next()
		if r == nil {
			return out, false
		}
		for ; r != nil; r = r.then {
			if !s.takeOff(r) {
				return out, false
			}
			out = append(out, r)
		}
	}
	return out, true
}

// takeOff drops what a removal takes off and takes it apart on the bench. When that gets stuck, the scene becomes the
// bench, so that the finding tells about it.
func (s *scene) takeOff(r *removal) bool {
	s.drop(r.bodies)
	if len(r.bodies) < 2 {
		return true
	}
	bench := s.f.newScene(r.bodies, false, s.rank)
	if r.risen != nil {
		bench.heights, bench.risen = s.f.headroom(r.bodies), r.risen
	}
	inner, ok := bench.takeApart()
	r.inner = inner
	if !ok {
		*s = *bench
	}
	return ok
}

// next finds the next removal: in the room whole groups before single parts, on the bench single parts before groups.
func (s *scene) next() *removal {
	ways := []func() *removal{s.looseBody, s.looseGroup, s.leaf, s.wholeSide, s.member}
	if s.room {
		ways = []func() *removal{s.looseBody, s.looseGroup, s.rigidGroup, s.unionGroup, s.leaf, s.wholeSide, s.member, s.cluster, s.piece}
	}
	for _, p := range passes {
		if !p.strict && p.tilting && !s.f.wishes.any || !p.tilting && !s.room {
			continue // the same as one before
		}
		s.strict, s.wrenches, s.tilting = p.strict, p.wrenches, p.tilting
		for _, way := range ways {
			if r := way(); r != nil {
				return r
			}
		}
	}
	return nil
}

// pass is what a search asks of a removal. The passes go from what is wanted to what will do.
type pass struct{ strict, wrenches, tilting bool }

var passes = []pass{{true, true, true}, {true, false, true}, {false, true, true}, {false, false, true}, {false, false, false}}

// screws lists the plain threads of a body that are closed in the scene.
func (s *scene) screws(b int) (n, last int) {
	last = -1
	for _, k := range s.f.at[b] {
		j := &s.f.joints[k]
		if j.isScrew() && s.in[j.other(b)] {
			n, last = n+1, k
		}
	}
	return n, last
}

// isThreaded tells whether a body has a threaded joint of any kind closed in the scene.
func (s *scene) isThreaded(b int) bool {
	for _, k := range s.f.at[b] {
		j := &s.f.joints[k]
		if j.Kind.IsThreaded() && j.state == closed && s.in[j.other(b)] {
			return true
		}
	}
	return false
}

// looseBody takes off a single body without threads: a board, a strap, on the bench a foot. In the room feet go with
// what stands on them.
func (s *scene) looseBody() *removal {
	return s.single(func(b int) bool { return !(s.room && s.hasFoot(b)) })
}

// piece takes off any single body without threads.
func (s *scene) piece() *removal { return s.single(func(int) bool { return true }) }

func (s *scene) single(take func(b int) bool) *removal {
	for _, b := range s.byRank() {
		if s.isThreaded(b) || !take(b) {
			continue
		}
		if r := s.tryStraight([]int{b}); r != nil {
			return r
		}
	}
	return nil
}

// hasFoot tells whether a body is a foot or stands on one.
func (s *scene) hasFoot(b int) bool {
	for _, k := range s.f.at[b] {
		j := &s.f.joints[k]
		if s.in[j.other(b)] && s.joinsFoot(j) {
			return true
		}
	}
	return s.isFoot(b)
}

// leaf unscrews a single body that hangs on one thread.
func (s *scene) leaf() *removal {
	for _, b := range s.byRank() {
		if n, k := s.screws(b); n == 1 {
			if r := s.tryScrew(k, b, []int{b}); r != nil {
				return r
			}
		}
	}
	return nil
}

// byRank lists the members, those to be taken off first at the head.
func (s *scene) byRank() []int {
	out := append([]int(nil), s.members...)
	sortBy(out, func(b int) int { return -s.rank[b] })
	return out
}

// groups joins members over the joints that keep says, and lists the groups in the order of their lowest body.
func (s *scene) groups(keep func(j *joint) bool) [][]int {
	u := closing.NewForest(len(s.f.parts))
	for _, b := range s.members {
		for _, k := range s.f.at[b] {
			j := &s.f.joints[k]
			if s.in[j.a] && s.in[j.b] && j.state != open && keep(j) && !(s.room && (s.isFixture(j.a) || s.isFixture(j.b))) {
				u.Join(j.a, j.b)
			}
		}
	}
	place := map[int]int{}
	var out [][]int
	for _, b := range s.members {
		root := u.Root(b)
		i, ok := place[root]
		if !ok {
			i = len(out)
			place[root] = i
			out = append(out, nil)
		}
		out[i] = append(out[i], b)
	}
	return out
}

// looseGroup takes off bodies that threads and feet make one, as a whole.
func (s *scene) looseGroup() *removal {
	return s.firstGroup(func(j *joint) bool {
		if j.Kind == assembly.UnionNut {
			return s.room
		}
		return j.Kind.IsThreaded() || s.room && s.joinsFoot(j)
	})
}

// rigidGroup takes off bodies that any joints but those to the room make one.
func (s *scene) rigidGroup() *removal {
	return s.firstGroup(func(j *joint) bool { return j.Kind.IsRigid() || s.joinsFoot(j) })
}

// unionGroup takes off, in the room, what hangs together without its unions: a side of a frame that is stood up by itself
// and joined to the other in place. There has to be another.
func (s *scene) unionGroup() *removal {
	union := false
	for k := range s.f.joints {
		j := &s.f.joints[k]
		union = union || j.Kind == assembly.UnionNut && j.state == closed && s.in[j.a] && s.in[j.b]
	}
	if !union {
		return nil
	}
	return s.firstGroup(func(j *joint) bool {
		return j.Kind != assembly.UnionNut && (j.Kind.IsThreaded() || s.joinsFoot(j))
	})
}

// cluster takes off everything that hangs or lies together.
func (s *scene) cluster() *removal { return s.firstGroup(func(*joint) bool { return true }) }

func (s *scene) firstGroup(keep func(j *joint) bool) *removal {
	groups := s.groups(keep)
	if !s.room && len(groups) == 1 {
		return nil // that is the whole scene
	}
	order := make([]int, len(groups))
	for i := range order {
		order[i] = i
	}
	sortBy(order, func(i int) int { return -s.topRank(groups[i]) })
	for _, i := range order {
		g := groups[i]
		if r := s.tryStraight(g); r != nil {
			return r
		}
	}
	return nil
}

// topRank is the rank of the body of g that is put on first.
func (s *scene) topRank(g []int) int {
	low := s.rank[g[0]]
	for _, b := range g {
		low = min(low, s.rank[b])
	}
	return low
}

// wholeSide turns off a side of several bodies, the smallest that goes.
func (s *scene) wholeSide() *removal {
	sides := s.sides()
	for _, c := range sides {
		if r := s.tryScrew(c.joint, c.body, c.bodies); r != nil {
			return r
		}
	}
	return nil
}

// cut is one side of a thread.
type cut struct {
	joint, body int
	bodies      []int
}

// sides lists, for every thread of the scene, what hangs on either end of it, smallest first. Sides of one body are
// left to leaf.
func (s *scene) sides() []cut {
	var out []cut
	for k := range s.f.joints {
		j := &s.f.joints[k]
		if !j.isScrew() || !s.in[j.a] || !s.in[j.b] {
			continue
		}
		for _, b := range []int{j.a, j.b} {
			if bodies := s.beyond(k, b); len(bodies) > 1 && !contains(bodies, j.other(b)) {
				out = append(out, cut{k, b, bodies})
			}
		}
	}
	sortBy(out, func(c cut) int { return len(c.bodies) })
	return out
}

// beyond lists the bodies that hang on b when joint k is open: over threads, and over feet. Unions and contact joints
// do not hold, as they are closed later.
func (s *scene) beyond(k, b int) []int {
	f := s.f
	seen := []int{b}
	f.marked[b] = true
	for i := 0; i < len(seen); i++ {
		for _, n := range f.at[seen[i]] {
			j := &f.joints[n]
			if n == k || j.state == open || !(j.isScrew() || j.isMember() || s.joinsFoot(j)) {
				continue
			}
			if o := j.other(seen[i]); s.in[o] && !f.marked[o] {
				f.marked[o] = true
				seen = append(seen, o)
			}
		}
	}
	for _, o := range seen {
		f.marked[o] = false
	}
	sortBy(seen, func(x int) int { return x })
	return seen
}

// footKinds stand under something else and go where it goes.
var footKinds = map[string]bool{"glide": true, "caster": true, "pad": true}

func (s *scene) isFoot(b int) bool { return footKinds[string(s.f.parts[b].Kind)] }

// isFixture tells whether a body belongs to the room rather than to the frame: it goes up before the frame comes.
func (s *scene) isFixture(b int) bool { return s.f.parts[b].Kind == "cleat" }

// joinsFoot tells whether j holds a foot to the body above it.
func (s *scene) joinsFoot(j *joint) bool {
	return j.a != s.f.room && j.b != s.f.room && j.isContact() && (s.isFoot(j.a) || s.isFoot(j.b))
}
