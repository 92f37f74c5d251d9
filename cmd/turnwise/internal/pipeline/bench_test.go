package pipeline

import (
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"turnwise/geom/sdf"
)

// BenchmarkBuild times the whole of a build, and of a check, for each example, named with its number of parts.
func BenchmarkBuild(b *testing.B) { bench(b, Build) }

func BenchmarkCheck(b *testing.B) { bench(b, Check) }

func bench(b *testing.B, run func(Request) (*Result, error)) {
	for _, file := range designs(b, "examples") {
		r, err := Check(request(b, file))
		require.NoError(b, err)
		b.Run(fmt.Sprintf("%s/parts=%d", filepath.Base(file), len(r.Plan.Parts)), func(b *testing.B) {
			for b.Loop() {
				_, err := run(request(b, file))
				require.NoError(b, err)
			}
		})
	}
}

// BenchmarkGroup times each group of files with what it needs, the proof of the plan included, for the largest example.
func BenchmarkGroup(b *testing.B) {
	for _, file := range designs(b, "examples") {
		r, err := Check(request(b, file))
		require.NoError(b, err)
		if len(r.Plan.Parts) < 50 {
			continue
		}
		for _, name := range GroupNames {
			b.Run(fmt.Sprintf("%s/parts=%d", name, len(r.Plan.Parts)), func(b *testing.B) {
				for b.Loop() {
					q := request(b, file)
					q.Groups = Groups{name: true}
					_, err := Build(q)
					require.NoError(b, err)
				}
			})
		}
	}
}

// BenchmarkHundred times the pictures and the booklet of a made-up wardrobe wall of about a hundred bodies, the plan and its
// proof included, and tells how much was allocated.
func BenchmarkHundred(b *testing.B) {
	file := designs(b, "testdata/large")[0]
	r, err := Check(request(b, file))
	require.NoError(b, err)
	b.Run(fmt.Sprintf("parts=%d", len(r.Plan.Parts)), func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			q := request(b, file)
			q.Groups = Groups{PicturesGroup: true, BookletGroup: true}
			_, err := Build(q)
			require.NoError(b, err)
		}
	})
}

// BenchmarkBooklet times the setting of a booklet from pictures that are drawn already, for each example.
func BenchmarkBooklet(b *testing.B) {
	for _, file := range append(designs(b, "examples"), designs(b, "testdata/large")...) {
		r, w, err := plan(request(b, file))
		require.NoError(b, err)
		require.NoError(b, w.meshAll())
		_, err = w.pictureFiles()
		require.NoError(b, err)
		b.Run(fmt.Sprintf("%s/parts=%d", filepath.Base(file), len(r.Plan.Parts)), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				_, err := w.bookletFiles()
				require.NoError(b, err)
			}
		})
	}
}

// BenchmarkMeshAll times the meshing of all distinct parts of each example, with plain ends and with threads cut.
func BenchmarkMeshAll(b *testing.B) {
	for _, file := range designs(b, "examples") {
		for _, threads := range []bool{false, true} {
			r, w, err := plan(request(b, file))
			require.NoError(b, err)
			b.Run(fmt.Sprintf("%s/parts=%d/solids=%d/threads=%v", filepath.Base(file), len(r.Plan.Parts), len(w.files()), threads), func(b *testing.B) {
				for b.Loop() {
					w.solids.made = map[string]sdf.Solid{}
					if threads {
						require.NoError(b, w.cutThreads())
						continue
					}
					require.NoError(b, w.meshAll())
				}
			})
		}
	}
}
