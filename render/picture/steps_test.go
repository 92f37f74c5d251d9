package picture

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/packing"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/rendertest"
)

// stepped gives a made-up frame steps: its first part is taken to hand, and every other screwed onto what is there along
// the axis of a joint, 7 turns to the right. Joints that would close a ring are left out.
func stepped(f *rendertest.Frame, title string) *assembly.Plan {
	plan := f.Plan(title)
	plan.Steps = []assembly.Step{{Number: 1, Action: assembly.Place, Where: "bench", Moves: []string{plan.Joints[0].A.Part}}}
	there := map[string]bool{plan.Joints[0].A.Part: true}
	for grown := true; grown; {
		grown = false
		for _, j := range plan.Joints {
			held, comes, dir := j.A.Part, j.B.Part, 1.0
			if there[comes] {
				held, comes, dir = comes, held, -1
			}
			if j.Axis == nil || !there[held] || there[comes] || held == "room" || comes == "room" {
				continue
			}
			there[comes], grown = true, true
			axis := assembly.Axis{At: j.Axis.At, Dir: j.Axis.Dir.Mul(-dir)}
			plan.Steps = append(plan.Steps, assembly.Step{
				Number: len(plan.Steps) + 1, Action: assembly.Screw, Where: "bench", Moves: []string{comes}, Onto: []string{held},
				Joints: []string{j.ID}, Turns: 7, Motion: []assembly.Move{{Kind: assembly.Turn, Axis: axis, ByDeg: 360 * 7, AdvanceMM: rendertest.Engagement}},
			})
		}
	}
	packing.Number(plan.Parts, plan.Joints, plan.Steps)
	return plan
}

func stepSheets(t *testing.T, plan *assembly.Plan, f *rendertest.Frame) []StepPicture {
	t.Helper()
	var out []StepPicture
	require.NoError(t, StepPictures(plan, f.Mesh, func(p StepPicture) error {
		out = append(out, p)
		return nil
	}))
	return out
}

// TestStepPictures: one picture for every number, in order; every number that a picture adds is in one balloon; nothing
// overlaps.
func TestStepPictures(t *testing.T) {
	f := rendertest.RingFrame()
	plan := stepped(f, "ring")
	added := map[int]map[int]bool{}
	of := map[string]int{}
	for _, p := range plan.Parts {
		of[p.ID] = p.Number
	}
	for _, s := range plan.Steps {
		if added[s.Picture] == nil {
			added[s.Picture] = map[int]bool{}
		}
		added[s.Picture][of[s.Moves[0]]] = true
	}
	out := stepSheets(t, plan, f)
	require.Len(t, out, plan.Steps[len(plan.Steps)-1].Picture)
	for i, p := range out {
		assert.Equal(t, i+1, p.Number)
		assert.Equal(t, 1600, p.Image.Rect.Dx())
		assert.Equal(t, 1200, p.Image.Rect.Dy())
		got := map[int]bool{}
		for _, n := range p.Scores.Numbers {
			if n.Balloon {
				got[n.Number] = true
			}
		}
		assert.Equal(t, added[p.Number], got, "numbers in balloons of picture %d", p.Number)
		assert.Zero(t, p.Scores.Crossings)
		assert.Zero(t, p.Scores.Overlaps)
		assert.Zero(t, p.Scores.OverParts, "picture %d", p.Number)
	}
}

// TestStepJobs: what is drawn open moves off along the way it comes, and with it what is screwed onto it in the same
// picture; all that hangs together is shown, and what stands elsewhere is not.
func TestStepJobs(t *testing.T) {
	f := rendertest.Stand()
	plan := stepped(f, "stand")
	s := newStage(plan, f.Mesh)
	c := render.LookFrom(-1, 0.5)
	there := 0
	for _, j := range s.stepJobs() {
		there += len(j.adds)
		assert.Len(t, j.shown, there, "parts in picture %d", j.number)
		shift := j.offsets(5, c)
		for _, o := range j.joints {
			if !o.draws() {
				continue
			}
			by := shift[o.moves[0]].Sub(shift[o.onto[0]])
			assert.Less(t, by.Cross(o.dir).Len(), 1e-9, "%s leaves along its axis", o.moves[0])
			assert.Less(t, by.Dot(o.dir), -float64(rendertest.Engagement), "%s leaves the way it came, clear of its mouth", o.moves[0])
		}
	}
}

