package picture

import (
	"image"
	"image/color"
	"image/draw"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render/rendertest"
)

// hung is a made-up frame: two flanges under a ceiling at 2,400 mm, 900 mm apart, with a stand-in for all meshes.
func hung(t *testing.T, foot bool) (*stage, *stepJob) {
	t.Helper()
	flange := func(id string, x float64, out geom.Vec) assembly.Part {
		pose := geom.Pose{Origin: geom.V(x, -300, 2400), X: geom.AxisX, Y: geom.AxisY.Neg(), Z: out.Neg()}
		return assembly.Part{ID: id, Number: 1, Kind: standard.Flange, Pose: pose,
			Ports: []assembly.Port{{Name: "face", At: pose.Origin, Out: out}},
			Dims:  standard.Dims{standard.DimHoles: {MM: 4}, standard.DimCircle: {MM: 60}, standard.DimPlate: {MM: 6}}}
	}
	out := geom.AxisZ
	if foot {
		out = out.Neg()
	}
	room := assembly.Part{ID: "room", Kind: standard.Room, Boxes: []geom.Box{geom.BoxOf(geom.V(0, -2000, 2400), geom.V(3000, 0, 2500))}}
	plan := &assembly.Plan{Parts: []assembly.Part{flange("one", 500, out), flange("two", 1400, out), room}}
	st := assembly.Step{Number: 1, Action: assembly.Fasten, Where: "place", Moves: []string{"one", "two"}, Onto: []string{"room"},
		Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.AxisZ.Mul(50)}}}
	for _, id := range st.Moves {
		plan.Joints = append(plan.Joints, assembly.Joint{ID: "j" + id, Kind: assembly.Face, A: assembly.End{Part: id, Port: "face"}, B: assembly.End{Part: "room"}})
		st.Joints = append(st.Joints, "j"+id)
	}
	plan.Steps = []assembly.Step{st}
	f := rendertest.RingFrame()
	m := f.Mesh(f.Plan("").Parts[0])
	require.NotNil(t, m)
	s := newStage(plan, func(assembly.Part) *mesh.Mesh { return m })
	jobs := s.stepJobs()
	require.Len(t, jobs, 1)
	return s, jobs[0]
}

// TestScrews: a flange that is fastened has a screw at every hole, on the side away from its face, driven towards it; one
// that is only put somewhere has none.
func TestScrews(t *testing.T) {
	s, j := hung(t, false)
	at := s.screws(j.joints[0], "one")
	require.Len(t, at, 4)
	for _, p := range at {
		assert.True(t, p.dir.Near(geom.AxisZ, 1e-9), "up into the ceiling")
		assert.InDelta(t, 2400-6, p.at.Z, 1e-9, "at the underside of the plate")
		assert.InDelta(t, 30, math.Hypot(p.at.X-500, p.at.Y+300), 1e-9, "on the circle of the holes")
	}
	j.joints[0].step.Action = assembly.Place
	assert.Empty(t, s.screws(j.joints[0], "one"))
}

// TestProps: what hangs from a ceiling is propped up at both ends until it is fastened; what stands is not.
func TestProps(t *testing.T) {
	s, j := hung(t, false)
	sh := &sheet{stage: s, step: &stepMarks{job: j}}
	assert.True(t, sh.hangs(&j.steps[0]))
	assert.Equal(t, []string{"one", "two"}, sh.ends(j.steps[0].Moves))
	assert.Len(t, s.ceiling(j), 4, "the ceiling is drawn")
	s, j = hung(t, true)
	sh = &sheet{stage: s, step: &stepMarks{job: j}}
	assert.False(t, sh.hangs(&j.steps[0]))
	assert.Empty(t, s.ceiling(j))
}

// TestInsetIsNoExcuse: what is hidden in a picture counts as seen only as far as an inset shows it.
func TestInsetIsNoExcuse(t *testing.T) {
	_, j := hung(t, false)
	v := sight{fraction: map[string]float64{"one": 0.1, "two": 0.9}}
	least, _ := j.sightOf(v, nil)
	assert.InDelta(t, 0.1, least, 1e-9)
	in := &inset{part: "one", o: j.joints[0], sight: insetSight{part: 0.3, mouth: 0.2}}
	least, mouth := j.sightOf(v, []*inset{in})
	assert.InDelta(t, 0.3, least, 1e-9, "an inset that hides it too is no better than it is")
	assert.InDelta(t, 1, mouth, 1e-9, "there is no mouth here")
}

// TestTightnessMarks: loose, snug and final are told apart without colour and without words, the more ink the tighter.
func TestTightnessMarks(t *testing.T) {
	dark := func(state string) (n int) {
		img := image.NewNRGBA(image.Rect(0, 0, 50, 50))
		draw.Draw(img, img.Rect, image.White, image.Point{}, draw.Src)
		overlay{img: img, perMM: PixelsPerMM}.tightness(state, pt(2.5, 2.5))
		for i := range 50 * 50 {
			if color.GrayModel.Convert(img.At(i%50, i/50)).(color.Gray).Y < 128 {
				n++
			}
		}
		return n
	}
	assert.Greater(t, float64(dark("snug")), 1.3*float64(dark("loose")))
	assert.Greater(t, float64(dark("final")), 1.3*float64(dark("snug")))
}

func TestOrders(t *testing.T) {
	got := orders(3)
	assert.Len(t, got, 6)
	assert.Equal(t, []int{0, 1, 2}, got[0], "as they are goes first")
	seen := map[[3]int]bool{}
	for _, o := range got {
		seen[[3]int{o[0], o[1], o[2]}] = true
	}
	assert.Len(t, seen, 6)
}
