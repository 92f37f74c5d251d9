package sequence

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// Room for what turns a thread. The wrench is the one that prices closing pieces (price.go): a handle of 300 mm, 25 mm
// thick, that needs 60 degrees.
const (
	// wrenchWideMM is the height of the handle in its plane of swing: common practice, no source.
	wrenchWideMM = 30.0
	// wrenchStarts and wrenchRun are the directions of the handle that are looked at, and how many of them in a row make
	// a swing of 60 degrees. At the end of the handle they are nearer to one another than it is wide.
	wrenchStarts = 72
	wrenchRun    = 13
	// holdRun is the same for a wrench that only holds back: the frame gives a little, so 10 degrees are enough.
	holdRun = 3
	// handRoomMM is what fingers need between a part and what stands beside it: proposed, no source.
	handRoomMM = 25.0
	// handWideMM is the length of pipe that a hand takes: common practice, no source. Shorter stretches are taken with
	// the fingers, down to fingersMM.
	handWideMM = 80.0
	fingersMM  = 12.0
	// handStarts and handRun say how much of the way round has to be free: a hand comes from one side and holds half the
	// pipe.
	handStarts = 24
	handRun    = 13
	// leverMM is how far from the axis a part has to reach for hands to turn it by that, without a tool: the length of a
	// small wrench's handle. Common practice, no source.
	leverMM = 150.0
	// wrenchGripMM is the least length of bare pipe for the jaws of a wrench. A shorter nipple is turned in by the
	// fingers, and is tightened at both ends by the next part's wrench. Common practice, no source.
	wrenchGripMM = 40.0
	// gripSteps bounds the places along a pipe where a grip is tried.
	gripSteps = 5
)

// tool is a wrench or a hand, as it goes round an axis.
type tool struct {
	long   float64 // from the axis outwards, on top of the grip's radius for a hand
	wide   float64 // along the way round, at most; a hand's grows with the radius
	thick  float64 // along the axis
	starts int
	run    int
}

// grip is a bare stretch of a round body about the axis of a turn.
type grip struct {
	body   int
	at     geom.Vec // one end of the stretch
	axis   geom.Vec
	long   float64
	radius float64
	isPipe bool
}

// reach tells how a thread can be turned home.
type reach int

const (
	byWrench reach = iota
	byHand
	byNothing
)

// grips lists the round stretches of bodies about a line, those of the body at the thread first. The ends of a pipe
// that are in other bodies of the scene are no part of them.
func (s *scene) grips(bodies []int, at, dir geom.Vec) []grip {
	f := s.f
	var out []grip
	for _, b := range bodies {
		sh := &f.shapes[b]
		for i := range sh.solids {
			t := &sh.solids[i]
			if !t.round || t.axis.Cross(dir).Len() > parallelTolerance*10 || offAxis(t.centre, at, dir) > coaxialTolerance {
				continue
			}
			g := grip{body: b, axis: t.axis, at: t.centre.Sub(t.axis.Mul(t.half)), long: 2 * t.half, radius: t.radius}
			if f.parts[b].Kind == "pipe" {
				g.isPipe = true
				s.bare(&g)
			}
			if g.long > 0 {
				out = append(out, g)
			}
		}
	}
	return out
}

// bare takes off a pipe's grip what is screwed into other bodies of the scene.
func (s *scene) bare(g *grip) {
	f := s.f
	for _, k := range f.at[g.body] {
		j := &f.joints[k]
		if !j.Kind.IsThreaded() || j.state == open || !s.has(j.other(g.body)) {
			continue
		}
		deep := j.EngagementMM + j.extra*j.PitchMM
		if j.into(g.body).Dot(g.axis) < 0 { // the mate is at the near end
			g.at = g.at.Add(g.axis.Mul(deep))
		}
		g.long -= deep
	}
}

