package solve

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// at writes a place of the design.
func (s *solver) at(p design.Pos) string {
	if p.Line == 0 {
		return ""
	}
	return design.Place(s.t.File, p)
}

// findingAt is what every finding has.
type findingAt struct {
	severity assembly.Severity
	code     string
	at       design.Pos
}

// placed is a finding with its place, for the order.
type placed struct {
	assembly.Finding
	pos design.Pos
}

// tell adds a finding.
func (s *solver) tell(f findingAt, parts []string, values map[string]float64, format string, args ...any) *assembly.Finding {
	if values == nil {
		values = map[string]float64{}
	}
	if parts == nil {
		parts = []string{}
	}
	s.findings = append(s.findings, placed{assembly.Finding{
		Code: f.code, Severity: f.severity, Text: fmt.Sprintf(format, args...), Parts: parts, Values: values,
		Repairs: []assembly.Repair{}, At: s.at(f.at),
	}, f.at})
	return &s.findings[len(s.findings)-1].Finding
}

// sortedFindings are all findings in file order, each once.
func (s *solver) sortedFindings() []assembly.Finding {
	sort.SliceStable(s.findings, func(i, j int) bool { return s.findings[i].pos.IsBefore(s.findings[j].pos) })
	out := []assembly.Finding{}
	seen := map[string]bool{}
	for _, f := range s.findings {
		key := f.Code + f.At + f.Text
		if !seen[key] {
			seen[key] = true
			out = append(out, f.Finding)
		}
	}
	return out
}

// placeOf is the place of the fitting or part of a path with that id.
func (s *solver) placeOf(id string) design.Pos {
	for _, n := range s.net.nodes {
		if n.name == id {
			return n.points[0].src.Name.At
		}
	}
	for _, l := range s.net.legs {
		for _, p := range l.parts {
			if p.id == id || p.id+".a" == id || p.id+".b" == id {
				return l.run.src.PathAt
			}
		}
	}
	return design.Pos{}
}

// inspect looks for what the builder must know of the parts as they are.
func (s *solver) inspect() {
	for _, n := range s.t.Notes {
		s.tell(findingAt{assembly.Note, "READING", n.At}, nil, nil, "%s", n.Text)
	}
	for _, n := range s.net.nodes {
		s.inspectNode(n)
	}
	for _, l := range s.net.legs {
		for _, g := range l.segs {
			for _, p := range g.pipes {
				s.inspectPipe(p)
			}
		}
	}
	s.avoidedParts()
	s.crossings(s.net.segs)
	s.outside()
	s.boardsApart()
	s.floating()
	s.boredAvoided()
	s.beyondReadings()
}

func (s *solver) inspectNode(n *node) {
	at := n.points[0].src.Name.At
	for _, note := range n.choice.Notes {
		severity := assembly.Note
		values := map[string]float64{}
		if note.Code == "ANGLE" {
			severity = assembly.Warn
			values["off_deg"] = note.Deg
		}
		s.tell(findingAt{severity, note.Code, at}, []string{n.name}, values, "%s", note.Text)
	}
	if n.avoided != nil {
		f := s.tell(findingAt{assembly.Stop, "AVOIDED", at}, []string{n.name}, nil, "%s", n.avoided.Error())
		for _, t := range n.avoided.Try {
			f.Repairs = append(f.Repairs, assembly.Repair{Text: t, Edits: []assembly.Edit{}})
		}
	}
	s.proud(n, at)
	s.bareEnd(n, at)
}

