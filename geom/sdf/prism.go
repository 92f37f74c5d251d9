package sdf

import (
	"math"

	"turnwise/geom"
)

// prism is a regular prism, its middle at the frame's origin and its axis along the frame's Z.
type prism struct {
	frame   geom.Pose
	flats   int
	half    float64 // of the length
	inner   float64 // radius of the inscribed circle
	halfEdg float64 // half the length of a side
	normals []geom.Vec
	leaves  []Leaf
	box     geom.Box
}

// Prism is the regular prism of flats sides about the line from at along dir, for length; across is the distance
// from a flat to the opposite one (with an odd number: twice the distance from the axis). One flat faces along side
// (made square to dir). Exact. Leaves: the flats, anticlockwise from that one as seen against dir, then the end at at,
// then the far end.
func Prism(at, dir, side geom.Vec, length, across float64, flats int) Leafed {
	l, ok := newLine(at, dir)
	if !ok || !side.IsFinite() || !finite(length, across) || length <= 0 || across <= 0 || flats < 3 {
		return Empty()
	}
	step := 2 * math.Pi / float64(flats)
	v := &prism{frame: geom.Facing(l.point(length/2), l.dir, side), flats: flats, half: length / 2, inner: across / 2}
	v.halfEdg = v.inner * math.Tan(step/2)
	for k := 0; k < flats; k++ {
		s, c := math.Sincos(step * float64(k))
		n := geom.V(c, s, 0)
		v.normals = append(v.normals, n)
		v.leaves = append(v.leaves, PlaneLeaf{v.frame.Apply(n.Mul(v.inner)), v.frame.Rotate(n)})
	}
	v.leaves = append(v.leaves, PlaneLeaf{l.at, l.dir.Neg()}, PlaneLeaf{l.point(length), l.dir})
	v.box = geom.EmptyBox()
	for _, c := range v.corners() {
		v.box = v.box.Include(c[0]).Include(c[1])
	}
	return v
}

// corners returns the ends of the edges along the axis; corner k lies between flats k and k+1.
func (v *prism) corners() [][2]geom.Vec {
	var cs [][2]geom.Vec
	for _, n := range v.normals {
		q := n.Mul(v.inner).Add(geom.V(-n.Y, n.X, 0).Mul(v.halfEdg))
		cs = append(cs, [2]geom.Vec{v.frame.Apply(q.Sub(geom.V(0, 0, v.half))), v.frame.Apply(q.Add(geom.V(0, 0, v.half)))})
	}
	return cs
}

func (v *prism) eval(p geom.Vec) (float64, int) {
	q := v.frame.Local(p)
	wall, flat := math.Inf(-1), 0
	for k, n := range v.normals {
		if d := q.X*n.X + q.Y*n.Y; d > wall {
			wall, flat = d, k
		}
	}
	wall -= v.inner
	end, endLeaf := q.Z-v.half, v.flats+1
	if q.Z < 0 {
		end, endLeaf = -q.Z-v.half, v.flats
	}
	leaf := flat
	if end > wall {
		leaf = endLeaf
	}
	if wall <= 0 {
		return max(wall, end), leaf
	}
	// beyond the end of a side the corner is nearest
	n := v.normals[flat]
	if t := math.Abs(q.Y*n.X-q.X*n.Y) - v.halfEdg; t > 0 {
		wall = math.Sqrt(wall*wall + t*t)
	}
	if end > 0 {
		return math.Sqrt(wall*wall + end*end), leaf
	}
	return wall, leaf
}

func (v *prism) Distance(p geom.Vec) float64 { d, _ := v.eval(p); return d }
func (v *prism) ActiveLeaf(p geom.Vec) int   { _, l := v.eval(p); return l }
func (v *prism) Leaves() []Leaf              { return v.leaves }
func (v *prism) Bounds() geom.Box            { return v.box }
func (v *prism) exactOutside() bool          { return true }
func (v *prism) features() []Feature {
	var fs []Feature
	cs := v.corners()
	for k, c := range cs {
		next := cs[(k+1)%len(cs)]
		fs = append(fs, Feature{At: c[0], To: c[1]}, Feature{At: c[0], To: next[0]}, Feature{At: c[1], To: next[1]})
	}
	return fs
}
