package sdf

import (
	"math"

	"turnwise/geom"
)

// Limit is a cone about a thread's axis: its radius is Radius where s = 0 and grows by Slope per mm of s. A Slope of 0
// is a cylinder.
type Limit struct{ Radius, Slope float64 }

// At returns the radius at s.
func (l Limit) At(s float64) float64 { return l.Radius + l.Slope*s }

// Thread describes a helical thread as a row of ridges about an axis. In each half plane through the axis the ridges
// follow one another along s at the distance Pitch; their flanks are straight and meet the pitch cone at the quarters of the
// pitch. The row as such is sharp, or rounded by Round. The surface of the thread is the row between two bounds: the
// greatest of Floor, which fills the grooves (roots, and what is left of them where the thread vanishes), and the least of
// Ceiling, which cuts the ridges (crests, the outside of the pipe, a chamfer).
//
// All lengths are mm, all angles radians; s is measured from At along Dir.
type Thread struct {
	At, Dir geom.Vec
	// Side is the direction of angle 0. Angles grow right-handed about Dir.
	Side geom.Vec
	// From and To are where the thread begins and ends.
	From, To float64
	Pitch    float64
	// Left is the hand: the ridges of a right-hand thread climb along Dir as the angle grows.
	Left bool
	// Ridge is where a ridge has its middle at angle 0.
	Ridge float64
	// Cone is the pitch cone.
	Cone Limit
	// Flank is the angle between a flank and the plane square to the axis: 30 degrees for a form of 60.
	Flank float64
	// Sheared lets the flanks lean with the cone, as when a parallel thread is sheared along its axis. Otherwise they
	// keep their angle to the axis, as pipe thread standards have it.
	Sheared bool
	// Round is the radius by which crests and roots are rounded, 0 for sharp ones.
	Round float64
	// Floor and Ceiling bound the row. Where they cross, Ceiling decides, or Floor if FloorWins is set.
	Floor, Ceiling []Limit
	FloorWins      bool
}

// slopes returns how fast the radius of the rising and the falling flank grows over the pitch cone.
func (t *Thread) slopes() (rising, falling float64) {
	c := 1 / math.Tan(t.Flank)
	if t.Sheared {
		return c, -c
	}
	return c - t.Cone.Slope, -c - t.Cone.Slope
}

// Lead is how far a ridge climbs along Dir in a radian.
func (t *Thread) Lead() float64 {
	if t.Left {
		return -t.Pitch / (2 * math.Pi)
	}
	return t.Pitch / (2 * math.Pi)
}

// Form returns the corners of one period of the row, rounded ones by arcSteps chords each, as distances along the axis
// from the middle of a ridge and over the pitch cone. It begins in the middle of a groove; the last corner is the first one a
// pitch further on.
func (t *Thread) Form(arcSteps int) []Station {
	rise, fall := t.slopes()
	q := t.Pitch / 4
	// the flanks are h = rise (x + q) and h = fall (x - q); the one before falls by h = fall (x + 3 q)
	x := -q * (rise + fall) / (rise - fall)
	crest := Station{x, rise * (x + q)}
	x = -q * (rise - 3*fall) / (rise - fall)
	root := Station{x, rise * (x + q)}
	if t.Round <= 0 || arcSteps < 1 {
		return []Station{root, crest, {root.S + t.Pitch, root.R}}
	}
	up, down := t.rounded(crest, arcSteps, 1), t.rounded(root, arcSteps, -1)
	half := len(down) / 2
	out := append([]Station(nil), down[half:]...)
	out = append(out, up...)
	for _, d := range down[:half+1] {
		out = append(out, Station{d.S + t.Pitch, d.R})
	}
	return out
}

