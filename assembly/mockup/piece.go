package mockup

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// rodShare is the distance across the flats of a rod over the diameter of its circle. Rods are eight-sided, so that they
// lie on a plate without support: every side is at 45 degrees or steeper.
const rodShare = 0.93

// arm is a straight stretch of a body round a socket.
type arm struct {
	at, dir geom.Vec
	length  float64
	radius  float64 // half the distance across its flats
}

// solid is the arm as an eight-sided prism with a flat towards side.
func (a arm) solid(side geom.Vec) sdf.Leafed {
	return sdf.Prism(a.at, a.dir, side, a.length, 2*a.radius, 8)
}

// shape is the solid of a part in the making.
type shape struct {
	up     geom.Vec
	arms   []arm
	stems  []arm       // of male ends: not trimmed
	trim   []sdf.Solid // what arms may not reach into: others' bodies come there
	add    []sdf.Solid
	cut    []sdf.Solid
	plates []sdf.Solid // of what is added: what is there without joints too
	key    string      // parts with equal keys and numbers are one piece
	marks  []spot
}

// solid joins what is added and takes away what is cut.
func (s shape) solid() sdf.Leafed {
	body := append(s.limbs(0), s.add...)
	joined := sdf.Join(body...)
	if len(s.cut) == 0 {
		return joined
	}
	return sdf.Cut(joined, s.cut...)
}

// limbs are the bodies of the arms, trimmed, and of the stems, each longer at both ends by more.
func (s shape) limbs(more float64) []sdf.Solid {
	var out []sdf.Solid
	longer := func(a arm) sdf.Solid {
		a.at, a.length = a.at.Sub(a.dir.Mul(more)), a.length+2*more
		return a.solid(s.sideOf(a))
	}
	for _, a := range s.arms {
		x := longer(a)
		if len(s.trim) > 0 {
			x = sdf.Cut(x, s.trim...)
		}
		out = append(out, x)
	}
	for _, a := range s.stems {
		out = append(out, longer(a))
	}
	return out
}

// sideOf is the direction an arm's flat faces: up, or any one square to an arm that stands upright.
func (s shape) sideOf(a arm) geom.Vec {
	if math.Abs(a.dir.Dot(s.up)) < 0.9 {
		return s.up
	}
	return s.up.Across()
}

// pieces makes the solid of every part, and gathers equal ones.
func (b *builder) pieces() error {
	at := map[string]int{}
	var shapes []*shape // of the pieces
	for i := range b.from.Parts {
		p := &b.from.Parts[i]
		s, err := b.shapeOf(p)
		if err != nil {
			return fmt.Errorf("no model of %s can be made: %w", p.ID, err)
		}
		if s == nil {
			continue
		}
		solid := s.solid()
		b.m.solids[p.ID] = solid
		if p.Kind == standard.Room || p.Number == 0 {
			continue
		}
		b.fuse(p, s)
		if p.Kind == standard.Pipe && b.o.Bought {
			b.buy(p)
			continue
		}
		key := fmt.Sprintf("%d%s %s", p.Number, p.Half, s.key)
		if k, ok := at[key]; ok {
			b.m.Pieces[k].Count++
			b.m.Pieces[k].Parts = append(b.m.Pieces[k].Parts, p.ID)
			continue
		}
		at[key] = len(b.m.Pieces)
		b.m.Pieces = append(b.m.Pieces, Piece{Number: p.Number, Half: p.Half, Variant: p.Half, Kind: p.Kind, Parts: []string{p.ID}, Count: 1, Solid: solid, Shown: solid, Up: s.up})
		if isCast(p.Kind) || p.Kind == standard.Union {
			b.m.Pieces[at[key]].Shown = sdf.Join(append(s.limbs(0), s.add...)...)
		}
		shapes = append(shapes, s)
	}
	b.nameVariants()
	for i, s := range shapes { // marked with what the pictures and lists call it
		b.m.Pieces[i].Printed, b.m.Pieces[i].Tag = s.marked(b.m.Pieces[i].Label())
	}
	b.extras()
	return nil
}

// nameVariants gives letters to pieces that share a number and differ.
func (b *builder) nameVariants() {
	of := map[string][]int{}
	for i, p := range b.m.Pieces {
		k := fmt.Sprint(p.Number, p.Variant)
		of[k] = append(of[k], i)
	}
	for _, list := range of {
		if len(list) < 2 {
			continue
		}
		for n, i := range list {
			b.m.Pieces[i].Variant += letter(n)
		}
	}
}

