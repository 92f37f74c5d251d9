package sdf_test

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/sdf"
	"turnwise/geom/sdf/sdftest"
)

// sample is a solid with its test for inside, written without distances.
type sample struct {
	name   string
	solid  sdf.Leafed
	inside func(geom.Vec) bool
}

// axial returns the coordinates along and from the z axis.
func axial(p geom.Vec) (s, r float64) { return p.Z, math.Hypot(p.X, p.Y) }

func between(x, lo, hi float64) bool { return x > lo && x < hi }

// flats tells whether p is within a regular polygon about z with a flat facing +x.
func flats(p geom.Vec, n int, across float64) bool {
	for k := 0; k < n; k++ {
		s, c := math.Sincos(2 * math.Pi * float64(k) / float64(n))
		if p.X*c+p.Y*s >= across/2 {
			return false
		}
	}
	return true
}

// bent tells whether p is in the tube round an arc about z of radius ring, from +x anticlockwise, with leads.
func bent(p geom.Vec, ring, r, turn, before, after float64) bool {
	a := math.Atan2(p.Y, p.X)
	if a >= 0 && a <= turn && math.Hypot(math.Hypot(p.X, p.Y)-ring, p.Z) < r {
		return true
	}
	if p.Y <= 0 && p.Y > -before && math.Hypot(p.X-ring, p.Z) < r {
		return true
	}
	s, c := math.Sincos(-turn) // turned back, the second lead runs from +x along +y
	x, y := p.X*c-p.Y*s, p.X*s+p.Y*c
	return y >= 0 && y < after && math.Hypot(x-ring, p.Z) < r
}

