package sequence

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/closing"
)

// Repeats: what is done several times over is one step with one entry for each further copy.
//
// Groups that are built on the bench by the same steps, and are the same or mirror images, are built together. Each
// stands for itself on the bench, so their steps may change places with whatever lies between. Steps that follow one
// another anyway and do the same to equal parts are joined where they are: their order, which is proven, stays.

// job is a step on its way into a step with repeats.
type job struct {
	step     assembly.Step
	bundle   int // jobs of one bundle are copies of one another; 0: as they come
	mirrored bool
}

// gather joins equal steps and numbers the steps anew.
func (f *frame) gather(steps []assembly.Step) []assembly.Step {
	g := &gatherer{f: f, class: classes(f.parts), joint: f.jointIndex()}
	jobs := g.together(steps)
	var out []assembly.Step
	for i := 0; i < len(jobs); {
		n := 1
		for i+n < len(jobs) && g.copies(jobs[i:i+n], jobs[i+n]) {
			n++
		}
		s := merged(jobs[i : i+n])
		s.Number = len(out) + 1
		out = append(out, s)
		i += n
	}
	return out
}

type gatherer struct {
	f     *frame
	class []int
	joint map[string]int
}

// merged makes one step of copies.
func merged(jobs []job) assembly.Step {
	s := jobs[0].step
	s.Repeats = []assembly.Repeat{}
	for _, j := range jobs[1:] {
		o := j.step
		s.Repeats = append(s.Repeats, assembly.Repeat{
			Moves: o.Moves, Onto: o.Onto, Joints: o.Joints, Start: o.Start, Motion: o.Motion, Draws: o.Draws, Clock: o.Clock,
		})
		s.SwingRadiusMM, s.People = math.Max(s.SwingRadiusMM, o.SwingRadiusMM), max(s.People, o.People)
		s.Mirrored = s.Mirrored || j.mirrored
	}
	return s
}

// copies tells whether a job does again what those before it do.
func (g *gatherer) copies(done []job, next job) bool {
	first := done[0]
	if first.bundle != 0 || next.bundle != 0 {
		return first.bundle == next.bundle
	}
	if !g.alike(first.step, next.step) {
		return false
	}
	for _, d := range done {
		for _, id := range d.step.Moves {
			if slices.Contains(next.step.Onto, id) {
				return false // it goes on what a copy has just put there: that is another step up
			}
		}
	}
	return true
}

// alike tells whether two steps do the same to equal parts.
func (g *gatherer) alike(a, b assembly.Step) bool {
	if len(a.Moves) == 0 || len(a.Onto) == 0 || a.Action == assembly.Adjust || len(a.Draws)+len(b.Draws) > 0 || g.key(a) != g.key(b) || g.half(a) != g.half(b) {
		return false
	}
	if len(a.Moves) == 1 {
		return true
	}
	return a.Where == "bench" && a.Action == assembly.Screw && g.f.compare(g.bodies(a.Moves), g.bodies(b.Moves), g.class) == same
}

func (g *gatherer) bodies(ids []string) []int {
	out := make([]int, len(ids))
	for i, id := range ids {
		out[i] = g.f.index[id]
	}
	return out
}

// key is all that copies of a step have in common.
func (g *gatherer) key(s assembly.Step) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s|%s|%.9f|%d", s.Action, s.Where, s.Turns, s.People)
	for _, x := range g.bodies(s.Moves) {
		fmt.Fprintf(&b, "|m%d", g.class[x])
	}
	onto := g.bodies(s.Onto)
	slices.SortFunc(onto, func(x, y int) int { return cmp.Compare(g.class[x], g.class[y]) })
	for _, x := range onto {
		fmt.Fprintf(&b, "|o%d", g.class[x])
	}
	for _, id := range s.Joints {
		j := &g.f.joints[g.joint[id]]
		fmt.Fprintf(&b, "|j%s%s", j.Kind, j.Hand)
		if len(s.Moves) > 0 {
			if k := g.f.index[s.Moves[0]]; j.a == k || j.b == k {
				b.WriteString(g.f.portSort(k, g.joint[id]))
			}
		}
	}
	for _, m := range s.Motion {
		fmt.Fprintf(&b, "|%s", m.Kind)
	}
	if c := s.Clock; c != nil {
		fmt.Fprintf(&b, "|c%s,%d", c.Port, c.Symmetry)
	}
	return b.String()
}

// benchGroup is a group that is built by itself on the bench.
type benchGroup struct {
	steps  []int
	bodies []int // in the order in which they come
	key    string
}

