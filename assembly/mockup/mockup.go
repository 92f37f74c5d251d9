// Package mockup makes a scale model of a frame, to be printed and put together by hand before anything is bought. It
// is for rehearsing: an order that fails in steel fails in the model too.
//
// # The joint
//
// A thread cannot be printed at 1:8. What matters of it can be kept: it closes by turning one body against the other,
// it needs room along its axis, and it ends at a depth and, where it matters, at an angle. So the end of a rod carries a
// lug, and the socket a slot that leads the lug a quarter turn round while the rod goes in as deep as the thread goes in
// steel, made smaller. Two bodies that are already one cannot make that quarter turn, so a ring of such joints cannot be
// closed, just as in steel; left-hand threads have their slot the other way round. What a quarter turn does not show is
// the whole circle that the other side sweeps in steel: where that alone is what stands in the way, a finding says so.
//
// A union is two halves with rims that meet face to face, held by a clip that is put over both from the side. Flanges,
// feet and straps are held by pins, cut from filament of 1.75 mm and pushed through holes into boards and room plates:
// they can be set last, and show it.
//
// # What is true and what is not
//
// Distances between centre lines, lengths, engagements, boards' outlines and holes are true to scale. Whatever would be
// too thin to print is made thicker about its own middle, and Model.Thickened says by how much. The model's own plan,
// with its own dimensions, is replayed by the same proof as that of the frame.
//
//   - scale.go: scales, and what a printer can do
//   - clock.go: at which angle the lugs of each rod stand
//   - joint.go: lug, slot and socket
//   - piece.go, feet.go, wood.go: the solid of each kind of part
//   - plan.go: the plan of the model
//   - mark.go: numbers on pieces
//   - onepiece.go: the frame as one solid, cut to go on the bed
//   - plate.go: which side down, and where on which plate
//   - printable.go: checks of the meshes against what a printer can do
//
// Lengths are millimetres of the model unless a name says otherwise. The figures for printing are those of printers that
// melt filament, from common practice, no source.
package mockup

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Options say how the model is made. The zero value is made whole by Defaults.
type Options struct {
	Scale       float64 // so many times smaller; 0: the largest of Scales whose pieces fit on the bed
	BedMM       [2]float64
	ClearanceMM float64 // between a rod and its socket, on the radius
	Bought      bool    // rods are bought, only what joins them is printed
	Market      string  // of bought rods: "mm" or "in"
	OnePiece    bool    // the whole frame is made in one piece too
	RoomPlates  bool    // floor and walls near the frame are printed too
}

// Defaults fills in what is left open.
func (o Options) Defaults() Options {
	if o.BedMM[0] <= 0 || o.BedMM[1] <= 0 {
		o.BedMM = [2]float64{DefaultBedMM, DefaultBedMM}
	}
	if o.ClearanceMM <= 0 {
		o.ClearanceMM = DefaultClearanceMM
	}
	if o.Market == "" {
		o.Market = "mm"
	}
	return o
}

// Piece is one distinct thing to print, Count times.
type Piece struct {
	Number  int    // as in the pictures; 0 for what only the model has
	Half    string // "a" or "b" of a union
	Variant string // "", or a letter: pieces of one number whose lugs stand at different angles
	Kind    standard.Kind
	Name    string // for what only the model has: "clip", "fit test"
	Parts   []string
	Count   int
	Solid   sdf.Leafed // in the model's part frame, as it works
	Tag     bool       // it has a tag to break off
	Trial   bool       // printed by itself before all else, to try the fit
	Shown   sdf.Leafed // the same put together: without the sockets of fittings, which their rods fill
	Printed sdf.Leafed // Solid with its number, and a tag to break off where that is where the number stands
	Up      geom.Vec   // direction of the part frame that is up on the plate
}

// Label is what stands on the piece: its number, and the letter of its variant.
func (p Piece) Label() string {
	if p.Number == 0 {
		return p.Name
	}
	return strconv.Itoa(p.Number) + p.Variant
}

// Rod is a length of bought rod.
type Rod struct {
	Label      string
	DiameterMM float64
	LengthMM   float64
	Count      int
}

