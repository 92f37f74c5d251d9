package bom

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
)

// Coverage. A 12 oz (340 g) spray can covers 10 to 20 square feet in one coat, as makers' pages say; the lower figure
// allows for what blows past a round pipe. The rest is common practice, no source.
const (
	squareFootMM2  = 304.8 * 304.8
	canSquareFeet  = 10
	coats          = 2
	fittingsShare  = 0.15 // fittings' area on top of the pipes'
	waxSquareFeet  = 100  // a small tin of paste wax
	soapSquareFeet = 100  // a litre of degreaser
)

// finish makes cleaning and coating supplies, by the outside area of pipes and fittings.
func (s *shopper) finish() {
	feet := s.area() / squareFootMM2 * (1 + fittingsShare)
	if feet == 0 {
		return
	}
	add := func(text string, n int) { s.add(assembly.Item{Group: groupFinish, Text: text, Count: n}) }
	add("degreaser or mineral spirits, 1 litre, to wash off mill oil and labels", upTo(feet/soapSquareFeet))
	add("lint-free rags, pack", 1)
	cover := fmt.Sprintf("%d coats on %.0f sq ft (%.1f m2)", coats, math.Ceil(feet), feet*squareFootMM2/1e6)
	cans := upTo(feet * coats / canSquareFeet)
	switch {
	case s.hasFinish("lacquer"):
		add("clear spray lacquer for metal, 12 oz (340 g) can: "+cover, cans)
	case s.hasFinish("paint"):
		add("spray paint for metal, 12 oz (340 g) can: "+cover, cans)
	case s.hasFinish("wax"):
		add("paste wax, small tin", upTo(feet/waxSquareFeet))
	}
	if s.hasFinish("galvanised") || s.hasFinish("galvanized") {
		add("zinc-rich touch-up paint for cut threads, small can", 1)
	}
	if s.hasFinish("lacquer") || s.hasFinish("paint") {
		add("masking tape, roll, to keep threads bare", 1)
	}
	add("tape and marker to number the pipes, set", 1)
}

// area is the outside area of all pipes in mm2: pi x outside diameter x length.
func (s *shopper) area() float64 {
	sum := 0.0
	for _, p := range s.a.Parts {
		if p.Kind == standard.Pipe {
			sum += math.Pi * p.Dims[standard.DimOD].MM * p.LengthMM
		}
	}
	return sum
}

func (s *shopper) hasFinish(word string) bool {
	for _, p := range s.a.Parts {
		if strings.Contains(p.Finish, word) {
			return true
		}
	}
	return false
}

// upTo rounds up to a whole number of at least 1.
func upTo(x float64) int { return max(1, int(math.Ceil(x-1e-9))) }

// safety makes what protects the builder. Common practice, no source.
func (s *shopper) safety() {
	add := func(text string, n int) { s.add(assembly.Item{Group: groupSafety, Text: text, Count: n}) }
	people := max(1, s.a.People)
	add("work gloves, pair", people)
	add("eye protection", people)
	if s.hasFinish("lacquer") || s.hasFinish("paint") {
		add("half-mask respirator with cartridges for organic vapours and particles (A2P2, or OV/P95), for spraying", 1)
	}
	wood, room := false, false
	for _, p := range s.a.Parts {
		wood = wood || p.Kind == standard.Board || p.Kind == standard.Cleat
	}
	for _, j := range s.a.Joints {
		a, b := s.part(j.A.Part), s.part(j.B.Part)
		isRoom := func(p *assembly.Part) bool { return p != nil && p.Kind == standard.Room }
		room = room || j.Kind == assembly.Face && (isRoom(a) || isRoom(b))
	}
	if wood {
		add("dust mask (FFP2 or N95), for sawing and drilling wood", people)
	}
	if room {
		add("detector for studs, pipes and live cables, before drilling into the room", 1)
	}
}
