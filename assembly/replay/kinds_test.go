package replay_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/replay"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// The tests of this file carry out each kind of step once, and spoil it.

// half adds one half of a union with its seat at a point; a's leg runs back along dir, b's forward. The nut of b reaches
// over a's collar.
func (k *kit) half(id, half string, seat, dir geom.Vec) {
	out := geom.AxisZ
	if half == "a" {
		out = out.Neg()
	}
	face := out.Mul(reach)
	leg := sdf.Join(sdf.Cylinder(geom.Vec{}, out, reach, 18))
	if half == "a" {
		leg = sdf.Join(leg, sdf.Cylinder(geom.Vec{}, out, 10, 21))
	} else {
		nut := sdf.Cut(sdf.Prism(geom.V(0, 0, -9), geom.AxisZ, geom.AxisX, 15, 52, 6), sdf.Cylinder(geom.V(0, 0, -10), geom.AxisZ, 10, 22))
		leg = sdf.Join(leg, nut)
	}
	s := sdf.Cut(leg, sdf.Cone(face, out.Neg(), socket, e1Radius, e1Radius-socket/32), sdf.Cylinder(out.Mul(-1), out, reach, 11.5))
	k.add(id+"."+half, standard.Union, geom.Facing(seat, dir, geom.AxisY), s, 0, port{half, face, out}, port{"seat", geom.Vec{}, out.Neg()})
	k.part(id + "." + half).Half = half
}

// unionRod is two flanges on walls with a rod between them that a union closes: a loop over the room only.
func unionRod() *kit {
	const gap = 1000.0
	k := newKit()
	k.room(geom.Box{Min: geom.V(-100, -500, -500), Max: geom.V(0, 500, 500)}, geom.Box{Min: geom.V(gap, -500, -500), Max: geom.V(gap+100, 500, 500)})
	x := geom.AxisX
	seat := geom.V(gap/2, 0, 0)
	length := gap/2 - reach - height + 2*engaged
	k.flange("left", geom.Facing(geom.Vec{}, x, geom.AxisY))
	k.pipe("rod.1", geom.V(height-engaged, 0, 0), x, length)
	k.half("union", "a", seat, x)
	k.flange("right", geom.Facing(geom.V(gap, 0, 0), x.Neg(), geom.AxisY))
	k.pipe("rod.2", geom.V(gap/2+reach-engaged, 0, 0), x, length)
	k.half("union", "b", seat, x)
	k.thread("left-rod", "rod.1", "a", "left", "a")
	k.thread("rod-a", "rod.1", "b", "union.a", "a")
	k.thread("b-rod", "rod.2", "a", "union.b", "b")
	k.thread("rod-right", "rod.2", "b", "right", "a")
	k.contact("left-wall", assembly.Face, "left", "face", "room", "")
	k.contact("right-wall", assembly.Face, "right", "face", "room", "")
	k.plan.Joints = append(k.plan.Joints, assembly.Joint{
		ID: "nut", Kind: assembly.UnionNut, A: assembly.End{Part: "union.a", Port: "seat"}, B: assembly.End{Part: "union.b", Port: "seat"},
		Axis: &assembly.Axis{At: seat, Dir: x},
	})
	side := func(flange, rod, half, low, high string, into geom.Vec) {
		k.put(assembly.Place, []string{flange}, nil, nil, geom.Vec{}).Where = "bench"
		k.screw(low, 40, flange, rod).Where = "bench"
		k.screw(high, 40, rod, half).Where = "bench"
	}
	side("left", "rod.1", "union.a", "left-rod", "rod-a", x)
	k.put(assembly.Fasten, []string{"left", "rod.1", "union.a"}, []string{"room"}, []string{"left-wall"}, geom.V(0, -0, -300))
	side("right", "rod.2", "union.b", "rod-right", "b-rod", x.Neg())
	k.number4union()
	return k
}

// number4union gives numbers in the order of the steps.
func (k *kit) number4union() {
	order := map[string]int{"left": 1, "rod.1": 2, "union.a": 3, "right": 4, "rod.2": 5, "union.b": 6}
	for i := range k.plan.Parts {
		k.plan.Parts[i].Number = order[k.plan.Parts[i].ID]
	}
}

