package main

import (
	"math"
	"math/rand"
	"runtime"
	"sync"
)

// Figures of measuring.
const (
	leastSamples, fewSamples   = 21, 4
	mostSamples, spreadSamples = 2_000_000, 500_000
	surfacePoints              = 60_000
	smoothMM                   = 1.75 // how far from every sharp edge a point counts as on the smooth surface
	degenerateMM               = 1e-6
	sliverDeg                  = 5
	slopeStepMM                = 1e-5
)

// measures is what is found on one mesh. Lengths are mm.
type measures struct {
	Triangles                  int
	MaxErr, RMSErr, SmoothMax  float64
	EdgeMax, EdgeRMS, Missed   float64
	Once, Often, SameWay, Fans int
	Volume                     float64
	Degenerate, Folded         int
	SliverPercent              float64
}

// closed tells whether the mesh is a closed oriented 2-manifold.
func (m *measures) closed() bool {
	return m.Once+m.Often+m.SameWay+m.Fans == 0 && m.Volume > 0
}

// worst is the figure that a mesh is judged by.
func (m *measures) worst() float64 { return max(m.MaxErr, m.EdgeMax, m.Missed) }

// measure rounds the triangles to what an STL file holds and takes all measures.
func measure(j *judged, tris []triangle) measures {
	for i := range tris {
		for k := range 3 {
			tris[i][k] = round32(tris[i][k])
		}
	}
	m := measures{Triangles: len(tris)}
	if len(tris) == 0 {
		return m
	}
	edges := j.edgePoints()
	m.surface(j, tris, newCloud(edges))
	t := newTree(tris)
	sum := 0.0
	for _, d := range distances(t, edges) {
		m.EdgeMax = max(m.EdgeMax, d)
		sum += d * d
	}
	m.EdgeRMS = math.Sqrt(sum / float64(len(edges)))
	for _, d := range distances(t, j.surfacePoints(surfacePoints)) {
		m.Missed = max(m.Missed, d)
	}
	m.shape(j, tris)
	m.topology(tris)
	return m
}

// round32 rounds to 32-bit floats; minus nought becomes nought.
func round32(p point) point {
	return point{float64(float32(p.x)) + 0, float64(float32(p.y)) + 0, float64(float32(p.z)) + 0}
}

// parallel divides 0..n among the cores.
func parallel(n int, do func(from, to int)) {
	parts := runtime.GOMAXPROCS(0)
	var wg sync.WaitGroup
	for i := range parts {
		wg.Add(1)
		go func() {
			defer wg.Done()
			do(i*n/parts, (i+1)*n/parts)
		}()
	}
	wg.Wait()
}

func distances(t *tree, ps []point) []float64 {
	out := make([]float64, len(ps))
	parallel(len(ps), func(from, to int) {
		for i := from; i < to; i++ {
			out[i] = t.distance(ps[i])
		}
	})
	return out
}

// lattice returns how many steps a side of a triangle is divided into for at least n samples: k steps give
// (k+1)(k+2)/2 of them.
func lattice(n float64) int {
	return max(1, int(math.Ceil((math.Sqrt(8*n+1)-3)/2)))
}

// surface samples the field over the triangles.
func (m *measures) surface(j *judged, tris []triangle, edges *cloud) {
	total := 0.0
	for i := range tris {
		total += tris[i].normal().len() / 2
	}
	var mu sync.Mutex
	squares := 0.0
	parallel(len(tris), func(from, to int) {
		most, smooth, sum := 0.0, 0.0, 0.0
		for i := from; i < to; i++ {
			area := tris[i].normal().len() / 2
			ps := samples(&tris[i], area/total, len(tris))
			mean := 0.0
			for _, p := range ps {
				f := math.Abs(j.at(p))
				mean += f * f / float64(len(ps))
				most = max(most, f)
				if f > smooth && !edges.within(p, smoothMM) {
					smooth = f
				}
			}
			sum += mean * area
		}
		mu.Lock()
		defer mu.Unlock()
		m.MaxErr, m.SmoothMax, squares = max(m.MaxErr, most), max(m.SmoothMax, smooth), squares+sum
	})
	m.RMSErr = math.Sqrt(squares / total)
}