// buy notes a length of bought rod.
func (b *builder) buy(p *assembly.Part) {
	f := b.fits[p.Size[0]]
	_, long := b.ends(p)
	for i := range b.m.Rods {
		r := &b.m.Rods[i]
		if r.Label == fmt.Sprint(p.Number) {
			r.Count++
			return
		}
	}
	b.m.Rods = append(b.m.Rods, Rod{fmt.Sprint(p.Number), f.rod, long, 1})
}

// shapeOf makes the shape of one part; nil for what the model leaves out.
func (b *builder) shapeOf(p *assembly.Part) (*shape, error) {
	switch p.Kind {
	case standard.Pipe:
		return b.rod(p)
	case standard.Coupling, standard.Reducer, standard.RightLeft, standard.LongScrew:
		return b.sleeve(p)
	case standard.Union:
		return b.unionHalf(p)
	case standard.Flange:
		return b.flange(p)
	case standard.Cap:
		return b.cap(p)
	case standard.Plug:
		return b.plug(p)
	case standard.Glide, standard.Caster, standard.Pad:
		return b.foot(p)
	case standard.Strap:
		return b.strap(p)
	case standard.Board, standard.Cleat:
		return b.board(p)
	case standard.Room:
		return b.room(p)
	case standard.Bushing:
		return b.bushing(p)
	}
	return b.fitting(p)
}

// fitAt is how the rod at a port of a part joins.
func (b *builder) fitAt(p *assembly.Part, port string) (fit, bool) {
	for i, q := range p.Ports {
		if q.Name != port {
			continue
		}
		size := p.Size
		if len(size) == 0 {
			break
		}
		one := size[0]
		if len(size) > i {
			one = size[i]
		}
		f, ok := b.fits[one]
		return f, ok
	}
	return fit{}, false
}

// joined returns the threaded joint at a port.
func (b *builder) joined(p *assembly.Part, port string) (*assembly.Joint, bool) {
	for _, j := range b.joints[p.ID] {
		if j.Axis == nil || j.Kind == assembly.UnionNut {
			continue
		}
		if j.A.Part == p.ID && j.A.Port == port || j.B.Part == p.ID && j.B.Port == port {
			return j, true
		}
	}
	return nil, false
}

// socketAt cuts the socket of a port whose mouth is at at.
func (b *builder) socketAt(s *shape, p *assembly.Part, port string, f fit, at, out geom.Vec, boreMM float64) {
	j, ok := b.joined(p, port)
	if !ok {
		return
	}
	depth := b.depth(j)
	cut := socket(f, at, out, slotDir(p, port), depth, boreMM, b.o.ClearanceMM, j.Hand == "left", !b.o.Bought)
	if b.runs(j) && !b.o.Bought {
		cut = runningSocket(f, at, out, slotDir(p, port), depth, 2*at.Len(), b.o.ClearanceMM, j.Hand == "left")
	}
	s.cut = append(s.cut, cut)
	s.key += fmt.Sprintf("%s:%.3f%s ", port, depth, j.Hand)
}

// runs tells whether a joint is the one of a long screw on which the coupling is run right back.
func (b *builder) runs(j *assembly.Joint) bool {
	for _, e := range []assembly.End{j.A, j.B} {
		if p := b.parts[e.Part]; p != nil && p.Kind == standard.Pipe && p.Running == e.Port {
			return j.Kind == assembly.LongScrew
		}
	}
	return false
}

// boreOverMM is how far bores go on beyond the middle of a fitting, so that no skin is left between two of them.
const boreOverMM = 0.3

// rod is a pipe.
func (b *builder) rod(p *assembly.Part) (*shape, error) {
	f := b.fits[p.Size[0]]
	_, long := b.ends(p)
	s := &shape{key: fmt.Sprintf("%.3f ", long)}
	var lugs []lug
	var add []sdf.Solid
	for _, e := range []struct {
		port    string
		at, out geom.Vec
	}{{"a", geom.Vec{}, geom.AxisZ.Neg()}, {"b", geom.V(0, 0, long), geom.AxisZ}} {
		l, ok := b.lugs[end{p.ID, e.port}]
		if !ok || b.o.Bought {
			if b.standsOnFoot(p, e.port) && f.rod >= pinHoleMM+2*leastPinWall {
				s.cut = append(s.cut, sdf.Cylinder(e.at.Add(e.out), e.out.Neg(), 1+pinDeepMM, pinHoleMM/2))
			}
			continue
		}
		lugs = append(lugs, l)
		add = append(add, peg(f, e.at, e.out, l))
	}
	s.up = upOfLugs(lugs)
	for _, l := range lugs {
		s.key += fmt.Sprintf("%.2f,%.2f ", l.depth, angleAbout(geom.AxisZ, lugs[0].dir, l.dir))
	}
	s.arms = []arm{{geom.Vec{}, geom.AxisZ, long, f.rod * rodShare / 2}}
	s.add = add
	s.marks = []spot{b.tagBeside(f, long, s.up)}
	return s, nil
}

