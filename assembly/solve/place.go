package solve

import (
	"fmt"

	"turnwise/assembly/design"
	"turnwise/assembly/formula"
	"turnwise/geom"
)

// point is one point of one copy.
type point struct {
	sc    *scope
	src   *design.Point
	id    string
	coord [3]coordinate
	gaps  map[*design.Change]*unknown // the distances to be found in its changes
}

// coordinate is one coordinate of a point.
type coordinate struct {
	cell
	world float64
	on    *contact // the surface it lies on, or nil
}

// contact is a surface on which a coordinate lies: one of its pointers is set.
type contact struct {
	axis    int
	surface string
	cleat   *cleat
	board   *board
	zone    *zone
	high    bool // of a board or zone: the face with the greater coordinate
}

func newPoint(s *solver, sc *scope, src *design.Point) *point {
	p := &point{sc: sc, src: src, id: sc.id(src.Name.Text)}
	for i := range p.coord {
		p.coord[i].cell = cell{label: p.id, at: src.Name.At}
	}
	for i := range src.Changes {
		c := &src.Changes[i]
		if !c.Unknown {
			continue
		}
		u := &unknown{index: len(s.unknowns), point: p, change: c}
		s.unknowns = append(s.unknowns, u)
		if p.gaps == nil {
			p.gaps = map[*design.Change]*unknown{}
		}
		p.gaps[c] = u
	}
	return p
}

// place is where a point is, in the design's axes.
func (s *solver) place(p *point) (geom.Vec, error) {
	var c [3]float64
	for i := range c {
		v, err := s.coord(p, i)
		if err != nil {
			return geom.Vec{}, err
		}
		c[i] = v
	}
	return geom.V(c[0], c[1], c[2]), nil
}

// seen is a coordinate of a point as seen from the drawing of a scope.
func (s *solver) seen(p *point, i int, frame *scope) (float64, error) {
	w, err := s.coord(p, i)
	if err != nil {
		return 0, err
	}
	return s.toLocal(frame, i, w)
}

// coord is a coordinate of a point in the room.
func (s *solver) coord(p *point, i int) (float64, error) {
	c := &p.coord[i]
	err := s.get(&c.cell, func() error {
		if s.doubt.any && s.t.IsSpoilt(p.src.Name.Text) {
			return formula.ErrSilent
		}
		var err error
		d := draft{s: s, p: p, axis: i}
		if p.src.From.Text == "" {
			err = d.term(p.src.Coords[i])
		} else {
			err = d.changed()
		}
		if err != nil {
			return err
		}
		c.on = d.on
		if d.on != nil {
			c.world, err = s.contactAt(d.on, p.world(s))
		} else {
			c.world, err = s.toWorld(p.sc, i, d.v)
		}
		return err
	})
	return c.world, err
}

// world gives the point's own coordinates in the room, on demand.
func (p *point) world(s *solver) placer { return func(i int) (float64, error) { return s.coord(p, i) } }

// drawn gives the point's own coordinates in its drawing, on demand.
func (p *point) drawn(s *solver) placer {
	return func(i int) (float64, error) { return s.seen(p, i, p.sc) }
}

// draft is a coordinate in the making: a drawn value, or a surface to lie on.
type draft struct {
	s    *solver
	p    *point
	axis int
	v    float64
	on   *contact
	kept bool // v is the number of the point it is like, which sat on the surface
}

// term takes a formula, or a bare surface.
func (d *draft) term(x *formula.Expr) error {
	on, err := d.s.bare(d.p.sc, x, d.axis)
	if err != nil {
		return err
	}
	d.on, d.kept = on, false
	if on != nil {
		return nil
	}
	v, err := x.EvalLength(env{s: d.s, sc: d.p.sc, at: d.p.drawn(d.s), own: true}, "a coordinate")
	d.v = float64(v)
	return err
}

// changed takes the coordinate of the point it is like, and makes the changes.
func (d *draft) changed() error {
	src := d.p.src
	t, ok := d.s.find(d.p.sc, src.From.Text)
	if !ok || t.point == nil {
		return d.s.noSuch(src.From.At, "point", src.From.Text)
	}
	if _, err := d.s.coord(t.point, d.axis); err != nil {
		return err
	}
	if err := d.keep(t); err != nil {
		return err
	}
	for i := range src.Changes {
		if err := d.change(t, &src.Changes[i]); err != nil {
			return err
		}
	}
	return nil
}

