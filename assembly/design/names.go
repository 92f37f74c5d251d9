package design

import (
	"fmt"
	"strings"

	"turnwise/assembly/standard"
)

// sort of thing a name stands for.
type symbolKind string

const (
	aGiven      symbolKind = "given"
	aGivenGroup symbolKind = "group of givens"
	aPoint      symbolKind = "point"
	aRun        symbolKind = "run"
	aBoard      symbolKind = "board"
	aCleat      symbolKind = "cleat"
	aZone       symbolKind = "zone"
	aGroup      symbolKind = "group"
	aCopy       symbolKind = "copy"
)

// symbol is what a name stands for in its scope.
type symbol struct {
	kind     symbolKind
	name     Name
	inner    *scope // of a group and its copies
	isCopied bool   // a group or board that has copies: its own name is all of them
	isSolid  bool   // an obstacle: it has faces
}

// scope is a set of names: of the file, or of a group.
type scope struct {
	parent *scope
	list   []*symbol          // in the order declared
	byName map[string]*symbol // the first of each name
	series map[string]*symbol // NAME-1, NAME-2 ... whose number is a formula, by NAME
}

func newScope(parent *scope) *scope {
	return &scope{parent: parent, byName: map[string]*symbol{}, series: map[string]*symbol{}}
}

// own finds a name in this scope alone.
func (s *scope) own(name string) *symbol {
	if sym := s.byName[name]; sym != nil {
		return sym
	}
	if i := strings.LastIndexByte(name, '-'); i > 0 && isCount(name[i+1:]) {
		return s.series[name[:i]]
	}
	return nil
}

// find finds a name in this scope or those around it.
func (s *scope) find(name string) *symbol {
	for ; s != nil; s = s.parent {
		if sym := s.own(name); sym != nil {
			return sym
		}
	}
	return nil
}

// isCount tells whether s is a whole number from 1 as names of copies end in.
func isCount(s string) bool {
	return s != "" && len(s) <= 3 && s[0] != '0' && strings.Trim(s, "0123456789") == ""
}

// reserved are the words that name nothing else.
var reserved = reservedWords()

func reservedWords() map[string]bool {
	words := map[string]bool{}
	for _, w := range strings.Fields("x y z room to then rest close here first last before on") {
		words[w] = true
	}
	for _, w := range SurfaceNames {
		words[w] = true
	}
	for _, k := range standard.Kinds() {
		words[string(k)] = true
	}
	for _, w := range LoadWords {
		words[w.Word] = true
	}
	return words
}

// checkNames checks every name of the tree: that it is free where it is given, and there where it is used.
func (r *reader) checkNames() {
	file := newScope(nil)
	r.declareFile(file)
	c := &checker{r: r, file: file}
	c.tree()
}

// declareFile gives the file's scope its names.
func (r *reader) declareFile(file *scope) {
	t := r.tree
	grouped := map[string]bool{}
	for _, g := range t.Givens {
		outer, _, isGrouped := strings.Cut(g.Name.Text, ".")
		switch {
		case !isGrouped:
			r.declare(file, &symbol{kind: aGiven, name: g.Name})
		case !grouped[outer]:
			grouped[outer] = true
			r.declare(file, &symbol{kind: aGivenGroup, name: Name{outer, g.Name.At}})
		}
	}
	for _, c := range t.Cleats {
		r.declare(file, &symbol{kind: aCleat, name: c.Name})
	}
	for _, z := range t.Room.Zones {
		r.declare(file, &symbol{kind: aZone, name: z.Name, isSolid: z.Kind.Text == Obstacle})
	}
	r.declareBody(file, &t.Body)
}

// declareBody gives a scope the names of a body, and then each group's scope its own.
func (r *reader) declareBody(s *scope, b *Body) {
	for _, x := range b.Boards {
		r.declare(s, &symbol{kind: aBoard, name: x.Name, isCopied: x.Copies != nil})
		r.declareCopies(s, x.Name, x.Copies, symbol{kind: aBoard})
	}
	for _, x := range b.Points {
		r.declare(s, &symbol{kind: aPoint, name: x.Name})
	}
	for _, x := range b.Runs {
		r.declare(s, &symbol{kind: aRun, name: x.Name})
	}
	inner := make([]*scope, len(b.Groups))
	for i, x := range b.Groups {
		inner[i] = newScope(s)
		r.declare(s, &symbol{kind: aGroup, name: x.Name, inner: inner[i], isCopied: x.Copies != nil})
		r.declareCopies(s, x.Name, x.Copies, symbol{kind: aCopy, inner: inner[i]})
	}
	for i := range b.Groups {
		r.declareBody(inner[i], &b.Groups[i].Body)
	}
}

// MaxCopies is the greatest number of copies of one thing.
const MaxCopies = 200

// declareCopies gives the scope the names of copies, each like the symbol.
func (r *reader) declareCopies(s *scope, of Name, c *Copies, like symbol) {
	if c == nil {
		return
	}
	for _, x := range c.Named {
		sym := like
		sym.name = x.Name
		r.declare(s, &sym)
	}
	if c.Count == nil {
		return
	}
	n, isPlain := plainNumber(c.Count.Text)
	if !isPlain || n != float64(int(min(n, MaxCopies+1))) || n > MaxCopies {
		sym := like
		sym.name = Name{of.Text, of.At}
		s.series[of.Text] = &sym // a formula, or a number that the solver refuses
		return
	}
	for i := 1; i <= int(n); i++ {
		sym := like
		sym.name = Name{fmt.Sprintf("%s-%d", of.Text, i), of.At}
		r.declare(s, &sym)
	}
}

// declare gives a name to a scope, and reports one that is reserved or already used here or further out.
func (r *reader) declare(s *scope, sym *symbol) {
	name := sym.name
	if reserved[name.Text] {
		r.spoil(name.Text)
		r.fail(name.At, "%s is a word of the design file itself; choose another name", name.Text)
		return
	}
	first := s.find(name.Text)
	if first == nil {
		s.byName[name.Text] = sym
		s.list = append(s.list, sym)
		return
	}
	later, earlier := sym, first
	if sym.name.At.IsBefore(first.name.At) {
		later, earlier = first, sym
	}
	r.spoil(name.Text)
	r.fail(later.name.At, "%s is already the %s in line %d", name.Text, earlier.kind, earlier.name.At.Line)
}