// proud reports a pipe that is screwed right through its flange.
func (s *solver) proud(n *node, at design.Pos) {
	if n.choice.Fitting.Kind != standard.Flange || len(n.lines) != 1 {
		return
	}
	by := -n.choice.Lines[0].TakeoutMM
	if n.choice.Pad != nil {
		by += n.choice.Pad.Fitting.Dims.MM(standard.DimHeight, "")
	}
	by -= n.lines[0].back(n)
	if by <= 1e-9 {
		return
	}
	p := n.choice.Fitting.Ports[len(n.choice.Fitting.Ports)-1]
	s.tell(findingAt{assembly.Stop, "PROUD", at}, []string{n.name}, map[string]float64{"proud_mm": by},
		"%s: the pipe's end stands %s proud of the flange's mounting face (%s engaged, the flange is %s high): the flange rocks; screw it less deep, or take a higher flange",
		n.name, s.length(by), s.length(p.Engagement.MM), s.length(p.ReachMM))
}

// back is how far the joint at this end is backed off by a clearance.
func (ln line) back(n *node) float64 {
	if ln.isEnd && ln.seg.b == n {
		return ln.seg.clearance
	}
	return 0
}

// bareEnd notes a free end that comes to a wall without being on it.
func (s *solver) bareEnd(n *node, at design.Pos) {
	if len(n.lines) != 1 || n.on != nil || n.ask != nil {
		return
	}
	dir := n.lines[0].seg.dir
	if !n.lines[0].isEnd {
		dir = dir.Neg()
	}
	for _, name := range design.SurfaceNames {
		f, ok := s.surfaces[name]
		if !ok {
			continue
		}
		off := coords(n.at)[f.axis] - f.face.At(n.at)
		into := f.face.Normal(n.at).Dot(dir)
		if math.Abs(off) <= Agreement && into < -throughCos {
			s.tell(findingAt{assembly.Note, "NOT-ON", at}, []string{n.name}, nil, "%s ends at the %s but is not on it: write %s for a flange, or say cap under fittings",
				n.name, f.words(), name)
		}
	}
}

// inspectPipe reports a pipe that is too short for two threads, or longer than any that is sold.
func (s *solver) inspectPipe(p *pipe) {
	if most := s.fullStick(p.size); p.length > most.MM+stockAgreement {
		f := s.tell(findingAt{assembly.Warn, "LONG-PIPE", p.seg.leg.run.src.PathAt}, []string{p.id},
			map[string]float64{"length_mm": p.length, "most_mm": most.MM},
			"%s would be one piece of %s; the longest %s pipe to be had is %s: put a coupling on its way (%s to coupling to %s), or list a longer one under parts, %s: stock",
			p.label(), s.length(p.length), p.size, s.length(most.MM), p.seg.a.name, p.seg.b.name, p.size)
		f.Source = most.Source
	}
	least := s.closeNipple(p.size)
	if p.length >= least-stockAgreement {
		return
	}
	f := s.tell(findingAt{assembly.Stop, "SHORT-NIPPLE", p.seg.leg.run.src.PathAt}, []string{p.id},
		map[string]float64{"length_mm": p.length, "least_mm": least}, "%s", s.tooShort(p))
	f.Source = "shortest nipple with two threads: " + standard.CloseNipple(s.pipeFamily(p.size), p.size).Source
	need := least - p.length
	f.Repairs = []assembly.Repair{
		{Text: fmt.Sprintf("move %s and %s %s further apart", p.seg.a.name, p.seg.b.name, s.length(need)), Edits: []assembly.Edit{}},
		{Text: "a street elbow at one end needs no pipe there", Edits: []assembly.Edit{}},
	}
}

// stretch is the pipe of one segment, for crossings.
type stretch struct {
	seg *segment
	box geom.Box
	r   float64
}

// touching is how much nearer than their pipes are thick two lines may be, in mm, before they count as crossing.
const touching = Agreement

// maxCrossings bounds the crossings that are told: who has read so many draws the frame anew.
const maxCrossings = 100

// areApart tells whether boxes share no point; it is asked of every two pipes.
func areApart(a, b *geom.Box) bool {
	return a.Min.X > b.Max.X || b.Min.X > a.Max.X || a.Min.Y > b.Max.Y || b.Min.Y > a.Max.Y || a.Min.Z > b.Max.Z || b.Min.Z > a.Max.Z
}

