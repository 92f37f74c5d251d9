package glb

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"io"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// wedge is a body that is not its own mirror image: a tetrahedron with unequal legs along its axes.
func wedge() *mesh.Mesh {
	return &mesh.Mesh{
		Vertices:  []geom.Vec{{}, {X: 10}, {Y: 20}, {Z: 30}},
		Triangles: [][3]int32{{0, 2, 1}, {0, 1, 3}, {1, 2, 3}, {0, 3, 2}},
	}
}

func scene() Scene {
	m := wedge()
	n := make([][3][3]float32, len(m.Triangles))
	for i := range n {
		a, b, c := m.Corners(i)
		f := floats(mesh.Normal(a, b, c))
		n[i] = [3][3]float32{f, f, f}
	}
	turned := geom.Facing(geom.V(100, 200, 300), geom.V(1, 2, 3), geom.V(0, 1, 0))
	return Scene{
		Title: "two wedges", Generator: "test", Animation: "apart",
		Materials: []Material{{Name: "steel", Red: 255, Green: 128, Blue: 0, Metallic: 0.5, Roughness: 0.4}},
		Shapes:    []Shape{{Name: "wedge", Mesh: m, Normals: n}},
		Nodes: []Node{
			{Name: "still", Pose: geom.At(geom.V(1, 2, 3)), Extras: map[string]any{"part": "still", "number": 1}},
			{Name: "leaves", Pose: turned, Away: Departure{geom.V(0, 0, 50), 1, 2}},
			{Name: "leaves first", Pose: turned, Away: Departure{geom.V(10, 0, 0), 0, 4}},
		},
	}
}

func written(t testing.TB, s Scene) []byte {
	var b bytes.Buffer
	require.NoError(t, Write(&b, s))
	return b.Bytes()
}

// parsed is a file taken apart by the clauses of glTF 2.0, chapter 4.4 (from memory): a header of 12 bytes, then chunks
// of length, type and data, each of a length divisible by four; JSON first.
type parsed struct {
	doc document
	bin []byte
}

func parse(t testing.TB, file []byte) parsed {
	u := binary.LittleEndian.Uint32
	require.Equal(t, "glTF", string(file[:4]))
	require.EqualValues(t, 2, u(file[4:]))
	require.EqualValues(t, len(file), u(file[8:]))
	n := u(file[12:])
	require.Zero(t, n%4)
	require.Equal(t, "JSON", string(file[16:20]))
	var p parsed
	d := json.NewDecoder(bytes.NewReader(file[20 : 20+n]))
	d.DisallowUnknownFields()
	require.NoError(t, d.Decode(&p.doc))
	rest := file[20+n:]
	require.EqualValues(t, len(rest)-8, u(rest))
	require.Zero(t, u(rest)%4)
	require.Equal(t, "BIN\x00", string(rest[4:8]))
	p.bin = rest[8:]
	require.Equal(t, len(p.bin), p.doc.Buffers[0].ByteLength)
	return p
}

// vecs reads an accessor of floats, n to an element.
func (p parsed) floats(t testing.TB, i, n int) [][]float32 {
	a := p.doc.Accessors[i]
	require.Equal(t, typeFloat32, a.ComponentType)
	v := p.doc.BufferViews[a.BufferView]
	require.Zero(t, v.ByteOffset%4, "3.6.2.4: offsets are multiples of the component's size")
	out := make([][]float32, a.Count)
	for k := range out {
		out[k] = make([]float32, n)
	}
	r := bytes.NewReader(p.bin[v.ByteOffset : v.ByteOffset+v.ByteLength])
	for k := range out {
		require.NoError(t, binary.Read(r, binary.LittleEndian, out[k]))
	}
	require.Zero(t, r.Len())
	return out
}

// turn applies a quaternion by the formula v + 2 q x (q x v + w v).
func turn(q [4]float32, v geom.Vec) geom.Vec {
	a := geom.V(float64(q[0]), float64(q[1]), float64(q[2]))
	return v.Add(a.Cross(a.Cross(v).Add(v.Mul(float64(q[3])))).Mul(2))
}

