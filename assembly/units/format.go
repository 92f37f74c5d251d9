package units

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// sixteenths is the fineness of a builder's tape, in parts of an inch.
const sixteenths = 16

// remainderPlaces is how many places of an inch the rest after sixteenths is given to: finer than any cut can be held.
const remainderPlaces = 3

// Format prints a length as builders read it: in inches to the nearest sixteenth with the rest in thousandths behind it
// ("18 1/2 in", "22 1/2 in - 0.020"), or in millimetres to the tenth ("470 mm", "469.9 mm"). Parse reads it back.
func (s System) Format(l Length) string {
	if s == MetricSystem {
		return trimmed(l.MM(), 1) + " mm"
	}
	in := l.Inches()
	if math.IsNaN(in) || math.IsInf(in, 0) {
		return trimmed(in, 1) + " in"
	}
	size := math.Abs(in)
	tape := math.Round(size*sixteenths) / sixteenths
	rest := thousandths(size - tape)
	switch {
	case rest == 0 && tape == 0:
		return "0 in"
	case rest == 0:
		return sign(in) + Fraction(tape) + " in"
	case tape == 0:
		return sign(in) + strconv.FormatFloat(rest, 'f', remainderPlaces, 64) + " in"
	}
	op := "+"
	if (rest < 0) != (in < 0) {
		op = "-"
	}
	return fmt.Sprintf("%s%s in %s %s", sign(in), Fraction(tape), op, strconv.FormatFloat(math.Abs(rest), 'f', remainderPlaces, 64))
}

// thousandths rounds inches to remainderPlaces. A half that arithmetic left a hair short of one goes up all the same.
func thousandths(in float64) float64 {
	const steps, hair = 1000, 1e-6
	return math.Copysign(math.Floor(math.Abs(in)*steps+0.5+hair)/steps, in)
}

// Nearest prints a length to the nearest sixteenth of an inch, or to the millimetre, without the rest: for labels.
func (s System) Nearest(l Length) string {
	if s == MetricSystem {
		return trimmed(l.MM(), 0) + " mm"
	}
	in := l.Inches()
	tape := math.Round(math.Abs(in)*sixteenths) / sixteenths
	if tape == 0 {
		return "0 in"
	}
	return sign(in) + Fraction(tape) + " in"
}

// Cut prints the length to cut a pipe to: to the nearest sixteenth of an inch or millimetre, as a tape shows it, unless that
// is off by more than half of the tolerance of the cut; then as Format does.
func (s System) Cut(l, tolerance Length) string {
	step := Inch / sixteenths
	if s == MetricSystem {
		step = 1
	}
	if near := Length(math.Round(float64(l/step))) * step; near > 0 && math.Abs(float64(near-l)) <= float64(tolerance)/2 {
		return s.Nearest(l)
	}
	return s.Format(l)
}

func sign(v float64) string {
	if v < 0 {
		return "-"
	}
	return ""
}

// Fraction prints inches that are a whole number of sixteenths and not below zero: "18 1/2", "3/16", "7".
func Fraction(in float64) string {
	n := int64(math.Round(in * sixteenths))
	whole, part, of := n/sixteenths, n%sixteenths, int64(sixteenths)
	for part != 0 && part%2 == 0 {
		part, of = part/2, of/2
	}
	switch {
	case part == 0:
		return strconv.FormatInt(whole, 10)
	case whole == 0:
		return fmt.Sprintf("%d/%d", part, of)
	}
	return fmt.Sprintf("%d %d/%d", whole, part, of)
}

// Decimal prints a length as a plain number in the units of the design, for sums that are written out: inches to the
// thousandth, millimetres to the hundredth, at least two places of inches ("22.48", "18.50", "470", "13.97").
func (s System) Decimal(l Length) string {
	if s == MetricSystem {
		return trimmed(l.MM(), 2)
	}
	t := trimmed(l.Inches(), remainderPlaces)
	if _, places, ok := strings.Cut(t, "."); !ok {
		t += ".00"
	} else if len(places) < 2 {
		t += "0"
	}
	return t
}

// FormatMass prints a weight: "20 lb", or "9.1 kg".
func (s System) FormatMass(m Mass) string {
	if s == MetricSystem {
		return trimmed(float64(m), 1) + " kg"
	}
	return trimmed(float64(m/Pound), 1) + " lb"
}

// FormatForce prints a force: in pounds ("40 lb"), or in newtons ("178 N").
func (s System) FormatForce(f Force) string {
	if s == MetricSystem {
		return trimmed(float64(f), 0) + " N"
	}
	return trimmed(float64(f/PoundForce), 1) + " lb"
}

// FormatForcePerLength prints a load along a length: "13.1 lb/ft", or "192 N/m".
func (s System) FormatForcePerLength(f ForcePerLength) string {
	if s == MetricSystem {
		return trimmed(float64(f), 0) + " N/m"
	}
	return trimmed(float64(f)/float64(PoundForce.Per(Foot)), 1) + " lb/ft"
}

// FormatAngle prints an angle in degrees: "36.9 deg".
func FormatAngle(a Angle) string { return trimmed(float64(a), 1) + " deg" }

// trimmed prints a number with at most so many places, without zeros at their end and without a minus before zero.
func trimmed(v float64, places int) string {
	t := strconv.FormatFloat(v, 'f', places, 64)
	if strings.Contains(t, ".") {
		t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	}
	if t == "-0" {
		return "0"
	}
	return t
}

// Parse reads a length as Format prints it: a quantity with an optional minus before it and a second one added or
// subtracted. Numbers without a unit are in the units of the system.
func Parse(text string, s System) (Length, error) {
	rest := strings.TrimSpace(text)
	first, rest, err := term(rest, s)
	if err != nil || rest == "" {
		return first, err
	}
	op := rest[0]
	if op != '+' && op != '-' {
		return 0, fmt.Errorf("%q is not a length: %q is not expected", text, rest)
	}
	second, rest, err := term(strings.TrimLeft(rest[1:], " "), s)
	if err == nil && rest != "" {
		err = fmt.Errorf("%q is not a length: %q is not expected", text, rest)
	}
	if op == '-' {
		second = -second
	}
	return first + second, err
}

// term reads one signed quantity and gives what is left.
func term(text string, s System) (Length, string, error) {
	body, isNegative := strings.CutPrefix(text, "-")
	if !StartsNumber(body) {
		return 0, "", fmt.Errorf("%q is not a length: a number is expected", text)
	}
	q, n, err := ScanQuantity(body)
	if err != nil {
		return 0, "", err
	}
	l := Length(q.X)
	switch {
	case q.Base == NoBase:
		l *= s.Unit()
	case q.Base != LengthBase:
		return 0, "", fmt.Errorf("%q is not a length: it has another unit", text)
	}
	if isNegative {
		l = -l
	}
	return l, strings.TrimLeft(body[n:], " "), nil
}
