package explode

import (
	"math"

	"turnwise/geom"
)

const (
	// rounds of the iteration. Its error falls by a constant factor each round; frames of a hundred parts reach a
	// tenth of a millimetre in under 200.
	rounds = 600
	// closeEnoughMM ends the iteration.
	closeEnoughMM = 1e-4
	// cutWeight is how much less than a gap a cut counts that closes less than it could, as the root of its weight: so
	// that where a ring has to give, cuts do and gaps stay even.
	cutWeight = 0.15
	// rankTolerance is the length below which a row is taken to follow from those before it; rows are of unit size.
	rankTolerance = 1e-7
)

// open finds how far each joint opens and moves the parts of each connected frame, its middle left where it was.
func (g *graph) open() {
	tree, extra := g.span()
	rows := g.loopRows(tree, extra)
	least, weigh, most := make([]float64, len(g.joints)), make([]float64, len(g.joints)), make([]float64, len(g.joints))
	for k, j := range g.joints {
		least[k], weigh[k], most[k] = j.least, 1, math.Inf(1)
		switch {
		case j.isCut:
			weigh[k], most[k] = cutWeight, 0 // no pipe is drawn longer than it is
		case j.shut:
			most[k] = 0
		}
	}
	t := nearest(times(least, weigh), most, orthonormal(over(rows, weigh)))
	for k := range t {
		t[k] /= weigh[k]
	}
	t = g.topUp(t, least)
	for k := range g.joints {
		g.joints[k].open = t[k]
	}
	g.move(tree)
	g.centre()
}

// tree is a spanning forest: for each part the joint it was reached by and from where, in the order reached.
type tree struct {
	order []int
	by    []int // joint, -1 at a root
	from  []int
}

// span grows a spanning forest breadth first and returns it with the joints left over.
func (g *graph) span() (tree, []int) {
	n := len(g.parts)
	t := tree{by: make([]int, n), from: make([]int, n)}
	reached, used := make([]bool, n), make([]bool, len(g.joints))
	next := g.neighbours()
	for i := range g.parts {
		if reached[i] || isLoose(g.parts[i]) {
			continue
		}
		reached[i], t.by[i] = true, -1
		t.order = append(t.order, i)
		for q := len(t.order) - 1; q < len(t.order); q++ {
			p := t.order[q]
			for _, k := range next[p] {
				o := g.joints[k].a + g.joints[k].b - p
				if reached[o] {
					continue
				}
				reached[o], used[k], t.by[o], t.from[o] = true, true, k, p
				t.order = append(t.order, o)
			}
		}
	}
	var extra []int
	for k := range g.joints {
		if !used[k] {
			extra = append(extra, k)
		}
	}
	return t, extra
}

// loopRows returns the conditions that the openings round each loop cancel: three rows of one figure per joint.
func (g *graph) loopRows(t tree, extra []int) [][]float64 {
	var rows [][]float64
	for _, k := range extra {
		j := g.joints[k]
		sign := map[int]float64{k: 1}
		// From b back to the root, and from a: what both share cancels.
		for p := j.b; t.by[p] >= 0; p = t.from[p] {
			sign[t.by[p]] -= g.along(t.by[p], p)
		}
		for p := j.a; t.by[p] >= 0; p = t.from[p] {
			sign[t.by[p]] += g.along(t.by[p], p)
		}
		x, y, z := make([]float64, len(g.joints)), make([]float64, len(g.joints)), make([]float64, len(g.joints))
		for i, s := range sign {
			d := g.joints[i].dir.Mul(s)
			x[i], y[i], z[i] = d.X, d.Y, d.Z
		}
		rows = append(rows, x, y, z)
	}
	return rows
}

// along is +1 when joint k leads to part p, -1 when it leads away from it.
func (g *graph) along(k, p int) float64 {
	if g.joints[k].b == p {
		return 1
	}
	return -1
}