// primitives are one of each, in sizes of pipe and fittings.
func primitives() []sample {
	o, z, x := geom.Vec{}, geom.AxisZ, geom.AxisX
	b := geom.Box{Min: geom.V(-3, 1, 2), Max: geom.V(5, 20, 9)}
	steps := []geom.Box{
		{Min: geom.V(0, 0, 0), Max: geom.V(30, 20, 5)}, {Min: geom.V(30, 0, 0), Max: geom.V(50, 12, 5)},
		{Min: geom.V(10, 5, 5), Max: geom.V(20, 15, 9)}, {Min: geom.V(40, 6, 2), Max: geom.V(60, 30, 7)},
	}
	cap := []sdf.Station{{S: 0, R: 8}, {S: 0, R: 15}, {S: 6, R: 15}, {S: 6, R: 13}, {S: 25, R: 13}, {S: 25, R: 0}, {S: 20, R: 0}, {S: 20, R: 10}, {S: 12, R: 10}, {S: 12, R: 7.6}}
	return []sample{
		{"box", sdf.Box(b), func(p geom.Vec) bool {
			return between(p.X, -3, 5) && between(p.Y, 1, 20) && between(p.Z, 2, 9)
		}},
		{"boxes", sdf.Boxes(steps...), func(p geom.Vec) bool {
			for _, s := range steps {
				if s.Contains(p) {
					return true
				}
			}
			return false
		}},
		{"cylinder", sdf.Cylinder(o, z, 12, 7), func(p geom.Vec) bool {
			s, r := axial(p)
			return between(s, 0, 12) && r < 7
		}},
		{"cone", sdf.Cone(o, z, 20, 10, 10-20./32), func(p geom.Vec) bool {
			s, r := axial(p)
			return between(s, 0, 20) && r < 10-s/32
		}},
		{"pointed cone", sdf.Cone(o, z, 20, 10, 0), func(p geom.Vec) bool {
			s, r := axial(p)
			return between(s, 0, 20) && r < 10-s/2
		}},
		{"tube", sdf.Tube(o, z, 30, 10.67, 7.9), func(p geom.Vec) bool {
			s, r := axial(p)
			return between(s, 0, 30) && between(r, 7.9, 10.67)
		}},
		{"cap", sdf.Revolve(o, z, cap), func(p geom.Vec) bool {
			s, r := axial(p)
			outer := 13.0
			if s < 6 {
				outer = 15
			}
			inner := 10.0
			if s < 12 {
				inner = 8 - s*0.4/12
			} else if s > 20 {
				inner = -1
			}
			return between(s, 0, 25) && between(r, inner, outer)
		}},
		{"hollow", sdf.Revolve(o, z,
			[]sdf.Station{{S: 0, R: 0}, {S: 0, R: 10}, {S: 30, R: 10}, {S: 30, R: 0}},
			[]sdf.Station{{S: 5, R: 0}, {S: 25, R: 0}, {S: 25, R: 6}, {S: 5, R: 6}}), func(p geom.Vec) bool {
			s, r := axial(p)
			return between(s, 0, 30) && r < 10 && !(between(s, 5, 25) && r < 6)
		}},
		{"sphere", sdf.Sphere(o, 9), func(p geom.Vec) bool { return p.Len() < 9 }},
		{"torus", sdf.Torus(o, z, 20, 6), func(p geom.Vec) bool {
			s, r := axial(p)
			return math.Hypot(r-20, s) < 6
		}},
		{"bend 90", sdf.Bend(geom.V(20, 0, 0), geom.AxisY, x.Neg(), 20, 13.5, math.Pi/2, 0, 0), func(p geom.Vec) bool {
			return bent(p, 20, 13.5, math.Pi/2, 0, 0)
		}},
		{"bend 90 with leads", sdf.Bend(geom.V(20, 0, 0), geom.AxisY, x.Neg(), 20, 13.5, math.Pi/2, 12, 5), func(p geom.Vec) bool {
			return bent(p, 20, 13.5, math.Pi/2, 12, 5)
		}},
		{"bend 45 with leads", sdf.Bend(geom.V(14, 0, 0), geom.AxisY, x.Neg(), 14, 13.5, math.Pi/4, 12, 9), func(p geom.Vec) bool {
			return bent(p, 14, 13.5, math.Pi/4, 12, 9)
		}},
		{"bend 150", sdf.Bend(geom.V(20, 0, 0), geom.AxisY, x.Neg(), 20, 8, math.Pi*5/6, 0, 0), func(p geom.Vec) bool {
			return bent(p, 20, 8, math.Pi*5/6, 0, 0)
		}},
		{"hexagon", sdf.Prism(o, z, x, 10, 30, 6), func(p geom.Vec) bool {
			return between(p.Z, 0, 10) && flats(p, 6, 30)
		}},
		{"octagon", sdf.Prism(o, z, x, 10, 30, 8), func(p geom.Vec) bool {
			return between(p.Z, 0, 10) && flats(p, 8, 30)
		}},
		{"square", sdf.Prism(o, z, x, 10, 12, 4), func(p geom.Vec) bool {
			return between(p.Z, 0, 10) && flats(p, 4, 12)
		}},
	}
}

func TestPrimitives(t *testing.T) {
	for _, tt := range primitives() {
		t.Run(tt.name, func(t *testing.T) {
			sdftest.Check(t, tt.solid, sdftest.Claim{Inside: tt.inside, Exact: true, Primitive: true})
		})
	}
}

func TestHalfSpace(t *testing.T) {
	n := geom.V(1, 2, -1).Unit()
	sdftest.Check(t, sdf.HalfSpace(geom.V(1, 0, 3), geom.V(1, 2, -1)), sdftest.Claim{
		Inside: func(p geom.Vec) bool { return p.Sub(geom.V(1, 0, 3)).Dot(n) < 0 },
		Exact:  true, Within: geom.Box{Min: geom.V(-9, -9, -9), Max: geom.V(9, 9, 9)},
	})
}

func randomPose(r *rand.Rand, spread float64) geom.Pose {
	v := func() geom.Vec { return geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()) }
	return geom.Facing(v().Mul(spread), v(), v())
}

// TestMoved: a motion keeps a primitive exact.
func TestMoved(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for _, tt := range primitives() {
		pose := randomPose(r, 30)
		t.Run(tt.name, func(t *testing.T) {
			sdftest.Check(t, sdf.Move(tt.solid, pose), sdftest.Claim{
				Inside: func(p geom.Vec) bool { return tt.inside(pose.Local(p)) },
				Exact:  true, Primitive: true, Points: 600,
			})
		})
	}
}

