package replay

import (
	"math"

	"turnwise/geom"
)

// openMM is how far the boxes of two bodies may reach into one another where a body comes to hand, and still count as
// apart. It is for rounding: a body that is about another, or within it, lies deeper by the wall of a pipe at least.
const openMM = 1

// checkOpen checks that bodies that come to hand start out in the open, not about something that stands there or within
// it: a coupling comes on to a pipe over its end, and a board on to a post from above. Room that is left between the
// boxes of two bodies, each along its own axes, shows it, for bodies that fill their boxes: what is round, and boards.
func (w *world) checkOpen(movers []*body, starts []geom.Pose, way []*body) {
	for k, a := range movers {
		for _, b := range way {
			if !a.fillsBox() || !b.fillsBox() {
				continue
			}
			if deep := crossing(a.box, starts[k], b.box, b.now); deep > openMM {
				w.fail(CodePose, deep, []string{a.part.ID, b.part.ID},
					"%s comes to hand within or about %s: their boxes cross by %.3g mm, and no motion brings it there", a.part.ID, b.part.ID, deep)
				return
			}
		}
	}
}

// fillsBox tells whether a body's box is little more than the body without its bore and holes.
func (b *body) fillsBox() bool { return !isRoom(b.part) && (b.round || len(b.part.Boxes) == 1) }

// crossing is how deep two boxes with poses lie in one another, by the direction in which they are least so among those
// that can part two boxes: the axes of both, and the cross products of these. Negative: they are apart.
func crossing(a geom.Box, poseA geom.Pose, b geom.Box, poseB geom.Pose) float64 {
	axesA, axesB := [3]geom.Vec{poseA.X, poseA.Y, poseA.Z}, [3]geom.Vec{poseB.X, poseB.Y, poseB.Z}
	dirs := append(append([]geom.Vec{}, axesA[:]...), axesB[:]...)
	for _, u := range axesA {
		for _, v := range axesB {
			if n := u.Cross(v); n.Len() > gradientMM {
				dirs = append(dirs, n.Unit())
			}
		}
	}
	between := poseB.Apply(b.Centre()).Sub(poseA.Apply(a.Centre()))
	least := math.Inf(1)
	for _, d := range dirs {
		least = min(least, halfAlong(a, axesA, d)+halfAlong(b, axesB, d)-math.Abs(between.Dot(d)))
	}
	return least
}

// halfAlong is half of how far a box with the given axes reaches along a direction.
func halfAlong(b geom.Box, axes [3]geom.Vec, d geom.Vec) float64 {
	s := b.Size().Mul(0.5)
	return s.X*math.Abs(axes[0].Dot(d)) + s.Y*math.Abs(axes[1].Dot(d)) + s.Z*math.Abs(axes[2].Dot(d))
}
