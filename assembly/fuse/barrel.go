package fuse

import (
	"fmt"
	"math"
	"sort"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// onCapMM is how near to the plane of a cut a vertex lies that belongs to it: knots are rounded to 32-bit floats, which
// step by a hundred-thousandth of a millimetre at their size.
const onCapMM = 1e-4

// opened is a form's mesh without the flat ends of its stubs.
type opened struct {
	mesh mesh.Mesh
	rims [][]int32 // by cap, the vertices that it had in common with the rest
}

// open takes the caps off.
func (o *form) open() opened {
	out := opened{rims: make([][]int32, len(o.caps))}
	out.mesh.Vertices = o.mesh.Vertices
	capAt := make([]int, len(o.mesh.Triangles))
	kept := make([]bool, len(o.mesh.Vertices))
	for t, tri := range o.mesh.Triangles {
		if capAt[t] = o.capOf(t); capAt[t] < 0 {
			out.mesh.Triangles = append(out.mesh.Triangles, tri)
			kept[tri[0]], kept[tri[1]], kept[tri[2]] = true, true, true
		}
	}
	for t, tri := range o.mesh.Triangles {
		for _, v := range tri {
			if c := capAt[t]; c >= 0 && kept[v] {
				kept[v] = false // once is enough
				out.rims[c] = append(out.rims[c], v)
			}
		}
	}
	return out
}

// capOf returns the cap that a triangle belongs to, or -1.
func (o *form) capOf(t int) int {
	a, b, c := o.mesh.Corners(t)
	for i, e := range o.caps {
		if e.holds(a) && e.holds(b) && e.holds(c) {
			return i
		}
	}
	return -1
}

func (e cap) holds(v geom.Vec) bool {
	d := v.Sub(e.at)
	return math.Abs(d.Dot(e.out)) <= onCapMM && d.Len() <= e.radius+onCapMM
}

// strip joins the rings of a barrel's two stubs: the outer ones and those in the bore.
func (f *frame) strip(b *barrel) error {
	axis := b.pipe.Pose
	var rings [2][2][]turned // by end, then inner and outer
	for k, s := range b.stubs {
		in, out, err := f.rings(axis, s.rim)
		if err != nil {
			return err
		}
		rings[k] = [2][]turned{in, out}
	}
	f.zip(rings[0][1], rings[1][1], false)
	f.zip(rings[0][0], rings[1][0], true)
	return nil
}

// turned is a vertex of a ring with its angle about the pipe.
type turned struct {
	v     int32
	angle float64
}

// rings sorts the vertices of a cut end into the ring in the bore and the outer one, each by angle.
func (f *frame) rings(axis geom.Pose, rim []int32) (in, out []turned, err error) {
	least, most := math.Inf(1), 0.0
	radius := make([]float64, len(rim))
	for i, v := range rim {
		p := axis.Local(f.mesh.Vertices[v])
		radius[i] = math.Hypot(p.X, p.Y)
		least, most = min(least, radius[i]), max(most, radius[i])
	}
	for i, v := range rim {
		p := axis.Local(f.mesh.Vertices[v])
		t := turned{v, math.Atan2(p.Y, p.X)}
		switch {
		case radius[i]-least <= ringMM:
			in = append(in, t)
		case most-radius[i] <= ringMM:
			out = append(out, t)
		default:
			return nil, nil, fmt.Errorf("%w: a vertex lies %.3f mm from the axis, between %.3f and %.3f", ErrRings, radius[i], least, most)
		}
	}
	if len(in) < 3 || len(out) < 3 {
		return nil, nil, fmt.Errorf("%w: %d and %d vertices", ErrRings, len(in), len(out))
	}
	for _, r := range [][]turned{in, out} {
		sort.Slice(r, func(i, j int) bool { return r[i].angle < r[j].angle })
	}
	return in, out, nil
}

// ringMM is how far the vertices of a ring may differ in radius: they are placed on the edge between cut and pipe to far
// less.
const ringMM = 1e-3

// zip joins two rings about one axis, from the first, at lower z, to the second, by going round both in the order of
// their angles. Inwards is for a bore, whose outside is the hollow.
func (f *frame) zip(low, high []turned, inwards bool) {
	add := func(a, b, c int32) {
		if inwards {
			b, c = c, b
		}
		f.mesh.Triangles = append(f.mesh.Triangles, [3]int32{a, b, c})
	}
	// Start at the first vertex of the lower ring and the last of the upper one that comes before it, a turn on so that
	// there is one. Then each triangle spans one side of a ring at most.
	i, j := 0, 0
	at := func(r []turned, k int) float64 { return r[k%len(r)].angle + 2*math.Pi*float64(k/len(r)) }
	for at(high, j) < at(low, 0) {
		j++
	}
	j += len(high) - 1
	i += len(low)
	for iEnd, jEnd := i+len(low), j+len(high); i < iEnd || j < jEnd; {
		l, h := low[i%len(low)].v, high[j%len(high)].v
		if j == jEnd || i < iEnd && at(low, i+1) <= at(high, j+1) {
			add(l, low[(i+1)%len(low)].v, h)
			i++
			continue
		}
		add(l, high[(j+1)%len(high)].v, h)
		j++
	}
}
