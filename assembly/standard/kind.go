package standard

// words are the kinds in the words of a fitting's bag, singular.
var words = map[Kind]string{
	Pipe: "pipe", Elbow: "elbow", Elbow45: "45 degree elbow", StreetElbow: "street elbow",
	StreetElbow45: "45 degree street elbow", Tee: "tee", Cross: "cross", SideElbow: "side-outlet elbow",
	SideTee: "side-outlet tee", Coupling: "coupling", Union: "union", Flange: "floor flange", Cap: "cap",
	Reducer: "reducing coupling", Bushing: "bushing", Plug: "plug", RightLeft: "right-and-left coupling",
	LongScrew: "long-screw coupling", Glide: "glide", Caster: "caster", Pad: "pad", Board: "board", Strap: "pipe strap",
	Cleat: "cleat", Room: "room",
}

// Words returns the kind as the trade says it: "street elbow".
func (k Kind) Words() string { return words[k] }

// fittingKinds are the kinds a design may ask for at a point or wish to avoid, in the order of messages.
var fittingKinds = []Kind{
	Union, Coupling, Reducer, Bushing, Tee, Elbow, Elbow45, StreetElbow, StreetElbow45, Cross, SideElbow, SideTee,
	Flange, Cap, Plug, Glide, Caster,
}

// pathKinds are the kinds that may be named within a run's path.
var pathKinds = []Kind{Union, Coupling, RightLeft, LongScrew}

// FittingKinds returns the kinds a design may ask for at a point, in the order of messages.
func FittingKinds() []Kind { return append([]Kind(nil), fittingKinds...) }

// PathKinds returns the kinds that may be named within the path of a run.
func PathKinds() []Kind { return append([]Kind(nil), pathKinds...) }

// KindWords returns every kind as the design file and plan.json spell it.
func KindWords() []string {
	out := make([]string, 0, len(allKinds))
	for _, k := range allKinds {
		out = append(out, string(k))
	}
	return out
}

// allKinds lists every kind of part.
var allKinds = []Kind{
	Pipe, Elbow, Elbow45, StreetElbow, StreetElbow45, Tee, Cross, SideElbow, SideTee, Coupling, Union, Flange, Cap,
	Reducer, Bushing, Plug, RightLeft, LongScrew, Glide, Caster, Pad, Board, Strap, Cleat, Room,
}

// Kinds returns every kind of part.
func Kinds() []Kind { return append([]Kind(nil), allKinds...) }

// IsKind tells whether the word is a kind of part.
func IsKind(word string) bool { return words[Kind(word)] != "" }

// IsSpecialOrder tells whether most shops must order parts of this kind: common practice, no source.
func IsSpecialOrder(k Kind) bool {
	switch k {
	case SideElbow, SideTee, RightLeft, LongScrew:
		return true
	}
	return false
}

// Directions used by the part frames.
var (
	right  = [3]float64{1, 0, 0}
	left   = [3]float64{-1, 0, 0}
	front  = [3]float64{0, 1, 0}
	up     = [3]float64{0, 0, 1}
	down   = [3]float64{0, 0, -1}
	bent45 = [3]float64{-sqrtHalf, sqrtHalf, 0} // at 135 degrees from X
)

// sqrtHalf is the cosine of 45 degrees.
const sqrtHalf = 0.70710678118654752440

// place is a port's name and direction in the part frame.
type place struct {
	name string
	dir  [3]float64
}

// layout gives the threaded ports of each kind in the part frame that package assembly describes, in order.
var layout = map[Kind][]place{
	Pipe:          {{"a", down}, {"b", up}},
	Elbow:         {{"a", right}, {"b", front}},
	Elbow45:       {{"a", right}, {"b", bent45}},
	StreetElbow:   {{"a", right}, {"b", front}},
	StreetElbow45: {{"a", right}, {"b", bent45}},
	Tee:           {{"a", down}, {"b", up}, {"c", right}},
	Cross:         {{"a", down}, {"b", up}, {"c", right}, {"d", left}},
	SideElbow:     {{"a", right}, {"b", front}, {"c", up}},
	SideTee:       {{"a", down}, {"b", up}, {"c", right}, {"d", front}},
	Coupling:      {{"a", down}, {"b", up}},
	Reducer:       {{"a", down}, {"b", up}},
	RightLeft:     {{"a", down}, {"b", up}},
	LongScrew:     {{"a", down}, {"b", up}},
	Union:         {{"a", down}, {"b", up}},
	Bushing:       {{"a", down}, {"b", up}},
	Plug:          {{"a", down}},
	Flange:        {{"a", up}},
	Cap:           {{"a", down}},
	Glide:         {{"a", up}},
	Caster:        {{"a", up}},
	Pad:           {{"a", up}},
}

// isMale tells whether that port of a fitting is a male thread.
func isMale(k Kind, port string) bool {
	switch k {
	case Pipe, Plug:
		return true
	case StreetElbow, StreetElbow45:
		return port == "b"
	case Bushing:
		return port == "a"
	}
	return false
}

// PortPlace is a threaded opening or end of a kind, in the part frame.
type PortPlace struct {
	Name string
	Dir  [3]float64
	Male bool
}

// PortsOf returns the places where pipes (or a street end's neighbour) meet a kind, in port order.
func PortsOf(k Kind) []PortPlace {
	var out []PortPlace
	for _, p := range layout[k] {
		out = append(out, PortPlace{p.name, p.dir, isMale(k, p.name)})
	}
	return out
}
