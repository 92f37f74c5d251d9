package solve

import (
	"fmt"
	"math/rand"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"turnwise/assembly/design"
)

// FuzzSolve: whatever reads well is solved or refused, without a panic and without end. An assembly that comes out is
// sound.
func FuzzSolve(f *testing.F) {
	files, err := filepath.Glob(briefs + "*.yaml")
	require.NoError(f, err)
	for _, name := range files {
		b, err := os.ReadFile(name)
		require.NoError(f, err)
		f.Add(string(b))
	}
	for _, text := range []string{rodDesign, benchDesign, copiesDesign, measured + "points:\n  a: 0, 0, 0\n  b: a, z + ?\nruns:\n  r: {path: a to b, cut: 5}\n"} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		if len(text) > 4096 {
			return
		}
		tree, errs := design.Read(strings.NewReader(text), "fuzz.yaml")
		if len(errs) > 0 {
			return
		}
		a, errs := Solve(tree)
		if (a == nil) == (len(errs) == 0) {
			t.Fatalf("assembly %v, errors %v", a != nil, errs)
		}
		for _, e := range errs {
			if e.At.Line < 1 || e.Text == "" {
				t.Fatalf("an error without place or text: %v", e)
			}
		}
		if a != nil {
			assertSound(t, a)
		}
	})
}

// sketch turns bytes into a design that reads well: points in every form, runs, cuts, boards, fittings and copies.
func sketch(data []byte) string {
	next := func(n int) int {
		if len(data) == 0 {
			return 0
		}
		v := int(data[0]) % n
		data = data[1:]
		return v
	}
	pick := func(words ...string) string { return words[next(len(words))] }
	steps := []string{"5", "10", "20", "33 1/3", "7.5", "12", "10", "a.z / 2 + 9", "top.top", "pipe.od * 9"}
	var b strings.Builder
	fmt.Fprintf(&b, "pipe: %s\nmake-up: %s\n", pick("1/2", "3/4", "1", "1-1/2"), pick("normal", "gauge", "hand"))
	fmt.Fprintf(&b, "room:\n  left: %s\n  floor: %s\n  right: 60\n  front: 90\n", pick("0", "0 at z 0, 1 at z 50", "0 at y 0, -2 at y 900"),
		pick("0", "0 at x 0, 1 at x 80", "0 at x 0 y 0, 1 at x 90 y 0, 2 at x 0 y 90"))
	fmt.Fprintf(&b, "boards:\n  top: {size: 400 x 200 x %s, at: \"-50, -50, %s\"}\n", pick("1", "3/4"), pick("0", "20", "-9", "40"))
	names := []string{"a", "b", "c", "d", "e", "f", "g"}
	b.WriteString("points:\n  a: " + pick("0", "left", "5", "right") + ", " + pick("0", "back", "5") + ", " + pick("0", "floor", "20", "top.top", "top.under") + "\n")
	for i, n := range names[1:] {
		from := names[i]
		if next(3) == 0 {
			from = names[next(i+1)]
		}
		axis := pick("x", "y", "z")
		switch next(20) {
		case 0:
			fmt.Fprintf(&b, "  %s: %s, %s, %s\n", n, pick("10", "20", "left", "45"), pick("9", "5", "back"), pick("0", "10", "20", "floor", "top.under", "top.top"))
		case 1:
			fmt.Fprintf(&b, "  %s: %s, %s %s ?\n", n, from, axis, pick("+", "-"))
		case 2:
			fmt.Fprintf(&b, "  %s: %s, toward %s + %s\n", n, from, names[next(i+1)], pick("10", "?", "3"))
		case 3:
			fmt.Fprintf(&b, "  %s: %s, %s\n", n, from, pick("z = floor", "x = left", "x = right", "z = top.under", "z = top.top", "y = back"))
		default:
			fmt.Fprintf(&b, "  %s: %s, %s %s %s\n", n, from, axis, pick("+", "+", "-"), pick(steps...))
		}
	}
	b.WriteString("groups:\n  gr:\n    copies: " + pick("{one: here, two: x + 30}", "3 each y + 15", "{one: here, two: mirror x at 25}", "{one: mirror y at 8}") + "\n")
	fmt.Fprintf(&b, "    points:\n      p: %s\n      q: p, %s + %s\n    runs:\n      pq: p to %sq\n", pick("50, 60, 70", "left, 69, 30", "7, 69, floor", "3, 63, top.under"),
		pick("x", "y", "z"), pick("9", "9", "8"), pick("", "union to "))
	b.WriteString("runs:\n")
	for i := 0; i < 1+next(3); i++ {
		at := next(4)
		path := names[at]
		for k := 0; k < 1+next(4) && at < len(names)-1; k++ {
			at = min(at+1+next(2), len(names)-1)
			path += " to " + pick("", "", "", "", "", "union to ", "coupling to ", "right-left to ", "long-screw to ") + names[at]
		}
		fmt.Fprintf(&b, "  r%d:\n    path: %s\n", i, path)
		if c := pick("", "", "", "", "", "", "rest", "close", "20"); c != "" {
			fmt.Fprintf(&b, "    cut: %s\n", c)
		}
		if c := pick("", "", "", "", "", "0.1", "0.5"); c != "" {
			fmt.Fprintf(&b, "    clearance: %s\n", c)
		}
		if c := pick("", "", "", "1/2", "3/4"); c != "" {
			fmt.Fprintf(&b, "    size: %s\n", c)
		}
	}
	if f := pick("", "", "", "tee along r0", "street-elbow into r0", "cap", "open", "glide", "caster", "flange loose", "flange pad 1/4 in", "cross", "side-tee"); f != "" {
		fmt.Fprintf(&b, "fittings:\n  %s: %s\n", names[next(len(names))], f)
	}
	return b.String()
}

