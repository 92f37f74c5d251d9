package sequence

import (
	"fmt"
	"testing"
)

// BenchmarkPlan plans grid frames with a union in every loop. Sizes are fittings along each axis, then bodies.
func BenchmarkPlan(b *testing.B) {
	for _, g := range [][3]int{{2, 1, 3}, {3, 2, 4}, {5, 2, 6}, {6, 4, 6}} {
		in := grid(g[0], g[1], g[2]).input()
		b.Run(fmt.Sprintf("size=%dx%dx%d/bodies=%d", g[0], g[1], g[2], len(in.Assembly.Parts)), func(b *testing.B) {
			b.ReportAllocs()
			for i := 0; i < b.N; i++ {
				if r := Plan(in); len(r.Steps) == 0 {
					b.Fatal(r.Findings)
				}
			}
		})
	}
}
