package isosurface

import (
	"math"
	"sort"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Figures of the grid.
const (
	// cellOverChord is the width of a cell over the chord whose height is the tolerance. Vertices of neighbour cells
	// are up to two cells apart, mostly little more than one.
	cellOverChord = 0.75
	// flatCellMM is the greatest width of the cell round a face plane or an edge, where nothing curved asks for less.
	flatCellMM = 1.0
	// sameMarkMM is how near two marks may be and still count as one: their own cells would be lost in rounding.
	sameMarkMM = 2e-4
	// offCentre is where in its cell a mark lies beside the middle, in cells, for each axis: different, so that solids
	// that are alike along two axes do not meet nodes and edges of the grid along their diagonals.
	offCentreX, offCentreY, offCentreZ = 0.061, -0.083, 0.037
	// stretch of the cells of each axis, for the same reason.
	stretchX, stretchY, stretchZ = 1.0, 0.957, 1.039
	// gapCells is how many cells at least fit between two edges about one axis.
	gapCells = 2.2
	// maxNodes is the largest grid: half a gigabyte.
	maxNodes = 24_000_000
	// maxDenserNodes is the largest denser grid that is tried after a first one failed: some seconds of work.
	maxDenserNodes = 2_500_000
)

// span asks for cells no wider than h between lo and hi on one axis.
type span struct{ lo, hi, h float64 }

// planner gathers what the planes of the three axes depend on.
type planner struct {
	bounds geom.Box
	tol    float64
	scale  float64
	widest float64 // no cell is wider
	marks  [3][]float64
	spans  [3][]span
}

// planes returns the grid planes of the three axes. They enclose the bounds, and no mark lies on a plane.
func planes(s sdf.Leafed, tol, scale, phase, widest float64) [3][]float64 {
	p := &planner{bounds: s.Bounds(), tol: tol, scale: scale, widest: widest}
	for k := range 3 {
		p.mark(k, coord(p.bounds.Min, k))
		p.mark(k, coord(p.bounds.Max, k))
	}
	for _, l := range s.Leaves() {
		p.leaf(l)
	}
	p.features(sdf.Features(s))
	off := [3]float64{offCentreX, offCentreY, offCentreZ}
	stretch := [3]float64{stretchX, stretchY, stretchZ}
	var out [3][]float64
	for k := range 3 {
		out[k] = p.lay(k, off[k]+phase/4, stretch[k])
	}
	return out
}

func (p *planner) mark(axis int, at float64) { p.marks[axis] = append(p.marks[axis], at) }

// curved asks for cells fit for the radius of curvature r on an axis, between lo and hi.
func (p *planner) curved(axis int, lo, hi, r float64) {
	lo, hi = max(lo, coord(p.bounds.Min, axis)), min(hi, coord(p.bounds.Max, axis))
	if lo > hi || r <= 0 {
		return
	}
	h := cellOverChord * math.Sqrt(8*r*p.tol) * p.scale
	h = min(h, r/2)
	p.spans[axis] = append(p.spans[axis], span{lo, hi, h})
	p.mark(axis, lo)
	p.mark(axis, hi)
}

// axisOf returns the coordinate axis along which a unit vector lies, or -1.
func axisOf(d geom.Vec) int {
	const sine = 1e-7 // an angle that moves nothing by more than rounding over a metre
	for k, a := range [3]geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
		if d.Cross(a).Len() < sine {
			return k
		}
	}
	return -1
}

// leaf adds what one surface asks for.
func (p *planner) leaf(l sdf.Leaf) {
	switch l := l.(type) {
	case sdf.PlaneLeaf:
		if k := axisOf(l.Normal); k >= 0 {
			p.mark(k, coord(l.At, k))
		} else if p.cuts(l) {
			p.slanted()
		}
	case sdf.CylinderLeaf:
		p.round(l.At, l.Dir, l.Radius, l.Radius, 0)
	case sdf.ConeLeaf:
		lo, hi := p.coneRadii(l)
		p.round(l.At, l.Dir, lo, hi, l.Slope)
	case sdf.TorusLeaf:
		p.ball(l.At, l.Dir, l.Major, l.Minor)
	case sdf.SphereLeaf:
		p.ball(l.At, geom.AxisZ, 0, l.Radius)
	case sdf.StarLeaf:
		p.star(l)
	default:
		for k := range 3 {
			p.curved(k, math.Inf(-1), math.Inf(1), p.bounds.Diagonal()/unknownRadius)
		}
	}
}

