package pipeline

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/planfile"
	"turnwise/assembly/replay"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom/sdf"
)

// prove writes the plan, reads it back, and replays what was read against the solids. Steps that do not stand the
// proof are dropped: nothing unproven is written.
func (w *work) prove(r *Result, a *assembly.Assembly) error {
	if err := r.encode(); err != nil {
		return err
	}
	back, err := planfile.Read(bytes.NewReader(r.PlanJSON))
	if err != nil {
		return fmt.Errorf("the plan cannot be read back: %w", err)
	}
	report := replay.Check(back, func(p assembly.Part) (sdf.Solid, error) { return w.solid(p) })
	if report.OK() {
		return nil
	}
	hardenOutside(r.Plan.Findings, report)
	r.Plan.Findings = append(r.Plan.Findings, unproven(r.Plan, a, report)...)
	r.Plan.Steps, r.Plan.Effort = []assembly.Step{}, assembly.Effort{}
	return r.encode()
}

func (r *Result) encode() error {
	var b bytes.Buffer
	if err := planfile.Write(&b, r.Plan); err != nil {
		return fmt.Errorf("writing the plan: %w", err)
	}
	r.PlanJSON = b.Bytes()
	return nil
}

// hardenOutside makes a warning that something reaches into the room's material a stop where the proof has found it there:
// the one place is then told once, by the finding that names the point to move.
func hardenOutside(found []assembly.Finding, report replay.Report) {
	deep := map[string]bool{}
	for _, f := range report.Failures {
		if slices.Contains(f.Parts, string(standard.Room)) && (f.Code == replay.CodeOverlap || f.Code == replay.CodeCrash) {
			for _, id := range f.Parts {
				deep[id] = id != string(standard.Room)
			}
		}
	}
	for i := range found {
		if f := &found[i]; f.Code == "OUTSIDE" && slices.ContainsFunc(f.Parts, func(id string) bool { return deep[id] }) {
			f.Severity = assembly.Stop
		}
	}
}

// unproven words what the proof found in the units of the design. A failure between parts of which an earlier stop
// already speaks is left out, since mending that comes first; so is a second failure of the same two parts.
func unproven(p assembly.Plan, a *assembly.Assembly, report replay.Report) []assembly.Finding {
	told := map[string]bool{}
	for _, f := range p.Findings {
		if f.Severity == assembly.Stop {
			for _, id := range f.Parts {
				told[id] = id != string(standard.Room)
			}
		}
	}
	// What is wrong in the finished frame comes before what is wrong on the way to it.
	failures := slices.Clone(report.Failures)
	slices.SortStableFunc(failures, func(x, y replay.Failure) int { return rank(x) - rank(y) })
	places := partPlaces(a)
	var out []assembly.Finding
	seen := map[string]bool{}
	for _, f := range failures {
		key := strings.Join(slices.Sorted(slices.Values(f.Parts)), "|")
		if key == "" {
			key = f.Text // a failure of no part in particular
		}
		if seen[key] || slices.ContainsFunc(f.Parts, func(id string) bool { return told[id] }) {
			continue
		}
		seen[key] = true
		out = append(out, proofFinding(f, a, places))
	}
	return out
}

func rank(f replay.Failure) int {
	if f.Code == replay.CodeOverlap {
		return 0
	}
	return 1
}

func proofFinding(f replay.Failure, a *assembly.Assembly, places map[string]string) assembly.Finding {
	out := f.Finding()
	out.Text = f.Text // without the step's number: the steps are not written
	if len(f.Parts) == 2 {
		out.Text = meeting(f, a)
	}
	for _, id := range f.Parts {
		if places[id] != "" {
			out.At = places[id]
			break
		}
	}
	return out
}

// meeting words a failure of two bodies that meet; of the room, the surface where they do.
func meeting(f replay.Failure, a *assembly.Assembly) string {
	deep := units.System(a.Header.Units).Format(units.Length(f.MM))
	one, two := f.Parts[0], f.Parts[1]
	if one == string(standard.Room) {
		one, two = two, one
	}
	isRoom := two == string(standard.Room)
	if isRoom && f.At != nil {
		two = a.Room.Words(*f.At)
	}
	switch {
	case f.Code == replay.CodeOverlap && isRoom:
		return fmt.Sprintf("%s reaches at least %s into %s; move it", one, deep, two)
	case f.Code == replay.CodeOverlap:
		return fmt.Sprintf("%s and %s want the same place: they overlap by at least %s; move one of them", one, two, deep)
	case f.Code == replay.CodeCrash:
		return fmt.Sprintf("no way was found to bring in %s past %s: on the best one they meet by at least %s; give it more room", one, two, deep)
	}
	return f.Text
}

// partPlaces gives each pipe the place of its run in the design, and each fitting that of a pipe it joins.
func partPlaces(a *assembly.Assembly) map[string]string {
	at := map[string]string{}
	for _, p := range a.Pipes {
		at[p.Part] = p.At
	}
	for _, j := range a.Joints {
		for _, e := range [2][2]string{{j.A.Part, j.B.Part}, {j.B.Part, j.A.Part}} {
			if at[e[0]] == "" && j.Kind.IsThreaded() {
				at[e[0]] = at[e[1]]
			}
		}
	}
	return at
}

// backedOff tells of flanges that are screwed deeper than they stay, so that a frame that fits exactly between two
// faces goes in at all.
func backedOff(a *assembly.Assembly, steps []assembly.Step) []assembly.Finding {
	s := units.System(a.Header.Units)
	places := partPlaces(a)
	var out []assembly.Finding
	for _, st := range steps {
		if st.Action != assembly.Adjust || len(st.Moves) == 0 || len(st.Motion) == 0 {
			continue
		}
		m := st.Motion[len(st.Motion)-1]
		back := max(m.AdvanceMM, -m.AdvanceMM)
		out = append(out, assembly.Finding{
			Code: "BACK-OFF", Severity: assembly.Note, Parts: st.Moves, At: places[st.Moves[0]],
			Text: fmt.Sprintf("the frame fits exactly between two faces: %s is screwed %s deeper than it stays, and turned back out when the frame stands (step %d)",
				st.Moves[0], s.Format(units.Length(back)), st.Number),
			Values: map[string]float64{"back_off_mm": back},
			Source: "room to slide a frame in: common practice, no source",
		})
	}
	return out
}
