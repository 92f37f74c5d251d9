package standard

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// everyFitting calls do for every fitting that can be made, of both families, in all make-ups.
func everyFitting(t *testing.T, do func(c *Catalogue, f Fitting)) {
	t.Helper()
	for _, c := range []*Catalogue{
		{}, {MakeUp: MakeUpGauge}, {MakeUp: MakeUpHand}, {Family: BSPT}, {Family: BSPT, TaperInside: true, Series: Heavy},
		{Family: BSPT, MakeUp: MakeUpHand},
	} {
		for _, kind := range append(FittingKinds(), RightLeft, LongScrew) {
			for i, big := range Sizes {
				for _, sizes := range sizesOf(c, kind, i, big) {
					f, err := c.Fitting(kind, sizes)
					require.NoError(t, err, "%s %s %v", c.Family, kind, sizes)
					do(c, f)
				}
			}
		}
	}
}

// sizesOf lists what a kind is made in with that larger size.
func sizesOf(c *Catalogue, kind Kind, i int, big Size) [][]Size {
	fam := c.Family
	if fam == "" {
		fam = NPT
	}
	var out [][]Size
	if kind != Reducer && kind != Bushing {
		out = append(out, []Size{big})
	}
	for _, small := range Sizes[:i] {
		pair := []Size{big, small}
		if kind == Tee {
			pair = []Size{big, big, small}
		}
		if len(layout[kind]) == len(pair) && has(fam, kind, pair) {
			out = append(out, pair)
		}
	}
	return out
}

// Every fitting is complete: every figure has a source and a grade, ports are where the vocabulary says, threads reach
// a turn past the engagement, and there is metal round each opening.
func TestEveryFittingIsComplete(t *testing.T) {
	n := 0
	everyFitting(t, func(c *Catalogue, f Fitting) {
		n++
		for name, d := range f.Dims {
			require.NotEmpty(t, d.Source, "%s: %s", f.Text, name)
			require.True(t, grades[d.Grade], "%s: %s grade %q", f.Text, name, d.Grade)
			require.False(t, math.IsNaN(d.MM) || math.IsInf(d.MM, 0) || d.MM < 0, "%s: %s %v", f.Text, name, d.MM)
		}
		require.Greater(t, f.MassKG, 0.0, f.Text)
		require.NotEmpty(t, f.Material)
		for _, p := range f.Ports {
			checkPort(t, f, p)
		}
	})
	assert.Greater(t, n, 1000)
}

func checkPort(t *testing.T, f Fitting, p Port) {
	t.Helper()
	if p.Plain {
		return
	}
	get := func(dim string) float64 { return f.Dims.MM(dim, p.Name) }
	require.Equal(t, p.ReachMM, get(DimReach), f.Text)
	require.Greater(t, p.Engagement.MM, 0.0)
	room := get(DimThreadLength)
	switch {
	case f.Kind == Flange: // threaded right through, the pipe may pass the face
	case p.Male:
		require.GreaterOrEqual(t, room, p.Engagement.MM, f.Text)
	default:
		turn := math.Min(p.Engagement.MM+p.Pitch.MM, deepest(f, p))
		require.GreaterOrEqual(t, room, turn-1e-9, "%s port %s: a turn past the engagement", f.Text, p.Name)
	}
	if band, ok := f.Dims[DimBandOD+"."+p.Name]; ok {
		require.Greater(t, band.MM, get(DimBodyOD), f.Text)
		require.Greater(t, get(DimBodyOD)-get(DimPitchDia), 2.0, "%s: a millimetre of metal round the thread", f.Text)
		if f.Kind != SideElbow || f.Family == NPT {
			require.Greater(t, get(DimBodyOD)-get(DimBore), 2.0, f.Text)
		}
	}
}

// deepest is how deep a thread of that port can be at all.
func deepest(f Fitting, p Port) float64 {
	switch f.Kind {
	case Cap:
		return f.Dims.MM(DimHeight, "") - f.Dims.MM(DimWall, "")
	case Bushing:
		return f.Dims.MM(DimLength, "")
	}
	return p.ReachMM
}

