package units

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestExactFactors(t *testing.T) {
	assert.Equal(t, 25.4, Inch.MM(), "international inch, 1959")
	assert.Equal(t, 304.8, Foot.MM(), "international foot, 1959")
	assert.Equal(t, 0.45359237, float64(Pound), "international pound, 1959")
	// NIST SP 811 (2008), appendix B.8: pound-force 4.448 221 615 260 5 N exactly; pound-force per foot 14.593 90 N/m.
	assert.InEpsilon(t, 4.4482216152605, float64(PoundForce), 1e-15)
	assert.InDelta(t, 14.59390, float64(PoundForce.Per(Foot)), 5e-6)
	// The same table: pound-force per inch 175.1268 N/m.
	assert.InDelta(t, 175.1268, float64(PoundForce.Per(Inch)), 5e-5)
	assert.Equal(t, 9.80665, float64(Kilogram.Weight()))
}

func TestFormat(t *testing.T) {
	tests := []struct {
		l    Length
		s    System
		want string
	}{
		{18.5 * Inch, InchSystem, "18 1/2 in"},
		{22.48 * Inch, InchSystem, "22 1/2 in - 0.020"},
		{14.47 * Inch, InchSystem, "14 1/2 in - 0.030"},
		{2.94 * Inch, InchSystem, "2 15/16 in + 0.003"}, // 2.9375 is 2 15/16
		{17.315 * Inch, InchSystem, "17 5/16 in + 0.003"},
		{Inch * 3 / 16, InchSystem, "3/16 in"},
		{7 * Inch, InchSystem, "7 in"},
		{0, InchSystem, "0 in"},
		{-Inch / 10000, InchSystem, "0 in"},
		{Inch / 50, InchSystem, "0.020 in"},
		{-22.48 * Inch, InchSystem, "-22 1/2 in + 0.020"},
		{-22.52 * Inch, InchSystem, "-22 1/2 in - 0.020"},
		{470, MetricSystem, "470 mm"},
		{469.9, MetricSystem, "469.9 mm"},
		{-0.04, MetricSystem, "0 mm"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, tt.s.Format(tt.l), "Format(%v mm, %s)", float64(tt.l), tt.s)
	}
}

// TestCut: a tape's marks where the cut may be off by twice as much, else exact.
func TestCut(t *testing.T) {
	const sixteenth = Inch / 16
	assert.Equal(t, "6 1/2 in", InchSystem.Cut(6.505*Inch, sixteenth))
	assert.Equal(t, "6 1/2 in + 0.005", InchSystem.Cut(6.505*Inch, Inch/128))
	assert.Equal(t, "13 1/16 in", InchSystem.Cut(13.04*Inch, sixteenth))
	assert.Equal(t, "600 mm", MetricSystem.Cut(600.4, 1))
	assert.Equal(t, "600.4 mm", MetricSystem.Cut(600.4, 0.5))
	assert.Equal(t, "0.010 in", InchSystem.Cut(0.01*Inch, sixteenth), "never nothing")
}

func TestOtherForms(t *testing.T) {
	assert.Equal(t, "18.50", InchSystem.Decimal(18.5*Inch))
	assert.Equal(t, "17.315", InchSystem.Decimal(17.315*Inch))
	assert.Equal(t, "8.00", InchSystem.Decimal(8*Inch))
	assert.Equal(t, "13.97", MetricSystem.Decimal(0.55*Inch))
	assert.Equal(t, "470", MetricSystem.Decimal(470))
	assert.Equal(t, "22 1/2 in", InchSystem.Nearest(22.48*Inch))
	assert.Equal(t, "0 in", InchSystem.Nearest(-Inch/100))
	assert.Equal(t, "470 mm", MetricSystem.Nearest(469.9))
	assert.Equal(t, "20 lb", InchSystem.FormatMass(20*Pound))
	assert.Equal(t, "9.1 kg", MetricSystem.FormatMass(20*Pound))
	assert.Equal(t, "40 lb", InchSystem.FormatForce((40 * Pound).Weight()))
	assert.Equal(t, "178 N", MetricSystem.FormatForce((40 * Pound).Weight()))
	assert.Equal(t, "40 lb/ft", InchSystem.FormatForcePerLength((40 * Pound).Weight().Per(Foot)))
	assert.Equal(t, "584 N/m", MetricSystem.FormatForcePerLength((40 * Pound).Weight().Per(Foot)))
	assert.Equal(t, "36.9 deg", FormatAngle(36.87))
}