// rounded returns the chords that round a corner between two flanks, in rising order along the axis. The true section is
// over the pitch cone by r = cone + h, so the circle is drawn there.
func (t *Thread) rounded(corner Station, steps int, sign float64) []Station {
	if steps%2 == 1 {
		steps++ // a corner in the middle, where one period ends and the next begins
	}
	nl, nr := t.normals()
	first, last := nl, nr
	if sign < 0 {
		first, last = nr, nl
	}
	mid := t.centre(corner, sign)
	a0, a1 := math.Atan2(first.R, first.S), math.Atan2(last.R, last.S)
	out := make([]Station, 0, steps+1)
	for i := 0; i <= steps; i++ {
		s, c := math.Sincos(a0 + (a1-a0)*float64(i)/float64(steps))
		x, y := mid.S+sign*t.Round*c, mid.R+sign*t.Round*s
		out = append(out, Station{x, y - t.Cone.Slope*x})
	}
	return out
}

// normals returns the outward normals of the rising and of the falling flank in the half plane.
func (t *Thread) normals() (rising, falling Station) {
	rise, fall := t.slopes()
	rise += t.Cone.Slope
	fall += t.Cone.Slope
	a, b := 1/math.Hypot(1, rise), 1/math.Hypot(1, fall)
	return Station{-rise * a, a}, Station{-fall * b, b}
}

// centre returns the centre of the circle that rounds a corner, where the radius of the pitch cone is 0 at the middle of
// the ridge: both flanks are Round away.
func (t *Thread) centre(corner Station, sign float64) Station {
	nl, nr := t.normals()
	// n . (c - corner) = -sign Round for both
	det := nl.S*nr.R - nl.R*nr.S
	h := -sign * t.Round
	return Station{corner.S + h*(nr.R-nl.R)/det, corner.R + t.Cone.Slope*corner.S + h*(nl.S-nr.S)/det}
}

// widest returns the greatest radius that the thread can have between two places.
func (t *Thread) widest(from, to float64) float64 {
	r := math.Inf(1)
	for _, l := range t.Ceiling {
		r = min(r, max(l.At(from), l.At(to)))
	}
	if t.FloorWins {
		for _, l := range t.Floor {
			r = max(r, l.At(from), l.At(to))
		}
	}
	return r
}

// usable tells whether the numbers make a thread.
func (t *Thread) usable() bool {
	for _, l := range append(append([]Limit{t.Cone}, t.Floor...), t.Ceiling...) {
		if !finite(l.Radius, l.Slope) {
			return false
		}
	}
	return finite(t.From, t.To, t.Pitch, t.Ridge, t.Flank, t.Round) && t.Side.IsFinite() && t.From < t.To && t.Pitch > 0 &&
		t.Flank > 0 && t.Flank < math.Pi/2 && math.Abs(t.Cone.Slope)*math.Tan(t.Flank) < 1 && t.Round >= 0 &&
		len(t.Floor) > 0 && len(t.Ceiling) > 0
}

// screw is the solid of a thread.
type screw struct {
	Thread
	frame      geom.Pose // Z along the axis, X at angle 0
	lead       float64
	left       wedgeSide // the rising flank of the ridge at Ridge
	right      wedgeSide
	dot        float64 // of their normals
	scale, cap float64
	most       float64   // the steepest way out of a groove
	sharp      []Station // the row without rounding
	leaves     []Leaf
	floor      int // number of the first leaf of Floor, Ceiling, the row
	ceiling    int
	row        int
	box        geom.Box
}

// wedgeSide is a flank in the half plane: the distance is ns s + nr r - d, scaled.
type wedgeSide struct{ ns, nr, d float64 }

func (w wedgeSide) at(s, r float64) float64 { return w.ns*s + w.nr*r - w.d }

// Figures of the bound that a thread's distance is.
const (
	// trustPart is the part of the least root radius beyond which distances to flanks are used: nearer to the axis
	// a turn moves the ridges too much for its length.
	trustPart = 0.6
	// reachRoots is how far beyond its ends, in root radii, the row must still be a row.
	reachRoots = 2
)

