package solve

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"turnwise/assembly/design"
	"turnwise/assembly/joinery"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// run is one run of one copy.
type run struct {
	sc   *scope
	src  *design.Run
	id   string
	size standard.Size
	legs []*leg
	// doubtful is a run in whose entry reading found a fault.
	doubtful bool
	broken   bool // not all its legs could be laid, or not all its cuts are known
	miscut   bool // it has not as many cuts as pipes
}

// ask is one entry under fittings, in one copy.
type ask struct {
	sc  *scope
	src *design.Fitting
}

// network is the graph of centre lines at one round: nodes where fittings sit, and the segments between them.
type network struct {
	nodes []*node
	legs  []*leg
	segs  []*segment
	of    map[*point]*node
	byX   []*node // by rising x
	flat  []*leg  // whose ends are in one place
}

// node is a place where something joins or ends pipes. Points nearer than Agreement are one node.
type node struct {
	body    int    // its place among the bodies that may be shifted
	name    string // of the fitting: its point's id
	points  []*point
	at      geom.Vec // design axes
	ask     *ask
	lines   []line
	site    joinery.Site
	choice  joinery.Choice
	fault   *joinery.Fault
	unsure  bool           // its place hangs on a distance that was not found
	kept    bool           // its fault is told even where what a pipe takes up is not known
	skipped bool           // what meets here is not known, or too many others have faults
	avoided *joinery.Fault // the design would rather not have what is needed here
	on      *contact       // the surface that the fitting meets, or nil
	out     geom.Vec       // out of that surface, design axes
}

// line is a segment as seen from a node.
type line struct {
	seg   *segment
	isEnd bool // the node is the segment's end b
}

// leg is the stretch of a run between two points of its path.
type leg struct {
	run      *run
	index    int // 0 for the first
	from, to *point
	toItem   int // of the path: index of the point at its end
	a, b     *node
	parts    []*inline
	segs     []*segment
}

// inline is a part named in a path.
type inline struct {
	kind    standard.Kind
	id      string
	fitting standard.Fitting
	// offset is how far the middle is from the segment's start.
	offset float64
}

// segment is the stretch of a leg between two neighbouring nodes.
type segment struct {
	leg          *leg
	a, b         *node
	dir          geom.Vec // from a to b, design axes
	dist         float64
	useA, useB   joinery.Use
	parts        []*inline
	pipes        []*pipe
	clearance    float64
	spreadOut    bool // the parts sit where the leg is divided evenly
	lineA, lineB int  // indices in the nodes' lines
}

// pipe is one piece of pipe.
type pipe struct {
	seg     *segment
	id      string
	size    standard.Size
	cut     *design.Cut // nil: rest
	given   bool        // its length is given: a number, or close
	length  float64
	start   float64 // from the segment's start to its end a
	left    string
	running string
	fitting standard.Fitting
}

// weave makes the network from where the points are now.
func (s *solver) weave() *network {
	n := &network{of: map[*point]*node{}}
	s.gather(n)
	for _, r := range s.runs {
		r.legs, r.broken, r.miscut = r.legs[:0], r.doubtful, false
		s.layLegs(n, r)
	}
	n.byX = append(n.byX, n.nodes...)
	sort.SliceStable(n.byX, func(i, j int) bool { return n.byX[i].at.X < n.byX[j].at.X })
	for _, l := range n.legs {
		s.divide(l, n.passing(l))
		n.segs = append(n.segs, l.segs...)
		if l.run.doubtful {
			l.skip()
		}
		if len(n.segs) > MaxSets {
			s.full = true
			s.errs.add(l.run.src.PathAt, "the runs up to %s make more than %d pipes; nothing that large is built by hand", l.run.id, MaxSets)
			return n
		}
	}
	kept := n.nodes[:0]
	for _, node := range n.nodes {
		if len(node.lines) > 0 || node.ask != nil {
			kept = append(kept, node)
		}
	}
	n.nodes = kept
	return n
}

