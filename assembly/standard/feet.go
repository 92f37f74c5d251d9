package standard

import "fmt"

// glide fills glides that push into the pipe's end.
func (b *builder) glide() {
	h := b.given(KeyHeight, 0, Figure{GlideHeightMM, ruleGlide, CommonPractice})
	b.foot(h)
	b.set(DimAcross, "", assumed(b.get(DimOD, "a")+2*glideRimMM, ruleFoot))
}

// caster fills casters that push into the pipe's end; Catalogue.BoardCaster screws to a board.
func (b *builder) caster() {
	h := b.given(KeyHeight, 0, Figure{CasterHeightMM, ruleCaster, CommonPractice})
	b.foot(h)
	b.casterBody(h.MM)
	b.set(DimAcross, "", assumed(b.get(DimOD, "a")+2*glideRimMM, ruleFoot))
}

// casterBody fills wheel, housing and plate.
func (b *builder) casterBody(height float64) {
	b.set(DimWheel, "", assumed(casterWheel*height, ruleFoot))
	b.set(DimWheelWidth, "", assumed(casterWidth*height, ruleFoot))
	b.set(DimHubOD, "", assumed(casterHousing*height, ruleFoot))
	plate := casterPlateMM
	if plate > height/4 {
		plate = height / 4
	}
	b.set(DimPlate, "", assumed(plate, ruleFoot))
	b.set(DimRated, "", b.given(KeyRated, 0, Figure{CasterRatedN, "no standard: usual load of a 50 mm caster, common practice", CommonPractice}))
}

// foot fills what glides and casters share: a face, a stem in the pipe, and the end on which the pipe stands.
func (b *builder) foot(height Figure) {
	s := b.sizes[0]
	pipe, err := PipeOf(b.fam, s, b.series())
	if err != nil {
		b.err = err
		return
	}
	b.set(DimHeight, "", height)
	b.set(DimReach, "a", height)
	b.set(DimOD, "a", pipe.OD)
	b.set(DimStemOD, "", assumed(pipe.BoreMM()-stemPlayMM, "stem: inside diameter of the pipe less play"))
	b.set(DimStemLength, "", assumed(stemLengthMM, ruleFoot))
	b.ports = append(b.ports, Port{Name: "face", Dir: down, Plain: true},
		Port{Name: "a", Dir: up, ReachMM: height.MM, Size: s, Plain: true, Family: b.fam})
}

// BoardCaster returns a caster screwed to the underside of a board: no stem, no size, a wide plate.
func (c *Catalogue) BoardCaster() (Fitting, error) {
	b := &builder{c: c, kind: Caster, fam: c.Family, dims: Dims{}, over: map[Key]bool{}}
	h := b.given(KeyHeight, 0, Figure{CasterHeightMM, ruleCaster, CommonPractice})
	b.set(DimHeight, "", h)
	b.casterBody(h.MM)
	b.set(DimStemOD, "", assumed(0, ruleFoot))
	b.set(DimStemLength, "", assumed(0, ruleFoot))
	b.set(DimAcross, "", b.given(KeyAcross, 0, assumed(casterPlate*h.MM, ruleFoot)))
	b.set(DimReach, "a", h)
	b.ports = []Port{{Name: "face", Dir: down, Plain: true}, {Name: "a", Dir: up, ReachMM: h.MM, Plain: true}}
	return b.finish()
}

// PadUnder returns a pad of that thickness, as wide as the foot it lies under.
func (c *Catalogue) PadUnder(foot Fitting, thicknessMM float64) (Fitting, error) {
	if !(thicknessMM > 0) {
		return Fitting{}, fmt.Errorf("a pad's thickness must be more than zero")
	}
	across := foot.Dims.MM(DimAcross, "")
	if foot.Kind == Caster && foot.Dims.MM(DimWheel, "") > 0 {
		across = foot.Dims.MM(DimWheel, "")
	}
	if across <= 0 {
		across = foot.Dims.MM(DimBandOD, "a")
	}
	if across <= 0 {
		across = PadAcrossMM
	}
	b := &builder{c: c, kind: Pad, dims: Dims{}, over: map[Key]bool{}}
	h := Figure{thicknessMM, measuredSource, Measured}
	b.set(DimHeight, "", h)
	b.set(DimAcross, "", assumed(across, "as wide as the foot on it"))
	b.set(DimReach, "a", h)
	b.ports = []Port{{Name: "face", Dir: down, Plain: true}, {Name: "a", Dir: up, ReachMM: thicknessMM, Plain: true}}
	return b.finish()
}

