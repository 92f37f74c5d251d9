package sequence

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// hoop is two flanges at points, facing out, joined through two elbows.
func hoop(k *kit, at, out, along [2]geom.Vec, bend [2]geom.Vec) {
	for i := range 2 {
		n := fmt.Sprint(i)
		k.flange("f"+n, at[i], out[i])
		k.fitting("e"+n, "elbow", bend[i], flip(out[i]), along[i])
		k.pipe("arm"+n, "f"+n, "e"+n, out[i])
		k.join(assembly.Face, "f"+n, "face", "room", "")
	}
	k.pipe("bar", "e0", "e1", along[0])
}

// margins returns the least sine between the best way off and the faces of the whole frame, and that way.
func margins(k *kit) (float64, geom.Vec) {
	f := newFrame(k.input())
	var all []int
	for i := range f.parts {
		if i != f.room {
			all = append(all, i)
		}
	}
	s := f.newScene(all, true, f.ranks())
	cs := s.contacts(all, s.crossing(all))
	d := s.directions(cs)
	if len(d) == 0 {
		return -1, geom.Vec{}
	}
	return parts(d[0], cs), d[0]
}

// TestContactMargins: how plainly a frame parts from its faces. On one wall along its normal: 1. On a wall and the floor
// along the bisector: sin 45 = 0.707. Between opposite walls it only slides: 0. Closed forms.
func TestContactMargins(t *testing.T) {
	back := geom.Box{Min: geom.V(-500, 0, 0), Max: geom.V(2000, 50, 2400)}

	k := newKit()
	k.room(back, floor())
	hoop(k, [2]geom.Vec{geom.V(0, 0, 1500), geom.V(1000, 0, 1500)}, [2]geom.Vec{my, my}, [2]geom.Vec{ex, mx},
		[2]geom.Vec{geom.V(0, -200, 1500), geom.V(1000, -200, 1500)})
	m, d := margins(k)
	assert.InDelta(t, 1, m, 1e-9)
	assert.True(t, d.Near(my, 1e-9))
	planned(t, k)

	k = newKit()
	k.room(back, floor())
	k.flange("fw", geom.V(0, 0, 800), my)
	k.flange("ff", geom.V(0, -400, 0), ez)
	k.fitting("e", "elbow", geom.V(0, -400, 800), ey, mz)
	k.pipe("a", "fw", "e", my)
	k.pipe("b", "ff", "e", ez)
	k.join(assembly.Face, "fw", "face", "room", "")
	k.join(assembly.Face, "ff", "face", "room", "")
	m, _ = margins(k)
	assert.InDelta(t, math.Sqrt2/2, m, 1e-9)

	m, d = margins(bay())
	assert.InDelta(t, 0, m, 1e-9)
	assert.InDelta(t, 0, d.X, 1e-9, "along the walls")
}

// TestUnionMeetsSideways: a union opened along its axis needs no force; opened sideways, the side that stays is bent by
// F = 3 E I g / L^3, and refused where that is more than two hands have.
func TestUnionMeetsSideways(t *testing.T) {
	inertia := math.Pi / 64 * (math.Pow(kitOD, 4) - math.Pow(kitBore, 4))
	for _, rung := range []float64{400, 600, 900} {
		k := rectangle(true, 900, rung)
		f := newFrame(k.input())
		var all []int
		for i := range f.parts {
			all = append(all, i)
		}
		s := f.newScene(all, false, f.ranks())
		half := f.index["low.union-1.b"]
		seat := contact{fixed: half, normal: mx}
		for i := range f.joints {
			if f.joints[i].Kind == assembly.UnionNut {
				seat.joint = i
			}
		}
		r := &removal{out: []leg{{by: mx.Mul(50)}}}
		got, stuck := s.springs(r, []contact{seat})
		assert.Empty(t, got, "along the axis")
		assert.Empty(t, stuck)

		r.out[0].by = my.Mul(50)
		got, stuck = s.springs(r, []contact{seat})
		force := 3 * 200e3 * inertia * 3.8 / math.Pow(rung, 3)
		if force > 222 {
			assert.Empty(t, got)
			require.Len(t, stuck, 1, "%g mm: %g N", rung, force)
			continue
		}
		require.Len(t, got, 1, "%g mm: %g N", rung, force)
		assert.InDelta(t, force, got[0].newtons, 1e-6)
	}
}
