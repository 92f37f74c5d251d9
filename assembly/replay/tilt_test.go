package replay_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/assembly"
	"turnwise/assembly/replay"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// raised is how high the edge is held.
const raised = 30.0

// standUp is a slab H high and D deep that lies on its front face, is stood up over its front edge, a little above the
// floor, and brought back to its place.
func standUp(ceiling float64) *kit {
	const wide, deep, high = 400.0, 300.0, 2100.0
	k := newKit()
	k.room(floor(), geom.Box{Min: geom.V(-3000, -3000, ceiling), Max: geom.V(3000, 3000, ceiling+100)})
	k.add("slab", standard.Board, geom.Identity(), sdf.Box(geom.Box{Max: geom.V(wide, deep, high)}), 0)
	k.contact("rest", assembly.Rest, "slab", "", "room", "")
	edge, beside := geom.V(0, -500, raised), geom.At(geom.V(0, -500, raised))
	k.append(assembly.Step{
		Action: assembly.StandUp, Moves: []string{"slab"}, Where: "place", People: 2,
		Start:  beside.Turned(edge, geom.AxisX, math.Pi/2, 0),
		Motion: []assembly.Move{{Kind: assembly.Turn, Axis: assembly.Axis{At: edge, Dir: geom.AxisX}, ByDeg: -90}},
	})
	k.put(assembly.Place, []string{"slab"}, []string{"room"}, []string{"rest"}, geom.V(0, 500, -raised))
	return k
}

// A slab of 2100 x 300 needs sqrt(2100^2 + 300^2) = 2121.32 mm of height to be stood up (closed form), which it takes when
// its back edge stands over the front one.
func TestStandUp(t *testing.T) {
	diagonal := math.Hypot(2100, 300)
	assert.InDelta(t, 2121.32, diagonal, 0.005)
	requireOK(t, standUp(raised+diagonal+0.2).check())
	f := requireFailure(t, standUp(raised+diagonal-1).check(), replay.CodeCrash, 1, "slab runs into room after")
	assert.InDelta(t, raised+diagonal-1, f.At.Z, 1.1)
	within := math.Sqrt(diagonal*diagonal - (diagonal-1)*(diagonal-1)) // where the corner is above the ceiling
	assert.InDelta(t, -500, f.At.Y, within+1, "right over the edge: atan(300/2100) from upright")
}

// A frame carried on has to start where it was stood up.
func TestStandUpThenElsewhere(t *testing.T) {
	k := standUp(3000)
	k.plan.Steps[1].Start = geom.At(geom.V(0, -600, raised))
	k.plan.Steps[1].Motion[0].By = geom.V(0, 600, -raised)
	requireFailure(t, k.check(), replay.CodePose, 2, "from where the motion starts")
}

// A board wider than an opening goes through slantwise, and not straight.
func TestTiltedThroughAnOpening(t *testing.T) {
	const opening, long, thick = 900.0, 960.0, 20.0
	build := func(deg float64) *kit {
		k := newKit()
		wall := func(x0, x1 float64) geom.Box {
			return geom.Box{Min: geom.V(x0, -550, 0), Max: geom.V(x1, -500, 3000)}
		}
		k.room(floor(), wall(-2000, -opening/2), wall(opening/2, 2000),
			geom.Box{Min: geom.V(-480, -300, 800), Max: geom.V(480, -100, 1000)})
		k.add("shelf", standard.Board, geom.At(geom.V(-long/2, -400, 1000)), sdf.Box(geom.Box{Max: geom.V(long, 300, thick)}), 0)
		k.contact("rest", assembly.Rest, "shelf", "", "room", "")
		mid := geom.V(0, -250, 1610)
		out, up := geom.V(0, -600, 0), geom.V(0, 0, 600)
		start := k.part("shelf").Pose.Moved(up).Turned(mid, geom.AxisY, deg*math.Pi/180, 0).Moved(out)
		k.append(assembly.Step{
			Action: assembly.Place, Moves: []string{"shelf"}, Onto: []string{"room"}, Joints: []string{"rest"}, Where: "place", People: 1,
			Start: start,
			Motion: []assembly.Move{
				{Kind: assembly.Translate, By: out.Neg()},
				{Kind: assembly.Turn, Axis: assembly.Axis{At: mid, Dir: geom.AxisY}, ByDeg: -deg},
				{Kind: assembly.Translate, By: up.Neg()},
			},
		})
		return k
	}
	// Tilted by f it is L cos f + t sin f wide: 841 at 30 degrees, 932 at 15.
	requireOK(t, build(30).check())
	requireFailure(t, build(15).check(), replay.CodeCrash, 1, "shelf runs into room")
}
