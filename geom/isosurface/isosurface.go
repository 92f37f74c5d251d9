package isosurface

import (
	"errors"
	"fmt"
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// Options say how true and how lean a mesh is to be.
type Options struct {
	// ToleranceMM is how far the mesh may lie from the surface. It must be positive.
	ToleranceMM float64
	// Full keeps the triangles of the grid: nothing is made lean afterwards.
	Full bool
	// Grid meshes turned solids on the grid too, instead of from their profile. For tests and comparisons.
	Grid bool
}

// Method tells which way a mesh was made.
type Method string

// The three ways.
const (
	Turned     Method = "turned"     // from the profile of a solid of revolution
	Dual       Method = "dual"       // one vertex for each ring of crossings in a grid cell
	Tetrahedra Method = "tetrahedra" // marching tetrahedra: the way out when the others fail; not lean, edges not kept
)

// Report says how a mesh came about.
type Report struct {
	Method Method
	// Attempts is the number of grids tried, 0 for turned solids.
	Attempts int
	// CellsX, CellsY, CellsZ are the numbers of cells of the last grid.
	CellsX, CellsY, CellsZ int
	// RawTriangles is their number before the mesh was made lean.
	RawTriangles int
	// MaxErrorMM and RMSErrorMM are the largest and the mean square distance from samples of the triangles to the
	// surface, by the solid's own measure.
	MaxErrorMM, RMSErrorMM float64
	// Threads is the number of threads meshed as strips of their own. ThreadsLeftOut tells that there are some which could
	// not be put in: the mesh is that of the plain body.
	Threads        int
	ThreadsLeftOut bool
	// Folded counts triangles that face against the surface at their middle.
	Folded int
	// Rejected says why each earlier grid was given up.
	Rejected []string
}

// Errors of Mesh.
var (
	ErrTolerance = errors.New("the tolerance must be a positive number")
	ErrBounds    = errors.New("the solid has no finite bounds")
	ErrEmpty     = errors.New("the solid has no material")
	ErrTooFine   = errors.New("the solid is too large for this tolerance")
	ErrUnsound   = errors.New("no closed mesh was found")
)

// attempts are the grids that are tried in turn: the fraction of the first cell size, and a phase that moves the
// planes within it. A small move often clears what an unlucky plane has caused, for less than a finer grid costs. Only
// when none gives a sound mesh are the first and some others tried again with repairs.
var attempts = []struct {
	scale, phase float64
	repair       bool
}{
	{1, 0, false}, {1, 0.37, false}, {0.7, 0.19, false}, {0.5, 0, false}, {0.25, 0.19, false},
	{1, 0, true}, {0.5, 0, true}, {0.7, 0.19, true},
}

// Mesh returns a closed mesh of the surface of s. See the package comment for what is promised. The result has
// coordinates rounded to 32-bit floats, so that an STL file holds exactly what was checked.
func Mesh(s sdf.Solid, o Options) (*mesh.Mesh, Report, error) {
	if !(o.ToleranceMM > 0) || math.IsInf(o.ToleranceMM, 0) {
		return nil, Report{}, fmt.Errorf("meshing: %w", ErrTolerance)
	}
	b := s.Bounds()
	if b.IsEmpty() {
		return nil, Report{}, fmt.Errorf("meshing: %w", ErrEmpty)
	}
	if !b.Min.IsFinite() || !b.Max.IsFinite() {
		return nil, Report{}, fmt.Errorf("meshing: %w", ErrBounds)
	}
	l := leafed(s)
	if m, r, err, ok := threadedMesh(l, o); ok {
		return m, r, err
	}
	if !o.Grid {
		if m, r, ok := turnedMesh(l, o); ok {
			return m, r, nil
		}
	}
	return gridMesh(l, o)
}

// gridMesh tries one grid after the other. When none keeps the tolerance, the nearest sound mesh is taken if there is
// one, as Report.MaxErrorMM then tells; else the tetrahedra.
func gridMesh(s sdf.Leafed, o Options) (*mesh.Mesh, Report, error) {
	r := Report{Method: Dual}
	var best *candidateMesh
	for _, a := range attempts {
		if a.repair && best != nil {
			break
		}
		g, err := newGrid(s, o.ToleranceMM, a.scale, a.phase)
		if err != nil && r.Attempts == 0 {
			return nil, r, fmt.Errorf("meshing: %w", err)
		}
		if err != nil || (r.Attempts > 0 && g.nodes() > maxRetryNodes) {
			continue
		}
		r.Attempts++
		r.CellsX, r.CellsY, r.CellsZ = g.cells()
		m, why := dualMesh(g, o, a.repair, &r)
		if why == "" {
			return m, r, nil
		}
		r.Rejected = append(r.Rejected, why)
		if m != nil && (best == nil || r.MaxErrorMM < best.report.MaxErrorMM) {
			best = &candidateMesh{m, r}
		}
	}
	if best != nil {
		best.report.Attempts, best.report.Rejected = r.Attempts, r.Rejected
		return best.mesh, best.report, nil
	}
	m, err := tetraMesh(s, o, &r)
	return m, r, err
}

// candidateMesh is a sound mesh that does not keep the tolerance.
type candidateMesh struct {
	mesh   *mesh.Mesh
	report Report
}

// errorSlack is the part of the tolerance by which a sample may exceed it before the mesh is given up: the limits of
// the single steps are set lower, so this only allows for curves between samples.
const errorSlack = 0.02

// dualMesh makes, leans and checks one mesh, with or without repairs. It returns why the mesh does not do, or "". A mesh that only stands off
// too far is returned all the same.
func dualMesh(g *grid, o Options, repair bool, r *Report) (*mesh.Mesh, string) {
	g.sample()
	if g.find() == 0 {
		return nil, "no crossing of the surface was found"
	}
	d, why := g.dual()
	if why != "" {
		return nil, why
	}
	if repair {
		if d = d.repaired(); d == nil {
			return nil, "not to be repaired"
		}
		return r.finish(g, d, o)
	}
	d.untangle()
	d.refine()
	return r.finish(g, d, o)
}

// finish makes a mesh lean and checks it, as accept does.
func (r *Report) finish(g *grid, d *skin, o Options) (*mesh.Mesh, string) {
	r.RawTriangles = d.count()
	if o.Full {
		return r.accept(g, d, o)
	}
	var m *mesh.Mesh
	why := ""
	for _, part := range leanParts {
		lean := d.copy()
		lean.simplify(part)
		if m, why = r.accept(g, lean, o); why == "" {
			break
		}
	}
	return m, why
}

// leanParts are the parts of the tolerance that making lean may use, tried in turn: when a check between the samples
// of the first finds more than the tolerance, the second leaves room for it.
var leanParts = []float64{simplifyPart, 0.6}

// accept checks a finished skin. It returns why the mesh does not do, or "", and the mesh unless it is unsound.
func (r *Report) accept(g *grid, d *skin, o Options) (*mesh.Mesh, string) {
	m := mesh.Round32(d.mesh())
	if f := mesh.Examine(m); !f.OK() {
		return nil, f.String()
	}
	r.measure(g.solid, m)
	switch {
	case r.Folded > 0:
		return nil, fmt.Sprintf("%d folded triangles", r.Folded)
	case r.MaxErrorMM > o.ToleranceMM*(1+errorSlack):
		return m, fmt.Sprintf("off by %.4f mm", r.MaxErrorMM)
	}
	return m, ""
}

// leafed gives a solid without leaves one that is the solid itself.
func leafed(s sdf.Solid) sdf.Leafed {
	if l, ok := s.(sdf.Leafed); ok {
		return l
	}
	return sdf.Join(s, s)
}

// coord returns one coordinate of v.
func coord(v geom.Vec, axis int) float64 {
	switch axis {
	case 0:
		return v.X
	case 1:
		return v.Y
	}
	return v.Z
}