// TestPlaces: corners put through their nodes lie where they do in the frame, in metres and with y up. A mirrored or
// wrongly turned body would miss. glTF 2.0, 3.4: right-handed, +y up, metres.
func TestPlaces(t *testing.T) {
	s := scene()
	p := parse(t, written(t, s))
	assert.Equal(t, "2.0", p.doc.Asset.Version)
	require.Len(t, p.doc.Meshes, 1, "one mesh for three nodes")
	at := p.floats(t, p.doc.Meshes[0].Primitives[0].Attributes.Position, 3)
	for i, n := range s.Nodes {
		got := p.doc.Nodes[i+1]
		assert.Equal(t, n.Name, got.Name)
		q := *got.Rotation
		assert.InDelta(t, 1, float64(q[0]*q[0]+q[1]*q[1]+q[2]*q[2]+q[3]*q[3]), 1e-6)
		seen := map[geom.Vec]bool{}
		for _, c := range at {
			local := geom.V(float64(c[0]), float64(c[1]), float64(c[2]))
			w := turn(q, local).Add(geom.V(float64(got.Translation[0]), float64(got.Translation[1]), float64(got.Translation[2])))
			want := n.Pose.Apply(local.Mul(1000))
			assert.True(t, w.Near(geom.V(want.X, want.Z, -want.Y).Mul(0.001), 1e-6), "%s: %v, %v", n.Name, w, want)
			seen[local] = true
		}
		assert.Len(t, seen, 4)
	}
}

// TestAccessors: bounds of positions and times are there and true (3.6.2.5 and 3.11), indices name corners, normals are
// unit, triangles run anticlockwise seen from outside (3.7.2.1).
func TestAccessors(t *testing.T) {
	p := parse(t, written(t, scene()))
	prim := p.doc.Meshes[0].Primitives[0]
	at, normals := p.floats(t, prim.Attributes.Position, 3), p.floats(t, *prim.Attributes.Normal, 3)
	require.Len(t, at, 12, "three flat corners to each of four faces")
	require.Len(t, normals, len(at))
	a := p.doc.Accessors[prim.Attributes.Position]
	assert.Equal(t, []float64{0, 0, 0}, a.Min)
	assert.InDeltaSlice(t, []float64{0.01, 0.02, 0.03}, a.Max, 1e-9)
	ix := p.doc.Accessors[prim.Indices]
	assert.Equal(t, typeUint32, ix.ComponentType)
	view := p.doc.BufferViews[ix.BufferView]
	assert.Equal(t, forIndices, view.Target)
	m := &mesh.Mesh{}
	for _, c := range at {
		m.Vertices = append(m.Vertices, geom.V(float64(c[0]), float64(c[1]), float64(c[2])).Mul(1000))
	}
	for k := 0; k < ix.Count; k += 3 {
		var tri [3]int32
		for j := range tri {
			tri[j] = int32(binary.LittleEndian.Uint32(p.bin[view.ByteOffset+4*(k+j):]))
		}
		m.Triangles = append(m.Triangles, tri)
		x, y, z := m.Corners(len(m.Triangles) - 1)
		n := normals[tri[0]]
		assert.True(t, mesh.Normal(x, y, z).Near(geom.V(float64(n[0]), float64(n[1]), float64(n[2])), 1e-6))
	}
	assert.InDelta(t, 10*20*30/6.0, mesh.Volume(m), 0.01)
}

// TestAnimation: at time 0 every node is at its place; at the end each has gone all its way; times rise and have bounds;
// all channels end together. glTF 2.0, 3.11 and 5.7 (from memory).
func TestAnimation(t *testing.T) {
	s := scene()
	p := parse(t, written(t, s))
	require.Len(t, p.doc.Animations, 1)
	a := p.doc.Animations[0]
	require.Len(t, a.Channels, 2, "a node that stays has none")
	for k, c := range a.Channels {
		assert.Equal(t, "translation", c.Target.Path)
		n := s.Nodes[c.Target.Node-1]
		sm := a.Samplers[c.Sampler]
		assert.Equal(t, "LINEAR", sm.Interpolation)
		times, places := p.floats(t, sm.Input, 1), p.floats(t, sm.Output, 3)
		require.Len(t, places, len(times))
		for i := 1; i < len(times); i++ {
			assert.Greater(t, times[i][0], times[i-1][0])
		}
		in := p.doc.Accessors[sm.Input]
		assert.Equal(t, []float64{0}, in.Min)
		assert.Equal(t, []float64{4}, in.Max)
		here, there := metres(n.Pose.Origin), metres(n.Pose.Origin.Add(n.Away.By))
		assert.Equal(t, here[:], places[0])
		assert.Equal(t, there[:], places[len(places)-1])
		assert.Equal(t, p.doc.Nodes[c.Target.Node].Translation[:], places[0])
		assert.Len(t, times, []int{4, 2}[k])
	}
}

