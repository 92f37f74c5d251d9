package main

import (
	"math"
	"math/rand"
	"testing"

	"turnwise/geom"
)

// TestFieldsAgree: the project's solids and the judge's arithmetic are of one shape: inside and outside alike, at points
// near the surface too.
func TestFieldsAgree(t *testing.T) {
	rnd := rand.New(rand.NewSource(1))
	for _, c := range cases() {
		s := ours(c.name)
		check := func(p point) {
			f, g := c.at(p), s.Distance(geom.V(p.x, p.y, p.z))
			if math.Abs(f) > 1e-6 && (f < 0) != (g < 0) {
				t.Fatalf("%s at %v: the judge says %g, the solid %g", c.name, p, f, g)
			}
		}
		for range 20000 {
			d := c.hi.sub(c.lo)
			check(c.lo.add(point{d.x * (1.2*rnd.Float64() - 0.1), d.y * (1.2*rnd.Float64() - 0.1), d.z * (1.2*rnd.Float64() - 0.1)}))
		}
		for _, p := range c.surfacePoints(5000) {
			check(p.add(point{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()}.mul(0.01)))
		}
	}
}

// TestFieldsAreHonest: no field changes by more than 1.6 % over 1 per mm, the shear of the tapered thread.
func TestFieldsAreHonest(t *testing.T) {
	rnd := rand.New(rand.NewSource(2))
	for _, c := range cases() {
		for _, p := range c.surfacePoints(5000) {
			q := p.add(point{rnd.NormFloat64(), rnd.NormFloat64(), rnd.NormFloat64()}.mul(0.05))
			if f := math.Abs(c.at(q)); f > 1.016*q.from(p)+1e-6 {
				t.Fatalf("%s at %v: %g, but the surface is %g away", c.name, q, f, q.from(p))
			}
		}
	}
}

// TestEdges: the points of the sharp edges lie on the surface, as many as the edges' lengths in closed form ask for.
func TestEdges(t *testing.T) {
	circle := func(r float64) float64 { return 2 * math.Pi * r }
	want := map[string]float64{
		"elbow":  2 * (2*circle(band) + circle(body) + circle(bore)),
		"flange": 2*circle(40) + 2*circle(band) + 2*circle(bore) + 4*(2*circle(hole)+circle(sunk)),
		"pipe":   2 * (circle(pipeOuter) + circle(bore)),
	}
	for _, c := range cases() {
		n := len(c.edgePoints())
		if n == 0 {
			t.Fatalf("%s has no edge", c.name)
		}
		if length := want[c.name]; length > 0 && math.Abs(float64(n)*edgeStepMM/1.25/length-1) > 0.01 {
			t.Errorf("%s: %d points for %g mm", c.name, n, length)
		}
	}
}

// box is a cube from 0 to 1.
func box() []triangle {
	p := func(i int) point { return point{float64(i & 1), float64(i >> 1 & 1), float64(i >> 2)} }
	var out []triangle
	for _, q := range [][4]int{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		out = append(out, triangle{p(q[0]), p(q[1]), p(q[2])}, triangle{p(q[0]), p(q[2]), p(q[3])})
	}
	return out
}

// TestMeasures: the measures of a cube are those of a cube, and each flaw is counted.
func TestMeasures(t *testing.T) {
	cube := &judged{name: "cube", lo: point{}, hi: point{1, 1, 1},
		at: func(p point) float64 {
			return max(between(p.x, 0, 1), between(p.y, 0, 1), between(p.z, 0, 1))
		},
		edges: []curve{straight(point{}, point{1, 0, 0}), straight(point{1, 1, 0}, point{1, 1, 1})},
	}
	m := measure(cube, box())
	if !m.closed() || math.Abs(m.Volume-1) > 1e-12 || m.worst() > 1e-6 || m.Degenerate+m.Folded != 0 {
		t.Errorf("a sound cube: %+v", m)
	}
	bad := box()
	bad[0][0], bad[0][1] = bad[0][1], bad[0][0]
	if m := measure(cube, bad); m.SameWay != 3 || m.Folded != 1 {
		t.Errorf("one triangle turned round: %+v", m)
	}
	if m := measure(cube, box()[1:]); m.Once != 3 || m.closed() {
		t.Errorf("one triangle missing: %+v", m)
	}
	twice := box()
	for _, q := range box() {
		twice = append(twice, triangle{q[0].add(point{1, 1, 1}), q[1].add(point{1, 1, 1}), q[2].add(point{1, 1, 1})})
	}
	if m := measure(cube, twice); m.Fans != 1 || math.Abs(m.MaxErr-1) > 1e-9 {
		t.Errorf("two cubes at a corner: %+v", m)
	}
	off := box()
	for i := range off {
		for k := range off[i] {
			off[i][k].z *= 1.25
		}
	}
	if m := measure(cube, off); m.MaxErr != 0.25 || math.Abs(m.Missed-0.25) > 0.02 || m.EdgeMax > 1e-9 {
		t.Errorf("a cube too high: %+v", m)
	}
}

// TestSurfacePoints: as many points fall on the pipe's outside and in its bore as their areas say.
func TestSurfacePoints(t *testing.T) {
	c := cases()[3]
	out, in := 0, 0
	for _, p := range c.surfacePoints(20000) {
		if math.Abs(p.z) > 499.99 {
			continue
		}
		if r := round(p.x, p.y); r > 9 {
			out++
		} else {
			in++
		}
	}
	if got, want := float64(out)/float64(out+in), pipeOuter/(pipeOuter+bore); math.Abs(got-want) > 0.02 {
		t.Errorf("%.3f of the points on the outside, want %.3f", got, want)
	}
}
