package design

import (
	"strings"

	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
)

// checker looks up every name that a tree uses.
type checker struct {
	r     *reader
	file  *scope
	known map[*scope][]known // names for suggestions, made once per scope
	found []string           // names whose entries turned out to be faulty
	asked int                // how often a suggestion was looked for
}

// known is a name with what it stands for.
type known struct {
	name string
	kind symbolKind
}

// tree checks all of it.
func (c *checker) tree() {
	t := c.r.tree
	for _, g := range t.Givens {
		c.spoiling(g.Name, func() { c.formula(g.Expr, c.file, false) })
	}
	c.formula(t.Tolerance, c.file, false)
	c.room(&t.Room)
	for _, x := range t.Cleats {
		c.surface(x.On)
		c.ranges(x.Ranges)
		c.formula(x.Thickness, c.file, false)
	}
	c.body(&t.Body, c.file)
	for i := range t.Parts {
		c.part(&t.Parts[i])
	}
	for _, w := range t.Order {
		for _, n := range append(append([]Name(nil), w.A...), w.B...) {
			c.thing(n, c.file, true, "run, board, point, group or copy", aRun, aBoard, aPoint, aGroup, aCopy, aCleat)
		}
	}
	for _, name := range c.found { // only now: a fault in one formula does not excuse a wrong name in another
		c.r.spoil(name)
	}
}

// spoiling notes a name as faulty when the check of its entry finds a fault.
func (c *checker) spoiling(n Name, check func()) {
	faults := len(c.r.errs)
	check()
	if len(c.r.errs) > faults {
		c.found = append(c.found, n.Text)
	}
}

func (c *checker) formulas(s *scope, es ...*formula.Expr) {
	for _, e := range es {
		c.formula(e, s, false)
	}
}

func (c *checker) room(room *Room) {
	for _, s := range room.Surfaces {
		for _, reading := range s.Face {
			c.formula(reading.Value, c.file, false)
			for _, a := range reading.At {
				c.formula(a.Expr, c.file, false)
			}
		}
		if s.Made != nil {
			c.formula(s.Made.Thickness, c.file, false)
		}
		for _, t := range []*Timbers{s.Studs, s.Joists} {
			if t != nil {
				c.formulas(c.file, append([]*formula.Expr{t.Every, t.From, t.Wide}, t.Middles...)...)
			}
		}
		if s.Baseboard != nil {
			c.formulas(c.file, s.Baseboard.Height, s.Baseboard.Thickness)
		}
	}
	for _, z := range room.Zones {
		if z.Surface.Text != "" {
			c.surface(z.Surface)
		}
		c.ranges(z.Ranges)
	}
	c.formulas(c.file, room.WayIn...)
}

func (c *checker) ranges(rs [3]*Range) {
	for _, x := range rs {
		if x != nil {
			c.formulas(c.file, x.Low, x.High)
		}
	}
}

func (c *checker) part(p *PartEntry) {
	c.formulas(c.file, p.Engagement, p.Length, p.Height, p.Across, p.Circle, p.Countersink, p.Rated)
	c.formulas(c.file, p.CentreToEnd...)
	c.formulas(c.file, p.Stock...)
	c.formulas(c.file, p.Have...)
	for _, price := range p.Prices {
		c.formula(price.Length, c.file, false)
	}
}

func (c *checker) body(b *Body, s *scope) {
	for i := range b.Boards {
		c.spoiling(b.Boards[i].Name, func() { c.board(&b.Boards[i], s) })
	}
	for i := range b.Points {
		c.spoiling(b.Points[i].Name, func() { c.point(&b.Points[i], s) })
	}
	for i := range b.Runs {
		c.spoiling(b.Runs[i].Name, func() { c.run(&b.Runs[i], s) })
	}
	for _, f := range b.Fittings {
		c.pointName(f.Point, s)
		for _, run := range []Name{f.Along, f.Into} {
			if run.Text != "" {
				c.thing(run, s, false, "run", aRun)
			}
		}
		c.formula(f.Pad, s, false)
	}
	for _, l := range b.Loads {
		c.thing(l.On, s, true, "run, board or point", aRun, aBoard, aPoint)
		for _, item := range l.Items {
			c.formula(item.Expr, s, false)
		}
	}
	for i := range b.Groups {
		g := &b.Groups[i]
		c.copies(g.Copies, s)
		if sym := s.own(g.Name.Text); sym != nil && sym.inner != nil && sym.name == g.Name {
			c.body(&g.Body, sym.inner)
		}
	}
}

func (c *checker) board(b *Board, s *scope) {
	c.formulas(s, b.Size[:]...)
	for _, low := range b.Low {
		c.formula(low.Expr, s, true)
	}
	for _, n := range b.LiesOn {
		if n.Text != "floor" {
			c.thing(n, s, false, "run, cleat or board", aRun, aCleat, aBoard)
		}
	}
	c.copies(b.Copies, s)
}

func (c *checker) copies(x *Copies, s *scope) {
	if x == nil {
		return
	}
	c.formula(x.Count, s, false)
	c.changes(x.Changes, s, false)
	for _, one := range x.Named {
		c.changes(one.Changes, s, false)
		c.formula(one.MirrorAt, s, false)
	}
}

