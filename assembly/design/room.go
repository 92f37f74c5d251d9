package design

import (
	"strings"

	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
)

// room reads what is known of the place.
func (r *reader) room(n *node) {
	room := &r.tree.Room
	room.At = n.at
	if !r.isMap(n, "room") {
		return
	}
	var table []field
	for _, name := range []string{"floor", "ceiling", "left", "right", "back", "front"} {
		table = append(table, field{name, func(v *node) { r.surface(name, n, v) }})
	}
	table = append(table, field{"zones", r.zones}, field{"air", func(v *node) {
		if p, ok := r.text(v); ok {
			room.Air, _ = r.word(p, "air", "dry", "damp", "outdoor")
		}
	}}, field{"way-in", r.wayIn})
	r.fields(n, " in room", table)
}

// surface reads one face of the room: readings, or a map.
func (r *reader) surface(name string, in, v *node) {
	s := Surface{Name: Name{Text: name}}
	for _, e := range in.entries {
		if e.key == name && e.value == v {
			s.Name.At = e.keyAt
		}
	}
	if v.kind != mapNode {
		s.Face = r.readings(v)
	} else {
		r.fields(v, " in a surface", []field{
			{"face", func(n *node) { s.Face = r.readings(n) }},
			{"made", func(n *node) { s.Made = r.made(n) }},
			{"studs", func(n *node) { s.Studs = r.timbers(n) }},
			{"joists", func(n *node) { s.Joists = r.timbers(n) }},
			{"baseboard", func(n *node) { s.Baseboard = r.baseboard(n) }},
		})
	}
	r.tree.Room.Surfaces = append(r.tree.Room.Surfaces, s)
}

// readings reads "59 1/2 at z 0, 59 3/8 at z 40".
func (r *reader) readings(n *node) []Reading {
	p, ok := r.text(n)
	if !ok {
		return nil
	}
	if isThousands(p.text) {
		r.fail(p.at, "%s: a comma parts readings; write %s", p.text, strings.ReplaceAll(p.text, ",", ""))
		return nil
	}
	var out []Reading
	parts := r.list(p)
	for _, q := range parts {
		value, at, places := q.cutAt("at")
		reading := Reading{Value: r.formula(value)}
		if at.text != "" {
			reading.At = r.axisValues(places)
		} else if len(parts) > 1 {
			r.fail(q.at, "of several readings each says where: 59 3/8 at z 40")
		}
		out = append(out, reading)
	}
	return out
}

// isThousands tells whether a text is one number whose digits stand in threes between commas: 1,000.
func isThousands(text string) bool {
	groups := strings.Split(text, ",")
	for i, g := range groups {
		if strings.Trim(g, "0123456789") != "" || len(g) != 3 && (i > 0 || len(g) == 0 || len(g) > 3) {
			return false
		}
	}
	return len(groups) > 1
}

// axisValues reads "x 0 y 20".
func (r *reader) axisValues(p piece) []AxisValue {
	var out []AxisValue
	ws := p.words()
	if len(ws) < 2 || axisOf(ws[0].text) == "" {
		r.fail(p.at, "a place is an axis and a number: at z 40, or at x 0 y 20")
		return nil
	}
	for i := 0; i < len(ws); {
		j := i + 1
		for j < len(ws) && axisOf(ws[j].text) == "" {
			j++
		}
		value := p.slice(ws[i].end, len(p.text))
		if j < len(ws) {
			value = p.slice(ws[i].end, ws[j].start)
		}
		out = append(out, AxisValue{axisOf(ws[i].text), ws[i].at, r.formula(value)})
		i = j
	}
	return out
}

// made reads "1/2 in gypsum on studs".
func (r *reader) made(n *node) *Made {
	p, ok := r.text(n)
	if !ok {
		return nil
	}
	m := &Made{At: p.at, Text: p.text}
	what, on, timber := p.cutAt("on")
	if on.text != "" {
		w, _ := r.word(timber, "support", "studs", "joists")
		m.On = w.Text
	}
	size, material := cutMaterial(what)
	m.Material = material.text
	if size.text != "" {
		m.Thickness = r.formula(size)
	}
	if m.Material == "" {
		r.fail(p.at, "a material is expected: brick, or 1/2 in gypsum on studs")
	}
	return m
}

