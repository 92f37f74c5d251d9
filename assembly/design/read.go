package design

import (
	"fmt"
	"io"
	"strings"

	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
)

// formatVersion is the format this package reads.
const formatVersion = "1"

// Read reads a design file. The name is only for messages. All faults are found in one run and come in file order. The
// Tree is never nil: with faults it holds what could be read, faulty formulas giving formula.ErrSilent.
func Read(in io.Reader, file string) (*Tree, Errors) {
	r := &reader{file: file, tree: &Tree{File: file, spoilt: map[string]bool{}}}
	r.defaults()
	lines, bad := readText(in)
	if bad != nil {
		r.fail(bad.at, "%s", bad.text)
		return r.tree, r.errs
	}
	r.tree.Lines = lines
	src := &source{raw: lines, fault: r.fail, spoil: r.spoil}
	top := src.parse()
	r.second, r.unclosed = src.second, src.unclosed
	r.top(top)
	r.checkNames()
	r.errs.Sort()
	if n := len(r.errs); n > MaxFaults {
		last := r.errs[MaxFaults]
		last.Text = fmt.Sprintf("%d more faults from here on are not listed", n-MaxFaults)
		r.errs = r.errs[:MaxFaults+1]
	}
	return r.tree, r.errs
}

// reader turns nodes into the tree.
type reader struct {
	file   string
	tree   *Tree
	errs   Errors
	second int // line where a second document begins, or 0
	// unclosed tells that a bracket is not closed: it may have swallowed any of what follows.
	unclosed bool
	places   map[string]bool // names that are values, not points: givens, cleats
}

func (r *reader) fail(at Pos, format string, args ...any) {
	r.errs = append(r.errs, &Error{r.file, at, fmt.Sprintf(format, args...)})
}

func (r *reader) defaults() {
	t := r.tree
	t.Units = units.InchSystem
	t.Thread = standard.NPT
	t.Finish = Finish{Base: "black"}
	t.MakeUp = MakeUpNormal
	t.People = 2
}

// field is one key of a map with what reads it.
type field struct {
	key  string
	read func(*node)
}

// sections may be empty, as when every entry is a comment.
var sections = map[string]bool{
	"givens": true, "room": true, "cleats": true, "boards": true, "points": true, "runs": true, "fittings": true,
	"groups": true, "loads": true, "parts": true, "order": true, "zones": true,
}

// fields reads a map whose keys are fixed. Where is "in a run" for messages.
func (r *reader) fields(n *node, where string, table []field) {
	seen := map[string]Pos{}
	for _, e := range n.entries {
		if first, twice := seen[e.key]; twice {
			if r.second > 0 && first.Line < r.second && e.keyAt.Line > r.second {
				continue // the second document is the fault, and told already
			}
			r.fail(e.keyAt, "%s is already given in line %d", clip(e.key), first.Line)
			continue
		}
		seen[e.key] = e.keyAt
		known := false
		for _, f := range table {
			if f.key == e.key {
				known = true
				if e.value.kind == emptyNode && sections[e.key] {
					continue
				}
				r.value(e, f.read)
			}
		}
		if !known {
			r.unknownKey(e, where, table)
			r.spoilAll(e.value)
		}
	}
}

// spoil notes the names of a key whose entry cannot be used.
func (r *reader) spoil(key string) {
	for _, p := range (piece{text: key}).split(',') {
		r.tree.spoilt[p.text] = true
	}
}

// spoilAll notes every key of a map that cannot be used, and of the maps in it.
func (r *reader) spoilAll(n *node) {
	for _, e := range n.entries {
		r.spoil(e.key)
		r.spoilAll(e.value)
	}
}

// value hands a value on unless it is missing or already reported.
func (r *reader) value(e entry, read func(*node)) {
	switch e.value.kind {
	case badNode:
		r.spoil(e.key)
	case emptyNode:
		r.spoil(e.key)
		r.fail(e.value.at, "nothing after %s: write its value, or leave the key out", clip(e.key))
	default:
		read(e.value)
	}
}

func (r *reader) unknownKey(e entry, where string, table []field) {
	keys := make([]string, len(table))
	for i, f := range table {
		keys[i] = f.key
	}
	if near := nearest(e.key, keys); near != "" {
		r.spoil(near)
		r.fail(e.keyAt, "no key %s%s; %s?", clip(e.key), where, near)
		return
	}
	r.fail(e.keyAt, "no key %s%s: %s", clip(e.key), where, strings.Join(keys, ", "))
}

// isMap tells whether a node is a map, and reports it if not.
func (r *reader) isMap(n *node, what string) bool {
	if n.kind != mapNode {
		r.fail(n.at, "%s has entries, each a key with a colon", what)
	}
	return n.kind == mapNode
}

// text is the one-line text of a node; [a, b] stands for a, b.
func (r *reader) text(n *node) (piece, bool) {
	switch {
	case n.isBlock:
		r.fail(n.at, "a value stays on one line (only note may run over several)")
	case n.kind == textNode, n.kind == listNode && n.textAt.Line > 0:
		p := piece{n.text, n.textAt}
		if p = p.slice(0, len(p.text)); p.text == "" {
			r.fail(n.at, "an empty text: write a value, or leave the key out")
		}
		return p, p.text != ""
	case n.kind == mapNode:
		r.fail(n.at, "keys are not expected here: write the value behind the colon")
	case n.kind == listNode:
		r.fail(n.at, "a list is written on one line here, with commas")
	}
	return piece{}, false
}

