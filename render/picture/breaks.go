package picture

import (
	"math"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
	"turnwise/render/explode"
)

// Long pipes waste the sheet of a big frame: fittings come out a few millimetres wide between them. There a stretch is
// left out of the middle of each long pipe, as drawings of shafts and pipes have it: both ends are drawn at the scale of
// the picture, cut off in a wave, and the length is written beside the break. A pipe that is longer than another is
// still drawn longer.
//
// A broken pipe is two parts of a plan made for the picture, which share a number, and a joint between them that closes
// instead of opening. How far it closes is left to the rings the pipe is part of: a pipe facing one that cannot be
// broken, because a board lies along it, keeps its length.

const (
	// breakScale is the scale, in scene millimetres per millimetre of the sheet, from which pipes are broken: a 3/4 inch
	// tee is then less than four millimetres wide.
	breakScale = 16
	// wholeDiameters is how long a pipe is drawn in full, in its outside diameters, and drawnShare the share of what is
	// longer that is drawn besides, so that longer pipes stay longer.
	wholeDiameters = 8
	drawnShare     = 0.12
	// leastCutDiameters is the shortest stretch worth leaving out.
	leastCutDiameters = 3
	// waveRadii is how far the wave of a break goes to either side, in radii of the pipe.
	waveRadii = 0.55
	// breakGapMM is the space between the ends of a broken pipe on the sheet.
	breakGapMM = 1.1
	// leastGain is how much larger the drawing must get for broken pipes.
	leastGain = 1.12
	// settleRounds is how often cuts are brought into line with the rings they lie in.
	settleRounds = 2
	// cutPort names the port at a break; farHalf is added to the id of a pipe for its second half.
	cutPort = "cut"
	farHalf = "/far"
)

// cut is the stretch left out of a pipe, measured from its port a.
type cut struct {
	from, to float64
}

// shortened returns the stage to take apart, with its cuts: with long pipes broken where that makes a small drawing
// larger, else as it is.
func (s *stage) shortened() (*stage, map[string]cut) {
	before := s.roughScale(1)
	if before < breakScale {
		return s, nil
	}
	cuts := s.settled(s.cuts())
	if len(cuts) == 0 {
		return s, nil
	}
	b := s.broken(cuts, nil)
	if before < leastGain*b.roughScale(1) {
		return s, nil
	}
	return b, cuts
}

// settled brings cuts into line with the rings of pipe they lie in, and leaves out those that are hardly worth it then.
func (s *stage) settled(cuts map[string]cut) map[string]cut {
	for range settleRounds {
		if len(cuts) == 0 {
			return nil
		}
		b := s.broken(cuts, nil)
		apart := explode.Apart(b.plan, explode.Options{Boxes: b.boxes(), Cuts: b.closing, Shut: b.shut, Gap: func(geom.Vec) float64 { return gapMM }})
		next := map[string]cut{}
		for i, p := range s.parts {
			k, ok := cuts[p.ID]
			if !ok {
				continue
			}
			size := s.scene.Instances[i].Shape.Box.Size()
			mm, mid := apart.Closed[cutJoint(p.ID)], (k.from+k.to)/2
			if mm >= leastCutDiameters*min(size.X, size.Y) {
				next[p.ID] = cut{mid - mm/2, mid + mm/2}
			}
		}
		cuts = next
	}
	return cuts
}

// recut is the broken stage for a finished explosion: the ends at a break stand breakGapMM apart on the sheet, and their
// waves are seen from the side.
func (s *stage) recut(cuts map[string]cut, apart explode.Result, c render.Camera, mmPerMM float64) *stage {
	gap := breakGapMM * mmPerMM
	fit := map[string]cut{}
	for id, k := range cuts {
		mid, mm := (k.from+k.to)/2, apart.Closed[cutJoint(id)]
		along := s.parts[s.id[id]-1].Ports[1].Out
		mm += gap / max(leastForeshortening, c.Foreshortening(along))
		fit[id] = cut{mid - mm/2, mid + mm/2}
	}
	return s.broken(fit, &c)
}

// drawnLength is how long a pipe of an outside diameter is drawn.
func drawnLength(lengthMM, diameterMM float64) float64 {
	whole := wholeDiameters * diameterMM
	if lengthMM <= whole {
		return lengthMM
	}
	return whole + drawnShare*(lengthMM-whole)
}

