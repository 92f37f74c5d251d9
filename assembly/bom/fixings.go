package bom

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// Screws. Common practice among builders where no source is named.
const (
	strapScrews      = 2    // a two-hole strap
	casterScrews     = 4    // a caster's plate has four holes
	defaultHoles     = 4    // a flange whose number of holes is not known
	cleatScrewEvery  = 400  // mm: a screw pair at each stud, at most 16 in apart
	biteMM           = 38.1 // 1-1/2 in of screw in the timber behind plate and lining
	liningMM         = 12.7 // 1/2 in board, where the design does not say what covers the studs
	throughMarginMM  = 3    // what a screw stays short of the far side of a board
	screwStepInchMM  = 6.35 // screws come in steps of 1/4 in
	screwStepMM      = 5    // or of 5 mm
	leastScrewMM     = 12.7 // shorter wood screws are not kept
	screwDiameterHow = "wood screw #10 or #12 (5 mm)"
)

// screw is a kind of screw to buy.
type screw struct {
	text  string
	count int
}

// fixings makes straps and screws.
func (s *shopper) fixings() {
	s.straps()
	var kinds []screw
	add := func(text string, n int) {
		for i := range kinds {
			if kinds[i].text == text {
				kinds[i].count += n
				return
			}
		}
		kinds = append(kinds, screw{text, n})
	}
	for _, j := range s.a.Joints {
		if j.Kind == assembly.Face {
			s.faceScrews(j, add)
		}
	}
	for _, p := range s.a.Parts {
		switch p.Kind {
		case standard.Strap:
			add("round-head wood screw for a pipe strap, "+s.screwLength(leastScrewMM), strapScrews)
		case standard.Cleat:
			n := 2 * (int(math.Floor(longest(p)/cleatScrewEvery)) + 1)
			add("wood screw for a cleat, "+s.screwUp(thickness(p)+liningMM+biteMM)+" long: through cleat and lining, "+s.bite(), n)
		}
	}
	for _, k := range kinds {
		s.add(assembly.Item{Group: groupFixings, Text: k.text, Count: k.count, Spare: tenth(k.count)})
	}
}

// straps are listed by size.
func (s *shopper) straps() {
	at := map[string]int{}
	for _, p := range s.a.Parts {
		if p.Kind != standard.Strap {
			continue
		}
		key := p.Size.Words()
		if i, ok := at[key]; ok {
			s.items[i].Count++
			continue
		}
		at[key] = len(s.items)
		text := strings.TrimSpace(key + " pipe strap, two holes")
		if od := p.Dims[standard.DimOD].MM; od > 0 {
			text += ", for a pipe of true outside diameter " + s.length(od)
		}
		it := assembly.Item{Group: groupFixings, Kind: p.Kind, Text: text, Size: p.Size, Count: 1}
		s.price(&it, p)
		s.add(it)
	}
	for i := range s.items {
		if s.items[i].Kind == standard.Strap {
			s.items[i].Spare = tenth(s.items[i].Count)
		}
	}
}

// faceScrews are those of one flange, caster or cleat end.
func (s *shopper) faceScrews(j assembly.Joint, add func(string, int)) {
	fixed, base, port := s.part(j.A.Part), s.part(j.B.Part), j.A.Port
	if fixed == nil || base == nil {
		return
	}
	if fixed.Kind == standard.Room || fixed.Kind == standard.Board || fixed.Kind == standard.Cleat {
		fixed, base, port = base, fixed, j.B.Port
	}
	n := 0
	switch fixed.Kind {
	case standard.Flange:
		n = int(math.Round(fixed.Dims[standard.DimHoles].MM))
		if n == 0 {
			n = defaultHoles
		}
	case standard.Caster:
		n = casterScrews
	default:
		return // cleats are counted by their length
	}
	plate := fixed.Dims[standard.DimPlate].MM
	add(s.screwText(fixed, base, port, plate), n)
}

