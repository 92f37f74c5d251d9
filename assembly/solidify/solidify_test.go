package solidify

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
	"turnwise/geom/sdf/sdftest"
)

// sample is a part to try, with the catalogue's own words for it.
type sample struct {
	name    string
	part    assembly.Part
	fitting standard.Fitting
}

// partsOf returns the bodies of a fitting: the two halves of a union, else one.
func partsOf(name string, f standard.Fitting, length float64) []sample {
	p := assembly.Part{ID: name, Kind: f.Kind, Size: f.Sizes, Dims: f.Dims, LengthMM: length, MassKG: f.MassKG}
	if f.Kind != standard.Union {
		return []sample{{name, p, f}}
	}
	a, b := p, p
	a.ID, a.Half, b.ID, b.Half = name+".a", "a", name+".b", "b"
	return []sample{{a.ID, a, f}, {b.ID, b, f}}
}

// sizesOf lists what sizes to ask for, by kind.
func sizesOf(k standard.Kind, sizes []standard.Size) [][]standard.Size {
	var out [][]standard.Size
	for i, s := range sizes {
		if k != standard.Reducer && k != standard.Bushing {
			out = append(out, []standard.Size{s})
		}
		for _, t := range sizes[:i] {
			switch k {
			case standard.Reducer, standard.Bushing, standard.Elbow:
				out = append(out, []standard.Size{s, t})
			case standard.Tee:
				out = append(out, []standard.Size{s, s, t}, []standard.Size{t, t, s}, []standard.Size{s, t, s})
			}
		}
	}
	return out
}

// catalogues are those of both families, with all kinds of internal thread.
func catalogues() map[string]standard.Catalogue {
	return map[string]standard.Catalogue{
		"npt":      {Family: standard.NPT},
		"bspt":     {Family: standard.BSPT},
		"bspt, Rc": {Family: standard.BSPT, TaperInside: true, Series: standard.Heavy},
	}
}

var catalogueOrder = []string{"npt", "bspt", "bspt, Rc"}

// everyPart returns every kind at every size that the catalogues have; short: a few sizes of one.
func everyPart(t testing.TB, short bool) []sample {
	var out []sample
	sizes, names := standard.Sizes, catalogueOrder
	if short {
		sizes, names = []standard.Size{"1/2", "3/4"}, names[:1]
	}
	for _, name := range names {
		c := catalogues()[name]
		for _, k := range standard.Kinds() {
			switch k {
			case standard.Strap, standard.Pad, standard.Pipe, standard.Board, standard.Cleat, standard.Room:
				continue // not asked for as fittings; see plainParts
			}
			for _, ss := range sizesOf(k, sizes) {
				f, err := c.Fitting(k, ss)
				if err != nil {
					continue // no such row; counted by TestEveryKindIsTried
				}
				out = append(out, partsOf(fmt.Sprintf("%s %s %v", name, k, ss), f, 0)...)
			}
		}
		for _, s := range sizes {
			out = append(out, plainParts(t, name, c, s)...)
		}
	}
	return out
}

// plainParts returns pipes, a strap, a pad and casters of one size.
func plainParts(t testing.TB, name string, c standard.Catalogue, s standard.Size) []sample {
	var out []sample
	add := func(what string, f standard.Fitting, err error, length float64) {
		require.NoError(t, err, "%s %s %s", name, what, s)
		out = append(out, partsOf(fmt.Sprintf("%s %s %s", name, what, s), f, length)...)
	}
	for _, length := range []float64{standard.CloseNipple(c.Family, s).MM, 150, 1000} {
		f, err := c.Pipe(standard.PipeSpec{Size: s, LengthMM: length})
		add(fmt.Sprintf("pipe %.0f", length), f, err, length)
	}
	f, err := c.Pipe(standard.PipeSpec{Size: s, LengthMM: 300, Running: "a", Left: "b"})
	add("pipe with running thread", f, err, 300)
	f, err = c.StrapOver(s)
	add("strap", f, err, 0)
	if flange, err := c.Fitting(standard.Flange, []standard.Size{s}); err == nil {
		f, err = c.PadUnder(flange, 3)
		add("pad", f, err, 0)
	}
	f, err = c.BoardCaster()
	add("board caster", f, err, 0)
	return out
}