// TestTurnArrowTightens: seen from behind a part that goes away from the eye, a right-hand thread is tightened
// clockwise. The sheet has y down, so clockwise is a rising angle.
func TestTurnArrowTightens(t *testing.T) {
	f := rendertest.RingFrame()
	plan := stepped(f, "ring")
	for _, j := range newStage(plan, f.Mesh).stepJobs() {
		for _, o := range j.joints {
			if o.turnsDeg == 0 {
				continue
			}
			require.Positive(t, o.turnsDeg, "a right-hand thread turns with its way")
			turned := geom.Identity().Turned(geom.Vec{}, o.dir, 0.1, 0)
			right := o.dir.Cross(o.dir.Across())
			up := right.Cross(o.dir)
			q := turned.Rotate(up)
			assert.Positive(t, q.Dot(right), "up goes to the right: clockwise for who looks along the way")
		}
	}
}

// TestDial: the face of a dial is what somebody sees who looks the way the part goes: not a mirror image.
func TestDial(t *testing.T) {
	for _, axis := range []geom.Vec{geom.AxisX, geom.AxisX.Neg(), geom.AxisY, geom.AxisZ, geom.AxisZ.Neg(), geom.V(1, 1, 0).Unit()} {
		right, up, _ := dial{axis: axis}.face()
		assert.True(t, right.Cross(up).Near(axis.Neg(), 1e-9), "right, up and towards the eye along %v", axis)
		assert.InDelta(t, 1, up.Len(), 1e-9)
	}
	right, _, top := dial{axis: geom.AxisZ.Neg()}.face()
	assert.Equal(t, "dial.back", top)
	assert.True(t, right.Near(geom.AxisX, 1e-9), "from above, with the back wall at the top, the right is at the right")
}

func TestStepPicturesSameOnAnyNumberOfCores(t *testing.T) {
	f := rendertest.RingFrame()
	plan := stepped(f, "ring")
	plan.Steps = plan.Steps[:5]
	draw := func(n int) (out [][]byte) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(n))
		for _, p := range stepSheets(t, plan, f) {
			var b bytes.Buffer
			require.NoError(t, p.WritePNG(&b))
			out = append(out, b.Bytes())
		}
		return out
	}
	assert.Equal(t, draw(1), draw(2))
}

// TestPaleIsPale: what only stands there is told from what is new by brightness alone: at least a quarter of the range
// lies between the two for every family, faces to the light and away from it taken together.
func TestPaleIsPale(t *testing.T) {
	for k, tone := range tones {
		mean := func(t render.Tone) float64 { return (t.Light.Luma() + t.Shade.Luma()) / 2 }
		assert.Greater(t, mean(paleTone(tone)), 0.8)
		assert.GreaterOrEqual(t, mean(paleTone(tone))-mean(strongTone(tone)), 0.25, Families[k])
	}
}

// TestWordsOnPictures: every word that a picture asks for is there, and every one there is asked for.
func TestWordsOnPictures(t *testing.T) {
	say, err := wording.EnglishPages()
	require.NoError(t, err)
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	used := map[string]bool{"mark.loose": true, "mark.snug": true, "mark.final": true}
	for _, d := range []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
		used["dial.seen."+seenFrom(d)], used["dial.seen."+seenFrom(d.Neg())] = true, true
	}
	for _, f := range files {
		text, err := os.ReadFile(f)
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`"((?:mark|dial)\.[a-z.-]*[a-z])"`).FindAllStringSubmatch(string(text), -1) {
			used[m[1]] = true
		}
	}
	for n := range used {
		assert.NotContains(t, say.Say(n), "<", n)
	}
	for _, n := range say.Names() {
		if strings.HasPrefix(n, "mark.") || strings.HasPrefix(n, "dial.") {
			assert.True(t, used[n], "%s is never asked for", n)
		}
	}
}

// TestLegend: the legend shows every mark with words of its own, the same bytes each time, and no words run off it.
func TestLegend(t *testing.T) {
	one, err := Legend()
	require.NoError(t, err)
	two, err := Legend()
	require.NoError(t, err)
	assert.Equal(t, one.Image.Pix, two.Image.Pix)
	words := map[string]bool{}
	for _, e := range legend {
		assert.False(t, words[e.words], e.words)
		words[e.words] = true
	}
	for _, f := range one.Vector.Fills {
		for _, s := range f.Path {
			for _, p := range s.Points[:s.N] {
				assert.True(t, p.X >= 0 && p.X <= one.Vector.WidthMM && p.Y >= 0 && p.Y <= one.Vector.HeightMM, "%v", p)
			}
		}
	}
	for y := range legendRowMM * len(legend) / legendColumns {
		assert.Equal(t, uint8(255), one.Image.NRGBAAt(one.Image.Rect.Dx()/2-15, y*PixelsPerMM).R, "nothing runs from one column into the next")
	}
}
