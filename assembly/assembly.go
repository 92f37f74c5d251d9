// Package assembly is the vocabulary that every analysis and every picture shares: parts with their ports and poses,
// the joints between them, and the results worked out for them (loops, steps, findings, cuts, items). It is data with
// a few walks over it and no judgement. The JSON form of these types is plan.json.
//
// # Frames
//
// Everything is in the finished frame: millimetres, right-handed, x and z as in the design file, y negated.
// Each part has a frame of its own; its Pose takes it to the finished frame. By kind:
//
//	pipe                  origin at the end face of port a, Z along the pipe; a out -Z at 0, b out +Z at the length
//	elbow                 origin where the centre lines meet; a out +X, b out +Y
//	elbow45               the same; a out +X, b out (cos 135, sin 135, 0)
//	street-elbow(45)      as elbow(45): a the female end, b the male one
//	tee                   a out -Z, b out +Z (the run), c out +X (the outlet)
//	cross                 a out -Z, b out +Z, c out +X, d out -X
//	side-elbow            a out +X, b out +Y, c out +Z
//	side-tee              a out -Z, b out +Z, c out +X, d out +Y
//	coupling, reducer, right-left, long-screw
//	                      origin at mid-length; a out -Z, b out +Z. Reducer: a the larger end. Right-left: b left-hand
//	union halves          both have the pose of the whole union, origin at the seat plane; half a: port a out -Z, seat
//	                      out +Z at the origin; half b: port b out +Z, seat out -Z at the origin
//	                      until their joint is closed the nut is pushed back on half b: what of b reaches over the seat
//	                      (z < 0) is then in nobody's way
//	bushing               origin at the face of its head; a (male, larger) out -Z at the end of its thread, b out +Z at 0
//	plug                  origin at the face that stops at the mouth of the opening; a (male) out -Z at the end of its
//	                      thread, the head at +Z
//	flange                origin on the axis at the mounting side; face out -Z at 0, a (mouth) out +Z at the height
//	cap                   origin at the face of its mouth; a out -Z at 0, closed at +Z
//	glide, caster         origin on the axis where it stands; face out -Z at 0, a out +Z at the height
//	pad                   as glide, height its thickness
//	board, cleat          origin at the corner with least x, y, z of its box; axes of the finished frame
//	strap                 origin on the pipe's axis, Z along the pipe, X towards the board it is screwed to
//	room                  the finished frame
package assembly

import (
	"math"
	"strings"

	"turnwise/assembly/standard"
	"turnwise/geom"
)

// Sizes are the nominal sizes of a part: one for all its ports, or one per port.
type Sizes []standard.Size

// Text writes sizes as the trade does: one when all openings are alike ("3/4"), else all of them, run first and outlet
// last ("3/4 x 3/4 x 1/2"); "" for none.
func (s Sizes) Text() string {
	if len(s) == 0 {
		return ""
	}
	names, alike := make([]string, len(s)), true
	for i, one := range s {
		names[i] = string(one)
		alike = alike && one == s[0]
	}
	if alike {
		return names[0]
	}
	return strings.Join(names, " x ")
}

// Words is Text with the unit of trade sizes behind it, "1 in", so that a size is never read as a number of things. The
// unit is the same for all threads: sizes of ISO 7-1 too are named after inches.
func (s Sizes) Words() string {
	if len(s) == 0 {
		return ""
	}
	return s.Text() + " in"
}

// Part is one physical body.
type Part struct {
	ID       string        `json:"id"`
	Number   int           `json:"number"` // 0, written as null: the room
	Kind     standard.Kind `json:"kind"`
	Size     Sizes         `json:"size"`
	LengthMM float64       `json:"length_mm"` // pipes; 0, written as null, for others
	Stock    bool          `json:"stock"`
	Pose     geom.Pose     `json:"pose"`
	MassKG   float64       `json:"mass_kg"`
	Solid    string        `json:"solid"` // file under the output folder; "" is written as null
	Override []string      `json:"override"`
	Ports    []Port        `json:"ports"`
	Boxes    []geom.Box    `json:"boxes"`
	Holes    []Hole        `json:"holes"`

	Family   standard.Family `json:"thread"`   // "" for parts without threads
	Material string          `json:"material"` // "steel", "iron", or the board's wood
	Finish   string          `json:"finish"`
	Dims     standard.Dims   `json:"dims"`    // what its solid is built from, each with its source
	LeftEnd  string          `json:"left"`    // the port that is cut left-hand, or ""
	Half     string          `json:"half"`    // "a" or "b" of a union, else ""
	Running  string          `json:"running"` // the port of a pipe that carries a long screw's running thread, or ""
	Loose    bool            `json:"loose"`   // a flange that only stands
}

