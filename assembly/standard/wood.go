package standard

import (
	"fmt"
	"strings"
)

// BoardRow is one thickness (or width) that is sold. Lengths in mm.
type BoardRow struct {
	Product, Nominal   string
	Least, Most, Label Figure
}

func readWoods() []WoodRow {
	var out []WoodRow
	for _, r := range records("woods.csv") {
		out = append(out, WoodRow{
			Name: r["name"], Panel: r["kind"] == "panel",
			SpecificGravity: Range{r.number("sg_low"), r.number("sg_high")},
			DensityKGM3:     Range{r.number("density_low_kg_m3"), r.number("density_high_kg_m3")},
			ElasticityMPa:   Range{r.number("moe_low_psi") * mpaPerPsi, r.number("moe_high_psi") * mpaPerPsi},
			MORMPa:          Range{r.number("mor_low_psi") * mpaPerPsi, r.number("mor_high_psi") * mpaPerPsi},
			Source:          r[sourceCol], Grade: Grade(r[gradeColumn]),
		})
	}
	return out
}

func readBoards() []BoardRow {
	var out []BoardRow
	for _, r := range records("boards.csv") {
		out = append(out, BoardRow{r["product"], r["nominal"], r.figure("least"), r.figure("most"), r.figure("label")})
	}
	return out
}

// Woods returns every row of the wood table.
func Woods() []WoodRow { return append([]WoodRow(nil), loaded().woods...) }

// Boards returns every row of the board table.
func Boards() []BoardRow { return append([]BoardRow(nil), loaded().boards...) }

// woodWord is what a designer writes and the row it means. A word for a whole group means its weakest common member.
type woodWord struct{ word, row string }

// woodWords are the words, in the order messages list them.
var woodWords = []woodWord{
	{"pine", "eastern white pine"}, {"white pine", "eastern white pine"}, {"ponderosa pine", "ponderosa pine"},
	{"western white pine", "western white pine"}, {"southern pine", "loblolly pine"}, {"yellow pine", "loblolly pine"},
	{"loblolly pine", "loblolly pine"}, {"longleaf pine", "longleaf pine"},
	{"spruce", "engelmann spruce"}, {"whitewood", "engelmann spruce"}, {"softwood", "engelmann spruce"},
	{"fir", "douglas-fir coast"}, {"douglas fir", "douglas-fir coast"}, {"larch", "western larch"},
	{"hemlock", "western hemlock"}, {"cedar", "western redcedar"}, {"red cedar", "western redcedar"},
	{"oak", "northern red oak"}, {"red oak", "northern red oak"}, {"white oak", "white oak"},
	{"poplar", "yellow-poplar"}, {"maple", "red maple"}, {"soft maple", "red maple"}, {"hard maple", "sugar maple"},
	{"birch", "yellow birch"}, {"beech", "american beech"}, {"ash", "white ash"}, {"cherry", "black cherry"},
	{"walnut", "black walnut"}, {"hardwood", "yellow-poplar"},
	{"plywood", "softwood plywood (face grain along span)"}, {"softwood plywood", "softwood plywood (face grain along span)"},
	{"birch plywood", "hardwood plywood (face grain along span)"}, {"hardwood plywood", "hardwood plywood (face grain along span)"},
	{"osb", "oriented strandboard"}, {"particleboard", "particleboard"}, {"chipboard", "particleboard"},
	{"melamine", "particleboard"}, {"mdf", "medium-density fiberboard"}, {"hardboard", "hardboard"},
}

// WoodError is a material that is not in the table.
type WoodError struct{ Found string }

// Error lists the materials.
func (e *WoodError) Error() string {
	return fmt.Sprintf("no material called %s; materials are %s", e.Found, strings.Join(WoodWords(), ", "))
}

// WoodWords are the words for materials, in the order messages list them.
func WoodWords() []string {
	out := make([]string, len(woodWords))
	for i, w := range woodWords {
		out[i] = w.word
	}
	return out
}

// Wood returns the row that a word means; upper case, hyphens and a table's own full name do as well. The error is a
// *WoodError.
func Wood(name string) (WoodRow, error) {
	plain := func(s string) string {
		return strings.Join(strings.Fields(strings.ReplaceAll(strings.ToLower(s), "-", " ")), " ")
	}
	want := plain(name)
	row := want
	for _, w := range woodWords {
		if w.word == want {
			row = plain(w.row)
		}
	}
	for _, r := range loaded().woods {
		if plain(r.Name) == row {
			return r, nil
		}
	}
	return WoodRow{}, &WoodError{Found: name}
}