// stations lists the middles of the stretches of a grip, thick long, to be tried: the middle of the grip first.
func (g *grip) stations(thick float64) []geom.Vec {
	spare := g.long - thick
	mid := g.at.Add(g.axis.Mul(g.long / 2))
	if spare <= 1 {
		return []geom.Vec{mid}
	}
	n := int(math.Min(gripSteps, 1+math.Ceil(spare/thick)))
	out := []geom.Vec{mid}
	for i := 0; i < n; i++ {
		along := thick/2 + spare*float64(i)/float64(max(n-1, 1))
		if math.Abs(along-g.long/2) > 1 {
			out = append(out, g.at.Add(g.axis.Mul(along)))
		}
	}
	return out
}

// near is a solid beside a grip.
type near struct {
	body  int
	solid *solid
}

// beside lists the solids of bodies that come within far of a station.
func (f *frame) beside(bodies []int, station geom.Vec, far float64) []near {
	box := geom.BoxOf(station).Grow(far)
	var out []near
	for _, e := range bodies {
		sh := &f.shapes[e]
		if !overlap(&box, &sh.box) {
			continue
		}
		for i := range sh.solids {
			if overlap(&box, &sh.boxes[i]) {
				out = append(out, near{e, &sh.solids[i]})
			}
		}
	}
	return out
}

// fits tells whether a tool at a station has its run of directions free. It adds the bodies that it met to met.
func (t tool) fits(g *grip, station geom.Vec, around []near, met map[int]bool) bool {
	if len(around) == 0 {
		return true
	}
	u := g.axis.Across()
	v := g.axis.Cross(u)
	run := 0
	for i := 0; i < t.starts+t.run-1; i++ {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(t.starts))
		out := u.Mul(cos).Add(v.Mul(sin))
		handle := t.handle(g, station, out)
		free := true
		for k := range around {
			if distance(&handle, around[k].solid, slack) == 0 {
				met[around[k].body] = true
				free = false
				break
			}
		}
		if run++; !free {
			run = 0
			if i >= t.starts {
				return false // what is left to look at was looked at already
			}
		}
		if run >= t.run {
			return true
		}
	}
	return false
}

// handle is the box that a tool fills when it points along out.
func (t tool) handle(g *grip, station, out geom.Vec) solid {
	half := (t.long - g.radius) / 2
	return solid{
		centre: station.Add(out.Mul(g.radius + half)),
		edge:   [3]geom.Vec{out.Mul(half), g.axis.Cross(out).Mul(t.wide / 2), g.axis.Mul(t.thick / 2)},
	}
}

func wrench(long float64, run int) tool {
	return tool{long: long, wide: wrenchWideMM, thick: wrenchThickMM, starts: wrenchStarts, run: run}
}

// hand is the tool that a hand is on a grip of some radius and length: its pieces touch one another all the way round.
func hand(g *grip, room float64) tool {
	far := g.radius + room
	return tool{
		long: far, wide: 2 * far * math.Tan(math.Pi/handStarts), thick: math.Min(g.long, handWideMM),
		starts: handStarts, run: handRun,
	}
}

// takes tells whether some station of some grip has room for a tool.
func (s *scene) takes(gs []grip, fixed []int, of func(g *grip) (tool, bool), met map[int]bool) bool {
	for i := range gs {
		t, ok := of(&gs[i])
		if !ok {
			continue
		}
		for _, at := range gs[i].stations(t.thick) {
			far := math.Hypot(t.long, t.thick+t.wide)
			if t.fits(&gs[i], at, s.f.beside(fixed, at, far), met) {
				return true
			}
		}
	}
	return false
}

func wrenchOn(run int) func(g *grip) (tool, bool) {
	return func(g *grip) (tool, bool) {
		return wrench(wrenchMM, run), !g.isPipe || g.long >= wrenchGripMM
	}
}

func handOn(room float64) func(g *grip) (tool, bool) {
	return func(g *grip) (tool, bool) { return hand(g, room), g.long >= fingersMM }
}

