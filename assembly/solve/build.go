package solve

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// build lays down the parts and joints of a solved network.
func (s *solver) build() *assembly.Assembly {
	title := s.t.Title.Text
	if title == "" {
		title = s.out.Design
	}
	s.out.Header = assembly.Header{Title: title, Units: string(s.t.Units), Thread: s.t.Thread}
	s.out.ToleranceMM = s.tolerance()
	for _, p := range s.points {
		v, _ := s.place(p)
		s.out.Points[p.id] = finished(v)
	}
	s.layCleats()
	s.layBoards()
	s.layPipework()
	s.joinPipework()
	s.standAll()
	s.carveBoards()
	s.layRoom()
	s.sums()
	s.inspect()
	s.carry()
	s.assume()
	s.out.Findings = s.sortedFindings()
	return s.out
}

// usualTolerance is how true a shop's cuts are when the design does not say: 1/16 in, as the format says.
const usualTolerance = float64(units.Inch) / 16

func (s *solver) tolerance() float64 {
	if s.t.Tolerance == nil {
		return usualTolerance
	}
	v, err := s.positive(s.t.Tolerance, env{s: s, sc: s.root}, "a tolerance")
	s.errs.formulaFault(err, s.t.Tolerance.At)
	return v
}

// add puts a part on the list.
func (s *solver) add(p assembly.Part) {
	if p.Override == nil {
		p.Override = []string{}
	}
	if p.Ports == nil {
		p.Ports = []assembly.Port{}
	}
	if p.Boxes == nil {
		p.Boxes = []geom.Box{}
	}
	if p.Holes == nil {
		p.Holes = []assembly.Hole{}
	}
	s.partOf[p.ID] = len(s.out.Parts)
	s.out.Parts = append(s.out.Parts, p)
}

// part finds a part that is on the list.
func (s *solver) part(id string) *assembly.Part {
	i, ok := s.partOf[id]
	if !ok {
		return nil
	}
	return &s.out.Parts[i]
}

// port finds a port of a part that is on the list.
func (s *solver) port(e assembly.End) assembly.Port {
	if p := s.part(e.Part); p != nil {
		for _, q := range p.Ports {
			if q.Name == e.Port {
				return q
			}
		}
	}
	return assembly.Port{}
}

// partOfFitting makes a part of a fitting in its place.
func (s *solver) partOfFitting(id string, f standard.Fitting, pose geom.Pose) assembly.Part {
	p := assembly.Part{
		ID: id, Kind: f.Kind, Size: assembly.Sizes(f.Sizes), Pose: pose, MassKG: f.MassKG, Override: f.Override,
		Family: f.Family, Material: f.Material, Dims: f.Dims, Finish: s.finish(f.Kind, f.Sizes),
	}
	for _, q := range f.Ports {
		p.Ports = append(p.Ports, placePort(q, pose))
	}
	return p
}

func placePort(q standard.Port, pose geom.Pose) assembly.Port {
	return assembly.Port{Name: q.Name, At: pose.Apply(vec(q.Dir).Mul(q.ReachMM)), Out: pose.Rotate(vec(q.Dir))}
}

// finish is what the metal of a part looks like: the design's, or the part's own.
func (s *solver) finish(k standard.Kind, sizes []standard.Size) string {
	switch k {
	case standard.Pad, standard.Glide, standard.Caster, standard.Board, standard.Cleat, standard.Room:
		return ""
	}
	best, rank := s.t.Finish, 0
	for _, p := range s.t.Parts {
		r := 0
		if p.Kind == k {
			r++
		}
		if len(p.Sizes) > 0 && sameSizes(p.Sizes, sizes) {
			r += 2
		}
		fits := (p.Kind == "" || p.Kind == k) && (len(p.Sizes) == 0 || sameSizes(p.Sizes, sizes))
		if p.Finish.Base+p.Finish.Coat != "" && p.Finish.At.Line > 0 && fits && r >= rank {
			best, rank = p.Finish, r
		}
	}
	text := best.Base
	if best.Coat != "" {
		if text != "" {
			text += ", "
		}
		text += best.Coat
	}
	return text
}

