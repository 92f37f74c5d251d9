package sequence

import (
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/geom"
)

// Distances of straight motions, in mm.
const (
	// parting is the room left between a body and everything else where its motion begins, so that it is plainly in
	// the clear.
	parting = 20.0
)

// carries are the lengths tried for bringing in a group when nothing else stands there.
var carries = []float64{300, 100, 30, 10, 3}

// lifts are the heights tried for lifting something off before it is drawn away sideways: off what it lies on, within
// the play of a flange, over a pocket's depth, a collar, a pipe, a fitting.
var lifts = []float64{0.6, 2, 6, 15, 40, 120}

// leastParting is the least angle, as a sine, between a contact face and the direction in which something comes off
// it, for the motion to count as parting from it rather than sliding along it: 5 degrees.
const leastParting = 0.087

// contact is a face that a group lies against, or a hole or thread that it runs along.
type contact struct {
	joint  int
	fixed  int      // the body that stays
	normal geom.Vec // out of the fixed body; along the hole
	hole   bool     // either way along normal, and no other
}

// contacts lists the faces that bodies lie against, given their open joints.
func (s *scene) contacts(bodies, joints []int) []contact {
	f := s.f
	for _, b := range bodies {
		f.marked[b] = true
	}
	var out []contact
	for _, k := range joints {
		j := &f.joints[k]
		own, fixed := j.a, j.b
		if !f.marked[own] {
			own, fixed = fixed, own
		}
		if j.Kind == assembly.Bored {
			if pipe := f.pipeOf(j); pipe >= 0 {
				out = append(out, contact{k, fixed, f.pose[pipe].Z, true})
			}
		} else if n, ok := f.normal(j, own, fixed); ok {
			out = append(out, contact{k, fixed, n, false})
		}
	}
	for _, b := range bodies {
		f.marked[b] = false
	}
	return out
}

// pipeOf is the pipe of a bored joint.
func (f *frame) pipeOf(j *joint) int {
	for _, b := range []int{j.a, j.b} {
		if f.parts[b].Kind == "pipe" {
			return b
		}
	}
	return -1
}

// normal is the direction in which body own leaves body fixed, where their joint is a face of some kind.
func (f *frame) normal(j *joint, own, fixed int) (geom.Vec, bool) {
	switch j.Kind {
	case assembly.LongScrew: // run back: the coupling slides off its pipe, and no other way
		return j.into(own).Neg(), true
	case assembly.StrapOn:
		// A strap comes off away from the board. What it holds is not taken off before it.
		return f.pose[own].X.Neg(), f.parts[own].Kind == strapKind
	case assembly.UnionNut:
		return j.into(own).Neg(), true
	}
	if out, ok := f.portOut(own, j.port(own)); ok {
		return out.Neg(), true
	}
	if out, ok := f.portOut(fixed, j.port(fixed)); ok {
		return out, true
	}
	if j.Axis != nil {
		return j.into(own).Neg(), true
	}
	if n, ok := f.touching(own, fixed); ok {
		return n, true
	}
	if fixed == f.room || f.shapes[own].box.Centre().Z >= f.shapes[fixed].box.Centre().Z {
		return geom.AxisZ, true
	}
	return geom.AxisZ.Neg(), true
}

const strapKind = "strap"

// touchTolerance is how far apart or inside one another, in mm, faces may lie that touch: boards and surfaces agree
// within 1/64 in, leaning walls are stacks of boxes that are off by up to a millimetre.
const touchTolerance = 1.0

// touching finds the axis-parallel face on which two bodies lie against each other with most area, as its normal from
// fixed to own.
func (f *frame) touching(own, fixed int) (geom.Vec, bool) {
	var best geom.Vec
	most := 0.0
	for _, a := range f.shapes[own].boxes {
		for _, b := range f.shapes[fixed].boxes {
			for _, n := range axes {
				gap := least(n, a) - greatest(n, b)
				if math.Abs(gap) > touchTolerance {
					continue
				}
				s := a.Intersect(b.Grow(2 * touchTolerance)).Size()
				across := geom.V(1-math.Abs(n.X), 1-math.Abs(n.Y), 1-math.Abs(n.Z))
				area := 1.0
				for _, c := range [][2]float64{{across.X, s.X}, {across.Y, s.Y}, {across.Z, s.Z}} {
					if c[0] > 0 {
						area *= math.Max(0, c[1])
					}
				}
				if area > most {
					best, most = n, area
				}
			}
		}
	}
	return best, most > 0
}

// least and greatest are where a box begins and ends along a direction of the axes.
func least(n geom.Vec, b geom.Box) float64    { return math.Min(n.Dot(b.Min), n.Dot(b.Max)) }
func greatest(n geom.Vec, b geom.Box) float64 { return math.Max(n.Dot(b.Min), n.Dot(b.Max)) }

