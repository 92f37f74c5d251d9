package planfile

import (
	"encoding/csv"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"turnwise/assembly"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// CutHeads are the columns of cuts.csv: the fields of a cut, its stock laid out in columns of its own, and two
// (length, stock) in the design's units for people.
var CutHeads = []string{
	"number", "size", "length_mm", "length", "count", "label", "stock", "stock_length_mm", "stock_moves", "formula", "measure",
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
		stock, stockMM, moves, c.Formula, strings.Join(c.Measure, "; "),
	}
}

// StickHeads are the columns of sticks.csv.
var StickHeads = []string{"stick", "size", "stick_length_mm", "stick_length", "piece", "number", "length_mm", "length", "left_over_mm", "source"}

// WriteSticks writes as CSV how pipes are cut from sticks of stock length, one row per piece, sticks and the pieces of
// each counted from 1. What is left over stands in every row of its stick.
func WriteSticks(w io.Writer, s units.System, sticks []assembly.Stick) error {
	rows := [][]string{StickHeads}
	for i, k := range sticks {
		for n, p := range k.Pieces {
			rows = append(rows, []string{
				strconv.Itoa(i + 1), string(k.Size), decimal(k.LengthMM), lengthText(s, k.LengthMM), strconv.Itoa(n + 1),
				whole(p.Number), decimal(p.LengthMM), lengthText(s, p.LengthMM), decimal(k.LeftMM), k.Source,
			})
		}
	}
	return csv.NewWriter(w).WriteAll(rows)
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
		it.Group, string(it.Kind), it.Text, it.Size.Text(), whole(it.Number), lengthMM, length,
		strconv.Itoa(it.Count), strconv.Itoa(it.Spare), priceText(it.PriceEach), source,
	}
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

// PrintCuts writes the cut list as a table for a terminal: a line for each distinct pipe with its sum indented under it.
// A star marks lengths that hang on figures which no table vouches for; the lines at the end name those.
func PrintCuts(w io.Writer, s units.System, cuts []assembly.Cut) error {
	t := table{heads: []string{"no", "size", "length", "count", "for", "nearest stock"}, right: []int{3}}
	var measure []string
	for _, c := range cuts {
		length, stock := lengthText(s, c.LengthMM), ""
		if len(c.Measure) > 0 {
			length += " *"
		}
		for _, m := range c.Measure {
			if !slices.Contains(measure, m) {
				measure = append(measure, m)
			}
		}
		if c.Stock != nil {
			stock = lengthText(s, c.Stock.LengthMM) + ", " + shiftNote(s, c.Stock.Moves)
		}
		t.add([]string{
			whole(c.Number), assembly.Sizes{c.Size}.Words(), length, strconv.Itoa(c.Count), shortLabel(c.Label), stock,
		}, c.Formula)
	}
	if err := t.print(w); err != nil || len(measure) == 0 {
		return err
	}
	_, err := fmt.Fprintf(w, "* measure yours before you cut, no table vouches for these:\n  %s\n", strings.Join(measure, "\n  "))
	return err
}

// shortLabel is the first name of a label and how many more there are.
func shortLabel(label string) string {
	names := strings.Split(label, ", ")
	if len(names) < 3 {
		return label
	}
	return fmt.Sprintf("%s and %d more", names[0], len(names)-1)
}

// shiftNote tells how far the points that a stock length moves would move at most.
func shiftNote(s units.System, moves []assembly.PointShift) string {
	if len(moves) == 0 {
		return "moves nothing"
	}
	most := 0.0
	for _, m := range moves {
		most = max(most, m.By.Len())
	}
	far := s.Nearest(units.Length(most))
	if far == s.Nearest(0) { // less than a tape shows
		far = lengthText(s, most)
	}
	if len(moves) == 1 {
		return "moves 1 point " + far
	}
	return fmt.Sprintf("moves %d points up to %s", len(moves), far)
}

// itemWidth is how many characters of an item stand on one line of the shopping list. With the columns before them the
// lines stay below 110.
const itemWidth = 80

// PrintShopping writes the shopping list as a table for a terminal, with the known prices added up.
func PrintShopping(w io.Writer, s units.System, items []assembly.Item) error {
	sum, unpriced := 0.0, 0
	for _, it := range items {
		if it.PriceEach == nil {
			unpriced++
			continue
		}
		sum += *it.PriceEach * float64(it.Count+it.Spare)
	}
	t := table{heads: []string{"group", "count", "spare", "item"}, right: []int{1, 2}}
	if unpriced < len(items) {
		t = table{heads: []string{"group", "count", "spare", "each", "item"}, right: []int{1, 2, 3}}
	}
	for _, it := range items {
		lines := wrap(it.Text, itemWidth)
		row := []string{it.Group, strconv.Itoa(it.Count), whole(it.Spare)}
		blank := []string{"", "", ""}
		if unpriced < len(items) {
			row, blank = append(row, priceText(it.PriceEach)), append(blank, "")
		}
		t.add(append(row, lines[0]), "")
		for _, more := range lines[1:] {
			t.add(append(slices.Clone(blank), "  "+more), "")
		}
	}
	if err := t.print(w); err != nil || unpriced == len(items) {
		return err
	}
	_, err := fmt.Fprintf(w, "known prices, spares included: %.2f; %d lines without a price\n", sum, unpriced)
	return err
}

// wrap breaks a text into lines of at most so many characters, at spaces. It gives at least one line.
func wrap(text string, width int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			lines, line = append(lines, line), ""
		}
		line = strings.TrimPrefix(line+" "+word, " ")
	}
	return append(lines, line)
}

// table lines up columns, two spaces apart.
type table struct {
	heads []string
	right []int // the columns that are set to the right: numbers
	rows  [][]string
	under []string // by row: what stands indented under it, "" for nothing
}

func (t *table) add(row []string, under string) {
	t.rows, t.under = append(t.rows, row), append(t.under, under)
}

// print writes the table, without spaces at line ends.
func (t *table) print(w io.Writer) error {
	wide := make([]int, len(t.heads))
	rows := append([][]string{t.heads}, t.rows...)
	for _, row := range rows {
		for i, cell := range row {
			wide[i] = max(wide[i], utf8.RuneCountInString(cell))
		}
	}
	const gap = "  "
	var b strings.Builder
	for r, row := range rows {
		var cells []string
		for i, cell := range row {
			pad := strings.Repeat(" ", wide[i]-utf8.RuneCountInString(cell))
			if slices.Contains(t.right, i) {
				cell, pad = pad+cell, ""
			}
			cells = append(cells, cell+pad)
		}
		b.WriteString(strings.TrimRight(strings.Join(cells, gap), " ") + "\n")
		if r > 0 && t.under[r-1] != "" {
			b.WriteString(strings.Repeat(" ", wide[0]) + gap + gap + t.under[r-1] + "\n")
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