// formula parses a formula; a faulty one is reported and gives formula.ErrSilent.
func (r *reader) formula(p piece) *formula.Expr {
	e, err := formula.Parse(p.text, p.at)
	return r.parsed(e, err, p)
}

func (r *reader) parsed(e *formula.Expr, err error, p piece) *formula.Expr {
	if err != nil {
		at, text := p.at, err.Error()
		if bad, ok := err.(*formula.Error); ok {
			at, text = bad.At, bad.Text
		}
		r.fail(at, "%s", text)
		return formula.Faulty(p.text, p.at)
	}
	r.tree.Notes = append(r.tree.Notes, e.Notes()...)
	return e
}

func (r *reader) formulaOf(dst **formula.Expr) func(*node) {
	return func(n *node) {
		if p, ok := r.text(n); ok {
			*dst = r.formula(p)
		}
	}
}

// list cuts a piece at its commas and reports empty parts.
func (r *reader) list(p piece) []piece {
	return r.noEmpty(p.split(','), "nothing beside a comma: write what is missing, or delete the comma")
}

func (r *reader) noEmpty(parts []piece, say string) []piece {
	var full []piece
	for _, q := range parts {
		if q.text == "" {
			r.fail(q.at, "%s", say)
			continue
		}
		full = append(full, q)
	}
	return full
}

// name reads a name, with dots where it may be of a copy.
func (r *reader) name(p piece, dots bool) (Name, bool) {
	ok := formula.IsName(p.text) || dots && formula.IsDottedName(p.text)
	if !ok && !r.tree.spoilt[p.text] {
		r.fail(p.at, "%s is not a name: letters, digits and single hyphens, beginning with a letter", clip(p.text))
	}
	return Name{p.text, p.at}, ok
}

func (r *reader) names(p piece) []Name {
	var ns []Name
	for _, q := range r.list(p) {
		if n, ok := r.name(q, true); ok {
			ns = append(ns, n)
		}
	}
	return ns
}

// manyWords is the length of a list above which the nearest word alone is named.
const manyWords = 6

// word reads one of the given words. What is "units" in "no units called feet; in or mm".
func (r *reader) word(p piece, what string, words ...string) (Word, bool) {
	for _, w := range words {
		if p.text == w {
			return Word{w, p.at}, true
		}
	}
	if near := nearest(p.text, words); near != "" && len(words) > manyWords {
		r.fail(p.at, "no %s called %s; %s?", what, clip(p.text), near)
	} else {
		r.fail(p.at, "no %s called %s; %s", what, clip(p.text), orList(words))
	}
	return Word{}, false
}

// orList is "a, b or c".
func orList(words []string) string {
	if n := len(words); n > 1 {
		return strings.Join(words[:n-1], ", ") + " or " + words[n-1]
	}
	return strings.Join(words, "")
}

// whole reads a whole number.
func (r *reader) whole(n *node, what string, least, most int) (int, Pos, bool) {
	p, ok := r.text(n)
	if !ok {
		return 0, p.at, false
	}
	v := 0
	for i, c := range p.text {
		if c < '0' || c > '9' || i > 6 {
			r.fail(p.at, "%s is not a whole number; %s: %d to %d", clip(p.text), what, least, most)
			return 0, p.at, false
		}
		v = v*10 + int(c-'0')
	}
	if v < least || v > most {
		r.fail(p.at, "%s is too few or too many; %s: %d to %d", clip(p.text), what, least, most)
		return 0, p.at, false
	}
	return v, p.at, true
}

// size reads a nominal size.
func (r *reader) size(p piece) (standard.Size, bool) {
	s, err := standard.ParseSize(p.text)
	if err != nil {
		r.fail(p.at, "%s", err)
	}
	return s, err == nil
}

// singular is one of what a map of names holds.
var singular = map[string]string{
	"givens": "given", "cleats": "cleat", "zones": "zone", "boards": "board", "points": "point", "runs": "run",
	"groups": "group", "copies": "copy",
}

// gives are the maps whose keys are names given there: a fault in an entry leaves the name without a value. A group's
// own entries are named one by one; loads and fittings only speak of what is named elsewhere.
var gives = map[string]bool{
	"givens": true, "a group of givens": true, "cleats": true, "zones": true, "boards": true, "points": true, "runs": true, "copies": true,
}

// named visits the entries of a map of names; a key may be a list of names. It reports names twice in the map.
// Visit tells whether the entry could be used.
func (r *reader) named(n *node, what string, dots bool, visit func(Name, *node) bool) {
	if !r.isMap(n, what) {
		return
	}
	kind := "given"
	if one := singular[what]; one != "" {
		kind = "the " + one
	}
	seen := map[string]Pos{}
	for _, e := range n.entries {
		r.value(e, func(v *node) {
			for _, p := range r.list(piece{e.key, e.keyAt}) {
				name, ok := r.name(p, dots)
				if !ok {
					r.spoil(p.text)
					continue
				}
				if first, twice := seen[name.Text]; twice {
					r.fail(name.At, "%s is already %s in line %d", clip(name.Text), kind, first.Line)
					continue
				}
				seen[name.Text] = name.At
				faults := len(r.errs)
				if !visit(name, v) || len(r.errs) > faults && gives[what] {
					r.spoil(name.Text)
				}
			}
		})
	}
}
