package cli

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// hoop is a ring without a union, with Windows line ends, a byte-order mark, quotes, a flow map that runs over lines,
// and no line end after the last line.
const hoop = "\ufefftitle: 'Hoop'\r\npipe: 1/2   # measured: 0.84\r\npoints:\r\n  a, b: {x: 1}"

// sound is the same without faults.
const sound = "\ufefftitle: 'Höop'\r\npipe: 1/2   # measured: 0.84\r\npoints: {a: '10, 10, 40', b: '50, 10, 40',\r\n" +
	"   c: '50, 10, 70', d: \"10, 10, 70\"}   # corners\r\n\r\nruns: {ring: {path: a to b to c to d to a}, }   # once round"

func run(t *testing.T, args ...string) (int, string, string) {
	t.Helper()
	var out, err bytes.Buffer
	code := Run(args, Streams{Out: &out, Err: &err})
	return code, out.String(), err.String()
}

// TestMendKeepsBytes: of a file with everything that editors do to files, only the characters that are meant change;
// permissions stay, and a link stays a link.
func TestMendKeepsBytes(t *testing.T) {
	dir := t.TempDir()
	file, link := filepath.Join(dir, "real name.yaml"), filepath.Join(dir, "link.yaml")
	require.NoError(t, os.WriteFile(file, []byte(sound), 0o640))
	require.NoError(t, os.Symlink(file, link))

	code, out, _ := run(t, "mend", file)
	assert.Equal(t, ExitFaults, code)
	assert.Contains(t, out, "turnwise mend '"+file+"' --pick 1")
	code, out, errs := run(t, "mend", link, "--pick", "1")
	require.Equal(t, ExitDone, code, out+errs)
	got, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, strings.Replace(sound, "a to b", "a to union to b", 1), string(got))
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&os.ModeSymlink)
	info, err = os.Stat(file)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode().Perm())
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, left, 2, "nothing is left beside")
}

// TestMendLeavesReadOnlyFiles: a file that nobody may write is left alone, though its folder would let it be replaced.
func TestMendLeavesReadOnlyFiles(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a.yaml")
	require.NoError(t, os.WriteFile(file, []byte(sound), 0o440))
	code, _, errs := run(t, "mend", file, "--pick", "1")
	assert.Equal(t, ExitFaults, code)
	assert.Contains(t, errs, "it is set to read only")
	got, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, sound, string(got))
}

// TestRewriteOvertaken: a file that somebody changed since it was read is left as it is.
func TestRewriteOvertaken(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "a.yaml")
	require.NoError(t, os.WriteFile(file, []byte("theirs"), 0o600))
	assert.ErrorIs(t, rewrite(file, []byte("mine"), []byte("new")), errOvertaken)
	got, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "theirs", string(got))
	left, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, left, 1)
	assert.Error(t, rewrite(filepath.Join(dir, "none.yaml"), nil, nil))
}

// TestMendFaulty: a file that cannot be read as a design is told and left alone.
func TestMendFaulty(t *testing.T) {
	file := filepath.Join(t.TempDir(), "hoop.yaml")
	require.NoError(t, os.WriteFile(file, []byte(hoop), 0o600))
	code, out, _ := run(t, "mend", file)
	assert.Equal(t, ExitFaults, code)
	assert.Contains(t, out, "hoop.yaml:4:9")
	code, out, errs := run(t, "mend", file, "--json")
	assert.Equal(t, ExitFaults, code)
	assert.Contains(t, out, `"changes": []`)
	assert.Contains(t, errs, "hoop.yaml:4:9")
}

func TestQuoted(t *testing.T) {
	assert.Equal(t, "a/b-c_1.yaml", quoted("a/b-c_1.yaml"))
	assert.Equal(t, "'it'\\''s.yaml'", quoted("it's.yaml"))
	assert.Equal(t, "'-x'", quoted("-x"))
	assert.Equal(t, "''", quoted(""))
}