// The nut of half b reaches 9 mm over half a. As drawn the right side cannot come straight down, it must come along the
// rod's line; between two walls it cannot do that either, standing off the right wall it can.
func TestUnion(t *testing.T) {
	side := []string{"right", "rod.2", "union.b"}
	k := unionRod()
	k.put(assembly.Fasten, side, []string{"room"}, []string{"right-wall"}, geom.V(0, 0, -300))
	k.append(assembly.Step{Action: assembly.JoinUnion, Onto: []string{"union.a", "union.b"}, Joints: []string{"nut"}, Where: "place", People: 1})
	requireFailure(t, k.check(), replay.CodeCrash, 8, "union.b runs into union.a")

	// A nut whose dimensions the plan tells is drawn back until its step.
	k = unionRod()
	k.part("union.b").Dims = standard.Dims{"nut-over": {MM: 9}, "nut-back": {MM: 6}}
	k.put(assembly.Fasten, side, []string{"room"}, []string{"right-wall"}, geom.V(0, 0, -300))
	k.append(assembly.Step{Action: assembly.JoinUnion, Onto: []string{"union.a", "union.b"}, Joints: []string{"nut"}, Where: "place", People: 1})
	requireOK(t, k.check())

	k = unionRod()
	free := k.plan.Parts[0].Boxes[:1]
	k.plan.Parts[0].Boxes = free
	k.solids["room"] = sdf.Boxes(free...)
	k.plan.Joints = k.plan.Joints[:len(k.plan.Joints):len(k.plan.Joints)]
	k.plan.Joints = append(k.plan.Joints[:5], k.plan.Joints[6:]...) // the right flange meets nothing
	k.put(assembly.JoinUnion, side, []string{"union.a"}, []string{"nut"}, geom.V(-60, 0, 0))
	requireOK(t, k.check())

	k.plan.Steps[7].Motion[0].By.X = -55
	requireFailure(t, k.check(), replay.CodePose, 8, "union.a and union.b lie 5 mm off their places")
}

// pairRod is a post held by a flange on the floor and one above it that can slide, to be joined by a piece that has two
// threads on one axis.
func pairRod(kind assembly.JointKind) *kit {
	k := newKit()
	k.room(floor())
	z := geom.AxisZ
	k.flange("foot", geom.At(geom.Vec{}))
	k.pipe("low", geom.V(0, 0, height-engaged), z, 300)
	mid := geom.V(0, 0, height-2*engaged+300+reach)
	k.pipe("high", mid.Add(geom.V(0, 0, reach-engaged)), z, 300)
	kindOf := map[assembly.JointKind]standard.Kind{assembly.RightLeft: standard.RightLeft, assembly.LongScrew: standard.LongScrew}[kind]
	k.fitting("piece", kindOf, geom.At(mid), z.Neg(), z)
	k.contact("floor", assembly.Face, "foot", "face", "room", "")
	k.thread("root", "low", "a", "foot", "a")
	k.thread("piece-low", "piece", "a", "low", "b")
	k.thread("piece-high", "piece", "b", "high", "a")
	k.joint("piece-low").Kind, k.joint("piece-high").Kind = kind, kind
	k.put(assembly.Fasten, []string{"foot"}, []string{"room"}, []string{"floor"}, geom.V(0, 0, -50))
	k.screw("root", 40, "foot", "low")
	return k
}

const pieceTurns = engaged / pitch

// rightLeft joins the two pipes by a right-and-left piece: the piece starts on the low pipe's mouth, drawn on to it as
// the high pipe is drawn into the piece. The low pipe stands, so the piece comes down by one engagement and the high pipe
// by two; seen from the piece at rest, that is a draw of both. The plan says it as the contract does: the piece turns
// without advance, and the high side comes down by both engagements.
func rightLeft() *kit {
	k := pairRod(assembly.RightLeft)
	k.part("high").LeftEnd = "a"
	k.joint("piece-high").Hand = "left"
	k.put(assembly.Place, []string{"high"}, nil, nil, geom.V(0, 0, -1)).Motion[0].By = geom.V(0, 0, 2*engaged-1)
	k.plan.Steps[2].Start = k.part("high").Pose.Moved(geom.V(0, 0, 1))
	piece := k.part("piece").Pose
	// Into the low pipe a right-hand thread turns positively about the way down.
	turn := assembly.Move{Kind: assembly.Turn, Axis: assembly.Axis{At: piece.Origin, Dir: geom.AxisZ.Neg()}, ByDeg: 360 * pieceTurns}
	k.append(assembly.Step{
		Action: assembly.Screw, Moves: []string{"piece"}, Onto: []string{"low", "high"}, Joints: []string{"piece-low", "piece-high"},
		Turns: pieceTurns, Where: "place", People: 2, SwingRadiusMM: 18,
		Start:  piece.Turned(piece.Origin, turn.Axis.Dir, -2*math.Pi*pieceTurns, 0).Moved(geom.V(80, 0, 0)),
		Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(-80, 0, 0)}, turn},
		Draws:  []assembly.Draw{{Moves: []string{"high"}, By: geom.V(0, 0, -2*engaged)}},
	})
	order := map[string]int{"foot": 1, "low": 2, "high": 3, "piece": 4}
	for i := range k.plan.Parts {
		k.plan.Parts[i].Number = order[k.plan.Parts[i].ID]
	}
	return k
}

