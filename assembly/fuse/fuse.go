// Package fuse makes one closed mesh of a whole frame, to print small or to look at.
//
// Parts that are screwed together become one body: their signed distances are joined, so that no pipe end is left inside
// a socket as a skin of its own. Meshing all of a frame on one grid would take a thousand times the cells that matter, since
// most of it is straight pipe. So each long pipe is cut in two places:
//
//	fitting with stubs | barrel | fitting with stubs
//
// What lies between cuts is a knot: a fitting, or several with short nipples between, with the stubs of its pipes. Knots
// are meshed each in its own frame, equal ones once. The flat ends of the stubs are then taken off, and the two rings of
// vertices that each leaves, on the pipe's outside and in its bore, are joined across the barrel by straight strips. All
// corners of a strip lie on the pipe, and each triangle spans no more of the turn than one side of a ring does, so that
// the barrel keeps the tolerance of the knots.
//
// Mating threads are filled: where two cones only touch there would be a skin without thickness between them. The same
// is done under the nut of a union.
//
// What rests or is fixed face to face becomes one with what it touches, so that a frame whose parts all touch has one
// outer shell (a ring of pipe that is closed everywhere has another inside, round the air in it). A board is drawn larger by
// SinkMM on all sides and joins the knots of the fittings and feet at its faces; feet are moved nearer by as much. A board
// that only lies on pipes stays clear of them by AirMM and stands on a small block on each, and a pipe is cut beside
// the block too: a middle piece is a stub with two ends. Straps and bodies that touch nothing are shells of their own, drawn
// in by AirMM on all sides, so that they run into nothing. When a frame does not come out sound in this way, all that
// is not screwed on is left apart like that, and the report says why.
//
// The result is checked as every mesh is: closed, oriented, without crossings, also between bodies.
package fuse

