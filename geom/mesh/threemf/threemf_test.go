package threemf

import (
	"archive/zip"
	"bufio"
	"bytes"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

func wedge(size float64) *mesh.Mesh {
	return &mesh.Mesh{
		Vertices:  []geom.Vec{{}, {X: size}, {Y: 2 * size}, {Z: float64(float32(0.1))}},
		Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}},
	}
}

func model() Model {
	return Model{
		Title: `a "rod" <3/4> & more`, Application: "test 1",
		Materials: []Material{{"steel", 240, 244, 7}, {"pine", 1, 0, 255}},
		Objects:   []Object{{"1 tee", wedge(10), 0}, {"2 board", wedge(3), 1}},
		Items: []Item{
			{0, geom.At(geom.V(1, 2, 3))},
			{1, geom.Pose{Origin: geom.V(10, 20, 30), X: geom.AxisY, Y: geom.AxisZ, Z: geom.AxisX}},
			{0, geom.Identity()},
		},
	}
}

func written(t testing.TB, m Model) []byte {
	var b bytes.Buffer
	require.NoError(t, Write(&b, m))
	return b.Bytes()
}

func read(b []byte) (Model, error) { return Read(bytes.NewReader(b), int64(len(b))) }

func TestRoundTrip(t *testing.T) {
	file := written(t, model())
	back, err := read(file)
	require.NoError(t, err)
	assert.Equal(t, model(), back)
	assert.Equal(t, file, written(t, back), "the same model gives the same bytes")
}

// TestPackage checks the parts and marks that the core specification and the open packaging conventions ask for (3MF
// core specification 1.3, chapter 2 "3D payload", chapter 3 "3D models", 5.1 "Base Material"; from memory).
func TestPackage(t *testing.T) {
	file := written(t, model())
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	text := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		b, err := io.ReadAll(r)
		require.NoError(t, err)
		text[f.Name] = string(b)
		assert.Equal(t, 1980, f.Modified.Year())
	}
	require.Len(t, text, 3)
	assert.Contains(t, text["[Content_Types].xml"], `Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"`)
	assert.Contains(t, text["_rels/.rels"], `Target="/3D/3dmodel.model"`)
	m := text["3D/3dmodel.model"]
	for _, want := range []string{
		`unit="millimeter"`, `xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"`,
		`<base name="steel" displaycolor="#F0F407"/>`, `<object id="2" type="model" name="1 tee" pid="1" pindex="0">`,
		`<vertex x="0" y="0" z="0.1"/>`, `<triangle v1="0" v2="2" v3="1"/>`,
		// 3.3: the image of the x axis first, the origin last
		`<item objectid="3" transform="0 1 0 0 0 1 1 0 0 10 20 30"/>`,
		`<metadata name="Title">a &quot;rod&quot; &lt;3/4&gt; &amp; more</metadata>`,
	} {
		assert.Contains(t, m, want)
	}
}

func TestWriteRefuses(t *testing.T) {
	tests := []struct {
		name   string
		change func(*Model)
		want   error
	}{
		{"no items", func(m *Model) { m.Items = nil }, ErrEmpty},
		{"no mesh", func(m *Model) { m.Objects[0].Mesh = nil }, ErrEmpty},
		{"no such material", func(m *Model) { m.Objects[0].Material = 2 }, ErrIndex},
		{"no such object", func(m *Model) { m.Items[0].Object = -1 }, ErrIndex},
		{"no such vertex", func(m *Model) { m.Objects[0].Mesh.Triangles[0][0] = 4 }, ErrIndex},
		{"not a number", func(m *Model) { m.Objects[0].Mesh.Vertices[0].X = math.NaN() }, ErrNumber},
		{"nowhere", func(m *Model) { m.Items[0].Pose.Origin.X = math.Inf(1) }, ErrNumber},
		{"mirrored", func(m *Model) { m.Items[0].Pose.X = geom.AxisX.Neg() }, ErrPose},
	}
	for _, tt := range tests {
		m := model()
		tt.change(&m)
		assert.ErrorIs(t, Write(io.Discard, m), tt.want, tt.name)
	}
	full := errors.New("no room")
	assert.ErrorIs(t, Write(failing{full}, model()), full)
}

