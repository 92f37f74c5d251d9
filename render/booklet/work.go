package booklet

import (
	"strconv"

	"turnwise/assembly"
	"turnwise/render/sheets"
)

// swingTold is the swing radius, in mm, from which a step says how much room it needs: beyond arm's reach of the joint,
// the same as in the words of steps.
const swingTold = 300

func (c *composer) steps() sheets.Section {
	s := sheets.Section{ID: "steps", Title: c.say.Say("steps.title"), NewPage: true}
	if len(c.Plan.Steps) == 0 {
		s.Blocks = []sheets.Block{sheets.Text{Words: c.say.Say("steps.none")}}
		return s
	}
	s.Blocks = append(s.Blocks, sheets.Text{Words: c.say.Say("steps.lead")})
	for i := 0; i < len(c.Plan.Steps); {
		first := c.Plan.Steps[i]
		n := 1
		for first.Picture > 0 && i+n < len(c.Plan.Steps) && c.Plan.Steps[i+n].Picture == first.Picture {
			n++
		}
		s.Blocks = append(s.Blocks, c.groupsBegun(c.Plan.Steps[i:i+n])...)
		s.Blocks = append(s.Blocks, c.panel(c.Plan.Steps[i:i+n]))
		i += n
	}
	return s
}

// groupsBegun are the pictures of the groups that are begun with one of some steps.
func (c *composer) groupsBegun(steps []assembly.Step) []sheets.Block {
	var out []sheets.Block
	for i, g := range c.Groups {
		if g.Drawing == nil || g.Step < steps[0].Number || g.Step > steps[len(steps)-1].Number {
			continue
		}
		n, of := strconv.Itoa(i+1), strconv.Itoa(len(c.Groups))
		pic := *g.Drawing
		pic.Alt = c.say.Say("module.alt", n, of)
		out = append(out, sheets.Figure{Drawing: &pic, Caption: c.say.Say("module.title", n), Height: groupHeight})
	}
	return out
}

// groupHeight is how much of a page the picture of a group takes: so little that its first steps go under it.
const groupHeight = 0.34

// panel is one picture with its steps.
func (c *composer) panel(steps []assembly.Step) sheets.Panel {
	var p sheets.Panel
	said := ""
	for _, st := range steps {
		facts := c.facts(st)
		if facts == said { // it goes on as in the step before
			facts = ""
		} else {
			said = facts
		}
		step := sheets.PanelStep{Number: strconv.Itoa(st.Number), Words: st.Text}
		if facts != "" {
			step.Facts = []string{facts}
		}
		p.Steps = append(p.Steps, step)
	}
	if d := c.Steps[steps[0].Picture]; d != nil {
		pic := *d
		number := p.Steps[0].Number
		if n := len(p.Steps); n > 1 {
			number = c.say.Say("step.range", number, p.Steps[n-1].Number)
		}
		pic.Alt = c.say.Say("step.alt", number, steps[0].Text)
		p.Drawing = &pic
	}
	return p
}

// facts is where a step is done, by how many, and how much room it takes.
func (c *composer) facts(st assembly.Step) string {
	where := "fact.place"
	if st.Where == "bench" {
		where = "fact.bench"
	}
	words := c.say.Say(where)
	if st.People > 1 {
		words += " · " + c.say.Say("fact.people", strconv.Itoa(st.People))
	}
	if st.Action == assembly.Screw && st.SwingRadiusMM > swingTold {
		words += " · " + c.say.Say("fact.swing", c.about(st.SwingRadiusMM))
	}
	return words
}

func (c *composer) exploded() sheets.Section {
	if c.Exploded == nil {
		return sheets.Section{}
	}
	pic := *c.Exploded
	pic.Alt = c.say.Say("exploded.alt", c.Plan.Design.Title)
	return sheets.Section{ID: "exploded", Title: c.say.Say("exploded.title"), NewPage: true, Blocks: []sheets.Block{
		sheets.Figure{Drawing: &pic, Caption: c.say.Say("exploded.caption"), Height: 0.9},
	}}
}
