package mockup

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/geom/mesh"
)

// What a printer asks of a mesh that lies on a plate: common practice, no source.
const (
	leastWallMM = 0.44 // a line of a 0.4 mm nozzle
	leastGapMM  = 0.1  // less fuses
	// mostCornerMM2 is the surface in concave edges that may face the other side nearer than that.
	mostCornerMM2 = 0.5
	steepestDeg   = 45   // of a side that leans out, from upright
	mostBridgeMM  = 10.0 // that hangs between two sides
	// mostLedgeMM may stand out sideways without anything under it: two lines, of which each is held by the one before. A
	// lug that lies sideways and the lip of a clip do; it droops a little, on faces that nothing runs on.
	mostLedgeMM    = 0.85
	layerMM        = 0.2
	mostSliverMM2  = 3.0  // of both its sides: as much as one drop of plastic
	leastToldMM2   = 0.05 // of slivers: less is a corner
	leastFirstMM2  = 4.0  // of the first layer: less comes off the bed
	firstLayerMM   = 0.2
	rayLimitMM     = 30.0
	mostRays       = 700 // per mesh, for walls and for gaps
	densityGPerMM3 = 1.24e-3
	// filamentPerSecond is what a common printer lays down with everything it does, in cubic millimetres.
	filamentPerSecond = 4.0
)

// Printable is what was measured on a mesh that lies as it is printed.
type Printable struct {
	Label        string
	WallMM       float64 // thinnest, slivers apart; +Inf when none was met
	SliverMM     float64 // thinnest of the slivers; +Inf when there is none
	SliverMM2    float64 // of both their sides
	GapMM        float64 // narrowest, +Inf when there is none
	OverhangMM2  float64 // of sides that lean out more than they may and are neither a bridge nor a ledge
	FirstLayer   float64 // area on the bed, mm2
	Shells       int
	SizeMM       geom.Vec
	VolumeMM3    float64
	Triangles    int
	WidestBridge float64 // of what hangs between two sides
}

// Examine measures a mesh that lies on the plane z = 0. Walls and gaps are probed by rays square to the surface, from
// at most mostRays triangles spread over the mesh: a wall thinner only between them can be missed.
func Examine(label string, m *mesh.Mesh) Printable {
	b := mesh.Bounds(m)
	out := Printable{Label: label, WallMM: math.Inf(1), GapMM: math.Inf(1), SizeMM: b.Size(), VolumeMM3: mesh.Volume(m), Triangles: len(m.Triangles), Shells: mesh.Shells(m)}
	probe := newProbe(m)
	step := max(1, len(m.Triangles)/mostRays)
	var thin, near []wall
	for i := range m.Triangles {
		n, area := probe.normal[i], probe.area[i]
		if area == 0 {
			continue
		}
		low, high := probe.heights(i)
		if high < b.Min.Z+firstLayerMM/2 {
			out.FirstLayer += area
			continue
		}
		if n.Z < -math.Sin(steepestDeg*math.Pi/180)-1e-3 && low > b.Min.Z+firstLayerMM {
			hanging, bridge := probe.hanging(i)
			out.OverhangMM2 += area * hanging
			out.WidestBridge = max(out.WidestBridge, bridge)
		}
		if i%step != 0 {
			continue
		}
		at := probe.middle(i)
		if d, ok := probe.hit(at.Sub(n.Mul(1e-4)), n.Neg(), i, true); ok {
			thin = append(thin, wall{d, area * float64(step)})
		}
		if d, ok := probe.hit(at.Add(n.Mul(1e-4)), n, i, false); ok {
			near = append(near, wall{d, area * float64(step)})
		}
	}
	out.WallMM, out.SliverMM, out.SliverMM2 = thinnestWall(thin)
	out.GapMM = narrowestGap(near)
	return out
}

// narrowestGap is the narrowest gap before the surface. Gaps that a printer would close count from mostCornerMM2 on: before
// less there are only the single small triangles at the bottom of a concave edge, which face its other side.
func narrowestGap(list []wall) float64 {
	slices.SortFunc(list, func(a, b wall) int { return cmp.Compare(a.mm, b.mm) })
	area := 0.0
	for _, w := range list {
		if area += w.area; w.mm >= leastGapMM || area > mostCornerMM2 {
			return w.mm
		}
	}
	return math.Inf(1)
}

// wall is how thick a solid is behind a part of its surface.
type wall struct{ mm, area float64 }

