package standard

import (
	"fmt"
	"strings"
)

// RoomError is an engagement or a measured length that leaves no room for the threads.
type RoomError struct {
	Kind           Kind
	Sizes          []Size
	Port           string
	NeedMM, RoomMM float64
}

// Part is the part in words.
func (e *RoomError) Part() string { return partText(e.Kind, e.Sizes) }

// Error says how much is wanted and how much there is.
func (e *RoomError) Error() string {
	return fmt.Sprintf("%s: the thread goes in %.2f mm, there is room for %.2f mm; check its engagement, length and centre-to-end",
		partText(e.Kind, e.Sizes), e.NeedMM, e.RoomMM)
}

// builder gathers the dimensions of one part.
type builder struct {
	c     *Catalogue
	kind  Kind
	sizes []Size // by port
	fam   Family
	taper bool // internal threads taper
	dims  Dims
	over  map[Key]bool
	ports []Port
	err   error
}

// Fitting returns everything about one fitting. Sizes: one for all its openings, or one by port (run first, outlet
// last; a tee may be given as run and outlet). Elbows, reducers and bushings take theirs in either order. Errors:
// *SizeError, *NoRowError (with the nearest that exist), *RoomError.
func (c *Catalogue) Fitting(kind Kind, sizes []Size) (Fitting, error) {
	byPort, err := spread(kind, sizes)
	if err != nil {
		return Fitting{}, err
	}
	fam, taper := c.familyOf(kind, byPort)
	if err := exists(fam, kind, byPort); err != nil {
		return Fitting{}, err
	}
	b := &builder{c: c, kind: kind, sizes: byPort, fam: fam, taper: taper, dims: Dims{}, over: map[Key]bool{}}
	if _, ok := c.find(KeyThread, kind, byPort); ok {
		b.over[KeyThread] = true
	}
	build[kind](b)
	if b.err != nil {
		return Fitting{}, b.err
	}
	return b.finish()
}

// build gives each kind the function that fills its dimensions.
var build map[Kind]func(*builder)

func init() {
	build = map[Kind]func(*builder){
		Elbow: (*builder).elbow, Elbow45: (*builder).elbow, StreetElbow: (*builder).elbow, StreetElbow45: (*builder).elbow,
		Tee: (*builder).legs, Cross: (*builder).legs, SideElbow: (*builder).legs, SideTee: (*builder).legs,
		Coupling: (*builder).inline, Reducer: (*builder).inline, RightLeft: (*builder).inline, LongScrew: (*builder).inline,
		Union: (*builder).union, Cap: (*builder).cap, Flange: (*builder).flange, Plug: (*builder).plug,
		Bushing: (*builder).bushing, Glide: (*builder).glide, Caster: (*builder).caster,
	}
}

// spread gives each port its size, larger first where a part may be turned round.
func spread(kind Kind, sizes []Size) ([]Size, error) {
	n := len(layout[kind])
	if n == 0 || build[kind] == nil {
		return nil, fmt.Errorf("%s is not a fitting", kind)
	}
	for _, s := range sizes {
		if index(s) < 0 {
			return nil, &SizeError{Found: string(s)}
		}
	}
	out := append([]Size(nil), sizes...)
	switch {
	case len(sizes) == n:
	case len(sizes) == 1:
		for len(out) < n {
			out = append(out, sizes[0])
		}
	case len(sizes) == 2 && kind == Tee:
		out = []Size{sizes[0], sizes[0], sizes[1]}
	default:
		return nil, fmt.Errorf("a %s has %d openings, found %d sizes", kind.Words(), n, len(sizes))
	}
	if (kind == Elbow || kind == Reducer || kind == Bushing) && Less(out[0], out[1]) {
		out[0], out[1] = out[1], out[0]
	}
	return out, nil
}

// allSame tells whether all sizes are equal.
func allSame(sizes []Size) bool {
	for _, s := range sizes {
		if s != sizes[0] {
			return false
		}
	}
	return true
}

