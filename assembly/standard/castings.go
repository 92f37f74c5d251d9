package standard

import (
	"fmt"
	"math"
)

// centreToEnd returns centre to end of port i from tables, rules and the design.
func (b *builder) centreToEnd(i int) Figure {
	dim, which := "centre-to-end", 0
	outlet := i == len(b.sizes)-1 && !allSame(b.sizes)
	if outlet {
		dim, which = "centre-to-outlet", 1
	}
	if isMale(b.kind, layout[b.kind][i].name) {
		dim, which = "centre-to-male-end", 1
	}
	f, ok := b.cell(b.kind, b.key(), dim)
	if !ok {
		f = b.ruledCentre(dim)
	}
	return b.given(KeyCentreToEnd, which, f)
}

// ruledCentre is centre to end where no row has it.
func (b *builder) ruledCentre(dim string) Figure {
	s := string(b.sizes[0])
	switch b.kind {
	case SideTee:
		f, _ := b.cell(Tee, s, dim)
		return assumed(f.MM, ruleSideTee)
	case SideElbow:
		f, _ := b.cell(Elbow, s, dim)
		return assumed(f.MM, ruleSideElbow)
	}
	square := map[Kind]Kind{Elbow45: Elbow, StreetElbow45: StreetElbow}[b.kind]
	row, _ := b.cell(b.kind, "3/8", dim)
	this, _ := b.cell(square, s, dim)
	next, _ := b.cell(square, "3/8", dim)
	if next.MM == 0 {
		b.err = fmt.Errorf("no %s of %s", dim, partText(b.kind, b.sizes))
		return Figure{}
	}
	return assumed(row.MM*this.MM/next.MM, ruleScaled45)
}

// legs fills tees, crosses and side-outlet fittings.
func (b *builder) legs() {
	b.wall()
	for i, p := range layout[b.kind] {
		reach := b.centreToEnd(i)
		b.set(DimReach, p.name, reach)
		b.thread(p.name, b.sizes[i], reach.MM)
		b.body(p.name, b.sizes[i])
		b.port(p, reach.MM, b.sizes[i])
	}
}

// elbow fills elbows of both angles and their street forms.
func (b *builder) elbow() {
	b.wall()
	for i, p := range layout[b.kind] {
		reach := b.centreToEnd(i)
		b.set(DimReach, p.name, reach)
		b.thread(p.name, b.sizes[i], reach.MM)
		if !isMale(b.kind, p.name) {
			b.body(p.name, b.sizes[i])
		}
		b.port(p, reach.MM, b.sizes[i])
	}
	if b.knuckled() {
		b.set(DimBendRadius, "", assumed(0, ruleKnuckle))
		if isMale(b.kind, "b") {
			b.set(DimBore, "b", b.maleBore())
		}
		return
	}
	b.narrowBore()
	b.bend()
}

// knuckled tells whether the legs of an elbow meet at a ball instead of a bend: where they are of unequal width and square,
// and where the bore is as narrow as a pipe's and a bend as wide as the body would begin within the thread.
func (b *builder) knuckled() bool {
	if b.kind != StreetElbow45 {
		return isMale(b.kind, "b") || b.get(DimBodyOD, "a") != b.get(DimBodyOD, "b")
	}
	least, straight, _, tan := b.bendRoom()
	return straight < least*tan
}

// maleBore is the inside diameter of the pipe of the smallest size.
func (b *builder) maleBore() Figure {
	pipe, err := PipeOf(b.fam, b.sizes[len(b.sizes)-1], b.series())
	if err != nil {
		b.err = err
		return Figure{}
	}
	return derived(pipe.BoreMM(), ruleMaleBore, assumed(0, ""))
}

// narrowBore gives both ports the smaller bore, so that a wide chamber never opens into a thin leg.
func (b *builder) narrowBore() {
	small := b.sizes[len(b.sizes)-1]
	if isMale(b.kind, "b") {
		f := b.maleBore()
		b.set(DimBore, "a", f)
		b.set(DimBore, "b", f)
		return
	}
	if !allSame(b.sizes) {
		f := assumed(b.cast(small, DimBore).MM, ruleSmallBore)
		b.set(DimBore, "a", f)
		b.set(DimBore, "b", f)
	}
}

// turnDeg is the angle an elbow turns the pipe by.
func turnDeg(k Kind) float64 {
	if k == Elbow45 || k == StreetElbow45 {
		return 45
	}
	return 90
}

// bendRoom returns the least radius of an elbow's bend, how much of its legs is free of threads, the shorter leg, and the
// tangent of half the turn.
func (b *builder) bendRoom() (least, straight, short, tan float64) {
	tan = math.Tan(turnDeg(b.kind) / 2 * math.Pi / 180)
	least = b.get(DimBodyOD, "a")/2 + bendMarginMM
	straight, short = math.Inf(1), math.Inf(1)
	for _, p := range layout[b.kind] {
		leg := b.get(DimReach, p.name)
		short = math.Min(short, leg)
		straight = math.Min(straight, leg-b.get(DimThreadLength, p.name)-b.get(DimVanish, p.name))
	}
	return least, straight, short, tan
}