// Screw is the solid within a thread: everything nearer to the axis than its surface, cut flat at From and To. It is the
// threaded end of a rod, or the tool that cuts an internal thread. A bound: distances to flanks in the half plane are
// scaled down by their slope round the axis, less than 0.3 % for pipe threads. Empty when the numbers make no thread.
// Leaves: the flat ends, Floor, Ceiling, rising flanks, falling flanks, rounded crests, rounded roots.
func Screw(t Thread) Leafed {
	l, ok := newLine(t.At, t.Dir)
	if !ok || !t.usable() {
		return Empty()
	}
	v := &screw{Thread: t, frame: geom.Facing(t.At, l.dir, t.Side), lead: t.Lead()}
	root := t.deepest()
	if root <= 0 {
		return Empty()
	}
	trust := trustPart * root
	x := t.Pitch / (2 * math.Pi * trust)
	v.scale = 1 / math.Sqrt(1+x*x*(1+t.Cone.Slope*t.Cone.Slope))
	nl, nr := t.normals()
	v.cap = v.scale * (root - trust) * min(nl.R, nr.R)
	// places count from the middle of the ridge and from the pitch cone there
	side := func(n Station, x float64) wedgeSide { return wedgeSide{n.S, n.R, n.S*x + n.R*t.Cone.Slope*x} }
	v.left, v.right = side(nl, -t.Pitch/4), side(nr, t.Pitch/4)
	v.most, v.sharp = max(nl.R, nr.R), t.Form(0)
	v.dot = nl.S*nr.S + nl.R*nr.R
	v.face()
	v.box = l.box(t.From, t.widest(t.From, t.To)).Union(l.box(t.To, t.widest(t.From, t.To)))
	return v
}

// deepest returns the radius of the deepest sharp root within reach.
func (t *Thread) deepest() float64 {
	form := t.Form(0)
	low := min(form[0].R, form[len(form)-1].R) - math.Abs(t.Cone.Slope)*t.Pitch
	base := min(t.Cone.At(t.From), t.Cone.At(t.To)) + low
	return base / (1 + reachRoots*math.Abs(t.Cone.Slope))
}

// face lists the leaves.
func (v *screw) face() {
	z := v.frame.Z
	v.leaves = []Leaf{
		PlaneLeaf{v.At.Add(z.Mul(v.From)), z.Neg()}, PlaneLeaf{v.At.Add(z.Mul(v.To)), z},
	}
	cones := func(ls []Limit) int {
		first := len(v.leaves)
		for _, l := range ls {
			if l.Slope == 0 {
				v.leaves = append(v.leaves, CylinderLeaf{v.At, z, l.Radius, false})
			} else {
				v.leaves = append(v.leaves, ConeLeaf{v.At, z, l.Radius, l.Slope, false})
			}
		}
		return first
	}
	v.floor = cones(v.Floor)
	v.ceiling = cones(v.Ceiling)
	v.row = len(v.leaves)
	v.leaves = append(v.leaves, flankLeaf{v, false}, flankLeaf{v, true})
	if v.Round > 0 {
		v.leaves = append(v.leaves, roundLeaf{v, 1}, roundLeaf{v, -1})
	}
}

// along returns the distances along and from the axis.
func (v *screw) along(p geom.Vec) (s, r float64) {
	return line{v.At, v.frame.Z}.along(p)
}

// place returns where p is in the row: along the axis from the middle of the nearest ridge, and the radius over that of
// the pitch cone at that middle.
func (v *screw) place(p geom.Vec) (x, h float64) {
	q := v.frame.Local(p)
	x = q.Z - v.Ridge
	if q.X != 0 || q.Y != 0 {
		x -= v.lead * math.Atan2(q.Y, q.X)
	}
	x -= v.Pitch * math.Round(x/v.Pitch)
	return x, hypot(q.X, q.Y) - v.Cone.At(q.Z-x)
}

