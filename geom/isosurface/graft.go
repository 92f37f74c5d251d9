package isosurface

import (
	"fmt"
	"math"
	"slices"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// onZoneMM is how far vertices of the plain body may lie off a zone's cone for rounding to 32-bit floats: 1e-4 of a mm
// at a metre, with a margin.
const onZoneMM = 2e-4

// threadedMesh meshes a solid with threads: the plain body first, then a strip for each thread in place of the plain
// surface between the zone's two circles. It returns false when s has no threads.
func threadedMesh(s sdf.Leafed, o Options) (*mesh.Mesh, Report, error, bool) {
	plain, zones, ok := sdf.Threads(s)
	if !ok {
		return nil, Report{}, nil, false
	}
	m, r, err := Mesh(plain, o)
	if err != nil {
		return nil, r, err, true
	}
	whole, why := graftAll(m, zones, o.ToleranceMM)
	if why == "" {
		whole = mesh.Round32(whole)
		if f := mesh.Examine(whole); !f.OK() {
			why = f.String()
		}
	}
	if why != "" {
		r.ThreadsLeftOut = true
		r.Rejected = append(r.Rejected, "threads left out: "+why)
		r.measure(s, m, o.ToleranceMM)
		return m, r, nil, true
	}
	r.Threads = len(zones)
	r.RawTriangles += len(whole.Triangles) - len(m.Triangles)
	r.measure(s, whole, o.ToleranceMM)
	return whole, r, nil, true
}

// graftAll grafts every zone's strip onto the plain body. It returns why it could not, or "".
func graftAll(m *mesh.Mesh, zones []sdf.Zone, tol float64) (*mesh.Mesh, string) {
	strips := make([]*strip, len(zones))
	inParallel(len(zones), func(i int) { strips[i] = newStrip(zones[i], tol) })
	for i, t := range strips {
		if t == nil {
			return nil, fmt.Sprintf("thread %d has no plain ring at an end", i+1)
		}
		var why string
		if m, why = t.graft(m); why != "" {
			return nil, fmt.Sprintf("thread %d: %s", i+1, why)
		}
	}
	return m, ""
}

// graft puts the strip in the place of the plain surface of its zone.
func (t *strip) graft(m *mesh.Mesh) (*mesh.Mesh, string) {
	where := t.locate(m)
	out := &mesh.Mesh{Vertices: slices.Clone(m.Vertices)}
	sides := map[[2]int32]bool{}
	for _, tri := range m.Triangles {
		if !t.onZone(where, tri) {
			out.Triangles = append(out.Triangles, tri)
			continue
		}
		for k := range 3 {
			sides[[2]int32{tri[k], tri[(k+1)%3]}] = true
		}
	}
	if len(sides) == 0 {
		return nil, "its plain surface is not in the mesh"
	}
	low, high := t.border(where, sides, false), t.border(where, sides, true)
	if low == nil || high == nil {
		return nil, "its plain surface is not a band between two circles"
	}
	if len(low)+len(high) != borderSides(sides) {
		return nil, "its plain surface has a hole"
	}
	first := int32(len(out.Vertices))
	out.Vertices = append(out.Vertices, t.vertices()...)
	var tris [][3]int32
	for _, v := range t.tris {
		tris = append(tris, [3]int32{first + v[0], first + v[1], first + v[2]})
	}
	ringLow, ringHigh := t.ring(first, false), t.ring(first, true)
	tris = zip(zip(tris, low, ringLow), ringHigh, high)
	for _, v := range tris {
		if t.Internal {
			v[1], v[2] = v[2], v[1]
		}
		out.Triangles = append(out.Triangles, v)
	}
	return out, ""
}

// spot is a vertex in a zone's cylindrical coordinates: on is 0 off the zone's plain surface, 1 within it, 2 on the
// circle at its start, 3 on that at its end.
type spot struct {
	angle float64
	on    uint8
}

// locate finds the vertices that lie on the plain surface of the zone.
func (t *strip) locate(m *mesh.Mesh) []spot {
	f := geom.Facing(t.At, t.Dir, t.Side)
	out := make([]spot, len(m.Vertices))
	for i, v := range m.Vertices {
		q := f.Local(v)
		s, r := q.Z, math.Hypot(q.X, q.Y)
		if s < t.Start.S-onZoneMM || s > t.End.S+onZoneMM || math.Abs(r-t.PlainCone(s).R) > onZoneMM {
			continue
		}
		out[i] = spot{math.Mod(math.Atan2(q.Y, q.X)+2*math.Pi, 2*math.Pi), 1}
		if gap(sdf.Station{S: s, R: r}, t.Start) < 2*onZoneMM {
			out[i].on = 2
		} else if gap(sdf.Station{S: s, R: r}, t.End) < 2*onZoneMM {
			out[i].on = 3
		}
	}
	return out
}

// onZone tells whether a triangle is part of the plain surface: with all corners on it, but not all on one circle.
func (t *strip) onZone(where []spot, tri [3]int32) bool {
	a, b, c := where[tri[0]].on, where[tri[1]].on, where[tri[2]].on
	return a > 0 && b > 0 && c > 0 && !(a == b && b == c && a > 1)
}

// node is a vertex on a circle.
type node struct {
	angle float64
	v     int32
}

// border returns the vertices of the zone's circle at its start or its end in rising order of their angles, or nil
// when the border of the plain surface is not that circle.
func (t *strip) border(where []spot, sides map[[2]int32]bool, high bool) []node {
	on := uint8(2)
	if high {
		on = 3
	}
	next := map[int32]int32{}
	var ring []node
	for e := range sides {
		if sides[[2]int32{e[1], e[0]}] || where[e[0]].on != on || where[e[1]].on != on {
			continue
		}
		if high != t.Internal { // the border runs round the other way
			e[0], e[1] = e[1], e[0]
		}
		next[e[0]] = e[1]
		ring = append(ring, node{where[e[0]].angle, e[0]})
	}
	slices.SortFunc(ring, func(a, b node) int {
		if a.angle < b.angle {
			return -1
		}
		return 1
	})
	for i, n := range ring {
		if next[n.v] != ring[(i+1)%len(ring)].v {
			return nil
		}
	}
	return ring
}

// borderSides counts the sides that have no opposite.
func borderSides(sides map[[2]int32]bool) int {
	n := 0
	for e := range sides {
		if !sides[[2]int32{e[1], e[0]}] {
			n++
		}
	}
	return n
}

// ring returns the first or the last vertices of the strip's columns.
func (t *strip) ring(first int32, high bool) []node {
	out := make([]node, len(t.cells))
	for j := range out {
		v := first + t.first[j]
		if high {
			v += int32(len(t.points[j])) - 1
		}
		out[j] = node{t.angles[j], v}
	}
	return out
}

// zip adds the triangles between two rings about one axis, the shorter diagonal first; seen from outside, low is below and
// angles grow to the right.
func zip(tris [][3]int32, low, high []node) [][3]int32 {
	at := func(ring []node, i int) node {
		n := ring[i%len(ring)]
		n.angle += 2 * math.Pi * float64(i/len(ring))
		return n
	}
	i, j := 0, 0
	for i < len(low) || j < len(high) {
		a, b := at(low, i), at(high, j)
		a1, b1 := at(low, i+1), at(high, j+1)
		if j == len(high) || (i < len(low) && math.Abs(a1.angle-b.angle) <= math.Abs(b1.angle-a.angle)) {
			tris = append(tris, [3]int32{a.v, a1.v, b.v})
			i++
			continue
		}
		tris = append(tris, [3]int32{a.v, b1.v, b.v})
		j++
	}
	return tris
}
