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

// TestTryWishes: of two wishes that are not kept, giving up one that leaves the other is worth it; one that changes
// nothing is not.
func TestTryWishes(t *testing.T) {
	wish := func(n int) []assembly.Finding {
		var out []assembly.Finding
		for range n {
			out = append(out, assembly.Finding{Code: "WISH", Severity: assembly.Warn})
		}
		return out
	}
	p := &assembly.Plan{Findings: wish(2)}
	p.Findings[0].Repairs = refused("a", "b").Findings[0].Repairs
	_, err := Try([]byte("x"), p, func(text []byte) (*assembly.Plan, error) {
		n := 2
		if text[0] == 'b' {
			n = 1
		}
		return &assembly.Plan{Steps: []assembly.Step{{}}, Findings: wish(n)}, nil
	}, Limits{9, 9})
	require.NoError(t, err)
	require.Equal(t, "b", p.Findings[0].Repairs[0].Text)
	assert.True(t, p.Findings[0].Repairs[0].Verified)
	assert.False(t, p.Findings[0].Repairs[1].Verified)
}

// TestTogether: where no one change takes every fault away, all at once are tried, and offered for each.
func TestTogether(t *testing.T) {
	stop := func(codes ...string) *assembly.Plan {
		p := &assembly.Plan{}
		for _, c := range codes {
			p.Findings = append(p.Findings, assembly.Finding{Code: c, Severity: assembly.Stop})
		}
		if len(codes) == 0 {
			p.Steps = []assembly.Step{{}}
		}
		return p
	}
	p := stop("ONE", "TWO", "THREE")
	p.Findings[0].Repairs = []assembly.Repair{{Text: "one", Splices: []assembly.Splice{{Line: 1, Col: 1, Insert: "1"}}}}
	p.Findings[1].Repairs = []assembly.Repair{{Text: "two", Splices: []assembly.Splice{{Line: 1, Col: 2, Insert: "2"}}}}
	outcomes := map[string]*assembly.Plan{"1x": stop("TWO", "THREE"), "x2": stop("ONE", "THREE"), "1x2": stop()}
	_, err := Try([]byte("x"), p, func(text []byte) (*assembly.Plan, error) { return outcomes[string(text)], nil }, Limits{9, 9})
	require.NoError(t, err)
	for _, f := range p.Findings {
		require.NotEmpty(t, f.Repairs)
		assert.Equal(t, "all of it at once: one; two", f.Repairs[0].Text)
		assert.True(t, f.Repairs[0].Verified)
	}
	choices := Choices(p)
	require.NotEmpty(t, choices)
	assert.Equal(t, assembly.Edit{Line: 1, Old: "x", New: "1x2"}, choices[0].Repair.Edits[0])
	assert.Len(t, choices, 1, "with a change that leaves nothing in the way, those that leave something are not offered")
	assert.Equal(t, 1, NumberOf(choices, choices[0].Repair.Edits))
	assert.Zero(t, NumberOf(choices, nil))
}

// TestElsewhere: a frame that no order was found for is tried with its closing pieces taken out, and with those that
// are then proposed.
func TestElsewhere(t *testing.T) {
	p := &assembly.Plan{Findings: []assembly.Finding{{
		Code: "STUCK", Severity: assembly.Stop, Reopen: []assembly.Splice{{Line: 1, Col: 2, Remove: 2}},
	}}}
	var seen []string
	_, err := Try([]byte("auub\nc\n"), p, func(text []byte) (*assembly.Plan, error) {
		seen = append(seen, string(text))
		switch string(text) {
		case "ab\nc\n":
			loop := refused().Findings[0]
			loop.Repairs = []assembly.Repair{
				{Text: "back again", Splices: []assembly.Splice{{Line: 1, Col: 2, Insert: "uu"}}},
				{Text: "in c", Splices: []assembly.Splice{{Line: 2, Col: 2, Insert: "uu"}}},
			}
			return &assembly.Plan{Findings: []assembly.Finding{loop}}, nil
		case "ab\ncuu\n":
			return &assembly.Plan{Steps: []assembly.Step{{}}}, nil
		}
		return nil, nil
	}, Limits{9, 9})
	require.NoError(t, err)
	assert.Equal(t, []string{"ab\nc\n", "ab\ncuu\n"}, seen, "what changes nothing is not tried")
	require.Len(t, p.Findings[0].Repairs, 1)
	r := p.Findings[0].Repairs[0]
	assert.True(t, r.Verified)
	assert.Equal(t, []assembly.Edit{{Line: 1, Old: "auub", New: "ab"}, {Line: 2, Old: "c", New: "cuu"}}, r.Edits)
}

// TestTryFails: a repair that does not fit the text is left out; a run that breaks is an error of the program.
func TestTryFails(t *testing.T) {
	var tried []string
	p := refused("a", "b")
	p.Findings[0].Repairs[0].Splices[0].Line = 7
	_, err := Try([]byte("x"), p, rerun(&tried, map[string]string{"b": "+"}), Limits{9, 9})
	require.NoError(t, err)
	require.Len(t, p.Findings[0].Repairs, 1)
	assert.Equal(t, "b", p.Findings[0].Repairs[0].Text)
	boom := errors.New("boom")
	_, err = Try([]byte("x"), refused("a"), func([]byte) (*assembly.Plan, error) { return nil, boom }, Limits{9, 9})
	assert.ErrorIs(t, err, boom)
}
