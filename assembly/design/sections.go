package design

import (
	"strings"

	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
)

// top reads the sections of the file.
func (r *reader) top(n *node) {
	t := r.tree
	r.findValues(n)
	table := []field{
		{"turnwise", r.version}, {"title", r.title}, {"note", r.note}, {"units", r.units}, {"thread", r.thread},
		{"pipe", r.pipe}, {"finish", func(n *node) { r.finish(n, &t.Finish) }}, {"make-up", r.makeUp},
		{"tolerance", r.formulaOf(&t.Tolerance)}, {"people", r.people}, {"avoid", r.avoid}, {"givens", r.givens},
		{"room", r.room}, {"cleats", r.cleats},
	}
	table = append(table, r.bodyFields(&t.Body)...)
	table = append(table, field{"parts", r.parts}, field{"order", r.order})
	r.fields(n, "", table)
	r.afterTop(n)
}

// bodyFields are the sections that the file and every group have.
func (r *reader) bodyFields(b *Body) []field {
	return []field{
		{"boards", func(n *node) { r.boards(n, b) }}, {"points", func(n *node) { r.points(n, b) }},
		{"runs", func(n *node) { r.runs(n, b) }}, {"fittings", func(n *node) { r.fittings(n, b) }},
		{"groups", func(n *node) { r.groups(n, b) }}, {"loads", func(n *node) { r.loads(n, b) }},
	}
}

// findValues collects the names that cannot be points, before any point is read: "width, x + 3, z" are coordinates.
func (r *reader) findValues(n *node) {
	r.places = map[string]bool{}
	for _, s := range SurfaceNames {
		r.places[s] = true
	}
	for _, e := range n.entries {
		if (e.key == "givens" || e.key == "cleats") && e.value.kind == mapNode {
			for _, given := range e.value.entries {
				for _, p := range (piece{text: given.key}).split(',') {
					r.places[p.text] = true
				}
			}
		}
	}
}

// afterTop sets the defaults that hang on other keys, and checks what must be there.
func (r *reader) afterTop(n *node) {
	t := r.tree
	has := map[string]bool{}
	for _, e := range n.entries {
		has[e.key] = true
	}
	if !has["thread"] && t.Units == units.MetricSystem {
		t.Thread = standard.BSPT
	}
	if t.Pipe.Series != "" && t.Thread != standard.BSPT {
		r.fail(t.Pipe.At, "%s is a series of bspt pipe; npt pipe is schedule 40: leave it out", t.Pipe.Series)
	}
	if t.Thread == standard.BSPT && t.Pipe.Series == "" {
		t.Pipe.Series = "medium"
	}
	if t.MakeUp == MakeUpGauge && t.Thread == standard.BSPT {
		r.fail(t.MakeUpAt, "gauge is for npt; normal or hand")
		t.MakeUp = MakeUpNormal // so that no fitting is blamed for it again
	}
	for _, key := range []string{"pipe", "points", "runs"} {
		if !has[key] && !r.unclosed && !r.tree.spoilt[key] && !r.inGroups(key) {
			r.fail(newPos(1, 1), "no %s in this file: pipe, points and runs are needed", key)
		}
	}
	r.nothingDrawn(n)
}

// nothingDrawn refuses sections that are there and hold nothing, in a file without other faults: with one, what they
// held may have been dropped for it.
func (r *reader) nothingDrawn(n *node) {
	if len(r.errs) > 0 {
		return
	}
	held := map[string]int{"points": len(r.tree.Points), "runs": len(r.tree.Runs)}
	for _, e := range n.entries {
		if count, ok := held[e.key]; ok && count == 0 && !r.inGroups(e.key) {
			r.fail(e.keyAt, "there are no %s under %s: a frame needs points, and runs through them", e.key, e.key)
		}
	}
}

