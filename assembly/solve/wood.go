package solve

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/woodwork"
	"turnwise/geom"
)

// defaultWood is what boards are of when the design does not say.
const defaultWood = "pine"

// kgPerMM3 turns a density in kg/m3 into kg/mm3.
const kgPerMM3 = 1e-9

// layBoards puts down the boards, not yet carved.
func (s *solver) layBoards() {
	for _, b := range s.boards {
		box, _ := s.boardBox(b)
		box = finishedBox(box)
		b.box = box
		wood := b.src.Wood.Text
		if wood == "" {
			wood = defaultWood
		}
		if b.src.Treated {
			wood = "treated " + wood
		}
		s.add(assembly.Part{
			ID: b.id, Kind: standard.Board, Pose: geom.At(box.Min), Material: wood, Size: assembly.Sizes{},
			Boxes: []geom.Box{{Max: tidy(box.Size())}}, Dims: standard.Dims{},
		})
	}
}

// tidy rounds away what the places of copies differ by, so that equal boards are equal to the last digit.
func tidy(v geom.Vec) geom.Vec {
	round := func(x float64) float64 { return math.Round(x/lengthStep)*lengthStep + 0 }
	return geom.V(round(v.X), round(v.Y), round(v.Z))
}

// woodMass is the mass of so much of a wood.
func woodMass(material string, volumeMM3 float64) float64 {
	if t := "treated "; len(material) > len(t) && material[:len(t)] == t {
		material = material[len(t):]
	}
	w, err := standard.Wood(material)
	if err != nil {
		if w, err = standard.Wood(defaultWood); err != nil {
			return 0
		}
	}
	return w.DensityKGM3.Mid() * kgPerMM3 * volumeMM3
}

// bar is a round body that may meet a board.
type bar struct {
	woodwork.Bar
	part     string
	pipe     bool
	box      geom.Box
	from, to geom.Vec // its true ends
}

// bars lists pipes, and the collars of fittings, as round bodies.
func (s *solver) bars() []bar {
	var out []bar
	add := func(id string, isPipe bool, a, b geom.Vec, r float64) {
		if r > 0 {
			box := geom.BoxOf(a, b).Grow(r)
			out = append(out, bar{woodwork.Bar{A: a, B: b, Radius: r}, id, isPipe, box, a, b})
		}
	}
	for i := range s.out.Parts {
		p := &s.out.Parts[i]
		switch p.Kind {
		case standard.Pipe:
			from, to := s.reach(p)
			add(p.ID, true, from, to, p.Dims.MM(standard.DimOD, "")/2)
			out[len(out)-1].from, out[len(out)-1].to = p.Ports[0].At, p.Ports[1].At
		case standard.Coupling, standard.Reducer, standard.RightLeft, standard.LongScrew:
			r := max(p.Dims.MM(standard.DimBandOD, "a"), p.Dims.MM(standard.DimBandOD, "b"))
			add(p.ID, false, p.Ports[0].At, p.Ports[1].At, r/2)
		case standard.Board, standard.Cleat, standard.Room, standard.Flange, standard.Glide, standard.Caster, standard.Pad, standard.Strap:
		case standard.Cap:
			add(p.ID, false, p.Pose.Origin, p.Pose.Apply(geom.V(0, 0, p.Dims.MM(standard.DimHeight, ""))), p.Dims.MM(standard.DimBandOD, "a")/2)
		case standard.Union: // the nut is the widest of it
			add(p.ID, false, p.Ports[0].At, p.Ports[1].At, p.Dims.MM(standard.DimAcross, "")/2)
		default:
			for _, q := range p.Ports {
				add(p.ID, false, p.Pose.Origin, q.At, p.Dims.MM(standard.DimBandOD, q.Name)/2)
			}
		}
	}
	return out
}

// reach is a pipe from end to end; where it goes into the fitting of a point, as far as the point, so that what passes
// through a board with a fitting in it is one body.
func (s *solver) reach(p *assembly.Part) (geom.Vec, geom.Vec) {
	from, to := p.Ports[0].At, p.Ports[1].At
	g := s.segmentOf[p.ID]
	dir := finished(g.dir)
	if p.ID == g.pipes[0].id {
		if a := finished(g.a.at); a.Sub(from).Dot(dir) < 0 {
			from = a
		}
	}
	if p.ID == g.pipes[len(g.pipes)-1].id {
		if b := finished(g.b.at); b.Sub(to).Dot(dir) > 0 {
			to = b
		}
	}
	return from, to
}

// deepPocket is the share of a board's thickness beyond which a pocket is a stop, as the format says.
const deepPocket = 0.5

