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

// floorMM is how much deeper a socket is than its joint, so that the lug stops and not the end of the rod.
const floorMM = 0.2

// socket is what is cut away for a joint: the bore, and the slot that leads the lug. It begins at the mouth at, whose
// outward direction is out; the slot ends in the direction to at the joint's depth, a quarter turn on from where the lug
// enters.
func socket(f fit, at, out, to geom.Vec, depth, clearance float64, left, slotted bool) sdf.Leafed {
	const past = 0.5 // tools reach beyond the face they enter through
	bore := sdf.Cylinder(at.Add(out.Mul(past)), out.Neg(), past+depth+floorMM, f.bore)
	if !slotted {
		return bore
	}
	tools := []sdf.Solid{bore}
	long := lugLength(depth)
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
		from, far := reach-long-clearance, reach+clearance
		if i == 0 {
			far = reach + clearance + 0.05
		}
		if from < 0 || i == 0 {
			from = -past
		}
		wide := f.lugWide + 2*clearance + step*f.slot
		tools = append(tools, sdf.Move(
			sdf.Box(geom.Box{Min: geom.V(0, -wide/2, from), Max: geom.V(f.slot, wide/2, far)}),
			geom.Pose{Origin: at, X: dir, Y: out.Neg().Cross(dir), Z: out.Neg()}))
	}
	return sdf.Join(tools...)
}

// lugLength is how long a lug is along the rod.
func lugLength(depth float64) float64 { return max(0.7, 0.5*depth) }

// peg is what is added to a rod for a joint: the lug at its end at, whose outward direction is out.
func peg(f fit, at, out geom.Vec, l lug) sdf.Leafed {
	long := lugLength(l.depth)
	root := 0.5 * f.rod / 2
	return sdf.Move(
		sdf.Box(geom.Box{Min: geom.V(root, -f.lugWide/2, 0), Max: geom.V(f.rod/2+f.lugHigh, f.lugWide/2, long)}),
		geom.Pose{Origin: at, X: l.dir, Y: out.Neg().Cross(l.dir), Z: out.Neg()})
}

// turn turns v about the unit vector dir through the origin.
func turn(v, dir geom.Vec, angle float64) geom.Vec {
	return geom.Pose{Origin: v, X: geom.AxisX, Y: geom.AxisY, Z: geom.AxisZ}.Turned(geom.Vec{}, dir, angle, 0).Origin
}
