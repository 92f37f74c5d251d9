package stl_test

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
	"turnwise/geom/sdf"
)

// tee is a small fitting with bores and bands.
func tee(t testing.TB) *mesh.Mesh {
	x, z := geom.AxisX, geom.AxisZ
	s := sdf.Cut(
		sdf.Join(sdf.Cylinder(z.Mul(-28.5), z, 57, 13.5), sdf.Cylinder(geom.Vec{}, x, 28.5, 13.5), sdf.Cylinder(x.Mul(22.5), x, 6, 15.2)),
		sdf.Cylinder(z.Mul(-40), z, 80, 7.9), sdf.Cylinder(geom.Vec{}, x, 40, 7.9))
	m, _, err := isosurface.Mesh(s, isosurface.Options{ToleranceMM: 0.05})
	require.NoError(t, err)
	return m
}

func written(t testing.TB, m *mesh.Mesh) []byte {
	var b bytes.Buffer
	require.NoError(t, stl.Write(&b, m))
	return b.Bytes()
}

// TestRoundTrip: a mesh in 32-bit floats comes back as it was, up to the numbering of its vertices.
func TestRoundTrip(t *testing.T) {
	m := tee(t)
	file := written(t, m)
	assert.Len(t, file, 84+50*len(m.Triangles))
	back, err := stl.Read(bytes.NewReader(file))
	require.NoError(t, err)
	require.NoError(t, mesh.Check(back))
	assert.Equal(t, mesh.Weld(m), back)
	assert.Equal(t, file, written(t, back))
}

// TestLayout checks the bytes against the format: 80 bytes of header, a count, and records of a normal, three corners
// and two spare bytes.
func TestLayout(t *testing.T) {
	m := &mesh.Mesh{Vertices: []geom.Vec{{}, {X: 2}, {Y: 3}}, Triangles: [][3]int32{{0, 2, 1}}}
	file := written(t, m)
	assert.NotEqual(t, "solid", string(file[:5]))
	assert.EqualValues(t, 1, binary.LittleEndian.Uint32(file[80:]))
	var got [12]float32
	require.NoError(t, binary.Read(bytes.NewReader(file[84:]), binary.LittleEndian, &got))
	assert.Equal(t, [12]float32{0, 0, -1, 0, 0, 0, 0, 3, 0, 2, 0, 0}, got)
	assert.Equal(t, []byte{0, 0}, file[132:])
}

// TestNormals: every stored normal is that of its corners, and one of the first bytes is over 127, without which some
// readers take the file for text.
func TestNormals(t *testing.T) {
	m := tee(t)
	file := written(t, m)
	assert.True(t, bytes.ContainsFunc(file[84:84+128], func(r rune) bool { return r > 127 }))
	for i := range m.Triangles {
		var n [3]float32
		require.NoError(t, binary.Read(bytes.NewReader(file[84+50*i:]), binary.LittleEndian, &n))
		a, b, c := m.Corners(i)
		require.True(t, mesh.Normal(a, b, c).Near(geom.V(float64(n[0]), float64(n[1]), float64(n[2])), 1e-6), "triangle %d", i)
	}
}

