package oracletest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/solidify"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// The motions of the exhaustive search are walked through with clouds of points: no sweeps, no bounds of revolution, no
// halving of space. Each body is points a little under its surface; a body meets another where one of its points lies in
// the other's material.
const (
	cloudMM   = 6.0    // spacing of the points on fittings and pipes
	boardMM   = 15.0   // and on boards
	skinMM    = 0.3    // how deep the points lie under the surface
	farMM     = 2600.0 // a way that leads out of every test frame
	leastStep = 0.8    // mm of travel between places where bodies are near
	nearMM    = 8.0    // boxes closer than that are looked at point by point
)

// thing is a body of the search.
type thing struct {
	part  assembly.Part
	solid sdf.Solid
	box   geom.Box
	cloud []geom.Vec // in the part frame; none for the room
	walls []geom.Box // of the room
}

func newThing(t testing.TB, p assembly.Part) *thing {
	s, err := solidify.Solid(p)
	require.NoError(t, err, p.ID)
	if p.Half == "b" { // the nut is loose and out of the way until the union is closed
		s = sdf.Common(s, sdf.HalfSpace(geom.Vec{}, geom.AxisZ.Neg()))
	}
	b := &thing{part: p, solid: s, box: s.Bounds()}
	if p.Half == "b" {
		b.box.Min.Z = 0
	}
	if p.Kind == "room" {
		b.walls = p.Boxes
	} else {
		b.cloud = cloudOf(s, b.box, spacing(p))
	}
	return b
}

func spacing(p assembly.Part) float64 {
	if p.Kind == "board" {
		return boardMM
	}
	return cloudMM
}

// cloudOf puts points under the surface of a solid: those of a grid that lie near it, pushed along its slope.
func cloudOf(s sdf.Solid, box geom.Box, step float64) []geom.Vec {
	var out []geom.Vec
	for x := box.Min.X; x <= box.Max.X+step/2; x += step {
		for y := box.Min.Y; y <= box.Max.Y+step/2; y += step {
			for z := box.Min.Z; z <= box.Max.Z+step/2; z += step {
				if p, ok := settled(s, geom.V(x, y, z), step*0.75); ok {
					out = append(out, p)
				}
			}
		}
	}
	return out
}

// settled moves a point under the surface, if that is near.
func settled(s sdf.Solid, p geom.Vec, near float64) (geom.Vec, bool) {
	if math.Abs(s.Distance(p)) > near {
		return p, false
	}
	const d = 1e-4
	for range 6 {
		f := s.Distance(p)
		if math.Abs(f+skinMM) < 0.02 {
			return p, true
		}
		slope := geom.V(s.Distance(p.Add(geom.V(d, 0, 0)))-f, s.Distance(p.Add(geom.V(0, d, 0)))-f, s.Distance(p.Add(geom.V(0, 0, d)))-f).Unit()
		p = p.Sub(slope.Mul(f + skinMM))
	}
	return p, s.Distance(p) < 0
}

// gap is how far the points of either body stay out of the other's material, or less: a bound from the boxes where they
// are well apart. Negative is how deep a point lies.
func gap(a *thing, poseA geom.Pose, b *thing, poseB geom.Pose) float64 {
	if len(b.walls) > 0 {
		return wallGap(a, poseA, b.walls)
	}
	into := poseB.Inverse().Compose(poseA)
	boxA := into.Box(a.box)
	if g := boxA.Gap(b.box); g > nearMM {
		return g
	}
	least := math.Inf(1)
	reach := b.box.Grow(nearMM)
	for _, p := range a.cloud {
		if q := into.Apply(p); reach.Contains(q) {
			least = min(least, b.solid.Distance(q))
		}
	}
	back := into.Inverse()
	reach = a.box.Grow(nearMM)
	for _, p := range b.cloud {
		if q := back.Apply(p); reach.Contains(q) {
			least = min(least, a.solid.Distance(q))
		}
	}
	return min(least, nearMM)
}

// wallGap is the gap to the boxes of the room, whose pose is the identity.
func wallGap(a *thing, pose geom.Pose, walls []geom.Box) float64 {
	box := pose.Box(a.box)
	least := math.Inf(1)
	var close []geom.Box
	for _, w := range walls {
		if g := box.Gap(w); g > nearMM {
			least = min(least, g)
		} else {
			close = append(close, w)
		}
	}
	if len(close) == 0 {
		return least
	}
	least = min(least, nearMM)
	for _, p := range a.cloud {
		q := pose.Apply(p)
		for _, w := range close {
			least = min(least, signed(w, q))
		}
	}
	return least
}

// signed is the distance of a point from a box, negative inside.
func signed(b geom.Box, p geom.Vec) float64 {
	if d := b.Distance(p); d > 0 {
		return d
	}
	low, high := p.Sub(b.Min), b.Max.Sub(p)
	return -min(low.X, low.Y, low.Z, high.X, high.Y, high.Z)
}

// slides walks a along a straight way past b and tells whether it gets through with the clearance asked for. Between two
// places no point moves further than the gap there, or leastStep.
func slides(a *thing, from geom.Pose, by geom.Vec, b *thing, poseB geom.Pose, need float64) bool {
	length := by.Len()
	for s := 0.0; ; {
		g := gap(a, from.Moved(by.Mul(s/max(length, 1e-9))), b, poseB)
		if g < need {
			return false
		}
		if s >= length {
			return true
		}
		s = min(length, s+max(leastStep, g-max(0, need)))
	}
}

// turns walks a through a turn about an axis with an advance along it, as slides does.
func turns(a *thing, from geom.Pose, at, dir geom.Vec, angle, advance float64, b *thing, poseB geom.Pose, need float64) bool {
	radius := 0.0
	for _, c := range a.box.Corners() {
		radius = max(radius, from.Apply(c).Sub(at).Cross(dir).Len())
	}
	length := math.Hypot(radius*angle, advance)
	for s := 0.0; ; {
		f := s / length
		g := gap(a, from.Turned(at, dir, angle*f, advance*f), b, poseB)
		if g < need {
			return false
		}
		if s >= length {
			return true
		}
		s = min(length, s+max(leastStep, g-max(0, need)))
	}
}
