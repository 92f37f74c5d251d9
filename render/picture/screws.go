package picture

import (
	"math"
	"slices"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/render"
)

// Wood screws as they are drawn, in millimetres of the sheet.
const (
	screwOffMM   = 4.0 // from the hole to the tip
	screwLongMM  = 4.2
	screwWideMM  = 0.55
	screwHeadMM  = 2.0
	screwEdgeMM  = 0.5 // white round it
	driverGapMM  = 0.8
	driverMM     = 3.0 // blade
	handleMM     = 5.0
	handleWideMM = 2.2
	leastCircle  = 7   // the circle of the holes, below which there is no room for screws
	hiddenHoleMM = 12  // a hole that lies deeper than this behind what is seen there is hidden: more than a plate is thick
	flatScrew    = 0.3 // foreshortening below which a screw points at the eye, and only its head is drawn
)

// screwPlace is where a screw goes: its hole, and the way it is driven.
type screwPlace struct{ at, dir geom.Vec }

// screws returns where the screws go by which a step fastens a part, as the part is drawn: through the holes of a flange
// or a strap. Where the plate of a caster or a cleat has its holes no table says; they are drawn near the corners of
// the plate, and along the cleat at the distance at which screws are bought for it.
func (s *stage) screws(o opened, id string) []screwPlace {
	p := s.part(id)
	if p == nil || o.step.Action != assembly.Fasten && o.step.Action != assembly.PutStrap || !s.isScrewed(o, id) {
		return nil
	}
	var local []geom.Vec
	into := geom.AxisZ.Neg()
	switch p.Kind {
	case standard.Flange:
		for _, c := range standard.FlangeHoles(p.Dims) {
			local = append(local, geom.V(c[0], c[1], p.Dims.MM(standard.DimPlate, "")))
		}
	case standard.Caster:
		const inward = 0.38 // of the plate's width, our own choice
		r, z := inward*p.Dims.MM(standard.DimAcross, ""), p.Dims.MM(standard.DimHeight, "")-p.Dims.MM(standard.DimPlate, "")
		for k := range 4 {
			sin, cos := math.Sincos((float64(k) + 0.5) * math.Pi / 2)
			local = append(local, geom.V(r*cos, r*sin, z))
		}
		into = geom.AxisZ
	case standard.Strap:
		x := p.Dims.MM(standard.DimOD, "")/2 - p.Dims.MM(standard.DimWall, "")
		for _, side := range []float64{-1, 1} {
			local = append(local, geom.V(x, side*p.Dims.MM(standard.DimCircle, "")/2, 0))
		}
		into = geom.AxisX
	case standard.Cleat:
		return s.cleatScrews(o, p)
	}
	var out []screwPlace
	pose := s.scene.Instances[s.id[id]-1].Pose
	for _, v := range local {
		out = append(out, screwPlace{pose.Apply(v), pose.Rotate(into)})
	}
	return out
}

// isScrewed tells whether one of a step's joints screws a part to something: a face that only stands on the floor, or a
// stem in a pipe, is not, and neither is a cleat that something is screwed to.
func (s *stage) isScrewed(o opened, id string) bool {
	for i := range s.plan.Joints {
		q := &s.plan.Joints[i]
		if (q.Kind == assembly.Face || q.Kind == assembly.StrapOn) && slices.Contains(o.step.Joints, q.ID) && (q.A.Part == id || q.B.Part == id) {
			other := q.A.Part
			if other == id {
				other = q.B.Part
			}
			if p := s.part(id); p.Kind != standard.Cleat || s.isRoom(other) {
				return true
			}
		}
	}
	return false
}

// fastens names the parts that a step may screw on: what it moves, where that is one, and what its contacts are at.
func (s *stage) fastens(o opened) []string {
	var out []string
	for i := range s.plan.Joints {
		q := &s.plan.Joints[i]
		if !slices.Contains(o.step.Joints, q.ID) {
			continue
		}
		for _, id := range []string{q.A.Part, q.B.Part} {
			if !slices.Contains(out, id) {
				out = append(out, id)
			}
		}
	}
	return out
}

// cleatScrews are two rows along the face of a cleat that looks away from the wall.
func (s *stage) cleatScrews(o opened, p *assembly.Part) []screwPlace {
	const every = 400 // mm: a pair at each stud, at most 16 in apart, as they are bought
	if len(p.Boxes) == 0 || o.dir == (geom.Vec{}) {
		return nil
	}
	pose := s.scene.Instances[s.id[p.ID]-1].Pose
	b := p.Boxes[0]
	mid, half := b.Centre(), b.Size().Mul(0.5)
	into := pose.Unrotate(o.dir)
	long, wide := geom.AxisX, geom.AxisZ
	for _, a := range [][3]geom.Vec{{geom.AxisX, geom.AxisY, geom.AxisZ}, {geom.AxisY, geom.AxisX, geom.AxisZ}, {geom.AxisZ, geom.AxisX, geom.AxisY}} {
		if math.Abs(into.Dot(a[0])) < 0.9 {
			continue
		}
		into = a[0].Mul(math.Copysign(1, into.Dot(a[0])))
		long, wide = a[1], a[2]
	}
	if half.Dot(wide) > half.Dot(long) {
		long, wide = wide, long
	}
	at := mid.Sub(into.Mul(math.Abs(half.Dot(into))))
	n := int(2*half.Dot(long)/every) + 1
	var out []screwPlace
	for k := range n {
		t := (2*float64(k)+1)/float64(n) - 1
		for _, side := range []float64{-0.5, 0.5} {
			v := at.Add(long.Mul(t * half.Dot(long))).Add(wide.Mul(side * half.Dot(wide)))
			out = append(out, screwPlace{pose.Apply(v), pose.Rotate(into)})
		}
	}
	return out
}

