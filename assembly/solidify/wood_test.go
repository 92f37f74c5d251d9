package solidify

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf/sdftest"
)

// inBoard tells whether a point is in the wood, without distances.
func inBoard(part assembly.Part, p geom.Vec) bool {
	for _, h := range part.Holes {
		d := p.Sub(h.At)
		s := d.Dot(h.Dir)
		if d.Sub(h.Dir.Mul(s)).Len() < h.Diameter/2 && (h.Depth == 0 || s < h.Depth) {
			return false
		}
	}
	for _, b := range part.Boxes {
		if b.Contains(p) {
			return true
		}
	}
	return false
}

// TestBoard runs the suite of package sdf on a bored board.
func TestBoard(t *testing.T) {
	part := board()
	s, err := Solid(part)
	require.NoError(t, err)
	sdftest.Check(t, s, sdftest.Claim{Inside: func(p geom.Vec) bool { return inBoard(part, p) }})
	near := geom.Box{Min: geom.V(85, 215, -5), Max: geom.V(145, 305, 25)} // the edge notch
	sdftest.Check(t, s, sdftest.Claim{Inside: func(p geom.Vec) bool { return inBoard(part, p) }, Within: near})
}

// TestBoardVolume against plain arithmetic: a plate, one through hole, one pocket.
func TestBoardVolume(t *testing.T) {
	s, err := Solid(assembly.Part{
		ID: "b", Kind: standard.Board, Boxes: []geom.Box{{Min: geom.V(0, 0, 0), Max: geom.V(200, 100, 20)}},
		Holes: []assembly.Hole{
			{At: geom.V(50, 50, 0), Dir: geom.AxisZ, Diameter: 30},
			{At: geom.V(150, 50, 20), Dir: geom.AxisZ.Neg(), Diameter: 40, Depth: 5},
		},
	})
	require.NoError(t, err)
	want := 200.*100*20 - math.Pi*15*15*20 - math.Pi*20*20*5
	assert.InEpsilon(t, want, sdftest.Volume(s, 0.8), 5e-3) // what sampling with 0.8 mm is good for
}

// TestCleatAndRoom: boxes as they are, without seams where they touch.
func TestCleatAndRoom(t *testing.T) {
	for _, k := range []standard.Kind{standard.Cleat, standard.Room} {
		s, err := Solid(assembly.Part{ID: "c", Kind: k, Boxes: []geom.Box{
			{Min: geom.V(0, 0, 0), Max: geom.V(100, 19, 60)}, {Min: geom.V(0, 19, 0), Max: geom.V(100, 40, 20)},
		}})
		require.NoError(t, err)
		assert.InDelta(t, -10, s.Distance(geom.V(50, 19, 10)), 1e-9, "%s, on the seam", k)
		assert.InDelta(t, 5, s.Distance(geom.V(50, 10, 65)), 1e-9, "%s", k)
	}
}

// TestFaults: what makes no body is an error with the part's name, never a panic or an empty solid.
func TestFaults(t *testing.T) {
	var c standard.Catalogue
	elbow, err := c.Fitting(standard.Elbow, []standard.Size{"3/4"})
	require.NoError(t, err)
	change := func(name string, mm float64) standard.Dims {
		d := standard.Dims{}
		for k, v := range elbow.Dims {
			d[k] = v
		}
		d[name] = standard.Figure{MM: mm}
		return d
	}
	missing := change("x", 1)
	delete(missing, standard.DimBendRadius)
	plate := []geom.Box{{Min: geom.V(0, 0, 0), Max: geom.V(1, 1, 1)}}
	for i, p := range []assembly.Part{
		{Kind: standard.Board}, {Kind: standard.Board, Boxes: []geom.Box{{}}}, {Kind: "unheard-of"}, {Kind: standard.Elbow},
		{Kind: standard.Elbow, Dims: missing}, {Kind: standard.Union, Dims: elbow.Dims},
		{Kind: standard.Elbow, Dims: change("bend-radius", 1)}, {Kind: standard.Elbow, Dims: change("bend-radius", math.NaN())},
		{Kind: standard.Elbow, Dims: change("reach.a", math.Inf(1))}, {Kind: standard.Elbow, Dims: change("bore.a", -3)},
		{Kind: standard.Board, Boxes: plate, Holes: []assembly.Hole{{Diameter: 3}}},
		{Kind: standard.Board, Boxes: plate, Holes: []assembly.Hole{{Dir: geom.AxisZ, Diameter: math.NaN()}}},
	} {
		p.ID = "culprit"
		s, err := Solid(p)
		assert.Nil(t, s, "case %d", i)
		assert.ErrorContains(t, err, "culprit", "case %d", i)
		assert.NotEmpty(t, Key(p), "case %d", i)
		_, _ = Outline(p) // must not panic
	}
}
