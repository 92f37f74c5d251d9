package unite

import (
	"slices"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// The least sizes along the line, in steps of 32-bit floats: a side shorter, a triangle lower than that can fold over when it is
// rounded.
const (
	shortGrains = 6
	lowGrains   = 4
)

// tidyRounds is how often sides are taken out and turned in a row: each round may make new work, seldom more than once.
const tidyRounds = 12

// tidy rounds the points of the line, takes out triangles without height there, and searches for crossings.
func (s *step) tidy() error {
	for i := int(s.cut); i < len(s.u.points); i++ {
		s.u.points[i] = mesh.Round32Vec(s.u.points[i])
	}
	s.smooth(s.cut)
	return s.examine(s.cut)
}

// settle does the same for a body before it meets others, where rounding it so far from the origin leaves low triangles.
func (s *step) settle() error {
	for _, t := range s.tris {
		p := s.u.points
		if mesh.Height(p[t.v[0]], p[t.v[1]], p[t.v[2]]) < lowGrains*s.u.grain {
			s.smooth(s.first)
			return s.examine(s.first)
		}
	}
	return nil
}

// smooth takes out low triangles at points from from on.
func (s *step) smooth(from int32) {
	w := newWeb(s, from)
	for range tidyRounds {
		if short, low := w.shorten(), w.raise(); !short && !low {
			break
		}
	}
	s.tris = slices.DeleteFunc(s.tris, func(t tri) bool { return t.v[0] == t.v[1] })
}

// web is the mesh about the line while it is tidied: its triangles by corner.
type web struct {
	s    *step
	star map[int32][]int32 // triangles that have the point; for points of the line and their neighbours all of them
	line []int32           // points of the line, as long as they are used
}

func newWeb(s *step, from int32) *web {
	w := &web{s: s, star: map[int32][]int32{}}
	near := make([]bool, len(s.u.points))
	for _, t := range s.tris {
		if s.at(t, from) {
			for _, v := range t.v {
				near[v] = true
			}
		}
	}
	for k, ts := range s.rest { // stars must be whole
		s.rest[k] = slices.DeleteFunc(ts, func(t [3]int32) bool {
			has := near[t[0]] || near[t[1]] || near[t[2]]
			if has {
				s.tris = append(s.tris, tri{v: t, body: int32(k)})
			}
			return has
		})
	}
	for i, t := range s.tris {
		for _, v := range t.v {
			if near[v] {
				w.star[v] = append(w.star[v], int32(i))
			}
		}
	}
	for v := from; v < int32(len(s.u.points)); v++ {
		if len(w.star[v]) > 0 {
			w.line = append(w.line, v)
		}
	}
	return w
}

// at tells whether a triangle has a corner among the points from from on.
func (s *step) at(t tri, from int32) bool { return max(t.v[0], t.v[1], t.v[2]) >= from }

// around lists the neighbours of a point, each once, in the order of its triangles.
func (w *web) around(v int32) []int32 {
	var out []int32
	for _, t := range w.star[v] {
		for _, x := range w.s.tris[t].v {
			if x != v && !slices.Contains(out, x) {
				out = append(out, x)
			}
		}
	}
	return out
}

// shorten takes points of the line onto neighbours that are too near.
func (w *web) shorten() bool {
	changed := false
	least := shortGrains * w.s.u.grain
	for _, v := range w.line {
		p := w.s.u.points[v]
		best, far := int32(-1), least
		for _, x := range w.around(v) {
			if d := w.s.u.points[x].Sub(p).Len(); d < far && w.mayJoin(v, x) {
				best, far = x, d
			}
		}
		if best >= 0 {
			w.join(v, best)
			changed = true
		}
	}
	return changed
}

// mayJoin tells whether v may be taken onto its neighbour x: they have just the two neighbours in common that their
// edge's triangles have, and no triangle turns over.
func (w *web) mayJoin(v, x int32) bool {
	common := 0
	other := w.around(x)
	for _, y := range w.around(v) {
		if slices.Contains(other, y) {
			common++
		}
	}
	if common != 2 {
		return false
	}
	for _, t := range w.star[v] {
		c := w.s.tris[t].v
		if slices.Contains(c[:], x) {
			continue
		}
		before := w.normal(c)
		for k := range 3 {
			if c[k] == v {
				c[k] = x
			}
		}
		if after := w.normal(c); before.Dot(after) <= 0 || w.height(c) < w.s.u.grain && w.height(c) < w.height(w.s.tris[t].v) {
			// A sliver's normal says little: it may turn as long as it gets no lower.
			if w.height(w.s.tris[t].v) > lowGrains*w.s.u.grain || w.height(c) < w.height(w.s.tris[t].v) {
				return false
			}
		}
	}
	return true
}

func (w *web) normal(c [3]int32) geom.Vec {
	p := w.s.u.points
	return mesh.Normal(p[c[0]], p[c[1]], p[c[2]])
}

func (w *web) height(c [3]int32) float64 {
	p := w.s.u.points
	return mesh.Height(p[c[0]], p[c[1]], p[c[2]])
}

// join takes v onto x. Triangles that had both are gone: all their corners are one.
func (w *web) join(v, x int32) {
	for _, t := range w.star[v] {
		c := &w.s.tris[t].v
		if slices.Contains(c[:], x) {
			for _, y := range c {
				if y != v {
					w.star[y] = slices.DeleteFunc(w.star[y], func(u int32) bool { return u == t })
				}
			}
			*c = [3]int32{x, x, x}
			continue
		}
		for k := range 3 {
			if c[k] == v {
				c[k] = x
			}
		}
		w.star[x] = append(w.star[x], t)
	}
	w.star[v] = nil
	w.line = slices.DeleteFunc(slices.Clone(w.line), func(u int32) bool { return u == v })
}

// raise gives low triangles at the line the other diagonal with their neighbour across the longest side.
func (w *web) raise() bool {
	changed := false
	least := lowGrains * w.s.u.grain
	for _, v := range w.line {
		for _, t := range slices.Clone(w.star[v]) {
			c := w.s.tris[t].v
			if c[0] != c[1] && w.height(c) < least && w.flip(t) {
				changed = true
			}
		}
	}
	return changed
}

// flip turns the longest side of a triangle, when that leaves both higher than the lower is.
func (w *web) flip(t int32) bool {
	c := w.s.tris[t].v
	p := w.s.u.points
	best, far := 0, -1.0
	for k := range 3 {
		if d := p[c[k]].Sub(p[c[(k+1)%3]]).Len(); d > far {
			best, far = k, d
		}
	}
	v, x, a := c[best], c[(best+1)%3], c[(best+2)%3]
	for _, o := range w.star[v] {
		d := w.s.tris[o].v
		if o == t || !slices.Contains(d[:], x) {
			continue
		}
		b := apex(d, v, x)
		if a == b || w.star[b] == nil || w.star[a] == nil || slices.Contains(w.around(a), b) {
			return false
		}
		first, second := [3]int32{a, v, b}, [3]int32{b, x, a}
		if min(w.height(first), w.height(second)) <= w.height(c) || w.normal(first).Dot(w.normal(d)) <= 0 || w.normal(second).Dot(w.normal(d)) <= 0 {
			return false
		}
		// The triangle across may belong to a body beside: both stay where their list is.
		w.s.tris[t].v, w.s.tris[o].v = first, second
		w.drop(x, t)
		w.drop(v, o)
		w.star[a] = append(w.star[a], o)
		w.star[b] = append(w.star[b], t)
		return true
	}
	return false
}

func (w *web) drop(v, t int32) {
	w.star[v] = slices.DeleteFunc(w.star[v], func(u int32) bool { return u == t })
}

// examine searches the triangles at points from from on, and those near them, for faults.
func (s *step) examine(from int32) error {
	var fresh []geom.Box
	for _, t := range s.tris {
		if s.at(t, from) {
			p := s.u.points
			if mesh.Height(p[t.v[0]], p[t.v[1]], p[t.v[2]]) < s.u.grain/8 {
				return fault(ErrSmall, "a triangle has no height")
			}
			fresh = append(fresh, s.u.boxOf(t.v))
		}
	}
	if err := s.distinct(from); err != nil {
		return err
	}
	near := mesh.Overlaps(fresh)
	m := &mesh.Mesh{Vertices: s.u.points}
	look := func(t [3]int32) {
		hit := false
		near(s.u.boxOf(t), func(int32) { hit = true })
		if hit {
			m.Triangles = append(m.Triangles, t)
		}
	}
	for _, t := range s.tris {
		look(t.v)
	}
	for _, ts := range s.rest {
		for _, t := range ts {
			look(t)
		}
	}
	if n := len(mesh.Crossings(m)); n > 0 {
		return fault(ErrSmall, "%d pairs of triangles cross after rounding", n)
	}
	return nil
}

// distinct tells whether no two points, of which one is from from on, became one by rounding: equal ones are made one in the end.
func (s *step) distinct(from int32) error {
	is := map[geom.Vec]int32{}
	for _, t := range s.tris {
		for _, v := range t.v {
			p := s.u.points[v]
			if w, ok := is[p]; ok && w != v && max(v, w) >= from {
				return fault(ErrSmall, "two points became one")
			}
			is[p] = v
		}
	}
	return nil
}
