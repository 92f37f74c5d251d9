package wording_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
)

var update = flag.Bool("update", false, "accept the output as the golden files")

const inch = 25.4

var (
	up    = geom.AxisZ
	right = geom.AxisX
	back  = geom.AxisY
)

// model is an invented frame with one of each kind of joint.
func model() ([]assembly.Part, []assembly.Joint) {
	port := func(name string, at, out geom.Vec) assembly.Port { return assembly.Port{Name: name, At: at, Out: out} }
	part := func(id string, number int, k standard.Kind, ports ...assembly.Port) assembly.Part {
		return assembly.Part{ID: id, Number: number, Kind: k, Size: assembly.Sizes{"3/4"}, Ports: ports, Pose: geom.Identity()}
	}
	foot := part("foot", 1, standard.Flange, port("face", geom.Vec{}, up.Neg()), port("a", geom.V(0, 0, 20), up))
	foot.Dims = standard.Dims{standard.DimHoles: {MM: 4}}
	foot2 := part("foot2", 1, standard.Flange, port("face", geom.V(500, 0, 0), up.Neg()), port("a", geom.V(500, 0, 20), up))
	foot2.Dims = foot.Dims
	bracket := part("bracket", 1, standard.Flange, port("face", geom.V(0, 900, 1800), back), port("a", geom.V(0, 880, 1800), back.Neg()))
	bracket.Dims = foot.Dims
	post := part("post.1", 2, standard.Pipe, port("a", geom.V(0, 0, 6), up.Neg()), port("b", geom.V(0, 0, 1800), up))
	post.LengthMM = 46.48 * inch
	post2 := post
	post2.ID = "post.2"
	tee := part("tee", 3, standard.Tee, port("a", geom.V(0, 0, 1780), up.Neg()), port("b", geom.V(0, 0, 1840), up), port("c", geom.V(0, 30, 1810), back.Neg()))
	knee := part("knee", 4, standard.Elbow, port("a", geom.V(0, 0, 1780), up.Neg()), port("b", geom.V(30, 0, 1810), right))
	plug := part("plug", 5, standard.Plug, port("a", geom.V(0, 0, 1790), up.Neg()))
	ua := part("rail.union-1.a", 6, standard.Union, port("a", geom.V(0, 0, 0), right.Neg()), port("seat", geom.V(20, 0, 0), right))
	ua.Half = "a"
	ub := part("rail.union-1.b", 6, standard.Union, port("b", geom.V(40, 0, 0), right), port("seat", geom.V(20, 0, 0), right.Neg()))
	ub.Half = "b"
	turnbuckle := part("rail.right-left-1", 7, standard.RightLeft, port("a", geom.Vec{}, right.Neg()), port("b", geom.V(40, 0, 0), right))
	shelf := assembly.Part{ID: "shelf", Number: 8, Kind: standard.Board, Pose: geom.Identity(), Boxes: []geom.Box{{Max: geom.V(900, 300, 1750)}}}
	strap := assembly.Part{ID: "shelf.strap-1", Number: 9, Kind: standard.Strap, Size: assembly.Sizes{"3/4"}, Pose: geom.Identity()}
	room := assembly.Part{ID: "room", Kind: standard.Room}
	window := &assembly.Window{Min: 4.746 + 0.5, Max: 7.875 + 1}
	joint := func(id string, k assembly.JointKind, a, pa, b, pb string, dir geom.Vec) assembly.Joint {
		j := assembly.Joint{ID: id, Kind: k, A: assembly.End{Part: a, Port: pa}, B: assembly.End{Part: b, Port: pb}}
		if dir != (geom.Vec{}) {
			j.Axis, j.Hand, j.PitchMM, j.Turns = &assembly.Axis{Dir: dir}, "right", 25.4/14, window
		}
		return j
	}
	left := joint("rl-b", assembly.RightLeft, "rail.right-left-1", "b", "post.2", "b", right)
	left.Hand = "left"
	return []assembly.Part{room, foot, foot2, bracket, post, post2, tee, knee, plug, ua, ub, turnbuckle, shelf, strap}, []assembly.Joint{
		joint("foot-room", assembly.Face, "foot", "face", "room", "", geom.Vec{}),
		joint("foot2-room", assembly.Face, "foot2", "face", "room", "", geom.Vec{}),
		joint("bracket-room", assembly.Face, "room", "", "bracket", "face", geom.Vec{}),
		joint("foot-post", assembly.Thread, "post.1", "a", "foot", "a", up.Neg()),
		joint("post-tee", assembly.Thread, "post.1", "b", "tee", "a", up),
		joint("post-knee", assembly.Thread, "post.1", "b", "knee", "a", up),
		joint("tee-plug", assembly.Thread, "plug", "a", "tee", "b", up.Neg()),
		joint("nut", assembly.UnionNut, "rail.union-1.a", "seat", "rail.union-1.b", "seat", right),
		joint("rl-a", assembly.RightLeft, "rail.right-left-1", "a", "post.1", "b", right.Neg()), left,
		joint("shelf-posts", assembly.Bored, "shelf", "", "post.1", "", geom.Vec{}),
		joint("strap-shelf", assembly.StrapOn, "shelf.strap-1", "", "shelf", "", geom.Vec{}),
		joint("shelf-rests", assembly.Rest, "shelf", "", "post.2", "", geom.Vec{}),
		joint("foot-shelf", assembly.Face, "foot", "face", "shelf", "", geom.Vec{}),
		joint("foot-rest", assembly.Rest, "foot", "face", "room", "", geom.Vec{}),
	}
}

