package sdf

import (
	"math"

	"turnwise/geom"
)

// Rod is one arm of a star: round, of Radius, from the star's middle along the unit vector Dir for Length, where it is
// cut flat.
type Rod struct {
	Dir            geom.Vec
	Length, Radius float64
}

// star is the union of rods from one point, with the corners between them filled.
type star struct {
	at     geom.Vec
	fillet float64
	arms   []arm
	cap    float64 // no distance is less than -cap
	leaves []Leaf
	box    geom.Box
}

// arm is a rod, or two in line as one. Its place along dir is low to high; with low 0 a ball about the middle ends it.
type arm struct {
	dir             geom.Vec
	low, high, r    float64
	lowEnd, highEnd int // leaves
}

// Figures of stars.
const (
	// mostArms bounds what is looked at together.
	mostArms = 6
	// capPart is how deep the distance goes, in the radius of the thinnest arm: deeper, the nearest way out may be round the
	// other side, which is not looked for.
	capPart = 0.5
	// freeMM is how far within a bound the centre of the rolled ball may come out by rounding.
	freeMM = 1e-9
	// rollSteps is enough for Newton's method to find the centre; each step doubles the digits near it.
	rollSteps = 40
	// rollEndMM is a step so small that the next changes nothing.
	rollEndMM = 1e-11
	// leastSine2 is the square of the sine of the angle between two surfaces under which no ball fits between them that
	// would change either.
	leastSine2 = 1e-9
)

// Star is the union of rods that begin at at, each with a ball about at for its beginning, with every concave corner
// between them rounded by a ball of radius fillet that is rolled along it, as castings have it. Rods that go opposite ways
// with equal radii are one. Exact outside, and inside to half the radius of the thinnest rod; deeper it is a bound. It is
// Empty when a number is of no use, with no rod or with more than mostArms.
// Leaves: all that is round, as one StarLeaf; then the flat end of each rod.
//
// The distance of what a rolled ball leaves filled: let A be all centres at which the ball is free of the rods, those where
// no distance d to a rod is less than fillet. Then the solid is what no such ball reaches, and the distance is fillet less
// the distance to A. At a place in A the least d is as far as the solid is: a ball of that radius about the place is
// swept by free balls. Elsewhere the nearest place of A lies straight off the nearest rod, or, where another rod is in
// the way, on the curve that is fillet from both, or where three such meet.
func Star(at geom.Vec, fillet float64, rods ...Rod) Leafed {
	if !at.IsFinite() || !finite(fillet) || fillet < 0 || len(rods) == 0 || len(rods) > mostArms {
		return Empty()
	}
	v := &star{at: at, fillet: fillet, cap: math.Inf(1), box: geom.EmptyBox()}
	for _, r := range rods {
		l, ok := newLine(at, r.Dir)
		if !ok || !finite(r.Length, r.Radius) || r.Length <= 0 || r.Radius <= 0 {
			return Empty()
		}
		v.addArm(arm{dir: l.dir, high: r.Length, r: r.Radius})
	}
	v.face()
	return v
}

// addArm adds a rod, or makes one arm of it and the rod that goes the other way.
func (v *star) addArm(a arm) {
	v.cap = min(v.cap, capPart*a.r)
	for i := range v.arms {
		b := &v.arms[i]
		if b.low == 0 && b.r == a.r && b.dir.Add(a.dir).Len() <= sameTol {
			b.low = -a.high
			return
		}
	}
	v.arms = append(v.arms, a)
}

// face lists the leaves and finds the bounds.
func (v *star) face() {
	v.leaves = []Leaf{StarLeaf{v}}
	v.box = geom.EmptyBox()
	for i := range v.arms {
		a := &v.arms[i]
		l := line{v.at, a.dir}
		v.box = v.box.Union(l.box(a.high, a.r))
		a.highEnd = len(v.leaves)
		v.leaves = append(v.leaves, PlaneLeaf{l.point(a.high), a.dir})
		if a.low < 0 {
			v.box = v.box.Union(l.box(a.low, a.r))
			a.lowEnd = len(v.leaves)
			v.leaves = append(v.leaves, PlaneLeaf{l.point(a.low), a.dir.Neg()})
			continue
		}
		v.box = v.box.Union(geom.BoxOf(v.at).Grow(a.r))
	}
}

// moved returns the star in the outer frame of pose.
func (v *star) moved(pose geom.Pose) *star {
	w := &star{at: pose.Apply(v.at), fillet: v.fillet, cap: v.cap, arms: append([]arm(nil), v.arms...)}
	for i := range w.arms {
		w.arms[i].dir = pose.Rotate(w.arms[i].dir)
	}
	w.face()
	return w
}