// facing finds two contacts that face each other, so that nothing between them can part from both. The seats of two
// unions do not count: what is between them slides out sideways, and is sprung apart for that.
func (s *scene) facing(cs []contact) (int, int, bool) {
	isUnion := func(c contact) bool { return s.f.joints[c.joint].Kind == assembly.UnionNut }
	if !slices.ContainsFunc(cs, isUnion) {
		return opposed(cs)
	}
	var faces, unions []contact
	for _, c := range cs {
		if isUnion(c) {
			unions = append(unions, c)
		} else {
			faces = append(faces, c)
		}
	}
	for _, u := range unions {
		some := append(slices.Clone(faces), u)
		if i, k, ok := opposed(some); ok {
			return indexOf(cs, some[i]), indexOf(cs, some[k]), true
		}
	}
	return 0, 0, false
}

// indexOf is where a contact stands in a list that has it.
func indexOf(cs []contact, c contact) int {
	return slices.IndexFunc(cs, func(d contact) bool { return d.joint == c.joint })
}

// opposed finds two contacts that face each other.
func opposed(cs []contact) (int, int, bool) {
	for i := range cs {
		for k := i + 1; k < len(cs); k++ {
			if !cs[i].hole && !cs[k].hole && cs[i].normal.Dot(cs[k].normal) < -1+leastParting {
				return i, k, true
			}
		}
	}
	return 0, 0, false
}

// tryStraight looks for a straight motion, or a lift and a straight motion, that takes bodies off the scene.
func (s *scene) tryStraight(bodies []int) *removal {
	key := moveKey{'t', bodies[0], len(bodies)}
	if s.isBlocked(key) || s.tilting && s.isBlocked(lying(key)) || s.waits(bodies) {
		return nil
	}
	joints := s.crossing(bodies)
	for _, k := range joints {
		j := &s.f.joints[k]
		if j.isScrew() || j.isMember() && j.state != loosened || j.Kind == assembly.StrapOn && s.f.parts[bodies[0]].Kind != strapKind {
			return nil
		}
	}
	r := &removal{bodies: bodies, joints: joints, screw: -1, inPlace: s.room}
	cs := s.contacts(bodies, joints)
	if i, k, ok := s.facing(cs); ok {
		var clashes []clash
		if r.settle, clashes = s.settle(bodies, cs); len(clashes) > 0 {
			s.remember(key, append(clashes, clash{moving: s.ownOf(bodies, cs[i]), fixed: cs[i].fixed, why: holds, toward: cs[i].normal.Neg()}, clash{moving: s.ownOf(bodies, cs[k]), fixed: cs[k].fixed, why: holds, toward: cs[k].normal.Neg()}))
			return nil
		}
		cs = withoutSettled(cs, r.settle)
	}
	if !s.bringOut(r, key, cs) {
		return nil
	}
	why := s.raise(r, key)
	if len(why) > 0 && s.deepenRest(r, cs) {
		if !s.bringOut(r, key, withoutSettled(cs, r.settle)) {
			return nil
		}
		why = s.raise(r, key)
	}
	if len(why) > 0 {
		s.unsettle(r.settle)
		return nil
	}
	return r
}

// bringOut completes a removal with the way out of its contacts, or takes back what was settled for it.
func (s *scene) bringOut(r *removal, key moveKey, cs []contact) bool {
	legs, clashes := s.wayOut(r.bodies, cs)
	if legs == nil && s.winds(r.bodies, cs) {
		legs = s.windOut(r.bodies[0], cs)
	}
	if legs == nil {
		s.unsettle(r.settle)
		s.remember(key, clashes)
		return false
	}
	r.out, r.pose = legs, s.f.pose[r.bodies[0]]
	r.held = s.others(r.bodies, r.joints)
	var stuck []clash
	if r.sprung, stuck = s.springs(r, cs); len(stuck) > 0 {
		s.unsettle(r.settle)
		s.remember(key, stuck)
		return false
	}
	return true
}

// ownOf is the body of a group that has a contact.
func (s *scene) ownOf(bodies []int, c contact) int { return s.f.joints[c.joint].other(c.fixed) }

// others lists the bodies at the far ends of joints, each once, in the order of joints.
func (s *scene) others(bodies, joints []int) []int {
	var out []int
	for _, k := range joints {
		for _, b := range []int{s.f.joints[k].a, s.f.joints[k].b} {
			if !contains(bodies, b) && !contains(out, b) {
				out = append(out, b)
			}
		}
	}
	return out
}

