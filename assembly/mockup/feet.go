package mockup

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// flange is a plate with a socket on it and two holes for pins.
func (b *builder) flange(p *assembly.Part) (*shape, error) {
	f, ok := b.fitAt(p, "a")
	if !ok {
		return nil, fmt.Errorf("no rod of the model fits it")
	}
	high := b.small(p.Dims[standard.DimHeight].MM)
	plate := max(b.small(p.Dims[standard.DimPlate].MM), sheetMM)
	circle := b.pinCircle(p, f)
	radius := max(b.small(p.Dims[standard.DimAcross].MM)/2, circle+pinHoleMM/2+wallMM)
	b.thick("the plates of flanges, across", b.small(p.Dims[standard.DimAcross].MM), 2*radius)
	s := &shape{up: geom.AxisZ, arms: []arm{{geom.Vec{}, geom.AxisZ, high, f.outer}}}
	s.add = []sdf.Solid{sdf.Cylinder(geom.Vec{}, geom.AxisZ, plate, radius)}
	s.plates = []sdf.Solid{sdf.Prism(geom.V(0, 0, -intoMM), geom.AxisZ, geom.AxisX, plate+intoMM, 2*radius, 8)}
	b.socketAt(s, p, "a", f, geom.V(0, 0, high), geom.AxisZ, high+boreOverMM)
	for _, at := range pinPlaces(circle) {
		s.cut = append(s.cut, sdf.Cylinder(at.Sub(geom.V(0, 0, 1)), geom.AxisZ, high+2, pinHoleMM/2))
	}
	s.marks = []spot{b.tagRound(radius, s.up)}
	return s, nil
}

// pinCircle is the radius at which pins go through a flange: that of its screw holes, or as far out as the socket asks.
func (b *builder) pinCircle(p *assembly.Part, f fit) float64 {
	return max(b.small(p.Dims[standard.DimCircle].MM)/2, f.outer/octagon+pinHoleMM/2+wallMM)
}

// pinPlaces are the places of the two pins of a flange, in its part frame.
func pinPlaces(circle float64) []geom.Vec {
	return []geom.Vec{geom.V(circle, 0, 0), geom.V(-circle, 0, 0)}
}

// foot is what a pipe stands on: a plain body of its height, held by a pin.
func (b *builder) foot(p *assembly.Part) (*shape, error) {
	high := b.small(p.Dims[standard.DimHeight].MM)
	truly := b.small(p.Dims[standard.DimAcross].MM) / 2
	if p.Kind == standard.Caster {
		truly = b.small(p.Dims[standard.DimWheel].MM) / 2
	}
	least := pinHoleMM/2 + 2*wallMM
	radius := max(truly, least)
	if high < 0.4 {
		high = 0.4 // two layers
		b.thick("the height of feet", b.small(p.Dims[standard.DimHeight].MM), high)
	}
	s := &shape{up: geom.AxisZ, arms: []arm{{geom.Vec{}, geom.AxisZ, high, radius}}, key: fmt.Sprintf("%.2f", high)}
	if high > 2 {
		s.cut = []sdf.Solid{sdf.Cylinder(geom.V(0, 0, high+1), geom.AxisZ.Neg(), 1+min(pinDeepMM, high-0.6), pinHoleMM/2)}
	}
	s.marks = []spot{b.tagRound(radius, s.up)}
	return s, nil
}

// strap is a saddle over a pipe with an ear on each side for a pin.
func (b *builder) strap(p *assembly.Part) (*shape, error) {
	f, ok := b.anyFit(p)
	if !ok {
		return nil, fmt.Errorf("no rod of the model fits under it")
	}
	const longMM = 4.0
	over := f.rod/2 + b.o.ClearanceMM
	ear := pinHoleMM + 2*wallMM
	floor := b.small(p.Dims[standard.DimOD].MM) / 2
	if floor <= 0 {
		floor = f.trueRod / 2
	}
	at := func(x0, x1, y0, y1 float64) geom.Box {
		return geom.Box{Min: geom.V(x0, y0, -longMM/2), Max: geom.V(x1, y1, longMM/2)}
	}
	s := &shape{up: geom.AxisX.Neg()}
	s.add = []sdf.Solid{
		sdf.Box(at(-over-wallMM, floor, -over-wallMM, over+wallMM)),
		sdf.Box(at(floor-sheetMM, floor, -over-wallMM-ear, over+wallMM+ear)),
	}
	s.plates = s.add
	s.cut = []sdf.Solid{
		sdf.Cylinder(geom.V(0, 0, -longMM), geom.AxisZ, 2*longMM, over),
		sdf.Box(geom.Box{Min: geom.V(0, -over, -longMM), Max: geom.V(floor+1, over, longMM)}),
	}
	for _, y := range []float64{-1, 1} {
		s.cut = append(s.cut, sdf.Cylinder(geom.V(floor-sheetMM-1, y*(over+wallMM+ear/2), 0), geom.AxisX, sheetMM+2, pinHoleMM/2))
	}
	leg := geom.At(geom.V(0, over+wallMM/2, 0)) // beside a leg: the middle is open
	make := func(wide float64) spot {
		t := tagOf(geom.AxisZ, s.up, longMM/2-0.3, -floor, bridgeInMM, wide)
		t.pose, t.tag = leg.Compose(t.pose), []sdf.Solid{sdf.Move(t.tag[0], leg)}
		return t
	}
	t := make(tagDigitsMM)
	t.remade = make
	s.marks = []spot{t}
	return s, nil
}

