package replay_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/replay"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// 3/4 taper pipe thread in mm. ASME B1.20.1: E0, E1, L1, 14 threads to the inch; outside diameter ASME B36.10M.
// Reaches and wall sizes of the bodies are made up for these tests, near to those of a real fitting.
const (
	pitch     = 25.4 / 14
	e0Radius  = 24.579 / 2
	e1Radius  = 25.117 / 2
	handTight = 8.61
	engaged   = 14.2875 // 9/16 in, the handbook's normal engagement
	odRadius  = 26.67 / 2
	reach     = 33.3
	socket    = engaged + pitch + 1
	height    = 20.0 // of a flange
)

// kit builds frames by hand.
type kit struct {
	plan   assembly.Plan
	solids map[string]sdf.Solid
	number int
}

func newKit() *kit {
	return &kit{plan: assembly.Plan{Format: assembly.Format, Design: assembly.Header{Title: "test", Units: "mm", Thread: standard.NPT}},
		solids: map[string]sdf.Solid{}}
}

func (k *kit) solid(p assembly.Part) (sdf.Solid, error) {
	s := k.solids[p.ID]
	if s == nil {
		return nil, fmt.Errorf("none made")
	}
	return s, nil
}

func (k *kit) check() replay.Report { return replay.Check(k.plan, k.solid) }

// port is an opening in the part frame.
type port struct {
	name    string
	at, out geom.Vec
}

func (k *kit) add(id string, kind standard.Kind, pose geom.Pose, s sdf.Solid, length float64, ports ...port) {
	p := assembly.Part{ID: id, Kind: kind, Pose: pose, LengthMM: length, Solid: "solids/" + id + ".stl"}
	if kind != standard.Room {
		k.number++
		p.Number = k.number
	} else {
		p.Solid = ""
	}
	for _, q := range ports {
		p.Ports = append(p.Ports, assembly.Port{Name: q.name, At: pose.Apply(q.at), Out: pose.Rotate(q.out)})
	}
	// A made-up dimension keeps parts of equal kind apart, so that every part may have a number of its own.
	p.Dims = standard.Dims{"test": {MM: float64(k.number), Source: "test", Grade: standard.Measured}}
	k.plan.Parts = append(k.plan.Parts, p)
	k.solids[id] = s
}

func (k *kit) part(id string) *assembly.Part {
	i := slices.IndexFunc(k.plan.Parts, func(p assembly.Part) bool { return p.ID == id })
	return &k.plan.Parts[i]
}

func (k *kit) joint(id string) *assembly.Joint {
	i := slices.IndexFunc(k.plan.Joints, func(j assembly.Joint) bool { return j.ID == id })
	return &k.plan.Joints[i]
}

func (k *kit) port(id, name string) assembly.Port {
	p := k.part(id)
	i := slices.IndexFunc(p.Ports, func(q assembly.Port) bool { return q.Name == name })
	return p.Ports[i]
}

// room adds the world as boxes.
func (k *kit) room(boxes ...geom.Box) {
	k.add("room", standard.Room, geom.Identity(), sdf.Boxes(boxes...), 0)
	k.part("room").Boxes = boxes
}

// floor is a slab below z = 0.
func floor() geom.Box { return geom.Box{Min: geom.V(-3000, -3000, -100), Max: geom.V(3000, 3000, 0)} }

// pipe lies from at along dir.
func (k *kit) pipe(id string, at, dir geom.Vec, length float64) {
	profile := []sdf.Station{
		{S: 0, R: 10}, {S: 0, R: e0Radius}, {S: socket, R: e0Radius + socket/32}, {S: socket + 5, R: odRadius},
		{S: length - socket - 5, R: odRadius}, {S: length - socket, R: e0Radius + socket/32}, {S: length, R: e0Radius}, {S: length, R: 10},
	}
	s := sdf.Revolve(geom.Vec{}, geom.AxisZ, profile)
	k.add(id, standard.Pipe, geom.Facing(at, dir, geom.AxisX), s, length,
		port{"a", geom.Vec{}, geom.AxisZ.Neg()}, port{"b", geom.V(0, 0, length), geom.AxisZ})
}

// fitting has legs along the given directions of its frame.
func (k *kit) fitting(id string, kind standard.Kind, pose geom.Pose, dirs ...geom.Vec) {
	var add, cut []sdf.Solid
	var ports []port
	for i, d := range dirs {
		face := d.Mul(reach)
		add = append(add, sdf.Cylinder(geom.Vec{}, d, reach, 18))
		cut = append(cut, sdf.Cone(face, d.Neg(), socket, e1Radius, e1Radius-socket/32), sdf.Cylinder(geom.Vec{}, d, reach-socket, 11.5))
		ports = append(ports, port{string(rune('a' + i)), face, d})
	}
	k.add(id, kind, pose, sdf.Cut(sdf.Join(add...), cut...), 0, ports...)
}