// sameSizes tells whether the sizes of an entry are those of a part; one stands for a part that has it throughout.
func sameSizes(entry, part []standard.Size) bool {
	if len(entry) == 1 {
		for _, p := range part {
			if p != entry[0] {
				return false
			}
		}
		return len(part) > 0
	}
	if len(entry) == 2 && len(part) == 3 { // a tee as run and outlet
		return part[0] == entry[0] && part[1] == entry[0] && part[2] == entry[1]
	}
	if len(entry) != len(part) {
		return false
	}
	for i := range entry {
		if entry[i] != part[i] {
			return false
		}
	}
	return true
}

// layPipework puts down pipes and fittings along the runs, then what no run comes to.
func (s *solver) layPipework() {
	laid := map[*node]bool{}
	for _, l := range s.net.legs {
		for _, g := range l.segs {
			s.layNode(g.a, laid)
			s.laySegment(g)
			s.layNode(g.b, laid)
		}
	}
	for _, n := range s.net.nodes {
		s.layNode(n, laid)
	}
}

// layNode puts down a node's fitting with its plugs and pad.
func (s *solver) layNode(n *node, laid map[*node]bool) {
	if laid[n] || n.choice.None {
		return
	}
	laid[n] = true
	at := finished(n.at)
	main := s.partOfFitting(n.name, n.choice.Fitting, n.choice.Pose.Moved(at))
	main.Loose = n.ask != nil && n.ask.src.Loose
	s.add(main)
	for i, e := range n.choice.Plugs {
		s.add(s.partOfFitting(fmt.Sprintf("%s.plug-%d", n.name, i+1), e.Fitting, e.Pose.Moved(at)))
	}
	if e := n.choice.Pad; e != nil {
		s.add(s.partOfFitting(n.name+".pad-1", e.Fitting, e.Pose.Moved(at)))
	}
}

// laySegment puts down the pipes and parts of a segment.
func (s *solver) laySegment(g *segment) {
	cat, _ := s.catalogue()
	dir := finished(g.dir)
	pose := func(offset float64) geom.Pose {
		return geom.Facing(finished(g.a.at.Add(g.dir.Mul(offset))), dir, upright(dir))
	}
	for i, p := range g.pipes {
		f, err := cat.Pipe(standard.PipeSpec{Size: p.size, LengthMM: p.length, Left: p.left, Running: p.running})
		if err != nil {
			s.errs.add(g.leg.run.src.PathAt, "%s: %s", p.id, err)
			return
		}
		p.fitting = f
		s.segmentOf[p.id] = g
		part := s.partOfFitting(p.id, f, pose(p.start))
		part.LengthMM, part.LeftEnd, part.Running = p.length, p.left, p.running
		s.add(part)
		if k := g.partAfter(i); k >= 0 {
			s.layInline(g.leg.run.src.PathAt, g.parts[k], pose(g.parts[k].offset))
		}
	}
	if len(g.pipes) == 0 || g.useA.Street && len(g.parts) > 0 {
		for _, p := range g.parts {
			if s.part(p.id) == nil && s.part(p.id+".a") == nil {
				s.layInline(g.leg.run.src.PathAt, p, pose(p.offset))
			}
		}
	}
}

// partAfter is the index of the part that follows the i-th pipe of a segment, or -1.
func (g *segment) partAfter(i int) int {
	if g.useA.Street {
		i++
	}
	if i < len(g.parts) {
		return i
	}
	return -1
}

