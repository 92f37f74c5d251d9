package unite

import (
	"cmp"
	"math"
	"slices"

	"turnwise/geom"
)

// flat is a point in the plane of a triangle.
type flat struct{ x, y float64 }

func (p flat) sub(q flat) flat      { return flat{p.x - q.x, p.y - q.y} }
func (p flat) cross(q flat) float64 { return p.x*q.y - p.y*q.x }
func (p flat) dot(q flat) float64   { return p.x*q.x + p.y*q.y }

// turn is twice the area of the triangle, positive when it runs anticlockwise.
func turn(a, b, c flat) float64 { return b.sub(a).cross(c.sub(a)) }

// plane lays a triangle into a plane by leaving out the axis that it faces most, so that it runs anticlockwise.
type plane struct {
	axis int
	back bool
}

func planeOf(n geom.Vec) plane {
	x, y, z := math.Abs(n.X), math.Abs(n.Y), math.Abs(n.Z)
	switch {
	case x >= y && x >= z:
		return plane{0, n.X < 0}
	case y >= z:
		return plane{1, n.Y < 0}
	}
	return plane{2, n.Z < 0}
}

func (p plane) lay(v geom.Vec) flat {
	f := flat{v.X, v.Y}
	switch p.axis {
	case 0:
		f = flat{v.Y, v.Z}
	case 1:
		f = flat{v.Z, v.X}
	}
	if p.back {
		f.x = -f.x
	}
	return f
}

// half is a directed side of a face in a divided triangle. Those of the line have the triangle that they lie in.
type half struct {
	to    int32
	other int32 // -1 on the rim
	angle float64
	face  int32
}

// divide cuts every triangle along the pieces of line in it.
func (s *step) divide() error {
	for _, marks := range s.onEdge {
		slices.SortStableFunc(marks, func(a, b edgeMark) int { return cmp.Compare(a.t, b.t) })
	}
	n := int32(len(s.tris))
	for t := range n {
		if len(s.line[t]) == 0 {
			continue
		}
		d := division{s: s, t: t, out: map[int32][]half{}}
		if err := d.run(); err != nil {
			return err
		}
	}
	return nil
}

// division is one triangle that is cut.
type division struct {
	s      *step
	t      int32
	normal geom.Vec
	plane  plane
	at     map[int32]flat
	order  []int32 // points in the order in which they were met
	out    map[int32][]half
}

func (d *division) run() error {
	a, b, c := d.s.corners(d.t)
	d.normal = b.Sub(a).Cross(c.Sub(a)).Unit()
	d.plane = planeOf(d.normal)
	d.at = map[int32]flat{}
	d.rim()
	for _, l := range d.s.line[d.t] {
		d.side(l.a, l.b, l.other)
		d.side(l.b, l.a, l.other)
	}
	for _, v := range d.order {
		slices.SortStableFunc(d.out[v], func(a, b half) int { return cmp.Compare(a.angle, b.angle) })
	}
	faces, err := d.faces()
	if err != nil {
		return err
	}
	return d.fill(faces)
}

// rim adds the sides of the triangle, from cut to cut.
func (d *division) rim() {
	v := d.s.tris[d.t].v
	for k := range 3 {
		p, q := v[k], v[(k+1)%3]
		marks := d.s.onEdge[edgeOf(p, q)]
		from := p
		for i := range marks {
			m := marks[i]
			if p > q {
				m = marks[len(marks)-1-i]
			}
			d.side(from, m.v, -1)
			from = m.v
		}
		d.side(from, q, -1)
	}
}

func (d *division) point(v int32) flat {
	p, ok := d.at[v]
	if !ok {
		p = d.plane.lay(d.s.u.points[v])
		d.at[v] = p
		d.order = append(d.order, v)
	}
	return p
}

func (d *division) side(a, b, other int32) {
	p, q := d.point(a), d.point(b)
	d.out[a] = append(d.out[a], half{to: b, other: other, angle: math.Atan2(q.y-p.y, q.x-p.x), face: -1})
}

// loop is a closed way with a face on its left.
type loop struct {
	points []int32
	seams  []int32 // by side, from each point to the next: the other triangle, -1 on the rim
	area   float64
}

// faces goes round every face. Loops that run clockwise are holes.
func (d *division) faces() ([]loop, error) {
	var out []loop
	for _, v := range d.order {
		for k := range d.out[v] {
			if d.out[v][k].face >= 0 {
				continue
			}
			l, err := d.follow(v, k, int32(len(out)))
			if err != nil {
				return nil, err
			}
			out = append(out, l)
		}
	}
	return out, nil
}