// crossings reports segments nearer than their pipes are thick that share no node.
func (s *solver) crossings(segs []*segment) {
	most := len(s.findings) + maxCrossings
	var all []stretch
	for _, g := range segs {
		od, _ := s.pipeOD(g.leg.run.size)
		all = append(all, stretch{g, geom.BoxOf(g.a.at, g.b.at).Grow(od / 2), od / 2})
	}
	order := make([]int, len(all))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return all[order[i]].box.Min.X < all[order[j]].box.Min.X })
	var active []int
	for _, i := range order {
		kept := active[:0]
		for _, j := range active {
			if all[j].box.Max.X < all[i].box.Min.X {
				continue
			}
			kept = append(kept, j)
			if s.crossing(&all[min(i, j)], &all[max(i, j)]); len(s.findings) >= most {
				return
			}
		}
		active = append(kept, i)
	}
}

func (s *solver) crossing(x, y *stretch) {
	if areApart(&x.box, &y.box) || x.seg.a == y.seg.a || x.seg.a == y.seg.b || x.seg.b == y.seg.a || x.seg.b == y.seg.b {
		return
	}
	p, q := nearest(x.seg.a.at, x.seg.b.at, y.seg.a.at, y.seg.b.at)
	gap := p.Sub(q).Len()
	if gap >= x.r+y.r-touching {
		return
	}
	at := p.Lerp(q, 0.5)
	one, two := y.seg, x.seg
	parts := []string{}
	for _, g := range []*segment{one, two} {
		for _, pipe := range g.pipes {
			parts = append(parts, pipe.id)
		}
	}
	s.tell(findingAt{assembly.Stop, "CROSSING", one.leg.run.src.PathAt}, parts, map[string]float64{"apart_mm": gap, "thick_mm": x.r + y.r},
		"%s passes through %s at %s, %s, %s with no point there: add one to both paths, or move one",
		one.leg.run.id, two.leg.run.id, s.num(at.X), s.num(at.Y), s.num(at.Z))
}

// nearest are the two nearest points of two stretches (Ericson, Real-Time Collision Detection, 2005, section 5.1.9,
// from memory; checked against sampling in tests).
func nearest(p1, q1, p2, q2 geom.Vec) (geom.Vec, geom.Vec) {
	d1, d2, r := q1.Sub(p1), q2.Sub(p2), p1.Sub(p2)
	a, e, f := d1.Dot(d1), d2.Dot(d2), d2.Dot(r)
	c, b := d1.Dot(r), d1.Dot(d2)
	unit := func(v float64) float64 { return max(0, min(1, v)) }
	s, t := 0.0, 0.0
	if den := a*e - b*b; den > 1e-12*a*e {
		s = unit((b*f - c*e) / den)
	}
	if e > 0 {
		t = (b*s + f) / e
	}
	if t < 0 || t > 1 {
		t = unit(t)
		if a > 0 {
			s = unit((b*t - c) / a)
		}
	}
	return p1.Add(d1.Mul(s)), p2.Add(d2.Mul(t))
}

// standing are the surfaces that stand and whose place is known.
func (s *solver) standing() []*surface {
	var out []*surface
	for _, name := range design.SurfaceNames {
		if f, ok := s.surfaces[name]; ok && s.surfaceUse[name] && f.face != nil {
			out = append(out, f)
		}
	}
	return out
}

// pipesOutside reports segments that reach into a surface of the room, once for every point: of the segments that meet
// there, the one that reaches deepest is named. It returns the points told, by surface.
func (s *solver) pipesOutside(segs []*segment) map[*surface][]*node {
	told := map[*surface][]*node{}
	for _, f := range s.standing() {
		var at []*node
		worst := map[*node]*reaching{}
		for _, g := range segs {
			od, _ := s.pipeOD(g.leg.run.size)
			for _, n := range []*node{g.a, g.b} {
				deep := f.pipeDepth(g, n, od/2)
				if deep <= Agreement {
					continue
				}
				if worst[n] == nil {
					worst[n] = &reaching{parts: []string{n.name}}
					at = append(at, n)
				}
				worst[n].add(g, deep)
			}
		}
		told[f] = at
		for _, n := range at {
			r := worst[n]
			s.tell(findingAt{s.severityOf(f), "OUTSIDE", n.points[0].src.Name.At}, r.parts, map[string]float64{"deep_mm": r.deep},
				"%s: %s reaches %s into the %s there; move the point, or put it on the surface by name", n.name, r.run, s.length(r.deep), f.words())
		}
	}
	return told
}