// orthonormal returns rows that span the same space, each of length 1 and square to the others (Gram-Schmidt, done
// twice over for accuracy). Rows that follow from others are left out.
func orthonormal(rows [][]float64) [][]float64 {
	var out [][]float64
	for _, r := range rows {
		size := norm(r)
		if size < rankTolerance {
			continue
		}
		v := scaled(r, 1/size)
		for range 2 {
			for _, q := range out {
				addTo(v, q, -dot(v, q))
			}
		}
		if s := norm(v); s > rankTolerance {
			out = append(out, scaled(v, 1/s))
		}
	}
	return out
}

// nearest returns the t nearest to least that has least <= t <= most and no part along any of the rows, by the alternating
// direction method of multipliers with unit penalty ("Distributed optimization and statistical learning via the
// alternating direction method of multipliers", Foundations and Trends in Machine Learning 2011, section 5).
func nearest(least, most []float64, rows [][]float64) []float64 {
	n := len(least)
	x, u := make([]float64, n), make([]float64, n)
	z := append([]float64(nil), least...)
	if len(rows) == 0 {
		return z
	}
	for range rounds {
		for i := range x {
			x[i] = (least[i] + z[i] - u[i]) / 2
		}
		for _, q := range rows {
			addTo(x, q, -dot(x, q))
		}
		worst := 0.0
		for i := range z {
			z[i] = min(most[i], max(least[i], x[i]+u[i]))
			u[i] += x[i] - z[i]
			worst = max(worst, math.Abs(x[i]-z[i]))
		}
		if worst < closeEnoughMM {
			break
		}
	}
	return x
}

// topUp adds to t, which closes all loops but may be a little short, the least measure of blowing the frame up.
func (g *graph) topUp(t, least []float64) []float64 {
	share := make([]float64, len(t))
	short := make([]float64, g.groups)
	for k, j := range g.joints {
		share[k] = g.middle(j.b).Sub(g.middle(j.a)).Dot(j.dir)
		if d := least[k] - t[k]; d > 0 && share[k] > 0 {
			short[g.group[j.a]] = max(short[g.group[j.a]], d/share[k])
		}
	}
	out := make([]float64, len(t))
	for k, j := range g.joints {
		out[k] = t[k] + short[g.group[j.a]]*share[k]
	}
	return out
}

// middle returns the point of a part that its joints' axes go through: for a straight part half-way between its ends,
// for others the origin of its frame, where their centre lines meet.
func (g *graph) middle(i int) geom.Vec {
	p := g.parts[i]
	if len(p.Ports) == 0 {
		return p.Pose.Origin
	}
	var sum geom.Vec
	for _, q := range p.Ports {
		if q.Out.Cross(p.Ports[0].Out).Len() > 1e-6 {
			return p.Pose.Origin
		}
		sum = sum.Add(q.At)
	}
	return sum.Mul(1 / float64(len(p.Ports)))
}

// move works the offsets out along the tree.
func (g *graph) move(t tree) {
	for _, p := range t.order {
		if k := t.by[p]; k >= 0 {
			g.offset[p] = g.offset[t.from[p]].Add(g.joints[k].dir.Mul(g.joints[k].open * g.along(k, p)))
		} else {
			g.offset[p] = geom.Vec{}
		}
	}
}

// centre shifts each connected frame so that its parts are moved by nothing on average.
func (g *graph) centre() {
	sum, n := make([]geom.Vec, g.groups), make([]float64, g.groups)
	for i, k := range g.group {
		if k >= 0 {
			sum[k], n[k] = sum[k].Add(g.offset[i]), n[k]+1
		}
	}
	for i, k := range g.group {
		if k >= 0 {
			g.offset[i] = g.offset[i].Sub(sum[k].Mul(1 / n[k]))
		}
	}
}

func times(a, b []float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] * b[i]
	}
	return out
}

// over divides each figure of each row by that of its column.
func over(rows [][]float64, by []float64) [][]float64 {
	for _, r := range rows {
		for i := range r {
			r[i] /= by[i]
		}
	}
	return rows
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += a[i] * b[i]
	}
	return s
}

func norm(a []float64) float64 { return math.Sqrt(dot(a, a)) }

func scaled(a []float64, s float64) []float64 {
	out := make([]float64, len(a))
	for i := range a {
		out[i] = a[i] * s
	}
	return out
}

func addTo(a, b []float64, s float64) {
	for i := range a {
		a[i] += b[i] * s
	}
}
