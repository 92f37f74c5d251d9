package replay

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// shape is a random solid of a few primitives, none thinner than 5 mm.
func shape(r *rand.Rand) sdf.Solid {
	one := func() sdf.Solid {
		at := geom.V(r.Float64()*20, r.Float64()*20, r.Float64()*20)
		switch r.Intn(3) {
		case 0:
			return sdf.Box(geom.Box{Min: at, Max: at.Add(geom.V(5+40*r.Float64(), 5+40*r.Float64(), 5+40*r.Float64()))})
		case 1:
			return sdf.Tube(at, direction(r), 20+60*r.Float64(), 13, 10*r.Float64()*float64(r.Intn(2)))
		}
		return sdf.Sphere(at, 5+15*r.Float64())
	}
	if r.Intn(2) == 0 {
		return one()
	}
	return sdf.Join(one(), one())
}

func direction(r *rand.Rand) geom.Vec {
	for {
		if v := geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()); v.Len() > 0.1 {
			return v.Unit()
		}
	}
}

// motion is a random slide or screw of a few turns.
func motion(r *rand.Rand) path {
	p := path{start: geom.Facing(direction(r).Mul(120*r.Float64()), direction(r), direction(r)), at: direction(r).Mul(30), dir: direction(r)}
	if r.Intn(2) == 0 {
		p.shift = direction(r).Mul(150 * r.Float64())
		return p
	}
	p.angle = (r.Float64() - 0.5) * 6 * math.Pi
	p.shift = p.dir.Mul(10 * r.Float64())
	return p
}

// deepestOnGrid looks for common material by brute force: at moments no more than step mm apart, at points of a grid
// of that width over A's box. It returns the greatest depth below both surfaces.
func deepestOnGrid(a, b sdf.Solid, m path, step float64) float64 {
	box := a.Bounds()
	var inside []geom.Vec
	var deep []float64
	for x := box.Min.X; x <= box.Max.X; x += step {
		for y := box.Min.Y; y <= box.Max.Y; y += step {
			for z := box.Min.Z; z <= box.Max.Z; z += step {
				if p := geom.V(x, y, z); a.Distance(p) < 0 {
					inside, deep = append(inside, p), append(deep, -a.Distance(p))
				}
			}
		}
	}
	way := m.shift.Len()
	for _, c := range box.Corners() {
		way = max(way, m.speed(m.start.Apply(c), 0, 0, 0))
	}
	n := int(math.Ceil(way/step)) + 1
	best := 0.0
	for i := 0; i <= n; i++ {
		pose := m.pose(float64(i) / float64(n))
		for k, p := range inside {
			if deep[k] > best {
				best = max(best, min(deep[k], -b.Distance(pose.Apply(p))))
			}
		}
	}
	return best
}

// On random solids and motions the search never calls clear what a dense grid finds to overlap, and never finds an
// overlap that is not there.
func TestSearchAgainstGrid(t *testing.T) {
	n := 200
	if testing.Short() {
		n = 60
	}
	const step = 1.7 // mm of the grid
	hits, clear := 0, 0
	for seed := range n {
		r := rand.New(rand.NewSource(int64(seed)))
		a, b, m := shape(r), shape(r), motion(r)
		q := query{a: surfaceOf(a), b: surfaceOf(b), boxA: a.Bounds(), boxB: b.Bounds(), path: m}
		q.run()
		require.False(t, q.gaveUp, "seed %d", seed)
		if q.hit {
			hits++
			g := max(a.Distance(m.pose(q.when).Local(q.at)), b.Distance(q.at))
			assert.Less(t, g, -OverlapToleranceMM/2.0, "seed %d: the place is no overlap", seed)
			assert.GreaterOrEqual(t, q.when, 0.0)
			assert.LessOrEqual(t, q.when, 1.0)
			assert.GreaterOrEqual(t, q.deepest(), OverlapToleranceMM-1e-9)
			continue
		}
		clear++
		assert.LessOrEqual(t, deepestOnGrid(a, b, m, step), OverlapToleranceMM/2.0, "seed %d is called clear", seed)
	}
	assert.Greater(t, hits, n/5)
	assert.Greater(t, clear, n/5)
}

// The least distance met along a motion is that of closed forms: spheres that pass one another.
func TestClearance(t *testing.T) {
	for _, gap := range []float64{0.3, 1, 2, 2.9} {
		a, b := sdf.Sphere(geom.Vec{}, 20), sdf.Sphere(geom.Vec{}, 30)
		slide := query{a: surfaceOf(a), b: surfaceOf(b), boxA: a.Bounds(), boxB: b.Bounds(), cap: ClearanceCapMM,
			path: path{start: geom.At(geom.V(-200, 50+gap, 0)), dir: geom.AxisZ, shift: geom.V(400, 0, 0)}}
		slide.run()
		assert.InDelta(t, gap, 2*slide.least, 0.25, "sliding past")

		// Turning about an axis 100 mm away, nearest at a quarter turn.
		at := geom.V(0, 150+gap, 0)
		turn := query{a: surfaceOf(a), b: surfaceOf(b), boxA: a.Bounds(), boxB: b.Bounds(), cap: ClearanceCapMM,
			path: path{start: geom.At(at.Add(geom.V(-100, 0, 0))), at: at, dir: geom.AxisZ, angle: math.Pi}}
		turn.run()
		assert.InDelta(t, gap, 2*turn.least, 0.25, "turning past")
	}
}