// Port is a place where a part joins another. It is in the finished frame.
type Port struct {
	Name string   `json:"name"`
	At   geom.Vec `json:"at_mm"`
	Out  geom.Vec `json:"out"`
}

// Hole is a round hole or edge notch in a board, in the part frame, already taken out of the material.
type Hole struct {
	At       geom.Vec `json:"at_mm"`
	Dir      geom.Vec `json:"dir"`
	Diameter float64  `json:"d_mm"`
	// Depth is how far the hole goes from At along Dir; 0 means right through.
	Depth float64 `json:"depth_mm"`
}

// JointKind is a way to join two parts.
type JointKind string

// The kinds of joints.
const (
	Thread    JointKind = "thread"
	UnionNut  JointKind = "union"
	RightLeft JointKind = "right-left"
	LongScrew JointKind = "long-screw"
	Face      JointKind = "face"
	Rest      JointKind = "rest"
	StrapOn   JointKind = "strap"
	Bored     JointKind = "bored"
)

// IsRigid tells whether a joint of this kind makes two bodies one.
func (k JointKind) IsRigid() bool { return k != Rest && k != Bored }

// Reopens tells whether a joint of this kind comes apart again without unscrewing what lies beyond it, for moving
// house: by its nut, its two hands, its long thread, or its wood screws.
func (k JointKind) Reopens() bool {
	switch k {
	case UnionNut, RightLeft, LongScrew, Face, StrapOn:
		return true
	}
	return false
}

// IsThreaded tells whether joints of this kind count for loops.
func (k JointKind) IsThreaded() bool {
	return k == Thread || k == UnionNut || k == RightLeft || k == LongScrew
}

// Joint joins port A of one part to port B of another.
type Joint struct {
	ID           string    `json:"id"`
	Kind         JointKind `json:"kind"`
	A            End       `json:"a"`
	B            End       `json:"b"`
	Axis         *Axis     `json:"axis"`
	Hand         string    `json:"hand"` // "right" or "left"; "" is written as null
	PitchMM      float64   `json:"pitch_mm"`
	EngagementMM float64   `json:"engagement_mm"`
	Turns        *Window   `json:"turns"`
	Override     []string  `json:"override"`

	// HandTightMM is the engagement reached by hand (L1), from which mating threads begin to bind.
	HandTightMM float64 `json:"hand_tight_mm"`
}

// End is one side of a joint. Port is "" on boards, cleats, straps and the room, and written as null there.
type End struct {
	Part string `json:"part"`
	Port string `json:"port"`
}

// Axis is a line with a direction. On a joint it points from a to b.
type Axis struct {
	At  geom.Vec `json:"at_mm"`
	Dir geom.Vec `json:"dir"`
}

// Window is the least and most turns a threaded joint may be given.
type Window struct {
	Min float64 `json:"min"`
	Max float64 `json:"max"`
}

// Loop is an independent cycle of threaded joints.
type Loop struct {
	Parts    []string `json:"parts"`
	ClosedBy string   `json:"closed_by"` // joint id; "" is written as null
}

// Action is what the builder does in a step.
type Action string

// The actions.
const (
	Screw     Action = "screw"
	JoinUnion Action = "join-union"
	Fasten    Action = "fasten"
	Place     Action = "place"
	PutStrap  Action = "strap"
	ThreadOn  Action = "thread-on"
	StandUp   Action = "stand-up"
	Adjust    Action = "adjust"
)

// Step is one thing done, with the motion that does it.
type Step struct {
	Number        int       `json:"number"`
	Action        Action    `json:"action"`
	Moves         []string  `json:"moves"`
	Onto          []string  `json:"onto"`
	Joints        []string  `json:"joints"`
	Turns         float64   `json:"turns"`
	Start         geom.Pose `json:"start"` // of Moves[0]; written as null when nothing moves
	Motion        []Move    `json:"motion"`
	SwingRadiusMM float64   `json:"swing_radius_mm"`
	Picture       int       `json:"picture"` // written as null when 0
	Where         string    `json:"where"`   // "bench" or "place"
	People        int       `json:"people"`
	Text          string    `json:"text"`
	Draws         []Draw    `json:"draws"`
	Repeats       []Repeat  `json:"repeats"`

	Clock    *Clock   `json:"clock"`    // nil, written as null: it may stop at any angle
	Props    []string `json:"props"`    // parts to prop up meanwhile, one for each group beyond the hands there are
	Seconds  float64  `json:"seconds"`  // the work as estimated, all copies
	Mirrored bool     `json:"mirrored"` // some of the copies are mirror images of the others
}

