package oracletest

import (
	"bytes"
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/planfile"
	"turnwise/assembly/replay"
	"turnwise/geom"
)

const testHead = "units: mm\nthread: npt\npipe: 3/4\n"

// sound are designs whose plans hold every kind of step: screws, a union, a right-and-left piece, a long screw, a flange
// backed off, boards laid and threaded on, groups carried in. Measures are made up.
var sound = map[string]string{
	"lamp": testHead + `points: {f: "500, 500, floor", k: "500, 500, 600", e: "800, 500, 600"}
runs: {p: f to k, a: k to e}
`,
	"ring": testHead + `points: {a: "300, 300, 300", b: "900, 300, 300", c: "900, 300, 900", d: "300, 300, 900"}
runs: {low: a to union to b, mast: b to c, top: c to d, stay: d to a}
`,
	"rod": testHead + `room: {right: 900}
points: {a: "left, 300, 900", b: "right, 300, 900"}
runs: {rod: a to b}
`,
	"deck": testHead + `points: {f: "500, 500, floor", k: "500, 500, 600", m: "500, 500, 250", n: "500, 700, 250", e: "800, 500, 600"}
runs: {p: f to m to k, a: k to e, peg: m to n}
boards: {deck: {size: 400 x 300 x 18, at: "350, 350, 400"}}
`,
	"shelf": testHead + `points: {f: "300, 300, floor", t: "300, 300, 900", u: "900, 300, 900", g: "900, 300, floor"}
runs: {a: f to t, b: t to u, c: u to g}
boards: {top: {size: 400 x 300 x 18, at: "400, 150, ?", lies-on: b}}
`,
	"right-left": testHead + `points: {f: "300, 300, floor", t: "300, 300, 400", u: "900, 300, 400", g: "900, 300, floor"}
runs: {a: f to t, b: t to right-left to u, c: u to g}
`,
	"long-screw": testHead + `points: {a: "300, 300, 300", b: "900, 300, 300", c: "900, 300, 900", d: "300, 300, 900"}
runs: {low: a to long-screw to b, mast: b to c, top: c to d, stay: d to a}
`,
}

func soundNames() []string {
	var out []string
	for n := range sound {
		out = append(out, n)
	}
	slices.Sort(out)
	return out
}

// mutation spoils step i of a plan and tells whether it found anything to spoil. Codes are the reasons of which at least one
// has to be given.
type mutation struct {
	name  string
	codes []string
	spoil func(p *assembly.Plan, i int) bool
}

func renumber(p *assembly.Plan) {
	for i := range p.Steps {
		p.Steps[i].Number = i + 1
	}
}

// jointOf is a joint by its id.
func jointOf(p *assembly.Plan, id string) *assembly.Joint {
	return &p.Joints[slices.IndexFunc(p.Joints, func(j assembly.Joint) bool { return j.ID == id })]
}

// screwed is the plain thread that a step closes, if it does.
func screwed(p *assembly.Plan, i int) (*assembly.Joint, bool) {
	s := p.Steps[i]
	if s.Action != assembly.Screw || len(s.Joints) != 1 {
		return nil, false
	}
	return jointOf(p, s.Joints[0]), true
}

// comesNew tells whether a body moves for the first time in step i.
func comesNew(p *assembly.Plan, i int, id string) bool {
	for _, s := range p.Steps[:i] {
		if slices.Contains(s.Moves, id) {
			return false
		}
	}
	return slices.Contains(p.Steps[i].Moves, id)
}

// needs tells whether step k uses a body that step i brings.
func needs(p *assembly.Plan, k, i int) bool {
	used := slices.Concat(p.Steps[k].Moves, p.Steps[k].Onto)
	return slices.ContainsFunc(used, func(id string) bool { return comesNew(p, i, id) })
}

// last is the last move of a step.
func last(p *assembly.Plan, i int) *assembly.Move {
	m := p.Steps[i].Motion
	if len(m) == 0 {
		return nil
	}
	return &m[len(m)-1]
}

// turning is the last move of a step if that is a turn.
func turning(p *assembly.Plan, i int) *assembly.Move {
	if m := last(p, i); m != nil && m.Kind == assembly.Turn {
		return m
	}
	return nil
}

