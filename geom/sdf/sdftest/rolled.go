package sdftest

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Rolled tells what a star holds, from its definition: rods from the origin, each beginning in a ball, and what no ball of
// radius fillet that is free of them can reach. It shares nothing with sdf.Star but the rods.
func Rolled(fillet float64, rods ...sdf.Rod) func(p geom.Vec) bool {
	return newRoller(rods, fillet).holds
}

// rayDistance is the distance from a rod that begins in a ball, cut flat, from its definition.
func rayDistance(r sdf.Rod, p geom.Vec) float64 {
	s := p.Dot(r.Dir)
	if s < 0 {
		return p.Len() - r.Radius
	}
	across := p.Sub(r.Dir.Mul(s)).Len() - r.Radius
	if s <= r.Length {
		return across
	}
	return math.Hypot(s-r.Length, max(0, across))
}

// roller holds, for rods and a ball, the curves on which the ball touches two rods. It shares nothing with the solid but
// the rods: each place of a curve is found by halving along the thinner rod.
type roller struct {
	rods   []sdf.Rod
	fillet float64
	curves []func(angle float64) (geom.Vec, bool)
	known  [][]geom.Vec // of each curve, at rollAngles angles
	points []geom.Vec   // where it touches three
}

// rollAngles is at how many angles a curve is looked at first.
const rollAngles = 240

func newRoller(rods []sdf.Rod, fillet float64) *roller {
	r := &roller{rods: rods, fillet: fillet}
	for i, a := range rods {
		for _, b := range rods[:i] {
			if a.Radius > b.Radius {
				r.add(b, a)
			} else {
				r.add(a, b)
			}
			if a.Radius == b.Radius { // where a ball is in the way neither is the thinner
				r.add(b, a)
			}
		}
	}
	return r
}

// add lists the curve of two rods and its places where a third is touched.
func (r *roller) add(thin, thick sdf.Rod) {
	u := thin.Dir.Across()
	w := thin.Dir.Cross(u)
	curve := func(angle float64) (geom.Vec, bool) {
		ring := u.Mul(math.Cos(angle)).Add(w.Mul(math.Sin(angle))).Mul(thin.Radius + r.fillet)
		lo, hi := 0.0, 100.0
		at := func(s float64) geom.Vec { return ring.Add(thin.Dir.Mul(s)) }
		thick.Length = 1000
		if rayDistance(thick, at(lo)) > r.fillet {
			return geom.Vec{}, false
		}
		for range 60 {
			if m := (lo + hi) / 2; rayDistance(thick, at(m)) > r.fillet {
				hi = m
			} else {
				lo = m
			}
		}
		return at(hi), true
	}
	r.curves = append(r.curves, curve)
	var list []geom.Vec
	for k := range rollAngles {
		c, ok := curve(2 * math.Pi * float64(k) / rollAngles)
		if !ok {
			c = geom.V(1e9, 0, 0)
		}
		list = append(list, c)
		lo, hi := float64(k), float64(k+1)
		free := func(k float64) bool { c, ok := curve(2 * math.Pi * k / rollAngles); return ok && r.free(c) }
		if a := free(lo); a != free(hi) {
			for range 60 {
				if m := (lo + hi) / 2; free(m) == a {
					lo = m
				} else {
					hi = m
				}
			}
			if !a {
				lo = hi
			}
			c, _ := curve(2 * math.Pi * lo / rollAngles)
			r.points = append(r.points, c)
		}
	}
	r.known = append(r.known, list)
}

func (r *roller) free(c geom.Vec) bool {
	for _, rod := range r.rods {
		if rayDistance(rod, c) < r.fillet-1e-10 {
			return false
		}
	}
	return true
}

// holds tells whether p is in a rod or out of reach of every free ball.
func (r *roller) holds(p geom.Vec) bool {
	near := false
	for _, rod := range r.rods {
		d := rayDistance(rod, p)
		if d < 0 && p.Dot(rod.Dir) < rod.Length {
			return true
		}
		near = near || d < r.fillet
	}
	return near && r.away(p) > r.fillet
}

// away is how far the nearest free centre is, or one that is near enough.
func (r *roller) away(p geom.Vec) float64 {
	best := math.Inf(1)
	try := func(c geom.Vec) {
		if d := c.Sub(p).Len(); d < best && r.free(c) {
			best = d
		}
	}
	for _, rod := range r.rods { // straight off one rod
		s := p.Dot(rod.Dir)
		out := p.Sub(rod.Dir.Mul(max(0, s)))
		if s > rod.Length {
			out = out.Unit().Mul(max(0, out.Len()-rod.Radius)).Add(rod.Dir.Mul(s - rod.Length))
		}
		try(p.Add(out.Unit().Mul(r.fillet - rayDistance(rod, p))))
	}
	if best <= r.fillet {
		return best // near enough
	}
	for _, c := range r.points {
		try(c)
	}
	for k, list := range r.known {
		at := func(i int) float64 { return list[(i+rollAngles)%rollAngles].Sub(p).Len() }
		for i := range list {
			if at(i) < best+1 && at(i) <= at(i-1) && at(i) <= at(i+1) {
				try(r.nearest(k, float64(i), p))
			}
		}
	}
	return best
}

// nearest narrows down the place of a curve that is nearest to p, beside a place that was looked at.
func (r *roller) nearest(k int, i float64, p geom.Vec) geom.Vec {
	at := func(i float64) geom.Vec {
		if c, ok := r.curves[k](2 * math.Pi * i / rollAngles); ok {
			return c
		}
		return geom.V(1e9, 0, 0)
	}
	lo, hi := i-1, i+1
	for range 60 {
		a, b := lo+(hi-lo)*0.382, lo+(hi-lo)*0.618
		if at(a).Sub(p).Len() < at(b).Sub(p).Len() {
			hi = b
		} else {
			lo = a
		}
	}
	return at((lo + hi) / 2)
}