// holdsOf tells, without the distances of the solid, whether a point is in the metal that primitives describe.
func holdsOf(s standard.Solid) func(p geom.Vec) bool {
	if len(s.Loose) > 0 {
		one, other := holdsOf(standard.Solid{Add: s.Add, Cut: s.Cut}), holdsOf(s.Loose[0])
		return func(p geom.Vec) bool { return one(p) || other(p) }
	}
	var stars []func(p geom.Vec) bool
	for _, a := range s.Add {
		if a.Form == standard.Star {
			var rods []sdf.Rod
			for _, r := range a.Rods {
				rods = append(rods, sdf.Rod{Dir: vec(r.Dir), Length: r.Length, Radius: r.Radius})
			}
			stars = append(stars, sdftest.Rolled(a.Fillet, rods...))
		}
	}
	return func(p geom.Vec) bool {
		for _, c := range s.Cut {
			if within(c, p) {
				return false
			}
		}
		for _, a := range s.Add {
			if a.Form != standard.Star && within(a, p) {
				return true
			}
		}
		for _, star := range stars {
			if star(p) {
				return true
			}
		}
		return false
	}
}

func within(q standard.Primitive, p geom.Vec) bool {
	dir, side := vec(q.Dir), vec(q.Side)
	d := p.Sub(vec(q.At))
	s := d.Dot(dir)
	off := d.Sub(dir.Mul(s))
	switch q.Form {
	case standard.Ball:
		return d.Len() < q.Radius
	case standard.Block:
		return math.Abs(s) < q.Half[0] && math.Abs(d.Dot(side)) < q.Half[1] && math.Abs(d.Dot(dir.Cross(side))) < q.Half[2]
	case standard.Prism:
		u, v := d.Dot(side), d.Dot(dir.Cross(side))
		for k := range q.Flats {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / float64(q.Flats))
			if u*cos+v*sin >= q.Across/2 {
				return false
			}
		}
		return s > 0 && s < q.Length
	case standard.Bend:
		return withinBend(q, d, s)
	case standard.Flare:
		f, rim := q.Fillet, q.Radius+q.Fillet
		return s > -beyondMM && s < f && off.Len() < rim && math.Hypot(f-s, rim-off.Len()) > f
	}
	for i := 1; i < len(q.Profile); i++ {
		a, b := q.Profile[i-1], q.Profile[i]
		if s > a.S && s <= b.S && b.S > a.S {
			return off.Len() < a.R+(b.R-a.R)*(s-a.S)/(b.S-a.S) && s < q.Profile[len(q.Profile)-1].S
		}
	}
	return false
}

// withinBend walks along the lead, the arc and the trail.
func withinBend(q standard.Primitive, d geom.Vec, s float64) bool {
	dir, side := vec(q.Dir), vec(q.Side)
	t, up := d.Dot(side), d.Dot(dir.Cross(side))
	turn := q.TurnDeg * math.Pi / 180
	if s <= 0 && s > -q.Lead && math.Hypot(t, up) < q.Radius {
		return true
	}
	if a := math.Atan2(s, q.BendRadius-t); a >= 0 && a <= turn {
		return math.Hypot(math.Hypot(s, q.BendRadius-t)-q.BendRadius, up) < q.Radius
	}
	sin, cos := math.Sincos(turn)
	es, et := s-q.BendRadius*sin, t-q.BendRadius*(1-cos) // from the end of the arc
	x, y := es*cos+et*sin, -es*sin+et*cos
	return x >= 0 && x < q.Trail && math.Hypot(y, up) < q.Radius
}

