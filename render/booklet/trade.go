package booklet

import (
	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/render/sheets"
)

// Size of a drawing of a word on the page.
const (
	wordWideMM = 80.0
	wordHighMM = 31.0
)

// measures are those of the pipes and fittings in hand, in mm, to which the words of the trade are drawn.
type measures struct {
	size                        string
	od, bore                    float64 // of the pipe
	engagement, thread, pitch   float64
	reach, bandOD, band, bodyOD float64 // of a fitting
	hasTee, hasUnion            bool
	union                       standard.Dims
}

// measure finds what is drawn; false when nothing is screwed in this plan.
func (c *composer) measure() (measures, bool) {
	var m measures
	for _, p := range c.Plan.Parts {
		switch {
		case p.Kind == standard.Pipe && m.od == 0:
			m.size, m.od, m.bore = p.Size.Words(), p.Dims[standard.DimOD].MM, p.Dims[standard.DimBore].MM
			m.thread, m.pitch = p.Dims[standard.DimThreadLength+".a"].MM, p.Dims[standard.DimPitch+".a"].MM
		case p.Kind == standard.Union && p.Half != "b":
			m.hasUnion, m.union = true, p.Dims
		}
		m.hasTee = m.hasTee || p.Kind == standard.Tee
		if reach := p.Dims[standard.DimReach+".a"].MM; m.reach == 0 && isBranched(p.Kind) {
			m.reach, m.bandOD, m.band = reach, p.Dims[standard.DimBandOD+".a"].MM, p.Dims[standard.DimBandWidth+".a"].MM
			m.bodyOD = p.Dims[standard.DimBodyOD+".a"].MM
		}
	}
	for _, j := range c.Plan.Joints {
		if j.Kind == assembly.Thread && m.engagement == 0 {
			m.engagement = j.EngagementMM
		}
	}
	for _, v := range []float64{m.od, m.bore, m.engagement, m.thread, m.pitch, m.reach, m.bandOD, m.band, m.bodyOD} {
		if v <= 0 {
			return m, false
		}
	}
	return m, true
}

// isBranched tells fittings that turn or branch a line: those with a centre that lengths are measured to.
func isBranched(k standard.Kind) bool {
	switch k {
	case standard.Tee, standard.Elbow, standard.Cross, standard.SideElbow, standard.SideTee:
		return true
	}
	return false
}

// trade explains the words of the trade that the pages use, each with a drawing to the measures of the parts in hand.
func (c *composer) trade() sheets.Section {
	m, ok := c.measure()
	if !ok {
		return sheets.Section{ID: "trade", Title: c.say.Say("before.read"), Blocks: append([]sheets.Block{sheets.List{Items: c.read()}}, c.marks()...)}
	}
	cards := sheets.Cards{Across: 2}
	add := func(name string, d *draft) {
		d.Alt = c.say.Say("trade."+name) + ": " + c.say.Say("trade."+name+".means")
		cards.Items = append(cards.Items, sheets.Card{Title: c.say.Say("trade." + name), Sketch: &d.Sketch, Lines: []string{c.say.Say("trade." + name + ".means")}})
	}
	add("size", c.drawSize(m))
	add("nipple", c.drawNipple(m))
	add("centre", c.drawCentre(m))
	add("engagement", c.drawEngagement(m))
	if m.hasTee {
		add("tee", c.drawTee(m))
	}
	if m.hasUnion {
		add("union", c.drawUnion(m))
	}
	add("hold", c.drawHold(m))
	add("clock", c.drawClock(m))
	add("swing", c.drawSwing(m))
	return sheets.Section{ID: "trade", Title: c.say.Say("trade.title"), NewPage: true, Blocks: append([]sheets.Block{
		sheets.Text{Words: c.say.Say("trade.lead", c.say.Say("parts.title"))}, cards,
		sheets.Subhead{Words: c.say.Say("before.read")}, sheets.List{Items: c.read()},
	}, c.marks()...)}
}