// bend chooses the radius of the bend: the largest that leaves the threads straight, but never less than the body.
func (b *builder) bend() {
	least, straight, short, tan := b.bendRoom()
	radius := math.Max(least, straight/tan)
	if radius*tan >= short && b.err == nil {
		b.err = &RoomError{Kind: b.kind, Sizes: b.sizes, Port: "a", NeedMM: radius * tan, RoomMM: short}
	}
	b.set(DimBendRadius, "", assumed(radius, "no table: the largest bend that leaves the threads straight, at least as wide as the body"))
}

// length returns the end-to-end length of an inline fitting.
func (b *builder) length() Figure {
	s := string(b.sizes[0])
	f, ok := b.cell(b.kind, b.key(), DimLength)
	if !ok {
		f, ok = b.cell(b.kind, s, DimLength) // reducers of B16.3 go by the larger size
	}
	if !ok {
		f, _ = b.cell(Coupling, s, DimLength)
		switch b.kind {
		case Union:
			half, _ := b.cell(Union, "1/2", DimLength)
			socket, _ := b.cell(Coupling, "1/2", DimLength)
			f = assumed(half.MM*f.MM/socket.MM, ruleUnionLen)
		default:
			f = assumed(f.MM, ruleSpecialLen)
		}
	}
	return b.given(KeyLength, 0, f)
}

// inline fills couplings, reducers and the two special ones.
func (b *builder) inline() {
	b.wall()
	length := b.length()
	b.set(DimLength, "", length)
	for i, p := range layout[b.kind] {
		half := derived(length.MM/2, "half the length", length)
		b.set(DimReach, p.name, half)
		b.thread(p.name, b.sizes[i], half.MM)
		b.body(p.name, b.sizes[i])
		if b.kind == LongScrew {
			b.dims[DimThreadLength+"."+p.name] = half
		}
		b.port(p, half.MM, b.sizes[i])
	}
	b.narrowBore()
	if b.kind == LongScrew {
		b.set(DimBackNut, "", assumed(backNutPitches*b.get(DimPitch, "a"), ruleBackNut))
	}
}

// union fills both halves of a union.
func (b *builder) union() {
	b.inline()
	wall, length := b.get(DimWall, ""), b.get(DimLength, "")
	collar := b.get(DimBodyOD, "a") * collarOverBody
	b.set(DimCollarOD, "", assumed(collar, ruleUnionBody))
	b.set(DimCollarLength, "", assumed((nutOverLength+nutBackLength)*length, ruleUnionBody))
	b.set(DimNutBore, "", assumed(collar+nutPlayMM, ruleUnionBody))
	b.set(DimNutOver, "", assumed(nutOverLength*length, ruleUnionBody))
	b.set(DimNutBack, "", assumed(nutBackLength*length, ruleUnionBody))
	b.set(DimShoulder, "", assumed(shoulderOfBack*nutBackLength*length, ruleUnionBody))
	b.set(DimAcross, "", assumed(collar+nutPlayMM+nutWalls*wall, ruleUnionBody))
}

// cap fills caps. A design may call the height of a cap its length.
func (b *builder) cap() {
	s := b.sizes[0]
	wall := b.wall()
	height, ok := b.cell(Cap, string(s), DimHeight)
	if !ok {
		e, _, _ := b.c.Engagement(Cap, s)
		row, _ := Thread(b.fam, s)
		height = assumed(e.MM+row.Pitch.MM+wall+capHeadroomMM, ruleCap)
	}
	height = b.given(KeyHeight, 0, b.given(KeyLength, 0, height))
	b.set(DimHeight, "", height)
	b.set(DimReach, "a", Figure{0, "origin at the mouth", Computed})
	b.thread("a", s, height.MM-wall)
	b.body("a", s)
	b.port(layout[Cap][0], 0, s)
}

// flange fills floor flanges.
func (b *builder) flange() {
	s := b.sizes[0]
	for _, d := range []struct {
		dim string
		key Key
	}{{DimAcross, KeyAcross}, {DimPlate, ""}, {DimHeight, KeyHeight}, {DimCircle, KeyCircle}, {DimHole, ""}, {DimHoles, KeyHoles}} {
		f := flangeMiddle(s, d.dim)
		if d.key != "" {
			f = b.given(d.key, 0, f)
		}
		b.set(d.dim, "", f)
	}
	if b.get(DimPlate, "") > b.get(DimHeight, "") { // a measured flange may be lower than the usual plate
		b.set(DimPlate, "", derived(b.get(DimHeight, "")/2, "half the height given", b.dims[DimHeight]))
	}
	b.countersink()
	height := b.dims[DimHeight]
	hub := b.cast(s, DimBandOD)
	b.set(DimHubOD, "", assumed(hub.MM, ruleHub))
	b.set(DimReach, "a", height)
	b.ports = append(b.ports, Port{Name: "face", Dir: down, Plain: true})
	b.thread("a", s, math.Inf(1)) // threaded right through: the pipe's end may stand proud
	b.set(DimThreadLength, "a", height)
	b.port(layout[Flange][0], height.MM, s)
}