// gather makes a node of every place that a leg takes in: points of paths, points with an entry under fittings, and
// points on a board's underside.
func (s *solver) gather(n *network) {
	g := grid{}
	for _, r := range s.runs {
		for _, p := range s.pathPoints(r) {
			n.take(s, g, p)
		}
	}
	for _, f := range s.fittings {
		t, ok := s.find(f.sc, f.src.Point.Text)
		if !ok || t.point == nil {
			continue
		}
		node := n.take(s, g, t.point)
		if node == nil {
			continue
		}
		if node.ask != nil {
			s.errs.add(f.src.Point.At, "%s already has an entry under fittings in line %d", t.point.id, node.ask.src.Point.At.Line)
			continue
		}
		node.ask, node.name = f, t.point.id
	}
	s.doubtFittings(n)
	for _, p := range s.points {
		if on := p.coord[2].on; on != nil && on.board != nil && !on.high {
			n.take(s, g, p)
		}
	}
}

// pathPoints are the points of a run's path that there are.
func (s *solver) pathPoints(r *run) []*point {
	var out []*point
	for _, item := range r.src.Path {
		if item.Part != "" {
			continue
		}
		if t, ok := s.find(r.sc, item.Name.Text); ok && t.point != nil {
			out = append(out, t.point)
		} else {
			s.errs.formulaFault(s.noSuch(item.Name.At, "point", item.Name.Text), item.Name.At)
		}
	}
	return out
}

// grid finds points in one place.
type grid map[[3]int64][]*node

// gridStep is the side of the grid's cells, in mm: more than twice Agreement, so that neighbours are in touching cells.
const gridStep = 2.0

func gridKey(v geom.Vec) [3]int64 {
	return [3]int64{int64(math.Floor(v.X / gridStep)), int64(math.Floor(v.Y / gridStep)), int64(math.Floor(v.Z / gridStep))}
}

// take puts a point into the node where it is.
func (n *network) take(s *solver, g grid, p *point) *node {
	if at, ok := n.of[p]; ok {
		return at
	}
	v, err := s.place(p)
	if err != nil {
		return nil
	}
	k := gridKey(v)
	var found *node
	for dx := int64(-1); dx <= 1 && found == nil; dx++ {
		for dy := int64(-1); dy <= 1 && found == nil; dy++ {
			for dz := int64(-1); dz <= 1 && found == nil; dz++ {
				for _, o := range g[[3]int64{k[0] + dx, k[1] + dy, k[2] + dz}] {
					if o.at.Near(v, Agreement) {
						found = o
						break
					}
				}
			}
		}
	}
	if found == nil {
		found = &node{name: p.id, at: v}
		n.nodes = append(n.nodes, found)
		g[k] = append(g[k], found)
	}
	found.points = append(found.points, p)
	n.of[p] = found
	return found
}

// layLegs makes the legs of a run.
func (s *solver) layLegs(n *network, r *run) {
	var last *point
	lost := false // the point before this one is not known
	var parts []*inline
	count := map[standard.Kind]int{}
	for i, item := range r.src.Path {
		if item.Part != "" {
			count[item.Part]++
			parts = append(parts, &inline{kind: item.Part, id: fmt.Sprintf("%s.%s-%d", r.id, item.Part, count[item.Part])})
			continue
		}
		t, ok := s.find(r.sc, item.Name.Text)
		if !ok || t.point == nil {
			n.miss(last, r)
			last, lost = nil, true
			continue
		}
		if lost {
			n.miss(t.point, r)
			lost, parts = false, nil
		}
		if n.of[t.point] == nil || last != nil && n.of[last] == nil { // a point that has no place: its fault is known
			n.miss(last, r)
			n.miss(t.point, r)
		} else if last != nil {
			l := &leg{run: r, index: len(r.legs), from: last, to: t.point, toItem: i, a: n.of[last], b: n.of[t.point], parts: parts}
			parts = nil
			if l.a == l.b {
				n.flat = append(n.flat, l)
			} else {
				r.legs = append(r.legs, l)
				n.legs = append(n.legs, l)
			}
		}
		last = t.point
	}
}