// marks is the legend of the marks on the pictures of steps.
func (c *composer) marks() []sheets.Block {
	const height = 0.34 // of a page, at the most: beside what stands before it
	if c.Legend == nil || len(c.Steps) == 0 {
		return nil
	}
	pic := *c.Legend
	pic.Alt = c.say.Say("read.marks-alt")
	return []sheets.Block{sheets.Subhead{Words: c.say.Say("read.marks")}, sheets.Figure{Drawing: &pic, Height: height}}
}

// read is how the pictures are read.
func (c *composer) read() []string {
	var out []string
	for _, name := range []string{"read.numbers", "read.order", "read.sides", "read.turns", "read.hold"} {
		out = append(out, c.say.Say(name))
	}
	return out
}

// measured writes a diameter as a calliper shows it.
func (c *composer) measured(mm float64) string {
	if c.units == units.MetricSystem {
		return c.length(mm)
	}
	return c.units.Decimal(units.Length(mm)) + " in"
}

// drawSize: a pipe seen from its end; its name is not what it measures.
func (c *composer) drawSize(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	r := 10.0
	x, y := 26.0, 20.0
	d.circle(metal, x, y, r)
	d.circle(white, x, y, r*m.bore/m.od)
	d.across(x-r, x+r, y, 6, c.measured(m.od))
	d.words(50, y-1, -1, c.say.Say("trade.sold-as"))
	d.words(50, y+3.4, -1, m.size)
	return d
}

// drawNipple: a short piece, and the shortest.
func (c *composer) drawNipple(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	k := 8 / m.od // millimetres on the page to the millimetre
	long, close := 4*m.thread*2*k, 2.1*m.thread*k
	t := m.thread * k
	y0, y1 := 3.0, 11.0
	d.rect(metal, 5, y0, 5+long, y1)
	d.thread(5, 5+t, y0, y1, m.pitch*k)
	d.thread(5+long-t, 5+long, y0, y1, m.pitch*k)
	d.across(5, 5+long, y1, 17.5, c.say.Say("trade.overall"))
	y0, y1 = 21.5, 29.5
	d.rect(metal, 5, y0, 5+close, y1)
	d.thread(5, 5+close, y0, y1, m.pitch*k)
	d.words(5+close+3, (y0+y1)/2+1, -1, c.say.Say("trade.close"))
	return d
}

// drawCentre: from centre to centre, less the take-out on either side, is the length of the pipe.
func (c *composer) drawCentre(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	k := 6 / m.od
	y, x0, x1 := 16.0, 14.0, 66.0
	take := (m.reach - m.engagement) * k
	d.rect(metal, x0+take, y-m.od*k/2, x1-take, y+m.od*k/2)
	for i, x := range []float64{x0, x1} {
		way := float64(1 - 2*i)
		d.elbowUp(m, k, x, y, way)
	}
	d.axis(at(x0-4, y), at(x1+4, y))
	d.axis(at(x0, y-9), at(x0, y+5))
	d.axis(at(x1, y-9), at(x1, y+5))
	d.across(x0, x1, y-8, 5, c.say.Say("trade.centres"))
	d.across(x0+take, x1-take, y+3, 26, c.say.Say("trade.overall"))
	d.narrow(x0, x0+take, y+4, 29.6, c.say.Say("trade.take-out"))
	return d
}

// elbowUp is an elbow in outline: one opening along the pipe (way 1: to the right), one upward.
func (d *draft) elbowUp(m measures, k, x, y, way float64) {
	b, r, w, f := m.bodyOD*k/2, m.reach*k, m.band*k, m.bandOD*k/2
	out := []sheets.SketchPoint{
		at(x+way*b, y-b), at(x+way*(r-w), y-b), at(x+way*(r-w), y-f), at(x+way*r, y-f), at(x+way*r, y+f), at(x+way*(r-w), y+f), at(x+way*(r-w), y+b),
	}
	from, to := 90.0, 180.0
	if way < 0 {
		to = 0
	}
	out = append(out, arc(x, y, b, from, to)...)
	out = append(out, at(x-way*b, y-r+w), at(x-way*f, y-r+w), at(x-way*f, y-r), at(x+way*f, y-r), at(x+way*f, y-r+w), at(x+way*b, y-r+w))
	d.shape(pale, out...)
}

