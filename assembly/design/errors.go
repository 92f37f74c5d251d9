package design

import (
	"fmt"
	"sort"
	"strings"

	"turnwise/assembly/formula"
)

// Pos is a place in the design file: line and column from 1, the column counted in characters.
type Pos = formula.Pos

// Error is one fault of a design file. Text says what was found, what was expected, and what to try.
type Error struct {
	File string
	At   Pos
	Text string
}

// Error is "file:line:col: text".
func (e *Error) Error() string { return e.Place() + ": " + e.Text }

// Place is "file:line:col".
func (e *Error) Place() string { return Place(e.File, e.At) }

// Place writes a place as messages do: "rack.yaml:14:9".
func Place(file string, at Pos) string { return fmt.Sprintf("%s:%d:%d", file, at.Line, at.Col) }

// Errors are all faults of a file, in file order.
type Errors []*Error

// Error lists every fault, one a line.
func (es Errors) Error() string {
	lines := make([]string, len(es))
	for i, e := range es {
		lines[i] = e.Error()
	}
	return strings.Join(lines, "\n")
}

// Sort puts the faults in file order; faults at one place keep theirs.
func (es Errors) Sort() {
	sort.SliceStable(es, func(i, j int) bool { return es[i].At.IsBefore(es[j].At) })
}

// Merge adds faults found later about the same file, in file order. One on a line that has a fault already is left out:
// it most likely follows from it.
func (es Errors) Merge(later Errors) Errors {
	lines := map[int]bool{}
	for _, e := range es {
		lines[e.At.Line] = true
	}
	all := append(Errors(nil), es...)
	for _, e := range later {
		if !lines[e.At.Line] {
			all = append(all, e)
		}
	}
	all.Sort()
	return all
}

// newPos is the place at a line and column.
func newPos(line, col int) Pos { return Pos{Line: line, Col: col} }
