package mend

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
)

// refused is a plan with one LOOP and the given repairs of it, each a letter put before the text "x".
func refused(letters ...string) *assembly.Plan {
	f := assembly.Finding{Code: "LOOP", Severity: assembly.Stop}
	for _, l := range letters {
		f.Repairs = append(f.Repairs, assembly.Repair{Text: l, Splices: []assembly.Splice{{Line: 1, Col: 1, Insert: l}}})
	}
	return &assembly.Plan{Findings: []assembly.Finding{f}}
}

// rerun says of each letter what comes of it: "+" a whole plan, "-" the same fault, "~" another one, "!" a faulty text.
func rerun(tried *[]string, outcomes map[string]string) Run {
	return func(text []byte) (*assembly.Plan, error) {
		l := strings.TrimSuffix(string(text), "x")
		*tried = append(*tried, l)
		switch outcomes[l] {
		case "+":
			return &assembly.Plan{Steps: []assembly.Step{{}}}, nil
		case "-":
			return refused(), nil
		case "=":
			return &assembly.Plan{Findings: append(refused().Findings, refused().Findings...)}, nil
		case "~":
			return &assembly.Plan{Findings: []assembly.Finding{{Code: "STUCK", Severity: assembly.Stop}}}, nil
		case "0":
			return &assembly.Plan{}, nil
		}
		return nil, nil
	}
}

// TestTry: only what was worked out and holds is called verified; it comes first, failures last.
func TestTry(t *testing.T) {
	var tried []string
	p := refused("a", "b", "c", "d", "e", "f", "g")
	run := rerun(&tried, map[string]string{"a": "-", "b": "~", "c": "!", "d": "0", "e": "+", "f": "+", "g": "+"})
	r, err := Try([]byte("x"), p, run, Limits{20, 20})
	require.NoError(t, err)
	assert.Equal(t, "abcdef", strings.Join(tried, ""), "two ways are enough")
	assert.Equal(t, Report{Tried: 6, Verified: 2}, r)
	order := ""
	for _, m := range p.Findings[0].Repairs {
		order += m.Text
		assert.Equal(t, m.Text == "e" || m.Text == "f", m.Verified, m.Text)
		require.Len(t, m.Edits, 1)
		assert.Equal(t, assembly.Edit{Line: 1, Old: "x", New: m.Text + "x"}, m.Edits[0])
	}
	assert.Equal(t, "efgabcd", order)
}

// TestTryIsBounded: no more runs than allowed, each change once however many findings propose it, and what was left
// is counted.
func TestTryIsBounded(t *testing.T) {
	var tried []string
	p := refused("a", "b", "c", "d")
	p.Findings = append(p.Findings, refused("a", "b").Findings...)
	run := rerun(&tried, map[string]string{"a": "=", "b": "=", "c": "=", "d": "+"})
	r, err := Try([]byte("x"), p, run, Limits{3, 3})
	require.NoError(t, err)
	assert.Equal(t, "abc", strings.Join(tried, ""))
	assert.Equal(t, Report{Tried: 3, Untried: 1}, r)
	assert.Equal(t, "d", p.Findings[0].Repairs[0].Text, "not tried comes before failed")
	assert.False(t, p.Findings[0].Repairs[0].Verified)

	tried = nil
	p = refused("a", "b", "c")
	_, err = Try([]byte("x"), p, rerun(&tried, map[string]string{"a": "+", "b": "+", "c": "+"}), Limits{9, 1})
	require.NoError(t, err)
	assert.Equal(t, "a", strings.Join(tried, ""), "one plan may be proven")
}

// TestTryFails: a repair that cannot be written, and a run that breaks, are errors of the program.
func TestTryFails(t *testing.T) {
	var tried []string
	p := refused("a")
	p.Findings[0].Repairs[0].Splices[0].Line = 7
	_, err := Try([]byte("x"), p, rerun(&tried, nil), Limits{9, 9})
	assert.ErrorContains(t, err, "cannot be written")
	boom := errors.New("boom")
	_, err = Try([]byte("x"), refused("a"), func([]byte) (*assembly.Plan, error) { return nil, boom }, Limits{9, 9})
	assert.ErrorIs(t, err, boom)
}