// inGroups tells whether points or runs are drawn in a group, which serves as well.
func (r *reader) inGroups(key string) bool {
	var look func(gs []Group) bool
	look = func(gs []Group) bool {
		for _, g := range gs {
			if key == "points" && len(g.Points) > 0 || key == "runs" && len(g.Runs) > 0 || look(g.Groups) {
				return true
			}
		}
		return false
	}
	return look(r.tree.Groups)
}

func (r *reader) version(n *node) {
	if p, ok := r.text(n); ok && p.text != formatVersion {
		r.fail(p.at, "this program reads format %s, the file says %s", formatVersion, clip(p.text))
	}
}

func (r *reader) title(n *node) {
	if p, ok := r.text(n); ok {
		r.tree.Title = Word{p.text, p.at}
	}
}

func (r *reader) note(n *node) {
	if n.kind == textNode {
		r.tree.Note = n.text
	} else if p, ok := r.text(n); ok {
		r.tree.Note = p.text
	}
}

func (r *reader) units(n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	if w, ok := r.word(p, "units", string(units.InchSystem), string(units.MetricSystem)); ok {
		r.tree.Units, r.tree.UnitsAt = units.System(w.Text), w.At
	}
}

func (r *reader) thread(n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	if w, ok := r.word(p, "thread family", string(standard.NPT), string(standard.BSPT)); ok {
		r.tree.Thread, r.tree.ThreadAt = standard.Family(w.Text), w.At
	}
}

func (r *reader) pipe(n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	size, series, _ := p.cutAt("medium", "heavy")
	if s, ok := r.size(size); ok {
		r.tree.Pipe = SizeRef{s, series.text, p.at}
	}
}

func (r *reader) finish(n *node, dst *Finish) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	dst.At = p.at
	for _, w := range p.words() {
		w.text = strings.TrimSuffix(w.text, ",") // a comma between the words does no harm
		switch w.text {
		case "black", "galvanised":
			dst.Base = w.text
		case "galvanized":
			dst.Base = "galvanised"
		case "wax", "lacquer", "paint":
			dst.Coat = w.text
		default:
			r.fail(w.at, "no finish called %s; black or galvanised, then wax, lacquer or paint", clip(w.text))
			return
		}
	}
}

func (r *reader) makeUp(n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	switch m := MakeUp(p.text); m {
	case MakeUpNormal, MakeUpGauge, MakeUpHand:
		r.tree.MakeUp, r.tree.MakeUpAt = m, p.at
	default:
		r.fail(p.at, "no make-up called %s; normal, gauge or hand; measured? give engagement under parts", clip(p.text))
	}
}

// mostPeople is more than can stand round one frame.
const mostPeople = 20

func (r *reader) people(n *node) {
	if v, at, ok := r.whole(n, "people", 1, mostPeople); ok {
		r.tree.People, r.tree.PeopleAt = v, at
	}
}

// bored, under avoid, asks for no pipes through boards.
const bored = "bored"

func (r *reader) avoid(n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	words := append(kindWords(standard.FittingKinds()), string(standard.RightLeft), string(standard.LongScrew), string(standard.Strap), bored)
	for _, q := range r.list(p) {
		if w, ok := r.word(q, "part kind", words...); ok {
			r.tree.Avoid = append(r.tree.Avoid, w)
		}
	}
}

func kindWords(kinds []standard.Kind) []string {
	var words []string
	for _, k := range kinds {
		words = append(words, string(k))
	}
	return words
}

// givens may be grouped one deep.
func (r *reader) givens(n *node) {
	r.named(n, "givens", false, func(name Name, v *node) bool {
		if v.kind != mapNode {
			return r.given(name, v)
		}
		r.named(v, "a group of givens", false, func(inner Name, v *node) bool {
			if v.kind == mapNode {
				r.fail(v.at, "givens are grouped one deep; write %s.%s as givens of its own", name.Text, inner.Text)
				return false
			}
			return r.given(Name{name.Text + "." + inner.Text, inner.At}, v)
		})
		return len(v.entries) > 0
	})
}

func (r *reader) given(name Name, v *node) bool {
	p, ok := r.text(v)
	if ok {
		r.tree.Givens = append(r.tree.Givens, Given{name, r.formula(p)})
	}
	return ok
}

