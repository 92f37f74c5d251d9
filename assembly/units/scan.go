package units

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Base is what a unit measures.
type Base int8

// The bases.
const (
	NoBase Base = iota // a plain number
	LengthBase
	MassBase
	ForceBase
	AngleBase
)

// Unit is a unit of measure: Factor turns a number of it into millimetres, kilograms, newtons or degrees.
type Unit struct {
	Base   Base
	Factor float64
}

// byName are the units that may follow a number.
var byName = map[string]Unit{
	"in": inch, "inch": inch, "inches": inch, `"`: inch,
	"ft": foot, "foot": foot, "feet": foot, "'": foot,
	"mm": {LengthBase, float64(Millimetre)}, "cm": {LengthBase, float64(Centimetre)}, "m": {LengthBase, float64(Metre)},
	"lb": pound, "lbs": pound, "kg": {MassBase, float64(Kilogram)},
	"N": {ForceBase, float64(Newton)}, "deg": {AngleBase, 1},
}

var (
	inch  = Unit{LengthBase, float64(Inch)}
	foot  = Unit{LengthBase, float64(Foot)}
	pound = Unit{MassBase, float64(Pound)}
)

// LookUp finds a unit by its name: in inch inches " ft foot feet ' mm cm m lb lbs kg N deg.
func LookUp(name string) (Unit, bool) {
	u, ok := byName[name]
	return u, ok
}

// vulgar are the fraction characters that may stand for a fraction.
var vulgar = map[rune]float64{
	'½': 1. / 2, '¼': 1. / 4, '¾': 3. / 4, '⅛': 1. / 8, '⅜': 3. / 8, '⅝': 5. / 8, '⅞': 7. / 8,
}

// Quantity is a number as written with its unit. X is in millimetres, kilograms, newtons or degrees, per millimetre
// where Per is LengthBase.
type Quantity struct {
	X    float64
	Base Base
	Per  Base // LengthBase for loads along a length, else NoBase
	// Hyphen is the place (byte offset) of a hyphen between whole number and fraction, or 0 for none, and Whole the
	// number before it: 48-1/2 is 48 1/2.
	Hyphen int
	Whole  float64
}

// mostNumber is far above any number of a frame, and its powers still fit a float.
const mostNumber = 1e15

// ScanError is a fault in a quantity, Offset bytes from where the scan began.
type ScanError struct {
	Offset int
	Text   string
}

func (e *ScanError) Error() string { return e.Text }

// StartsNumber tells whether a quantity may begin at the start of s.
func StartsNumber(s string) bool {
	r, _ := utf8.DecodeRuneInString(s)
	if r == '.' && len(s) > 1 {
		return isDigit(s[1])
	}
	_, isFraction := vulgar[r]
	return isFraction || r >= '0' && r <= '9'
}

// ScanQuantity reads the quantity at the start of s, which must start with a number, and tells how many bytes it
// took:
//
//	quantity = number [ unit [ "/" unit ] ] | number foot number inch
//	number   = decimal | fraction | whole (" " | "-") fraction
//
// A bar makes a unit only between a load and a length: 20 lb/ft.
func ScanQuantity(s string) (Quantity, int, error) {
	var q Quantity
	n, err := q.number(s)
	if err == nil && q.X > mostNumber {
		err = &ScanError{0, "a number that large cannot be meant here"}
	}
	if err != nil {
		return q, 0, err
	}
	u, after, ok := scanUnit(s, n)
	if !ok {
		if name := WordAt(s[n:]); name != "" {
			return q, 0, &ScanError{0, s[:n] + name + " is not a number here: write it out"}
		}
		return q, n, nil
	}
	q.Base = u.Base
	if u == foot {
		if rest := skipBlanks(s, after); StartsNumber(s[rest:]) {
			return q.inches(s, rest)
		}
	}
	q.X *= u.Factor
	if u.Base == MassBase || u.Base == ForceBase {
		if bar := skipBlanks(s, after); bar < len(s) && s[bar] == '/' {
			if per, end, ok := scanUnit(s, bar+1); ok && per.Base == LengthBase {
				q.X /= per.Factor
				q.Per = LengthBase
				return q, end, nil
			}
		}
	}
	return q, after, nil
}

