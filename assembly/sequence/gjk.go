package sequence

import (
	"math"

	"turnwise/geom"
)

// solid is a convex body in the finished frame: a cylinder with flat ends, or a box in any position. Seg, when not
// zero, sweeps it along a straight line, which keeps it convex.
type solid struct {
	round  bool
	centre geom.Vec
	axis   geom.Vec    // round: unit, along the cylinder
	half   float64     // round: half its length
	radius float64     // round
	bore   float64     // round: radius of the hole along its axis, used between coaxial bodies only
	edge   [3]geom.Vec // box: half edges
	seg    geom.Vec
	of     []solid // the convex hull of these instead, when there are any
}

// support returns the point of s that lies furthest along d.
func (s *solid) support(d geom.Vec) geom.Vec {
	if len(s.of) > 0 {
		return farthestOf(s.of, d)
	}
	p := s.centre
	if s.round {
		along := s.axis.Dot(d)
		p = p.Add(s.axis.Mul(math.Copysign(s.half, along)))
		side := d.Sub(s.axis.Mul(along))
		if l := side.Len(); l > 1e-12*d.Len() {
			p = p.Add(side.Mul(s.radius / l))
		}
	} else {
		for _, e := range s.edge {
			if e.Dot(d) >= 0 {
				p = p.Add(e)
			} else {
				p = p.Sub(e)
			}
		}
	}
	if s.seg.Dot(d) > 0 {
		p = p.Add(s.seg)
	}
	return p
}

// farthestOf returns the point of several bodies that lies furthest along d.
func farthestOf(of []solid, d geom.Vec) geom.Vec {
	best := of[0].support(d)
	far := best.Dot(d)
	for i := 1; i < len(of); i++ {
		if p := of[i].support(d); p.Dot(d) > far {
			best, far = p, p.Dot(d)
		}
	}
	return best
}

// bounds returns the axis-parallel box round s.
func (s *solid) bounds() geom.Box {
	var h geom.Vec
	if s.round {
		a := s.axis
		round := func(c float64) float64 { return math.Abs(c)*s.half + s.radius*math.Sqrt(math.Max(0, 1-c*c)) }
		h = geom.V(round(a.X), round(a.Y), round(a.Z))
	} else {
		for _, e := range s.edge {
			h = h.Add(geom.V(math.Abs(e.X), math.Abs(e.Y), math.Abs(e.Z)))
		}
	}
	b := geom.Box{Min: s.centre.Sub(h), Max: s.centre.Add(h)}
	return b.Union(geom.Box{Min: b.Min.Add(s.seg), Max: b.Max.Add(s.seg)})
}

// moved returns s shifted by v.
func (s solid) moved(v geom.Vec) solid {
	s.centre = s.centre.Add(v)
	return s
}

// swept returns s swept along v.
func (s solid) swept(v geom.Vec) solid {
	s.seg = v
	return s
}

// shrunk returns s with every face moved inwards by d, but never to nothing.
func (s solid) shrunk(d float64) solid {
	if s.round {
		s.half = math.Max(s.half-d, s.half/2)
		s.radius = math.Max(s.radius-d, s.radius/2)
		return s
	}
	for i, e := range s.edge {
		if l := e.Len(); l > 0 {
			s.edge[i] = e.Mul(math.Max(l-d, l/2) / l)
		}
	}
	return s
}

// turned returns s turned about the line through at along the unit vector dir, and shifted along it.
func (s solid) turned(at, dir geom.Vec, angle, advance float64) solid {
	p := geom.Pose{Origin: s.centre, X: s.edge[0], Y: s.edge[1], Z: s.edge[2]}.Turned(at, dir, angle, advance)
	s.centre, s.edge = p.Origin, [3]geom.Vec{p.X, p.Y, p.Z}
	if s.round {
		s.axis = geom.Pose{Origin: geom.Vec{}, X: s.axis}.Turned(geom.Vec{}, dir, angle, 0).X
	}
	return s
}

// Limits of the distance iteration. Each round nears the true distance; round bodies are reached only in the limit,
// so it stops when the bound from below is within gjkTolerance millimetres of the distance found.
const (
	gjkRounds    = 60
	gjkTolerance = 1e-4
)

