package pipeline

import (
	"bytes"
	"math"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/closing"
	"turnwise/assembly/fuse"
	"turnwise/assembly/solidify"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
	"turnwise/geom/sdf"
)

// assertOnePiece checks the frame in one piece, as read back, against the parts of the plan: closed; one outer skin for
// each group of parts that are joined; its surface on that of the parts; and their volume.
func assertOnePiece(t *testing.T, p assembly.Plan, m *mesh.Mesh, files map[string][]byte) {
	require.NoError(t, mesh.Check(m))
	bodies := 0
	for _, shell := range mesh.Apart(m) {
		if mesh.Volume(shell) > 0 {
			bodies++
		}
	}
	assert.Equal(t, groups(p), bodies, "outer skins")
	var solids []sdf.Solid
	sum := 0.0
	for _, q := range p.Parts {
		if q.Solid == "" {
			continue
		}
		s, err := solidify.Solid(q)
		require.NoError(t, err)
		solids = append(solids, sdf.Move(s, q.Pose))
		part, err := stl.Read(bytes.NewReader(files[q.Solid]))
		require.NoError(t, err)
		sum += mesh.Volume(part)
	}
	// Threads overlap, and what is not screwed grows into what it touches: about half a per cent, and of a frame that is mostly
	// board two.
	assert.InEpsilon(t, sum, mesh.Volume(m), 0.03)
	all := sdf.Join(solids...)
	// What is not screwed on is larger on every side; at its corners that is more by the root of three.
	most := fuse.MostSinkMM*math.Sqrt(3) + ToleranceMM
	off := 0
	for i := range m.Triangles {
		a, b, c := m.Corners(i)
		if all.Distance(a.Add(b).Add(c).Mul(1.0/3)) > most || math.Abs(all.Distance(a)) > most {
			off++
		}
	}
	assert.Less(t, off, len(m.Triangles)/50, "triangles off the surface, but for fillings of threads")
	room := all.Bounds().Grow(fuse.MostSinkMM + 0.02)
	assert.True(t, room.Contains(mesh.Bounds(m).Min) && room.Contains(mesh.Bounds(m).Max))
}

// groups counts the sets of parts that no joint connects with others.
func groups(p assembly.Plan) int {
	number := map[string]int{}
	for _, q := range p.Parts {
		if q.Kind != standard.Room {
			number[q.ID] = len(number)
		}
	}
	f, pieces := closing.NewForest(len(number)), len(number)
	for _, j := range p.Joints {
		a, okA := number[j.A.Part]
		b, okB := number[j.B.Part]
		if okA && okB && f.Join(a, b) {
			pieces--
		}
	}
	return pieces
}

func TestFrameInOnePiece(t *testing.T) {
	if testing.Short() {
		t.Skip("meshes a whole frame; TestExamplesBuild does it for all examples")
	}
	r, files := builtSolids(t, "club-jacket-rack.yaml")
	m, err := stl.Read(bytes.NewReader(files["solids/frame.stl"]))
	require.NoError(t, err)
	assertOnePiece(t, r.Plan, m, files)

	q := request(t, filepath.Join(root, "examples", "club-jacket-rack.yaml"))
	q.Groups, q.Scale = Groups{SolidsGroup: true}, Scale{1, 8}
	small, err := Build(q)
	require.NoError(t, err)
	for _, f := range small.Files {
		if f.Path != "solids/frame.stl" {
			assert.True(t, bytes.Equal(files[f.Path], f.Data), "%s is true size", f.Path)
			continue
		}
		s, err := stl.Read(bytes.NewReader(f.Data))
		require.NoError(t, err)
		assert.InEpsilon(t, mesh.Volume(m)/512, mesh.Volume(s), 1e-4)
		assert.True(t, mesh.Bounds(m).Max.Mul(1.0/8).Near(mesh.Bounds(s).Max, 1e-3))
	}
}

func TestParseScale(t *testing.T) {
	for text, want := range map[string]float64{"1:8": 0.125, "1:1": 1, "2:3": 2.0 / 3, " 1 : 12.5 ": 0.08, "4:1": 4} {
		s, err := ParseScale(text)
		require.NoError(t, err, text)
		assert.InDelta(t, want, s.factor(), 1e-12, text)
	}
	for _, text := range []string{"", "8", "1:0", "0:1", "-1:8", "1:-8", "1:8:2", "a:b", "1:101", "5:1", "NaN:1", "1:Inf", "Inf:Inf"} {
		_, err := ParseScale(text)
		assert.ErrorIs(t, err, ErrScale, text)
	}
	assert.Equal(t, "1:12.5", Scale{1, 12.5}.String())
}

// TestScaledVanishes: a model so small that triangles lose their area is refused, not written.
func TestScaledVanishes(t *testing.T) {
	m := &mesh.Mesh{Vertices: []geom.Vec{{}, {X: 1e-5}, {Y: 1e-5}, {Z: 1e-5}}, Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}}}
	_, err := scaled(m, Scale{1, 1})
	require.NoError(t, err)
	_, err = scaled(m, Scale{1, 100})
	assert.Error(t, err)
}