func TestRightLeft(t *testing.T) {
	// Coming from the side at its final height the piece would pass through the end of the low pipe.
	k := rightLeft()
	requireFailure(t, k.check(), replay.CodeCrash, 4, "piece runs into low")

	tests := []struct {
		name   string
		tamper func(k *kit)
		code   string
		words  string
	}{
		{"same hands", func(k *kit) { k.joint("piece-high").Hand = "right" }, replay.CodeThread, "have the same hand"},
		{"turned open", func(k *kit) { k.plan.Steps[3].Motion[1].ByDeg *= -1 }, replay.CodeThread, "opens piece-low instead of tightening it"},
		{"advances", func(k *kit) { k.plan.Steps[3].Motion[1].AdvanceMM = 3 }, replay.CodeThread, "it advances 3 mm"},
		{"drawn too little", func(k *kit) { k.plan.Steps[3].Draws[0].By.Z = -engaged }, replay.CodeThread, "come together by 14.287 mm, both threads take 28.575 mm"},
		{"one joint only", func(k *kit) { k.plan.Steps[3].Joints = []string{"piece-low"} }, replay.CodeThread, "closes its two joints in one step"},
		{"more than the piece", func(k *kit) { k.plan.Steps[3].Moves = []string{"piece", "high"} }, replay.CodeThread, "and nothing else"},
		{"draws the floor's side", func(k *kit) { k.plan.Steps[3].Draws[0].Moves = []string{"low"} }, replay.CodeOrder, "drawn in without all of it"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			k := rightLeft()
			tt.tamper(k)
			requireFailure(t, k.check(), tt.code, 4, tt.words)
		})
	}
}

// A piece that comes in above the low pipe and is then let down with both sides drawn is clear.
func TestRightLeftClear(t *testing.T) {
	k := rightLeft()
	s := &k.plan.Steps[3]
	// The low side cannot move, so both draws are of the sides: high by two engagements, while the piece, which the
	// contract keeps still, is let down on the low pipe before it turns.
	s.Start = s.Start.Moved(geom.V(0, 0, engaged))
	s.Motion = []assembly.Move{s.Motion[0], {Kind: assembly.Translate, By: geom.V(0, 0, -engaged)}, s.Motion[1]}
	k.plan.Steps[2].Motion[0].By.Z += engaged
	s.Draws[0].By.Z -= 0
	k.plan.Steps[2].Motion[0].By.Z -= engaged
	r := k.check()
	for _, f := range r.Failures {
		assert.NotEqual(t, replay.CodeThread, f.Code, f.String())
		assert.NotEqual(t, replay.CodePose, f.Code, f.String())
	}
}

// longScrew joins two pipes that stand already by running the piece forward from the low pipe.
func longScrew() *kit {
	k := pairRod(assembly.LongScrew)
	k.part("low").Running = "b"
	// The low pipe carries the piece run back by one engagement: it must be thin enough there, without the swell of
	// its barrel.
	length := 300.0
	k.solids["low"] = sdf.Tube(geom.Vec{}, geom.AxisZ, length, e1Radius-socket/32, 10)
	piece := k.part("piece").Pose
	back := piece.Moved(geom.V(0, 0, -2*reach-5))
	k.solids["piece"] = sdf.Tube(geom.V(0, 0, -reach), geom.AxisZ, 2*reach, 18, e1Radius)
	k.append(assembly.Step{Action: assembly.Place, Moves: []string{"piece"}, Onto: []string{"low"}, Where: "place", People: 1,
		Start: back.Moved(geom.V(0, 0, 150)), Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 0, -150)}}})
	k.put(assembly.Place, []string{"high"}, nil, nil, geom.V(-50, 0, 0))
	n := pieceTurns
	k.append(assembly.Step{
		Action: assembly.Screw, Moves: []string{"piece"}, Onto: []string{"low", "high"}, Joints: []string{"piece-low", "piece-high"},
		Turns: n, Where: "place", People: 1, Start: back, SwingRadiusMM: 18,
		Motion: []assembly.Move{
			{Kind: assembly.Translate, By: geom.V(0, 0, 2*reach+5-engaged)},
			{Kind: assembly.Turn, Axis: assembly.Axis{At: piece.Origin, Dir: geom.AxisZ}, ByDeg: 360 * n, AdvanceMM: engaged},
		},
	})
	k.plan.Steps[4].Start = back.Turned(piece.Origin, geom.AxisZ, -2*math.Pi*n, 0)
	k.plan.Steps[2].Start = k.plan.Steps[4].Start.Moved(geom.V(0, 0, 150))
	order := map[string]int{"foot": 1, "low": 2, "piece": 3, "high": 4}
	for i := range k.plan.Parts {
		k.plan.Parts[i].Number = order[k.plan.Parts[i].ID]
	}
	return k
}

