package fuse

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// SinkMM is by how much boards are drawn larger on all sides, and feet nearer to what they are fixed to, so that what
// touches runs into one body: more than twice the tolerance of the frame's mesh would be seen, much less would leave a
// board that lies on a pipe hanging by a thread.
const SinkMM = 0.15

// lyingOn lists the contacts by which bodies that are not screwed on become one with the rest: those of boards, and of
// feet at their ports. A board does not touch the pipe it is bored for, and a strap lies on its pipe all round, which is no
// place for a seam.
func (f *frame) lyingOn(joints []assembly.Joint) []assembly.Joint {
	var out []assembly.Joint
	for _, j := range joints {
		a, b := f.part[j.A.Part], f.part[j.B.Part]
		if a == nil || b == nil || j.Kind != assembly.Rest && j.Kind != assembly.Face {
			continue
		}
		if a.Kind == standard.Strap || b.Kind == standard.Strap {
			continue
		}
		if len(a.Boxes) > 0 || len(b.Boxes) > 0 || isFoot(a) || isFoot(b) {
			out = append(out, j)
		}
	}
	return out
}

func isFoot(p *assembly.Part) bool {
	return p.Kind == standard.Glide || p.Kind == standard.Caster || p.Kind == standard.Pad
}

// sunk is a part as it is drawn: a board larger by SinkMM on all sides, or drawn in where it stands on pads; a foot moved
// out of its upper port.
func (f *frame) sunk(p assembly.Part) assembly.Part {
	if !f.touches[p.ID] {
		return p
	}
	if len(p.Boxes) > 0 {
		by := SinkMM
		if f.pads[p.ID] != nil {
			by = -AirMM
		}
		p.Boxes = slices.Clone(p.Boxes)
		for i, b := range p.Boxes {
			p.Boxes[i] = b.Grow(by)
		}
		return p
	}
	for _, q := range p.Ports {
		if isFoot(&p) && q.Name == "a" {
			p.Pose = p.Pose.Moved(q.Out.Mul(SinkMM))
		}
	}
	return p
}

// lying finds the stretches of a pipe on which bodies lie, as intervals along it, in order.
func (f *frame) lying(p *assembly.Part) []middle {
	var out []middle
	for _, j := range f.contacts {
		on, mate := j.A, j.B
		if j.B.Part == p.ID {
			on, mate = j.B, j.A
		}
		if on.Part != p.ID || on.Port == "a" || on.Port == "b" {
			continue
		}
		if d, ok := f.padOn(mate.Part, p.ID); ok {
			half := padLongMM/2 + clearMM
			out = append(out, middle{rounded(d.mm - half), rounded(d.mm + half), mate.Part})
		} else if from, to, ok := f.beside(p, f.part[mate.Part]); ok {
			out = append(out, middle{rounded(from - clearMM), rounded(to + clearMM), mate.Part})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].from < out[j].from })
	return out
}

// A pad is a block between a board and a pipe that it lies on along much of its length. To sink the board into the pipe all
// the way would make one knot of whole shelves, pipes and the fittings at their ends.
type pad struct {
	pipe string
	mm   float64   // along the pipe, to its middle
	pose geom.Pose // origin on the pipe's axis, z along it, x to the board
}

// Sizes of a pad, all our own choice: along the pipe, across it, and how deep it reaches into pipe and board.
const (
	padLongMM = 12.0
	padWideMM = 6.0
	padDeepMM = 1.0
)

// findPads gives pads to boards in one piece that only lie on pipes with room for a cut.
func (f *frame) findPads() {
	refused := map[string]bool{}
	for _, j := range f.contacts {
		board, on := f.part[j.A.Part], f.part[j.B.Part]
		if len(board.Boxes) == 0 {
			board, on = on, board
		}
		for _, p := range []*assembly.Part{board, on} {
			refused[p.ID] = refused[p.ID] || len(p.Boxes) != 1
		}
		d, ok := f.padBetween(board, on)
		if refused[board.ID] = refused[board.ID] || !ok; !refused[board.ID] {
			f.pads[board.ID] = append(f.pads[board.ID], d)
		}
	}
	for id := range refused {
		if refused[id] {
			delete(f.pads, id)
		}
	}
}

// padBetween places a pad in the middle of where a board lies on a pipe, or as near to it as the pipe's ends let it.
func (f *frame) padBetween(board, p *assembly.Part) (pad, bool) {
	if p.Kind != standard.Pipe || len(board.Boxes) != 1 {
		return pad{}, false
	}
	from, to, ok := f.beside(p, board)
	ends := f.ends(p)
	half := padLongMM/2 + clearMM + leastBarrelMM
	low, high := ends[0]+half, p.LengthMM-ends[1]-half
	least, most := max(low, from+padLongMM/2), min(high, to-padLongMM/2)
	if !ok || least > most {
		return pad{}, false
	}
	mm := rounded(min(max((from+to)/2, least), most))
	at := p.Pose.Apply(geom.V(0, 0, mm))
	local := board.Pose.Local(at)
	box := board.Boxes[0]
	way := board.Pose.Rotate(local.Max(box.Min).Min(box.Max).Sub(local))
	way = way.Sub(p.Pose.Z.Mul(way.Dot(p.Pose.Z)))
	if math.Abs(way.Len()-p.Dims.MM(standard.DimOD, "")/2) > SinkMM {
		return pad{}, false // it does not lie on it
	}
	way = way.Unit()
	return pad{p.ID, mm, geom.Pose{Origin: at, X: way, Y: p.Pose.Z.Cross(way), Z: p.Pose.Z}}, true
}

