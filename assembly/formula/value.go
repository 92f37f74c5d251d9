package formula

import (
	"fmt"
	"strings"

	"turnwise/assembly/units"
)

// Kind is what a value measures, as the powers of its base quantities: an area is {Length: 2}. Two values can be
// added when their kinds are equal, or when one is a plain number and the other a length.
type Kind struct {
	Length, Mass, Force, Angle int8
}

// The kinds that a design file asks for.
var (
	Number         = Kind{}
	Length         = Kind{Length: 1}
	Mass           = Kind{Mass: 1}
	Force          = Kind{Force: 1}
	MassPerLength  = Kind{Mass: 1, Length: -1}
	ForcePerLength = Kind{Force: 1, Length: -1}
	Angle          = Kind{Angle: 1}
)

// kindNames are the words for kinds in messages. A mass is a weight there, as on a scale.
var kindNames = map[Kind]string{
	Number:         "a plain number",
	Length:         "a length",
	{Length: 2}:    "an area",
	{Length: 3}:    "a volume",
	Mass:           "a weight",
	Force:          "a force",
	MassPerLength:  "a weight per length",
	ForcePerLength: "a force per length",
	Angle:          "an angle",
}

// String is the kind with its article: "a length", "a weight per length".
func (k Kind) String() string {
	if s, ok := kindNames[k]; ok {
		return s
	}
	var up []string
	for _, f := range []struct {
		name  string
		power int8
	}{{"length", k.Length}, {"weight", k.Mass}, {"force", k.Force}, {"angle", k.Angle}} {
		if f.power != 0 {
			up = append(up, fmt.Sprintf("%s^%d", f.name, f.power))
		}
	}
	return "a quantity in " + strings.Join(up, " ")
}

// Value is a number with its kind. X is in the base units of the kind: millimetres, kilograms, newtons, degrees, and
// their products (kilograms per millimetre for a weight per length).
type Value struct {
	X    float64
	Kind Kind
}

// Of makes values of the common kinds.
func Of(x float64) Value { return Value{X: x} }

// OfLength is a length as a value.
func OfLength(l units.Length) Value { return Value{float64(l), Length} }

// InLength reads v as a length: a plain number is in the units of sys. It is false for any other kind.
func (v Value) InLength(sys units.System) (units.Length, bool) {
	switch v.Kind {
	case Length:
		return units.Length(v.X), true
	case Number:
		return units.Length(v.X) * sys.Unit(), true
	}
	return 0, false
}

// InForce reads v as a load that sits on one place or is spread over one thing: a weight under standard gravity, or
// a force. It is false for any other kind.
func (v Value) InForce() (units.Force, bool) {
	switch v.Kind {
	case Mass:
		return units.Mass(v.X).Weight(), true
	case Force:
		return units.Force(v.X), true
	}
	return 0, false
}

// InForcePerLength reads v as a load along a length. It is false for any other kind.
func (v Value) InForcePerLength() (units.ForcePerLength, bool) {
	switch v.Kind {
	case MassPerLength:
		return units.PerMillimetre(units.Mass(v.X).Weight()), true
	case ForcePerLength:
		return units.PerMillimetre(units.Force(v.X)), true
	}
	return 0, false
}
