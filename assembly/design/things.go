package design

import (
	"strconv"
	"strings"

	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
)

// boards reads the boards of a body.
func (r *reader) boards(n *node, b *Body) {
	r.named(n, "boards", false, func(name Name, v *node) bool {
		if !r.isMap(v, "a board") {
			return false
		}
		board := Board{Name: name}
		for i := range board.Size {
			board.Size[i] = formula.Faulty("", v.at)
			board.Low[i] = Coord{At: v.at, Expr: formula.Faulty("", v.at)}
		}
		r.fields(v, " in a board", []field{
			{"size", func(n *node) { r.boardSize(&board, n) }},
			{"at", func(n *node) { r.boardAt(&board, n) }},
			{"of", func(n *node) { r.wood(&board, n) }},
			{"lies-on", func(n *node) {
				if p, ok := r.text(n); ok {
					board.LiesOn, board.LiesOnAt = r.names(p), p.at
				}
			}},
			{"straps", func(n *node) { board.Straps, board.StrapsAt, _ = r.whole(n, "straps on each pipe", 0, mostStraps) }},
			{"copies", func(n *node) { board.Copies = r.copies(n) }},
		})
		r.wholeBoard(&board, v)
		b.Boards = append(b.Boards, board)
		return true
	})
}

// mostStraps on one pipe under one board; there is no room for more.
const mostStraps = 50

// wholeBoard checks that a board has a size and a place.
func (r *reader) wholeBoard(b *Board, n *node) {
	has := map[string]bool{}
	for _, e := range n.entries {
		has[e.key] = true
	}
	if !has["size"] {
		r.fail(b.Name.At, "%s has no size: size: 60 x 24 x 3/4", b.Name.Text)
	}
	if !has["at"] {
		r.fail(b.Name.At, "%s has no place: at: x, y, z of its low corner", b.Name.Text)
	}
	if b.Low[2].Unknown && !has["lies-on"] {
		r.fail(b.Low[2].At, "? needs lies-on")
	}
}

func (r *reader) boardSize(b *Board, n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	b.SizeAt = p.at
	parts := r.sizes(p)
	if len(parts) != 3 {
		r.fail(p.at, "a board has three sizes, found %s; put blanks round each x: 60 x 24 x 3/4", strings.Fields(counted(len(parts), "size"))[0])
		return
	}
	for i, q := range parts {
		b.Size[i] = r.formula(q)
	}
}

func (r *reader) boardAt(b *Board, n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	b.LowAt = p.at
	parts := r.list(p)
	if len(parts) != 3 {
		r.fail(p.at, "a board's low corner has three coordinates, found %s: at: 0, 0, 6", strings.Fields(counted(len(parts), "size"))[0])
		return
	}
	for i, q := range parts {
		c := Coord{At: q.at}
		switch {
		case q.text != "?":
			c.Expr = r.formula(q)
		case i < 2:
			r.fail(q.at, "only z may be ?: it follows from what the board lies on")
			c.Expr = formula.Faulty("?", q.at)
		default:
			c.Unknown = true
		}
		b.Low[i] = c
	}
}

func (r *reader) wood(b *Board, n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	if ws := p.words(); len(ws) > 0 && ws[0].text == "treated" {
		b.Treated = true
		p = p.slice(ws[0].end, len(p.text))
		if p.text == "" {
			return
		}
	}
	if !r.isWood(p) {
		return
	}
	b.Wood = Word{p.text, p.at}
}

// isWood tells whether a material is known, and reports it if not.
func (r *reader) isWood(p piece) bool {
	_, err := standard.Wood(p.text)
	if near := nearest(p.text, standard.WoodWords()); err != nil && near != "" {
		r.fail(p.at, "no material called %s; %s?", clip(p.text), near)
	} else if err != nil {
		r.fail(p.at, "%s", err)
	}
	return err == nil
}

// fittings reads "wheel-1, wheel-2: caster".
func (r *reader) fittings(n *node, b *Body) {
	r.named(n, "fittings", true, func(name Name, v *node) bool {
		if p, ok := r.text(v); ok {
			if f, ok := r.fitting(name, p); ok {
				b.Fittings = append(b.Fittings, f)
			}
		}
		return true
	})
}

// fitting reads "KIND", "KIND along RUN", "KIND into RUN", "flange loose", each with "pad 3/16 in" after it.
func (r *reader) fitting(point Name, p piece) (Fitting, bool) {
	before, pad, thickness := p.cutAt("pad")
	ws := before.words()
	if len(ws) == 0 {
		r.fail(p.at, "a kind of fitting comes first: glide pad 3/16 in")
		return Fitting{}, false
	}
	kind, ok := r.word(ws[0].piece, "fitting", append(kindWords(standard.FittingKinds()), string(Open))...)
	f := Fitting{Point: point, Kind: standard.Kind(kind.Text), At: kind.At}
	if !ok {
		return f, false
	}
	if pad.text != "" {
		f.Pad, f.PadAt = r.formula(thickness), pad.at
	}
	switch rest := ws[1:]; {
	case len(rest) == 0:
	case len(rest) == 1 && rest[0].text == "loose":
		f.Loose = true
		if f.Kind != standard.Flange {
			r.fail(rest[0].at, "only a flange may be loose")
		}
	case len(rest) == 2 && rest[0].text == "along":
		f.Along, _ = r.name(rest[1].piece, true)
	case len(rest) == 2 && rest[0].text == "into":
		f.Into, _ = r.name(rest[1].piece, true)
		if f.Kind != standard.StreetElbow && f.Kind != standard.StreetElbow45 {
			r.fail(rest[0].at, "only a street-elbow or street-elbow45 goes into a run: it has a male end")
		}
	default:
		r.fail(rest[0].at, "%s is not expected here; along RUN, into RUN, loose or pad 3/16 in may follow", clip(rest[0].text))
	}
	return f, true
}

