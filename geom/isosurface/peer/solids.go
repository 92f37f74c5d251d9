package main

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/sdf"
)

// toleranceMM is asked of our mesher, and what the three errors are measured against.
const toleranceMM = 0.02

// along is the full cylinder about a line along dir through at.
func along(at, dir geom.Vec, lo, hi, r float64) sdf.Leafed {
	return sdf.Cylinder(at.Add(dir.Mul(lo)), dir, hi-lo, r)
}

// ours builds a reference solid with the project's own solids.
func ours(name string) sdf.Solid {
	switch name {
	case "tee":
		return ourTee()
	case "elbow":
		return ourElbow()
	case "flange":
		return ourFlange()
	case "pipe":
		return sdf.Tube(geom.V(0, 0, -500), geom.AxisZ, 1000, pipeOuter, bore)
	case "coupling":
		return ourCoupling()
	case "nipple":
		return ourNipple()
	}
	return sdf.Empty()
}

func ourTee() sdf.Solid {
	o, x, z := geom.Vec{}, geom.AxisX, geom.AxisZ
	return sdf.Cut(
		sdf.Join(along(o, z, -28.5, 28.5, body), along(o, x, 0, 28.5, body),
			along(o, z, -28.5, -22.5, band), along(o, z, 22.5, 28.5, band), along(o, x, 22.5, 28.5, band)),
		along(o, z, -40, 40, bore), along(o, x, 0, 40, bore))
}

func ourElbow() sdf.Solid {
	tube := func(r, lead float64) sdf.Leafed {
		return sdf.Bend(geom.V(20, 0, 0), geom.AxisY, geom.AxisX.Neg(), 20, r, math.Pi/2, lead, lead)
	}
	return sdf.Cut(
		sdf.Join(tube(body, 12), along(geom.V(20, 0, 0), geom.AxisY, -12, -6, band), along(geom.V(0, 20, 0), geom.AxisX, -12, -6, band)),
		tube(bore, 20))
}

func ourFlange() sdf.Solid {
	o, z := geom.Vec{}, geom.AxisZ
	tools := []sdf.Solid{along(o, z, -10, 30, bore)}
	for _, x := range []float64{-holeAt, holeAt} {
		for _, y := range []float64{-holeAt, holeAt} {
			// drill and countersink as one turned tool; the cone of 90 degrees goes on to 1 mm over the face
			tools = append(tools, sdf.Revolve(geom.V(x, y, 0), z, []sdf.Station{
				{S: -1, R: 0}, {S: -1, R: hole}, {S: 2.25, R: hole}, {S: 6, R: sunk + 1}, {S: 6, R: 0}}))
		}
	}
	return sdf.Cut(sdf.Join(along(o, z, 0, 5, 40), along(o, z, 0, 19, band)), tools...)
}

func ourCoupling() sdf.Solid {
	z := geom.AxisZ
	stock := sdf.Prism(z.Mul(-17), z, geom.AxisX, 34, 30, 6)
	// the plain bore lies beyond the grooves, so that the strip has a plain ring at either end
	const plain = 11.5
	zone := sdf.Zone{
		Thread: sdf.Thread{
			Dir: z, Side: geom.AxisX, From: -17, To: 17, Pitch: pitch, Flank: math.Pi / 6,
			Cone:  sdf.Limit{Radius: couplingRoot + depth/2},
			Floor: []sdf.Limit{{Radius: couplingRoot}}, Ceiling: []sdf.Limit{{Radius: couplingRoot + depth}},
		},
		Start: sdf.Station{S: -17, R: plain}, End: sdf.Station{S: 17, R: plain}, Internal: true, Before: 1, After: 1,
	}
	return sdf.Threaded(stock, sdf.Cut(stock, sdf.Cylinder(z.Mul(-18), z, 36, plain)), zone)
}

func ourNipple() sdf.Solid {
	z := geom.AxisZ
	root := sdf.Limit{Radius: nippleRoot(0), Slope: -taper}
	start, end := sdf.Station{S: 4, R: pipeOuter}, sdf.Station{S: 25, R: 8.6}
	zone := sdf.Zone{
		Thread: sdf.Thread{
			Dir: z, Side: geom.AxisX, From: 5, To: 25, Pitch: pitch, Ridge: ridges, Sheared: true, Flank: math.Pi / 6,
			Cone:    sdf.Limit{Radius: root.Radius + depth/2, Slope: root.Slope},
			Floor:   []sdf.Limit{root},
			Ceiling: []sdf.Limit{{Radius: root.Radius + depth, Slope: root.Slope}, {Radius: pipeOuter}},
		},
		Start: start, End: end, After: 1,
	}
	plain := sdf.Revolve(geom.Vec{}, z, []sdf.Station{{S: -25, R: bore}, {S: -25, R: pipeOuter}, start, end, {S: 25, R: bore}})
	return sdf.Threaded(sdf.Tube(z.Mul(-25), z, 50, pipeOuter, bore), plain, zone)
}

// meshOurs meshes with the project's own mesher.
func meshOurs(name string) ([]triangle, string, error) {
	m, r, err := isosurface.Mesh(ours(name), isosurface.Options{ToleranceMM: toleranceMM})
	if err != nil {
		return nil, "", err
	}
	out := make([]triangle, len(m.Triangles))
	for i := range out {
		a, b, c := m.Corners(i)
		out[i] = triangle{{a.X, a.Y, a.Z}, {b.X, b.Y, b.Z}, {c.X, c.Y, c.Z}}
	}
	return out, string(r.Method), nil
}
