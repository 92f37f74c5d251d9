package solve

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"turnwise/assembly/design"
	"turnwise/assembly/formula"
)

// scope is one place where names are looked up: the file, or one copy of a group.
type scope struct {
	parent *scope
	path   string // "" for the file, "bay-2.level-3" for a copy
	body   *design.Body
	group  *design.Group

	move *move // how the drawing becomes this copy; nil: drawn in place

	points map[string]*point
	boards map[string]*board
	runs   map[string]*run
	copies map[string]*scope   // by the copy's own name
	groups map[string][]*scope // by the group's name: all its copies
	sets   map[string][]*board // by a copied board's own name: all its copies
	asks   map[string]*ask
}

// id is the full name of something in the scope.
func (sc *scope) id(name string) string {
	if sc.path == "" {
		return name
	}
	return sc.path + "." + name
}

// move takes drawn coordinates to those around the group: each axis may be turned round, then shifted.
type move struct {
	cell
	scope   *scope // where its formulas are evaluated: around the copy
	changes []design.Change
	times   float64 // how often the changes are made
	mirror  design.Axis
	mirrorE *design.Copy
	flip    [3]bool
	by      [3]float64 // mm
}

// eval works out flip and by.
func (s *solver) evalMove(m *move) error {
	return s.get(&m.cell, func() error {
		m.by, m.flip = [3]float64{}, [3]bool{}
		if m.mirror != "" {
			v, err := m.mirrorE.MirrorAt.EvalLength(env{s: s, sc: m.scope}, "a mirror")
			if err != nil {
				return err
			}
			i := m.mirror.Index()
			m.flip[i], m.by[i] = true, 2*float64(v)
		}
		for _, c := range m.changes {
			if c.Op != design.Add || c.Unknown {
				return &formula.Error{At: c.At, Text: "a copy is moved by a length, as in z + 14 3/4, or mirrored"}
			}
			v, err := c.Expr.EvalLength(env{s: s, sc: m.scope}, "a copy's distance")
			if err != nil {
				return err
			}
			m.by[c.Axis.Index()] += float64(v) * m.times
		}
		return nil
	})
}

// flipped tells whether axis i is turned round between the drawing and the finished place.
func (s *solver) flipped(sc *scope, i int) (bool, error) {
	flip := false
	for ; sc != nil; sc = sc.parent {
		if sc.move == nil {
			continue
		}
		if err := s.evalMove(sc.move); err != nil {
			return false, err
		}
		if sc.move.flip[i] {
			flip = !flip
		}
	}
	return flip, nil
}

// toWorld takes coordinate i from the drawing of a scope to the room.
func (s *solver) toWorld(sc *scope, i int, v float64) (float64, error) {
	for ; sc != nil; sc = sc.parent {
		if sc.move == nil {
			continue
		}
		if err := s.evalMove(sc.move); err != nil {
			return 0, err
		}
		if sc.move.flip[i] {
			v = -v
		}
		v += sc.move.by[i]
	}
	return v, nil
}

// toLocal takes coordinate i from the room to the drawing of a scope.
func (s *solver) toLocal(sc *scope, i int, v float64) (float64, error) {
	if sc == nil {
		return v, nil
	}
	v, err := s.toLocal(sc.parent, i, v)
	if err != nil || sc.move == nil {
		return v, err
	}
	if err := s.evalMove(sc.move); err != nil {
		return 0, err
	}
	v -= sc.move.by[i]
	if sc.move.flip[i] {
		v = -v
	}
	return v, nil
}

func newScope(parent *scope, path string, body *design.Body, group *design.Group) *scope {
	return &scope{
		parent: parent, path: path, body: body, group: group,
		points: map[string]*point{}, boards: map[string]*board{}, runs: map[string]*run{},
		copies: map[string]*scope{}, groups: map[string][]*scope{}, sets: map[string][]*board{}, asks: map[string]*ask{},
	}
}

