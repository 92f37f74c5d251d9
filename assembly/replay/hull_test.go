package replay_test

import (
	"testing"

	"turnwise/assembly"
	"turnwise/assembly/replay"
	"turnwise/geom"
)

// crutch is a flange, a post and an elbow, made up at the bench and brought into place along a way, among pieces of a
// room.
func crutch(way geom.Vec, room ...geom.Box) *kit {
	const long = 300.0
	k := newKit()
	k.room(append(room, floor())...)
	k.flange("foot", geom.Identity())
	k.pipe("post", geom.V(0, 0, height-engaged), geom.AxisZ, long)
	top := geom.V(0, 0, height-engaged+long-engaged+reach)
	k.elbow("knee", geom.Pose{Origin: top, X: geom.AxisZ.Neg(), Y: geom.AxisX, Z: geom.AxisY.Neg()})
	k.thread("low", "foot", "a", "post", "a")
	k.thread("high", "post", "b", "knee", "a")
	k.contact("stand", assembly.Face, "foot", "face", "room", "")
	k.append(assembly.Step{Action: assembly.Place, Moves: []string{"foot"}, Where: "bench", People: 1, Start: k.part("foot").Pose})
	k.screw("low", 30, "foot", "post").Where = "bench"
	k.screw("high", 30, "post", "knee").Where = "bench"
	k.put(assembly.Fasten, []string{"foot", "post", "knee"}, []string{"room"}, []string{"stand"}, way)
	return k
}

// around is a slab with a square hole, or with a slot that is open to the front.
func around(hole float64, slot bool) []geom.Box {
	const low, high, wide = 150.0, 190.0, 1000.0
	out := []geom.Box{
		{Min: geom.V(-wide, -wide, low), Max: geom.V(-hole, wide, high)},
		{Min: geom.V(hole, -wide, low), Max: geom.V(wide, wide, high)},
		{Min: geom.V(-hole, hole, low), Max: geom.V(hole, wide, high)},
	}
	if !slot {
		out = append(out, geom.Box{Min: geom.V(-hole, -wide, low), Max: geom.V(hole, -hole, high)})
	}
	return out
}

// TestStartsInTheOpen: nothing is carried to a place where it hangs on the room, though it is clear of it there.
func TestStartsInTheOpen(t *testing.T) {
	down := geom.V(0, 0, -30)
	requireFailure(t, crutch(down, around(25, false)...).check(), replay.CodePose, 4, "about a piece of the room")
	requireFailure(t, crutch(down, around(25, true)...).check(), replay.CodePose, 4, "about a piece of the room")
	requireFailure(t, crutch(geom.V(0, 900, 0), around(25, true)...).check(), replay.CodePose, 4, "about a piece of the room")
	requireOK(t, crutch(geom.V(0, 1200, 0), around(25, true)...).check())
	requireOK(t, crutch(down).check())
	// In an alcove of which the sides are as near as the flange's rim, and the back too.
	alcove := []geom.Box{
		{Min: geom.V(-200, -900, 0), Max: geom.V(-45, 900, 900)}, {Min: geom.V(60, -900, 0), Max: geom.V(200, 900, 900)},
		{Min: geom.V(-200, 45, 0), Max: geom.V(200, 200, 900)},
	}
	requireOK(t, crutch(geom.V(0, 100, 0), alcove...).check())
	requireOK(t, crutch(down, alcove...).check())
}