// thinnestWall is the thickness of the thinnest walls, and apart from them that and the area of slivers: walls too thin to
// print that are so small that a printer rounds them off and nothing misses them, such as edges where the slots of two
// sockets meet.
func thinnestWall(list []wall) (mm, sliverMM, sliverMM2 float64) {
	slices.SortFunc(list, func(a, b wall) int { return cmp.Compare(a.mm, b.mm) })
	mm, sliverMM = math.Inf(1), math.Inf(1)
	for _, w := range list {
		if w.mm >= leastWallMM {
			return w.mm, sliverMM, sliverMM2
		}
		sliverMM = min(sliverMM, w.mm)
		if sliverMM2 += w.area; sliverMM2 > mostSliverMM2 {
			return w.mm, math.Inf(1), 0
		}
	}
	return mm, sliverMM, sliverMM2
}

// probe answers questions about a mesh.
type probe struct {
	m      *mesh.Mesh
	normal []geom.Vec
	area   []float64
	level  float64 // of active
	active []int   // triangles that reach through level
}

func newProbe(m *mesh.Mesh) *probe {
	p := &probe{m: m, normal: make([]geom.Vec, len(m.Triangles)), area: make([]float64, len(m.Triangles))}
	for i, t := range m.Triangles {
		a, b, c := m.Vertices[t[0]], m.Vertices[t[1]], m.Vertices[t[2]]
		n := b.Sub(a).Cross(c.Sub(a))
		if l := n.Len(); l > 0 {
			p.normal[i], p.area[i] = n.Mul(1/l), l/2
		}
	}
	return p
}

func (p *probe) corners(i int) (a, b, c geom.Vec) {
	t := p.m.Triangles[i]
	return p.m.Vertices[t[0]], p.m.Vertices[t[1]], p.m.Vertices[t[2]]
}

func (p *probe) middle(i int) geom.Vec {
	a, b, c := p.corners(i)
	return a.Add(b).Add(c).Mul(1.0 / 3)
}

func (p *probe) heights(i int) (low, high float64) {
	a, b, c := p.corners(i)
	return min(a.Z, b.Z, c.Z), max(a.Z, b.Z, c.Z)
}

// hanging is the share of a triangle that faces down with nothing to hold it, and the widest bridge met elsewhere on it.
// At points spread over the triangle, one layer below it, it looks in eight directions for what the layer above could
// rest on: close by, or on two opposite sides.
func (p *probe) hanging(i int) (share, bridge float64) {
	const apart = 1.5 // mm between points
	a, b, c := p.corners(i)
	n := int(math.Ceil(max(a.Sub(b).Len(), b.Sub(c).Len(), c.Sub(a).Len()) / apart))
	n = min(max(n, 1), 24)
	points, bad := 0, 0
	for u := range n {
		for v := range n - u {
			fu, fv := (float64(u)+1.0/3)/float64(n), (float64(v)+1.0/3)/float64(n)
			at := a.Mul(1 - fu - fv).Add(b.Mul(fu)).Add(c.Mul(fv))
			points++
			near, across := p.rests(at.Sub(geom.V(0, 0, layerMM)))
			switch {
			case near <= mostLedgeMM:
			case across <= mostBridgeMM:
				bridge = max(bridge, across)
			default:
				bad++
			}
		}
	}
	return float64(bad) / float64(points), bridge
}

// rests is how far the nearest material is from a point, level with it, and how far apart the nearest two sides are
// between which it lies. Both are 0 within material, and +Inf where there is none.
func (p *probe) rests(at geom.Vec) (near, across float64) {
	if at.Z != p.level || p.active == nil {
		p.level, p.active = at.Z, p.active[:0]
		for i := range p.m.Triangles {
			if low, high := p.heights(i); low <= at.Z && at.Z <= high {
				p.active = append(p.active, i)
			}
		}
	}
	near, across = math.Inf(1), math.Inf(1)
	const ways = 8
	var far [ways]float64
	for k := range far {
		s, c := math.Sincos(2*math.Pi*float64(k)/ways + 0.01) // a little aslant: edges run along the axes
		dir := geom.V(c, s, 0)
		far[k] = math.Inf(1)
		leaving := false
		for _, i := range p.active {
			a, b, c := p.corners(i)
			if d, hit := meet(at, dir, a, b, c); hit && d < far[k] {
				far[k], leaving = d, p.normal[i].Dot(dir) > 0
			}
		}
		if leaving {
			return 0, 0
		}
		near = min(near, far[k])
	}
	for k := range ways / 2 {
		across = min(across, far[k]+far[k+ways/2])
	}
	return near, across
}

