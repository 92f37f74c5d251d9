package sequence

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

func rod(at, dir geom.Vec, length, radius float64) solid {
	return solid{round: true, centre: at, axis: dir.Unit(), half: length / 2, radius: radius}
}

// TestDistanceClosedForms compares with distances that can be written down.
func TestDistanceClosedForms(t *testing.T) {
	inf := math.Inf(1)
	for _, tt := range []struct {
		name string
		a, b solid
		want float64
	}{
		{"side by side", rod(geom.V(0, 0, 0), ez, 100, 10), rod(geom.V(50, 0, 20), ez, 100, 15), 25},
		{"crossing", rod(geom.V(0, 0, 0), ex, 1500, 13), rod(geom.V(200, 0, 60), ey, 1500, 13), 34},
		{"end to end", rod(geom.V(0, 0, 0), ez, 100, 10), rod(geom.V(0, 0, 120), ez, 100, 30), 20},
		{"rim to rim", rod(geom.V(0, 0, 0), ez, 10, 10), rod(geom.V(23, 0, 14), ez, 10, 10), 5}, // 3, 4, 5
		{"end against side", rod(geom.V(0, 0, 0), ex, 100, 10), rod(geom.V(80, 0, 0), ez, 100, 10), 20},
		{"touching", rod(geom.V(0, 0, 0), ez, 100, 10), rod(geom.V(20, 0, 0), ez, 100, 10), 0},
		{"inside", rod(geom.V(0, 0, 0), ez, 100, 10), rod(geom.V(5, 0, 0), ez, 10, 1), 0},
	} {
		assert.InDelta(t, tt.want, distance(&tt.a, &tt.b, inf), 1e-3, tt.name)
		assert.InDelta(t, tt.want, distance(&tt.b, &tt.a, inf), 1e-3, tt.name)
	}
}

// TestDistanceOfBoxes compares with the gap of axis-parallel boxes, also when one is made by sweeping a smaller one,
// and when both are turned together.
func TestDistanceOfBoxes(t *testing.T) {
	r := rand.New(rand.NewSource(3))
	box := func() geom.Box {
		v := func(s float64) geom.Vec { return geom.V(r.Float64()*s, r.Float64()*s, r.Float64()*s) }
		low := v(300)
		return geom.Box{Min: low, Max: low.Add(v(120)).Add(geom.V(1, 1, 1))}
	}
	for i := 0; i < 2000; i++ {
		a, b := box(), box()
		pose := geom.Facing(geom.V(r.NormFloat64(), 5, 7), geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()), geom.AxisX)
		sa, sb := boxSolid(a, pose), boxSolid(b, pose)
		require.InDelta(t, a.Gap(b), distance(&sa, &sb, math.Inf(1)), 1e-3, "%v %v", a, b)
		half := a
		half.Max.X = (a.Min.X + a.Max.X) / 2
		swept := boxSolid(half, pose).swept(pose.X.Mul(a.Max.X - half.Max.X))
		require.InDelta(t, a.Gap(b), distance(&swept, &sb, math.Inf(1)), 1e-3, "%v %v", a, b)
	}
}

func randomSolid(r *rand.Rand) solid {
	at := geom.V(r.NormFloat64()*120, r.NormFloat64()*120, r.NormFloat64()*120)
	dir := geom.V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64())
	if r.Intn(2) == 0 { // pipework is mostly square
		dir = axes[r.Intn(6)]
	}
	if r.Intn(3) > 0 {
		return rod(at, dir, 20+r.Float64()*300, 8+r.Float64()*30)
	}
	s := geom.V(10+r.Float64()*200, 10+r.Float64()*200, 5+r.Float64()*40)
	return boxSolid(geom.Box{Min: s.Mul(-0.5), Max: s.Mul(0.5)}, geom.Facing(at, dir, geom.AxisX))
}

