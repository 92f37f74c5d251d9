package explode

import (
	"math"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// separate moves whole connected frames away from one another until none of their parts meet. Frames are held
// together by boards or the room only, so any direction will do: each goes out from the middle of all.
func (g *graph) separate() {
	if g.groups < 2 {
		return
	}
	var all geom.Vec
	mid := make([]geom.Vec, g.groups)
	boxes := g.groupBoxes(func(i int) geom.Box { return g.o.Boxes[g.parts[i].ID] })
	for k, b := range boxes {
		mid[k] = b.Centre()
		all = all.Add(mid[k].Mul(1 / float64(g.groups)))
	}
	gap := g.o.Gap(geom.AxisZ)
	const tries, step = 40, 0.05 // up to three times the distance
	for range tries {
		if !g.groupsMeet(boxes, gap) {
			return
		}
		for i, k := range g.group {
			if k >= 0 {
				g.offset[i] = g.offset[i].Add(mid[k].Sub(all).Mul(step))
			}
		}
	}
}

func (g *graph) groupBoxes(box func(i int) geom.Box) []geom.Box {
	out := make([]geom.Box, g.groups)
	for k := range out {
		out[k] = geom.EmptyBox()
	}
	for i, k := range g.group {
		if k >= 0 {
			out[k] = out[k].Union(box(i))
		}
	}
	return out
}

// groupsMeet tells whether two frames that stood clear of one another by a gap or more no longer do.
func (g *graph) groupsMeet(before []geom.Box, gap float64) bool {
	now := g.groupBoxes(g.box)
	for a := range now {
		for b := range a {
			if now[a].Gap(now[b]) < min(gap, before[a].Gap(before[b])) {
				return true
			}
		}
	}
	return false
}

// placeLoose puts boards, cleats and straps off what holds them, in the plan's order; those held only by other loose
// parts come after these.
func (g *graph) placeLoose() {
	g.placed = make([]bool, len(g.parts))
	for i := range g.parts {
		g.placed[i] = !isLoose(g.parts[i])
	}
	for range pushRounds {
		g.placeAll()
		if !g.pushBeyond() {
			return
		}
	}
}

// pushRounds is how often frames are pushed on beyond the boards they were put onto: once for each board in a row.
const pushRounds = 6

func (g *graph) placeAll() {
	todo := append([]int(nil), g.loose...)
	for len(todo) > 0 {
		var later []int
		for _, i := range todo {
			if !g.place(i, false) {
				later = append(later, i)
			}
		}
		if len(later) == len(todo) {
			g.place(later[0], true)
			later = later[1:]
		}
		todo = later
	}
}

// place puts one loose part off its holders along its leaving direction, and across that where they are on average.
// Unless forced it waits for at least one holder.
func (g *graph) place(i int, force bool) bool {
	var sum geom.Vec
	n := 0
	for _, h := range g.holders(i) {
		if g.placed[h] {
			sum, n = sum.Add(g.offset[h]), n+1
		}
	}
	if n == 0 && !force {
		return false
	}
	leave := g.leaving(i)
	mean := sum.Mul(1 / float64(max(1, n)))
	across := mean.Sub(leave.Mul(mean.Dot(leave)))
	g.offset[i] = across.Add(leave.Mul(g.height(i, leave) + g.moreLoose[i]))
	g.placed[i] = true
	return true
}

// height returns how far along its leaving direction a loose part goes: a gap clear of what it was put onto, and of the
// end of each post that goes through it and of the boards before it on that post. What was put onto the part in turn
// stays beyond it, and has a say only when nothing else has.
func (g *graph) height(i int, leave geom.Vec) float64 {
	gap := g.o.Gap(leave)
	low, _ := span(g.o.Boxes[g.parts[i].ID], leave)
	far, near, beside := math.Inf(-1), math.Inf(1), 0.0
	for _, j := range g.plan.Joints {
		h, ok := g.holder(j, i)
		if !ok || !g.placed[h] {
			continue
		}
		at := g.offset[h].Dot(leave)
		side := g.side(j, i, leave)
		switch {
		case j.Kind == assembly.Bored:
			_, end := span(g.box(h), leave)
			far = max(far, end+gap-low)
		case side > along:
			far = max(far, at+gap)
		case side < -along:
			near = min(near, at-gap)
		default:
			beside = at
		}
	}
	for _, k := range g.before(i, leave) {
		if g.placed[k] {
			_, top := span(g.box(k), leave)
			far = max(far, top+gap-low)
		}
	}
	switch {
	case !math.IsInf(far, -1):
		return far
	case !math.IsInf(near, 1):
		return near
	}
	return beside
}

// along is the cosine from which one direction counts as along another.
const along = 0.5

// side is the cosine between the way from a holder into part i and the way i leaves: 1 when i was put onto the holder,
// or lies on it, -1 when the holder was put onto i.
func (g *graph) side(j assembly.Joint, i int, leave geom.Vec) float64 {
	axis := g.axis(j)
	switch {
	case axis == nil:
		return 1
	case j.A.Part == g.parts[i].ID:
		return -axis.Dir.Dot(leave)
	}
	return axis.Dir.Dot(leave)
}

// pushBeyond moves frames that were put onto a board on until they are clear of it, and tells whether any moved. A
// frame that also carries the board has been dealt with where it is joined through the board.
func (g *graph) pushBeyond() bool {
	const slackMM = 0.1
	moved := false
	for _, i := range g.loose {
		leave := g.leaving(i)
		carries, beyond := map[int]bool{}, []int{}
		for _, j := range g.plan.Joints {
			h, ok := g.holder(j, i)
			if !ok || g.group[h] < 0 {
				continue
			}
			if g.side(j, i, leave) < -along {
				beyond = append(beyond, h)
			} else {
				carries[g.group[h]] = true
			}
		}
		if len(carries) == 0 {
			continue
		}
		for _, h := range beyond {
			short := (g.offset[i].Sub(g.offset[h])).Dot(leave) + g.o.Gap(leave) + g.moreBeyond[h]
			if carries[g.group[h]] || short < slackMM {
				continue
			}
			g.shift(g.group[h], leave.Mul(short))
			moved = true
		}
	}
	return moved
}

// shift moves a whole connected frame.
func (g *graph) shift(group int, by geom.Vec) {
	for i, k := range g.group {
		if k == group {
			g.offset[i] = g.offset[i].Add(by)
		}
	}
}

// before lists the boards that share a post with i and lie behind it, seen along leave.
func (g *graph) before(i int, leave geom.Vec) []int {
	var out []int
	low, _ := span(g.o.Boxes[g.parts[i].ID], leave)
	for _, k := range g.loose {
		if l, _ := span(g.o.Boxes[g.parts[k].ID], leave); k != i && l < low && g.sharePost(i, k) {
			out = append(out, k)
		}
	}
	return out
}

func (g *graph) sharePost(i, k int) bool {
	posts := g.posts(i)
	for _, p := range g.posts(k) {
		for _, q := range posts {
			if p == q {
				return true
			}
		}
	}
	return false
}

// posts lists the pipes that go through a board.
func (g *graph) posts(i int) []int {
	var out []int
	for _, j := range g.plan.Joints {
		if h, ok := g.holder(j, i); ok && j.Kind == assembly.Bored {
			out = append(out, h)
		}
	}
	return out
}

// span returns the least and greatest reach of a box along a unit vector.
func span(b geom.Box, dir geom.Vec) (low, high float64) {
	c := b.Corners()
	low, high = c[0].Dot(dir), c[0].Dot(dir)
	for _, p := range c {
		low, high = min(low, p.Dot(dir)), max(high, p.Dot(dir))
	}
	return low, high
}

// holder returns the part at the other end of j when i is at one.
func (g *graph) holder(j assembly.Joint, i int) (int, bool) {
	other := ""
	switch g.parts[i].ID {
	case j.A.Part:
		other = j.B.Part
	case j.B.Part:
		other = j.A.Part
	}
	h, ok := g.index[other]
	return h, ok
}

func (g *graph) holders(i int) []int {
	var out []int
	for _, j := range g.plan.Joints {
		if h, ok := g.holder(j, i); ok {
			out = append(out, h)
		}
	}
	return out
}

// leaving returns the unit direction in which a loose part comes off: back along the last straight stretch of the step
// that placed it; failing that a strap away from its board, and anything else away from what it is fixed to; failing
// that up.
func (g *graph) leaving(i int) geom.Vec {
	id := g.parts[i].ID
	for _, s := range g.plan.Steps {
		if len(s.Moves) == 1 && s.Moves[0] == id {
			if d := lastStretch(s.Motion).Neg().Unit(); d != (geom.Vec{}) {
				return d
			}
		}
		for _, r := range s.Repeats {
			if len(r.Moves) == 1 && r.Moves[0] == id {
				if d := lastStretch(r.Motion).Neg().Unit(); d != (geom.Vec{}) {
					return d
				}
			}
		}
	}
	if g.parts[i].Kind == standard.Strap {
		return g.parts[i].Pose.X.Neg() // its x axis points to the board
	}
	for _, j := range g.plan.Joints {
		axis := g.axis(j)
		if _, ok := g.holder(j, i); !ok || axis == nil {
			continue
		}
		if j.B.Part == id {
			return axis.Dir.Unit()
		}
		return axis.Dir.Neg().Unit()
	}
	return geom.AxisZ
}

// leastStretchMM is the shortest stretch that tells a direction: a board is let down onto what it lies on by half a
// millimetre after it was slid in, and comes off upwards.
const leastStretchMM = 0.1

func lastStretch(motion []assembly.Move) geom.Vec {
	for k := len(motion) - 1; k >= 0; k-- {
		if motion[k].Kind == assembly.Translate && motion[k].By.Len() > leastStretchMM {
			return motion[k].By
		}
	}
	return geom.Vec{}
}

// coaxialMM is how far apart two axes may be and still be drawn as one line.
const coaxialMM = 1

// throughBoards joins what faces one another through a board, a flange under it and one over it say, so that the two
// open in line and leave room for the board between them.
func (g *graph) throughBoards() {
	for _, i := range g.loose {
		faces := g.faces(i)
		for k, a := range faces {
			for _, b := range faces[k+1:] {
				across := b.axis.At.Sub(a.axis.At)
				across = across.Sub(a.axis.Dir.Mul(across.Dot(a.axis.Dir)))
				if a.axis.Dir.Dot(b.axis.Dir) > -0.99 || across.Len() > coaxialMM {
					continue
				}
				g.joints = append(g.joints, joint{a: a.part, b: b.part, dir: a.axis.Dir, least: 2 * g.o.Gap(a.axis.Dir)})
			}
		}
	}
}

// face is a part that is screwed to a board, with the line from it into the board.
type face struct {
	part int
	axis assembly.Axis
}

func (g *graph) faces(i int) []face {
	var out []face
	for _, j := range g.plan.Joints {
		h, ok := g.holder(j, i)
		axis := g.axis(j)
		if !ok || axis == nil || j.Kind != assembly.Face || isLoose(g.parts[h]) {
			continue
		}
		a := assembly.Axis{At: axis.At, Dir: axis.Dir.Unit()}
		if j.A.Part == g.parts[i].ID {
			a.Dir = a.Dir.Neg()
		}
		out = append(out, face{h, a})
	}
	return out
}

// align shifts frames that only boards hold together along their posts, so that the first board they share lies on
// all their posts at one height. What is still uneven further along is left to widenAgain.
func (g *graph) align() {
	done := make([]bool, g.groups)
	for _, i := range g.firstBoards() {
		leave := g.leaving(i)
		ends, order := g.postEnds(i, leave)
		if len(order) == 0 {
			continue
		}
		level := ends[order[0]]
		for _, k := range order {
			if done[k] {
				level = ends[k]
				break
			}
		}
		for _, k := range order {
			if !done[k] {
				g.shift(k, leave.Mul(level-ends[k]))
				done[k] = true
			}
		}
	}
}

// firstBoards returns the boards that posts go through, those first that are reached first along their posts.
func (g *graph) firstBoards() []int {
	var out []int
	at := map[int]float64{}
	for _, i := range g.loose {
		if len(g.posts(i)) > 0 {
			out = append(out, i)
			at[i], _ = span(g.o.Boxes[g.parts[i].ID], g.leaving(i))
		}
	}
	sort.SliceStable(out, func(a, b int) bool { return at[out[a]] < at[out[b]] })
	return out
}

// postEnds returns how far the posts of a board reach along its leaving direction, by frame, and the frames in the
// order of the plan's joints.
func (g *graph) postEnds(i int, leave geom.Vec) (ends map[int]float64, order []int) {
	ends = map[int]float64{}
	for _, p := range g.posts(i) {
		k := g.group[p]
		if k < 0 {
			continue
		}
		_, end := span(g.box(p), leave)
		if old, ok := ends[k]; !ok {
			order = append(order, k)
			ends[k] = end
		} else {
			ends[k] = max(old, end)
		}
	}
	return ends, order
}

// widenForBoards makes room for each board that a post goes through in the gap at the post's end, where the board is
// drawn.
func (g *graph) widenForBoards() {
	for _, i := range g.loose {
		leave := g.leaving(i)
		low, high := span(g.o.Boxes[g.parts[i].ID], leave)
		for _, k := range g.jointsBeyond(i, leave) {
			g.joints[k].least += high - low + g.o.Gap(leave)
			g.joints[k].taken += high - low + g.o.Gap(leave)
		}
	}
}

// widenAgain adds what boards still lack to the joints they are drawn in, and tells whether it did.
func (g *graph) widenAgain() bool {
	const slackMM = 0.5
	more := map[int]float64{}
	for _, i := range g.loose {
		leave := g.leaving(i)
		_, top := span(g.box(i), leave)
		for _, k := range g.jointsBeyond(i, leave) {
			j := g.joints[k]
			next := j.a
			if j.dir.Dot(leave) > 0 {
				next = j.b
			}
			low, _ := span(g.box(next), leave)
			if d := top + g.o.Gap(leave) - low; d > slackMM {
				more[k] = max(more[k], d)
			}
		}
	}
	keys := make([]int, 0, len(more))
	for k := range more {
		keys = append(keys, k)
	}
	sort.Ints(keys)
	for _, k := range keys {
		g.joints[k].least += more[k]
		g.joints[k].taken += more[k]
	}
	return len(keys) > 0
}

// jointsBeyond lists the joints at the far ends of a board's posts.
func (g *graph) jointsBeyond(i int, leave geom.Vec) []int {
	const straight = 0.9 // cosine: the joint lies along the leaving direction
	var out []int
	for _, p := range g.posts(i) {
		for k, j := range g.joints {
			if j.a == p && j.dir.Dot(leave) > straight || j.b == p && j.dir.Dot(leave) < -straight {
				out = append(out, k)
			}
		}
	}
	return out
}
