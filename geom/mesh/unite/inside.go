package unite

// takeInside drops what lies inside the other skin: it spreads from the pieces along the line.
func (s *step) takeInside() error {
	next, todo := s.neighbours()
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		v := s.tris[i].v
		for k := range 3 {
			for _, j := range next[s.side(i)][edgeOf(v[k], v[(k+1)%3])] {
				switch s.tris[j].state {
				case outside:
					return fault(ErrSmall, "a piece lies inside and outside")
				case unknown:
					s.tris[j].state = inside
					todo = append(todo, j)
				}
			}
		}
	}
	kept := s.tris[:0]
	for _, t := range s.tris {
		if t.state != divided && t.state != inside {
			kept = append(kept, t)
		}
	}
	s.tris = kept
	return nil
}

// neighbours lists, by side, the triangles at every edge but those of the line, and those that are known to lie inside.
func (s *step) neighbours() (next [2]map[edge][]int32, in []int32) {
	seams := map[edge]bool{}
	for t := range int32(len(s.tris)) {
		for _, l := range s.line[t] {
			seams[edgeOf(l.a, l.b)] = true
		}
	}
	next[old], next[added] = map[edge][]int32{}, map[edge][]int32{}
	for i := range int32(len(s.tris)) {
		t := &s.tris[i]
		if t.state == divided {
			continue
		}
		if t.state == inside {
			in = append(in, i)
		}
		for k := range 3 {
			if e := edgeOf(t.v[k], t.v[(k+1)%3]); !seams[e] {
				m := next[s.side(i)]
				m[e] = append(m[e], i)
			}
		}
	}
	return next, in
}