func screw(joint, onto string, moves ...string) assembly.Step {
	return assembly.Step{Action: assembly.Screw, Joints: []string{joint}, Onto: []string{onto}, Moves: moves, Turns: 7.875, People: 1}
}

// pointing gives a step the clock that the order of work gives it: where a port of a part must point.
func pointing(s assembly.Step, part, port string, toward geom.Vec, symmetry int) assembly.Step {
	s.Clock = &assembly.Clock{
		Part: part, Port: port, Toward: toward, Against: "foot", Symmetry: symmetry, StopTurns: 1 / float64(symmetry),
		Stops: 3 * symmetry, StopMM: 25.4 / 14 / float64(symmetry),
	}
	return s
}

func TestStepGolden(t *testing.T) {
	parts, joints := model()
	steps := []struct {
		name string
		step assembly.Step
	}{
		{"flange to the floor", assembly.Step{Action: assembly.Fasten, Moves: []string{"foot"}, Onto: []string{"room"}, Joints: []string{"foot-room"}}},
		{"flange to the wall", assembly.Step{Action: assembly.Fasten, Moves: []string{"bracket"}, Onto: []string{"room"}, Joints: []string{"bracket-room"}, People: 2}},
		{"flange to a board", assembly.Step{Action: assembly.Fasten, Moves: []string{"foot"}, Onto: []string{"shelf"}, Joints: []string{"foot-shelf"}}},
		{"two flanges that stand", assembly.Step{Action: assembly.Fasten, Onto: []string{"foot", "foot2", "room"}, Joints: []string{"foot-room", "foot2-room"}}},
		{"a group carried in", assembly.Step{Action: assembly.Fasten, Moves: []string{"foot", "foot2", "post.1", "post.2", "tee", "knee", "plug"}, Onto: []string{"room"},
			Joints: []string{"foot-room", "foot2-room"}, People: 2}},
		{"pipe into flange", screw("foot-post", "foot", "post.1")},
		{"flange onto pipe", screw("foot-post", "post.1", "foot")},
		{"tee onto pipe, the first that points", screw("post-tee", "post.1", "tee")},
		{"tee onto pipe", pointing(screw("post-tee", "post.1", "tee"), "tee", "c", back.Neg(), 1)},
		{"tee onto pipe by its branch", pointing(screw("post-tee", "post.1", "tee"), "tee", "b", up, 2)},
		{"flange on a stud", pointing(screw("foot-post", "post.1", "foot"), "foot", assembly.HolesPort, up, 4)},
		{"elbow onto pipe, wide", func() assembly.Step {
			s := pointing(screw("post-knee", "post.1", "knee", "post.2", "tee"), "knee", "b", right, 1)
			s.SwingRadiusMM = 20 * inch
			s.People = 3
			return s
		}()},
		{"plug into tee", screw("tee-plug", "tee", "plug")},
		{"pipe with what it carries", pointing(screw("foot-post", "foot", "post.1", "tee"), "tee", "c", back.Neg(), 1)},
		{"repeats", func() assembly.Step {
			s := screw("foot-post", "foot", "post.1")
			s.Repeats = []assembly.Repeat{{Moves: []string{"post.2"}, Onto: []string{"foot2"}}}
			return s
		}()},
		{"more repeats", func() assembly.Step {
			s := pointing(screw("foot-post", "foot", "post.1"), "tee", "c", back.Neg(), 1)
			left := *s.Clock
			left.Toward = right.Neg()
			s.Mirrored = true
			s.Repeats = []assembly.Repeat{{Moves: []string{"post.2"}, Clock: &left}, {Moves: []string{"post.1"}}, {Moves: []string{"knee"}}}
			return s
		}()},
		{"union, nut only", assembly.Step{Action: assembly.JoinUnion, Joints: []string{"nut"}, Onto: []string{"rail.union-1.a", "rail.union-1.b"}}},
		{"union, one side moved", assembly.Step{Action: assembly.JoinUnion, Joints: []string{"nut"}, Moves: []string{"rail.union-1.b", "post.2"}, Onto: []string{"rail.union-1.a"}}},
		{"right and left", assembly.Step{Action: assembly.Screw, Joints: []string{"rl-a", "rl-b"}, Moves: []string{"rail.right-left-1"}, Onto: []string{"post.1", "post.2"},
			Draws: []assembly.Draw{{Moves: []string{"post.2"}, By: geom.V(-28.575, 0, 0)}}}},
		{"board over posts", assembly.Step{Action: assembly.ThreadOn, Moves: []string{"shelf"}, Onto: []string{"post.1", "post.2"}, Joints: []string{"shelf-posts"}}},
		{"board on a rail", assembly.Step{Action: assembly.Place, Moves: []string{"shelf"}, Onto: []string{"post.2"}, Joints: []string{"shelf-rests"}}},
		{"strap", assembly.Step{Action: assembly.PutStrap, Moves: []string{"shelf.strap-1"}, Onto: []string{"shelf", "post.2"}, Joints: []string{"strap-shelf"}}},
		{"stand on the floor", assembly.Step{Action: assembly.Place, Moves: []string{"foot"}, Onto: []string{"room"}, Joints: []string{"foot-rest"}}},
		{"first part", assembly.Step{Action: assembly.Place, Moves: []string{"tee"}}},
		{"held where nothing fastens it", assembly.Step{Action: assembly.Place, Moves: []string{"foot", "post.1"}, Onto: []string{"room"}}},
		{"stand up", assembly.Step{Action: assembly.StandUp, Moves: []string{"foot", "post.1", "post.2"}, Onto: []string{"room"}, People: 2}},
		{"adjust", assembly.Step{Action: assembly.Adjust, Moves: []string{"foot"}, Onto: []string{"post.1"},
			Motion: []assembly.Move{{Kind: assembly.Turn, Axis: assembly.Axis{Dir: up.Neg()}, ByDeg: -540, AdvanceMM: 1.5 * 25.4 / 14}}}},
		{"adjust, deeper", assembly.Step{Action: assembly.Adjust, Moves: []string{"foot"}, Onto: []string{"post.1"},
			Motion: []assembly.Move{{Kind: assembly.Turn, Axis: assembly.Axis{Dir: up}, ByDeg: 360, AdvanceMM: 25.4 / 14}}}},
	}
	var out strings.Builder
	for _, sys := range []units.System{units.InchSystem, units.MetricSystem} {
		b := wording.NewBook(sys, parts, joints)
		for _, s := range steps {
			fmt.Fprintf(&out, "%s (%s)\n    %s\n", s.name, sys, b.Step(s.step))
		}
	}
	golden(t, "steps.txt", out.String())
}

