package sdf

import (
	"math"
	"sort"

	"turnwise/geom"
)

// empty is the solid without material.
type empty struct{}

// Empty is the solid without material: infinitely far from everywhere, without leaves.
func Empty() Leafed { return empty{} }

func (empty) eval(geom.Vec) (float64, int) { return math.Inf(1), -1 }
func (empty) Distance(geom.Vec) float64    { return math.Inf(1) }
func (empty) ActiveLeaf(geom.Vec) int      { return -1 }
func (empty) Leaves() []Leaf               { return nil }
func (empty) Bounds() geom.Box             { return geom.EmptyBox() }
func (empty) exactOutside() bool           { return true }
func (empty) features() []Feature          { return nil }

// halfSpace is everything behind a plane.
type halfSpace struct{ leaf PlaneLeaf }

// HalfSpace is everything behind the plane through at with the outward direction normal. Exact. It is for cutting
// with: its bounds are infinite.
func HalfSpace(at, normal geom.Vec) Leafed {
	l, ok := newLine(at, normal)
	if !ok {
		return Empty()
	}
	return halfSpace{PlaneLeaf{l.at, l.dir}}
}

func (h halfSpace) eval(p geom.Vec) (float64, int) { return h.leaf.Distance(p), 0 }
func (h halfSpace) Distance(p geom.Vec) float64    { return h.leaf.Distance(p) }
func (h halfSpace) ActiveLeaf(geom.Vec) int        { return 0 }
func (h halfSpace) Leaves() []Leaf                 { return []Leaf{h.leaf} }
func (h halfSpace) Bounds() geom.Box {
	b := geom.EmptyBox()
	return geom.Box{Min: b.Max, Max: b.Min}
}
func (h halfSpace) exactOutside() bool  { return true }
func (h halfSpace) features() []Feature { return nil }

// block is a box with axis-parallel faces.
type block struct {
	box          geom.Box
	centre, half geom.Vec
}

// Box is the solid box. Exact. Leaves: the faces at least x, greatest x, least y and so on.
func Box(b geom.Box) Leafed {
	if b.IsEmpty() || !b.Min.IsFinite() || !b.Max.IsFinite() || b.Volume() == 0 {
		return Empty()
	}
	return block{b, b.Centre(), b.Size().Mul(0.5)}
}

func (b block) eval(p geom.Vec) (float64, int) {
	d := p.Sub(b.centre)
	x, ix := math.Abs(d.X)-b.half.X, 0
	y, iy := math.Abs(d.Y)-b.half.Y, 2
	z, iz := math.Abs(d.Z)-b.half.Z, 4
	if d.X > 0 {
		ix = 1
	}
	if d.Y > 0 {
		iy = 3
	}
	if d.Z > 0 {
		iz = 5
	}
	most, leaf := x, ix
	if y > most {
		most, leaf = y, iy
	}
	if z > most {
		most, leaf = z, iz
	}
	if most <= 0 {
		return most, leaf
	}
	x, y, z = max(x, 0), max(y, 0), max(z, 0)
	return math.Sqrt(x*x + y*y + z*z), leaf
}

func (b block) Distance(p geom.Vec) float64 { d, _ := b.eval(p); return d }
func (b block) ActiveLeaf(p geom.Vec) int   { _, l := b.eval(p); return l }
func (b block) Bounds() geom.Box            { return b.box }
func (b block) Leaves() []Leaf {
	return []Leaf{
		PlaneLeaf{b.box.Min, geom.AxisX.Neg()}, PlaneLeaf{b.box.Max, geom.AxisX},
		PlaneLeaf{b.box.Min, geom.AxisY.Neg()}, PlaneLeaf{b.box.Max, geom.AxisY},
		PlaneLeaf{b.box.Min, geom.AxisZ.Neg()}, PlaneLeaf{b.box.Max, geom.AxisZ},
	}
}
func (b block) exactOutside() bool  { return true }
func (b block) features() []Feature { return boxEdges(b.box) }

// boxEdges lists the twelve edges of a box, or the four of a flat one three times over; equal ones do no harm.
func boxEdges(b geom.Box) []Feature {
	c := b.Corners()
	var fs []Feature
	for bit := 1; bit < 8; bit *= 2 {
		for i := range c {
			if i&bit == 0 && c[i] != c[i|bit] {
				fs = append(fs, Feature{At: c[i], To: c[i|bit]})
			}
		}
	}
	return fs
}

// boxes is a union of boxes, kept as the rectangles that bound it.
type boxes struct {
	solid  []geom.Box
	faces  []boxFace
	first  []int // the faces on solid[i] are faces[first[i]:first[i+1]]
	leaves []Leaf
	bounds geom.Box
}

// boxFace is a rectangle that bounds a union of boxes: a box without thickness on one axis (0, 1, 2). sign is the
// direction of its outward normal on it.
type boxFace struct {
	rect geom.Box
	axis int
	sign float64
	leaf int
}

// snapMM is how far apart faces of boxes may lie and still be taken for one. It closes slits left by rounding.
const snapMM = 1e-6

