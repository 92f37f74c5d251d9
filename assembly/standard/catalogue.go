package standard

// MakeUp says how far threads are screwed together.
type MakeUp string

// The make-ups.
const (
	MakeUpNormal MakeUp = "normal" // the handbook's normal engagement; for bspt the mean engagement of EN 10242
	MakeUpGauge  MakeUp = "gauge"  // L1 + L3 of the thread standard; npt only
	MakeUpHand   MakeUp = "hand"   // hand-tight and one turn more
)

// MakeUps lists the make-ups in the order a message names them.
var MakeUps = []MakeUp{MakeUpNormal, MakeUpGauge, MakeUpHand}

// Catalogue is what parts are taken from: a thread family, a make-up, and what the design itself measured.
// The zero Family is npt, the zero MakeUp is normal. A Catalogue is read only once in use and may be shared.
type Catalogue struct {
	Family      Family
	MakeUp      MakeUp
	Series      string // bspt pipe: "medium" (default) or "heavy"
	TaperInside bool   // bspt: internal threads taper too (Rc instead of Rp)
	Overrides   []Override
}

// Override is one entry of the design that replaces table values: a key of a "parts" entry with its values.
// An entry holds for a part when its Sizes and Kind, where given, are the part's. Of several, the most particular wins:
// sizes and kind, then sizes, then kind; of equals the last.
type Override struct {
	Sizes []Size // none: any; one: parts all of whose ports have this size; several: by port, run first, outlet last
	Kind  Kind   // "": any
	Key   Key
	// Values are in mm (holes: a count; rated: newtons). CentreToEnd takes one or two: run, then outlet (or male end).
	Values      []float64
	Family      Family // Key thread
	TaperInside bool   // Key thread
}

// Key is a dimension that a design may give. It is also the name that plan.json lists under "override".
type Key string

// The keys.
const (
	KeyEngagement  Key = "engagement"
	KeyCentreToEnd Key = "centre-to-end"
	KeyLength      Key = "length"
	KeyHeight      Key = "height"
	KeyAcross      Key = "across"
	KeyCircle      Key = "circle"
	KeyCountersink Key = "countersink"
	KeyHoles       Key = "holes"
	KeyRated       Key = "rated"
	KeyThread      Key = "thread"
)

// Port is one opening, thread end or face of a part, in the part frame. Its face is centred at Dir x ReachMM.
type Port struct {
	Name     string
	Dir      [3]float64 // unit, out of the body
	ReachMM  float64
	Size     Size // "" on faces and seats
	Male     bool
	Plain    bool // no thread: a face, a seat, the push-in end of a glide or caster, a pad's sides
	Parallel bool // female thread without taper
	Left     bool // left-hand thread
	Family   Family
	// Engagement is how far the mating thread goes in at make-up; HandTight how far by hand; Pitch the lead of one turn.
	Engagement, HandTight, Pitch Figure
}

// TakeoutMM is what the part takes off the distance from its origin to the end of a pipe screwed into this port.
func (p Port) TakeoutMM() float64 { return p.ReachMM - p.Engagement.MM }

// Fitting is everything about one part to buy.
type Fitting struct {
	Kind         Kind
	Sizes        []Size // one when all threaded ports have it, else one by port
	Family       Family // "" for parts without threads
	Ports        []Port // in the order a, b, c, d; face first on flanges, glides, casters, pads
	Dims         Dims
	Override     []string // keys the design gave, in the order of the Key constants
	Material     string   // "iron", "steel", "rubber"
	MassKG       float64  // volume x density; of both halves of a union
	SpecialOrder bool     // not kept by most shops
	Text         string   // "3/4 x 3/4 x 1/2 tee"
}

// Port returns the port of that name.
func (f Fitting) Port(name string) (Port, bool) {
	for _, p := range f.Ports {
		if p.Name == name {
			return p, true
		}
	}
	return Port{}, false
}

// PipeSpec is what Catalogue.Pipe needs to know.
type PipeSpec struct {
	Size     Size
	LengthMM float64 // overall, threads included
	Left     string  // port cut left-hand, or ""
	Running  string  // port with the running thread of a long screw, or ""
}
