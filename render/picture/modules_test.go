package picture

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/render/rendertest"
)

// TestAlikeKnowsMirrorImages: a group that is turned and moved is the same, its mirror image is not, unless it is flat or
// straight: then the image is the group turned over. Other numbers, places or counts make another group.
func TestAlikeKnowsMirrorImages(t *testing.T) {
	solid := []spot{{1, geom.V(0, 0, 0)}, {2, geom.V(300, 0, 0)}, {3, geom.V(300, 200, 0)}, {3, geom.V(300, 200, 150)}}
	flat := []spot{{1, geom.V(0, 0, 0)}, {2, geom.V(300, 0, 0)}, {3, geom.V(300, 200, 0)}}
	straight := []spot{{1, geom.V(0, 0, 0)}, {2, geom.V(300, 0, 0)}, {2, geom.V(500, 0, 0)}}
	turn := func(a []spot) (out []spot) {
		p := geom.At(geom.V(40, -70, 9)).Turned(geom.V(1, 2, 3), geom.V(1, 1, 1).Unit(), 2, 5)
		for i := range a {
			s := a[len(a)-1-i]
			out = append(out, spot{s.number, p.Apply(s.at)})
		}
		return out
	}
	mirror := func(a []spot) (out []spot) {
		for _, s := range a {
			out = append(out, spot{s.number, geom.V(s.at.X, s.at.Y, -s.at.Z)})
		}
		return out
	}
	for name, a := range map[string][]spot{"solid": solid, "flat": flat, "straight": straight} {
		assert.True(t, alike(a, turn(a)), name)
		assert.Equal(t, name != "solid", alike(a, turn(mirror(a))), "mirror image of the %s one", name)
		other := turn(a)
		other[1].number = 9
		assert.False(t, alike(a, other), "another number")
		other = turn(a)
		other[0].at = other[0].at.Add(geom.V(9, 9, 0))
		assert.False(t, alike(a, other), "another place")
		assert.False(t, alike(a, a[1:]))
	}
}

// fourPosts is a made-up frame of four posts of thirteen parts each under one board, of which one has an arm.
func fourPosts() *rendertest.Frame {
	f := &rendertest.Frame{}
	for i := range 4 {
		var names []string
		for k := range 7 {
			n := fmt.Sprintf("c%d-%d", i, k)
			f.Point(n, float64(i%2)*900, float64(i/2)*300, float64(k)*300)
			names = append(names, n)
		}
		f.Run(names...)
	}
	f.Point("arm", -200, 0, 1200)
	f.Run("c0-4", "arm")
	f.BoredBoard("shelf", -100, -100, 1000, 1100, 500, "pipe-4", "pipe-10", "pipe-16", "pipe-22")
	return f
}

// TestModulesOfPosts: three posts are alike and drawn once, the one with the arm by itself; none of them is said to be
// made beforehand, for a board goes between. A small frame has none.
func TestModulesOfPosts(t *testing.T) {
	f := fourPosts()
	plan := f.Plan("posts")
	ms := Modules(plan)
	require.Len(t, ms, 2)
	copies := map[int]int{}
	seen := map[string]bool{}
	for _, m := range ms {
		copies[len(m.Parts)] = len(m.Copies)
		assert.False(t, m.OnItsOwn)
		for _, g := range append([][]string{m.Parts}, m.Copies...) {
			for _, id := range g {
				assert.False(t, seen[id], "%s is in two groups", id)
				seen[id] = true
			}
		}
	}
	assert.Equal(t, map[int]int{13: 2, 15: 0}, copies)
	assert.Len(t, seen, len(plan.Parts)-1, "all but the board")
	assert.Empty(t, Modules(rendertest.Stand().Plan("stand")))

	for i, m := range ms {
		p, err := ExplodedModule(plan, f.Mesh, m, i+1, len(ms))
		require.NoError(t, err)
		assert.Equal(t, ModuleName(i+1), p.Scores.Picture)
		assert.Empty(t, p.Scores.Faults())
		assert.Empty(t, p.Scores.Hidden)
		numbers := map[int]bool{}
		for _, q := range plan.Parts {
			for _, id := range m.Parts {
				if q.ID == id {
					numbers[q.Number] = true
				}
			}
		}
		assert.Len(t, p.Scores.Numbers, len(numbers))
		for _, n := range p.Scores.Numbers {
			assert.True(t, numbers[n.Number] && n.Balloon, "number %d", n.Number)
		}
	}
}

// TestModulesOnTheirOwn: what a step moves as a whole onto something is a group, and so is that; parts put on later
// belong to neither.
func TestModulesOnTheirOwn(t *testing.T) {
	plan := rendertest.Bay().Plan("bay")
	plan.Steps = nil
	step := func(onto string, moves ...string) {
		plan.Steps = append(plan.Steps, assembly.Step{Number: len(plan.Steps) + 1, Moves: moves, Onto: []string{onto}})
	}
	step("p000", "pipe-1")
	step("pipe-1", "p001")
	step("p001", "pipe-2")
	step("p010", "pipe-4")
	step("pipe-4", "p011")
	step("p011", "pipe-5")
	step("pipe-5", "p012")
	step("pipe-2", "p012", "p010", "pipe-4", "p011", "pipe-5")
	step("p012", "pipe-6")
	ms := Modules(plan)
	require.Len(t, ms, 2)
	assert.ElementsMatch(t, []string{"p000", "pipe-1", "p001", "pipe-2"}, ms[0].Parts)
	assert.ElementsMatch(t, []string{"p010", "pipe-4", "p011", "pipe-5", "p012"}, ms[1].Parts)
	assert.Equal(t, []int{1, 4}, []int{ms[0].Step, ms[1].Step})
	assert.True(t, ms[0].OnItsOwn && ms[1].OnItsOwn)
}

// TestModulesOpenAlongTwoLines: of joints along three lines those along the one with the fewest stay shut, and nothing
// of them comes apart.
func TestModulesOpenAlongTwoLines(t *testing.T) {
	f := &rendertest.Frame{}
	f.Point("a", 0, 0, 0)
	f.Point("b", 0, 0, 500)
	f.Point("c", 0, 0, 1000)
	f.Point("d", 600, 0, 1000)
	f.Point("e", 1200, 0, 1000)
	f.Point("f", 1200, -400, 1000)
	f.Run("a", "b", "c", "d", "e", "f")
	plan := f.Plan("three ways")
	shut := shutLines(plan.Joints)
	require.Len(t, shut, 1)
	assert.InDelta(t, 1, math.Abs(shut[0].Y), 1e-9)
	s := newStage(plan, f.Mesh)
	s.shut = shut
	apart, _, err := s.explode()
	require.NoError(t, err)
	for _, j := range plan.Joints {
		open := apart.Offsets[j.B.Part].Sub(apart.Offsets[j.A.Part])
		assert.InDelta(t, 0, open.Y, 1e-3, j.ID)
		if math.Abs(j.Axis.Dir.Y) < 0.5 {
			assert.Greater(t, open.Len(), float64(gapMM), j.ID)
		}
	}
}