// carveBoards cuts holes, notches and pockets, and joins each board to what it lies on and what passes through it.
func (s *solver) carveBoards() {
	bars := s.bars()
	for _, b := range s.boards {
		s.checkLies(b)
		box := b.box
		near := make([]bar, 0, 8)
		plain := make([]woodwork.Bar, 0, 8)
		for _, r := range bars {
			if r.box.Overlaps(box.Grow(woodwork.Touch + LieAgreement)) {
				near = append(near, r)
				plain = append(plain, r.Bar)
			}
		}
		c := woodwork.Carve(box, plain)
		p := s.part(b.id)
		p.Boxes, p.Holes = p.Boxes[:0], p.Holes[:0]
		for _, m := range c.Boxes {
			p.Boxes = append(p.Boxes, geom.Box{Min: tidy(m.Min.Sub(box.Min)), Max: tidy(m.Max.Sub(box.Min))})
		}
		for _, h := range c.Holes {
			h.At, h.Dir = tidy(h.At.Sub(box.Min)), tidy(h.Dir)
			p.Holes = append(p.Holes, h)
		}
		p.MassKG = woodMass(p.Material, c.Volume())
		s.joinBoard(b, box, near, c)
		s.layOnOthers(b, box)
	}
}

// tellPocket reports a collar that would stand too deep in a board; a union is told once for both of its halves.
func (s *solver) tellPocket(b *board, part string, deep, thick float64) {
	half := s.part(part).Half
	name, parts := part, []string{b.id, part}
	how := fmt.Sprintf("raise the board, or move %s", part)
	switch {
	case half != "":
		name = strings.TrimSuffix(part, "."+half)
		parts = []string{b.id, name + ".a", name + ".b"}
		cut := "4 then rest"
		if s.t.Units == units.MetricSystem {
			cut = "100 then rest"
		}
		how = fmt.Sprintf("let the union sit elsewhere on its leg (give its run a cut, such as %s), or move %s", cut, b.id)
	case len(b.src.LiesOn) > 0:
		how = fmt.Sprintf("make the board smaller, so that it ends before %s, or move one of them", part)
	}
	for _, f := range s.findings {
		if half != "" && f.Code == "POCKET" && slices.Equal(f.Parts, parts) {
			return
		}
	}
	f := s.tell(findingAt{assembly.Stop, "POCKET", b.src.Name.At}, parts, map[string]float64{"depth_mm": deep},
		"%s: the pocket for %s would be %s deep, the board is %s thick; %s", b.id, name, s.length(deep), s.length(thick), how)
	f.Blame = []string{b.id, part}
}

// joinBoard makes the joints of a board with pipes and collars.
func (s *solver) joinBoard(b *board, box geom.Box, near []bar, c woodwork.Carved) {
	done := map[string]bool{}
	for i, r := range near {
		switch c.Met[i] {
		case woodwork.Through:
			if r.pipe {
				s.join(assembly.Joint{Kind: assembly.Bored, A: assembly.End{Part: b.id}, B: assembly.End{Part: r.part}})
				s.boredBoards = append(s.boredBoards, b)
			}
		case woodwork.Dents:
			if thick := thinnest(box); c.Deep[i] > deepPocket*thick {
				s.tellPocket(b, r.part, c.Deep[i], thick)
			}
		case woodwork.Within:
			s.tell(findingAt{assembly.Stop, "CROSSING", b.src.Name.At}, []string{b.id, r.part}, nil,
				"%s runs inside the board %s; move one of them", r.part, b.id)
		}
	}
	for i, r := range near {
		if c.Met[i] != woodwork.Clear || done[r.part] || !liesOn(box, r) {
			continue
		}
		done[r.part] = true
		s.join(assembly.Joint{Kind: assembly.Rest, A: assembly.End{Part: b.id}, B: assembly.End{Part: r.part}})
		if r.pipe {
			s.strap(b, box, r)
		}
	}
}

func thinnest(b geom.Box) float64 {
	d := b.Size()
	return min(d.X, d.Y, d.Z)
}

// topOfBar is the highest point of a bar.
func topOfBar(r bar) float64 {
	d := r.to.Sub(r.from).Unit()
	side := 1 - d.Z*d.Z
	if side < 1e-12 {
		side = 0
	}
	return max(r.from.Z, r.to.Z) + r.Radius*math.Sqrt(side)
}

// liesOn tells whether a board lies on a bar: its top is at the underside, and some of it is below the board.
func liesOn(box geom.Box, r bar) bool {
	if d := topOfBar(r) - box.Min.Z; d < -LieAgreement || d > LieAgreement {
		return false
	}
	_, _, ok := clip(r.from, r.to, geom.Box{
		Min: geom.V(box.Min.X, box.Min.Y, box.Min.Z-1e6), Max: geom.V(box.Max.X, box.Max.Y, box.Max.Z+1e6),
	})
	return ok
}