// Thick is a dimension of the model that is not true to scale.
type Thick struct {
	What         string
	TrueMM, IsMM float64
}

// Model is a frame made small.
type Model struct {
	Scale     float64
	Options   Options
	Pieces    []Piece
	Rods      []Rod
	Trial     []float64 // clearances of the sockets of the fit test
	Pins      int       // to be cut from filament of PinMM
	Thickened []Thick
	Findings  []assembly.Finding
	Plan      assembly.Plan // of the model, in its own millimetres

	lies   []geom.Pose           // in which each piece lies to be printed
	steps  []int                 // of the frame, for each of the model's: it leaves some out
	solids map[string]sdf.Leafed // by part
	fused  []member              // each part without its joints, in the finished model
}

// Solid gives the proof the model's solid of a part.
func (m *Model) Solid(p assembly.Part) (sdf.Leafed, error) {
	s := m.solids[p.ID]
	if s == nil {
		return nil, fmt.Errorf("the model has no %s", p.ID)
	}
	return s, nil
}

// FrameStep is the number that a step of the model has in the plan of the frame; 0 for 0.
func (m *Model) FrameStep(number int) int {
	if number < 1 || number > len(m.steps) {
		return number
	}
	return m.steps[number-1]
}

// Build makes the model of a plan. The plan must be one that was worked out: its parts have poses, dimensions and
// numbers. It fails where no model of the asked scale can be made.
func Build(plan assembly.Plan, o Options) (*Model, error) {
	o = o.Defaults()
	scale, err := chooseScale(plan, o)
	if err != nil {
		return nil, err
	}
	b := newBuilder(plan, o, scale)
	if err := b.sizes(); err != nil {
		return nil, err
	}
	b.clock()
	if err := b.pieces(); err != nil {
		return nil, err
	}
	b.plan()
	if o.Bought {
		b.m.Findings = append(b.m.Findings, plainRods())
	}
	slices.SortStableFunc(b.m.Rods, func(x, y Rod) int { return cmp.Or(len(x.Label)-len(y.Label), cmp.Compare(x.Label, y.Label)) })
	slices.SortStableFunc(b.m.Pieces, func(x, y Piece) int { return x.Number - y.Number })
	return b.m, nil
}

// plainRods tells that bought rods have no lugs.
func plainRods() assembly.Finding {
	return assembly.Finding{
		Code: "MODEL-PLAIN", Severity: assembly.Warn, Parts: []string{}, Values: map[string]float64{}, Repairs: []assembly.Repair{},
		Text: "bought rods have no lugs: they can be pushed in and pulled out without turning, so that a ring of plain threads closes in the model and not in steel, and nothing shows how far a body has to be turned",
	}
}

// builder is a model in the making.
type builder struct {
	from   assembly.Plan
	o      Options
	scale  float64
	m      *Model
	parts  map[string]*assembly.Part
	joints map[string][]*assembly.Joint // by part
	fits   map[standard.Size]fit
	lugs   map[end]lug // by pipe end
}

// end is one port of a part.
type end struct{ part, port string }

func newBuilder(plan assembly.Plan, o Options, scale float64) *builder {
	b := &builder{
		from: plan, o: o, scale: scale,
		m:     &Model{Scale: scale, Options: o, solids: map[string]sdf.Leafed{}},
		parts: map[string]*assembly.Part{}, joints: map[string][]*assembly.Joint{},
		fits: map[standard.Size]fit{}, lugs: map[end]lug{},
	}
	for i := range plan.Parts {
		b.parts[plan.Parts[i].ID] = &plan.Parts[i]
	}
	for i := range plan.Joints {
		j := &plan.Joints[i]
		b.joints[j.A.Part] = append(b.joints[j.A.Part], j)
		b.joints[j.B.Part] = append(b.joints[j.B.Part], j)
	}
	return b
}

// small makes a length of the frame one of the model.
func (b *builder) small(mm float64) float64 { return mm / b.scale }

func (b *builder) smallVec(v geom.Vec) geom.Vec { return v.Mul(1 / b.scale) }

// smallPose makes a pose of the frame one of the model.
func (b *builder) smallPose(p geom.Pose) geom.Pose {
	p.Origin = b.smallVec(p.Origin)
	return p
}
