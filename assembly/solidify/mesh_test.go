package solidify

import (
	"fmt"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
)

// meshToleranceMM is what the files of solids are made to.
const meshToleranceMM = 0.02

// TestEveryPartMeshes: parts of the catalogue become sound meshes within the tolerance, without the way out by
// tetrahedra: one part of every kind, in -short of every third. TURNWISE_CATALOGUE=all takes every kind at every size in
// both families, which is a matter of many minutes.
func TestEveryPartMeshes(t *testing.T) {
	all := os.Getenv("TURNWISE_CATALOGUE") == "all"
	parts := everyPart(t, !all)
	const some = 3
	seen := map[string]bool{}
	methods := map[isosurface.Method]int{}
	worst, most := 0.0, 0
	for _, s := range parts {
		kind := fmt.Sprint(s.part.Kind, s.part.Half)
		if seen[kind] && !all {
			continue
		}
		if seen[kind] = true; testing.Short() && len(seen)%some != 0 {
			continue
		}
		solid, err := Solid(s.part)
		require.NoError(t, err, s.name)
		m, r, err := isosurface.Mesh(solid, isosurface.Options{ToleranceMM: meshToleranceMM})
		if !assert.NoError(t, err, s.name) {
			continue
		}
		assert.NoError(t, mesh.Check(m), s.name)
		assert.NotEqual(t, isosurface.Tetrahedra, r.Method, "%s: %v", s.name, r.Rejected)
		assert.LessOrEqual(t, r.MaxErrorMM, meshToleranceMM*1.02, "%s by %s: %v", s.name, r.Method, r.Rejected)
		assert.Zero(t, r.Folded, "%s by %s: %v", s.name, r.Method, r.Rejected)
		methods[r.Method]++
		worst, most = max(worst, r.MaxErrorMM), max(most, len(m.Triangles))
		if r.Attempts > 1 {
			t.Logf("%s by %s on grid %d, off by %.4f mm: %v", s.name, r.Method, r.Attempts, r.MaxErrorMM, r.Rejected)
		}
	}
	t.Logf("%v of %d parts, off by %.4f mm at most, at most %d triangles", methods, len(parts), worst, most)
}
