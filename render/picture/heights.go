package picture

import (
	"math"
	"slices"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render/lettering"
)

const (
	heightPitchMM  = 12   // from one upright dimension line to the next on its side, on the sheet
	heightLineMM   = 0.18 // width
	heightHeadMM   = 2    // length of an arrow head
	sameHeightMM   = 2    // what lies nearer than this together is measured once
	floorWithinMM  = 1    // of z = 0 lies the top of a floor
	uprightCosine  = 0.1  // of a face's direction to the vertical, above which it is no wall
	heightOutMM    = 4    // of the first line from what is drawn
	heightPastMM   = 1    // an extension line runs past the dimension line
	leastHeightMM  = 60   // lower than this nobody measures from the floor
	heightTextEdge = 0.5
	labelApartMM   = 3.6 // least distance of two figures on one line, on the sheet
	leastAlong     = 0.3 // foreshortening below which a wall is too slanted to be measured along
	wideOutMM      = 55  // in space, of the line for distances along a wall above the frame
	brokenMM       = 10  // from the lowest place down to where a line to a floor below the sheet is broken off
	leastWideMM    = 30  // shorter distances from a corner are not drawn
)

// wallPoint is where something is fastened to a wall, and the way the wall's surface looks.
type wallPoint struct{ at, out geom.Vec }

// dimensions draws, where parts are fastened to walls, how high above the floor they sit and how far from the corner, as
// running dimensions from a common origin after ISO 129 (from memory of the standard): one line with a circle at its
// origin and an arrow head and a figure at each place. A builder measures these before drilling.
func (sh *sheet) dimensions() {
	j := sh.step.job
	if !j.inPlace {
		return
	}
	at := sh.wallPoints()
	if j.whole.hasFloor() {
		sh.heights(at)
	}
	sh.widths(at)
}

// heights draws the heights of each wall on the side of the drawing that is nearer.
func (sh *sheet) heights(at []wallPoint) {
	x0, _, x1, _ := sh.partsDrawn()
	type line struct {
		left bool
		y    float64
		at   []geom.Vec
	}
	var lines []line
	for _, p := range at {
		s, _ := sh.sheetPoint(p.at)
		l := line{left: s.X < (x0+x1)/2, y: p.at.Y}
		k := slices.IndexFunc(lines, func(o line) bool { return o.left == l.left && math.Abs(o.y-l.y) < sameHeightMM })
		if k < 0 {
			k = len(lines)
			lines = append(lines, l)
		}
		lines[k].at = append(lines[k].at, p.at)
	}
	perMM := sh.view.PixelMM * PixelsPerMM
	drawn := map[bool]int{}
	for _, l := range lines {
		out := (heightOutMM + heightPitchMM*float64(drawn[l.left])) * perMM / max(leastForeshortening, sh.view.Foreshortening(geom.AxisX))
		x := sh.stage.built.Min.X - out
		if l.left != (sh.view.Right.X > 0) { // the low side of x is drawn at the left, seen from the front
			x = sh.stage.built.Max.X + out
		}
		foot := geom.V(x, l.y, 0)
		if sh.running(foot, geom.AxisZ, l.at, l.left) {
			drawn[l.left]++
		}
	}
}

// widths draws how far from a corner, or from the first of them, the places on each wall lie.
func (sh *sheet) widths(at []wallPoint) {
	type wall struct {
		out geom.Vec
		at  []geom.Vec
	}
	var walls []wall
	for _, p := range at {
		k := slices.IndexFunc(walls, func(w wall) bool {
			return w.out.Near(p.out, uprightCosine) && math.Abs(w.at[0].Sub(p.at).Dot(p.out)) < sameHeightMM
		})
		if k < 0 {
			k = len(walls)
			walls = append(walls, wall{out: p.out})
		}
		walls[k].at = append(walls[k].at, p.at)
	}
	for _, w := range walls {
		along := geom.AxisZ.Cross(w.out).Unit()
		if along.Dot(sh.view.Right) < 0 {
			along = along.Neg()
		}
		if sh.view.Foreshortening(along) < leastAlong {
			continue
		}
		origin, ok := sh.corner(w.at, along)
		if !ok {
			continue
		}
		origin.Z = sh.stage.built.Max.Z + wideOutMM
		if origin.Dot(along) > w.at[0].Dot(along) {
			along = along.Neg() // from a corner at the right
		}
		sh.running(origin, along, w.at, false)
	}
}

