package main

import "math"

// point is a place or direction in mm.
type point struct{ x, y, z float64 }

func (p point) add(q point) point   { return point{p.x + q.x, p.y + q.y, p.z + q.z} }
func (p point) sub(q point) point   { return point{p.x - q.x, p.y - q.y, p.z - q.z} }
func (p point) mul(f float64) point { return point{p.x * f, p.y * f, p.z * f} }
func (p point) dot(q point) float64 { return p.x*q.x + p.y*q.y + p.z*q.z }
func (p point) len() float64        { return math.Sqrt(p.dot(p)) }
func (p point) cross(q point) point {
	return point{p.y*q.z - p.z*q.y, p.z*q.x - p.x*q.z, p.x*q.y - p.y*q.x}
}
func (p point) from(q point) float64    { return p.sub(q).len() }
func (p point) min(q point) point       { return point{min(p.x, q.x), min(p.y, q.y), min(p.z, q.z)} }
func (p point) max(q point) point       { return point{max(p.x, q.x), max(p.y, q.y), max(p.z, q.z)} }
func round(a, b float64) float64        { return math.Sqrt(a*a + b*b) }
func between(v, lo, hi float64) float64 { return max(lo-v, v-hi) }

// field is negative inside a solid. Its amount never overstates the distance to the surface by more than the taper of a
// thread does, and is exact but for points that overshoot a sharp edge.
type field func(p point) float64

// judged is a reference solid as the judge knows it: least and greatest corner of its box, its field in plain
// arithmetic, and its sharp edges.
type judged struct {
	name   string
	lo, hi point
	at     field
	edges  []curve
	// cellMM is the cell of the reference's uniform grid that the solid is compared with.
	cellMM float64
}

// Sizes of the reference solids in mm.
const (
	body, band, bore = 13.5, 15.2, 7.9
	pipeOuter        = 10.67
	hole, sunk       = 2.75, 5.5
	holeAt           = 21.2132
)

// tee: three openings with bands, bored.
func tee(p point) float64 {
	rz, rx := round(p.x, p.y), round(p.y, p.z)
	f := max(rz-body, math.Abs(p.z)-28.5)
	f = min(f, max(rx-body, between(p.x, 0, 28.5)))
	f = min(f, max(rz-band, between(math.Abs(p.z), 22.5, 28.5)))
	f = min(f, max(rx-band, between(p.x, 22.5, 28.5)))
	return max(f, bore-rz, min(bore-rx, p.x))
}

// fromBend is the distance from the centre line of the elbow, drawn on beyond its ends.
func fromBend(p point) float64 {
	first, last := point{p.x - 20, max(p.y, 0), p.z}.len(), point{max(p.x, 0), p.y - 20, p.z}.len()
	d := min(first, last)
	if p.x >= 0 && p.y >= 0 {
		d = min(d, round(round(p.x, p.y)-20, p.z))
	}
	return d
}

func elbow(p point) float64 {
	d := fromBend(p)
	f := max(d-body, -12-p.x, -12-p.y)
	f = min(f, max(round(p.x-20, p.z)-band, between(p.y, -12, -6)))
	f = min(f, max(round(p.y-20, p.z)-band, between(p.x, -12, -6)))
	return max(f, bore-d)
}

func flange(p point) float64 {
	r := round(p.x, p.y)
	f := min(max(r-40, between(p.z, 0, 5)), max(r-band, between(p.z, 0, 19)))
	// the four holes alike: a drill, and a cone of 90 degrees that is as wide as the drill at z = 2.25. Its end at z = 6 is
	// off the metal and keeps the cone from the hub
	h := round(math.Abs(p.x)-holeAt, math.Abs(p.y)-holeAt)
	tool := min(h-hole, max((h-sunk-(p.z-5))/math.Sqrt2, p.z-6))
	return max(f, bore-r, -tool)
}

func pipe(p point) float64 {
	r := round(p.x, p.y)
	return max(r-pipeOuter, bore-r, math.Abs(p.z)-500)
}

// Thread form of the two threaded solids.
const (
	pitch  = 1.814
	depth  = 1.4512
	cos30  = 0.8660254037844386
	sin30  = 0.5
	flat   = (pitch - 2*depth*sin30/cos30) / 2
	taper  = 1.0 / 32
	ridges = 15.0 // where the nipple has a ridge at angle 0
)

// row is the radial-plane distance from a row of ridges: h over the root, u along the axis from the nearest ridge.
func row(h, u float64) float64 {
	return min(h, max(h-depth, (u-flat/2)*cos30+(h-depth)*sin30))
}

// fromRidge is the distance along the axis from the nearest ridge.
func fromRidge(p point, z0 float64) float64 {
	z := p.z - z0 - pitch*math.Atan2(p.y, p.x)/(2*math.Pi)
	return math.Abs(z - pitch*math.Round(z/pitch))
}

const couplingRoot = 9.2

func coupling(p point) float64 {
	hex := math.Abs(p.x)
	hex = max(hex, math.Abs(p.x*0.5+p.y*cos30), math.Abs(p.x*0.5-p.y*cos30)) - 15
	return max(hex, math.Abs(p.z)-17, -row(round(p.x, p.y)-couplingRoot, fromRidge(p, 0)))
}

// nippleRoot is the radius of the roots at z.
func nippleRoot(z float64) float64 { return 9.2194 - (z-ridges)*taper }

func nipple(p point) float64 {
	r := round(p.x, p.y)
	thread := row(r-nippleRoot(p.z), fromRidge(p, ridges))
	return max(r-pipeOuter, bore-r, math.Abs(p.z)-25, min(p.z-5, thread))
}

// cases lists the reference solids in the order of the table.
func cases() []judged {
	return []judged{
		{"tee", point{-15.2, -15.2, -28.5}, point{28.5, 15.2, 28.5}, tee, teeEdges(), 0.25},
		{"elbow", point{-12, -12, -15.2}, point{35.2, 35.2, 15.2}, elbow, elbowEdges(), 0.25},
		{"flange", point{-40, -40, 0}, point{40, 40, 19}, flange, flangeEdges(), 0.25},
		{"pipe", point{-10.67, -10.67, -500}, point{10.67, 10.67, 500}, pipe, pipeEdges(), 0.5},
		{"coupling", point{-15, -15 / cos30, -17}, point{15, 15 / cos30, 17}, coupling, couplingEdges(), 0.25},
		{"nipple", point{-10.67, -10.67, -25}, point{10.67, 10.67, 25}, nipple, nippleEdges(), 0.25},
	}
}