// keep starts from the other point's coordinate; if that sat on a surface, this one sits there again.
func (d *draft) keep(t thing) error {
	v, err := d.s.seen(t.point, d.axis, t.frame)
	d.v = v
	base := t.point.coord[d.axis].on
	if err != nil || base == nil {
		return err
	}
	here, err := d.s.flipped(d.p.sc, d.axis)
	if err != nil {
		return err
	}
	there, err := d.s.flipped(t.frame, d.axis)
	if err != nil {
		return err
	}
	on := *base
	d.on, d.kept = &on, true
	if here != there {
		return d.s.turnRound(&on, d.p.src.Name.At)
	}
	return nil
}

// number makes the draft a plain value: the number of the point it is like, or where the surface is at this place.
func (d *draft) number() error {
	if d.on == nil || d.kept {
		d.on = nil
		return nil
	}
	w, err := d.s.contactAt(d.on, d.p.world(d.s))
	if err != nil {
		return err
	}
	d.on = nil
	d.v, err = d.s.toLocal(d.p.sc, d.axis, w)
	return err
}

func (d *draft) change(base thing, c *design.Change) error {
	if c.Op == design.Toward {
		return d.toward(base, c)
	}
	if c.Axis.Index() != d.axis {
		return nil
	}
	if c.Op == design.Set {
		return d.term(c.Expr)
	}
	if err := d.number(); err != nil {
		return err
	}
	by, err := d.distance(c)
	d.v += by
	return err
}

// distance is how far a change goes.
func (d *draft) distance(c *design.Change) (float64, error) {
	if !c.Unknown {
		v, err := c.Expr.EvalLength(env{s: d.s, sc: d.p.sc, at: d.p.drawn(d.s), own: true}, "a coordinate")
		return float64(v), err
	}
	u := d.p.gaps[c]
	d.s.stack[len(d.s.stack)-1].hangs.add(u.index)
	if c.Minus {
		return -u.value, nil
	}
	return u.value, nil
}

// toward moves along the straight line from the base point to another one.
func (d *draft) toward(base thing, c *design.Change) error {
	t, ok := d.s.find(d.p.sc, c.To.Text)
	if !ok || t.point == nil {
		return d.s.noSuch(c.To.At, "point", c.To.Text)
	}
	var way [3]float64
	for i := range way {
		a, err := d.s.seen(base.point, i, base.frame)
		if err != nil {
			return err
		}
		b, err := d.s.seen(t.point, i, t.frame)
		if err != nil {
			return err
		}
		way[i] = b - a
	}
	dir := geom.V(way[0], way[1], way[2])
	if dir.Len() < Agreement {
		return &formula.Error{At: c.At, Text: fmt.Sprintf("%s and %s are in one place: no line leads from one to the other", base.point.id, t.point.id)}
	}
	by, err := d.distance(c)
	if err != nil || way[d.axis] == 0 {
		return err
	}
	if err := d.number(); err != nil {
		return err
	}
	d.v += by * way[d.axis] / dir.Len()
	return nil
}

// bare reads a formula that is only the name of a surface, cleat, or face of a board or obstacle: a thing to lie on.
// It is nil for every other formula. In a mirrored copy opposite surfaces change places.
func (s *solver) bare(sc *scope, x *formula.Expr, axis int) (*contact, error) {
	r, ok := x.Bare()
	if !ok {
		return nil, nil
	}
	on, err := s.named(sc, r, axis)
	if on == nil || err != nil {
		return nil, err
	}
	if on.axis != axis {
		return nil, &formula.Error{At: r.At, Text: fmt.Sprintf("%s is a face along %s; it cannot be %s", r.Name, design.Axes[on.axis], design.Axes[axis])}
	}
	flip, err := s.flipped(sc, axis)
	if err != nil {
		return nil, err
	}
	if flip {
		err = s.turnRound(on, r.At)
	}
	return on, err
}

// named is the surface, cleat or face of that name, as the file sees it.
func (s *solver) named(sc *scope, r formula.Ref, axis int) (*contact, error) {
	if isSurface(r.Name) {
		s.use(r.Name)
		return &contact{axis: surfaceAxis(r.Name), surface: r.Name}, nil
	}
	if c, ok := s.cleats[r.Name]; ok {
		s.use(r.Name)
		return &contact{axis: surfaceAxis(c.src.On.Text), cleat: c}, nil
	}
	first, last := cutLast(r.Name)
	f, ok := faceNames[last]
	if !ok {
		return nil, nil
	}
	if z := s.zone(first); z != nil {
		return &contact{axis: f.axis, zone: z, high: f.high}, nil
	}
	if t, ok := s.find(sc, first); ok && t.board != nil {
		return &contact{axis: f.axis, board: t.board, high: f.high}, nil
	}
	return nil, nil
}

