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

// steps divides lo..hi along axis a at the readings, at the edges of seats, and so finely that the surface changes by
// at most MaxStepMM (half of it along each of two axes) from one cut to the next.
func (f *Face) steps(a Axis, lo, hi float64, seats []Seat) []float64 {
	marks := []float64{lo, hi}
	if len(f.along) == 1 {
		for _, r := range f.readings {
			marks = append(marks, r.At[a])
		}
	}
	for _, s := range seats {
		c := coords(s.At)[a]
		marks = append(marks, c-s.Radius, c+s.Radius)
	}
	sort.Float64s(marks)
	most := MaxStepMM / float64(len(f.along))
	out := []float64{lo}
	for i := 1; i < len(marks); i++ {
		from, to := math.Max(marks[i-1], lo), math.Min(marks[i], hi)
		if to-from < 1e-9 {
			continue
		}
		p, q := [3]float64{}, [3]float64{}
		p[a], q[a] = from, to
		n := int(math.Ceil(math.Abs(f.At(vec(q))-f.At(vec(p)))/most - 1e-9))
		n = min(max(n, 1), maxSteps)
		for k := 1; k <= n; k++ {
			out = append(out, from+(to-from)*float64(k)/float64(n))
		}
	}
	return out
}