// corner is where the wall that some places lie on meets the next one, at the left or else at the right; without either
// it is the first of the places, if there are more.
func (sh *sheet) corner(at []geom.Vec, along geom.Vec) (geom.Vec, bool) {
	first := at[0]
	for _, p := range at {
		if p.Dot(along) < first.Dot(along) {
			first = p
		}
	}
	for _, way := range []geom.Vec{along.Neg(), along} {
		if d, ok := sh.stage.wallAlong(first, way); ok {
			return first.Add(way.Mul(d)), true
		}
	}
	for _, p := range at {
		if math.Abs(p.Sub(first).Dot(along)) > sameHeightMM {
			return first, true
		}
	}
	return first, false
}

// wallAlong is how far it is from a place to the next wall of the room on a level way, as far as rooms reach.
func (s *stage) wallAlong(from, way geom.Vec) (mm float64, ok bool) {
	const reach, offWall = 6000, 5 // mm; a little off the wall that the place lies on
	mm = math.Inf(1)
	mid := s.built.Centre()
	for _, side := range []geom.Vec{geom.AxisX, geom.AxisY} { // step off the wall, towards the frame
		if math.Abs(side.Dot(way)) < 0.5 {
			from = from.Add(side.Mul(math.Copysign(offWall, mid.Sub(from).Dot(side))))
		}
	}
	for _, p := range s.plan.Parts {
		if p.Kind != standard.Room {
			continue
		}
		for _, b := range p.Boxes {
			if a, _, hit := within(b, from, from.Add(way.Mul(reach))); hit && a > 0 {
				mm = min(mm, a*reach)
			}
		}
	}
	return mm, !math.IsInf(mm, 1)
}

// wallPoints returns where the parts that this picture fastens meet walls: the faces of flanges, and of a cleat the lower
// corner of its face at the left.
func (sh *sheet) wallPoints() []wallPoint {
	j := sh.step.job
	var out []wallPoint
	for _, st := range j.steps {
		if st.Action != assembly.Fasten {
			continue
		}
		for _, id := range st.Joints {
			q := j.contact(id)
			if q == nil || q.Kind != assembly.Face || !j.whole.isRoom(q.A.Part) && !j.whole.isRoom(q.B.Part) {
				continue
			}
			for _, e := range []assembly.End{q.A, q.B} {
				if p := j.whole.part(e.Part); p != nil {
					out = append(out, sh.facePoints(*p, e.Port)...)
				}
			}
		}
	}
	return out
}

func (s *stage) isRoom(id string) bool {
	return slices.ContainsFunc(s.plan.Parts, func(p assembly.Part) bool { return p.ID == id && p.Kind == standard.Room })
}

// facePoints are the places of one part that is fastened to the room.
func (sh *sheet) facePoints(p assembly.Part, port string) []wallPoint {
	if p.Kind == standard.Cleat && len(p.Boxes) > 0 {
		b := p.Pose.Box(p.Boxes[0])
		out := geom.AxisY // cleats lie flat on their wall: the thin way is towards it
		if s := b.Size(); s.X < s.Y {
			out = geom.AxisX
		}
		return []wallPoint{{b.Min, out}}
	}
	for _, q := range p.Ports {
		if q.Name == port && math.Abs(q.Out.Z) < uprightCosine && q.At.Z > leastHeightMM {
			return []wallPoint{{q.At, q.Out}}
		}
	}
	return nil
}

// hasFloor tells whether the room has a floor at height 0.
func (s *stage) hasFloor() bool {
	for _, p := range s.plan.Parts {
		if p.Kind != standard.Room {
			continue
		}
		for _, b := range p.Boxes {
			if math.Abs(b.Max.Z) < floorWithinMM {
				return true
			}
		}
	}
	return false
}