// expand makes the scopes of all copies, with their points, boards, runs and fittings.
func (s *solver) expand() {
	for i := range s.t.Givens {
		g := &s.t.Givens[i]
		s.givens[g.Name.Text] = &given{cell: cell{label: g.Name.Text, at: g.Name.At}, src: g}
	}
	s.addSurfaces()
	s.root = newScope(nil, "", &s.t.Body, nil)
	s.fill(s.root)
	sort.SliceStable(s.runs, func(i, j int) bool { return s.runs[i].src.Name.At.IsBefore(s.runs[j].src.Name.At) })
}

// count bounds what a file can blow up to.
func (s *solver) count(at design.Pos, isPoint bool) bool {
	s.sets++
	if s.sets > MaxSets || isPoint && len(s.points) >= MaxPoints {
		s.errs.add(at, "the copies make more than %d points; a file holds at most that many", MaxPoints)
		s.full = true
		return false
	}
	return true
}

// fill puts what a body holds into its scope.
func (s *solver) fill(sc *scope) {
	s.scopes = append(s.scopes, sc)
	for i := range sc.body.Points {
		src := &sc.body.Points[i]
		if !s.count(src.Name.At, true) {
			return
		}
		p := newPoint(s, sc, src)
		s.points = append(s.points, p)
		sc.points[src.Name.Text] = p
	}
	for i := range sc.body.Boards {
		s.fillBoard(sc, &sc.body.Boards[i])
	}
	for i := range sc.body.Runs {
		src := &sc.body.Runs[i]
		if !s.count(src.Name.At, false) {
			return
		}
		r := &run{sc: sc, src: src, id: sc.id(src.Name.Text), size: s.sizeOf(src.Size), doubtful: s.doubt.isRun(s.t, src)}
		s.runs = append(s.runs, r)
		sc.runs[src.Name.Text] = r
	}
	for i := range sc.body.Fittings {
		if !s.count(sc.body.Fittings[i].At, false) {
			return
		}
		s.fittings = append(s.fittings, &ask{sc: sc, src: &sc.body.Fittings[i]})
	}
	for i := range sc.body.Groups {
		if !s.fillGroup(sc, &sc.body.Groups[i]) {
			return
		}
	}
}

// fillGroup makes the copies of a group. It tells whether there is room for more.
func (s *solver) fillGroup(sc *scope, g *design.Group) bool {
	if s.doubt.groups[g.Name.Text] {
		s.doubt.lostRuns = true
		return true
	}
	copies := s.copiesOf(sc, g.Name, g.Copies)
	if len(copies) == 0 {
		s.doubt.lostRuns, s.silent = true, true
	}
	for _, c := range copies {
		child := newScope(sc, sc.id(c.name), &g.Body, g)
		child.move = c.move
		if !s.count(g.Name.At, false) {
			return false
		}
		sc.copies[c.name] = child
		sc.groups[g.Name.Text] = append(sc.groups[g.Name.Text], child)
		s.fill(child)
		if s.full {
			return false
		}
	}
	return true
}

func (s *solver) fillBoard(sc *scope, src *design.Board) {
	for _, c := range s.copiesOf(sc, src.Name, src.Copies) {
		if !s.count(src.Name.At, false) {
			return
		}
		around := sc
		if c.move != nil {
			around = newScope(sc, sc.path, &design.Body{}, nil)
			around.move = c.move
		}
		b := newBoard(s, around, src, sc.id(c.name))
		s.boards = append(s.boards, b)
		sc.boards[c.name] = b
		sc.sets[src.Name.Text] = append(sc.sets[src.Name.Text], b)
		if c.move == nil {
			sc.boards[src.Name.Text] = b // formulas outside may still mean the one drawn in place
		}
	}
}

// oneCopy is one copy by name; move is nil for the one drawn in place.
type oneCopy struct {
	name string
	move *move
}