// wayOut finds the straight motion. It returns what stood in the way when there is none.
func (s *scene) wayOut(bodies []int, cs []contact) ([]leg, []clash) {
	f := s.f
	fixed := s.rest(bodies)
	start := f.here(bodies)
	around := s.around(fixed)
	skip := func(int, int) bool { return false }
	var clashes []clash
	try := func(from side, v geom.Vec) bool {
		// What stood in the way before often does so again.
		for i := range clashes {
			if f.meetsAgain(from, clashes[i], v) {
				return false
			}
		}
		c, met := f.slide(from, fixed, v, skip)
		if met {
			clashes = append(clashes, c)
		}
		return !met
	}
	dirs := s.directions(cs)
	slides := 0 // where the directions begin that part from nothing
	for slides < len(dirs) && parts(dirs[slides], cs) >= leastParting {
		slides++
	}
	reach := func(from side, d geom.Vec) (float64, bool) {
		for _, t := range lengths(from.box(), around, d) {
			t, held := s.intoOpen(from, d, t, func(v geom.Vec) bool { return try(from, v) })
			if t > 0 {
				return t, true
			}
			if held != nil {
				clashes = append(clashes, *held)
			}
		}
		return 0, false
	}
	straight := func(d geom.Vec) []leg {
		if t, ok := reach(start, d); ok {
			return []leg{{by: d.Mul(t)}}
		}
		return nil
	}
	for _, d := range dirs[:slides] {
		if legs := straight(d); legs != nil {
			return legs, nil
		}
	}
	for _, up := range dirs[:slides] {
		for _, h := range lifts {
			lift := up.Mul(h)
			if !try(start, lift) {
				break
			}
			lifted := start.moved(lift)
			for _, d := range axes {
				if t, ok := reach(lifted, d); ok {
					return []leg{{by: lift}, {by: d.Mul(t)}}, nil
				}
			}
		}
	}
	for _, d := range dirs[slides:] {
		if legs := straight(d); legs != nil {
			return legs, nil
		}
	}
	return nil, clashes
}

// meetsAgain tells whether the two solids of a clash meet along v too.
func (f *frame) meetsAgain(from side, c clash, v geom.Vec) bool {
	for i, m := range from.bodies {
		if m == c.moving {
			return f.slideOne(&from.shapes[i], c, v) > 0
		}
	}
	return false
}

// around is the box round the bodies that stand, without the room.
func (s *scene) around(fixed []int) geom.Box {
	b := geom.EmptyBox()
	for _, e := range fixed {
		if e != s.f.room {
			b = b.Union(s.f.shapes[e].box)
		}
	}
	return b
}

// lengths are the lengths to try for a motion along d that brings a box clear of the one around it.
func lengths(b, around geom.Box, d geom.Vec) []float64 {
	if around.IsEmpty() {
		return carries
	}
	return []float64{clearing(b, around, d)}
}

// clearing is how far b has to go along d until it lies wholly outside around.
func clearing(b, around geom.Box, d geom.Vec) float64 {
	best := math.Inf(1)
	one := func(c, lowB, highB, low, high float64) {
		if c > 1e-9 {
			best = math.Min(best, (high+parting-lowB)/c)
		} else if c < -1e-9 {
			best = math.Min(best, (low-parting-highB)/c)
		}
	}
	one(d.X, b.Min.X, b.Max.X, around.Min.X, around.Max.X)
	one(d.Y, b.Min.Y, b.Max.Y, around.Min.Y, around.Max.Y)
	one(d.Z, b.Min.Z, b.Max.Z, around.Min.Z, around.Max.Z)
	return math.Max(best, parting)
}

// axes are the six directions of the room; up first, then out from the back wall (the frame's y is the design's,
// turned round), sideways, back and down.
var axes = []geom.Vec{{Z: 1}, {Y: -1}, {X: 1}, {X: -1}, {Y: 1}, {Z: -1}}

// directions lists the ways a group may go that leads into none of its contacts: those that part from all of them
// before those that slide along one.
func (s *scene) directions(cs []contact) []geom.Vec {
	var all []geom.Vec
	var sum geom.Vec
	for _, c := range cs {
		if !c.hole {
			sum = sum.Add(c.normal)
		}
	}
	if sum.Len() > leastParting {
		all = append(all, sum.Unit())
	}
	for _, c := range cs {
		all = append(all, c.normal)
		if c.hole {
			all = append(all, c.normal.Neg())
		}
	}
	all = append(all, axes...)
	for i, a := range axes {
		for _, b := range axes[i+1:] {
			if a.Dot(b) == 0 {
				all = append(all, a.Add(b).Unit())
			}
		}
	}
	var out []geom.Vec
	for _, d := range all {
		if parts(d, cs) > -1e-9 && s.follows(d, cs) && !known(out, d) {
			out = append(out, d)
		}
	}
	sortBy(out, func(d geom.Vec) int { return -int(math.Round(parts(d, cs) * 1e3)) })
	return out
}

// holeTolerance is the sine of the angle up to which a motion goes along a hole: a pipe has about a millimetre of play
// in it.
const holeTolerance = 0.01

// follows tells whether d goes along the holes and running threads that a group is held by, if any.
func (s *scene) follows(d geom.Vec, cs []contact) bool {
	for _, c := range cs {
		if c.hole && d.Cross(c.normal).Len() > holeTolerance {
			return false
		}
		if s.f.joints[c.joint].state == loosened && d.Dot(c.normal) < 1-1e-6 {
			return false
		}
	}
	return true
}

func known(list []geom.Vec, d geom.Vec) bool {
	for _, e := range list {
		if e.Near(d, 1e-6) {
			return true
		}
	}
	return false
}

// parts is the least sine between d and the contact faces: how plainly a motion along d parts from all of them. It
// is 1 without any.
func parts(d geom.Vec, cs []contact) float64 {
	least := 1.0
	for _, c := range cs {
		if !c.hole {
			least = math.Min(least, c.normal.Dot(d))
		}
	}
	return least
}
