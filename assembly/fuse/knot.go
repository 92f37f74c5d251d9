package fuse

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

const (
	// clearMM is how far from the end of a pipe's thread, and from the mouth that takes it, the pipe is cut.
	clearMM = 3.0
	// leastBarrelMM is the shortest stretch of straight pipe worth a cut.
	leastBarrelMM = 6.0
	// fillMM is how far the filling of a thread reaches into the metal on either side: less than the thinnest wall under a thread
	// (1.2 mm at a size of 1/4).
	fillMM = 0.6
)

// barrel is a straight stretch of a pipe between two stubs.
type barrel struct {
	pipe  *assembly.Part
	stubs [2]*stub // at lower z, and at higher
}

// stub is a piece of a pipe at one of its cuts: the end of the pipe as far as the cut, or one side of a middle piece.
type stub struct {
	pipe *assembly.Part
	end  int     // 0: port a, at z = 0, or the lower side of a middle piece; 1: port b, or the upper side
	mm   float64 // length of an end
	mid  *middle // nil for ends
	knot *knot
	rim  []int32 // vertices of both rings in the frame's mesh
}

// middle is a piece of a pipe between its ends that something lies on.
type middle struct {
	from, to float64 // along the pipe
	name     string
}

// node names the piece of a pipe that a stub belongs to.
func (s *stub) node() string {
	if s.mid != nil {
		return s.mid.name
	}
	return s.pipe.ID + "." + [2]string{"a", "b"}[s.end]
}

// knot is a body between cuts.
type knot struct {
	parts  []*assembly.Part
	stubs  []*stub
	joints []assembly.Joint
	pose   geom.Pose // of its own frame in the finished one
	form   *form
}

// form is the shape of a knot, in its own frame.
type form struct {
	key   string
	solid sdf.Leafed
	caps  []cap
	mesh  *mesh.Mesh
}

// cap is the flat end of a stub.
type cap struct {
	at, out geom.Vec
	radius  float64
}

// cutPipes decides which pipes are cut and where.
func (f *frame) cutPipes() {
	for i := range f.in.Parts {
		p := &f.in.Parts[i]
		if p.Kind != standard.Pipe || f.part[p.ID] == nil {
			continue
		}
		f.cutPipe(p, f.ends(p))
	}
}

// ends is how far from either end of a pipe its cuts may lie at least: clear of its threads and of the mouths that take them.
func (f *frame) ends(p *assembly.Part) (mm [2]float64) {
	for k, port := range []string{"a", "b"} {
		thread := p.Dims.MM(standard.DimThreadLength, port) + p.Dims.MM(standard.DimVanish, port)
		mm[k] = rounded(max(thread, f.deep[p.ID+"."+port]) + clearMM)
	}
	return mm
}

// gather finds the knots: what is joined by threads without crossing a cut.
func (f *frame) gather() {
	group := map[string]string{} // union-find over names: a part's id, or a stub's pipe and port
	var root func(string) string
	root = func(n string) string {
		if group[n] == "" || group[n] == n {
			return n
		}
		group[n] = root(group[n])
		return group[n]
	}
	for _, j := range slices.Concat(f.threads, f.contacts) {
		a, b := root(f.node(j.A, j.B.Part)), root(f.node(j.B, j.A.Part))
		if a != b {
			group[b] = a
		}
	}
	knots := map[string]*knot{}
	at := func(name string) *knot {
		r := root(name)
		if knots[r] == nil {
			knots[r] = &knot{}
			f.list = append(f.list, knots[r])
		}
		return knots[r]
	}
	for i := range f.in.Parts {
		p := &f.in.Parts[i]
		if f.part[p.ID] == nil || !f.fused[p.ID] {
			continue
		}
		if f.cut[p.ID] != nil {
			for _, s := range f.cut[p.ID] {
				s.knot = at(s.node())
				s.knot.stubs = append(s.knot.stubs, s)
			}
			continue
		}
		n := at(p.ID)
		n.parts = append(n.parts, p)
	}
	for _, j := range f.threads {
		n := at(f.node(j.A, j.B.Part))
		n.joints = append(n.joints, j)
	}
	for _, k := range f.list {
		k.form = &form{}
		k.choosePose()
	}
}

// node names what a joint's end belongs to: of a pipe that is cut, the piece at its port, or the one that the mate
// lies on.
func (f *frame) node(e assembly.End, mate string) string {
	if f.cut[e.Part] == nil {
		return e.Part
	}
	if e.Port == "a" || e.Port == "b" {
		return e.Part + "." + e.Port
	}
	if name, ok := f.lies[[2]string{e.Part, mate}]; ok {
		return name
	}
	return e.Part + ".a" // a body that is said to lie on a pipe and does not: any piece will do
}