func TestReadRefuses(t *testing.T) {
	good := written(t, &mesh.Mesh{Vertices: []geom.Vec{{}, {X: 2}, {Y: 3}}, Triangles: [][3]int32{{0, 2, 1}}})
	change := func(do func(b []byte) []byte) []byte { return do(bytes.Clone(good)) }
	tests := []struct {
		name string
		in   []byte
		want error
	}{
		{"nothing", nil, stl.ErrShort},
		{"half a header", good[:40], stl.ErrShort},
		{"no triangle", good[:84], stl.ErrShort},
		{"half a triangle", good[:100], stl.ErrShort},
		{"more than it says", append(bytes.Clone(good), 0), stl.ErrTrailing},
		{"a count without end", change(func(b []byte) []byte { b[83] = 0xff; return b }), stl.ErrTooMany},
		{"text", []byte("solid part\n" + strings.Repeat(" facet normal 0 0 1\n", 20)), stl.ErrText},
		{"a short text", []byte("solid part\nendsolid part\n"), stl.ErrText},
		{"not a number", change(func(b []byte) []byte {
			binary.LittleEndian.PutUint32(b[96:], math.Float32bits(float32(math.NaN())))
			return b
		}), stl.ErrCoordinate},
		{"far away", change(func(b []byte) []byte { binary.LittleEndian.PutUint32(b[96:], math.Float32bits(1e9)); return b }), stl.ErrCoordinate},
	}
	for _, tt := range tests {
		_, err := stl.Read(bytes.NewReader(tt.in))
		assert.ErrorIs(t, err, tt.want, tt.name)
	}
	broken := errors.New("the disk is gone")
	_, err := stl.Read(io.MultiReader(bytes.NewReader(good[:90]), iotest.ErrReader(broken)))
	assert.ErrorIs(t, err, broken)
	binarySolid := change(func(b []byte) []byte { copy(b, "solid"); return b })
	_, err = stl.Read(bytes.NewReader(binarySolid))
	assert.NoError(t, err, "binary files of others may begin with that word")
}

func TestWriteRefuses(t *testing.T) {
	v := []geom.Vec{{}, {X: 2}, {Y: math.Inf(1)}}
	assert.ErrorIs(t, stl.Write(io.Discard, &mesh.Mesh{Vertices: v, Triangles: [][3]int32{{0, 1, 2}}}), stl.ErrCoordinate)
	assert.ErrorIs(t, stl.Write(io.Discard, &mesh.Mesh{Vertices: v, Triangles: [][3]int32{{0, 1, 3}}}), stl.ErrIndex)
	assert.ErrorIs(t, stl.Write(io.Discard, &mesh.Mesh{Vertices: v, Triangles: [][3]int32{{0, 1, -1}}}), stl.ErrIndex)
	full := errors.New("no room")
	assert.ErrorIs(t, stl.Write(failing{full}, &mesh.Mesh{Vertices: v[:2], Triangles: [][3]int32{{0, 1, 0}}}), full)
}

type failing struct{ err error }

func (w failing) Write([]byte) (int, error) { return 0, w.err }

// TestAdmesh lets admesh look for something to mend, where it is installed.
func TestAdmesh(t *testing.T) {
	path, err := exec.LookPath("admesh")
	if err != nil {
		t.Skip("admesh is not installed")
	}
	file := filepath.Join(t.TempDir(), "tee.stl")
	require.NoError(t, os.WriteFile(file, written(t, tee(t)), 0o600))
	out, err := exec.Command(path, file).CombinedOutput()
	require.NoError(t, err, string(out))
	for _, what := range []string{"Degenerate facets", "Edges fixed", "Facets removed", "Facets added", "Facets reversed", "Backwards edges", "Normals fixed"} {
		m := regexp.MustCompile(what + `\s*:\s*(\d+)`).FindStringSubmatch(string(out))
		require.NotNil(t, m, "%s in:\n%s", what, out)
		n, err := strconv.Atoi(m[1])
		require.NoError(t, err)
		assert.Zero(t, n, "%s in:\n%s", what, out)
	}
}

// FuzzRead: whatever is read can be written and read again as the same mesh.
func FuzzRead(f *testing.F) {
	var b bytes.Buffer
	m := &mesh.Mesh{Vertices: []geom.Vec{{}, {X: 2}, {Y: 3}, {Z: 1}}, Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}}}
	if err := stl.Write(&b, m); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Add([]byte("solid x\nendsolid x"))
	f.Add(b.Bytes()[:90])
	f.Fuzz(func(t *testing.T, in []byte) {
		m, err := stl.Read(bytes.NewReader(in))
		if err != nil {
			return
		}
		again, err := stl.Read(bytes.NewReader(written(t, m)))
		require.NoError(t, err)
		require.Equal(t, m, again)
	})
}
