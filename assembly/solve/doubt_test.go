package solve

import (
	"fmt"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/design"
)

// faults works out a faulty text as far as it goes, and returns its faults as ":line:col text".
func faults(t *testing.T, text string) []string {
	t.Helper()
	tree, found := read(t, text)
	var out []string
	for _, e := range Faults(tree, found) {
		out = append(out, strings.TrimPrefix(e.Error(), "test.yaml"))
	}
	return out
}

// healthyFaults is a design with one fault of each stage: a value, a fitting, a length, a crossing, a surface. Whatever
// else is wrong with the file, each is told.
const healthyFaults = `pipe: 1/2
room: {right: 200, ceiling: 90}
boards:
  seat: {size: 40 x 16 x 1, at: "0, 100, 20"}
points:
  bad: 0, 20 kg, 0
  b0: 20, 20, 20
  b1: b0, x + 20
  b2: b1, x + 10, z + 27.5
  c0: 60, 20, 20
  c1: c0, x + 12
  d0: 90, 20, 20
  d1: d0, x + 30
  e0: 100, 10, 20
  e1: e0, y + 30
  leg: 3, 118, seat.under
  tip: leg, z = 5
runs:
  post: b0 to b1
  brace: b1 to b2
  cutty: {path: c0 to c1, cut: 20}
  under: d0 to d1
  over: e0 to e1
  stub: tip to leg
`

var healthyWant = []string{
	":6:11: 20 kg is a weight; a coordinate wants a length",
	":8:3: b1: 110 degrees between post and brace; fittings turn 45 or 90; move a point so that the pipes run straight on, or turn 45 or 90",
	":16:3: leg: seat reaches y 100 to 116, the point is at y 118",
	":21:32: two answers for cutty: the points ask for 12, cut says 20",
	":23:9: over passes through under at 100, 20, 20 with no point there: add one to both paths, or move one",
}

// TestFaultsOfAllStages: one run tells the faults of values, fittings, surfaces, lengths and crossings, and those of
// reading with them.
func TestFaultsOfAllStages(t *testing.T) {
	assert.Equal(t, healthyWant, faults(t, healthyFaults))
	for _, tt := range []struct{ name, old, new, want string }{
		{"a reading of the ceiling", "ceiling: 90}", "ceiling: 9x0}", ":2:29: 9x0"},
		{"a point's formula", "c1: c0, x + 12\n", "c1: c0, x + 12\n  odd: 1 +, 2, 3\n", ""},
		{"an unknown name", "stub: tip to leg", "stub: tip to leg\n  more: tip to nowhere", ":25:16: no point called nowhere"},
		{"an unknown key", "pipe: 1/2\n", "pipe: 1/2\ncolour: red\n", ":2:1: no key colour"},
		{"a run without a path", "stub: tip to leg", "stub: tip to leg\n  more: {cut: 9}", ":25:3: more has no path"},
		{"a load", "runs:", "loads:\n  under: 30 lb sideways\nruns:", ":19:16: no direction called sideways"},
		{"a board", "at: \"0, 100, 20\"}", "at: \"0, 100, 20\"}\n  shelf: {size: 4 x 4, at: \"0, 0, 0\"}", ":5:17: a board has three sizes"},
		{"a group", "runs:", "groups:\n  side:\n    copies: 3 eech x + 5\n    points:\n      g: 0, 0, 0\nruns:", ":20:13: copies are"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(healthyFaults, tt.old, tt.new, 1)
			tree, found := read(t, text)
			if text == healthyFaults {
				require.Empty(t, found)
				return
			}
			require.NotEmpty(t, found)
			got := Faults(tree, found)
			var words []string
			for i, e := range got {
				words = append(words, e.Text)
				if i > 0 {
					assert.False(t, e.At.IsBefore(got[i-1].At), "file order: %v", got)
				}
			}
			for _, w := range healthyWant {
				_, say, _ := strings.Cut(w, ": ")
				assert.Contains(t, words, say)
			}
			assert.Contains(t, "test.yaml"+strings.Join(strings.Split(got.Error(), "\n"), "\ntest.yaml"), tt.want)
			assert.Len(t, got, len(healthyWant)+len(found), "%v", got)
		})
	}
}

