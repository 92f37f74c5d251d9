package pipeline

import (
	"bytes"

	"turnwise/assembly"
	"turnwise/assembly/mend"
)

// Bounds on the work that proposed changes cause: most of a trial's time goes into the proof, so few plans get that far.
const (
	maxTried  = 16
	maxProven = 3

	// manyParts is the size from which on only one change and one other are proven, so that a refusal keeps to seconds.
	manyParts       = 50
	maxProvenOfMany = 2
)

// tryRepairs works the design out again with each proposed change of its text, and marks those that hold.
func (w *work) tryRepairs(q Request, text []byte, p *assembly.Plan) (mend.Report, error) {
	run := func(changed []byte) (*assembly.Plan, error) {
		r, _, err := plan(Request{Name: q.Name, Design: bytes.NewReader(changed), trial: w})
		if err != nil || !r.Readable {
			return nil, err
		}
		return &r.Plan, nil
	}
	most := mend.Limits{Runs: maxTried, Proven: maxProven}
	if len(p.Parts) > manyParts {
		most.Proven = maxProvenOfMany
	}
	return mend.Try(text, p, run, most)
}

// hasRepairs tells whether any change of the text is proposed.
func hasRepairs(p assembly.Plan) bool {
	for _, f := range p.Findings {
		for _, r := range f.Repairs {
			if len(r.Splices) > 0 {
				return true
			}
		}
	}
	return false
}