// ends is where a rod begins on the axis of its pipe, and its length: longer than true by what its joints are deeper. Its
// own frame begins at its end.
func (b *builder) ends(p *assembly.Part) (begin, long float64) {
	begin = -b.lugs[end{p.ID, "a"}].more
	return begin, b.small(p.LengthMM) + b.lugs[end{p.ID, "b"}].more - begin
}

// Pins that join feet to rods.
const (
	pinDeepMM    = 4
	leastPinWall = 0.5
)

// standsOnFoot tells whether a foot is pushed into an end of a pipe.
func (b *builder) standsOnFoot(p *assembly.Part, port string) bool {
	for _, j := range b.joints[p.ID] {
		if j.Kind != assembly.Face {
			continue
		}
		if j.A.Part == p.ID && j.A.Port == port || j.B.Part == p.ID && j.B.Port == port {
			return true
		}
	}
	return false
}

// upOfLugs is the direction away from the plate for a rod: no lug points towards the plate.
func upOfLugs(lugs []lug) geom.Vec {
	sum := geom.Vec{}
	for _, l := range lugs {
		sum = sum.Add(l.dir)
	}
	if sum.Len() > 1e-3 {
		return sum.Unit()
	}
	if len(lugs) > 0 { // opposite one another: both lie sideways
		return geom.AxisZ.Cross(lugs[0].dir).Unit()
	}
	return geom.AxisX
}

// angleAbout is the angle from v to w about dir, in degrees from 0 to 360, to the nearest hundredth.
func angleAbout(dir, v, w geom.Vec) float64 {
	a := math.Atan2(v.Cross(w).Dot(dir), v.Dot(w)) * 180 / math.Pi
	return math.Mod(math.Round(a*100)/100+360, 360)
}

// fitting is a body of arms that meet at the origin: elbows, tees, crosses.
func (b *builder) fitting(p *assembly.Part) (*shape, error) {
	if len(p.Ports) == 0 || len(p.Size) == 0 {
		return nil, fmt.Errorf("it has no openings")
	}
	s := &shape{up: upOfPorts(p)}
	radius, truly := 0.0, 0.0 // all arms are as thick as the thickest, so that they all lie on the plate
	for _, q := range p.Ports {
		f, ok := b.fitAt(p, q.Name)
		if !ok {
			return nil, fmt.Errorf("no rod of the model fits its opening %s", q.Name)
		}
		switch male := isMale(p.Kind, q.Name); {
		case male && p.Kind == standard.StreetElbow: // thinner than the body: lying, it would hang in the air
			s.up = p.Pose.Unrotate(q.Out)
			continue
		case male:
			continue
		case p.Kind == standard.StreetElbow45: // stands on its mouth, and its thread leans by no more than half a right angle
			s.up = p.Pose.Unrotate(q.Out).Neg()
		}
		radius = max(radius, f.outer, b.small(p.Dims.MM(standard.DimBodyOD, q.Name))/2)
		truly = max(truly, b.small(p.Dims.MM(standard.DimBandOD, q.Name)))
	}
	b.thick("the bodies of fittings of "+string(p.Size[0])+" in, across", truly, 2*radius)
	for _, q := range p.Ports {
		f, _ := b.fitAt(p, q.Name)
		at, out := p.Pose.Local(q.At), p.Pose.Unrotate(q.Out)
		reach := b.small(at.Len())
		at = b.smallVec(at)
		if isMale(p.Kind, q.Name) {
			l, ok := b.lugs[end{p.ID, q.Name}]
			reach, at = reach+l.more, at.Add(out.Mul(l.more))
			s.stems = append(s.stems, arm{geom.Vec{}, out, reach, f.rod * rodShare / 2})
			if j, joined := b.joined(p, q.Name); joined { // a fat body would stand where that of the other one goes
				mouth := b.small(p.Pose.Local(q.At).Len() - j.EngagementMM)
				s.trim = append(s.trim, sdf.HalfSpace(out.Mul(mouth-clearOfSlotMM), out.Neg()))
			}
			if ok && !b.o.Bought {
				s.add = append(s.add, peg(f, at, out, l))
				s.key += fmt.Sprintf("%.2f ", angleAbout(out, out.Across(), l.dir))
			}
			continue
		}
		const corner = 0.41 // half a side of an eight-sided prism over half the distance across its flats
		s.arms = append(s.arms, arm{out.Mul(-corner * radius), out, reach + corner*radius, radius})
		b.socketAt(s, p, q.Name, f, at, out, at.Len()+boreOverMM)
	}
	s.marks = s.armSpots()
	return s, nil
}

