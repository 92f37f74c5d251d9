package design

import (
	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
)

// Name is a name as written, with its place. A reference from outside a copy has dots: "bay-2.level-3.a".
type Name struct {
	Text string
	At   Pos
}

// Word is one of a list of words, with its place. The zero Word was not written.
type Word struct {
	Text string
	At   Pos
}

// IsSet tells whether the word was written in the file.
func (w Word) IsSet() bool { return w.Text != "" }

// Tree is a design file as written. Formulas are not evaluated (nil: not given), names not resolved, copies not made.
// Order of lists is file order. Scalars with a default hold it already; their place is then zero.
type Tree struct {
	File  string   // as given to Read
	Lines []string // the text of every line, without its end; Lines[0] is line 1

	Title Word // Text "" when not written
	Note  string

	Units     units.System
	UnitsAt   Pos
	Thread    standard.Family
	ThreadAt  Pos
	Pipe      SizeRef
	Finish    Finish
	MakeUp    MakeUp
	MakeUpAt  Pos
	Tolerance *formula.Expr // nil: 1/16 in
	People    int
	PeopleAt  Pos
	Avoid     []Word // part kinds, and "bored"

	Givens []Given
	Room   Room
	Cleats []Cleat
	Body
	Parts []PartEntry
	Order []Wish

	Notes []Note // what is worth telling and no fault

	spoilt map[string]bool // names whose entry is faulty: what hangs on them is not reported again
}

// Note is something about the file that is worth telling and is no fault.
type Note = formula.Note

// Body is what the file and every group may hold.
type Body struct {
	Boards   []Board
	Points   []Point
	Runs     []Run
	Fittings []Fitting
	Loads    []Load
	Groups   []Group
}

// MakeUp says which engagement joints are made up to.
type MakeUp string

// The make-ups.
const (
	MakeUpNormal MakeUp = "normal"
	MakeUpGauge  MakeUp = "gauge"
	MakeUpHand   MakeUp = "hand"
)

// Finish is what the metal looks like: Base "black" or "galvanised", Coat "", "wax", "lacquer" or "paint".
type Finish struct {
	Base, Coat string
	At         Pos // zero when not written
}

// SizeRef is a nominal size as written. Series is "medium" or "heavy" (only with bspt), or "".
type SizeRef struct {
	Size   standard.Size
	Series string
	At     Pos
}

// Given is a named value. The name holds the dot when givens are grouped ("w.floor").
type Given struct {
	Name Name
	Expr *formula.Expr
}

// Axis is "x", "y" or "z" of the design's own axes.
type Axis string

// The axes.
const (
	X Axis = "x"
	Y Axis = "y"
	Z Axis = "z"
)

// Axes lists the axes in order; Axes[i] is coordinate i.
var Axes = [3]Axis{X, Y, Z}

// Index is 0, 1 or 2.
func (a Axis) Index() int { return int(a[0] - 'x') }

// SurfaceNames are the six surfaces of the room. Left and right are faces in x, back and front in y, floor and ceiling
// in z.
var SurfaceNames = [6]string{"left", "right", "back", "front", "floor", "ceiling"}

// Room is what is known of the place.
type Room struct {
	At       Pos       // zero when there is no room section
	Surfaces []Surface // those written, in file order
	Zones    []Zone
	Air      Word // "dry", "damp", "outdoor"; unset: dry
	WayIn    []*formula.Expr
	WayInAt  Pos
}

// Surface returns the entry for the named surface, or nil when the file gives none.
func (r *Room) Surface(name string) *Surface {
	for i := range r.Surfaces {
		if r.Surfaces[i].Name.Text == name {
			return &r.Surfaces[i]
		}
	}
	return nil
}

// Surface is one face of the room as written.
type Surface struct {
	Name      Name
	Face      []Reading // none: at 0
	Made      *Made
	Studs     *Timbers
	Joists    *Timbers
	Baseboard *Baseboard
}

// Reading is where a surface is at one place: Value at the given coordinates along other axes. A lone reading may
// have no place.
type Reading struct {
	Value *formula.Expr
	At    []AxisValue
}

// AxisValue is a coordinate along one axis.
type AxisValue struct {
	Axis Axis
	Pos  Pos
	Expr *formula.Expr
}

// Made is what a surface is made of, from the face inwards: Thickness (nil when not said) of Material, and what that
// is fixed on ("studs", "joists" or "").
type Made struct {
	At        Pos
	Text      string // as written
	Thickness *formula.Expr
	Material  string
	On        string
}

// Timbers are the studs or joists of a surface, by their middles along one axis: a list, or one every so often.
type Timbers struct {
	At      Pos
	Axis    Axis // "" when not said: x for the back and front walls, floor and ceiling, y for the left and right
	Middles []*formula.Expr
	Every   *formula.Expr // with From instead of Middles
	From    *formula.Expr // nil: 0
	Wide    *formula.Expr // nil: 1-1/2 in
}

// Baseboard is the strip at the foot of a wall.
type Baseboard struct {
	At                Pos
	Height, Thickness *formula.Expr
}

// The kinds of zones.
const (
	NoDrilling = "no drilling"
	Opening    = "opening"
	Obstacle   = "obstacle"
)

// Zone is a named region of the room.
type Zone struct {
	Name    Name
	Kind    Word      // NoDrilling, Opening, Obstacle
	Surface Name      // Text "" when none is given
	Ranges  [3]*Range // by axis; nil: without bounds
}

// Range is from Low to High along one axis.
type Range struct {
	Axis      Axis
	At        Pos
	Low, High *formula.Expr
}