// screwText chooses the screw from what it goes into.
func (s *shopper) screwText(fixed, base *assembly.Part, port string, plate float64) string {
	what := "for a " + fixed.Kind.Words()
	if base.Kind == standard.Board {
		mm := plate + thickness(*base) - throughMarginMM
		return fmt.Sprintf("%s %s, %s long or less: a longer one comes through the board (%s)", screwDiameterHow, what,
			s.screwLength(mm), s.length(thickness(*base)))
	}
	lining, into := liningMM, ""
	if base.Kind == standard.Cleat {
		lining, into = thickness(*base), "the cleat"
	} else {
		into = s.made(fixed, port)
		lining = liningOf(into)
	}
	switch {
	case isMasonry(into):
		return fmt.Sprintf("screw with a wall plug for %s %s, rated for the load", into, what)
	case into == "":
		return fmt.Sprintf("%s %s, %s long: %s behind a covering of %s; for masonry take wall plugs",
			screwDiameterHow, what, s.screwUp(plate+lining+biteMM), s.bite(), s.units.Nearest(liningMM))
	}
	return fmt.Sprintf("%s %s, %s long: through %s, %s", screwDiameterHow, what, s.screwUp(plate+lining+biteMM), into, s.bite())
}

// bite says how far a screw goes into timber.
func (s *shopper) bite() string { return s.units.Nearest(biteMM) + " into timber" }

// liningOf is the thickness that a surface's description begins with ("1/2 in gypsum on studs"), in mm.
func liningOf(made string) float64 {
	q, n, err := units.ScanQuantity(made)
	if err != nil || n == 0 || q.Base != units.LengthBase || q.X <= 0 {
		return liningMM
	}
	return q.X
}

// made is what the surface that a face lies on is made of, as written, or "".
func (s *shopper) made(fixed *assembly.Part, port string) string {
	for _, p := range fixed.Ports {
		if p.Name != port {
			continue
		}
		name := assembly.SurfaceAlong(p.Out)
		for _, f := range s.a.Room.Surfaces {
			if f.Name == name {
				return f.Made
			}
		}
	}
	return ""
}

// isMasonry tells walls that want plugs.
func isMasonry(made string) bool {
	for _, word := range []string{"brick", "block", "concrete", "stone", "tile"} {
		if strings.Contains(made, word) && !strings.Contains(made, " on ") {
			return true
		}
	}
	return false
}

// screwLength is the longest screw sold that is not longer than mm.
func (s *shopper) screwLength(mm float64) string {
	return s.length(math.Max(leastScrewMM, math.Floor(mm/s.screwStep()+1e-9)*s.screwStep()))
}

// screwUp is the shortest screw sold that is not shorter than mm.
func (s *shopper) screwUp(mm float64) string {
	return s.length(math.Ceil(mm/s.screwStep()-1e-9) * s.screwStep())
}

// screwStep is by how much the lengths of screws in a shop differ, in mm.
func (s *shopper) screwStep() float64 {
	if s.units == units.MetricSystem {
		return screwStepMM
	}
	return screwStepInchMM
}

func (s *shopper) part(id string) *assembly.Part {
	for i := range s.a.Parts {
		if s.a.Parts[i].ID == id {
			return &s.a.Parts[i]
		}
	}
	return nil
}

// extent is the box round all of a board's material.
func extent(p assembly.Part) geom.Box {
	b := geom.EmptyBox()
	for _, box := range p.Boxes {
		b = b.Union(box)
	}
	return b
}

// thickness is a board's least side, 0 for one without material.
func thickness(p assembly.Part) float64 {
	b := extent(p)
	if b.IsEmpty() {
		return 0
	}
	v := b.Size()
	return min(v.X, v.Y, v.Z)
}

// longest is a board's greatest side.
func longest(p assembly.Part) float64 {
	b := extent(p)
	if b.IsEmpty() {
		return 0
	}
	v := b.Size()
	return max(v.X, v.Y, v.Z)
}

// boards makes one item per number.
func (s *shopper) boards() {
	wood := func(p assembly.Part) bool { return p.Kind == standard.Board || p.Kind == standard.Cleat }
	for _, group := range distinct(s.a.Parts, wood) {
		p := s.a.Parts[group[0]]
		b := extent(p)
		if b.IsEmpty() {
			continue
		}
		v := b.Size()
		l, t := longest(p), thickness(p)
		wide := v.X + v.Y + v.Z - l - t
		text := strings.TrimSpace(p.Material+" "+p.Kind.Words()) + fmt.Sprintf(", %s x %s x %s", s.length(l), s.length(wide), s.length(t))
		if n := len(p.Holes); n > 0 {
			text += ", " + strconv.Itoa(n) + " holes to bore"
			if n == 1 {
				text = strings.TrimSuffix(text, "holes to bore") + "hole to bore"
			}
		}
		it := assembly.Item{Group: groupBoards, Kind: p.Kind, Text: text, Number: p.Number, LengthMM: l, Count: len(group)}
		s.price(&it, p)
		s.add(it)
	}
}