var mutations = []mutation{
	{"drop the step", []string{replay.CodeOrder, replay.CodePose, replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		p.Steps = slices.Delete(p.Steps, i, i+1)
		return true
	}},
	{"do it twice", []string{replay.CodeOrder, replay.CodePose, replay.CodeThread, replay.CodeLocked}, func(p *assembly.Plan, i int) bool {
		if len(p.Steps[i].Joints) == 0 {
			return false // what is put down may be put down again
		}
		p.Steps = slices.Insert(p.Steps, i, p.Steps[i])
		return true
	}},
	{"do it before the step it needs", []string{replay.CodeOrder, replay.CodePose, replay.CodeCrash}, func(p *assembly.Plan, i int) bool {
		if i == 0 || !needs(p, i, i-1) {
			return false
		}
		p.Steps[i], p.Steps[i-1] = p.Steps[i-1], p.Steps[i]
		return true
	}},
	{"turn the hand of its thread round", []string{replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		j, ok := screwed(p, i)
		if ok {
			j.Hand = map[string]string{"left": "right", "right": "left"}[j.Hand]
		}
		return ok
	}},
	{"half the way", []string{replay.CodePose, replay.CodeCrash, replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		m := last(p, i)
		if m == nil {
			return false
		}
		m.By, m.ByDeg, m.AdvanceMM = m.By.Mul(0.5), m.ByDeg/2, m.AdvanceMM/2
		return true
	}},
	{"the way back", []string{replay.CodePose, replay.CodeCrash, replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		m := last(p, i)
		if m == nil {
			return false
		}
		m.By, m.ByDeg, m.AdvanceMM = m.By.Neg(), -m.ByDeg, -m.AdvanceMM
		return true
	}},
	{"turned the other way round", []string{replay.CodeThread, replay.CodePose}, func(p *assembly.Plan, i int) bool {
		m := turning(p, i)
		if m != nil {
			m.ByDeg = -m.ByDeg
		}
		return m != nil
	}},
	{"no advance", []string{replay.CodeThread, replay.CodePose}, func(p *assembly.Plan, i int) bool {
		m := turning(p, i)
		if m == nil || m.AdvanceMM == 0 {
			return false
		}
		m.AdvanceMM = 0
		return true
	}},
	{"an axis 2 mm off", []string{replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		m := turning(p, i)
		if m != nil {
			m.Axis.At = m.Axis.At.Add(m.Axis.Dir.Across().Mul(2))
		}
		return m != nil
	}},
	{"an axis that leans", []string{replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		m := turning(p, i)
		if m != nil {
			m.Axis.Dir = m.Axis.Dir.Add(m.Axis.Dir.Across().Mul(0.02)).Unit()
		}
		return m != nil
	}},
	{"more turns than its window", []string{replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		j, ok := screwed(p, i)
		if ok {
			p.Steps[i].Turns = j.Turns.Max + 0.5
		}
		return ok
	}},
	{"fewer turns than its window", []string{replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		j, ok := screwed(p, i)
		if ok {
			p.Steps[i].Turns = j.Turns.Min - 0.5
		}
		return ok
	}},
	{"a start 4 mm off", []string{replay.CodePose, replay.CodeThread, replay.CodeCrash}, func(p *assembly.Plan, i int) bool {
		s := &p.Steps[i]
		if len(s.Moves) == 0 || s.Action == assembly.Place && s.Where == "bench" && len(s.Motion) == 0 {
			return false // where on the bench a first part lies is all the same
		}
		s.Start = s.Start.Moved(geom.V(4, 0, 0))
		return true
	}},
	{"a body forgotten", []string{replay.CodeOrder}, func(p *assembly.Plan, i int) bool {
		s := &p.Steps[i]
		if len(s.Moves) < 2 {
			return false
		}
		s.Moves = s.Moves[:len(s.Moves)-1]
		return true
	}},
	{"another body taken along", []string{replay.CodeOrder, replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		s := &p.Steps[i]
		if i == 0 || len(s.Onto) == 0 || s.Onto[0] == "room" || len(s.Moves) == 0 {
			return false
		}
		s.Moves = append(s.Moves, s.Onto[0])
		return true
	}},
	{"what it meets forgotten", []string{replay.CodeOrder, replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		s := &p.Steps[i]
		if len(s.Joints) == 0 || len(s.Onto) == 0 {
			return false
		}
		s.Onto = nil
		return true
	}},
	{"its joint forgotten", []string{replay.CodeOrder}, func(p *assembly.Plan, i int) bool {
		s := &p.Steps[i]
		if len(s.Joints) == 0 {
			return false
		}
		s.Joints = s.Joints[1:]
		return true
	}},
	{"a joint that comes later", []string{replay.CodeOrder, replay.CodeThread, replay.CodePose}, func(p *assembly.Plan, i int) bool {
		if len(p.Steps[i].Joints) == 0 {
			return false
		}
		for k := i + 1; k < len(p.Steps); k++ {
			if len(p.Steps[k].Joints) > 0 {
				p.Steps[i].Joints, p.Steps[k].Joints = p.Steps[k].Joints, p.Steps[i].Joints
				return true
			}
		}
		return false
	}},
	{"a thread where the union is", []string{replay.CodeLocked}, func(p *assembly.Plan, i int) bool {
		s := &p.Steps[i]
		if s.Action != assembly.JoinUnion || len(s.Moves) > 0 {
			return false
		}
		j := jointOf(p, s.Joints[0])
		j.Kind, j.Hand, j.PitchMM, j.EngagementMM, j.HandTightMM = assembly.Thread, "right", 1.8, 14, 8.6
		s.Action, s.Turns = assembly.Screw, 14/1.8
		return true
	}},
	{"in place what belongs on the bench", []string{replay.CodeOrder}, func(p *assembly.Plan, i int) bool {
		s := &p.Steps[i]
		if s.Where != "bench" || len(s.Onto) == 0 {
			return false
		}
		s.Where = "place"
		return true
	}},
	{"one side not drawn in", []string{replay.CodeThread}, func(p *assembly.Plan, i int) bool {
		if len(p.Steps[i].Draws) == 0 {
			return false
		}
		p.Steps[i].Draws = nil
		return true
	}},
	{"a side drawn in too far", []string{replay.CodeThread, replay.CodePose}, func(p *assembly.Plan, i int) bool {
		if len(p.Steps[i].Draws) == 0 {
			return false
		}
		p.Steps[i].Draws[0].By = p.Steps[i].Draws[0].By.Mul(1.2)
		return true
	}},
	{"a board after the joint above it", []string{replay.CodeCrash}, func(p *assembly.Plan, i int) bool {
		if p.Steps[i].Action != assembly.ThreadOn {
			return false
		}
		s := p.Steps[i]
		k := i + 1
		for k < len(p.Steps) && p.Steps[k].Where == s.Where {
			k++
		}
		if k == i+1 {
			return false
		}
		p.Steps = slices.Insert(slices.Delete(p.Steps, i, i+1), k-1, s)
		return true
	}},
	{"a part that belongs 3 mm further", []string{replay.CodePose, replay.CodeThread, replay.CodeOverlap, replay.CodeCrash}, func(p *assembly.Plan, i int) bool {
		if len(p.Steps[i].Moves) == 0 || !comesNew(p, i, p.Steps[i].Moves[0]) {
			return false
		}
		k := slices.IndexFunc(p.Parts, func(q assembly.Part) bool { return q.ID == p.Steps[i].Moves[0] })
		p.Parts[k].Pose = p.Parts[k].Pose.Moved(geom.V(0, 0, 3))
		return true
	}},
}

