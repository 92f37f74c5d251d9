package sequence

import (
	"math"

	"turnwise/geom"
)

// A turn of less than a full one: a frame stood up, a board tilted in between two posts.

// tilt is a turn by an angle, radians, about the line through at along dir.
type tilt struct {
	at, dir geom.Vec
	angle   float64
	// edge: what turns lies above the axis and all on one side of it, and turns to the other by no more than a quarter.
	// Then no point of it comes lower than the axis: v cos f + u sin f >= 0 for u, v >= 0.
	edge bool
	top  float64 // edge: the height of what turns, where it stands upright
}

// under tells whether a box lies lower than anything that turns comes.
func (t tilt) under(b *geom.Box) bool { return t.edge && b.Max.Z <= t.at.Z+slack }

// leg is the tilt as a stretch of a motion outwards.
func (t tilt) leg() leg {
	l := leg{at: t.at, dir: t.dir, turns: t.angle / (2 * math.Pi)}
	if t.angle < 0 {
		l.dir, l.turns = l.dir.Neg(), -l.turns
	}
	return l
}

// turn tests a tilt of s against the bodies of fixed. Boxes round everything and round each body are tried first; where
// they meet something, the solids themselves decide.
func (f *frame) turn(s side, fixed []int, t tilt) (clash, bool) {
	whole := boxSolid(s.box(), geom.Identity())
	ring, _ := ringOf(&whole, t.at, t.dir)
	for _, e := range fixed {
		if (turn{t.at, t.dir, 0}).clears(ring, f.shapes[e].box) || t.solidClears(&whole, ring, &f.shapes[e]) {
			continue
		}
		for i, m := range s.bodies {
			if c, met := f.turnBody(&s.shapes[i], m, e, t); met {
				return c, true
			}
		}
	}
	return clash{}, false
}

// solidClears tells whether a convex body stays margin clear of all of a standing one all along.
func (t tilt) solidClears(a *solid, ring ring, still *shape) bool {
	for l := range still.solids {
		if !t.under(&still.boxes[l]) && !t.clear(*a, &still.solids[l], ring.far, margin) {
			return false
		}
	}
	return true
}

// clear walks a body through a tilt as turn.walk does through a full turn.
func (t tilt) clear(a solid, b *solid, far, need float64) bool {
	angle, sense := 0.0, math.Copysign(1, t.angle)
	for i := 0; i < maxSamples; i++ {
		p := a.turned(t.at, t.dir, sense*angle, 0)
		d := distance(&p, b, math.Inf(1))
		if d < need || d == 0 {
			return false
		}
		if angle >= math.Abs(t.angle) {
			return true
		}
		angle = math.Min(angle+math.Max(d-need, 1e-6)/math.Max(far, 1), math.Abs(t.angle))
	}
	return false
}

// turnBody tests the tilt of one moving body against one that stands.
func (f *frame) turnBody(sh *shape, m, e int, t tilt) (clash, bool) {
	still := &f.shapes[e]
	box := boxSolid(sh.box, geom.Identity())
	ring, _ := ringOf(&box, t.at, t.dir)
	if (turn{t.at, t.dir, 0}).clears(ring, still.box) || t.solidClears(&box, ring, still) {
		return clash{}, false
	}
	need := f.needed(m, e)
	for k := range sh.solids {
		a := &sh.solids[k]
		ra, _ := ringOf(a, t.at, t.dir)
		for l := range still.solids {
			b := &still.solids[l]
			rb, _ := ringOf(b, t.at, t.dir)
			gap := ra.apart(rb, 0)
			need := need
			if t.edge && still.boxes[l].Min.Z >= t.top {
				need = margin // what is stood up has to pass under the ceiling, though it ends against it
			}
			if gap >= need-slack || t.under(&still.boxes[l]) {
				continue
			}
			thin := *a
			if need == 0 {
				var ok bool
				if thin, ok = drawnBack(a, &f.shapes[m].solids[k], b); !ok {
					continue // one is drawn inside the other where they end
				}
			}
			if !t.clear(thin, b, ra.far, need) {
				return clash{moving: m, fixed: e, short: need - gap, why: tilts, own: k, other: l}, true
			}
		}
	}
	return clash{}, false
}

// drawnBack makes a thinner by as much as it overlaps b, as drawn, where it ends: see slidesDeeper.
func drawnBack(a, end, b *solid) (solid, bool) {
	for _, deep := range overlaps {
		if drawn := end.shrunk(deep); distance(&drawn, b, slack) > 0 {
			return a.shrunk(deep), true
		}
	}
	return *a, false
}