// unknownRadius is the part of the diagonal that is taken for the radius of a surface that does not tell its own.
const unknownRadius = 8

// slantedCells is how many cells a body with faces along no axis takes across its thinnest side at least.
const slantedCells = 9

// cuts tells whether a plane passes through the bounds.
func (p *planner) cuts(l sdf.PlaneLeaf) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, c := range p.bounds.Corners() {
		d := l.Distance(c)
		lo, hi = min(lo, d), max(hi, d)
	}
	return lo < 0 && hi > 0
}

// slanted asks for cells that show a face along no axis.
func (p *planner) slanted() {
	size := p.bounds.Size()
	h := min(size.X, size.Y, size.Z) / slantedCells * p.scale
	for k := range 3 {
		p.spans[k] = append(p.spans[k], span{coord(p.bounds.Min, k), coord(p.bounds.Max, k), h})
	}
}

// coneRadii returns the least and greatest radius of a cone within the bounds.
func (p *planner) coneRadii(l sdf.ConeLeaf) (lo, hi float64) {
	lo, hi = math.Inf(1), 0
	for _, c := range p.bounds.Corners() {
		r := math.Abs(l.Radius + l.Slope*c.Sub(l.At).Dot(l.Dir))
		lo, hi = min(lo, r), max(hi, r)
	}
	reach := p.bounds.Diagonal()
	return max(lo, hi/4, p.tol), min(hi, reach)
}

// round adds a cylinder or cone about a line: fine across it, and along it as fine as the slope asks.
func (p *planner) round(at, dir geom.Vec, least, most, slope float64) {
	along := axisOf(dir)
	for k := range 3 {
		switch {
		case along < 0:
			p.curved(k, math.Inf(-1), math.Inf(1), least)
		case k != along:
			p.mark(k, coord(at, k))
			p.curved(k, coord(at, k)-most, coord(at, k)+most, least)
		case math.Abs(slope) > gentleSlope:
			p.curved(k, math.Inf(-1), math.Inf(1), least/(slope*slope))
		}
	}
}

// gentleSlope is the slope of a cone up to which a long cell along it does no harm: pipe threads have 1/32.
const gentleSlope = 0.1

// ball adds a torus or sphere.
func (p *planner) ball(at, dir geom.Vec, major, minor float64) {
	box := sdf.Feature{At: at, Dir: dir, Radius: major}.Box()
	if major == 0 {
		box = geom.BoxOf(at)
	}
	box = box.Grow(minor)
	for k := range 3 {
		p.mark(k, coord(at, k))
		p.curved(k, coord(box.Min, k), coord(box.Max, k), minor)
	}
}

// filletPart is for how many times its radius the cells in a rounded corner are made: edges that then stand off are halved
// where they are, for less than cells all across the body would cost.
const filletPart = 2.5

// star adds the rods of a star, and finer cells where the ball was rolled between two of them: along both, from the middle
// to where it touches them. Across both the corner runs on, as straight as they are.
func (p *planner) star(l sdf.StarLeaf) {
	rods := l.Rods()
	for i, r := range rods {
		p.round(l.Middle(), r.Dir, r.Radius, r.Radius, 0)
		for j, o := range rods {
			cos := r.Dir.Dot(o.Dir)
			sin := math.Sqrt(max(0, 1-cos*cos))
			if k := axisOf(r.Dir); i != j && sin > gentleSlope && k >= 0 {
				end := coord(l.Middle().Add(r.Dir.Mul((o.Radius+l.Fillet()+(r.Radius+l.Fillet())*cos)/sin)), k)
				mid := coord(l.Middle(), k)
				p.curved(k, min(mid, end), max(mid, end), filletPart*l.Fillet())
			}
		}
	}
}

// features marks edges square to an axis, and asks for cells that tell edges about one line apart.
func (p *planner) features(fs []sdf.Feature) {
	for _, f := range fs {
		b := f.Box()
		for k := range 3 {
			if lo, hi := coord(b.Min, k), coord(b.Max, k); hi-lo < sameMarkMM || f.Radius > 0 {
				p.mark(k, lo)
				p.mark(k, hi)
			}
		}
	}
	for i, f := range fs {
		for _, g := range fs[:i] {
			p.apart(f, g)
			p.beside(f, g)
			p.beside(g, f)
		}
	}
}