// upOfPorts is a direction square to as many openings as can be, and along the rest: two arms lie on the plate and the
// third, if any, points up.
func upOfPorts(p *assembly.Part) geom.Vec {
	var outs []geom.Vec
	for _, q := range p.Ports {
		outs = append(outs, p.Pose.Unrotate(q.Out))
	}
	best, most := geom.AxisZ, -1
	for _, u := range []geom.Vec{geom.AxisZ, geom.AxisY, geom.AxisX} {
		for _, sign := range []float64{1, -1} {
			d := u.Mul(sign)
			flat, down := 0, false
			for _, o := range outs {
				if math.Abs(o.Dot(d)) < 0.01 {
					flat++
				}
				down = down || o.Dot(d) < -0.01
			}
			if !down && flat > most {
				best, most = d, flat
			}
		}
	}
	return best
}

// sleeve is a straight body with a socket at each end. It is printed standing, the thicker end down.
func (b *builder) sleeve(p *assembly.Part) (*shape, error) {
	s := &shape{up: geom.AxisZ}
	thinnest := math.Inf(1)
	for _, q := range p.Ports {
		f, ok := b.fitAt(p, q.Name)
		if !ok {
			return nil, fmt.Errorf("no rod of the model fits its opening %s", q.Name)
		}
		at, out := b.smallVec(p.Pose.Local(q.At)), p.Pose.Unrotate(q.Out)
		s.arms = append(s.arms, arm{geom.Vec{}, out, at.Len(), f.outer})
		if f.outer < thinnest-1e-9 {
			thinnest, s.up = f.outer, out
		}
		b.socketAt(s, p, q.Name, f, at, out, at.Len()+boreOverMM)
	}
	s.marks = s.armSpots()
	return s, nil
}

// Rims of a union and the clip that holds them.
const (
	rimHighMM  = 1.0 // beyond the body
	rimThickMM = 1.0
	clipMM     = 1.2 // wall of the clip
)

// unionHalf is a sleeve that ends in a rim at the seat.
func (b *builder) unionHalf(p *assembly.Part) (*shape, error) {
	s := &shape{}
	for _, q := range p.Ports {
		j, ok := b.joined(p, q.Name)
		if !ok {
			continue
		}
		f, ok := b.fitAt(p, q.Name)
		if !ok {
			return nil, fmt.Errorf("no rod of the model fits its opening")
		}
		at, out := b.smallVec(p.Pose.Local(q.At)), p.Pose.Unrotate(q.Out)
		s.up = out
		s.arms = []arm{{geom.Vec{}, out, at.Len(), f.outer}}
		s.add = []sdf.Solid{sdf.Cylinder(geom.Vec{}, out, rimThickMM, f.outer+rimHighMM)}
		s.plates = []sdf.Solid{sdf.Prism(geom.Vec{}.Sub(out.Mul(intoMM)), out, out.Across(), rimThickMM+intoMM, 2*(f.outer+rimHighMM), 8)}
		s.cut = []sdf.Solid{socket(f, at, out, slotDir(p, q.Name), b.depth(j), at.Len()+boreOverMM, b.o.ClearanceMM, j.Hand == "left", !b.o.Bought)}
	}
	if len(s.arms) == 0 {
		return nil, fmt.Errorf("the half is joined to no pipe")
	}
	s.marks = s.armSpots()
	return s, nil
}

