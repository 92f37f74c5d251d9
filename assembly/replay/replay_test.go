package replay_test

import (
	"math"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/replay"
	"turnwise/geom"
)

// lamp is a flange on the floor, a post, an elbow on top and an arm to the right, one above the other.
func lamp(boxes ...geom.Box) *kit {
	k := newKit()
	k.room(append([]geom.Box{floor()}, boxes...)...)
	up := geom.AxisZ
	k.flange("foot", geom.At(geom.Vec{}))
	k.pipe("post", geom.V(0, 0, height-engaged), up, 600)
	top := geom.V(0, 0, height-engaged+600-engaged+reach)
	// a (X of the elbow) looks down, b (Y) to the right
	k.elbow("knee", geom.Pose{Origin: top, X: up.Neg(), Y: geom.AxisX, Z: up.Neg().Cross(geom.AxisX)})
	k.pipe("arm", top.Add(geom.V(reach-engaged, 0, 0)), geom.AxisX, 300)
	k.contact("floor", assembly.Face, "foot", "face", "room", "")
	k.thread("low", "post", "a", "foot", "a")
	k.thread("high", "post", "b", "knee", "a")
	k.thread("side", "arm", "a", "knee", "b")
	return k
}

// build gives lamp its steps.
func build(k *kit) *kit {
	k.put(assembly.Fasten, []string{"foot"}, []string{"room"}, []string{"floor"}, geom.V(0, 0, -100))
	k.screw("low", 50, "foot", "post")
	k.screw("high", 50, "post", "knee")
	k.screw("side", 50, "knee", "arm")
	return k
}

func TestCheck(t *testing.T) {
	r := build(lamp()).check()
	requireOK(t, r)
	require.Len(t, r.Steps, 4)
	assert.Greater(t, r.Samples, 1000)
	for _, s := range r.Steps {
		assert.LessOrEqual(t, s.ClearanceMM, float64(replay.ClearanceCapMM))
		assert.Greater(t, s.ClearanceMM, 0.0)
	}
}

// swing is the radius of lamp's elbow about the post: that of its far leg's edge.
var swing = math.Hypot(reach, 18)

// wallAt is a wall left of lamp, above its flange.
func wallAt(x float64) geom.Box {
	return geom.Box{Min: geom.V(-x-50, -1000, 300), Max: geom.V(-x, 1000, 2000)}
}

// A wall closer than the swing radius of the elbow is hit, one further away is not.
func TestCheckSwing(t *testing.T) {
	k := build(lamp(wallAt(swing - 2)))
	f := requireFailure(t, k.check(), replay.CodeCrash, 3, "knee runs into room")
	require.NotNil(t, f.At)
	assert.InDelta(t, -(swing - 2), f.At.X, 2.1)
	assert.InDelta(t, 2, f.MM, 2.1)

	k = build(lamp(wallAt(swing + 1)))
	r := k.check()
	requireOK(t, r)
	assert.InDelta(t, 1, r.Steps[2].ClearanceMM, 0.5, "the elbow passes the wall at 1 mm")
	assert.Equal(t, [2]string{"knee", "room"}, r.Steps[2].Near)
}

