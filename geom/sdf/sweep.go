package sdf

import (
	"math"

	"turnwise/geom"
)

// sweepSlant is how far a direction may be from that of an axis, as a sine, and still count as along it.
const sweepSlant = 1e-9

// Sweep returns a solid that holds all places that s takes up while it moves straight by the vector by: nowhere is its
// distance greater than the least true distance there meanwhile. tight tells that it is no less either, outside the material,
// but for what the distances of s themselves fall short.
// ok is false where no such solid is known: for what is round, moved across its axis.
func Sweep(s Solid, by geom.Vec) (swept Leafed, tight, ok bool) {
	if by == (geom.Vec{}) {
		return asField(s), true, true
	}
	switch v := s.(type) {
	case empty:
		return v, true, true
	case block:
		swept, tight = sweepBox(v.box, by)
		return swept, tight, true
	case halfSpace:
		return HalfSpace(v.leaf.At.Add(v.leaf.Normal.Mul(max(0, by.Dot(v.leaf.Normal)))), v.leaf.Normal), true, true
	case *boxes:
		return sweepBoxes(v.solid, by)
	case *cylinder:
		return v.swept(by)
	case *revolve:
		return v.swept(by)
	case *posed:
		if swept, tight, ok = Sweep(v.of, v.pose.Unrotate(by)); ok {
			swept = Move(swept, v.pose)
		}
		return swept, tight, ok
	case *join:
		return v.swept(by)
	case *common:
		return v.swept(by)
	}
	return nil, false, false
}

// sweepBox is the hull of a box and its moved copy. Moved along an axis that is a box; otherwise a box whose corners are
// cut off by planes along the way, one pair for each direction of edges.
func sweepBox(b geom.Box, by geom.Vec) (Leafed, bool) {
	far := geom.Box{Min: b.Min.Add(by), Max: b.Max.Add(by)}
	hull := b.Union(far)
	var planes []Solid
	for _, e := range [3]geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
		n := e.Cross(by.Unit())
		if n.Len() <= sweepSlant || alongAxis(n) {
			continue
		}
		n = n.Unit()
		for _, out := range [2]geom.Vec{n, n.Neg()} {
			corner := b.Centre()
			for _, c := range b.Corners() {
				if c.Dot(out) > corner.Dot(out) {
					corner = c
				}
			}
			planes = append(planes, HalfSpace(corner, out))
		}
	}
	if len(planes) == 0 {
		return Box(hull), true
	}
	return Common(append([]Solid{Box(hull)}, planes...)...), false
}

// alongAxis tells whether a vector has one coordinate only.
func alongAxis(v geom.Vec) bool {
	x, y, z := math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)
	l := v.Len()
	return x+y+z-max(x, y, z) <= sweepSlant*l
}

// sweepBoxes sweeps each of some boxes.
func sweepBoxes(bs []geom.Box, by geom.Vec) (Leafed, bool, bool) {
	if alongAxis(by) {
		var long []geom.Box
		for _, b := range bs {
			long = append(long, b.Union(geom.Box{Min: b.Min.Add(by), Max: b.Max.Add(by)}))
		}
		return Boxes(long...), true, true
	}
	var all []Solid
	for _, b := range append(bridges(bs), bs...) {
		one, _ := sweepBox(b, by)
		all = append(all, one)
	}
	return Join(all...), false, true
}

// bridges are boxes within the union of boxes that only touch, across the faces in which they do: without them a point in
// such a face would count as lying on the surface.
func bridges(bs []geom.Box) []geom.Box {
	var out []geom.Box
	for i, a := range bs {
		for _, b := range bs[:i] {
			face := a.Intersect(b)
			for axis := range 3 {
				if *coord(&face.Max, axis)-*coord(&face.Min, axis) != 0 {
					continue
				}
				long := face
				*coord(&long.Min, axis) = min(*coord(&a.Min, axis), *coord(&b.Min, axis))
				*coord(&long.Max, axis) = max(*coord(&a.Max, axis), *coord(&b.Max, axis))
				if long.Volume() > 0 && !face.IsEmpty() {
					out = append(out, long)
				}
			}
		}
	}
	return out
}

// swept is a cylinder moved along its axis.
func (c *cylinder) swept(by geom.Vec) (Leafed, bool, bool) {
	if by.Cross(c.axis.dir).Len() > sweepSlant*by.Len() {
		return nil, false, false
	}
	t := by.Dot(c.axis.dir)
	from := c.axis.point(-c.half + min(t, 0))
	return Cylinder(from, c.axis.dir, 2*c.half+math.Abs(t), c.radius), true, true
}

// swept is a solid of revolution moved along its axis: the tube between its least and its greatest radius.
func (v *revolve) swept(by geom.Vec) (Leafed, bool, bool) {
	if by.Cross(v.axis.dir).Len() > sweepSlant*by.Len() {
		return nil, false, false
	}
	low, high, inner, outer := math.Inf(1), math.Inf(-1), math.Inf(1), 0.0
	for _, e := range v.edges {
		for _, p := range [2]Station{{e.s, e.r}, {e.s + e.us*e.length, e.r + e.ur*e.length}} {
			low, high = min(low, p.S), max(high, p.S)
			inner, outer = min(inner, p.R), max(outer, p.R)
		}
	}
	t := by.Dot(v.axis.dir)
	return Tube(v.axis.point(low+min(t, 0)), v.axis.dir, high-low+math.Abs(t), outer, inner), false, true
}

func (j *join) swept(by geom.Vec) (Leafed, bool, bool) {
	var all []Solid
	tight := true
	for i := range j.members {
		one, exact, ok := Sweep(j.members[i].field, by)
		if !ok {
			return nil, false, false
		}
		all, tight = append(all, one), tight && exact
	}
	return Join(all...), tight, true
}

// swept sweeps what is cut, and takes away again what the cuts leave open all the way: holes along the way that go right
// through.
func (c *common) swept(by geom.Vec) (Leafed, bool, bool) {
	var solid []Solid
	var tools []Solid
	tight := len(c.members) == 1 || c.sign[1] < 0
	for i := range c.members {
		f := c.members[i].field
		if c.sign[i] > 0 {
			one, exact, ok := Sweep(f, by)
			if !ok {
				return nil, false, false
			}
			solid, tight = append(solid, one), tight && exact
			continue
		}
		if t, ok := throughHole(f, c.box, by); ok {
			tools = append(tools, t)
		} else {
			tight = false
		}
	}
	body := solid[0].(Leafed)
	if len(solid) > 1 {
		body = Common(solid...)
	}
	return Cut(body, tools...), tight, true
}

// throughHole tells whether a tool bores a body in a box right through along a way, and returns it made as much longer.
func throughHole(tool field, box geom.Box, by geom.Vec) (Solid, bool) {
	switch v := tool.(type) {
	case *posed:
		box.Min, box.Max = v.pose.Inverse().Box(box).Min, v.pose.Inverse().Box(box).Max
		if s, ok := throughHole(v.of, box, v.pose.Unrotate(by)); ok {
			return Move(s, v.pose), true
		}
	case *cylinder:
		low, high := math.Inf(1), math.Inf(-1)
		for _, p := range box.Corners() {
			s, _ := v.axis.along(p)
			low, high = min(low, s), max(high, s)
		}
		if by.Cross(v.axis.dir).Len() > sweepSlant*by.Len() || low <= -v.half || high >= v.half {
			return nil, false
		}
		l := by.Len()
		return Cylinder(v.axis.point(-v.half-l), v.axis.dir, 2*(v.half+l), v.radius), true
	}
	return nil, false
}
