package booklet

import (
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/wording"
	"turnwise/render/sheets"
)

// stops are the findings for which the frame cannot be built as drawn.
func (c *composer) stops() []string {
	var out []string
	for _, f := range c.Plan.Findings {
		if f.Severity == assembly.Stop {
			out = append(out, sentence(f.Text))
		}
	}
	return out
}

// gists says of each other finding what it comes to for a builder, grave ones first, equal ones once.
func (c *composer) gists() []string {
	var out []string
	for _, severity := range []assembly.Severity{assembly.Warn, assembly.Note} {
		for _, f := range c.Plan.Findings {
			if g := c.gist(f); f.Severity == severity && !slices.Contains(out, g) {
				out = append(out, g)
			}
		}
	}
	return out
}

// leastGist is how many letters the first clause of a finding must have to say something by itself.
const leastGist = 24

// gist is what a finding comes to: the words for its code, or else its first clause.
func (c *composer) gist(f assembly.Finding) string {
	if name := "gist." + strings.ToLower(f.Code); c.say.Has(name) {
		return c.say.Say(name)
	}
	for i, r := range f.Text {
		if i >= leastGist && (r == ':' || r == ';') {
			return sentence(f.Text[:i])
		}
	}
	return sentence(f.Text)
}

// found lists all findings and assumptions in full.
func (c *composer) found() sheets.Section {
	s := sheets.Section{ID: "found", Title: c.say.Say("found.title")}
	var facts sheets.Facts
	for _, f := range c.Plan.Findings {
		fact := sheets.Fact{Head: c.gist(f), Words: sentence(f.Text), Note: c.say.Say("found.code", c.say.Say("severity."+string(f.Severity)), f.Code)}
		if f.At != "" {
			fact.Note += " · " + f.At
		}
		if fact.Words == fact.Head {
			fact.Words = ""
		}
		facts.Items = append(facts.Items, fact)
	}
	if len(facts.Items) > 0 {
		s.Blocks = append(s.Blocks, sheets.Subhead{Words: c.say.Say("before.findings")}, facts)
	}
	if len(c.Plan.Assumptions) > 0 {
		t := sheets.Table{Columns: []sheets.Column{{Title: c.say.Say("found.assumed")}, {Title: c.say.Say("found.key")}}}
		for _, a := range c.Plan.Assumptions {
			t.Rows = append(t.Rows, []string{sentence(a.Text), a.Key})
		}
		s.Blocks = append(s.Blocks, sheets.Subhead{Words: c.say.Say("before.assumptions")}, sheets.Text{Words: c.say.Say("before.assumptions-lead")}, t)
	}
	return s
}

// after is what to mind when the frame stands, with the card of its loads.
func (c *composer) after() sheets.Section {
	var items []string
	for _, name := range []string{"after.level", "after.load", "after.week", "after.labels"} {
		items = append(items, c.say.Say(name))
	}
	s := sheets.Section{ID: "after", Title: c.say.Say("after.title"), Blocks: []sheets.Block{
		sheets.List{Items: items}, sheets.Subhead{Words: c.say.Say("after.loads")},
	}}
	if len(c.Loads) == 0 {
		s.Blocks = append(s.Blocks, sheets.Text{Words: c.say.Say("after.loads-none")})
		return s
	}
	card := sheets.Card{Title: c.Plan.Design.Title}
	for _, l := range c.Loads {
		line := c.say.Say("load.line", l.On, c.force(l)+" "+wording.Direction(l.Dir))
		if !slices.Contains(card.Lines, line) {
			card.Lines = append(card.Lines, line)
		}
	}
	if slices.ContainsFunc(c.Loads, func(l assembly.Load) bool { return l.PerMetre > 0 }) {
		card.Lines = append(card.Lines, c.say.Say("load.spread"))
	}
	card.Lines = append(card.Lines, c.say.Say("load.never"))
	s.Blocks = append(s.Blocks, sheets.Text{Words: c.say.Say("after.loads-lead")}, sheets.Cards{Items: []sheets.Card{card}, Across: 2, Cut: true})
	return s
}

// apart is how the frame is taken apart: its steps from the last to the first, with the joints named that are made to
// open. Steps next to one another that are undone in the same way share a row.
func (c *composer) apart() sheets.Section {
	if len(c.Plan.Steps) == 0 {
		return sheets.Section{}
	}
	s := sheets.Section{ID: "apart", Title: c.say.Say("apart.title"), Blocks: []sheets.Block{sheets.Text{Words: c.say.Say("apart.lead")}}}
	if opens := c.opens(c.Plan.Joints); len(opens) > 0 {
		s.Blocks = append(s.Blocks, sheets.Text{Words: c.say.Say("after.opens", wording.And(opens))})
	}
	t := sheets.Table{Columns: []sheets.Column{{Title: c.say.Say("apart.step")}, {Title: c.say.Say("apart.do")}}}
	for i := len(c.Plan.Steps) - 1; i >= 0; {
		words, n := c.undo(c.Plan.Steps[i]), 1
		for i-n >= 0 && c.undo(c.Plan.Steps[i-n]) == words {
			n++
		}
		number := strconv.Itoa(c.Plan.Steps[i].Number)
		if n > 1 {
			number = c.say.Say("step.range", number, strconv.Itoa(c.Plan.Steps[i-n+1].Number))
		}
		t.Rows = append(t.Rows, []string{number, words})
		i -= n
	}
	s.Blocks = append(s.Blocks, t)
	return s
}

// undo says how a step is undone; a joint that is made to open is named.
func (c *composer) undo(st assembly.Step) string {
	var joints []assembly.Joint
	for _, j := range c.Plan.Joints {
		if slices.Contains(st.Joints, j.ID) {
			joints = append(joints, j)
		}
	}
	if opens := c.opens(joints); len(opens) > 0 {
		return c.say.Say("undo.opens", wording.And(opens))
	}
	switch st.Action {
	case assembly.Fasten, assembly.PutStrap:
		return c.say.Say("undo.fasten")
	case assembly.StandUp:
		return c.say.Say("undo.stand-up")
	case assembly.Adjust:
		return c.say.Say("undo.adjust")
	case assembly.ThreadOn:
		return c.say.Say("undo.thread-on")
	case assembly.Screw:
		if len(joints) > 0 {
			return c.say.Say("undo.screw")
		}
	}
	return c.say.Say("undo.place")
}

// opens names the closing parts of joints: those that come apart without unscrewing the whole frame.
func (c *composer) opens(joints []assembly.Joint) []string {
	var out []string
	for _, j := range joints {
		switch j.Kind {
		case assembly.UnionNut, assembly.RightLeft, assembly.LongScrew:
			part := c.closer(j)
			id := strings.TrimSuffix(strings.TrimSuffix(part.ID, ".a"), ".b")
			name := c.say.Say("apart.at", wording.PartName(c.units, whole(part)), strconv.Itoa(part.Number), id)
			if !slices.Contains(out, name) {
				out = append(out, name)
			}
		}
	}
	return out
}

// closer is the part of a joint that is made to open: the one that is no pipe.
func (c *composer) closer(j assembly.Joint) assembly.Part {
	var out assembly.Part
	for _, p := range c.Plan.Parts {
		if p.ID == j.A.Part || p.ID == j.B.Part {
			if out = p; p.Kind != standard.Pipe {
				return p
			}
		}
	}
	return out
}
