package picture

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/wording"
	"turnwise/geom"
)

// Modules: the groups of parts that a big frame is made of, each drawn apart in a picture of its own, equal ones once.

const (
	// bigFrame is the number of parts from which a frame has pictures of its groups.
	bigFrame = 40
	// leastModule is the number of parts from which a group is worth a picture, and mostOfFrame the share of the frame
	// from which one is the frame itself.
	leastModule = 4
	mostOfFrame = 0.6
	// alikeMM is how far equal groups may differ, from point to point.
	alikeMM = 0.5
	// moduleAxes is along how many lines a group is taken apart; what is joined along others stays together.
	moduleAxes = 2
)

// Module is a group of parts that hang together.
type Module struct {
	Parts  []string   // ids, in the order of the plan
	Copies [][]string // further groups that are the same but for where they stand
	Step   int        // the first step that works on one of them
	// OnItsOwn says that the plan puts it together by itself. Others grow with what goes between them: a post on which
	// boards are threaded must not be made whole before.
	OnItsOwn bool
}

// Modules returns the groups of a big frame, in the order they are begun: what hangs together when boards, cleats and
// straps are off; where that is the whole frame, the groups that the plan puts together by themselves before they are
// joined. A frame that is not big has none.
func Modules(plan *assembly.Plan) []Module {
	var parts []assembly.Part
	for _, p := range plan.Parts {
		if p.Kind != standard.Room {
			parts = append(parts, p)
		}
	}
	if len(parts) < bigFrame {
		return nil
	}
	groups := hanging(plan, parts)
	for _, g := range groups {
		if float64(len(g)) > mostOfFrame*float64(len(parts)) {
			return modulesOf(plan, benchGroups(plan, parts), true)
		}
	}
	return modulesOf(plan, groups, false)
}

// modulesOf makes modules of the groups that are worth a picture.
func modulesOf(plan *assembly.Plan, groups [][]string, onTheirOwn bool) []Module {
	groups = slices.DeleteFunc(groups, func(g []string) bool { return len(g) < leastModule })
	out := alikeOnce(plan, groups)
	for i := range out {
		out[i].OnItsOwn = onTheirOwn
	}
	return out
}

// hanging groups parts by their joints, loose parts and the room left out.
func hanging(plan *assembly.Plan, parts []assembly.Part) [][]string {
	sets := newSets()
	for _, p := range parts {
		if !isLoose(p) {
			sets.add(p.ID)
		}
	}
	for _, j := range plan.Joints {
		sets.join(j.A.Part, j.B.Part)
	}
	return sets.groups(parts)
}

// benchGroups are the groups that some step moves as a whole onto another group of parts, and that other group.
func benchGroups(plan *assembly.Plan, parts []assembly.Part) [][]string {
	sets := newSets()
	for _, p := range parts {
		if !isLoose(p) {
			sets.add(p.ID)
		}
	}
	var out [][]string
	for _, s := range plan.Steps {
		if len(s.Moves) >= leastModule && float64(len(s.Moves)) <= mostOfFrame*float64(len(parts)) && len(s.Onto) > 0 {
			for _, g := range sets.groups(parts) {
				if slices.Contains(g, s.Moves[0]) || slices.Contains(g, s.Onto[0]) {
					out = append(out, g)
				}
			}
		}
		work := append([]assembly.Repeat{{Moves: s.Moves, Onto: s.Onto}}, s.Repeats...)
		for _, r := range work {
			all := append(append([]string(nil), r.Moves...), r.Onto...)
			for _, id := range all {
				sets.join(all[0], id)
			}
		}
	}
	return apartFrom(out)
}

// apartFrom leaves out groups that share a part with one before.
func apartFrom(groups [][]string) [][]string {
	seen := map[string]bool{}
	var out [][]string
	for _, g := range groups {
		if slices.ContainsFunc(g, func(id string) bool { return seen[id] }) {
			continue
		}
		for _, id := range g {
			seen[id] = true
		}
		out = append(out, g)
	}
	return out
}

// sets joins names into sets.
type sets struct{ up map[string]string }

