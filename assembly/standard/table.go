package standard

import (
	"embed"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"
	"sync"
)

//go:embed data/*.csv
var data embed.FS

// Factors from the units of the data files to those of this package.
const (
	mmPerInch   = 25.4               // exact by definition
	kgPerMLbFt  = 0.45359237 / .3048 // exact by definition
	mpaPerPsi   = 6.894757293e-3     // lbf / in2; lbf = 0.45359237 x 9.80665 N
	gradeColumn = "grade"
	sourceCol   = "source"
)

// factor is what a value in the unit of a data file is multiplied with.
var factor = map[string]float64{
	"in": mmPerInch, "mm": 1, "count": 1, "lb/ft": kgPerMLbFt, "kg/m": 1, "psi": mpaPerPsi, "MPa": 1,
}

// record is one row of a data file by column name.
type record map[string]string

// figure returns the value in the named column.
func (r record) figure(column string) Figure {
	v, err := strconv.ParseFloat(r[column], 64)
	f, ok := factor[r["unit"]]
	if err != nil || !ok {
		panic(fmt.Sprintf("standard: bad value %q %q in an embedded table", r[column], r["unit"]))
	}
	return Figure{MM: v * f, Source: r[sourceCol], Grade: Grade(r[gradeColumn])}
}

// number returns a plain number in the named column.
func (r record) number(column string) float64 {
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		panic(fmt.Sprintf("standard: bad number %q in an embedded table", r[column]))
	}
	return v
}

// records reads one embedded file. A fault in it is a fault of the program.
func records(name string) []record {
	f, err := data.Open("data/" + name)
	if err != nil {
		panic("standard: " + err.Error())
	}
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		panic("standard: " + name + ": " + err.Error())
	}
	out := make([]record, 0, len(rows))
	for _, row := range rows[1:] {
		r := record{}
		for i, head := range rows[0] {
			r[head] = row[i]
		}
		out = append(out, r)
	}
	return out
}

// cell finds one figure: family, kind or series, sizes joined with x, dimension.
type cell struct{ family, what, size, dim string }

// span is a range with source.
type span struct{ least, most Figure }

// tables is all that is read from the data files.
type tables struct {
	cells   map[cell]Figure
	flanges map[cell]span
	nipples map[Size][]NippleRow
	woods   []WoodRow
	boards  []BoardRow
}

var loaded = sync.OnceValue(load)

func load() *tables {
	t := &tables{cells: map[cell]Figure{}, flanges: map[cell]span{}, nipples: map[Size][]NippleRow{}}
	for _, r := range records("threads.csv") {
		t.cells[cell{r["family"], "thread", r["size"], r["dim"]}] = r.figure("value")
	}
	for _, r := range records("pipe.csv") {
		t.cells[cell{r["family"], r["series"], r["size"], r["dim"]}] = r.figure("value")
	}
	for _, r := range records("fittings.csv") {
		t.cells[cell{r["family"], r["kind"], r["size"], r["dim"]}] = r.figure("value")
	}
	for _, r := range records("flanges.csv") {
		t.flanges[cell{"", "flange", r["size"], r["dim"]}] = span{r.figure("least"), r.figure("most")}
	}
	for _, r := range records("nipples.csv") {
		s := Size(r["size"])
		t.nipples[s] = append(t.nipples[s], NippleRow{Size: s, Class: r["class"], Length: r.figure("length")})
	}
	t.woods, t.boards = readWoods(), readBoards()
	return t
}

// look finds a figure of the tables.
func look(family Family, what, size, dim string) (Figure, bool) {
	f, ok := loaded().cells[cell{string(family), what, size, dim}]
	return f, ok
}

// joinSizes is the key of a combination of sizes in the tables.
func joinSizes(s []Size) string {
	words := make([]string, len(s))
	for i, w := range s {
		words[i] = string(w)
	}
	return strings.Join(words, "x")
}

// weakest is the least sure of some grades.
func weakest(figures ...Figure) Grade {
	order := []Grade{Measured, Verified, CrossChecked, Computed, MemoryHigh, MemoryMedium, CommonPractice, MemoryLow}
	worst := 0
	for _, f := range figures {
		for i, g := range order {
			if g == f.Grade && i > worst {
				worst = i
			}
		}
	}
	return order[worst]
}

// derived is a figure computed from others: as sure as the least sure of them, at best computed.
func derived(mm float64, how string, from ...Figure) Figure {
	g := weakest(append(from, Figure{Grade: Computed})...)
	return Figure{MM: mm, Source: how, Grade: g}
}

// assumed is a figure of a rule of this program's own, for what no table has.
func assumed(mm float64, rule string) Figure {
	return Figure{MM: mm, Source: rule, Grade: MemoryLow}
}
