package sdf

// apart is several bodies that do not touch.
type apart struct {
	field
	pieces []Leafed
}

// Apart is the union of bodies that do not touch one another, which a mesher can take one by one (Pieces). The distance
// is that of Join.
func Apart(pieces ...Leafed) Leafed {
	all := make([]Solid, len(pieces))
	for i, p := range pieces {
		all[i] = p
	}
	return &apart{asField(Join(all...)), pieces}
}

// Pieces returns the bodies of a solid made by Apart, moved or not, and false for every other one.
func Pieces(s Solid) ([]Leafed, bool) {
	switch v := s.(type) {
	case *apart:
		return v.pieces, true
	case *posed:
		pieces, ok := Pieces(v.of)
		if !ok {
			return nil, false
		}
		out := make([]Leafed, len(pieces))
		for i, p := range pieces {
			out[i] = Move(p, v.pose)
		}
		return out, true
	}
	return nil, false
}
