// Package units gives lengths, angles, masses and forces types of their own, reads quantities as builders write them
// (18 1/2 in, 5' 3", 470 mm, 20 lb/ft), and prints lengths in the units of a design.
package units

// Length is a distance in millimetres.
type Length float64

// Angle is in degrees.
type Angle float64

// Mass is in kilograms.
type Mass float64

// Force is in newtons.
type Force float64

// ForcePerLength is in newtons per metre.
type ForcePerLength float64

// Lengths.
const (
	Millimetre Length = 1
	Centimetre        = 10 * Millimetre
	Metre             = 1000 * Millimetre
	Inch              = 25.4 * Millimetre // exact: international yard and pound agreement of 1959
	Foot              = 304.8 * Millimetre
)

// Masses.
const (
	Kilogram Mass = 1
	Pound         = 0.45359237 * Kilogram // exact: international yard and pound agreement of 1959
)

// StandardGravity turns a weight on the scale into a force, in newtons per kilogram. Exact: third General Conference
// on Weights and Measures, 1901; ISO 80000-3.
const StandardGravity = 9.80665

// Newton is the unit of force.
const Newton Force = 1

// PoundForce is the weight of a pound: 4.4482216152605 N.
const PoundForce = Force(Pound * StandardGravity)

// Weight is the force with which a mass presses on what carries it, under standard gravity.
func (m Mass) Weight() Force { return Force(float64(m) * StandardGravity) }

// PerMillimetre is a force on every millimetre.
func PerMillimetre(f Force) ForcePerLength { return ForcePerLength(float64(f) * float64(Metre)) }

// Per spreads a force evenly over a length.
func (f Force) Per(l Length) ForcePerLength { return PerMillimetre(f / Force(l)) }

// Inches is the length in inches.
func (l Length) Inches() float64 { return float64(l / Inch) }

// MM is the length in millimetres.
func (l Length) MM() float64 { return float64(l) }

// System is the units a design is written in: "in" or "mm".
type System string

// The two systems.
const (
	InchSystem   System = "in"
	MetricSystem System = "mm"
)

// Unit is what a plain number stands for where a length is wanted.
func (s System) Unit() Length {
	if s == MetricSystem {
		return Millimetre
	}
	return Inch
}
