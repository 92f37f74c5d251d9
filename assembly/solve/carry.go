package solve

import (
	"fmt"
	"sort"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// carry resolves loads and wishes, which later stages use.
func (s *solver) carry() {
	for _, sc := range s.scopes {
		for i := range sc.body.Loads {
			s.carryLoads(sc, &sc.body.Loads[i])
		}
	}
	s.carryAvoid()
	for i := range s.t.Order {
		w := &s.t.Order[i]
		s.out.Wishes = append(s.out.Wishes, assembly.Wish{
			Kind: string(w.Kind), A: s.partsOfAll(w.A), B: s.partsOfAll(w.B), Text: w.Text, At: s.at(w.At),
		})
	}
}

// checkCarried evaluates what is carried and needs no solved frame, so that its faults are told with the others.
func (s *solver) checkCarried() {
	s.tolerance()
	for _, sc := range s.scopes {
		for i := range sc.body.Loads {
			for k := range sc.body.Loads[i].Items {
				s.loadOf(sc, &sc.body.Loads[i].Items[k])
			}
		}
	}
	for i := range s.t.Parts {
		s.carryPrices(&s.t.Parts[i])
	}
	s.tellWayIn()
	for _, name := range design.SurfaceNames {
		if f, ok := s.surfaces[name]; ok && f.src != nil {
			s.checkSurfaceFormulas(f)
		}
	}
}

// poundsPerFoot turns pounds along a foot into newtons per metre.
var poundsPerFoot = float64(units.PoundForce) / float64(units.Foot/units.Metre)

// directions are the words for directions, in the finished frame: out is towards you, hence negative y.
var directions = map[string]geom.Vec{
	"": {Z: -1}, "down": {Z: -1}, "up": {Z: 1}, "left": {X: -1}, "right": {X: 1}, "out": {Y: -1}, "back": {Y: 1},
}

func (s *solver) carryLoads(sc *scope, l *design.Load) {
	t, ok := s.find(sc, l.On.Text)
	if !ok {
		s.errs.add(l.On.At, "no run, board or point called %s", l.On.Text)
		return
	}
	for _, one := range s.each(t) {
		for i := range l.Items {
			s.carryLoad(sc, &l.Items[i], one)
		}
	}
}

// named is one thing with the parts that it is made of.
type namedParts struct {
	name  string
	parts []string
}

// each lists the single things that a name stands for.
func (s *solver) each(t thing) []namedParts {
	switch {
	case len(t.boards) > 0:
		var out []namedParts
		for _, b := range t.boards {
			out = append(out, namedParts{b.id, []string{b.id}})
		}
		return out
	case len(t.many) > 0:
		var out []namedParts
		for _, m := range t.many {
			out = append(out, s.each(m)...)
		}
		return out
	case t.board != nil:
		return []namedParts{{t.board.id, []string{t.board.id}}}
	case t.run != nil:
		return []namedParts{{t.run.id, s.partsOfRun(t.run)}}
	case t.point != nil:
		return []namedParts{{t.point.id, s.partsOfPoint(t.point)}}
	}
	var out []namedParts
	for _, sc := range t.scopes {
		out = append(out, namedParts{sc.path, s.partsOfScope(sc)})
	}
	return out
}

func (s *solver) partsOfRun(r *run) []string {
	out := []string{}
	for _, p := range r.pipes() {
		out = append(out, p.id)
	}
	return out
}

// partsOfPoint is the fitting at a point, or else the pipe's end there.
func (s *solver) partsOfPoint(p *point) []string {
	n := s.net.of[p]
	if n == nil {
		return []string{}
	}
	if s.part(n.name) != nil {
		return []string{n.name}
	}
	if len(n.lines) > 0 && len(n.lines[0].seg.pipes) > 0 {
		pipes := n.lines[0].seg.pipes
		if n.lines[0].isEnd {
			return []string{pipes[len(pipes)-1].id}
		}
		return []string{pipes[0].id}
	}
	return []string{}
}

// partsOfScope are all parts whose names begin with the copy's.
func (s *solver) partsOfScope(sc *scope) []string {
	out := []string{}
	for i := range s.out.Parts {
		if strings.HasPrefix(s.out.Parts[i].ID, sc.path+".") {
			out = append(out, s.out.Parts[i].ID)
		}
	}
	return out
}

// partsOfAll are the parts that a list of names stands for, each once.
func (s *solver) partsOfAll(names []design.Name) []string {
	out := []string{}
	seen := map[string]bool{}
	for _, n := range names {
		t, ok := s.find(s.root, n.Text)
		if !ok {
			if s.part(n.Text) != nil { // a cleat, or a part by its own name
				t.scopes = nil
				if !seen[n.Text] {
					seen[n.Text] = true
					out = append(out, n.Text)
				}
				continue
			}
			s.errs.add(n.At, "no part, point, run, board or group called %s", n.Text)
			continue
		}
		for _, one := range s.each(t) {
			for _, id := range one.parts {
				if !seen[id] {
					seen[id] = true
					out = append(out, id)
				}
			}
		}
	}
	return out
}

func (s *solver) carryLoad(sc *scope, item *design.LoadItem, on namedParts) {
	out, ok := s.loadOf(sc, item)
	if !ok {
		return
	}
	out.On, out.Parts = on.name, on.parts
	s.out.Loads = append(s.out.Loads, out)
}

// loadOf works out one load, without what it acts on.
func (s *solver) loadOf(sc *scope, item *design.LoadItem) (assembly.Load, bool) {
	out := assembly.Load{Dir: s.directionIn(sc, item.Dir), Anywhere: item.Anywhere, At: s.at(item.At)}
	if item.Word != "" {
		for _, w := range design.LoadWords {
			if w.Word == item.Word {
				out.PerMetre = w.PoundsPerFt * poundsPerFoot
			}
		}
		return out, true
	}
	v, err := item.Expr.Eval(env{s: s, sc: sc})
	if err != nil {
		s.errs.formulaFault(err, item.At)
		return out, false
	}
	text := item.Expr.Text
	if n, ok := v.InForce(); ok {
		out.Newtons = float64(n)
	} else if n, ok := v.InForcePerLength(); ok {
		out.PerMetre = float64(n)
	} else if v.Kind == formula.Number {
		s.errs.add(item.At, "%s what? %s lb/ft along it, or %s lb in all", text, text, text)
		return out, false
	} else {
		s.errs.add(item.At, "%s is %s; a load wants a weight or a force, or one of them per length", text, v.Kind)
		return out, false
	}
	if out.Newtons < 0 || out.PerMetre < 0 || out.Newtons+out.PerMetre == 0 {
		s.errs.add(item.At, "%s: a load must be more than zero", text)
		return out, false
	}
	return out, true
}

// directionIn is the direction of a word. In a mirrored copy left and right change places, out and back too; down stays
// down.
func (s *solver) directionIn(sc *scope, word string) geom.Vec {
	dir := directions[word]
	if flip, err := s.flipped(sc, 0); err == nil && flip && dir.X != 0 {
		dir.X = -dir.X
	}
	if flip, err := s.flipped(sc, 1); err == nil && flip && dir.Y != 0 {
		dir.Y = -dir.Y
	}
	return dir
}

// carryPrices resolves what parts cost, and how many are in hand.
func (s *solver) carryPrices(p *design.PartEntry) {
	e := env{s: s, sc: s.root}
	have := 0
	isPipe := p.Kind == standard.Pipe || p.Kind == ""
	for _, h := range p.Have {
		if isPipe { // pieces of pipe by their lengths
			v, err := s.positive(h, e, "a length in hand")
			s.errs.formulaFault(err, p.HaveAt)
			s.out.Prices = append(s.out.Prices, assembly.Price{Kind: standard.Pipe, Size: assembly.Sizes(p.Sizes), Length: v, Have: 1, At: s.at(p.HaveAt)})
			continue
		}
		v, err := h.EvalNumber(e, "a number in hand")
		s.errs.formulaFault(err, p.HaveAt)
		have = int(v)
	}
	base := assembly.Price{Kind: p.Kind, Size: assembly.Sizes(p.Sizes), Have: have, At: s.at(p.KeyAt)}
	for _, price := range p.Prices {
		one := base
		one.Amount, one.Unit, one.At = price.Amount, price.Unit, s.at(price.At)
		if price.Length != nil {
			v, err := s.positive(price.Length, e, "a length")
			s.errs.formulaFault(err, price.At)
			one.Kind, one.Length = standard.Pipe, v
		}
		s.out.Prices = append(s.out.Prices, one)
	}
	if len(p.Prices) == 0 && have > 0 {
		s.out.Prices = append(s.out.Prices, base)
	}
}

// assume lists the defaults that mattered, each once, with the key that changes it.
func (s *solver) assume() {
	s.assumeThreads()
	s.assumeDims()
	for _, name := range design.SurfaceNames {
		f, ok := s.surfaces[name]
		if ok && s.surfaceUse[name] && s.touches(name) && (f.src == nil || len(f.src.Face) == 0) {
			s.assumeThat(fmt.Sprintf("the %s is flat, at 0", f.words()), "room: "+name)
		}
	}
	for _, n := range s.net.nodes {
		if n.on == nil || n.on.surface == "" || n.choice.Fitting.Kind != standard.Flange || n.ask != nil && n.ask.src.Loose {
			continue
		}
		if f := s.surfaces[n.on.surface]; f.src == nil || f.src.Made == nil {
			s.assumeThat(fmt.Sprintf("it is not said what the %s is made of; whether screws hold there is not checked", n.on.words()), "room: "+n.on.surface+": made")
		}
	}
	for _, b := range s.boards {
		if b.src.Wood.Text == "" {
			name := b.src.Name.Text
			s.assumeThat(name+" is of pine", "boards: "+name+": of")
		}
	}
}

// touches tells whether a point lies on a surface, or something stands on the floor.
func (s *solver) touches(name string) bool {
	for _, p := range s.points {
		for i := range p.coord {
			if on := p.coord[i].on; on != nil && on.surface == name {
				return true
			}
		}
	}
	if name != "floor" {
		return false
	}
	for _, j := range s.out.Joints {
		if j.B.Part == roomID && j.Kind == assembly.Rest {
			return true
		}
	}
	return false
}

func (s *solver) assumeThat(text, key string) {
	if s.assumed[text] {
		return
	}
	s.assumed[text] = true
	s.out.Assumptions = append(s.out.Assumptions, assembly.Assumption{Text: text, Key: key})
}

// assumeThreads tells how deep threads are taken to go in, by size, unless the design measured them.
func (s *solver) assumeThreads() {
	cat, _ := s.catalogue()
	sizes := map[standard.Size]bool{}
	for _, r := range s.runs {
		sizes[r.size] = true
	}
	var list []standard.Size
	for k := range sizes {
		list = append(list, k)
	}
	sort.Slice(list, func(i, j int) bool { return standard.Less(list[i], list[j]) })
	for _, k := range list {
		e, given, err := cat.Engagement("", k)
		if err != nil || given || e.Grade == standard.Measured {
			continue
		}
		s.assumeThat(fmt.Sprintf("%s in threads go in %s (%s)", k, s.length(e.MM), e.Source), fmt.Sprintf("make-up, or parts: %s: engagement", k))
	}
	if s.t.Thread == standard.BSPT {
		s.assumeThat("internal threads are parallel, as ISO 7-1 fittings mostly are", "parts: thread: bspt taper")
	}
}

// weakGrades are the grades of figures that the builder should measure.
var weakGrades = map[standard.Grade]bool{
	standard.MemoryLow: true, standard.MemoryMedium: true, standard.CommonPractice: true,
}

// assumeDims tells which dimensions that went into cut lengths are weak.
func (s *solver) assumeDims() {
	dims := []string{standard.DimHeight, standard.DimLength}
	for i := range s.out.Parts {
		p := &s.out.Parts[i]
		switch p.Kind {
		case standard.Flange, standard.Union, standard.Glide, standard.Caster, standard.RightLeft, standard.LongScrew:
		default:
			continue
		}
		for _, d := range dims {
			f, ok := p.Dims[d]
			if !ok || !weakGrades[f.Grade] {
				continue
			}
			size, named := "", ""
			if len(p.Size) > 0 {
				size = string(p.Size[0]) + " "
				named = p.Size[:1].Words() + " "
			}
			word := map[string]string{standard.DimHeight: "high", standard.DimLength: "long"}[d]
			s.assumeThat(fmt.Sprintf("%s%s: taken as %s %s; measure yours", named, p.Kind.Words(), s.length(f.MM), word),
				fmt.Sprintf("parts: %s%s: %s", size, p.Kind, d))
		}
	}
}