// What is beyond the hands there are is propped, and named.
func TestProps(t *testing.T) {
	parts, joints := model()
	b := wording.NewBook(units.InchSystem, parts, joints)
	s := assembly.Step{Action: assembly.Place, Moves: []string{"shelf"}, Onto: []string{"post.2"}, Joints: []string{"shelf-rests"}, Props: []string{"post.2"}}
	assert.Equal(t, "Put the board shelf (8) on the pipe (2) at post.2. Prop up the pipe (2) at post.2 meanwhile: there are more groups to hold than hands.", b.Step(s))
}

// A glide has a stem that is pushed into the pipe, whichever of the two moves; nothing is screwed.
func TestGlideIsPushedIn(t *testing.T) {
	parts := []assembly.Part{
		{ID: "leg.1", Number: 1, Kind: standard.Pipe, Size: assembly.Sizes{"3/4"}, LengthMM: 400, Pose: geom.Identity()},
		{ID: "foot", Number: 2, Kind: standard.Glide, Size: assembly.Sizes{"3/4"}, Pose: geom.Identity()},
	}
	joints := []assembly.Joint{{ID: "stem", Kind: assembly.Face, A: assembly.End{Part: "leg.1", Port: "a"}, B: assembly.End{Part: "foot", Port: "a"}}}
	b := wording.NewBook(units.MetricSystem, parts, joints)
	step := assembly.Step{Action: assembly.Fasten, Moves: []string{"foot"}, Onto: []string{"leg.1"}, Joints: []string{"stem"}}
	assert.Equal(t, "Push the 3/4 in glide (2) into the end of the pipe (1), as far as it goes.", b.Step(step))
	step.Moves, step.Onto = step.Onto, step.Moves
	assert.Equal(t, "Push the pipe (1) onto the stem of the glide (2).", b.Step(step))
}

