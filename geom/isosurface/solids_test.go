package isosurface

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Reference solids, in mm, with every edge sharp.

// cyl is the full cylinder along a coordinate axis dir through at, from lo to hi along dir.
func cyl(at, dir geom.Vec, lo, hi, r float64) sdf.Leafed {
	return sdf.Cylinder(at.Add(dir.Mul(lo)), dir, hi-lo, r)
}

func refTee() sdf.Leafed {
	o, x, z := geom.Vec{}, geom.AxisX, geom.AxisZ
	return sdf.Cut(
		sdf.Join(cyl(o, z, -28.5, 28.5, 13.5), cyl(o, x, 0, 28.5, 13.5),
			cyl(o, z, -28.5, -22.5, 15.2), cyl(o, z, 22.5, 28.5, 15.2), cyl(o, x, 22.5, 28.5, 15.2)),
		cyl(o, z, -40, 40, 7.9), cyl(o, x, 0, 40, 7.9))
}

func refElbow() sdf.Leafed {
	at, y, x := geom.V(20, -0, 0), geom.AxisY, geom.AxisX
	tube := func(r, lead float64) sdf.Leafed {
		return sdf.Bend(at, y, x.Neg(), 20, r, math.Pi/2, lead, lead)
	}
	return sdf.Cut(
		sdf.Join(tube(13.5, 12), cyl(geom.V(20, 0, 0), y, -12, -6, 15.2), cyl(geom.V(0, 20, 0), x, -12, -6, 15.2)),
		tube(7.9, 20))
}

func refFlange() sdf.Leafed {
	o, z := geom.Vec{}, geom.AxisZ
	tools := []sdf.Solid{cyl(o, z, -10, 30, 7.9)}
	for _, x := range []float64{-21.2132, 21.2132} {
		for _, y := range []float64{-21.2132, 21.2132} {
			at := geom.V(x, y, 0)
			// drill and countersink as one turned tool; the 45 degree cone goes on to 1 mm over the face
			tools = append(tools, sdf.Revolve(at, z, []sdf.Station{
				{S: -1, R: 0}, {S: -1, R: 2.75}, {S: 2.25, R: 2.75}, {S: 6, R: 6.5}, {S: 6, R: 0}}))
		}
	}
	return sdf.Cut(sdf.Join(cyl(o, z, 0, 5, 40), cyl(o, z, 0, 19, 15.2)), tools...)
}

func refPipe() sdf.Leafed {
	return sdf.Cut(cyl(geom.Vec{}, geom.AxisZ, -500, 500, 10.67), cyl(geom.Vec{}, geom.AxisZ, -600, 600, 7.9))
}

// taperedPipe is a metre of pipe whose ends narrow by 1 in 16 on the diameter.
func taperedPipe() sdf.Leafed {
	return sdf.Revolve(geom.Vec{}, geom.AxisZ, []sdf.Station{
		{S: 0, R: 10.45}, {S: 0, R: 12.7}, {S: 20, R: 13.35}, {S: 980, R: 13.35}, {S: 1000, R: 12.7}, {S: 1000, R: 10.45}})
}

// boredBoard is a shelf with four screw holes and a hole for a pipe.
func boredBoard() sdf.Leafed {
	b := sdf.Box(geom.Box{Min: geom.V(0, 0, 0), Max: geom.V(600, 250, 18)})
	z := geom.AxisZ
	return sdf.Cut(b, cyl(geom.V(300, 125, 0), z, -1, 19, 14.5), cyl(geom.V(100, 50, 0), z, -1, 19, 2.5),
		cyl(geom.V(130, 50, 0), z, -1, 19, 2.5), cyl(geom.V(100, 80, 0), z, -1, 19, 2.5), cyl(geom.V(130, 80, 0), z, -1, 19, 2.5))
}

// elbow45 is a bend of 45 degrees: the second leg lies along no axis.
func elbow45() sdf.Leafed {
	at, y, x := geom.V(20, 0, 0), geom.AxisY, geom.AxisX
	tube := func(r, lead float64) sdf.Leafed {
		return sdf.Bend(at, y, x.Neg(), 20, r, math.Pi/4, lead, lead)
	}
	s := math.Sqrt2 / 2
	end := geom.V(20*s, 20*s, 0)
	out := geom.V(-s, s, 0)
	return sdf.Cut(
		sdf.Join(tube(13.5, 12), cyl(at, y, -12, -6, 15.2), cyl(end, out, 6, 12, 15.2)),
		tube(7.9, 20))
}

type namedSolid struct {
	name string
	s    sdf.Leafed
}

func references() []namedSolid {
	return []namedSolid{{"tee", refTee()}, {"elbow", refElbow()}, {"flange", refFlange()}, {"pipe", refPipe()},
		{"taperedpipe", taperedPipe()}, {"board", boredBoard()}, {"elbow45", elbow45()}}
}
