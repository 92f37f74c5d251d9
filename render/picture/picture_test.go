package picture

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/png"
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
	"turnwise/render/callout"
	"turnwise/render/rendertest"
)

// The frames of these tests are made up.
var frames = map[string]func() *rendertest.Frame{
	"ring": rendertest.RingFrame, "stand": rendertest.Stand, "bay": rendertest.Bay,
}

// drawn is a frame with both its pictures. Drawing takes most of the time of these tests, so each is drawn once.
type drawn struct {
	frame              *rendertest.Frame
	plan               *assembly.Plan
	finished, exploded *sheet
	err                error
}

var drawings = map[string]*drawn{}

func drawingOf(t *testing.T, name string) *drawn {
	t.Helper()
	if drawings[name] == nil {
		d := &drawn{frame: frames[name]()}
		d.plan = d.frame.Plan(name)
		if d.finished, d.err = finished(d.plan, d.frame.Mesh, "as built"); d.err == nil {
			d.exploded, d.err = exploded(d.plan, d.frame.Mesh)
		}
		drawings[name] = d
	}
	require.NoError(t, drawings[name].err)
	return drawings[name]
}

func each(t *testing.T, test func(t *testing.T, d *drawn)) {
	for _, name := range []string{"ring", "stand", "bay"} {
		if name != "ring" && testing.Short() {
			continue
		}
		t.Run(name, func(t *testing.T) { test(t, drawingOf(t, name)) })
	}
}

// TestExplodedKeepsItsPromises measures the sheet itself: every number has a balloon whose leader ends on a pixel of a
// part with that number, no leaders cross, no balloon lies on a part, another balloon or another's leader, and all of
// it lies on the sheet.
func TestExplodedKeepsItsPromises(t *testing.T) {
	each(t, func(t *testing.T, d *drawn) {
		sh := d.exploded
		numbers := rendertest.Numbers(d.plan)
		require.Len(t, sh.marked, len(numbers))
		for _, b := range sh.marked {
			number := numbers[b.Mark]
			for _, p := range []point{b.End.At, sh.outline(b)} {
				i, ok := sh.buffer(p)
				require.True(t, ok)
				id := sh.buffers.ID(i)
				require.NotZero(t, id, "the leader of %d ends on nothing", number)
				assert.Equal(t, number, sh.stage.parts[id-1].Number, "what the leader of %d ends on", number)
			}
			assert.True(t, b.Centre.X > sh.radius && b.Centre.X < SheetWidthMM-sh.radius && b.Centre.Y > sh.radius &&
				b.Centre.Y < SheetHeightMM-footMM, "balloon %d lies off the sheet at %v", number, b.Centre)
			assert.Zero(t, sh.partsUnder(b.Centre, sh.radius), "balloon %d lies on a part", number)
		}
		assert.Zero(t, callout.Crossings(sh.marked))
		assert.Zero(t, callout.Overlaps(sh.marked, sh.radius))
	})
}

// TestScores: nothing is hidden in either picture, and the scores say so in numbers that can be checked.
func TestScores(t *testing.T) {
	each(t, func(t *testing.T, d *drawn) {
		for name, sh := range map[string]*sheet{"finished": d.finished, "exploded": d.exploded} {
			p, err := sh.picture(name)
			require.NoError(t, err)
			s := p.Scores
			assert.Equal(t, name, s.Picture)
			assert.Empty(t, s.Hidden, "%s: hidden parts", name)
			assert.Zero(t, s.Crossings+s.Overlaps+s.OverParts, name)
			assert.Greater(t, s.MeanVisible, 0.6, name)
			assert.LessOrEqual(t, s.MeanVisible, 1.0, name)
			assert.Len(t, s.Numbers, len(rendertest.Numbers(d.plan)))
			for _, n := range s.Numbers {
				assert.Equal(t, name == "exploded", n.Balloon, "%s: number %d", name, n.Number)
				assert.Greater(t, n.InsideMM, leastInsideMM, "%s: number %d", name, n.Number)
				assert.Greater(t, n.Visible, 0.5, "%s: number %d", name, n.Number)
			}
			assert.Equal(t, image.Rect(0, 0, 2400, 1800), p.Image.Rect)
			_, err = json.Marshal(s)
			require.NoError(t, err)
		}
	})
}