// TestFaultsOnlyOnce: what hangs on a faulty entry is not told as a fault of its own.
func TestFaultsOnlyOnce(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"a distance through a point without a place", `pipe: 1/2
points:
  a: 0, 0, 0
  b: 0, 0, 3 kg
  c: a, z + ?
  d: c, x + ?
runs:
  r: {path: b to c, cut: 9}
  s: {path: c to d, cut: 9}
`, ":4:12: 3 kg is a weight"},
		{"a distance whose run cannot be read", `pipe: 1/2
points:
  a: 0, 0, 0
  c: a, z + ?
  d: c, x + 9
runs:
  r: {path: a to c, cut: 9 9}
  s: c to d
`, ":7:"},
		{"a tee whose third pipe cannot be read", `pipe: 1/2
points:
  a: 0, 0, 0
  b: 0, 0, 20
  c: 0, 0, 40
  d: 20, 0, 20
runs:
  r: a to c
  s: b to 4d
fittings:
  b: tee along r
`, ":9:11: 4d is not a name"},
		{"two distances, the second hanging on the first", `pipe: 1/2
points:
  a: 0, 0, 0
  b: 0, 0, 50
  c: b, z + ?
  d: c, y + 9, x + ?
runs:
  r: {path: a to c, cut: 7}
  s: {path: a to d, cut: 90}
  u: c to d
`, "below zero"},
		{"parts that cannot be read", `pipe: 1/2
points:
  a: 0, 0, 0
  b: a, x + elbow.centre-to-end
  c: b, z + 1
  d: c, y + ?
runs:
  r: {path: a to b to c, cut: close then 20}
  s: {path: c to d, cut: 20}
parts:
  1/2 elbow: {centre-to-end: 3 kgg}
`, ":11:"},
		{"a size that cannot be read", `pipe: 5/8
points:
  a: 0, 0, 0
  b: a, x + 20
  c: b, z + 20
  d: c, x + ?
runs:
  r: a to b
  s: {path: b to c, size: 3/4}
  u: {path: c to d, cut: 9}
`, ":1:7: no pipe size 5/8"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := faults(t, tt.text)
			require.Len(t, got, 1, "%v", got)
			assert.Contains(t, got[0], tt.want)
		})
	}
}

// TestSolveRefusesFaultyTrees: a tree in which reading found faults is not built.
func TestSolveRefusesFaultyTrees(t *testing.T) {
	tree, found := read(t, "pipe: 1/2\nroom: {ceiling: 9x}\npoints:\n  a: 0, 0, 0\n  b: 0, 0, 20\nruns:\n  r: a to b\n")
	require.NotEmpty(t, found)
	a, errs := Solve(tree)
	assert.Nil(t, a)
	assert.Len(t, errs, 1)
	assert.Equal(t, found, Faults(tree, found), "nothing else is wrong with it")
}

// damage changes a text in one or two places.
func damage(r *rand.Rand, text string) string {
	lines := strings.Split(text, "\n")
	for n := 1 + r.Intn(2); n > 0; n-- {
		i := r.Intn(len(lines))
		l := lines[i]
		at := r.Intn(len(l) + 1)
		switch r.Intn(6) {
		case 0:
			lines[i] = l[:at] + string("x:,{}?#=+-0k \t"[r.Intn(14)]) + l[at:]
		case 1:
			lines[i] = l[:at]
		case 2:
			lines[i] = l[at:]
		case 3:
			lines[i] = ""
		case 4:
			lines[i] = " " + l
		default:
			if at < len(l) {
				lines[i] = l[:at] + l[at+1:]
			}
		}
	}
	return strings.Join(lines, "\n")
}

// TestDamagedFiles: files damaged by chance are read, and worked out as far as they go, without a panic. What reading
// found is never lost.
func TestDamagedFiles(t *testing.T) {
	n := 2500
	if testing.Short() {
		n = 300
	}
	texts := []string{rodDesign, benchDesign, copiesDesign, healthyFaults}
	files, err := filepath.Glob(briefs + "*.yaml")
	require.NoError(t, err)
	for _, name := range files {
		b, err := os.ReadFile(name)
		require.NoError(t, err)
		texts = append(texts, string(b))
	}
	r := rand.New(rand.NewSource(11))
	faulty, more := 0, 0
	for i := 0; i < n; i++ {
		text := damage(r, texts[i%len(texts)])
		tree, found := design.Read(strings.NewReader(text), "damaged.yaml")
		if len(found) == 0 {
			continue
		}
		faulty++
		got := worked(t, tree, found, text)
		require.GreaterOrEqual(t, len(got), len(found), text)
		if len(got) > len(found) {
			more++
		}
	}
	t.Logf("%d faulty of %d; %d with more found in solving", faulty, n, more)
	require.Greater(t, faulty, n/3)
}

// worked calls Faults and names the text of a panic.
func worked(t *testing.T, tree *design.Tree, found design.Errors, text string) design.Errors {
	defer func() {
		if p := recover(); p != nil {
			panic(fmt.Sprintf("%v\n%s", p, text))
		}
	}()
	return Faults(tree, found)
}

// FuzzFaults is TestDamagedFiles on any text.
func FuzzFaults(f *testing.F) {
	for _, text := range []string{rodDesign, benchDesign, copiesDesign, healthyFaults} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 4096 {
			return
		}
		tree, found := design.Read(strings.NewReader(text), "fuzz.yaml")
		if len(found) > 0 && len(Faults(tree, found)) < len(found) {
			t.Fatal("faults of reading are lost")
		}
	})
}
