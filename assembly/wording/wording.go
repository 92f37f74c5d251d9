// Package wording holds the words that a builder reads on steps and lists, made from codes and values in one place.
//
// All functions are pure: the same plan gives the same words. Directions are named as a person sees them who stands in
// the room and faces the back wall; lengths are in the units of the design.
//
// Every word stands in english.txt, by name (page.go); the functions here put them together.
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
	of     map[int]int // how many bodies have a number
	solid  int         // how many bodies there are without the room
}

// NewBook prepares the words of a plan. Parts and joints are not changed and must stay as they are.
func NewBook(s units.System, parts []assembly.Part, joints []assembly.Joint) *Book {
	b := &Book{s, map[string]*assembly.Part{}, map[string]*assembly.Joint{}, map[int]int{}, 0}
	for i := range parts {
		p := &parts[i]
		b.parts[p.ID] = p
		if p.Kind != standard.Room {
			b.solid++
		}
		if p.Half != "b" { // the halves of a union share their number
			b.of[p.Number]++
		}
	}
	for i := range joints {
		b.joints[joints[i].ID] = &joints[i]
	}
	return b
}

// Near is a length to the nearest sixteenth of an inch or millimetre, for words that nobody cuts by.
func Near(s units.System, mm float64) string { return s.Nearest(units.Length(mm)) }

// PartName names a part: "3/4 in tee", "3/4 in pipe, 46 1/2 in long" (to the nearest sixteenth; lists have the exact
// length), "3/4 in union half b", "board shelf".
func PartName(s units.System, p assembly.Part) string {
	if p.Kind == standard.Pipe {
		return say("name.long", kindName(p), Near(s, p.LengthMM))
	}
	return kindName(p)
}

// kindName is a part's name without a length.
func kindName(p assembly.Part) string {
	switch p.Kind {
	case standard.Room:
		return KindName(standard.Room)
	case standard.Board, standard.Cleat:
		return KindName(p.Kind) + " " + p.ID
	case standard.Union:
		if p.Half != "" {
			return say("name.half", sized(p), p.Half)
		}
	}
	return sized(p)
}

// sized is size and kind: "3/4 x 3/4 x 1/2 in tee".
func sized(p assembly.Part) string {
	return strings.TrimSpace(p.Size.Words() + " " + KindName(p.Kind))
}

// Part names a part with the number it has in the pictures: "3/4 in tee (7)". An id that is no part is returned as it is.
func (b *Book) Part(id string) string {
	p := b.parts[id]
	if p == nil {
		return id
	}
	if p.Kind == standard.Room {
		return say("place.the-room")
	}
	return kindName(*p) + number(p)
}

// fresh names a part that is taken to hand: its size and length, and the place it is for where others have its number:
// "the 3/4 in pipe (2) for post.2, 46 1/2 in long,".
func (b *Book) fresh(id string) string {
	name := b.the(id) + b.which(id, "name.for")
	p := b.parts[id]
	switch {
	case p != nil && p.Kind == standard.Pipe:
		name = say("name.long", name, Near(b.units, p.LengthMM)) + ","
	case p != nil && p.Half == "a":
		name += say("name.no-nut")
	case p != nil && p.Half == "b":
		name += say("name.nut")
	}
	return name
}

// freshPlain is fresh at the end of a clause, without a comma.
func (b *Book) freshPlain(id string) string { return strings.TrimSuffix(b.fresh(id), ",") }

// short names a part that stands there: "the tee (7) at level-1.left".
func (b *Book) short(id string) string {
	p := b.parts[id]
	if p == nil || p.Kind == standard.Board || p.Kind == standard.Cleat || p.Kind == standard.Room {
		return b.the(id)
	}
	name := KindName(p.Kind)
	if p.Half != "" {
		name = say("name.half", name, p.Half)
	}
	return say("place.the", name+number(p)) + b.which(id, "name.at")
}

// which tells a part from others of its number by its name in the design, in the words of that name, after a space; plain
// without one. It is "" for the only one.
func (b *Book) which(id, words string) string {
	p := b.parts[id]
	if p == nil || p.Number == 0 || b.of[p.Number] < 2 || p.Kind == standard.Board || p.Kind == standard.Cleat {
		return ""
	}
	where := id
	if p.Half != "" {
		where = strings.TrimSuffix(id, "."+p.Half)
	}
	if words == "" {
		return where
	}
	return " " + say(words, where)
}

// the puts "the" before a part.
func (b *Book) the(id string) string {
	if p := b.parts[id]; p != nil && p.Kind == standard.Room {
		return b.Part(id)
	}
	return say("place.the", b.Part(id))
}

