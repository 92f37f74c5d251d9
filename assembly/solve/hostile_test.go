package solve

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/design"
)

// hostile are files made to be slow, each as large as the format allows, by name.
func hostile() map[string]string {
	const head = "pipe: 1/2\npoints:\n  a: 0, 0, 0\n  c: 30, 0, 0\n"
	lines := func(n int, format string) string {
		var b strings.Builder
		for i := 1; i <= n; i++ {
			b.WriteString(strings.NewReplacer("<n>", fmt.Sprint(i), "<n-1>", fmt.Sprint(i-1), "<-n>", fmt.Sprint(n-i)).Replace(format))
		}
		return b.String()
	}
	chain := head + "  p0: a\n"
	chain = strings.Replace(chain, "p0: a", "p0: 0, 0, 0", 1)
	return map[string]string{
		"chain of ?":           chain + lines(4000, "  p<n>: p<n-1>, x + ?\n") + "runs:\n" + lines(1800, "  r<n>: {path: p<n-1> to p<n>, cut: 9}\n"),
		"chain of ?, reversed": chain + lines(1800, "  p<n>: p<n-1>, x + ?\n") + "runs:\n" + lines(1800, "  r<n>: {path: p<n> to p<n-1>, cut: 9}\n"),
		"pairs of ?":           chain + lines(1500, "  q<n>: p<n-1>, z + ?\n  p<n>: p<n-1>, x + ?\n") + "runs:\n" + lines(1500, "  r<n>: {path: p<n-1> to q<n>, cut: 9}\n"),
		"star":                 head + lines(900, "  s<n>: a, x + 9, y + <n>/7, z + <n>/11\n") + "runs:\n" + lines(900, "  r<n>: a to s<n>\n"),
		"one pair of points":   head + "runs:\n" + lines(9000, "  r<n>: a to c\n"),
		"one leg":              head + lines(4900, "  p<n>: <n>/200, 0, 0\n") + "runs:\n  r: a to c\n",
		"nested legs":          head + lines(1400, "  p<n>: 9 + <n>/20, 0, 0\n  q<n>: 300 - <n>/20, 0, 0\n") + "runs:\n" + lines(1400, "  r<n>: p<n> to q<n>\n"),
		"crossing runs":        head + lines(2400, "  p<n>: 0, <n>/40, <n>/9\n  q<n>: 90, <-n>/30, <n>/7\n") + "runs:\n" + lines(2400, "  r<n>: p<n> to q<n>\n"),
		"boards in one place":  head + "runs:\n  r: a to c\nboards:\n" + lines(1500, "  b<n>: {size: 9 x 9 x 1, at: \"0, 50, 9\"}\n"),
		"stack of boards":      head + "runs:\n  r: a to c\nboards:\n  b0: {size: 9 x 9 x 1, at: \"0, 50, 9\"}\n" + lines(2500, "  b<n>: {size: 9 x 9 x 1, at: \"0, 50, ?\", lies-on: b<n-1>}\n"),
		"copies of copies": head + "runs:\n  r: a to c\ngroups:\n  g:\n    copies: 200 each x + 1\n    groups:\n      h:\n" +
			"        copies: 200 each y + 1\n        points:\n          p: 0, 0, 0\n",
		"copies of runs": head + "runs:\n  r: a to c\ngroups:\n  g:\n    copies: 200 each x + 1\n    groups:\n      h:\n" +
			"        copies: 200 each y + 1\n        runs:\n          p: a to c\n",
		"givens": head + "runs:\n  r: a to c\ngivens:\n  g0: 1\n" + lines(8000, "  g<n>: g<n-1> + 1\n"),
	}
}

// TestHostile: files made to be slow are worked out or refused within a bounded amount of work.
func TestHostile(t *testing.T) {
	files := hostile()
	for _, name := range sortedKeys(files) {
		t.Run(name, func(t *testing.T) {
			tree, errs := design.Read(strings.NewReader(files[name]), "hostile.yaml")
			require.Empty(t, errs)
			s := newSolver(tree)
			s.work()
			assert.LessOrEqual(t, s.spent, maxWork+len(s.unknowns)*perCell, "work")
			assert.LessOrEqual(t, len(s.points), MaxPoints)
			if strings.Contains(name, "?") {
				require.NotEmpty(t, s.errs.list)
				assert.Contains(t, s.errs.list[0].Text, "too many ? hang on one another")
			}
			a, errs := Solve(tree)
			require.NotEqual(t, a == nil, len(errs) == 0)
			if strings.HasPrefix(name, "copies") {
				assert.Contains(t, errs[0].Text, "5000 points")
			}
			if a != nil {
				assert.LessOrEqual(t, len(a.Parts), MaxParts)
			}
			crossings := 0
			if a != nil {
				for _, f := range a.Findings {
					if f.Code == "CROSSING" {
						crossings++
					}
				}
			}
			assert.LessOrEqual(t, crossings+len(errs), 2*maxCrossings+maxFaults, "%d findings", crossings)
		})
	}
}

// BenchmarkHostile is how long each takes to be refused or worked out.
func BenchmarkHostile(b *testing.B) {
	files := hostile()
	for _, name := range sortedKeys(files) {
		tree, errs := design.Read(strings.NewReader(files[name]), "hostile.yaml")
		require.Empty(b, errs)
		b.Run(fmt.Sprintf("bytes=%d/%s", len(files[name]), strings.ReplaceAll(name, " ", "-")), func(b *testing.B) {
			for i := 0; i < b.N; i++ {
				Solve(tree)
			}
		})
	}
}
