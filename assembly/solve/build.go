package solve

import (
	"fmt"

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
