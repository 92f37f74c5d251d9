package fuse

import (
	"fmt"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/closing"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// fillings are the rings between what is screwed together, and between boards and pipes that nothing else joins.
func (f *frame) fillings() ([]solid, error) {
	var out []solid
	add := func(name string, profile []sdf.Station, pose geom.Pose) error {
		if profile == nil {
			return nil
		}
		m, err := f.turned(profile)
		if err != nil {
			return fmt.Errorf("%w: the filling of %s: %w", ErrFaulty, name, err)
		}
		out = append(out, solid{"the filling of " + name, f.put(m, pose)})
		return nil
	}
	group := f.touching()
	for _, j := range f.in.Joints {
		a, b := f.part[j.A.Part], f.part[j.B.Part]
		if a == nil || b == nil {
			continue
		}
		var profile []sdf.Station
		var pose geom.Pose
		switch {
		case j.Kind == assembly.UnionNut:
			profile, pose = seatFilling(a, b)
		case j.Kind.IsThreaded():
			profile, pose = threadFilling(a, b, j)
		case j.Kind == assembly.Bored:
			if p, at := sleeve(a, b); p != nil && group.join(a.ID, b.ID) {
				profile, pose = p, at
			}
		}
		if err := add(j.ID, profile, pose); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// turned meshes a profile about Z, equal ones once.
func (f *frame) turned(profile []sdf.Station) (*mesh.Mesh, error) {
	key := fmt.Sprintf("%.6f", profile)
	if m := f.ring[key]; m != nil {
		return m, nil
	}
	m, _, err := isosurface.Mesh(sdf.Revolve(geom.Vec{}, geom.AxisZ, profile), isosurface.Options{ToleranceMM: f.in.ToleranceMM})
	if err != nil {
		return nil, err
	}
	f.ring[key] = m
	return m, nil
}

// threadFilling is the ring about a thread, as far as both parts have one, in a frame with its origin at the end of the
// male part and Z to the mouth. It is nil where the parts say nothing of a thread.
func threadFilling(a, b *assembly.Part, j assembly.Joint) ([]sdf.Station, geom.Pose) {
	male, port, depth := b, j.B.Port, threadDepth(a, j.A.Port)
	if isMale(a, j.A.Port) {
		male, port, depth = a, j.A.Port, threadDepth(b, j.B.Port)
	}
	at := slices.IndexFunc(male.Ports, func(p assembly.Port) bool { return p.Name == port })
	dia, taper := male.Dims.MM(standard.DimPitchDia, port), male.Dims.MM(standard.DimTaper, port)
	if at < 0 || dia <= 0 || j.EngagementMM <= 0 {
		return nil, geom.Pose{}
	}
	end := male.Ports[at]
	from, to := -PastMM, j.EngagementMM+PastMM
	if depth > 0 {
		from = max(from, j.EngagementMM-depth-PastMM)
	}
	r0, r1 := (dia+taper*from)/2, (dia+taper*to)/2
	return []sdf.Station{
		{S: from, R: r0 - FillMM}, {S: from, R: r0 + FillMM}, {S: to, R: r1 + FillMM}, {S: to, R: r1 - FillMM},
	}, geom.Facing(end.At, end.Out.Neg(), geom.Vec{})
}

// threadDepth is how far from its mouth the thread of an opening goes, 0 when the part does not say. In a bend a bore that is
// wider than the thread takes its inner end away.
func threadDepth(p *assembly.Part, port string) float64 {
	depth := p.Dims.MM(standard.DimThreadLength, port)
	turn := 0.0
	switch p.Kind {
	case standard.Elbow, standard.StreetElbow:
		turn = math.Pi / 2
	case standard.Elbow45, standard.StreetElbow45:
		turn = math.Pi / 4
	}
	inner := p.Dims.MM(standard.DimPitchDia, port) - p.Dims.MM(standard.DimTaper, port)*depth
	if radius := p.Dims.MM(standard.DimBendRadius, ""); radius > 0 && turn > 0 && p.Dims.MM(standard.DimBore, port) > inner {
		return min(depth, p.Dims.MM(standard.DimReach, port)-radius*math.Tan(turn/2))
	}
	return depth
}

// isMale tells whether a port goes into another.
func isMale(p *assembly.Part, port string) bool {
	for _, q := range standard.PortsOf(p.Kind) {
		if q.Name == port {
			return q.Male
		}
	}
	return false
}

// seatFilling is the ring about the seat of a union and the space under its nut, up to the nut's own ends, in the frame of the
// union.
func seatFilling(a, b *assembly.Part) ([]sdf.Station, geom.Pose) {
	if a.Half == "b" {
		a, b = b, a
	}
	bore := max(a.Dims.MM(standard.DimBore, "a"), b.Dims.MM(standard.DimBore, "b")) / 2
	out := b.Dims.MM(standard.DimNutBore, "")/2 + FillMM
	down := min(b.Dims.MM(standard.DimNutOver, ""), a.Dims.MM(standard.DimCollarLength, ""))
	back := b.Dims.MM(standard.DimNutBack, "")
	if down <= 0 || back <= 0 || out <= bore {
		return nil, geom.Pose{}
	}
	within := max(bore, b.Dims.MM(standard.DimBodyOD, "b")/2-FillMM) // behind the seat only what is about half b
	return []sdf.Station{
		{S: -down - PastMM, R: bore - seatMM}, {S: -down - PastMM, R: out}, {S: back + PastMM, R: out},
		{S: back + PastMM, R: within}, {S: FillMM, R: within}, {S: FillMM, R: bore - seatMM},
	}, a.Pose
}

func ring(from, to, bore, radius float64) []sdf.Station {
	return []sdf.Station{{S: from, R: bore}, {S: from, R: radius}, {S: to, R: radius}, {S: to, R: bore}}
}

// sleeve is a ring in the hole that a board has for a pipe, in the middle of its thickness, with Z along the pipe.
func sleeve(a, b *assembly.Part) ([]sdf.Station, geom.Pose) {
	board, pipe := a, b
	if len(board.Boxes) == 0 {
		board, pipe = b, a
	}
	od := pipe.Dims.MM(standard.DimOD, "") / 2
	if len(board.Boxes) == 0 || od <= FillMM {
		return nil, geom.Pose{}
	}
	for _, h := range board.Holes {
		at, dir := board.Pose.Apply(h.At), board.Pose.Rotate(h.Dir.Unit())
		aside := pipe.Pose.Local(at)
		if math.Hypot(aside.X, aside.Y) > h.Diameter/2-od+SinkMM || math.Abs(dir.Dot(pipe.Pose.Z)) < math.Cos(sleeveLeanRad) {
			continue
		}
		for _, box := range board.Boxes {
			s := span(box, h.At, h.Dir.Unit())
			if s[1]-s[0] <= 0 {
				continue
			}
			half, mid := (s[1]-s[0])/4, (s[0]+s[1])/2
			on := pipe.Pose.Local(board.Pose.Apply(h.At.Add(h.Dir.Unit().Mul(mid)))).Z
			return ring(on-half, on+half, od-FillMM, h.Diameter/2+FillMM+math.Hypot(aside.X, aside.Y)), pipe.Pose
		}
	}
	return nil, geom.Pose{}
}

// sleeveLeanRad is how far a hole may lean against its pipe.
const sleeveLeanRad = 0.02

// span is where a line through at runs within a box whose faces are square to the axes, as distances along dir. The line may
// miss a notched box by a hair: only the axis that it is most along counts.
func span(box geom.Box, at, dir geom.Vec) [2]float64 {
	lo, hi, a, d := box.Min.X, box.Max.X, at.X, dir.X
	if math.Abs(dir.Y) > math.Abs(d) {
		lo, hi, a, d = box.Min.Y, box.Max.Y, at.Y, dir.Y
	}
	if math.Abs(dir.Z) > math.Abs(d) {
		lo, hi, a, d = box.Min.Z, box.Max.Z, at.Z, dir.Z
	}
	s, t := (lo-a)/d, (hi-a)/d
	return [2]float64{min(s, t), max(s, t)}
}

// groups tells which parts are one so far.
type groups struct {
	number map[string]int // by id
	forest closing.Forest
}

func (g groups) join(a, b string) bool { return g.forest.Join(g.number[a], g.number[b]) }

// touching groups the parts that are joined without sleeves.
func (f *frame) touching() groups {
	g := groups{number: map[string]int{}}
	for _, p := range f.in.Parts {
		g.number[p.ID] = len(g.number)
	}
	g.forest = closing.NewForest(len(g.number))
	for _, j := range f.in.Joints {
		if f.part[j.A.Part] != nil && f.part[j.B.Part] != nil && j.Kind != assembly.Bored {
			g.join(j.A.Part, j.B.Part)
		}
	}
	return g
}