// benchGroups finds, for every group begun on the bench, the steps up to where it is joined to another or carried away.
func (g *gatherer) benchGroups(steps []assembly.Step) []*benchGroup {
	u := closing.NewForest(len(g.f.parts))
	here := make([]bool, len(g.f.parts))
	of := map[int]*benchGroup{} // by root; nil once it is no more by itself
	var out []*benchGroup
	for i, s := range steps {
		touched := g.touched(s)
		var roots []int
		for _, b := range touched {
			if r := u.Root(b); here[b] && !slices.Contains(roots, r) {
				roots = append(roots, r)
			}
		}
		var group *benchGroup
		alone := s.Where == "bench" && len(s.Draws) == 0 && len(s.Moves) == 1 && !here[g.f.index[s.Moves[0]]]
		switch {
		case alone && len(roots) == 0:
			group = &benchGroup{}
			out = append(out, group)
		case alone && len(roots) == 1:
			group = of[roots[0]]
		}
		if group != nil {
			group.add(g, i, s)
		}
		for _, b := range touched {
			here[b] = true
			u.Join(touched[0], b)
		}
		if len(touched) > 0 {
			for _, r := range roots {
				delete(of, r)
			}
			of[u.Root(touched[0])] = group
		}
	}
	return out
}

// touched lists the bodies that a step has to do with; the room is no body of a group.
func (g *gatherer) touched(s assembly.Step) []int {
	out := append(g.bodies(s.Moves), g.bodies(s.Onto)...)
	for _, id := range s.Joints {
		j := &g.f.joints[g.joint[id]]
		out = append(out, j.a, j.b)
	}
	return slices.DeleteFunc(out, func(b int) bool { return b == g.f.room })
}

func (b *benchGroup) add(g *gatherer, i int, s assembly.Step) {
	b.steps = append(b.steps, i)
	b.key += g.key(s)
	for _, id := range s.Onto {
		b.key += fmt.Sprintf(" on %d", slices.Index(b.bodies, g.f.index[id]))
	}
	b.key += ";"
	b.bodies = append(b.bodies, g.bodies(s.Moves)...)
}

// together puts the steps of equal groups side by side, at the place of the first.
func (g *gatherer) together(steps []assembly.Step) []job {
	groups := g.benchGroups(steps)
	moved := make([]bool, len(steps))
	at := map[int][]job{} // by the step before which they go
	bundle := 0
	for i, first := range groups {
		if len(first.steps) < 2 || moved[first.steps[0]] {
			continue
		}
		all, mirror := []*benchGroup{first}, []bool{false}
		for _, o := range groups[i+1:] {
			if o.key != first.key || moved[o.steps[0]] {
				continue
			}
			if l := g.f.compare(first.bodies, o.bodies, g.class); l != different {
				all, mirror = append(all, o), append(mirror, l == mirrored)
			}
		}
		if len(all) < 2 {
			continue
		}
		for n := range first.steps {
			for _, copies := range g.byHalf(steps, all, n) {
				bundle++
				for _, c := range copies {
					k := all[c].steps[n]
					moved[k] = true
					at[first.steps[0]] = append(at[first.steps[0]], job{steps[k], bundle, mirror[c]})
				}
			}
		}
	}
	var out []job
	for i, s := range steps {
		out = append(out, at[i]...)
		if !moved[i] {
			out = append(out, job{step: s})
		}
	}
	return out
}

// half is the half of a union that a step moves, "" when it moves anything else.
func (g *gatherer) half(s assembly.Step) string {
	if len(s.Moves) != 1 {
		return ""
	}
	return g.f.parts[g.f.index[s.Moves[0]]].Half
}

// byHalf parts the n-th steps of groups by the half of a union that they bring: with the nut or without is other work,
// though both halves have one number.
func (g *gatherer) byHalf(steps []assembly.Step, groups []*benchGroup, n int) [][]int {
	var halves []string
	var out [][]int
	for c, group := range groups {
		h := g.half(steps[group.steps[n]])
		k := slices.Index(halves, h)
		if k < 0 {
			k, halves, out = len(halves), append(halves, h), append(out, nil)
		}
		out[k] = append(out[k], c)
	}
	return out
}

// works lists the work of steps one motion at a time, the further copies of a step as steps of their own, numbered in
// that order.
func works(steps []assembly.Step) []assembly.Step {
	var out []assembly.Step
	for _, s := range steps {
		copies := s.Repeats
		s.Repeats = []assembly.Repeat{}
		out = append(out, s)
		for _, r := range copies {
			c := s
			c.Moves, c.Onto, c.Joints, c.Start, c.Motion, c.Draws, c.Clock = r.Moves, r.Onto, r.Joints, r.Start, r.Motion, r.Draws, r.Clock
			out = append(out, c)
		}
	}
	for i := range out {
		out[i].Number = i + 1
	}
	return out
}
