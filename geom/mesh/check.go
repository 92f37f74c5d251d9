package mesh

import (
	"fmt"
	"slices"
	"strings"

	"turnwise/geom"
)

// DegenerateMM is the height under which a triangle counts as having no area. It is about the step of 32-bit floats
// at 10 mm: lower ones have no normal that rounding leaves alone.
const DegenerateMM = 1e-6

// Faults counts what keeps a mesh from being the skin of one solid body. Vertices with equal coordinates count as one.
type Faults struct {
	Open        int // edges used by one triangle only
	Overused    int // edges used more than twice
	Misdirected int // edges used twice in one direction
	Pinched     int // vertices at which triangles make more than one fan
	Degenerate  int // triangles with two equal corners, or less high than DegenerateMM
	Crossing    int // pairs of triangles that cut through or fold onto one another
	OutOfRange  int // triangles that name a vertex that is not there, or vertices that are not finite
	Volume      float64
}

// OK tells whether the mesh is closed, oriented, free of crossings and has its outside outward.
func (f Faults) OK() bool {
	return f.Open+f.Overused+f.Misdirected+f.Pinched+f.Degenerate+f.Crossing+f.OutOfRange == 0 && f.Volume > 0
}

// String lists the counts that are not zero, or "sound".
func (f Faults) String() string {
	var parts []string
	say := func(n int, what string) {
		if n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, what))
		}
	}
	say(f.OutOfRange, "out of range")
	say(f.Open, "open edges")
	say(f.Overused, "overused edges")
	say(f.Misdirected, "misdirected edges")
	say(f.Pinched, "pinched vertices")
	say(f.Degenerate, "degenerate triangles")
	say(f.Crossing, "crossing pairs")
	if f.Volume <= 0 {
		parts = append(parts, fmt.Sprintf("volume %g", f.Volume))
	}
	if len(parts) == 0 {
		return "sound"
	}
	return strings.Join(parts, ", ")
}

// FaultError is the error of Check.
type FaultError struct{ Faults Faults }

func (e *FaultError) Error() string { return "mesh is not the skin of a solid: " + e.Faults.String() }

// Check returns a *FaultError unless the mesh is sound after rounding to 32-bit floats (see Faults.OK).
func Check(m *Mesh) error {
	if f := Examine(m); !f.OK() {
		return &FaultError{f}
	}
	return nil
}

// Examine counts the faults of the mesh as an STL file would hold it: rounded to 32-bit floats, with equal vertices
// made one.
func Examine(m *Mesh) Faults {
	f := Faults{OutOfRange: outOfRange(m)}
	if f.OutOfRange > 0 {
		return f
	}
	r := Round32(m)
	f.Volume = Volume(r)
	for i := range r.Triangles {
		if a, b, c := r.Corners(i); Height(a, b, c) < DegenerateMM {
			f.Degenerate++
		}
	}
	f.countEdges(r)
	f.Pinched = len(Knots(r))
	f.Crossing = len(Crossings(r))
	return f
}

func outOfRange(m *Mesh) int {
	n := 0
	for _, v := range m.Vertices {
		if !v.IsFinite() {
			n++
		}
	}
	for _, t := range m.Triangles {
		for _, v := range t {
			if v < 0 || int(v) >= len(m.Vertices) {
				n++
				break
			}
		}
	}
	return n
}

// countEdges sorts all sides, so that the uses of an edge stand together. A side is kept as its two ends in rising
// order and, in the last bit, whether it runs that way.
func (f *Faults) countEdges(m *Mesh) {
	sides := make([]uint64, 0, 3*len(m.Triangles))
	for _, t := range m.Triangles {
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			up := uint64(0)
			if a < b {
				up = 1
			}
			sides = append(sides, uint64(min(a, b))<<32|uint64(max(a, b))<<1|up)
		}
	}
	slices.Sort(sides)
	for i := 0; i < len(sides); {
		j := i
		for j < len(sides) && sides[j]>>1 == sides[i]>>1 {
			j++
		}
		switch {
		case j-i == 1:
			f.Open++
		case j-i > 2:
			f.Overused++
		case sides[i] == sides[i+1]:
			f.Misdirected++
		}
		i = j
	}
}

// Knots lists the vertices whose triangles do not make one fan: walking from triangle to triangle about the vertex
// must come to all of them.
func Knots(m *Mesh) []int32 {
	star := Stars(m)
	var out []int32
	next := map[int32]int32{}
	for v := range m.Vertices {
		ts := star(v)
		if len(ts) == 0 {
			continue
		}
		clear(next)
		for _, t := range ts {
			a, b := opposite(m.Triangles[t], int32(v))
			next[a] = b
		}
		start, _ := opposite(m.Triangles[ts[0]], int32(v))
		steps, at := 0, start
		for steps <= len(ts) {
			to, ok := next[at]
			if !ok {
				break
			}
			steps++
			if at = to; at == start {
				break
			}
		}
		if steps != len(ts) || at != start {
			out = append(out, int32(v))
		}
	}
	return out
}

// opposite returns the two corners of t that follow v, in the triangle's order.
func opposite(t [3]int32, v int32) (a, b int32) {
	switch v {
	case t[0]:
		return t[1], t[2]
	case t[1]:
		return t[2], t[0]
	}
	return t[0], t[1]
}

// Stars returns a function that lists the triangles at a vertex, in rising order.
func Stars(m *Mesh) func(v int) []int32 {
	first := make([]int32, len(m.Vertices)+1)
	for _, t := range m.Triangles {
		for _, v := range t {
			first[v+1]++
		}
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	list := make([]int32, 3*len(m.Triangles))
	fill := append([]int32(nil), first...)
	for i, t := range m.Triangles {
		for _, v := range t {
			list[fill[v]] = int32(i)
			fill[v]++
		}
	}
	return func(v int) []int32 { return list[first[v]:first[v+1]] }
}

// TriangleBox returns the bounding box of triangle i.
func (m *Mesh) TriangleBox(i int) geom.Box {
	a, b, c := m.Corners(i)
	return geom.Box{Min: a.Min(b).Min(c), Max: a.Max(b).Max(c)}
}
