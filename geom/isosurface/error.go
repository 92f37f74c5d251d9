package isosurface

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// sampleSteps divides the sides of a triangle for sampling: 21 points.
const sampleSteps = 5

// measure samples the distance of the mesh from the surface and counts folded and low triangles.
func (r *Report) measure(s sdf.Solid, m *mesh.Mesh, tol float64) {
	type part struct {
		most, sum, area float64
		folded, low     int
	}
	parts := make([]part, slabs)
	inParallel(slabs, func(k int) {
		p := &parts[k]
		from, to := slab(k, len(m.Triangles))
		for i := from; i < to; i++ {
			a, b, c := m.Corners(i)
			most, mean := sampleTriangle(s, a, b, c)
			area := b.Sub(a).Cross(c.Sub(a)).Len()
			p.most = max(p.most, most)
			p.sum += mean * area
			p.area += area
			if isFolded(s, a, b, c) {
				p.folded++
			}
			if mesh.Height(a, b, c) < leastHeight*tol {
				p.low++
			}
		}
	})
	sum, area := 0.0, 0.0
	r.MaxErrorMM, r.Folded, r.Low = 0, 0, 0
	for _, p := range parts {
		r.MaxErrorMM = max(r.MaxErrorMM, p.most)
		r.Folded += p.folded
		r.Low += p.low
		sum += p.sum
		area += p.area
	}
	r.RMSErrorMM = math.Sqrt(sum / area)
}

// eachSample calls do for points spread over a triangle.
func eachSample(a, b, c geom.Vec, do func(p geom.Vec)) {
	for i := 0; i <= sampleSteps; i++ {
		for j := 0; i+j <= sampleSteps; j++ {
			u, v := float64(i)/sampleSteps, float64(j)/sampleSteps
			do(a.Add(b.Sub(a).Mul(u)).Add(c.Sub(a).Mul(v)))
		}
	}
}

// sampleTriangle returns the largest and the mean square distance over a triangle.
func sampleTriangle(s sdf.Solid, a, b, c geom.Vec) (most, meanSq float64) {
	n := 0
	eachSample(a, b, c, func(p geom.Vec) {
		f := math.Abs(s.Distance(p))
		most = max(most, f)
		meanSq += f * f
		n++
	})
	return most, meanSq / float64(n)
}

// isFolded tells whether a triangle faces against the solid at its middle: whether a step along its normal goes
// inwards. Where the middle is nearer to an edge than the step is long, the step tells nothing and is made shorter.
func isFolded(s sdf.Solid, a, b, c geom.Vec) bool {
	n := mesh.Normal(a, b, c)
	mid := a.Add(b).Add(c).Mul(1.0 / 3)
	h := foldStepMM
	for range 3 {
		if s.Distance(mid.Add(n.Mul(h))) >= s.Distance(mid.Sub(n.Mul(h))) {
			return false
		}
		h /= 10
	}
	return true
}

// foldStepMM is the first step of isFolded.
const foldStepMM = 1e-2
