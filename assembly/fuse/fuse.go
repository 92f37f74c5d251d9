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
// is done under the nut of a union. Bodies that are not screwed on (boards, cleats, straps, what only stands) are shells
// of their own, drawn in by AirMM on all sides, so that faces that touch do not run into one another.
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

// AirMM is by how much bodies that are not screwed on are drawn in: a little more than two neighbours' meshes may stand
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
	Loose    int // bodies that are not screwed on
	// MaxErrorMM is the largest distance of samples from the surface, over all knots.
	MaxErrorMM float64
}

// Errors of Frame; what it returns wraps one of these or an error of isosurface.
var (
	ErrEmpty  = errors.New("nothing in the frame has a solid")
	ErrRings  = errors.New("the cut end of a pipe did not come out as two rings")
	ErrFaulty = errors.New("the bodies of the frame run into one another")
)

// Frame returns the mesh of the whole frame in the finished frame, true size. Coordinates are rounded to 32-bit floats.
func Frame(in Input) (*mesh.Mesh, Report, error) {
	f := newFrame(in)
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
	if faults := mesh.Examine(m); !faults.OK() {
		return nil, f.report, fmt.Errorf("%w: %s", ErrFaulty, faults)
	}
	return m, f.report, nil
}

// frame is the work in hand.
type frame struct {
	in      Input
	report  Report
	part    map[string]*assembly.Part
	fused   map[string]bool // parts that are screwed to something
	threads []assembly.Joint
	barrels []*barrel
	cut     map[string]*barrel // by pipe
	list    []*knot
	mesh    mesh.Mesh
}

func newFrame(in Input) *frame {
	f := &frame{in: in, part: map[string]*assembly.Part{}, fused: map[string]bool{}, cut: map[string]*barrel{}}
	for i := range in.Parts {
		if in.Parts[i].Kind != standard.Room {
			f.part[in.Parts[i].ID] = &in.Parts[i]
		}
	}
	for _, j := range in.Joints {
		if j.Kind.IsThreaded() && f.part[j.A.Part] != nil && f.part[j.B.Part] != nil {
			f.fused[j.A.Part], f.fused[j.B.Part] = true, true
			f.threads = append(f.threads, j)
		}
	}
	for _, p := range in.Parts {
		if p.Kind == standard.Pipe {
			f.fused[p.ID] = true // a pipe that stands alone is a knot too
		}
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
