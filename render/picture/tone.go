package picture

import (
	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/render"
)

// family is a group of parts drawn in one tone. The families differ in brightness by enough to be told apart in a
// greyscale print, and in hue besides; no two need their hue to be told apart.
type family int

const (
	familyPipe family = iota
	familyBoard
	familyFitting
	familyCloser
	familyFoot
	families
)

// tones by family, lightest first: pale steel, pine, blue-grey iron, dark ochre, deep blue.
var tones = [families]render.Tone{
	familyPipe:    {Light: render.Colour{R: 240, G: 244, B: 247}, Shade: render.Colour{R: 163, G: 180, B: 194}},
	familyBoard:   {Light: render.Colour{R: 240, G: 206, B: 150}, Shade: render.Colour{R: 196, G: 145, B: 84}},
	familyFitting: {Light: render.Colour{R: 166, G: 182, B: 197}, Shade: render.Colour{R: 90, G: 106, B: 124}},
	familyCloser:  {Light: render.Colour{R: 206, G: 116, B: 50}, Shade: render.Colour{R: 122, G: 55, B: 16}},
	familyFoot:    {Light: render.Colour{R: 84, G: 104, B: 128}, Shade: render.Colour{R: 30, G: 42, B: 60}},
}

// roomTone is floor and walls: just off the paper.
var roomTone = render.Tone{Light: render.Colour{R: 250, G: 249, B: 245}, Shade: render.Colour{R: 234, G: 232, B: 225}}

func familyOf(k standard.Kind) family {
	switch k {
	case standard.Pipe:
		return familyPipe
	case standard.Board, standard.Cleat:
		return familyBoard
	case standard.Union, standard.RightLeft, standard.LongScrew:
		return familyCloser
	case standard.Flange, standard.Cap, standard.Plug, standard.Glide, standard.Caster, standard.Pad, standard.Strap:
		return familyFoot
	}
	return familyFitting
}

func toneOf(p assembly.Part) render.Tone { return tones[familyOf(p.Kind)] }

// Families lists the names of the groups of parts that pictures tell apart by tone, lightest first.
var Families = [families]string{
	familyPipe: "pipe", familyBoard: "wood", familyFitting: "fitting", familyCloser: "closing piece", familyFoot: "foot or end",
}

// FamilyOf returns the place in Families of parts of a kind, and the tone they are drawn in, so that other files can
// wear the colours of the pictures.
func FamilyOf(k standard.Kind) (int, render.Tone) { return int(familyOf(k)), tones[familyOf(k)] }