// reaching is what reaches into a surface at one point, and how deep.
type reaching struct {
	parts []string
	run   string
	deep  float64
}

func (r *reaching) add(g *segment, deep float64) {
	if deep > r.deep {
		r.run, r.deep = g.leg.run.id, deep
	}
	for _, p := range g.pipes {
		r.parts = append(r.parts, p.id)
	}
}

// outside reports pipes and boards that reach into a surface of the room.
func (s *solver) outside() {
	told := s.pipesOutside(s.net.segs)
	for _, f := range s.standing() {
		s.capsOutside(f, told[f])
		for _, b := range s.boards {
			deep := 0.0
			for _, c := range finishedBox(b.box).Corners() {
				deep = max(deep, f.depth(c))
			}
			if deep > LieAgreement {
				s.tell(findingAt{s.severityOf(f), "OUTSIDE", b.src.Name.At}, []string{b.id}, map[string]float64{"deep_mm": deep},
					"%s reaches %s into the %s; make it smaller, or move it", b.id, s.length(deep), f.words())
			}
		}
	}
}

// pipeDepth is how deep one end of a segment reaches into a surface; 0 where it sits on it.
func (f *surface) pipeDepth(g *segment, n *node, r float64) float64 {
	for _, p := range n.points {
		if on := p.coord[f.axis].on; on != nil && on.surface == f.name {
			return 0
		}
	}
	along := f.face.Normal(n.at).Dot(g.dir)
	return f.depth(n.at) + r*math.Sqrt(max(0, 1-along*along))
}

// capsOutside reports caps that reach into a surface: a cap comes on top of the pipe's end, which is the point.
// Those of points that are told already are left out.
func (s *solver) capsOutside(f *surface, told []*node) {
	for _, n := range s.net.nodes {
		if slices.Contains(told, n) || n.choice.Fitting.Kind != standard.Cap || n.on != nil || len(n.lines) != 1 {
			continue
		}
		end := s.part(n.name)
		deep := f.depth(finished(end.Pose.Apply(geom.V(0, 0, end.Dims.MM(standard.DimHeight, "")))))
		if deep > Agreement {
			s.tell(findingAt{s.severityOf(f), "OUTSIDE", n.points[0].src.Name.At}, []string{n.name}, map[string]float64{"deep_mm": deep},
				"%s: the cap on the pipe's end reaches %s into the %s; end the pipe sooner, or put the point on the surface", n.name, s.length(deep), f.words())
		}
	}
}

// isBeyond tells whether a place is further out than the outermost reading, by more than two lengths agree.
func (f *surface) isBeyond(at geom.Vec) bool {
	for i, leans := range f.along {
		in, out := coords(at), coords(at)
		in[i], out[i] = in[i]-Agreement, out[i]+Agreement
		if leans && f.face.IsBeyond(vec(in)) && f.face.IsBeyond(vec(out)) {
			return true
		}
	}
	return false
}

// severityOf is how bad it is to reach into a surface: the floor stands even where no line of the file names it, but
// then a frame may have been drawn without a thought of it.
func (s *solver) severityOf(f *surface) assembly.Severity {
	if s.surfaceNamed[f.name] {
		return assembly.Stop
	}
	return assembly.Warn
}

// depth is how deep a place lies in the material behind a surface; below zero in the room.
func (f *surface) depth(at geom.Vec) float64 {
	d := coords(at)[f.axis] - f.face.At(at)
	if f.below {
		return -d
	}
	return d
}

