package booklet

import (
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render/sheets"
)

func (c *composer) cuts() sheets.Section {
	if len(c.Plan.Cuts) == 0 {
		return sheets.Section{}
	}
	t := sheets.Table{Columns: []sheets.Column{
		{Title: c.say.Say("cuts.number"), Right: true}, {Title: c.say.Say("cuts.size")}, {Title: c.say.Say("cuts.length")},
		{Title: c.say.Say("cuts.count"), Right: true}, {Title: c.say.Say("cuts.thread")}, {Title: c.say.Say("cuts.label")},
		{Title: c.say.Say("cuts.stock")},
	}}
	for _, cut := range c.Plan.Cuts {
		t.Rows = append(t.Rows, []string{
			strconv.Itoa(cut.Number), string(cut.Size) + " in", c.cut(cut.LengthMM), strconv.Itoa(cut.Count), c.threads(cut.Number), cut.Label, c.stock(cut),
		})
	}
	return sheets.Section{ID: "cuts", Title: c.say.Say("cuts.title"), NewPage: true, Blocks: append([]sheets.Block{
		sheets.Text{Words: c.say.Say("cuts.lead", familyName(c.Plan.Design.Thread), c.length(c.ToleranceMM))}, t,
	}, c.sticks()...)}
}

// threads says how the ends of the pipes with a number are cut.
func (c *composer) threads(number int) string {
	for _, p := range c.Plan.Parts {
		if p.Number != number {
			continue
		}
		switch {
		case p.LeftEnd != "":
			return c.say.Say("thread.left")
		case p.Running != "":
			return c.say.Say("thread.running")
		}
	}
	return c.say.Say("thread.both")
}

// sticks is how pipes are cut from stock: sticks cut alike are drawn once.
func (c *composer) sticks() []sheets.Block {
	if len(c.Sticks) == 0 {
		return nil
	}
	var b sheets.Sticks
	short, source := false, ""
	for i := 0; i < len(c.Sticks); {
		k, n := c.Sticks[i], 1
		for i+n < len(c.Sticks) && sameStick(k, c.Sticks[i+n]) {
			n++
		}
		bar := sheets.StickBar{LengthMM: k.LengthMM, KerfMM: c.KerfMM, Title: c.say.Say("sticks.stick", strconv.Itoa(n), string(k.Size), c.about(k.LengthMM))}
		for _, p := range k.Pieces {
			bar.Pieces = append(bar.Pieces, sheets.StickCut{Tag: strconv.Itoa(p.Number), LengthMM: p.LengthMM})
			short = short || p.Short
		}
		bar.Note = c.say.Say("sticks.pieces", c.pieces(k.Pieces), c.about(k.LeftMM))
		b.Items, source = append(b.Items, bar), k.Source
		i += n
	}
	lead := c.say.Say("sticks.lead", c.about(c.KerfMM), source)
	if short {
		lead += " " + c.say.Say("sticks.short")
	}
	return []sheets.Block{sheets.Subhead{Words: c.say.Say("sticks.title")}, sheets.Text{Words: lead}, b}
}

func sameStick(a, b assembly.Stick) bool {
	return a.StockStick == b.StockStick && slices.Equal(a.Pieces, b.Pieces)
}

// pieces names the pieces of a stick in order, equal ones together: "2 × 53 1/16 in (11), 13 1/2 in (3)".
func (c *composer) pieces(pieces []assembly.StickPiece) string {
	var words []string
	for i := 0; i < len(pieces); {
		n := 1
		for i+n < len(pieces) && pieces[i+n] == pieces[i] {
			n++
		}
		word := c.cut(pieces[i].LengthMM) + " (" + strconv.Itoa(pieces[i].Number) + ")"
		if n > 1 {
			word = strconv.Itoa(n) + " × " + word
		}
		words = append(words, word)
		i += n
	}
	return strings.Join(words, ", ")
}

// sums shows how the lengths come about.
func (c *composer) sums() sheets.Section {
	if len(c.Plan.Cuts) == 0 {
		return sheets.Section{}
	}
	t := sheets.Table{Columns: []sheets.Column{{Title: c.say.Say("cuts.number"), Right: true}, {Title: c.say.Say("sums.sum")}}}
	measured := slices.ContainsFunc(c.Plan.Cuts, func(k assembly.Cut) bool { return len(k.Measure) > 0 })
	if measured {
		t.Columns = append(t.Columns, sheets.Column{Title: c.say.Say("sums.measure")})
	}
	for _, cut := range c.Plan.Cuts {
		row := []string{strconv.Itoa(cut.Number), cut.Formula}
		if measured {
			row = append(row, strings.Join(cut.Measure, "; "))
		}
		t.Rows = append(t.Rows, row)
	}
	return sheets.Section{ID: "sums", Title: c.say.Say("sums.title"), Blocks: []sheets.Block{sheets.Text{Words: c.say.Say("sums.lead")}, t}}
}

// labels are slips to cut out and put on bags and pipes, one for each number, with the words of lists and pictures.
func (c *composer) labels() sheets.Section {
	cards := sheets.Cards{Cut: true}
	for _, g := range c.groups() {
		name := wording.PartName(c.units, whole(g.first))
		if len(g.first.Boxes) > 0 {
			name = wording.KindName(g.first.Kind)
		}
		card := sheets.Card{Tag: strconv.Itoa(g.number), Title: name}
		if g.first.Kind == standard.Pipe {
			card.Title = g.first.Size.Words() + " " + wording.KindName(g.first.Kind)
			card.Lines = append(card.Lines, c.say.Say("label.length", c.cut(g.first.LengthMM)))
		}
		card.Lines = append(card.Lines, c.say.Say("label.count", strconv.Itoa(g.count)))
		if steps := c.usedIn(g.number); steps != "" {
			card.Lines = append(card.Lines, steps)
		}
		cards.Items = append(cards.Items, card)
	}
	if len(cards.Items) == 0 {
		return sheets.Section{}
	}
	return sheets.Section{ID: "labels", Title: c.say.Say("labels.title"), Blocks: []sheets.Block{sheets.Text{Words: c.say.Say("labels.lead")}, cards}}
}