func TestSameBytesOnAnyNumberOfCores(t *testing.T) {
	d := drawingOf(t, "ring") // on as many cores as there are
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	for name, draw := range map[string]func(*assembly.Plan, Meshes) (*Picture, error){"finished": Finished, "exploded": Exploded} {
		one, err := draw(d.plan, d.frame.Mesh)
		require.NoError(t, err)
		many, err := map[string]*sheet{"finished": d.finished, "exploded": d.exploded}[name].picture(name)
		require.NoError(t, err)
		assert.True(t, bytes.Equal(one.Image.Pix, many.Image.Pix), "%s: one core and many", name)
		assert.Equal(t, one.Scores, many.Scores)
		var b bytes.Buffer
		require.NoError(t, one.WritePNG(&b))
		img, err := png.Decode(&b)
		require.NoError(t, err)
		assert.Equal(t, image.Rect(0, 0, 2400, 1800), img.Bounds())
	}
}

// TestNoMirror: a frame that is not its own mirror image is seen as by a person who faces the back wall: what is at +x
// is on the right, what is up is up, and the near post hides the far one.
func TestNoMirror(t *testing.T) {
	f := rendertest.Bay()
	plan := f.Plan("bay")
	s := newStage(plan, f.Mesh)
	best, err := s.bestView()
	require.NoError(t, err)
	require.Negative(t, best.view.Camera.Back.Y, "seen from the room, not through the back wall")
	sh := newSheet(s, s.scene, best.view.Camera, drawingFrame)
	place := func(id string) point {
		p, _ := sh.sheetPoint(s.parts[s.id[id]-1].Pose.Origin)
		return p
	}
	assert.Less(t, place("p000").X, place("p200").X, "left post and right post")
	assert.Greater(t, place("p000").Y, place("p003").Y, "foot and head; y runs down the sheet")
	_, back := sh.sheetPoint(s.parts[s.id["p100"]-1].Pose.Origin)
	_, front := sh.sheetPoint(s.parts[s.id["p110"]-1].Pose.Origin)
	assert.Less(t, front, back, "the front post is nearer")
}

// TestViewHidesNothingThatCanBeSeen: a small part in an open box is seen only from one side, and that side is found.
func TestViewHidesNothingThatCanBeSeen(t *testing.T) {
	boards := map[string]geom.Box{
		"back": {Min: geom.V(0, 0, 0), Max: geom.V(10, 600, 600)}, "left": {Min: geom.V(0, 0, 0), Max: geom.V(600, 10, 600)},
		"right": {Min: geom.V(0, 590, 0), Max: geom.V(600, 600, 600)}, "lid": {Min: geom.V(0, 0, 600), Max: geom.V(600, 600, 610)},
		"low": {Min: geom.V(0, 0, -10), Max: geom.V(600, 600, 0)}, "small": {Min: geom.V(250, 290, 0), Max: geom.V(290, 310, 50)},
	}
	plan := &assembly.Plan{}
	meshes := map[string]*mesh.Mesh{}
	for i, id := range []string{"back", "left", "right", "lid", "low", "small"} {
		plan.Parts = append(plan.Parts, assembly.Part{ID: id, Number: i + 1, Kind: standard.Board, Pose: geom.Identity(), Boxes: []geom.Box{boards[id]}})
		meshes[id] = rendertest.Box(boards[id])
	}
	s := newStage(plan, func(p assembly.Part) *mesh.Mesh { return meshes[p.ID] })
	best, err := s.bestView()
	require.NoError(t, err)
	assert.Zero(t, best.hidden)
	assert.Positive(t, best.view.Camera.Back.X, "the open side is at +x")
	seen := 0
	for _, c := range candidates() {
		v, err := takeSurvey(s.coarse, c, surveyWidth)
		require.NoError(t, err)
		if v.visible[6] > hiddenPixels {
			seen++
			continue
		}
		require.NoError(t, v.measure(s.coarse))
		assert.Less(t, s.rate(v, v.view.PixelMM).score, best.score, "a view in which the small part is hidden")
	}
	assert.Positive(t, seen)
	assert.Less(t, seen, len(candidates()), "the test has views that hide it")
}