// drawEngagement: a pipe in a fitting, cut open.
func (c *composer) drawEngagement(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	k := 13 / m.od
	y, face := 18.5, 38.0
	outer, od, bore := m.bandOD*k/2, m.od*k/2, m.bore*k/2
	in := m.engagement * k
	back := face - m.thread*1.5*k
	for _, side := range []float64{-1, 1} { // walls of the fitting, then of the pipe
		d.rect(pale, back, y+side*od, face, y+side*outer)
		d.rect(metal, face-in, y+side*bore, face+24, y+side*od)
		d.thread(face-in, face-in+m.thread*k, y+side*bore+side*(od-bore)*0.45, y+side*od, m.pitch*k)
	}
	d.axis(at(back-3, y), at(face+27, y))
	d.across(face-in, face, y-outer, 5.5, c.say.Say("trade.goes-in", c.about(m.engagement)))
	d.words(back-1, y-2, 1, c.say.Say("trade.fitting"))
	d.words(face+25.5, y-od-1, 1, c.say.Say("trade.pipe"))
	return d
}

// drawTee: the run and the branch.
func (c *composer) drawTee(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	k := 10 / m.od
	x, y := 32.0, 21.0
	b, r, w, f := m.bodyOD*k/2, m.reach*k, m.band*k, m.bandOD*k/2
	d.shape(pale,
		at(x-r, y-f), at(x-r+w, y-f), at(x-r+w, y-b), at(x-b, y-b), at(x-b, y-r+w), at(x-f, y-r+w), at(x-f, y-r),
		at(x+f, y-r), at(x+f, y-r+w), at(x+b, y-r+w), at(x+b, y-b), at(x+r-w, y-b), at(x+r-w, y-f), at(x+r, y-f),
		at(x+r, y+f), at(x+r-w, y+f), at(x+r-w, y+b), at(x-r+w, y+b), at(x-r+w, y+f), at(x-r, y+f))
	d.axis(at(x-r-4, y), at(x+r+4, y))
	d.axis(at(x, y-r-3), at(x, y))
	d.pointer(52, 6, -1, c.say.Say("trade.branch"), at(x+1, y-r+1))
	d.pointer(56, y+8, -1, c.say.Say("trade.run"), at(x+r+3, y+0.3))
	return d
}

// drawUnion: two halves that meet at a face, and the nut that draws them together.
func (c *composer) drawUnion(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	u := m.union
	half := u[standard.DimLength].MM / 2
	if half <= 0 {
		half = m.reach
	}
	k := 11 / m.od
	y, gap := 17.0, 9.0
	x := 34.0
	body, nut, od := m.bodyOD*k/2, u[standard.DimAcross].MM*k/2, m.od*k/2
	if nut <= body {
		nut = body * 1.4
	}
	d.rect(metal, 3, y-od, x-gap-half*k+2, y+od)
	d.rect(metal, x+gap+half*k-2, y-od, 78, y+od)
	d.rect(pale, x-gap-half*k, y-body, x-gap, y+body)
	d.rect(pale, x+gap, y-body, x+gap+half*k, y+body)
	nut0, nut1 := x+gap-u[standard.DimNutOver].MM*k, x+gap+max(3, u[standard.DimNutBack].MM*k)
	d.rect(white, nut0, y-nut, nut1, y+nut)
	d.line(at(nut0, y-nut/3), at(nut1, y-nut/3))
	d.line(at(nut0, y+nut/3), at(nut1, y+nut/3))
	d.axis(at(1, y), at(79, y))
	d.pointer(x-gap-half*k/2-2, 5.5, 0, c.say.Say("trade.half-plain"), at(x-gap-half*k/2, y-body))
	d.pointer(x+gap+half*k, 5.5, 0, c.say.Say("trade.half-nut"), at(x+gap+half*k*0.8, y-body))
	d.pointer((nut0+nut1)/2-5, 30, 1, c.say.Say("trade.nut"), at((nut0+nut1)/2, y+nut))
	return d
}