// TestAlongAnyLine: at and dir of the constructors place as a pose does.
func TestAlongAnyLine(t *testing.T) {
	at, dir, side := geom.V(3, -4, 5), geom.V(1, 2, 3), geom.V(-2, 1, 0.3)
	pose := geom.Facing(at, dir, side)
	r := rand.New(rand.NewSource(4))
	for _, tt := range []struct {
		name   string
		placed sdf.Leafed
		own    sdf.Leafed
	}{
		{"cylinder", sdf.Cylinder(at, dir, 9, 4), sdf.Cylinder(geom.Vec{}, geom.AxisZ, 9, 4)},
		{"cone", sdf.Cone(at, dir, 9, 4, 3), sdf.Cone(geom.Vec{}, geom.AxisZ, 9, 4, 3)},
		{"torus", sdf.Torus(at, dir, 9, 4), sdf.Torus(geom.Vec{}, geom.AxisZ, 9, 4)},
		{"prism", sdf.Prism(at, dir, side, 9, 4, 6), sdf.Prism(geom.Vec{}, geom.AxisZ, geom.AxisX, 9, 4, 6)},
		{"bend", sdf.Bend(at, dir, side, 9, 4, 1, 2, 3), sdf.Bend(geom.Vec{}, geom.AxisZ, geom.AxisX, 9, 4, 1, 2, 3)},
	} {
		for i := 0; i < 300; i++ {
			p := geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()).Mul(12)
			assert.InDelta(t, tt.own.Distance(p), tt.placed.Distance(pose.Apply(p)), 1e-9, "%s at %v", tt.name, p)
		}
	}
}

// nest builds a random tree of operations over moved primitives, with its test for inside beside it.
func nest(r *rand.Rand, prims []sample, depth int) sample {
	if depth == 0 || r.Intn(5) == 0 {
		s := prims[r.Intn(len(prims))]
		pose := randomPose(r, 6)
		return sample{s.name, sdf.Move(s.solid, pose), func(p geom.Vec) bool { return s.inside(pose.Local(p)) }}
	}
	a, b := nest(r, prims, depth-1), nest(r, prims, depth-1)
	switch r.Intn(3) {
	case 0:
		return sample{"(" + a.name + " + " + b.name + ")", sdf.Join(a.solid, b.solid),
			func(p geom.Vec) bool { return a.inside(p) || b.inside(p) }}
	case 1:
		return sample{"(" + a.name + " - " + b.name + ")", sdf.Cut(a.solid, b.solid),
			func(p geom.Vec) bool { return a.inside(p) && !b.inside(p) }}
	}
	return sample{"(" + a.name + " & " + b.name + ")", sdf.Common(a.solid, b.solid),
		func(p geom.Vec) bool { return a.inside(p) && b.inside(p) }}
}

// TestNests runs the suite on random trees of operations. Those that come out too small to be sampled are passed over
// by their volume, and counted so that the test cannot go blind.
func TestNests(t *testing.T) {
	n, seen := 60, 0
	if testing.Short() {
		n = 12
	}
	prims := primitives()
	for seed := 0; seed < n; seed++ {
		s := nest(rand.New(rand.NewSource(int64(seed))), prims, 3)
		b := s.solid.Bounds()
		if b.IsEmpty() || sdftest.Volume(s.solid, b.Diagonal()/40) < 0.03*b.Volume() {
			continue
		}
		seen++
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Log(s.name)
			sdftest.Check(t, s.solid, sdftest.Claim{Inside: s.inside, Points: 400})
		})
	}
	assert.Greater(t, seen, n/2, "too few nests had any material")
}

// TestJoinIsExactOutside against the distance to the nearer of two bodies apart.
func TestJoinIsExactOutside(t *testing.T) {
	a, b := sdf.Sphere(geom.V(-10, 0, 0), 5), sdf.Box(geom.Box{Min: geom.V(6, -4, -4), Max: geom.V(14, 4, 4)})
	sdftest.Check(t, sdf.Join(a, b), sdftest.Claim{Exact: true, Inside: func(p geom.Vec) bool {
		return p.Sub(geom.V(-10, 0, 0)).Len() < 5 ||
			(between(p.X, 6, 14) && between(p.Y, -4, 4) && between(p.Z, -4, 4))
	}})
}