// FuzzSketch is FuzzSolve on designs that nearly always read well.
func FuzzSketch(f *testing.F) {
	f.Add([]byte{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16})
	f.Add([]byte("a rack of two posts and three rungs, drawn by chance"))
	f.Fuzz(func(t *testing.T, data []byte) {
		text := sketch(data)
		tree, errs := design.Read(strings.NewReader(text), "fuzz.yaml")
		if len(errs) > 0 {
			return
		}
		a, errs := Solve(tree)
		if (a == nil) == (len(errs) == 0) {
			t.Fatalf("assembly %v, errors %v of\n%s", a != nil, errs, text)
		}
		for _, e := range errs {
			if e.At.Line < 1 || e.Text == "" {
				t.Fatalf("an error without place or text: %v of\n%s", e, text)
			}
		}
		if a != nil {
			assertSound(t, a)
			if t.Failed() {
				t.Log(text)
			}
		}
	})
}

// TestSketches runs many designs drawn by chance from a fixed seed.
func TestSketches(t *testing.T) {
	n := 300
	if testing.Short() {
		n = 200
	}
	r := rand.New(rand.NewSource(7))
	read, sound := 0, 0
	for i := 0; i < n && !t.Failed(); i++ {
		data := make([]byte, 40+r.Intn(40))
		r.Read(data)
		text := sketch(data)
		tree, errs := design.Read(strings.NewReader(text), "sketch.yaml")
		if len(errs) > 0 {
			continue
		}
		read++
		a, errs := Solve(tree)
		require.NotEqual(t, a == nil, len(errs) == 0, text)
		if a == nil {
			continue
		}
		sound++
		if assertSound(t, a); t.Failed() {
			t.Logf("sketch %d:\n%s", i, text)
		}
	}
	t.Logf("%d read, %d solved, of %d", read, sound, n)
	require.Greater(t, read, n/4)
	require.Positive(t, sound)
}

// grid is a rack of n posts with m rungs between neighbours, as text.
func rack(n, m int) string {
	var b strings.Builder
	b.WriteString("pipe: 1/2\npoints:\n")
	for i := 0; i < n; i++ {
		fmt.Fprintf(&b, "  f%d: %d, 5, floor\n  t%d: f%d, z = %d\n", i, 30*i, i, i, 20*m+20)
		for k := 0; k < m; k++ {
			fmt.Fprintf(&b, "  p%d-%d: f%d, z = %d\n", i, k, i, 20*k+20)
		}
	}
	b.WriteString("runs:\n")
	for i := 0; i < n; i++ {
		fmt.Fprintf(&b, "  post%d: f%d to t%d\n", i, i, i)
		for k := 0; k < m && i > 0; k++ {
			fmt.Fprintf(&b, "  rung%d-%d: p%d-%d to union to p%d-%d\n", i, k, i-1, k, i, k)
		}
	}
	return b.String()
}

// TestManyParts solves a large rack, for the counts: n posts of m rungs between each two.
func TestManyParts(t *testing.T) {
	const n, m = 12, 8
	a := solved(t, rack(n, m))
	got := counts(a)
	require.Equal(t, m*(n-1), got["union"])
	require.Equal(t, 2*m+(m+1)*n-2*m+2*m*(n-1), got["pipe"]+0, "m+1 in each post, two in each rung")
	require.Equal(t, (n-1)*m-(n-1), loops(a), "a ladder of m rungs has m - 1 loops")
	assertSound(t, a)
}

func BenchmarkSolve(b *testing.B) {
	designs := map[string]string{"rod": rodDesign, "bench": benchDesign}
	for _, size := range [][2]int{{3, 4}, {6, 5}, {12, 8}, {20, 15}} {
		designs[fmt.Sprintf("rack%dx%d", size[0], size[1])] = rack(size[0], size[1])
	}
	for _, name := range sortedKeys(designs) {
		tree, errs := read(b, designs[name])
		require.Empty(b, errs)
		a, errs := Solve(tree)
		require.Empty(b, errs)
		b.Run(fmt.Sprintf("parts=%d/%s", len(a.Parts), name), func(b *testing.B) {
			for i := 0; i < b.N; i++ {
				Solve(tree)
			}
		})
	}
	for _, name := range []string{"record-library-in-an-alcove", "cellar-handrail-in-a-village-hall"} {
		tree := readFile(b, briefs+name+".yaml")
		b.Run(name, func(b *testing.B) {
			for i := 0; i < b.N; i++ {
				Solve(tree)
			}
		})
	}
}
