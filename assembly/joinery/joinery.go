// Package joinery chooses what joins the pipes at a point: the kind of fitting from the directions in which the lines
// leave it, its pose, which port each line uses, and what it takes off each pipe.
//
// Directions are unit vectors of the right-handed finished frame, and every pose is right-handed, so a fitting is never
// its own mirror image: a side-outlet elbow takes its three lines in the order that turns the right way.
//
// How [Choose] goes about it:
//
//  1. The number of lines, a surface, a board and the design's own wish give the kinds that may do.
//  2. For each kind, every way to give the lines to ports is tried. One fits when all angles between its lines are those
//     between its ports to within 2 degrees and it is not mirrored; over 0.5 degrees it carries a note.
//  3. Of those that fit, the first that the tables have in the lines' sizes is taken.
//  4. When none is left, a [Fault] gives the angles (or the sizes) and the nearest that can be had.
package joinery

import (
	"strings"

	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// Tolerances on directions, in degrees. Threads seat straight to about half a degree; a frame can be sprung by two.
const (
	StraightDeg = 0.5 // up to here an angle is what it should be
	SprungDeg   = 2.0 // up to here it fits with a note, beyond it there is no fitting
	SquareDeg   = 3.0 // how far from square a run may meet the surface its flange lies on
)

// Line is one centre line that leaves a point.
type Line struct {
	Name string   // the run, for messages
	Dir  geom.Vec // unit, away from the point, finished frame
	Size standard.Size
}

// Ask is what the design's "fittings" entry says about the point. The zero Ask leaves the choice to the program.
type Ask struct {
	Kind  standard.Kind // "" when not asked for
	Open  bool          // `open`: nothing on the pipe's end
	Along string        // run along which the straight pair lies
	Into  string        // run whose pipe the street elbow's male end replaces
	Loose bool          // a flange that only stands
	PadMM float64       // thickness of the pad under a foot; 0 for none
}

// Site is a point with everything that bears on its fitting.
type Site struct {
	Point       string
	Lines       []Line // in path order: port a of couplings and unions goes to the first
	OnSurface   bool
	SurfaceName string       // for messages: "left wall"; may be ""
	SurfaceOut  geom.Vec     // unit, out of the surface, into the room
	UnderBoard  bool         // on a board's underside: a line through the board and one below it, or a caster's place
	BoardUp     geom.Vec     // unit, from the point into the board
	Units       units.System // of lengths in messages; "" goes by the thread family
	Ask         Ask
	Avoid       map[standard.Kind]bool

	half bool // one end of a split: no further ways out are looked for
}

// Choice is the fitting at a point.
type Choice struct {
	None    bool // an open end: no fitting
	Fitting standard.Fitting
	Pose    geom.Pose // origin relative to the point
	Lines   []Use     // one per line of the site, in its order
	Plugs   []Extra   // for openings left over, in port order
	Pad     *Extra
	Surface string // port whose face lies on the surface or pad ("face"), or ""
	Notes   []Note
}

// Use is how a line meets the fitting.
type Use struct {
	Port string
	// TakeoutMM is the distance from the point to the pipe's end along the line. It is below zero when the pipe ends past
	// the point.
	TakeoutMM float64
	// Street tells that the port is male: no pipe follows, the port itself goes into the next fitting, and its end is
	// TakeoutMM from the point.
	Street bool
}

// Extra is a further body: a plug in a port of the fitting, or a pad under it.
type Extra struct {
	Fitting standard.Fitting
	Pose    geom.Pose // origin relative to the point
	Port    string    // port of the main fitting it meets
}

// Note is something the builder must know about a choice that stands.
type Note struct {
	Code string // "ANGLE": sprung by Deg; "ORDER": a special order
	Text string
	Deg  float64
}

// Code says what kind of fault stands in the way.
type Code string

// The codes.
const (
	FaultAngle   Code = "ANGLE"   // no fitting has these angles
	FaultCount   Code = "COUNT"   // more lines than openings
	FaultSize    Code = "SIZE"    // the tables lack the combination of sizes
	FaultAvoid   Code = "AVOID"   // the design does not want the kind that is needed
	FaultSurface Code = "SURFACE" // the run does not meet the surface square
	FaultAsk     Code = "ASK"     // what the design asks for cannot stand here
)

// Fault is why no fitting can be had.
type Fault struct {
	Point string
	Code  Code
	Text  string   // what was found; what was expected
	Try   []string // what to do instead
	Err   error    // the standard package's error behind it, or nil
}

// Error is the whole message without its place in the file.
func (f *Fault) Error() string { return strings.Join(append([]string{f.Text}, f.Try...), "; ") }

// Unwrap returns the error behind the fault.
func (f *Fault) Unwrap() error { return f.Err }

// Choose returns the fitting at a point. Every error is a *Fault.
func Choose(c *standard.Catalogue, s Site) (Choice, error) {
	if err := s.check(); err != nil {
		return Choice{}, err
	}
	switch {
	case s.Ask.Open:
		return s.open()
	case len(s.Lines) == 0:
		return s.alone(c)
	case len(s.Lines) == 1 && isEnd(s.Ask.Kind):
		return s.end(c)
	}
	if s.Ask.Kind != "" {
		return s.asked(c)
	}
	return s.derived(c)
}

// check refuses what no later rule could read.
func (s Site) check() error {
	for _, l := range s.Lines {
		if !l.Dir.IsFinite() || l.Dir.Len() < 0.5 {
			return s.fault(FaultAngle, s.Point+": "+l.Name+" has no direction here")
		}
	}
	if p := s.Ask.PadMM; p != 0 && !(p > 0) {
		return s.fault(FaultAsk, s.Point+": a pad's thickness must be more than zero")
	}
	if s.Ask.PadMM > 0 && !isFoot(s.Ask.Kind) && s.Ask.Kind != "" {
		return s.fault(FaultAsk, s.Point+": a pad goes under a flange, glide, caster or cap, not a "+s.Ask.Kind.Words())
	}
	return nil
}

// fault makes a fault at this point.
func (s Site) fault(code Code, text string, try ...string) *Fault {
	return &Fault{Point: s.Point, Code: code, Text: text, Try: try}
}

// open leaves a pipe's end bare: the point is the end.
func (s Site) open() (Choice, error) {
	if len(s.Lines) != 1 {
		return Choice{}, s.fault(FaultAsk, s.Point+": open is for a pipe's end; "+count(len(s.Lines), "pipe")+" meet here")
	}
	return Choice{None: true, Pose: geom.Identity(), Lines: []Use{{}}}, nil
}
