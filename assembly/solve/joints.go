package solve

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
)

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

// kindIsFoot tells whether a part stands under a pipe.
func kindIsFoot(k standard.Kind) bool {
	switch k {
	case standard.Flange, standard.Glide, standard.Caster, standard.Cap, standard.Pad:
		return true
	}
	return false
}
