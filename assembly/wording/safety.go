package wording

import (
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// Heights and shares of the safety notes: common practice, no source.
const (
	// overheadMM is the height from which a falling part can hit a head.
	overheadMM = 1500
	// tallShare is the height over the narrowest foot from which a frame that is fastened to nothing counts as tall.
	tallShare = 3
)

// Safety lists what to mind before and during work, as far as the design calls for it. The notes are the usual cautions
// of the trade; they do not replace the instructions of makers, local codes, or a licensed person where one is required.
func Safety(a assembly.Plan) []string {
	notes := []string{
		say("safety.sharp"),
		say("safety.eyes"),
	}
	if drillsRoom(a) {
		notes = append(notes, say("safety.drill"))
	}
	if hasKind(a, standard.Board) {
		notes = append(notes, say("safety.dust"))
	}
	notes = append(notes, finishNotes(a)...)
	if top := highest(a); top >= overheadMM {
		notes = append(notes, say("safety.overhead"))
	}
	if standsFree(a) {
		notes = append(notes, say("safety.tipping"))
	}
	return append(notes,
		say("safety.no-handrail"),
		say("safety.no-water"))
}

// finishNotes speak of what is sprayed, wiped or ground.
func finishNotes(a assembly.Plan) []string {
	notes := []string{say("safety.solvents")}
	sprayed := false
	for _, p := range a.Parts {
		sprayed = sprayed || strings.Contains(p.Finish, "lacquer") || strings.Contains(p.Finish, "paint")
	}
	if sprayed {
		notes = append(notes, say("safety.spray"))
	}
	return notes
}

func hasKind(a assembly.Plan, k standard.Kind) bool {
	for _, p := range a.Parts {
		if p.Kind == k {
			return true
		}
	}
	return false
}

// drillsRoom tells whether something is screwed to the room.
func drillsRoom(a assembly.Plan) bool {
	for _, j := range a.Joints {
		if j.Kind == assembly.Face && (isRoom(a, j.A.Part) || isRoom(a, j.B.Part)) {
			return true
		}
	}
	return false
}

func isRoom(a assembly.Plan, id string) bool {
	for _, p := range a.Parts {
		if p.ID == id {
			return p.Kind == standard.Room
		}
	}
	return false
}

// highest is the greatest height of any port or board.
func highest(a assembly.Plan) float64 {
	b := frameBox(a)
	if b.IsEmpty() {
		return 0
	}
	return b.Max.Z
}

// standsFree tells whether a tall frame is fastened to nothing.
func standsFree(a assembly.Plan) bool {
	b := frameBox(a)
	if drillsRoom(a) || b.IsEmpty() {
		return false
	}
	size := b.Size()
	return size.Z > tallShare*min(size.X, size.Y)
}

// frameBox is the box round all ports and boards of the frame, without the room.
func frameBox(a assembly.Plan) geom.Box {
	b := geom.EmptyBox()
	for _, p := range a.Parts {
		if p.Kind == standard.Room {
			continue
		}
		for _, port := range p.Ports {
			b = b.Include(port.At)
		}
		for _, box := range p.Boxes {
			b = b.Union(p.Pose.Box(box))
		}
	}
	return b
}