// samples spreads points over a triangle that has the given part of the whole area.
func samples(t *triangle, part float64, of int) []point {
	if leastSamples*of > mostSamples {
		n := float64(mostSamples) * part
		if n < 2*fewSamples {
			return []point{t[0], t[1], t[2], t.centroid()}
		}
		return grid(t, lattice(n))
	}
	return grid(t, lattice(max(leastSamples, spreadSamples*part)))
}

func grid(t *triangle, k int) []point {
	u, v := t[1].sub(t[0]).mul(1/float64(k)), t[2].sub(t[0]).mul(1/float64(k))
	out := make([]point, 0, (k+1)*(k+2)/2)
	for a := 0; a <= k; a++ {
		for b := 0; a+b <= k; b++ {
			out = append(out, t[0].add(u.mul(float64(a))).add(v.mul(float64(b))))
		}
	}
	return out
}

// surfacePoints returns n points spread evenly over the true surface: where straight lines of random place and
// direction cross it (Crofton: equal areas are crossed equally often).
func (j *judged) surfacePoints(n int) []point {
	rnd := rand.New(rand.NewSource(60))
	mid, reach := j.lo.add(j.hi).mul(0.5), j.hi.sub(j.lo).len()/2
	var out []point
	for len(out) < n {
		dir := point{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()}
		dir = dir.mul(1 / dir.len())
		off := point{rnd.Float64() - 0.5, rnd.Float64() - 0.5, rnd.Float64() - 0.5}.mul(2 * reach)
		off = off.sub(dir.mul(off.dot(dir)))
		if off.len() <= reach {
			out = j.walk(out, mid.add(off), dir, reach)
		}
	}
	return out
}

// walk adds the places where a line meets the surface. The field is a bound, so steps of its amount skip nothing.
func (j *judged) walk(out []point, through, dir point, reach float64) []point {
	const nearMM, overMM = 1e-7, 1e-5
	from, to, ok := j.clip(through, dir, reach)
	for t := from; ok && t <= to; {
		p := through.add(dir.mul(t))
		f := math.Abs(j.at(p))
		if f < nearMM {
			out = append(out, p)
			f = overMM
		}
		t += f * 0.98 // threads overstate by up to 1.6 %
	}
	return out
}

// clip returns the part of a line in the solid's box, grown a little.
func (j *judged) clip(p, dir point, reach float64) (from, to float64, ok bool) {
	from, to = -reach, reach
	for _, a := range [3][4]float64{{p.x, dir.x, j.lo.x, j.hi.x}, {p.y, dir.y, j.lo.y, j.hi.y}, {p.z, dir.z, j.lo.z, j.hi.z}} {
		t0, t1 := (a[2]-1-a[0])/a[1], (a[3]+1-a[0])/a[1]
		from, to = max(from, min(t0, t1)), min(to, max(t0, t1))
	}
	return from, to, from < to
}

// shape counts triangles without area, thin ones, and those that face against the field.
func (m *measures) shape(j *judged, tris []triangle) {
	slivers := 0
	for i := range tris {
		t := &tris[i]
		n := t.normal()
		a, b, c := t[1].from(t[0]), t[2].from(t[1]), t[0].from(t[2])
		if long := max(a, b, c); a == 0 || b == 0 || c == 0 || n.len()/long < degenerateMM {
			m.Degenerate++
			continue
		}
		// the sine of the least angle is twice the area over the two longer sides
		if n.len()/(a*b*c/min(a, b, c)) < math.Sin(sliverDeg*math.Pi/180) {
			slivers++
		}
		if n.dot(j.gradient(t.centroid())) < 0 {
			m.Folded++
		}
	}
	m.SliverPercent = 100 * float64(slivers) / float64(len(tris))
}

