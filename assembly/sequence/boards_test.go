package sequence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// niche is an alcove 1000 wide whose mouth is narrower by a pilaster on either side, with a shelf on two cleats in it.
func niche(opening, shelf float64) *kit {
	k := newKit()
	const deep, pilaster = 300.0, 50.0
	box := func(x0, y0, z0, x1, y1, z1 float64) geom.Box {
		return geom.Box{Min: geom.V(x0, y0, z0), Max: geom.V(x1, y1, z1)}
	}
	k.room(floor(), box(-1000, -1000, 1600, 1000, 50, 1650), box(-1000, 0, 0, 1000, 50, 1600),
		box(-1000, -deep-pilaster, 0, -500, 0, 1600), box(500, -deep-pilaster, 0, 1000, 0, 1600))
	for i, x := range []float64{-500, opening / 2} {
		id := []string{"pilaster-l", "pilaster-r"}[i]
		k.board(id, geom.V(x, -deep-pilaster, 0), geom.V(x+(1000-opening)/2, -deep, 1600))
		k.part(id).Kind = "cleat"
		k.join(assembly.Face, id, "", "room", "")
	}
	for i, x := range []float64{-500, 488} {
		id := []string{"cleat-l", "cleat-r"}[i]
		k.board(id, geom.V(x, -280, 960), geom.V(x+12, -10, 1000))
		k.part(id).Kind = "cleat"
		k.join(assembly.Face, id, "", "room", "")
	}
	k.board("shelf", geom.V(-shelf/2, -280, 1000), geom.V(shelf/2, -10, 1020))
	k.join(assembly.Rest, "shelf", "", "cleat-l", "")
	k.join(assembly.Rest, "shelf", "", "cleat-r", "")
	return k
}

// TestShelfTiltedIn: a shelf longer than the mouth of its alcove goes in slantwise. Tilted by f it is L cos f + t sin f
// wide (closed form), which has to pass the mouth.
func TestShelfTiltedIn(t *testing.T) {
	const opening, long, thick = 960.0, 990.0, 20.0
	steps := planned(t, niche(opening, long))
	s := steps[placedBy(t, steps, "shelf")-1]
	tilted := 0.0
	for _, m := range s.Motion {
		if m.Kind == assembly.Turn {
			tilted += m.ByDeg
			assert.Zero(t, m.AdvanceMM)
		}
	}
	f := math.Abs(tilted) * math.Pi / 180
	require.NotZero(t, f)
	assert.Less(t, long*math.Cos(f)+thick*math.Sin(f), opening-2*margin)
	assert.Greater(t, long, opening)

	// A shelf that passes the mouth comes in straight.
	steps = planned(t, niche(opening, opening-2*margin-1))
	for _, m := range steps[placedBy(t, steps, "shelf")-1].Motion {
		assert.Equal(t, assembly.Translate, m.Kind)
	}
}

// TestLooseBoardIsTold: a shelf that can only come with the frame is tied down, and the plan says so.
func TestLooseBoardIsTold(t *testing.T) {
	f := newFrame(table().input())
	r := &removal{bodies: []int{f.index["top"], f.index["foot0 0"]}, screw: -1, inPlace: true}
	told := f.looseBoards([]*removal{r})
	require.Len(t, told, 1)
	assert.Equal(t, "LOOSE-BOARD", told[0].Code)
	assert.Equal(t, []string{"top"}, told[0].Parts)

	// Screwed to a flange of the group it is held.
	r.bodies = append(r.bodies, f.index["head0 0"])
	assert.Empty(t, f.looseBoards([]*removal{r}))
}