func TestCandidates(t *testing.T) {
	cs := candidates()
	assert.GreaterOrEqual(t, len(cs), 26)
	assert.LessOrEqual(t, len(cs), 64)
	for _, c := range cs {
		assert.Greater(t, c.Back.Z, math.Sin(9*math.Pi/180), "above the horizon")
		for _, a := range []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
			assert.Greater(t, c.Foreshortening(a), 0.25, "no axis is seen end-on")
		}
	}
}

// TestTonesInGrey: printed without colour, no two families come within a tenth of the range of one another in the
// middle of their shading, and all stand off the lines and the paper.
func TestTonesInGrey(t *testing.T) {
	grey := func(f family) float64 { return tones[f].Shade.Lerp(tones[f].Light, 0.5).Luma() }
	for f := range families {
		for g := range f {
			assert.GreaterOrEqual(t, math.Abs(grey(f)-grey(g)), 0.1, "families %d and %d", f, g)
		}
		assert.Greater(t, tones[f].Light.Luma(), tones[f].Shade.Luma()+0.15)
		assert.Greater(t, grey(f)-lineInk.Luma(), 0.15)
		assert.Greater(t, paper.Luma()-grey(f), 0.1)
	}
	assert.Greater(t, roomTone.Shade.Luma(), 0.88, "floor and walls are paler than any part")
}

// TestStopIsSaidOnTheSheet: a plan that cannot be built says so, in its own words, on both pictures.
func TestStopIsSaidOnTheSheet(t *testing.T) {
	f := rendertest.RingFrame()
	plan := f.Plan("ring")
	plan.Findings = []assembly.Finding{{Severity: assembly.Warn, Text: "sags"}}
	assert.Empty(t, notice(plan))
	assert.Zero(t, countInk(plan))
	plan.Findings = append(plan.Findings, assembly.Finding{Severity: assembly.Stop, Text: "the loop cannot be closed"}, assembly.Finding{Severity: assembly.Stop, Text: "another"})
	assert.Equal(t, "Not to be built as it stands: the loop cannot be closed (and 1 more)", strings.Join(notice(plan), " "))
	assert.Greater(t, countInk(plan), 3000, "pixels of the notice's colour")
	plan.Findings[1].Text = strings.Repeat("many words ", 200)
	assert.Len(t, notice(plan), noticeMostLines)
}

// countInk writes the notice on an empty sheet.
func countInk(plan *assembly.Plan) int {
	sh := &sheet{stage: &stage{plan: plan}, over: overlay{img: image.NewNRGBA(image.Rect(0, 0, 2400, 300)), perMM: PixelsPerMM}}
	sh.warn()
	n := 0
	for i := 0; i < len(sh.over.img.Pix); i += 4 {
		if p := sh.over.img.Pix[i : i+4]; p[0] == stopInk.R && p[1] == stopInk.G && p[2] == stopInk.B && p[3] == 255 {
			n++
		}
	}
	return n
}

func TestKey(t *testing.T) {
	f := rendertest.Stand()
	plan := f.Plan("stand")
	plan.Design.Units = "in"
	k := newKey(plan, largeKey)
	got := map[string]string{}
	for _, e := range k.entries {
		got[e.lines[0]] = e.lines[1]
	}
	assert.Contains(t, got, "3/4\" tee  ×2")
	assert.Contains(t, got, "3/4\" union", "two halves are one union")
	assert.Equal(t, "26 1/16 in", got["3/4\" pipe"], "662 mm")
	assert.Equal(t, "35 7/16 × 11 13/16 × 15/16 in", got["board"])
	assert.Equal(t, "900 × 300 × 24 mm", boardSize(units.MetricSystem, []geom.Box{{Max: geom.V(900, 24, 300)}}))
}

