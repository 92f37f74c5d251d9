package unite

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
)

// TestTrianglesOfFace: a square with round holes on a grid is divided into triangles that all run one way, as many as
// Euler's formula asks for, with the area of square less holes.
func TestTrianglesOfFace(t *testing.T) {
	for _, tt := range []struct{ holes, sides int }{{0, 0}, {1, 3}, {1, 60}, {5, 17}, {9, 40}} {
		at := map[int32]flat{}
		var points int32
		ring := func(n int, cx, cy, r, way float64) loop {
			l := loop{}
			for k := range n {
				s, c := math.Sincos(0.3 + way*2*math.Pi*float64(k)/float64(n))
				at[points] = flat{cx + r*c, cy + r*s}
				l.points = append(l.points, points)
				points++
			}
			return l
		}
		f := face{loops: []loop{ring(4, 0, 0, 100, 1)}}
		want, corners := 20000.0, 4
		for k := range tt.holes {
			f.loops = append(f.loops, ring(tt.sides, float64(k%3-1)*30, float64(k/3-1)*30, 14, -1))
			want -= float64(tt.sides) / 2 * 14 * 14 * math.Sin(2*math.Pi/float64(tt.sides))
			corners += tt.sides
		}
		ts := f.triangles(at)
		require.Len(t, ts, corners+2*tt.holes-2)
		sum := 0.0
		for _, c := range ts {
			area := turn(at[c[0]], at[c[1]], at[c[2]]) / 2
			assert.Positive(t, area)
			sum += area
		}
		assert.InEpsilon(t, want, sum, 1e-9)
	}
}

// TestPointsOnARim: points along one side of a triangle, all in line, leave no triangle without area.
func TestPointsOnARim(t *testing.T) {
	at := map[int32]flat{0: {0, 0}, 1: {100, 0}, 2: {0, 100}}
	l := loop{points: []int32{0, 10, 11, 12, 13, 14, 1, 2}}
	for k := range int32(5) {
		at[10+k] = flat{float64(k+1) * 7, 0}
	}
	for _, c := range (face{loops: []loop{l}}).triangles(at) {
		assert.Positive(t, turn(at[c[0]], at[c[1]], at[c[2]]))
	}
}

// TestOrient: signs that rounding would lose, against whole numbers.
func TestOrient(t *testing.T) {
	v := geom.V
	assert.Equal(t, 1, orient(v(0, 0, 0), v(1, 0, 0), v(0, 1, 0), v(0, 0, 1)))
	assert.Equal(t, -1, orient(v(0, 0, 0), v(0, 1, 0), v(1, 0, 0), v(0, 0, 1)))
	// Three points of the plane x + y + z = 3e3, and one an ulp of 1e3 off it or in it.
	a, b, c := v(1e3, 1e3, 1e3), v(2e3, 1e3, 0), v(3e3, -1e3, 1e3)
	ulp := math.Nextafter(1e3, 2e3) - 1e3
	assert.Equal(t, 0, orient(a, b, c, v(1e3+7, 1e3-3, 1e3-4)))
	up := orient(a, b, c, v(1e3, 1e3, 2e3))
	assert.Equal(t, up, orient(a, b, c, v(1e3, 1e3, 1e3+ulp)))
	assert.Equal(t, -up, orient(a, b, c, v(1e3, 1e3-ulp, 1e3)))
}
