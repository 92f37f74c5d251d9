package sequence

import (
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// A tall frame is put together lying on the floor, stood up, and set where it belongs. Standing up is a quarter turn
// about one lower edge of the box round the frame, on the floor or, where that is uneven, a little above it.

const (
	// tallMM is the height from which on a frame is put together lying: standing on the floor, higher joints are out of
	// the reach of somebody who kneels, and a frame that is not fastened yet sways. Common practice, no source.
	tallMM = 1000.0
)

// leansMM is how far a wall may lean in over a frame without counting as something that hangs over it.
const leansMM = 50.0

// edges are the heights, in mm, of that edge above the floor: two people hold it there. Common practice, no source.
var edges = []float64{0, 15, 40}

// asides are the distances, in mm, that a frame stands away from its place when it is stood up; farther off, whatever
// clears all that stands.
var asides = []float64{0, 150, 600}

// lying is the key of a straight removal of a frame that has to be laid down after it.
func lying(k moveKey) moveKey {
	k.kind = 'u'
	return k
}

// raise sees to it that a tall frame can be stood up. Where that fails, another way is asked for first, and in the end
// the frame is put together standing.
func (s *scene) raise(r *removal, key moveKey) []clash {
	if !s.room || !s.f.isTall(r.bodies) {
		return nil
	}
	why := s.standUp(r)
	if len(r.stand) > 0 {
		return nil
	}
	if s.tilting {
		s.remember(lying(key), why)
		s.reports[lying(key)] = leastShort(why)
		return append(why, clash{})
	}
	box := s.f.here(r.bodies).box()
	r.risen = &risen{bodies: r.bodies, height: math.Min(tiltHeight(box, geom.AxisX), tiltHeight(box, geom.AxisY))}
	r.risen.why = leastShort(why)
	if c, ok := s.reports[lying(key)]; ok {
		r.risen.why = c // what was missing with flanges on both sides screwed deeper
	}
	return nil
}

// leastShort is the clash that the least is missing in, of those of tilting if there are any.
func leastShort(cs []clash) clash {
	best := clash{short: math.Inf(1)}
	for _, c := range cs {
		if (c.why == tilts) != (best.why == tilts) && best.short < math.Inf(1) {
			if c.why == tilts {
				best = c
			}
			continue
		}
		if c.short < best.short {
			best = c
		}
	}
	return best
}

// heights is the room that a frame put together standing has: from what lies under it to what hangs over it. It may be
// propped up on the way, as long as everything stays between both.
type heights struct {
	room      float64
	low, high float64 // of the frame
}

var anyHeights = heights{room: math.Inf(1)}

// headroom is the room between what lies under a frame and what hangs over it.
func (f *frame) headroom(bodies []int) heights {
	if f.room < 0 {
		return anyHeights
	}
	box := f.here(bodies).box()
	floor, ceiling := math.Inf(-1), math.Inf(1)
	for _, r := range f.shapes[f.room].boxes {
		if math.Min(r.Max.X, box.Max.X)-math.Max(r.Min.X, box.Min.X) < leansMM || math.Min(r.Max.Y, box.Max.Y)-math.Max(r.Min.Y, box.Min.Y) < leansMM {
			continue
		}
		if r.Max.Z <= box.Centre().Z {
			floor = math.Max(floor, r.Max.Z)
		} else if r.Min.Z >= box.Centre().Z {
			ceiling = math.Min(ceiling, r.Min.Z)
		}
	}
	return heights{ceiling - floor, box.Min.Z, box.Max.Z}
}

// tooHigh tells whether a motion outwards leaves the heights of a scene.
func (s *scene) tooHigh(body int, from side, out []leg) (clash, bool) {
	if math.IsInf(s.heights.room, 1) {
		return clash{}, false
	}
	box := from.box()
	low, high := box.Min.Z, box.Max.Z
	off := geom.Vec{}
	for _, l := range out {
		if l.turns != 0 {
			_, whole := turn{l.at, l.dir, l.travel}.rings(from)
			lean := whole.far * math.Sqrt(math.Max(0, 1-l.dir.Z*l.dir.Z))
			for _, t := range []float64{whole.low, whole.high + l.travel} {
				z := l.at.Z + t*l.dir.Z
				low, high = math.Min(low, z-lean), math.Max(high, z+lean)
			}
			off = off.Add(l.dir.Mul(l.travel))
			continue
		}
		off = off.Add(l.by)
		low, high = math.Min(low, box.Min.Z+off.Z), math.Max(high, box.Max.Z+off.Z)
	}
	short := math.Max(high, s.heights.high) - math.Min(low, s.heights.low) - s.heights.room
	return clash{moving: body, fixed: body, short: short, why: headroom}, short > slack
}

// isTall tells whether a group has to lie while it is put together.
func (f *frame) isTall(bodies []int) bool {
	return len(bodies) > 1 && f.here(bodies).box().Size().Z > tallMM
}

// standUp completes a removal of a tall frame: the way out ends upright and low, and the frame is laid down from there.
// It returns what is in the way when there is no room for that.
func (s *scene) standUp(r *removal) []clash {
	f := s.f
	fixed := s.rest(r.bodies)
	here := f.here(r.bodies)
	off := geom.Vec{}
	for _, l := range r.out {
		off = off.Add(l.by)
	}
	upright := here.moved(off)
	around := s.around(fixed)
	var met []clash
	for _, d := range s.outwards(off) {
		for _, by := range s.besides(upright.box(), around, d) {
			if c, hit := f.slide(upright, fixed, by, allPairs); hit {
				met = append(met, c)
				continue
			}
			down, lay, why := s.lower(upright.moved(by), fixed, here.box().Min.Z, d)
			if lay == nil {
				met = append(met, why...)
				continue
			}
			r.out = s.shorter(r.out, here, fixed, by, down)
			r.stand = []leg{lay.leg()}
			return nil
		}
	}
	return met
}

// besides lists where along d a frame may be stood up, in the middle of the way and, where it leans against a face that
// is not quite upright, half its play off to one side.
func (s *scene) besides(b, around geom.Box, d geom.Vec) []geom.Vec {
	var out []geom.Vec
	across := geom.AxisZ.Cross(d).Mul(leastPlay / 2)
	for _, a := range append(asides, clearing(b, around, d)) {
		for _, off := range []float64{0, 1, -1} {
			out = append(out, d.Mul(a).Add(across.Mul(off)))
		}
	}
	return out
}

// lower brings an upright frame down to where it can be laid: to the floor, or to the height of its place where that is
// not known.
func (s *scene) lower(up side, fixed []int, end float64, d geom.Vec) (geom.Vec, *tilt, []clash) {
	z := up.box().Min.Z
	base := end
	if floor, ok := s.f.floorUnder(up.box()); ok {
		base = floor
	}
	var met []clash
	for _, e := range edges {
		down := geom.V(0, 0, base+e-z)
		if c, hit := s.f.slide(up, fixed, down, allPairs); hit {
			met = append(met, c)
			continue
		}
		lay, why := s.layDown(up.moved(down), fixed, d)
		if lay != nil {
			return down, lay, nil
		}
		met = append(met, why...)
	}
	return geom.Vec{}, nil, met
}

func allPairs(int, int) bool { return false }

// outwards lists the level directions to take a frame aside: the way it comes out first, then into the room.
func (s *scene) outwards(off geom.Vec) []geom.Vec {
	var out []geom.Vec
	level := geom.V(off.X, off.Y, 0)
	if level.Len() > 1 {
		d := geom.V(math.Copysign(1, level.X), 0, 0)
		if math.Abs(level.Y) >= math.Abs(level.X) {
			d = geom.V(0, math.Copysign(1, level.Y), 0)
		}
		out = append(out, d)
	}
	for _, d := range axes {
		if d.Z == 0 && !known(out, d) {
			out = append(out, d)
		}
	}
	return out
}

// floorUnder is the highest top of the room's material that lies wholly below the middle of a box and under part of it.
func (f *frame) floorUnder(b geom.Box) (float64, bool) {
	if f.room < 0 {
		return 0, false
	}
	top, found := math.Inf(-1), false
	for _, r := range f.shapes[f.room].boxes {
		over := r.Max.X > b.Min.X && r.Min.X < b.Max.X && r.Max.Y > b.Min.Y && r.Min.Y < b.Max.Y
		if over && r.Max.Z < b.Centre().Z && r.Max.Z > top {
			top, found = r.Max.Z, true
		}
	}
	return top, found
}

// layDown finds the quarter turn that lays an upright frame down, over the lower edge on the side of d first.
func (s *scene) layDown(up side, fixed []int, d geom.Vec) (*tilt, []clash) {
	var met []clash
	for _, over := range s.outwards(d.Mul(10)) {
		t := tiltOver(up.box(), over)
		c, hit := s.f.turn(up, fixed, t)
		if !hit {
			if _, held := s.caught(up.turned(t.at, t.dir, t.angle, 0)); !held {
				return &t, nil
			}
			c = clash{moving: up.bodies[0], fixed: s.f.room, why: encloses}
			met = append(met, c)
			continue
		}
		c.short = s.f.tiltShort(up.box(), over, c)
		met = append(met, c)
	}
	return nil, met
}

// tiltOver is the quarter turn of a box over its lower edge towards the level direction d.
func tiltOver(b geom.Box, d geom.Vec) tilt {
	at := geom.V(b.Centre().X, b.Centre().Y, b.Min.Z)
	half := b.Size().Mul(0.5)
	at = at.Add(geom.V(d.X*half.X, d.Y*half.Y, 0))
	return tilt{at: at, dir: geom.AxisZ.Cross(d), angle: math.Pi / 2, edge: true, top: b.Max.Z - slack}
}

// tiltHeight is the height that a box needs to be stood up over the edge towards d: its diagonal seen from the side.
func tiltHeight(b geom.Box, d geom.Vec) float64 {
	size := b.Size()
	return math.Hypot(size.Z, math.Abs(size.X*d.X)+math.Abs(size.Y*d.Y))
}

// tiltShort is how much is missing where a frame cannot be laid down: height under what hangs over it, or else as far as
// the body in the way reaches into the ring that the frame sweeps.
func (f *frame) tiltShort(b geom.Box, d geom.Vec, c clash) float64 {
	if c.other < len(f.shapes[c.fixed].boxes) {
		if over := f.shapes[c.fixed].boxes[c.other]; over.Min.Z > b.Max.Z {
			return tiltHeight(b, d) + margin - (over.Min.Z - b.Min.Z)
		}
	}
	return c.short
}

// shorter makes the way out end where the frame is laid down, in one straight line where that is clear.
func (s *scene) shorter(out []leg, here side, fixed []int, by, down geom.Vec) []leg {
	sum := by.Add(down)
	for _, l := range out {
		sum = sum.Add(l.by)
	}
	if sum.Len() < 1e-9 {
		return nil
	}
	if _, met := s.f.slide(here, fixed, sum, allPairs); !met {
		return []leg{{by: sum}}
	}
	for _, v := range []geom.Vec{by, down} {
		if v.Len() > 1e-9 {
			out = append(out, leg{by: v})
		}
	}
	return out
}

// tiltSource is the rule behind findings of standing up.
const tiltSource = "a frame H high and D deep needs sqrt(H^2 + D^2) of height to be stood up; confirmed by turning its outlines past all that stands there"

// risen is a frame that has to be put together standing.
type risen struct {
	bodies []int
	why    clash
	height float64 // what standing it up would take
}

// risenFinding tells of a frame that cannot be stood up.
func (f *frame) risenFinding(r *risen) assembly.Finding {
	size := f.here(r.bodies).box().Size()
	return assembly.Finding{
		Code: "TILT", Severity: assembly.Warn, Parts: f.ids(r.bodies),
		Values: map[string]float64{"missing_mm": r.why.short, "tilt_mm": r.height, "height_mm": size.Z},
		Text: fmt.Sprintf("the frame of %d parts cannot be stood up: lying down it is put together most easily, but to be stood up it needs %s, and %s is in the way by %s; put it together standing, two people holding it, and slide it into place",
			len(r.bodies), f.length(r.height), f.stands(r.why), f.length(r.why.short)),
		Repairs: []assembly.Repair{{Text: fmt.Sprintf("make it lower or shallower, until it needs %s less to be stood up", f.length(r.why.short))}},
		Source:  tiltSource,
	}
}

// standingFrames tells of the frames that have to be put together standing, in the order of the steps.
func (f *frame) standingFrames(removals []*removal) []assembly.Finding {
	var out []assembly.Finding
	for i := len(removals) - 1; i >= 0; i-- {
		if r := removals[i]; r.risen != nil {
			out = append(out, f.risenFinding(r.risen))
		}
	}
	return out
}