// Cleat is timber screwed flat to a wall.
type Cleat struct {
	Name      Name
	At        Pos
	On        Name // a surface
	Ranges    [3]*Range
	Thickness *formula.Expr
	Material  Word
}

// Board is a box of wood.
type Board struct {
	Name     Name
	Size     [3]*formula.Expr
	SizeAt   Pos
	Low      [3]Coord // its low corner
	LowAt    Pos
	Treated  bool
	Wood     Word   // unset: pine
	LiesOn   []Name // none: derived
	LiesOnAt Pos
	Straps   int
	StrapsAt Pos
	Copies   *Copies
}

// Coord is a coordinate of a board: a formula, or "?" (Unknown, z only).
type Coord struct {
	At      Pos
	Expr    *formula.Expr
	Unknown bool
}

// Point is a named place. It has three coordinates, or it is like another point (From) with changes. A coordinate that
// is the bare name of a surface or cleat (Expr.Bare) lies on it.
type Point struct {
	Name    Name
	At      Pos // of the value
	Coords  [3]*formula.Expr
	From    Name // Text "" when Coords are given
	Changes []Change
}

// ChangeOp is how a coordinate differs.
type ChangeOp string

// The changes.
const (
	Set    ChangeOp = "="      // Axis is Expr, or on the surface it names
	Add    ChangeOp = "+"      // Axis grows by Expr ("z - 3" adds an Expr of -3)
	Toward ChangeOp = "toward" // on the straight line to the point To, Expr from From
)

// Change is one difference from another point, or of a copy.
type Change struct {
	At      Pos
	Op      ChangeOp
	Axis    Axis // Set and Add
	To      Name // Toward
	Expr    *formula.Expr
	Unknown bool // "?": Expr is nil, and the distance above zero is to be found
	Minus   bool // with Unknown: the distance counts downwards ("z - ?")
	ExprAt  Pos  // of the formula, or of the "?"
}

// Run is a line of pipes through points.
type Run struct {
	Name      Name
	Path      []PathItem
	PathAt    Pos      // start of the path
	Size      *SizeRef // nil: the file's
	Cuts      []Cut    // none: rest
	CutsAt    Pos
	Clearance *formula.Expr
}

// PathItem is a point of a path, or a part named in it.
type PathItem struct {
	Name Name          // the point; Text is the word of the part when Part is set
	Part standard.Kind // Union, Coupling, RightLeft or LongScrew; "" for a point
}

// Cut is the length given to one pipe: a formula, or "close" or "rest".
type Cut struct {
	At   Pos
	Word string // "close", "rest", or "" with Expr
	Expr *formula.Expr
}

// The words of cuts.
const (
	Close = "close"
	Rest  = "rest"
)

// Open, as the kind of a fitting, asks for a pipe end left open.
const Open standard.Kind = "open"

// Fitting is a choice the program should not make. An entry with several points is one Fitting for each.
type Fitting struct {
	Point Name
	Kind  standard.Kind
	At    Pos // of the kind
	Along Name
	Into  Name
	Loose bool
	Pad   *formula.Expr // thickness of a pad under a foot
	PadAt Pos
}

// Copies says how often a group or board is there.
type Copies struct {
	At      Pos
	Named   []Copy        // a map of names
	Count   *formula.Expr // or so many, each changed once more than the one before; the first stays in place
	Changes []Change
}

// Copy is one copy by name: Here, or moved by Changes, or mirrored.
type Copy struct {
	Name     Name
	At       Pos // of the value
	Here     bool
	Changes  []Change
	Mirror   Axis // "" when not mirrored
	MirrorAt *formula.Expr
}

// Group is drawn once and copied.
type Group struct {
	Name   Name
	Copies *Copies // nil: one, under the group's name
	Body
}

// Load is what a run, board or point carries. An entry with several names is one Load for each.
type Load struct {
	On    Name
	Items []LoadItem
}

// LoadItem is one load: a word of LoadWords or a formula.
type LoadItem struct {
	At       Pos
	Word     string
	Expr     *formula.Expr
	Anywhere bool
	Dir      string // "left", "right", "out", "back", "up", "down"; "" is down
}

// PartEntry says what was measured, is in hand, or costs. Sizes is empty for a kind alone, Kind "" for a size alone.
type PartEntry struct {
	KeyAt       Pos
	Sizes       []standard.Size
	Kind        standard.Kind
	Engagement  *formula.Expr
	CentreToEnd []*formula.Expr // one, or run then outlet
	Length      *formula.Expr
	Height      *formula.Expr
	Across      *formula.Expr
	Circle      *formula.Expr
	Countersink *formula.Expr
	Holes       int // 0: not given
	HolesAt     Pos
	Rated       *formula.Expr
	Stock       []*formula.Expr
	Have        []*formula.Expr // pipe and a size alone: lengths; others: one whole number
	HaveAt      Pos
	Prices      []Price
	Thread      standard.Family // "" when not given
	TaperInside bool            // "bspt taper"
	ThreadAt    Pos
	Finish      Finish
}

// Price is what a part costs; pipe has one for each length it is sold in.
type Price struct {
	At     Pos
	Amount float64
	Unit   string        // currency as written, or ""
	Length *formula.Expr // pipe: the length it holds for
}

// WishKind is a kind of wish for the order of work.
type WishKind string

// The wishes.
const (
	First  WishKind = "first"
	Last   WishKind = "last"
	Before WishKind = "before"
	Bench  WishKind = "bench"
)

// Wish is a wish for the order of work.
type Wish struct {
	At   Pos
	Text string // as written
	Kind WishKind
	A, B []Name // B only with Before
}
