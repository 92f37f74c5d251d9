package solidify

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// Round holes in outlines made of boxes.
const (
	// holeReachMM is how far corners of wood between strips may reach into a hole: half of the 1/16 in that a hole is
	// bored wider than its pipe all round (common practice, no source).
	holeReachMM = 0.8
	// strapReachMM is the same within a strap, which lies on its pipe.
	strapReachMM = 0.4
	// leanSlices is how many layers a hole that leans takes through the board.
	leanSlices = 6
	// uprightSine is the lean, as a sine, up to which a hole counts as square to the board: 0.01 mm over 20 mm.
	uprightSine = 5e-4
)

// woodOutline returns boxes with their holes opened. A hole with enough wood around it is a square opening with a tube
// in it; others, such as edge notches, are opened by strips.
func woodOutline(boxes []geom.Box, holes []assembly.Hole) assembly.Outline {
	o := assembly.Outline{Boxes: append([]geom.Box(nil), boxes...)}
	all := geom.EmptyBox()
	for _, b := range boxes {
		all = all.Union(b)
	}
	for _, h := range holes {
		if h.Diameter <= 0 || h.Dir.Unit() == (geom.Vec{}) {
			continue
		}
		h.Dir = h.Dir.Unit()
		if tube, square, ok := ringed(boxes, holes, h); ok {
			o.Boxes = subtract(o.Boxes, square)
			o.Tubes = append(o.Tubes, tube)
			continue
		}
		for _, s := range holeStrips(all, h) {
			o.Boxes = subtract(o.Boxes, s)
		}
	}
	return o
}

// along returns the axis (0, 1, 2) that d is most along.
func along(d geom.Vec) int {
	x, y, z := math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)
	switch {
	case x >= y && x >= z:
		return 0
	case y >= z:
		return 1
	}
	return 2
}

// axisOf returns the unit vector of an axis.
func axisOf(k int) geom.Vec { return [3]geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ}[k] }

// stretch returns b with its reach along axis k replaced.
func stretch(b geom.Box, k int, from, to float64) geom.Box {
	u := axisOf(k)
	b.Min = b.Min.Sub(u.Mul(b.Min.Dot(u))).Add(u.Mul(from))
	b.Max = b.Max.Sub(u.Mul(b.Max.Dot(u))).Add(u.Mul(to))
	return b
}

// ringed returns the tube and the square opening for an upright through hole around which one box has wood for the
// tube, out to the corners of the square, and no other hole.
func ringed(boxes []geom.Box, holes []assembly.Hole, h assembly.Hole) (assembly.Tube, geom.Box, bool) {
	k := along(h.Dir)
	u := axisOf(k)
	if h.Depth != 0 || h.Dir.Cross(u).Len() > sameMM {
		return assembly.Tube{}, geom.Box{}, false
	}
	r := h.Diameter / 2
	outer := r * math.Sqrt2
	for i := range holes {
		if other := holes[i]; other != h && reach(other, h) < outer+other.Diameter/2 {
			return assembly.Tube{}, geom.Box{}, false
		}
	}
	for _, b := range boxes {
		from, to := b.Min.Dot(u), b.Max.Dot(u)
		if room := stretch(geom.BoxOf(h.At).Grow(outer), k, from, to); b.Union(room) != b {
			continue
		}
		tube := assembly.Tube{At: h.At.Sub(u.Mul(h.At.Dot(u) - from)), Dir: u, Length: to - from, Radius: outer, Bore: r}
		return tube, stretch(geom.BoxOf(h.At).Grow(r), k, from, to), true
	}
	return assembly.Tube{}, geom.Box{}, false
}

// reach is the distance between the middles of two holes, seen along the second.
func reach(a, b assembly.Hole) float64 { return a.At.Sub(b.At).Cross(b.Dir).Len() }

// holeStrips returns boxes that lie within a hole and together nearly fill it.
func holeStrips(all geom.Box, h assembly.Hole) []geom.Box {
	k := along(h.Dir)
	from, to := all.Min.Dot(axisOf(k)), all.Max.Dot(axisOf(k))
	layers := leanSlices
	if h.Dir.Cross(axisOf(k)).Len() <= uprightSine {
		layers = 1
	}
	if h.Depth > 0 {
		if layers > 1 {
			return nil // a pocket that leans stays closed: its floor is not along the axes
		}
		start := h.At.Dot(axisOf(k))
		end := start + math.Copysign(h.Depth, h.Dir.Dot(axisOf(k)))
		from, to = min(start, end), max(start, end)
	}
	var out []geom.Box
	for i := range layers {
		z0 := from + (to-from)*float64(i)/float64(layers)
		z1 := from + (to-from)*float64(i+1)/float64(layers)
		out = append(out, layerStrips(h, k, z0, z1)...)
	}
	return out
}

