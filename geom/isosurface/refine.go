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
	// the sides that begin at each vertex, with their other end and triangle
	first := make([]int32, len(d.v)+1)
	for _, t := range d.t {
		if t[0] >= 0 {
			for k := range 3 {
				first[min(t[k], t[(k+1)%3])+1]++
			}
		}
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	hs := make([]uint64, first[len(first)-1])
	at := slices.Clone(first)
	for i, t := range d.t {
		if t[0] < 0 {
			continue
		}
		for k := range 3 {
			a, b := t[k], t[(k+1)%3]
			lo := min(a, b)
			hs[at[lo]] = uint64(max(a, b))<<32 | uint64(i)
			at[lo]++
		}
	}
	out := make([]side, 0, len(hs)/2)
	for v := range d.v {
		part := hs[first[v]:first[v+1]]
		slices.Sort(part)
		for i := 0; i+1 < len(part); i += 2 {
			out = append(out, side{int32(v), int32(part[i] >> 32), int32(part[i] & math.MaxUint32), int32(part[i+1] & math.MaxUint32)})
		}
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

// halving is an edge that stands off its leaves, and the place of its new vertex.
type halving struct {
	side
	off float64
	mid geom.Vec
}

func (d *skin) refineOnce() bool {
	all := d.sides()
	parts := make([][]halving, slabs)
	inParallel(slabs, func(i int) {
		from, to := slab(i, len(all))
		for _, s := range all[from:to] {
			if h, ok := d.halve(s); ok {
				parts[i] = append(parts[i], h)
			}
		}
	})
	list := slices.Concat(parts...)
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

// halve says whether an edge is to be halved, and where.
func (d *skin) halve(s side) (halving, bool) {
	if d.isFrozen(s.a) || d.isFrozen(s.b) {
		return halving{}, false
	}
	p, q := d.v[s.a], d.v[s.b]
	mid := p.Lerp(q, 0.5)
	leaves := d.between(s)
	off := offLeaves(mid, leaves)
	if off <= refinePart*d.tol {
		return halving{}, false
	}
	at := solve(mid, leaves)
	if !at.IsFinite() || at.Sub(mid).Len() > p.Sub(q).Len()/2 || offLeaves(at, leaves) > off/2 {
		return halving{}, false
	}
	return halving{s, off, at}, true
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