// drawHold: one wrench turns, the other holds, the two on either side of the joint.
func (c *composer) drawHold(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	k := 6 / m.od
	y, face := 15.5, 42.0
	od, f, r := m.od*k/2, m.bandOD*k/2, m.reach*k
	d.rect(metal, 4, y-od, face-r*1.2, y+od)
	d.rect(metal, face-m.engagement*k, y-od, 76, y+od)
	d.rect(pale, face-r*1.6, y-f, face, y+f)
	d.wrench(face-r*0.8, y, f, 1)
	d.wrench(face+9, y, od, -1)
	d.words(face-r*0.8-3.4, y+13.5, 1, c.say.Say("trade.holds"))
	d.words(face+12.4, y-11, -1, c.say.Say("trade.turns"))
	d.add(sheets.SketchLine{Points: arc(face+24, y, od+3, -115, 115), WidthMM: 0.5, Colour: accent, Heads: [2]bool{false, true}})
	return d
}

// wrench is a wrench across a pipe of radius r, with its handle up (-1) or down (1).
func (d *draft) wrench(x, y, r, way float64) {
	d.shape(white, at(x-2.4, y-way*(r+1.4)), at(x+2.4, y-way*(r+1.4)), at(x+2.4, y+way*(r+1.4)), at(x+1.2, y+way*(r+2.6)),
		at(x+1.2, y+way*15), at(x-1.2, y+way*15), at(x-1.2, y+way*(r+2.6)), at(x-2.4, y+way*(r+1.4)))
}

// drawClock: a fitting seen along the pipe it is screwed on. It is tight a little before it points the right way.
func (c *composer) drawClock(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	k := 9 / m.od
	x, y := 30.0, 19.5
	b, r := m.bodyOD*k/2, m.reach*k
	now := []sheets.SketchPoint{at(x-b*0.1, y-b), at(x-r, y-b), at(x-r, y+b), at(x-b*0.1, y+b)}
	d.add(sheets.SketchLine{Points: now, WidthMM: thinMM, Dashed: true})
	d.shape(pale, at(x-b, y), at(x-b, y-r), at(x+b, y-r), at(x+b, y))
	d.circle(pale, x, y, b)
	d.circle(metal, x, y, m.od*k/2)
	d.circle(white, x, y, m.bore*k/2)
	d.turn(x, y, r+2, 190, 262)
	d.pointer(x+r+6, y-r+2, -1, c.say.Say("trade.stop-here"), at(x+b, y-r+1))
	d.pointer(x+r+6, y+8, -1, c.say.Say("trade.pipe-end"), at(x+m.od*k/2*0.8, y+2))
	return d
}

// drawSwing: what turns with the pipe sweeps a circle.
func (c *composer) drawSwing(m measures) *draft {
	d := newDraft(wordWideMM, wordHighMM)
	x, y, r := 22.0, 15.5, 13.5
	d.add(sheets.SketchLine{Points: arc(x, y, r, 0, 360), WidthMM: thinMM, Dashed: true})
	d.rect(metal, x-1.6, y-r, x+1.6, y)
	d.circle(pale, x, y, 2.8)
	d.circle(metal, x, y, 1.6)
	d.turn(x, y, r-4, -60, 60)
	d.add(sheets.SketchLine{Points: []sheets.SketchPoint{at(x, y), at(x+r*sin45, y+r*sin45)}, WidthMM: thinMM, Heads: [2]bool{false, true}})
	d.pointer(42, y+12, -1, c.say.Say("trade.clear"), at(x+r*0.6, y+r*0.6))
	d.pointer(42, 6, -1, c.say.Say("trade.swings"), at(x+1.6, y-r+3))
	return d
}

// sin45 is the sine of 45 degrees.
const sin45 = 0.7071
