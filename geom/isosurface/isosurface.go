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
	// MissedMM is the farthest that a point of the surface was found off the mesh, of points about each cell of the grid;
	// only for meshes made on one.
	MissedMM float64
	// ThinMM is the same for points of walls, slots and tips that are thinner than the tolerance: those need not be kept.
	ThinMM float64
	// Threads is the number of threads meshed as strips of their own. ThreadsLeftOut tells that there are some which could
	// not be put in: the mesh is that of the plain body.
	Threads        int
	ThreadsLeftOut bool
	// Folded counts triangles that face against the surface at their middle.
	Folded int
	// Low counts triangles that are lower than a tenth of the tolerance, after rounding to 32-bit floats.
	Low int
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

// phases move the planes of the first grid within their cells. A small move often clears what an unlucky plane has
// caused, for less than a denser grid costs.
var phases = [2]float64{0, 0.37}

// denserRounds is how often the grid is made denser where the mesh was at fault.
const denserRounds = 4

// Figures of the grid with small cells all over.
const (
	// fineCells is the width of its cells in tolerances: half as wide ones find little more for four times the work.
	fineCells = 1.5
	// fineRounds is how often it is tried, denser each time where the mesh was at fault.
	fineRounds = 3
)

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
	if pieces, ok := sdf.Pieces(l); ok {
		return piecesMesh(l, pieces, o)
	}
	if !o.Grid {
		if m, r, ok := turnedMesh(l, o); ok {
			return m, r, nil
		}
	}
	return gridMesh(l, o)
}

// gridMesh tries one grid after the other: the first as it is, then with cells in trouble made hard, and denser and denser
// where the mesh was at fault. When none keeps the tolerance, the nearest sound mesh is taken if there is one, as
// Report.MaxErrorMM then tells; else the tetrahedra.
func gridMesh(s sdf.Leafed, o Options) (*mesh.Mesh, Report, error) {
	r := Report{Method: Dual}
	c := &chooser{tol: o.ToleranceMM * (1 + errorSlack)}
	var first *grid
	for _, phase := range phases {
		g, err := newGrid(s, o.ToleranceMM, 1, phase)
		if err != nil {
			return nil, r, fmt.Errorf("meshing: %w", err)
		}
		if first == nil {
			first = g
		}
		m, why := r.plainMesh(g, o)
		if c.take(m, &r, why); why == "" {
			return m, r, nil
		}
	}
	if m := r.harder(s, first, o, c); m != nil {
		return m, r, nil
	}
	if c.best != nil {
		c.best.report.Attempts, c.best.report.Rejected = r.Attempts, r.Rejected
		return c.best.mesh, c.best.report, nil
	}
	m, err := tetraMesh(s, o, &r)
	return m, r, err
}

// harder makes cells in trouble hard. When that does not help it takes a grid with cells hardly wider than the tolerance all
// over, if such a one is not too large, else the same grid, and makes it denser where the mesh still is at fault. It returns
// the mesh that does, or nil.
func (r *Report) harder(s sdf.Leafed, g *grid, o Options, c *chooser) *mesh.Mesh {
	m, why, bad := r.hardMesh(g, o)
	if c.take(m, r, why); why == "" {
		return m
	}
	fine := fineGrid(s, o)
	rounds := denserRounds
	if g = g.denser(bad); fine != nil {
		g, rounds = fine, fineRounds
	}
	for round := 0; round < rounds && g.nodes() <= maxDenserNodes; round++ {
		if fine == nil {
			m, why = r.plainMesh(g, o)
			if c.take(m, r, why); why == "" {
				return m
			}
		}
		m, why, bad = r.hardMesh(g, o)
		if c.take(m, r, why); why == "" {
			return m
		}
		if len(bad.boxes) == 0 || c.isNear() && (fine == nil || round > 0) {
			break
		}
		g = g.denser(bad)
	}
	return nil
}

// fineGrid returns a grid with cells hardly wider than the tolerance, or nil when that is too large.
func fineGrid(s sdf.Leafed, o Options) *grid {
	g, err := gridOf(s, o.ToleranceMM, planes(s, o.ToleranceMM, 1, 0, fineCells*o.ToleranceMM))
	if err != nil || g.nodes() > maxDenserNodes {
		return nil
	}
	return g
}