// turnRound changes a contact for the opposite one, as a mirror does.
func (s *solver) turnRound(on *contact, at design.Pos) error {
	switch {
	case on.surface != "":
		on.surface = opposite[on.surface]
		s.use(on.surface)
		if _, err := s.surfaceFace(on.surface); err != nil {
			return &formula.Error{At: at, Text: err.Error() + " (the mirrored copy needs it)"}
		}
	case on.board != nil, on.zone != nil:
		on.high = !on.high
	}
	return nil
}

// opposite are the surfaces that change places in a mirror.
var opposite = map[string]string{
	"left": "right", "right": "left", "back": "front", "front": "back", "floor": "ceiling", "ceiling": "floor",
}

// contactAt is where a surface is at a place in the room.
func (s *solver) contactAt(on *contact, at placer) (float64, error) {
	switch {
	case on.surface != "":
		return s.surfaceAt(on.surface, at)
	case on.cleat != nil:
		return s.cleatAt(on.cleat, at)
	case on.zone != nil:
		return s.zoneFace(on.zone, faceName{on.axis, on.high})
	}
	return s.boardFace(on.board, on.axis, on.high)
}

// name is the surface as the file calls it.
func (on *contact) name() string {
	switch {
	case on.surface != "":
		return on.surface
	case on.cleat != nil:
		return on.cleat.src.Name.Text
	case on.zone != nil:
		return on.zone.src.Name.Text
	}
	return on.board.id
}

// words is the surface in a sentence: "left wall".
func (on *contact) words() string {
	if on.surface != "" && on.axis != 2 {
		return on.surface + " wall"
	}
	return on.name()
}

// board is one board of one copy.
type board struct {
	sc   *scope // around it; for a moved copy, one more scope
	src  *design.Board
	id   string
	low  [3]coordinate // drawn low corner, world: the low corner in the room
	size [3]coordinate // world: the size
	box  geom.Box      // when solved, finished frame
	body int           // its place among the bodies that may be shifted
}

func newBoard(s *solver, sc *scope, src *design.Board, id string) *board {
	b := &board{sc: sc, src: src, id: id}
	for i := range b.low {
		b.low[i].cell = cell{label: id, at: src.Name.At}
		b.size[i].cell = cell{label: id, at: src.Name.At}
	}
	return b
}

// boardSize is one side of a board.
func (s *solver) boardSize(b *board, i int) (float64, error) {
	c := &b.size[i]
	err := s.get(&c.cell, func() error {
		v, err := s.positive(b.src.Size[i], env{s: s, sc: b.sc, at: b.drawn(s)}, [3]string{"a width", "a depth", "a thickness"}[i])
		c.world = v
		return err
	})
	return c.world, err
}

// drawn gives the board's low corner in its drawing, on demand.
func (b *board) drawn(s *solver) placer {
	return func(i int) (float64, error) {
		low, err := s.boardFace(b, i, false)
		if err != nil {
			return 0, err
		}
		flip, err := s.flipped(b.sc, i)
		if err != nil {
			return 0, err
		}
		if flip {
			if low, err = s.boardFace(b, i, true); err != nil {
				return 0, err
			}
		}
		return s.toLocal(b.sc, i, low)
	}
}

// boardFace is the coordinate of a face of a board in the room.
func (s *solver) boardFace(b *board, i int, high bool) (float64, error) {
	c := &b.low[i]
	err := s.get(&c.cell, func() error {
		v, err := s.boardLow(b, i)
		c.world = v
		return err
	})
	if err != nil || !high {
		return c.world, err
	}
	size, err := s.boardSize(b, i)
	return c.world + size, err
}

// boardLow works out the low side of a board in the room.
func (s *solver) boardLow(b *board, i int) (float64, error) {
	at := &b.src.Low[i]
	if at.Unknown {
		return s.lieOn(b)
	}
	flip, err := s.flipped(b.sc, i)
	if err != nil {
		return 0, err
	}
	on, err := s.bare(b.sc, at.Expr, i)
	if err != nil {
		return 0, err
	}
	var w float64
	if on != nil {
		w, err = s.contactAt(on, func(j int) (float64, error) { return s.boardFace(b, j, false) })
	} else {
		var v float64
		if v, err = length(at.Expr, env{s: s, sc: b.sc, at: b.drawn(s), own: true}, "a coordinate"); err == nil {
			w, err = s.toWorld(b.sc, i, v)
		}
	}
	if err != nil || !flip {
		return w, err
	}
	size, err := s.boardSize(b, i)
	return w - size, err
}