// TestSpinAgainstSampling turns random solids past each other, as the planner judges it and by looking at every half
// degree and at nine places of the travel. A motion called clear must be clear; one called blocked must come nearer than
// the margin, to within what sampling can miss.
func TestSpinAgainstSampling(t *testing.T) {
	const tries, seed = 1000, 4
	r := rand.New(rand.NewSource(seed))
	blocked, wrong := 0, 0
	for i := 0; i < tries; i++ {
		a, b := randomSolid(r), randomSolid(r)
		if distance(&a, &b, margin) < margin {
			continue
		}
		f := &frame{at: make([][]int, 2), shapes: []shape{newShape([]solid{a}), newShape([]solid{b})}, needs: map[[2]int]float64{}}
		tn := turn{geom.V(r.NormFloat64()*20, 0, 0), geom.AxisZ, 14}
		c, met := f.spin(f.here([]int{0}), []int{1}, tn, func(int, int) bool { return false })
		least := math.Inf(1)
		for k := 0; k < 720; k++ {
			p := a.turned(tn.at, tn.dir, float64(k)*math.Pi/360, 0).swept(tn.dir.Mul(tn.travel))
			least = math.Min(least, distance(&p, &b, math.Inf(1)))
		}
		if met {
			blocked++
			far, _ := ringOf(&a, tn.at, tn.dir)
			if least > margin+far.far*math.Pi/720 {
				wrong++
			}
			assert.Equal(t, 0, c.moving)
		} else {
			want := 0.9 * margin
			ra, _ := ringOf(&a, tn.at, tn.dir)
			if rb, _ := ringOf(&b, tn.at, tn.dir); ra.behind(rb) {
				want = 1e-6 // it moves away from there: a touch is all that is ruled out
			}
			require.GreaterOrEqual(t, least, want, "seed %d, try %d is called clear", seed, i)
		}
	}
	assert.Greater(t, blocked, tries/10)
	assert.Zero(t, wrong, "called blocked, of %d", blocked)
}

// TestElbowByAWall: an elbow whose end swings to a radius that a wall stands inside of cannot be turned, and the
// finding can say by how much; a wall further off than the radius does no harm.
func TestElbowByAWall(t *testing.T) {
	k := newKit()
	k.fitting("e", "elbow", geom.V(0, 0, 0), mz, ex)
	radius := math.Hypot(kitReach, kitBand/2) // of the band's rim, in closed form
	for _, tt := range []struct {
		at    float64
		short float64
	}{{radius - 8, 8}, {radius + 1.5, 0}} {
		wall := k
		wall.a.Parts = wall.a.Parts[:1]
		wall.room(geom.Box{Min: geom.V(-900, tt.at, -900), Max: geom.V(900, tt.at+50, 900)})
		f := newFrame(wall.input())
		c, met := f.spin(f.here([]int{0}), []int{1}, turn{geom.Vec{}, geom.AxisZ, kitE}, func(int, int) bool { return false })
		assert.Equal(t, tt.short > 0, met, "wall at %v", tt.at)
		assert.InDelta(t, tt.short, c.short, rimExcess*kitBand/2+1e-9)
	}
}

// TestUnionSeatsMeetInOneTurn: halves whose seats face along the axis of the turn, off that axis, do not block it.
func TestUnionSeatsMeetInOneTurn(t *testing.T) {
	k := rectangle(true, 900, 600)
	f := newFrame(k.input())
	r := []int{f.index["e2"], f.index["e3"], f.index["right.1"], f.index["low.2"], f.index["low.union-1.b"]}
	l := []int{f.index["e1"], f.index["e4"], f.index["left.1"], f.index["low.1"], f.index["low.union-1.a"]}
	tn := turn{geom.V(0, 0, 600), geom.AxisX, kitE}
	_, met := f.spin(f.here(r), l, tn, func(int, int) bool { return false })
	assert.False(t, met)
	// About the post it does: the half would come through the other one sideways.
	tn = turn{geom.V(900, 0, 0), geom.AxisZ, kitE}
	_, met = f.spin(f.here(r), l, tn, func(int, int) bool { return false })
	assert.True(t, met)
}