func (k *kit) elbow(id string, pose geom.Pose) {
	k.fitting(id, standard.Elbow, pose, geom.AxisX, geom.AxisY)
}

func (k *kit) tee(id string, pose geom.Pose) {
	k.fitting(id, standard.Tee, pose, geom.AxisZ.Neg(), geom.AxisZ, geom.AxisX)
}

// flange stands with its face at the pose's origin.
func (k *kit) flange(id string, pose geom.Pose) {
	body := sdf.Join(sdf.Cylinder(geom.Vec{}, geom.AxisZ, 6, 45), sdf.Cylinder(geom.Vec{}, geom.AxisZ, height, 19))
	s := sdf.Cut(body, sdf.Cone(geom.V(0, 0, height), geom.AxisZ.Neg(), height, e1Radius, e1Radius-height/32))
	k.add(id, standard.Flange, pose, s, 0, port{"face", geom.Vec{}, geom.AxisZ.Neg()}, port{"a", geom.V(0, 0, height), geom.AxisZ})
}

// thread joins port pa of a to port pb of b.
func (k *kit) thread(id, a, pa, b, pb string) {
	p := k.port(a, pa)
	k.plan.Joints = append(k.plan.Joints, assembly.Joint{
		ID: id, Kind: assembly.Thread, A: assembly.End{Part: a, Port: pa}, B: assembly.End{Part: b, Port: pb},
		Axis: &assembly.Axis{At: p.At, Dir: p.Out}, Hand: "right", PitchMM: pitch, EngagementMM: engaged,
		Turns: &assembly.Window{Min: handTight/pitch + 0.5, Max: engaged/pitch + 1}, HandTightMM: handTight,
	})
}

// contact joins without threads.
func (k *kit) contact(id string, kind assembly.JointKind, a, pa, b, pb string) {
	k.plan.Joints = append(k.plan.Joints, assembly.Joint{
		ID: id, Kind: kind, A: assembly.End{Part: a, Port: pa}, B: assembly.End{Part: b, Port: pb},
	})
}

// put adds a step that brings bodies straight to their final places.
func (k *kit) put(action assembly.Action, moves, onto, joints []string, by geom.Vec) *assembly.Step {
	s := assembly.Step{Action: action, Moves: moves, Onto: onto, Joints: joints, Where: "place", People: 1}
	s.Start = k.part(moves[0]).Pose.Moved(by.Neg())
	s.Motion = []assembly.Move{{Kind: assembly.Translate, By: by}}
	return k.append(s)
}

// screw adds a step that brings moves[0] (with the rest) straight up to the joint from outside, and turns it in.
func (k *kit) screw(joint string, approach float64, onto string, moves ...string) *assembly.Step {
	j := k.joint(joint)
	into := j.Axis.Dir
	if !slices.Contains(moves, j.A.Part) {
		into = into.Neg()
	}
	n := j.EngagementMM / j.PitchMM
	by := into.Mul(approach)
	start := k.part(moves[0]).Pose.Turned(j.Axis.At, into, -2*math.Pi*n, -j.EngagementMM).Moved(by.Neg())
	return k.append(assembly.Step{
		Action: assembly.Screw, Moves: moves, Onto: []string{onto}, Joints: []string{joint}, Turns: n, Where: "place", People: 1,
		Start: start, SwingRadiusMM: 1,
		Motion: []assembly.Move{
			{Kind: assembly.Translate, By: by},
			{Kind: assembly.Turn, Axis: assembly.Axis{At: j.Axis.At, Dir: into}, ByDeg: 360 * n, AdvanceMM: j.EngagementMM},
		},
	})
}

func (k *kit) append(s assembly.Step) *assembly.Step {
	s.Number = len(k.plan.Steps) + 1
	k.plan.Steps = append(k.plan.Steps, s)
	return &k.plan.Steps[len(k.plan.Steps)-1]
}

// texts are the failures as sentences.
func texts(r replay.Report) []string {
	var out []string
	for _, f := range r.Failures {
		out = append(out, f.Code+" "+f.String())
	}
	return out
}

func requireOK(t *testing.T, r replay.Report) {
	t.Helper()
	require.Empty(t, texts(r))
}

// requireFailure asks for a failure of the code in the step whose text holds the words.
func requireFailure(t *testing.T, r replay.Report, code string, step int, words string) replay.Failure {
	t.Helper()
	for _, f := range r.Failures {
		if f.Code == code && f.Step == step && strings.Contains(f.Text, words) {
			return f
		}
	}
	require.Failf(t, "no such failure", "want %s in step %d with %q, have %q", code, step, words, texts(r))
	return replay.Failure{}
}
