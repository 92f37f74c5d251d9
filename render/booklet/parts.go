package booklet

import (
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
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
		Title: strconv.Itoa(g.count) + " × " + g.first.Size.Words() + ", " + c.cut(g.first.LengthMM),
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