// anyFit is how a rod under a strap joins.
func (b *builder) anyFit(p *assembly.Part) (fit, bool) {
	if len(p.Size) > 0 {
		f, ok := b.fits[p.Size[0]]
		return f, ok
	}
	return fit{}, false
}

// extras adds what only the model has: clips, the fit test, room plates, and counts the pins.
func (b *builder) extras() {
	unions := map[standard.Size]int{}
	for i := range b.from.Parts {
		p := &b.from.Parts[i]
		switch p.Kind {
		case standard.Union:
			if p.Half == "b" && len(p.Size) > 0 {
				unions[p.Size[0]]++
			}
		case standard.Flange, standard.Strap:
			b.m.Pins += 2
		case standard.Glide, standard.Caster:
			b.m.Pins++
		}
	}
	for _, p := range b.from.Parts {
		if p.Kind != standard.Union || p.Half != "b" || len(p.Size) == 0 || unions[p.Size[0]] == 0 {
			continue
		}
		b.m.Pieces = append(b.m.Pieces, Piece{
			Name: fmt.Sprintf("clip for %d", p.Number), Kind: p.Kind, Count: unions[p.Size[0]], Up: geom.AxisZ,
			Solid: clip(b.fits[p.Size[0]], b.o.ClearanceMM), Printed: clip(b.fits[p.Size[0]], b.o.ClearanceMM),
		})
		unions[p.Size[0]] = 0
	}
	if b.o.RoomPlates {
		b.roomPlates()
	}
}

// FitTest is what to print first: a bar with sockets of rising clearance, and a peg to try in them. Each socket has as
// many notches beside it as its number; the third has the clearance asked for.
func (m *Model) FitTest(size standard.Size, odMM, engagementMM float64) []Piece {
	const sockets, step = 5, 0.05
	depth := max(engagementMM/m.Scale, leastDepthMM)
	base := fitFor(odMM, m.Scale, m.Options.ClearanceMM+step*(sockets-3))
	pitch := 2*base.outer + 2
	high := blindMM(depth, m.Options.ClearanceMM+step*(sockets-3)) + sheetMM
	wide := 2*base.outer + 2
	var cuts []sdf.Solid
	m.Trial = nil
	for i := range sockets {
		c := max(0.05, m.Options.ClearanceMM+step*float64(i-2))
		m.Trial = append(m.Trial, c)
		f := fitFor(odMM, m.Scale, c)
		at := geom.V(pitch*(float64(i)+0.5), 0, high)
		cuts = append(cuts, socket(f, at, geom.AxisZ, geom.AxisX, depth, depth+floorMM, c, false, !m.Options.Bought))
		for k := range i + 1 {
			x := at.X + 1.2*(float64(k)-float64(i)/2)
			cuts = append(cuts, sdf.Box(geom.Box{Min: geom.V(x-0.3, -wide/2-1, high-1), Max: geom.V(x+0.3, -wide/2+0.8, high+1)}))
		}
	}
	bar := sdf.Cut(sdf.Box(geom.Box{Min: geom.V(0, -wide/2, 0), Max: geom.V(pitch*sockets, wide/2, high)}), cuts...)
	f := fitFor(odMM, m.Scale, m.Options.ClearanceMM)
	long := 4*depth + 8
	rod := []sdf.Solid{arm{geom.Vec{}, geom.AxisZ, long, f.rod * rodShare / 2}.solid(geom.AxisX)}
	if !m.Options.Bought {
		rod = append(rod, peg(f, geom.V(0, 0, long), geom.AxisZ, lug{dir: geom.AxisX, depth: depth}))
	}
	peg := sdf.Join(rod...)
	name := "fit test " + string(size)
	out := []Piece{{Name: name + ", sockets", Trial: true, Count: 1, Solid: bar, Printed: bar, Up: geom.AxisZ}}
	if m.Options.Bought {
		return out // a bought rod is tried
	}
	return append(out, Piece{
		Name: name + ", peg", Trial: true, Count: 1, Solid: peg, Printed: peg, Up: geom.AxisX,
	})
}

// roundTo is v to the nearest step.
func roundTo(v, step float64) float64 { return math.Round(v/step) * step }
