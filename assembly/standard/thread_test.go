package standard

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// inch tolerance of a table printed to five decimals.
const tableIn = 1.1e-5

func in(f Figure) float64 { return f.MM / mmPerInch }

// The identities of ASME B1.20.1 that its Table 2 obeys (clause 7 and appendix; D in inches, p pitch):
// E0 = D - (0.05 D + 1.1) p, E1 = E0 + L1/16, L2 = (0.80 D + 6.8) p, L3 = 3 p, V = 3.47 p.
func TestNPTIdentities(t *testing.T) {
	for _, s := range Sizes {
		r, err := Thread(NPT, s)
		require.NoError(t, err)
		d, p := in(r.Major), 1/r.TPI
		assert.InDelta(t, d-(0.05*d+1.1)*p, in(r.E0), tableIn, "E0 of %s", s)
		assert.InDelta(t, in(r.E0)+in(r.L1)/16, in(r.E1), tableIn, "E1 of %s", s)
		assert.InDelta(t, (0.80*d+6.8)*p, in(r.L2), 6e-5, "L2 of %s (printed to four decimals)", s)
		assert.InDelta(t, 3*p, in(r.L3), 6e-5, "L3 of %s", s)
		assert.InDelta(t, 3.47*p, in(r.V), 1.1e-4, "V of %s", s)
		assert.InDelta(t, p, in(r.Pitch), 1e-12)
		assert.Equal(t, 60.0, r.FlankDeg)
		assert.Equal(t, 1.0, r.ToleranceTurns)
		assert.InDelta(t, r.L1.MM/r.Pitch.MM, r.HandTurns.MM, 0.55, "usual turns by hand are L1 / p to the half turn (%s)", s)
	}
}

// ISO 7-1: pitch 25.4 / tpi, thread height 0.640327 p (Whitworth form), so pitch diameter = major - height; gauge length
// is a number of quarter turns; E0 lies a gauge length of taper below the gauge plane.
func TestBSPTIdentities(t *testing.T) {
	turns := map[Size]float64{"1/4": 4.5, "3/8": 4.75, "1/2": 4.5, "3/4": 5.25, "1": 4.5, "1-1/4": 5.5, "1-1/2": 5.5, "2": 6.875}
	for _, s := range Sizes {
		r, err := Thread(BSPT, s)
		require.NoError(t, err)
		assert.InDelta(t, 25.4/r.TPI, r.Pitch.MM, 6e-4, s)
		assert.InDelta(t, r.Major.MM-0.640327*r.Pitch.MM, r.E1.MM, 1.5e-3, s)
		assert.InDelta(t, turns[s]*r.Pitch.MM, r.L1.MM, 0.06, s)
		assert.InDelta(t, r.E1.MM-r.L1.MM/16, r.E0.MM, 1e-12, s)
		assert.Greater(t, r.L2.MM, r.L1.MM+r.L3.MM, s)
		assert.Equal(t, 55.0, r.FlankDeg)
	}
}

// Hand values of ASME B1.20.1 Table 2 and the trade's table of normal engagement, in inches.
func TestEngagementValues(t *testing.T) {
	rows := []struct {
		size                 Size
		normal, gauge, hand1 float64 // hand1 = L1, a turn is added
		tpi                  float64
		en                   float64 // mm
	}{
		{"1/4", .375, .3945, .2278, 18, 10}, {"3/8", .375, .4067, .240, 18, 10}, {"1/2", .5, .5343, .320, 14, 13},
		{"3/4", .5625, .5533, .339, 14, 15}, {"1", .6875, .6609, .400, 11.5, 17}, {"1-1/4", .6875, .6809, .420, 11.5, 19},
		{"1-1/2", .6875, .6809, .420, 11.5, 19}, {"2", .75, .6969, .436, 11.5, 24},
	}
	for _, r := range rows {
		for m, want := range map[MakeUp]float64{MakeUpNormal: r.normal, MakeUpGauge: r.gauge, MakeUpHand: r.hand1 + 1/r.tpi} {
			c := &Catalogue{MakeUp: m}
			e, own, err := c.Engagement(Tee, r.size)
			require.NoError(t, err)
			assert.InDelta(t, want, in(e), 6e-5, "%s %s", r.size, m)
			assert.False(t, own, "no make-up is a figure of the design's own")
			assert.NotEmpty(t, e.Source)
		}
		b := &Catalogue{Family: BSPT}
		e, _, err := b.Engagement(Tee, r.size)
		require.NoError(t, err)
		assert.Equal(t, r.en, e.MM)
		b.MakeUp = MakeUpHand
		e, _, err = b.Engagement(Tee, r.size)
		require.NoError(t, err)
		row, _ := Thread(BSPT, r.size)
		assert.InDelta(t, row.L1.MM+row.Pitch.MM, e.MM, 1e-12)
		b.MakeUp = MakeUpGauge
		_, _, err = b.Engagement(Tee, r.size)
		assert.EqualError(t, err, "gauge is for npt; normal or hand")
	}
}

