package unite

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// meet finds every pair of triangles of the two skins that cut one another, and the pieces of the line between them.
func (s *step) meet() error {
	s.pierced, s.onEdge, s.line = map[edgeTri]int32{}, map[edge][]edgeMark{}, map[int32][]seam{}
	var boxes []geom.Box
	from := int32(len(s.tris))
	for t := range s.tris {
		if s.side(int32(t)) == added {
			from = min(from, int32(t))
			boxes = append(boxes, s.u.boxOf(s.tris[t].v))
		}
	}
	each := mesh.Overlaps(boxes)
	var err error
	for t := range from {
		if b := s.u.boxOf(s.tris[t].v); b.Overlaps(s.box) {
			each(b, func(k int32) {
				if err == nil {
					err = s.pair(t, from+k)
				}
			})
		}
	}
	return err
}

// pair looks at two triangles of different skins.
func (s *step) pair(t, o int32) error {
	if across, err := s.across(t, o); !across {
		return err
	}
	if across, err := s.across(o, t); !across {
		return err
	}
	var ends [2]int32
	n := 0
	for _, p := range [2][2]int32{{t, o}, {o, t}} {
		v := s.tris[p[0]].v
		for k := range 3 {
			at, err := s.pierce(v[k], v[(k+1)%3], p[1])
			if err != nil {
				return err
			}
			if at < 0 {
				continue
			}
			if n == 2 {
				return fault(ErrTouch, "two triangles meet in more than a line")
			}
			ends[n] = at
			n++
		}
	}
	switch n {
	case 0:
		return nil
	case 1:
		return fault(ErrTouch, "two triangles meet in a point")
	}
	s.line[t] = append(s.line[t], seam{ends[0], ends[1], o})
	s.line[o] = append(s.line[o], seam{ends[0], ends[1], t})
	return nil
}

// across tells whether triangle t has corners on both sides of the plane of o.
func (s *step) across(t, o int32) (bool, error) {
	a, b, c := s.corners(o)
	up, down := false, false
	for _, v := range s.tris[t].v {
		switch orient(a, b, c, s.u.points[v]) {
		case 0:
			return false, fault(ErrTouch, "a corner lies in the plane of a face")
		case 1:
			up = true
		default:
			down = true
		}
	}
	return up && down, nil
}

// pierce returns the point in which the edge p-q goes through triangle t, -1 when it does not.
func (s *step) pierce(p, q, t int32) (int32, error) {
	e := edgeOf(p, q)
	if at, ok := s.pierced[edgeTri{e, t}]; ok {
		return at, nil
	}
	at, err := s.pierceNew(e, t)
	if err == nil {
		s.pierced[edgeTri{e, t}] = at
	}
	return at, err
}

func (s *step) pierceNew(e edge, t int32) (int32, error) {
	p, q := s.u.points[e.a], s.u.points[e.b]
	a, b, c := s.corners(t)
	below, above := orient(a, b, c, p), orient(a, b, c, q)
	if below*above > 0 {
		return -1, nil
	}
	turns := [3]int{orient(p, q, a, b), orient(p, q, b, c), orient(p, q, c, a)}
	if turns[0]*turns[1] < 0 || turns[1]*turns[2] < 0 || turns[0]*turns[2] < 0 {
		return -1, nil
	}
	if below*above == 0 || turns[0]*turns[1]*turns[2] == 0 {
		return -1, fault(ErrTouch, "an edge meets the rim of a face")
	}
	// Along the edge by the distances of its ends from the plane, which may be as small as rounding.
	n := b.Sub(a).Cross(c.Sub(a))
	dp, dq := math.Abs(p.Sub(a).Dot(n)), math.Abs(q.Sub(a).Dot(n))
	along := 0.5
	if dp+dq > 0 {
		along = dp / (dp + dq)
	}
	at := int32(len(s.u.points))
	s.u.points = append(s.u.points, p.Lerp(q, along))
	s.onEdge[e] = append(s.onEdge[e], edgeMark{at, along})
	return at, nil
}
