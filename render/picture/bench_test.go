package picture

import (
	"fmt"
	"io"
	"testing"

	"github.com/stretchr/testify/require"

	"turnwise/render/rendertest"
)

// BenchmarkPictures makes both pictures of a made-up bay of 89 parts, PNG included. Triangles are counted over all
// instances.
func BenchmarkPictures(b *testing.B) {
	for _, sides := range []int{32, 96} {
		f := rendertest.Bay()
		f.Sides = sides
		plan := f.Plan("A made-up bay")
		triangles := 0
		for _, p := range plan.Parts {
			if m := f.Mesh(p); m != nil {
				triangles += len(m.Triangles)
			}
		}
		for _, pic := range []struct {
			name string
			make func() (*Picture, error)
		}{
			{"finished", func() (*Picture, error) { return Finished(plan, f.Mesh) }},
			{"exploded", func() (*Picture, error) { return Exploded(plan, f.Mesh) }},
		} {
			b.Run(fmt.Sprintf("%s/triangles=%dk", pic.name, triangles/1000), func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					p, err := pic.make()
					require.NoError(b, err)
					require.NoError(b, p.WritePNG(io.Discard))
				}
			})
		}
	}
}

// BenchmarkStepPictures makes the step pictures of a made-up bay of 89 parts, PNG and SVG included.
func BenchmarkStepPictures(b *testing.B) {
	f := rendertest.Bay()
	f.Sides = 96
	plan := stepped(f, "A made-up bay")
	b.Run(fmt.Sprintf("parts=%d", len(plan.Parts)), func(b *testing.B) {
		b.ReportAllocs()
		n := 0
		for b.Loop() {
			require.NoError(b, StepPictures(plan, f.Mesh, func(p StepPicture) error {
				n++
				if err := p.Vector.WriteSVG(io.Discard); err != nil {
					return err
				}
				return p.WritePNG(io.Discard)
			}))
		}
		b.ReportMetric(float64(n)/float64(b.N), "pictures")
	})
}