func TestCheckTampered(t *testing.T) {
	tests := []struct {
		name   string
		tamper func(k *kit)
		code   string
		step   int
		words  string
	}{
		{"turns the other way", func(k *kit) { k.plan.Steps[1].Motion[1].ByDeg *= -1; turnStart(k, 1) },
			replay.CodeThread, 2, "wrong way round for a right-hand thread"},
		{"left-hand joint turned right", func(k *kit) { k.joint("low").Hand = "left" },
			replay.CodeThread, 2, "wrong way round for a left-hand thread"},
		{"too few turns", func(k *kit) { k.plan.Steps[1].Turns = 4 },
			replay.CodeThread, 2, "takes 5.246 to 8.875 turns, the step gives it 4"},
		{"advance without its turns", func(k *kit) { k.plan.Steps[1].Motion[1].ByDeg -= 90 },
			replay.CodeThread, 2, "is turned by 2745 degrees"},
		{"axis beside the joint", func(k *kit) { k.plan.Steps[1].Motion[1].Axis.At.X += 3 },
			replay.CodeThread, 2, "the turn lies 3 mm off the axis of low"},
		{"slanted axis", func(k *kit) { k.plan.Steps[1].Motion[1].Axis.Dir = geom.V(0, 0.6, -0.8) },
			replay.CodeThread, 2, "not about the axis of low"},
		{"no turn", func(k *kit) { k.plan.Steps[1].Motion = k.plan.Steps[1].Motion[:1] },
			replay.CodeThread, 2, "closed without a turn"},
		{"wrong start", func(k *kit) { k.plan.Steps[2].Start = k.plan.Steps[2].Start.Moved(geom.V(0, 0, 5)) },
			replay.CodePose, 3, "knee lie 5 mm off their places"},
		{"part left out", func(k *kit) { k.plan.Steps = k.plan.Steps[:3] },
			replay.CodeOrder, 0, "arm was never placed"},
		{"joint left open", func(k *kit) { k.plan.Steps[3].Joints = nil },
			replay.CodeOrder, 0, "side was never closed"},
		{"part placed twice", func(k *kit) { again := k.plan.Steps[3]; again.Number = 5; k.plan.Steps = append(k.plan.Steps, again) },
			replay.CodeOrder, 5, "arm moves without knee, to which side holds it"},
		{"held body missing", func(k *kit) { k.plan.Steps[1].Onto = []string{"knee"} },
			replay.CodeOrder, 2, "knee is to be held still, but is not there yet"},
		{"group torn apart", func(k *kit) {
			k.put(assembly.Place, []string{"arm"}, nil, nil, geom.V(1, 0, 0))
		}, replay.CodeOrder, 5, "arm moves without knee"},
		{"no motion", func(k *kit) {
			s := &k.plan.Steps[1]
			s.Start, s.Motion = k.part("post").Pose, nil
		}, replay.CodePose, 2, "post is there all at once"},
		{"unknown body", func(k *kit) { k.plan.Steps[1].Moves = []string{"nobody"} },
			replay.CodeDocument, 0, `moves "nobody", which is no part`},
		{"wrong action", func(k *kit) { k.plan.Steps[1].Action = assembly.Place },
			replay.CodeThread, 2, "threads are closed by a screw step"},
		{"pulled out", func(k *kit) { k.plan.Steps[1].Motion[1].AdvanceMM *= -1 },
			replay.CodeThread, 2, "screwed outwards"},
		{"bench work on what stands", func(k *kit) { k.plan.Steps[1].Where = "bench" },
			replay.CodeOrder, 2, "foot is to be met on the bench, but stands in place"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			k := build(lamp())
			tt.tamper(k)
			requireFailure(t, k.check(), tt.code, tt.step, tt.words)
		})
	}
}

// turnStart turns the start of a step so that its motion still ends in the final pose.
func turnStart(k *kit, step int) {
	s := &k.plan.Steps[step]
	m := s.Motion[1]
	s.Start = k.part(s.Moves[0]).Pose.Turned(m.Axis.At, m.Axis.Dir, -m.ByDeg*math.Pi/180, -m.AdvanceMM).Moved(s.Motion[0].By.Neg())
}

// A post in the way of the arm's straight approach is run into, whether the arm is long or short.
func TestCheckThroughPost(t *testing.T) {
	k := lamp()
	k.pipe("stray", geom.V(400, 0, 0), geom.AxisZ, 800)
	k.contact("stands", assembly.Rest, "stray", "a", "room", "")
	k.put(assembly.Place, []string{"stray"}, nil, []string{"stands"}, geom.V(0, 0, -10))
	for i := range k.plan.Parts {
		k.plan.Parts[i].Number = map[string]int{"room": 0, "stray": 1, "foot": 2, "post": 3, "knee": 4, "arm": 5}[k.plan.Parts[i].ID]
	}
	build(k)
	k.plan.Steps[4].Start = k.plan.Steps[4].Start.Moved(geom.V(150, 0, 0))
	k.plan.Steps[4].Motion[0].By = k.plan.Steps[4].Motion[0].By.Add(geom.V(-150, 0, 0))
	f := requireFailure(t, k.check(), replay.CodeCrash, 5, "arm runs into stray")
	assert.InDelta(t, 400, f.At.X, odRadius+1)
}