// layInline puts down a part of a path; a union as its two halves.
func (s *solver) layInline(at design.Pos, p *inline, pose geom.Pose) {
	if p.kind != standard.Union {
		s.add(s.partOfFitting(p.id, p.fitting, pose))
		return
	}
	for _, half := range unionHalves {
		var err error
		part := s.partOfFitting(p.id+"."+half, p.fitting, pose)
		part.Half = half
		part.MassKG, err = halfMass(p.fitting, half)
		if err != nil {
			s.errs.add(at, "%s: %s", p.id, err)
		}
		seat := assembly.Port{Name: "seat", At: pose.Origin, Out: pose.Z}
		if half == "b" {
			seat.Out = pose.Z.Neg()
		}
		port, _ := p.fitting.Port(half)
		part.Ports = []assembly.Port{placePort(port, pose), seat}
		s.add(part)
	}
	a, b := assembly.End{Part: p.id + ".a", Port: "seat"}, assembly.End{Part: p.id + ".b", Port: "seat"}
	s.join(assembly.Joint{Kind: assembly.UnionNut, A: a, B: b, Axis: &assembly.Axis{At: pose.Origin, Dir: pose.Z}})
}

// halfMass is the share of one half in the mass of a union.
func halfMass(f standard.Fitting, half string) (float64, error) {
	var volume, sum float64
	for _, h := range unionHalves {
		v, err := f.HalfVolume(h)
		if err != nil {
			return 0, err
		}
		if sum += v; h == half {
			volume = v
		}
	}
	return f.MassKG * volume / sum, nil
}

// unionHalves are the halves of a union, towards the start and the end of its path.
var unionHalves = []string{"a", "b"}

// upright is up, or the x axis for what points up or down itself.
func upright(dir geom.Vec) geom.Vec {
	if dir.Z > 0.9 || dir.Z < -0.9 {
		return geom.AxisX
	}
	return geom.AxisZ
}

// join puts a joint on the list under an id of its own.
func (s *solver) join(j assembly.Joint) {
	if j.Override == nil {
		j.Override = []string{}
	}
	end := func(e assembly.End) string {
		if e.Port == "" {
			return e.Part
		}
		return e.Part + ":" + e.Port
	}
	id := end(j.A) + "/" + end(j.B)
	for n := 2; s.jointIDs[id]; n++ {
		id = fmt.Sprintf("%s/%s#%d", end(j.A), end(j.B), n)
	}
	s.jointIDs[id] = true
	j.ID = id
	s.out.Joints = append(s.out.Joints, j)
}

// side is one side of a joint between threads or push-in ends.
type side struct {
	end  assembly.End
	port standard.Port
	from standard.Fitting
}

// joinPipework joins the pipes to what their ends go into, and plugs to their openings.
func (s *solver) joinPipework() {
	for _, l := range s.net.legs {
		for _, g := range l.segs {
			s.joinSegment(g)
		}
	}
	for _, n := range s.net.nodes {
		for i, e := range n.choice.Plugs {
			plug, _ := e.Fitting.Port("a")
			open, _ := n.choice.Fitting.Port(e.Port)
			s.screw(n.points[0].src.Name.At,
				side{assembly.End{Part: fmt.Sprintf("%s.plug-%d", n.name, i+1), Port: "a"}, plug, e.Fitting},
				side{assembly.End{Part: n.name, Port: e.Port}, open, n.choice.Fitting}, assembly.Thread, 0)
		}
	}
}

// joinSegment joins what follows one another along a segment.
func (s *solver) joinSegment(g *segment) {
	var last *side // the side, open towards the segment's end, that comes next
	if !g.a.choice.None {
		last = s.nodeSide(g.a, g.useA.Port)
	}
	at := g.leg.run.src.PathAt
	k := 0
	for i := 0; i <= len(g.parts); i++ {
		if !(i == 0 && g.useA.Street || i == len(g.parts) && g.useB.Street) {
			p := g.pipes[k]
			k++
			if last != nil {
				s.connect(at, pipeSide(p, "a"), *last, 0)
			}
			b := pipeSide(p, "b")
			last = &b
		}
		var next, after *side
		if i < len(g.parts) {
			next, after = inlineSides(g.parts[i])
		} else if !g.b.choice.None {
			next = s.nodeSide(g.b, g.useB.Port)
		}
		if last != nil && next != nil {
			back := 0.0
			if i == len(g.parts) {
				back = g.clearance
			}
			s.connect(at, *last, *next, back)
		}
		last = after
	}
}