// miss notes that a leg at a point cannot be laid: what its node would need is not known.
func (n *network) miss(p *point, r *run) {
	r.broken = true
	if p != nil && n.of[p] != nil {
		n.of[p].skipped = true
	}
}

// passing lists the nodes that a leg passes on its way, in order.
func (n *network) passing(l *leg) []*node {
	dir := l.b.at.Sub(l.a.at)
	length := dir.Len()
	dir = dir.Unit()
	box := geom.BoxOf(l.a.at, l.b.at).Grow(Agreement)
	type hit struct {
		node *node
		t    float64
	}
	var hits []hit
	from := sort.Search(len(n.byX), func(i int) bool { return n.byX[i].at.X >= box.Min.X })
	for _, o := range n.byX[from:] {
		if o.at.X > box.Max.X {
			break
		}
		if o == l.a || o == l.b || !box.Contains(o.at) {
			continue
		}
		off := o.at.Sub(l.a.at)
		t := off.Dot(dir)
		if t > Agreement && t < length-Agreement && off.Sub(dir.Mul(t)).Len() <= Agreement {
			hits = append(hits, hit{o, t})
		}
	}
	sort.SliceStable(hits, func(i, j int) bool { return hits[i].t < hits[j].t })
	out := make([]*node, len(hits))
	for i, h := range hits {
		out[i] = h.node
	}
	return out
}

// divide makes the segments of a leg, and gives each part of the path to the segment in which it lies.
func (s *solver) divide(l *leg, via []*node) {
	stops := append(append([]*node{l.a}, via...), l.b)
	length := l.b.at.Sub(l.a.at).Len()
	done, start := 0, 0.0
	for i := 1; i < len(stops); i++ {
		g := &segment{leg: l, a: stops[i-1], b: stops[i]}
		way := g.b.at.Sub(g.a.at)
		g.dist, g.dir = way.Len(), way.Unit()
		for ; done < len(l.parts); done++ {
			at := length * float64(done+1) / float64(len(l.parts)+1)
			if at > start+g.dist && i < len(stops)-1 {
				break
			}
			p := l.parts[done]
			p.offset = at - start
			g.parts = append(g.parts, p)
		}
		start += g.dist
		g.lineA, g.lineB = len(g.a.lines), len(g.b.lines)
		g.a.lines = append(g.a.lines, line{seg: g})
		g.b.lines = append(g.b.lines, line{seg: g, isEnd: true})
		l.segs = append(l.segs, g)
	}
}

// choose picks the fitting of every node.
func (s *solver) choose(n *network) {
	cat, err := s.catalogue()
	if err != nil {
		return
	}
	avoid := map[standard.Kind]bool{}
	for _, w := range s.t.Avoid {
		avoid[standard.Kind(w.Text)] = true
	}
	faults := 0
	for _, node := range n.nodes {
		s.meet(node)
		node.site.Avoid = avoid
		if node.skipped || faults >= maxFaults {
			node.choice, node.skipped = joinery.Choice{}, true
		} else {
			s.chooseAt(cat, node)
		}
		if node.fault != nil {
			faults++
		}
		node.tellSegments()
	}
	for _, l := range n.legs {
		for _, p := range l.parts {
			p.fitting, err = cat.Fitting(p.kind, []standard.Size{l.run.size})
			if err != nil {
				s.errs.add(l.run.src.PathAt, "%s: %s", l.run.id, err)
			}
		}
	}
}

// tellSegments hands what the fitting takes off to the segments that meet it.
func (n *node) tellSegments() {
	for i, ln := range n.lines {
		var u joinery.Use
		if i < len(n.choice.Lines) {
			u = n.choice.Lines[i]
		}
		if ln.isEnd {
			ln.seg.useB = u
		} else {
			ln.seg.useA = u
		}
	}
}

// maxFaults bounds the points without a fitting that are looked at in one run: finding the nearest that would do takes
// tens of milliseconds each.
const maxFaults = 20

