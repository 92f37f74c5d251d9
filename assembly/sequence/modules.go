package sequence

import (
	"fmt"
	"math"
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
	roots    []int
	order    []int         // bodies, parents before children
	children map[int][]int // in the order of the joints
	code     map[int]int   // equal for equal branches
	left     map[int]int   // how many bodies of a code have no rank yet
}

// branchesFrom lays the trees of plain threads and two-jointed pieces that hang on roots out, over the bodies that take
// accepts. Hang names the joint on which a root hangs, -1 for none.
func (f *frame) branchesFrom(roots, hang []int, class []int, take func(b int) bool) *branches {
	t := &branches{children: map[int][]int{}, code: map[int]int{}, left: map[int]int{}}
	seen := map[int]bool{}
	by := map[int]int{} // the joint that leads to a body
	for i, r := range roots {
		if !seen[r] {
			t.order, t.roots = append(t.order, r), append(t.roots, r)
			seen[r], by[r] = true, hang[i]
		}
	}
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
			parts = append(parts, fmt.Sprintf("%s:%d", f.portSort(b, by[c]), t.code[c]))
		}
		slices.Sort(parts)
		entry := ""
		if k := by[b]; k >= 0 {
			entry = f.portSort(b, k)
		}
		key := fmt.Sprintf("%d|%s|%s", class[b], entry, strings.Join(parts, ","))
		if _, ok := known[key]; !ok {
			known[key] = len(known)
		}
		t.code[b] = known[key]
		t.left[t.code[b]]++
	}
}

// offGrid keeps distances of round figures away from where rounding would tell equal ones apart.
const offGrid = 0.381

// portSort tells the port that a body has in joint k from others of it that are not like it: the ends of a pipe or of a
// tee's run are alike, its branch is not. It is made of the distances to the other ports, and of the thread.
func (f *frame) portSort(body, k int) string {
	p, name := &f.parts[body], f.joints[k].port(body)
	var at geom.Vec
	for _, q := range p.Ports {
		if q.Name == name {
			at = q.At
		}
	}
	var far []int
	for _, q := range p.Ports {
		far = append(far, int(math.Floor(q.At.Sub(at).Len()/sameSpot+offGrid)))
	}
	slices.Sort(far)
	return fmt.Sprint(far, f.portSize(body, name), p.LeftEnd == name, p.Running == name)
}

// bundled lists the bodies so that each comes after the one it hangs on, branch by branch, and equal branches side by
// side: a branch waits until all its copies can be begun, as long as there is other work.
func (t *branches) bundled() []int {
	var out []int
	open := slices.Clone(t.roots) // branches that can be begun, the next one last
	slices.Reverse(open)
	ready := map[int]int{}
	for _, b := range open {
		ready[t.code[b]]++
	}
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
// lie to one another. Parts may be the other way round where they are alike both ways.
func (f *frame) compare(a, b []int, class []int) groupLikeness {
	if len(a) != len(b) || len(a) == 0 {
		return different
	}
	pa, pb := make([][]geom.Vec, len(a)), make([][]geom.Vec, len(b))
	for i := range a {
		if class[a[i]] != class[b[i]] {
			return different
		}
		pa[i], pb[i] = f.outlinePoints(a[i]), f.outlinePoints(b[i])
	}
	origin, far := middleOf(pa[0]), 0
	for i := range pa {
		if middleOf(pa[i]).Sub(origin).Len() > middleOf(pa[far]).Sub(origin).Len()+sameSpot {
			far = i
		}
	}
	if far == 0 {
		return different // nothing to tell a direction by
	}
	z := middleOf(pa[far]).Sub(origin)
	m, off := farthestOff(pa, origin, z.Unit())
	fa := turnedFrame(origin, z, off)
	best := different
	for _, q := range pb[m] {
		from := middleOf(pb[0])
		fb := turnedFrame(from, middleOf(pb[far]).Sub(from), q.Sub(from))
		if agree(fa, pa, fb, pb, 1) {
			return same
		}
		if agree(fa, pa, fb, pb, -1) {
			best = mirrored
		}
	}
	return best
}

// outlinePoints are the points that tell how a body lies: its ports, of wood the corners of its boxes.
func (f *frame) outlinePoints(b int) []geom.Vec {
	p := &f.parts[b]
	var out []geom.Vec
	for _, q := range p.Ports {
		out = append(out, q.At)
	}
	for _, box := range p.Boxes {
		for i := range 8 {
			v := box.Min
			if i&1 > 0 {
				v.X = box.Max.X
			}
			if i&2 > 0 {
				v.Y = box.Max.Y
			}
			if i&4 > 0 {
				v.Z = box.Max.Z
			}
			out = append(out, p.Pose.Apply(v))
		}
	}
	if len(out) == 0 {
		out = append(out, p.Pose.Origin)
	}
	return out
}

func middleOf(points []geom.Vec) geom.Vec {
	var sum geom.Vec
	for _, p := range points {
		sum = sum.Add(p)
	}
	return sum.Mul(1 / float64(len(points)))
}

// farthestOff finds the point that lies furthest off a line from origin: the body it belongs to, and the way to it.
func farthestOff(points [][]geom.Vec, origin, dir geom.Vec) (int, geom.Vec) {
	body, way, most := 0, points[0][0].Sub(origin), 0.0
	for i, list := range points {
		for _, p := range list {
			if d := p.Sub(origin).Cross(dir).Len(); d > most+sameSpot {
				body, way, most = i, p.Sub(origin), d
			}
		}
	}
	return body, way
}

// turnedFrame is a pose with X along z, Y towards off and Z square to both, the one that a mirror turns round.
func turnedFrame(origin, z, off geom.Vec) geom.Pose {
	q := geom.Facing(origin, z, off)
	return geom.Pose{Origin: origin, X: q.Z, Y: q.X, Z: q.Y}
}

// agree tells whether every point of each body in its frame lies on one of its match in the other frame, with the third
// axis times flip.
func agree(fa geom.Pose, a [][]geom.Vec, fb geom.Pose, b [][]geom.Vec, flip float64) bool {
	for i := range a {
		if len(a[i]) != len(b[i]) {
			return false
		}
		for _, p := range a[i] {
			u := fa.Local(p)
			if !slices.ContainsFunc(b[i], func(q geom.Vec) bool {
				v := fb.Local(q)
				v.Z *= flip
				return u.Near(v, sameSpot)
			}) {
				return false
			}
		}
	}
	return true
}