// Mating plain threads: npt cones touch at hand-tight L1 and overlap by (e - L1) / 32 on the radius at engagement e;
// parallel internal threads have the gauge-plane diameter, so the pipe is a gauge length in when it touches the mouth.
func TestMatingThreads(t *testing.T) {
	for _, c := range []*Catalogue{{}, {Family: BSPT}, {Family: BSPT, TaperInside: true}} {
		for _, s := range Sizes {
			tee, err := c.Fitting(Tee, []Size{s})
			require.NoError(t, err)
			pipe, err := c.Pipe(PipeSpec{Size: s, LengthMM: 500})
			require.NoError(t, err)
			l1, e := tee.Ports[0].HandTight.MM, tee.Ports[0].Engagement.MM
			mouth := tee.Dims.MM(DimPitchDia, "a")
			end := pipe.Dims.MM(DimPitchDia, "b")
			assert.InDelta(t, mouth, end+l1/16, 4e-4, "%s: touch at L1", s)
			overlap := (end + e*Taper - mouth) / 2
			assert.InDelta(t, (e-l1)/32, overlap, 4e-4, "%s", s)
			assert.Equal(t, c.Family == BSPT && !c.TaperInside, tee.Ports[0].Parallel)
			assert.GreaterOrEqual(t, pipe.Dims.MM(DimThreadLength, "b"), e+pipe.Ports[0].Pitch.MM-1e-9)
		}
	}
}

// The part frames that package assembly describes, by kind.
func TestPortDirections(t *testing.T) {
	c := &Catalogue{}
	dir := func(k Kind, port string) [3]float64 {
		sizes := []Size{"1/2"}
		if k == Reducer || k == Bushing {
			sizes = []Size{"3/4", "1/2"}
		}
		f, err := c.Fitting(k, sizes)
		require.NoError(t, err)
		p, ok := f.Port(port)
		require.True(t, ok, "%s %s", k, port)
		return p.Dir
	}
	for _, k := range []Kind{Tee, Cross, SideTee, Coupling, Reducer, RightLeft, LongScrew, Union, Bushing} {
		assert.Equal(t, [3]float64{0, 0, -1}, dir(k, "a"), k)
		assert.Equal(t, [3]float64{0, 0, 1}, dir(k, "b"), k)
	}
	for _, k := range []Kind{Elbow, Elbow45, StreetElbow, StreetElbow45, SideElbow} {
		assert.Equal(t, [3]float64{1, 0, 0}, dir(k, "a"), k)
	}
	b := dir(Elbow45, "b")
	assert.InDelta(t, math.Cos(135*math.Pi/180), b[0], 1e-15)
	assert.InDelta(t, math.Sin(135*math.Pi/180), b[1], 1e-15)
	assert.Equal(t, [3]float64{0, 1, 0}, dir(SideTee, "d"))
	assert.Equal(t, [3]float64{-1, 0, 0}, dir(Cross, "d"))
	assert.Equal(t, [3]float64{0, 0, 1}, dir(SideElbow, "c"))
	assert.Equal(t, [3]float64{0, 0, -1}, dir(Cap, "a"))
	assert.Equal(t, [3]float64{0, 0, -1}, dir(Plug, "a"))
	for _, k := range []Kind{Flange, Glide, Caster} {
		assert.Equal(t, [3]float64{0, 0, -1}, dir(k, "face"), k)
		assert.Equal(t, [3]float64{0, 0, 1}, dir(k, "a"), k)
	}
	for _, k := range Kinds() { // every threaded pair is square, straight or at 135 degrees
		for _, p := range PortsOf(k) {
			assert.InDelta(t, 1, dot(p.Dir, p.Dir), 1e-15)
		}
	}
}