// apart asks for cells smaller than the distance between two circles about one line.
func (p *planner) apart(f, g sdf.Feature) {
	const inLine = 1e-6
	d := g.At.Sub(f.At)
	if f.Radius == 0 || g.Radius == 0 || f.Dir.Cross(g.Dir).Len() > inLine || d.Cross(f.Dir).Len() > inLine {
		return
	}
	gap := math.Hypot(d.Dot(f.Dir), f.Radius-g.Radius)
	if gap < sameMarkMM {
		return
	}
	b := f.Box().Union(g.Box())
	for k := range 3 {
		lo, hi := coord(b.Min, k), coord(b.Max, k)
		if hi-lo > 2*gap {
			p.spans[k] = append(p.spans[k], span{lo, hi, max(gap/gapCells, p.tol) * p.scale})
		}
	}
}

// besideGaps is how far about the place where a straight edge passes a circle the cells are smaller, in the gap there.
const besideGaps = 2

// beside asks for small cells where a straight edge along the axis of a circle nearly meets it: the corner of a square on the
// end of a cone as wide.
func (p *planner) beside(edge, circle sdf.Feature) {
	const inLine = 1e-6
	d := edge.To.Sub(edge.At)
	if edge.Radius != 0 || circle.Radius == 0 || d.Cross(circle.Dir).Len() > inLine*d.Len() {
		return
	}
	s := edge.At.Sub(circle.At).Dot(circle.Dir)
	foot := edge.At.Sub(circle.Dir.Mul(s)) // in the plane of the circle
	gap := math.Abs(foot.Sub(circle.At).Len() - circle.Radius)
	if gap < sameMarkMM || gap > flatCellMM {
		return
	}
	if along, long := foot.Sub(edge.At).Dot(d)/d.Len(), d.Len(); along < -gap || along > long+gap { // it ends far from there
		return
	}
	for k := range 3 {
		at, h := coord(foot, k), max(gap/gapCells, p.tol)*p.scale
		p.spans[k] = append(p.spans[k], span{at - besideGaps*gap, at + besideGaps*gap, h})
		p.mark(k, at-besideGaps*gap)
		p.mark(k, at+besideGaps*gap)
	}
}

// width returns the widest cell allowed at x.
func (p *planner) width(axis int, x float64) float64 {
	h := p.widest
	for _, s := range p.spans[axis] {
		if x >= s.lo && x <= s.hi {
			h = min(h, s.h)
		}
	}
	return h
}

// lay puts a cell round every mark and equal cells between them.
func (p *planner) lay(axis int, off, stretch float64) []float64 {
	marks := p.tidyMarks(axis)
	half := make([]float64, len(marks))
	for i, m := range marks {
		w := min(p.width(axis, m), flatCellMM*p.scale)
		if i > 0 {
			w = min(w, (m-marks[i-1])/gapCells)
		}
		if i+1 < len(marks) {
			w = min(w, (marks[i+1]-m)/gapCells)
		}
		half[i] = w / 2
	}
	var out []float64
	for i, m := range marks {
		lo, hi := m-half[i]*(1+2*off), m+half[i]*(1-2*off)
		if i > 0 {
			from := out[len(out)-1]
			n := math.Ceil((lo - from) / (stretch * p.width(axis, (marks[i-1]+m)/2)))
			for k := 1.0; k < n; k++ {
				out = append(out, from+(lo-from)*k/n)
			}
		}
		out = append(out, lo, hi)
	}
	return out
}

// tidyMarks sorts the marks within the bounds and drops those that are nearly equal to the one before.
func (p *planner) tidyMarks(axis int) []float64 {
	lo, hi := coord(p.bounds.Min, axis), coord(p.bounds.Max, axis)
	all := p.marks[axis]
	sort.Float64s(all)
	var out []float64
	for _, m := range all {
		if m < lo || m > hi || (len(out) > 0 && m-out[len(out)-1] < sameMarkMM) {
			continue
		}
		out = append(out, m)
	}
	return out
}
