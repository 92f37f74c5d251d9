package sequence

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly"
	"turnwise/geom"
)

// A board that lies loose between posts rarely comes out along one line. It is lifted, drawn sideways until it is off
// what it lies on, and then taken away; or lifted, tilted about its middle, and taken away slantwise.

// boardTilts are the angles, in degrees, that a board is tilted by: both ways, small ones first.
var boardTilts = []float64{15, 30, 45, 60, 90}

// winds tells whether bodies are one board that only lies there.
func (s *scene) winds(bodies []int, cs []contact) bool {
	if len(bodies) != 1 || s.f.parts[bodies[0]].Kind != boardKind {
		return false
	}
	for _, c := range cs {
		if c.hole || s.f.joints[c.joint].Kind != assembly.Rest {
			return false
		}
	}
	return true
}

const boardKind = "board"

// walkways are the ways in which somebody on their feet takes a board away: out from the back wall, sideways, towards
// it, and upwards last.
var walkways = []geom.Vec{{Y: -1}, {X: 1}, {X: -1}, {Y: 1}, {Z: 1}}

// windOut finds a way out of several legs for a board that lies loose.
func (s *scene) windOut(board int, cs []contact) []leg {
	f := s.f
	fixed := s.rest([]int{board})
	here := f.here([]int{board})
	around := s.around(fixed)
	if around.IsEmpty() {
		return nil
	}
	under := geom.EmptyBox()
	for _, c := range cs {
		if c.fixed != f.room {
			under = under.Union(f.shapes[c.fixed].box)
		}
	}
	for _, h := range append([]float64{0}, lifts...) {
		up := geom.AxisZ.Mul(h)
		if h > 0 {
			if _, met := f.slide(here, fixed, up, allPairs); met {
				return nil // what stops a small lift stops a greater one
			}
		}
		lifted := here.moved(up)
		if out := s.zigzag(lifted, fixed, around, under); out != nil {
			return lifting(up, out)
		}
		if out := s.tiltedOut(lifted, fixed, around); out != nil {
			return lifting(up, out)
		}
	}
	return nil
}

// lifting puts a lift before other legs.
func lifting(up geom.Vec, out []leg) []leg {
	if up.Len() == 0 {
		return out
	}
	return append([]leg{{by: up}}, out...)
}

// zigzag finds two straight lines out: the first takes a board off what it lies on, or by its own length, the second
// clear of all that stands.
func (s *scene) zigzag(from side, fixed []int, around, under geom.Box) []leg {
	f := s.f
	box := from.box()
	for _, first := range walkways {
		own := math.Abs(first.Dot(box.Size())) + parting
		for _, t := range []float64{clearing(box, under, first), own} {
			if math.IsInf(t, 0) {
				continue
			}
			v := first.Mul(t)
			if _, met := f.slide(from, fixed, v, allPairs); met {
				continue
			}
			beside := from.moved(v)
			for _, second := range walkways {
				if second.Dot(first) != 0 {
					continue
				}
				w := second.Mul(clearing(beside.box(), around, second))
				if _, met := f.slide(beside, fixed, w, allPairs); !met {
					return []leg{{by: v}, {by: w}}
				}
			}
		}
	}
	return nil
}

// tiltedOut finds a tilt about the middle of a board after which it comes out along a straight line.
func (s *scene) tiltedOut(from side, fixed []int, around geom.Box) []leg {
	f := s.f
	pose := f.pose[from.bodies[0]]
	for _, axis := range []geom.Vec{pose.X, pose.Y, pose.Z} {
		for _, sense := range []float64{1, -1} {
			for _, deg := range boardTilts {
				t := tilt{at: from.box().Centre(), dir: axis, angle: sense * deg * math.Pi / 180}
				if _, met := f.turn(from, fixed, t); met {
					break // a greater angle passes the same place
				}
				slanted := from.turned(t.at, t.dir, t.angle, 0)
				for _, d := range walkways {
					v := d.Mul(clearing(slanted.box(), around, d))
					if _, met := f.slide(slanted, fixed, v, allPairs); !met {
						return []leg{t.leg(), {by: v}}
					}
				}
			}
		}
	}
	return nil
}

// looseSource is the rule behind findings of boards that travel loose.
const looseSource = "joints of a group that is carried: a board that rests on pipes, or is bored for them, is held by nothing; common practice"

// looseBoards tells of boards that are carried with a frame that does not hold them, in the order of the steps.
func (f *frame) looseBoards(removals []*removal) []assembly.Finding {
	var out []assembly.Finding
	for i := len(removals) - 1; i >= 0; i-- {
		r := removals[i]
		if !r.inPlace || r.screw >= 0 || len(r.bodies) < 2 {
			continue
		}
		var loose []string
		for _, b := range f.loose(r.bodies) {
			loose = append(loose, f.parts[b].ID)
		}
		if len(loose) == 0 {
			continue
		}
		how := "carried in"
		if len(r.stand) > 0 {
			how = "stood up and carried in"
		}
		out = append(out, assembly.Finding{
			Code: "LOOSE-BOARD", Severity: assembly.Warn, Parts: loose, Values: map[string]float64{"parts_count": float64(len(r.bodies))},
			Repairs: []assembly.Repair{},
			Text: fmt.Sprintf("%s cannot be put in later, and nothing holds %s while the frame is %s: tie every such board to two pipes with cord first, and take the cord off when the frame stands",
				strings.Join(loose, ", "), themOrIt(len(loose)), how),
			Source: looseSource,
		})
	}
	return out
}

func themOrIt(n int) string {
	if n == 1 {
		return "it"
	}
	return "them"
}

// loose lists the boards of a group that no joint makes one with the rest of it.
func (f *frame) loose(bodies []int) []int {
	in := map[int]bool{}
	for _, b := range bodies {
		in[b] = true
	}
	var out []int
	for _, b := range bodies {
		if f.parts[b].Kind != boardKind {
			continue
		}
		held := false
		for _, k := range f.at[b] {
			j := &f.joints[k]
			held = held || in[j.other(b)] && j.Kind.IsRigid()
		}
		if !held {
			out = append(out, b)
		}
	}
	return out
}