// unitWords may stand between a thickness and its material.
var unitWords = map[string]bool{
	"in": true, "inch": true, "inches": true, "ft": true, "foot": true, "feet": true, "mm": true, "cm": true, "m": true,
}

// cutMaterial cuts "3/4 in pine" into a thickness and a material: the words from the last that is no part of a
// formula.
func cutMaterial(p piece) (size, material piece) {
	ws := p.words()
	i := len(ws)
	for i > 0 && isMaterialWord(ws[i-1].text) {
		i--
	}
	if i == len(ws) {
		return p, piece{at: p.end()}
	}
	return p.slice(0, ws[i].start), p.slice(ws[i].start, len(p.text))
}

// cutWood cuts "thickness white pine" at the first word from which the rest is a known wood, so that a name may stand
// for the thickness.
func cutWood(p piece) (size, wood piece) {
	for _, w := range p.words() {
		rest := p.slice(w.start, len(p.text))
		if _, err := standard.Wood(rest.text); err == nil {
			return p.slice(0, w.start), rest
		}
	}
	return cutMaterial(p)
}

func isMaterialWord(s string) bool {
	return !unitWords[s] && strings.Trim(strings.ToLower(s), "abcdefghijklmnopqrstuvwxyz-") == ""
}

// timbers reads "3, 19, 35", "y every 24 from 12" or "x 9.5, 25.5 wide 1 3/4".
func (r *reader) timbers(n *node) *Timbers {
	p, ok := r.text(n)
	if !ok {
		return nil
	}
	t := &Timbers{At: p.at}
	if ws := p.words(); len(ws) > 1 && axisOf(ws[0].text) != "" {
		t.Axis = axisOf(ws[0].text)
		p = p.slice(ws[0].end, len(p.text))
	}
	rest, wide, width := p.cutAt("wide")
	if wide.text != "" {
		t.Wide = r.formula(width)
	}
	if ws := rest.words(); len(ws) > 0 && ws[0].text == "every" {
		every, from, start := rest.slice(ws[0].end, len(rest.text)).cutAt("from")
		t.Every = r.formula(every)
		if from.text != "" {
			t.From = r.formula(start)
		}
		return t
	}
	for _, q := range r.list(rest) {
		t.Middles = append(t.Middles, r.formula(q))
	}
	return t
}

// sizes reads "5 x 5/8": formulas with an x between blanks between them.
func (r *reader) sizes(p piece) []piece {
	return r.noEmpty(p.splitWord("x"), "a size is missing beside x; put blanks round each x")
}

func (r *reader) baseboard(n *node) *Baseboard {
	p, ok := r.text(n)
	if !ok {
		return nil
	}
	parts := r.sizes(p)
	if len(parts) != 2 {
		r.fail(p.at, "a baseboard has two sizes, height x thickness: 5 x 5/8; found %s", counted(len(parts), "size"))
		return nil
	}
	return &Baseboard{p.at, r.formula(parts[0]), r.formula(parts[1])}
}

func (r *reader) wayIn(n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	r.tree.Room.WayInAt = p.at
	parts := r.sizes(p)
	if len(parts) > 2 {
		r.fail(p.at, "a way in has one size or two: 30 x 80; found %s", counted(len(parts), "size"))
		return
	}
	for _, q := range parts {
		r.tree.Room.WayIn = append(r.tree.Room.WayIn, r.formula(q))
	}
}