// TestChainLaw: on one axis, turning any body changes the sum of hand x engagement / pitch only by the turn of the two
// end bodies against each other. The advance of each turn comes from the planner's own screw motion.
func TestChainLaw(t *testing.T) {
	r := rand.New(rand.NewSource(5))
	const bodies = 5
	hand := [bodies - 1]float64{1, 1, -1, 1}
	var z, angle [bodies]float64 // place along the axis and turn about it
	sum := func() float64 {
		s := 0.0
		for j := range hand {
			s += hand[j] * (z[j] - z[j+1]) / kitPitch // how far j has come towards j+1
		}
		return s
	}
	for i := 0; i < 500; i++ {
		// Turn everything from body 0 to body j against the rest, at joint j.
		j := r.Intn(bodies - 1)
		l := leg{dir: mz, turns: r.Float64()*2 - 1, left: hand[j] < 0}
		l.travel = l.turns * kitPitch
		m := l.screwMove() // about +z, the way body j goes in
		for b := 0; b <= j; b++ {
			z[b] += m.AdvanceMM
			angle[b] += m.ByDeg / 360
		}
		require.InDelta(t, angle[0]-angle[bodies-1], sum(), 1e-9)
	}
	// Turning only the middle body: both its joints are right-hand, so it goes out of one as far as into the other.
	before := sum()
	z[1] += kitPitch
	assert.InDelta(t, before, sum(), 1e-9)
}

// TestSenseOfAScrew: a right-hand thread tightens clockwise, seen from behind the body that turns: looking along +x, with
// z up, y lies to the left, so the top goes towards -y.
func TestSenseOfAScrew(t *testing.T) {
	l := leg{at: geom.Vec{}, dir: mx, turns: 0.25, travel: 0.25 * kitPitch}
	m := l.screwMove()
	top := geom.At(ez).Turned(m.Axis.At, m.Axis.Dir, m.ByDeg*math.Pi/180, m.AdvanceMM)
	assert.InDelta(t, -1, top.Origin.Y, 1e-9)
	assert.InDelta(t, 0.25*kitPitch, top.Origin.X, 1e-9, "it advances the way it looks")
	assert.Positive(t, m.ByDeg*m.AdvanceMM, "right-hand: both of one sign")
	l.left = true
	assert.Negative(t, l.screwMove().ByDeg*l.screwMove().AdvanceMM)
}

// TestNumber: interchangeable parts share a number, numbers rise by first use, and the room has none.
func TestNumber(t *testing.T) {
	k := rolling()
	r := Plan(k.input())
	Number(k.a, r.Steps)
	n := func(id string) int { return k.part(id).Number }
	assert.Zero(t, n("room"))
	assert.Equal(t, n("wheel0"), n("wheel3"))
	assert.Equal(t, n("lower0"), n("lower1"))
	assert.NotEqual(t, n("lower0"), n("upper0"), "other length")
	assert.Equal(t, n("bag.union-1.a"), n("bag.union-1.b"), "halves of a union")
	next := 1
	for _, s := range r.Steps {
		for _, id := range s.Moves {
			if n(id) >= next {
				require.Equal(t, next, n(id), "%s in step %d", id, s.Number)
				next++
			}
		}
	}
	assert.Len(t, distinct(k.a.Parts), next-1)

	// Lengths that rounding alone keeps apart are one; a mirrored board is another part.
	k = newKit()
	k.rod("a", geom.Vec{}, geom.V(100, 0, 0))
	k.rod("b", geom.Vec{}, geom.V(100.0000001, 0, 0))
	k.rod("c", geom.Vec{}, geom.V(100.1, 0, 0))
	hole := func(x float64) assembly.Hole { return assembly.Hole{At: geom.V(x, 50, 0), Dir: ez, Diameter: 30} }
	k.board("left", geom.Vec{}, geom.V(400, 100, 20), hole(50))
	k.board("right", geom.Vec{}, geom.V(400, 100, 20), hole(350))
	Number(k.a, nil)
	assert.Equal(t, n2(k, "a"), n2(k, "b"))
	assert.NotEqual(t, n2(k, "a"), n2(k, "c"))
	assert.NotEqual(t, n2(k, "left"), n2(k, "right"))

	// A flange that only stands is the same part to buy as one that is screwed down.
	k = rolling()
	before := map[string]int{}
	Number(k.a, nil)
	for _, p := range k.a.Parts {
		before[p.ID] = p.Number
	}
	for i := range k.a.Parts {
		if k.a.Parts[i].Kind == "flange" {
			k.a.Parts[i].Loose = true
			break
		}
	}
	Number(k.a, nil)
	for _, p := range k.a.Parts {
		assert.Equal(t, before[p.ID], p.Number, p.ID)
	}
}

func n2(k *kit, id string) int { return k.part(id).Number }

func distinct(parts []assembly.Part) map[int]bool {
	out := map[int]bool{}
	for _, p := range parts {
		if p.Number > 0 {
			out[p.Number] = true
		}
	}
	return out
}
