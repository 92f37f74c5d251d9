package enclosure

import (
	"math"
	"sort"

	"turnwise/geom"
)

// MaxStepMM is how far a box of a leaning surface may lie behind the surface at most.
const MaxStepMM = 1.0

// maxSteps bounds the boxes along one axis, so that a wall that leans absurdly far costs no more memory than this.
const maxSteps = 400

// sliverMM is the least thickness of a step: cuts nearer than this are one, so that rounding leaves no slivers.
const sliverMM = 0.01

// Seat is a place where a flat foot or flange of the given radius sits on the surface. The boxes give way under it,
// by less than MaxStepMM on any surface that a foot may stand on, so that a flat part on a leaning wall is not taken
// to cut into it.
type Seat struct {
	At     geom.Vec
	Radius float64
}

// Boxes returns the material behind the surface as boxes, in the design's axes: within extent along the other two
// axes, and depth thick. A leaning surface is a stack of steps, each behind the surface by at most MaxStepMM.
func (f *Face) Boxes(extent geom.Box, depth float64, seats []Seat) []geom.Box {
	lo, hi := coords(extent.Min), coords(extent.Max)
	cuts := [3][]float64{}
	for a := Axis(0); a < 3; a++ {
		cuts[a] = []float64{lo[a], hi[a]}
	}
	for _, a := range f.along {
		cuts[a] = f.steps(a, lo[a], hi[a], seats)
	}
	u, v := (f.Axis+1)%3, (f.Axis+2)%3
	var out []geom.Box
	for i := 1; i < len(cuts[u]); i++ {
		for j := 1; j < len(cuts[v]); j++ {
			a, b := [3]float64{}, [3]float64{}
			a[u], b[u], a[v], b[v] = cuts[u][i-1], cuts[u][i], cuts[v][j-1], cuts[v][j]
			face := f.hindmost(a, b, u, v, seats)
			a[f.Axis], b[f.Axis] = face, face
			if f.Below {
				a[f.Axis] = face - depth
			} else {
				b[f.Axis] = face + depth
			}
			out = append(out, geom.Box{Min: vec(a), Max: vec(b)})
		}
	}
	return out
}

// hindmost returns the coordinate farthest back in the material over the rectangle from a to b, seats included. The
// surface is straight over it, so its corners decide.
func (f *Face) hindmost(a, b [3]float64, u, v Axis, seats []Seat) float64 {
	back := math.Max
	if f.Below {
		back = math.Min
	}
	face := f.At(vec(a))
	for _, c := range [][2]float64{{b[u], a[v]}, {a[u], b[v]}, {b[u], b[v]}} {
		p := a
		p[u], p[v] = c[0], c[1]
		face = back(face, f.At(vec(p)))
	}
	for _, s := range seats {
		c := coords(s.At)
		if c[u]+s.Radius > a[u] && c[u]-s.Radius < b[u] && c[v]+s.Radius > a[v] && c[v]-s.Radius < b[v] {
			face = back(face, f.At(s.At))
		}
	}
	return face
}

// steps divides lo..hi along axis a so finely that the surface changes by at most MaxStepMM (half of it along each of
// two axes) from one cut to the next. Where the cuts are depends on the surface and the seats alone, not on lo and hi: a
// cleat on a wall is cut where the wall behind it is, so that neither reaches into the other.
func (f *Face) steps(a Axis, lo, hi float64, seats []Seat) []float64 {
	marks := f.treads(a, lo, hi)
	for _, s := range seats {
		c := coords(s.At)[a]
		marks = append(marks, c-s.Radius, c+s.Radius)
	}
	sort.Float64s(marks)
	out := []float64{lo}
	for _, m := range marks {
		if m-out[len(out)-1] > sliverMM && hi-m > sliverMM {
			out = append(out, m)
		}
	}
	return append(out, hi)
}

// treads are the cuts that the lean of the surface asks for between lo and hi: even ones from reading to reading, or on
// a plane every so far from its zero.
func (f *Face) treads(a Axis, lo, hi float64) []float64 {
	var out []float64
	if len(f.along) == 1 {
		for i, r := range f.readings {
			out = append(out, r.At[a])
			if i == 0 {
				continue
			}
			last := f.readings[i-1]
			n := int(math.Min(math.Ceil(math.Abs(r.Value-last.Value)/MaxStepMM-1e-9), maxSteps))
			for k := 1; k < n; k++ {
				out = append(out, last.At[a]+(r.At[a]-last.At[a])*float64(k)/float64(n))
			}
		}
		return out
	}
	p, q := [3]float64{}, [3]float64{}
	q[a] = 1
	step := math.Max(MaxStepMM/2/math.Abs(f.At(vec(q))-f.At(vec(p))), (hi-lo)/maxSteps)
	for k := math.Ceil(lo / step); k*step < hi && len(out) <= maxSteps; k++ {
		out = append(out, k*step)
	}
	return out
}