func (r *reader) groups(n *node, b *Body) {
	r.named(n, "groups", false, func(name Name, v *node) bool {
		if !r.isMap(v, "a group") {
			return false
		}
		g := Group{Name: name}
		table := append(r.bodyFields(&g.Body), field{"copies", func(n *node) { g.Copies = r.copies(n) }})
		r.fields(v, " in a group", table)
		b.Groups = append(b.Groups, g)
		return true
	})
}

// copies reads a map of named copies, or "5 each z + 14 3/4".
func (r *reader) copies(n *node) *Copies {
	c := &Copies{At: n.at, Count: formula.Faulty("", n.at)}
	if n.kind == mapNode {
		c.Count = nil
		r.named(n, "copies", false, func(name Name, v *node) bool {
			p, ok := r.text(v)
			if ok {
				c.Named = append(c.Named, r.copy(name, p))
			}
			return ok
		})
		return c
	}
	p, ok := r.text(n)
	if !ok {
		return c
	}
	count, each, changes := p.cutAt("each")
	if each.text == "" {
		r.fail(p.at, "copies are {name: here, name: x + 60}, or 5 each z + 14 3/4")
		return c
	}
	c.Count = r.formula(count)
	if changes.text == "" {
		r.fail(changes.at, "how each copy is moved is missing: 5 each z + 14 3/4")
		return c
	}
	c.Changes = r.moves(changes)
	return c
}

func (r *reader) copy(name Name, p piece) Copy {
	c := Copy{Name: name, At: p.at}
	ws := p.words()
	switch {
	case p.text == "here":
		c.Here = true
	case ws[0].text == "mirror":
		r.mirror(&c, p, ws)
	default:
		c.Changes = r.moves(p)
	}
	return c
}

// mirror reads "mirror x at 30".
func (r *reader) mirror(c *Copy, p piece, ws []word) {
	if len(ws) < 4 || ws[2].text != "at" || axisOf(ws[1].text) == "" {
		r.fail(p.at, "a mirrored copy is written mirror x at 30")
		c.Here = true
		return
	}
	c.Mirror = axisOf(ws[1].text)
	c.MirrorAt = r.formula(p.slice(ws[2].end, len(p.text)))
}

// moves reads the changes of a copy: distances along axes.
func (r *reader) moves(p piece) []Change {
	var cs []Change
	for _, q := range r.list(p) {
		c, ok := r.change(q)
		switch {
		case !ok:
		case c.Op != Add || c.Unknown:
			r.fail(q.at, "a copy is moved by a distance: x + 60")
		default:
			cs = append(cs, c)
		}
	}
	return cs
}

func axisOf(s string) Axis {
	switch Axis(s) {
	case X, Y, Z:
		return Axis(s)
	}
	return ""
}

// change reads "z = 28", "x + 36", "z + ?" or "toward b + 24".
func (r *reader) change(p piece) (Change, bool) {
	ws := p.words()
	c := Change{At: p.at}
	if len(ws) < 3 || !isChange(p) {
		r.fail(p.at, "%s is not a change; write x + 36, z = 28, z + ? or toward b + 24", clip(p.text))
		return c, false
	}
	sign := ws[1]
	if ws[0].text == "toward" {
		to, ok := r.name(ws[1].piece, true)
		if !ok {
			return c, false
		}
		c.Op, c.To = Toward, to
		if sign = ws[2]; len(ws) < 4 || sign.text != "+" {
			r.fail(sign.at, "a distance toward a point is written toward b + 24")
			return c, false
		}
	} else {
		c.Axis, c.Op = axisOf(ws[0].text), Add
	}
	value := p.slice(sign.end, len(p.text))
	c.ExprAt = value.at
	switch {
	case sign.text == "=":
		c.Op = Set
		c.Expr = r.formula(value)
	case value.text == "?":
		c.Unknown, c.Minus = true, sign.text == "-"
	default:
		delta := p.slice(sign.start, len(p.text))
		e, err := formula.ParseDelta(delta.text, delta.at)
		c.Expr = r.parsed(e, err, delta)
	}
	if c.Op == Set && value.text == "?" {
		r.errs = r.errs[:len(r.errs)-1]
		r.fail(value.at, "? is a distance to be found: write %s + ?", c.Axis)
	}
	return c, true
}