// Boxes is the union of boxes, which may touch or overlap: where they touch there is no seam. Exact. Leaves: the
// planes of its faces.
func Boxes(bs ...geom.Box) Leafed {
	u := &boxes{bounds: geom.EmptyBox()}
	for _, b := range snapBoxes(bs) {
		if b.Volume() > 0 && b.Min.IsFinite() && b.Max.IsFinite() {
			u.solid = append(u.solid, b)
			u.bounds = u.bounds.Union(b)
		}
	}
	switch len(u.solid) {
	case 0:
		return Empty()
	case 1:
		return Box(u.solid[0])
	}
	var list leafList
	for i := range u.solid {
		u.first = append(u.first, len(u.faces))
		for axis := 0; axis < 3; axis++ {
			u.addFaces(i, axis, -1, &list)
			u.addFaces(i, axis, 1, &list)
		}
	}
	u.first = append(u.first, len(u.faces))
	u.leaves = list
	return u
}

// BoxesOf returns the boxes whose union a solid is, if it was made by Box or Boxes.
func BoxesOf(s Solid) ([]geom.Box, bool) {
	switch v := s.(type) {
	case block:
		return []geom.Box{v.box}, true
	case *boxes:
		return v.solid, true
	}
	return nil, false
}

// coord returns a pointer to one coordinate of v.
func coord(v *geom.Vec, axis int) *float64 {
	switch axis {
	case 0:
		return &v.X
	case 1:
		return &v.Y
	}
	return &v.Z
}

// snapBoxes returns the boxes with coordinates that differ by rounding made equal, axis by axis.
func snapBoxes(bs []geom.Box) []geom.Box {
	out := append([]geom.Box(nil), bs...)
	for axis := 0; axis < 3; axis++ {
		var all []*float64
		for i := range out {
			all = append(all, coord(&out[i].Min, axis), coord(&out[i].Max, axis))
		}
		sort.SliceStable(all, func(i, j int) bool { return *all[i] < *all[j] })
		for i := 1; i < len(all); i++ {
			if *all[i]-*all[i-1] < snapMM {
				*all[i] = *all[i-1]
			}
		}
	}
	return out
}

// addFaces lists what is left of one face of box i when the parts that other boxes cover are taken away.
func (u *boxes) addFaces(i, axis int, sign float64, list *leafList) {
	b := u.solid[i]
	at := *coord(&b.Max, axis)
	if sign < 0 {
		at = *coord(&b.Min, axis)
	}
	rest := []geom.Box{slab(b, axis, 0, 1)}
	for j, c := range u.solid {
		if j != i && covers(c, axis, at, sign) {
			rest = subtractAll(rest, slab(c, axis, 0, 1))
		}
	}
	for _, r := range rest {
		normal := geom.Vec{}
		*coord(&normal, axis) = sign
		r = slab(r, axis, at, at)
		leaf := list.add(PlaneLeaf{r.Min, normal})
		u.faces = append(u.faces, boxFace{r, axis, sign, leaf})
	}
}

// slab returns b with its reach on one axis replaced.
func slab(b geom.Box, axis int, from, to float64) geom.Box {
	*coord(&b.Min, axis), *coord(&b.Max, axis) = from, to
	return b
}

// covers tells whether c holds the points just in front of a face at the given place.
func covers(c geom.Box, axis int, at, sign float64) bool {
	lo, hi := *coord(&c.Min, axis), *coord(&c.Max, axis)
	if sign > 0 {
		return lo <= at && at < hi
	}
	return lo < at && at <= hi
}

func subtractAll(from []geom.Box, c geom.Box) []geom.Box {
	var out []geom.Box
	for _, b := range from {
		out = append(out, b.Subtract(c)...)
	}
	return out
}

func (u *boxes) eval(p geom.Vec) (float64, int) {
	best, bestOff, leaf, in := math.Inf(1), 0.0, -1, false
	for i := range u.solid {
		away := clampAway(p, &u.solid[i])
		from := away.Dot(away)
		in = in || from == 0
		if from > best {
			continue // its faces are no nearer than itself
		}
		for k := u.first[i]; k < u.first[i+1]; k++ {
			f := &u.faces[k]
			d := clampAway(p, &f.rect)
			sq := d.Dot(d)
			off := math.Abs(*coord(&d, f.axis))
			// of faces that share the nearest edge, the one that faces the point more decides
			if sq < best*(1-cornerTie) || (sq <= best*(1+cornerTie) && off > bestOff) {
				best, bestOff, leaf = min(best, sq), off, f.leaf
			}
		}
	}
	if in {
		return -math.Sqrt(best), leaf
	}
	return math.Sqrt(best), leaf
}

// clampAway returns the way from the nearest point of a box to p.
func clampAway(p geom.Vec, b *geom.Box) geom.Vec {
	return geom.Vec{
		X: p.X - min(max(p.X, b.Min.X), b.Max.X),
		Y: p.Y - min(max(p.Y, b.Min.Y), b.Max.Y),
		Z: p.Z - min(max(p.Z, b.Min.Z), b.Max.Z),
	}
}

func (u *boxes) Distance(p geom.Vec) float64 { d, _ := u.eval(p); return d }
func (u *boxes) ActiveLeaf(p geom.Vec) int   { _, l := u.eval(p); return l }
func (u *boxes) Leaves() []Leaf              { return u.leaves }
func (u *boxes) Bounds() geom.Box            { return u.bounds }
func (u *boxes) exactOutside() bool          { return true }
func (u *boxes) features() []Feature {
	var fs []Feature
	for i := range u.faces {
		fs = append(fs, boxEdges(u.faces[i].rect)...)
	}
	return fs
}
