package sequence

import (
	"fmt"
	"math/rand"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// TestFourLegs: four equal legs are made by steps of four, each copy with a motion of its own, and all the work together
// is what it was.
func TestFourLegs(t *testing.T) {
	k := table()
	r := Plan(k.input())
	follow(t, k, r.Steps)
	legs := 0
	for _, s := range r.Steps {
		if len(s.Repeats) == 3 && k.part(s.Moves[0]).Kind == standard.Pipe {
			legs++
			for _, c := range s.Repeats {
				assert.Equal(t, k.part(s.Moves[0]).LengthMM, k.part(c.Moves[0]).LengthMM)
				assert.NotEqual(t, s.Start, c.Start)
				assert.Len(t, c.Motion, len(s.Motion))
			}
		}
	}
	assert.GreaterOrEqual(t, legs, 2, "the lower and the upper pipes of four legs")
	done := len(works(r.Steps))
	assert.LessOrEqual(t, float64(len(r.Steps)), 0.6*float64(done), "steps drawn for steps done, where there are copies")
	placed := map[string]int{}
	for _, s := range works(r.Steps) {
		if s.Where == "bench" {
			for _, id := range s.Moves {
				placed[id]++
			}
		}
	}
	for _, p := range k.a.Parts {
		if p.Kind != "room" && p.ID != "top" {
			assert.Equal(t, 1, placed[p.ID], p.ID)
		}
	}
}

// arm builds a post with an arm to the back, and at its end a hook to the right (+1) or to the left (-1).
func arm(k *kit, id string, at geom.Vec, side float64) {
	to, back := ex, mx
	if side < 0 {
		to, back = mx, ex
	}
	k.flange(id+"foot", at, ez)
	k.fitting(id+"knee", "elbow", at.Add(geom.V(0, 0, 700)), mz, ey)
	k.fitting(id+"hand", "elbow", at.Add(geom.V(0, 400, 700)), my, to)
	k.fitting(id+"end", "cap", at.Add(geom.V(side*250, 400, 700)), back)
	k.pipe(id+"post", id+"foot", id+"knee", ez)
	k.pipe(id+"arm", id+"knee", id+"hand", ey)
	k.pipe(id+"hook", id+"hand", id+"end", to)
	k.join(assembly.Face, id+"foot", "face", "room", "")
}

func arms(sides ...float64) *kit {
	k := newKit()
	k.room(floor())
	for i, s := range sides {
		arm(k, fmt.Sprint("n", i), geom.V(float64(i)*1200, 0, 0), s)
	}
	return k
}

func (k *kit) bodiesOf(f *frame, prefix string) []int {
	var out []int
	for _, p := range k.a.Parts {
		if len(p.ID) > len(prefix) && p.ID[:len(prefix)] == prefix {
			out = append(out, f.index[p.ID])
		}
	}
	return out
}

// TestMirrorImages: arms that are alike are made together; a left and a right one too, but as mirror images and never
// as two of one kind; arms of another length are not.
func TestMirrorImages(t *testing.T) {
	k := arms(1, 1, -1)
	arm(k, "x", geom.V(3600, 0, 0), 1)
	f := newFrame(k.input())
	class := classes(f.parts)
	one := k.bodiesOf(f, "n0")
	assert.Equal(t, same, f.compare(one, k.bodiesOf(f, "n1"), class))
	assert.Equal(t, mirrored, f.compare(one, k.bodiesOf(f, "n2"), class))
	assert.Equal(t, mirrored, f.compare(k.bodiesOf(f, "n2"), one, class))

	for _, tt := range []struct {
		sides  []float64
		mirror bool
	}{{[]float64{1, 1}, false}, {[]float64{1, -1}, true}, {[]float64{-1, -1, -1}, false}} {
		k := arms(tt.sides...)
		r := Plan(k.input())
		follow(t, k, r.Steps)
		copies, mirrors := 0, 0
		for _, s := range r.Steps {
			if s.Where == "bench" {
				copies = max(copies, 1+len(s.Repeats))
			}
			if s.Mirrored {
				mirrors++
			}
		}
		assert.Equal(t, len(tt.sides), copies, "%v", tt.sides)
		assert.Equal(t, tt.mirror, mirrors > 0, "%v", tt.sides)
	}
}

// TestCompareMoved: a group is the same wherever it lies and however it is turned, and a mirror image in any mirror.
func TestCompareMoved(t *testing.T) {
	r := rand.New(rand.NewSource(11))
	for range 50 {
		k := arms(1, 1)
		turn := geom.Facing(geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()).Mul(500),
			geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()), geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()))
		flipped := r.Intn(2) == 1
		for i := range k.a.Parts {
			p := &k.a.Parts[i]
			if p.ID[:2] != "n1" {
				continue
			}
			for q := range p.Ports {
				at := p.Ports[q].At
				if flipped {
					at.Y = -at.Y
				}
				p.Ports[q].At = turn.Apply(at)
			}
		}
		f := newFrame(k.input())
		want := same
		if flipped {
			want = mirrored
		}
		assert.Equal(t, want, f.compare(k.bodiesOf(f, "n0"), k.bodiesOf(f, "n1"), classes(f.parts)))
	}
}