// choosePose takes the frame of the knot's first fitting, since its axes are those of most surfaces.
func (k *knot) choosePose() {
	for _, p := range k.parts {
		if p.Kind != standard.Pipe {
			k.pose = p.Pose
			return
		}
	}
	if len(k.parts) > 0 {
		k.pose = k.parts[0].Pose
		return
	}
	k.pose = k.stubs[0].pose()
}

// pose is the frame of a stub in the finished one: origin at the end of the pipe, Z into the pipe.
func (s *stub) pose() geom.Pose {
	p := s.pipe.Pose
	if s.mid != nil {
		return p.Moved(p.Z.Mul(s.mid.from))
	}
	if s.end == 0 {
		return p
	}
	return geom.Pose{Origin: p.Apply(geom.V(0, 0, s.pipe.LengthMM)), X: p.X, Y: p.Y.Neg(), Z: p.Z.Neg()}
}

// member is a piece of a knot.
type member struct {
	name  string // equal for equal members
	solid sdf.Solid
	fills bool  // made to close a gap: its edges are none of the frame's
	stub  *stub // nil but for stubs
	cap   cap
}

// shape makes the form of a knot. Members are sorted by name, so that equal knots have equal keys whatever the order of
// their parts.
func (f *frame) shape(k *knot) error {
	var members []member
	local := func(p geom.Pose) geom.Pose { return tidy(k.pose.Inverse().Compose(p)) }
	for _, p := range k.parts {
		s, err := f.in.Solid(f.sunk(*p))
		if err != nil {
			return err
		}
		pose := local(f.sunk(*p).Pose)
		for _, d := range f.pads[p.ID] {
			members = append(members, d.member(f.part[d.pipe].Dims.MM(standard.DimOD, "")/2, local))
		}
		members = append(members, member{name: "part " + p.Solid + poseText(pose), solid: sdf.Move(s, pose)})
	}
	for _, s := range k.stubs {
		if s.mid != nil {
			members = append(members, s.side(local))
			continue
		}
		solid, profile, err := f.stubSolid(s)
		if err != nil {
			return err
		}
		pose := local(s.pose())
		pose = tidy(geom.Facing(pose.Origin, pose.Z, geom.Vec{})) // it is round: how it is turned does not matter
		end := cap{pose.Apply(geom.V(0, 0, s.mm)), pose.Z, s.pipe.Dims.MM(standard.DimOD, "") / 2}
		members = append(members, member{"stub" + profile + poseText(pose), sdf.Move(solid, pose), false, s, end})
	}
	for _, j := range k.joints {
		if fill, name := f.filling(j, local); fill != nil {
			members = append(members, member{name: name, solid: fill, fills: true})
		}
	}
	sort.SliceStable(members, func(i, j int) bool { return members[i].name < members[j].name })
	var key strings.Builder
	var solids []sdf.Solid
	var edges []sdf.Feature
	k.stubs = nil
	for _, m := range members {
		key.WriteString(m.name + "\n")
		if m.solid != nil {
			solids = append(solids, m.solid)
		}
		if m.solid != nil && !m.fills {
			edges = append(edges, sdf.Features(m.solid)...)
		}
		if m.stub != nil {
			k.stubs = append(k.stubs, m.stub)
			k.form.caps = append(k.form.caps, m.cap)
		}
	}
	// Edges inside the metal are hidden from the mesher: those of a pipe end and of its socket lie tenths of a millimetre
	// apart, and cells fine enough to tell them apart would be for nothing.
	whole := sdf.Join(solids...)
	k.form.solid, k.form.key = sdf.Marked(whole, sdf.Exposed(whole, edges)), key.String()
	return nil
}

// sameMM is the step to which places inside a knot are rounded, so that equal knots come out equal: far below any
// tolerance, far above rounding.
const sameMM = 1e-6

func tidy(p geom.Pose) geom.Pose {
	z := roundedVec(p.Z).Unit()
	y := z.Cross(roundedVec(p.X)).Unit()
	return geom.Pose{Origin: roundedVec(p.Origin), X: y.Cross(z), Y: y, Z: z}
}

// rounded never returns minus nought, which would print differently.
func rounded(x float64) float64 { return math.Round(x/sameMM)*sameMM + 0 }

func roundedVec(v geom.Vec) geom.Vec { return geom.V(rounded(v.X), rounded(v.Y), rounded(v.Z)) }

// text writes numbers so that those equal but for rounding come out alike.
func text(xs ...float64) string {
	var b strings.Builder
	for _, x := range xs {
		fmt.Fprintf(&b, " %d", int64(math.Round(x/sameMM)))
	}
	return b.String()
}

func poseText(p geom.Pose) string {
	var out string
	for _, v := range []geom.Vec{p.Origin, p.X, p.Z} {
		out += text(v.X, v.Y, v.Z)
	}
	return out
}

