package enclosure

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
)

func at(value float64, axis Axis, place float64) Reading {
	r := Reading{Value: value}
	r.At[axis], r.On[axis] = place, true
	return r
}

func TestFaceStraightBetweenLevelBeyond(t *testing.T) {
	f, err := NewFace(0, false, []Reading{at(1288, 2, 2000), at(1300, 2, 0), at(1296, 2, 1000)})
	require.NoError(t, err)
	for _, tt := range []struct{ z, want float64 }{{-50, 1300}, {0, 1300}, {500, 1298}, {1000, 1296}, {1500, 1292}, {2400, 1288}} {
		assert.InDelta(t, tt.want, f.At(geom.V(7, 9, tt.z)), 1e-9, "z %g", tt.z)
	}
	assert.True(t, f.IsBeyond(geom.V(0, 0, 2001)))
	assert.False(t, f.IsBeyond(geom.V(0, 0, 1999)))
	assert.Equal(t, 1288.0, f.Least())
	assert.Equal(t, 1300.0, f.Most())
}

func TestFacePlaneIsExactThroughThree(t *testing.T) {
	read := func(x, y float64) Reading {
		return Reading{Value: 5 + 0.01*x - 0.02*y, At: [3]float64{x, y, 0}, On: [3]bool{true, true, false}}
	}
	f, err := NewFace(2, true, []Reading{read(0, 20), read(1000, 30), read(400, 900)})
	require.NoError(t, err)
	assert.InDelta(t, 5+0.01*333-0.02*77, f.At(geom.V(333, 77, 0)), 1e-9)
	n := f.Normal(geom.V(333, 77, 0))
	assert.InDelta(t, 1, n.Len(), 1e-12)
	assert.InDelta(t, -0.02/0.01, n.Y/n.X, 1e-6, "normal %v leans against the slope", n)
	assert.Positive(t, n.Z, "a floor faces up")

	_, err = NewFace(2, true, []Reading{read(0, 0), read(100, 100), read(200, 200)})
	assert.ErrorIs(t, err, ErrPlane)
}

func TestFaceFaults(t *testing.T) {
	_, err := NewFace(0, true, nil)
	assert.ErrorIs(t, err, ErrNone)
	_, err = NewFace(0, true, []Reading{at(1, 2, 0), {Value: 3}})
	assert.ErrorIs(t, err, ErrMixed)
	_, err = NewFace(0, true, []Reading{at(1, 0, 0)})
	assert.ErrorIs(t, err, ErrOwnAxis)
	_, err = NewFace(0, true, []Reading{at(1, 2, 5), at(2, 2, 5)})
	assert.ErrorIs(t, err, ErrTwice)
	_, err = NewFace(0, true, []Reading{{Value: 1}, {Value: 2}})
	assert.ErrorIs(t, err, ErrManyFlat)
}

// TestBoxesLieBehind checks, at many places, that the stack never stands in front of the surface and never lies more
// than MaxStepMM behind it.
func TestBoxesLieBehind(t *testing.T) {
	f, err := NewFace(0, false, []Reading{at(1300, 2, 0), at(1296, 2, 1000), at(1288, 2, 2000)})
	require.NoError(t, err)
	boxes := f.Boxes(geom.Box{Min: geom.V(0, 0, 0), Max: geom.V(1300, 600, 2400)}, 50, nil)
	require.NotEmpty(t, boxes)
	for z := 3.0; z < 2400; z += 7 {
		front := math.Inf(1)
		for _, b := range boxes {
			if z >= b.Min.Z && z <= b.Max.Z {
				front = math.Min(front, b.Min.X)
			}
		}
		gap := front - f.At(geom.V(0, 0, z))
		assert.GreaterOrEqual(t, gap, -1e-9, "z %g", z)
		assert.LessOrEqual(t, gap, MaxStepMM+1e-9, "z %g", z)
	}
}

func TestBoxesGiveWayUnderASeat(t *testing.T) {
	f, err := NewFace(2, true, []Reading{at(0, 0, 0), at(-15.875, 0, 1524)})
	require.NoError(t, err)
	foot := geom.V(700, 100, 0)
	foot.Z = f.At(foot)
	boxes := f.Boxes(geom.Box{Min: geom.V(-100, 0, 0), Max: geom.V(2000, 600, 0)}, 50, []Seat{{foot, 40}})
	for _, b := range boxes {
		if b.Min.X < foot.X+40-1e-9 && b.Max.X > foot.X-40+1e-9 {
			assert.LessOrEqual(t, b.Max.Z, foot.Z+1e-9, "box %v stands above the foot", b)
		}
	}
}

// TestCleatStackStaysOutOfTheWall checks that the boxes of a board laid flat on a leaning surface never reach into the
// boxes of the surface itself, whatever part of it the board covers, and that they lie against it to twice the step.
func TestCleatStackStaysOutOfTheWall(t *testing.T) {
	const thick = 19.05
	lean := func(off float64) map[string][]Reading {
		plane := []Reading{}
		for _, c := range [][3]float64{{0, 0, 0}, {600, 0, 4}, {0, 2000, 11}} {
			r := Reading{Value: c[2] + off, On: [3]bool{false, true, true}}
			r.At[1], r.At[2] = c[0], c[1]
			plane = append(plane, r)
		}
		return map[string][]Reading{
			"inwards":  {at(off, 2, 0), at(9.525+off, 2, 2032)},
			"outwards": {at(9.525+off, 2, 0), at(off, 2, 2032)},
			"bent":     {at(off, 2, 0), at(9+off, 2, 900), at(3+off, 2, 2000)},
			"twisted":  plane,
		}
	}
	for name, readings := range lean(0) {
		t.Run(name, func(t *testing.T) {
			wall, err := NewFace(0, true, readings)
			require.NoError(t, err)
			outer, err := NewFace(0, true, lean(thick)[name])
			require.NoError(t, err)
			for i, low := range []float64{100, 100, 731, 731, 1574.8, 1574.8, 1990, 1990} {
				var seats []Seat
				if i%2 == 1 {
					seats = []Seat{{geom.V(0, 300, low+70), 44.45}}
				}
				room := wall.Boxes(geom.Box{Min: geom.V(0, -1000, -200), Max: geom.V(0, 1500, 2600)}, 50, seats)
				cleat := outer.Boxes(geom.Box{Min: geom.V(0, 50, low), Max: geom.V(0, 560, low+152.4)}, thick, seats)
				for _, c := range cleat {
					for _, w := range room {
						in := c.Intersect(w)
						require.True(t, in.IsEmpty() || in.Volume() < 1e-3, "%v reaches into %v", c, w)
					}
					face := wall.At(geom.V(0, (c.Min.Y+c.Max.Y)/2, (c.Min.Z+c.Max.Z)/2))
					require.InDelta(t, face, c.Min.X, MaxStepMM)
				}
			}
		})
	}
}