// inches reads the inches after feet; the feet are in q.X.
func (q *Quantity) inches(s string, at int) (Quantity, int, error) {
	var in Quantity
	n, err := in.number(s[at:])
	if err != nil {
		return *q, 0, &ScanError{at, err.Error()}
	}
	u, end, ok := scanUnit(s, at+n)
	if !ok || u != inch {
		said := s[:at+n]
		return *q, 0, &ScanError{at, fmt.Sprintf("%s what? write %s in", said, said)}
	}
	if in.Hyphen > 0 {
		q.Hyphen, q.Whole = at+in.Hyphen, in.Whole
	}
	q.X = q.X*float64(Foot) + in.X*float64(Inch)
	return *q, end, nil
}

// number reads decimal | fraction | whole (" " | "-") fraction into q.
func (q *Quantity) number(s string) (int, error) {
	n := digits(s)
	if v, size := vulgarAt(s[n:]); size > 0 {
		q.X = v + parseFloat(s[:n])
		return n + size, nil
	}
	if end, v, ok := fractionAt(s); ok {
		q.X = v
		return end, checkFraction(s[:end], v)
	}
	if n > 0 {
		if end, ok := q.mixed(s, n); ok {
			return end, checkFraction(s[:end], q.X)
		}
	}
	if n < len(s) && s[n] == '.' {
		d := digits(s[n+1:])
		if d == 0 {
			return 0, &ScanError{0, s[:n+1] + " is not a number here: digits belong after the point"}
		}
		n += 1 + d
	}
	q.X = parseFloat(s[:n])
	if n < len(s) && (s[n] == '.' || s[n] == ',' && n+1 < len(s) && isDigit(s[n+1])) {
		end := len(s) - len(strings.TrimLeft(s[n+1:], "0123456789.,"))
		return 0, &ScanError{0, s[:end] + " is not a number here: one point, and no comma, in a number"}
	}
	return n, nil
}

// mixed reads what may follow the whole number s[:n] and make a mixed fraction of it.
func (q *Quantity) mixed(s string, n int) (int, bool) {
	at := skipBlanks(s, n)
	if at == n {
		if n >= len(s) || s[n] != '-' {
			return 0, false
		}
		at++
	}
	whole := parseFloat(s[:n])
	end, v, ok := fractionAt(s[at:])
	if !ok {
		if v, end = vulgarAt(s[at:]); end == 0 {
			return 0, false
		}
	}
	q.X = whole + v
	if s[n] == '-' {
		q.Hyphen, q.Whole = n, whole
	}
	return at + end, true
}

// fractionAt reads digits "/" digits. The second number must be whole, or the bar is a division.
func fractionAt(s string) (end int, v float64, ok bool) {
	n := digits(s)
	if n == 0 || n+1 >= len(s) || s[n] != '/' {
		return 0, 0, false
	}
	d := digits(s[n+1:])
	end = n + 1 + d
	if d == 0 || end < len(s) && s[end] == '.' {
		return 0, 0, false
	}
	return end, parseFloat(s[:n]) / parseFloat(s[n+1:end]), true
}

func checkFraction(text string, v float64) error {
	if v-v != 0 { // infinite, or not a number
		return &ScanError{0, text + " is divided by zero"}
	}
	return nil
}

func vulgarAt(s string) (float64, int) {
	r, size := utf8.DecodeRuneInString(s)
	if v, ok := vulgar[r]; ok {
		return v, size
	}
	return 0, 0
}

// scanUnit reads a unit at s[n:], blanks before it allowed.
func scanUnit(s string, n int) (Unit, int, bool) {
	at := skipBlanks(s, n)
	if at >= len(s) {
		return Unit{}, 0, false
	}
	name := WordAt(s[at:])
	if s[at] == '"' || s[at] == '\'' {
		name = s[at : at+1]
	}
	u, ok := byName[name]
	return u, at + len(name), ok
}

// WordAt is the name that stands at the start of s, or "": letters, digits and underscores, and hyphens between.
func WordAt(s string) string {
	end := 0
	for i, r := range s {
		switch {
		case unicode.IsLetter(r), end > 0 && (unicode.IsDigit(r) || r == '_'):
			end = i + utf8.RuneLen(r)
		case r == '-' && end == i && end > 0:
			// belongs to the word only when more of it follows
		default:
			return s[:end]
		}
	}
	return s[:end]
}

func digits(s string) int {
	n := 0
	for n < len(s) && isDigit(s[n]) {
		n++
	}
	return n
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func skipBlanks(s string, n int) int {
	for n < len(s) && s[n] == ' ' {
		n++
	}
	return n
}

// parseFloat reads digits with at most one point; "" is 0, and what is too large is infinite.
func parseFloat(s string) float64 {
	v, _ := strconv.ParseFloat(s, 64)
	return v
}
