package mend

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// drawing is a design with what came of it: it finds the places of the text that stand for parts.
type drawing struct {
	tree   *design.Tree
	a      *assembly.Assembly
	parts  map[string]*assembly.Part
	system units.System
}

func newDrawing(t *design.Tree, a *assembly.Assembly) *drawing {
	d := &drawing{tree: t, a: a, parts: map[string]*assembly.Part{}, system: t.Units}
	for i := range a.Parts {
		d.parts[a.Parts[i].ID] = &a.Parts[i]
	}
	return d
}

// body follows the copies that a dotted name begins with, as far as they go, and gives the part of the file where the
// rest of the name is drawn. Turned tells which axes the copies turn round.
func (d *drawing) body(id string) (b *design.Body, rest []string, turned [3]bool) {
	b, rest = &d.tree.Body, strings.Split(id, ".")
	for len(rest) > 1 {
		g, c := copyOf(b.Groups, rest[0])
		if g == nil {
			break
		}
		if c != nil && c.Mirror != "" {
			turned[c.Mirror.Index()] = !turned[c.Mirror.Index()]
		}
		b, rest = &g.Body, rest[1:]
	}
	return b, rest, turned
}

// copyOf finds the group that has a copy of that name, and the copy where it is named.
func copyOf(groups []design.Group, name string) (*design.Group, *design.Copy) {
	for i := range groups {
		g := &groups[i]
		switch {
		case g.Copies == nil:
			if g.Name.Text == name {
				return g, nil
			}
		case g.Copies.Count != nil:
			if number, ok := strings.CutPrefix(name, g.Name.Text+"-"); ok && strings.Trim(number, "0123456789") == "" {
				return g, nil
			}
		default:
			for k := range g.Copies.Named {
				if g.Copies.Named[k].Name.Text == name {
					return g, &g.Copies.Named[k]
				}
			}
		}
	}
	return nil, nil
}

// run finds the run that a pipe, or a part in its path, belongs to.
func (d *drawing) run(id string) *design.Run {
	b, rest, _ := d.body(id)
	if len(rest) < 2 {
		return nil
	}
	for i := range b.Runs {
		if b.Runs[i].Name.Text == rest[0] {
			return &b.Runs[i]
		}
	}
	return nil
}

// runs lists the runs that some parts belong to, each once.
func (d *drawing) runs(parts []string) []*design.Run {
	var out []*design.Run
	for _, id := range parts {
		if r := d.run(id); r != nil && !slices.Contains(out, r) {
			out = append(out, r)
		}
	}
	return out
}

// point finds the point that a fitting sits at.
func (d *drawing) point(id string) (*design.Point, [3]bool) {
	b, rest, turned := d.body(id)
	if len(rest) != 1 {
		return nil, turned
	}
	for i := range b.Points {
		if b.Points[i].Name.Text == rest[0] {
			return &b.Points[i], turned
		}
	}
	return nil, turned
}

// board finds the entry of a board.
func (d *drawing) board(id string) (*design.Board, [3]bool) {
	b, rest, turned := d.body(id)
	for i := range b.Boards {
		if name := b.Boards[i].Name.Text; len(rest) == 1 && (name == rest[0] || b.Boards[i].Copies != nil && strings.HasPrefix(rest[0], name+"-")) {
			return &b.Boards[i], turned
		}
	}
	return nil, turned
}

// place is where a fitting stands, in the axes of the design.
func (d *drawing) place(id string) (geom.Vec, bool) {
	p := d.parts[id]
	if p == nil {
		return geom.Vec{}, false
	}
	return drawn(p.Pose.Origin), true
}

// drawn takes a place or direction of the finished frame to the axes of the design, whose y points the other way.
func drawn(v geom.Vec) geom.Vec { return geom.V(v.X, -v.Y, v.Z) }

func coordinate(v geom.Vec, axis int) float64 { return [3]float64{v.X, v.Y, v.Z}[axis] }

// alongAxis tells which axis a direction runs along, and which way.
func alongAxis(v geom.Vec) (axis int, sign float64, ok bool) {
	const nearly = 0.9999 // cosine of 0.8 degrees
	for i := range 3 {
		if c := coordinate(v, i); math.Abs(c) > nearly {
			return i, math.Copysign(1, c), true
		}
	}
	return 0, 0, false
}