type failing struct{ err error }

func (w failing) Write([]byte) (int, error) { return 0, w.err }

// edited is the package with one part's text changed, or left out when to is "".
func edited(t testing.TB, part, from, to string) []byte {
	file := written(t, model())
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	require.NoError(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range z.File {
		r, err := f.Open()
		require.NoError(t, err)
		b, err := io.ReadAll(r)
		require.NoError(t, err)
		if f.Name == part {
			if from == "" {
				continue
			}
			require.Contains(t, string(b), from)
			b = []byte(strings.Replace(string(b), from, to, 1))
		}
		e, err := w.Create(f.Name)
		require.NoError(t, err)
		_, err = e.Write(b)
		require.NoError(t, err)
	}
	require.NoError(t, w.Close())
	return out.Bytes()
}

func TestReadRefuses(t *testing.T) {
	tests := []struct {
		name, part, from, to string
		want                 error
	}{
		{"no content types", typesPath, "", "", ErrPackage},
		{"no relationships", relsPath, "", "", ErrPackage},
		{"no model", modelPath, "", "", ErrPackage},
		{"another type", typesPath, "3dmodel+xml", "2dmodel+xml", ErrPackage},
		{"another relationship", relsPath, "3dmodel\"", "other\"", ErrPackage},
		{"inches", modelPath, "millimeter", "inch", ErrBeyond},
		{"an extension", modelPath, "<model ", `<model requiredextensions="p" `, ErrBeyond},
		{"another namespace", modelPath, "core/2015/02", "core/2099", ErrModel},
		{"a vertex that is not there", modelPath, `v2="2"`, `v2="7"`, ErrModel},
		{"an object that is not there", modelPath, `objectid="2"`, `objectid="9"`, ErrModel},
		{"one number twice", modelPath, `object id="3"`, `object id="2"`, ErrModel},
		{"a short transform", modelPath, `0 1 0 0 0 1 1`, `0 1`, ErrModel},
		{"a mirror", modelPath, `"0 1 0 0 0 1 1`, `"0 -1 0 0 0 1 1`, ErrModel},
		{"a colour in words", modelPath, "#F0F407", "yellow", ErrModel},
		{"no XML", modelPath, "<model", "model", ErrModel},
		{"not a number", modelPath, `x="10"`, `x="NaN"`, ErrModel},
	}
	for _, tt := range tests {
		_, err := read(edited(t, tt.part, tt.from, tt.to))
		assert.ErrorIs(t, err, tt.want, tt.name)
	}
	_, err := read([]byte("no archive"))
	assert.ErrorIs(t, err, ErrPackage)
}

// FuzzRead: no bytes make the reader of packages panic, and what it accepts can be written.
func FuzzRead(f *testing.F) {
	f.Add(written(f, model()))
	f.Add([]byte("PK\x05\x06" + strings.Repeat("\x00", 18)))
	f.Fuzz(func(t *testing.T, in []byte) {
		if m, err := read(in); err == nil {
			require.NoError(t, m.check())
		}
	})
}

// FuzzModel fuzzes the model part alone, which the archive's checksums would keep whole: what is read can be written and
// read again as the same model.
func FuzzModel(f *testing.F) {
	text := func(m Model) []byte {
		var out bytes.Buffer
		b := bufio.NewWriter(&out)
		m.write(b)
		b.Flush()
		return out.Bytes()
	}
	f.Add(text(model()))
	f.Fuzz(func(t *testing.T, in []byte) {
		m, err := decode(in)
		if err != nil {
			return
		}
		again, err := decode(text(m))
		require.NoError(t, err)
		require.Equal(t, m.Objects, again.Objects)
		require.Equal(t, m.Items, again.Items)
	})
}

func BenchmarkWrite(b *testing.B) {
	m := model()
	for range 2500 {
		mesh.Append(m.Objects[0].Mesh, wedge(10))
	}
	b.Run("triangles=10000", func(b *testing.B) {
		for b.Loop() {
			if err := Write(io.Discard, m); err != nil {
				b.Fatal(err)
			}
		}
	})
}