func (s *solver) nodeSide(n *node, port string) *side {
	p, _ := n.choice.Fitting.Port(port)
	return &side{assembly.End{Part: n.name, Port: port}, p, n.choice.Fitting}
}

func pipeSide(p *pipe, port string) side {
	q, _ := p.fitting.Port(port)
	return side{assembly.End{Part: p.id, Port: port}, q, p.fitting}
}

// inlineSides are the sides of a part of a path towards the start and the end of the path.
func inlineSides(p *inline) (*side, *side) {
	a, _ := p.fitting.Port("a")
	b, _ := p.fitting.Port("b")
	ida, idb := p.id, p.id
	if p.kind == standard.Union {
		ida, idb = p.id+".a", p.id+".b"
	}
	return &side{assembly.End{Part: ida, Port: "a"}, a, p.fitting}, &side{assembly.End{Part: idb, Port: "b"}, b, p.fitting}
}

// connect joins two sides that meet: a male thread in a female one, or a foot's stem in a pipe's end.
func (s *solver) connect(at design.Pos, x, y side, back float64) {
	switch {
	case x.port.Plain || y.port.Plain:
		s.join(assembly.Joint{Kind: assembly.Face, A: x.end, B: y.end})
		return
	case !x.port.Male && y.port.Male:
		x, y = y, x
	case x.port.Male == y.port.Male:
		s.errs.add(at, "%s and %s both have male threads there; put a coupling between them", x.end.Part, y.end.Part)
		return
	}
	kind := assembly.Thread
	switch y.from.Kind {
	case standard.RightLeft:
		kind = assembly.RightLeft
	case standard.LongScrew:
		kind = assembly.LongScrew
	}
	s.screw(at, x, y, kind, back)
}

// samePlace is how far apart, in mm, one place may come out that was worked out two ways.
const samePlace = 1e-3

// FewestTurns are the turns that should stay engaged where a joint is backed off: common practice, no source.
const FewestTurns = 4

// screw joins a male thread (a) to a female one (b). Back is how far the joint is backed off from its make-up.
func (s *solver) screw(at design.Pos, a, b side, kind assembly.JointKind, back float64) {
	pa, pb := s.port(a.end), s.port(b.end)
	pitch := b.port.Pitch.MM
	engagement := pa.At.Sub(pb.At).Dot(pa.Out)
	if made := b.port.Engagement.MM - back; math.Abs(engagement-made) < samePlace {
		engagement = made // without the rounding of places
	}
	full := engagement + back
	if engagement <= 0 || pitch <= 0 {
		s.errs.add(at, "%s: %s is more than the thread into %s goes in", a.end.Part, s.length(back), b.end.Part)
		return
	}
	j := assembly.Joint{
		Kind: kind, A: a.end, B: b.end, Axis: &assembly.Axis{At: pb.At, Dir: pa.Out}, Hand: "right",
		PitchMM: pitch, EngagementMM: engagement, HandTightMM: b.port.HandTight.MM,
		Turns: &assembly.Window{
			Min: min(b.port.HandTight.MM/pitch+handTightPlus, full/pitch, engagement/pitch),
			Max: full/pitch + pastEngagement,
		},
	}
	if b.port.Left {
		j.Hand = "left"
	}
	if back > 0 || hasWord(b.from.Override, string(standard.KeyEngagement)) || s.t.MakeUp == design.MakeUpHand {
		j.Override = []string{string(standard.KeyEngagement)}
	}
	s.join(j)
	s.mixed(a, b)
	if play := full - FewestTurns*pitch; back > play {
		s.tell(findingAt{assembly.Warn, "CLEARANCE", at}, []string{a.end.Part, b.end.Part}, map[string]float64{"clearance_mm": back, "turns": back / pitch},
			"%s: a clearance of %s is %s turns; the joint with %s has %s turns to spare above the four that should stay engaged",
			a.end.Part, s.length(back), trimNumber(back/pitch, 1), b.end.Part, trimNumber(max(0, play)/pitch, 1))
	}
}

