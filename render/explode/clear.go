package explode

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// Paper says how the picture is seen, so that parts can be kept off one another on the sheet too.
type Paper struct {
	// Right, Up and Back are the unit vectors of the camera; Back points to the eye.
	Right, Up, Back geom.Vec
	// Corners are points of each part in the finished frame, by id, whose hull on paper is about its outline.
	Corners map[string][]geom.Vec
	// MostMM is how far any one joint or board is opened more for it, in all.
	MostMM float64
}

const (
	// clearRounds is how often joints are opened further for outlines that overlap on paper.
	clearRounds = 10
	// overlapShare is the share of the smaller outline that may be covered: our own choice.
	overlapShare = 0.05
	// clearShare is the space left between outlines that were moved apart, as a share of a gap.
	clearShare = 0.2
	// jointCost is how much dearer it is to open a joint than to take a board further off: the joint moves what hangs
	// on it, and leaves a gap unlike others.
	jointCost = 3
	// evenShare is the least share of the widest gap on a line that the others on it have. Gaps between this and 1
	// spread by at most a quarter of their mean: (1 - s) / (1 + s) = 0.25 at s = 0.6.
	evenShare = 0.64
)

// outline is a convex outline on paper, in order round it.
type outline []geom.Vec // z is 0

// outlines returns the outline of each part where it is drawn.
func (g *graph) outlines() []outline {
	out := make([]outline, len(g.parts))
	p := g.o.Paper
	for i, part := range g.parts {
		var pts []geom.Vec
		for _, v := range p.Corners[part.ID] {
			v = v.Add(g.offset[i])
			pts = append(pts, geom.V(v.Dot(p.Right), v.Dot(p.Up), 0))
		}
		out[i] = hull(pts)
	}
	return out
}

// clearAll opens joints further and takes boards further off, until no outlines overlap on paper or nothing more helps.
func (g *graph) clearAll() {
	t, _ := g.span()
	for range clearRounds {
		asked := g.clear(t)
		if len(asked) == 0 {
			return
		}
		g.solve()
		g.evenAll()
		if g.takeBack(asked) {
			g.solve()
		}
	}
}

// request is a pair of parts that overlapped by a share, and the way they were to be taken apart.
type request struct {
	a, b  int
	share float64
	way   way
}

// clear opens joints further whose parts, or those beyond them, overlap on paper, and returns what for. Of the joints
// between two parts, and the ways boards come off, the one is taken that needs the shortest way on paper.
func (g *graph) clear(t tree) []request {
	outs := g.outlines()
	var asked []request
	more := map[way]float64{}
	for a := range outs {
		for b := range a {
			s := share(outs[a], outs[b])
			if s <= overlapShare || g.nested(a, b) {
				continue
			}
			if w, d, ok := g.cheapest(t, outs, a, b); ok {
				more[w] = max(more[w], d)
				asked = append(asked, request{a, b, s, w})
			}
		}
	}
	for _, r := range asked {
		g.widen(r.way, more[r.way])
		delete(more, r.way)
	}
	return asked
}

// takeBack undoes what did not bring a pair clear, and tells whether there was any: what a part moves may come along
// with the other.
func (g *graph) takeBack(asked []request) bool {
	const helped = 0.97 // of the overlap before
	outs := g.outlines()
	good := map[way]bool{}
	for _, r := range asked {
		good[r.way] = good[r.way] || share(outs[r.a], outs[r.b]) <= helped*r.share
	}
	back := false
	for _, r := range asked {
		if !good[r.way] && !g.vain[r.way] {
			g.vain[r.way], back = true, true
			g.widen(r.way, -*g.more(r.way))
		}
	}
	return back
}

// worstOverlap is the largest share of the smaller outline that two parts have in common.
func (g *graph) worstOverlap() float64 {
	outs, worst := g.outlines(), 0.0
	for a := range outs {
		for b := range a {
			if s := share(outs[a], outs[b]); s > worst && !g.nested(a, b) {
				worst = s
			}
		}
	}
	return worst
}

// way is one way of taking two parts further apart: a joint that opens more, a loose part that goes further off, or a
// frame that was put onto a board and goes further beyond it.
type way struct {
	kind wayKind
	at   int // a joint or part
}

type wayKind int

const (
	byJoint wayKind = iota
	byLoose
	byBeyond
)

func (g *graph) widen(w way, by float64) {
	*g.more(w) += by
	if w.kind == byJoint {
		g.joints[w.at].least += by
	}
}

func (g *graph) more(w way) *float64 {
	switch w.kind {
	case byJoint:
		return &g.moreJoint[w.at]
	case byLoose:
		return &g.moreLoose[w.at]
	}
	return &g.moreBeyond[w.at]
}