// TestEveryPart runs the suite of package sdf on every kind and size, against the primitives of the standard.
func TestEveryPart(t *testing.T) {
	for _, tt := range everyPart(t, testing.Short()) {
		t.Run(tt.name, func(t *testing.T) {
			s, err := Solid(tt.part)
			require.NoError(t, err)
			shape, err := standard.SolidOf(tt.part.Kind, tt.part.Half, tt.part.Dims)
			require.NoError(t, err)
			sdftest.Check(t, s, sdftest.Claim{
				Inside: holdsOf(shape),
				Points: 250,
			})
		})
	}
}

// TestEveryKindIsTried: the list above leaves no kind of turned part out.
func TestEveryKindIsTried(t *testing.T) {
	seen := map[standard.Kind]int{}
	for _, s := range everyPart(t, false) {
		seen[s.part.Kind]++
	}
	for _, k := range standard.Kinds() {
		if !isBoxes(k) {
			assert.Positive(t, seen[k], "%s", k)
		}
	}
}

// TestMassOfTheSolid: the metal that the solid holds is the part's volume in closed form. Sampling with a fortieth of
// the part is good for 2 %; masses must agree to 5 %.
func TestMassOfTheSolid(t *testing.T) {
	for i, tt := range everyPart(t, true) {
		if testing.Short() && i%4 != 0 {
			continue
		}
		s, err := Solid(tt.part)
		require.NoError(t, err)
		shape, err := standard.SolidOf(tt.part.Kind, tt.part.Half, tt.part.Dims)
		require.NoError(t, err)
		want, err := shape.Volume()
		require.NoError(t, err)
		size := s.Bounds().Size()
		got := sdftest.Volume(s, min(size.X, size.Y, size.Z)/40)
		assert.InEpsilon(t, want, got, 0.02, tt.name)
	}
}

// sheetBallMM is the radius of the ball that must be all metal or all air for a point to count as off the surface, and
// sheetMM how far the distance must be from 0 there. Pieces of one body reach 1 mm into each other, so that a bound in
// the metal is never much less.
const sheetBallMM, sheetMM = 0.05, 1e-3

// TestNoSheets: no surface of a primitive shows where it lies inside the metal or in the air, as it would where pieces
// only touch. Random points never hit such a sheet, so they are carried onto every leaf.
func TestNoSheets(t *testing.T) {
	tried, least := 0, 5000
	if testing.Short() {
		least = 1000
	}
	for i, tt := range everyPart(t, true) {
		if testing.Short() && i%4 != 0 {
			continue
		}
		s, err := Solid(tt.part)
		require.NoError(t, err)
		shape, err := standard.SolidOf(tt.part.Kind, tt.part.Half, tt.part.Dims)
		require.NoError(t, err)
		leafed := s.(sdf.Leafed)
		holds := holdsOf(shape)
		for _, p := range metal(s, 60) {
			for k, leaf := range leafed.Leaves() {
				q := p.Sub(leaf.Gradient(p).Mul(leaf.Distance(p)))
				if uniform(holds, q) {
					tried++
					require.Greater(t, math.Abs(s.Distance(q)), sheetMM, "%s: leaf %d %+v at %v", tt.name, k, leaf, q)
				}
			}
		}
	}
	require.Greater(t, tried, least, "too few points lay off the surface")
}

// uniform tells whether all points near q are metal, or none.
func uniform(holds func(p geom.Vec) bool, q geom.Vec) bool {
	in := holds(q)
	for _, d := range (geom.Box{Min: geom.V(-1, -1, -1), Max: geom.V(1, 1, 1)}).Corners() {
		for _, e := range []geom.Vec{d, geom.V(d.X, 0, 0), geom.V(0, d.Y, 0), geom.V(0, 0, d.Z)} {
			if holds(q.Add(e.Unit().Mul(sheetBallMM))) != in {
				return false
			}
		}
	}
	return true
}