// running draws running dimensions along a direction from an origin to some places, each with an extension line from the
// place; figures of an upright line stand to its left or right, of others above it. It tells whether there was room.
func (sh *sheet) running(origin, dir geom.Vec, at []geom.Vec, left bool) bool {
	at = slices.Clone(at)
	far := func(p geom.Vec) float64 { return p.Sub(origin).Dot(dir) }
	sort.SliceStable(at, func(i, k int) bool { return far(at[i]) < far(at[k]) })
	at = slices.CompactFunc(at, func(a, b geom.Vec) bool { return math.Abs(far(a)-far(b)) < sameHeightMM })
	at = slices.DeleteFunc(at, func(p geom.Vec) bool { return far(p) < leastWideMM })
	if len(at) == 0 {
		return false
	}
	o, _ := sh.sheetPoint(origin)
	end, _ := sh.sheetPoint(origin.Add(dir.Mul(far(at[len(at)-1]))))
	isFar := dir == geom.AxisZ && o.Y > sh.size.Y-1 // the floor lies below the sheet
	if isFar {
		first, _ := sh.sheetPoint(origin.Add(dir.Mul(far(at[0]))))
		o = pt(first.X, min(first.Y+brokenMM, sh.size.Y-stepTextMM-3))
	}
	if !sh.hasRoom(o) || !sh.hasRoom(end) {
		return false
	}
	sh.over.line(o, end, heightLineMM, markInk)
	sh.step.line(o, end)
	sh.over.disc(o, 0.8, markInk)
	sh.over.disc(o, 0.8-heightLineMM, paper)
	if isFar {
		text := sh.step.words.Say("mark.from-floor")
		w := lettering.Regular.Width(text, stepTextMM)
		sh.over.broken(pt(o.X, o.Y-brokenMM/3), 0, 1)
		sh.label(text, max(o.X, w/2+stepEdgeMM), o.Y+stepTextMM/2+1.4, markInk)
	}
	last, lastText := o, pt(math.Inf(-1), 0)
	for _, p := range at {
		b, _ := sh.sheetPoint(origin.Add(dir.Mul(far(p))))
		from, _ := sh.sheetPoint(p)
		sh.extension(from, b)
		sh.over.fill(arrowHead(last, b, heightHeadMM, -heightHeadMM*0.35), markInk)
		text := wording.Near(units.System(sh.step.job.whole.plan.Design.Units), far(p))
		w := lettering.Regular.Width(text, stepTextMM)
		c := pt(b.X, b.Y-stepTextMM/2-1)
		if dir == geom.AxisZ {
			c = pt(b.X+w/2+1.2, b.Y+stepTextMM/2+0.6)
			if left {
				c.X = b.X - w/2 - 1.2
			}
		} else if b.X > o.X {
			c.X = b.X - w/2 - 0.5
		} else {
			c.X = b.X + w/2 + 0.5
		}
		if f := sh.step.job.frame(sh.step.columns); c.X-w/2 < f.Left-stepRingMM+0.5 {
			c.X = b.X + w/2 + 1.2
		} else if c.X+w/2 > f.Right+stepRingMM-0.5 {
			c.X = b.X - w/2 - 1.2
		}
		if math.Hypot(c.X-lastText.X, c.Y-lastText.Y) >= labelApartMM {
			sh.label(text, c.X, c.Y, markInk)
			sh.step.measure(box{c.X - w/2, c.Y - stepTextMM/2, c.X + w/2, c.Y + stepTextMM/2})
			lastText = c
		}
		sh.heightsDrawn++
		last = b
	}
	return true
}

// broken draws the mark of a line that is not drawn in its whole length; ux, uy is the unit vector along the line.
func (o overlay) broken(at point, ux, uy float64) {
	const half, wave = 1.6, 0.8
	a := pt(at.X-uy*half-ux*wave, at.Y+ux*half-uy*wave)
	b := pt(at.X+uy*half*0.3+ux*wave, at.Y-ux*half*0.3+uy*wave)
	c := pt(at.X-uy*half*0.3-ux*wave, at.Y+ux*half*0.3-uy*wave)
	d := pt(at.X+uy*half+ux*wave, at.Y-ux*half+uy*wave)
	for _, l := range [][2]point{{a, b}, {b, c}, {c, d}} {
		o.line(l[0], l[1], heightLineMM+0.6, paper)
	}
	for _, l := range [][2]point{{a, b}, {b, c}, {c, d}} {
		o.line(l[0], l[1], heightLineMM, markInk)
	}
}

// measure widens the box around the dimensions.
func (m *stepMarks) measure(b box) {
	m.written = append(m.written, b)
	if m.measured.x1 <= m.measured.x0 {
		m.measured = b
		return
	}
	o := m.measured
	m.measured = box{min(o.x0, b.x0), min(o.y0, b.y0), max(o.x1, b.x1), max(o.y1, b.y1)}
}

// extension draws an extension line, which runs a little past the dimension line.
func (sh *sheet) extension(from, to point) {
	l := math.Hypot(to.X-from.X, to.Y-from.Y)
	if l == 0 {
		return
	}
	past := pt(to.X+(to.X-from.X)*heightPastMM/l, to.Y+(to.Y-from.Y)*heightPastMM/l)
	sh.over.line(from, past, heightLineMM, markInk)
}

// hasRoom tells whether a point of a dimension line lies on the sheet, off its columns.
func (sh *sheet) hasRoom(p point) bool {
	f := sh.step.job.frame(sh.step.columns)
	return p.Y > stepHeadMM+2 && p.Y < sh.size.Y-1 && p.X > f.Left-stepRingMM+2 && p.X < f.Right+stepRingMM-2
}