// TestCopiesKeepWishes: building copies together gives way to a wish that one of them comes before another.
func TestCopiesKeepWishes(t *testing.T) {
	k := arms(1, 1)
	k.a.Wishes = []assembly.Wish{{Kind: "before", A: []string{"n0end", "n0foot"}, B: []string{"n1post", "n1knee", "n1arm", "n1hand", "n1hook", "n1end", "n1foot"}, Text: "the first arm first"}}
	r := Plan(k.input())
	follow(t, k, r.Steps)
	assert.Empty(t, codes(r))
}

// TestBundled: equal branches come side by side, one waits for its copies, and nothing comes before what it hangs on.
func TestBundled(t *testing.T) {
	k := table()
	f := newFrame(k.input())
	class := classes(f.parts)
	for root := range f.parts {
		if f.threads(root) == 0 {
			continue
		}
		tree := f.branchesFrom([]int{root}, []int{-1}, class, func(int) bool { return true })
		order := tree.bundled()
		assert.ElementsMatch(t, tree.order, order)
		at := map[int]int{}
		for i, b := range order {
			at[b] = i
		}
		for b, list := range tree.children {
			for _, c := range list {
				assert.Less(t, at[b], at[c])
			}
		}
	}
	tree := f.branchesFrom([]int{f.index["long.1"]}, []int{-1}, class, func(int) bool { return true })
	order := tree.bundled()
	for _, name := range []string{"lower", "upper", "knee"} {
		var at []int
		for i, b := range order {
			if len(f.parts[b].ID) > len(name) && f.parts[b].ID[:len(name)] == name {
				at = append(at, i)
			}
		}
		require.Len(t, at, 4)
		assert.Equal(t, 3, slices.Max(at)-slices.Min(at), "%s: four in a row", name)
	}
}

// TestHands: who lifts more than one person may, swings more than an arm's length or holds more than two groups is two;
// where there is only one, that is said.
func TestHands(t *testing.T) {
	at := func(people int, mass, swing float64) (assembly.Step, []assembly.Finding) {
		k := crossbar("tee", mx, ex, ez)
		k.a.People = people
		k.part("x").MassKG = mass
		f := newFrame(k.input())
		step := []assembly.Step{{Number: 1, Action: assembly.Screw, Where: "bench", Moves: []string{"x"}, Onto: []string{"bar"}, Joints: []string{"j2"},
			SwingRadiusMM: swing, Motion: []assembly.Move{{Kind: assembly.Turn}}}}
		found := f.hands(step)
		return step[0], found
	}
	for _, tt := range []struct {
		people      int
		mass, swing float64
		want, found int
	}{
		{2, 5, 100, 1, 0},
		{2, 22.9, 499, 1, 0},
		{2, 23.1, 100, 2, 0}, // 51 lb: the load constant of the revised lifting equation
		{2, 5, 501, 2, 0},
		{1, 5, 501, 1, 1},
		{1, 30, 100, 1, 1},
		{4, 61, 100, 4, 0},
		{3, 61, 100, 3, 1},
	} {
		s, found := at(tt.people, tt.mass, tt.swing)
		assert.Equal(t, tt.want, s.People, "%+v", tt)
		assert.Len(t, found, tt.found, "%+v", tt)
		for _, fd := range found {
			assert.Equal(t, "HANDS", fd.Code)
			assert.Equal(t, assembly.Warn, fd.Severity)
			assert.Greater(t, fd.Values["people_count"], fd.Values["there_count"])
		}
	}
}

