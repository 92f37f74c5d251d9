package bom_test

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/assembly"
	"turnwise/assembly/bom"
	"turnwise/assembly/standard"
)

// sawn are invented pipes of one size, to be cut from sticks of a length.
func sawn(stickMM float64, lengths ...float64) *assembly.Assembly {
	a := &assembly.Assembly{Sticks: []assembly.StockStick{{Size: "1/2", LengthMM: stickMM, Source: "invented"}}}
	for i, l := range lengths {
		a.Parts = append(a.Parts, assembly.Part{Number: i + 1, Kind: standard.Pipe, Size: assembly.Sizes{"1/2"}, LengthMM: l})
	}
	return a
}

// TestSticksExactFit: pieces and kerfs that fill a stick to its end fit on it; with a hair more they do not.
func TestSticksExactFit(t *testing.T) {
	assert.Len(t, bom.Sticks(sawn(3000, 1000, 994, 1000)), 1, "three pieces and two kerfs of 3 mm")
	assert.Len(t, bom.Sticks(sawn(3000, 1000, 994.01, 1000)), 2)
	one := bom.Sticks(sawn(3000, 3000))
	assert.Len(t, one, 1, "a whole stick needs no cut")
	assert.Zero(t, one[0].LeftMM)
	assert.Empty(t, bom.Sticks(sawn(3000, 3001)), "longer than the stick")
}

// TestSticksBeatFirstFit: the classic list on which the longest first, each where it first fits, wastes a stick: of room
// 10, the pieces 5, 4, 4, 3, 2, 2 fit on two (5 3 2 and 4 4 2), first fit takes 5 4, 4 3 2, 2.
func TestSticksBeatFirstFit(t *testing.T) {
	const unit = 303.0 // room 10 units less a kerf each
	var lengths []float64
	for _, l := range []float64{5, 4, 4, 3, 2, 2} {
		lengths = append(lengths, l*unit-bom.KerfMM)
	}
	assert.Len(t, bom.Sticks(sawn(10*unit-bom.KerfMM, lengths...)), 2)
}

// TestSticksHold: on lists drawn at random every piece is cut once, no stick is overdrawn, and no fewer sticks than the
// sum of lengths asks for are claimed; the order of the parts changes nothing but numbers.
func TestSticksHold(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	for range 60 {
		var lengths []float64
		sum := 0.0
		for range 1 + r.IntN(24) {
			lengths = append(lengths, 60+float64(r.IntN(1900)))
			sum += lengths[len(lengths)-1]
		}
		const stick = 3048.0
		plan := bom.Sticks(sawn(stick, lengths...))
		var got []float64
		for _, s := range plan {
			used := -bom.KerfMM
			for _, p := range s.Pieces {
				used += p.LengthMM + bom.KerfMM
				got = append(got, p.LengthMM)
			}
			assert.LessOrEqual(t, used, stick+1e-6)
			assert.InDelta(t, max(0, stick-used-bom.KerfMM), s.LeftMM, 1e-6)
		}
		slices.Sort(got)
		want := slices.Sorted(slices.Values(lengths))
		assert.Equal(t, want, got)
		assert.GreaterOrEqual(t, float64(len(plan))*stick, sum)
		slices.Reverse(lengths)
		assert.Len(t, bom.Sticks(sawn(stick, lengths...)), len(plan))
	}
}

// TestSticksLeaveStock: what is bought at its length is not cut, and pieces that no machine grips are marked.
func TestSticksLeaveStock(t *testing.T) {
	a := sawn(3000, 500, 150, 152.4)
	a.Parts[2].Stock = true
	plan := bom.Sticks(a)
	assert.Len(t, plan, 1)
	assert.Equal(t, []assembly.StickPiece{{Number: 1, LengthMM: 500}, {Number: 2, LengthMM: 150, Short: true}}, plan[0].Pieces)
	assert.Empty(t, bom.Sticks(&assembly.Assembly{Parts: a.Parts}), "no stick is known")
}