// copiesOf lists the copies of a group or board.
func (s *solver) copiesOf(sc *scope, name design.Name, c *design.Copies) []oneCopy {
	if c == nil {
		return []oneCopy{{name: name.Text}}
	}
	var out []oneCopy
	if c.Count == nil {
		for i := range c.Named {
			n := &c.Named[i]
			one := oneCopy{name: n.Name.Text}
			if !n.Here {
				one.move = &move{cell: cell{label: n.Name.Text, at: n.Name.At}, scope: sc, changes: n.Changes, times: 1, mirror: n.Mirror, mirrorE: n}
			}
			out = append(out, one)
		}
		return s.fewEnough(out, c.At)
	}
	v, err := c.Count.EvalNumber(env{s: s, sc: sc}, "a number of copies")
	if err != nil {
		s.errs.formulaFault(err, c.At)
		return nil
	}
	n := math.Round(v)
	if math.Abs(v-n) > 1e-9 || n < 1 || n > MaxCopies {
		s.errs.add(c.Count.At, "%s copies; a whole number from 1 to %d", trimNumber(v, 6), MaxCopies)
		return nil
	}
	for i := 0; i < int(n); i++ {
		label := fmt.Sprintf("%s-%d", name.Text, i+1)
		one := oneCopy{name: label}
		if i > 0 {
			one.move = &move{cell: cell{label: label, at: c.At}, scope: sc, changes: c.Changes, times: float64(i)}
		}
		out = append(out, one)
	}
	return out
}

func (s *solver) fewEnough(list []oneCopy, at design.Pos) []oneCopy {
	if len(list) > MaxCopies {
		s.errs.add(at, "%d copies; at most %d of a thing", len(list), MaxCopies)
		return nil
	}
	return list
}

// thing is what a name means: one of its fields is set.
type thing struct {
	frame  *scope // where the name was found; its value is seen from there
	point  *point
	board  *board
	run    *run
	boards []*board // a copied board's own name
	scopes []*scope // a copy, or all copies of a group
	many   []thing  // the same point or run in all copies of a group
}

// find looks a name up from inside a scope: in the same copy, then in the group around it, then in the file.
func (s *solver) find(sc *scope, name string) (thing, bool) {
	words := strings.Split(name, ".")
	for at := sc; at != nil; at = at.parent {
		if t, ok := at.walk(words); ok {
			t.frame = at
			return t, true
		}
	}
	return thing{}, false
}

func (sc *scope) walk(words []string) (thing, bool) {
	w := words[0]
	if len(words) > 1 {
		if c, ok := sc.copies[w]; ok {
			return c.walk(words[1:])
		}
		if all, ok := sc.groups[w]; ok { // level.shelf: the same thing in all copies
			return walkAll(all, words[1:])
		}
		return thing{}, false
	}
	if p, ok := sc.points[w]; ok {
		return thing{point: p}, true
	}
	if set := sc.sets[w]; len(set) > 1 {
		return thing{board: sc.boards[w], boards: set}, true
	}
	if b, ok := sc.boards[w]; ok {
		return thing{board: b}, true
	}
	if r, ok := sc.runs[w]; ok {
		return thing{run: r}, true
	}
	if c, ok := sc.copies[w]; ok {
		return thing{scopes: []*scope{c}}, true
	}
	if all, ok := sc.groups[w]; ok {
		return thing{scopes: all}, true
	}
	return thing{}, false
}

// walkAll finds the same name in every copy of a group; boards and whole scopes are gathered.
func walkAll(all []*scope, words []string) (thing, bool) {
	var out thing
	for _, sc := range all {
		t, ok := sc.walk(words)
		if !ok {
			return thing{}, false
		}
		if len(all) == 1 {
			return t, true
		}
		switch {
		case len(t.boards) > 0:
			out.boards = append(out.boards, t.boards...)
		case t.board != nil:
			out.boards = append(out.boards, t.board)
		default:
			out.scopes = append(out.scopes, t.scopes...)
			if t.run != nil || t.point != nil {
				out.many = append(out.many, t)
			}
		}
	}
	return out, true
}