// frame is a rectangle of four elbows and four pipes lying on the floor's level, as in the first known answer: closed by
// threads alone it cannot be built.
func TestCheckLoop(t *testing.T) {
	k := newKit()
	const side = 400.0
	corners := []geom.Vec{{}, geom.V(side, 0, 0), geom.V(side, side, 0), geom.V(0, side, 0)}
	length := side - 2*(reach-engaged)
	for i, c := range corners {
		next := corners[(i+1)%4].Sub(c).Unit()
		prev := corners[(i+3)%4].Sub(c).Unit()
		k.elbow(id("knee", i), geom.Pose{Origin: c, X: prev, Y: next, Z: prev.Cross(next)})
		k.pipe(id("pipe", i), c.Add(next.Mul(reach-engaged)), next, length)
	}
	for i := range corners {
		k.thread(id("out", i), id("pipe", i), "a", id("knee", i), "b")
		k.thread(id("in", i), id("pipe", i), "b", id("knee", (i+1)%4), "a")
	}
	k.put(assembly.Place, []string{"knee0"}, nil, nil, geom.V(0, 0, -10))
	for i := range 4 {
		k.screw(id("out", i), 30, id("knee", i), id("pipe", i))
		if i < 3 {
			k.screw(id("in", i), 30, id("pipe", i), id("knee", i+1))
		}
	}
	k.append(k.plan.Steps[7])
	last := &k.plan.Steps[8]
	last.Joints, last.Onto = []string{"in3"}, []string{"knee0"}
	r := k.check()
	requireFailure(t, r, replay.CodeLocked, 9, "rigidly joined already: in3 cannot be screwed")
}

func id(name string, i int) string { return name + string(rune('0'+i)) }

// Bench work is not in the way of what stands in place, and the reverse; the whole group is then carried in.
func TestCheckBench(t *testing.T) {
	wall := geom.Box{Min: geom.V(-90, -1000, 300), Max: geom.V(-30, 1000, 2000)}
	k := lamp(wall) // the wall is 30 mm away, so that the knee, with a swing radius of 38, could not be turned in place
	k.put(assembly.Place, []string{"knee"}, nil, nil, geom.V(0, 0, -20)).Where = "bench"
	k.screw("side", 50, "knee", "arm").Where = "bench"
	k.screw("high", 50, "knee", "post").Where = "bench"
	k.screw("low", 50, "post", "foot").Where = "bench"
	k.put(assembly.StandUp, []string{"foot", "post", "knee", "arm"}, []string{"room"}, []string{"floor"}, geom.V(-300, 0, 0))
	order := map[string]int{"room": 0, "knee": 1, "arm": 2, "post": 3, "foot": 4}
	for i := range k.plan.Parts {
		k.plan.Parts[i].Number = order[k.plan.Parts[i].ID]
	}
	requireOK(t, k.check())
	requireFailure(t, build(lamp(wall)).check(), replay.CodeCrash, 3, "knee runs into room")

	k.plan.Steps[4].Moves = []string{"foot", "post", "knee"}
	requireFailure(t, k.check(), replay.CodeOrder, 5, "moves without arm")
}

// The finished frame is judged even when no motion crosses: a shelf that a post pierces.
func TestCheckOverlap(t *testing.T) {
	k := build(lamp())
	k.plan.Parts = k.plan.Parts[:len(k.plan.Parts):len(k.plan.Parts)]
	k.pipe("beam", geom.V(-200, 5, 300), geom.AxisX, 400)
	k.put(assembly.Place, []string{"beam"}, nil, nil, geom.V(0, 0, -0.01))
	f := requireFailure(t, k.check(), replay.CodeOverlap, 0, "overlap by at least")
	assert.Greater(t, f.MM, 1.0)
	assert.InDelta(t, 300, f.At.Z, 2*odRadius)
}