func newSets() *sets { return &sets{map[string]string{}} }

func (s *sets) add(id string) { s.up[id] = id }

func (s *sets) root(id string) string {
	for s.up[id] != id {
		id = s.up[id]
	}
	return id
}

// join makes one set of two; names that were not added are left out.
func (s *sets) join(a, b string) {
	if s.up[a] != "" && s.up[b] != "" {
		s.up[s.root(b)] = s.root(a)
	}
}

// groups returns the sets, each in the order of the parts.
func (s *sets) groups(parts []assembly.Part) [][]string {
	at := map[string]int{}
	var out [][]string
	for _, p := range parts {
		if s.up[p.ID] == "" {
			continue
		}
		r := s.root(p.ID)
		k, ok := at[r]
		if !ok {
			k = len(out)
			at[r] = k
			out = append(out, nil)
		}
		out[k] = append(out[k], p.ID)
	}
	return out
}

// alikeOnce gathers equal groups, and puts them in the order they are begun.
func alikeOnce(plan *assembly.Plan, groups [][]string) []Module {
	var out []Module
	var shapes [][]spot
	for _, g := range groups {
		spots := spotsOf(plan, g)
		k := slices.IndexFunc(shapes, func(o []spot) bool { return alike(o, spots) })
		if k < 0 {
			out, shapes = append(out, Module{Parts: g}), append(shapes, spots)
			continue
		}
		out[k].Copies = append(out[k].Copies, g)
	}
	for i := range out {
		out[i].Step = firstStep(plan, append([][]string{out[i].Parts}, out[i].Copies...))
	}
	sort.SliceStable(out, func(i, k int) bool { return out[i].Step < out[k].Step })
	return out
}

// firstStep is the number of the first step that moves one of some parts, 0 when there is none.
func firstStep(plan *assembly.Plan, groups [][]string) int {
	mine := map[string]bool{}
	for _, g := range groups {
		for _, id := range g {
			mine[id] = true
		}
	}
	for _, s := range plan.Steps {
		if slices.ContainsFunc(s.Moves, func(id string) bool { return mine[id] }) {
			return s.Number
		}
	}
	return 0
}

// spot is a place of a group, with the number of the part it is on.
type spot struct {
	number int
	at     geom.Vec
}

// spotsOf lists the ports of a group's parts, and the middle of what has none.
func spotsOf(plan *assembly.Plan, ids []string) []spot {
	var out []spot
	for _, p := range plan.Parts {
		if !slices.Contains(ids, p.ID) {
			continue
		}
		if len(p.Ports) == 0 {
			out = append(out, spot{p.Number, p.Pose.Origin})
		}
		for _, q := range p.Ports {
			out = append(out, spot{p.Number, q.At})
		}
	}
	return out
}

// alike tells whether two groups are the same but for where they stand and how they are turned. Mirror images are not:
// of a group and its image one would be built the wrong way round. It looks for three spots of b that lie to one
// another as three of a do, and asks whether that brings all the others together.
func alike(a, b []spot) bool {
	if len(a) != len(b) || len(a) < 2 {
		return false
	}
	p, q, r := corners(a)
	for i := range b {
		for j := range b {
			if i == j || !alikeSide(a, b, p, q, i, j) {
				continue
			}
			if r < 0 {
				if laidOn(a, b, frameOf(a[p].at, a[q].at, nil), frameOf(b[i].at, b[j].at, nil)) {
					return true
				}
				continue
			}
			for k := range b {
				if alikeSide(a, b, p, r, i, k) && alikeSide(a, b, q, r, j, k) &&
					laidOn(a, b, frameOf(a[p].at, a[q].at, &a[r].at), frameOf(b[i].at, b[j].at, &b[k].at)) {
					return true
				}
			}
		}
	}
	return false
}

