package mesh

import (
	"math"
	"slices"
	"sync"

	"turnwise/geom"
)

// crossParts is the number of parts into which the search for crossings is divided. It does not depend on the number of
// cores.
const crossParts = 16

// Crossings lists the pairs of triangles that cut through one another or fold onto one another, in rising order.
// Triangles that only touch, within the rounding of the arithmetic, are not listed; nor are ones without area.
func Crossings(m *Mesh) [][2]int32 {
	boxes := make([]geom.Box, len(m.Triangles))
	for i := range boxes {
		boxes[i] = m.TriangleBox(i)
	}
	t := newBoxTree(boxes)
	var parts [crossParts][][2]int32
	var wg sync.WaitGroup
	for k := range crossParts {
		wg.Go(func() {
			for i := k * len(boxes) / crossParts; i < (k+1)*len(boxes)/crossParts; i++ {
				t.each(boxes[i], func(j int32) {
					if int(j) > i && m.cross(int32(i), j) {
						parts[k] = append(parts[k], [2]int32{int32(i), j})
					}
				})
			}
		})
	}
	wg.Wait()
	out := slices.Concat(parts[:]...)
	slices.SortFunc(out, func(a, b [2]int32) int {
		if a[0] != b[0] {
			return int(a[0] - b[0])
		}
		return int(a[1] - b[1])
	})
	return out
}

// orientNoise is the rounding of orient in units of the product of the three lengths: a few units in the last place.
const orientNoise = 1e-15

// orient is the sign of the volume of the tetrahedron (a, b, c, d): +1 when d lies on the side from which a, b, c run
// anticlockwise, 0 when the points are in one plane within rounding.
func orient(a, b, c, d geom.Vec) int {
	u, v, w := b.Sub(a), c.Sub(a), d.Sub(a)
	det := u.Cross(v).Dot(w)
	if math.Abs(det) <= orientNoise*math.Sqrt(sq(u)*sq(v)*sq(w)) {
		return 0
	}
	return sign(det)
}

func sign(x float64) int {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}

// cross tells whether triangles i and j cut through or fold onto one another.
func (m *Mesh) cross(i, j int32) bool { return m.Cross(m.Triangles[i], m.Triangles[j]) }

// Cross tells whether two triangles over the vertices of m cut through or fold onto one another. They need not be among
// its triangles.
func (m *Mesh) Cross(s, t [3]int32) bool {
	shared := 0
	for _, v := range s {
		if v == t[0] || v == t[1] || v == t[2] {
			shared++
		}
	}
	switch {
	case shared == 3:
		return true
	case shared == 2:
		return m.folded(s, t)
	}
	return m.sidesCut(s, t) || m.sidesCut(t, s) || m.flatOverlap(s, t)
}

// folded tells whether two triangles with a common side lie in one plane on the same side of it.
func (m *Mesh) folded(s, t [3]int32) bool {
	a := apexOf(s, t)
	b := apexOf(t, s)
	p := m.points(s)
	if orient(p[0], p[1], p[2], m.Vertices[b]) != 0 {
		return false
	}
	c, d := opposite(s, a)
	o, u := m.Vertices[c], m.Vertices[d].Sub(m.Vertices[c])
	off := func(v int32) geom.Vec { return u.Cross(m.Vertices[v].Sub(o)) }
	return off(a).Dot(off(b)) > 0
}

// apexOf returns the corner of s that t does not have.
func apexOf(s, t [3]int32) int32 {
	for _, v := range s {
		if v != t[0] && v != t[1] && v != t[2] {
			return v
		}
	}
	return s[0]
}

func (m *Mesh) points(t [3]int32) [3]geom.Vec {
	return [3]geom.Vec{m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]}
}

// sidesCut tells whether a side of s passes through the inside of t.
func (m *Mesh) sidesCut(s, t [3]int32) bool {
	p, q := m.points(s), m.points(t)
	var side [3]int
	for k := range 3 {
		side[k] = orient(q[0], q[1], q[2], p[k])
	}
	for k := range 3 {
		l := (k + 1) % 3
		if side[k]*side[l] < 0 && pierces(p[k], p[l], q) {
			return true
		}
	}
	return false
}

// pierces tells whether the line a-b passes through the inside of the triangle q.
func pierces(a, b geom.Vec, q [3]geom.Vec) bool {
	s := orient(a, b, q[0], q[1])
	return s != 0 && s == orient(a, b, q[1], q[2]) && s == orient(a, b, q[2], q[0])
}

// flatOverlap tells whether two triangles in one plane have sides that cross.
func (m *Mesh) flatOverlap(s, t [3]int32) bool {
	p, q := m.points(s), m.points(t)
	for k := range 3 {
		if orient(p[0], p[1], p[2], q[k]) != 0 {
			return false
		}
	}
	n := p[1].Sub(p[0]).Cross(p[2].Sub(p[0]))
	for k := range 3 {
		for l := range 3 {
			if flatCross(n, p[k], p[(k+1)%3], q[l], q[(l+1)%3]) {
				return true
			}
		}
	}
	return false
}

// flatCross tells whether the segments a-b and c-d in a plane square to n cross between their ends.
func flatCross(n, a, b, c, d geom.Vec) bool {
	turn := func(o, u, v geom.Vec) int {
		x := u.Sub(o).Cross(v.Sub(o)).Dot(n)
		if math.Abs(x) <= orientNoise*math.Sqrt(sq(u.Sub(o))*sq(v.Sub(o))*sq(n)) {
			return 0
		}
		return sign(x)
	}
	return turn(a, b, c)*turn(a, b, d) < 0 && turn(c, d, a)*turn(c, d, b) < 0
}
