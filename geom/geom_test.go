package geom

import (
	"encoding/json"
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// tol is a few units in the last place of a metre-sized coordinate.
const tol = 1e-9

func randVec(r *rand.Rand) Vec { return V(r.NormFloat64(), r.NormFloat64(), r.NormFloat64()) }

func TestFacingIsRigidAndFaces(t *testing.T) {
	r := rand.New(rand.NewSource(1))
	for i := 0; i < 200; i++ {
		z, x := randVec(r), randVec(r)
		if i%10 == 0 {
			x = z.Mul(-2) // no help for X: any square one is taken
		}
		p := Facing(randVec(r), z, x)
		assert.True(t, p.IsRigid(tol), "Facing(%v, %v)", z, x)
		assert.True(t, p.Z.Near(z.Unit(), tol))
	}
}

func TestPoseInverseAndCompose(t *testing.T) {
	r := rand.New(rand.NewSource(2))
	for i := 0; i < 100; i++ {
		p := Facing(randVec(r), randVec(r), randVec(r))
		q := Facing(randVec(r), randVec(r), randVec(r))
		v := randVec(r)
		assert.True(t, p.Local(p.Apply(v)).Near(v, tol))
		assert.True(t, p.Inverse().Apply(p.Apply(v)).Near(v, tol))
		assert.True(t, p.Compose(q).Apply(v).Near(p.Apply(q.Apply(v)), tol))
	}
}

// TestTurnedIsARightHandScrew: turning by a positive angle about z takes x to y (the right-hand rule), and a positive
// advance goes along z, as the nut of a right-hand thread does.
func TestTurnedIsARightHandScrew(t *testing.T) {
	p := At(V(1, 0, 0)).Turned(Vec{}, AxisZ, math.Pi/2, 3)
	assert.True(t, p.Origin.Near(V(0, 1, 3), tol), "%v", p.Origin)
	assert.True(t, p.X.Near(AxisY, tol))
	assert.True(t, p.IsRigid(tol))
}

func TestBoxGapAndIntersect(t *testing.T) {
	a := Box{V(0, 0, 0), V(1, 1, 1)}
	assert.InDelta(t, 5, a.Gap(Box{V(4, 5, 0), V(5, 6, 1)}), tol) // 3, 4, 5
	assert.Zero(t, a.Gap(Box{V(0.5, 0.5, 0.5), V(2, 2, 2)}))
	assert.InDelta(t, 0.125, a.Intersect(Box{V(0.5, 0.5, 0.5), V(2, 2, 2)}).Volume(), tol)
	assert.True(t, EmptyBox().IsEmpty())
	assert.Zero(t, EmptyBox().Diagonal())
	assert.Equal(t, a, BoxOf(V(0, 1, 0), V(1, 0, 1)))
}

func TestPoseBoxHoldsTheTurnedCorners(t *testing.T) {
	p := Facing(V(10, 0, 0), V(1, 1, 0), AxisZ)
	b := p.Box(Box{V(0, 0, 0), V(0, 0, 10)})
	assert.InDelta(t, 10/math.Sqrt2, b.Size().X, tol)
	assert.InDelta(t, 10/math.Sqrt2, b.Size().Y, tol)
}

func TestAngleNearItsEnds(t *testing.T) {
	for _, want := range []float64{1e-9, 0.5, math.Pi - 1e-9} {
		s, c := math.Sincos(want)
		assert.InDelta(t, want, AxisX.Angle(V(c, s, 0)), 1e-15*10)
	}
}

func TestVecJSON(t *testing.T) {
	b, err := json.Marshal(V(1, -2.5, 3))
	require.NoError(t, err)
	assert.Equal(t, "[1,-2.5,3]", string(b))
	var v Vec
	require.NoError(t, json.Unmarshal(b, &v))
	assert.Equal(t, V(1, -2.5, 3), v)
	assert.Error(t, json.Unmarshal([]byte("[1,2]"), &v), "two numbers are no vector")
}
