package sequence

import (
	"fmt"
	"slices"
	"strings"

	"turnwise/geom"
)

// Alike branches: what hangs on a thread is coded from its leaves up, so that equal branches of the tree of threads have
// equal codes. The code holds the kinds of parts and the ports they join by, and no angles: it guides the order only, and
// the same work is done on branches that point different ways. Whether whole groups are the same, or mirror images, is
// told by [frame.compare], from where their ports lie.

// branches is a tree of threads, rooted.
type branches struct {
	order    []int         // bodies, parents before children
	children map[int][]int // in the order of the joints
	code     map[int]int   // equal for equal branches
	left     map[int]int   // how many bodies of a code have no rank yet
}

// branchesFrom lays the tree of plain threads and two-jointed pieces from root on out, over the bodies that take
// accepts.
func (f *frame) branchesFrom(root int, class []int, take func(b int) bool) *branches {
	t := &branches{children: map[int][]int{}, code: map[int]int{}, left: map[int]int{}}
	t.order = append(t.order, root)
	seen := map[int]bool{root: true}
	by := map[int]int{root: -1} // the joint that leads to a body
	for i := 0; i < len(t.order); i++ {
		b := t.order[i]
		for _, k := range f.at[b] {
			j := &f.joints[k]
			if o := j.other(b); (j.isScrew() || j.isMember()) && !seen[o] && take(o) {
				seen[o], by[o] = true, k
				t.order, t.children[b] = append(t.order, o), append(t.children[b], o)
			}
		}
	}
	t.encode(f, class, by)
	return t
}

// encode gives every body the code of its branch, leaves first.
func (t *branches) encode(f *frame, class []int, by map[int]int) {
	known := map[string]int{}
	for _, b := range slices.Backward(t.order) {
		var parts []string
		for _, c := range t.children[b] {
			parts = append(parts, fmt.Sprintf("%s:%d", f.joints[by[c]].port(b), t.code[c]))
		}
		slices.Sort(parts)
		entry := ""
		if k := by[b]; k >= 0 {
			entry = f.joints[k].port(b)
		}
		key := fmt.Sprintf("%d|%s|%s", class[b], entry, strings.Join(parts, ","))
		if _, ok := known[key]; !ok {
			known[key] = len(known)
		}
		t.code[b] = known[key]
		t.left[t.code[b]]++
	}
}

// bundled lists the bodies so that each comes after the one it hangs on, branch by branch, and equal branches side by
// side: a branch waits until all its copies can be begun, as long as there is other work.
func (t *branches) bundled() []int {
	var out []int
	open := []int{t.order[0]} // branches that can be begun, the next one last
	ready := map[int]int{t.code[t.order[0]]: 1}
	for len(open) > 0 {
		pick := len(open) - 1
		for i := len(open) - 1; i >= 0; i-- {
			if c := t.code[open[i]]; ready[c] == t.left[c] {
				pick = i
				break
			}
		}
		code := t.code[open[pick]]
		var bundle, rest []int
		for _, b := range open {
			if t.code[b] == code {
				bundle = append(bundle, b)
			} else {
				rest = append(rest, b)
			}
		}
		slices.Reverse(bundle)
		open = rest
		t.left[code] -= len(bundle)
		ready[code] = 0
		out = append(out, bundle...)
		for _, b := range slices.Backward(bundle) {
			for _, c := range slices.Backward(t.children[b]) {
				open = append(open, c)
				ready[t.code[c]]++
			}
		}
	}
	return out
}

// likeness of two groups of bodies.
type groupLikeness int

const (
	different groupLikeness = iota
	mirrored                // the same in a mirror only
	same
)

// compare tells whether two lists of bodies, matched one to one, are the same group in two places, by where their ports
// lie to one another.
func (f *frame) compare(a, b []int, class []int) groupLikeness {
	if len(a) != len(b) {
		return different
	}
	pa, pb := f.portPoints(a), f.portPoints(b)
	if len(pa) != len(pb) {
		return different
	}
	for i := range a {
		if class[a[i]] != class[b[i]] {
			return different
		}
	}
	fa, fb, ok := frames(pa, pb)
	if !ok {
		return different
	}
	direct, flipped := true, true
	for i := range pa {
		u, v := fa.Local(pa[i]), fb.Local(pb[i])
		direct = direct && u.Near(v, sameSpot)
		v.Z = -v.Z
		flipped = flipped && u.Near(v, sameSpot)
	}
	switch {
	case direct:
		return same
	case flipped:
		return mirrored
	}
	return different
}

// portPoints lists where the ports of bodies lie; of bodies of wood the corners of their boxes.
func (f *frame) portPoints(bodies []int) []geom.Vec {
	var out []geom.Vec
	for _, b := range bodies {
		p := &f.parts[b]
		for _, q := range p.Ports {
			out = append(out, q.At)
		}
		for _, box := range p.Boxes {
			size := box.Size()
			for _, v := range []geom.Vec{box.Min, box.Min.Add(geom.V(size.X, 0, 0)), box.Min.Add(geom.V(0, size.Y, 0)), box.Min.Add(geom.V(0, 0, size.Z))} {
				out = append(out, p.Pose.Apply(v))
			}
		}
	}
	return out
}

// frames puts a frame on each of two lists of points, by the same three of them; points on one line take any frame along
// it. It fails when the distances between the three differ.
func frames(a, b []geom.Vec) (geom.Pose, geom.Pose, bool) {
	if len(a) < 2 {
		return geom.Identity(), geom.Identity(), len(a) == 0
	}
	far := 0
	for i := range a {
		if a[i].Sub(a[0]).Len() > a[far].Sub(a[0]).Len()+sameSpot {
			far = i
		}
	}
	if far == 0 {
		return geom.At(a[0]), geom.At(b[0]), true
	}
	off, most := -1, sameSpot
	axis := a[far].Sub(a[0]).Unit()
	for i := range a {
		if d := a[i].Sub(a[0]).Cross(axis).Len(); d > most+sameSpot {
			off, most = i, d
		}
	}
	frame := func(p []geom.Vec) (geom.Pose, bool) {
		z := p[far].Sub(p[0])
		x := z.Across()
		if off >= 0 {
			x = p[off].Sub(p[0])
		}
		if z.Len() < sameSpot || x.Cross(z.Unit()).Len() < sameSpot/2 {
			return geom.Pose{}, false
		}
		// The third axis is the one that a mirror turns round.
		q := geom.Facing(p[0], z, x)
		return geom.Pose{Origin: q.Origin, X: q.Z, Y: q.X, Z: q.Y}, true
	}
	fa, okA := frame(a)
	fb, okB := frame(b)
	return fa, fb, okA && okB
}