// distance returns a lower bound of the distance between two convex bodies, within gjkTolerance of it but for the
// rarest cases, and 0 when they meet. It stops early once the distance is known to be at least enough.
//
// This is the iteration of Gilbert, Johnson and Keerthi (IEEE Journal of Robotics and Automation 4(2), 1988) over the
// difference of both bodies.
func distance(a, b *solid, enough float64) float64 {
	v := a.centre.Sub(b.centre)
	if v.Len() == 0 {
		v = geom.AxisX
	}
	var w [4]geom.Vec
	n := 0
	best := 0.0
	for round := 0; round < gjkRounds; round++ {
		p := a.support(v.Neg()).Sub(b.support(v))
		l := v.Len()
		if l < 1e-9 {
			return 0
		}
		if low := p.Dot(v) / l; low > best {
			best = low
			if best >= enough {
				return best
			}
		}
		if n > 0 && l-best < gjkTolerance {
			return best
		}
		for i := 0; i < n; i++ {
			if w[i] == p {
				return best // no progress: rounding
			}
		}
		w[n] = p
		n++
		var inside bool
		v, n, inside = nearest(&w, n)
		if inside {
			return 0
		}
	}
	return best
}

// nearest returns the point of the simplex w[:n] nearest to the origin and drops the corners it does not need.
func nearest(w *[4]geom.Vec, n int) (geom.Vec, int, bool) {
	switch n {
	case 1:
		return w[0], 1, false
	case 2:
		return nearestOnSegment(w)
	case 3:
		return nearestOnTriangle(w)
	}
	return nearestInTetrahedron(w)
}

func nearestOnSegment(w *[4]geom.Vec) (geom.Vec, int, bool) {
	a, b := w[0], w[1]
	ab := b.Sub(a)
	d := ab.Dot(ab)
	t := -a.Dot(ab)
	if d == 0 || t <= 0 {
		return a, 1, false
	}
	if t >= d {
		w[0] = b
		return b, 1, false
	}
	return a.Add(ab.Mul(t / d)), 2, false
}

// nearestOnTriangle goes through the Voronoi regions of corners, edges and face.
func nearestOnTriangle(w *[4]geom.Vec) (geom.Vec, int, bool) {
	a, b, c := w[0], w[1], w[2]
	ab, ac := b.Sub(a), c.Sub(a)
	d1, d2 := -ab.Dot(a), -ac.Dot(a)
	if d1 <= 0 && d2 <= 0 {
		return a, 1, false
	}
	d3, d4 := -ab.Dot(b), -ac.Dot(b)
	if d3 >= 0 && d4 <= d3 {
		w[0] = b
		return b, 1, false
	}
	if vc := d1*d4 - d3*d2; vc <= 0 && d1 >= 0 && d3 <= 0 {
		return a.Add(ab.Mul(d1 / (d1 - d3))), 2, false
	}
	d5, d6 := -ab.Dot(c), -ac.Dot(c)
	if d6 >= 0 && d5 <= d6 {
		w[0] = c
		return c, 1, false
	}
	if vb := d5*d2 - d1*d6; vb <= 0 && d2 >= 0 && d6 <= 0 {
		w[1] = c
		return a.Add(ac.Mul(d2 / (d2 - d6))), 2, false
	}
	if va := d3*d6 - d5*d4; va <= 0 && d4-d3 >= 0 && d5-d6 >= 0 {
		w[0], w[1] = b, c
		return b.Add(c.Sub(b).Mul((d4 - d3) / ((d4 - d3) + (d5 - d6)))), 2, false
	}
	n := ab.Cross(ac)
	nn := n.Dot(n)
	if nn == 0 {
		return a, 1, false
	}
	return n.Mul(a.Dot(n) / nn), 3, false
}

// nearestInTetrahedron looks at the faces that the origin lies outside of.
func nearestInTetrahedron(w *[4]geom.Vec) (geom.Vec, int, bool) {
	faces := [4][4]int{{0, 1, 2, 3}, {0, 1, 3, 2}, {0, 2, 3, 1}, {1, 2, 3, 0}}
	var bestW [4]geom.Vec
	var bestV geom.Vec
	bestN, bestD := 0, math.Inf(1)
	outside := false
	for _, f := range faces {
		a, b, c, d := w[f[0]], w[f[1]], w[f[2]], w[f[3]]
		n := b.Sub(a).Cross(c.Sub(a))
		side, far := -n.Dot(a), n.Dot(d.Sub(a))
		flat := math.Abs(far) <= 1e-12*n.Len()*d.Sub(a).Len()
		if !flat && side*far >= 0 {
			continue
		}
		outside = true
		t := [4]geom.Vec{a, b, c}
		v, k, _ := nearestOnTriangle(&t)
		if dd := v.Dot(v); dd < bestD {
			bestW, bestV, bestN, bestD = t, v, k, dd
		}
	}
	if !outside {
		return geom.Vec{}, 4, true
	}
	*w = bestW
	return bestV, bestN, false
}