// A flange is the middle of its range, says so, and asks to be measured.
func TestFlangeMiddle(t *testing.T) {
	c := &Catalogue{}
	f, err := c.Fitting(Flange, []Size{"1/2"})
	require.NoError(t, err)
	for dim, want := range map[string]float64{DimHeight: 0.7, DimAcross: 3.125, DimPlate: 0.22, DimCircle: 2.3, DimHole: 0.235} {
		assert.InDelta(t, want, in(f.Dims[dim]), 1e-9, dim)
		assert.Equal(t, MemoryLow, f.Dims[dim].Grade)
		assert.Contains(t, f.Dims[dim].Source, "measure yours")
	}
	assert.Equal(t, 4.0, f.Dims[DimHoles].MM)
	holes := FlangeHoles(f.Dims)
	require.Len(t, holes, 4)
	assert.InDelta(t, holes[0][0], holes[0][1], 1e-9, "the first hole is at 45 degrees")
	assert.InDelta(t, in(f.Dims[DimHeight])-0.5, f.Ports[1].TakeoutMM()/mmPerInch, 1e-9)
	for _, s := range Sizes {
		f, err := c.Fitting(Flange, []Size{s})
		require.NoError(t, err)
		d := f.Dims
		assert.Greater(t, d.MM(DimCircle, "")-d.MM(DimHole, ""), d.MM(DimHubOD, ""), "%s: holes clear of the hub", s)
		assert.Less(t, d.MM(DimCircle, "")+d.MM(DimHole, ""), d.MM(DimAcross, ""), s)
	}
}

func TestOverrides(t *testing.T) {
	one := []Size{"3/4"}
	tests := []struct {
		name string
		over []Override
		kind Kind
		size []Size
		dim  string
		want float64
		keys []string
	}{
		{"size", []Override{{Sizes: one, Key: KeyEngagement, Values: []float64{12}}}, Tee, one, "engagement.c", 12, []string{"engagement"}},
		{"size and kind before size", []Override{
			{Sizes: one, Kind: Tee, Key: KeyEngagement, Values: []float64{11}}, {Sizes: one, Key: KeyEngagement, Values: []float64{12}},
		}, Tee, one, "engagement.a", 11, []string{"engagement"}},
		{"size before kind", []Override{
			{Sizes: one, Key: KeyEngagement, Values: []float64{12}}, {Kind: Tee, Key: KeyEngagement, Values: []float64{10}},
		}, Tee, one, "engagement.a", 12, []string{"engagement"}},
		{"other size is left alone", []Override{{Sizes: []Size{"1"}, Key: KeyEngagement, Values: []float64{12}}}, Tee, one, "engagement.a", 14.2875, []string{}},
		{"the last of equals", []Override{
			{Kind: Flange, Key: KeyHeight, Values: []float64{20}}, {Kind: Flange, Key: KeyHeight, Values: []float64{21}},
		}, Flange, one, "height", 21, []string{"height"}},
		{"centre to end", []Override{{Sizes: one, Kind: Elbow, Key: KeyCentreToEnd, Values: []float64{32}}}, Elbow, one, "reach.b", 32, []string{"centre-to-end"}},
		{"run then outlet", []Override{{Sizes: []Size{"3/4", "1/2"}, Kind: Tee, Key: KeyCentreToEnd, Values: []float64{29, 30}}},
			Tee, []Size{"3/4", "3/4", "1/2"}, "reach.c", 30, []string{"centre-to-end"}},
		{"run of the same", []Override{{Sizes: []Size{"3/4", "1/2"}, Kind: Tee, Key: KeyCentreToEnd, Values: []float64{29, 30}}},
			Tee, []Size{"3/4", "3/4", "1/2"}, "reach.b", 29, []string{"centre-to-end"}},
		{"engagement of a reducing tee", []Override{{Sizes: []Size{"3/4", "1/2"}, Kind: Tee, Key: KeyEngagement, Values: []float64{11}}},
			Tee, []Size{"3/4", "3/4", "1/2"}, "engagement.c", 11, []string{"engagement"}},
		{"one size of a reducing tee", []Override{{Sizes: []Size{"1/2"}, Key: KeyEngagement, Values: []float64{11}}},
			Tee, []Size{"3/4", "3/4", "1/2"}, "engagement.c", 11, []string{"engagement"}},
		{"union length", []Override{{Sizes: one, Kind: Union, Key: KeyLength, Values: []float64{54}}}, Union, one, "reach.a", 27, []string{"length"}},
		{"cap length is its height", []Override{{Kind: Cap, Key: KeyLength, Values: []float64{26}}}, Cap, one, "height", 26, []string{"length"}},
		{"across, circle, holes", []Override{
			{Kind: Flange, Key: KeyAcross, Values: []float64{80}}, {Kind: Flange, Key: KeyCircle, Values: []float64{60}}, {Kind: Flange, Key: KeyHoles, Values: []float64{3}},
		}, Flange, one, "holes", 3, []string{"across", "circle", "holes"}},
		{"countersink", []Override{{Kind: Flange, Key: KeyCountersink, Values: []float64{9}}}, Flange, one, "countersink", 9, []string{"countersink"}},
		{"glide height", []Override{{Kind: Glide, Key: KeyHeight, Values: []float64{12}}}, Glide, one, "reach.a", 12, []string{"height"}},
		{"caster rated", []Override{{Kind: Caster, Key: KeyRated, Values: []float64{500}}}, Caster, one, "rated", 500, []string{"rated"}},
		{"bushing length", []Override{{Kind: Bushing, Key: KeyLength, Values: []float64{25}}}, Bushing, []Size{"3/4", "1/2"}, "length", 25, []string{"length"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f, err := (&Catalogue{Overrides: tt.over}).Fitting(tt.kind, tt.size)
			require.NoError(t, err)
			assert.InDelta(t, tt.want, f.Dims[tt.dim].MM, 1e-9)
			assert.Equal(t, tt.keys, f.Override)
			if len(tt.keys) > 0 {
				assert.Equal(t, Measured, f.Dims[tt.dim].gradeOrHalf())
			}
		})
	}
}