// cell looks for a figure of this part's family.
func (b *builder) cell(kind Kind, size, dim string) (Figure, bool) {
	return look(b.fam, string(kind), size, dim)
}

// key is the part's own key in the tables.
func (b *builder) key() string {
	if len(b.sizes) > 0 && allSame(b.sizes) { // pads and board casters have no size
		return string(b.sizes[0])
	}
	return joinSizes(b.sizes)
}

// set stores a dimension, under the port's name unless it is "".
func (b *builder) set(dim, port string, f Figure) {
	if port != "" {
		dim += "." + port
	}
	b.dims[dim] = f
}

// get returns a dimension in mm.
func (b *builder) get(dim, port string) float64 { return b.dims.MM(dim, port) }

// MM returns the dimension in mm, 0 when there is none. Port may be "".
func (d Dims) MM(dim, port string) float64 {
	if port != "" {
		dim += "." + port
	}
	return d[dim].MM
}

// given replaces a table's figure by the design's, if the design has one.
func (b *builder) given(key Key, i int, table Figure) Figure {
	o, ok := b.c.find(key, b.kind, b.sizes)
	if !ok {
		return table
	}
	v, ok := o.value(i)
	if !ok {
		return table
	}
	b.over[key] = true
	return v
}

// cast returns a B16.3 dimension that every fitting of a size has: wall, band-od, band-width, bore, thread-length.
func (b *builder) cast(s Size, dim string) Figure {
	get := func(d string) Figure {
		v, _ := look(NPT, "all", string(s), d)
		return v
	}
	f := get(dim)
	if dim == DimBore {
		lo, hi := get("bore-min"), get("bore-max")
		f = derived((lo.MM+hi.MM)/2, ruleBore, lo, hi)
	}
	if b.fam == BSPT {
		f = assumed(f.MM, ruleENBody)
	}
	return f
}

// thread fills the thread of a port and returns its engagement in mm. Room is how deep a female thread can be.
func (b *builder) thread(port string, s Size, room float64) float64 {
	row, err := Thread(b.fam, s)
	if err != nil {
		b.err = err
		return 0
	}
	e, own, err := b.engagement(s)
	if err != nil {
		b.err = err
		return 0
	}
	if own {
		b.over[KeyEngagement] = true
	}
	pipe, err := PipeOf(b.fam, s, b.series())
	if err != nil {
		b.err = err
		return 0
	}
	b.set(DimEngagement, port, e)
	b.set(DimHandTight, port, row.L1)
	b.set(DimPitch, port, row.Pitch)
	b.set(DimOD, port, pipe.OD)
	if isMale(b.kind, port) {
		b.male(port, row, e)
	} else {
		b.female(port, row, e, room)
	}
	return e.MM
}

// engagement is how far a thread of size s goes into this part. An entry for the part's own combination of sizes comes
// before those for one size.
func (b *builder) engagement(s Size) (Figure, bool, error) {
	if o, ok := b.c.find(KeyEngagement, b.kind, b.sizes); ok && len(o.Sizes) > 1 {
		if v, ok := o.value(0); ok {
			return v, true, nil
		}
	}
	return b.c.Engagement(b.kind, s)
}

// series is the pipe series that goes with the part's family.
func (b *builder) series() string {
	if b.fam == BSPT && b.c.Family == BSPT {
		return b.c.Series
	}
	return ""
}

func (b *builder) male(port string, row ThreadRow, e Figure) {
	b.set(DimPitchDia, port, row.E0)
	b.set(DimTaper, port, Figure{Taper, ruleTaper, Verified})
	length := row.L2
	if need := e.MM + row.Pitch.MM; need > length.MM {
		length = derived(need, ruleThreadLen, e, row.Pitch)
	}
	b.set(DimThreadLength, port, length)
	b.set(DimVanish, port, row.V)
}