// drawScrews draws the screws of one part before their holes, those far off first, and a driver at the nearest. Holes
// that are hidden have none.
func (sh *sheet) drawScrews(o opened, id string) {
	places := sh.stage.screws(o, id)
	sort.SliceStable(places, func(a, b int) bool {
		return places[a].at.Dot(sh.view.Back) < places[b].at.Dot(sh.view.Back)
	})
	var seen []screwPlace
	for _, p := range places {
		at, d := sh.sheetPoint(p.at)
		if d < sh.partDepth(at)+hiddenHoleMM && at.X > 0 && at.Y > 0 && at.X < sh.size.X && at.Y < sh.size.Y {
			seen = append(seen, p)
		}
	}
	for k, p := range seen {
		sh.screw(p, k == len(seen)-1)
	}
}

// isRoomy tells whether the screws of a part are far enough apart on the sheet to be drawn.
func (sh *sheet) isRoomy(o opened, id string) bool {
	at := sh.stage.screws(o, id)
	far := 0.0
	for _, p := range at {
		a, _ := sh.sheetPoint(p.at)
		b, _ := sh.sheetPoint(at[0].at)
		far = max(far, math.Hypot(a.X-b.X, a.Y-b.Y))
	}
	return far >= leastCircle
}

// screw draws one, and a driver behind it if asked for.
func (sh *sheet) screw(p screwPlace, driver bool) {
	hole, _ := sh.sheetPoint(p.at)
	q, _ := sh.sheetPoint(p.at.Sub(p.dir.Mul(sh.view.PixelMM * PixelsPerMM)))
	box := sh.over.screw(hole, q.X-hole.X, q.Y-hole.Y, driver)
	sh.step.take(box)
}

// screw draws a screw before its hole: its way, point, shank and head, and a driver behind it if asked for. A millimetre
// in space towards the eye's side of the hole is ux, uy on the sheet. It returns what the screw covers.
func (o overlay) screw(hole point, ux, uy float64, driver bool) box {
	l := math.Hypot(ux, uy)
	along := func(mm float64) point { return pt(hole.X+ux/l*mm, hole.Y+uy/l*mm) }
	if l < flatScrew {
		o.disc(hole, screwHeadMM/2+screwEdgeMM/2, paper)
		o.disc(hole, screwHeadMM/2, actInk)
		c := screwHeadMM / 4
		o.line(pt(hole.X-c, hole.Y), pt(hole.X+c, hole.Y), 0.3, paper)
		o.line(pt(hole.X, hole.Y-c), pt(hole.X, hole.Y+c), 0.3, paper)
		return box{hole.X - 1, hole.Y - 1, hole.X + 1, hole.Y + 1}
	}
	tip, head := along(screwOffMM), along(screwOffMM+screwLongMM)
	across := func(at point, half float64) (point, point) {
		return pt(at.X-uy/l*half, at.Y+ux/l*half), pt(at.X+uy/l*half, at.Y-ux/l*half)
	}
	o.line(hole, tip, 0.18, actInk)
	neck := along(screwOffMM + 1.2)
	a, b := across(head, screwHeadMM/2)
	c, d := across(along(screwOffMM+screwLongMM-0.8), screwWideMM/2)
	e, f := across(neck, screwWideMM/2)
	for _, pass := range []struct {
		grow float64
		ink  render.Colour
	}{{screwEdgeMM, paper}, {0, actInk}} {
		o.line(tip, head, screwWideMM+pass.grow, pass.ink)
		o.fill(polygon(a, b, d, c), pass.ink)
	}
	o.fill(polygon(tip, e, f), actInk)
	for k := range 3 { // the thread
		g, h := across(along(screwOffMM+1.0+0.7*float64(k)), screwWideMM)
		o.line(g, h, 0.25, actInk)
	}
	if driver {
		from := screwOffMM + screwLongMM + driverGapMM
		o.line(along(from), along(from+driverMM), 0.5, actInk)
		o.line(along(from+driverMM), along(from+driverMM+handleMM), handleWideMM, actInk)
		o.line(along(from+driverMM+0.8), along(from+driverMM+handleMM-0.8), 0.35, paper)
	}
	return box{min(tip.X, head.X) - 1, min(tip.Y, head.Y) - 1, max(tip.X, head.X) + 1, max(tip.Y, head.Y) + 1}
}