// gradeOrHalf is the grade, or Measured for a figure that is half of a measured length.
func (f Figure) gradeOrHalf() Grade {
	if f.Source == "half the length" {
		return Measured
	}
	return f.Grade
}

// A thread given for one part changes its family; an engagement that the part has no room for is refused.
func TestOverrideThreadAndRoom(t *testing.T) {
	c := &Catalogue{Overrides: []Override{{Sizes: []Size{"1"}, Kind: Elbow, Key: KeyThread, Family: BSPT}}}
	f, err := c.Fitting(Elbow, []Size{"1"})
	require.NoError(t, err)
	assert.Equal(t, BSPT, f.Family)
	assert.Equal(t, []string{"thread"}, f.Override)
	assert.True(t, f.Ports[0].Parallel)
	assert.InDelta(t, 21, f.Ports[0].TakeoutMM(), 1e-9, "38 - 17")
	c.Overrides[0].TaperInside = true
	f, err = c.Fitting(Elbow, []Size{"1"})
	require.NoError(t, err)
	assert.False(t, f.Ports[0].Parallel)

	long := &Catalogue{Overrides: []Override{{Sizes: []Size{"1"}, Key: KeyEngagement, Values: []float64{25}}}}
	var room *RoomError
	_, err = long.Fitting(Coupling, []Size{"1"})
	require.ErrorAs(t, err, &room)
	assert.Contains(t, err.Error(), "1 coupling: the thread goes in 25.00 mm, there is room for 21.21 mm")
	short := &Catalogue{Overrides: []Override{{Sizes: []Size{"1"}, Kind: Elbow, Key: KeyCentreToEnd, Values: []float64{19}}}}
	_, err = short.Fitting(Elbow, []Size{"1"})
	require.ErrorAs(t, err, &room)
}

// Formula names: by hand from the tables.
func TestPartDim(t *testing.T) {
	c := &Catalogue{}
	tests := []struct {
		kind Kind
		name string
		want float64 // inches
	}{
		{Pipe, "od", 1.05}, {Pipe, "engagement", .5625}, {Tee, "centre-to-end", 1.31}, {Union, "length", 2}, {Flange, "height", .775},
		{Elbow, "takeout", .7475}, {Union, "takeout", 2 - 1.125}, {Coupling, "takeout", 1.52 - 1.125}, {Flange, "takeout", .2125},
		{Cap, "takeout", 0}, {Glide, "takeout", GlideHeightMM / 25.4}, {Cap, "length", .97}, {Flange, "across", 3.35}, {Cap, "engagement", .5625},
	}
	for _, tt := range tests {
		got, err := c.PartDim(tt.kind, "3/4", tt.name)
		require.NoError(t, err, "%s.%s", tt.kind, tt.name)
		assert.InDelta(t, tt.want, in(got), 1e-9, "%s.%s", tt.kind, tt.name)
		assert.NotEmpty(t, got.Source)
	}
	for _, bad := range []struct {
		kind Kind
		name string
	}{{Pipe, "length"}, {Union, "centre-to-end"}, {Tee, "height"}, {Glide, "engagement"}, {Tee, "colour"}, {Flange, "centre-to-end"}} {
		_, err := c.PartDim(bad.kind, "3/4", bad.name)
		assert.Error(t, err, "%s.%s", bad.kind, bad.name)
	}
}