// cheapest returns the way that takes b off a, or a off b, with the shortest move on paper, and how far that is in
// space.
func (g *graph) cheapest(t tree, outs []outline, a, b int) (best way, mm float64, ok bool) {
	least := math.Inf(1)
	try := func(w way, dir geom.Vec) { // dir is the way b goes, seen from a
		p := g.o.Paper
		flat := geom.V(dir.Dot(p.Right), dir.Dot(p.Up), 0)
		d := separation(outs[a], outs[b], flat) + clearShare*g.o.Gap(dir)
		c := d * flat.Len()
		if w.kind == byJoint {
			c *= jointCost
		}
		if c < least && !g.vain[w] && *g.more(w)+d <= p.MostMM {
			best, mm, least, ok = w, d, c, true
		}
	}
	if isLoose(g.parts[a]) {
		try(way{byLoose, a}, g.leaving(a).Neg())
		if g.isBeyond(a, b) {
			try(way{byBeyond, b}, g.leaving(a))
		}
	}
	if isLoose(g.parts[b]) {
		try(way{byLoose, b}, g.leaving(b))
		if g.isBeyond(b, a) {
			try(way{byBeyond, a}, g.leaving(b).Neg())
		}
	}
	from, to := g.carrier(a), g.carrier(b)
	if from < 0 || to < 0 {
		return best, mm, ok
	}
	for k, s := range g.between(t, from, to) {
		if s != 0 && !g.joints[k].isCut && !g.joints[k].shut {
			try(way{byJoint, k}, g.joints[k].dir.Mul(s))
		}
	}
	return best, mm, ok
}

// isBeyond tells whether a part was put onto a board, on the side the board comes off.
func (g *graph) isBeyond(board, part int) bool {
	leave := g.leaving(board)
	for _, j := range g.plan.Joints {
		if h, ok := g.holder(j, board); ok && h == part && g.group[h] >= 0 && g.side(j, board, leave) < -along {
			return true
		}
	}
	return false
}

// carrier is the part of a connected frame that a part moves with: itself, or what holds it; -1 for none.
func (g *graph) carrier(i int) int {
	if !isLoose(g.parts[i]) {
		return i
	}
	for _, h := range g.holders(i) {
		if !isLoose(g.parts[h]) {
			return h
		}
	}
	return -1
}

// between returns for each joint whether it lies on the way from one part to another along the tree: 1 when it is
// passed from its a to its b, -1 the other way, 0 when it is not passed.
func (g *graph) between(t tree, from, to int) []float64 {
	out := make([]float64, len(g.joints))
	if g.group[from] != g.group[to] {
		return out
	}
	for p := to; t.by[p] >= 0; p = t.from[p] {
		out[t.by[p]] += g.along(t.by[p], p)
	}
	for p := from; t.by[p] >= 0; p = t.from[p] {
		out[t.by[p]] -= g.along(t.by[p], p)
	}
	return out
}

// nested tells whether two parts overlap as they should: one is a board, and the other stands on its face or in line
// with its hole, on the side that is seen.
func (g *graph) nested(a, b int) bool {
	board, other := a, b
	if !isLoose(g.parts[board]) {
		board, other = b, a
	}
	if !isLoose(g.parts[board]) || isLoose(g.parts[other]) || !g.inLine(board, other) {
		return false
	}
	leave := g.leaving(board)
	before, _ := span(g.box(board), leave)
	at := g.box(other).Centre().Dot(leave)
	toEye := leave.Dot(g.o.Paper.Back)
	return (at-before)*toEye > 0
}

// inLine tells whether a part holds a board, or is joined to the far end of a post that goes through it.
func (g *graph) inLine(board, other int) bool {
	for _, j := range g.plan.Joints {
		if h, ok := g.holder(j, board); ok && h == other && j.Kind != assembly.Rest {
			return true
		}
	}
	for _, k := range g.jointsBeyond(board, g.leaving(board)) {
		if g.joints[k].a == other || g.joints[k].b == other {
			return true
		}
	}
	return false
}

// nestedIDs lists the pairs of parts that overlap as they should.
func (g *graph) nestedIDs() [][2]string {
	var out [][2]string
	for a := range g.parts {
		for b := range a {
			if g.nested(a, b) {
				out = append(out, [2]string{g.parts[a].ID, g.parts[b].ID})
			}
		}
	}
	return out
}

// even widens the narrow gaps on lines on which others had to be opened wide, and tells whether it did.
func (g *graph) even() bool {
	const slackMM = 0.5
	any := false
	for _, line := range g.lines() {
		widest := 0.0
		for _, k := range line {
			widest = max(widest, g.clearOf(k))
		}
		for _, k := range line {
			if d := evenShare*widest - g.clearOf(k); d > slackMM {
				g.joints[k].least += d
				any = true
			}
		}
	}
	return any
}

// clearOf is how much of a joint's opening is air: less what the board that is drawn in it takes.
func (g *graph) clearOf(k int) float64 { return g.joints[k].open - g.joints[k].taken }

// lines groups the joints by the line their axis lies on, in the order of the joints. Joints with boards in them are
// on none: their gap is made for the board.
func (g *graph) lines() [][]int {
	const straight, offMM = 1 - 1e-6, coaxialMM
	var out [][]int
	for k, j := range g.joints {
		if j.taken > 0 || j.id == "" || j.isCut || j.shut {
			continue
		}
		found := false
		for n := range out {
			f := g.joints[out[n][0]]
			off := j.at.Sub(f.at)
			if math.Abs(j.dir.Dot(f.dir)) > straight && off.Sub(f.dir.Mul(off.Dot(f.dir))).Len() < offMM {
				out[n], found = append(out[n], k), true
				break
			}
		}
		if !found {
			out = append(out, []int{k})
		}
	}
	return out
}
