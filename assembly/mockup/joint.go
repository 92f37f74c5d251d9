package mockup

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// QuarterTurn is how far a joint of the model turns, in turns.
const QuarterTurn = 0.25

// floorMM is how much deeper a blind socket is than its joint, so that the lug stops and not the end of the rod; and how
// far the ends of two rods stay apart within a fitting.
const floorMM = 0.2

// clearOfSlotMM is how much deeper than its slot a bore is: two floors in one plane, or a slot that pricks the floor with its
// innermost line, are cut badly by every printer, and are dear to mesh.
const clearOfSlotMM = 0.05

// bluntMM is how thick the edge of the roof of a slot is: two layers, since a printer makes no sharper edge.
const bluntMM = 0.4

// blindMM is the least depth of the bore of a joint.
func blindMM(depth, clearance float64) float64 {
	return depth + max(floorMM, clearance+clearOfSlotMM)
}

// slotFloorMM is the thinnest floor that is left behind a slot: three layers.
const slotFloorMM = 0.6

// socket is what is cut away for a joint: the bore, and the slot that leads the lug. It begins at the mouth at, whose
// outward direction is out; the slot ends in the direction to at the joint's depth, a quarter turn on from where the lug
// enters. The bore goes on to a depth of boreMM: fittings are hollow in the middle, as in steel, because the bottoms of
// two sockets side by side would leave walls too thin to print.
func socket(f fit, at, out, to geom.Vec, depth, boreMM, clearance float64, left, slotted bool) sdf.Leafed {
	const past = 0.5 // tools reach beyond the face they enter through
	boreMM = max(boreMM, blindMM(depth, clearance))
	bore := sdf.Cylinder(at.Add(out.Mul(past)), out.Neg(), past+boreMM, f.bore)
	if !slotted {
		return bore
	}
	// In a frame at the mouth whose axis points into the body, the lug's foremost point at the depth t stands at the angle
	// (t/depth - 1) of a quarter turn, and its rear lugLongMM behind that. Seen from a depth s, then, the slot begins
	// where the lug's front comes by and ends where its rear does.
	quarter := 2 * math.Pi * QuarterTurn
	rate := quarter / depth
	half := math.Asin(min(1, (f.lugWide/2+clearance)/f.bore))
	low, high := -quarter-half-rate*clearance, -quarter+half+rate*(lugLongMM+clearance)
	if left {
		rate, low, high = -rate, -high, -low
	}
	in := out.Neg()
	begin := at.Add(out.Mul(past))
	deep := depth + clearance
	if over := boreMM - deep; over > 2*clearOfSlotMM && over < slotFloorMM+boreOverMM { // the bore comes out behind, the slot nearly does
		deep = boreMM // so thin a floor would not print; the lug stops at the slot's side all the same
	}
	ramp := sdf.TwistedWedge(begin, in, to, past+deep, f.slot, low-rate*past, high-rate*past, rate)
	// The slot ends where the lug stops.
	stop := turn(to, in, math.Pi/2+half)
	if left {
		stop = turn(to, in, -math.Pi/2-half)
	}
	// Where the slot dives under the mouth its roof would run out to nothing.
	entry := sdf.TwistedWedge(begin, in, to, past+bluntMM, f.slot, (low+high)/2, high+rate*bluntMM, 0)
	if left {
		entry = sdf.TwistedWedge(begin, in, to, past+bluntMM, f.slot, low+rate*bluntMM, (low+high)/2, 0)
	}
	return sdf.Join(bore, sdf.Common(ramp, sdf.HalfSpace(at, stop)), entry)
}

// runningSocket is the socket of a long screw on its running thread: the slot goes on with the same pitch right through
// the body, which is throughMM long, so that the coupling can be run back until the other rod comes by. The lug stands in
// the direction to at the joint's depth.
func runningSocket(f fit, at, out, to geom.Vec, depth, throughMM, clearance float64, left bool) sdf.Leafed {
	const past = 0.5
	rate := 2 * math.Pi * QuarterTurn / depth
	half := math.Asin(min(1, (f.lugWide/2+clearance)/f.bore))
	low, high := -rate*depth-half-rate*clearance, -rate*depth+half+rate*(lugLongMM+clearance)
	begin, in, long := at.Add(out.Mul(past)), out.Neg(), past+throughMM+past
	wedge := func(from geom.Vec, long, low, high, rate float64) sdf.Leafed {
		if left {
			low, high, rate = -high, -low, -rate
		}
		return sdf.TwistedWedge(from, in, to, long, f.slot, low, high, rate)
	}
	// At both mouths the roof of the slot would run out to nothing; see socket.
	last := rate * throughMM
	end := at.Add(in.Mul(throughMM - bluntMM))
	return sdf.Join(
		sdf.Cylinder(begin, in, long, f.bore),
		wedge(begin, long, low-rate*past, high-rate*past, rate),
		wedge(begin, past+bluntMM, (low+high)/2, high+rate*bluntMM, 0),
		wedge(end, bluntMM+past, last+low-rate*bluntMM, last+(low+high)/2, 0))
}

// A lug begins a little behind the end of its rod, so that the two faces are not one, and ends at lugLongMM from it.
const (
	lugBackMM = 0.1
	lugLongMM = 0.6
)

// peg is what is added to a rod for a joint: the lug at its end at, whose outward direction is out.
func peg(f fit, at, out geom.Vec, l lug) sdf.Leafed {
	root := 0.5 * f.rod / 2
	return sdf.Move(
		sdf.Box(geom.Box{Min: geom.V(root, -f.lugWide/2, lugBackMM), Max: geom.V(f.rod/2+f.lugHigh, f.lugWide/2, lugLongMM)}),
		geom.Pose{Origin: at, X: l.dir, Y: out.Neg().Cross(l.dir), Z: out.Neg()})
}

// turn turns v about the unit vector dir through the origin.
func turn(v, dir geom.Vec, angle float64) geom.Vec {
	return geom.Pose{Origin: v, X: geom.AxisX, Y: geom.AxisY, Z: geom.AxisZ}.Turned(geom.Vec{}, dir, angle, 0).Origin
}