// between returns the bound of the distance to the row, and the number of its leaf. Where floor or ceiling decide anyway it
// does not look: deep in the metal, and so far outside that no groove is as far away as the ceiling.
func (v *screw) between(p geom.Vec, floor, ceiling, s, r float64) (float64, int) {
	over := r - v.Cone.At(s) - v.sharp[0].R + v.Pitch*math.Abs(v.Cone.Slope)
	if floor < -v.cap || ceiling > over*v.most {
		return -v.cap, v.row
	}
	x, h := v.place(p)
	d, leaf := v.ridges(x, h, coneDistance(v.Cone, s, r))
	if d *= v.scale; d < -v.cap {
		return -v.cap, v.row // half a pitch at most from a flank
	}
	return d, leaf + v.row
}

// wedge returns the distance in the half plane to the ridge whose middle is k pitches beyond the nearest, and the
// number of its leaf.
func (v *screw) wedge(x, h, k float64) (float64, int) {
	dl, dr := v.flanks(x, h, k)
	if v.Round > 0 {
		if d, ok := roundWedge(dl, dr, v.dot, v.Round); ok {
			return d, 2
		}
	}
	if dr > dl {
		return dr, 1
	}
	return dl, 0
}

// flanks returns the distances in the half plane to both flanks of ridge k.
func (v *screw) flanks(x, h, k float64) (dl, dr float64) {
	x, h = x-k*v.Pitch, h-k*v.Pitch*v.Cone.Slope
	return v.left.at(x, h), v.right.at(x, h)
}

// roundWedge returns the distance to the circle of radius r that rounds the edge of a wedge, and true where that circle
// is nearest: where the place seen from the circle's centre lies between the normals of both sides.
func roundWedge(d1, d2, dot, r float64) (float64, bool) {
	d1, d2 = d1+r, d2+r
	if d1 <= dot*d2 || d2 <= dot*d1 {
		return 0, false
	}
	return math.Sqrt((d1*d1-2*dot*d1*d2+d2*d2)/(1-dot*dot)) - r, true
}

// ridges returns the distance to the row in the half plane, and the number of its leaf.
func (v *screw) ridges(x, h, cone float64) (float64, int) {
	best, leaf := v.wedge(x, h, 0)
	for _, k := range [2]float64{-1, 1} {
		if d, l := v.wedge(x, h, k); d < best {
			best, leaf = d, l
		}
	}
	if v.Round <= 0 {
		return best, leaf
	}
	deep, deepLeaf := v.grooves(x, h)
	if deep = max(deep, cone); deep < best {
		return deep, deepLeaf
	}
	return best, leaf
}

// grooves returns the distance to the row as the metal that rounded grooves leave.
func (v *screw) grooves(x, h float64) (float64, int) {
	best, leaf := math.Inf(-1), 0
	for k := -2.0; k <= 1; k++ { // between ridges k and k+1
		_, dr := v.flanks(x, h, k)
		dl, _ := v.flanks(x, h, k+1)
		d, l := min(dl, dr), 0
		if dr < dl {
			l = 1
		}
		if in, ok := roundWedge(-dr, -dl, v.dot, v.Round); ok {
			d, l = -in, 3
		}
		if d > best {
			best, leaf = d, l
		}
	}
	return best, leaf
}

func (v *screw) eval(p geom.Vec) (float64, int) {
	s, r := v.along(p)
	floor, floorLeaf := math.Inf(1), 0
	for i, l := range v.Floor {
		if d := coneDistance(l, s, r); d < floor {
			floor, floorLeaf = d, v.floor+i
		}
	}
	ceiling, ceilingLeaf := math.Inf(-1), 0
	for i, l := range v.Ceiling {
		if d := coneDistance(l, s, r); d > ceiling {
			ceiling, ceilingLeaf = d, v.ceiling+i
		}
	}
	d, leaf := v.between(p, floor, ceiling, s, r)
	if v.FloorWins {
		if ceiling > d {
			d, leaf = ceiling, ceilingLeaf
		}
		if floor < d {
			d, leaf = floor, floorLeaf
		}
	} else {
		if floor < d {
			d, leaf = floor, floorLeaf
		}
		if ceiling > d {
			d, leaf = ceiling, ceilingLeaf
		}
	}
	if e := v.From - s; e > d {
		d, leaf = e, 0
	}
	if e := s - v.To; e > d {
		d, leaf = e, 1
	}
	return d, leaf
}