// Mating threads may overlap by (e - L1)/32 on the radius and no more: a pipe with threads cut 0.2 mm too fat does not
// pass, nor does one whose joint gives no hand-tight length.
func TestCheckMatingThreads(t *testing.T) {
	k := build(lamp())
	k.joint("low").HandTightMM = engaged
	requireFailure(t, k.check(), replay.CodeOverlap, 0, "post and foot overlap")

	deep := (engaged - handTight) / 32
	k = build(lamp())
	k.joint("low").HandTightMM = handTight + 32*(replay.OverlapToleranceMM-0.01)
	requireOK(t, k.check())
	require.Greater(t, deep, float64(replay.OverlapToleranceMM), "or the exemption would be idle")
}

func TestCheckSameOnOneCore(t *testing.T) {
	k := build(lamp(geom.Box{Min: geom.V(-90, -1000, 0), Max: geom.V(-36, 1000, 2000)}))
	many := k.check()
	old := runtime.GOMAXPROCS(1)
	defer runtime.GOMAXPROCS(old)
	assert.Equal(t, many, k.check())
	assert.NotEmpty(t, many.Failures)
	assert.Len(t, many.Findings(), len(many.Failures))
}

// Whatever number of a sound plan is changed by more than rounding, the replay notices.
func TestCheckEveryNumber(t *testing.T) {
	const teeth = 1
	n := len(comb(teeth).plan.Steps)
	nudges := map[string]func(s *assembly.Step){
		"start x":  func(s *assembly.Step) { s.Start.Origin.X += 0.5 },
		"start y":  func(s *assembly.Step) { s.Start.Origin.Y += 0.5 },
		"start z":  func(s *assembly.Step) { s.Start.Origin.Z += 0.5 },
		"start up": func(s *assembly.Step) { s.Start = s.Start.Turned(s.Start.Origin, geom.V(0.6, 0, 0.8), 0.01, 0) },
		"way x":    func(s *assembly.Step) { s.Motion[0].By.X += 0.5 },
		"way y":    func(s *assembly.Step) { s.Motion[0].By.Y += 0.5 },
		"way z":    func(s *assembly.Step) { s.Motion[0].By.Z += 0.5 },
		"cut off":  func(s *assembly.Step) { s.Motion = s.Motion[:len(s.Motion)-1] },
	}
	turns := map[string]func(s *assembly.Step){
		"degrees": func(s *assembly.Step) { s.Motion[1].ByDeg += 1 },
		"advance": func(s *assembly.Step) { s.Motion[1].AdvanceMM += 0.01 },
		"turns":   func(s *assembly.Step) { s.Turns += 0.01 },
		"axis": func(s *assembly.Step) {
			s.Motion[1].Axis.At = s.Motion[1].Axis.At.Add(s.Motion[1].Axis.Dir.Across().Mul(0.1))
		},
		"flipped":  func(s *assembly.Step) { s.Motion[1].Axis.Dir = s.Motion[1].Axis.Dir.Neg() },
		"no joint": func(s *assembly.Step) { s.Joints = nil },
		"no onto":  func(s *assembly.Step) { s.Onto = nil },
		"reversed": func(s *assembly.Step) { s.Motion[0], s.Motion[1] = s.Motion[1], s.Motion[0]; s.Motion[1].By.X++ },
	}
	for i := range n {
		for name, nudge := range nudges {
			k := comb(teeth)
			nudge(&k.plan.Steps[i])
			assert.False(t, k.check().OK(), "step %d: %s", i+1, name)
		}
		if i == 0 {
			continue // the first part is only put down
		}
		for name, nudge := range turns {
			k := comb(teeth)
			nudge(&k.plan.Steps[i])
			assert.False(t, k.check().OK(), "step %d: %s", i+1, name)
		}
	}
}