// chooser keeps the best of the meshes that do not do: one within the tolerance that has a folded triangle somewhere,
// else the one that is off least.
type chooser struct {
	tol  float64
	best *candidateMesh
}

// isNear tells whether there is a mesh within the tolerance: what is left then are no more than a few triangles in sharp
// corners that are low or face the wrong way.
func (c *chooser) isNear() bool { return c.best != nil && c.best.report.offMM() <= c.tol }

func (c *chooser) take(m *mesh.Mesh, r *Report, why string) {
	if why == "" {
		return
	}
	r.Rejected = append(r.Rejected, why)
	if m == nil {
		return
	}
	if c.best != nil {
		now, best := max(c.tol, r.offMM()), max(c.tol, c.best.report.offMM())
		if now > best || now == best && r.Folded+r.Low >= c.best.report.Folded+c.best.report.Low {
			return
		}
	}
	c.best = &candidateMesh{m, *r}
}

// candidateMesh is a sound mesh that does not keep the tolerance.
type candidateMesh struct {
	mesh   *mesh.Mesh
	report Report
}

// errorSlack is the part of the tolerance by which a sample may exceed it before the mesh is given up: the limits of
// the single steps are set lower, so this only allows for curves between samples.
const errorSlack = 0.02

// prepare finds the vertices of a grid's mesh, before anything is moved. It returns why that cannot be done, or "".
func (r *Report) prepare(g *grid) (*skin, string) {
	r.Attempts++
	g.careful = r.Attempts > len(phases)
	r.CellsX, r.CellsY, r.CellsZ = g.cells()
	if g.found == nil {
		g.sample()
		if g.find() == 0 {
			return nil, "no crossing of the surface was found"
		}
	}
	return g.dual()
}

// plainMesh makes, leans and checks one mesh. It returns why the mesh does not do, or "". A mesh that only stands off
// too far or has folded triangles is returned all the same.
func (r *Report) plainMesh(g *grid, o Options) (*mesh.Mesh, string) {
	d, why := r.prepare(g)
	if why != "" {
		return nil, why
	}
	d.untangle()
	d.refine()
	return r.finish(g, d, o)
}

// hardMesh does the same with cells in trouble made hard, and says where the mesh is at fault.
func (r *Report) hardMesh(g *grid, o Options) (*mesh.Mesh, string, trouble) {
	if _, why := r.prepare(g); why != "" {
		return nil, why, trouble{}
	}
	d := g.hardened()
	if d == nil {
		return nil, "not to be hardened", trouble{}
	}
	r.RawTriangles = d.count()
	if !o.Full {
		d.simplifyGuarded(simplifyPart)
	}
	m, why := r.accept(g, d, o)
	if m == nil || why == "" {
		return m, why, trouble{}
	}
	return m, why, g.troubleOf(m, o)
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

// accept checks a finished skin, and cures single triangles where that is enough. It returns why the mesh does not do,
// or "", and the mesh unless it is unsound.
func (r *Report) accept(g *grid, d *skin, o Options) (*mesh.Mesh, string) {
	m := mesh.Round32(d.mesh())
	if f := mesh.Examine(m); !f.OK() {
		return nil, f.String()
	}
	if r.judge(g, m, o) != "" && !o.Full {
		d.cure(g.solid)
		m = mesh.Round32(d.mesh())
		if f := mesh.Examine(m); !f.OK() {
			return nil, f.String()
		}
	}
	return m, r.judge(g, m, o)
}

// judge measures a sound mesh and says why it does not do, or "".
func (r *Report) judge(g *grid, m *mesh.Mesh, o Options) string {
	most := o.ToleranceMM * (1 + errorSlack)
	r.measure(g.solid, m, o.ToleranceMM)
	far := g.missed(m, most)
	r.MissedMM, r.ThinMM = far.most, far.thin
	switch {
	case r.MaxErrorMM > most:
		return fmt.Sprintf("off by %.4f mm", r.MaxErrorMM)
	case r.MissedMM > most:
		return fmt.Sprintf("surface missed by %.4f mm", r.MissedMM)
	case r.Folded > 0:
		return fmt.Sprintf("%d folded triangles", r.Folded)
	case r.Low > 0 && !o.Full:
		return fmt.Sprintf("%d low triangles", r.Low)
	}
	return ""
}

// offMM is how far a mesh and the surface are off one another.
func (r *Report) offMM() float64 { return max(r.MaxErrorMM, r.MissedMM) }

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