// facing is how squarely a ray must meet a surface for the two to count as the sides of a wall or gap: where they meet at
// an edge there is none.
const facing = 0.9

// hit is how far a ray goes until it meets a triangle from inside (leaving the solid) or from outside (entering it); not
// ok when it meets that one aslant.
func (p *probe) hit(from, dir geom.Vec, own int, leaving bool) (float64, bool) {
	best, ok := rayLimitMM, false
	square := 0.0
	for i := range p.m.Triangles {
		if i == own || (p.normal[i].Dot(dir) > 0) != leaving {
			continue
		}
		a, b, c := p.corners(i)
		if d, hit := meet(from, dir, a, b, c); hit && d < best {
			best, ok, square = d, true, abs(p.normal[i].Dot(dir))
		}
	}
	return best, ok && square >= facing
}

// meet is where a ray meets a triangle (Möller and Trumbore, Fast, minimum storage ray-triangle intersection, 1997).
func meet(from, dir, a, b, c geom.Vec) (float64, bool) {
	e1, e2 := b.Sub(a), c.Sub(a)
	p := dir.Cross(e2)
	det := e1.Dot(p)
	if math.Abs(det) < 1e-12 {
		return 0, false
	}
	t := from.Sub(a)
	u := t.Dot(p) / det
	if u < 0 || u > 1 {
		return 0, false
	}
	q := t.Cross(e1)
	if v := dir.Dot(q) / det; v < 0 || u+v > 1 {
		return 0, false
	}
	d := e2.Dot(q) / det
	return d, d > 0
}

// Findings tells what a printer would not do well, with the numbers.
func (p Printable) Findings() []assembly.Finding {
	var out []assembly.Finding
	tell := func(code, text string, values map[string]float64) {
		out = append(out, assembly.Finding{
			Code: code, Severity: assembly.Warn, Text: text, Parts: []string{}, Values: values, Repairs: []assembly.Repair{},
			Source: "printers that melt filament through a 0.4 mm nozzle: common practice, no source",
		})
	}
	if p.WallMM < leastWallMM {
		tell("THIN-WALL", fmt.Sprintf("piece %s has a wall of %.2f mm; %.2f mm prints: take a larger scale", p.Label, p.WallMM, leastWallMM), map[string]float64{"wall_mm": p.WallMM})
	}
	if p.SliverMM2 > leastToldMM2 {
		tell("SLIVER", fmt.Sprintf("piece %s has edges as thin as %.2f mm, %.1f mm2 of them: a printer rounds them off, and nothing rests on them", p.Label, p.SliverMM, p.SliverMM2),
			map[string]float64{"wall_mm": p.SliverMM, "area_mm2": p.SliverMM2})
		out[len(out)-1].Severity = assembly.Note
	}
	if p.GapMM < leastGapMM {
		tell("NARROW-GAP", fmt.Sprintf("piece %s has a gap of %.2f mm, which prints shut", p.Label, p.GapMM), map[string]float64{"gap_mm": p.GapMM})
	}
	if p.OverhangMM2 > 1 {
		tell("OVERHANG", fmt.Sprintf("piece %s hangs over by %.0f mm2 beyond %d degrees: let the printer add support", p.Label, p.OverhangMM2, steepestDeg), map[string]float64{"overhang_mm2": p.OverhangMM2})
	}
	if p.FirstLayer < leastFirstMM2 {
		tell("FIRST-LAYER", fmt.Sprintf("piece %s touches the bed with %.1f mm2 only: print it with a brim", p.Label, p.FirstLayer), map[string]float64{"first_layer_mm2": p.FirstLayer})
	}
	if p.Shells != 1 {
		tell("LOOSE-SHELL", fmt.Sprintf("piece %s falls into %d pieces", p.Label, p.Shells), map[string]float64{"shells": float64(p.Shells)})
	}
	return out
}

// Estimate is what a plate takes. Grams are of solid pieces; a printer that fills them loosely takes less.
type Estimate struct {
	Grams float64
	Hours float64
}

// estimate is from the volume alone.
func estimate(volumeMM3 float64) Estimate {
	return Estimate{Grams: volumeMM3 * densityGPerMM3, Hours: volumeMM3 / filamentPerSecond / 3600}
}

// Estimate is what a plate takes to print.
func (p Plate) Estimate() Estimate {
	v := 0.0
	for _, l := range p.Laid {
		v += mesh.Volume(l.Mesh)
	}
	return estimate(v)
}
