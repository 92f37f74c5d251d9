package picture

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/render"
)

// deuteranope turns linear red, green and blue into what somebody sees who lacks the green cones: the matrix for
// deuteranomaly of severity 1.0 in Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of
// color vision deficiency", IEEE TVCG 15(6), 2009 (figures from memory of its table; each row sums to 1).
var deuteranope = [3][3]float64{
	{0.367322, 0.860646, -0.227968},
	{0.280085, 0.672501, 0.047413},
	{-0.011820, 0.042940, 0.968881},
}

func asSeen(m [3][3]float64, c render.Colour) (out [3]float64) {
	linear := func(b uint8) float64 {
		s := float64(b) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	v := [3]float64{linear(c.R), linear(c.G), linear(c.B)}
	for i := range out {
		for k := range v {
			out[i] += m[i][k] * v[k]
		}
	}
	return out
}

// lightness is CIE L* of linear red, green and blue (weights of IEC 61966-2-1).
func lightness(v [3]float64) float64 {
	y := max(0, 0.2126*v[0]+0.7152*v[1]+0.0722*v[2])
	if y <= 216.0/24389 {
		return y * 24389 / 27
	}
	return 116*math.Cbrt(y) - 16
}

// TestTonesWithoutGreenCones: the rows of the matrix leave white white, and the families keep their order of lightness
// with at least six steps of L* between neighbours, in the light and in the shade, for who sees all colours and for who
// lacks the green cones. Two or three steps are told apart side by side (common practice).
func TestTonesWithoutGreenCones(t *testing.T) {
	for _, row := range deuteranope {
		assert.InDelta(t, 1, row[0]+row[1]+row[2], 1e-3)
	}
	full := [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	for name, m := range map[string][3][3]float64{"all cones": full, "no green cones": deuteranope} {
		last := [2]float64{200, 200}
		for k, tone := range tones {
			for i, c := range []render.Colour{tone.Light, tone.Shade} {
				l := lightness(asSeen(m, c))
				assert.Less(t, l, last[i]-6, "%s: %s", name, Families[k])
				last[i] = l
			}
		}
	}
}

// TestActIsToldFromParts: what the builder does is drawn darker than any family but the darkest, on a pale edge, for who
// lacks the green cones too.
func TestActIsToldFromParts(t *testing.T) {
	act := lightness(asSeen(deuteranope, actInk))
	assert.Greater(t, lightness(asSeen(deuteranope, paper))-act, 50.0)
	for k, tone := range tones {
		assert.Greater(t, lightness(asSeen(deuteranope, paleTone(tone).Light))-act, 40.0, Families[k])
	}
}
