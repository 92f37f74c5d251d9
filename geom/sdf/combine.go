package sdf

import (
	"math"

	"turnwise/geom"
)

// member is one solid of an operation. leaf[i] is the number in the whole of the member's leaf i.
type member struct {
	field
	box  geom.Box
	far  bool // outside its box the distance is at least that to the box
	leaf []int
}

// beyond tells whether m is at least d away from p, by its box alone; false when that does not tell. Not asking the
// member itself then changes no result, because its distance would not decide.
func (m *member) beyond(p geom.Vec, d float64) bool {
	if !m.far {
		return false
	}
	x := max(m.box.Min.X-p.X, p.X-m.box.Max.X, 0)
	y := max(m.box.Min.Y-p.Y, p.Y-m.box.Max.Y, 0)
	z := max(m.box.Min.Z-p.Z, p.Z-m.box.Max.Z, 0)
	away := x*x + y*y + z*z
	return away > 0 && (d <= 0 || away >= d*d)
}

// plain gives a Solid without leaves one: itself.
type plain struct{ Solid }

func (s plain) eval(p geom.Vec) (float64, int) { return s.Distance(p), 0 }
func (s plain) ActiveLeaf(geom.Vec) int        { return 0 }
func (s plain) Leaves() []Leaf                 { return []Leaf{numericLeaf{s.Solid}} }
func (s plain) exactOutside() bool             { return false }
func (s plain) features() []Feature            { return nil }

// numericLeaf takes the gradient of a solid by differences.
type numericLeaf struct{ of Solid }

// gradientStepMM is the step of those differences: small beside any radius, large beside rounding.
const gradientStepMM = 1e-4

func (l numericLeaf) Distance(p geom.Vec) float64 { return l.of.Distance(p) }
func (l numericLeaf) Gradient(p geom.Vec) geom.Vec {
	slope := func(d geom.Vec) float64 {
		return l.of.Distance(p.Add(d.Mul(gradientStepMM))) - l.of.Distance(p.Sub(d.Mul(gradientStepMM)))
	}
	return geom.V(slope(geom.AxisX), slope(geom.AxisY), slope(geom.AxisZ)).Unit()
}

// foreign gives a Leafed solid of another package the methods that this one wants.
type foreign struct{ Leafed }

func (s foreign) eval(p geom.Vec) (float64, int) { return s.Distance(p), s.ActiveLeaf(p) }
func (s foreign) exactOutside() bool             { return false }
func (s foreign) features() []Feature            { return nil }

func asField(s Solid) field {
	switch s := s.(type) {
	case field:
		return s
	case Leafed:
		return foreign{s}
	}
	return plain{s}
}

// join is a union.
type join struct {
	members []member
	leaves  leafList
	box     geom.Box
}

// Join is the union of solids: all points of any of them. Outside it is exact when they are; inside it is a bound.
// Members must overlap, not only touch.
func Join(solids ...Solid) Leafed {
	j := &join{box: geom.EmptyBox()}
	for _, s := range solids {
		f := asField(s)
		if _, none := s.(empty); none {
			continue
		}
		j.members = append(j.members, j.leaves.adopt(f, false))
		j.box = j.box.Union(f.Bounds())
	}
	switch len(j.members) {
	case 0:
		return Empty()
	case 1:
		return j.members[0].field
	}
	return j
}

// adopt lists the leaves of f, turned inside out for a tool, and remembers their numbers.
func (ls *leafList) adopt(f field, tool bool) member {
	m := member{field: f, box: f.Bounds(), far: f.exactOutside()}
	for _, l := range f.Leaves() {
		if tool {
			l = flip(l)
		}
		m.leaf = append(m.leaf, ls.add(l))
	}
	return m
}

func (j *join) eval(p geom.Vec) (float64, int) {
	best, leaf := math.Inf(1), -1
	for i := range j.members {
		m := &j.members[i]
		if m.beyond(p, best) {
			continue
		}
		if d, l := m.eval(p); d < best {
			best, leaf = d, m.leaf[l]
		}
	}
	return best, leaf
}