// Window of turns, from hand-tight and from full engagement: common practice for dry joints, no source.
const (
	handTightPlus  = 0.5
	pastEngagement = 1.0
)

func hasWord(list []string, w string) bool {
	for _, v := range list {
		if v == w {
			return true
		}
	}
	return false
}

// mixed reports two thread families that meet.
func (s *solver) mixed(a, b side) {
	fa, fb := a.port.Family, b.port.Family
	if fa == fb || fa == "" || fb == "" {
		return
	}
	s.tell(findingAt{assembly.Stop, "MIXED-THREAD", s.placeOf(b.end.Part)}, []string{b.end.Part, a.end.Part}, nil,
		"%s %s is %s, the %s in it %s: they bind after two turns", b.port.Size, b.from.Kind.Words(), fb, a.from.Kind.Words(), fa)
}

// standAll joins feet, flanges and casters to what they stand on or are screwed to.
func (s *solver) standAll() {
	for _, n := range s.net.nodes {
		if !n.choice.None {
			s.stand(n)
		}
	}
}

func (s *solver) stand(n *node) {
	foot := n.choice.Fitting.Kind
	if len(n.lines) == 0 { // a caster under a board
		if n.on != nil && n.on.board != nil {
			s.join(assembly.Joint{Kind: assembly.Face, A: assembly.End{Part: n.name, Port: "a"}, B: assembly.End{Part: n.on.board.id}})
		}
		s.standOnFloor(n)
		return
	}
	if n.on == nil || !kindIsFoot(foot) || len(n.lines) != 1 {
		return
	}
	bottom := assembly.End{Part: n.name, Port: n.choice.Surface}
	kind := assembly.Rest
	if foot == standard.Flange && !(n.ask != nil && n.ask.src.Loose) {
		kind = assembly.Face
	}
	if n.choice.Pad != nil {
		pad := n.name + ".pad-1"
		s.join(assembly.Joint{Kind: assembly.Face, A: bottom, B: assembly.End{Part: pad, Port: "a"}})
		bottom = assembly.End{Part: pad, Port: "face"}
	}
	s.join(assembly.Joint{Kind: kind, A: bottom, B: assembly.End{Part: s.ownerOf(n.on)}})
}

// standOnFloor joins a caster under a board to the floor, if it reaches it.
func (s *solver) standOnFloor(n *node) {
	bottom := assembly.End{Part: n.name, Port: "face"}
	if n.choice.Pad != nil {
		pad := n.name + ".pad-1"
		s.join(assembly.Joint{Kind: assembly.Face, A: bottom, B: assembly.End{Part: pad, Port: "a"}})
		bottom = assembly.End{Part: pad, Port: "face"}
	}
	at := s.port(bottom).At
	floor := s.surfaces["floor"].face.At(finished(at))
	if d := at.Z - floor; d < -LieAgreement || d > LieAgreement {
		return
	}
	s.join(assembly.Joint{Kind: assembly.Rest, A: bottom, B: assembly.End{Part: roomID}})
}

const roomID = "room"

// ownerOf is the part that a surface belongs to.
func (s *solver) ownerOf(on *contact) string {
	switch {
	case on.board != nil:
		return on.board.id
	case on.cleat != nil:
		return on.cleat.src.Name.Text
	}
	return roomID
}