// chosen is the outcome of a choice, kept for the next round.
type chosen struct {
	choice  joinery.Choice
	fault   *joinery.Fault
	avoided *joinery.Fault
}

// isFaulty tells whether one end of a segment has no fitting.
func (g *segment) isFaulty() bool {
	return g.a.fault != nil || g.b.fault != nil || g.a.skipped || g.b.skipped
}

// chooseAt picks the fitting of one node. One that the design would rather avoid is taken all the same, so that the
// rest can be worked out, and the fault becomes a finding.
func (s *solver) chooseAt(cat *standard.Catalogue, n *node) {
	key := fmt.Sprint(n.site)
	got, ok := s.choices[key]
	if !ok {
		got = chooseFor(cat, n.site)
		s.choices[key] = got
	}
	n.choice, n.fault, n.avoided = got.choice, got.fault, got.avoided
}

func chooseFor(cat *standard.Catalogue, site joinery.Site) chosen {
	var c chosen
	var err error
	c.choice, err = joinery.Choose(cat, site)
	errors.As(err, &c.fault)
	if c.fault == nil || c.fault.Code != joinery.FaultAvoid {
		return c
	}
	c.avoided, c.fault = c.fault, nil
	site.Avoid = nil
	c.choice, err = joinery.Choose(cat, site)
	errors.As(err, &c.fault)
	return c
}

// meet gathers what bears on the fitting of a node.
func (s *solver) meet(n *node) {
	site := joinery.Site{Point: n.name, Units: s.t.Units}
	for _, ln := range n.lines {
		dir := ln.seg.dir
		if ln.isEnd {
			dir = dir.Neg()
		}
		site.Lines = append(site.Lines, joinery.Line{Name: ln.seg.leg.run.id, Dir: finished(dir), Size: ln.seg.leg.run.size})
	}
	s.meetSurface(n, &site)
	if n.ask != nil {
		site.Ask = s.asked(n.ask)
	}
	n.site = site
}

// throughCos is the cosine of 45 degrees: a line this near to upright goes into the board, not along it.
const throughCos = 0.7071

// meetSurface finds the surface that a node's fitting sits on. Of several, it is the one its lines meet most squarely.
func (s *solver) meetSurface(n *node, site *joinery.Site) {
	best := -1.0
	for _, p := range n.points {
		for i := range p.coord {
			on := p.coord[i].on
			if on == nil {
				continue
			}
			out := s.outOf(on, n.at)
			square, into := 0.0, false
			for _, l := range site.Lines {
				d := finished(l.Dir).Dot(out)
				square = max(square, math.Abs(d))
				into = into || d < -throughCos
			}
			if square <= best {
				continue
			}
			best, n.on, n.out = square, on, out
			site.OnSurface, site.UnderBoard, site.SurfaceName = true, false, on.words()
			site.SurfaceOut, site.BoardUp = finished(out), geom.Vec{}
			if on.board != nil && on.axis == 2 && !on.high {
				site.BoardUp = finished(out.Neg())
				site.UnderBoard, site.OnSurface = into, !into
			}
		}
	}
}

// asked is what the design's entry says.
func (s *solver) asked(f *ask) joinery.Ask {
	a := joinery.Ask{Kind: f.src.Kind, Loose: f.src.Loose}
	if f.src.Kind == design.Open {
		a.Kind, a.Open = "", true
	}
	runID := func(n design.Name) string {
		if n.Text == "" {
			return ""
		}
		t, ok := s.find(f.sc, n.Text)
		if !ok || t.run == nil {
			s.errs.formulaFault(s.noSuch(n.At, "run", n.Text), n.At)
			return ""
		}
		return t.run.id
	}
	a.Along, a.Into = runID(f.src.Along), runID(f.src.Into)
	if f.src.Pad != nil {
		v, err := s.positive(f.src.Pad, env{s: s, sc: f.sc}, "a pad's thickness")
		s.errs.formulaFault(err, f.src.PadAt)
		a.PadMM = v
	}
	return a
}
