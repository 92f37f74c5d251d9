// Package wording holds the words that a builder reads on steps and lists, made from codes and values in one place.
//
// All functions are pure: the same plan gives the same words. Directions are named as a person sees them who stands in
// the room and faces the back wall; lengths are in the units of the design.
//
// A Book knows a plan's parts and joints; Book.Step says what to do in a step, Book.Part names a part for people.
// Safety says what to mind before work begins.
package wording

import (
	"math"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// Book is what the words of one plan are made from.
type Book struct {
	units  units.System
	parts  map[string]*assembly.Part
	joints map[string]*assembly.Joint
}

// NewBook prepares the words of a plan. Parts and joints are not changed and must stay as they are.
func NewBook(s units.System, parts []assembly.Part, joints []assembly.Joint) *Book {
	b := &Book{s, map[string]*assembly.Part{}, map[string]*assembly.Joint{}}
	for i := range parts {
		b.parts[parts[i].ID] = &parts[i]
	}
	for i := range joints {
		b.joints[joints[i].ID] = &joints[i]
	}
	return b
}

// Length is a length in the design's units.
func Length(s units.System, mm float64) string { return s.Format(units.Length(mm)) }

// Near is a length to the nearest sixteenth of an inch or millimetre, for words that nobody cuts by.
func Near(s units.System, mm float64) string { return s.Nearest(units.Length(mm)) }

// PartName names a part: "3/4 tee", "3/4 pipe 46 1/2 in" (to the nearest sixteenth; lists have the exact length), "3/4
// union half b", "board shelf".
func PartName(s units.System, p assembly.Part) string {
	switch p.Kind {
	case standard.Room:
		return "room"
	case standard.Board, standard.Cleat:
		return p.Kind.Words() + " " + p.ID
	case standard.Pipe:
		return sized(p) + " " + Near(s, p.LengthMM)
	case standard.Union:
		if p.Half != "" {
			return sized(p) + " half " + p.Half
		}
	}
	return sized(p)
}

// sized is size and kind: "3/4 x 3/4 x 1/2 tee".
func sized(p assembly.Part) string {
	return strings.TrimSpace(SizeName(p.Size) + " " + p.Kind.Words())
}

// SizeName is a size for people: one when all openings are alike, else all, run first and outlet last.
func SizeName(s assembly.Sizes) string {
	if len(s) == 0 {
		return ""
	}
	names := []string{string(s[0])}
	same := true
	for _, one := range s[1:] {
		names = append(names, string(one))
		same = same && one == s[0]
	}
	if same {
		return names[0]
	}
	return strings.Join(names, " x ")
}

// Part names a part with the number it has in the pictures: "3/4 tee (7)". An id that is no part is returned as it is.
func (b *Book) Part(id string) string {
	p := b.parts[id]
	if p == nil {
		return id
	}
	if p.Number == 0 {
		return "the " + PartName(b.units, *p)
	}
	return PartName(b.units, *p) + " (" + strconv.Itoa(p.Number) + ")"
}

// short names a part that was named before: "the tee (7)".
func (b *Book) short(id string) string {
	p := b.parts[id]
	if p == nil || p.Number == 0 || p.Kind == standard.Board || p.Kind == standard.Cleat {
		return b.the(id)
	}
	return "the " + p.Kind.Words() + " (" + strconv.Itoa(p.Number) + ")"
}

// the puts "the" before a part.
func (b *Book) the(id string) string {
	return "the " + strings.TrimPrefix(b.Part(id), "the ")
}

// theAll names several parts, equal ones together: "the 3/4 tee (7) and 2 pipes (4)".
func (b *Book) theAll(ids []string) string {
	var first []string
	n := map[string]int{}
	for _, id := range ids {
		name := b.the(id)
		if n[name] == 0 {
			first = append(first, id)
		}
		n[name]++
	}
	names := make([]string, len(first))
	for i, id := range first {
		names[i] = b.the(id)
		if k := n[names[i]]; k > 1 {
			names[i] = strconv.Itoa(k) + " " + b.plural(id)
		}
	}
	return And(names)
}

// plural names several equal parts: "pipes (4)".
func (b *Book) plural(id string) string {
	p := b.parts[id]
	if p == nil {
		return id
	}
	words := Plural(p.Kind.Words())
	if p.Half != "" {
		words = "union halves " + p.Half
	}
	if p.Number != 0 {
		words += " (" + strconv.Itoa(p.Number) + ")"
	}
	return words
}

// Plural is the plural of a name of the trade: "tees", "crosses", "bushings".
func Plural(word string) string {
	if strings.HasSuffix(word, "s") {
		return word + "es"
	}
	return word + "s"
}

// And joins words: "a", "a and b", "a, b and c".
func And(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

// Count writes a number of things: "1 screw", "4 screws".
func Count(n int, thing string) string {
	if n == 1 {
		return "1 " + thing
	}
	return strconv.Itoa(n) + " " + Plural(thing)
}

// slantShare is how much of a direction may lie along another axis before both are named: sin 10 degrees. Openings are
// made true to half a degree; anything less than 10 is not seen as slanted.
const slantShare = 0.17

// Direction names a direction of the finished frame as seen by a person who faces the back wall: "up", "to the left",
// "towards you and down". The frame has x to the right, y towards the back wall and z up.
func Direction(d geom.Vec) string {
	d = d.Unit()
	var words []string
	add := func(amount float64, plus, minus string) {
		if amount > slantShare {
			words = append(words, plus)
		} else if amount < -slantShare {
			words = append(words, minus)
		}
	}
	add(d.X, "to the right", "to the left")
	add(d.Y, "to the back", "towards you")
	add(d.Z, "up", "down")
	return And(words)
}

// Surface names what a face that points along d stands on or is fixed to in a room.
func Surface(d geom.Vec) string {
	d = d.Unit()
	x, y, z := math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)
	switch {
	case z >= x && z >= y && d.Z < 0:
		return "floor"
	case z >= x && z >= y:
		return "ceiling"
	case x >= y && d.X < 0:
		return "left wall"
	case x >= y:
		return "right wall"
	case d.Y > 0:
		return "back wall"
	}
	return "front wall"
}

// quarter is the least part of a turn that a builder can judge with a wrench.
const quarter = 0.25

// Turns writes a window of turns in quarters that lie inside it: "5 1/4 to 7 1/2 turns". A window with fewer than two
// quarters in it is written to a tenth.
func Turns(w assembly.Window) string {
	const slack = 1e-6 // turns: a window that ends on a quarter keeps it in spite of rounding
	lo := math.Ceil((w.Min-slack)/quarter) * quarter
	hi := math.Floor((w.Max+slack)/quarter) * quarter
	if hi <= lo {
		return strconv.FormatFloat(w.Min, 'f', 1, 64) + " to " + strconv.FormatFloat(w.Max, 'f', 1, 64) + " turns"
	}
	return quarters(lo) + " to " + quarters(hi) + " turns"
}

// quarters writes a multiple of 1/4: "5 1/4".
func quarters(x float64) string {
	n := int(math.Round(x / quarter))
	whole, part := n/4, [...]string{"", "1/4", "1/2", "3/4"}[n%4]
	if whole == 0 && part != "" {
		return part
	}
	return strings.TrimSpace(strconv.Itoa(whole) + " " + part)
}