// cuts returns what is to be left out of each pipe, by id: nothing of one along which something lies or is held.
func (s *stage) cuts() map[string]cut {
	out := map[string]cut{}
	for i, p := range s.parts {
		box := s.scene.Instances[i].Shape.Box
		size := box.Size()
		od := min(size.X, size.Y)
		if p.Kind != standard.Pipe || len(p.Ports) != 2 {
			continue
		}
		l := p.Ports[1].At.Sub(p.Ports[0].At).Len()
		short := l - drawnLength(l, od)
		if short < leastCutDiameters*od {
			continue
		}
		c := cut{(l - short) / 2, (l + short) / 2}
		if s.isFree(p, c) {
			out[p.ID] = c
		}
	}
	return out
}

// isFree tells whether no wood or strap is held by what lies on both sides of a cut, or lies along the pipe there.
func (s *stage) isFree(p assembly.Part, c cut) bool {
	from := p.Ports[0].At
	dir := p.Ports[1].At.Sub(from).Unit()
	for i, b := range s.parts {
		if !isLoose(b) {
			continue
		}
		low, high := math.Inf(1), math.Inf(-1) // of what holds it, along the pipe
		for _, j := range s.plan.Joints {
			other := j.A.Part
			if other == b.ID {
				other = j.B.Part
			} else if j.B.Part != b.ID {
				continue
			}
			if s.id[other] == 0 || j.Kind == assembly.Bored {
				continue
			}
			in := s.scene.Instances[i]
			if other != p.ID {
				in = s.scene.Instances[s.id[other]-1]
			}
			lo, hi := spanAlong(in.Pose.Box(in.Shape.Box), from, dir)
			low, high = min(low, lo), max(high, hi)
		}
		if low < c.from && high > c.to || low < c.to && high > c.from {
			return false
		}
	}
	return true
}

// spanAlong returns how far a box reaches along a direction from a point.
func spanAlong(b geom.Box, from, dir geom.Vec) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, v := range b.Corners() {
		d := v.Sub(from).Dot(dir)
		low, high = min(low, d), max(high, d)
	}
	return low, high
}

// isLoose tells whether a part follows others in an exploded picture.
func isLoose(p assembly.Part) bool {
	return p.Kind == standard.Board || p.Kind == standard.Cleat || p.Kind == standard.Strap
}

// broken returns the stage with pipes cut. Waves run towards the eye of a camera, if there is one.
func (s *stage) broken(cuts map[string]cut, c *render.Camera) *stage {
	plan := *s.plan
	plan.Parts, plan.Joints = nil, nil
	shape := map[string][2]*render.Shape{} // by id of a part: fine and coarse
	made := map[stubKey]*render.Shape{}    // equal pipes are cut once
	for _, p := range s.plan.Parts {
		k, ok := cuts[p.ID]
		if !ok {
			plan.Parts = append(plan.Parts, p)
			continue
		}
		near, far := halves(p, k)
		plan.Parts = append(plan.Parts, near, far)
		i := s.id[p.ID] - 1
		for n, h := range [2]assembly.Part{near, far} {
			shape[h.ID] = [2]*render.Shape{s.stub(made, i, k, n == 1, c, s.scene), s.stub(made, i, k, n == 1, c, s.coarse)}
		}
	}
	for _, j := range s.plan.Joints {
		j.A, j.B = s.onHalf(cuts, j.A, j), s.onHalf(cuts, j.B, j)
		plan.Joints = append(plan.Joints, j)
	}
	for _, p := range s.parts {
		if k, ok := cuts[p.ID]; ok {
			near, far := halves(p, k)
			plan.Joints = append(plan.Joints, assembly.Joint{ID: cutJoint(p.ID), Kind: assembly.Face,
				A: assembly.End{Part: near.ID, Port: cutPort}, B: assembly.End{Part: far.ID, Port: cutPort},
				Axis: &assembly.Axis{At: near.Ports[1].At, Dir: near.Ports[1].Out}})
		}
	}
	out := s.restaged(&plan, shape)
	out.closing = map[string]float64{}
	for id, k := range cuts {
		out.closing[cutJoint(id)] = k.to - k.from
	}
	return out
}

