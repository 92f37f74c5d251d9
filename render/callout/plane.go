package callout

import "math"

func distance(a, b Point) float64 { return math.Hypot(a.X-b.X, a.Y-b.Y) }

// fromSegment returns the distance of p from the segment a to b.
func fromSegment(p, a, b Point) float64 {
	dx, dy := b.X-a.X, b.Y-a.Y
	l := dx*dx + dy*dy
	t := 0.0
	if l > 0 {
		t = max(0, min(1, ((p.X-a.X)*dx+(p.Y-a.Y)*dy)/l))
	}
	return math.Hypot(p.X-a.X-t*dx, p.Y-a.Y-t*dy)
}

// side is positive when p lies to one side of the line a to b, negative on the other.
func side(a, b, p Point) float64 { return (b.X-a.X)*(p.Y-a.Y) - (b.Y-a.Y)*(p.X-a.X) }

// segmentsWithin tells whether two segments cross or come within d of one another. If they do not cross, the nearest
// point is an end of one of them.
func segmentsWithin(a, b, c, e Point, d float64) bool {
	if side(a, b, c)*side(a, b, e) < 0 && side(c, e, a)*side(c, e, b) < 0 {
		return true
	}
	return min(fromSegment(a, c, e), fromSegment(b, c, e), fromSegment(c, a, b), fromSegment(e, a, b)) < d
}

// Within tells whether two straight lines, a to b and c to e, cross or come within d of one another.
func Within(a, b, c, e Point, d float64) bool { return segmentsWithin(a, b, c, e, d) }