// TestVolumes against closed forms: Archimedes for the ball, Pappus for ring and arc, and 16 r^3/3 for what two
// crossing cylinders share (Steinmetz).
func TestVolumes(t *testing.T) {
	o, z, x := geom.Vec{}, geom.AxisZ, geom.AxisX
	tests := []struct {
		name string
		s    sdf.Solid
		want float64
	}{
		{"tube", sdf.Tube(o, z, 30, 10.67, 7.9), math.Pi * (10.67*10.67 - 7.9*7.9) * 30},
		{"frustum", sdf.Cone(o, z, 20, 10, 8), math.Pi * 20 / 3 * (100 + 80 + 64)},
		{"ball", sdf.Sphere(o, 9), math.Pi * 4 / 3 * 729},
		{"ring", sdf.Torus(o, z, 20, 6), 2 * math.Pi * 20 * math.Pi * 36},
		{"arc", sdf.Bend(o, z, x, 20, 13.5, math.Pi/2, 0, 0), math.Pi / 2 * 20 * math.Pi * 13.5 * 13.5},
		{"arc with leads", sdf.Bend(o, z, x, 20, 13.5, math.Pi/4, 5, 7), (math.Pi/4*20 + 12) * math.Pi * 13.5 * 13.5},
		{"crossing cylinders", sdf.Common(
			sdf.Cylinder(geom.V(0, 0, -20), z, 40, 10), sdf.Cylinder(geom.V(-20, 0, 0), x, 40, 10)), 16. / 3 * 1000},
		{"tee", sdf.Join(sdf.Cylinder(geom.V(0, 0, -30), z, 60, 10), sdf.Cylinder(o, x, 30, 10)),
			math.Pi*100*60 + math.Pi*100*30 - 16./3*1000/2},
		{"hexagon", sdf.Prism(o, z, x, 10, 30, 6), 10 * 900 * math.Sqrt(3) / 2},
	}
	for _, tt := range tests {
		got := sdftest.Volume(tt.s, 0.4)
		assert.InEpsilon(t, tt.want, got, 2e-3, tt.name) // what sampling with 0.4 mm is good for
	}
}

// TestNothing: what has no volume, or numbers that are none, is Empty and does no harm to what it is joined with.
func TestNothing(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	o, z, x := geom.Vec{}, geom.AxisZ, geom.AxisX
	for i, s := range []sdf.Leafed{
		sdf.Box(geom.Box{}), sdf.Box(geom.EmptyBox()), sdf.Boxes(), sdf.Boxes(geom.Box{}), sdf.Cylinder(o, o, 1, 1),
		sdf.Cylinder(o, z, 0, 1), sdf.Cylinder(o, z, 1, nan), sdf.Cylinder(geom.V(inf, 0, 0), z, 1, 1), sdf.Cone(o, z, 1, -1, 1),
		sdf.Cone(o, z, 1, 0, 0), sdf.Tube(o, z, 1, 1, 1), sdf.Tube(o, z, -1, 2, 1), sdf.Sphere(o, 0), sdf.Torus(o, z, 1, 2),
		sdf.Revolve(o, z), sdf.Revolve(o, z, []sdf.Station{{S: 0, R: 1}, {S: 1, R: -1}, {S: 1, R: 1}}),
		sdf.Bend(o, z, x, 1, 2, 1, 0, 0), sdf.Bend(o, z, x, 3, 2, 3, 1, 0), sdf.Bend(o, z, x, 3, 2, -1, 0, 0), sdf.Prism(o, z, x, 1, 1, 2),
		sdf.HalfSpace(o, o), sdf.Join(), sdf.Common(), sdf.Common(sdf.Sphere(o, 1), sdf.Empty()),
		sdf.Common(sdf.Sphere(o, 1), sdf.Sphere(geom.V(9, 0, 0), 1)), sdf.Move(sdf.Empty(), geom.At(x)),
	} {
		require.True(t, s.Bounds().IsEmpty(), "case %d", i)
		assert.True(t, math.IsInf(s.Distance(geom.V(1, 2, 3)), 1), "case %d", i)
		assert.Equal(t, -1, s.ActiveLeaf(o), "case %d", i)
		assert.Empty(t, s.Leaves(), "case %d", i)
		ball := sdf.Join(s, sdf.Cut(sdf.Sphere(o, 2), s))
		assert.InDelta(t, -2, ball.Distance(o), 1e-12, "case %d", i)
	}
}