// LoadWords are the words for usual loads, in pounds per foot: clothes on a rail, coats, a shelf of books, records.
// Common practice in this format's reference; no published source.
var LoadWords = []struct {
	Word        string
	PoundsPerFt float64
}{{"clothes", 20}, {"coats", 30}, {"books", 25}, {"records", 40}}

// directions may end a load.
var directions = map[string]bool{"left": true, "right": true, "out": true, "back": true, "up": true, "down": true}

// loads reads "rail: coats, 40 lb out".
func (r *reader) loads(n *node, b *Body) {
	r.named(n, "loads", true, func(name Name, v *node) bool {
		p, ok := r.text(v)
		if !ok {
			return true
		}
		l := Load{On: name}
		for _, q := range r.list(p) {
			if item, ok := r.load(q); ok {
				l.Items = append(l.Items, item)
			}
		}
		b.Loads = append(b.Loads, l)
		return true
	})
}

func (r *reader) load(p piece) (LoadItem, bool) {
	item := LoadItem{At: p.at}
	whole := p
	for {
		ws := p.words()
		if len(ws) == 0 {
			r.fail(whole.at, "%s says no load; 20 lb/ft along it, or 20 lb in all", clip(whole.text))
			return item, false
		}
		last := ws[len(ws)-1]
		switch {
		case directions[last.text] && item.Dir == "" && !item.Anywhere:
			item.Dir = last.text
		case last.text == "anywhere" && !item.Anywhere:
			item.Anywhere = true
		default:
			return r.loadValue(item, p)
		}
		p = p.slice(0, last.start)
	}
}

func (r *reader) loadValue(item LoadItem, p piece) (LoadItem, bool) {
	words := make([]string, len(LoadWords))
	for i, w := range LoadWords {
		words[i] = w.Word
		if w.Word == p.text {
			item.Word = w.Word
			return item, true
		}
	}
	if _, isNumber := plainNumber(p.text); isNumber {
		r.fail(p.at, "%s what? %s lb/ft along it, or %s lb in all", p.text, p.text, p.text)
		return item, false
	}
	if formula.IsName(p.text) {
		if near := nearest(p.text, words); near != "" && !r.places[p.text] {
			r.fail(p.at, "no load called %s; %s?", p.text, near)
			return item, false
		}
		if !r.places[p.text] {
			r.fail(p.at, "no load called %s; %s, or a number with its unit: 20 lb/ft, 20 lb", clip(p.text), strings.Join(words, " "))
			return item, false
		}
	}
	if ws := p.words(); len(ws) > 1 {
		last, before := ws[len(ws)-1], ws[len(ws)-2]
		if _, isUnit := units.LookUp(last.text); !isUnit && formula.IsName(last.text) && !strings.ContainsAny(before.text[len(before.text)-1:], "+-*/") {
			r.fail(last.at, "no direction called %s; left, right, out, back, up, down, or anywhere", clip(last.text))
			return item, false
		}
	}
	item.Expr = r.formula(p)
	return item, true
}

// plainNumber reads digits with at most one point.
func plainNumber(s string) (float64, bool) {
	if s == "" || strings.Trim(s, "0123456789.") != "" {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// order reads the list of wishes.
func (r *reader) order(n *node) {
	items := n.items
	if n.kind == textNode {
		items = []*node{n}
	} else if n.kind == mapNode {
		r.fail(n.at, "order is a list of wishes, each on a line after a -")
		return
	}
	for _, it := range items {
		if it.kind == badNode {
			continue
		}
		if p, ok := r.text(it); ok {
			r.wish(p)
		}
	}
}

func (r *reader) wish(p piece) {
	w := Wish{At: p.at, Text: p.text}
	a, found, b := p.cutAt("first", "last", "before", "on")
	switch {
	case found.text == "before":
		w.Kind, w.B = Before, r.names(b)
	case (found.text == "first" || found.text == "last") && b.text == "":
		w.Kind = WishKind(found.text)
	case found.text == "on" && b.text == "the bench":
		w.Kind = Bench
	default:
		r.fail(p.at, "%s is not a wish; write NAMES first, NAMES last, NAMES before NAMES, or NAMES on the bench", clip(p.text))
		return
	}
	w.A = r.names(a)
	r.tree.Order = append(r.tree.Order, w)
}