// Over a plan, what holds for many steps is said once, and groups are told apart.
func TestSteps(t *testing.T) {
	parts, joints := model()
	for i := range parts {
		parts[i].MassKG = 4
	}
	b := wording.NewBook(units.InchSystem, parts, joints)
	group := []string{"foot", "foot2", "bracket", "post.1", "post.2", "tee", "knee"} // 28 kg, 62 lb
	texts := b.Steps([]assembly.Step{
		{Action: assembly.Place, Moves: []string{"post.1"}, People: 1},
		pointing(screw("post-tee", "post.1", "tee"), "tee", "c", back.Neg(), 1),
		screw("foot-post", "post.1", "foot"),
		{Action: assembly.Place, Moves: []string{"knee"}, People: 1},
		{Action: assembly.Fasten, Moves: []string{"foot2"}, Joints: []string{"foot2-room"}, People: 1},
		{Action: assembly.Fasten, Moves: []string{"bracket"}, Joints: []string{"bracket-room"}, People: 1},
		{Action: assembly.Fasten, Moves: group, Joints: []string{"bracket-room"}, People: 1},
		{Action: assembly.Fasten, Moves: group, Joints: []string{"bracket-room", "foot-room"}, People: 2},
	})
	assert.Equal(t, []string{
		"Begin with the 3/4 in pipe (2) for post.1, 46 1/2 in long.",
		"Screw the 3/4 in tee (3) onto the pipe (2) at post.1: 5 1/2 to 8 1/2 turns, and stop when the branch points towards you. " +
			"Turn it clockwise, seen from behind it, and hold the other piece still with a second wrench. " +
			"It comes round once in a turn: once past it, go on round to the next time and do not turn back.",
		"Screw the 3/4 in floor flange (1) for foot onto the pipe (2) at post.1: about 8 turns (5 1/2 to 8 1/2).",
		"Start another group with the 3/4 in elbow (4).",
		"Look for cables and pipes before you drill. Fasten the 3/4 in floor flange (1) for foot2 to the floor with 4 screws.",
		"Fasten the 3/4 in floor flange (1) for bracket to the back wall with 4 screws.",
		"Lift the assembled frame (7 parts, 62 lb) into place. Fasten the floor flange (1) at bracket to the back wall with 4 screws. " +
			"It is too heavy to lift alone: get help. Prop it until every screw is tight, and let nobody stand below.",
		"Stand the assembled frame (7 parts, 62 lb) in place. Fasten the floor flange (1) at bracket to the back wall and " +
			"the floor flange (1) at foot to the floor, with 4 screws each. This takes two people.",
	}, texts)
}