// reachTurned tells by what bodies can be turned about a thread that ends where they stand, and what is in the way of
// anything better.
func (s *scene) reachTurned(j *joint, bodies, fixed []int, swings float64) (reach, []pair) {
	if swings >= leverMM {
		return byWrench, nil // the part itself is the handle, and its way round is clear
	}
	gs := s.grips(bodies, j.Axis.At, j.Axis.Dir)
	if len(gs) == 0 {
		return byWrench, nil // nothing round to judge by
	}
	met := map[int]bool{}
	if !s.wrenchable(gs) || s.takes(gs, fixed, wrenchOn(wrenchRun), met) {
		if s.wrenchable(gs) || s.takes(gs, fixed, handOn(handRoomMM), met) {
			return byWrench, nil
		}
		return byNothing, pairsOf(bodies, met, fixed)
	}
	if s.takes(gs, fixed, handOn(handRoomMM), met) {
		return byHand, pairsOf(bodies, met, fixed)
	}
	return byNothing, pairsOf(bodies, met, fixed)
}

// wrenchable tells whether any grip is long enough for jaws. Nipples that are not are turned by the fingers.
func (s *scene) wrenchable(gs []grip) bool {
	for i := range gs {
		if !gs[i].isPipe || gs[i].long >= wrenchGripMM {
			return true
		}
	}
	return false
}

// holdsStill tells whether the body that a thread is screwed into can be kept from turning: by what it reaches out to,
// by the room, or by a wrench or a hand of its own.
func (s *scene) holdsStill(j *joint, mate int, fixed []int) (reach, []pair) {
	f := s.f
	if s.leverAt(mate, j) {
		return byWrench, nil
	}
	for _, k := range f.at[mate] {
		if o := f.joints[k].other(mate); s.isRoom(o) && s.has(o) || s.in[o] && s.leverAt(o, j) {
			return byWrench, nil
		}
	}
	gs := s.grips([]int{mate}, j.Axis.At, j.Axis.Dir)
	if len(gs) == 0 || !s.wrenchable(gs) {
		return byWrench, nil
	}
	others := without(fixed, mate)
	met := map[int]bool{}
	if s.takes(gs, others, wrenchOn(holdRun), met) {
		return byWrench, nil
	}
	if s.takes(gs, others, handOn(handRoomMM), met) {
		return byHand, pairsOf([]int{mate}, met, fixed)
	}
	return byNothing, pairsOf([]int{mate}, met, fixed)
}

// leverAt tells whether a body reaches out far enough from the axis of j to be held by that.
func (s *scene) leverAt(b int, j *joint) bool {
	box := s.f.shapes[b].box
	for _, c := range box.Corners() {
		if offAxis(c, j.Axis.At, j.Axis.Dir) >= leverMM {
			return true
		}
	}
	return false
}

// pairsOf pairs what is gripped with what was met, in the order of fixed.
func pairsOf(bodies []int, met map[int]bool, fixed []int) []pair {
	var out []pair
	for _, e := range fixed {
		if met[e] {
			for _, b := range bodies {
				out = append(out, pair{b, e})
			}
		}
	}
	return out
}

// reachable tests the room for hands and tools on both sides of a thread. In the strict pass only a wrench will do, and
// another order is tried first. It returns the clash that forbids the turn, or, of a turn that only hands have room for,
// what to tell.
func (s *scene) reachable(k, body int, bodies, fixed []int, swings float64) (tight *cramped, ok bool) {
	j := &s.f.joints[k]
	mate := j.other(body)
	how, blockers := s.reachTurned(j, bodies, fixed, swings)
	gripped := bodies
	if how != byNothing {
		if held, more := s.holdsStill(j, mate, fixed); held > how {
			how, blockers, gripped = held, more, []int{mate}
		}
	}
	if how == byWrench {
		return nil, true
	}
	if how == byHand && !s.wrenches {
		return &cramped{joint: k, body: gripped[0], by: culprit(blockers, mate), short: s.wrenchShort(j, gripped, fixed)}, true
	}
	key := moveKey{'w', k, body}
	if how == byNothing {
		key.kind = 's'
	}
	s.blocked[key] = blockers
	if how == byNothing {
		c := clash{moving: gripped[0], why: noGrip, fixed: culprit(blockers, mate)}
		c.short = s.handShort(j, gripped, fixed)
		s.reports[key] = c
	}
	return nil, false
}

