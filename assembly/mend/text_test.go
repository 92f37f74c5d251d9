package mend

import (
	"bytes"
	"math/rand"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
)

// TestSplices: text goes in and out at places, whatever the line ends, and everything else stays.
func TestSplices(t *testing.T) {
	for name, c := range map[string]struct {
		text    string
		splices []assembly.Splice
		want    string
	}{
		"comment kept": {
			"runs:\n  ring: a to b to a   # a ring\n", []assembly.Splice{{Line: 2, Col: 14, Insert: "union to "}},
			"runs:\n  ring: a to union to b to a   # a ring\n",
		},
		"windows line ends": {"a: 1\r\nb: {path: p to q}\r\n", []assembly.Splice{{Line: 2, Col: 16, Insert: "union to "}}, "a: 1\r\nb: {path: p to union to q}\r\n"},
		"no last line end":  {"r: p to q", []assembly.Splice{{Line: 1, Col: 9, Insert: "union to "}}, "r: p to union to q"},
		"byte-order mark":   {"\ufeffr: p to q\n", []assembly.Splice{{Line: 1, Col: 9, Insert: "union to "}}, "\ufeffr: p to union to q\n"},
		"characters, not bytes": {
			"\"Kästen\": p to q", []assembly.Splice{{Line: 1, Col: 16, Insert: "union to "}}, "\"Kästen\": p to union to q",
		},
		"two in a line, the later first": {
			"r: a to b to c", []assembly.Splice{{Line: 1, Col: 14, Insert: "union to "}, {Line: 1, Col: 9, Insert: "union to "}},
			"r: a to union to b to union to c",
		},
		"one leg divided twice": {
			"r: a to c", []assembly.Splice{{Line: 1, Col: 9, Insert: "b to union to ", Order: 1}, {Line: 1, Col: 9, Insert: "union to b to "}},
			"r: a to union to b to union to c",
		},
		"two of three stretches": {
			"r: a to d", []assembly.Splice{{Line: 1, Col: 9, Insert: "union to b to "}, {Line: 1, Col: 9, Insert: "c to union to ", Order: 2}},
			"r: a to union to b to c to union to d",
		},
		"a word replaced":    {"z: 28 # high\n", []assembly.Splice{{Line: 1, Col: 4, Remove: 2, Insert: "28 1/2"}}, "z: 28 1/2 # high\n"},
		"a line before":      {"a: 1\r\n  b: 2\r\n", []assembly.Splice{{Line: 2, Col: 1, Insert: "  c: 3\n"}}, "a: 1\r\n  c: 3\r\n  b: 2\r\n"},
		"a line and a word":  {"a: 1\n", []assembly.Splice{{Line: 1, Col: 4, Remove: 1, Insert: "2"}, {Line: 1, Col: 1, Insert: "c: 3\n"}}, "c: 3\na: 2\n"},
		"a line at the end":  {"a: 1\n", []assembly.Splice{{Line: 2, Col: 1, Insert: "b: 2\n"}}, "a: 1\nb: 2\n"},
		"other carriage":     {"a: 1\rx\nb: 2\n", []assembly.Splice{{Line: 1, Col: 4, Remove: 1, Insert: "3"}}, "a: 3\rx\nb: 2\n"},
		"two carriages kept": {"a: 1\r\r\n", []assembly.Splice{{Line: 1, Col: 4, Remove: 1, Insert: "3"}}, "a: 3\r\r\n"},
	} {
		assert.Equal(t, c.want, changed(t, c.text, c.splices...), name)
	}
}