// isChange tells whether a text has the shape of a change: an axis and a sign, or toward.
func isChange(p piece) bool {
	ws := p.words()
	if len(ws) > 0 && ws[0].text == "toward" {
		return true
	}
	return len(ws) > 1 && axisOf(ws[0].text) != "" && (ws[1].text == "=" || ws[1].text == "+" || ws[1].text == "-")
}

// points reads the points of a body.
func (r *reader) points(n *node, b *Body) {
	r.named(n, "points", false, func(name Name, v *node) bool {
		p, ok := r.text(v)
		if !ok {
			return false
		}
		pt := Point{Name: name, At: p.at}
		parts := r.list(p)
		switch {
		case len(parts) < len(p.split(',')):
			pt.faulty()
		case len(parts) == 1 && formula.IsDottedName(p.text) && !r.places[p.text]:
			r.fail(name.At, "%s would be %s itself: say what changes, as in %s, z + 3", name.Text, clip(p.text), clip(p.text))
			pt.faulty()
		case r.isRelative(parts):
			r.relative(&pt, parts)
		case len(parts) == 3:
			for i, q := range parts {
				pt.Coords[i] = r.coordinate(q)
			}
		case p.isOpen():
			r.fail(p.end(), "( is not closed")
			pt.faulty()
		default:
			r.fail(name.At, "%s has %s; a point has three coordinates, or another point and changes: left, 12, 66 or foot, z = 28",
				name.Text, counted(len(parts), "coordinate"))
			pt.faulty()
		}
		b.Points = append(b.Points, pt)
		return true
	})
}

// faulty makes the coordinates silent.
func (p *Point) faulty() {
	for i := range p.Coords {
		p.Coords[i] = formula.Faulty("", p.At)
	}
	p.From, p.Changes = Name{}, nil
}

func counted(n int, what string) string {
	words := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}
	if n == 1 {
		return "one " + what
	}
	if n < len(words) {
		return words[n] + " " + what + "s"
	}
	return "many " + what + "s"
}

func (r *reader) coordinate(p piece) *formula.Expr {
	if strings.Contains(p.text, "?") {
		r.fail(p.at, "a distance to be found is counted from another point: foot, z + ?")
		return formula.Faulty(p.text, p.at)
	}
	return r.formula(p)
}

// isRelative tells "foot, z = 28" from three coordinates: it begins with the name of a point, and changes follow.
func (r *reader) isRelative(parts []piece) bool {
	if len(parts) < 1 || !formula.IsDottedName(parts[0].text) || r.places[parts[0].text] {
		return false
	}
	first, _, _ := strings.Cut(parts[0].text, ".")
	if r.places[first] || axisOf(first) != "" {
		return false
	}
	changes, attempts := 0, 0
	for _, q := range parts[1:] {
		ws := q.words()
		switch {
		case isChange(q):
			changes++
		case len(parts) != 3 && axisOf(ws[0].text) != "", strings.ContainsAny(q.text, "=?"):
			attempts++
		}
		if ws[0].text == "toward" || len(ws) > 2 && (ws[1].text == "=" || len(parts) == 2) {
			attempts++
		}
	}
	return attempts > 0 || changes == 2 || changes > 0 && len(parts) != 3
}

func (r *reader) relative(pt *Point, parts []piece) {
	pt.From = Name{parts[0].text, parts[0].at}
	seen := map[Axis]bool{}
	for _, q := range parts[1:] {
		c, ok := r.change(q)
		if !ok {
			pt.faulty()
			return
		}
		if c.Op == Toward && len(parts) > 2 {
			r.fail(q.at, "toward says all three coordinates: it stands alone")
			pt.faulty()
			return
		}
		if c.Axis != "" && seen[c.Axis] {
			r.fail(q.at, "%s is changed twice", c.Axis)
			pt.faulty()
			return
		}
		seen[c.Axis] = true
		pt.Changes = append(pt.Changes, c)
	}
}