// Clock says where a part that is screwed up must point in the end, and where it can stop for that. What is told of
// stops holds for any start of the threads: how many turns bring it round is known only at the joint.
type Clock struct {
	Part      string   `json:"part"`       // the part that must point: the one that turns, or one that it carries
	Port      string   `json:"port"`       // the opening to watch; [HolesPort] for the screw holes of a flange; "" (null) for a board
	Toward    geom.Vec `json:"toward"`     // where it points in the finished frame, unit; for holes the line of an opposite pair
	Against   string   `json:"against"`    // the part on the held side that makes the angle matter
	Symmetry  int      `json:"symmetry"`   // how many angles of one turn serve
	StopTurns float64  `json:"stop_turns"` // from one stop to the next: 1 / symmetry
	Stops     int      `json:"stops"`      // how many stops lie in the joint's window at the least
	StopMM    float64  `json:"stop_mm"`    // what one stop more takes off the length: pitch / symmetry
}

// HolesPort stands for the screw holes of a flange in a Clock.
const HolesPort = "holes"

// Repeat is a further copy of the same work.
type Repeat struct {
	Moves  []string  `json:"moves"`
	Onto   []string  `json:"onto"`
	Joints []string  `json:"joints"`
	Start  geom.Pose `json:"start"`
	Motion []Move    `json:"motion"`
	Draws  []Draw    `json:"draws"`
	Clock  *Clock    `json:"clock"`
}

// Draw is a side that a right-and-left piece pulls in.
type Draw struct {
	Moves []string `json:"moves"`
	By    geom.Vec `json:"by_mm"`
}

// MoveKind is "translate" or "turn".
type MoveKind string

// The kinds of moves.
const (
	Translate MoveKind = "translate"
	Turn      MoveKind = "turn"
)

// Move is one stretch of a motion.
type Move struct {
	Kind      MoveKind
	By        geom.Vec // translate
	Axis      Axis     // turn
	ByDeg     float64  // turn
	AdvanceMM float64  // turn: along Axis.Dir
}

// Severity of a finding.
type Severity string

// The severities.
const (
	Stop Severity = "stop"
	Warn Severity = "warn"
	Note Severity = "note"
)

// Finding is something the builder must know about the design.
type Finding struct {
	Code     string             `json:"code"`
	Severity Severity           `json:"severity"`
	Text     string             `json:"text"`
	Parts    []string           `json:"parts"`
	Values   map[string]float64 `json:"values"`
	Repairs  []Repair           `json:"repairs"`
	Source   string             `json:"source"`
	At       string             `json:"at"` // FILE:LINE:COL, or "" (null)
	// Blame names the two parts that stand in each other's way, where there are two: what moves, and what it meets.
	Blame []string `json:"-"`
	// Reopen takes the closing pieces out of the design's text that close rings of these parts, so that they can be
	// closed elsewhere.
	Reopen []Splice `json:"-"`
}

// Repair is a way out of a finding.
type Repair struct {
	Text     string `json:"text"`
	Verified bool   `json:"verified"`
	Tried    bool   `json:"tried"`  // the design was worked out again with these edits
	Leaves   int    `json:"leaves"` // when tried: the findings that still stop the work
	Edits    []Edit `json:"edits"`
	// Splices are the edits by position, as found by those who propose them; package mend makes Edits of them.
	Splices []Splice `json:"-"`
}

// Splice is a change of the design's text at one place: Remove characters from the column on, and put Insert there.
// Lines and columns count from 1, columns in characters; the text removed lies on one line. Of several that insert at
// one place the lower Order comes first.
type Splice struct {
	Line, Col int
	Remove    int
	Insert    string
	Order     int
}

// Edit replaces one whole line of the design; an empty Old inserts a line before it.
type Edit struct {
	Line int    `json:"line"`
	Old  string `json:"old"`
	New  string `json:"new"`
}

// Cut is one distinct pipe.
type Cut struct {
	Number   int           `json:"number"`
	Size     standard.Size `json:"size"`
	LengthMM float64       `json:"length_mm"`
	Count    int           `json:"count"`
	Label    string        `json:"label"`
	Stock    *Stock        `json:"stock"`
	Formula  string        `json:"formula"`
	// Measure names the figures in the formula that no table vouches for, to be measured on the parts in hand.
	Measure []string `json:"measure"`
}

// Stock is the nearest length that can be bought, and what using it moves.
type Stock struct {
	LengthMM float64      `json:"length_mm"`
	Moves    []PointShift `json:"moves"`
}

// PointShift is a point of the design that would move.
type PointShift struct {
	Point string   `json:"point"`
	By    geom.Vec `json:"by_mm"`
}