// off returns the distance of a place, seen from the star's middle, from an arm, the direction in which it grows, and the
// leaf; with open arms have no ends.
func (a *arm) off(q geom.Vec, open bool) (d float64, grad geom.Vec, leaf int) {
	s := q.Dot(a.dir)
	if s <= 0 && a.low == 0 {
		r := q.Len()
		return r - a.r, q.Mul(1 / max(r, sameTol)), 0
	}
	o := q.Sub(a.dir.Mul(s))
	r := max(o.Len(), sameTol)
	o = o.Mul(1 / r)
	if open {
		return r - a.r, o, 0
	}
	end, out, leaf := s-a.high, a.dir, a.highEnd
	if low := a.low - s; a.low < 0 && low > end {
		end, out, leaf = low, a.dir.Neg(), a.lowEnd
	}
	round := r - a.r
	switch {
	case end > 0 && round > 0:
		d = math.Sqrt(end*end + round*round)
		if round >= end {
			leaf = 0
		}
		return d, out.Mul(end / d).Add(o.Mul(round / d)), leaf
	case end > round:
		return end, out, leaf
	}
	return round, o, 0
}

// bends is how much an arm curves, beside q, along the unit vector t that lies in its surface.
func (a *arm) bends(q, t geom.Vec, d float64) float64 {
	k := 1 / (a.r + d)
	if s := q.Dot(a.dir); s > 0 || a.low < 0 {
		c := t.Dot(a.dir)
		k *= 1 - c*c
	}
	return k
}

// near returns the distance of q, a place seen from the middle, its gradient and its leaf; open leaves the ends out.
func (v *star) near(q geom.Vec, open bool) (float64, geom.Vec, int) {
	var ds [mostArms]float64
	best, leaf, first := math.Inf(1), 0, 0
	var grad geom.Vec
	for i := range v.arms {
		d, g, l := v.arms[i].off(q, open)
		if ds[i] = d; d < best {
			best, grad, leaf, first = d, g, l, i
		}
	}
	if best <= -v.cap {
		return -v.cap, grad, 0
	}
	if best >= v.fillet || len(v.arms) == 1 {
		return best, grad, leaf
	}
	way := v.fillet - best
	at := q.Add(grad.Mul(way))
	block, least := -1, v.fillet-freeMM
	for j := range v.arms {
		if j == first || ds[j] >= v.fillet+way {
			continue
		}
		if d, _, _ := v.arms[j].off(at, open); d < least {
			block, least = j, d
		}
	}
	if block < 0 {
		return best, grad, leaf
	}
	c, ok := v.centre(q, at, first, block, &ds, open)
	if !ok {
		return best, grad, leaf
	}
	to := c.Sub(q)
	h := to.Len()
	if v.fillet-h <= -v.cap {
		return -v.cap, grad, 0
	}
	return v.fillet - h, to.Mul(1 / max(h, sameTol)), 0
}

// centre finds the nearest free centre of the rolled ball that touches two arms or three, starting from at.
func (v *star) centre(q, at geom.Vec, first, block int, ds *[mostArms]float64, open bool) (geom.Vec, bool) {
	best, found := math.Inf(1), geom.Vec{}
	try := func(c geom.Vec, ok bool) {
		if h := c.Sub(q).Len(); ok && h < best && v.free(c, open) {
			best, found = h, c
		}
	}
	c, ok := v.roll(q, at, first, block, open)
	if try(c, ok); len(v.arms) == 2 || best < math.Inf(1) {
		return found, best < math.Inf(1)
	}
	for i := range v.arms {
		for j := range i {
			if max(v.fillet-ds[i], v.fillet-ds[j]) >= best || i == max(first, block) && j == min(first, block) {
				continue
			}
			try(v.roll(q, at, i, j, open))
		}
	}
	for i := range v.arms {
		for j := range i {
			for k := range j {
				if max(v.fillet-ds[i], v.fillet-ds[j], v.fillet-ds[k]) < best {
					try(v.corner(c, i, j, k, open))
				}
			}
		}
	}
	return found, best < math.Inf(1)
}

// cornerFreeMM is how far within a bound a centre may be that was found on two other bounds.
const cornerFreeMM = 1e-8

