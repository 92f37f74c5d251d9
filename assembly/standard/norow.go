package standard

import "strings"

// NoRowError is a combination of sizes (or a kind at a size) that the tables do not have.
type NoRowError struct {
	Family  Family
	Kind    Kind
	Sizes   []Size        // by port
	Nearest []Alternative // what would do instead, best first; may be empty
}

// Error names what is missing and the nearest that exists.
func (e *NoRowError) Error() string {
	s := "no " + partText(e.Kind, e.Sizes) + " in the tables"
	if len(e.Nearest) > 0 {
		s += "; " + e.Nearest[0].Text() + " would do"
	}
	return s
}

// Alternative is a part that exists, with bushings in the openings that are too large.
type Alternative struct {
	Kind     Kind
	Sizes    []Size // by port
	Bushings []PortBushing
}

// PortBushing is a bushing in an opening.
type PortBushing struct {
	Port       string
	Big, Small Size
}

// Text is the alternative in words.
func (a Alternative) Text() string {
	s := "a " + partText(a.Kind, a.Sizes)
	var w []string
	for _, b := range a.Bushings {
		w = append(w, "a "+string(b.Big)+" x "+string(b.Small)+" bushing")
	}
	if len(w) == 0 {
		return s
	}
	return s + " with " + strings.Join(w, " and ")
}

// exists returns nil when the tables or rules have the part, else a *NoRowError.
func exists(fam Family, kind Kind, sizes []Size) error {
	if has(fam, kind, sizes) {
		return nil
	}
	return &NoRowError{Family: fam, Kind: kind, Sizes: sizes, Nearest: nearest(fam, kind, sizes)}
}

// has tells whether a part is made: equal sizes always, others where the tables have the combination.
func has(fam Family, kind Kind, sizes []Size) bool {
	switch kind {
	case Bushing:
		return Less(sizes[1], sizes[0])
	case Reducer:
		if fam == NPT { // B16.3 gives one length for all reducers of a larger size
			return Less(sizes[1], sizes[0])
		}
		_, ok := look(fam, string(Reducer), joinSizes(sizes), DimLength)
		return ok
	}
	if allSame(sizes) {
		return true
	}
	_, ok := look(fam, string(kind), joinSizes(sizes), "centre-to-end")
	return ok
}

// nearest lists parts of the kind that take the sizes with bushings, fewest bushings first, then smallest.
func nearest(fam Family, kind Kind, sizes []Size) []Alternative {
	if kind == Bushing {
		return nil
	}
	var out []Alternative
	for bushings := 1; bushings <= len(sizes) && len(out) == 0; bushings++ {
		for _, s := range combinations(len(sizes)) {
			if a, ok := adapt(fam, kind, s, sizes); ok && len(a.Bushings) == bushings {
				out = append(out, a)
			}
		}
	}
	return out
}

// combinations are all the choices of n sizes, smallest first.
func combinations(n int) [][]Size {
	out := [][]Size{nil}
	for range n {
		var next [][]Size
		for _, c := range out {
			for _, s := range Sizes {
				next = append(next, append(append([]Size(nil), c...), s))
			}
		}
		out = next
	}
	return out
}

// adapt fits bushings into a part of sizes have so that it takes want.
func adapt(fam Family, kind Kind, have, want []Size) (Alternative, bool) {
	a := Alternative{Kind: kind, Sizes: have}
	for i, s := range have {
		switch {
		case Less(s, want[i]):
			return a, false
		case s != want[i]:
			a.Bushings = append(a.Bushings, PortBushing{layout[kind][i].name, s, want[i]})
		}
	}
	if kind == Reducer && allSame(have) {
		a.Kind = Coupling
		return a, true
	}
	return a, has(fam, kind, have)
}
