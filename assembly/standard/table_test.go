package standard

import (
	"fmt"
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// grades are the words a row may use.
var grades = map[Grade]bool{
	Verified: true, CrossChecked: true, MemoryHigh: true, MemoryMedium: true, MemoryLow: true, Computed: true, CommonPractice: true,
}

// leastSource is the shortest text that can name a standard or a kind of page and what was taken from it.
const leastSource = 15

// sourceFaults lists what is wrong with the sources of some rows.
func sourceFaults(rows []record) []string {
	var out []string
	sources := map[string]bool{}
	for i, r := range rows {
		if len(r[sourceCol]) < leastSource {
			out = append(out, fmt.Sprintf("row %d has no source of its own", i+2))
		}
		if !grades[Grade(r[gradeColumn])] {
			out = append(out, fmt.Sprintf("row %d: no grade %q", i+2, r[gradeColumn]))
		}
		sources[r[sourceCol]] = true
	}
	if len(sources) < 4 {
		out = append(out, "one sentence for a whole table")
	}
	return out
}

// Every row of every data file says where it comes from and how sure it is, and no file gets by with one sentence.
func TestEveryRowHasSourceAndGrade(t *testing.T) {
	names, err := fs.Glob(data, "data/*.csv")
	require.NoError(t, err)
	require.Len(t, names, 7)
	for _, name := range names {
		rows := records(strings.TrimPrefix(name, "data/"))
		require.NotEmpty(t, rows, name)
		assert.Empty(t, sourceFaults(rows), name)
	}
}

// The check sees a row without source, one without grade, and a table with one sentence.
func TestRowWithoutSourceIsSeen(t *testing.T) {
	for _, change := range []func([]record){
		func(r []record) { r[7][sourceCol] = "" },
		func(r []record) { r[7][gradeColumn] = "sure" },
		func(r []record) {
			for i := range r {
				r[i][sourceCol] = "ASME B16.3, from memory"
			}
		},
	} {
		rows := records("fittings.csv")
		change(rows)
		assert.Len(t, sourceFaults(rows), 1)
	}
	assert.Panics(t, func() { record{"value": "1,5", "unit": "in"}.figure("value") })
	assert.Panics(t, func() { record{"value": "1", "unit": "cubit"}.figure("value") })
}

// Sources name standards and kinds of pages, never addresses.
func TestSourcesAreNeutral(t *testing.T) {
	address := regexp.MustCompile(`(?i)https?:|www\.|\.(com|org|net|io|de|uk)\b`)
	names, err := fs.Glob(data, "data/*.csv")
	require.NoError(t, err)
	for _, name := range names {
		for _, r := range records(strings.TrimPrefix(name, "data/")) {
			assert.NotRegexp(t, address, r[sourceCol])
		}
	}
}

// No row is there twice: a second one would silently win.
func TestNoRowTwice(t *testing.T) {
	keys := map[string][]string{
		"threads.csv": {"family", "size", "dim"}, "pipe.csv": {"family", "size", "series", "dim"},
		"fittings.csv": {"family", "kind", "size", "dim"}, "flanges.csv": {"size", "dim"},
		"nipples.csv": {"size", "length"}, "woods.csv": {"name"}, "boards.csv": {"product", "nominal"},
	}
	for name, columns := range keys {
		seen := map[string]bool{}
		for _, r := range records(name) {
			var k []string
			for _, c := range columns {
				k = append(k, r[c])
			}
			key := strings.Join(k, "|")
			assert.False(t, seen[key], "%s: %s twice", name, key)
			seen[key] = true
		}
	}
}

func TestParseSize(t *testing.T) {
	for in, want := range map[string]Size{
		"3/4": "3/4", "1-1/4": "1-1/4", "1 1/4": "1-1/4", "1¼": "1-1/4", " 2 ": "2", "½": "1/2", "1½": "1-1/2", "⅜": "3/8",
	} {
		got, err := ParseSize(in)
		require.NoError(t, err, in)
		assert.Equal(t, want, got, in)
	}
	for _, in := range []string{"5/8", "", "2-1/2", "0.75", "3/4in", "-1", "1/4-1/4"} {
		_, err := ParseSize(in)
		var bad *SizeError
		require.ErrorAs(t, err, &bad, in)
	}
	_, err := ParseSize("5/8")
	assert.EqualError(t, err, "no pipe size 5/8; sizes are 1/4 3/8 1/2 3/4 1 1-1/4 1-1/2 2")
}

func TestLess(t *testing.T) {
	for i, s := range Sizes {
		for j, u := range Sizes {
			assert.Equal(t, i < j, Less(s, u))
			assert.Equal(t, Sizes[max(i, j)], Larger(s, u))
		}
	}
}

func TestParseFamily(t *testing.T) {
	f, err := ParseFamily("bspt")
	require.NoError(t, err)
	assert.Equal(t, BSPT, f)
	_, err = ParseFamily("bsp")
	assert.EqualError(t, err, "no thread family called bsp; npt or bspt")
}

func TestKindWords(t *testing.T) {
	for _, k := range Kinds() {
		assert.NotEmpty(t, k.Words(), k)
		assert.True(t, IsKind(string(k)))
	}
	assert.False(t, IsKind("bracket"))
	assert.Len(t, KindWords(), len(words))
	assert.True(t, IsSpecialOrder(SideTee))
	assert.False(t, IsSpecialOrder(Tee))
}