// TestSplicesRefused: what would hit other text than meant is refused.
func TestSplicesRefused(t *testing.T) {
	text := []byte("a: 1\nb: 22\n")
	for _, splices := range [][]assembly.Splice{
		{{Line: 0, Col: 1, Insert: "x"}}, {{Line: 4, Col: 1, Insert: "x"}}, {{Line: 1, Col: 6, Insert: "x"}},
		{{Line: 1, Col: 4, Remove: 2}}, {{Line: 2, Col: 4, Remove: 2}, {Line: 2, Col: 5, Insert: "x"}},
		{{Line: 1, Col: 2, Insert: "x\ny"}}, {{Line: 1, Col: 0, Insert: "x"}}, {{Line: 1, Col: 4, Remove: -1}},
	} {
		_, err := Edits(text, splices)
		assert.Error(t, err, "%v", splices)
	}
	for _, edits := range [][]assembly.Edit{
		{{Line: 1, Old: "a: 2", New: "a: 3"}}, {{Line: 9, Old: "a: 1", New: "a: 3"}},
		{{Line: 1, Old: "a: 1", New: "a: 3"}, {Line: 1, Old: "a: 1", New: "a: 4"}}, {{Line: 1, Old: "a: 1\r", New: "x"}},
	} {
		_, err := Apply(text, edits)
		assert.ErrorIs(t, err, ErrChanged, "%v", edits)
	}
}

// TestOthersStay: on random texts, the lines that no splice names are the same to the byte, and a line that one names
// differs by just what went in and out.
func TestOthersStay(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	for range 2000 {
		checkStays(t, randomText(r), 1+r.Intn(12), 1+r.Intn(20), r.Intn(4), []string{"union to ", "", "ä", "x # y"}[r.Intn(4)])
	}
}

func randomText(r *rand.Rand) string {
	pieces := []string{"a: b", " ", "ö", "\"", "#", "\r", "{path: a to b}", "- x", "\t", "to", "\ufeff", "\u2028"}
	ends := []string{"\n", "\r\n", "\n\n"}
	var b strings.Builder
	for range 1 + r.Intn(12) {
		for range r.Intn(6) {
			b.WriteString(pieces[r.Intn(len(pieces))])
		}
		if r.Intn(8) > 0 {
			b.WriteString(ends[r.Intn(len(ends))])
		}
	}
	return b.String()
}

func checkStays(t *testing.T, text string, line, col, remove int, insert string) {
	t.Helper()
	edits, err := Edits([]byte(text), []assembly.Splice{{Line: line, Col: col, Remove: remove, Insert: insert}})
	if err != nil {
		return
	}
	out, err := Apply([]byte(text), edits)
	require.NoError(t, err)
	before, after := bytes.SplitAfter([]byte(text), []byte("\n")), bytes.SplitAfter(out, []byte("\n"))
	if edits[0].Old == "" { // the line was empty: a line goes in before it
		require.Len(t, after, len(before)+1)
		after = append(after[:line-1:line-1], after[line:]...)
		require.Equal(t, before, after)
		return
	}
	require.Len(t, after, len(before))
	for i := range before {
		if i != line-1 {
			require.Equal(t, before[i], after[i], "line %d of %q", i+1, text)
		}
	}
	was, is := string(before[line-1]), string(after[line-1])
	if line == 1 {
		was, is = strings.TrimPrefix(was, bom), strings.TrimPrefix(is, bom)
	}
	at := len(string([]rune(was)[:col-1]))
	require.Equal(t, was[:at], is[:at])
	require.True(t, strings.HasPrefix(is[at:], insert))
	tail := was[at:]
	require.Equal(t, string([]rune(tail)[remove:]), is[at+len(insert):])
}

// FuzzOthersStay does the same with whatever the fuzzer thinks of.
func FuzzOthersStay(f *testing.F) {
	f.Add("a: b\r\n  r: {path: a to b}\r\n", 2, 20, 0, "union to ")
	f.Add("\ufeffä: 1 # c", 1, 4, 1, "2")
	f.Fuzz(func(t *testing.T, text string, line, col, remove int, insert string) {
		if strings.ContainsAny(insert, "\r\n") || !isText(text) || !isText(insert) {
			return
		}
		checkStays(t, text, line, col, remove, insert)
	})
}

func isText(s string) bool { return strings.ToValidUTF8(s, "") == s }