func TestTitle(t *testing.T) {
	assert.Equal(t, "1000 mm wide, 300 mm deep, 2000 mm high", overall(units.MetricSystem, geom.Box{Max: geom.V(1000, 300, 2000)}))
	assert.Equal(t, "inches", unitWord(units.InchSystem))
	assert.Equal(t, "millimetres", unitWord(units.MetricSystem))
	long := shorten(strings.Repeat("wide ", 80), 3.5, 60)
	assert.True(t, strings.HasSuffix(long, "…") && len(long) < 60, long)
	assert.Equal(t, "short", shorten("short", 3.5, 60))
}

// TestRoomShowsOnlyFacesThatLookAtTheFrame: floor and back wall are drawn, an obstacle in front shows its back to the
// frame only.
func TestRoomShowsOnlyFacesThatLookAtTheFrame(t *testing.T) {
	frame := geom.Box{Max: geom.V(100, 100, 100)}
	plan := &assembly.Plan{Parts: []assembly.Part{{Kind: standard.Room, Boxes: []geom.Box{
		{Min: geom.V(-9000, -9000, -50), Max: geom.V(9000, 9000, 0)},
		{Min: geom.V(-9000, 110, 0), Max: geom.V(9000, 160, 9000)},
		{Min: geom.V(5000, 0, 0), Max: geom.V(5100, 100, 100)},
	}}}}
	s := roomShape(plan, frame)
	require.NotNil(t, s)
	assert.Len(t, s.Mesh.Triangles, 4, "two faces")
	assert.True(t, frame.Grow(roomMarginMM+1).Contains(s.Box.Min) && frame.Grow(roomMarginMM+1).Contains(s.Box.Max), "cut to %v", s.Box)
	for i := range s.Mesh.Triangles {
		n := s.Normals[i][0]
		assert.True(t, n == [3]float32{0, 0, 1} || n == [3]float32{0, -1, 0}, "%v", n)
	}
	assert.Nil(t, roomShape(&assembly.Plan{}, frame))

	// A leaning wall, in three steps of a millimetre: its ledges are not drawn, and the floor ends where it is farthest.
	lean := []geom.Box{{Min: geom.V(-9000, -9000, -50), Max: geom.V(9000, 9000, 0)}}
	for i := range 3 {
		z := float64(i) * 400
		lean = append(lean, geom.Box{Min: geom.V(150-float64(i), -9000, z), Max: geom.V(250, 9000, z+400)})
	}
	s = roomShape(&assembly.Plan{Parts: []assembly.Part{{Kind: standard.Room, Boxes: lean}}}, frame)
	require.NotNil(t, s)
	assert.InDelta(t, 150, s.Box.Max.X, 1e-9)
	for i := range s.Mesh.Triangles {
		n := s.Normals[i][0]
		assert.True(t, n == [3]float32{0, 0, 1} || n == [3]float32{-1, 0, 0}, "%v", n)
	}
}

// TestLeaningFloorHasNoLedges: a floor that falls a millimetre from piece to piece is drawn as one, though of its upper
// pieces only a few millimetres stand above its lowest.
func TestLeaningFloorHasNoLedges(t *testing.T) {
	var floor []geom.Box
	for i := range 12 {
		x := float64(i)*100 - 600
		floor = append(floor, geom.Box{Min: geom.V(x, -9000, -50), Max: geom.V(x+100, 9000, float64(-i))})
	}
	frame := geom.Box{Min: geom.V(-500, -100, 0), Max: geom.V(500, 100, 900)}
	s := roomShape(&assembly.Plan{Parts: []assembly.Part{{Kind: standard.Room, Boxes: floor}}}, frame)
	require.NotNil(t, s)
	for i := range s.Mesh.Triangles {
		assert.Equal(t, [3]float32{0, 0, 1}, s.Normals[i][0])
	}
}