func TestLongScrew(t *testing.T) {
	k := longScrew()
	requireOK(t, k.check())
	k = longScrew()
	k.plan.Steps[4].Motion[1].ByDeg *= -1
	requireFailure(t, k.check(), replay.CodeThread, 5, "wrong way round for a right-hand thread")
	k = longScrew()
	k.plan.Steps[4].Motion[1].AdvanceMM = 20
	requireFailure(t, k.check(), replay.CodeThread, 5, "the coupling advances 20 mm")
	k = longScrew()
	k.plan.Steps[4].Start = k.plan.Steps[4].Start.Moved(geom.V(0, 0, 3))
	requireFailure(t, k.check(), replay.CodePose, 5, "piece stands in place 3 mm from where the motion starts")
}

// backed builds lamp's foot one turn too deep, and backs it off in place.
func backed() *kit {
	k := lamp()
	k.put(assembly.Place, []string{"post"}, nil, nil, geom.V(0, 0, -20))
	j := k.joint("low")
	n := j.EngagementMM/j.PitchMM + 1
	up := geom.AxisZ
	deep := k.part("foot").Pose.Turned(j.Axis.At, up, 2*math.Pi, pitch)
	k.append(assembly.Step{
		Action: assembly.Screw, Moves: []string{"foot"}, Onto: []string{"post"}, Joints: []string{"low"}, Turns: n, Where: "place", People: 1,
		Start: deep.Turned(j.Axis.At, up, -2*math.Pi*n, -n*pitch), SwingRadiusMM: 45,
		Motion: []assembly.Move{{Kind: assembly.Turn, Axis: assembly.Axis{At: j.Axis.At, Dir: up}, ByDeg: 360 * n, AdvanceMM: n * pitch}},
	})
	k.append(assembly.Step{
		Action: assembly.Adjust, Moves: []string{"foot"}, Onto: []string{"post"}, Turns: 1, Where: "place", People: 1, Start: deep, SwingRadiusMM: 45,
		Motion: []assembly.Move{{Kind: assembly.Turn, Axis: assembly.Axis{At: j.Axis.At, Dir: up}, ByDeg: -360, AdvanceMM: -pitch}},
	})
	k.append(assembly.Step{Action: assembly.Fasten, Onto: []string{"foot", "room"}, Joints: []string{"floor"}, Where: "place", People: 1})
	k.screw("high", 50, "post", "knee")
	k.screw("side", 50, "knee", "arm")
	order := map[string]int{"post": 1, "foot": 2, "knee": 3, "arm": 4}
	for i := range k.plan.Parts {
		k.plan.Parts[i].Number = order[k.plan.Parts[i].ID]
	}
	return k
}

// In place the flange would have to start from below the floor: the plan for it works at the bench.
func TestAdjust(t *testing.T) {
	k := backed()
	requireFailure(t, k.check(), replay.CodeCrash, 2, "foot runs into room")
	onBench := func() *kit {
		k := backed()
		k.plan.Steps[0].Where, k.plan.Steps[1].Where = "bench", "bench"
		carry := assembly.Step{Number: 3, Action: assembly.Place, Moves: []string{"post", "foot"}, Onto: []string{"room"}, Where: "place", People: 2,
			Start: k.part("post").Pose.Moved(geom.V(0, -300, 0)), Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 300, 0)}}}
		k.plan.Steps = append(k.plan.Steps[:2:2], append([]assembly.Step{carry}, k.plan.Steps[2:]...)...)
		for i := range k.plan.Steps {
			k.plan.Steps[i].Number = i + 1
		}
		return k
	}
	requireOK(t, onBench().check())

	k = onBench()
	k.plan.Steps[3].Motion[0].ByDeg = -180
	requireFailure(t, k.check(), replay.CodeThread, 4, "low advances -1.81429 mm in -0.5 turns")
	k = onBench()
	k.plan.Steps[3].Motion[0].Axis.At.X = 5
	requireFailure(t, k.check(), replay.CodeThread, 4, "low can only be turned about its own axis")
	k = onBench()
	k.plan.Steps = append(k.plan.Steps[:3:3], k.plan.Steps[4:]...)
	for i := range k.plan.Steps {
		k.plan.Steps[i].Number = i + 1
	}
	requireFailure(t, k.check(), replay.CodePose, 0, "foot ends 1.814 mm from its place")
	requireFailure(t, k.check(), replay.CodeThread, 0, "low ends 8.875 turns in, its engagement asks for 7.875")
}

