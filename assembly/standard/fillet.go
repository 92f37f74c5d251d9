package standard

import "math"

// plainForms gives primitives in the forms that volumes are summed over: a star as its rods and the ball that they begin
// in, without what fills its corners; a flare as a turned body.
func plainForms(ps []Primitive) []Primitive {
	var out []Primitive
	for _, p := range ps {
		switch p.Form {
		case Star:
			widest := 0.0
			for _, r := range p.Rods {
				widest = math.Max(widest, r.Radius)
				out = append(out, Primitive{Form: Turned, At: p.At, Dir: r.Dir, Profile: []Station{{0, r.Radius}, {r.Length, r.Radius}}})
			}
			out = append(out, Primitive{Form: Ball, At: p.At, Radius: widest})
		case Flare:
			out = append(out, Primitive{Form: Turned, At: p.At, Dir: p.Dir, Profile: p.FlareProfile(flareSteps)})
		default:
			out = append(out, p)
		}
	}
	return out
}

// flareSteps is into how many chords the quarter of a circle is divided for a volume: under 0.1 % of it is lost.
const flareSteps = 16

// FlareProfile is a flare as a turned profile about Dir from At, its section divided into chords.
func (p Primitive) FlareProfile(steps int) []Station {
	out := make([]Station, steps+1)
	for i := range out {
		sin, cos := math.Sincos(math.Pi / 2 * float64(i) / float64(steps))
		out[i] = Station{p.Fillet * (1 - cos), p.Radius + p.Fillet*(1-sin)}
	}
	return out
}

// Figures of the sum over the corners of a star.
const (
	// cornerTurns is how many places of a corner are looked at.
	cornerTurns = 192
	// cornerHalvings is how often the place along a rod is halved: to 1e-9 mm.
	cornerHalvings = 40
)

// filled is the volume of what rounds the corners of a star: the area between two flat faces and a circle that touches
// both, Fillet^2 (tan(phi / 2) - phi / 2) with phi the angle between their normals, along each corner where two rods
// meet. That the faces are round is left out, which is within a tenth of what is filled, a thousandth of a fitting.
func (p Primitive) filled() float64 {
	sum := 0.0
	for i, a := range p.Rods {
		for j, b := range p.Rods {
			if i != j && (a.Radius < b.Radius || a.Radius == b.Radius && i < j) {
				sum += p.cornerOf(a, b)
			}
		}
	}
	return sum
}

// cornerOf adds up along the corner of a rod with one that is as thick or thicker.
func (p Primitive) cornerOf(thin, thick Rod) float64 {
	u := acrossTo(thin.Dir)
	w := cross(thin.Dir, u)
	sum := 0.0
	var last [3]float64
	var lastArea float64
	for k := 0; k <= cornerTurns; k++ {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / cornerTurns)
		out := along(along([3]float64{}, u, cos), w, sin)
		at, area := p.cornerAt(thin, thick, out)
		if k > 0 && area > 0 && lastArea > 0 {
			d := sub(at, last)
			sum += math.Sqrt(dot(d, d)) * (area + lastArea) / 2
		}
		last, lastArea = at, area
	}
	return sum
}

// cornerAt finds the corner on the line of the thin rod's barrel that lies in the direction out from its axis, and the area
// filled there; 0 where there is none.
func (p Primitive) cornerAt(thin, thick Rod, out [3]float64) ([3]float64, float64) {
	at := func(s float64) [3]float64 { return along(along([3]float64{}, out, thin.Radius), thin.Dir, s) }
	lo, hi := 0.0, thin.Length
	if thick.off(at(lo)) >= -1e-9 || thick.off(at(hi)) <= 0 {
		return [3]float64{}, 0
	}
	for range cornerHalvings {
		if m := (lo + hi) / 2; thick.off(at(m)) > 0 {
			hi = m
		} else {
			lo = m
		}
	}
	q := at(hi)
	for _, r := range p.Rods {
		if r != thin && r != thick && r.off(q) < -1e-6 {
			return q, 0 // within another rod
		}
	}
	cos := math.Max(-1, math.Min(1, dot(out, thick.out(q))))
	half := math.Acos(cos) / 2
	return q, p.Fillet * p.Fillet * (math.Tan(half) - half)
}

// out is the direction straight off a rod without end at q.
func (r Rod) out(q [3]float64) [3]float64 {
	d := along(q, r.Dir, -math.Max(0, dot(q, r.Dir)))
	l := math.Sqrt(dot(d, d))
	return [3]float64{d[0] / l, d[1] / l, d[2] / l}
}

// off is the distance from a rod without end.
func (r Rod) off(q [3]float64) float64 {
	d := along(q, r.Dir, -math.Max(0, dot(q, r.Dir)))
	return math.Sqrt(dot(d, d)) - r.Radius
}

// acrossTo is a unit vector square to v.
func acrossTo(v [3]float64) [3]float64 {
	other := [3]float64{1, 0, 0}
	if math.Abs(v[0]) > 0.9 {
		other = [3]float64{0, 1, 0}
	}
	c := cross(v, other)
	l := math.Sqrt(dot(c, c))
	return [3]float64{c[0] / l, c[1] / l, c[2] / l}
}

// HoldsBall tells whether the ball that the rods of a star begin in lies within two of them in line, as wide as itself.
func (p Primitive) HoldsBall() bool {
	widest := 0.0
	for _, r := range p.Rods {
		widest = math.Max(widest, r.Radius)
	}
	for i, a := range p.Rods {
		for _, b := range p.Rods[:i] {
			if a.Radius == widest && b.Radius == widest && dot(a.Dir, b.Dir) < -1+1e-9 {
				return true
			}
		}
	}
	return false
}

// CornerEnd is how far from the middle of a star, along a rod, the corners that it makes with rods as thick or thicker are
// filled; 0 where it makes none. The ball touches the rod furthest out in the plane of both lines, where the barrel of the
// other is Radius + Fillet from the ball's centre: x sin(angle) = their distance + what the other's slant adds.
func (p Primitive) CornerEnd(r Rod) float64 {
	end := 0.0
	for _, o := range p.Rods {
		cos := dot(r.Dir, o.Dir)
		sin := math.Sqrt(math.Max(0, 1-cos*cos))
		if o.Radius < r.Radius || o.Dir == r.Dir {
			continue
		}
		x := 0.0
		if sin > 1e-9 {
			x = (o.Radius + p.Fillet + (r.Radius+p.Fillet)*cos) / sin
		}
		if o.Radius > r.Radius { // and on the ball that the other begins in
			big, small := o.Radius+p.Fillet, r.Radius+p.Fillet
			x = math.Max(x, math.Sqrt(big*big-small*small))
		}
		end = math.Max(end, x)
	}
	return end
}

// shank gives a rod of a star its length: to just beyond the corners along it, with as much of a fillet as that leaves room
// for. Without room it ends where the body does.
func (p *Primitive) shank(r *Rod, room float64) float64 {
	most := p.Fillet
	for _, part := range [5]float64{1, 0.8, 0.6, 0.4, 0.2} {
		p.Fillet = most * part
		if r.Length = p.CornerEnd(*r) + ShankMM; r.Length <= room {
			return r.Length
		}
	}
	p.Fillet = 0
	r.Length = p.CornerEnd(*r) + ShankMM
	return r.Length
}
