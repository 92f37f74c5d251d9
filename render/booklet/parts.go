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

// group is the parts that share a number.
type group struct {
	number int
	first  assembly.Part
	count  int
}

// groups lists the numbers in order.
func (c *composer) groups() []group {
	at := map[int]int{}
	var out []group
	for _, p := range c.Plan.Parts {
		if p.Number == 0 {
			continue
		}
		i, ok := at[p.Number]
		if !ok {
			i = len(out)
			at[p.Number] = i
			out = append(out, group{number: p.Number, first: p})
		}
		if p.Half != "b" {
			out[i].count++
		}
	}
	slices.SortStableFunc(out, func(a, b group) int { return a.number - b.number })
	return out
}

func (c *composer) parts() sheets.Section {
	s := sheets.Section{ID: "parts", Title: c.say.Say("parts.title"), NewPage: true}
	s.Blocks = append(s.Blocks, sheets.Text{Words: c.say.Say("parts.lead", c.PartsScale)})
	cards := sheets.Cards{PerMM: c.PartsPerMM, Shrunk: c.say.Say("parts.shrunk")}
	boards := cards
	var bars sheets.Bars
	told := map[standard.Kind]bool{}
	for _, g := range c.groups() {
		switch g.first.Kind {
		case standard.Pipe:
			bars.Items = append(bars.Items, c.bar(g))
		case standard.Board, standard.Cleat:
			boards.Items = append(boards.Items, c.card(g, told))
		default:
			cards.Items = append(cards.Items, c.card(g, told))
		}
	}
	s.Blocks = appendTitled(s.Blocks, c.say.Say("parts.fittings"), cards, len(cards.Items))
	if len(bars.Items) > 0 {
		s.Blocks = append(s.Blocks, sheets.Subhead{Words: c.say.Say("parts.pipes")}, sheets.Text{Words: c.say.Say("parts.pipes-lead")}, bars)
	}
	s.Blocks = appendTitled(s.Blocks, c.say.Say("parts.boards"), boards, len(boards.Items))
	var small []string
	for _, it := range c.Plan.Shopping {
		if it.Group == "fixings" {
			small = append(small, strconv.Itoa(it.Count)+" × "+it.Text)
		}
	}
	s.Blocks = appendTitled(s.Blocks, c.say.Say("parts.fixings"), sheets.List{Items: small, Tick: true}, len(small))
	return s
}

// appendTitled adds a block under a heading, unless it has nothing in it.
func appendTitled(blocks []sheets.Block, title string, b sheets.Block, n int) []sheets.Block {
	if n == 0 {
		return blocks
	}
	return append(blocks, sheets.Subhead{Words: title}, b)
}

// card shows one number; what its kind is for is said once.
func (c *composer) card(g group, told map[standard.Kind]bool) sheets.Card {
	name := wording.PartName(c.units, whole(g.first))
	if len(g.first.Boxes) > 0 { // boards are told apart by their names in the design
		name = wording.KindName(g.first.Kind)
	}
	card := sheets.Card{Tag: strconv.Itoa(g.number), Title: strconv.Itoa(g.count) + " × " + name, Boxes: g.count}
	if d := c.Parts[g.number]; d != nil {
		pic := *d
		pic.Alt = c.say.Say("parts.alt", name)
		card.Drawing = &pic
	}
	if what := c.say.What(g.first.Kind); !told[g.first.Kind] && what != "" {
		told[g.first.Kind] = true
		card.Lines = append(card.Lines, sentence(what))
	}
	if len(g.first.Boxes) > 0 {
		card.Lines = append(card.Lines, c.boardSize(g.first), strings.Join(c.named(g.number), ", "))
	}
	return card
}

// named lists the parts with a number.
func (c *composer) named(number int) []string {
	var ids []string
	for _, p := range c.Plan.Parts {
		if p.Number == number {
			ids = append(ids, p.ID)
		}
	}
	return ids
}

// whole is a union for either of its halves.
func whole(p assembly.Part) assembly.Part {
	p.Half = ""
	return p
}

// boardSize writes length, width and thickness.
func (c *composer) boardSize(p assembly.Part) string {
	b := geom.EmptyBox()
	for _, x := range p.Boxes {
		b = b.Union(x)
	}
	size := b.Size()
	sides := []float64{size.X, size.Y, size.Z}
	slices.Sort(sides)
	return c.length(sides[2]) + " × " + c.length(sides[1]) + " × " + c.length(sides[0]) + ", " + p.Material
}

