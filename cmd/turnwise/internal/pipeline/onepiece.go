package pipeline

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/fuse"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
)

// Scale is the size of a model, To to From of the thing itself: 1:8 is an eighth. The zero Scale is none given.
type Scale struct{ To, From float64 }

// The scales that can be asked for. Smaller, the model of a bench is dust; larger, it is longer than any printer.
const (
	leastScale = 1.0 / 100
	mostScale  = 4.0
)

// ErrScale is the error of ParseScale.
var ErrScale = errors.New("a scale is written as two numbers, such as 1:8, and lies between 1:100 and 4:1")

// ParseScale reads "1:8".
func ParseScale(text string) (Scale, error) {
	a, b, ok := strings.Cut(text, ":")
	to, errTo := strconv.ParseFloat(strings.TrimSpace(a), 64)
	from, errFrom := strconv.ParseFloat(strings.TrimSpace(b), 64)
	if f := to / from; !ok || errTo != nil || errFrom != nil || !(to > 0 && from > 0 && f >= leastScale && f <= mostScale) {
		return Scale{}, fmt.Errorf("no scale %q: %w", text, ErrScale)
	}
	return Scale{to, from}, nil
}

func (s Scale) orTrue() Scale {
	if s == (Scale{}) {
		return Scale{1, 1}
	}
	return s
}

func (s Scale) factor() float64 { return s.To / s.From }

func (s Scale) String() string {
	number := func(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }
	return number(s.To) + ":" + number(s.From)
}

// frameSolid writes the whole frame as one closed solid. A frame whose bodies cannot be joined is left out, with a
// remark; so is said that there are several, where parts stand apart.
func (w *work) frameSolid(scale Scale) ([]File, error) {
	const path = "solids/frame.stl"
	w.say("joining the frame")
	m, r, err := fuse.Frame(fuse.Input{
		Parts: w.plan.Parts, Joints: w.plan.Joints, ToleranceMM: ToleranceMM, Scale: scale.factor(),
		Mesh: func(p assembly.Part) *mesh.Mesh { return w.meshes[p.Solid] },
	})
	if errors.Is(err, fuse.ErrEmpty) {
		return nil, nil
	}
	if err != nil {
		w.remarks = append(w.remarks, fmt.Sprintf("%s was left out: %v", path, err))
		return nil, nil
	}
	if r.Bodies > 1 {
		w.remarks = append(w.remarks, fmt.Sprintf("%s holds %d bodies, since so many sets of parts touch no other", path, r.Bodies))
	}
	if scale.factor() != 1 {
		size := mesh.Bounds(m).Size()
		w.remarks = append(w.remarks, fmt.Sprintf("%s is at %s, %.0f x %.0f x %.0f mm; all else is true size", path, scale, math.Ceil(size.X), math.Ceil(size.Y), math.Ceil(size.Z)))
	}
	var b bytes.Buffer
	if err := stl.Write(&b, m); err != nil {
		return nil, fmt.Errorf("writing %s: %w", path, err)
	}
	return []File{{path, SolidsGroup, b.Bytes()}}, nil
}

// errorSlack is the part of the tolerance by which a mesher may exceed it at a sample.
const errorSlack = 0.02

// scaled returns a mesh in another size, checked again since small triangles may vanish by rounding.
func scaled(m *mesh.Mesh, s Scale) (*mesh.Mesh, error) {
	f := s.factor()
	if f == 1 {
		return m, nil
	}
	out := &mesh.Mesh{Vertices: make([]geom.Vec, len(m.Vertices)), Triangles: m.Triangles}
	for i, v := range m.Vertices {
		out.Vertices[i] = v.Mul(f)
	}
	out = mesh.Round32(out)
	return out, mesh.Check(out)
}