// StrapOver returns a sheet-metal strap that holds a pipe of that size to a board. Its ears lie on the board at
// x = half the pipe's outside diameter, one screw hole in each.
func (c *Catalogue) StrapOver(s Size) (Fitting, error) {
	b := &builder{c: c, kind: Strap, fam: c.Family, sizes: []Size{s}, dims: Dims{}, over: map[Key]bool{}}
	if b.fam == "" {
		b.fam = NPT
	}
	pipe, err := PipeOf(b.fam, s, c.Series)
	if err != nil {
		return Fitting{}, err
	}
	b.set(DimOD, "", pipe.OD)
	b.set(DimWall, "", assumed(StrapThicknessMM, ruleStrap))
	b.set(DimBandWidth, "", assumed(StrapWidthMM, ruleStrap))
	b.set(DimAcross, "", assumed(pipe.OD.MM+2*StrapThicknessMM+2*StrapEarMM, ruleStrap))
	b.set(DimCircle, "", assumed(pipe.OD.MM+2*StrapThicknessMM+StrapEarMM, ruleStrap+"; distance between the screws"))
	b.set(DimHole, "", assumed(StrapHoleMM, ruleStrap))
	b.set(DimHoles, "", assumed(2, ruleStrap))
	return b.finish()
}

// Pipe returns one piece of pipe, threaded at both ends.
func (c *Catalogue) Pipe(p PipeSpec) (Fitting, error) {
	fam, _ := c.familyOf(Pipe, []Size{p.Size})
	row, err := PipeOf(fam, p.Size, c.Series)
	if err != nil && fam != c.Family {
		row, err = PipeOf(fam, p.Size, "")
	}
	if err != nil {
		return Fitting{}, err
	}
	if !(p.LengthMM > 0) {
		return Fitting{}, fmt.Errorf("a pipe of %.2f mm cannot be cut", p.LengthMM)
	}
	b := &builder{c: c, kind: Pipe, fam: fam, sizes: []Size{p.Size, p.Size}, dims: Dims{}, over: map[Key]bool{}}
	length := Figure{p.LengthMM, "cut length", Computed}
	b.set(DimOD, "", row.OD)
	b.set(DimWall, "", row.Wall)
	b.set(DimBore, "", derived(row.BoreMM(), "outside diameter less two walls", row.OD, row.Wall))
	b.set(DimLength, "", length)
	for _, q := range layout[Pipe] {
		reach := 0.0
		if q.name == "b" {
			reach = p.LengthMM
		}
		b.thread(q.name, p.Size, 0)
		if p.Running == q.name {
			b.running(q.name)
		}
		b.port(q, reach, p.Size)
		b.ports[len(b.ports)-1].Left = p.Left == q.name
	}
	if b.err != nil {
		return Fitting{}, b.err
	}
	delete(b.over, KeyEngagement)
	return b.finish()
}

// running replaces a pipe end's taper by the parallel thread of a long screw, on which coupling and back nut run back.
func (b *builder) running(port string) {
	row, err := Thread(b.fam, b.sizes[0])
	if err != nil {
		b.err = err
		return
	}
	screw, err := b.c.Fitting(LongScrew, b.sizes[:1])
	if err != nil {
		b.err = err
		return
	}
	b.set(DimPitchDia, port, row.E1)
	b.set(DimTaper, port, Figure{0, ruleRunning, CommonPractice})
	length := screw.Dims.MM(DimLength, "") + screw.Dims.MM(DimBackNut, "") + row.Pitch.MM
	b.set(DimThreadLength, port, assumed(length, "coupling, back nut and a turn, so that the coupling runs clear"))
}