// dominant is the axis that a direction follows most, and which way.
func dominant(v geom.Vec) (axis int, sign float64) {
	for i := range 3 {
		if math.Abs(coordinate(v, i)) > math.Abs(coordinate(v, axis))+1e-6 {
			axis = i
		}
	}
	return axis, math.Copysign(1, coordinate(v, axis))
}

// Steps in which lengths are changed: what a tape shows.
const (
	stepInch = float64(units.Inch) / 16
	stepMM   = 1.0
)

// up rounds a length up to what a tape shows.
func (d *drawing) up(mm float64) float64 {
	step := stepInch
	if d.system == units.MetricSystem {
		step = stepMM
	}
	return math.Ceil(mm/step-1e-6) * step
}

// num writes a length as a plain number in the units of the file.
func (d *drawing) num(mm float64) string {
	if d.system == units.MetricSystem {
		return d.system.Decimal(units.Length(mm))
	}
	in := units.Length(mm).Inches()
	if in >= 0 && math.Abs(in*16-math.Round(in*16)) < 1e-6 {
		return units.Fraction(in)
	}
	return d.system.Decimal(units.Length(mm))
}

// length writes a length for people.
func (d *drawing) length(mm float64) string { return d.num(mm) + " " + string(d.system) }

// isPlain tells whether a formula is a number in the units of the file, and which.
func (d *drawing) isPlain(text string) (float64, bool) {
	if text == "" || strings.Trim(text, "0123456789 ./") != "" {
		return 0, false
	}
	v, err := units.Parse(text, d.system)
	return v.MM(), err == nil
}

// grown changes a formula so that it gives more by some millimetres. It may be written with its sign ("+ 28").
func (d *drawing) grown(text string, at design.Pos, by float64) assembly.Splice {
	skip := 0
	if rest, ok := strings.CutPrefix(text, "+"); ok {
		skip = len(text) - len(strings.TrimLeft(rest, " "))
	}
	if v, ok := d.isPlain(text[skip:]); ok && v+by >= 0 {
		return assembly.Splice{Line: at.Line, Col: at.Col + skip, Remove: len(text) - skip, Insert: d.num(v + by)}
	}
	return assembly.Splice{Line: at.Line, Col: at.Col + len([]rune(text)), Insert: d.signed(by)}
}

// signed writes a length to be added: " + 1/16".
func (d *drawing) signed(by float64) string {
	if by < 0 {
		return " - " + d.num(-by)
	}
	return " + " + d.num(by)
}

// isSurface tells whether a formula only names a surface, cleat or face: a point there cannot be moved off it by a
// number.
func (d *drawing) isSurface(name string) bool {
	if slices.Contains(design.SurfaceNames[:], name) || strings.Contains(name, ".") {
		return true
	}
	return slices.ContainsFunc(d.tree.Cleats, func(c design.Cleat) bool { return c.Name.Text == name })
}

// shifted moves a point along an axis. It fails where the point sits on a surface across that axis.
func (d *drawing) shifted(p *design.Point, axis int, by float64) (assembly.Splice, bool) {
	if p.From.Text == "" {
		e := p.Coords[axis]
		if e == nil {
			return assembly.Splice{}, false
		}
		if ref, bare := e.Bare(); bare && d.isSurface(ref.Name) {
			return assembly.Splice{}, false
		}
		return d.grown(e.Text, e.At, by), true
	}
	end := design.Pos{Line: p.From.At.Line, Col: p.From.At.Col + len([]rune(p.From.Text))}
	for _, c := range p.Changes {
		if c.Op == design.Toward || c.Unknown || c.Expr == nil {
			return assembly.Splice{}, false
		}
		end = design.Pos{Line: c.Expr.At.Line, Col: c.Expr.At.Col + len([]rune(c.Expr.Text))}
		if c.Axis.Index() == axis {
			if ref, bare := c.Expr.Bare(); c.Op == design.Set && bare && d.isSurface(ref.Name) {
				return assembly.Splice{}, false
			}
			return d.grown(c.Expr.Text, c.Expr.At, by), true
		}
	}
	return assembly.Splice{Line: end.Line, Col: end.Col, Insert: ", " + string(design.Axes[axis]) + d.signed(by)}, true
}

