package explode

import (
	"math"
	"sort"

	"turnwise/geom"
)

// hull returns the convex hull of points, anticlockwise (Andrew's monotone chain, 1979).
func hull(pts []geom.Vec) outline {
	if len(pts) < 3 {
		return outline(pts)
	}
	sort.Slice(pts, func(i, k int) bool { return pts[i].X < pts[k].X || pts[i].X == pts[k].X && pts[i].Y < pts[k].Y })
	out := chainOf(nil, pts)
	low := len(out)
	back := make([]geom.Vec, len(pts))
	for i, p := range pts {
		back[len(pts)-1-i] = p
	}
	out = append(out[:low-1:low-1], chainOf(nil, back)...)
	return out[:len(out)-1]
}

// chainOf keeps the points of a row that turn left.
func chainOf(out outline, pts []geom.Vec) outline {
	for _, p := range pts {
		for len(out) >= 2 && turn(out[len(out)-2], out[len(out)-1], p) <= 0 {
			out = out[:len(out)-1]
		}
		out = append(out, p)
	}
	return out
}

// turn is positive where a, b, c turn left: twice the area between them.
func turn(a, b, c geom.Vec) float64 { return (b.X-a.X)*(c.Y-a.Y) - (b.Y-a.Y)*(c.X-a.X) }

// area is that of an outline, by the sum of the triangles to its first point.
func (o outline) area() float64 {
	sum := 0.0
	for i := 2; i < len(o); i++ {
		sum += turn(o[0], o[i-1], o[i]) / 2
	}
	return sum
}

// share is the area two outlines have in common, as a share of the smaller.
func share(a, b outline) float64 {
	least := min(a.area(), b.area())
	if least <= 0 || apart(a, b) || apart(b, a) {
		return 0
	}
	c := a
	for i := range b {
		if c = c.cut(b[i], b[(i+1)%len(b)]); len(c) < 3 {
			return 0
		}
	}
	return c.area() / least
}

// apart tells whether an edge of a has all of b on its right, outside.
func apart(a, b outline) bool {
	for i := range a {
		p, q := a[i], a[(i+1)%len(a)]
		outside := true
		for _, v := range b {
			outside = outside && turn(p, q, v) <= 0
		}
		if outside {
			return true
		}
	}
	return false
}

// cut keeps what lies on the left of the line from p to q ("Reentrant polygon clipping", Communications of the ACM
// 17(1), 1974).
func (o outline) cut(p, q geom.Vec) outline {
	var out outline
	for i, v := range o {
		w := o[(i+1)%len(o)]
		dv, dw := turn(p, q, v), turn(p, q, w)
		if dv >= 0 {
			out = append(out, v)
		}
		if dv*dw < 0 {
			out = append(out, v.Lerp(w, dv/(dv-dw)))
		}
	}
	return out
}

// separation is how far b must go along dir until an edge of one of the two has all of the other outside; +Inf when it
// never does. Lengths are in units of dir.
func separation(a, b outline, dir geom.Vec) float64 {
	least := math.Inf(1)
	// Outside of an edge of a, b has passed when its nearest point has; an edge of b likewise, a going the other way.
	for n, pair := range [2][2]outline{{a, b}, {b, a}} {
		d := dir
		if n == 1 {
			d = dir.Neg()
		}
		for i := range pair[0] {
			p, q := pair[0][i], pair[0][(i+1)%len(pair[0])]
			out := geom.V(q.Y-p.Y, p.X-q.X, 0)
			speed := out.Dot(d)
			if speed <= 1e-9*out.Len() {
				continue
			}
			short := math.Inf(-1)
			for _, v := range pair[1] {
				short = max(short, p.Sub(v).Dot(out))
			}
			least = min(least, max(0, short/speed))
		}
	}
	return least
}