// Parts of which the holes are not known are fastened without a number of screws, on a wall that no port names.
func TestStepFastenUnknown(t *testing.T) {
	parts := []assembly.Part{{ID: "room", Kind: standard.Room}, {ID: "rail", Number: 1, Kind: standard.Cleat}, {ID: "wheel-1", Number: 2, Kind: standard.Caster},
		{ID: "wheel-2", Number: 2, Kind: standard.Caster}, {ID: "base", Number: 3, Kind: standard.Board}, {ID: "top", Number: 4, Kind: standard.Board}}
	face := func(id, a, b string) assembly.Joint {
		return assembly.Joint{ID: id, Kind: assembly.Face, A: assembly.End{Part: a}, B: assembly.End{Part: b}}
	}
	b := wording.NewBook(units.InchSystem, parts, []assembly.Joint{face("c", "rail", "room"), face("w1", "wheel-1", "base"), face("w2", "top", "wheel-2")})
	assert.Equal(t, []string{
		"Look for cables and pipes before you drill. Fasten the cleat rail (1) to the wall.",
		"Fasten the caster (2) for wheel-1 to the board base (3).",
		"Fasten the caster (2) at wheel-1 to the board base (3) and the caster (2) at wheel-2 to the board top (4).",
	}, b.Steps([]assembly.Step{
		{Action: assembly.Fasten, Moves: []string{"rail"}, Joints: []string{"c"}},
		{Action: assembly.Fasten, Moves: []string{"wheel-1"}, Joints: []string{"w1"}},
		{Action: assembly.Fasten, Moves: []string{"wheel-1", "wheel-2"}, Joints: []string{"w1", "w2"}},
	}))
}

// A left-hand thread is told on every step, and a tee turned by its branch is told by the line of its run.
func TestStepHandAndRun(t *testing.T) {
	parts, joints := model()
	for i := range joints {
		if joints[i].ID == "post-tee" {
			joints[i].Hand = "left"
			joints[i].B.Port, joints[i].Axis = "c", &assembly.Axis{Dir: back}
		}
	}
	s := pointing(screw("post-tee", "post.1", "tee"), "tee", "b", up, 2)
	for _, text := range wording.NewBook(units.InchSystem, parts, joints).Steps([]assembly.Step{s, s}) {
		assert.Contains(t, text, "and stop when the straight run lies upright")
		assert.Contains(t, text, "This is a left-hand thread: turn it anticlockwise, seen from behind it")
		assert.NotContains(t, text, " clockwise")
	}
}

func golden(t *testing.T, name, got string) {
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.MkdirAll("testdata", 0o777))
		require.NoError(t, os.WriteFile(path, []byte(got), 0o666))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err, "run with -update to make it")
	if got != string(want) {
		require.NoError(t, os.WriteFile(path+".new", []byte(got), 0o666))
		t.Errorf("%s differs: compare it with %s.new, and accept with -update", path, path)
	}
}

// What is written never leaves the window, says two different numbers, and is as coarse as that allows.
func TestTurns(t *testing.T) {
	for _, tt := range []struct {
		min, max, turns float64
		want            string
	}{
		{5.246, 8.875, 7.875, "about 8 turns (5 1/2 to 8 1/2)"},
		{5, 7.5, 7, "about 7 turns (5 to 7 1/2)"},
		{5, 7.5, 7.4, "about 7 1/2 turns (5 to 7 1/2)"},
		{5, 7.9, 7.9, "about 7 1/2 turns (5 to 7 1/2)"},
		{5, 7.5, 0, "5 to 7 1/2 turns"},
		{0.5, 1, 0.6, "about 1/2 turn (1/2 to 1)"},
		{5.1, 5.6, 5.4, "about 5 1/2 turns (5 1/4 to 5 1/2)"},
		{5.1, 5.2, 5.15, "5.1 to 5.2 turns"},
		{0.1, 0.6, 0.3, "about 1/4 turn (1/4 to 1/2)"},
	} {
		assert.Equal(t, tt.want, wording.Turns(tt.turns, assembly.Window{Min: tt.min, Max: tt.max}))
	}
}

// In the finished frame x points right, y to the back wall, z up; a person stands in front and faces the back wall.
func TestDirection(t *testing.T) {
	for _, tt := range []struct {
		d    geom.Vec
		want string
	}{
		{geom.V(0, 0, 1), "up"}, {geom.V(0, 0, -2), "down"}, {geom.V(1, 0, 0), "to the right"}, {geom.V(-1, 0, 0), "to the left"},
		{geom.V(0, 1, 0), "to the back"}, {geom.V(0, -1, 0), "towards you"}, {geom.V(1, 0, 1), "to the right and up"},
		{geom.V(0, -1, -1), "towards you and down"},
		{geom.V(math.Sin(0.05), 0, math.Cos(0.05)), "up"},
		{geom.V(1, 1, 1), "to the right, to the back and up"},
	} {
		assert.Equal(t, tt.want, wording.Direction(tt.d), "%v", tt.d)
	}
}

