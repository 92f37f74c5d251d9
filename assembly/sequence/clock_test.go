package sequence

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// crossbar is an elbow on the end of a pipe of which the other end has a fitting with legs in dirs, the first along the
// pipe.
func crossbar(kind string, dirs ...geom.Vec) *kit {
	k := newKit()
	k.fitting("e", "elbow", geom.V(0, 0, 0), ex, ez)
	k.fitting("x", kind, geom.V(600, 0, 0), dirs...)
	k.pipe("bar", "e", "x", ex)
	return k
}

// TestStops: whole turns for what points one way, half turns where two ways serve on both sides, and any angle for what
// is round. The symmetries are those of the castings.
func TestStops(t *testing.T) {
	const window = kitE/kitPitch + 1 - 8.6/kitPitch - 0.5 // 3.47 turns
	for _, tt := range []struct {
		name string
		k    *kit
		s    int // 0: free
	}{
		{"elbow against a tee on its run", crossbar("tee", mx, ex, ez), 1},
		{"elbow against a tee on its branch", crossbar("tee", mx, ez, mz), 2},
		{"elbow against a planar cross", crossbar("cross", mx, ex, ez, mz), 2},
		{"elbow against a five-way piece", crossbar("cross", mx, ez, mz, ey, my), 4},
		{"elbow against a coupling", crossbar("coupling", mx, ex), 0},
		{"elbow against a cap", crossbar("cap", mx), 0},
	} {
		f := newFrame(tt.k.input())
		c := f.newClocker()
		c.closed[0] = true // the elbow is on the pipe
		got, total := c.clock(1, []string{"x"})
		if tt.s == 0 {
			assert.Nil(t, got, tt.name)
			continue
		}
		require.NotNil(t, got, tt.name)
		assert.Equal(t, "x", got.Part, tt.name)
		assert.Equal(t, "e", got.Against, tt.name)
		assert.Equal(t, tt.s, got.Symmetry, tt.name)
		assert.InDelta(t, 1/float64(tt.s), got.StopTurns, 1e-12)
		assert.InDelta(t, kitPitch/float64(tt.s), got.StopMM, 1e-12)
		assert.Equal(t, int(math.Floor(window*float64(tt.s))), got.Stops, tt.name)
		assert.InDelta(t, 2*window, total, 1e-9, "both ends of the pipe can turn")
		// A stop exists for every start of the threads just when the window holds a whole step.
		assert.Equal(t, got.Stops >= 1, window >= got.StopTurns)
	}
}

// TestSymmetryOfWhatItCarries: a tee on its branch may point two ways only while both ends of its run carry the same.
func TestSymmetryOfWhatItCarries(t *testing.T) {
	for _, tt := range []struct {
		long float64
		s    int
	}{{300, 2}, {400, 1}} {
		k := crossbar("tee", mx, ez, mz)
		k.rod("up", geom.V(600, 0, kitReach-kitE), geom.V(600, 0, 300))
		k.rod("down", geom.V(600, 0, -kitReach+kitE), geom.V(600, 0, -tt.long))
		k.thread("x", "b", "up", "a")
		k.thread("x", "c", "down", "a")
		c := newFrame(k.input()).newClocker()
		c.closed[0], c.closed[2], c.closed[3] = true, true, true
		got, _ := c.clock(1, []string{"x", "up", "down"})
		require.NotNil(t, got)
		assert.Equal(t, tt.s, got.Symmetry, "%v", tt.long)
	}
}

// TestClockIsCarriedThroughThePipe: the first fitting on a pipe may stop anywhere; the second must come round to it, and
// points where it does in the finished frame.
func TestClockIsCarriedThroughThePipe(t *testing.T) {
	k := rectangle(true, 900, 600)
	steps := planned(t, k)
	told := 0
	for _, s := range steps {
		if s.Clock == nil {
			continue
		}
		told++
		require.Contains(t, s.Moves, s.Clock.Part)
		found := false
		for _, p := range k.part(s.Clock.Part).Ports {
			if p.Name == s.Clock.Port {
				found = true
				assert.True(t, p.Out.Near(s.Clock.Toward, 1e-9), s.Clock.Part)
			}
		}
		assert.True(t, found)
		assert.Equal(t, 1, s.Clock.Symmetry)
	}
	// Three plain pipes join four elbows, so one elbow begins and three come round.
	assert.Equal(t, 3, told)
	for _, s := range steps {
		for _, id := range s.Moves {
			if k.part(id).Kind == "pipe" && len(s.Moves) == 1 {
				assert.Nil(t, s.Clock, "a pipe is round: %s", id)
			}
		}
	}
}

