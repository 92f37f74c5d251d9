package booklet

import (
	"slices"
	"strconv"

	"turnwise/assembly"
	"turnwise/assembly/wording"
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
		s.Blocks = append(s.Blocks, c.panel(c.Plan.Steps[i:i+n]))
		i += n
	}
	return s
}

// panel is one picture with its steps.
func (c *composer) panel(steps []assembly.Step) sheets.Panel {
	var p sheets.Panel
	for _, st := range steps {
		p.Steps = append(p.Steps, sheets.PanelStep{Number: strconv.Itoa(st.Number), Words: st.Text, Facts: c.facts(st)})
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

func (c *composer) facts(st assembly.Step) []string {
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
	return []string{words}
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

// after is what to mind when the frame stands, and how to take it apart.
func (c *composer) after() sheets.Section {
	var items []string
	for _, name := range []string{"after.level", "after.load", "after.week", "after.labels", "after.move"} {
		items = append(items, c.say.Say(name))
	}
	if opens := c.opens(); len(opens) > 0 {
		items = append(items, c.say.Say("after.opens", wording.And(opens)))
	}
	s := sheets.Section{ID: "after", Title: c.say.Say("after.title"), NewPage: true, Blocks: []sheets.Block{
		sheets.List{Items: items}, sheets.Subhead{Words: c.say.Say("after.loads")},
	}}
	if len(c.Loads) == 0 {
		s.Blocks = append(s.Blocks, sheets.Text{Words: c.say.Say("after.loads-none")})
		return s
	}
	t := sheets.Table{Columns: []sheets.Column{{Title: c.say.Say("load.on"), Weight: 3}, {Title: c.say.Say("load.load"), Weight: 3}}}
	for _, l := range c.Loads {
		t.Rows = append(t.Rows, []string{l.On, c.force(l) + " " + wording.Direction(l.Dir)})
	}
	s.Blocks = append(s.Blocks, sheets.Text{Words: c.say.Say("after.loads-lead")}, t)
	return s
}

// opens names the closing parts: those that come apart without unscrewing the whole frame.
func (c *composer) opens() []string {
	var out []string
	for _, j := range c.Plan.Joints {
		switch j.Kind {
		case assembly.UnionNut, assembly.RightLeft, assembly.LongScrew:
			if name := c.book.Part(j.A.Part); !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	}
	return out
}
