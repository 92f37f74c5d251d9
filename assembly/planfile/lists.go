package planfile

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/tabwriter"

	"turnwise/assembly"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// CutHeads are the columns of cuts.csv: the fields of a cut, its stock laid out in columns of its own, and two
// (length, stock) in the design's units for people.
var CutHeads = []string{
	"number", "size", "length_mm", "length", "count", "label", "stock", "stock_length_mm", "stock_moves", "formula",
}

// ShoppingHeads are the columns of shopping.csv: the fields of an item, and length in the design's units.
var ShoppingHeads = []string{
	"group", "kind", "text", "size", "number", "length_mm", "length", "count", "spare", "price_each", "price_source",
}

// WriteCuts writes the cut list as CSV, one row per distinct pipe. Empty cells stand where nothing applies; what
// using a stock length would move is written "point dx dy dz" in mm of the finished frame, points parted by "; ".
func WriteCuts(w io.Writer, s units.System, cuts []assembly.Cut) error {
	c := csv.NewWriter(w)
	rows := [][]string{CutHeads}
	for _, cut := range cuts {
		rows = append(rows, cutRow(s, cut))
	}
	return c.WriteAll(rows)
}

func cutRow(s units.System, c assembly.Cut) []string {
	stock, stockMM, moves := "", "", ""
	if c.Stock != nil {
		stock, stockMM, moves = lengthText(s, c.Stock.LengthMM), decimal(c.Stock.LengthMM), movesText(c.Stock.Moves)
	}
	return []string{
		whole(c.Number), string(c.Size), decimal(c.LengthMM), lengthText(s, c.LengthMM), strconv.Itoa(c.Count), c.Label,
		stock, stockMM, moves, c.Formula,
	}
}

// movesText lists shifted points.
func movesText(moves []assembly.PointShift) string {
	var out []string
	for _, m := range moves {
		out = append(out, m.Point+" "+vecText(m.By))
	}
	return strings.Join(out, "; ")
}

func vecText(v geom.Vec) string {
	return decimal(v.X) + " " + decimal(v.Y) + " " + decimal(v.Z)
}

// WriteShopping writes the shopping list as CSV.
func WriteShopping(w io.Writer, s units.System, items []assembly.Item) error {
	c := csv.NewWriter(w)
	rows := [][]string{ShoppingHeads}
	for _, it := range items {
		rows = append(rows, itemRow(s, it))
	}
	return c.WriteAll(rows)
}

func itemRow(s units.System, it assembly.Item) []string {
	lengthMM, length, source := "", "", ""
	if it.LengthMM != 0 {
		lengthMM, length = decimal(it.LengthMM), lengthText(s, it.LengthMM)
	}
	if it.PriceSource != nil {
		source = *it.PriceSource
	}
	return []string{
		it.Group, string(it.Kind), it.Text, SizeText(it.Size), whole(it.Number), lengthMM, length,
		strconv.Itoa(it.Count), strconv.Itoa(it.Spare), priceText(it.PriceEach), source,
	}
}

// SizeText is a size for people: "3/4", or "3/4 x 3/4 x 1/2" where the openings differ, run first and outlet last.
func SizeText(s assembly.Sizes) string {
	n := sizesNode(s)
	if n.kind != listKind {
		return n.str
	}
	var out []string
	for _, it := range n.items {
		out = append(out, it.str)
	}
	return strings.Join(out, " x ")
}

// decimal writes a number of mm as in plan.json.
func decimal(mm float64) string { return number(mm, lengthDecimals).lit }

// whole is empty for 0.
func whole(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// priceText keeps two decimals, more only where the price has them; empty when unknown.
func priceText(p *float64) string {
	if p == nil {
		return ""
	}
	lit := number(*p, moneyDecimals).lit
	if dot := strings.IndexByte(lit, '.'); dot >= 0 && len(lit)-dot > 3 {
		return lit
	}
	return strconv.FormatFloat(*p, 'f', 2, 64)
}

// lengthText is a length in the design's units.
func lengthText(s units.System, mm float64) string { return s.Format(units.Length(mm)) }

// PrintCuts writes the cut list as a table for a terminal.
func PrintCuts(w io.Writer, s units.System, cuts []assembly.Cut) error {
	rows := [][]string{{"no", "size", "length", "count", "label", "nearest stock", "sum"}}
	for _, c := range cuts {
		stock := ""
		if c.Stock != nil {
			stock = lengthText(s, c.Stock.LengthMM) + shiftNote(s, c.Stock.Moves)
		}
		rows = append(rows, []string{
			whole(c.Number), string(c.Size), lengthText(s, c.LengthMM), strconv.Itoa(c.Count), c.Label, stock, c.Formula,
		})
	}
	return table(w, rows)
}

// shiftNote tells how far the point that moves most would move.
func shiftNote(s units.System, moves []assembly.PointShift) string {
	if len(moves) == 0 {
		return " (moves nothing)"
	}
	most := moves[0]
	for _, m := range moves[1:] {
		if m.By.Len() > most.By.Len() {
			most = m
		}
	}
	note := fmt.Sprintf(" (moves %s %s", most.Point, lengthText(s, most.By.Len()))
	if n := len(moves) - 1; n > 0 {
		note += fmt.Sprintf(" and %d more", n)
	}
	return note + ")"
}

// PrintShopping writes the shopping list as a table for a terminal, with the known prices added up.
func PrintShopping(w io.Writer, s units.System, items []assembly.Item) error {
	rows := [][]string{{"group", "item", "length", "count", "spare", "each"}}
	sum, unpriced := 0.0, 0
	for _, it := range items {
		length := ""
		if it.LengthMM != 0 {
			length = lengthText(s, it.LengthMM)
		}
		if it.PriceEach != nil {
			sum += *it.PriceEach * float64(it.Count+it.Spare)
		} else {
			unpriced++
		}
		rows = append(rows, []string{
			it.Group, it.Text, length, strconv.Itoa(it.Count), whole(it.Spare), priceText(it.PriceEach),
		})
	}
	if err := table(w, rows); err != nil {
		return err
	}
	if unpriced == len(items) {
		return nil
	}
	_, err := fmt.Fprintf(w, "known prices, spares included: %.2f; %d lines without a price\n", sum, unpriced)
	return err
}

// table lines up columns, two spaces apart, without spaces at line ends.
func table(w io.Writer, rows [][]string) error {
	var b strings.Builder
	t := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, row := range rows {
		fmt.Fprintln(t, strings.Join(row, "\t"))
	}
	if err := t.Flush(); err != nil {
		return err
	}
	for line := range strings.Lines(b.String()) {
		if _, err := io.WriteString(w, strings.TrimRight(line, " \n")+"\n"); err != nil {
			return err
		}
	}
	return nil
}
