package replay

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/solidify"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// Half b of a 3/4 union of the catalogue, its nut drawn back: nothing is left in front of the seat, the hexagon's corners
// reach as far back as it was long, and the leg is as it was.
func TestNutBack(t *testing.T) {
	var cat standard.Catalogue
	f, err := cat.Fitting(standard.Union, []standard.Size{"3/4"})
	require.NoError(t, err)
	p := assembly.Part{ID: "b", Kind: f.Kind, Half: "b", Dims: f.Dims}
	s, err := solidify.Solid(p)
	require.NoError(t, err)
	open, box, ok := nutBack(&p, s)
	require.True(t, ok)

	over, back := p.Dims[standard.DimNutOver].MM, p.Dims[standard.DimNutBack].MM
	corner := p.Dims[standard.DimAcross].MM/2 + 0.5 // beyond the flats, within the corners at 30 degrees
	at := func(r, z float64) geom.Vec { return geom.V(r*math.Cos(math.Pi/6), r*math.Sin(math.Pi/6), z) }
	for z := -over + 0.5; z < 0; z++ {
		assert.Negative(t, s.Distance(at(corner, z)), "the nut as drawn, at %v", z)
		assert.Positive(t, open.Distance(at(corner, z)), "drawn back, at %v", z)
	}
	for z := 0.5; z < over+back-0.5; z++ {
		assert.Negative(t, open.Distance(at(corner, z)), "the nut drawn back, at %v", z)
	}
	assert.Positive(t, open.Distance(at(corner, over+back+0.5)))
	reach := p.Dims.MM(standard.DimReach, "b")
	wall := (p.Dims.MM(standard.DimPitchDia, "b") + p.Dims.MM(standard.DimBandOD, "b")) / 4
	assert.Negative(t, open.Distance(at(wall, reach-2)), "the leg's band")
	assert.Positive(t, open.Distance(at(0, reach/2)), "the bore")
	assert.Zero(t, box.Min.Z)
	assert.Equal(t, max(reach, over+back), box.Max.Z)

	p.Half = "a"
	_, _, ok = nutBack(&p, s)
	assert.False(t, ok, "half a has no nut")
	_, _, ok = nutBack(&assembly.Part{Half: "b"}, s)
	assert.False(t, ok, "dimensions unknown: the nut stays as drawn")
}
