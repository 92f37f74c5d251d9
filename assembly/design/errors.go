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

// Merge adds faults found later about the same file to those that Read found, in file order. One that most likely
// follows from a fault already known is left out: on the same line, or naming something whose own entry is faulty.
func (t *Tree) Merge(found, later Errors) Errors {
	lines := map[int]bool{}
	for _, e := range found {
		lines[e.At.Line] = true
	}
	all := append(Errors(nil), found...)
	for _, e := range later {
		if !lines[e.At.Line] && !t.namesSpoilt(e.Text) {
			all = append(all, e)
		}
	}
	all.Sort()
	return all
}

// beforeNames are words after which an "a" in a message is a name and not the article.
var beforeNames = map[string]bool{"": true, "called": true, "name": true, "between": true, "and": true, "to": true, "from": true, "or": true}

// namesSpoilt tells whether a message names something whose entry is faulty.
func (t *Tree) namesSpoilt(text string) bool {
	before := ""
	for _, w := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(" ,;:?()", r) }) {
		if t.IsSpoilt(w) && (w != "a" || beforeNames[before]) {
			return true
		}
		before = w
	}
	return false
}

// IsSpoilt tells whether the entry of a name is faulty, so that what hangs on it cannot be known. The name may be dotted.
func (t *Tree) IsSpoilt(name string) bool {
	for _, part := range strings.Split(name, ".") {
		if t.spoilt[part] {
			return true
		}
	}
	return false
}

// newPos is the place at a line and column.
func newPos(line, col int) Pos { return Pos{Line: line, Col: col} }
