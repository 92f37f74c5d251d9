package main

import "math"

// curve is a line in space for t from 0 to 1 on which two surfaces of a solid meet. Where the field is not zero another
// surface hides it.
type curve func(t float64) point

const (
	// edgeStepMM is how far apart the points of a sharp edge are at most.
	edgeStepMM = 0.1
	// onSurfaceMM is how large the field may be on a curve that is an edge there.
	onSurfaceMM = 1e-7
	// finePieces measures a curve's length before it is divided.
	finePieces = 4096
)

// edgePoints returns points of all sharp edges, at most edgeStepMM apart along each.
func (j *judged) edgePoints() []point {
	var out []point
	for _, c := range j.edges {
		length, last := 0.0, c(0)
		for i := 1; i <= finePieces; i++ {
			p := c(float64(i) / finePieces)
			length += p.from(last)
			last = p
		}
		// a quarter more points than even ones need, for curves whose speed changes
		n := int(math.Ceil(1.25 * length / edgeStepMM))
		for i := 0; i <= n; i++ {
			if p := c(float64(i) / float64(n)); math.Abs(j.at(p)) <= onSurfaceMM {
				out = append(out, p)
			}
		}
	}
	return out
}

// circle of radius r about at, square to the axis 'x', 'y' or 'z'.
func circle(axis byte, at point, r float64) curve {
	return func(t float64) point {
		s, c := math.Sincos(2 * math.Pi * t)
		switch axis {
		case 'x':
			return at.add(point{0, r * c, r * s})
		case 'y':
			return at.add(point{r * s, 0, r * c})
		}
		return at.add(point{r * c, r * s, 0})
	}
}

func straight(a, b point) curve {
	return func(t float64) point { return a.add(b.sub(a).mul(t)) }
}

func teeEdges() []curve {
	var out []curve
	for _, z := range []float64{-1, 1} {
		for _, e := range [][2]float64{{28.5, band}, {28.5, bore}, {22.5, band}, {22.5, body}} {
			out = append(out, circle('z', point{0, 0, z * e[0]}, e[1]))
		}
	}
	for _, e := range [][2]float64{{28.5, band}, {28.5, bore}, {22.5, band}, {22.5, body}} {
		out = append(out, circle('x', point{e[0], 0, 0}, e[1]))
	}
	// cylinders of one radius meet in the planes x = |z|
	for _, r := range []float64{body, bore} {
		out = append(out, func(t float64) point {
			s, c := math.Sincos(2 * math.Pi * t)
			return point{r * math.Abs(s), r * c, r * s}
		})
	}
	return out
}

func elbowEdges() []curve {
	var out []curve
	for _, e := range [][2]float64{{-12, band}, {-12, bore}, {-6, band}, {-6, body}} {
		out = append(out, circle('y', point{20, e[0], 0}, e[1]), circle('x', point{e[0], 20, 0}, e[1]))
	}
	return out
}

func flangeEdges() []curve {
	var out []curve
	for _, e := range [][2]float64{{0, 40}, {5, 40}, {5, band}, {19, band}, {0, bore}, {19, bore}} {
		out = append(out, circle('z', point{0, 0, e[0]}, e[1]))
	}
	for _, x := range []float64{-holeAt, holeAt} {
		for _, y := range []float64{-holeAt, holeAt} {
			for _, e := range [][2]float64{{0, hole}, {2.25, hole}, {5, sunk}} {
				out = append(out, circle('z', point{x, y, e[0]}, e[1]))
			}
		}
	}
	return out
}

func pipeEdges() []curve {
	var out []curve
	for _, z := range []float64{-500, 500} {
		out = append(out, circle('z', point{0, 0, z}, pipeOuter), circle('z', point{0, 0, z}, bore))
	}
	return out
}

// helices returns, for every turn between lo and hi, the four corners of the form. root gives the radius of the roots.
func helices(lo, hi, z0 float64, root func(z float64) float64) []curve {
	var out []curve
	for k := math.Floor((lo-z0)/pitch) - 1; k <= math.Ceil((hi-z0)/pitch)+1; k++ {
		for _, e := range [][2]float64{{flat / 2, depth}, {-flat / 2, depth}, {(pitch - flat) / 2, 0}, {-(pitch - flat) / 2, 0}} {
			out = append(out, func(t float64) point {
				return onTurn(t, z0+k*pitch+e[0]+pitch*(t-0.5), root, e[1])
			})
		}
	}
	return out
}

// onTurn is the point at the angle of t, from -180 to 180 degrees, that lies h over the root at z.
func onTurn(t, z float64, root func(z float64) float64, h float64) point {
	s, c := math.Sincos(2 * math.Pi * (t - 0.5))
	r := root(z) + h
	return point{r * c, r * s, z}
}

// section is the row cut by the plane at z: it is as high as the nearest ridge lets it be.
func section(z, z0 float64, root func(z float64) float64) curve {
	return func(t float64) point {
		u := z - z0 - pitch*(t-0.5)
		u = math.Abs(u - pitch*math.Round(u/pitch))
		h := depth - (u-flat/2)*cos30/sin30
		return onTurn(t, z, root, min(max(h, 0), depth))
	}
}

func couplingEdges() []curve {
	var out []curve
	corner := func(k int, z float64) point {
		s, c := math.Sincos(math.Pi/6 + float64(k)*math.Pi/3)
		return point{15 / cos30 * c, 15 / cos30 * s, z}
	}
	for k := range 6 {
		out = append(out, straight(corner(k, -17), corner(k, 17)))
		for _, z := range []float64{-17, 17} {
			out = append(out, straight(corner(k, z), corner(k+1, z)))
		}
	}
	root := func(float64) float64 { return couplingRoot }
	out = append(out, section(-17, 0, root), section(17, 0, root))
	return append(out, helices(-17, 17, 0, root)...)
}

func nippleEdges() []curve {
	out := []curve{
		circle('z', point{0, 0, -25}, pipeOuter), circle('z', point{0, 0, -25}, bore), circle('z', point{0, 0, 25}, bore),
		circle('z', point{0, 0, 5}, pipeOuter), section(25, ridges, nippleRoot), section(5, ridges, nippleRoot),
	}
	// where the outside cuts the flanks: h = depth - (u - flat/2) / tan 30 and root(z) + h = outside
	for k := math.Floor((5 - ridges) / pitch); k <= math.Ceil(20/pitch); k++ {
		for _, side := range []float64{-1, 1} {
			out = append(out, func(t float64) point {
				mid := ridges + k*pitch + pitch*(t-0.5)
				// solved along z by hand: both are straight in z
				slope := side * cos30 / sin30
				z := (nippleRoot(0) + depth + flat/2*cos30/sin30 + slope*mid - pipeOuter) / (slope + taper)
				return onTurn(t, z, func(float64) float64 { return pipeOuter }, 0)
			})
		}
	}
	return append(out, helices(5, 25, ridges, nippleRoot)...)
}