func TestPipe(t *testing.T) {
	c := &Catalogue{}
	p, err := c.Pipe(PipeSpec{Size: "3/4", LengthMM: 1000, Left: "b"})
	require.NoError(t, err)
	assert.True(t, p.Ports[1].Left)
	assert.False(t, p.Ports[0].Left)
	assert.InDelta(t, 1.69, p.MassKG, 0.03, "1.69 kg/m, a little less for the threads")
	assert.Less(t, p.MassKG, 1.69)
	assert.Empty(t, p.Override)
	for _, bad := range []PipeSpec{{Size: "3/4"}, {Size: "3/4", LengthMM: -1}, {Size: "9/16", LengthMM: 100}, {Size: "3/4", LengthMM: math.NaN()}} {
		_, err := c.Pipe(bad)
		assert.Error(t, err, "%v", bad)
	}
	// A long screw: the running end is parallel, of the coupling's own diameter, and long enough to take it whole.
	run, err := c.Pipe(PipeSpec{Size: "3/4", LengthMM: 400, Running: "b"})
	require.NoError(t, err)
	screw, err := c.Fitting(LongScrew, []Size{"3/4"})
	require.NoError(t, err)
	assert.Equal(t, 0.0, run.Dims.MM(DimTaper, "b"))
	assert.Equal(t, screw.Dims.MM(DimPitchDia, "a"), run.Dims.MM(DimPitchDia, "b"))
	assert.Greater(t, run.Dims.MM(DimThreadLength, "b"), screw.Dims.MM(DimLength, ""))
	assert.Equal(t, Taper, run.Dims.MM(DimTaper, "a"))
}

func TestWood(t *testing.T) {
	for word, row := range map[string]string{
		"pine": "eastern white pine", "Oak": "northern red oak", "birch plywood": "hardwood plywood (face grain along span)",
		"OSB": "oriented strandboard", "mdf": "medium-density fiberboard", "douglas-fir": "douglas-fir coast",
		"yellow-poplar": "yellow-poplar", "White  Oak": "white oak",
	} {
		w, err := Wood(word)
		require.NoError(t, err, word)
		assert.Equal(t, row, w.Name)
	}
	for _, w := range WoodWords() {
		_, err := Wood(w)
		assert.NoError(t, err, w)
	}
	_, err := Wood("granite")
	var bad *WoodError
	require.ErrorAs(t, err, &bad)
	assert.Contains(t, err.Error(), "pine, ")
	for _, w := range Woods() {
		// Density at 12 % moisture is specific gravity x 1.12, of panels at 8 % x 1.08 (Wood Handbook ch. 4).
		f := 1120.0
		if w.Panel {
			f = 1080
		}
		assert.InDelta(t, w.SpecificGravity.Low*f, w.DensityKGM3.Low, 0.6, w.Name)
		assert.InDelta(t, w.SpecificGravity.High*f, w.DensityKGM3.High, 0.6, w.Name)
		assert.LessOrEqual(t, w.ElasticityMPa.Low, w.ElasticityMPa.High)
	}
	oak, _ := Wood("white oak") // 1.78 million psi is 12.3 GPa (Wood Handbook table 5-3a prints 12,300 MPa)
	assert.InDelta(t, 12300, oak.ElasticityMPa.Mid(), 50)
}

// PS 1: the label thickness of a performance category lies within its range.
func TestBoards(t *testing.T) {
	for _, b := range Boards() {
		assert.GreaterOrEqual(t, b.Label.MM, b.Least.MM, b.Nominal)
		assert.LessOrEqual(t, b.Label.MM, b.Most.MM, b.Nominal)
	}
}
