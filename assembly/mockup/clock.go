package mockup

import (
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// lug is where the lug of a male end stands when the joint is made up, and how deep.
type lug struct {
	dir   geom.Vec // unit, square to the axis, in the part frame of the male body
	depth float64  // of the joint, in the model
	more  float64  // of it, beyond what is true to scale: the male body is so much longer
}

// slotDir is the direction, in the part frame of a body, in which the slot of one of its sockets ends: away from its
// other openings, so that lugs do not meet inside, and the same for all bodies of a kind, so that fittings can be changed
// one for another. Rods are made to suit.
func slotDir(p *assembly.Part, port string) geom.Vec {
	out, _ := portOut(p, port)
	if p.Kind == standard.LongScrew { // both its slots are of one screw: opposite one another they never meet
		side := geom.AxisX
		if port != "a" {
			side = side.Neg()
		}
		return side
	}
	best, least := geom.Vec{}, math.Inf(1)
	for _, axis := range []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ, geom.AxisX.Neg(), geom.AxisY.Neg(), geom.AxisZ.Neg()} {
		d := axis.Sub(out.Mul(axis.Dot(out)))
		if d.Len() < 0.5 {
			continue
		}
		d = d.Unit()
		worst, sum := -1.0, 0.0
		for _, q := range p.Ports {
			if q.Name != port {
				dot := d.Dot(p.Pose.Unrotate(q.Out))
				worst, sum = max(worst, dot), sum+dot
			}
		}
		// The nearest other opening counts first, then all of them; rounding must not decide.
		if price := math.Round(1e3*worst) + 1e-4*math.Round(1e3*sum); price < least-1e-9 {
			best, least = d, price
		}
	}
	return best
}

// isMale tells whether the thread of a port is outside.
func isMale(k standard.Kind, port string) bool {
	switch k {
	case standard.Pipe:
		return true
	case standard.StreetElbow, standard.StreetElbow45:
		return port == "b"
	case standard.Bushing, standard.Plug:
		return port == "a"
	}
	return false
}

// clock gives every male end that is joined the direction of its lug: that of the socket's slot in the finished frame.
func (b *builder) clock() {
	for i := range b.from.Joints {
		j := &b.from.Joints[i]
		if j.Axis == nil || j.Kind == assembly.UnionNut {
			continue
		}
		male, female := j.A, j.B
		m, f := b.parts[male.Part], b.parts[female.Part]
		if m == nil || f == nil {
			continue
		}
		if !isMale(m.Kind, male.Port) {
			male, female, m, f = female, male, f, m
		}
		if _, ok := portOut(f, female.Port); !ok || !isMale(m.Kind, male.Port) {
			continue
		}
		dir := m.Pose.Unrotate(f.Pose.Rotate(slotDir(f, female.Port)))
		depth := b.depth(j)
		b.lugs[end{male.Part, male.Port}] = lug{dir: dir, depth: depth, more: depth - b.small(j.EngagementMM) - b.raised(f, female.Port)}
	}
}

// leastDepthMM is the depth from which a joint holds by itself and its slot has a lip that prints; a joint that is
// shallower at scale is made as deep as that, or as its fitting has room for.
const leastDepthMM = 2.4

// depth is how far a joint goes in, in the model.
func (b *builder) depth(j *assembly.Joint) float64 {
	truly := b.small(j.EngagementMM)
	room := leastDepthMM
	for _, e := range []assembly.End{j.A, j.B} {
		p := b.parts[e.Part]
		if p == nil || isMale(p.Kind, e.Port) {
			continue
		}
		at, ok := portAt(p, e.Port)
		f, fits := b.fitAt(p, e.Port)
		switch {
		case !ok || !fits || p.Kind == standard.Cap || p.Kind == standard.Bushing:
		case p.Kind == standard.Flange:
			room = min(room, b.small(at.Len())-floorMM) // the rod must not come out behind
		case len(p.Ports) == 2 && p.Kind != standard.Elbow && p.Kind != standard.Elbow45:
			room = min(room, b.small(at.Len())-floorMM/2) // nor meet the other in the middle
		default:
			room = min(room, b.small(at.Len())-f.rod/2-floorMM)
		}
	}
	is := max(truly, room)
	b.thick("the depth of joints", truly, is)
	return is
}

// raised is how far a mouth stands out in the model beyond where it is in steel; the rod in it is shorter by as much. A socket
// does not go into a bushing that goes into a socket itself, so it is in the head; and a cap needs a floor that prints, while
// its closed end stays where it is, since that may be what the frame stands on.
func (b *builder) raised(p *assembly.Part, port string) float64 {
	j, ok := b.joined(p, port)
	switch {
	case !ok || isMale(p.Kind, port):
		return 0
	case p.Kind == standard.Bushing:
		return b.depth(j) + floorMM + sheetMM - b.underHead(p)
	case p.Kind == standard.Cap:
		return max(0, b.depth(j)+floorMM+wallMM-b.small(p.Dims[standard.DimHeight].MM))
	}
	return 0
}

// underHead is how far the underside of the head of a bushing is from its face: it lies on the mouth of the opening.
func (b *builder) underHead(p *assembly.Part) float64 {
	at, _ := portAt(p, "a")
	if j, ok := b.joined(p, "a"); ok {
		return b.small(at.Len() - j.EngagementMM)
	}
	return b.small(p.Dims[standard.DimHead].MM)
}

// portOut is the direction out of a port in the part frame.
func portOut(p *assembly.Part, port string) (geom.Vec, bool) {
	for _, q := range p.Ports {
		if q.Name == port {
			return p.Pose.Unrotate(q.Out), true
		}
	}
	return geom.Vec{}, false
}

// portAt is where a port is in the part frame, in mm of the frame.
func portAt(p *assembly.Part, port string) (geom.Vec, bool) {
	for _, q := range p.Ports {
		if q.Name == port {
			return p.Pose.Local(q.At), true
		}
	}
	return geom.Vec{}, false
}