// theAll names several parts, equal ones together: "the tee (7) at corner and 2 pipes (4)".
func (b *Book) theAll(ids []string) string {
	var order []string
	same := map[string][]string{}
	for _, id := range ids {
		name := b.the(id)
		if same[name] == nil {
			order = append(order, name)
		}
		same[name] = append(same[name], id)
	}
	names := make([]string, len(order))
	for i, name := range order {
		alike := same[name]
		names[i] = b.short(alike[0])
		if k := len(alike); k > 1 {
			names[i] = strconv.Itoa(k) + " " + b.plural(alike[0])
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
	words := KindNames(p.Kind)
	if p.Half != "" {
		words = say("name.halves", p.Half)
	}
	if p.Number != 0 {
		words += " (" + strconv.Itoa(p.Number) + ")"
	}
	return words
}

// KindName is the word of the trade for a kind of part.
func KindName(k standard.Kind) string { return say("kind." + string(k)) }

// KindNames is the plural of KindName.
func KindNames(k standard.Kind) string { return say("kinds." + string(k)) }

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
		return say("list.and", strings.Join(words[:n-1], ", "), words[n-1])
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
	add(d.X, say("way.right"), say("way.left"))
	add(d.Y, say("way.back"), say("way.front"))
	add(d.Z, say("way.up"), say("way.down"))
	return And(words)
}

// Line names the direction of something with two like ends as seen by a person who faces the back wall: "upright",
// "from left to right", "from back to front"; at a slant, where one of its ends points.
func Line(d geom.Vec) string {
	d = d.Unit()
	switch x, y, z := math.Abs(d.X) > slantShare, math.Abs(d.Y) > slantShare, math.Abs(d.Z) > slantShare; {
	case z && !x && !y:
		return say("line.upright")
	case x && !y && !z:
		return say("line.across")
	case y && !x && !z:
		return say("line.deep")
	}
	if d.Z < 0 {
		d = d.Neg()
	}
	return say("line.slant", Direction(d))
}

// Surface names what a face that points along d stands on or is fixed to in a room.
func Surface(d geom.Vec) string { return say("place." + assembly.SurfaceAlong(d)) }

// quarter is the least part of a turn that a builder can judge with a wrench; half is one that is counted with ease.
const (
	quarter = 0.25
	half    = 0.5
)

// within gives the least and greatest multiple of step inside a window; ok when there are two.
func within(w assembly.Window, step float64) (lo, hi float64, ok bool) {
	const slack = 1e-6 // turns: a window that ends on a step keeps it in spite of rounding
	lo = math.Ceil((w.Min-slack)/step) * step
	hi = math.Floor((w.Max+slack)/step) * step
	return lo, hi, hi > lo
}

// windowTurns writes a window in half turns that lie inside, "5 1/2 to 8 1/2 turns"; one with fewer than two halves in
// it in quarters, one with fewer quarters to a tenth.
func windowTurns(w assembly.Window) string {
	for _, step := range []float64{half, quarter} {
		if lo, hi, ok := within(w, step); ok {
			return say("turn.window", units.Fraction(lo), units.Fraction(hi))
		}
	}
	return say("turn.window", strconv.FormatFloat(w.Min, 'f', 1, 64), strconv.FormatFloat(w.Max, 'f', 1, 64))
}

// TurnsMark writes how far a joint is turned in a step in the very words of the step's sentence, so that picture and text
// agree: the window where something must point some way in the end, for then where to stop is seen and not counted, and
// "about 8 turns" elsewhere. The joint's window may be nil.
func TurnsMark(s assembly.Step, j assembly.Joint) string {
	if j.Turns == nil || s.Action == assembly.Adjust {
		return say("turn.some", turnCount(s.Turns))
	}
	w := stepWindow(s, j)
	if s.Clock != nil || s.Turns < w.Min || s.Turns > w.Max {
		return windowTurns(w)
	}
	for _, step := range []float64{half, quarter} {
		if lo, hi, ok := within(w, step); ok {
			return say("turn.some", turnCount(min(max(math.Round(s.Turns/step)*step, lo), hi)))
		}
	}
	return windowTurns(w)
}

// deeper is by how many turns a step turns a joint further than it stays, to be turned back later; 0 where it does not.
func deeper(s assembly.Step, j assembly.Joint) float64 {
	const noise = 0.01 // turns
	if j.PitchMM <= 0 || j.EngagementMM <= 0 || s.Turns == 0 {
		return 0
	}
	if x := s.Turns - j.EngagementMM/j.PitchMM; x > noise {
		return x
	}
	return 0
}

// stepWindow is the window of a joint as a step leaves it: one that is turned back later must be turned at least as much
// further now.
func stepWindow(s assembly.Step, j assembly.Joint) assembly.Window {
	w := *j.Turns
	w.Min = min(w.Min+deeper(s, j), w.Max)
	return w
}

// Turns writes how far to turn and the window around it, in half turns that lie inside: "about 8 turns (5 1/2 to
// 8 1/2)". A window with fewer than two halves in it is written in quarters, one with fewer quarters to a tenth. The
// number before the window is left out when it does not lie in it.
func Turns(turns float64, w assembly.Window) string {
	if turns < w.Min || turns > w.Max {
		return windowTurns(w)
	}
	for _, step := range []float64{half, quarter} {
		if lo, hi, ok := within(w, step); ok {
			about := min(max(math.Round(turns/step)*step, lo), hi)
			return say("turn.about", turnCount(about), units.Fraction(lo), units.Fraction(hi))
		}
	}
	return windowTurns(w)
}