// countersink widens a flange's screw holes at the top, by 90 degrees, when the design gives their diameter there.
func (b *builder) countersink() {
	wide := b.given(KeyCountersink, 0, Figure{})
	if !b.over[KeyCountersink] {
		return
	}
	hole, plate := b.get(DimHole, ""), b.get(DimPlate, "")
	rim := b.get(DimAcross, "") - b.get(DimCircle, "")
	if most := math.Min(hole+2*plate-2*leastLandMM, rim-2*leastLandMM); wide.MM <= hole || wide.MM > most {
		b.err = fmt.Errorf("a countersink of %.2f mm: wider than its hole of %.2f mm and at most %.2f mm, which leaves metal under it and at the rim",
			wide.MM, hole, most)
		return
	}
	b.set(DimCountersink, "", wide)
}

// flangeMiddle is the middle of the range of a flange dimension.
func flangeMiddle(s Size, dim string) Figure {
	size, scale := s, 1.0
	if s == "1/4" {
		size, scale = "3/8", flangeQuarter
	}
	r := loaded().flanges[cell{"", "flange", string(size), dim}]
	f := Figure{(r.least.MM + r.most.MM) / 2, ruleFlangeMid + r.least.Source, r.least.Grade}
	if scale != 1 && dim != DimHoles {
		f = assumed(f.MM*scale, ruleFlange14)
	}
	return f
}

// plug fills square-head plugs.
func (b *builder) plug() {
	s := b.sizes[0]
	get := func(dim string) Figure {
		f, _ := look(NPT, string(Plug), string(s), dim)
		if b.fam == BSPT {
			f = assumed(f.MM, ruleENPlug)
		}
		return f
	}
	length := get(DimThreadLength)
	e := b.thread("a", s, math.Inf(1))
	if e > length.MM {
		length = derived(e, "as long as the engagement", b.dims[DimEngagement+".a"])
	}
	b.set(DimThreadLength, "a", length)
	b.set(DimVanish, "a", Figure{0, "threaded up to the head", CommonPractice})
	b.set(DimHead, "", get(DimHead))
	across := get(DimAcross)
	if most := (b.get(DimPitchDia, "a") + FormOf(b.fam).Depth*b.get(DimPitch, "a")) / math.Sqrt2; b.fam == BSPT && across.MM > most {
		across = assumed(most, rulePlugCorners)
	}
	b.set(DimAcross, "", across)
	b.set(DimLength, "", derived(length.MM+b.get(DimHead, ""), "thread and head", length, b.dims[DimHead]))
	b.set(DimReach, "a", b.dims[DimEngagement+".a"])
	b.port(layout[Plug][0], e, s)
}

// bushing fills hexagon bushings: a the male, larger end, b the female one.
func (b *builder) bushing() {
	big, small := b.sizes[0], b.sizes[1]
	e := b.thread("a", big, math.Inf(1))
	thread, ok := look(NPT, string(Bushing), string(big), DimThreadLength)
	if need := e + b.get(DimPitch, "a")/2; !ok || thread.MM < need {
		thread = assumed(need, ruleBushing)
	}
	head, ok := look(NPT, string(Bushing), string(big), DimHead)
	if !ok {
		head = assumed(bushingHead38, ruleBushingHd)
	}
	length := derived(thread.MM+head.MM, "thread and head", thread, head)
	if b.given(KeyLength, 0, length).Grade == Measured {
		length = b.given(KeyLength, 0, length)
		thread = derived(length.MM-head.MM, "length given, less the head", length, head)
	}
	if thread.MM < e && b.err == nil {
		b.err = &RoomError{Kind: b.kind, Sizes: b.sizes, Port: "a", NeedMM: e, RoomMM: thread.MM}
	}
	b.set(DimThreadLength, "a", thread)
	b.set(DimVanish, "a", Figure{0, "threaded up to the head", CommonPractice})
	b.set(DimHead, "", head)
	b.set(DimLength, "", length)
	b.set(DimReach, "a", length)
	b.set(DimReach, "b", Figure{0, "origin at the face of the head", Computed})
	b.thread("b", small, length.MM)
	b.set(DimAcross, "", assumed(hexOverOD*b.get(DimOD, "a"), ruleHex))
	pipe, err := PipeOf(b.fam, small, b.series())
	if err != nil {
		b.err = err
		return
	}
	b.set(DimBore, "b", assumed(pipe.BoreMM(), ruleMaleBore))
	b.port(layout[Bushing][0], length.MM, big)
	b.port(layout[Bushing][1], 0, small)
}