// The root of the thread at the pipe's end is E0 - 0.8 p (thread height 0.8 p). ASME B1.20.1 K0, in inches.
func TestNPTRoot(t *testing.T) {
	k0 := map[Size]float64{"1/2": .7013, "3/4": .9105, "1": 1.1441, "1-1/4": 1.4876, "1-1/2": 1.7265, "2": 2.1995}
	for s, want := range k0 {
		r, _ := Thread(NPT, s)
		assert.InDelta(t, want, in(r.E0)-0.8*in(r.Pitch), 6e-5, s)
	}
}

func TestThreadRefuses(t *testing.T) {
	_, err := Thread(NPT, "5/8")
	var bad *SizeError
	require.ErrorAs(t, err, &bad)
	_, err = Thread("bsp", "1/2")
	require.Error(t, err)
	r, _ := Thread(NPT, "1/2")
	_, err = r.Engagement("measured")
	require.Error(t, err)
}

// Mass per metre from section and density agrees with both pipe tables: 1.5 % for EN 10255 (its masses are rounded and
// its steel is reckoned so), 0.7 % for schedule 40 (printed to 0.01 lb/ft: 1.2 % of the smallest).
func TestPipeMass(t *testing.T) {
	for _, s := range Sizes {
		for _, c := range []struct {
			f      Family
			series string
			tol    float64
		}{{NPT, Schedule40, 0.012}, {BSPT, Medium, 0.015}, {BSPT, Heavy, 0.015}} {
			r, err := PipeOf(c.f, s, c.series)
			require.NoError(t, err)
			got := r.SectionMM2() * 1000 * SteelDensity
			assert.InEpsilon(t, r.Mass.MM, got, c.tol, "%s %s", s, c.series)
			assert.InDelta(t, math.Pi/4*(r.OD.MM*r.OD.MM-r.BoreMM()*r.BoreMM()), r.SectionMM2(), 1e-9)
		}
	}
}

// Yield strengths: ASTM A53 grade A 205 MPa (30 ksi is 206.8), EN 10255 S195T 195 MPa.
func TestPipeYield(t *testing.T) {
	us, _ := PipeOf(NPT, "3/4", "")
	assert.InDelta(t, 206.8, us.YieldMPa.MM, 0.1)
	eu, _ := PipeOf(BSPT, "3/4", "")
	assert.Equal(t, 195.0, eu.YieldMPa.MM)
	assert.Equal(t, Medium, eu.Series)
	_, err := PipeOf(NPT, "3/4", Heavy)
	require.Error(t, err)
	_, err = PipeOf(NPT, "7/8", "")
	require.Error(t, err)
}

// Close nipples of ASTM A733 in inches; the plain nipple has no barrel between its threads.
func TestCloseNipple(t *testing.T) {
	want := map[Size]float64{"1/4": .875, "3/8": 1, "1/2": 1.125, "3/4": 1.375, "1": 1.5, "1-1/4": 1.625, "1-1/2": 1.75, "2": 2}
	for s, w := range want {
		assert.InDelta(t, w, in(CloseNipple(NPT, s)), 1e-12, s)
		r, _ := Thread(NPT, s)
		assert.Less(t, w, 2*(in(r.L2)+in(r.V)), "%s: two full threads do not fit", s)
		assert.Greater(t, CloseNipple(BSPT, s).MM, 20.0)
		assert.Equal(t, MemoryLow, CloseNipple(BSPT, s).Grade)
	}
}

func TestStockLengths(t *testing.T) {
	for _, fam := range []Family{NPT, BSPT} {
		for _, s := range Sizes {
			all := StockLengths(fam, s)
			require.Greater(t, len(all), 20, "%s %s", fam, s)
			assert.Equal(t, CloseNipple(fam, s).MM, all[0].MM, "the close nipple is the shortest")
			assert.InDelta(t, 120*mmPerInch, all[len(all)-1].MM, 1e-9)
			for i := 1; i < len(all); i++ {
				assert.Greater(t, all[i].MM, all[i-1].MM)
				assert.NotEmpty(t, all[i].Source)
			}
		}
	}
}
