package isosurface

import (
	"math"
	"slices"
	"sort"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Parts of the tolerance that the steps may use up. The rest is for what lies between samples.
const (
	refinePart   = 0.7
	simplifyPart = 0.9
	// refineRounds is how often edges are halved: each round quarters their error.
	refineRounds = 4
)

// side is an edge of the mesh with its two triangles.
type side struct {
	a, b   int32 // a < b
	t0, t1 int32
}

// sides lists all edges of a closed mesh in rising order.
func (d *skin) sides() []side {
	type half struct {
		key uint64 // both ends
		t   int32
	}
	hs := make([]half, 0, 3*len(d.t))
	for i, t := range d.t {
		if t[0] < 0 {
			continue
		}
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			hs = append(hs, half{uint64(min(a, b))<<32 | uint64(max(a, b)), int32(i)})
		}
	}
	slices.SortFunc(hs, func(a, b half) int {
		switch {
		case a.key < b.key:
			return -1
		case a.key > b.key:
			return 1
		}
		return int(a.t - b.t)
	})
	out := make([]side, 0, len(hs)/2)
	for i := 0; i+1 < len(hs); i += 2 {
		out = append(out, side{int32(hs[i].key >> 32), int32(hs[i].key & math.MaxUint32), hs[i].t, hs[i+1].t})
	}
	return out
}

// refine halves edges that stand off their leaves, with the new vertex on the leaves of both sides.
func (d *skin) refine() {
	for range refineRounds {
		if !d.refineOnce() {
			return
		}
	}
}

func (d *skin) refineOnce() bool {
	type split struct {
		side
		off float64
		mid geom.Vec
	}
	var list []split
	for _, s := range d.sides() {
		if d.isFrozen(s.a) || d.isFrozen(s.b) {
			continue
		}
		p, q := d.v[s.a], d.v[s.b]
		mid := p.Lerp(q, 0.5)
		leaves := d.between(s)
		off := offLeaves(mid, leaves)
		if off <= refinePart*d.tol {
			continue
		}
		at := solve(mid, leaves)
		if !at.IsFinite() || at.Sub(mid).Len() > p.Sub(q).Len()/2 || offLeaves(at, leaves) > off/2 {
			continue
		}
		list = append(list, split{s, off, at})
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].off > list[j].off })
	used := map[int32]bool{}
	done := false
	for _, s := range list {
		if used[s.t0] || used[s.t1] {
			continue
		}
		used[s.t0], used[s.t1] = true, true
		d.split(s.side, s.mid)
		done = true
	}
	return done
}

// between returns the leaves of an edge's two triangles.
func (d *skin) between(s side) []sdf.Leaf {
	if d.leaf[s.t0] == d.leaf[s.t1] {
		return []sdf.Leaf{d.leaves[d.leaf[s.t0]]}
	}
	return []sdf.Leaf{d.leaves[d.leaf[s.t0]], d.leaves[d.leaf[s.t1]]}
}

// split puts a vertex on an edge.
func (d *skin) split(s side, at geom.Vec) {
	n := int32(len(d.v))
	d.v = append(d.v, at)
	for _, t := range [2]int32{s.t0, s.t1} {
		other := d.t[t]
		for k := range 3 {
			switch {
			case other[k] == s.a:
				other[k] = n
			}
		}
		for k := range 3 {
			if d.t[t][k] == s.b {
				d.t[t][k] = n
			}
		}
		d.add(d.leaf[t], other)
	}
}

// offCurve is the distance of p from the curve in which two leaves meet, to first order.
func offCurve(a, b sdf.Leaf, p geom.Vec) float64 {
	da, db := a.Distance(p), b.Distance(p)
	g := a.Gradient(p).Dot(b.Gradient(p))
	const tangent = 0.01 // the square of a sine under which the curve is not told by distances
	if s := 1 - g*g; s > tangent {
		return math.Sqrt(max(0, da*da-2*g*da*db+db*db) / s)
	}
	return max(math.Abs(da), math.Abs(db))
}
