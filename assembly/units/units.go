// Package units gives lengths, angles, masses and forces types of their own.
package units

// Length is a distance in millimetres.
type Length float64

// Angle is in degrees.
type Angle float64

// Mass is in kilograms.
type Mass float64

// Force is in newtons.
type Force float64

// Lengths.
const (
	Millimetre Length = 1
	Centimetre        = 10 * Millimetre
	Metre             = 1000 * Millimetre
	Inch              = 25.4 * Millimetre
	Foot              = 12 * Inch
)

// System is the units a design is written in: "in" or "mm".
type System string

// The two systems.
const (
	InchSystem   System = "in"
	MetricSystem System = "mm"
)
