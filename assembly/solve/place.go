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