// TestColours: the factor is linear light. sRGB 128 is 0.2159 (IEC 61966-2-1, a value often printed).
func TestColours(t *testing.T) {
	p := parse(t, written(t, scene()))
	c := p.doc.Materials[0].PBR.Colour
	assert.InDelta(t, 1, c[0], 1e-12)
	assert.InDelta(t, 0.2159, c[1], 1e-4)
	assert.Equal(t, 0.0, c[2])
	assert.Equal(t, 1.0, c[3])
}

func TestExtrasAndBytes(t *testing.T) {
	one := written(t, scene())
	p := parse(t, one)
	assert.Equal(t, map[string]any{"part": "still", "number": 1.0}, p.doc.Nodes[1].Extras)
	assert.Equal(t, one, written(t, scene()), "the same scene gives the same bytes")
	s := scene()
	s.Nodes = s.Nodes[:1]
	assert.Empty(t, parse(t, written(t, s)).doc.Animations)
}

func TestWriteRefuses(t *testing.T) {
	tests := []struct {
		name   string
		change func(*Scene)
		want   error
	}{
		{"no nodes", func(s *Scene) { s.Nodes = nil }, ErrEmpty},
		{"no triangles", func(s *Scene) { s.Shapes[0].Mesh = &mesh.Mesh{} }, ErrEmpty},
		{"no mesh", func(s *Scene) { s.Shapes[0].Mesh = nil }, ErrEmpty},
		{"no such shape", func(s *Scene) { s.Nodes[1].Shape = 1 }, ErrIndex},
		{"no such material", func(s *Scene) { s.Shapes[0].Material = -1 }, ErrIndex},
		{"no such vertex", func(s *Scene) { s.Shapes[0].Mesh.Triangles[0][1] = 9 }, ErrIndex},
		{"normals of another mesh", func(s *Scene) { s.Shapes[0].Normals = s.Shapes[0].Normals[:1] }, ErrIndex},
		{"not a number", func(s *Scene) { s.Shapes[0].Mesh.Vertices[0].X = math.NaN() }, ErrNumber},
		{"nowhere", func(s *Scene) { s.Nodes[0].Pose.Origin.Y = math.Inf(1) }, ErrNumber},
		{"ends before it starts", func(s *Scene) { s.Nodes[1].Away.End = 0.5 }, ErrNumber},
		{"mirrored", func(s *Scene) { s.Nodes[0].Pose.X = s.Nodes[0].Pose.X.Neg() }, ErrPose},
	}
	for _, tt := range tests {
		s := scene()
		tt.change(&s)
		assert.ErrorIs(t, Write(io.Discard, s), tt.want, tt.name)
	}
	full := errors.New("no room")
	assert.ErrorIs(t, Write(failing{full}, scene()), full)
}

type failing struct{ err error }

func (w failing) Write([]byte) (int, error) { return 0, w.err }

// TestQuaternions: the four ways to take the root all give the turn, also half turns, whose trace is least.
func TestQuaternions(t *testing.T) {
	axes := []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ, geom.AxisX.Neg(), geom.AxisY.Neg(), geom.AxisZ.Neg(), geom.V(1, 2, 3), geom.V(-1, 0.1, 0.3)}
	for _, z := range axes {
		for _, x := range axes {
			p := geom.Facing(geom.Vec{}, z, x)
			q := quaternion(p)
			for _, v := range axes {
				got, want := turn(q, v), p.Rotate(v)
				assert.True(t, got.Near(geom.V(want.X, want.Z, -want.Y), 1e-5), "%v %v %v: %v", z, x, v, got)
			}
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	s := scene()
	big := &mesh.Mesh{}
	for range 2500 {
		mesh.Append(big, wedge())
	}
	s.Shapes[0].Mesh, s.Shapes[0].Normals = big, nil
	b.Run("triangles=10000", func(b *testing.B) {
		for b.Loop() {
			if err := Write(io.Discard, s); err != nil {
				b.Fatal(err)
			}
		}
	})
}
