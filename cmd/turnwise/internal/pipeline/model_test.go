package pipeline

import (
	"encoding/binary"
	"encoding/json"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
)

// built builds an example's solids and returns the result with its files by path.
func builtSolids(t testing.TB, example string) (*Result, map[string][]byte) {
	q := request(t, filepath.Join(root, "examples", example))
	q.Groups = Groups{SolidsGroup: true}
	r, err := Build(q)
	require.NoError(t, err)
	files := map[string][]byte{}
	for _, f := range r.Files {
		files[f.Path] = f.Data
	}
	return r, files
}

// modelJSON is what the test reads of a GLB file.
type modelJSON struct {
	Nodes []struct {
		Name        string
		Mesh        *int
		Translation [3]float64
		Extras      struct {
			Part   string
			Number int
		}
	}
	Meshes     []struct{ Name string }
	Animations []struct {
		Channels []struct{ Target struct{ Node int } }
	}
}

// TestFrameModel: one node for each body, named and numbered, at its place in metres with y up; one mesh for each file
// of a solid; and all but the first part leave.
func TestFrameModel(t *testing.T) {
	r, files := builtSolids(t, "club-jacket-rack.yaml")
	file := files["solids/frame.glb"]
	require.NotEmpty(t, file)
	var m modelJSON
	require.NoError(t, json.Unmarshal(file[20:20+binary.LittleEndian.Uint32(file[12:])], &m))
	solids, bodies := map[string]int{}, map[string]assembly.Part{}
	for _, p := range r.Plan.Parts {
		if p.Solid != "" {
			bodies[p.ID] = p
			solids[p.Solid]++
		}
	}
	require.Len(t, m.Nodes, len(bodies)+1)
	assert.Len(t, m.Meshes, len(solids))
	used := map[int]string{}
	for _, n := range m.Nodes[1:] {
		p := bodies[n.Extras.Part]
		require.Equal(t, n.Name, p.ID)
		assert.Equal(t, p.Number, n.Extras.Number)
		o := p.Pose.Origin
		assert.InDeltaSlice(t, []float64{o.X / 1000, o.Z / 1000, -o.Y / 1000}, n.Translation[:], 1e-6)
		if have, ok := used[*n.Mesh]; ok {
			assert.Equal(t, have, p.Solid)
		}
		used[*n.Mesh] = p.Solid
		assert.Equal(t, "solids/"+m.Meshes[*n.Mesh].Name+".stl", p.Solid)
	}
	assert.Len(t, used, len(solids))
	assert.Greater(t, len(m.Animations[0].Channels), len(bodies)/2)
}

// TestLeaving: what is placed last leaves first, what is held still stays longer, and the room has no turn.
func TestLeaving(t *testing.T) {
	p := &assembly.Plan{
		Parts: []assembly.Part{{ID: "room"}, {ID: "a"}, {ID: "b"}, {ID: "c"}, {ID: "d"}, {ID: "never"}},
		Steps: []assembly.Step{
			{Onto: []string{"a"}, Moves: []string{"b"}, Repeats: []assembly.Repeat{{Onto: []string{"c"}, Moves: []string{"d"}}}},
			{Onto: []string{"room"}, Moves: []string{"a", "b"}},
		},
	}
	assert.Equal(t, map[string]int{"d": 0, "c": 1, "b": 2, "a": 3, "never": 4}, leaving(p))
}