func TestLine(t *testing.T) {
	for want, d := range map[string]geom.Vec{
		"upright": {Z: -2}, "from left to right": {X: -1}, "from back to front": {Y: 1, X: 0.05},
		"with one end pointing to the left and up": {X: 1, Z: -1},
	} {
		assert.Equal(t, want, wording.Line(d))
	}
}

func TestSurface(t *testing.T) {
	for want, d := range map[string]geom.Vec{
		"floor": {Z: -1}, "ceiling": {Z: 1}, "left wall": {X: -1}, "right wall": {X: 1}, "back wall": {Y: 1, X: 0.05}, "front wall": {Y: -1},
	} {
		assert.Equal(t, want, wording.Surface(d))
	}
}

func TestPartName(t *testing.T) {
	p := assembly.Part{ID: "rail.1", Kind: standard.Pipe, Size: assembly.Sizes{"3/4"}, LengthMM: 470}
	assert.Equal(t, "3/4 in pipe, 470 mm long", wording.PartName(units.MetricSystem, p))
	assert.Equal(t, "3/4 in pipe, 18 1/2 in long", wording.PartName(units.InchSystem, p))
	assert.Equal(t, "3/4 x 3/4 x 1/2 in tee", wording.PartName("mm", assembly.Part{Kind: standard.Tee, Size: assembly.Sizes{"3/4", "3/4", "1/2"}}))
	assert.Equal(t, "board shelf", wording.PartName("mm", assembly.Part{ID: "shelf", Kind: standard.Board}))
	assert.Equal(t, "1 in union half b", wording.PartName("mm", assembly.Part{Kind: standard.Union, Half: "b", Size: assembly.Sizes{"1"}}))
	for _, k := range standard.Kinds() {
		assert.NotEmpty(t, wording.PartName("mm", assembly.Part{ID: "x", Kind: k}), "%s", k)
	}
}

func TestAnd(t *testing.T) {
	assert.Equal(t, "", wording.And(nil))
	assert.Equal(t, "a", wording.And([]string{"a"}))
	assert.Equal(t, "a, b and c", wording.And([]string{"a", "b", "c"}))
	assert.Equal(t, "1 screw, 4 screws", wording.Count(1, "screw")+", "+wording.Count(4, "screw"))
}

// Steps of a plan that is not sound still get words, and never a panic.
func TestStepUnsound(t *testing.T) {
	b := wording.NewBook("in", nil, nil)
	for _, a := range []assembly.Action{
		assembly.Screw, assembly.JoinUnion, assembly.Fasten, assembly.Place, assembly.PutStrap, assembly.ThreadOn, assembly.StandUp, assembly.Adjust, "dance",
	} {
		for _, joints := range [][]string{nil, {"x"}, {"x", "y"}} {
			for _, moves := range [][]string{nil, {"p"}, {"p", "q"}} {
				assert.NotEmpty(t, b.Step(assembly.Step{Action: a, Joints: joints, Moves: moves, Repeats: make([]assembly.Repeat, 2)}))
			}
		}
	}
}

func TestSafety(t *testing.T) {
	parts, joints := model()
	all := strings.Join(wording.Safety(assembly.Plan{Parts: parts, Joints: joints}), "\n")
	for _, words := range []string{"cables, pipes and ducts", "licensed electrician", "dust mask", "above head height", "local building codes", "gloves"} {
		assert.Contains(t, all, words)
	}
	assert.NotContains(t, all, "Spray", "nothing is sprayed")
	assert.NotContains(t, all, "tipping", "it is fastened to the room")

	parts[4].Finish = "black lacquer"
	free := strings.Join(wording.Safety(assembly.Plan{Parts: parts[1:6], Joints: nil}), "\n")
	assert.Contains(t, free, "Spray lacquer")
	assert.NotContains(t, free, "detector")
	tall := strings.Join(wording.Safety(assembly.Plan{Parts: parts[4:6]}), "\n")
	assert.Contains(t, tall, "against tipping")
}