func (c *composer) bar(g group) sheets.Bar {
	bar := sheets.Bar{
		Tag: strconv.Itoa(g.number), LengthMM: g.first.LengthMM, Boxes: g.count,
		Title: strconv.Itoa(g.count) + " × " + g.first.Size.Words() + ", " + c.length(g.first.LengthMM),
	}
	for _, cut := range c.Plan.Cuts {
		if cut.Number == g.number {
			bar.Note = cut.Label
		}
	}
	for _, j := range c.Plan.Joints {
		if !j.Kind.IsThreaded() {
			continue
		}
		for _, e := range []assembly.End{j.A, j.B} {
			if e.Part == g.first.ID && (e.Port == "a" || e.Port == "b") {
				bar.Ends[e.Port[0]-'a'] = true
			}
		}
	}
	return bar
}

func (c *composer) cuts() sheets.Section {
	if len(c.Plan.Cuts) == 0 {
		return sheets.Section{}
	}
	t := sheets.Table{Columns: []sheets.Column{
		{Title: c.say.Say("cuts.number"), Weight: 1}, {Title: c.say.Say("cuts.size"), Weight: 1.4}, {Title: c.say.Say("cuts.length"), Weight: 3.4},
		{Title: c.say.Say("cuts.count"), Weight: 1.3, Right: true}, {Title: c.say.Say("cuts.label"), Weight: 5}, {Title: c.say.Say("cuts.stock"), Weight: 5},
	}}
	sums := sheets.Table{Columns: []sheets.Column{
		{Title: c.say.Say("cuts.number"), Weight: 1}, {Title: c.say.Say("cuts.sums"), Weight: 16},
	}}
	for _, cut := range c.Plan.Cuts {
		n := strconv.Itoa(cut.Number)
		t.Rows = append(t.Rows, []string{n, string(cut.Size) + " in", c.length(cut.LengthMM), strconv.Itoa(cut.Count), cut.Label, c.stock(cut)})
		words := cut.Formula
		if len(cut.Measure) > 0 {
			words += "; " + c.say.Say("cuts.measure", wording.And(cut.Measure))
		}
		sums.Rows = append(sums.Rows, []string{n, words})
	}
	return sheets.Section{ID: "cuts", Title: c.say.Say("cuts.title"), NewPage: true, Blocks: []sheets.Block{
		sheets.Text{Words: c.say.Say("cuts.lead", familyName(c.Plan.Design.Thread), c.length(c.ToleranceMM))}, t,
		sheets.Subhead{Words: c.say.Say("cuts.sums")}, sums,
	}}
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
		{Title: c.say.Say("boring.board"), Weight: 5}, {Title: c.say.Say("boring.along"), Weight: 3, Right: true},
		{Title: c.say.Say("boring.across"), Weight: 3, Right: true}, {Title: c.say.Say("boring.size"), Weight: 4},
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
		for _, h := range p.Holes {
			size := c.say.Say("boring.through", c.length(h.Diameter))
			if h.Depth > 0 {
				size = c.say.Say("boring.depth", c.length(h.Diameter), c.length(h.Depth))
			}
			// The front is at the least y of the finished frame, whose y points to the back wall.
			t.Rows = append(t.Rows, []string{c.book.Part(p.ID), c.length(h.At.X - box.Min.X), c.length(h.At.Y - box.Min.Y), size})
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
	columns := []sheets.Column{{Title: c.say.Say("shopping.what"), Weight: 10}, {Title: c.say.Say("shopping.count"), Weight: 1.6, Right: true},
		{Title: c.say.Say("shopping.spare"), Weight: 1.6, Right: true}}
	if priced {
		columns = append(columns, sheets.Column{Title: c.say.Say("shopping.price"), Weight: 2, Right: true})
	}
	s := sheets.Section{ID: "shopping", Title: c.say.Say("shopping.title"), NewPage: true}
	for i := 0; i < len(c.Plan.Shopping); {
		name := c.Plan.Shopping[i].Group
		t := sheets.Table{Columns: columns}
		for ; i < len(c.Plan.Shopping) && c.Plan.Shopping[i].Group == name; i++ {
			t.Rows = append(t.Rows, shoppingRow(c.Plan.Shopping[i], priced))
		}
		s.Blocks = append(s.Blocks, sheets.Subhead{Words: c.say.Say("group." + name)}, t)
	}
	return s
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
