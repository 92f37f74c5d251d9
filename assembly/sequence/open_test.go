package sequence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/assembly"
	"turnwise/geom"
)

// crutch is a flange, a post and an elbow with an arm, in a room.
func crutch(room ...geom.Box) *kit {
	k := newKit()
	k.room(append(room, floor())...)
	k.flange("foot", geom.V(0, 0, 0), ez)
	k.fitting("knee", "elbow", geom.V(0, 0, 500), mz, mx)
	k.fitting("end", "cap", geom.V(-300, 0, 500), ex)
	k.pipe("post", "foot", "knee", ez)
	k.pipe("arm", "knee", "end", mx)
	k.join(assembly.Face, "foot", "face", "room", "")
	return k
}

// holed is a slab with a square hole, or with a slot that is open to the front.
func holed(half float64, slot bool) []geom.Box {
	const low, high, wide = 200.0, 240.0, 1000.0
	out := []geom.Box{
		{Min: geom.V(-wide, -wide, low), Max: geom.V(-half, wide, high)},
		{Min: geom.V(half, -wide, low), Max: geom.V(wide, wide, high)},
		{Min: geom.V(-half, half, low), Max: geom.V(half, wide, high)},
	}
	if !slot {
		out = append(out, geom.Box{Min: geom.V(-half, -wide, low), Max: geom.V(half, -half, high)})
	}
	return out
}

// TestNothingBeginsThreadedThroughTheRoom: a frame that reaches through a hole is put together there, part by part; through
// a slot it comes as a whole, from beyond it. What is turned must have room: a wall beside the knee, 30 mm away, is nearer
// than the round of it, 33.3 mm to its face and half of 36 mm across: 37.9 mm, and the margin.
func TestNothingBeginsThreadedThroughTheRoom(t *testing.T) {
	for _, s := range planned(t, crutch(holed(20, false)...)) {
		assert.Less(t, len(s.Moves), 2, "step %d", s.Number)
	}
	steps := planned(t, crutch(holed(20, true)...))
	last := steps[len(steps)-1]
	assert.Len(t, last.Moves, 5)
	assert.Less(t, last.Start.Origin.Y, -900.0, "from before the slot")

	wall := geom.Box{Min: geom.V(30, -200, 240), Max: geom.V(60, 200, 900)}
	r := Plan(crutch(append(holed(20, false), wall)...).input())
	assert.Empty(t, r.Steps)
	if assert.Len(t, r.Findings, 1) {
		assert.Equal(t, "SWING", r.Findings[0].Code, r.Findings[0].Text)
		assert.Positive(t, r.Findings[0].Values["missing_mm"])
	}
	// Without the slab it comes as a whole, past the wall.
	steps = planned(t, crutch(wall))
	assert.Len(t, steps[len(steps)-1].Moves, 5)
}

// TestCageRoundAColumn: a ring with one union round a column from floor to ceiling cannot be carried there whole.
func TestCageRoundAColumn(t *testing.T) {
	column := geom.Box{Min: geom.V(250, 150, 0), Max: geom.V(350, 250, 3000)}
	k := newKit()
	k.room(floor(), column, geom.Box{Min: geom.V(-3000, -3000, 3000), Max: geom.V(3000, 3000, 3100)})
	k.fitting("a", "elbow", geom.V(0, 0, 300), ex, ey)
	k.fitting("b", "elbow", geom.V(600, 0, 300), mx, ey)
	k.fitting("c", "elbow", geom.V(600, 400, 300), mx, my)
	k.fitting("d", "elbow", geom.V(0, 400, 300), ex, my)
	k.pipe("ab", "a", "b", ex)
	k.pipe("bc", "b", "c", ey)
	k.pipe("da", "d", "a", my)
	k.pipe("cd", "d", "c", ex)
	f := newFrame(k.input())
	var all []int
	for i := range f.parts {
		if i != f.room {
			all = append(all, i)
		}
	}
	s := f.newScene(all, true, f.ranks())
	box, held := s.caught(f.here(all))
	assert.True(t, held)
	assert.Equal(t, column, box)
	legs, _ := s.wayOut(all, nil)
	assert.Nil(t, legs)
	_, held = s.caught(f.here(all).moved(geom.V(0, -450, 0)))
	assert.False(t, held)
}

// TestElbowThatSwingsPastAWall: an elbow of which the end comes round 48 mm from its axis, over a slab that its post goes
// through, beside a wall 40 mm away: 8 mm are missing. When the wall is a board that is put up afterwards, the elbow is
// turned on before; and where the wall stands 49.5 mm away it is turned on beside it.
func TestElbowThatSwingsPastAWall(t *testing.T) {
	const radius, off = 48.0, 40.0
	build := func(room ...geom.Box) *kit {
		k := newKit()
		k.room(append(append(room, floor()), holed(20, false)...)...)
		k.flange("foot", geom.V(0, 0, 0), ez)
		k.fitting("knee", "elbow", geom.V(0, 0, 500), mz, mx)
		reach := math.Sqrt(radius*radius - kitBand*kitBand/4)
		k.outlines["knee"].Tubes[1].Length = reach
		k.pipe("post", "foot", "knee", ez)
		k.join(assembly.Face, "foot", "face", "room", "")
		return k
	}
	wall := func(off float64) geom.Box {
		return geom.Box{Min: geom.V(off, -300, 240), Max: geom.V(off+18, 300, 900)}
	}
	in := build(wall(off)).input()
	in.Assembly.Room.Surfaces = []assembly.Surface{{Name: "right", Boxes: []geom.Box{wall(off)}}}
	r := Plan(in)
	assert.Empty(t, r.Steps)
	if assert.Len(t, r.Findings, 1) {
		assert.Equal(t, "SWING", r.Findings[0].Code)
		assert.InDelta(t, 8, r.Findings[0].Values["missing_mm"], rimExcess*kitBand/2)
		assert.Contains(t, r.Findings[0].Text, "knee cannot be turned past the right wall, which stands 8.")
	}

	k := build()
	k.board("side", wall(off).Min, wall(off).Max)
	k.join(assembly.Rest, "side", "", "room", "")
	steps := planned(t, k)
	assert.Equal(t, []string{"side"}, steps[len(steps)-1].Moves)
	planned(t, build(wall(radius+margin+0.5)))
}
