package glb

import (
	"bytes"
	"encoding/binary"
	"math"

	"turnwise/geom"
)

// Numbers that glTF gives names to (glTF 2.0, 5.1 accessor.componentType, 5.11 bufferView.target).
const (
	typeUint32  = 5125
	typeFloat32 = 5126
	forVertices = 34962
	forIndices  = 34963
)

// mmPerMetre is the unit of what goes in over that of what comes out.
const mmPerMetre = 1000

// builder gathers the document and its numbers.
type builder struct {
	scene *Scene
	doc   document
	bin   bytes.Buffer
}

// yUp turns a direction from z up to y up.
func yUp(v geom.Vec) geom.Vec { return geom.V(v.X, v.Z, -v.Y) }

// metres takes a point in millimetres, z up, to one in metres, y up.
func metres(v geom.Vec) [3]float32 { return floats(yUp(v).Mul(1.0 / mmPerMetre)) }

func floats(v geom.Vec) [3]float32 { return [3]float32{float32(v.X), float32(v.Y), float32(v.Z)} }

// linear takes one sRGB value to the linear light that glTF colours are in (IEC 61966-2-1, the transfer function).
func linear(c uint8) float64 {
	x := float64(c) / 255
	if x <= 0.04045 {
		return x / 12.92
	}
	return math.Pow((x+0.055)/1.055, 2.4)
}

func (b *builder) materials() {
	for _, m := range b.scene.Materials {
		b.doc.Materials = append(b.doc.Materials, matJSON{m.Name, pbr{
			[4]float64{linear(m.Red), linear(m.Green), linear(m.Blue), 1}, m.Metallic, m.Roughness,
		}})
	}
}

// vertex is a corner as it is written: equal ones are written once.
type vertex struct{ at, normal [3]float32 }

// shapes writes each shape's corners in its own frame, in metres; its node turns it upright.
func (b *builder) shapes() {
	for _, s := range b.scene.Shapes {
		at, normals, indices := s.corners()
		p := primitive{Material: s.Material, Attributes: attributes{Position: b.vectors(at, forVertices, true)}}
		if s.Normals != nil {
			n := b.vectors(normals, forVertices, false)
			p.Attributes.Normal = &n
		}
		p.Indices = b.accessor(indices, typeUint32, "SCALAR", len(indices), forIndices)
		b.doc.Meshes = append(b.doc.Meshes, meshJSON{s.Name, []primitive{p}})
	}
}

// corners lists the distinct corners of a shape and its triangles as indices into them. Triangles that lose their area
// by rounding are kept: they do no harm.
func (s *Shape) corners() (at, normals [][3]float32, indices []uint32) {
	number := map[vertex]uint32{}
	for i, t := range s.Mesh.Triangles {
		for k, v := range t {
			c := vertex{at: floats(s.Mesh.Vertices[v].Mul(1.0 / mmPerMetre))}
			if s.Normals != nil {
				c.normal = s.Normals[i][k]
			}
			n, ok := number[c]
			if !ok {
				n = uint32(len(at))
				number[c] = n
				at, normals = append(at, c.at), append(normals, c.normal)
			}
			indices = append(indices, n)
		}
	}
	return at, normals, indices
}

// vectors writes an accessor of three-vectors, with its bounds where the format asks for them.
func (b *builder) vectors(vs [][3]float32, target int, bounds bool) int {
	n := b.accessor(vs, typeFloat32, "VEC3", len(vs), target)
	if bounds {
		lo, hi := vs[0], vs[0]
		for _, v := range vs {
			for k := range 3 {
				lo[k], hi[k] = min(lo[k], v[k]), max(hi[k], v[k])
			}
		}
		a := &b.doc.Accessors[n]
		for k := range 3 {
			a.Min, a.Max = append(a.Min, float64(lo[k])), append(a.Max, float64(hi[k]))
		}
	}
	return n
}

// accessor writes numbers of four bytes each as a view of their own and returns its accessor. All starts are thus
// multiples of four, as the format asks (glTF 2.0, 3.6.2.4 "Data Alignment").
func (b *builder) accessor(data any, component int, kind string, count, target int) int {
	from := b.bin.Len()
	// Writing fixed-size numbers into memory has no way to fail.
	_ = binary.Write(&b.bin, binary.LittleEndian, data)
	b.doc.BufferViews = append(b.doc.BufferViews, bufferView{ByteOffset: from, ByteLength: b.bin.Len() - from, Target: target})
	b.doc.Accessors = append(b.doc.Accessors, accessor{BufferView: len(b.doc.BufferViews) - 1, ComponentType: component, Count: count, Type: kind})
	b.doc.Buffers = []bufferJSON{{b.bin.Len()}}
	return len(b.doc.Accessors) - 1
}