// again is a plan as it reads after a round through its file.
func again(t *testing.T, p assembly.Plan) assembly.Plan {
	var b bytes.Buffer
	require.NoError(t, planfile.Write(&b, p))
	out, err := planfile.Read(&b)
	require.NoError(t, err)
	return out
}

// TestSpoiledPlans: steps of sound plans are spoiled in every way that makes a plan wrong, and the proof refuses it
// each time, for a reason that holds.
func TestSpoiledPlans(t *testing.T) {
	tried := map[string]int{}
	enough, every := 4, 5
	if testing.Short() {
		enough, every = 1, 100
	}
	for n, name := range soundNames() {
		a, err := solved(sound[name])
		require.NoError(t, err, name)
		w := work(t, a)
		require.Empty(t, w.stop(), name)
		require.Empty(t, failures(w.report), name)
		for k, m := range mutations {
			for i := range w.plan.Steps {
				// Each way to spoil is tried a few times, then on some of the steps.
				if tried[m.name] >= enough && (i+k+n)%every != 0 {
					continue
				}
				p := again(t, w.plan)
				if !m.spoil(&p, i) {
					continue
				}
				tried[m.name]++
				renumber(&p)
				assertRefused(t, w.prove(p), m, fmt.Sprintf("%s, step %d: %s", name, i+1, m.name))
			}
		}
	}
	for _, m := range mutations {
		assert.Positive(t, tried[m.name], "%s was never tried", m.name)
	}
}

func assertRefused(t *testing.T, r replay.Report, m mutation, what string) {
	t.Helper()
	if !assert.False(t, r.OK(), "%s: not refused", what) {
		return
	}
	right := slices.ContainsFunc(r.Failures, func(f replay.Failure) bool { return slices.Contains(m.codes, f.Code) })
	assert.True(t, right, "%s: refused for %q, not for one of %v", what, failures(r), m.codes)
}
