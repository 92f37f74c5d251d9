package mockup

import (
	"fmt"
	"slices"

	"turnwise/assembly"
)

// WholeTurns is the plan of the model with a whole turn more in each step that closes a thread, made in place just before
// the quarter turn. What a quarter turn sweeps is less than what a thread in steel does; where this plan runs into
// something and Plan does not, the model lets through what steel refuses. Only what runs into what counts in its proof: as
// turns of the model's joints they are wrong.
func (m *Model) WholeTurns() assembly.Plan {
	p := m.Plan
	p.Steps = slices.Clone(p.Steps)
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Action != assembly.Screw || len(s.Joints) == 0 {
			continue
		}
		s.Motion = withWholeTurn(s.Motion)
		s.Repeats = slices.Clone(s.Repeats)
		for k := range s.Repeats {
			s.Repeats[k].Motion = withWholeTurn(s.Repeats[k].Motion)
		}
	}
	return p
}

func withWholeTurn(motion []assembly.Move) []assembly.Move {
	n := len(motion)
	if n == 0 || motion[n-1].Kind != assembly.Turn {
		return motion
	}
	whole := motion[n-1]
	whole.ByDeg, whole.AdvanceMM = 360, 0
	return slices.Insert(slices.Clone(motion), n-1, whole)
}

// SwingFinding tells of a step in which bodies run into one another within a whole turn, and not within a quarter.
func SwingFinding(step int, parts []string) assembly.Finding {
	words := "something"
	if len(parts) > 0 {
		words = parts[len(parts)-1]
	}
	what := "what is turned"
	if len(parts) > 1 {
		what = parts[0]
	}
	return assembly.Finding{
		Code: "MODEL-SWING", Severity: assembly.Warn, Parts: parts, Values: map[string]float64{"step": float64(step)}, Repairs: []assembly.Repair{},
		Text: fmt.Sprintf("step %d: the model lets %s pass %s, because it makes a quarter turn only; in steel it goes round and runs into it", step, what, words),
	}
}