// strap puts the straps of a board round one pipe that it lies on, evenly along the stretch under the board.
func (s *solver) strap(b *board, box geom.Box, r bar) {
	if b.src.Straps == 0 {
		return
	}
	p := s.part(r.part)
	cat, _ := s.catalogue()
	f, err := cat.StrapOver(p.Size[0])
	if err != nil {
		s.errs.add(b.src.StrapsAt, "%s", err)
		return
	}
	from, to, _ := clip(r.from, r.to, geom.Box{Min: geom.V(box.Min.X, box.Min.Y, -1e9), Max: geom.V(box.Max.X, box.Max.Y, 1e9)})
	if to.Sub(from).Len() < float64(b.src.Straps)*f.Dims.MM(standard.DimBandWidth, "") {
		return
	}
	pipe := p.Pose.Z
	for i := 0; i < b.src.Straps; i++ {
		s.straps[b.id]++
		at := from.Lerp(to, (2*float64(i)+1)/(2*float64(b.src.Straps)))
		id := fmt.Sprintf("%s.strap-%d", b.id, s.straps[b.id])
		s.add(s.partOfFitting(id, f, geom.Facing(at, pipe, geom.AxisZ)))
		s.join(assembly.Joint{Kind: assembly.StrapOn, A: assembly.End{Part: id}, B: assembly.End{Part: b.id}})
		s.join(assembly.Joint{Kind: assembly.StrapOn, A: assembly.End{Part: id}, B: assembly.End{Part: r.part}})
	}
}

// layOnOthers joins a board to the boards, cleats and floor that it lies on.
func (s *solver) layOnOthers(b *board, box geom.Box) {
	onTop := func(id string, under geom.Box) {
		d := box.Min.Z - under.Max.Z
		in := box.Intersect(geom.Box{Min: geom.V(under.Min.X, under.Min.Y, box.Min.Z), Max: geom.V(under.Max.X, under.Max.Y, box.Max.Z)})
		if d >= -LieAgreement && d <= LieAgreement && in.Volume() > 0 {
			s.join(assembly.Joint{Kind: assembly.Rest, A: assembly.End{Part: b.id}, B: assembly.End{Part: id}})
		}
	}
	for _, o := range s.boards {
		if o != b {
			onTop(o.id, o.box)
		}
	}
	for _, k := range sortedKeys(s.cleats) {
		for _, m := range s.part(k).Boxes {
			onTop(k, geom.Box{Min: m.Min.Add(s.part(k).Pose.Origin), Max: m.Max.Add(s.part(k).Pose.Origin)})
		}
	}
	for _, z := range s.zones {
		if z.src.Kind.Text == design.Obstacle {
			zb, _ := s.zoneBox(z)
			onTop(roomID, finishedBox(zb))
		}
	}
	floor := s.surfaces["floor"].face
	for _, c := range []geom.Vec{box.Centre(), box.Min, box.Max} {
		if d := box.Min.Z - floor.At(finished(c)); d >= -LieAgreement && d <= LieAgreement {
			s.join(assembly.Joint{Kind: assembly.Rest, A: assembly.End{Part: b.id}, B: assembly.End{Part: roomID}})
			return
		}
	}
}

// checkLies compares a board's given height with what it is said to lie on.
func (s *solver) checkLies(b *board) {
	if b.src.Low[2].Unknown || len(b.src.LiesOn) == 0 {
		return
	}
	box, _ := s.boardBox(b)
	for _, n := range b.src.LiesOn {
		z, err := s.topOf(b, n, geom.Box{Min: geom.V(box.Min.X, box.Min.Y, -1e9), Max: geom.V(box.Max.X, box.Max.Y, 1e9)})
		if err != nil {
			s.errs.formulaFault(err, n.At)
			continue
		}
		switch d := box.Min.Z - z; {
		case d > LieAgreement:
			s.errs.add(n.At, "%s is %s lower than %s", n.Text, s.fraction(d)+" "+string(s.t.Units), b.id)
		case d < -LieAgreement:
			s.errs.add(n.At, "%s is %s higher than the underside of %s", n.Text, s.fraction(-d)+" "+string(s.t.Units), b.id)
		}
	}
}

// layCleats puts down the cleats; on a leaning wall one is a stack of boxes.
func (s *solver) layCleats() {
	for i := range s.t.Cleats {
		c := s.cleats[s.t.Cleats[i].Name.Text]
		extent, _ := s.cleatRange(c)
		boxes := s.strip(s.surfaces[c.src.On.Text], extent, c.thick, s.seats(c.src.On.Text))
		hull, volume := geom.EmptyBox(), 0.0
		for _, b := range boxes {
			hull = hull.Union(b)
			volume += b.Volume()
		}
		wood := c.src.Material.Text
		if wood == "" {
			wood = defaultWood
		}
		p := assembly.Part{
			ID: c.src.Name.Text, Kind: standard.Cleat, Pose: geom.At(hull.Min), Material: wood, Size: assembly.Sizes{},
			MassKG: woodMass(wood, volume), Dims: standard.Dims{},
		}
		for _, b := range boxes {
			p.Boxes = append(p.Boxes, geom.Box{Min: b.Min.Sub(hull.Min), Max: b.Max.Sub(hull.Min)})
		}
		s.add(p)
		s.join(assembly.Joint{Kind: assembly.Face, A: assembly.End{Part: p.ID}, B: assembly.End{Part: roomID}})
	}
}
