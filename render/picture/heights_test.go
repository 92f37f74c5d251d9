package picture

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// TestHeights: what is measured from the floor is where a flange meets a wall, not where one meets the floor, and only in
// a room with a floor at height 0.
func TestHeights(t *testing.T) {
	flange := func(id string, at, out geom.Vec) assembly.Part {
		return assembly.Part{ID: id, Number: 1, Kind: standard.Flange, Ports: []assembly.Port{{Name: "face", At: at, Out: out}}}
	}
	room := assembly.Part{ID: "room", Kind: standard.Room, Boxes: []geom.Box{geom.BoxOf(geom.V(0, -1000, -100), geom.V(2000, 0, 0))}}
	plan := &assembly.Plan{Parts: []assembly.Part{
		flange("wall", geom.V(500, 0, 1200), geom.AxisY), flange("foot", geom.V(500, -300, 0), geom.AxisZ.Neg()), room}}
	for _, id := range []string{"wall", "foot"} {
		plan.Joints = append(plan.Joints, assembly.Joint{ID: "j" + id, Kind: assembly.Face, A: assembly.End{Part: id, Port: "face"}, B: assembly.End{Part: "room"}})
	}
	s := &stage{plan: plan, parts: plan.Parts[:2], id: map[string]int{"wall": 1, "foot": 2}}
	j := &stepJob{whole: s, inPlace: true, steps: []assembly.Step{{Action: assembly.Fasten, Joints: []string{"jwall", "jfoot"}}}}
	sh := &sheet{stage: s, step: &stepMarks{job: j}}
	assert.Equal(t, []wallPoint{{geom.V(500, 0, 1200), geom.AxisY}}, sh.wallPoints())
	assert.True(t, s.hasFloor())
	plan.Parts[2].Boxes[0].Max.Z = 30
	assert.False(t, s.hasFloor())
}

// TestCorner: along a wall one measures from its corner at the left, or else from that at the right; without either from
// the first place to the others.
func TestCorner(t *testing.T) {
	left := geom.BoxOf(geom.V(-100, -2000, 0), geom.V(0, 100, 2400))
	right := geom.BoxOf(geom.V(3000, -2000, 0), geom.V(3100, 100, 2400))
	back := geom.BoxOf(geom.V(0, 0, 0), geom.V(3000, 100, 2400))
	at := []geom.Vec{geom.V(900, 0, 1200), geom.V(500, 0, 1200)}
	for _, tt := range []struct {
		boxes []geom.Box
		want  float64
	}{{[]geom.Box{back, left, right}, 0}, {[]geom.Box{back, right}, 3000}, {[]geom.Box{back}, 500}} {
		s := &stage{plan: &assembly.Plan{Parts: []assembly.Part{{ID: "room", Kind: standard.Room, Boxes: tt.boxes}}},
			built: geom.BoxOf(geom.V(400, -300, 0), geom.V(1000, 0, 2000))}
		got, ok := (&sheet{stage: s}).corner(at, geom.AxisX)
		assert.True(t, ok)
		assert.InDelta(t, tt.want, got.X, 1e-6)
	}
	_, ok := (&sheet{stage: &stage{plan: &assembly.Plan{}}}).corner(at[:1], geom.AxisX)
	assert.False(t, ok, "one place in the open is measured from nothing")
}