// Two equal lamps, the second as repeats of the first's steps.
func TestRepeats(t *testing.T) {
	k := newKit()
	k.room(floor())
	for i := range 2 {
		at := geom.V(400*float64(i), 0, 0)
		k.flange(id("foot", i), geom.At(at))
		k.pipe(id("post", i), at.Add(geom.V(0, 0, height-engaged)), geom.AxisZ, 500)
		k.contact(id("floor", i), assembly.Face, id("foot", i), "face", "room", "")
		k.thread(id("low", i), id("post", i), "a", id("foot", i), "a")
	}
	for i := range k.plan.Parts {
		p := &k.plan.Parts[i]
		if p.Kind != standard.Room {
			p.Number = map[standard.Kind]int{standard.Flange: 1, standard.Pipe: 2}[p.Kind]
			p.Solid, p.Dims = string(p.Kind)+".stl", nil
		}
	}
	again := func(s *assembly.Step, from *assembly.Step) {
		s.Repeats = []assembly.Repeat{{Moves: from.Moves, Onto: from.Onto, Joints: from.Joints, Start: from.Start, Motion: from.Motion}}
	}
	first := *k.put(assembly.Fasten, []string{"foot0"}, []string{"room"}, []string{"floor0"}, geom.V(0, 0, -40))
	again(&first, k.put(assembly.Fasten, []string{"foot1"}, []string{"room"}, []string{"floor1"}, geom.V(0, 0, -40)))
	second := *k.screw("low0", 40, "foot0", "post0")
	again(&second, k.screw("low1", 40, "foot1", "post1"))
	k.plan.Steps = nil
	k.append(first)
	k.append(second)
	r := k.check()
	requireOK(t, r)
	require.Len(t, r.Steps, 4)
	assert.Equal(t, 1, r.Steps[3].Copy)

	k.plan.Steps[1].Repeats[0].Moves = []string{"foot1"}
	requireFailure(t, k.check(), replay.CodeOrder, 2, "it repeats the step with other parts")
	k.plan.Steps[1].Repeats = nil
	requireFailure(t, k.check(), replay.CodeOrder, 0, "post1 was never placed")
}

// A board with a hole goes over a post and no further than where it stands; one with a hole too small does not.
func TestThreadOn(t *testing.T) {
	make := func(hole float64) *kit {
		k := build(lamp())
		k.plan.Steps = k.plan.Steps[:2]
		at := geom.V(-100, -100, 300)
		s := sdf.Cut(sdf.Box(geom.Box{Max: geom.V(200, 200, 18)}), sdf.Cylinder(geom.V(100, 100, -1), geom.AxisZ, 20, hole/2))
		k.add("shelf", standard.Board, geom.At(at), s, 0)
		k.contact("bored", assembly.Bored, "shelf", "", "post", "")
		k.put(assembly.ThreadOn, []string{"shelf"}, []string{"post"}, []string{"bored"}, geom.V(0, 0, -400))
		k.screw("high", 50, "post", "knee")
		k.screw("side", 50, "knee", "arm")
		order := map[string]int{"foot": 1, "post": 2, "shelf": 3, "knee": 4, "arm": 5}
		for i := range k.plan.Parts {
			k.plan.Parts[i].Number = order[k.plan.Parts[i].ID]
		}
		return k
	}
	requireOK(t, make(2*odRadius+1.6).check())
	requireOK(t, make(2*odRadius).check()) // sliding fit: touching all round is contact
	requireFailure(t, make(2*odRadius-0.4).check(), replay.CodeCrash, 3, "shelf runs into post")
}

func TestCheckNoSolid(t *testing.T) {
	k := build(lamp())
	delete(k.solids, "arm")
	requireFailure(t, k.check(), replay.CodeSolid, 0, "arm has no solid")
}

// A plan that stops is followed as far as it goes.
func TestCheckStopped(t *testing.T) {
	k := build(lamp())
	k.plan.Steps = k.plan.Steps[:2]
	k.plan.Findings = []assembly.Finding{{Code: "SWING", Severity: assembly.Stop, Text: "no room"}}
	requireOK(t, k.check())
	k.plan.Steps[1].Motion[1].ByDeg = 90
	assert.False(t, k.check().OK())
}