func (c *checker) changes(changes []Change, s *scope, axes bool) {
	for _, x := range changes {
		c.formula(x.Expr, s, axes)
		if x.Op == Toward {
			c.pointName(x.To, s)
		}
	}
}

func (c *checker) point(p *Point, s *scope) {
	for _, e := range p.Coords {
		c.formula(e, s, true)
	}
	if p.From.Text != "" {
		c.pointName(p.From, s)
	}
	c.changes(p.Changes, s, true)
}

func (c *checker) run(x *Run, s *scope) {
	for _, item := range x.Path {
		if item.Part == "" {
			c.pointName(item.Name, s)
		}
	}
	for _, cut := range x.Cuts {
		c.formula(cut.Expr, s, false)
	}
	c.formula(x.Clearance, s, false)
}

// formula checks the names of a formula. Axes tells whether x, y and z stand for coordinates in it.
func (c *checker) formula(e *formula.Expr, s *scope, axes bool) {
	if e == nil {
		return
	}
	for _, ref := range e.Refs() {
		name := Name{ref.Name, ref.At}
		if ref.Point {
			c.pointName(name, s)
		} else {
			c.value(name, s, axes)
		}
	}
}

// Dimensions of parts that formulas may use.
var dimensions = strings.Fields("od engagement centre-to-end length height takeout across circle")

// Faces of boards and obstacles that formulas may use.
var faces = strings.Fields("under top left right front back")