// runs reads the runs of a body.
func (r *reader) runs(n *node, b *Body) {
	r.named(n, "runs", false, func(name Name, v *node) bool {
		run := Run{Name: name, PathAt: v.at}
		if v.kind == mapNode {
			r.runMap(&run, v)
		} else if p, ok := r.text(v); ok {
			r.path(&run, p)
		}
		b.Runs = append(b.Runs, run)
		return true
	})
}

func (r *reader) runMap(run *Run, n *node) {
	hasPath := false
	r.fields(n, " in a run", []field{
		{"path", func(n *node) {
			if p, ok := r.text(n); ok {
				r.path(run, p)
			}
			hasPath = true
		}},
		{"size", func(n *node) {
			p, ok := r.text(n)
			if !ok {
				return
			}
			if s, ok := r.size(p); ok {
				run.Size = &SizeRef{Size: s, At: p.at}
			}
		}},
		{"cut", func(n *node) { r.cuts(run, n) }},
		{"clearance", r.formulaOf(&run.Clearance)},
	})
	for _, e := range n.entries {
		hasPath = hasPath || e.key == "path"
	}
	if !hasPath {
		r.fail(run.Name.At, "%s has no path: path: a to b", run.Name.Text)
	}
}

// path reads "a to union to b".
func (r *reader) path(run *Run, p piece) {
	run.PathAt = p.at
	parts := p.splitWord("to")
	if len(parts) == 1 {
		r.fail(p.at, "a path goes through two points or more: a to b")
		return
	}
	for _, q := range r.noEmpty(parts, "a point is missing beside to; a path is a to b to c") {
		name, ok := r.name(q, true)
		if !ok {
			continue
		}
		item := PathItem{Name: name}
		for _, k := range standard.PathKinds() {
			if string(k) == q.text {
				item.Part = k
			}
		}
		if item.Part == "" && standard.IsKind(q.text) {
			r.fail(q.at, "a %s cannot be named in a path; %s can", q.text, orList(kindWords(standard.PathKinds())))
			continue
		}
		run.Path = append(run.Path, item)
	}
	r.pathShape(run, len(parts))
}

// pathShape checks that a path goes from a point to a point, and that no point follows itself.
func (r *reader) pathShape(run *Run, found int) {
	n := len(run.Path)
	switch {
	case n < found:
	case n < 2:
		r.fail(run.PathAt, "a path goes through two points or more: a to b")
	case run.Path[0].Part != "":
		r.fail(run.Path[0].Name.At, "a path begins at a point, not at a %s", run.Path[0].Part)
	case run.Path[n-1].Part != "":
		r.fail(run.Path[n-1].Name.At, "a path ends at a point, not at a %s", run.Path[n-1].Part)
	default:
		for i := 1; i < n; i++ {
			if a, b := run.Path[i-1], run.Path[i]; a.Part == "" && b.Part == "" && a.Name.Text == b.Name.Text {
				r.fail(b.Name.At, "%s to itself: two points that differ make a pipe", b.Name.Text)
			}
		}
	}
}

// cuts reads "6 then rest", or one entry for all pipes.
func (r *reader) cuts(run *Run, n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	run.CutsAt = p.at
	if parts := p.split(','); len(parts) > 1 {
		r.fail(p.at, "cuts come in order: write then between them, 6 then rest")
		return
	}
	for _, q := range r.noEmpty(p.splitWord("then"), "a cut is missing beside then; 6 then rest") {
		c := Cut{At: q.at}
		switch q.text {
		case Close, Rest:
			c.Word = q.text
		default:
			c.Expr = r.formula(q)
		}
		run.Cuts = append(run.Cuts, c)
	}
}