// words is the surface in a sentence.
func (f *surface) words() string { return (&contact{surface: f.name, axis: f.axis}).words() }

// boardsApart reports boards that share wood.
func (s *solver) boardsApart() {
	most := len(s.findings) + maxCrossings
	for i, a := range s.boards {
		for _, b := range s.boards[:i] {
			if areApart(&a.box, &b.box) {
				continue
			}
			in := a.box.Intersect(b.box)
			if in.IsEmpty() || thinnest(in) <= LieAgreement {
				continue
			}
			s.tell(findingAt{assembly.Stop, "CROSSING", a.src.Name.At}, []string{a.id, b.id}, map[string]float64{"overlap_mm": thinnest(in)},
				"the boards %s and %s are in one place, %s deep; move one of them", a.id, b.id, s.length(thinnest(in)))
			if len(s.findings) >= most {
				return
			}
		}
	}
}

// floating reports boards that nothing carries and nothing is fastened to, and a frame that hangs in the air.
func (s *solver) floating() {
	touched := map[string]bool{}
	for _, j := range s.out.Joints {
		touched[j.A.Part], touched[j.B.Part] = true, true
	}
	if !touched[roomID] && len(s.net.legs) > 0 {
		run := s.net.legs[0].run
		s.tell(findingAt{assembly.Note, "UNHELD", run.src.PathAt}, nil, nil,
			"no part of the frame stands on the floor or is fastened to a wall or the ceiling: write floor, back, left ... for a coordinate of the points that do")
	}
	for _, b := range s.boards {
		if !touched[b.id] {
			s.tell(findingAt{assembly.Warn, "FLOATING", b.src.Name.At}, []string{b.id}, nil,
				"%s touches nothing that could carry it: give its height as ? with lies-on, or move it", b.id)
		}
	}
}

// avoidedParts reports parts named in a path that the design does not want.
func (s *solver) avoidedParts() {
	for _, w := range s.t.Avoid {
		for _, l := range s.net.legs {
			for _, p := range l.parts {
				if string(p.kind) == w.Text {
					s.tell(findingAt{assembly.Stop, "AVOIDED", l.run.src.PathAt}, []string{}, nil,
						"%s: a %s is named in the path of %s, and it is under avoid; take it out of one of the two", p.id, p.kind.Words(), l.run.id)
				}
			}
		}
	}
}

// boredAvoided reports boards that pipes pass through where the design does not want that.
func (s *solver) boredAvoided() {
	for _, w := range s.t.Avoid {
		if w.Text != "bored" {
			continue
		}
		told := map[*board]bool{}
		for _, b := range s.boredBoards {
			if told[b] {
				continue
			}
			told[b] = true
			f := s.tell(findingAt{assembly.Stop, "AVOIDED", b.src.Name.At}, []string{b.id}, nil,
				"%s: a pipe passes through this board, and bored is under avoid; let it lie on rungs with straps, or put flanges above and below", b.id)
			f.Repairs = []assembly.Repair{
				{Text: "let the board lie on rungs, with straps", Edits: []assembly.Edit{}},
				{Text: "end the pipes on flanges above and below the board", Edits: []assembly.Edit{}},
			}
		}
	}
}

// beyondReadings notes points on a surface outside the places where it was read: it is taken to go on level there.
func (s *solver) beyondReadings() {
	told := map[string]bool{}
	for _, n := range s.net.nodes {
		if n.on == nil || n.on.surface == "" || told[n.on.surface] {
			continue
		}
		f := s.surfaces[n.on.surface]
		if f.isBeyond(n.at) {
			told[n.on.surface] = true
			s.tell(findingAt{assembly.Note, "READING", n.points[0].src.Name.At}, []string{n.name}, nil,
				"%s lies beyond the outer readings of the %s, which is taken to go on level there; a reading near it would settle it", n.name, n.on.words())
		}
	}
}
