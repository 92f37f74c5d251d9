// Package wall measures how thin a solid gets.
//
// From many points of its surface a ray goes straight in until it comes out again. Only walls count whose faces look
// away from one another: a ray that leaves through a face nearly square to the one it entered through has crossed an
// edge, not a wall. From the thinnest places found the search goes on along the surface in ever smaller steps.
//
// Where the thinnest wall lies between smooth faces, the shortest way through it is square to both, so that an error in
// place is one of second order in thickness. Measured on solids with known walls the result is within AccuracyMM. A wall
// smaller across than the triangles of the mesh, such as a rib that the mesh has lost, can be missed.
package wall

import (
	"math"
	"sort"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// AccuracyMM is how near the result comes to the true wall on the solids of the tests.
const AccuracyMM = 0.02

const (
	// opposed is the least cosine between the way in and the face it comes out of: 45 degrees.
	opposed = 0.7
	// surfaceMM is the distance that counts as on the surface, and startMM how deep a ray begins.
	surfaceMM, startMM = 1e-5, 1e-3
	// slopeMM is the step of the differences that give normals.
	slopeMM = 1e-4
	// seeds is how many of the thinnest places are followed, and firstStepMM to lastStepMM the steps along the surface.
	seeds                   = 12
	firstStepMM, lastStepMM = 0.8, 0.004
	// maxSteps ends a ray that creeps along a face.
	maxSteps = 2000
)

// Wall is the thinnest place: from At straight in along Dir for MM.
type Wall struct {
	MM      float64
	At, Dir geom.Vec
}

// Thinnest returns the thinnest wall of s. The mesh, of the same solid, says where its surface is. It returns false when
// no ray met an opposite face.
func Thinnest(s sdf.Solid, m *mesh.Mesh) (Wall, bool) {
	var found []Wall
	limit := 2 * mesh.Bounds(m).Diagonal()
	for i := range m.Triangles {
		for _, p := range samples(m.Corners(i)) {
			if w, ok := through(s, p, limit); ok {
				found = append(found, w)
			}
		}
	}
	if len(found) == 0 {
		return Wall{}, false
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].MM < found[j].MM })
	best := found[0]
	for _, w := range found[:min(seeds, len(found))] {
		if w = follow(s, w); w.MM < best.MM {
			best = w
		}
	}
	return best, true
}

// samples are places on a triangle: its middle, and near its corners and the middles of its sides.
func samples(a, b, c geom.Vec) []geom.Vec {
	const near = 0.01
	mid := a.Add(b).Add(c).Mul(1.0 / 3)
	out := []geom.Vec{mid}
	for _, p := range []geom.Vec{a, b, c, a.Lerp(b, 0.5), b.Lerp(c, 0.5), c.Lerp(a, 0.5)} {
		out = append(out, p.Lerp(mid, near))
	}
	return out
}

// normal is the direction in which the distance grows.
func normal(s sdf.Solid, p geom.Vec) geom.Vec {
	d := func(e geom.Vec) float64 { return s.Distance(p.Add(e.Mul(slopeMM))) - s.Distance(p.Sub(e.Mul(slopeMM))) }
	return geom.V(d(geom.AxisX), d(geom.AxisY), d(geom.AxisZ)).Unit()
}

// through measures the wall under a point near the surface.
func through(s sdf.Solid, p geom.Vec, limit float64) (Wall, bool) {
	n := normal(s, p)
	if n == (geom.Vec{}) {
		return Wall{}, false
	}
	p = p.Sub(n.Mul(s.Distance(p))) // onto the surface
	if math.Abs(s.Distance(p)) > startMM/2 {
		return Wall{}, false // at an edge, where the way to the surface is another
	}
	t := startMM
	for range maxSteps {
		d := -s.Distance(p.Sub(n.Mul(t)))
		if d <= surfaceMM {
			break
		}
		if t += d; t > limit {
			return Wall{}, false
		}
	}
	if t < 2*startMM {
		return Wall{}, false // it never came in
	}
	q := p.Sub(n.Mul(t))
	if -normal(s, q).Dot(n) < opposed {
		return Wall{}, false
	}
	return Wall{t, p, n.Neg()}, true
}

// follow walks from a thin place to thinner ones nearby.
func follow(s sdf.Solid, w Wall) Wall {
	for step := firstStepMM; step > lastStepMM; {
		u := w.Dir.Across()
		v := w.Dir.Cross(u)
		better := w
		for k := range 8 {
			sin, cos := math.Sincos(float64(k) * math.Pi / 4)
			p := w.At.Add(u.Mul(step * cos)).Add(v.Mul(step * sin))
			if x, ok := through(s, p, w.MM+step); ok && x.MM < better.MM-surfaceMM {
				better = x
			}
		}
		if better.MM == w.MM {
			step /= 2
		}
		w = better
	}
	return w
}
