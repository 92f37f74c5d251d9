package sdftest

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// recorder stands in for a test and remembers its failure.
type recorder struct {
	testing.TB
	failed bool
}

func (r *recorder) Helper()               {}
func (r *recorder) Name() string          { return "recorder" }
func (r *recorder) Errorf(string, ...any) { r.failed = true }
func (r *recorder) FailNow()              { r.failed = true; panic(r) }

// fails tells whether Check finds fault with a solid.
func fails(s sdf.Solid, c Claim) bool {
	r := &recorder{}
	func() {
		defer func() {
			if e := recover(); e != nil && e != any(r) {
				panic(e)
			}
		}()
		Check(r, s, c)
	}()
	return r.failed
}

// faulty is a solid with some of its answers replaced.
type faulty struct {
	sdf.Leafed
	distance func(geom.Vec) float64
	bounds   geom.Box
	leaf     func(geom.Vec) int
	leaves   []sdf.Leaf
}

func (f faulty) Distance(p geom.Vec) float64 { return f.distance(p) }
func (f faulty) Bounds() geom.Box            { return f.bounds }
func (f faulty) ActiveLeaf(p geom.Vec) int   { return f.leaf(p) }
func (f faulty) Leaves() []sdf.Leaf          { return f.leaves }

// sound returns an unharmed copy of a cylinder, to be spoilt, and its claim.
func sound() (faulty, Claim) {
	s := sdf.Cylinder(geom.Vec{}, geom.AxisZ, 12, 7)
	return faulty{s, s.Distance, s.Bounds(), s.ActiveLeaf, s.Leaves()}, Claim{Exact: true, Inside: func(p geom.Vec) bool {
		return p.Z > 0 && p.Z < 12 && math.Hypot(p.X, p.Y) < 7
	}}
}

// TestCheckFindsFaults: each fault that a solid may have makes the suite fail, and a sound one passes.
func TestCheckFindsFaults(t *testing.T) {
	good, claim := sound()
	assert.False(t, fails(good, claim), "a sound solid")
	tests := map[string]func(f *faulty, c *Claim){
		"sign turned round":     func(f *faulty, _ *Claim) { f.distance = func(p geom.Vec) float64 { return -good.Distance(p) } },
		"not a number":          func(f *faulty, _ *Claim) { f.distance = func(geom.Vec) float64 { return math.NaN() } },
		"0.1 % too steep":       func(f *faulty, _ *Claim) { f.distance = func(p geom.Vec) float64 { return 1.001 * good.Distance(p) } },
		"0.1 mm too far":        func(f *faulty, c *Claim) { f.distance = grown(good, 0.1); c.Exact = false },
		"half said to be exact": func(f *faulty, _ *Claim) { f.distance = func(p geom.Vec) float64 { return good.Distance(p) / 2 } },
		"a jump":                func(f *faulty, _ *Claim) { f.distance = jumping(good) },
		"bounds too small":      func(f *faulty, _ *Claim) { f.bounds = f.bounds.Grow(-0.5) },
		"a bound said to be exact": func(f *faulty, _ *Claim) {
			f.distance = func(p geom.Vec) float64 { // the planes and barrel without their edges
				return max(-p.Z, p.Z-12, math.Hypot(p.X, p.Y)-7)
			}
		},
		"wrong leaf":         func(f *faulty, _ *Claim) { f.leaf = func(p geom.Vec) int { return (good.ActiveLeaf(p) + 1) % 3 } },
		"leaf out of range":  func(f *faulty, _ *Claim) { f.leaf = func(geom.Vec) int { return 3 } },
		"leaf turned round":  func(f *faulty, _ *Claim) { f.leaves = turnedRound(good.leaves) },
		"leaf 1 % too large": func(f *faulty, _ *Claim) { f.leaves = widened(good.leaves) },
		"a wrong gradient":   func(f *faulty, _ *Claim) { f.leaves = tilted(good.leaves) },
	}
	for name, spoil := range tests {
		f, c := sound()
		spoil(&f, &c)
		assert.True(t, fails(f, c), "not found: %s", name)
	}
	f, c := sound()
	c.Inside = func(geom.Vec) bool { return false }
	f.distance = func(geom.Vec) float64 { return 1 }
	assert.True(t, fails(f, c), "a check that never meets material must not pass")
}

func grown(s faulty, by float64) func(geom.Vec) float64 {
	return func(p geom.Vec) float64 {
		d := s.Leafed.Distance(p)
		return d + math.Copysign(min(by, math.Abs(d)), d) // right on the surface, too much beside it
	}
}

func jumping(s faulty) func(geom.Vec) float64 {
	return func(p geom.Vec) float64 {
		if d := s.Leafed.Distance(p); d < 2 {
			return d
		}
		return s.Leafed.Distance(p) - 0.2
	}
}

func turnedRound(ls []sdf.Leaf) []sdf.Leaf {
	c := ls[0].(sdf.CylinderLeaf)
	c.Inward = true
	return append([]sdf.Leaf{c}, ls[1:]...)
}

func widened(ls []sdf.Leaf) []sdf.Leaf {
	c := ls[0].(sdf.CylinderLeaf)
	c.Radius *= 1.01
	return append([]sdf.Leaf{c}, ls[1:]...)
}

// skewed is a plane whose gradient is not its own.
type skewed struct{ sdf.Leaf }

func (skewed) Gradient(geom.Vec) geom.Vec { return geom.V(0.01, 0, 1).Unit() }

func tilted(ls []sdf.Leaf) []sdf.Leaf { return []sdf.Leaf{ls[0], ls[1], skewed{ls[2]}} }

// TestVolume against closed forms.
func TestVolume(t *testing.T) {
	for name, tt := range map[string]struct {
		s    sdf.Solid
		want float64
	}{
		"box":      {sdf.Box(geom.Box{Max: geom.V(2, 3, 4)}), 24},
		"cylinder": {sdf.Cylinder(geom.Vec{}, geom.V(1, 1, 1), 12, 7), math.Pi * 49 * 12},
		"nothing":  {sdf.Empty(), 0},
	} {
		assert.InDelta(t, tt.want, Volume(tt.s, 0.2), 2e-3*tt.want, name)
	}
}
