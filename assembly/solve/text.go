package solve

import (
	"math"
	"strconv"
	"strings"

	"turnwise/assembly/units"
)

// Decimals of lengths in messages and sums: a hundredth of an inch is finer than any saw, and the briefs' accuracy;
// a tenth of a millimetre is as fine.
const (
	inchDecimals   = 2
	metricDecimals = 1
)

// trimNumber writes a number with at most so many decimals, without trailing zeros, and never "-0".
func trimNumber(v float64, decimals int) string {
	if math.Abs(v) < 0.5*math.Pow10(-decimals) {
		v = 0
	}
	t := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	return t
}

// num writes millimetres as a number in the design's units, without the unit.
func (s *solver) num(mm float64) string {
	if s.t.Units == units.MetricSystem {
		return trimNumber(mm, metricDecimals)
	}
	return trimNumber(units.Length(mm).Inches(), inchDecimals)
}

// length writes millimetres in the design's units, with the unit.
func (s *solver) length(mm float64) string { return s.num(mm) + " " + string(s.t.Units) }

// fractionLimit is the finest fraction of an inch that messages write: rulers have no finer.
const fractionLimit = 64

// fraction writes a length as builders do, if it is a whole number of 64ths of an inch: "1 1/8"; else as num.
func (s *solver) fraction(mm float64) string {
	in := units.Length(mm).Inches()
	n := math.Round(in * fractionLimit)
	if s.t.Units == units.MetricSystem || in < 0 || math.Abs(n-in*fractionLimit) > 1e-3 {
		return s.num(mm)
	}
	num, den := int(n), fractionLimit
	for den > 1 && num%2 == 0 {
		num, den = num/2, den/2
	}
	whole, rest := num/den, num%den
	switch {
	case rest == 0:
		return strconv.Itoa(whole)
	case whole == 0:
		return strconv.Itoa(rest) + "/" + strconv.Itoa(den)
	}
	return strconv.Itoa(whole) + " " + strconv.Itoa(rest) + "/" + strconv.Itoa(den)
}
