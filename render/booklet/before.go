package booklet

import (
	"slices"
	"strconv"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/render/sheets"
)

func (c *composer) cover() sheets.Section {
	size := c.Built.Size()
	w, d, h := c.about(size.X), c.about(size.Y), c.about(size.Z)
	var blocks []sheets.Block
	if !c.Built.IsEmpty() {
		blocks = append(blocks, sheets.Text{Words: c.say.Say("cover.sizes", w, d, h), Large: true})
	}
	if c.Finished != nil {
		pic := *c.Finished
		pic.Alt = c.say.Say("cover.alt", c.Plan.Design.Title, w, d, h)
		blocks = append(blocks, sheets.Figure{Drawing: &pic, Caption: c.say.Say("cover.finished"), Height: 0.47})
	}
	return sheets.Section{ID: "cover", Title: c.Plan.Design.Title, Blocks: append(blocks, sheets.List{Items: c.coverFacts()}, sheets.Contents{Title: c.say.Say("cover.contents")})}
}

func (c *composer) coverFacts() []string {
	bodies, mass, sizes := 0, 0.0, []string{}
	for _, p := range c.Plan.Parts {
		if p.Kind == standard.Room {
			continue
		}
		if p.Half != "b" {
			bodies++
		}
		mass += p.MassKG
		if p.Kind == standard.Pipe && len(p.Size) > 0 && !slices.Contains(sizes, string(p.Size[0])) {
			sizes = append(sizes, string(p.Size[0]))
		}
	}
	people := 1
	for _, s := range c.Plan.Steps {
		people = max(people, s.People)
	}
	facts := []string{c.say.Say("cover.parts", strconv.Itoa(bodies), strconv.Itoa(len(c.Plan.Steps)))}
	if len(sizes) > 0 {
		finish := ""
		for _, p := range c.Plan.Parts {
			if p.Kind == standard.Pipe {
				finish = p.Finish
				break
			}
		}
		facts = append(facts, c.say.Say("cover.made-of", wording.And(sizes)+" in", finish, familyName(c.Plan.Design.Thread)))
	}
	return append(facts, c.say.Say("cover.weight", c.units.FormatMass(units.Mass(mass))), c.say.Say("cover.people", c.people(people)))
}

// familyName is what the trade calls a thread family.
func familyName(f standard.Family) string {
	if f == standard.BSPT {
		return "BSPT (ISO 7-1)"
	}
	return "NPT (ASME B1.20.1)"
}

func (c *composer) before() sheets.Section {
	s := sheets.Section{ID: "before", Title: c.say.Say("before.title"), NewPage: true}
	if stops := c.stops(); len(stops) > 0 {
		s.Blocks = append(s.Blocks, sheets.Notice{Title: c.say.Say("refused.title"), Grave: true, Items: append(stops, c.say.Say("refused.more"))})
	}
	s.Blocks = append(s.Blocks, sheets.Notice{
		Title: c.say.Say("before.cautions"), Items: append(sentences(wording.Safety(c.Plan)), c.say.Say("before.cautions-end")),
	})
	if found := c.gists(); len(found) > 0 {
		s.Blocks = append(s.Blocks, sheets.Notice{Title: c.say.Say("before.findings"), Items: append(found, c.say.Say("before.findings-more"))})
	}
	s.Blocks = append(s.Blocks, sheets.Subhead{Words: c.say.Say("before.tools")}, sheets.List{Items: c.tools(), Tick: true})
	return s
}

// sentence begins words with a capital and ends them with a full stop.
func sentence(words string) string {
	if words == "" {
		return ""
	}
	r := []rune(words)
	if r[0] >= 'a' && r[0] <= 'z' && !nameFirst(words) {
		r[0] += 'A' - 'a'
	}
	words = string(r)
	switch words[len(words)-1] {
	case '.', '!', '?', ':':
		return words
	}
	return words + "."
}

// nameFirst tells whether words begin with a name of the design, which is written as it is there.
func nameFirst(words string) bool {
	for i, r := range words {
		switch {
		case r == ' ':
			return false
		case r == '.' || r == '-' && i > 0 || r >= '0' && r <= '9':
			return true
		}
	}
	return false
}

func sentences(list []string) []string {
	out := make([]string, len(list))
	for i, w := range list {
		out[i] = sentence(w)
	}
	return out
}

func (c *composer) tools() []string {
	names := []string{"tool.gloves", "tool.wrenches", "tool.vice", "tool.tape", "tool.level", "tool.marker", "tool.rags"}
	driven, drilled := false, false
	for _, j := range c.Plan.Joints {
		if j.Kind == assembly.Face || j.Kind == assembly.StrapOn {
			driven = true
			for _, e := range []assembly.End{j.A, j.B} {
				drilled = drilled || e.Part == string(standard.Room)
			}
		}
	}
	if driven {
		names = append(names, "tool.driver")
	}
	if driven && drilled {
		names = append(names, "tool.detector")
	}
	var out []string
	for _, n := range names {
		out = append(out, c.say.Say(n))
	}
	var bores []string
	for _, p := range c.Plan.Parts {
		for _, h := range p.Holes {
			if d := c.atLeast(h.Diameter); !slices.Contains(bores, d) {
				bores = append(bores, d)
			}
		}
	}
	if len(bores) > 0 {
		out = append(out, c.say.Say("tool.bore", wording.And(bores)))
	}
	return out
}