// clip is the ring with a gap that is pushed over both rims of a union from the side. It lies flat to be printed.
func clip(f fit, clearance float64) sdf.Leafed {
	rim := f.outer + rimHighMM
	outer := rim + clipMM + clearance
	half := rimThickMM + clearance + clipMM
	body := sdf.Cylinder(geom.V(0, 0, -half), geom.AxisZ, 2*half, outer)
	groove := sdf.Cylinder(geom.V(0, 0, -rimThickMM-clearance), geom.AxisZ, 2*(rimThickMM+clearance), rim+clearance)
	throat := sdf.Cylinder(geom.V(0, 0, -half-1), geom.AxisZ, 2*half+2, f.outer/octagon+clearance)
	// The gaps are narrower than what they snap over, by enough to hold; what stands out over the wider one prints as a ledge.
	wide := 2 * (rim + clearance) * clipGap
	gap := max(2*f.outer*clipGap, wide-2*clipLedgeMM)
	open := sdf.Box(geom.Box{Min: geom.V(0, -gap/2, -half-1), Max: geom.V(outer+1, gap/2, half+1)})
	openWide := sdf.Box(geom.Box{Min: geom.V(0, -wide/2, -rimThickMM-clearance), Max: geom.V(outer+1, wide/2, rimThickMM+clearance)})
	return sdf.Cut(body, groove, throat, open, openWide)
}

const (
	// clipGap is the gap of a clip over the diameter it snaps over.
	clipGap = 0.85
	// clipLedgeMM is the most that the edges of its narrower gap stand out: a little less than mostLedgeMM.
	clipLedgeMM = 0.75
	// octagon is half the distance across the flats over that across the corners, for eight sides: cos 22.5 degrees.
	octagon = 0.92388
)

// cap closes the end of a rod.
func (b *builder) cap(p *assembly.Part) (*shape, error) {
	f, ok := b.fitAt(p, "a")
	if !ok {
		return nil, fmt.Errorf("no rod of the model fits it")
	}
	j, ok := b.joined(p, "a")
	if !ok {
		return nil, fmt.Errorf("it is joined to no pipe")
	}
	mouth, high := geom.V(0, 0, -b.raised(p, "a")), b.small(p.Dims[standard.DimHeight].MM)
	b.thick("caps, high", high, high-mouth.Z)
	s := &shape{up: geom.AxisZ.Neg(), arms: []arm{{mouth, geom.AxisZ, high - mouth.Z, f.outer}}}
	b.socketAt(s, p, "a", f, mouth, geom.AxisZ.Neg(), b.depth(j)+floorMM)
	s.marks = s.armSpots()
	return s, nil
}

// plug closes an opening.
func (b *builder) plug(p *assembly.Part) (*shape, error) {
	f, ok := b.fitAt(p, "a")
	if !ok {
		return nil, fmt.Errorf("no opening of the model takes it")
	}
	at, ok := portAt(p, "a")
	if !ok {
		return nil, fmt.Errorf("it has no thread")
	}
	out := geom.AxisZ.Neg()
	at = b.smallVec(at).Add(out.Mul(b.lugs[end{p.ID, "a"}].more))
	s := &shape{up: out, arms: []arm{
		{geom.Vec{}, out, at.Len(), f.rod * rodShare / 2},
		{geom.Vec{}, geom.AxisZ, max(b.small(p.Dims[standard.DimHead].MM), sheetMM), f.outer},
	}}
	if l, ok := b.lugs[end{p.ID, "a"}]; ok && !b.o.Bought {
		s.add = append(s.add, peg(f, at, out, l))
		s.key += fmt.Sprintf("%.2f ", angleAbout(out, out.Across(), l.dir))
	}
	s.marks = s.armSpots()
	return s, nil
}

// bushing is a plug with a socket in its head. It is printed standing on the head.
func (b *builder) bushing(p *assembly.Part) (*shape, error) {
	f, ok := b.fitAt(p, "a")
	g, fits := b.fitAt(p, "b")
	at, has := portAt(p, "a")
	if !ok || !fits || !has {
		return nil, fmt.Errorf("no rod and opening of the model take it")
	}
	l, joined := b.lugs[end{p.ID, "a"}]
	out := geom.AxisZ.Neg()
	at = b.smallVec(at).Add(out.Mul(l.more))
	under, top := b.underHead(p), b.raised(p, "b")
	radius := max(g.outer, b.small(p.Dims[standard.DimAcross].MM)/2)
	b.thick("the heads of bushings, high", under, under+top)
	s := &shape{up: out, arms: []arm{
		{geom.V(0, 0, -under), out, at.Len() - under, f.rod * rodShare / 2},
		{geom.V(0, 0, -under), geom.AxisZ, under + top, radius},
	}}
	if joined && !b.o.Bought {
		s.add = append(s.add, peg(f, at, out, l))
		s.key += fmt.Sprintf("%.2f ", angleAbout(out, out.Across(), l.dir))
	}
	if j, ok := b.joined(p, "b"); ok {
		b.socketAt(s, p, "b", g, geom.V(0, 0, top), geom.AxisZ, b.depth(j)+floorMM)
	}
	s.marks = s.armSpots()
	return s, nil
}
