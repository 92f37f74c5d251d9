package main

import (
	"bytes"
	"math/rand"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/planfile"
)

// TestBuildSurvivesBeingKilled kills whole builds at odd moments, of two designs in turn into one folder. Whenever the
// folder has a plan.json it must be a whole plan, every list must be one of the two designs' lists, and the build after
// the last kill must leave exactly what a build into a fresh folder leaves.
func TestBuildSurvivesBeingKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts many processes")
	}
	base := t.TempDir()
	designs := []string{filepath.Join(base, "a.yaml"), filepath.Join(base, "b.yaml")}
	for i, width := range []string{"47 1/4", "61"} {
		require.NoError(t, os.WriteFile(designs[i], []byte("title: Rod\nunits: in\npipe: 3/4\nroom:\n  right: "+width+
			"\npoints:\n  a: left, 12, 66\n  b: right, 12, 66\nruns:\n  rod: a to b\n"), 0o666))
	}
	turnwise := func(design, out string) *exec.Cmd {
		c := exec.Command(os.Args[0], "build", design, "--out", out, "--only", "lists,solids")
		c.Env = append(os.Environ(), asCommand+"=1")
		return c
	}
	var lists [][]byte
	for _, d := range designs {
		out := filepath.Join(base, "fresh-"+filepath.Base(d))
		require.NoError(t, turnwise(d, out).Run())
		b, err := os.ReadFile(filepath.Join(out, "lists", "cuts.csv"))
		require.NoError(t, err)
		lists = append(lists, b)
	}
	start := time.Now()
	require.NoError(t, turnwise(designs[0], filepath.Join(base, "timing")).Run())
	whole := time.Since(start)

	out := filepath.Join(base, "out")
	r := rand.New(rand.NewSource(7))
	killed := 0
	for k := 0; k < 30; k++ {
		c := turnwise(designs[k%2], out)
		require.NoError(t, c.Start())
		// Most of the work comes before the swap, so aim at the last part of a run.
		time.Sleep(time.Duration(float64(whole) * (0.6 + 0.5*r.Float64())))
		c.Process.Kill()
		if c.Wait() != nil {
			killed++
		}
		if b, err := os.ReadFile(filepath.Join(out, "plan.json")); err == nil {
			_, err := planfile.Read(bytes.NewReader(b))
			require.NoError(t, err, "plan.json after kill %d", k)
		}
		if b, err := os.ReadFile(filepath.Join(out, "lists", "cuts.csv")); err == nil {
			require.True(t, bytes.Equal(b, lists[0]) || bytes.Equal(b, lists[1]), "cuts.csv after kill %d: %s", k, b)
		}
	}
	assert.Positive(t, killed, "no build was cut short: the test shows nothing")
	require.NoError(t, turnwise(designs[1], out).Run())
	got, want := tree(t, out), tree(t, filepath.Join(base, "fresh-b.yaml"))
	assert.Equal(t, want, got)
}

func tree(t *testing.T, dir string) map[string]string {
	out := map[string]string{}
	require.NoError(t, filepath.Walk(dir, func(p string, info os.FileInfo, err error) error {
		if err != nil || info.IsDir() {
			return err
		}
		b, err := os.ReadFile(p)
		rel, _ := filepath.Rel(dir, p)
		out[rel] = string(b)
		return err
	}))
	return out
}
