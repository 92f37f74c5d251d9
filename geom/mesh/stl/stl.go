// Package stl writes and reads triangle meshes as binary STL: an 80-byte header, the number of triangles, and for
// each its normal and three corners as 32-bit floats, all little-endian.
package stl

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// header opens every file. It must not begin with "solid": that announces the text form.
const header = "Binary STL, millimetres, outward normals"

const (
	headerBytes   = 80
	triangleBytes = 50
)

// MaxTriangles is the most that Read takes: 500 MB of file, far beyond any part that can be printed.
const MaxTriangles = 10_000_000

// MaxCoordinateMM is the largest coordinate that Write and Read take: a kilometre, where 32-bit floats step by 0.06 mm.
const MaxCoordinateMM = 1e6

// Errors of Read and Write; what they return wraps one of these.
var (
	ErrText       = errors.New("this is the text form of STL, only the binary form is read")
	ErrShort      = errors.New("the file ends before its last triangle")
	ErrTrailing   = errors.New("the file goes on after its last triangle")
	ErrTooMany    = errors.New("too many triangles")
	ErrCoordinate = errors.New("a coordinate is not a number or too large")
	ErrIndex      = errors.New("a triangle names a vertex that is not there")
)

// Write writes m with the true normal of every triangle; one without area gets the normal 0, 0, 0. Some readers take
// a binary file without a byte above 127 near its start for text: the normals and corners of a closed body always
// bring such bytes, since half of its normals have negative parts and their sign is the top bit.
func Write(w io.Writer, m *mesh.Mesh) error {
	if len(m.Triangles) > MaxTriangles {
		return fmt.Errorf("writing STL of %d triangles: %w", len(m.Triangles), ErrTooMany)
	}
	b := bufio.NewWriter(w)
	head := make([]byte, headerBytes+4)
	copy(head, header)
	binary.LittleEndian.PutUint32(head[headerBytes:], uint32(len(m.Triangles)))
	b.Write(head) // the first error stays in b until Flush
	var rec [triangleBytes]byte
	for i, t := range m.Triangles {
		for _, v := range t {
			if v < 0 || int(v) >= len(m.Vertices) {
				return fmt.Errorf("writing STL triangle %d: %w", i, ErrIndex)
			}
			if !fits(m.Vertices[v]) {
				return fmt.Errorf("writing STL triangle %d: %w", i, ErrCoordinate)
			}
		}
		encode(&rec, m, i)
		b.Write(rec[:])
	}
	return b.Flush()
}

func fits(v geom.Vec) bool {
	return math.Abs(v.X) <= MaxCoordinateMM && math.Abs(v.Y) <= MaxCoordinateMM && math.Abs(v.Z) <= MaxCoordinateMM
}

// encode fills rec with triangle i. The normal is that of the rounded corners, which are what a reader sees.
func encode(rec *[triangleBytes]byte, m *mesh.Mesh, i int) {
	a, b, c := m.Corners(i)
	a, b, c = mesh.Round32Vec(a), mesh.Round32Vec(b), mesh.Round32Vec(c)
	for k, v := range [4]geom.Vec{mesh.Round32Vec(mesh.Normal(a, b, c)), a, b, c} {
		for l, x := range [3]float64{v.X, v.Y, v.Z} {
			binary.LittleEndian.PutUint32(rec[12*k+4*l:], math.Float32bits(float32(x)))
		}
	}
}

// Read reads a binary STL file and makes corners with equal coordinates one vertex. Normals are not kept: they follow
// from the corners. Memory grows with what is really there, not with the count that the file claims. Errors wrap
// those of this package or of the reader.
func Read(r io.Reader) (*mesh.Mesh, error) {
	b := bufio.NewReaderSize(r, 1<<16)
	var head [headerBytes + 4]byte
	n, err := io.ReadFull(b, head[:])
	if isEnd(err) {
		if n >= 5 && string(head[:5]) == "solid" {
			return nil, fmt.Errorf("reading STL: %w", ErrText)
		}
		return nil, fmt.Errorf("reading STL header: %w", ErrShort)
	}
	if err != nil {
		return nil, fmt.Errorf("reading STL header: %w", err)
	}
	count := binary.LittleEndian.Uint32(head[headerBytes:])
	if looksText(head[:], b) {
		return nil, fmt.Errorf("reading STL: %w", ErrText)
	}
	if count > MaxTriangles {
		return nil, fmt.Errorf("reading STL: %d triangles: %w", count, ErrTooMany)
	}
	m, err := readTriangles(b, int(count))
	if err != nil {
		return nil, err
	}
	if _, err := b.ReadByte(); err != io.EOF {
		if err != nil {
			return nil, fmt.Errorf("reading STL: %w", err)
		}
		return nil, fmt.Errorf("reading STL: %w", ErrTrailing)
	}
	return m, nil
}

func isEnd(err error) bool { return errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) }

// looksText tells whether a file that begins with "solid" goes on as text: some binary writers use that word too, but
// their triangles hold bytes that text does not.
func looksText(head []byte, b *bufio.Reader) bool {
	if string(head[:5]) != "solid" {
		return false
	}
	next, _ := b.Peek(triangleBytes)
	for _, x := range append(append([]byte(nil), head...), next...) {
		if x == 0 || x > 126 {
			return false
		}
	}
	return true
}

func readTriangles(b *bufio.Reader, count int) (*mesh.Mesh, error) {
	m := &mesh.Mesh{}
	number := map[geom.Vec]int32{}
	var rec [triangleBytes]byte
	for i := range count {
		if _, err := io.ReadFull(b, rec[:]); err != nil {
			if isEnd(err) {
				err = ErrShort
			}
			return nil, fmt.Errorf("reading STL triangle %d of %d: %w", i, count, err)
		}
		var t [3]int32
		for k := range t {
			v := decode(rec[12*(k+1):])
			if !v.IsFinite() || !fits(v) {
				return nil, fmt.Errorf("reading STL triangle %d: %w", i, ErrCoordinate)
			}
			at, ok := number[v]
			if !ok {
				at = int32(len(m.Vertices))
				number[v] = at
				m.Vertices = append(m.Vertices, v)
			}
			t[k] = at
		}
		m.Triangles = append(m.Triangles, t)
	}
	return m, nil
}

// decode reads a point; minus nought becomes nought, as in writing.
func decode(b []byte) geom.Vec {
	get := func(i int) float64 { return float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:]))) + 0 }
	return geom.V(get(0), get(1), get(2))
}
