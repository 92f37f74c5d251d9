package sequence

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
)

// TestBetweenTwoUnions: what hangs between the seats of two unions that face each other slides out sideways, and both are
// bent apart for it. Between two plain faces it would be held.
func TestBetweenTwoUnions(t *testing.T) {
	k := newKit()
	k.fitting("left", "tee", geom.V(0, 0, 0), ex, ez)
	k.fitting("right", "tee", geom.V(900, 0, 0), mx, ez)
	k.fitting("mid", "tee", geom.V(450, 0, 0), mx, ex)
	k.fitting("up", "elbow", geom.V(0, 0, 600), mz, ex)
	k.fitting("over", "elbow", geom.V(900, 0, 600), mz, mx)
	k.pipe("post-1", "left", "up", ez)
	k.pipe("post-2", "right", "over", ez)
	k.pipe("rail", "up", "over", ex)
	k.unionPipe("rung-1", "left", "mid", ex, 150)
	k.unionPipe("rung-2", "mid", "right", ex, 150)
	f := newFrame(k.input())
	var all, between []int
	for i := range f.parts {
		all = append(all, i)
	}
	for _, id := range []string{"mid", "rung-1.union-1.b", "rung-1.2", "rung-2.1", "rung-2.union-1.a"} {
		between = append(between, f.index[id])
	}
	sortBy(between, func(b int) int { return b })
	s := f.newScene(all, false, f.ranks())
	cs := s.contacts(between, s.crossing(between))
	require.Len(t, cs, 2)
	_, _, held := opposed(cs)
	assert.True(t, held)
	r := s.tryStraight(between)
	require.NotNil(t, r)
	require.NotEmpty(t, r.out)
	assert.InDelta(t, 0, r.out[0].by.Dot(ex), 1e-9)
	assert.Len(t, r.joints, 2)
	planned(t, k)
}

// TestUnionsThatWouldCloseSideways: a box of which every corner is tied by one plain pipe and by unions square to it has
// no thread left that can be turned. The finding names one thread and the unions in its way, not every part.
func TestUnionsThatWouldCloseSideways(t *testing.T) {
	k := newKit()
	at := func(x, y, z int) string { return fmt.Sprintf("n%d%d%d", x, y, z) }
	for i := range 8 {
		x, y, z := i&1, i>>1&1, i>>2&1
		dirs := []geom.Vec{{X: float64(1 - 2*x)}, {Y: float64(1 - 2*y)}, {Z: float64(1 - 2*z)}}
		k.fitting(at(x, y, z), "side-elbow", geom.V(float64(x), float64(y), float64(z)).Mul(600), dirs...)
	}
	// The plain pipes run 100 - 000 - 010 - 011 - {001, 111 - {110, 101}}.
	for _, p := range [][2]string{{"n000", "n100"}, {"n000", "n010"}, {"n010", "n011"}, {"n001", "n011"}, {"n011", "n111"}, {"n110", "n111"}, {"n101", "n111"}} {
		k.pipe(p[0]+p[1], p[0], p[1], k.part(p[1]).Pose.Origin.Sub(k.part(p[0]).Pose.Origin).Unit())
	}
	for _, p := range [][2]string{{"n000", "n001"}, {"n001", "n101"}, {"n010", "n110"}, {"n100", "n110"}, {"n100", "n101"}} {
		k.unionPipe(p[0]+p[1], p[0], p[1], k.part(p[1]).Pose.Origin.Sub(k.part(p[0]).Pose.Origin).Unit(), 250)
	}
	r := Plan(k.input())
	assert.Empty(t, r.Steps)
	require.Len(t, r.Findings, 1)
	fd := r.Findings[0]
	assert.Equal(t, "STUCK", fd.Code)
	assert.Contains(t, fd.Text, "these 35 parts")
	assert.Contains(t, fd.Text, "sideways")
	assert.Less(t, len(fd.Text), 400)
	assert.Len(t, fd.Blame, 3)
	assert.InDelta(t, 2, fd.Values["sideways_count"], 0, "both unions of a corner")
}
