// Package explode tells how far each part of a plan is moved for the exploded picture. Parts are moved, never turned.
//
// Every joint with an axis opens along that axis and no other way, so where two mouths face one another in the
// picture, the part goes on along the line between them: the picture is the instruction. If t is how far a joint
// opens, then
//
//	offset(b) - offset(a) = t * dir,   t >= engagement + gap
//
// for all joints at once, also those that close a loop. Round a loop the openings must therefore cancel:
// sum of ± t * dir = 0. Taken along one axis of a square frame these are difference constraints, and the longest path
// would solve them. Here they are solved as one problem for frames of any angle: of all openings that meet the
// conditions, those with the least sum of (t - least t)² are taken. That ties the two axes of a 45 degree offset by
// itself, and spreads the slack of a loop's shorter side evenly over its joints, where the longest path would push
// all of it to one end.
//
// It always has a solution when each part's joints have axes through one point, or lie along one line: blowing the
// frame up about a point opens every joint in proportion to the distance between the middles of its parts. That very
// solution is added at the end, in the least measure, to make up what the iteration left short.
//
// Boards, cleats and straps hold many parts at once and tie none of them: they follow, each off the way it was placed.
// The room is not part of the picture.
package explode

import (
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// Options say how far things go.
type Options struct {
	// Gap returns the clear distance in mm wanted along a unit vector between what came apart.
	Gap func(dir geom.Vec) float64
	// Boxes are the bounding boxes of the parts in the finished frame, by id. Parts without one are left out.
	Boxes map[string]geom.Box
	// Cuts are joints, by id, that close instead of opening, and by how many mm at most: between the ends of a pipe of
	// which a stretch is left out. They close less where a ring asks for it.
	Cuts map[string]float64
	// Shut are unit vectors along which nothing opens: what is joined that way stays together.
	Shut []geom.Vec
	// Paper says how the picture is seen; nil to keep parts apart in space only.
	Paper *Paper
}

// Guide is a line the builder follows: from the mouth or end of one part to that of the part it joins.
type Guide struct {
	Joint    string // id
	From, To geom.Vec
}

// Result is where everything goes.
type Result struct {
	Offsets map[string]geom.Vec // by part id
	Guides  []Guide             // in the order of the plan's joints
	// Closed is how far each of the Cuts closed, by joint.
	Closed map[string]float64
	// Nested are the pairs of parts, by id, that lie over one another on paper as they should: a board and what stands
	// on the side of it that is seen.
	Nested [][2]string
	// Overlap is the largest share of an outline that another covers on paper, other than those; 0 without paper.
	Overlap float64
}

// Leaving returns the unit direction in which a board, cleat or strap of the plan comes off.
func Leaving(plan *assembly.Plan, part string) geom.Vec {
	g := &graph{plan: plan, index: map[string]int{}}
	for _, p := range plan.Parts {
		g.index[p.ID] = len(g.parts)
		g.parts = append(g.parts, p)
	}
	i, ok := g.index[part]
	if !ok {
		return geom.AxisZ
	}
	return g.leaving(i)
}

// Apart works out the offsets of all parts of the plan.
func Apart(plan *assembly.Plan, o Options) Result {
	g := newGraph(plan, o)
	g.widenForBoards()
	g.solve()
	g.evenAll()
	if o.Paper != nil {
		g.clearAll()
	}
	res := Result{Offsets: map[string]geom.Vec{}}
	for i, p := range g.parts {
		res.Offsets[p.ID] = g.offset[i]
	}
	res.Guides = g.guides()
	if len(o.Cuts) > 0 {
		res.Closed = map[string]float64{}
		for _, j := range g.joints {
			if j.isCut {
				res.Closed[j.id] = -j.open
			}
		}
	}
	if o.Paper != nil {
		res.Nested, res.Overlap = g.nestedIDs(), g.worstOverlap()
	}
	return res
}

// evenRounds is how often narrow gaps beside wide ones are widened. Each changes what closes the loops.
const evenRounds = 3

// evenAll widens the narrow gaps beside wide ones.
func (g *graph) evenAll() {
	for range evenRounds {
		if !g.even() {
			return
		}
		g.solve()
	}
}

// solve places everything for the openings that are wanted now.
func (g *graph) solve() {
	for range boardRounds {
		g.open()
		g.align()
		g.separate()
		g.placeLoose()
		if !g.widenAgain() {
			return
		}
	}
}

// boardRounds is how often joints are widened for the boards that are drawn in their gaps. Posts of unequal height
// need a second round.
const boardRounds = 4

// graph is the plan as bodies and joints with indices.
type graph struct {
	plan   *assembly.Plan
	o      Options
	parts  []assembly.Part
	index  map[string]int
	joints []joint // those that open along their axis
	loose  []int   // parts placed afterwards, in the plan's order
	offset []geom.Vec
	group  []int // by part: which connected frame it belongs to, -1 for loose parts
	groups int
	placed []bool
	// How much was added so that outlines on paper come clear, by joint and by part.
	moreJoint, moreLoose, moreBeyond []float64
	vain                             map[way]bool // ways that did not help
}

// joint opens along dir, from a to b.
type joint struct {
	id    string // "" for what faces one another through a board
	a, b  int
	at    geom.Vec // a point of its axis
	dir   geom.Vec
	least float64 // opening in mm
	open  float64
	taken float64 // of it by boards that are drawn in it
	shut  bool    // it stays as it is
	isCut bool    // it closes: a stretch of a pipe is left out there
}

func newGraph(plan *assembly.Plan, o Options) *graph {
	g := &graph{plan: plan, o: o, index: map[string]int{}}
	for _, p := range plan.Parts {
		if _, ok := o.Boxes[p.ID]; ok && p.Kind != standard.Room {
			g.index[p.ID] = len(g.parts)
			g.parts = append(g.parts, p)
		}
	}
	g.offset = make([]geom.Vec, len(g.parts))
	for i := range g.parts {
		if isLoose(g.parts[i]) {
			g.loose = append(g.loose, i)
		}
	}
	for _, j := range plan.Joints {
		a, okA := g.index[j.A.Part]
		b, okB := g.index[j.B.Part]
		axis := g.axis(j)
		if !okA || !okB || axis == nil || isLoose(g.parts[a]) || isLoose(g.parts[b]) {
			continue
		}
		dir := axis.Dir.Unit()
		k := joint{id: j.ID, a: a, b: b, at: axis.At, dir: dir, least: j.EngagementMM + o.Gap(dir)}
		if mm, ok := o.Cuts[j.ID]; ok {
			k.isCut, k.least = true, -mm
		}
		if !k.isCut && g.isShut(dir) {
			k.shut, k.least = true, 0
		}
		g.joints = append(g.joints, k)
	}
	g.throughBoards()
	g.connect()
	g.vain = map[way]bool{}
	g.moreJoint, g.moreLoose, g.moreBeyond = make([]float64, len(g.joints)), make([]float64, len(g.parts)), make([]float64, len(g.parts))
	return g
}

// isShut tells whether nothing opens along a direction.
func (g *graph) isShut(dir geom.Vec) bool {
	for _, d := range g.o.Shut {
		if math.Abs(d.Dot(dir)) > shutCosine {
			return true
		}
	}
	return false
}

// shutCosine is the cosine from which a joint's axis lies along a direction that is shut: two and a half degrees.
const shutCosine = 0.999

// axis returns the line a joint comes apart along, pointing from a to b: its own, or that of the port at one end. It is
// nil for a board that only lies on something.
func (g *graph) axis(j assembly.Joint) *assembly.Axis {
	if j.Axis != nil {
		return j.Axis
	}
	if p, ok := g.port(j.A); ok {
		return &assembly.Axis{At: p.At, Dir: p.Out}
	}
	if p, ok := g.port(j.B); ok {
		return &assembly.Axis{At: p.At, Dir: p.Out.Neg()}
	}
	return nil
}

// port finds the port at the end of a joint.
func (g *graph) port(e assembly.End) (assembly.Port, bool) {
	if i, ok := g.index[e.Part]; ok && e.Port != "" {
		for _, p := range g.parts[i].Ports {
			if p.Name == e.Port {
				return p, true
			}
		}
	}
	return assembly.Port{}, false
}

// isLoose tells whether a part follows the others instead of tying them: wood, and straps.
func isLoose(p assembly.Part) bool {
	return p.Kind == standard.Board || p.Kind == standard.Cleat || p.Kind == standard.Strap
}

// connect numbers the connected frames.
func (g *graph) connect() {
	g.group = make([]int, len(g.parts))
	for i := range g.group {
		g.group[i] = -1
	}
	next := g.neighbours()
	for i := range g.parts {
		if g.group[i] >= 0 || isLoose(g.parts[i]) {
			continue
		}
		queue := []int{i}
		g.group[i] = g.groups
		for len(queue) > 0 {
			p := queue[0]
			queue = queue[1:]
			for _, j := range next[p] {
				q := g.joints[j].a + g.joints[j].b - p
				if g.group[q] < 0 {
					g.group[q] = g.groups
					queue = append(queue, q)
				}
			}
		}
		g.groups++
	}
}

// neighbours lists the joints at each part.
func (g *graph) neighbours() [][]int {
	out := make([][]int, len(g.parts))
	for k, j := range g.joints {
		out[j.a] = append(out[j.a], k)
		out[j.b] = append(out[j.b], k)
	}
	return out
}

// box returns the box of a part where it is drawn.
func (g *graph) box(i int) geom.Box {
	b := g.o.Boxes[g.parts[i].ID]
	if b.IsEmpty() {
		return b
	}
	return geom.Box{Min: b.Min.Add(g.offset[i]), Max: b.Max.Add(g.offset[i])}
}

// guides returns the line of each joint that opened, and of each board to what it is fixed to.
func (g *graph) guides() []Guide {
	var out []Guide
	for _, j := range g.plan.Joints {
		a, okA := g.index[j.A.Part]
		b, okB := g.index[j.B.Part]
		axis := g.axis(j)
		if _, isCut := g.o.Cuts[j.ID]; !okA || !okB || axis == nil || j.Kind == assembly.Bored || isCut || g.isShut(axis.Dir.Unit()) {
			continue // the line of the joint at a post's end goes through the hole
		}
		from, to := g.end(a, j.A, *axis), g.end(b, j.B, *axis)
		if from.Near(to, leastGuideMM) || j.Kind == assembly.Rest && axis.Dir.Cross(to.Sub(from).Unit()).Len() > slantSine {
			continue
		}
		out = append(out, Guide{Joint: j.ID, From: from, To: to})
	}
	return out
}

// slantSine is the sine of the angle to its axis, about 10 degrees, from which the line of a board that only lies there
// is left out: such a line would lead past what it lies on.
const slantSine = 0.17

// leastGuideMM is the length below which a guide line says nothing.
const leastGuideMM = 1

// end returns where a joint's guide line meets a part as it is drawn: at its port, or where the joint is.
func (g *graph) end(i int, e assembly.End, axis assembly.Axis) geom.Vec {
	if p, ok := g.port(e); ok {
		return p.At.Add(g.offset[i])
	}
	return axis.At.Add(g.offset[i])
}