// Faces that slide on one another are contact however far they slide, and a crash from a fifth of a millimetre on.
func TestSlidingFaces(t *testing.T) {
	plate := sdf.Cut(sdf.Cylinder(geom.Vec{}, geom.AxisZ, 6, 45), sdf.Cylinder(geom.V(0, 0, -1), geom.AxisZ, 9, 13))
	wall := sdf.Boxes(geom.Box{Min: geom.V(-500, -500, -100), Max: geom.V(500, 500, 0)}, geom.Box{Min: geom.V(-500, 200, 0), Max: geom.V(500, 300, 300)})
	slide := func(z float64, by geom.Vec) query {
		q := query{a: surfaceOf(plate), b: surfaceOf(wall), boxA: plate.Bounds(), boxB: wall.Bounds(), path: path{start: geom.At(geom.V(-25, 0, z)), dir: geom.AxisZ, shift: by}}
		q.run()
		return q
	}
	touch := slide(0, geom.V(50, 100, 0))
	assert.False(t, touch.hit)
	assert.Less(t, touch.samples, 1_500_000)
	assert.False(t, slide(0, geom.V(0, 155, 0)).hit, "up to the second face")
	assert.True(t, slide(0, geom.V(0, 155.2, 0)).hit, "into the second face")
	assert.True(t, slide(-0.2, geom.V(50, 100, 0)).hit, "dragged under the surface")
	assert.False(t, slide(-0.04, geom.V(50, 100, 0)).hit, "within the tolerance")
}

// A bump no larger (1 to 3 mm high, 4 to 8 mm across) than a screw's head that stands in the way of a sliding plate is found, wherever it stands.
func TestSlidingIntoBump(t *testing.T) {
	plate := sdf.Box(geom.Box{Max: geom.V(100, 60, 6)})
	for seed := range 200 {
		r := rand.New(rand.NewSource(int64(seed)))
		at := geom.V(105+40*r.Float64(), 3+54*r.Float64(), 0)
		bump := sdf.Cylinder(at.Add(geom.V(0, 0, -5)), geom.AxisZ, 6+2*r.Float64(), 2+2*r.Float64())
		floor := sdf.Join(sdf.Box(geom.Box{Min: geom.V(-200, -200, -50), Max: geom.V(400, 300, 0)}), bump)
		q := query{a: surfaceOf(plate), b: surfaceOf(floor), boxA: plate.Bounds(), boxB: floor.Bounds(), path: path{start: geom.Identity(), dir: geom.AxisZ, shift: geom.V(60, 0, 0)}}
		q.run()
		assert.True(t, q.hit, "seed %d: a bump at %v", seed, at)
	}
}

func TestIsRound(t *testing.T) {
	pipe := &assembly.Part{Kind: "pipe"}
	whole := sdf.Tube(geom.Vec{}, geom.AxisZ, 1000, 13, 10)
	assert.True(t, isRound(pipe, whole, whole.Bounds()))
	drilled := sdf.Cut(whole, sdf.Cylinder(geom.V(0, 0, 400), geom.AxisX, 20, 5))
	assert.False(t, isRound(pipe, drilled, drilled.Bounds()), "a hole across")
	flat := sdf.Cut(whole, sdf.Box(geom.Box{Min: geom.V(12.5, -20, 100), Max: geom.V(20, 20, 130)}))
	assert.False(t, isRound(pipe, flat, flat.Bounds()), "a flat filed on it")
	assert.False(t, isRound(&assembly.Part{Kind: "tee"}, whole, whole.Bounds()), "a tee is not round by its kind")
	aside := sdf.Tube(geom.V(1, 0, 0), geom.AxisZ, 1000, 13, 10)
	assert.False(t, isRound(pipe, aside, aside.Bounds()), "off its axis")
}

// A turn by a round body's axis is not seen; by another axis it is.
func TestTurnsInPlace(t *testing.T) {
	b := &body{round: true}
	assert.True(t, b.turnsInPlace(geom.At(geom.V(5, 0, 0)), geom.V(5, 0, 70), geom.AxisZ.Neg()))
	assert.False(t, b.turnsInPlace(geom.At(geom.V(5, 0, 0)), geom.V(5.1, 0, 70), geom.AxisZ))
	assert.False(t, b.turnsInPlace(geom.Identity(), geom.Vec{}, geom.V(0, 0.01, 1).Unit()))
	assert.False(t, (&body{}).turnsInPlace(geom.Identity(), geom.Vec{}, geom.AxisZ))
}

// No material point travels further between two moments than the speed says.
func TestSpeedBounds(t *testing.T) {
	for seed := range 200 {
		r := rand.New(rand.NewSource(int64(seed)))
		m := motion(r)
		p := direction(r).Mul(100 * r.Float64())
		s, d := r.Float64(), r.Float64()*0.2
		local := m.pose(s).Local(p)
		went := m.pose(s + d/2).Apply(local).Sub(p).Len()
		assert.LessOrEqual(t, went, m.speed(p, 0, s, d)*d/2+1e-9, "seed %d", seed)
	}
}