func (d *division) follow(v int32, k int, face int32) (loop, error) {
	var l loop
	start, first := v, k
	for {
		h := &d.out[v][k]
		if h.face >= 0 {
			return l, fault(ErrSmall, "the line runs into itself")
		}
		h.face = face
		l.points, l.seams = append(l.points, v), append(l.seams, h.other)
		w := h.to
		k = d.next(v, w)
		if k < 0 {
			return l, fault(ErrSmall, "the line ends within a face")
		}
		if v = w; v == start && k == first {
			break
		}
	}
	for i := range l.points {
		a, b := d.at[l.points[i]], d.at[l.points[(i+1)%len(l.points)]]
		l.area += a.cross(b)
	}
	return l, nil
}

// next is the side that leaves w first, clockwise from the one that came from v.
func (d *division) next(v, w int32) int {
	hs := d.out[w]
	if len(hs) == 0 {
		return -1
	}
	p, q := d.at[w], d.at[v]
	angle := math.Atan2(q.y-p.y, q.x-p.x)
	best := len(hs) - 1 // the last of the turn before
	for i, h := range hs {
		if h.angle < angle && h.to != v {
			best = i
		}
	}
	if hs[best].to == v && len(hs) > 1 {
		// only the way back lies last: take the one before it
		best = (best + len(hs) - 1) % len(hs)
	}
	return best
}

// fill puts holes into the faces that they lie in, and every face into triangles.
func (d *division) fill(loops []loop) error {
	var outer []face
	for _, l := range loops {
		if l.area > 0 {
			outer = append(outer, face{loops: []loop{l}})
		}
	}
	for _, l := range loops {
		if l.area > 0 {
			continue
		}
		best := -1
		for i, f := range outer {
			if d.holds(f.loops[0], l) && (best < 0 || f.loops[0].area < outer[best].loops[0].area) {
				best = i
			}
		}
		if best < 0 {
			return fault(ErrSmall, "a face of the line is too small")
		}
		outer[best].loops = append(outer[best].loops, l)
	}
	d.s.tris[d.t].state = divided
	for _, f := range outer {
		st, err := d.stateOf(f)
		if err != nil {
			return err
		}
		for _, v := range f.triangles(d.at) {
			d.s.tris = append(d.s.tris, tri{v: v, body: d.s.tris[d.t].body, state: st})
		}
	}
	return nil
}

// face is a loop that runs anticlockwise, and the holes in it.
type face struct{ loops []loop }

// holds tells whether a hole lies in a loop that does not share its points.
func (d *division) holds(l, hole loop) bool {
	in := map[int32]bool{}
	for _, v := range l.points {
		in[v] = true
	}
	for _, v := range hole.points {
		if !in[v] {
			return windsRound(l.points, d.at, d.at[v])
		}
	}
	return false // the other side of the same loop
}

// windsRound tells whether a point lies in a polygon, by how often a ray to the right crosses it.
func windsRound(points []int32, at map[int32]flat, p flat) bool {
	odd := false
	for i := range points {
		a, b := at[points[i]], at[points[(i+1)%len(points)]]
		if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(p.y-a.y)*(b.x-a.x)/(b.y-a.y) {
			odd = !odd
		}
	}
	return odd
}

// stateOf tells whether a face lies inside the other skin: whether what is left of its sides on the line is behind the
// faces that it meets there. With n the normal of this triangle and m that of the other, the side runs along n x m where
// that is so.
func (d *division) stateOf(f face) (state, error) {
	in, out := 0.0, 0.0
	for _, l := range f.loops {
		for i, other := range l.seams {
			if other < 0 {
				continue
			}
			a, b, c := d.s.corners(other)
			way := d.normal.Cross(b.Sub(a).Cross(c.Sub(a))).Unit()
			by := d.s.u.points[l.points[(i+1)%len(l.points)]].Sub(d.s.u.points[l.points[i]]).Dot(way)
			if by > 0 {
				in += by
			} else {
				out -= by
			}
		}
	}
	if min(in, out) > 0.01*max(in, out) || max(in, out) == 0 {
		return unknown, fault(ErrSmall, "a face lies on both sides of the other body")
	}
	if in > out {
		return inside, nil
	}
	return outside, nil
}
