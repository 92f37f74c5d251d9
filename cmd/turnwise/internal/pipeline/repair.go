package pipeline

import (
	"bytes"
	"strings"

	"turnwise/assembly"
)

// maxTried bounds how many proposed changes are worked out again in one run.
const maxTried = 4

// tryRepairs works the design out again with each proposed change of its text, and marks a change as verified when the
// proven plan that comes of it has fewer faults that stop the work.
func tryRepairs(q Request, text []byte, p *assembly.Plan) {
	tried := 0
	for i := range p.Findings {
		for k := range p.Findings[i].Repairs {
			repair := &p.Findings[i].Repairs[k]
			edited, ok := applyEdits(text, repair.Edits)
			if !ok || repair.Verified || tried == maxTried {
				continue
			}
			tried++
			r, _, err := plan(Request{Name: q.Name, Design: bytes.NewReader(edited), trial: true})
			repair.Verified = err == nil && r.Readable && stops(r.Plan) < stops(*p)
		}
	}
}

func stops(p assembly.Plan) int {
	n := 0
	for _, f := range p.Findings {
		if f.Severity == assembly.Stop {
			n++
		}
	}
	return n
}

// applyEdits replaces whole lines. It fails when there is nothing to change or a line does not read as the edit says.
func applyEdits(text []byte, edits []assembly.Edit) ([]byte, bool) {
	lines := strings.SplitAfter(string(text), "\n")
	for _, e := range edits {
		if e.Line < 1 || e.Line > len(lines) {
			return nil, false
		}
		old := lines[e.Line-1]
		end := old[len(strings.TrimRight(old, "\r\n")):]
		switch {
		case e.Old == "":
			lines[e.Line-1] = e.New + "\n" + old
		case e.Old+end == old:
			lines[e.Line-1] = e.New + end
		default:
			return nil, false
		}
	}
	return []byte(strings.Join(lines, "")), len(edits) > 0
}