// TestMostly: a wall that would shrink the frame by more than a third is cut; the frame is always shown whole.
func TestMostly(t *testing.T) {
	f := render.Frame{Right: 200, Bottom: 100}
	frame := geom.Box{Min: geom.V(-100, -10, 0), Max: geom.V(100, 10, 5)}
	small := frame.Grow(20)
	seen, cut := mostly(f, frame, small)
	assert.False(t, cut)
	assert.Equal(t, small, seen)
	tall := geom.Box{Min: geom.V(-110, -500, 0), Max: geom.V(110, 500, 5)}
	seen, cut = mostly(f, frame, tall)
	assert.True(t, cut)
	assert.True(t, seen.Contains(frame.Min) && seen.Contains(frame.Max), "%v", seen)
	assert.GreaterOrEqual(t, fitScale(f, seen)*roomShare, fitScale(f, frame)-1e-9)
}

// TestGuidesStopBehindParts: of a line that runs behind a bar only the ends are seen.
func TestGuidesStopBehindParts(t *testing.T) {
	bar := assembly.Part{ID: "bar", Number: 1, Kind: standard.Board, Pose: geom.Identity()}
	m := rendertest.Box(geom.Box{Min: geom.V(-20, -20, -300), Max: geom.V(20, 20, 300)})
	s := newStage(&assembly.Plan{Parts: []assembly.Part{bar}}, func(assembly.Part) *mesh.Mesh { return m })
	sh := newSheet(s, s.scene, render.LookFrom(-math.Pi/2, 0.3), drawingFrame)
	require.NoError(t, sh.draw())
	behind := sh.visible(geom.V(-100, 200, 0), geom.V(100, 200, 0))
	require.Len(t, behind, 2)
	perMM := sh.view.PixelMM * PixelsPerMM
	for _, d := range behind {
		assert.InDelta(t, 80/perMM, d[1].X-d[0].X, 0.3)
	}
	front := sh.visible(geom.V(-100, -200, 0), geom.V(100, -200, 0))
	require.Len(t, front, 1)
	dashes := chain(front)
	sum := 0.0
	for i, d := range dashes {
		sum += d[1].X - d[0].X
		if i > 0 {
			assert.Greater(t, d[0].X, dashes[i-1][1].X)
		}
	}
	assert.InDelta(t, 0.69, sum/(front[0][1].X-front[0][0].X), 0.08, "long 2.2, gap 0.6, short 0.5, gap 0.6")
}

// TestMoreNumbersThanTheKeyHolds: a hundred different parts in a row leave no room for a key; the picture is made
// without, and every number still has its balloon.
func TestMoreNumbersThanTheKeyHolds(t *testing.T) {
	if testing.Short() {
		t.Skip("draws a large picture")
	}
	f := &rendertest.Frame{Sides: 8}
	var names []string
	x := 0.0
	for i := range 50 {
		name := fmt.Sprintf("n%d", i)
		f.Point(name, x, float64(i%2)*200, 0)
		names = append(names, name)
		x += 200 + float64(i)
		f.Point(name+"x", x, float64(i%2)*200, 0)
		names = append(names, name+"x")
	}
	f.Run(names...)
	plan := f.Plan("a long row")
	sh, err := exploded(plan, f.Mesh)
	require.NoError(t, err)
	numbers := rendertest.Numbers(plan)
	require.Greater(t, len(numbers), 50)
	assert.Len(t, sh.marked, len(numbers))
	assert.Empty(t, keyFor(manyNumbersPlan(400), geom.Box{Max: geom.V(100, 80, 1)}).entries)
}

func manyNumbersPlan(n int) *assembly.Plan {
	plan := &assembly.Plan{}
	for i := range n {
		plan.Parts = append(plan.Parts, assembly.Part{ID: fmt.Sprint(i), Number: i + 1, Kind: standard.Pipe, LengthMM: float64(i)})
	}
	return plan
}

func TestNothingToDraw(t *testing.T) {
	for _, fn := range []func(*assembly.Plan, Meshes) (*Picture, error){Finished, Exploded} {
		_, err := fn(&assembly.Plan{}, func(assembly.Part) *mesh.Mesh { return nil })
		require.ErrorIs(t, err, render.ErrEmpty)
	}
}
