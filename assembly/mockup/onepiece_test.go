package mockup_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/mockup"
	"turnwise/geom/mesh"
)

// TestOnePiece: the whole frame is one closed solid; where it is longer than the bed it falls into pieces that go on it, which
// together are as much as the whole, but for holes, tabs and collars.
func TestOnePiece(t *testing.T) {
	plan := planText(t, kinds["bored"].text)
	wholeOf := func(bed float64) mockup.Whole {
		m, err := mockup.Build(plan, mockup.Options{Scale: 4, BedMM: [2]float64{bed, bed}, OnePiece: true})
		require.NoError(t, err)
		w, err := m.OnePiece()
		require.NoError(t, err)
		return w
	}
	one := wholeOf(260)
	require.Len(t, one.Pieces, 1)
	assert.Zero(t, one.Pins)
	assert.Equal(t, 1, mesh.Shells(one.Pieces[0]))
	size := mesh.Bounds(one.Pieces[0]).Size()
	assert.InDelta(t, 600.0/4, size.Z, 10, "as high as the post, and half a fitting")
	cut := wholeOf(120)
	assert.Greater(t, len(cut.Pieces), 1)
	assert.Positive(t, cut.Pins)
	volume := 0.0
	for _, p := range cut.Pieces {
		require.NoError(t, mesh.Check(p))
		s := mesh.Bounds(p).Size()
		assert.LessOrEqual(t, max(s.X, s.Y, s.Z), 120-6.0)
		assert.Positive(t, mesh.Volume(p))
		volume += mesh.Volume(p)
	}
	assert.InEpsilon(t, mesh.Volume(one.Pieces[0]), volume, 0.03)
	m, err := mockup.Build(plan, mockup.Options{})
	require.NoError(t, err)
	w, err := m.OnePiece()
	require.NoError(t, err)
	assert.Empty(t, w.Pieces, "only where it is asked for")
}