func (j *join) Distance(p geom.Vec) float64 { d, _ := j.eval(p); return d }
func (j *join) ActiveLeaf(p geom.Vec) int   { _, l := j.eval(p); return l }
func (j *join) Leaves() []Leaf              { return j.leaves }
func (j *join) Bounds() geom.Box            { return j.box }
func (j *join) exactOutside() bool {
	for i := range j.members {
		if !j.members[i].exactOutside() {
			return false
		}
	}
	return true
}
func (j *join) features() []Feature { return gather(j.members) }

func gather(ms []member) []Feature {
	var fs []Feature
	for i := range ms {
		fs = append(fs, ms[i].features()...)
	}
	return fs
}

// common is an intersection, some members of which may be turned inside out.
type common struct {
	members []member
	sign    []float64 // -1: inside out
	leaves  leafList
	box     geom.Box
}

func (c *common) add(s Solid, tool bool) {
	sign := 1.0
	if tool {
		sign = -1
	}
	c.members = append(c.members, c.leaves.adopt(asField(s), tool))
	c.sign = append(c.sign, sign)
}

// Cut is body without the tools. It is a bound near the edges that it makes, and exact where the deciding surface is
// the nearest one. A tool must reach beyond the faces of the body through which it enters.
func Cut(body Solid, tools ...Solid) Leafed {
	f := asField(body)
	c := &common{box: body.Bounds()}
	c.add(f, false)
	for _, t := range tools {
		if _, none := t.(empty); !none && t.Bounds().Overlaps(c.box) {
			c.add(t, true)
		}
	}
	if len(c.members) == 1 || c.box.IsEmpty() {
		return f
	}
	return c
}

// Common is the intersection of solids: the points that all of them hold. It is a bound.
func Common(solids ...Solid) Leafed {
	if len(solids) == 0 {
		return Empty()
	}
	c := &common{box: solids[0].Bounds()}
	for _, s := range solids {
		if _, none := s.(empty); none {
			return Empty()
		}
		c.add(s, false)
		c.box = c.box.Intersect(s.Bounds())
	}
	if c.box.IsEmpty() {
		return Empty()
	}
	return c
}

func (c *common) eval(p geom.Vec) (float64, int) {
	best, leaf := math.Inf(-1), -1
	for i := range c.members {
		m := &c.members[i]
		if c.sign[i] < 0 && m.beyond(p, -best) {
			continue
		}
		d, l := m.eval(p)
		if d *= c.sign[i]; d > best {
			best, leaf = d, m.leaf[l]
		}
	}
	return best, leaf
}

func (c *common) Distance(p geom.Vec) float64 { d, _ := c.eval(p); return d }
func (c *common) ActiveLeaf(p geom.Vec) int   { _, l := c.eval(p); return l }
func (c *common) Leaves() []Leaf              { return c.leaves }
func (c *common) Bounds() geom.Box            { return c.box }
func (c *common) exactOutside() bool          { return false }
func (c *common) features() []Feature         { return gather(c.members) }

// posed is a solid in another place.
type posed struct {
	of     field
	pose   geom.Pose
	leaves []Leaf
	box    geom.Box
}

// Move places a solid: pose takes its frame to the outer one, and must be rigid. As exact as s.
func Move(s Solid, pose geom.Pose) Leafed {
	f := asField(s)
	if _, none := f.(empty); none {
		return f
	}
	m := &posed{of: f, pose: pose, box: f.Bounds()}
	if m.box.Min.IsFinite() && m.box.Max.IsFinite() { // turning infinite sides would give no number
		m.box = pose.Box(m.box)
	}
	for _, l := range f.Leaves() {
		m.leaves = append(m.leaves, moveLeaf(l, pose))
	}
	return m
}

func (m *posed) eval(p geom.Vec) (float64, int) { return m.of.eval(m.pose.Local(p)) }
func (m *posed) Distance(p geom.Vec) float64    { return m.of.Distance(m.pose.Local(p)) }
func (m *posed) ActiveLeaf(p geom.Vec) int      { return m.of.ActiveLeaf(m.pose.Local(p)) }
func (m *posed) Leaves() []Leaf                 { return m.leaves }
func (m *posed) Bounds() geom.Box               { return m.box }
func (m *posed) exactOutside() bool             { return m.of.exactOutside() }
func (m *posed) features() []Feature {
	fs := m.of.features()
	out := make([]Feature, len(fs))
	for i, f := range fs {
		out[i] = f.moved(m.pose)
	}
	return out
}