// coneDistance is the distance from a cone's line in the half plane.
func coneDistance(l Limit, s, r float64) float64 {
	return (r - l.At(s)) / math.Sqrt(1+l.Slope*l.Slope)
}

func (v *screw) Distance(p geom.Vec) float64 { d, _ := v.eval(p); return d }
func (v *screw) ActiveLeaf(p geom.Vec) int   { _, l := v.eval(p); return l }
func (v *screw) Leaves() []Leaf              { return v.leaves }
func (v *screw) Bounds() geom.Box            { return v.box }
func (v *screw) exactOutside() bool          { return false }
func (v *screw) features() []Feature         { return nil }

// flankLeaf is all the rising or all the falling flanks of a thread.
type flankLeaf struct {
	of      *screw
	falling bool
}

// Distance is that to the nearest flank.
func (l flankLeaf) Distance(p geom.Vec) float64 {
	x, h := l.of.place(p)
	best := math.Inf(1)
	for k := -1.0; k <= 1; k++ {
		d, dr := l.of.flanks(x, h, k)
		if l.falling {
			d = dr
		}
		if math.Abs(d) < math.Abs(best) {
			best = d
		}
	}
	return best * l.of.scale
}

// Gradient is square to the flank.
func (l flankLeaf) Gradient(p geom.Vec) geom.Vec {
	nl, nr := l.of.normals()
	if l.falling {
		nl = nr
	}
	return l.of.square(p, nl)
}

// square turns a normal in the half plane through p into that of the helical surface.
func (v *screw) square(p geom.Vec, n Station) geom.Vec {
	q := v.frame.Local(p)
	r := hypot(q.X, q.Y)
	if r == 0 {
		return v.frame.Z
	}
	// turning by an angle moves the row by lead along the axis and along the cone
	turn := -(n.S + n.R*v.Cone.Slope) * v.lead / r
	x, y := q.X/r, q.Y/r
	return v.frame.Rotate(geom.V(n.R*x-turn*y, n.R*y+turn*x, n.S)).Unit()
}

// roundLeaf is all the rounded crests (side 1) or roots (side -1) of a thread.
type roundLeaf struct {
	of   *screw
	side float64
}

// offset returns the way in the half plane from the centre of the nearest circle.
func (l roundLeaf) offset(p geom.Vec) Station {
	x, h := l.of.place(p)
	form := l.of.sharp
	corner := form[1]
	if l.side < 0 {
		corner = form[0]
	}
	c := l.of.centre(corner, l.side)
	best, far := Station{}, math.Inf(1)
	for k := -1.0; k <= 2; k++ {
		d := Station{x - c.S - k*l.of.Pitch, h - c.R - k*l.of.Pitch*l.of.Cone.Slope}
		if r := hypot(d.S, d.R); math.Abs(r-l.of.Round) < math.Abs(far-l.of.Round) {
			best, far = d, r
		}
	}
	return best
}

// Distance is that to the nearest of the rounded edges.
func (l roundLeaf) Distance(p geom.Vec) float64 {
	d := l.offset(p)
	return l.side * (hypot(d.S, d.R) - l.of.Round) * l.of.scale
}

// Gradient is square to the rounded edge. It is singular on the middle line of the rounding.
func (l roundLeaf) Gradient(p geom.Vec) geom.Vec {
	d := l.offset(p)
	r := hypot(d.S, d.R)
	if r == 0 {
		return l.of.frame.Z
	}
	return l.of.square(p, Station{l.side * d.S / r, l.side * d.R / r})
}
