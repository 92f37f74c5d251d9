package sequence

import (
	"fmt"
	"slices"
	"strings"

	"turnwise/assembly"
)

// Classes of bodies by the builder's wishes: a body of a lower class is put on before one of a higher.
const (
	comesFirst = iota
	comesBetween
	comesLast
)

// wishes is what the builder asked for, by body.
type wishes struct {
	class []int
	after map[int][]int // bodies that wait for others: put on after them
	any   bool
}

// readWishes turns the builder's wishes into classes and pairs. Whatever lies between the parts named for the
// beginning, on the threads that join them, comes with them.
func (f *frame) readWishes() wishes {
	w := wishes{class: make([]int, len(f.parts)), after: map[int][]int{}}
	for i := range w.class {
		w.class[i] = comesBetween
	}
	for _, wish := range f.a.Wishes {
		a, b := f.bodiesOf(wish.A), f.bodiesOf(wish.B)
		switch wish.Kind {
		case "first":
			for _, x := range f.span(a) {
				w.class[x], w.any = comesFirst, true
			}
		case "last":
			for _, x := range a {
				w.class[x], w.any = comesLast, true
			}
		case "before":
			for _, x := range b {
				w.after[x], w.any = append(w.after[x], a...), true
			}
		}
	}
	return w
}

// bodiesOf lists the bodies that ids name; both halves when a whole union is named.
func (f *frame) bodiesOf(ids []string) []int {
	var out []int
	for _, id := range ids {
		for _, name := range []string{id, id + ".a", id + ".b"} {
			if b, ok := f.index[name]; ok && b != f.room {
				out = append(out, b)
			}
		}
	}
	return out
}

// span is the bodies named and those on the plain threads between them.
func (f *frame) span(bodies []int) []int {
	keep := map[int]bool{}
	for _, b := range bodies {
		keep[b] = true
	}
	degree := make([]int, len(f.parts))
	gone := make([]bool, len(f.parts))
	for b := range f.parts {
		for _, k := range f.at[b] {
			if f.joints[k].isScrew() {
				degree[b]++
			}
		}
	}
	var bare []int
	drop := func(b int) {
		if degree[b] <= 1 && !keep[b] && !gone[b] {
			gone[b] = true
			bare = append(bare, b)
		}
	}
	for b := range f.parts {
		drop(b)
	}
	for len(bare) > 0 {
		b := bare[0]
		bare = bare[1:]
		for _, k := range f.at[b] {
			if j := &f.joints[k]; j.isScrew() {
				degree[j.other(b)]--
				drop(j.other(b))
			}
		}
	}
	var out []int
	for b := range f.parts {
		if !gone[b] && (keep[b] || f.nearKept(b, gone, keep)) {
			out = append(out, b)
		}
	}
	return out
}

// nearKept tells whether a body that pruning left hangs together with one of those kept: rings of other frames are
// left over too.
func (f *frame) nearKept(b int, gone []bool, keep map[int]bool) bool {
	seen := map[int]bool{b: true}
	queue := []int{b}
	for len(queue) > 0 {
		x := queue[0]
		queue = queue[1:]
		if keep[x] {
			return true
		}
		for _, k := range f.at[x] {
			j := &f.joints[k]
			if o := j.other(x); j.isScrew() && !gone[o] && !seen[o] {
				seen[o] = true
				queue = append(queue, o)
			}
		}
	}
	return false
}

// waits tells whether the wishes keep bodies from being taken off while others are there.
func (s *scene) waits(bodies []int) bool {
	w := &s.f.wishes
	if !s.strict || !w.any {
		return false
	}
	least := comesLast
	for _, b := range bodies {
		s.f.marked[b] = true
		least = min(least, w.class[b])
	}
	wait := false
	for _, b := range s.members {
		if s.f.marked[b] {
			continue
		}
		if w.class[b] > least {
			wait = true
		}
		for _, before := range w.after[b] {
			wait = wait || s.f.marked[before]
		}
	}
	for _, b := range bodies {
		s.f.marked[b] = false
	}
	return wait
}

// checkWishes reports the wishes that the steps do not keep, with the joint that forbids them.
func (f *frame) checkWishes(steps []assembly.Step) []assembly.Finding {
	steps = works(steps)
	first := map[int]int{}
	by := map[int]*assembly.Step{}
	for i := range steps {
		for _, id := range steps[i].Moves {
			b := f.index[id]
			if first[b] == 0 {
				first[b] = steps[i].Number
				by[b] = &steps[i]
			}
		}
	}
	var out []assembly.Finding
	for _, wish := range f.a.Wishes {
		early, late, ok := f.broken(wish, first, steps)
		if !ok {
			continue
		}
		fd := assembly.Finding{
			Code: "WISH", Severity: assembly.Warn, At: wish.At, Parts: []string{f.parts[early].ID, f.parts[late].ID},
			Values: map[string]float64{}, Repairs: []assembly.Repair{}, Source: "the order section of the design",
			Text: fmt.Sprintf("the wish %q is not kept: %s comes before %s", strings.TrimSpace(wish.Text), f.parts[early].ID, f.parts[late].ID),
		}
		if s := by[late]; s != nil && len(s.Joints) > 0 {
			fd.Text += fmt.Sprintf(", which hangs on it through %s", s.Joints[0])
		}
		out = append(out, fd)
	}
	return out
}

// broken finds two bodies that come in the wrong order for a wish.
func (f *frame) broken(wish assembly.Wish, first map[int]int, steps []assembly.Step) (early, late int, ok bool) {
	a, b := f.bodiesOf(wish.A), f.bodiesOf(wish.B)
	var others []int
	switch wish.Kind {
	case "first":
		span := f.span(a)
		for x := range f.parts {
			if x != f.room && !slices.Contains(span, x) {
				others = append(others, x)
			}
		}
		return wrong(a, others, first)
	case "last":
		for x := range f.parts {
			if x != f.room && !slices.Contains(a, x) {
				others = append(others, x)
			}
		}
		return wrong(others, a, first)
	case "before":
		return wrong(a, b, first)
	case "bench":
		return f.notOnBench(a, steps)
	}
	return 0, 0, false
}

// wrong finds a body of sooner that comes after one of later, the furthest apart.
func wrong(sooner, later []int, first map[int]int) (early, late int, ok bool) {
	if len(sooner) == 0 || len(later) == 0 {
		return 0, 0, false
	}
	late, early = sooner[0], later[0]
	for _, x := range sooner {
		if first[x] > first[late] {
			late = x
		}
	}
	for _, x := range later {
		if first[x] < first[early] {
			early = x
		}
	}
	return early, late, first[early] < first[late]
}

// notOnBench finds two bodies of a group that are joined in place.
func (f *frame) notOnBench(group []int, steps []assembly.Step) (int, int, bool) {
	in := map[string]bool{}
	for _, b := range group {
		in[f.parts[b].ID] = true
	}
	for _, s := range steps {
		if s.Where == "bench" {
			continue
		}
		for _, id := range s.Joints {
			for k := range f.joints {
				j := &f.joints[k]
				if j.ID == id && in[j.A.Part] && in[j.B.Part] {
					return j.a, j.b, true
				}
			}
		}
	}
	return 0, 0, false
}