// movePoint moves the point of a fitting along an axis of the design.
func (d *drawing) movePoint(id string, axis int, by float64) (assembly.Repair, bool) {
	p, turned := d.point(id)
	if p == nil {
		return assembly.Repair{}, false
	}
	own := by
	if turned[axis] {
		own = -by
	}
	sp, ok := d.shifted(p, axis, own)
	return assembly.Repair{Text: fmt.Sprintf("move %s %s %s", id, d.length(math.Abs(by)), wayWord(axis, by)), Splices: []assembly.Splice{sp}}, ok
}

// moveBoard moves a board along an axis of the design.
func (d *drawing) moveBoard(id string, axis int, by float64) (assembly.Repair, bool) {
	b, turned := d.board(id)
	if b == nil || b.Low[axis].Expr == nil {
		return assembly.Repair{}, false
	}
	e := b.Low[axis].Expr
	own := by
	if turned[axis] {
		own = -by
	}
	return assembly.Repair{
		Text:    fmt.Sprintf("move %s %s %s", id, d.length(math.Abs(by)), wayWord(axis, by)),
		Splices: []assembly.Splice{d.grown(e.Text, e.At, own)},
	}, true
}

// wayWord says where a movement along an axis of the design goes, for a person who looks at the back wall.
func wayWord(axis int, by float64) string {
	words := [3][2]string{{"to the left", "to the right"}, {"to the back", "out"}, {"down", "up"}}
	if by < 0 {
		return words[axis][0]
	}
	return words[axis][1]
}

// moveBeyond moves a fitting's point together with every other drawn point of the file that lies as far along the axis
// as it, or further: that stretches the frame and keeps it square. Points that follow another are left to it.
func (d *drawing) moveBeyond(id string, axis int, by float64) (assembly.Repair, bool) {
	from, ok := d.place(id)
	if !ok {
		return assembly.Repair{}, false
	}
	r, ok := d.moveAll(axis, by, func(at float64) bool { return (at-coordinate(from, axis))*by > -farMM*math.Abs(by) })
	r.Text = fmt.Sprintf("move %s, and all that lies beyond it, %s %s", id, d.length(math.Abs(by)), wayWord(axis, by))
	return r, ok
}

// moveAll moves the drawn points of the file whose coordinate along an axis is wanted.
func (d *drawing) moveAll(axis int, by float64, wanted func(float64) bool) (assembly.Repair, bool) {
	beyond := map[string]bool{}
	for name, at := range d.a.Points {
		beyond[name] = wanted(coordinate(drawn(at), axis))
	}
	var r assembly.Repair
	for i := range d.tree.Points {
		p := &d.tree.Points[i]
		if !beyond[p.Name.Text] || d.follows(p, axis) && beyond[p.From.Text] {
			continue
		}
		if sp, ok := d.shifted(p, axis, by); ok {
			r.Splices = append(r.Splices, sp)
		}
	}
	return r, len(r.Splices) > 0
}

// farMM is how far apart two places along an axis may be and still count as one, in mm.
const farMM = 0.5

// follows tells whether a point takes its coordinate from another, so that it moves with it.
func (d *drawing) follows(p *design.Point, axis int) bool {
	if p.From.Text == "" {
		return false
	}
	for _, c := range p.Changes {
		if c.Op == design.Set && c.Axis.Index() == axis {
			return false
		}
	}
	return true
}

// ends are the parts at both ends of a pipe.
func (d *drawing) ends(pipe string) (a, b string) {
	for _, j := range d.a.Joints {
		if !j.Kind.IsThreaded() {
			continue
		}
		for _, e := range [2][2]assembly.End{{j.A, j.B}, {j.B, j.A}} {
			if e[0].Part == pipe && e[0].Port == "a" {
				a = e[1].Part
			}
			if e[0].Part == pipe && e[0].Port == "b" {
				b = e[1].Part
			}
		}
	}
	return a, b
}

// isCloser tells whether a kind closes a ring of threads.
func isCloser(k standard.Kind) bool {
	return k == standard.Union || k == standard.RightLeft || k == standard.LongScrew
}

// isAvoided tells whether the design does not want a kind.
func (d *drawing) isAvoided(k standard.Kind) bool {
	return slices.ContainsFunc(d.a.Avoid, func(w assembly.Avoided) bool { return w.What == string(k) })
}
