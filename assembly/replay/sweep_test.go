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

// straight is a task of two solids, the first of which moves straight.
func straight(a, b sdf.Solid, start geom.Pose, by geom.Vec) task {
	part := &body{part: &assembly.Part{ID: "part"}}
	return task{
		a: part, b: part, poseB: geom.Identity(),
		solidA: a, solidB: b, boxA: a.Bounds(), boxB: b.Bounds(), measured: true,
		path: path{start: start, dir: geom.AxisZ, shift: by},
	}
}

// wooden is a random solid of boxes, bored or not.
func wooden(r *rand.Rand) sdf.Solid {
	size := geom.V(40+60*r.Float64(), 40+60*r.Float64(), 18)
	board := sdf.Box(geom.Box{Max: size})
	switch r.Intn(3) {
	case 0:
		return sdf.Cut(board, sdf.Cylinder(geom.V(size.X/2, size.Y/2, -100), geom.AxisZ, 300, 12))
	case 1:
		return sdf.Boxes(geom.Box{Max: size}, geom.Box{Min: geom.V(0, 0, 18), Max: geom.V(20, size.Y, 60)})
	}
	return board
}

// Where the search over a sweep answers for a motion, the search through time meets nothing either, and no less
// clearance.
func TestSweepAgainstTime(t *testing.T) {
	n := 300
	if testing.Short() {
		n = 80
	}
	settled := 0
	for seed := range n {
		r := rand.New(rand.NewSource(int64(seed)))
		a, b := wooden(r), shape(r)
		if r.Intn(2) == 0 {
			a, b = b, a
		}
		by := axis(r).Mul(20 + 150*r.Float64())
		if r.Intn(3) == 0 {
			by = by.Add(axis(r).Mul(80))
		}
		away := geom.V(60*r.NormFloat64(), 60*r.NormFloat64(), 40*r.NormFloat64())
		x := straight(a, b, geom.At(away.Sub(by.Mul(0.5))), by)
		fast, _ := x.atOnce()
		slow := x.query()
		slow.run()
		require.False(t, slow.gaveUp)
		if fast == nil {
			continue
		}
		settled++
		assert.False(t, slow.hit, "seed %d: the sweep is clear", seed)
		// Both come down to the true clearance from above; by moments it is found less well at corners.
		assert.LessOrEqual(t, min(ClearanceCapMM, 2*fast.least), min(ClearanceCapMM, 2*slow.least)+0.3, "seed %d", seed)
	}
	assert.Greater(t, settled, n/4)
}

func axis(r *rand.Rand) geom.Vec {
	d := [3]geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ}[r.Intn(3)]
	if r.Intn(2) == 0 {
		return d.Neg()
	}
	return d
}

// A board that lies on a pipe is drawn along it by one search of what it sweeps; by moments it took 2.4 million samples.
func TestBoardAlongPipe(t *testing.T) {
	pipe := sdf.Tube(geom.V(0, 0, -13.35), geom.AxisX, 1500, 13.35, 10.5)
	board := sdf.Box(geom.Box{Min: geom.V(0, -150, 0), Max: geom.V(1500, 150, 18)})
	x := straight(board, pipe, geom.At(geom.V(1600, 0, 0)), geom.V(-1600, 0, 0))
	q, _ := x.atOnce()
	require.NotNil(t, q)
	assert.Less(t, q.samples, 400_000)
	assert.InDelta(t, 0, q.least, 1e-6)
	// Pressed a fifth of a millimetre into it, it is not.
	x.path.start.Origin.Z = -0.2
	q, _ = x.atOnce()
	assert.Nil(t, q)
	assert.NotNil(t, x.run().failure)
}

// A wire of 0.6 mm across the way of something that flies past freely, met only for a few millimetres of a long way, is
// found wherever it is: clear distance is proved, not sampled.
func TestThinObstacle(t *testing.T) {
	body := sdf.Tube(geom.V(-60, 0, 0), geom.AxisX, 120, 13, 10)
	for seed := range 60 {
		r := rand.New(rand.NewSource(int64(seed)))
		wire := func(at geom.Vec) sdf.Solid {
			return sdf.Cylinder(at.Sub(geom.AxisY.Mul(200)), geom.AxisY, 400, 0.3)
		}
		// Sliding sideways: the wire's end plane and the tube's cross for some 20 mm of 900.
		at := geom.V(-55+110*r.Float64(), 0, 100+700*r.Float64())
		slide := query{a: surfaceOf(body), b: surfaceOf(wire(at)), boxA: body.Bounds(), boxB: wire(at).Bounds(),
			path: path{start: geom.Identity(), dir: geom.AxisZ, shift: geom.V(0, 0, 900)}}
		slide.run()
		assert.True(t, slide.hit, "seed %d: slid through a wire at %v", seed, at)

		// Turning about y, once: a wire along the axis of the turn, 2 mm within the reach of the tube's end.
		angle := 2 * math.Pi * r.Float64()
		at = geom.V(58*math.Cos(angle), 0, 58*math.Sin(angle))
		turn := query{a: surfaceOf(body), b: surfaceOf(wire(at)), boxA: body.Bounds(), boxB: wire(at).Bounds(),
			path: path{start: geom.Identity(), dir: geom.AxisY, angle: 2 * math.Pi}}
		turn.run()
		assert.True(t, turn.hit, "seed %d: turned through a wire at %v", seed, at)
	}
}

// Whatever turns over a wide flat face sees no turn; near an edge of it, beside a wall, or over a leaning one it does.
func TestFaces(t *testing.T) {
	r := ring{at: geom.V(100, 50, 0), dir: geom.AxisZ, radius: 45, lo: 0, hi: 30, known: true}
	floor := geom.Box{Min: geom.V(-500, -500, -50), Max: geom.V(500, 500, 0)}
	wall := func(x float64) geom.Box { return geom.Box{Min: geom.V(x, -500, -50), Max: geom.V(x+50, 500, 900)} }
	assert.True(t, faces(sdf.Box(floor), r))
	assert.True(t, faces(sdf.Boxes(floor, wall(149)), r), "a wall out of reach")
	assert.False(t, faces(sdf.Boxes(floor, wall(147)), r), "a wall within 3 mm")
	assert.False(t, faces(sdf.Box(geom.Box{Min: floor.Min, Max: geom.V(140, 500, 0)}), r), "the edge of the floor")
	assert.False(t, faces(sdf.Cut(sdf.Box(floor), sdf.Cylinder(geom.V(100, 90, -60), geom.AxisZ, 90, 9)), r), "a hole in it")
	r.dir = geom.V(0, 0.01, 1).Unit()
	assert.False(t, faces(sdf.Box(floor), r), "a slanted axis")
}