func (j *judged) gradient(p point) point {
	d := func(e point) float64 { return j.at(p.add(e)) - j.at(p.sub(e)) }
	return point{d(point{slopeStepMM, 0, 0}), d(point{0, slopeStepMM, 0}), d(point{0, 0, slopeStepMM})}
}

// topology welds equal corners and looks at edges and fans. Triangles with two equal corners have become nothing; they
// are counted as degenerate.
func (m *measures) topology(tris []triangle) {
	number := map[point]int32{}
	var ts [][3]int32
	for i := range tris {
		var t [3]int32
		for k, c := range tris[i] {
			n, ok := number[c]
			if !ok {
				n = int32(len(number))
				number[c] = n
			}
			t[k] = n
		}
		if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] {
			ts = append(ts, t)
		}
		m.Volume += tris[i][0].dot(tris[i][1].cross(tris[i][2])) / 6
	}
	ways := map[[2]int32][2]int{}
	for _, t := range ts {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			key, way := [2]int32{a, b}, 0
			if a > b {
				key, way = [2]int32{b, a}, 1
			}
			w := ways[key]
			w[way]++
			ways[key] = w
		}
	}
	for _, w := range ways {
		switch {
		case w[0]+w[1] == 1:
			m.Once++
		case w[0]+w[1] > 2:
			m.Often++
		case w[0] != 1:
			m.SameWay++
		}
	}
	m.Fans = fans(ts, len(number))
}

// fans counts the vertices at which triangles that share edges do not make one group.
func fans(ts [][3]int32, vertices int) int {
	star := make([][]int32, vertices)
	for i, t := range ts {
		for _, v := range t {
			star[v] = append(star[v], int32(i))
		}
	}
	n := 0
	for v, list := range star {
		if len(list) > 0 && groups(ts, list, int32(v)) != 1 {
			n++
		}
	}
	return n
}

// groups counts the groups of triangles about v that are joined through edges at v.
func groups(ts [][3]int32, list []int32, v int32) int {
	of := map[int32]int{} // by neighbour vertex: its group
	parent := make([]int, len(list))
	var find func(i int) int
	find = func(i int) int {
		if parent[i] != i {
			parent[i] = find(parent[i])
		}
		return parent[i]
	}
	for i := range parent {
		parent[i] = i
	}
	for i, t := range list {
		for _, u := range ts[t] {
			if u == v {
				continue
			}
			if g, ok := of[u]; ok {
				parent[find(g)] = find(i)
			} else {
				of[u] = i
			}
		}
	}
	n := 0
	for i := range parent {
		if find(i) == i {
			n++
		}
	}
	return n
}

// cloud tells whether a point is near one of many.
type cloud struct{ cells map[[3]int32][]point }

func cellOf(p point) [3]int32 {
	return [3]int32{int32(math.Floor(p.x / smoothMM)), int32(math.Floor(p.y / smoothMM)), int32(math.Floor(p.z / smoothMM))}
}

func newCloud(ps []point) *cloud {
	c := &cloud{map[[3]int32][]point{}}
	for _, p := range ps {
		k := cellOf(p)
		c.cells[k] = append(c.cells[k], p)
	}
	return c
}

// within tells whether a point of the cloud is at most d from p; d is at most smoothMM.
func (c *cloud) within(p point, d float64) bool {
	k := cellOf(p)
	for x := k[0] - 1; x <= k[0]+1; x++ {
		for y := k[1] - 1; y <= k[1]+1; y++ {
			for z := k[2] - 1; z <= k[2]+1; z++ {
				for _, q := range c.cells[[3]int32{x, y, z}] {
					if q.from(p) <= d {
						return true
					}
				}
			}
		}
	}
	return false
}
