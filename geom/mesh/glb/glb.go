// Package glb writes posed, coloured meshes as GLB, the binary form of glTF 2.0.
//
// What goes in is in millimetres, in a right-handed frame with z up, as everywhere else in the project. glTF wants
// metres, y up and the front of things towards +z (glTF 2.0, 3.4 "Coordinate System and Units"): a point x, y, z is
// written as x, z, -y over a thousand. That is a turn, not a mirror, so shapes keep their hand.
//
// A shape used by several nodes is written once. A node that has somewhere to go gets a channel of one animation: it
// rests, moves off in a straight line, and stays there, so that a slider over the time takes the frame apart.
// The same scene gives the same bytes.
package glb

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// Material is how a shape looks. Red, Green and Blue are sRGB, as on a screen.
type Material struct {
	Name                string
	Red, Green, Blue    uint8
	Metallic, Roughness float64 // 0 to 1
}

// Shape is a mesh in millimetres in its own frame.
type Shape struct {
	Name     string
	Mesh     *mesh.Mesh
	Normals  [][3][3]float32 // unit vectors at the corners of each triangle; nil leaves them to the reader, who draws flat faces
	Material int             // index into Scene.Materials
}

// Node is one body: a shape at a place.
type Node struct {
	Name   string
	Shape  int       // index into Scene.Shapes
	Pose   geom.Pose // in millimetres, z up
	Away   Departure
	Extras map[string]any // further facts for programs, as JSON
}

// Departure is a straight way that a node goes. It rests until Start and has gone By at End. A zero By is no way.
type Departure struct {
	By         geom.Vec // mm
	Start, End float64  // seconds
}

// Scene is all that is written.
type Scene struct {
	Title     string
	Generator string // the program that writes, with its version
	Materials []Material
	Shapes    []Shape
	Nodes     []Node
	Animation string // name of the animation
}

// Errors of Write; what it returns wraps one of these.
var (
	ErrEmpty    = errors.New("nothing to write")
	ErrIndex    = errors.New("an index names something that is not there")
	ErrNumber   = errors.New("a coordinate or a time is not a finite number or out of order")
	ErrPose     = errors.New("a pose is not a rigid motion")
	ErrTooLarge = errors.New("the file would be larger than the format can say")
)

// rigidTol is how far axes of a pose may be off unit length and squareness; rounding leaves 1e-15.
const rigidTol = 1e-6

// Write writes a scene. It fails before the first byte when the scene cannot be written.
func Write(w io.Writer, s Scene) error {
	if err := s.check(); err != nil {
		return fmt.Errorf("writing GLB: %w", err)
	}
	b := builder{scene: &s}
	b.materials()
	b.shapes()
	b.nodes()
	b.animation()
	return b.write(w)
}

func (s *Scene) check() error {
	if len(s.Nodes) == 0 {
		return ErrEmpty
	}
	for _, sh := range s.Shapes {
		if err := sh.check(len(s.Materials)); err != nil {
			return fmt.Errorf("shape %s: %w", sh.Name, err)
		}
	}
	for _, n := range s.Nodes {
		a := n.Away
		switch {
		case n.Shape < 0 || n.Shape >= len(s.Shapes):
			return fmt.Errorf("node %s: %w", n.Name, ErrIndex)
		case !n.Pose.Origin.IsFinite() || !a.By.IsFinite() || a.By != (geom.Vec{}) && !(a.Start >= 0 && a.End > a.Start && !math.IsInf(a.End, 0)):
			return fmt.Errorf("node %s: %w", n.Name, ErrNumber)
		case !n.Pose.IsRigid(rigidTol):
			return fmt.Errorf("node %s: %w", n.Name, ErrPose)
		}
	}
	return nil
}

func (s *Shape) check(materials int) error {
	if s.Mesh == nil || len(s.Mesh.Triangles) == 0 {
		return ErrEmpty
	}
	if s.Material < 0 || s.Material >= materials || s.Normals != nil && len(s.Normals) != len(s.Mesh.Triangles) {
		return ErrIndex
	}
	for _, t := range s.Mesh.Triangles {
		for _, v := range t {
			if v < 0 || int(v) >= len(s.Mesh.Vertices) {
				return ErrIndex
			}
		}
	}
	for _, v := range s.Mesh.Vertices {
		if !v.IsFinite() {
			return ErrNumber
		}
	}
	return nil
}

// The chunks of a GLB file (glTF 2.0, 4.4 "Binary glTF Layout").
const (
	magic      = 0x46546C67 // "glTF"
	version    = 2
	chunkJSON  = 0x4E4F534A // "JSON"
	chunkBIN   = 0x004E4942 // "BIN"
	headBytes  = 12
	chunkBytes = 8
)

// write puts the two chunks out, each padded to four bytes: the JSON with spaces, the numbers with zeros.
func (b *builder) write(w io.Writer) error {
	text, err := json.Marshal(&b.doc)
	if err != nil {
		return fmt.Errorf("writing GLB: %w", err)
	}
	for len(text)%4 != 0 {
		text = append(text, ' ')
	}
	total := uint64(headBytes + 2*chunkBytes + len(text) + b.bin.Len())
	if total > math.MaxUint32 {
		return fmt.Errorf("writing GLB: %w", ErrTooLarge)
	}
	var out bytes.Buffer
	put := func(xs ...uint32) {
		for _, x := range xs {
			out.Write(binary.LittleEndian.AppendUint32(nil, x))
		}
	}
	put(magic, version, uint32(total), uint32(len(text)), chunkJSON)
	out.Write(text)
	put(uint32(b.bin.Len()), chunkBIN)
	out.Write(b.bin.Bytes())
	if _, err := w.Write(out.Bytes()); err != nil {
		return fmt.Errorf("writing GLB: %w", err)
	}
	return nil
}