func length(x *formula.Expr, e env, what string) (float64, error) {
	v, err := x.EvalLength(e, what)
	return float64(v), err
}

// boardBox is a board as a box in the room, in the design's axes.
func (s *solver) boardBox(b *board) (geom.Box, error) {
	var lo, hi [3]float64
	for i := range lo {
		var err error
		if lo[i], err = s.boardFace(b, i, false); err != nil {
			return geom.Box{}, err
		}
		if hi[i], err = s.boardFace(b, i, true); err != nil {
			return geom.Box{}, err
		}
	}
	return geom.Box{Min: vec(lo), Max: vec(hi)}, nil
}

func vec(c [3]float64) geom.Vec    { return geom.V(c[0], c[1], c[2]) }
func coords(v geom.Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }

// LieAgreement is how far apart in height the things may be on which a board lies: 1/32 in, as the format says.
const LieAgreement = 2 * Agreement

// lieOn finds the height of a board that lies on runs, cleats or boards.
func (s *solver) lieOn(b *board) (float64, error) {
	rect := geom.Box{Min: geom.V(0, 0, -1e9), Max: geom.V(0, 0, 1e9)}
	for i, lo, hi := 0, coords(rect.Min), coords(rect.Max); i < 2; i++ {
		var err error
		if lo[i], err = s.boardFace(b, i, false); err != nil {
			return 0, err
		}
		if hi[i], err = s.boardFace(b, i, true); err != nil {
			return 0, err
		}
		rect = geom.Box{Min: vec(lo), Max: vec(hi)}
	}
	best, bestName, found := 0.0, "", false
	for _, n := range b.src.LiesOn {
		z, err := s.topOf(b, n, rect)
		if err != nil {
			return 0, err
		}
		if found && z < best-LieAgreement || found && z > best+LieAgreement {
			low, high, d := n.Text, bestName, best-z
			if d < 0 {
				low, high, d = high, low, -d
			}
			return 0, &formula.Error{At: n.At, Text: fmt.Sprintf("%s is %s lower than %s", low, s.fraction(d)+" "+string(s.t.Units), high)}
		}
		if !found || z > best {
			best, bestName, found = z, n.Text, true
		}
	}
	if !found {
		return 0, &formula.Error{At: b.src.Low[2].At, Text: "? needs lies-on"}
	}
	return best, nil
}

// topOf is the height of the top of a run, cleat or board where it passes under the rectangle.
func (s *solver) topOf(b *board, n design.Name, rect geom.Box) (float64, error) {
	if c, ok := s.cleats[n.Text]; ok {
		box, err := s.cleatRange(c)
		return box.Max.Z, err
	}
	t, ok := s.find(b.sc, n.Text)
	switch {
	case ok && t.board != nil:
		return s.boardFace(t.board, 2, true)
	case ok && t.run != nil:
		return s.topOfRun(t.run, n, rect)
	}
	return 0, s.noSuch(n.At, "run, cleat or board", n.Text)
}

func (s *solver) topOfRun(r *run, n design.Name, rect geom.Box) (float64, error) {
	od, err := s.pipeOD(r.size)
	if err != nil {
		return 0, err
	}
	var last geom.Vec
	have, found, best := false, false, 0.0
	for _, item := range r.src.Path {
		if item.Part != "" {
			continue
		}
		t, ok := s.find(r.sc, item.Name.Text)
		if !ok || t.point == nil {
			continue
		}
		v, err := s.place(t.point)
		if err != nil {
			return 0, err
		}
		if have {
			if p, q, ok := clip(last, v, rect.Grow(od/2)); ok {
				if z := max(p.Z, q.Z); !found || z > best {
					best, found = z, true
				}
			}
		}
		last, have = v, true
	}
	if !found {
		return 0, &formula.Error{At: n.At, Text: fmt.Sprintf("%s does not pass under the board", n.Text)}
	}
	return best + od/2, nil
}

// clip cuts the line from p to q to a box.
func clip(p, q geom.Vec, box geom.Box) (geom.Vec, geom.Vec, bool) {
	a, d := coords(p), coords(q.Sub(p))
	lo, hi := coords(box.Min), coords(box.Max)
	from, to := 0.0, 1.0
	for i := range a {
		if d[i] == 0 {
			if a[i] < lo[i] || a[i] > hi[i] {
				return p, q, false
			}
			continue
		}
		t, u := (lo[i]-a[i])/d[i], (hi[i]-a[i])/d[i]
		from, to = max(from, min(t, u)), min(to, max(t, u))
	}
	return p.Lerp(q, from), p.Lerp(q, to), from <= to
}