// TestNoStop: two fittings that must both point somewhere are refused only when the windows of both ends of their pipe
// together hold no stop.
func TestNoStop(t *testing.T) {
	narrow := func(first, second float64) Result {
		k := crossbar("tee", mx, ex, ez)
		for i, w := range []float64{first, second} {
			j := &k.a.Joints[i]
			n := j.EngagementMM / j.PitchMM
			j.Turns = &assembly.Window{Min: n - w/2, Max: n + w/2}
		}
		return Plan(k.input())
	}
	r := narrow(0.4, 0.4)
	require.Equal(t, []string{"CLOCK"}, codes(r))
	assert.Equal(t, assembly.Stop, r.Findings[0].Severity)
	assert.InDelta(t, 0.2, r.Findings[0].Values["missing_turns"], 1e-9)
	assert.ElementsMatch(t, []string{"e", "x"}, r.Findings[0].Parts)
	assert.Empty(t, r.Steps)

	assert.NotContains(t, codes(narrow(0.4, 0.7)), "CLOCK", "the other end is turned a little further")
	assert.NotContains(t, codes(narrow(0, 1)), "CLOCK")
	assert.Contains(t, codes(narrow(0, 0.99)), "CLOCK", "one end is already built in")
}

// TestHolesOnTheStud: a flange that comes to lie on a stud is stopped with two opposite holes along it, which comes round
// as often as it has holes; off the stud, and with nothing on the pipe that points, it may stop anywhere.
func TestHolesOnTheStud(t *testing.T) {
	wall := func(stud float64) *kit {
		k := newKit()
		k.room(geom.Box{Min: geom.V(-3000, 0, 0), Max: geom.V(3000, 50, 2400)})
		k.a.Room.Surfaces = []assembly.Surface{{Name: "back", Timbers: []assembly.Timber{{Axis: "x", Middle: stud, Width: 38}}}}
		k.fitting("e", "elbow", geom.V(300, -400, 1000), ey, ez)
		k.flange("f", geom.V(300, 0, 1000), my)
		k.part("f").Dims = standard.Dims{standard.DimHoles: {MM: 4}}
		k.pipe("arm", "e", "f", ey)
		k.join(assembly.Face, "f", "face", "room", "")
		return k
	}
	at := func(k *kit) *assembly.Clock {
		c := newFrame(k.input()).newClocker()
		c.closed[0] = true
		got, _ := c.clock(1, []string{"f"})
		return got
	}
	got := at(wall(310))
	require.NotNil(t, got, "the stud covers the middle of the flange")
	assert.Equal(t, assembly.HolesPort, got.Port)
	assert.Equal(t, 4, got.Symmetry)
	assert.Equal(t, ez, got.Toward, "studs stand upright")
	assert.InDelta(t, kitPitch/4, got.StopMM, 1e-12)
	assert.Nil(t, at(wall(340)), "no stud there")

	joists := wall(310)
	joists.a.Room.Surfaces[0].Timbers[0].Axis = "z" // laid level on the wall, 1 m up
	joists.a.Room.Surfaces[0].Timbers[0].Middle = 1000
	assert.Equal(t, ex, at(joists).Toward)
}

// TestLengthStep: a ring has sides in two directions. The one with the union can be set to any length; the other goes in
// steps of a whole turn, and is out by half a step at most. With a union in each direction nothing is left over.
func TestLengthStep(t *testing.T) {
	k := rectangle(true, 900, 600)
	r := Plan(k.input())
	require.Equal(t, []string{"LENGTH-STEP"}, codes(r))
	assert.Equal(t, assembly.Note, r.Findings[0].Severity)
	assert.InDelta(t, kitPitch, r.Findings[0].Values["step_mm"], 1e-9)
	assert.InDelta(t, kitPitch/2, r.Findings[0].Values["residual_mm"], 1e-9)

	two := newKit()
	two.fitting("e1", "elbow", geom.V(0, 0, 0), ex, ez)
	two.fitting("e2", "elbow", geom.V(900, 0, 0), mx, ez)
	two.fitting("e3", "elbow", geom.V(900, 0, 600), mx, mz)
	two.fitting("e4", "elbow", geom.V(0, 0, 600), ex, mz)
	two.unionPipe("low", "e1", "e2", ex, 150)
	two.unionPipe("left", "e1", "e4", ez, 150)
	two.pipe("right.1", "e2", "e3", ez)
	two.pipe("top.1", "e4", "e3", ex)
	f := newFrame(two.input())
	loops, _ := f.loops()
	require.Len(t, loops, 1)
	assert.Empty(t, f.newClocker().quantised(loops))
}
