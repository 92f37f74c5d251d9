package replay

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// flush tells whether the surfaces in a cell at most touch. Half the sum of both distances is a lower bound of g, and
// where faces overlap it is below zero not only between them but as far around as they reach: along the line across two
// faces, what one distance gains the other loses. So the search goes down to where the bodies come nearest in the cell,
// and looks at that sum round about it, in the plane of B's face, as far as the cell reaches. When it is nowhere below
// what contact allows, or what was met before, and does not vary by more than that where the faces are near, the cell is done.
func (q *query) flush(c cell, p geom.Vec, h, s float64) bool {
	near, n, ok := q.nearest(p, h, s, c.pose)
	if !ok {
		return false
	}
	u := n.Across()
	v := n.Cross(u)
	reach := 0.0
	for _, corner := range c.box.Corners() {
		d := corner.Sub(near)
		reach = max(reach, d.Sub(n.Mul(d.Dot(n))).Len())
	}
	least, most, floor := math.Inf(1), math.Inf(-1), max(q.floor(near, s), q.wanted())
	for i := range flushPoints {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / flushPoints)
		r := reach
		if i%2 == 1 {
			r = reach / 2
		}
		at := near.Add(u.Mul(r * cos)).Add(v.Mul(r * sin))
		q.samples += 2
		ga, gb := q.a.Distance(c.pose.Local(at)), q.b.Distance(at)
		q.note(at, s, max(ga, gb))
		half := (ga + gb) / 2
		least, floor = min(least, half), max(floor, q.floor(at, s))
		if half < floor+flushGapMM {
			most = max(most, half)
		}
		if q.hit || least < floor || most > least && least-(most-least) < floor {
			return false
		}
	}
	return true
}

// wanted is the value of g below which a better one would count as a smaller clearance.
func (q *query) wanted() float64 {
	if q.cap == 0 {
		return math.Inf(-1)
	}
	return q.limit() - flushGapMM/2
}

// nearest goes down the slope of g from p, no further than h, and returns where it comes to and the direction in which B's
// distance grows there.
func (q *query) nearest(p geom.Vec, h, s float64, pose geom.Pose) (geom.Vec, geom.Vec, bool) {
	from := p
	for range flushSteps {
		fa, fb, na, nb := q.look(p, s, pose)
		if q.hit {
			return p, nb, false
		}
		way, ok := downhill(fa, fb, na, nb, max(fa, fb)-q.floor(p, s), h)
		if !ok || way.Len() < evenMM {
			return p, nb, true
		}
		p = p.Sub(way)
		if !p.Near(from, h) {
			return p, nb, false
		}
	}
	_, _, _, nb := q.look(p, s, pose)
	return p, nb, !q.hit
}

// dive goes down the slope of g from p, at a standing time, no further than twice h. Where one distance is the greater
// it goes against that one's slope until both are alike, there along both; where the slopes oppose one another the
// deepest point is reached.
func (q *query) dive(p geom.Vec, h, s float64, pose geom.Pose) {
	from := p
	for range diveSteps {
		fa, fb, na, nb := q.look(p, s, pose)
		if q.hit {
			return
		}
		way, ok := downhill(fa, fb, na, nb, max(fa, fb)-q.floor(p, s), h)
		p = p.Sub(way)
		if !ok || !p.Near(from, 2*h) {
			return
		}
	}
}

const (
	// evenMM is the difference of two distances below which they count as alike.
	evenMM = 1e-3
	// opposed is the length of the sum of two unit slopes below which no way leads down.
	opposed = 0.02
)

// downhill is the step back from where max(fa, fb) grows, at most h long; wanted is how far down g should come. The second
// result is false where no step helps.
func downhill(fa, fb float64, na, nb geom.Vec, wanted, h float64) (geom.Vec, bool) {
	if fa < fb {
		fa, fb, na, nb = fb, fa, nb, na
	}
	if gap := fa - fb; gap > evenMM {
		rate := max(1-na.Dot(nb), opposed)
		return na.Mul(min(gap/rate, wanted, h)), true
	}
	d := na.Add(nb)
	l := d.Len()
	if l < opposed {
		return geom.Vec{}, false
	}
	return d.Mul(min(2*wanted/l, h) / l), true
}

// look takes both distances at p and the directions in which they grow.
func (q *query) look(p geom.Vec, s float64, pose geom.Pose) (fa, fb float64, na, nb geom.Vec) {
	fa, na = q.probe(q.a, pose.Local(p))
	fb, nb = q.probe(q.b, p)
	q.note(p, s, max(fa, fb))
	return fa, fb, pose.Rotate(na), nb
}

// surface is a solid with its bounding surfaces at hand, if it tells them.
type surface struct {
	sdf.Solid
	leafed sdf.Leafed // or nil
	leaves []sdf.Leaf
}

func surfaceOf(s sdf.Solid) surface {
	l, ok := s.(sdf.Leafed)
	if !ok {
		return surface{Solid: s}
	}
	return surface{s, l, l.Leaves()}
}

// probe takes the distance of s at p and the direction in which it grows: that of the deciding surface when that is as far
// away, else, near edges and corners, a quotient of differences.
func (q *query) probe(s surface, p geom.Vec) (float64, geom.Vec) {
	q.samples++
	if s.leafed == nil {
		f := s.Distance(p)
		return f, q.quotient(s, p, f)
	}
	f, k := sdf.Nearest(s.leafed, p)
	if k >= 0 && k < len(s.leaves) && math.Abs(s.leaves[k].Distance(p)-f) < sameSurfaceMM {
		return f, s.leaves[k].Gradient(p)
	}
	return f, q.quotient(s, p, f)
}

// quotient is the slope of s at p, where its distance is f.
func (q *query) quotient(s sdf.Solid, p geom.Vec, f float64) geom.Vec {
	q.samples += 3
	return geom.V(
		s.Distance(geom.V(p.X+gradientMM, p.Y, p.Z))-f,
		s.Distance(geom.V(p.X, p.Y+gradientMM, p.Z))-f,
		s.Distance(geom.V(p.X, p.Y, p.Z+gradientMM))-f,
	).Unit()
}

// deepest goes on down the slope from a hit, at its time, and returns how deep the bodies overlap there at least, in mm.
func (q *query) deepest() float64 {
	const rounds = 40
	pose := q.path.pose(q.when)
	p, step := q.at, 1.0
	fa, fb, na, nb := q.look(p, q.when, pose)
	for range rounds {
		n := nb
		if fa > fb {
			n = na
		}
		next := p.Sub(n.Mul(step))
		ga, gb, ma, mb := q.look(next, q.when, pose)
		if max(ga, gb) < max(fa, fb) {
			p, fa, fb, na, nb = next, ga, gb, ma, mb
			continue
		}
		step /= 2
	}
	q.at = p
	return -2 * max(fa, fb)
}
