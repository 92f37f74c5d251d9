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
)

const (
	mostHeights    = 3    // dimensions on one picture
	heightPitchMM  = 6    // from one dimension line to the next, on the sheet
	heightLineMM   = 0.18 // width
	heightHeadMM   = 2    // length of an arrow head
	sameHeightMM   = 2    // heights nearer than this are one
	floorWithinMM  = 1    // of z = 0 lies the top of a floor
	uprightCosine  = 0.1  // of a face's direction to the vertical, above which it is no wall
	heightOutMM    = 4    // of the first line from what is drawn
	heightPastMM   = 1    // an extension line runs past the dimension line
	leastHeightMM  = 60   // lower than this nobody measures from the floor
	heightTextEdge = 0.5
)

// heights draws, where parts are fastened to a wall, how high above the floor they sit: lines of ISO 129, with extension
// lines along the wall and arrow heads on the dimension line (from memory of the standard). A builder measures these
// before drilling.
func (sh *sheet) heights() {
	j := sh.step.job
	if !j.inPlace || !j.whole.hasFloor() {
		return
	}
	at := sh.wallPoints()
	sort.SliceStable(at, func(i, k int) bool { return at[i].Z < at[k].Z })
	at = slices.CompactFunc(at, func(a, b geom.Vec) bool { return math.Abs(a.Z-b.Z) < sameHeightMM })
	for len(at) > mostHeights { // the lowest and the highest tell most
		at = slices.Delete(at, len(at)/2, len(at)/2+1)
	}
	perMM := sh.view.PixelMM * PixelsPerMM
	left := sh.view.Right.X > 0 // the low side of x is drawn at the left
	for k, p := range at {
		out := (heightOutMM + heightPitchMM*float64(k)) * perMM / max(leastForeshortening, sh.view.Foreshortening(geom.AxisX))
		x := sh.stage.built.Min.X - out
		if !left {
			x = sh.stage.built.Max.X + out
		}
		sh.height(p, x)
	}
}

// wallPoints returns where the parts that this picture fastens meet walls.
func (sh *sheet) wallPoints() []geom.Vec {
	j := sh.step.job
	var out []geom.Vec
	for _, st := range j.steps {
		if st.Action != assembly.Fasten {
			continue
		}
		for _, id := range st.Joints {
			q := j.contact(id)
			if q == nil || q.Kind != assembly.Face {
				continue
			}
			for _, e := range []assembly.End{q.A, q.B} {
				p := j.whole.part(e.Part)
				if p == nil {
					continue
				}
				for _, port := range p.Ports {
					if port.Name == e.Port && math.Abs(port.Out.Z) < uprightCosine && port.At.Z > leastHeightMM {
						out = append(out, port.At)
					}
				}
			}
		}
	}
	return out
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

// height draws one dimension: from the floor to the height of p, on an upright line at x.
func (sh *sheet) height(p geom.Vec, x float64) {
	top := geom.V(x, p.Y, p.Z)
	foot := geom.V(x, p.Y, 0)
	a, _ := sh.sheetPoint(foot)
	b, _ := sh.sheetPoint(top)
	from, _ := sh.sheetPoint(p)
	if b.Y < stepHeadMM+2 || a.Y > sh.size.Y-2 || a.X < 2 || a.X > sh.size.X-2 {
		return // no room for it on the sheet
	}
	l := math.Hypot(b.X-from.X, b.Y-from.Y)
	if l == 0 {
		return
	}
	past := pt(b.X+(b.X-from.X)*heightPastMM/l, b.Y+(b.Y-from.Y)*heightPastMM/l)
	sh.over.line(from, past, heightLineMM, markInk)
	sh.over.line(pt(a.X-heightPastMM, a.Y), pt(a.X+heightPastMM, a.Y), heightLineMM, markInk)
	sh.over.line(a, b, heightLineMM, markInk)
	sh.over.fill(arrowHead(a, pt(b.X, b.Y+heightHeadMM*0.35), heightHeadMM, 0), markInk)
	sh.over.fill(arrowHead(b, pt(a.X, a.Y-heightHeadMM*0.35), heightHeadMM, 0), markInk)
	text := wording.Near(units.System(sh.step.job.whole.plan.Design.Units), p.Z)
	sh.label(text, b.X, (a.Y+b.Y)/2, markInk)
	sh.heightsDrawn++
	sh.step.take(box{a.X - heightTextEdge, b.Y, a.X + heightTextEdge, a.Y})
}
