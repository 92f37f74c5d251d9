package standard

// Family is a thread family.
type Family string

// The thread families: taper pipe thread of ASME B1.20.1, and that of ISO 7-1.
const (
	NPT  Family = "npt"
	BSPT Family = "bspt"
)

// Size is a nominal pipe size as the trade writes it: "1/4" to "2".
type Size string

// Sizes lists the nominal sizes, smallest first.
var Sizes = []Size{"1/4", "3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2"}

// Kind is a kind of part.
type Kind string

// The kinds of parts.
const (
	Pipe          Kind = "pipe"
	Elbow         Kind = "elbow"
	Elbow45       Kind = "elbow45"
	StreetElbow   Kind = "street-elbow"
	StreetElbow45 Kind = "street-elbow45"
	Tee           Kind = "tee"
	Cross         Kind = "cross"
	SideElbow     Kind = "side-elbow"
	SideTee       Kind = "side-tee"
	Coupling      Kind = "coupling"
	Union         Kind = "union"
	Flange        Kind = "flange"
	Cap           Kind = "cap"
	Reducer       Kind = "reducer"
	Bushing       Kind = "bushing"
	Plug          Kind = "plug"
	RightLeft     Kind = "right-left"
	LongScrew     Kind = "long-screw"
	Glide         Kind = "glide"
	Caster        Kind = "caster"
	Pad           Kind = "pad"
	Board         Kind = "board"
	Strap         Kind = "strap"
	Cleat         Kind = "cleat"
	Room          Kind = "room"
)

// Grade says how sure a figure is.
type Grade string

// The grades, surest first.
const (
	Verified       Grade = "verified"        // read in a public copy of the source, or on a page that reproduces it
	CrossChecked   Grade = "cross-checked"   // from memory of the source and seen on one public page
	MemoryHigh     Grade = "memory-high"     // from memory of the named source, high confidence
	MemoryMedium   Grade = "memory-medium"   // the same, medium
	MemoryLow      Grade = "memory-low"      // the same, low: measure the part
	Computed       Grade = "computed"        // arithmetic from other rows
	CommonPractice Grade = "common-practice" // no published source
	Measured       Grade = "measured"        // given in the design
)

// Figure is one dimension with where it comes from.
type Figure struct {
	MM     float64 `json:"mm"`
	Source string  `json:"source"`
	Grade  Grade   `json:"grade"`
}

// Dims are the dimensions of one part by name. Names are those of the Dim constants; a dimension that differs by
// opening has the port's name after a dot ("reach.a").
type Dims map[string]Figure

// Names of dimensions. All are full lengths or diameters in mm unless said.
const (
	DimReach        = "reach"         // ".PORT" follows: origin of the part frame to the face of that opening
	DimLength       = "length"        // end to end (pipe, coupling, union, reducer, bushing ...)
	DimHeight       = "height"        // flange, caster, glide: mounting side to outer end; cap: overall; pad: thickness
	DimEngagement   = "engagement"    // ".PORT" follows: how far the thread goes in at make-up
	DimOD           = "od"            // pipe: outside diameter; ".PORT" for a fitting: of the pipe it takes
	DimWall         = "wall"          // pipe wall; fitting: metal thickness
	DimBore         = "bore"          // ".PORT" follows: inside diameter behind the thread (fittings); pipe: inside diameter
	DimThreadLength = "thread-length" // ".PORT" follows: length of internal thread
	DimBandOD       = "band-od"       // ".PORT" follows: outside diameter of the band at the opening
	DimBandWidth    = "band-width"    // ".PORT" follows: its width
	DimBodyOD       = "body-od"       // ".PORT" follows: outside diameter of the body behind the band
	DimAcross       = "across"        // flange, caster plate, pad: outside diameter or side; union nut, plug: across flats
	DimPlate        = "plate"         // flange, caster: thickness of the plate
	DimHubOD        = "hub-od"        // flange: outside diameter of the hub
	DimCircle       = "circle"        // flange: diameter of the circle its screw holes lie on
	DimHole         = "hole"          // flange: diameter of a screw hole
	DimCountersink  = "countersink"   // flange: diameter of the 90 degree countersinks of its screw holes; none: straight holes
	DimHoles        = "holes"         // flange: number of screw holes (a count, not mm)
	DimPitchDia     = "pitch-dia"     // ".PORT" follows: pitch diameter at the face of the opening, or pipe end (E0)
	DimPitch        = "pitch"         // ".PORT" follows: thread pitch
	DimHandTight    = "hand-tight"    // ".PORT" follows: hand-tight engagement L1 (bspt: gauge length)

	DimTaper        = "taper"         // ".PORT" follows: growth of the diameter per length along the thread, 1/16 or 0 (a ratio, not mm)
	DimVanish       = "vanish"        // ".PORT" follows: male: length over which the thread runs out to the outside diameter
	DimBendRadius   = "bend-radius"   // elbows: radius of the centre line
	DimHead         = "head"          // plug, bushing: height of the head
	DimCollarOD     = "collar-od"     // union half a: outside diameter of the collar that carries the nut
	DimCollarLength = "collar-length" // union half a: its length
	DimNutBore      = "nut-bore"      // union: inside diameter of the nut over the collar
	DimShoulder     = "shoulder"      // union half b: length of the shoulder behind the seat, as wide as the collar, that the nut draws on
	DimNutOver      = "nut-over"      // union: how far the nut reaches past the seat over half a
	DimNutBack      = "nut-back"      // union: how far the nut reaches back over half b
	DimBackNut      = "back-nut"      // long-screw: thickness of the back nut (counts for the running thread only)
	DimStemOD       = "stem-od"       // glide, caster: diameter of the stem in the pipe
	DimStemLength   = "stem-length"   // glide, caster: its length
	DimWheel        = "wheel"         // caster: diameter of the wheel
	DimWheelWidth   = "wheel-width"   // caster: its width
	DimRated        = "rated"         // caster: the load it carries, in newtons (not mm)
)
