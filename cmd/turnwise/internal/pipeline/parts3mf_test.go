package pipeline

import (
	"bytes"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
	"turnwise/geom/mesh/threemf"
)

// TestPartsPackage: the package holds each solid as its STL has it, named with its number, and lays them clear of one
// another where every coordinate is positive, as the 3MF core specification advises (3.4.2, from memory).
func TestPartsPackage(t *testing.T) {
	r, files := builtSolids(t, "club-jacket-rack.yaml")
	file := files["solids/parts.3mf"]
	m, err := threemf.Read(bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	seen := map[string]bool{}
	var used []geom.Box
	for _, p := range r.Plan.Parts {
		if p.Solid == "" || seen[p.Solid] {
			continue
		}
		o := m.Objects[len(seen)]
		seen[p.Solid] = true
		want, err := stl.Read(bytes.NewReader(files[p.Solid]))
		require.NoError(t, err)
		require.NoError(t, mesh.Check(o.Mesh), o.Name)
		assert.Equal(t, want, mesh.Weld(o.Mesh), o.Name)
		assert.True(t, strings.HasPrefix(o.Name, strconv.Itoa(p.Number)+" "), o.Name)
	}
	require.Len(t, m.Objects, len(seen))
	require.Len(t, m.Items, len(seen))
	for i, it := range m.Items {
		assert.Equal(t, i, it.Object)
		b := mesh.Bounds(mesh.Placed(m.Objects[i].Mesh, it.Pose))
		assert.True(t, b.Min.X > -1e-3 && b.Min.Y > -1e-3 && b.Min.Z > -1e-3, "%v", b)
		assert.GreaterOrEqual(t, b.Size().X, max(b.Size().Y, b.Size().Z)-1e-3)
		for _, u := range used {
			assert.False(t, b.Overlaps(u))
		}
		used = append(used, b)
	}
}
