package solve

import (
	"fmt"
	"strings"

	"turnwise/assembly/design"
	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// env is where a formula is evaluated: from inside a scope, at a place (for surfaces that lean), and inside a point or
// board (own) also with the names x, y and z.
type env struct {
	s   *solver
	sc  *scope
	at  placer // nil: at no place
	own bool   // x, y and z are names, of the place
}

// placer gives a coordinate of a place on demand.
type placer func(axis int) (float64, error)

// Units are the units of the file.
func (e env) Units() units.System { return e.s.t.Units }

// Distance is the straight distance between two points.
func (e env) Distance(p, q formula.Ref) (units.Length, error) {
	var at [2]geom.Vec
	for i, r := range []formula.Ref{p, q} {
		t, ok := e.s.find(e.sc, r.Name)
		if !ok || t.point == nil {
			return 0, e.s.noSuch(r.At, "point", r.Name)
		}
		v, err := e.s.place(t.point)
		if err != nil {
			return 0, err
		}
		at[i] = v
	}
	return units.Length(at[0].Sub(at[1]).Len()), nil
}

// Value is the value of a name, seen from the scope.
func (e env) Value(r formula.Ref) (formula.Value, error) {
	name := r.Name
	if e.own && len(name) == 1 && name >= "x" && name <= "z" {
		v, err := e.at(int(name[0] - 'x'))
		return formula.OfLength(units.Length(v)), err
	}
	if g, ok := e.s.givens[name]; ok {
		return e.s.given(g)
	}
	first, last := cutLast(name)
	if v, ok, err := e.surfaceValue(name, first, last); ok {
		return formula.OfLength(units.Length(v)), err
	}
	if standard.IsKind(first) {
		v, err := e.s.dimension(standard.Kind(first), last)
		return formula.OfLength(units.Length(v)), err
	}
	v, err := e.thingValue(name, first, last)
	return formula.OfLength(units.Length(v)), err
}

// noSuch is the fault of a name that nothing has. Where reading found faults it told those of names too, or the entry
// is a faulty one.
func (s *solver) noSuch(at design.Pos, what, name string) error {
	if s.doubt.any {
		return formula.ErrSilent
	}
	return &formula.Error{At: at, Text: fmt.Sprintf("no %s called %s", what, name)}
}

// cutLast divides a dotted name before its last word.
func cutLast(name string) (first, last string) {
	i := strings.LastIndexByte(name, '.')
	if i < 0 {
		return name, ""
	}
	return name[:i], name[i+1:]
}

// surfaceValue is where a surface or cleat is at this place, or its least or greatest reading.
func (e env) surfaceValue(name, first, last string) (float64, bool, error) {
	if c, ok := e.s.cleats[name]; ok {
		v, err := e.s.cleatAt(c, e.at)
		return v, true, err
	}
	if isSurface(name) {
		v, err := e.s.surfaceAt(name, e.at)
		return v, true, err
	}
	if !isSurface(first) || last != "least" && last != "most" {
		return 0, false, nil
	}
	f, err := e.s.surfaceFace(first)
	if err != nil {
		return 0, true, err
	}
	if last == "least" {
		return f.face.Least(), true, nil
	}
	return f.face.Most(), true, nil
}

// thingValue is a coordinate of a point, or a face of a board or an obstacle.
func (e env) thingValue(name, first, last string) (float64, error) {
	if f, ok := faceNames[last]; ok {
		if z := e.s.zone(first); z != nil {
			return e.s.zoneFace(z, f)
		}
		if t, ok := e.s.find(e.sc, first); ok && t.board != nil {
			flip, err := e.s.flipped(t.frame, f.axis)
			if err != nil {
				return 0, err
			}
			w, err := e.s.boardFace(t.board, f.axis, f.high != flip)
			if err != nil {
				return 0, err
			}
			return e.s.toLocal(t.frame, f.axis, w)
		}
	}
	if len(last) == 1 && last >= "x" && last <= "z" {
		if t, ok := e.s.find(e.sc, first); ok && t.point != nil {
			return e.s.seen(t.point, int(last[0]-'x'), t.frame)
		}
	}
	if e.s.doubt.any { // reading told it
		return 0, formula.ErrSilent
	}
	return 0, fmt.Errorf("no name %s", name)
}

// faceName is a face of a box by its word.
type faceName struct {
	axis int
	high bool
}

// faceNames are the faces of boards and obstacles. The front is towards you: greatest y.
var faceNames = map[string]faceName{
	"under": {2, false}, "top": {2, true}, "left": {0, false}, "right": {0, true}, "back": {1, false}, "front": {1, true},
}

// given is a named value.
type given struct {
	cell
	src *design.Given
	v   formula.Value
}

func (s *solver) given(g *given) (formula.Value, error) {
	err := s.get(&g.cell, func() error {
		v, err := g.src.Expr.Eval(env{s: s, sc: s.root})
		g.v = v
		return err
	})
	return g.v, err
}

// dimension is a dimension of a part of the main size.
func (s *solver) dimension(k standard.Kind, dim string) (float64, error) {
	c, err := s.catalogue()
	if err != nil {
		return 0, err
	}
	if s.doubt.lengths {
		return 0, formula.ErrSilent
	}
	size := s.t.Pipe.Size
	if k == standard.Pipe {
		return pipeDimension(c, size, dim)
	}
	f, err := c.Fitting(k, []standard.Size{size})
	if err != nil {
		return 0, err
	}
	p := f.Ports[len(f.Ports)-1]
	if q, ok := f.Port("a"); ok {
		p = q
	}
	switch dim {
	case "engagement":
		return p.Engagement.MM, nil
	case "centre-to-end":
		return p.ReachMM, nil
	case "takeout":
		if n := inlineEnds(f); n != nil {
			return n[0].TakeoutMM() + n[1].TakeoutMM(), nil
		}
		return p.TakeoutMM(), nil
	}
	if d, ok := f.Dims[dim]; ok {
		return d.MM, nil
	}
	return 0, fmt.Errorf("a %s has no %s", k.Words(), dim)
}

// inlineEnds are the two ends of a part that lies in a line, or nil.
func inlineEnds(f standard.Fitting) []standard.Port {
	switch f.Kind {
	case standard.Coupling, standard.Union, standard.RightLeft, standard.LongScrew, standard.Reducer:
		a, _ := f.Port("a")
		b, _ := f.Port("b")
		return []standard.Port{a, b}
	}
	return nil
}

func pipeDimension(c *standard.Catalogue, size standard.Size, dim string) (float64, error) {
	if dim == "engagement" {
		e, _, err := c.Engagement(standard.Pipe, size)
		return e.MM, err
	}
	f, err := c.Pipe(standard.PipeSpec{Size: size, LengthMM: float64(units.Metre)})
	if err != nil {
		return 0, err
	}
	if d, ok := f.Dims[dim]; ok && dim != standard.DimLength {
		return d.MM, nil
	}
	return 0, fmt.Errorf("a pipe has no %s", dim)
}

// catalogueCell is the catalogue with what the design measured.
type catalogueCell struct {
	cell
	c *standard.Catalogue
}

// catalogue evaluates the measured parts, once.
func (s *solver) catalogue() (*standard.Catalogue, error) {
	err := s.get(&s.cat.cell, func() error {
		c := &standard.Catalogue{Family: s.t.Thread, MakeUp: standard.MakeUp(s.t.MakeUp), Series: s.t.Pipe.Series}
		for i := range s.t.Parts {
			if err := s.override(c, &s.t.Parts[i]); err != nil {
				s.errs.formulaFault(err, s.t.Parts[i].KeyAt)
				s.doubt.lengths, s.silent = true, true
			}
		}
		s.cat.c = c
		return nil
	})
	return s.cat.c, err
}

// override adds what one entry measured.
func (s *solver) override(c *standard.Catalogue, p *design.PartEntry) error {
	add := func(key standard.Key, values ...float64) {
		c.Overrides = append(c.Overrides, standard.Override{Sizes: p.Sizes, Kind: p.Kind, Key: key, Values: values})
	}
	for _, d := range measuredLengths(p) {
		if len(d.exprs) == 0 || d.exprs[0] == nil {
			continue
		}
		var values []float64
		for _, x := range d.exprs {
			v, err := s.positive(x, env{s: s, sc: s.root}, d.what)
			if err != nil {
				return err
			}
			values = append(values, v)
		}
		add(d.key, values...)
	}
	if p.Holes > 0 {
		add(standard.KeyHoles, float64(p.Holes))
	}
	if p.Thread != "" {
		c.Overrides = append(c.Overrides, standard.Override{
			Sizes: p.Sizes, Kind: p.Kind, Key: standard.KeyThread, Family: p.Thread, TaperInside: p.TaperInside,
		})
	}
	if p.Rated == nil {
		return nil
	}
	n, err := s.force(p.Rated)
	add(standard.KeyRated, n)
	return err
}

// measuredLength is a dimension that a design gives, with its words for messages.
type measuredLength struct {
	key   standard.Key
	what  string
	exprs []*formula.Expr
}

func measuredLengths(p *design.PartEntry) []measuredLength {
	one := func(x *formula.Expr) []*formula.Expr { return []*formula.Expr{x} }
	return []measuredLength{
		{standard.KeyEngagement, "an engagement", one(p.Engagement)}, {standard.KeyLength, "a length", one(p.Length)},
		{standard.KeyHeight, "a height", one(p.Height)}, {standard.KeyAcross, "a width across", one(p.Across)},
		{standard.KeyCircle, "a hole circle", one(p.Circle)}, {standard.KeyCountersink, "a countersink", one(p.Countersink)},
		{standard.KeyCentreToEnd, "a centre-to-end", p.CentreToEnd},
	}
}

// positive evaluates a length that must be more than zero.
func (s *solver) positive(x *formula.Expr, e env, what string) (float64, error) {
	v, err := x.EvalLength(e, what)
	if err != nil {
		return 0, err
	}
	if v <= 0 {
		return 0, &formula.Error{At: x.At, Text: fmt.Sprintf("%s: %s must be more than zero", x.Text, what)}
	}
	return float64(v), nil
}

// force evaluates a load on one place, in newtons.
func (s *solver) force(x *formula.Expr) (float64, error) {
	v, err := x.Eval(env{s: s, sc: s.root})
	if err != nil {
		return 0, err
	}
	n, ok := v.InForce()
	if !ok {
		return 0, &formula.Error{At: x.At, Text: fmt.Sprintf("%s is %s; a load wants a weight or a force", x.Text, v.Kind)}
	}
	if n <= 0 {
		return 0, &formula.Error{At: x.At, Text: x.Text + ": a load must be more than zero"}
	}
	return float64(n), nil
}