// TestProps: a board that joins three loose posts is four things to hold: two people do, one props two of them.
func TestProps(t *testing.T) {
	for people, props := range map[int]int{1: 2, 2: 0} {
		k := newKit()
		k.a.People = people
		var on, joints []string
		for i := range 3 {
			id := fmt.Sprint("post", i)
			k.rod(id, geom.V(float64(i)*300, 0, 0), geom.V(float64(i)*300, 0, 900))
			on = append(on, id)
		}
		k.board("shelf", geom.V(-100, -100, 900), geom.V(900, 100, 918))
		for _, id := range on {
			joints = append(joints, k.join(assembly.Rest, "shelf", "", id, "").ID)
		}
		f := newFrame(k.input())
		steps := []assembly.Step{{Number: 1, Action: assembly.Place, Where: "place", Moves: []string{"shelf"}, Onto: on, Joints: joints}}
		assert.Empty(t, f.hands(steps))
		assert.Equal(t, people, steps[0].People)
		assert.Len(t, steps[0].Props, props)
	}
}

// TestEffort: the seconds of one step by hand, from the figures of the study; the sum, and the hardest.
func TestEffort(t *testing.T) {
	k := crossbar("tee", mx, ex, ez)
	f := newFrame(k.input())
	n := kitE / kitPitch
	one := func(swing float64) float64 {
		s := []assembly.Step{
			{Number: 1, Action: assembly.Place, Where: "bench", Moves: []string{"bar"}},
			{Number: 2, Action: assembly.Screw, Where: "bench", Moves: []string{"x"}, Onto: []string{"bar"}, Joints: []string{"j2"}, Turns: n,
				SwingRadiusMM: swing, Motion: []assembly.Move{{Kind: assembly.Turn}}},
		}
		e := f.estimate(s)
		assert.InDelta(t, e.Seconds, s[0].Seconds+s[1].Seconds, 0.05)
		assert.Equal(t, []int{2, 1}, e.Hardest)
		return s[1].Seconds
	}
	tight := 8.6 / kitPitch
	// Read 10, a new kind of action 15, take up the wrench 5, pick up a tee 1.8, hold the pipe 5.
	assert.InDelta(t, 10+15+5+1.8+5+tight*1+(n-tight)*6, one(100), 0.06)
	assert.InDelta(t, 10+15+5+1.8+5+tight*2.5+(n-tight)*6, one(400), 0.06)
	assert.InDelta(t, 10+15+5+1.8+5+n*6, one(700), 0.06)

	r := Plan(table().input())
	sum := 0.0
	for _, s := range r.Steps {
		assert.Positive(t, s.Seconds)
		sum += s.Seconds
	}
	assert.InDelta(t, sum, r.Effort.Seconds, 0.05)
	assert.Len(t, r.Effort.Hardest, 3)
}

// TestLeastWorkIsKept: no beginning that is tried gives less work than the order that is kept.
func TestLeastWorkIsKept(t *testing.T) {
	for name, k := range map[string]*kit{"table": table(), "ring": rectangle(true, 900, 600), "arms": arms(1, -1, 1)} {
		in := k.input()
		best := Plan(in)
		f := newFrame(in)
		loops, _ := f.loops()
		for _, rule := range rootRules {
			o := newFrame(in).orderFrom(rule, loops)
			require.True(t, o.possible)
			if name == "ring" {
				follow(t, k, o.steps)
			}
			assert.LessOrEqual(t, best.Effort.Seconds, o.effort.Seconds, "%s %d", name, rule)
		}
	}
}