func TestParse(t *testing.T) {
	tests := []struct {
		in   string
		s    System
		want Length
	}{
		{"18 1/2 in", InchSystem, 469.9},
		{"18-1/2 in", InchSystem, 469.9},
		{"18½ in", InchSystem, 469.9},
		{"18.5 in", MetricSystem, 469.9},
		{"18 ½", InchSystem, 469.9},
		{"470", MetricSystem, 470},
		{"470", InchSystem, 470 * 25.4},
		{"5 ft 3 in", InchSystem, 63 * 25.4},
		{`5' 3 1/2"`, MetricSystem, 63.5 * 25.4},
		{`5'3"`, InchSystem, 63 * 25.4},
		{"6 ft", InchSystem, 72 * 25.4},
		{".5 m", InchSystem, 500},
		{"12 cm", InchSystem, 120},
		{"-3/4", InchSystem, -0.75 * 25.4},
		{"22 1/2 in - 0.020", InchSystem, 22.48 * 25.4},
	}
	for _, tt := range tests {
		got, err := Parse(tt.in, tt.s)
		require.NoError(t, err, tt.in)
		assert.InDelta(t, float64(tt.want), float64(got), 1e-9, "Parse(%q, %s)", tt.in, tt.s)
	}
}

func TestParseFaults(t *testing.T) {
	tests := []struct{ in, want string }{
		{"", "a number is expected"},
		{"two", "a number is expected"},
		{"2e3", "2e3 is not a number here"},
		{"1,000", "1,000 is not a number here"},
		{"1.2.3", "1.2.3 is not a number here"},
		{"3.", "digits belong after the point"},
		{"1/0", "divided by zero"},
		{"7 ft 2", "7 ft 2 what? write 7 ft 2 in"},
		{"20 lb", "another unit"},
		{"3 in 4", "not expected"},
		{"3 in + 4 kg", "another unit"},
		{"nan", "a number is expected"},
	}
	for _, tt := range tests {
		_, err := Parse(tt.in, InchSystem)
		assert.ErrorContains(t, err, tt.want, "Parse(%q)", tt.in)
	}
}

// printStep is the finest step that Format keeps, by system, in mm.
var printStep = map[System]float64{InchSystem: 0.001 * 25.4, MetricSystem: 0.1}

func checkRoundTrip(t *testing.T, l Length, s System) {
	t.Helper()
	text := s.Format(l)
	back, err := Parse(text, s)
	require.NoError(t, err, "Parse(%q), printed from %v mm", text, float64(l))
	require.InDelta(t, float64(l), float64(back), 0.5001*printStep[s], "%q", text)
	require.Equal(t, text, s.Format(back), "printed again from %v mm", float64(back))
}

func TestRoundTripEveryThousandth(t *testing.T) {
	for k := -4000; k <= 4000; k++ {
		checkRoundTrip(t, Length(k)*Inch/1000, InchSystem)
		checkRoundTrip(t, Length(k)/10, MetricSystem)
	}
}

func FuzzRoundTrip(f *testing.F) {
	for _, v := range []float64{0, 1, 25.4, -571, 469.9, 99999, 0.03125 * 25.4, 1e-9} {
		f.Add(v, true)
		f.Add(v, false)
	}
	f.Fuzz(func(t *testing.T, v float64, inches bool) {
		if math.IsNaN(v) || math.Abs(v) > 1e6 {
			return
		}
		s := MetricSystem
		if inches {
			s = InchSystem
		}
		checkRoundTrip(t, Length(v), s)
	})
}

func FuzzScanQuantity(f *testing.F) {
	for _, s := range []string{"18 1/2 in", "5' 3 1/2\"", "20 lb/ft", "½", "48-1/2", "1/0", "2e3", "7 ft 2", ".5m", "1.2.3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if !StartsNumber(s) {
			return
		}
		q, n, err := ScanQuantity(s)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.Greater(t, n, 0, s)
		require.LessOrEqual(t, n, len(s), s)
		require.False(t, math.IsNaN(q.X) || q.X < 0, "%q gives %v", s, q.X)
	})
}

func ExampleSystem_Format() {
	fmt.Println(InchSystem.Format(571))
	fmt.Println(MetricSystem.Format(571))
	// Output:
	// 22 1/2 in - 0.020
	// 571 mm
}