// zones reads "cable: no drilling, back, x 6 to 10, z 0 to 96".
func (r *reader) zones(n *node) {
	r.named(n, "zones", false, func(name Name, v *node) bool {
		p, ok := r.text(v)
		if !ok {
			return false
		}
		z := Zone{Name: name}
		for i, q := range r.list(p) {
			switch {
			case i == 0:
				z.Kind, _ = r.word(q, "kind of zone", NoDrilling, Opening, Obstacle)
			case i == 1 && r.isSurface(q.text):
				z.Surface = Name{q.text, q.at}
			default:
				r.rangeOf(q, &z.Ranges)
			}
		}
		if z.Kind.IsSet() && z.Surface.Text == "" && z.Ranges == [3]*Range{} {
			r.fail(name.At, "%s says not where: give ranges, x 6 to 10", name.Text)
		}
		r.tree.Room.Zones = append(r.tree.Room.Zones, z)
		return z.Kind.IsSet()
	})
}

func (r *reader) isSurface(s string) bool {
	for _, w := range SurfaceNames {
		if w == s {
			return true
		}
	}
	return false
}

// rangeOf reads "x 6 to 10".
func (r *reader) rangeOf(p piece, into *[3]*Range) {
	ws := p.words()
	if len(ws) < 4 || axisOf(ws[0].text) == "" {
		r.fail(p.at, "%s is not a range; write x 6 to 10", clip(p.text))
		return
	}
	axis := axisOf(ws[0].text)
	low, to, high := p.slice(ws[0].end, len(p.text)).cutAt("to")
	if to.text == "" || low.text == "" || high.text == "" {
		r.fail(p.at, "%s is not a range; write %s 6 to 10", clip(p.text), axis)
		return
	}
	if into[axis.Index()] != nil {
		r.fail(p.at, "a second range along %s", axis)
		return
	}
	into[axis.Index()] = &Range{axis, p.at, r.formula(low), r.formula(high)}
}

// cleats reads "tie: on left, y 2 to 22, z 60 to 66, 3/4 in pine".
func (r *reader) cleats(n *node) {
	r.named(n, "cleats", false, func(name Name, v *node) bool {
		p, ok := r.text(v)
		if !ok {
			return false
		}
		c := Cleat{Name: name, At: p.at, Thickness: formula.Faulty("", p.at)}
		parts := r.list(p)
		if len(parts) < 2 || len(parts[0].words()) != 2 || parts[0].words()[0].text != "on" {
			r.fail(p.at, "a cleat is written on left, y 2 to 22, z 60 to 66, 3/4 in pine")
			return false
		}
		on := parts[0].words()[1]
		if w, ok := r.word(on.piece, "surface", SurfaceNames[:]...); ok {
			c.On = Name(w)
		}
		last := len(parts) - 1
		for _, q := range parts[1:last] {
			r.rangeOf(q, &c.Ranges)
		}
		r.cleatTimber(&c, parts[last])
		r.cleatRanges(&c)
		r.tree.Cleats = append(r.tree.Cleats, c)
		return true
	})
}

func (r *reader) cleatTimber(c *Cleat, p piece) {
	size, wood := cutWood(p)
	if size.text == "" || wood.text == "" {
		r.fail(p.at, "a cleat ends with its thickness and material: 3/4 in pine")
		return
	}
	c.Thickness = r.formula(size)
	if !r.isWood(wood) {
		return
	}
	c.Material = Word{wood.text, wood.at}
}

// cleatRanges checks that a cleat has bounds along both axes of its wall.
func (r *reader) cleatRanges(c *Cleat) {
	across := surfaceAxis(c.On.Text)
	if across == "" {
		return
	}
	for _, a := range Axes {
		switch has := c.Ranges[a.Index()] != nil; {
		case a == across && has:
			r.fail(c.Ranges[a.Index()].At, "%s is the direction of its thickness; a cleat on %s has two ranges, along the others", a, c.On.Text)
		case a != across && !has:
			r.fail(c.Name.At, "%s has no range along %s: %s 2 to 22", c.Name.Text, a, a)
		}
	}
}

// surfaceAxis is the axis a surface faces along, or "".
func surfaceAxis(name string) Axis {
	switch name {
	case "left", "right":
		return X
	case "back", "front":
		return Y
	case "floor", "ceiling":
		return Z
	}
	return ""
}