// padOn finds the pad of a board on a pipe.
func (f *frame) padOn(board, pipe string) (pad, bool) {
	for _, d := range f.pads[board] {
		if d.pipe == pipe {
			return d, true
		}
	}
	return pad{}, false
}

// member is the pad in its knot.
func (d pad) member(radius float64, local func(geom.Pose) geom.Pose) member {
	block := sdf.Box(geom.Box{
		Min: geom.V(radius-padDeepMM, -padWideMM/2, -padLongMM/2),
		Max: geom.V(radius+AirMM+padDeepMM, padWideMM/2, padLongMM/2),
	})
	pose := local(d.pose)
	return member{name: "pad" + text(radius) + poseText(pose), solid: sdf.Move(block, pose)}
}

// beside is the stretch of a pipe along which it is near the box of a body.
func (f *frame) beside(p, body *assembly.Part) (from, to float64, ok bool) {
	s, err := f.in.Solid(*body)
	if err != nil {
		return 0, 0, false // told when its knot is made
	}
	box := s.Bounds().Grow(p.Dims.MM(standard.DimOD, "")/2 + 2*SinkMM)
	at, dir := body.Pose.Local(p.Pose.Origin), body.Pose.Unrotate(p.Pose.Z)
	from, to = 0, p.LengthMM
	for _, k := range [3][4]float64{{at.X, dir.X, box.Min.X, box.Max.X}, {at.Y, dir.Y, box.Min.Y, box.Max.Y}, {at.Z, dir.Z, box.Min.Z, box.Max.Z}} {
		if math.Abs(k[1]) < 1e-9 { // along the face
			if k[0] < k[2] || k[0] > k[3] {
				return 0, 0, false
			}
			continue
		}
		a, b := (k[2]-k[0])/k[1], (k[3]-k[0])/k[1]
		from, to = max(from, min(a, b)), min(to, max(a, b))
	}
	return from, to, from < to
}

// cutPipe cuts a pipe whose ends take mm each beside what lies on it. A pipe that is too short for a cut stays whole.
func (f *frame) cutPipe(p *assembly.Part, mm [2]float64) {
	pieces := []middle{{0, mm[0], p.ID + ".a"}}
	on := f.lying(p)
	var where []int // the piece on which each lies
	for _, m := range append(slices.Clone(on), middle{p.LengthMM - mm[1], p.LengthMM, ""}) {
		last := &pieces[len(pieces)-1]
		if m.from-last.to < leastBarrelMM {
			last.to = max(last.to, m.to)
		} else {
			pieces = append(pieces, middle{m.from, m.to, fmt.Sprintf("%s.%d", p.ID, len(pieces))})
		}
		where = append(where, len(pieces)-1)
	}
	if len(pieces) == 1 {
		return
	}
	pieces[len(pieces)-1].name = p.ID + ".b"
	for i, m := range on {
		f.lies[[2]string{p.ID, m.name}] = pieces[where[i]].name
	}
	lower := &stub{pipe: p, mm: pieces[0].to}
	stubs := []*stub{lower}
	for i := 1; i < len(pieces); i++ {
		upper := &stub{pipe: p, end: 1, mm: rounded(p.LengthMM - pieces[i].from)}
		next := upper
		if i < len(pieces)-1 {
			upper, next = &stub{pipe: p, mid: &pieces[i]}, &stub{pipe: p, end: 1, mid: &pieces[i]}
			stubs = append(stubs, next)
		}
		f.barrels = append(f.barrels, &barrel{p, [2]*stub{lower, upper}})
		stubs = append(stubs, upper)
		lower = next
	}
	f.cut[p.ID] = stubs
}

// side is a middle piece's member of its knot at one of its cuts: the lower one brings the metal of both.
func (s *stub) side(local func(geom.Pose) geom.Pose) member {
	od, bore, long := s.pipe.Dims.MM(standard.DimOD, "")/2, s.pipe.Dims.MM(standard.DimBore, "")/2, rounded(s.mid.to-s.mid.from)
	pose := local(s.pose())
	pose = tidy(geom.Facing(pose.Origin, pose.Z, geom.Vec{}))
	m := member{name: fmt.Sprint("middle", s.end, text(long, od, bore), poseText(pose)), stub: s}
	if s.end == 1 {
		m.cap = cap{pose.Apply(geom.V(0, 0, long)), pose.Z, od}
		return m
	}
	m.cap = cap{pose.Origin, pose.Z.Neg(), od}
	ring := []sdf.Station{{S: 0, R: rounded(bore)}, {S: 0, R: rounded(od)}, {S: long, R: rounded(od)}, {S: long, R: rounded(bore)}}
	m.solid = sdf.Move(sdf.Revolve(geom.Vec{}, geom.AxisZ, ring), pose)
	return m
}
