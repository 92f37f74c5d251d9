package solve

import (
	"fmt"
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