// usedIn says in which steps parts with a number are first taken to hand: "for step 3", "for steps 3 to 12".
func (c *composer) usedIn(number int) string {
	of := map[string]bool{}
	for _, p := range c.Plan.Parts {
		if p.Number == number {
			of[p.ID] = true
		}
	}
	first, last := 0, 0
	take := func(step int, ids []string) {
		for _, id := range ids {
			if !of[id] {
				continue
			}
			delete(of, id)
			if first == 0 {
				first = step
			}
			last = step
		}
	}
	for _, st := range c.Plan.Steps {
		take(st.Number, st.Moves)
		take(st.Number, st.Onto)
		for _, r := range st.Repeats {
			take(st.Number, r.Moves)
		}
	}
	switch {
	case first == 0:
		return ""
	case first == last:
		return c.say.Say("label.step", strconv.Itoa(first))
	}
	return c.say.Say("label.steps", strconv.Itoa(first), strconv.Itoa(last))
}

// stock says which length can be bought and what using it would move.
func (c *composer) stock(cut assembly.Cut) string {
	switch s := cut.Stock; {
	case s == nil:
		return c.say.Say("cuts.none")
	case len(s.Moves) == 0 && s.LengthMM == cut.LengthMM:
		return c.say.Say("cuts.is-stock")
	case len(s.Moves) == 0:
		return c.length(s.LengthMM)
	default:
		m := s.Moves[0]
		for _, o := range s.Moves[1:] {
			if o.By.Len() > m.By.Len() {
				m = o
			}
		}
		words := m.Point + " " + c.about(m.By.Len()) + " " + wording.Direction(m.By)
		if more := len(s.Moves) - 1; more > 0 {
			words = c.say.Say("cuts.moves-more", words, strconv.Itoa(more))
		}
		return c.say.Say("cuts.moves", c.length(s.LengthMM), words)
	}
}

// boring lists the holes of the boards, one row each, boards of one number once.
func (c *composer) boring() sheets.Section {
	t := sheets.Table{Columns: []sheets.Column{
		{Title: c.say.Say("boring.along"), Right: true}, {Title: c.say.Say("boring.across"), Right: true}, {Title: c.say.Say("boring.size")},
	}}
	for _, g := range c.groups() {
		p := g.first
		if p.Kind != standard.Board || len(p.Boxes) == 0 {
			continue
		}
		box := geom.EmptyBox()
		for _, x := range p.Boxes {
			box = box.Union(x)
		}
		if len(p.Holes) > 0 {
			t.Rows = append(t.Rows, []string{c.say.Say("boring.boards", strconv.Itoa(g.number), strings.Join(c.named(g.number), ", "))})
		}
		for _, h := range p.Holes {
			size := c.say.Say("boring.through", c.atLeast(h.Diameter))
			if h.Depth > 0 {
				size = c.say.Say("boring.depth", c.atLeast(h.Diameter), c.atLeast(h.Depth))
			}
			// The front is at the least y of the finished frame, whose y points to the back wall.
			t.Rows = append(t.Rows, []string{c.about(h.At.X - box.Min.X), c.about(h.At.Y - box.Min.Y), size})
		}
	}
	if len(t.Rows) == 0 {
		return sheets.Section{}
	}
	return sheets.Section{ID: "boring", Title: c.say.Say("boring.title"), Blocks: []sheets.Block{sheets.Text{Words: c.say.Say("boring.lead")}, t}}
}

func (c *composer) shopping() sheets.Section {
	if len(c.Plan.Shopping) == 0 {
		return sheets.Section{}
	}
	priced := slices.ContainsFunc(c.Plan.Shopping, func(i assembly.Item) bool { return i.PriceEach != nil })
	columns := []sheets.Column{{Title: c.say.Say("shopping.what")}, {Title: c.say.Say("shopping.count"), Right: true},
		{Title: c.say.Say("shopping.spare"), Right: true}}
	if priced {
		columns = append(columns, sheets.Column{Title: c.say.Say("shopping.price"), Right: true})
	}
	t := sheets.Table{Columns: columns}
	group := ""
	for _, it := range c.Plan.Shopping {
		if it.Group != group {
			group = it.Group
			t.Rows = append(t.Rows, []string{c.say.Say("group." + group)})
		}
		t.Rows = append(t.Rows, shoppingRow(it, priced))
	}
	return sheets.Section{ID: "shopping", Title: c.say.Say("shopping.title"), NewPage: true, Blocks: []sheets.Block{t}}
}

func shoppingRow(it assembly.Item, priced bool) []string {
	row := []string{it.Text, strconv.Itoa(it.Count), ""}
	if it.Spare > 0 {
		row[2] = strconv.Itoa(it.Spare)
	}
	if priced {
		price := ""
		if it.PriceEach != nil {
			price = strconv.FormatFloat(*it.PriceEach, 'f', 2, 64)
			if it.PriceSource != nil {
				price += " (" + *it.PriceSource + ")"
			}
		}
		row = append(row, price)
	}
	return row
}

// force writes a load in the units of the design.
func (c *composer) force(l assembly.Load) string {
	if l.PerMetre > 0 {
		return c.units.FormatForcePerLength(units.ForcePerLength(l.PerMetre))
	}
	return c.units.FormatForce(units.Force(l.Newtons))
}