// stubSolid cuts a pipe off at the stub's length, in the stub's frame, from its profile.
func (f *frame) stubSolid(s *stub) (sdf.Leafed, string, error) {
	solid, err := f.in.Solid(*s.pipe)
	if err != nil {
		return nil, "", err
	}
	at, dir, sides, ok := sdf.Profile(solid)
	if !ok {
		return nil, "", fmt.Errorf("%s is not turned", s.pipe.ID)
	}
	loop := chain(sides)
	for i := range loop { // to distances from the stub's own end, along its own Z
		z := at.Z + dir.Z*loop[i].S
		if s.end == 1 {
			z = s.pipe.LengthMM - z
		}
		loop[i] = sdf.Station{S: rounded(z), R: rounded(loop[i].R)}
	}
	loop = shorten(loop, s.mm)
	names := make([]string, len(loop)) // sorted, since the two ends of a pipe are gone round in opposite ways
	for i, c := range loop {
		names[i] = text(c.S, c.R)
	}
	sort.Strings(names)
	return sdf.Revolve(geom.Vec{}, geom.AxisZ, loop), strings.Join(names, ";"), nil
}

// chain puts the sides of a profile end to end.
func chain(sides []sdf.Side) []sdf.Station {
	var loop []sdf.Station
	used := make([]bool, len(sides))
	at := 0
	for range sides {
		used[at] = true
		loop = append(loop, sides[at].From)
		best, far := at, math.Inf(1)
		for i, e := range sides {
			if d := math.Hypot(e.From.S-sides[at].To.S, e.From.R-sides[at].To.R); !used[i] && d < far {
				best, far = i, d
			}
		}
		at = best
	}
	return loop
}

// shorten keeps of a polygon what lies up to s.
func shorten(loop []sdf.Station, s float64) []sdf.Station {
	var out []sdf.Station
	for i, a := range loop {
		b := loop[(i+1)%len(loop)]
		if a.S <= s {
			out = append(out, a)
		}
		if (a.S < s) != (b.S < s) && a.S != s && b.S != s {
			out = append(out, sdf.Station{S: s, R: a.R + (b.R-a.R)*(s-a.S)/(b.S-a.S)})
		}
	}
	return out
}

// filling is what closes the skin between the metal of two parts that are screwed together: a ring about the thread from
// the end of the male part to the mouth of the female one, or one under the nut of a union. Its faces lie in those of
// the parts. It is nil where the parts say nothing of a thread.
func (f *frame) filling(j assembly.Joint, local func(geom.Pose) geom.Pose) (sdf.Leafed, string) {
	a, b := f.part[j.A.Part], f.part[j.B.Part]
	if j.Kind == assembly.UnionNut {
		return f.nutFilling(a, b, local)
	}
	male, port := b, j.B.Port
	if isMale(a, j.A.Port) {
		male, port = a, j.A.Port
	}
	var end assembly.Port
	for _, p := range male.Ports {
		if p.Name == port {
			end = p
		}
	}
	dia, taper := male.Dims.MM(standard.DimPitchDia, port), male.Dims.MM(standard.DimTaper, port)
	if end.Name == "" || dia <= 0 || j.EngagementMM <= 0 {
		return nil, ""
	}
	e := rounded(j.EngagementMM)
	r0, r1 := dia/2, (dia+taper*e)/2
	ring := sdf.Revolve(geom.Vec{}, geom.AxisZ, []sdf.Station{
		{S: 0, R: r0 - fillMM}, {S: 0, R: r0 + fillMM}, {S: e, R: r1 + fillMM}, {S: e, R: r1 - fillMM},
	})
	pose := local(geom.Facing(end.At, end.Out.Neg(), geom.Vec{}))
	pose = tidy(geom.Facing(pose.Origin, pose.Z, geom.Vec{}))
	return sdf.Move(ring, pose), "thread" + text(e, r0, r1) + poseText(pose)
}

// isMale tells whether a port goes into another: those of a pipe, and those that end a body's own male thread.
func isMale(p *assembly.Part, port string) bool {
	switch p.Kind {
	case standard.Pipe:
		return true
	case standard.StreetElbow, standard.StreetElbow45:
		return port == "b"
	case standard.Bushing, standard.Plug:
		return port == "a"
	}
	return false
}

// nutFilling fills the seat of a union and the space under its nut.
func (f *frame) nutFilling(a, b *assembly.Part, local func(geom.Pose) geom.Pose) (sdf.Leafed, string) {
	if a.Half == "b" {
		a, b = b, a
	}
	bore := max(a.Dims.MM(standard.DimBore, "a"), b.Dims.MM(standard.DimBore, "b")) / 2
	out := b.Dims.MM(standard.DimNutBore, "")/2 + fillMM
	down := min(b.Dims.MM(standard.DimNutOver, ""), a.Dims.MM(standard.DimCollarLength, ""))
	if down <= 0 || out <= bore {
		return nil, ""
	}
	pose := local(a.Pose)
	return sdf.Move(sdf.Tube(geom.V(0, 0, -down), geom.AxisZ, down+fillMM, out, bore), pose), "union" + text(bore, out, down) + poseText(pose)
}