// nodes writes one root, named after the scene, and under it a node for each body.
func (b *builder) nodes() {
	b.doc.Asset = asset{"2.0", b.scene.Generator}
	b.doc.Scenes = []sceneJSON{{b.scene.Title, []int{0}}}
	root := nodeJSON{Name: b.scene.Title}
	b.doc.Nodes = []nodeJSON{root}
	for _, n := range b.scene.Nodes {
		shape, at, turn := n.Shape, metres(n.Pose.Origin), quaternion(n.Pose)
		b.doc.Nodes[0].Children = append(b.doc.Nodes[0].Children, len(b.doc.Nodes))
		b.doc.Nodes = append(b.doc.Nodes, nodeJSON{Name: n.Name, Mesh: &shape, Translation: &at, Rotation: &turn, Extras: n.Extras})
	}
}

// quaternion is the turn that takes a shape's own frame to its place in the frame with y up, as x, y, z, w. It takes
// the largest of the four from the trace of the matrix and its signed variants, so that no root of a small difference is taken
// (K. Shoemake, "Quaternions", 1994, appendix; from memory).
func quaternion(p geom.Pose) [4]float32 {
	x, y, z := yUp(p.X), yUp(p.Y), yUp(p.Z) // columns
	m00, m11, m22 := x.X, y.Y, z.Z
	q := [4]float64{1 + m00 - m11 - m22, 1 - m00 + m11 - m22, 1 - m00 - m11 + m22, 1 + m00 + m11 + m22}
	big := 0
	for i := range q {
		if q[i] > q[big] {
			big = i
		}
	}
	sum := [3]float64{y.X + x.Y, z.X + x.Z, z.Y + y.Z}  // 4xy, 4xz, 4yz
	diff := [3]float64{y.Z - z.Y, z.X - x.Z, x.Y - y.X} // 4xw, 4yw, 4zw
	all := [4][4]float64{
		{q[0], sum[0], sum[1], diff[0]}, {sum[0], q[1], sum[2], diff[1]},
		{sum[1], sum[2], q[2], diff[2]}, {diff[0], diff[1], diff[2], q[3]},
	}
	row, length := all[big], 0.0
	for _, c := range row {
		length += c * c
	}
	length = math.Sqrt(length)
	var out [4]float32
	for i := range row {
		out[i] = float32(row[i] / length)
	}
	return out
}

// animation gives each node that goes somewhere a channel from 0 to the common end: a slider then shows all of them at
// their places at every time.
func (b *builder) animation() {
	end := 0.0
	for _, n := range b.scene.Nodes {
		if n.Away.By != (geom.Vec{}) {
			end = max(end, n.Away.End)
		}
	}
	if end == 0 {
		return
	}
	a := animJSON{Name: b.scene.Animation}
	for i, n := range b.scene.Nodes {
		if n.Away.By == (geom.Vec{}) {
			continue
		}
		a.Channels = append(a.Channels, channel{len(a.Samplers), target{i + 1, "translation"}})
		a.Samplers = append(a.Samplers, b.sampler(n, end))
	}
	b.doc.Animations = []animJSON{a}
}

// sampler writes the keys of one way. Times must rise (glTF 2.0, 3.11 "Animations"), so keys that fall together are
// written once.
func (b *builder) sampler(n Node, end float64) sampler {
	here, there := metres(n.Pose.Origin), metres(n.Pose.Origin.Add(n.Away.By))
	var times []float32
	var places [][3]float32
	key := func(t float64, at [3]float32) {
		if k := len(times) - 1; k < 0 || float32(t) > times[k] {
			times, places = append(times, float32(t)), append(places, at)
		}
	}
	key(0, here)
	key(n.Away.Start, here)
	key(n.Away.End, there)
	key(end, there)
	in := b.accessor(times, typeFloat32, "SCALAR", len(times), 0)
	a := &b.doc.Accessors[in]
	a.Min, a.Max = []float64{float64(times[0])}, []float64{float64(times[len(times)-1])}
	return sampler{in, "LINEAR", b.vectors(places, 0, false)}
}