// free tells whether the ball is free of all arms.
func (v *star) free(c geom.Vec, open bool) bool {
	for i := range v.arms {
		if d, _, _ := v.arms[i].off(c, open); d < v.fillet-cornerFreeMM {
			return false
		}
	}
	return true
}

// roll finds the place nearest to q that is fillet from both arms, by Newton's method along the curve of such places
// and across it. False where the arms' surfaces are as good as parallel.
func (v *star) roll(q, x geom.Vec, i, j int, open bool) (geom.Vec, bool) {
	const leastBend = 0.2 // keeps steps along the curve short where the nearest place changes over
	for range rollSteps {
		da, ga, _ := v.arms[i].off(x, open)
		db, gb, _ := v.arms[j].off(x, open)
		c := ga.Dot(gb)
		det := 1 - c*c
		if det < leastSine2 {
			return x, false
		}
		ra, rb := v.fillet-da, v.fillet-db
		step := ga.Mul((ra - c*rb) / det).Add(gb.Mul((rb - c*ra) / det))
		t := ga.Cross(gb).Mul(1 / math.Sqrt(det))
		w := x.Sub(q)
		wa, wb := w.Dot(ga), w.Dot(gb)
		bend := 1 - (wa-c*wb)/det*v.arms[i].bends(x, t, da) - (wb-c*wa)/det*v.arms[j].bends(x, t, db)
		step = step.Sub(t.Mul(w.Dot(t) / max(bend, leastBend)))
		l := step.Len()
		if x = x.Add(v.capped(step, l)); l <= rollEndMM {
			return x, true
		}
	}
	return x, false
}

// capped is a step of a length, shortened to the longest that is allowed.
func (v *star) capped(step geom.Vec, length float64) geom.Vec {
	if length > v.cap {
		return step.Mul(v.cap / length)
	}
	return step
}

// corner finds the place that is fillet from three arms, near x.
func (v *star) corner(x geom.Vec, i, j, k int, open bool) (geom.Vec, bool) {
	for range rollSteps {
		da, a, _ := v.arms[i].off(x, open)
		db, b, _ := v.arms[j].off(x, open)
		dc, c, _ := v.arms[k].off(x, open)
		det := a.Dot(b.Cross(c))
		if math.Abs(det) < leastSine2 {
			return x, false
		}
		step := b.Cross(c).Mul(v.fillet - da).Add(c.Cross(a).Mul(v.fillet - db)).Add(a.Cross(b).Mul(v.fillet - dc)).Mul(1 / det)
		l := step.Len()
		if x = x.Add(v.capped(step, l)); l <= rollEndMM {
			return x, true
		}
	}
	return x, false
}

func (v *star) eval(p geom.Vec) (float64, int) {
	d, _, leaf := v.near(p.Sub(v.at), false)
	return d, leaf
}

func (v *star) Distance(p geom.Vec) float64 { d, _ := v.eval(p); return d }
func (v *star) ActiveLeaf(p geom.Vec) int   { _, l := v.eval(p); return l }
func (v *star) Leaves() []Leaf              { return v.leaves }
func (v *star) Bounds() geom.Box            { return v.box }
func (v *star) exactOutside() bool          { return true }
func (v *star) features() []Feature {
	var fs []Feature
	for _, a := range v.arms {
		l := line{v.at, a.dir}
		fs = append(fs, l.circle(a.high, a.r))
		if a.low < 0 {
			fs = append(fs, l.circle(a.low, a.r))
		}
	}
	return fs
}

// StarLeaf is all that is round of a star: barrels, balls and what fills the corners between them, one smooth surface. Rods
// have no ends in it.
type StarLeaf struct{ of *star }

// Distance is that from rods without ends.
func (l StarLeaf) Distance(p geom.Vec) float64 { d, _, _ := l.of.near(p.Sub(l.of.at), true); return d }

// Gradient is square to the surface.
func (l StarLeaf) Gradient(p geom.Vec) geom.Vec {
	_, g, _ := l.of.near(p.Sub(l.of.at), true)
	return g
}

// Middle is where the rods begin.
func (l StarLeaf) Middle() geom.Vec { return l.of.at }

// Fillet is the radius of the ball that rounds the corners.
func (l StarLeaf) Fillet() float64 { return l.of.fillet }

// Rods lists the rods; two in line as one was given.
func (l StarLeaf) Rods() []Rod {
	var out []Rod
	for _, a := range l.of.arms {
		out = append(out, Rod{a.dir, a.high, a.r})
		if a.low < 0 {
			out = append(out, Rod{a.dir.Neg(), -a.low, a.r})
		}
	}
	return out
}