func (b *builder) female(port string, row ThreadRow, e Figure, room float64) {
	if e.MM > room && b.err == nil {
		b.err = &RoomError{Kind: b.kind, Sizes: b.sizes, Port: port, NeedMM: e.MM, RoomMM: room}
	}
	b.set(DimPitchDia, port, row.E1)
	switch {
	case b.kind == LongScrew:
		b.set(DimTaper, port, Figure{0, ruleRunning, CommonPractice})
	case b.taper:
		b.set(DimTaper, port, Figure{Taper, ruleTaper, Verified})
	default:
		b.set(DimTaper, port, Figure{0, ruleParallel, Verified})
	}
	length := derived(e.MM+row.Pitch.MM, ruleThreadLen, e, row.Pitch)
	if table := b.cast(row.Size, DimThreadLength); b.fam == NPT && table.MM > length.MM {
		length = table
	}
	if length.MM > room {
		length.MM = room
	}
	b.set(DimThreadLength, port, length)
}

// body fills band, body and bore of a female leg.
func (b *builder) body(port string, s Size) {
	wall, bore := b.cast(s, DimWall), b.cast(s, DimBore)
	b.set(DimBandOD, port, b.cast(s, DimBandOD))
	b.set(DimBandWidth, port, b.cast(s, DimBandWidth))
	b.set(DimBodyOD, port, derived(bore.MM+2*wall.MM, ruleBody, wall, bore))
	b.set(DimBore, port, bore)
}

// wall fills the metal thickness of the largest opening, which governs.
func (b *builder) wall() float64 {
	s := b.sizes[0]
	for _, t := range b.sizes {
		s = Larger(s, t)
	}
	w := b.cast(s, DimWall)
	b.set(DimWall, "", w)
	return w.MM
}

// port adds a threaded port.
func (b *builder) port(p place, reach float64, s Size) {
	b.ports = append(b.ports, Port{
		Name: p.name, Dir: p.dir, ReachMM: reach, Size: s, Male: isMale(b.kind, p.name),
		Parallel: !isMale(b.kind, p.name) && b.get(DimTaper, p.name) == 0,
		Left:     b.kind == RightLeft && p.name == "b", Family: b.fam,
		Engagement: b.dims[DimEngagement+"."+p.name], HandTight: b.dims[DimHandTight+"."+p.name],
		Pitch: b.dims[DimPitch+"."+p.name],
	})
}

// finish makes the fitting of what was gathered.
func (b *builder) finish() (Fitting, error) {
	f := Fitting{
		Kind: b.kind, Sizes: b.sizes, Family: b.fam, Ports: b.ports, Dims: b.dims, Material: "iron",
		SpecialOrder: IsSpecialOrder(b.kind), Text: partText(b.kind, b.sizes), Override: []string{},
	}
	if len(b.sizes) > 0 && allSame(b.sizes) {
		f.Sizes = b.sizes[:1:1]
	}
	density := IronDensity
	switch b.kind {
	case Pipe:
		f.Material, density = "steel", SteelDensity
	case Glide:
		f.Material, density, f.Family = "plastic", plasticDensity, ""
	case Caster:
		f.Material, density, f.Family = "steel and plastic", casterDensity, ""
	case Pad:
		f.Material, density, f.Family = "rubber", rubberDensity, ""
	case Strap:
		f.Material, density, f.Family = "steel", SteelDensity, ""
	}
	for _, k := range keyOrder {
		if b.over[k] {
			f.Override = append(f.Override, string(k))
		}
	}
	v, err := f.volume()
	if err != nil {
		return Fitting{}, err
	}
	f.MassKG = v * density
	return f, nil
}

// partText is a part in words: 3/4 x 3/4 x 1/2 reducing tee.
func partText(k Kind, sizes []Size) string {
	if len(sizes) == 0 {
		return k.Words()
	}
	if allSame(sizes) {
		return string(sizes[0]) + " " + k.Words()
	}
	w := make([]string, len(sizes))
	for i, s := range sizes {
		w[i] = string(s)
	}
	kind := k.Words()
	if k != Reducer && k != Bushing {
		kind = "reducing " + kind
	}
	return strings.Join(w, " x ") + " " + kind
}