// Item is one line of the shopping list.
type Item struct {
	Group       string        `json:"group"`
	Kind        standard.Kind `json:"kind"`
	Text        string        `json:"text"`
	Size        Sizes         `json:"size"`
	Number      int           `json:"number"` // 0 is written as null
	LengthMM    float64       `json:"length_mm"`
	Count       int           `json:"count"`
	Spare       int           `json:"spare"`
	PriceEach   *float64      `json:"price_each"`
	PriceSource *string       `json:"price_source"`
}

// Assumption is a default that mattered, with the key of the design file that changes it.
type Assumption struct {
	Text string `json:"text"`
	Key  string `json:"key"`
}

// Header says what the design is called and how it is measured.
type Header struct {
	Title  string          `json:"title"`
	Units  string          `json:"units"`
	Thread standard.Family `json:"thread"`
}

// Load is a load of the design, resolved to newtons or newtons per metre.
type Load struct {
	On       string   `json:"on"`       // part id, point, run or board as the design names it
	Parts    []string `json:"parts"`    // the parts it acts on
	Newtons  float64  `json:"n"`        // in all; 0 when per length
	PerMetre float64  `json:"n_per_m"`  // along the length
	Dir      geom.Vec `json:"dir"`      // finished frame
	Anywhere bool     `json:"anywhere"` // put where it is worst
	At       string   `json:"at"`       // FILE:LINE:COL
}

// Wish is a wish for the order of work: "first", "last", "bench", or "before" (A before B). A and B are part ids.
type Wish struct {
	Kind string   `json:"kind"`
	A    []string `json:"a"`
	B    []string `json:"b"`
	Text string   `json:"text"`
	At   string   `json:"at"`
}

// Assembly is a solved design: every part in its finished place and every joint, before any order is chosen.
type Assembly struct {
	Header      Header
	Parts       []Part
	Joints      []Joint
	Points      map[string]geom.Vec // finished frame, by design name ("high.knee-back")
	Loads       []Load
	Wishes      []Wish
	People      int
	ToleranceMM float64 // how true the cuts are, plus or minus
	Room        Room
	Findings    []Finding
	Assumptions []Assumption
	Pipes       []PipeSum // one per pipe part, in the order of Parts
	Closings    []Closing // where a closing piece could be written, by pipe
	Avoid       []Avoided // what the design does not want
	Prices      []Price
	Design      string // base name of the design file
	Sticks      []StockStick
}

// StockStick is the length in which pipe of a size is bought to be cut: the longest that the design lists under stock,
// else the usual length of the mill.
type StockStick struct {
	Size     standard.Size
	LengthMM float64
	Source   string
}

// Stick is one length of stock and the pieces to be cut from it, in order from one end.
type Stick struct {
	StockStick
	Pieces []StickPiece
	LeftMM float64 // what is left over after the last cut
}

// StickPiece is one pipe of a stick.
type StickPiece struct {
	Number   int
	LengthMM float64
	Short    bool // too short for most machines to grip for threading: ask the shop, or for a nipple
}

// Room carries what is known of the room for checks that come later. Its bodies are the boxes of the part "room".
type Room struct {
	Surfaces []Surface
	Zones    []Zone
	WayInMM  [2]float64 // narrowest width and height on the way in; 0, 0 when not given
}

// Surface is one face of the room that stands there.
type Surface struct {
	Name      string     // floor, ceiling, left, right, back, front, or a cleat's name
	Made      string     // as written: "1/2 in gypsum on studs"
	Timbers   []Timber   // studs or joists
	Boxes     []geom.Box // finished frame, the material
	Baseboard [2]float64 // height, thickness; 0, 0 for none
	Air       string
}

// SurfaceAlong names the surface of a room that a direction of the finished frame points to: floor, ceiling, left,
// right, back or front. The frame's y points to the back wall.
func SurfaceAlong(d geom.Vec) string {
	x, y, z := math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)
	pick := func(v float64, plus, minus string) string {
		if v > 0 {
			return plus
		}
		return minus
	}
	switch {
	case z >= x && z >= y:
		return pick(d.Z, "ceiling", "floor")
	case x >= y:
		return pick(d.X, "right", "left")
	}
	return pick(d.Y, "back", "front")
}

// SurfaceWords is a surface in a sentence: "the floor", "the back wall"; a cleat by its name.
func SurfaceWords(name string) string {
	switch name {
	case "floor", "ceiling":
		return "the " + name
	case "left", "right", "back", "front":
		return "the " + name + " wall"
	}
	return name
}

