package pipeline

import (
	"bytes"
	"encoding/csv"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom/mesh/stl"
)

const root = "../../../.."

func designs(t testing.TB, folder string) []string {
	files, err := filepath.Glob(filepath.Join(root, folder, "*.yaml"))
	require.NoError(t, err)
	require.NotEmpty(t, files, folder)
	return files
}

func request(t testing.TB, file string) Request {
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	return Request{Name: filepath.Base(file), Design: bytes.NewReader(text)}
}

// TestPlansAreProven: every example and every worked room gives a whole plan that stands the proof.
func TestPlansAreProven(t *testing.T) {
	for _, folder := range []string{"examples", "testdata/briefs"} {
		for _, file := range designs(t, folder) {
			t.Run(filepath.Base(file), func(t *testing.T) {
				t.Parallel()
				r, err := Check(request(t, file))
				require.NoError(t, err)
				for _, f := range r.Plan.Findings {
					assert.NotEqual(t, assembly.Stop, f.Severity, "%s: %s", f.Code, f.Text)
				}
				assertWhole(t, r.Plan)
			})
		}
	}
}

// assertWhole checks that the steps place every part once and close every joint that is not only touched once.
func assertWhole(t *testing.T, p assembly.Plan) {
	placed, closed := map[string]int{}, map[string]int{}
	for _, s := range p.Steps {
		for _, j := range s.Joints {
			closed[j]++
		}
		for _, m := range s.Moves {
			placed[m]++
		}
		for _, r := range s.Repeats {
			for _, j := range r.Joints {
				closed[j]++
			}
			for _, m := range r.Moves {
				placed[m]++
			}
		}
	}
	for _, q := range p.Parts {
		if q.Kind != standard.Room {
			assert.Positive(t, placed[q.ID], "%s is in no step", q.ID)
			assert.Positive(t, q.Number, "%s has no number", q.ID)
		}
	}
	for _, j := range p.Joints {
		assert.Equal(t, 1, closed[j.ID], "joint %s", j.ID)
	}
}

// TestExamplesBuild builds every example whole: every solid closed, every number balloon found, nothing crossing.
func TestExamplesBuild(t *testing.T) {
	if testing.Short() {
		t.Skip("meshes and draws every example")
	}
	for _, file := range designs(t, "examples") {
		t.Run(filepath.Base(file), func(t *testing.T) {
			r, err := Build(request(t, file))
			require.NoError(t, err)
			paths := map[string][]byte{}
			for _, f := range r.Files {
				paths[f.Path] = f.Data
			}
			for _, p := range []string{"plan.json", "lists/cuts.csv", "lists/shopping.csv", "pictures/finished.png", "pictures/exploded.png", "pictures/scores.json"} {
				assert.NotEmpty(t, paths[p], p)
			}
			for _, q := range r.Plan.Parts {
				if q.Solid == "" {
					continue
				}
				m, err := stl.Read(bytes.NewReader(paths[q.Solid]))
				require.NoError(t, err, q.Solid)
				assertSolid(t, q, m)
			}
			m, err := stl.Read(bytes.NewReader(paths["solids/frame.stl"]))
			require.NoError(t, err)
			assertOnePiece(t, r.Plan, m, paths)
			if strings.Contains(file, "theatre") {
				assert.InDelta(t, 60, len(r.Plan.Parts), 12, "the big example")
			}
		})
	}
}

// TestSameBytes: a build on one core and one on two give the same files.
func TestSameBytes(t *testing.T) {
	if testing.Short() {
		t.Skip("builds an example twice")
	}
	file := filepath.Join(root, "examples", "club-jacket-rack.yaml")
	two, err := Build(request(t, file))
	require.NoError(t, err)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one, err := Build(request(t, file))
	require.NoError(t, err)
	require.Equal(t, len(two.Files), len(one.Files))
	for i, f := range one.Files {
		assert.Equal(t, two.Files[i].Path, f.Path)
		assert.True(t, bytes.Equal(two.Files[i].Data, f.Data), f.Path)
	}
}

// TestBriefCutLists compares the lists that a build writes with what was worked out by hand for five measured rooms,
// to 0.01 in. The hand-worked answers are in testdata/briefs/answers.csv.
func TestBriefCutLists(t *testing.T) {
	f, err := os.Open(filepath.Join(root, "testdata/briefs/answers.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	checked := 0
	for _, file := range designs(t, "testdata/briefs") {
		name := strings.TrimSuffix(filepath.Base(file), ".yaml")
		r, err := Check(request(t, file))
		require.NoError(t, err)
		checked += compareAnswers(t, name, rows, r.Plan)
	}
	assert.Greater(t, checked, 15)
}
