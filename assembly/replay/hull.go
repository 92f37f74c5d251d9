package replay

import (
	"math"

	"turnwise/geom"
)

// A body that comes to hand in place has to start where it can be carried to. A group that starts about a piece of the
// room or within it, as an elbow and a flange on either side of a slab that a post goes through, got there by no motion.
// It is taken to be free when the convex hull of all that moves reaches into no piece of the room: then a plane lies
// between them. The hull is that of points within the solids, so it is never greater than the true one.

const (
	// hullDeepMM is how far a piece of the room may reach into the hull: leaning walls are stairs of up to a millimetre.
	hullDeepMM = 1.0
	// hullGrid is how many points along an edge of its box a solid is looked at, to find points far out in it.
	hullGrid = 16
	// hullRing is how many points stand for a round.
	hullRing = 24
	// hullRounds bounds the search for a plane; each round adds a corner, and ten are many.
	hullRounds = 100
)

// checkRoom checks that what comes to hand in place starts clear of the room as a whole.
func (w *world) checkRoom(movers []*body, starts []geom.Pose) {
	room := w.room()
	if room == nil {
		return
	}
	bounds := geom.EmptyBox()
	for k, b := range movers {
		for _, c := range b.box.Corners() {
			bounds = bounds.Include(starts[k].Apply(c))
		}
	}
	var hull []geom.Vec
	for _, piece := range room.part.Boxes {
		inner := piece.Grow(-hullDeepMM)
		if inner.IsEmpty() || inner.Intersect(bounds).IsEmpty() {
			continue
		}
		if hull == nil {
			hull = hullOf(movers, starts)
		}
		if parted(hull, inner) {
			continue
		}
		names := make([]string, 0, len(movers)+1)
		for _, b := range movers {
			names = append(names, b.part.ID)
		}
		w.fail(CodePose, 0, append(names, room.part.ID),
			"what moves with %s starts about a piece of the room or within it, and no motion brings it there in one piece", movers[0].part.ID)
		return
	}
}

func (w *world) room() *body {
	for _, b := range w.bodies {
		if isRoom(b.part) {
			return b
		}
	}
	return nil
}

// hullOf lists points of bodies that span their convex hull but for what lies between the points looked at.
func hullOf(movers []*body, starts []geom.Pose) []geom.Vec {
	var out []geom.Vec
	for k, b := range movers {
		if b.outer == nil {
			b.outer = b.outermost()
		}
		for _, p := range b.outer {
			out = append(out, starts[k].Apply(p))
		}
	}
	return out
}

// outermost lists points of a body far out in it, in the part frame: corners of a board, rings of what is round, and of
// others the points of a grid that lie farthest out in many directions.
func (b *body) outermost() []geom.Vec {
	if b.round {
		return ringPoints(b.box)
	}
	if len(b.part.Boxes) > 0 {
		corners := b.box.Corners()
		return corners[:]
	}
	var inside []geom.Vec
	size := b.box.Size()
	for i := range hullGrid + 1 {
		for j := range hullGrid + 1 {
			for k := range hullGrid + 1 {
				p := b.box.Min.Add(geom.V(size.X*float64(i)/hullGrid, size.Y*float64(j)/hullGrid, size.Z*float64(k)/hullGrid))
				if b.solid.Distance(p) <= 0 {
					inside = append(inside, p)
				}
			}
		}
	}
	var out []geom.Vec
	for _, d := range manyWays() {
		if i := farthestAlong(inside, d); i >= 0 {
			out = append(out, inside[i])
		}
	}
	return out
}

// ringPoints are points round both ends of a box that is round about z.
func ringPoints(b geom.Box) []geom.Vec {
	c, h := b.Centre(), b.Size().Mul(0.5)
	var out []geom.Vec
	for i := range hullRing {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / hullRing)
		at := c.Add(geom.V(cos*h.X, sin*h.Y, 0))
		out = append(out, at.Add(geom.V(0, 0, h.Z)), at.Sub(geom.V(0, 0, h.Z)))
	}
	return out
}

// manyWays lists 124 directions: from the middle of a 5 x 5 x 5 grid to its other points.
func manyWays() []geom.Vec {
	var out []geom.Vec
	for i := -2; i <= 2; i++ {
		for j := -2; j <= 2; j++ {
			for k := -2; k <= 2; k++ {
				if i != 0 || j != 0 || k != 0 {
					out = append(out, geom.V(float64(i), float64(j), float64(k)))
				}
			}
		}
	}
	return out
}

// farthestAlong is the index of the point farthest along a direction, or -1.
func farthestAlong(points []geom.Vec, d geom.Vec) int {
	best, far := -1, math.Inf(-1)
	for i, p := range points {
		if v := p.Dot(d); v > far {
			best, far = i, v
		}
	}
	return best
}

// parted tells whether a plane parts points from a box. It looks for the point of their difference nearest to the
// origin, over corners found one after another (E. G. Gilbert, D. W. Johnson, S. S. Keerthi, IEEE Journal of Robotics and
// Automation 4(2), 1988): where all of the difference lies on one side of the plane square to it, that plane parts them.
func parted(points []geom.Vec, b geom.Box) bool {
	corners := b.Corners()
	v := points[0].Sub(b.Centre())
	var simplex []geom.Vec
	for range hullRounds {
		p := points[farthestAlong(points, v.Neg())].Sub(corners[farthestAlong(corners[:], v)])
		if p.Dot(v) > 0 {
			return true
		}
		simplex = append(simplex, p)
		v, simplex = leastNorm(simplex)
		if v.Len() < gradientMM || len(simplex) == 4 {
			return false
		}
	}
	return false
}

// leastNorm is the point nearest to the origin in the simplex of up to four points, and the corners that span it.
func leastNorm(points []geom.Vec) (geom.Vec, []geom.Vec) {
	var best geom.Vec
	var span []geom.Vec
	least := math.Inf(1)
	for pick := 1; pick < 1<<len(points); pick++ {
		var some []geom.Vec
		for i, p := range points {
			if pick>>i&1 == 1 {
				some = append(some, p)
			}
		}
		if p, ok := nearestOfFlat(some); ok && p.Len() < least {
			best, span, least = p, some, p.Len()
		}
	}
	return best, span
}

// nearestOfFlat is the point nearest to the origin of the flat through one to four points, if it lies between them. Its
// weights solve the normal equations of the edges from the first point.
func nearestOfFlat(p []geom.Vec) (geom.Vec, bool) {
	n := len(p) - 1
	var m [3][4]float64
	for i := range n {
		for j := range n {
			m[i][j] = p[i+1].Sub(p[0]).Dot(p[j+1].Sub(p[0]))
		}
		m[i][3] = -p[i+1].Sub(p[0]).Dot(p[0])
	}
	for c := range n { // elimination; the matrix is symmetric and, off degenerate simplices, positive
		if m[c][c] <= gradientMM*gradientMM {
			return geom.Vec{}, false
		}
		for r := range n {
			if r == c {
				continue
			}
			f := m[r][c] / m[c][c]
			for k := range 4 {
				m[r][k] -= f * m[c][k]
			}
		}
	}
	out, left := p[0], 1.0
	for i := range n {
		t := m[i][3] / m[i][i]
		if t < 0 {
			return geom.Vec{}, false
		}
		left -= t
		out = out.Add(p[i+1].Sub(p[0]).Mul(t))
	}
	return out, left >= 0
}
