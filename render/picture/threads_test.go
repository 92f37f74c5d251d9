package picture

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/render/rendertest"
)

// threadedPair is a made-up pair of fittings with a short pipe between them, large on the sheet, with the dimensions that
// threads are drawn from.
func threadedPair(left string) (*rendertest.Frame, *assembly.Plan) {
	f := &rendertest.Frame{}
	f.Point("low", 0, 0, 0)
	f.Point("mid", 0, 0, 160)
	f.Point("top", 0, 0, 320)
	f.Run("low", "mid", "top")
	plan := f.Plan("pair")
	for i, p := range plan.Parts {
		dims := standard.Dims{}
		for _, q := range p.Ports {
			if q.Name != "face" {
				dims["pitch."+q.Name] = standard.Figure{MM: 1.814}
				dims["engagement."+q.Name] = standard.Figure{MM: rendertest.Engagement}
				dims["pitch-dia."+q.Name] = standard.Figure{MM: 25.1}
			}
		}
		if p.Kind == standard.Pipe {
			dims["od"] = standard.Figure{MM: rendertest.PipeOD}
			plan.Parts[i].LeftEnd = left
		}
		plan.Parts[i].Dims = dims
	}
	return f, plan
}

// TestThreadsShowWhereEndsAreOpen: taken apart, lines stand on ends of pipes within the engagement, thin, and lean up to the
// right as right-hand threads do; put together they lie inside the fittings and are not seen.
func TestThreadsShowWhereEndsAreOpen(t *testing.T) {
	f, plan := threadedPair("")
	sh, err := exploded(plan, f.Mesh)
	require.NoError(t, err)
	require.NotEmpty(t, sh.hair)
	onPipe := 0
	for _, l := range sh.hair {
		assert.Equal(t, sh.pens().CreaseMM, l.WidthMM)
		mid := l.Points[len(l.Points)/2]
		k, ok := sh.buffer(mid)
		require.True(t, ok)
		p := sh.stage.parts[sh.buffers.ID(k)-1]
		if p.Kind != standard.Pipe {
			continue
		}
		onPipe++
		if first, last := l.Points[0], l.Points[len(l.Points)-1]; last.X > first.X {
			assert.Less(t, last.Y, first.Y+0.02, "up to the right")
		} else {
			assert.Less(t, first.Y, last.Y+0.02, "up to the right")
		}
		near := math.Inf(1)
		pose := sh.scene.Instances[sh.stage.id[p.ID]-1].Pose
		for _, q := range p.Ports {
			at, _ := sh.sheetPoint(pose.Apply(p.Pose.Local(q.At)))
			near = min(near, math.Hypot(at.X-mid.X, at.Y-mid.Y))
		}
		assert.Less(t, near, (rendertest.Engagement+rendertest.PipeOD)/(sh.view.PixelMM*PixelsPerMM), "near an end")
	}
	assert.GreaterOrEqual(t, onPipe, 2*leastThreadLines*2, "on both ends of both pipes")

	whole, err := finished(plan, f.Mesh, "as built")
	require.NoError(t, err)
	assert.Empty(t, whole.hair)
}

// TestLeftHandThreadsLeanTheOtherWay: of the two ends of a pipe the left-hand one.
func TestLeftHandThreadsLeanTheOtherWay(t *testing.T) {
	_, plan := threadedPair("b")
	for _, p := range plan.Parts {
		for _, q := range p.Ports {
			th, ok := threadOn(p, q)
			require.Equal(t, q.Name != "face", ok)
			assert.Equal(t, p.Kind == standard.Pipe && q.Name == "b", th.left)
			assert.Equal(t, ok && p.Kind != standard.Pipe, th.inside)
		}
	}
}

// TestNoThreadsOnASmallDrawing: where they would run together none are drawn.
func TestNoThreadsOnASmallDrawing(t *testing.T) {
	f := rendertest.RingFrame()
	plan := f.Plan("ring")
	for i, p := range plan.Parts {
		plan.Parts[i].Dims = standard.Dims{"od": {MM: rendertest.PipeOD}}
		for _, q := range p.Ports {
			plan.Parts[i].Dims["pitch."+q.Name] = standard.Figure{MM: 1.814}
			plan.Parts[i].Dims["engagement."+q.Name] = standard.Figure{MM: 4}
			plan.Parts[i].Dims["pitch-dia."+q.Name] = standard.Figure{MM: 25}
		}
	}
	sh, err := exploded(plan, f.Mesh)
	require.NoError(t, err)
	require.Greater(t, sh.view.PixelMM*PixelsPerMM, 4/(leastThreadLines*threadPitchMM))
	assert.Empty(t, sh.hair)
}

// TestVectorsAreFilled: each part that is seen is filled once, in a tone between its own two, and before the lines.
func TestVectorsAreFilled(t *testing.T) {
	d := drawingOf(t, "ring")
	v := d.exploded.vector()
	seen := map[int]bool{}
	for i := range d.exploded.buffers.Packed {
		seen[d.exploded.buffers.ID(i)] = true
	}
	delete(seen, 0)
	assert.Len(t, v.Faces, len(seen))
	for i, f := range v.Faces {
		tone := d.exploded.scene.Instances[i].Tone
		assert.LessOrEqual(t, f.Colour.Luma(), tone.Light.Luma()+0.01)
		assert.GreaterOrEqual(t, f.Colour.Luma(), tone.Shade.Luma()-0.01)
	}
	var b strings.Builder
	require.NoError(t, v.WriteSVG(&b))
	assert.Less(t, strings.Index(b.String(), "<path fill"), strings.Index(b.String(), "<path stroke"))
}
