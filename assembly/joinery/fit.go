package joinery

import (
	"math"

	"turnwise/assembly/standard"
	"turnwise/geom"
)

// fit is one way to give the lines of a point to the ports of a kind.
type fit struct {
	ports  []int // port index of each line
	rotate geom.Pose
	offDeg float64 // largest error of an angle between two lines
}

// mirrorDeg separates a fitting from its mirror image: the pose of a true one misses no line by more than a sprung
// frame's angles can add up to, a mirrored one by far more.
const mirrorDeg = 2 * SprungDeg

// sameDeg is how near two fits' errors must be to count as equal, so that rounding never decides.
const sameDeg = 1e-6

// fits returns every assignment that the angles allow, the best first; equal ones in the order that gives earlier
// ports to earlier lines.
func fits(kind standard.Kind, lines []Line) []fit {
	dirs := portDirs(kind)
	var out []fit
	for _, p := range assignments(len(lines), len(dirs)) {
		if f, ok := tryFit(dirs, lines, p); ok {
			out = append(out, f)
		}
	}
	for i := 1; i < len(out); i++ { // insertion sort: stable, and there are at most 24
		for j := i; j > 0 && out[j].offDeg < out[j-1].offDeg-sameDeg; j-- {
			out[j], out[j-1] = out[j-1], out[j]
		}
	}
	return out
}

// portDirs are the directions of a kind's openings in the part frame, in port order.
func portDirs(kind standard.Kind) []geom.Vec {
	var out []geom.Vec
	for _, p := range standard.PortsOf(kind) {
		out = append(out, vec(p.Dir))
	}
	return out
}

func vec(a [3]float64) geom.Vec { return geom.V(a[0], a[1], a[2]) }

// assignments are all ways to give n lines different ports out of m, in lexicographic order.
func assignments(n, m int) [][]int {
	if n > m {
		return nil
	}
	out := [][]int{nil}
	for range n {
		var next [][]int
		for _, a := range out {
			for p := range m {
				if !contains(a, p) {
					next = append(next, append(append([]int(nil), a...), p))
				}
			}
		}
		out = next
	}
	return out
}

func contains(a []int, x int) bool {
	for _, v := range a {
		if v == x {
			return true
		}
	}
	return false
}

// tryFit checks one assignment: every angle between two lines, and that the fitting is not mirrored.
func tryFit(dirs []geom.Vec, lines []Line, ports []int) (fit, bool) {
	f := fit{ports: ports}
	for i := range lines {
		for j := range i {
			want := dirs[ports[i]].Angle(dirs[ports[j]])
			f.offDeg = math.Max(f.offDeg, math.Abs(degrees(lines[i].Dir.Angle(lines[j].Dir)-want)))
		}
	}
	if f.offDeg > SprungDeg {
		return fit{}, false
	}
	f.rotate = rotation(dirs, lines, ports)
	for i, l := range lines {
		if degrees(f.rotate.Rotate(dirs[ports[i]]).Angle(l.Dir)) > mirrorDeg {
			return fit{}, false
		}
	}
	return f, true
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }

// pair is a direction in the part frame and the one it takes in the finished frame.
type pair struct{ part, place geom.Vec }

// rotation returns the pose at the origin that turns ports to lines. A straight pair counts as one direction, the mean
// of its two lines. Two directions that are not square share the error between them. With one direction only, the spin
// about it is free: the part's X goes up, as far as that is possible.
func rotation(dirs []geom.Vec, lines []Line, ports []int) geom.Pose {
	pairs := directions(dirs, lines, ports)
	p := pairs[0]
	for _, q := range pairs[1:] {
		if math.Abs(p.part.Dot(q.part)) < 0.99 {
			return alignTwo(p, q)
		}
	}
	return spun(p)
}

// directions lists what must be turned where, straight pairs merged.
func directions(dirs []geom.Vec, lines []Line, ports []int) []pair {
	var out []pair
	used := make([]bool, len(lines))
	for i := range lines {
		if used[i] {
			continue
		}
		q := pair{dirs[ports[i]], lines[i].Dir.Unit()}
		for j := i + 1; j < len(lines); j++ {
			if dirs[ports[j]].Near(q.part.Neg(), 1e-9) {
				used[j] = true
				q.place = lines[i].Dir.Unit().Sub(lines[j].Dir.Unit()).Unit()
			}
		}
		out = append(out, q)
	}
	return out
}

// alignTwo turns two part directions to two places: sum to sum and difference to difference, which are square to one
// another whatever the angle.
func alignTwo(p, q pair) geom.Pose {
	from := frame(p.part, q.part)
	to := frame(p.place, q.place)
	return to.Compose(from.Inverse())
}

func frame(a, b geom.Vec) geom.Pose {
	x, y := a.Add(b).Unit(), a.Sub(b).Unit()
	return geom.Pose{X: x, Y: y, Z: x.Cross(y)}
}

// spun turns one part direction to its place.
func spun(p pair) geom.Pose {
	hint := geom.AxisX
	if math.Abs(p.part.X) > 0.99 { // the direction is the part's X: let its Z go up instead
		hint = geom.AxisZ
	}
	to := geom.Facing(geom.Vec{}, p.place, upright(p.place))
	from := geom.Facing(geom.Vec{}, p.part, hint)
	return to.Compose(from.Inverse())
}

// upright is up, or the x axis for what points up or down itself.
func upright(dir geom.Vec) geom.Vec {
	if math.Abs(dir.Unit().Z) > 0.9 {
		return geom.AxisX
	}
	return geom.AxisZ
}
