// Package fuse makes one closed mesh of a whole frame, to print small or to look at.
//
// It takes the mesh of every part, as it stands in the frame, and joins them by package unite, which cuts each pair of skins where
// they run through one another and drops what lies inside. That needs skins that overlap, and parts only touch:
//
//   - Mating threads are cones that lie within tenths of a millimetre of one another. A ring goes into each, which reaches
//     FillMM into the metal on both sides and past both ends of the thread by PastMM, so that both cones vanish in it. The same
//     is done about the seat of a union, and between a pipe and a board that is bored for it and held by nothing else.
//   - What rests or is fixed face to face is drawn larger: boards, cleats and straps by SinkMM on all sides, feet by as much at
//     both ends. What stands nearer than that by design becomes one with its neighbour too.
//
// So all that touches becomes one body with one outer skin. Hollows that are closed on all sides, such as the air in a ring of
// pipe, have skins of their own. Bodies that touch nothing stay apart; Report counts them.
//
// Everything is joined at the scale that is asked for, because what is sound at true size need not be so when rounded smaller.
package fuse

import (
	"errors"
	"fmt"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/unite"
)

const (
	// SinkMM is by how much what touches is drawn larger, at least: several times as much as meshes of parts stand off their
	// surfaces, and no more than a saw takes.
	SinkMM = 0.15
	// sinkStepMM and sinkSteps make neighbours grow unequally, so that faces that are flush do not stay so.
	sinkStepMM = 0.01
	sinkSteps  = 5
	// MostSinkMM is the most that anything is drawn larger by.
	MostSinkMM = SinkMM + sinkStepMM*(sinkSteps-1)
	// FillMM is how far the filling of a thread reaches into the metal on either side: less than the thinnest wall under a thread
	// (1.2 mm at a size of 1/4).
	FillMM = 0.6
	// PastMM is how far the filling of a thread stands out of the mouth, and past the end of the thread: more than meshes of parts
	// stand off their surfaces, and less than is seen.
	PastMM = 0.05
	// seatMM is how far the filling of a union's seat stands into the bore, for the same reason.
	seatMM = 0.08
)

// Input is a frame, and where its shapes come from.
type Input struct {
	Parts  []assembly.Part
	Joints []assembly.Joint
	// Mesh gives the mesh of a part in its part frame, true size, nil for a part that has none.
	Mesh func(assembly.Part) *mesh.Mesh
	// ToleranceMM is how far the meshes of parts lie off their surfaces at most; fillings are made as fine.
	ToleranceMM float64
	// Scale is the size of what is made, 0.125 for an eighth; 0 is true size.
	Scale float64
}

// Report says how a mesh came about.
type Report struct {
	Parts    int // meshes joined
	Fillings int // rings put into threads, seats and holes
	Bodies   int // outer skins: one for each set of parts that touch
	Hollows  int // skins round air that is closed in
}

// Errors of Frame; what it returns wraps one of these.
var (
	ErrEmpty  = errors.New("nothing in the frame has a solid")
	ErrFaulty = errors.New("the bodies of the frame could not be joined")
)

// Frame returns the mesh of the whole frame in the finished frame, times the scale. Coordinates are rounded to 32-bit floats, and the
// mesh has passed mesh.Check.
func Frame(in Input) (*mesh.Mesh, Report, error) {
	f := newFrame(in)
	var why error
	for _, way := range ways {
		m, r, err := f.join(way)
		if err == nil || errors.Is(err, ErrEmpty) {
			return m, r, err
		}
		why = err
	}
	return nil, Report{}, why
}

// way is how joining is tried: in the order of the parts or against it, and with parts drawn in by unequal steps, which no longer
// lie on one another anywhere.
type way struct {
	backwards bool
	stepMM    float64
}

var ways = []way{{false, 0}, {true, 0}, {false, 0.01}, {true, 0.017}}

// solid is a body ready to be joined.
type solid struct {
	name string
	mesh *mesh.Mesh
}

