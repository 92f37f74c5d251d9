// Package oracletest judges the planner from outside, in tests only. It plans frames from design texts, reads the plan
// back from its file, has it proved by the replay, and compares the verdict with an exhaustive search over all orders
// that knows nothing of either: whose motions are walked through point by point.
package oracletest

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/planfile"
	"turnwise/assembly/replay"
	"turnwise/assembly/sequence"
	"turnwise/assembly/solidify"
	"turnwise/assembly/solve"
	"turnwise/geom/sdf"
)

// worked is a design as far as its proof.
type worked struct {
	a      *assembly.Assembly
	order  sequence.Result
	plan   assembly.Plan // as read back
	solids map[string]sdf.Solid
	report replay.Report
}

// solved reads and solves a design; a fault of the design is an error.
func solved(text string) (*assembly.Assembly, error) {
	tree, faults := design.Read(strings.NewReader(text), "test.yaml")
	if len(faults) > 0 {
		return nil, faults
	}
	a, faults := solve.Solve(tree)
	if len(faults) > 0 {
		return nil, faults
	}
	return a, nil
}

// outlines are the shapes the planner works with.
func outlines(t testing.TB, a *assembly.Assembly) map[string]assembly.Outline {
	out := map[string]assembly.Outline{}
	for _, p := range a.Parts {
		o, err := solidify.Outline(p)
		require.NoError(t, err, p.ID)
		out[p.ID] = o
	}
	return out
}

// work plans a solved design and proves the plan as read back from its file.
func work(t testing.TB, a *assembly.Assembly) *worked {
	w := &worked{a: a, solids: map[string]sdf.Solid{}}
	w.order = sequence.Plan(sequence.Input{Assembly: a, Outlines: outlines(t, a)})
	sequence.Number(a, w.order.Steps)
	for i := range a.Parts {
		if p := &a.Parts[i]; p.Number > 0 {
			p.Solid = fmt.Sprintf("solids/%02d%s.stl", p.Number, p.Half)
		}
	}
	var b bytes.Buffer
	require.NoError(t, planfile.Write(&b, assembly.Plan{
		Format: assembly.Format, Design: a.Header, Parts: a.Parts, Joints: a.Joints, Loops: w.order.Loops, Steps: w.order.Steps,
		Findings: w.order.Findings,
	}))
	var err error
	w.plan, err = planfile.Read(&b)
	require.NoError(t, err)
	for _, p := range w.plan.Parts {
		w.solids[p.ID], err = solidify.Solid(p)
		require.NoError(t, err, p.ID)
	}
	w.report = w.prove(w.plan)
	return w
}

// prove replays a plan with the parts of w.
func (w *worked) prove(p assembly.Plan) replay.Report {
	return replay.Check(p, func(p assembly.Part) (sdf.Solid, error) { return w.solids[p.ID], nil })
}

// stop is the code of the first finding that stops the plan, or "".
func (w *worked) stop() string {
	for _, f := range w.order.Findings {
		if f.Severity == assembly.Stop {
			return f.Code
		}
	}
	return ""
}

// failures are the reasons of a report as sentences.
func failures(r replay.Report) []string {
	var out []string
	for _, f := range r.Failures {
		out = append(out, f.Code+" "+f.String())
	}
	return out
}