// TestBoxesHaveNoSeam: the distance goes right through the faces on which boxes touch, and slits made by rounding are
// closed.
func TestBoxesHaveNoSeam(t *testing.T) {
	s := sdf.Boxes(
		geom.Box{Min: geom.V(0, 0, 0), Max: geom.V(0.1+0.2, 1, 1)},
		geom.Box{Min: geom.V(0.3, 0, 0), Max: geom.V(1, 1, 1)})
	assert.InDelta(t, -0.3, s.Distance(geom.V(0.3, 0.5, 0.5)), 1e-6)
	assert.InDelta(t, -0.5, s.Distance(geom.V(0.5, 0.5, 0.5)), 1e-6)
	assert.Len(t, s.Leaves(), 6, "the outer faces only, those in one plane once")
}

// TestEqualSurfacesAreOneLeaf: a pipe's two pieces about one line share their barrel and bore.
func TestEqualSurfacesAreOneLeaf(t *testing.T) {
	a := sdf.Tube(geom.Vec{}, geom.AxisZ, 10, 5, 3)
	b := sdf.Tube(geom.V(0, 0, 15), geom.AxisZ.Neg(), 10, 5, 3)
	j := sdf.Join(a, b)
	assert.Len(t, j.Leaves(), 6, "barrel, bore, four ends")
	assert.Equal(t, j.ActiveLeaf(geom.V(4.9, 0, 2)), j.ActiveLeaf(geom.V(0, 4.9, 13)))
}

// bare hides everything of a solid but the two methods of sdf.Solid.
type bare struct{ s sdf.Solid }

func (b bare) Distance(p geom.Vec) float64 { return b.s.Distance(p) }
func (b bare) Bounds() geom.Box            { return b.s.Bounds() }

// TestForeignSolids: solids from elsewhere, without leaves, take part in operations.
func TestForeignSolids(t *testing.T) {
	ball := bare{sdf.Sphere(geom.V(3, 0, 0), 5)}
	s := sdf.Move(sdf.Cut(sdf.Box(geom.Box{Min: geom.V(-6, -6, -6), Max: geom.V(6, 6, 6)}), ball), geom.At(geom.V(1, 1, 1)))
	sdftest.Check(t, s, sdftest.Claim{Inside: func(p geom.Vec) bool {
		p = p.Sub(geom.V(1, 1, 1))
		return between(p.X, -6, 6) && between(p.Y, -6, 6) && between(p.Z, -6, 6) && p.Sub(geom.V(3, 0, 0)).Len() > 5
	}})
}

// TestExposed: of a rod in a socket the end inside is hidden and the end outside stays; Marked solids are the same bodies.
func TestExposed(t *testing.T) {
	rod := sdf.Cylinder(geom.Vec{}, geom.AxisZ, 50, 5)
	body := sdf.Cylinder(geom.V(0, 0, -10), geom.AxisZ, 20, 9)
	whole := sdf.Join(rod, body)
	kept := sdf.Exposed(whole, sdf.Features(whole))
	var ends []float64
	for _, f := range kept {
		ends = append(ends, f.At.Z)
	}
	assert.ElementsMatch(t, []float64{50, -10, 10}, ends)
	m := sdf.Marked(whole, kept)
	assert.Equal(t, kept, sdf.Features(m))
	for _, p := range []geom.Vec{{}, {X: 7, Z: 30}, {X: 4, Z: 49}} {
		assert.Equal(t, whole.Distance(p), m.Distance(p))
		assert.Equal(t, whole.ActiveLeaf(p), m.ActiveLeaf(p))
	}
	assert.Equal(t, sdf.Features(rod), sdf.Features(sdf.Marked(rod, sdf.Features(rod))))
}
