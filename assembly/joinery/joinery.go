// Package joinery chooses what joins the pipes at a point: the kind of fitting from the directions in which the lines
// leave it, its pose, which port each line uses, and what it takes off each pipe.
package joinery

import (
	"turnwise/assembly/standard"
	"turnwise/geom"
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
	Point      string
	Lines      []Line
	OnSurface  bool
	SurfaceOut geom.Vec // unit, out of the surface, into the room
	UnderBoard bool     // the point lies on a board's underside: a line through the board and one below it
	BoardUp    geom.Vec // unit, from the point into the board (UnderBoard, and casters under a board)
	Ask        Ask
	Avoid      map[standard.Kind]bool
}

// Choice is the fitting at a point.
type Choice struct {
	None    bool // an open end, or a plain bore: no fitting
	Fitting standard.Fitting
	Pose    geom.Pose // origin relative to the point
	Lines   []Use     // one per line of the site, in its order
	Plugs   []Extra   // for openings left over
	Pad     *Extra
	Surface string // port whose face lies on the surface or pad ("face"), or ""
	Notes   []Note
}

// Use is how a line meets the fitting.
type Use struct {
	Port string
	// TakeoutMM is the distance from the point to the pipe's end.
	TakeoutMM float64
	// Street tells that the port is male: no pipe follows, the port itself goes into the next fitting, which it reaches
	// with its end TakeoutMM from the point.
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
	Code string // "ANGLE"
	Text string
	Deg  float64
}

// Fault is why no fitting can be had. Text is a whole sentence after the point's name; Try is what to do instead.
type Fault struct {
	Point string
	Code  string // "ANGLE", "COUNT", "SIZE", "AVOID", "SURFACE", "ASK"
	Text  string
	Try   []string
}

// Error is the sentence without place.
func (f *Fault) Error() string {
	s := f.Point + ": " + f.Text
	for _, t := range f.Try {
		s += "; " + t
	}
	return s
}