// nearRoomMM is how far, in mm, a place may lie off a body of the room and still count as on it: a leaning surface is a
// stack of boxes, off by at most 1 mm.
const nearRoomMM = 1.5

// Words names what of the room lies at a place of the finished frame: a surface, or an obstacle by its name; "the room"
// where none does.
func (r Room) Words(at geom.Vec) string {
	for _, z := range r.Zones {
		if z.Kind == "obstacle" && z.Box.Grow(nearRoomMM).Contains(at) {
			return z.Name
		}
	}
	for _, s := range r.Surfaces {
		for _, b := range s.Boxes {
			if b.Grow(nearRoomMM).Contains(at) {
				return SurfaceWords(s.Name)
			}
		}
	}
	return "the room"
}

// TimberLine is the direction along which the stud or joist runs that lies behind the middle of a face in the finished
// frame; false where none is known.
func (r Room) TimberLine(face Port) (geom.Vec, bool) {
	name := SurfaceAlong(face.Out)
	for _, s := range r.Surfaces {
		if s.Name != name {
			continue
		}
		for _, t := range s.Timbers {
			across, at := geom.AxisX, face.At.X
			switch t.Axis {
			case "y":
				across, at = geom.AxisY, -face.At.Y // the design's y runs the other way
			case "z":
				across, at = geom.AxisZ, face.At.Z
			}
			line := across.Cross(face.Out)
			if math.Abs(at-t.Middle) > t.Width/2 || line.Len() < 0.5 {
				continue
			}
			line = line.Unit()
			if line.X+line.Y+line.Z < 0 {
				line = line.Neg()
			}
			return line.Add(geom.Vec{}), true // without the sign of a zero
		}
	}
	return geom.Vec{}, false
}

// Timber is a stud or joist: its middle along Axis ("x", "y" or "z" of the design), and width.
type Timber struct {
	Axis   string
	Middle float64
	Width  float64
}

// Zone is a named region: "no drilling", "opening", or "obstacle".
type Zone struct {
	Name, Kind, Surface string
	Box                 geom.Box // finished frame; unbounded sides are +-Inf
}

// PipeSum is how a pipe's cut length came about.
type PipeSum struct {
	Part    string
	Formula string // the sum, written out in the design's units
	Stock   *Stock
	At      string // FILE:LINE:COL of the run
}

// Closing is a place of the design where a pipe could be divided by a closing piece: a union, a right-and-left or a
// long-screw piece. Pipes of several copies share the splices of the line that draws them.
type Closing struct {
	Part      string // the pipe
	Kind      standard.Kind
	From, To  string  // the points between which the piece would stand
	MissingMM float64 // what the pipe is too short by for the piece and a pipe on either side; 0: long enough
	LosesCut  bool    // the pipe's given length is given up
	Splices   []Splice
	At        string // FILE:LINE:COL
}

// Avoided is something that the design does not want: a part kind, or "bored".
type Avoided struct {
	What  string
	Allow []Splice // takes the word off the list; empty where that takes more than one change
}

// Price is what the design says a part costs.
type Price struct {
	Kind   standard.Kind
	Size   Sizes
	Amount float64 // for pipe: of one piece of LengthMM
	Length float64 // pipes: length it holds for, 0 for others
	Unit   string  // currency as written, or ""
	Have   int     // number in hand
	At     string
}

// Plan is everything a build finds out, in the shape of plan.json.
type Plan struct {
	Format      string       `json:"format"`
	Design      Header       `json:"design"`
	Parts       []Part       `json:"parts"`
	Joints      []Joint      `json:"joints"`
	Loops       []Loop       `json:"loops"`
	Steps       []Step       `json:"steps"`
	Findings    []Finding    `json:"findings"`
	Cuts        []Cut        `json:"cuts"`
	Shopping    []Item       `json:"shopping"`
	Assumptions []Assumption `json:"assumptions"`
	Effort      Effort       `json:"effort"`
}

// Effort is an estimate of the work, from handling times of published tables and proposals of this program.
type Effort struct {
	Seconds float64 `json:"seconds"` // all steps together
	Hardest []int   `json:"hardest"` // numbers of the steps that take longest, per copy; at most three, hardest first
}

// Format is the value of Plan.Format.
const Format = "turnwise-plan/1"

// Outline is a part's shape for planning, in its part frame: coaxial tubes and boxes that together hold all its
// material and little more.
type Outline struct {
	Tubes []Tube
	Boxes []geom.Box
}

// Tube is the material between radius Bore and radius Radius about the line from At along the unit vector Dir, for
// Length. A disc is a short tube with Bore 0.
type Tube struct {
	At, Dir              geom.Vec
	Length, Radius, Bore float64
}