// cutJoint names the joint between the halves of a pipe.
func cutJoint(pipe string) string { return pipe + "/cut" }

// halves are the two parts that a broken pipe is drawn as. The first keeps the pipe's id.
func halves(p assembly.Part, k cut) (near, far assembly.Part) {
	a, b := p.Ports[0], p.Ports[1]
	dir := b.At.Sub(a.At).Unit()
	near, far = p, p
	near.Half, far.Half = "a", "b"
	far.ID = p.ID + farHalf
	near.Ports = []assembly.Port{a, {Name: cutPort, At: a.At.Add(dir.Mul(k.from)), Out: dir}}
	far.Ports = []assembly.Port{b, {Name: cutPort, At: a.At.Add(dir.Mul(k.to)), Out: dir.Neg()}}
	return near, far
}

// onHalf names the half of a broken pipe that a joint is on: the one with its port; of a board that a pipe goes
// through, the one at the end it comes off; else the one beside it.
func (s *stage) onHalf(cuts map[string]cut, e assembly.End, j assembly.Joint) assembly.End {
	k, ok := cuts[e.Part]
	if !ok {
		return e
	}
	p := s.parts[s.id[e.Part]-1]
	dir := p.Ports[1].At.Sub(p.Ports[0].At).Unit()
	far := false
	switch {
	case e.Port != "":
		far = e.Port == p.Ports[1].Name
	default:
		other := j.A.Part
		if other == e.Part {
			other = j.B.Part
		}
		i := s.id[other]
		if i == 0 {
			return e
		}
		if j.Kind == assembly.Bored {
			far = explode.Leaving(s.plan, other).Dot(dir) > 0
			break
		}
		in := s.scene.Instances[i-1]
		low, high := spanAlong(in.Pose.Box(in.Shape.Box), p.Ports[0].At, dir)
		far = low+high > k.from+k.to
	}
	if far {
		e.Part += farHalf
	}
	return e
}

// restaged is the stage of a plan with other parts: those with a shape of their own, by id, and those there were.
func (s *stage) restaged(plan *assembly.Plan, shape map[string][2]*render.Shape) *stage {
	out := &stage{plan: plan, joined: map[[2]int]bool{}, id: map[string]int{}, dashes: s.dashes, shut: s.shut}
	for _, p := range plan.Parts {
		own, isNew := shape[p.ID]
		i := s.id[p.ID]
		if i == 0 && !isNew {
			continue
		}
		if !isNew {
			own = [2]*render.Shape{s.scene.Instances[i-1].Shape, s.coarse.Instances[i-1].Shape}
		}
		out.add(p, own)
	}
	out.join()
	return out
}

// stubKey is what tells one stub from another: the mesh, the cut, the end, and where the wave is seen from, to a
// hundredth of a millimetre and a thousandth of a unit vector.
type stubKey struct {
	mesh     *mesh.Mesh
	from, to float64
	far      bool
	side     geom.Vec
}

// stub is what is left of a pipe on one side of a cut, made once for equal ones.
func (s *stage) stub(made map[stubKey]*render.Shape, i int, k cut, far bool, c *render.Camera, scene render.Scene) *render.Shape {
	in, p := scene.Instances[i], s.parts[i]
	radius := s.scene.Instances[i].Shape.Box.Size().X / 2
	a := in.Pose.Local(p.Ports[0].At)
	up := in.Pose.Unrotate(p.Ports[1].Out) // along the pipe
	side := up.Across()
	if c != nil {
		if v := in.Pose.Unrotate(c.Back); v.Cross(up).Len() > 1e-3 {
			side = v.Sub(up.Mul(v.Dot(up))).Unit()
		}
	}
	grain := func(v, per float64) float64 { return math.Round(v*per) / per }
	key := stubKey{in.Shape.Mesh, grain(k.from, 100), grain(k.to, 100), far, geom.V(grain(side.X, 1000), grain(side.Y, 1000), grain(side.Z, 1000))}
	if made[key] != nil {
		return made[key]
	}
	w := wave{origin: a.Add(up.Mul(k.from)), up: up, x: side, y: up.Cross(side), heightMM: waveRadii * radius}
	if far {
		w.origin, w.up = a.Add(up.Mul(k.to)), up
		w.flip = true
	}
	made[key] = render.NewShape(w.cut(in.Shape.Mesh))
	return made[key]
}