import (
	"errors"
	"fmt"
	"runtime"
	"sync"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// AirMM is by how much bodies that are left apart are drawn in: a little more than two neighbours' meshes may stand
// off their surfaces together.
const AirMM = 0.15

// Input is a frame, and where its shapes come from.
type Input struct {
	Parts  []assembly.Part
	Joints []assembly.Joint
	// Solid gives the solid of a part in its part frame.
	Solid func(assembly.Part) (sdf.Solid, error)
	// Mesh gives its mesh, nil for a part that has none. It is used for bodies that are not screwed on.
	Mesh func(assembly.Part) *mesh.Mesh
	// ToleranceMM is how far the mesh of what is screwed together may lie off its surface.
	ToleranceMM float64
}

// Report says how a mesh came about.
type Report struct {
	Knots    int // meshed bodies between cuts
	Distinct int // of these, how many had to be meshed
	Barrels  int // stretches of straight pipe
	Loose    int // bodies that touch nothing, or are left apart
	// Crossing counts pairs of triangles that fold over one another, where one of each is a sliver far below the tolerance.
	// The mesh is closed and oriented all the same.
	Crossing int
	// Apart says why bodies that touch are left as shells of their own; nil when they are not.
	Apart error
	// MaxErrorMM is the largest distance of samples from the surface, over all knots.
	MaxErrorMM float64
}

// Errors of Frame; what it returns wraps one of these or an error of isosurface.
var (
	ErrEmpty  = errors.New("nothing in the frame has a solid")
	ErrRings  = errors.New("the cut end of a pipe did not come out as two rings")
	ErrRough  = errors.New("what touches did not come out within the tolerance")
	ErrFaulty = errors.New("the bodies of the frame run into one another")
)

// Frame returns the mesh of the whole frame in the finished frame, true size. Coordinates are rounded to 32-bit floats.
//
// Where boards and the like cannot be made one with the rest, they are left as shells of their own, as Report.Apart tells.
func Frame(in Input) (*mesh.Mesh, Report, error) {
	m, r, err := whole(newFrame(in, true))
	if err == nil && r.MaxErrorMM <= in.ToleranceMM*(1+errorSlack) || errors.Is(err, ErrEmpty) {
		return m, r, err
	}
	f := newFrame(in, false)
	if len(f.contactsOf(in)) == 0 {
		return m, r, err // it would come out the same
	}
	why := err
	if m, r, err = whole(f); err == nil {
		r.Apart = why
		if why == nil {
			r.Apart = ErrRough
		}
	}
	return m, r, err
}

// errorSlack is the part of the tolerance by which a mesher may exceed it at a sample.
const errorSlack = 0.02

// contactsOf are the contacts that a frame would have been joined by.
func (f *frame) contactsOf(in Input) []assembly.Joint { return f.lyingOn(in.Joints) }

// whole makes the mesh of a frame.
func whole(f *frame) (*mesh.Mesh, Report, error) {
	if err := f.knots(); err != nil {
		return nil, f.report, fmt.Errorf("the frame in one piece: %w", err)
	}
	for _, k := range f.list {
		f.place(k)
	}
	for _, b := range f.barrels {
		if err := f.strip(b); err != nil {
			return nil, f.report, fmt.Errorf("the frame in one piece: %s: %w", b.pipe.ID, err)
		}
	}
	f.loose()
	if len(f.mesh.Triangles) == 0 {
		return nil, f.report, ErrEmpty
	}
	m := mesh.Round32(&f.mesh)
	faults := mesh.Examine(m)
	if faults.Crossing > 0 && thinCrossings(m, f.in.ToleranceMM*thinShare) {
		f.report.Crossing, faults.Crossing = faults.Crossing, 0
	}
	if !faults.OK() {
		return nil, f.report, fmt.Errorf("%w: %s", ErrFaulty, faults)
	}
	return m, f.report, nil
}

// thinShare is the part of the tolerance below which a triangle counts as a sliver: one that folds over its neighbour
// moves the surface by less than that.
const thinShare = 0.1

// thinCrossings tells whether in every pair of triangles that cross one is a sliver, lower than mm.
func thinCrossings(m *mesh.Mesh, mm float64) bool {
	for _, pair := range mesh.Crossings(m) {
		if min(mesh.Height(m.Corners(int(pair[0]))), mesh.Height(m.Corners(int(pair[1])))) > mm {
			return false
		}
	}
	return true
}

// frame is the work in hand.
type frame struct {
	in      Input
	report  Report
	part    map[string]*assembly.Part
	fused   map[string]bool // parts that are screwed to something
	threads []assembly.Joint
	barrels []*barrel
	cut     map[string][]*stub // by pipe, the sides of its cuts in the order in which they come along it but for pairs
	// contacts are the joints by which what is not screwed on becomes one with the rest, touches the bodies for which
	// that is so, and lies the piece of a pipe that a body lies on.
	contacts []assembly.Joint
	touches  map[string]bool
	lies     map[[2]string]string
	pads     map[string][]pad   // by board
	deep     map[string]float64 // by part and port, how far it stands in its mate
	list     []*knot
	mesh     mesh.Mesh
}

// newFrame finds the knots of a frame. Joined tells that what touches becomes one.
func newFrame(in Input, joined bool) *frame {
	f := &frame{
		in: in, part: map[string]*assembly.Part{}, fused: map[string]bool{}, cut: map[string][]*stub{},
		touches: map[string]bool{}, lies: map[[2]string]string{}, pads: map[string][]pad{}, deep: map[string]float64{},
	}
	for i := range in.Parts {
		if in.Parts[i].Kind != standard.Room {
			f.part[in.Parts[i].ID] = &in.Parts[i]
		}
	}
	for _, j := range in.Joints {
		if j.Kind.IsThreaded() && f.part[j.A.Part] != nil && f.part[j.B.Part] != nil {
			f.fused[j.A.Part], f.fused[j.B.Part] = true, true
			f.threads = append(f.threads, j)
			f.deep[j.A.Part+"."+j.A.Port] = j.EngagementMM
			f.deep[j.B.Part+"."+j.B.Port] = j.EngagementMM
		}
	}
	for _, p := range in.Parts {
		if p.Kind == standard.Pipe {
			f.fused[p.ID] = true // a pipe that stands alone is a knot too
		}
	}
	if joined {
		f.contacts = f.lyingOn(in.Joints)
		for _, j := range f.contacts {
			for _, id := range []string{j.A.Part, j.B.Part} {
				if !f.fused[id] {
					f.touches[id] = true
				}
			}
		}
		for id := range f.touches {
			f.fused[id] = true
		}
		f.findPads()
	}
	f.cutPipes()
	f.gather()
	return f
}

// place adds a knot's mesh to the frame, without the ends of its stubs, and remembers the rings that these leave.
func (f *frame) place(k *knot) {
	open := k.form.open()
	first := int32(len(f.mesh.Vertices))
	for _, v := range open.mesh.Vertices {
		f.mesh.Vertices = append(f.mesh.Vertices, k.pose.Apply(v))
	}
	for _, t := range open.mesh.Triangles {
		f.mesh.Triangles = append(f.mesh.Triangles, [3]int32{t[0] + first, t[1] + first, t[2] + first})
	}
	for i, s := range k.stubs {
		for _, v := range open.rims[i] {
			s.rim = append(s.rim, v+first)
		}
	}
}

// loose adds the bodies that are not screwed on.
func (f *frame) loose() {
	for _, p := range f.in.Parts {
		if f.part[p.ID] == nil || f.fused[p.ID] {
			continue
		}
		m := f.in.Mesh(p)
		if m == nil {
			continue
		}
		mesh.Append(&f.mesh, mesh.Placed(mesh.Inset(m, AirMM), p.Pose))
		f.report.Loose++
	}
}

// knots meshes each distinct knot once, several at a time.
func (f *frame) knots() error {
	var forms []*form
	byKey := map[string]*form{}
	for _, k := range f.list {
		if err := f.shape(k); err != nil {
			return err
		}
		if byKey[k.form.key] == nil {
			byKey[k.form.key] = k.form
			forms = append(forms, k.form)
		}
		k.form = byKey[k.form.key]
	}
	f.report.Knots, f.report.Distinct, f.report.Barrels = len(f.list), len(forms), len(f.barrels)
	errs, worst := make([]error, len(forms)), make([]float64, len(forms))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), max(1, len(forms))) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				worst[i], errs[i] = forms[i].make(f.in.ToleranceMM)
			}
		}()
	}
	for i := range forms {
		next <- i
	}
	close(next)
	wg.Wait()
	for _, w := range worst {
		f.report.MaxErrorMM = max(f.report.MaxErrorMM, w)
	}
	return errors.Join(errs...)
}

// make meshes a form.
func (o *form) make(tolMM float64) (worstMM float64, err error) {
	m, r, err := isosurface.Mesh(o.solid, isosurface.Options{ToleranceMM: tolMM})
	if err != nil {
		return 0, err
	}
	o.mesh = m
	return r.MaxErrorMM, nil
}