// culprit is the body to name of those in the way: the other side of the thread is beside every grip, and is the last.
func culprit(blockers []pair, mate int) int {
	for _, p := range blockers {
		if p.fixed != mate {
			return p.fixed
		}
	}
	return mate
}

// cramped is a joint that only hands have room to turn.
type cramped struct {
	joint, body, by int
	short           float64 // of the handle
}

// shortest finds by halving how much of a length is too much.
func shortest(full float64, fits func(float64) bool) float64 {
	low, high := 0.0, full
	const rounds = 10 // to a third of a millimetre of a handle
	for range rounds {
		if mid := (low + high) / 2; fits(mid) {
			low = mid
		} else {
			high = mid
		}
	}
	return full - low
}

// wrenchShort is by how much a wrench is too long.
func (s *scene) wrenchShort(j *joint, bodies, fixed []int) float64 {
	gs := s.grips(bodies, j.Axis.At, j.Axis.Dir)
	fixed = minus(fixed, bodies)
	return shortest(wrenchMM, func(long float64) bool {
		return s.takes(gs, fixed, func(g *grip) (tool, bool) {
			return wrench(math.Max(long, g.radius+1), wrenchRun), !g.isPipe || g.long >= wrenchGripMM
		}, map[int]bool{})
	})
}

// handShort is by how much the room for fingers is too little.
func (s *scene) handShort(j *joint, bodies, fixed []int) float64 {
	gs := s.grips(bodies, j.Axis.At, j.Axis.Dir)
	fixed = minus(fixed, bodies)
	return shortest(handRoomMM, func(room float64) bool { return s.takes(gs, fixed, handOn(room), map[int]bool{}) })
}

func minus(list, drop []int) []int {
	out := make([]int, 0, len(list))
	for _, x := range list {
		if !contains(drop, x) {
			out = append(out, x)
		}
	}
	return out
}

// reachSource is the rule behind findings of room for hands and tools.
const reachSource = "a hand needs 25 mm round half the pipe (proposed), a pipe wrench 60 degrees for a handle of 300 mm, 25 mm thick (common practice)"

// crampedFinding warns of a thread that can be turned by hand only.
func (f *frame) crampedFinding(c *cramped) assembly.Finding {
	a, b := f.parts[c.body].ID, f.stands(clash{moving: c.body, fixed: c.by, why: noGrip})
	moves, from := b, a
	if c.by == f.room {
		moves, from = a, b
	}
	return assembly.Finding{
		Code: "HAND-REACH", Severity: assembly.Warn, Parts: f.ids([]int{c.body, c.by}),
		Values: map[string]float64{"missing_mm": c.short, "wrench_mm": wrenchMM},
		Text: fmt.Sprintf("a hand fits on %s, but no pipe wrench has room to swing there for %s: a handle of %s is %s too long, because of %s; use a strap wrench or a shorter one",
			a, f.joints[c.joint].ID, f.length(wrenchMM), f.length(c.short), b),
		Repairs: []assembly.Repair{{Text: fmt.Sprintf("move %s away from %s by %s", moves, from, f.length(c.short))}},
		Source:  reachSource,
	}
}

// tightSpots gathers the warnings of all removals, in the order of the steps.
func (f *frame) tightSpots(removals []*removal) []assembly.Finding {
	var out []assembly.Finding
	for i := len(removals) - 1; i >= 0; i-- {
		r := removals[i]
		out = append(out, f.tightSpots(r.inner)...)
		if r.tight != nil {
			out = append(out, f.crampedFinding(r.tight))
		}
	}
	return out
}