// join adds everything to one skin. Fillings go first: what vanishes in them must never meet what it touches.
func (f *frame) join(w way) (*mesh.Mesh, Report, error) {
	parts, err := f.parts()
	if err != nil {
		return nil, Report{}, err
	}
	if len(parts) == 0 {
		return nil, Report{}, ErrEmpty
	}
	fills, err := f.fillings()
	if err != nil {
		return nil, Report{}, err
	}
	for i, p := range parts {
		if by := w.stepMM * float64(i%sinkSteps); by > 0 {
			parts[i].mesh = mesh.Inset(p.mesh, by*f.in.Scale)
		}
	}
	if w.backwards {
		slices.Reverse(parts)
	}
	room := geom.EmptyBox()
	for _, p := range parts {
		room = room.Union(mesh.Bounds(p.mesh))
	}
	u := unite.New(room)
	for _, s := range slices.Concat(fills, parts) {
		if err := u.Add(s.mesh); err != nil {
			return nil, Report{}, fmt.Errorf("%w: %s: %w", ErrFaulty, s.name, err)
		}
	}
	m := u.Mesh()
	if faults := mesh.Examine(m); !faults.OK() {
		return nil, Report{}, fmt.Errorf("%w: %s", ErrFaulty, faults)
	}
	bodies, hollows := skins(m)
	return m, Report{Parts: len(parts), Fillings: len(fills), Bodies: bodies, Hollows: hollows}, nil
}

// skins counts the skins of a mesh that face outwards, and those that face inwards, round hollows.
func skins(m *mesh.Mesh) (bodies, hollows int) {
	for _, shell := range mesh.Apart(m) {
		if mesh.Volume(shell) > 0 {
			bodies++
		} else {
			hollows++
		}
	}
	return bodies, hollows
}

// frame is the work in hand.
type frame struct {
	in   Input
	part map[string]*assembly.Part
	ring map[string]*mesh.Mesh // fillings, by their sizes
}

func newFrame(in Input) *frame {
	f := &frame{in: in, part: map[string]*assembly.Part{}, ring: map[string]*mesh.Mesh{}}
	if f.in.Scale == 0 {
		f.in.Scale = 1
	}
	for i := range in.Parts {
		if in.Parts[i].Kind != standard.Room {
			f.part[in.Parts[i].ID] = &in.Parts[i]
		}
	}
	return f
}

// put places a mesh in the finished frame, at scale.
func (f *frame) put(m *mesh.Mesh, pose geom.Pose) *mesh.Mesh {
	m = mesh.Placed(m, pose)
	for i, v := range m.Vertices {
		m.Vertices[i] = v.Mul(f.in.Scale)
	}
	return m
}

// parts are the meshes of all parts, larger where they are to run into what they touch.
func (f *frame) parts() ([]solid, error) {
	var out []solid
	grown := 0
	for _, p := range f.in.Parts {
		if f.part[p.ID] == nil {
			continue
		}
		m := f.in.Mesh(p)
		if m == nil {
			continue
		}
		sink := SinkMM + sinkStepMM*float64(grown%sinkSteps)
		switch {
		case len(p.Boxes) > 0 || p.Kind == standard.Strap:
			grown++
			big := mesh.Inset(m, -sink)
			if err := mesh.Check(big); err != nil {
				return nil, fmt.Errorf("%w: %s larger by %.2f mm: %w", ErrFaulty, p.ID, sink, err)
			}
			m = big
		case isFoot(&p) && p.Dims.MM(standard.DimHeight, "") > 0:
			grown++
			m = stretched(m, p.Dims.MM(standard.DimHeight, ""), sink)
		}
		out = append(out, solid{p.ID, f.put(m, p.Pose)})
	}
	return out, nil
}

func isFoot(p *assembly.Part) bool {
	return p.Kind == standard.Glide || p.Kind == standard.Caster || p.Kind == standard.Pad
}

// stretched returns a foot of that height that reaches mm further at both of its faces, at 0 and at the height on Z.
func stretched(m *mesh.Mesh, height, mm float64) *mesh.Mesh {
	out := &mesh.Mesh{Vertices: slices.Clone(m.Vertices), Triangles: m.Triangles}
	for i, v := range out.Vertices {
		out.Vertices[i].Z = -mm + v.Z*(height+2*mm)/height
	}
	return out
}