// corners returns three spots that span a group well: the first, the one farthest from it, and the one farthest from
// the line of these; -1 where all lie on one line.
func corners(a []spot) (p, q, r int) {
	r = -1
	for i := range a {
		if a[i].at.Sub(a[p].at).Len() > a[q].at.Sub(a[p].at).Len() {
			q = i
		}
	}
	dir, off := a[q].at.Sub(a[p].at).Unit(), alikeMM
	for i := range a {
		if d := a[i].at.Sub(a[p].at).Cross(dir).Len(); d > off {
			r, off = i, d
		}
	}
	return p, q, r
}

// alikeSide tells whether spots i and j of b lie to one another as p and q of a do.
func alikeSide(a, b []spot, p, q, i, j int) bool {
	return a[p].number == b[i].number && a[q].number == b[j].number &&
		math.Abs(a[p].at.Sub(a[q].at).Len()-b[i].at.Sub(b[j].at).Len()) <= alikeMM
}

// frameOf is a pose at p that looks to q, with r on its x side.
func frameOf(p, q geom.Vec, r *geom.Vec) geom.Pose {
	z := q.Sub(p).Unit()
	x := z.Across()
	if r != nil {
		x = r.Sub(p)
	}
	return geom.Facing(p, z, x)
}

// laidOn tells whether each spot of a, seen from one pose, has one of b at the same place of another, all of them
// different ones.
func laidOn(a, b []spot, from, onto geom.Pose) bool {
	taken := make([]bool, len(b))
	for _, s := range a {
		at := onto.Apply(from.Local(s.at))
		k := -1
		for i := range b {
			if !taken[i] && b[i].number == s.number && b[i].at.Near(at, alikeMM) {
				k = i
				break
			}
		}
		if k < 0 {
			return false
		}
		taken[k] = true
	}
	return true
}

// ExplodedModule draws one group of a frame taken apart, the n-th of some, with how many are made. Numbers are those of
// the whole frame.
func ExplodedModule(plan *assembly.Plan, meshes Meshes, m Module, n, of int) (*Picture, error) {
	words, err := wording.EnglishPages()
	if err != nil {
		return nil, err
	}
	part := *plan
	part.Parts, part.Joints, part.Findings = nil, nil, nil
	for _, p := range plan.Parts {
		if slices.Contains(m.Parts, p.ID) {
			part.Parts = append(part.Parts, p)
		}
	}
	for _, j := range plan.Joints {
		if slices.Contains(m.Parts, j.A.Part) && slices.Contains(m.Parts, j.B.Part) {
			part.Joints = append(part.Joints, j)
		}
	}
	what := words.Say("apart.what", fmt.Sprint(n), fmt.Sprint(of))
	note := words.Say("apart.grows")
	if m.OnItsOwn {
		note = words.Say("apart.own")
	}
	if k := len(m.Copies) + 1; k > 1 {
		what += ", " + words.Say("apart.alike", fmt.Sprint(k))
		if m.OnItsOwn {
			note = words.Say("apart.make", fmt.Sprint(k))
		}
	}
	s := newStage(&part, meshes)
	s.shut = shutLines(part.Joints)
	sh, err := explodedStage(s, what, note)
	if err != nil {
		return nil, err
	}
	return sh.picture(ModuleName(n))
}

// ModuleName names the picture of a group, without its ending.
func ModuleName(n int) string { return fmt.Sprintf("exploded-%d", n) }

// shutLines returns the directions that are not opened: all but those of the most joints.
func shutLines(joints []assembly.Joint) []geom.Vec {
	type line struct {
		dir geom.Vec
		n   int
	}
	var lines []line
	for _, j := range joints {
		if j.Axis == nil {
			continue
		}
		k := slices.IndexFunc(lines, func(l line) bool { return math.Abs(l.dir.Dot(j.Axis.Dir.Unit())) > sameLine })
		if k < 0 {
			k = len(lines)
			lines = append(lines, line{dir: j.Axis.Dir.Unit()})
		}
		lines[k].n++
	}
	sort.SliceStable(lines, func(i, k int) bool { return lines[i].n > lines[k].n })
	var out []geom.Vec
	for _, l := range lines[min(moduleAxes, len(lines)):] {
		out = append(out, l.dir)
	}
	return out
}

// sameLine is the cosine from which two directions are one line: two and a half degrees.
const sameLine = 0.999
