package unite

// takeInside drops what lies inside the other skin: it spreads from the pieces along the line.
func (s *step) takeInside() error {
	seams := map[edge]bool{}
	for t := range int32(len(s.tris)) {
		for _, l := range s.line[t] {
			seams[edge{min(l.a, l.b), max(l.a, l.b)}] = true
		}
	}
	var across [2]map[edge][]int32
	across[old], across[added] = map[edge][]int32{}, map[edge][]int32{}
	var todo []int32
	for i := range s.tris {
		t := &s.tris[i]
		if t.state == divided {
			continue
		}
		if t.state == inside {
			todo = append(todo, int32(i))
		}
		for k := range 3 {
			v, w := t.v[k], t.v[(k+1)%3]
			if e := (edge{min(v, w), max(v, w)}); !seams[e] {
				m := across[s.side(int32(i))]
				m[e] = append(m[e], int32(i))
			}
		}
	}
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		v := s.tris[i].v
		for k := range 3 {
			e := edge{min(v[k], v[(k+1)%3]), max(v[k], v[(k+1)%3])}
			for _, j := range across[s.side(i)][e] {
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