func TestReadPages(t *testing.T) {
	p, err := wording.ReadPages("# words\n\na.b: {0} of {1}: done\n")
	require.NoError(t, err)
	assert.Equal(t, "2 of 3: done", p.Say("a.b", "2", "3"))
	assert.Equal(t, "<a.c>", p.Say("a.c"))
	assert.Equal(t, []string{"a.b"}, p.Names())
	for _, bad := range []string{"no colon", "a: 1\na: 2"} {
		_, err := wording.ReadPages(bad)
		assert.Error(t, err, bad)
	}
	_, err = wording.EnglishPages()
	assert.NoError(t, err)
}

// TestTurnsMark: a picture says how far to turn in the words of the sentence: the window where something must point, a
// number of turns elsewhere, and a deeper window where the joint is turned back later. 14 threads to the inch.
func TestTurnsMark(t *testing.T) {
	j := assembly.Joint{Turns: &assembly.Window{Min: 5.25, Max: 8.875}, PitchMM: 25.4 / 14, EngagementMM: 7.875 * 25.4 / 14}
	s := assembly.Step{Action: assembly.Screw, Turns: 7.875}
	assert.Equal(t, "about 8 turns", wording.TurnsMark(s, j))
	s.Clock = &assembly.Clock{}
	assert.Equal(t, "5 1/2 to 8 1/2 turns", wording.TurnsMark(s, j))
	s.Turns = 8.875
	assert.Equal(t, "6 1/2 to 8 1/2 turns", wording.TurnsMark(s, j), "one turn deeper than it stays")
	assert.Equal(t, "about 1 turn", wording.TurnsMark(assembly.Step{Action: assembly.Adjust, Turns: 1}, j))
	j.Turns = nil
	assert.Equal(t, "about 2 1/4 turns", wording.TurnsMark(assembly.Step{Turns: 2.2}, j))
}

// TestPointsCalledA: a point may be called a or b; only the halves of a union lose that ending.
func TestPointsCalledA(t *testing.T) {
	port := func(name string, out geom.Vec) assembly.Port { return assembly.Port{Name: name, Out: out} }
	corner := func(id string) assembly.Part {
		return assembly.Part{ID: id, Number: 1, Kind: standard.SideElbow, Size: assembly.Sizes{"1/2"}, Pose: geom.Identity(),
			Ports: []assembly.Port{port("a", right.Neg()), port("b", up.Neg()), port("c", back)}}
	}
	half := func(h string) assembly.Part {
		return assembly.Part{ID: "low.union-1." + h, Number: 3, Kind: standard.Union, Half: h, Size: assembly.Sizes{"1/2"}, Pose: geom.Identity()}
	}
	parts := []assembly.Part{corner("side.a"), corner("side.b"), half("a"), half("b"),
		{ID: "low.1", Number: 2, Kind: standard.Pipe, Size: assembly.Sizes{"1/2"}, Pose: geom.Identity()}}
	b := wording.NewBook(units.InchSystem, parts, []assembly.Joint{{ID: "j", Kind: assembly.Thread, A: assembly.End{Part: "low.1", Port: "b"},
		B: assembly.End{Part: "side.b", Port: "a"}, Axis: &assembly.Axis{Dir: right}, Hand: "right", PitchMM: 25.4 / 14}})
	// Of three openings two go round: one of them alone would leave two angles to choose from.
	s := pointing(screw("j", "low.1", "side.b"), "side.b", "b", up.Neg(), 1)
	assert.Contains(t, b.Step(s), "stop when the two openings to the side point down and to the back")
	s.Repeats = []assembly.Repeat{{Moves: []string{"side.a"}, Onto: []string{"low.1"}, Joints: s.Joints, Clock: s.Clock}}
	assert.Contains(t, b.Step(s), "for side.b onto")
	assert.Contains(t, b.Step(s), "x 2): side.a")
	bring := assembly.Step{Action: assembly.Place, Moves: []string{"low.union-1.a"}}
	assert.NotContains(t, b.Step(bring), "union-1.a")

	whole := assembly.Step{Action: assembly.Place, Where: "place", Moves: []string{"side.a", "side.b", "low.1"}}
	assert.Contains(t, b.Step(whole), "into place")
}
