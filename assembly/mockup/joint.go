package mockup

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// QuarterTurn is how far a joint of the model turns, in turns.
const QuarterTurn = 0.25

// slotSteps is how many straight steps lead a lug round: each turns by so little that the stairs are no higher than a
// layer and narrower than the clearance lets a lug pass.
const slotSteps = 4

// floorMM is how much deeper a blind socket is than its joint, so that the lug stops and not the end of the rod; and how
// far the ends of two rods stay apart within a fitting.
const floorMM = 0.2

// socket is what is cut away for a joint: the bore, and the slot that leads the lug. It begins at the mouth at, whose
// outward direction is out; the slot ends in the direction to at the joint's depth, a quarter turn on from where the lug
// enters. The bore goes on to a depth of boreMM: fittings are hollow in the middle, as in steel, because the bottoms of
// two sockets side by side would leave walls too thin to print.
func socket(f fit, at, out, to geom.Vec, depth, boreMM, clearance float64, left, slotted bool) sdf.Leafed {
	const past = 0.5 // tools reach beyond the face they enter through
	bore := sdf.Cylinder(at.Add(out.Mul(past)), out.Neg(), past+boreMM, f.bore)
	if !slotted {
		return bore
	}
	tools := []sdf.Solid{bore}
	step := 2 * math.Pi * QuarterTurn / slotSteps
	for i := range slotSteps + 1 {
		t := float64(i) / slotSteps
		reach := t * depth // of the lug's foremost point
		angle := -2 * math.Pi * QuarterTurn * (1 - t)
		if left {
			angle = -angle
		}
		// Screwing in moves the rod along -out, turning clockwise seen along that: right-handed about -out.
		dir := turn(to, out.Neg(), angle)
		from, far := reach-lugLongMM-clearance, reach+clearance
		if from < lipMM {
			from = -past // a thinner lip would not print
		}
		wide := f.lugWide + 2*clearance + step*f.slot
		tools = append(tools, sdf.Move(
			sdf.Box(geom.Box{Min: geom.V(0, -wide/2, from), Max: geom.V(f.slot, wide/2, far)}),
			geom.Pose{Origin: at, X: dir, Y: out.Neg().Cross(dir), Z: out.Neg()}))
	}
	return sdf.Join(tools...)
}

// A lug's length along the rod, and the least thickness of the lip it turns behind.
const (
	lugLongMM = 0.6
	lipMM     = 0.45
)

// peg is what is added to a rod for a joint: the lug at its end at, whose outward direction is out.
func peg(f fit, at, out geom.Vec, l lug) sdf.Leafed {
	root := 0.5 * f.rod / 2
	return sdf.Move(
		sdf.Box(geom.Box{Min: geom.V(root, -f.lugWide/2, 0), Max: geom.V(f.rod/2+f.lugHigh, f.lugWide/2, lugLongMM)}),
		geom.Pose{Origin: at, X: l.dir, Y: out.Neg().Cross(l.dir), Z: out.Neg()})
}

// turn turns v about the unit vector dir through the origin.
func turn(v, dir geom.Vec, angle float64) geom.Vec {
	return geom.Pose{Origin: v, X: geom.AxisX, Y: geom.AxisY, Z: geom.AxisZ}.Turned(geom.Vec{}, dir, angle, 0).Origin
}
