package outdir

import (
	"bytes"
	"fmt"
	"math/rand"
	"os"
	"os/exec"
	"path/filepath"
	"sort"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func names(t *testing.T, dir string) []string {
	var out []string
	require.NoError(t, filepath.Walk(dir, func(p string, info os.FileInfo, err error) error {
		if err == nil && !info.IsDir() {
			rel, _ := filepath.Rel(dir, p)
			out = append(out, filepath.ToSlash(rel))
		}
		return err
	}))
	sort.Strings(out)
	return out
}

func TestWriteReplacesOnlyItsOwn(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "shelf")
	one := Stamp{"d1", "v1"}
	all := []string{"plan", "solids", "lists"}
	require.NoError(t, Write(dir, one, all, []File{
		{"plan.json", "plan", []byte("1")}, {"solids/01-tee.stl", "solids", []byte("1")}, {"lists/cuts.csv", "lists", []byte("1")},
	}))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "notes.txt"), []byte("mine"), 0o666))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "solids", "mine.stl"), []byte("mine"), 0o666))

	// The same design, only lists: the solids stay.
	require.NoError(t, Write(dir, one, []string{"plan", "lists"}, []File{{"plan.json", "plan", []byte("2")}, {"lists/cuts.csv", "lists", []byte("2")}}))
	assert.Equal(t, []string{"lists/cuts.csv", "notes.txt", "plan.json", "solids/01-tee.stl", "solids/mine.stl", ListName}, names(t, dir))

	// Another design, only lists: solids made from the old one go, what others put there stays.
	require.NoError(t, Write(dir, Stamp{"d2", "v1"}, []string{"plan", "lists"}, []File{{"plan.json", "plan", []byte("3")}, {"lists/shopping.csv", "lists", []byte("3")}}))
	assert.Equal(t, []string{"lists/shopping.csv", "notes.txt", "plan.json", "solids/mine.stl", ListName}, names(t, dir))
	assert.Empty(t, leftBeside(t, dir))
}

func leftBeside(t *testing.T, dir string) []string {
	es, err := os.ReadDir(filepath.Dir(dir))
	require.NoError(t, err)
	var out []string
	for _, e := range es {
		if e.Name() != filepath.Base(dir) {
			out = append(out, e.Name())
		}
	}
	return out
}

func TestWriteKeepsOutOfOtherFolders(t *testing.T) {
	base := t.TempDir()
	dir := filepath.Join(base, "out")
	require.NoError(t, os.MkdirAll(dir, 0o777))
	victim := filepath.Join(base, "victim")
	require.NoError(t, os.WriteFile(victim, []byte("x"), 0o666))
	// A list that somebody edited must not lead the program to delete elsewhere.
	require.NoError(t, os.WriteFile(filepath.Join(dir, ListName), []byte(`[{"path":"../victim","group":"solids"}]`), 0o666))
	require.NoError(t, Write(dir, Stamp{"d", "v"}, []string{"plan", "solids"}, []File{{"plan.json", "plan", nil}}))
	assert.FileExists(t, victim)
	assert.Error(t, Write(dir, Stamp{}, nil, []File{{"../evil", "plan", nil}}))
	assert.Error(t, Write(dir, Stamp{}, nil, []File{{ListName, "plan", nil}}))
}

// filesOf gives generation g of a folder: the same plan, some files that every generation has, one of its own.
func filesOf(g int) []File {
	body := func(name string) []byte {
		return bytes.Repeat([]byte(fmt.Sprintf("%s of generation %06d\n", name, g)), 2000)
	}
	fs := []File{{"plan.json", "plan", body("plan")}, {fmt.Sprintf("solids/only-%d.stl", g%3), "solids", body("own")}}
	for i := 0; i < 12; i++ {
		name := fmt.Sprintf("solids/%02d.stl", i)
		fs = append(fs, File{name, "solids", body(name)})
	}
	return fs
}

// TestWriteSurvivesBeingKilled runs builds in a process of their own, kills them at odd moments, and looks at the
// folder each time: every file is one whole generation, and when plan.json is new all others are.
func TestWriteSurvivesBeingKilled(t *testing.T) {
	if os.Getenv("OUTDIR_WRITE") != "" {
		for g, _ := strconv.Atoi(os.Getenv("OUTDIR_FROM")); ; g++ {
			if err := Write(os.Getenv("OUTDIR_WRITE"), Stamp{strconv.Itoa(g), "v"}, []string{"plan", "solids"}, filesOf(g)); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(3)
			}
		}
	}
	kills := 60
	if testing.Short() {
		kills = 15
	}
	dir := filepath.Join(t.TempDir(), "out")
	r := rand.New(rand.NewSource(4))
	partWay := 0
	for k := 0; k < kills; k++ {
		cmd := exec.Command(os.Args[0], "-test.run=TestWriteSurvivesBeingKilled")
		cmd.Env = append(os.Environ(), "OUTDIR_WRITE="+dir, "OUTDIR_FROM="+strconv.Itoa(1000*(k+1)))
		require.NoError(t, cmd.Start())
		time.Sleep(time.Duration(8000+r.Intn(20000)) * time.Microsecond)
		require.NoError(t, cmd.Process.Kill())
		cmd.Wait()
		if len(leftBeside(t, dir)) > 0 {
			partWay++
		}
		checkWhole(t, dir)
	}
	assert.Positive(t, partWay, "no kill ever hit the work: the test shows nothing")
	require.NoError(t, Write(dir, Stamp{"end", "v"}, []string{"plan", "solids"}, filesOf(1)))
	assert.Empty(t, leftBeside(t, dir))
	assert.Len(t, names(t, dir), 1+1+12+1, "files of dead generations are gone, and only they: %v", names(t, dir))
	for _, f := range filesOf(1) {
		got, err := os.ReadFile(filepath.Join(dir, f.Path))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(f.Data, got), f.Path)
	}
}

// checkWhole fails when a file is not exactly what one generation wrote, or when plan.json is newer than another file.
func checkWhole(t *testing.T, dir string) {
	if _, err := os.Stat(dir); err != nil {
		return
	}
	plan := -1
	for _, f := range names(t, dir) {
		if f == ListName || f == ListName+".part" {
			continue
		}
		got, err := os.ReadFile(filepath.Join(dir, f))
		require.NoError(t, err)
		i := bytes.IndexByte(got, '\n')
		require.Greater(t, i, 6, f)
		g, err := strconv.Atoi(string(got[i-6 : i]))
		require.NoError(t, err, "%s: %q", f, got[:i])
		whole := false
		for _, w := range filesOf(g) {
			whole = whole || w.Path == f && bytes.Equal(w.Data, got)
		}
		require.True(t, whole, "%s is not whole (generation %d)", f, g)
		if f == LastName {
			plan = g
		}
	}
	if plan < 0 {
		return
	}
	for _, f := range filesOf(plan) {
		got, err := os.ReadFile(filepath.Join(dir, f.Path))
		require.NoError(t, err)
		i := bytes.IndexByte(got, '\n')
		g, err := strconv.Atoi(string(got[i-6 : i]))
		require.NoError(t, err)
		require.GreaterOrEqual(t, g, plan, "plan.json is of generation %d, %s still of %d", plan, f.Path, g)
	}
}