// value checks a name that stands for a value in a formula.
func (c *checker) value(n Name, s *scope, axes bool) {
	first, rest, dotted := strings.Cut(n.Text, ".")
	switch {
	case axisOf(first) != "":
		if !axes {
			c.r.fail(n.At, "%s is a coordinate only inside a point or a board's at; write POINT.%s", first, first)
		}
	case surfaceAxis(first) != "":
		c.surfaceValue(n, first, rest, dotted)
	case standard.IsKind(first):
		if !contains(dimensions, rest) {
			c.r.fail(n.At, "no dimension %s; of a part there are %s", clip(n.Text), strings.Join(dimensions, ", "))
		}
	default:
		c.symbolValue(n, s)
	}
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

func (c *checker) surfaceValue(n Name, first, rest string, dotted bool) {
	if dotted && rest != "least" && rest != "most" {
		c.r.fail(n.At, "no %s; of a surface there are %s.least and %s.most", clip(n.Text), first, first)
		return
	}
	c.surface(Name{first, n.At})
}

// surface checks that a surface of the room is there.
func (c *checker) surface(n Name) {
	if c.r.tree.IsSpoilt(n.Text) {
		return // it is there, in a line with a fault of its own
	}
	switch n.Text {
	case "right", "front":
		if c.r.tree.Room.Surface(n.Text) == nil {
			c.r.fail(n.At, "no %s wall: give %s under room", n.Text, n.Text)
		}
	case "ceiling":
		if c.r.tree.Room.Surface(n.Text) == nil {
			c.r.fail(n.At, "no ceiling: give ceiling under room")
		}
	}
}

// walk follows a dotted name from copy to copy. It gives the last symbol and what is left of the name behind it.
func (c *checker) walk(n Name, s *scope, groupsToo bool) (sym *symbol, rest string) {
	first, rest, _ := strings.Cut(n.Text, ".")
	sym = s.find(first)
	for sym != nil && sym.inner != nil && rest != "" {
		if sym.kind == aGroup && sym.isCopied && !groupsToo {
			return sym, rest
		}
		first, rest, _ = strings.Cut(rest, ".")
		sym = sym.inner.own(first)
	}
	return sym, rest
}

// symbolValue checks the name of a given, a coordinate of a point, a face of a board, or a cleat.
func (c *checker) symbolValue(n Name, s *scope) {
	sym, rest := c.walk(n, s, false)
	switch {
	case sym == nil:
		c.unknown(n, s, "name", aGiven, aPoint, aBoard, aCleat, aZone)
	case sym.kind == aGivenGroup:
		if !strings.Contains(n.Text, ".") {
			c.r.fail(n.At, "%s is a group of givens: write one of them, %s.NAME", n.Text, n.Text)
		} else if !c.hasGiven(n.Text) {
			c.unknown(n, s, "name", aGiven)
		}
	case c.r.tree.IsSpoilt(n.Text):
	case sym.isCopied:
		c.r.fail(n.At, "%s has copies: name one of them", sym.name.Text)
	case sym.kind == aGiven && rest == "":
	case sym.kind == aCleat && (rest == "" || rest == "least" || rest == "most"):
	case sym.kind == aPoint:
		if axisOf(rest) == "" {
			c.r.fail(n.At, "%s is a point: write %s.x, %s.y or %s.z", sym.name.Text, clip(sym.name.Text), sym.name.Text, sym.name.Text)
		}
	case sym.kind == aBoard, sym.kind == aZone && sym.isSolid:
		if !contains(faces, rest) {
			c.r.fail(n.At, "%s is a %s: write one of its faces, %s.%s", sym.name.Text, sym.kind, sym.name.Text, strings.Join(faces, " ."))
		}
	default:
		c.r.fail(n.At, "%s is a %s and has no number; formulas use givens, points, faces and parts", clip(n.Text), sym.kind)
	}
}

func (c *checker) hasGiven(name string) bool {
	for _, g := range c.r.tree.Givens {
		if g.Name.Text == name {
			return true
		}
	}
	return false
}

func (c *checker) pointName(n Name, s *scope) { c.thing(n, s, false, "point", aPoint) }

// thing checks the name of something of one of the given kinds. With all, the name of a group or board stands for all its
// copies, and parts of a run may be named.
func (c *checker) thing(n Name, s *scope, all bool, what string, kinds ...symbolKind) {
	sym, rest := c.walk(n, s, all)
	switch {
	case sym == nil:
		c.unknown(n, s, what, kinds...)
	case c.r.tree.IsSpoilt(n.Text):
	case sym.isCopied && !all:
		c.r.fail(n.At, "%s has copies: name one of them", sym.name.Text)
	case !hasKind(kinds, sym.kind):
		c.r.fail(n.At, "%s is a %s; a %s is wanted here", clip(n.Text), sym.kind, what)
	case rest != "" && !(all && sym.kind != aCleat):
		c.r.fail(n.At, "%s is a %s; nothing goes behind its name here", sym.name.Text, sym.kind)
	}
}

func hasKind(kinds []symbolKind, k symbolKind) bool {
	for _, x := range kinds {
		if x == k {
			return true
		}
	}
	return false
}

// fewNames may all be listed in a message.
const fewNames = 6

// unknown reports a name that nothing of the given kinds has, with the difference that may be meant or the nearest name.
func (c *checker) unknown(n Name, s *scope, what string, kinds ...symbolKind) {
	if c.r.tree.IsSpoilt(n.Text) {
		return
	}
	called := "called "
	if what == "name" {
		called = ""
		switch strings.ToLower(n.Text) {
		case "nan", "inf", "infinity":
			c.r.fail(n.At, "%s is not a number here: write it out", n.Text)
			return
		}
		if sum := c.difference(n.Text, s); sum != "" {
			c.r.fail(n.At, "no name %s; %s is a sum", clip(n.Text), sum)
			return
		}
	}
	head, tail := n.Text, ""
	if i := strings.LastIndexByte(head, '.'); i >= 0 && what == "name" && (axisOf(head[i+1:]) != "" || contains(faces, head[i+1:])) {
		head, tail = head[:i], head[i:]
	}
	var names []string
	if c.asked++; c.asked <= MaxFaults { // of more faults none is listed
		names = c.names(s, kinds)
	}
	switch near := nearest(head, names); {
	case near != "":
		c.r.fail(n.At, "no %s %s%s; %s?", what, called, clip(n.Text), near+tail)
	case what != "name" && len(names) > 0 && len(names) <= fewNames:
		c.r.fail(n.At, "no %s %s%s; there are %s", what, called, clip(n.Text), strings.Join(names, ", "))
	default:
		c.r.fail(n.At, "no %s %s%s in this file", what, called, clip(n.Text))
	}
}

// difference reads a name with a hyphen as the difference that may have been meant: span-3 as span - 3.
func (c *checker) difference(name string, s *scope) string {
	for i := 0; i < len(name); i++ {
		if name[i] != '-' {
			continue
		}
		left, right := name[:i], name[i+1:]
		if sym, _ := c.walk(Name{Text: left}, s, false); sym == nil {
			continue
		}
		if _, isNumber := plainNumber(right); !isNumber {
			if sym, _ := c.walk(Name{Text: right}, s, false); sym == nil {
				continue
			}
		}
		return left + " - " + right
	}
	return ""
}

// mostNames is the number of names that are searched for a suggestion: more would take time and help nobody.
const mostNames = 2000

// names lists what of the given kinds can be named from a scope, for suggestions.
func (c *checker) names(s *scope, kinds []symbolKind) []string {
	if _, ok := c.known[s]; !ok {
		if c.known == nil {
			c.known = map[*scope][]known{}
		}
		c.known[s] = c.gather(s)
	}
	var names []string
	for _, k := range c.known[s] {
		if hasKind(kinds, k.kind) {
			names = append(names, k.name)
		}
	}
	return names
}

// gather lists all names that can be used in a scope.
func (c *checker) gather(s *scope) []known {
	var names []known
	var add func(prefix string, s *scope, level int)
	add = func(prefix string, s *scope, level int) {
		for _, sym := range s.list {
			if len(names) >= mostNames {
				return
			}
			names = append(names, known{prefix + sym.name.Text, sym.kind})
			if sym.inner != nil && !(sym.kind == aGroup && sym.isCopied) && level < MaxLevels {
				add(prefix+sym.name.Text+".", sym.inner, level+1)
			}
		}
	}
	for at := s; at != nil; at = at.parent {
		add("", at, 1)
	}
	for _, g := range c.r.tree.Givens {
		if strings.Contains(g.Name.Text, ".") {
			names = append(names, known{g.Name.Text, aGiven})
		}
	}
	return names
}