// wave is a surface across a pipe that rises and falls twice round it: seen from the side x, an S. Of the two ends of a
// break both have the same.
type wave struct {
	origin, up, x, y geom.Vec
	heightMM         float64
	flip             bool // keep what lies above it
}

// above is how far a point lies above the wave, less than nothing on the side that is kept.
func (w wave) above(v geom.Vec) float64 {
	d := v.Sub(w.origin)
	u := d.Dot(w.up) - w.heightMM*math.Sin(2*math.Atan2(d.Dot(w.y), d.Dot(w.x)))
	if w.flip {
		return -u
	}
	return u
}

// crossing is where the line from a kept point to one that is not meets the wave.
func (w wave) crossing(a, b geom.Vec) geom.Vec {
	const halvings = 24
	for range halvings {
		if m := a.Lerp(b, 0.5); w.above(m) < 0 {
			a = m
		} else {
			b = m
		}
	}
	return a.Lerp(b, 0.5)
}

// cut returns what of a tube's mesh lies below the wave, closed by the wall between its outside and its bore.
func (w wave) cut(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	index := map[geom.Vec]int32{}
	add := func(v geom.Vec) int32 {
		k, ok := index[v]
		if !ok {
			k = int32(len(out.Vertices))
			index[v] = k
			out.Vertices = append(out.Vertices, v)
		}
		return k
	}
	var rim []geom.Vec // each point once, though two triangles meet there
	onRim := map[geom.Vec]bool{}
	for _, t := range m.Triangles {
		var poly []geom.Vec
		for k := range 3 {
			a, b := m.Vertices[t[k]], m.Vertices[t[(k+1)%3]]
			da, db := w.above(a), w.above(b)
			if da < 0 {
				poly = append(poly, a)
			}
			if (da < 0) != (db < 0) {
				p := geom.Vec{}
				if da < 0 {
					p = w.crossing(a, b)
				} else {
					p = w.crossing(b, a)
				}
				poly = append(poly, p)
				if !onRim[p] {
					rim, onRim[p] = append(rim, p), true
				}
			}
		}
		for k := 2; k < len(poly); k++ {
			out.Triangles = append(out.Triangles, [3]int32{add(poly[0]), add(poly[k-1]), add(poly[k])})
		}
	}
	for _, t := range w.wall(rim) {
		out.Triangles = append(out.Triangles, [3]int32{add(t[0]), add(t[1]), add(t[2])})
	}
	return out
}

// wall closes the cut between the outer and the inner points of its rim.
func (w wave) wall(rim []geom.Vec) [][3]geom.Vec {
	type spot struct {
		at    geom.Vec
		angle float64
	}
	radius := func(v geom.Vec) float64 { d := v.Sub(w.origin); return math.Hypot(d.Dot(w.x), d.Dot(w.y)) }
	least, most := math.Inf(1), 0.0
	for _, v := range rim {
		least, most = min(least, radius(v)), max(most, radius(v))
	}
	var rings [2][]spot // inner, outer
	for _, v := range rim {
		k := 0
		if radius(v) > (least+most)/2 {
			k = 1
		}
		d := v.Sub(w.origin)
		rings[k] = append(rings[k], spot{v, math.Atan2(d.Dot(w.y), d.Dot(w.x))})
	}
	for _, r := range rings {
		sort.SliceStable(r, func(i, k int) bool { return r[i].angle < r[k].angle })
	}
	in, on := rings[0], rings[1]
	if len(in) < 3 || len(on) < 3 {
		return nil
	}
	var out [][3]geom.Vec
	face := func(a, b, c geom.Vec) {
		n := b.Sub(a).Cross(c.Sub(a)).Dot(w.up)
		if (n < 0) != w.flip {
			b, c = c, b
		}
		out = append(out, [3]geom.Vec{a, b, c})
	}
	// Go round both rings at once, always from the one that is behind.
	i, k := 0, 0
	for i < len(in) || k < len(on) {
		a, b := in[i%len(in)], on[k%len(on)]
		if k >= len(on) || i < len(in) && a.angle <= b.angle {
			face(a.at, b.at, in[(i+1)%len(in)].at)
			i++
		} else {
			face(b.at, on[(k+1)%len(on)].at, a.at)
			k++
		}
	}
	return out
}