// layerStrips fills the part of a hole between z0 and z1 along axis k. Steps of equal squares keep the corners between
// strips equally far from the circle.
func layerStrips(h assembly.Hole, k int, z0, z1 float64) []geom.Box {
	u, v := (k+1)%3, (k+2)%3
	ku := axisOf(k)
	mid := h.At.Add(h.Dir.Mul(((z0+z1)/2 - h.At.Dot(ku)) / h.Dir.Dot(ku)))
	edges := stripEdges(h.Diameter/2, holeReachMM)
	var out []geom.Box
	for i := 1; i < len(edges); i++ {
		u0, u1 := mid.Dot(axisOf(u))+edges[i-1], mid.Dot(axisOf(u))+edges[i]
		lo, hi := math.Inf(-1), math.Inf(1)
		for _, uu := range []float64{u0, u1} {
			for _, zz := range []float64{z0, z1} {
				a, b := chordOf(h, ku.Mul(zz).Add(axisOf(u).Mul(uu)), axisOf(v))
				lo, hi = max(lo, a), min(hi, b)
			}
		}
		if hi > lo {
			b := stretch(stretch(stretch(geom.Box{}, k, z0, z1), u, u0, u1), v, lo, hi)
			out = append(out, b)
		}
	}
	return out
}

// stripEdges divides a circle of radius r into strips, so many that the corners between them stand off the circle by
// at most about reach: their squares rise in equal steps of r^2/n, which is r/(2n) on the radius.
func stripEdges(r, reach float64) []float64 {
	n := max(1, int(math.Ceil(r/(2*reach))))
	var out []float64
	for i := -n; i <= n; i++ {
		out = append(out, math.Copysign(r*math.Sqrt(math.Abs(float64(i))/float64(n)), float64(i)))
	}
	return out
}

// chordOf returns where the line through p along the axis v lies within the hole's cylinder, as coordinates along v;
// an empty stretch when it misses.
func chordOf(h assembly.Hole, p, v geom.Vec) (lo, hi float64) {
	w := p.Sub(h.At)
	w = w.Sub(h.Dir.Mul(w.Dot(h.Dir)))
	e := v.Sub(h.Dir.Mul(v.Dot(h.Dir)))
	a, b, c := e.Dot(e), w.Dot(e), w.Dot(w)-h.Diameter*h.Diameter/4
	d := b*b - a*c
	if d <= 0 || a == 0 {
		return 0, 0
	}
	d = math.Sqrt(d)
	return (-b - d) / a, (-b + d) / a
}

// tubeBoxes lays an upright tube as boxes: strips that hold the ring.
func tubeBoxes(t assembly.Tube) []geom.Box {
	k := along(t.Dir)
	u, v := (k+1)%3, (k+2)%3
	ku := axisOf(k)
	z0 := t.At.Dot(ku)
	z1 := z0 + t.Length*t.Dir.Dot(ku)
	cu, cv := t.At.Dot(axisOf(u)), t.At.Dot(axisOf(v))
	var out []geom.Box
	put := func(u0, u1, v0, v1 float64) {
		if v1 > v0 {
			b := stretch(geom.Box{}, k, min(z0, z1), max(z0, z1))
			out = append(out, stretch(stretch(b, u, cu+u0, cu+u1), v, cv+v0, cv+v1))
		}
	}
	edges := stripEdges(t.Radius, strapReachMM)
	for i := 1; i < len(edges); i++ {
		u0, u1 := edges[i-1], edges[i]
		near, far := min(math.Abs(u0), math.Abs(u1)), max(math.Abs(u0), math.Abs(u1))
		outer := math.Sqrt(max(0, t.Radius*t.Radius-near*near))
		inner := math.Sqrt(max(0, t.Bore*t.Bore-far*far))
		if inner == 0 {
			put(u0, u1, -outer, outer)
			continue
		}
		put(u0, u1, -outer, -inner)
		put(u0, u1, inner, outer)
	}
	return out
}
