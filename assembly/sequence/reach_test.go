package sequence

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// post is a flange on the floor with a pipe in it, upright at x = y = 0, and what stands round about.
func post(walls ...geom.Box) *scene {
	k := newKit()
	k.room(append([]geom.Box{floor()}, walls...)...)
	k.flange("f", geom.V(0, 0, 0), ez)
	k.rod("p", geom.V(0, 0, kitHeight-kitE), geom.V(0, 0, 600))
	k.thread("f", "a", "p", "a")
	k.join(assembly.Face, "f", "face", "room", "")
	f := newFrame(k.input())
	return f.newScene([]int{f.index["f"], f.index["p"]}, true, f.ranks())
}

func wall(x0, y0, x1, y1 float64) geom.Box {
	return geom.Box{Min: geom.V(x0, y0, 0), Max: geom.V(x1, y1, 2000)}
}

// unscrew tries to take the pipe of a post off in one of both passes.
func unscrew(s *scene, wrenches bool) *removal {
	s.wrenches = wrenches
	p := s.f.index["p"]
	return s.tryScrew(0, p, []int{p})
}

// TestRoomForHands: in a square shaft with walls d from the pipe's axis, fingers lack radius + 25 - d. Closed form.
func TestRoomForHands(t *testing.T) {
	const d = 30.0
	s := post(wall(-200, -200, -d, 200), wall(d, -200, 200, 200), wall(-d, -200, d, -d), wall(-d, d, d, 200))
	require.Nil(t, unscrew(s, true))
	require.Nil(t, unscrew(s, false))
	f := s.stuck()
	assert.Equal(t, "HAND-REACH", f.Code)
	assert.InDelta(t, kitOD/2+handRoomMM-d, f.Values["missing_mm"], 0.1)
	assert.Contains(t, f.Text, "p cannot be gripped")

	// Half a millimetre more than needed is enough for a hand, and far too little for a wrench.
	const e = kitOD/2 + handRoomMM + 0.5
	s = post(wall(-200, -200, -e, 200), wall(e, -200, 200, 200), wall(-e, -200, e, -e), wall(-e, e, e, 200))
	require.Nil(t, unscrew(s, true), "another order is tried first")
	r := unscrew(s, false)
	require.NotNil(t, r)
	require.NotNil(t, r.tight)
}

// TestRoomForAWrench: between two walls d from the axis a handle of length L and width b swings 60 degrees when
// L sin 30 + b/2 cos 30 <= d. Closed form.
func TestRoomForAWrench(t *testing.T) {
	const d = 100.0
	long := (d - wrenchWideMM/2*math.Cos(math.Pi/6)) / math.Sin(math.Pi/6)
	s := post(wall(-1000, -1000, -d, 1000), wall(d, -1000, 1000, 1000))
	require.Nil(t, unscrew(s, true))
	r := unscrew(s, false)
	require.NotNil(t, r)
	require.NotNil(t, r.tight)
	assert.InDelta(t, wrenchMM-long, r.tight.short, 0.5)
	warn := s.f.crampedFinding(r.tight)
	assert.Equal(t, assembly.Warn, warn.Severity)
	assert.Equal(t, []string{"p", "room"}, warn.Parts)

	// One wall, however near, leaves half the way round.
	s = post(wall(kitAcross/2+2, -1000, 1000, 1000))
	r = unscrew(s, true)
	require.NotNil(t, r)
	assert.Nil(t, r.tight)
}

// TestWrenchDecidesOrder: the middle one of a bundle of pipes goes in before those that would leave no room for a wrench
// on it, though it is listed last.
func TestWrenchDecidesOrder(t *testing.T) {
	k := newKit()
	block := assembly.Part{ID: "block", Kind: kindOf("cross"), Size: assembly.Sizes{"3/4"}, Pose: geom.Identity(), MassKG: 3}
	var at []geom.Vec
	for i := range 6 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 3)
		at = append(at, geom.V(46*cos, 46*sin, 0))
	}
	at = append(at, geom.Vec{})
	var o assembly.Outline
	for i, p := range at {
		block.Ports = append(block.Ports, assembly.Port{Name: fmt.Sprint(i), At: p, Out: ez})
		o.Tubes = append(o.Tubes, assembly.Tube{At: p.Sub(ez.Mul(kitReach)), Dir: ez, Length: kitReach, Radius: 17, Bore: kitOD/2 - 1})
	}
	k.add(block, o)
	for i, p := range at {
		id := fmt.Sprint("p", i)
		k.rod(id, p.Sub(ez.Mul(kitE)), p.Add(ez.Mul(500)))
		k.thread("block", fmt.Sprint(i), id, "a")
	}
	r := Plan(k.input())
	require.Empty(t, r.Findings)
	follow(t, k, r.Steps)
	later := 0
	for i := range 6 {
		if placedBy(t, r.Steps, fmt.Sprint("p", i)) > placedBy(t, r.Steps, "p6") {
			later++
		}
	}
	assert.GreaterOrEqual(t, later, 2, "60 degrees between six neighbours need two of them away")
}
