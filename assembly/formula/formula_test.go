package formula

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/units"
)

// world is an Env of fixed values.
type world struct {
	values map[string]Value
	points map[string][3]float64
	sys    units.System
}

func (w world) Value(r Ref) (Value, error) {
	if r.Name == "spoilt" {
		return Value{}, ErrSilent
	}
	v, ok := w.values[r.Name]
	if !ok {
		return Value{}, fmt.Errorf("no name %s", r.Name)
	}
	return v, nil
}

func (w world) Distance(p, q Ref) (units.Length, error) {
	a, okA := w.points[p.Name]
	b, okB := w.points[q.Name]
	if !okA || !okB {
		return 0, errors.New("no such point")
	}
	return units.Length(math.Hypot(math.Hypot(a[0]-b[0], a[1]-b[1]), a[2]-b[2])), nil
}

func (w world) Units() units.System { return w.sys }

func testWorld(s units.System) world {
	return world{
		sys: s,
		values: map[string]Value{
			"span": Of(30), "width": OfLength(1100), "left-post.x": OfLength(152.4), "pipe.od": OfLength(1.315 * units.Inch),
			"slope": Of(0.75), "w.floor": Of(12), "m": Of(3), "wheels": Of(14), "heavy": {10, Mass}, "ft": Of(7),
		},
		points: map[string][3]float64{"p": {0, 0, 0}, "q": {30, 40, 0}, "high.q": {30, 40, 120}},
	}
}

const in = 25.4

func TestEval(t *testing.T) {
	lb := float64(units.Pound)
	tests := []struct {
		text string
		want Value
	}{
		{"18 1/2 in", OfLength(18.5 * units.Inch)},
		{"18-1/2 in", OfLength(18.5 * units.Inch)},
		{"18½ in", OfLength(18.5 * units.Inch)},
		{"¾ in", OfLength(0.75 * units.Inch)},
		{"470 mm", OfLength(470)},
		{`5' 3 1/2"`, OfLength(63.5 * units.Inch)},
		{"5 ft 3 in", OfLength(63 * units.Inch)},
		{"20 lb/ft", Value{20 * lb / 304.8, MassPerLength}},
		{"20 lb / ft", Value{20 * lb / 304.8, MassPerLength}}, // a bar between a load's unit and a length makes a unit
		{"30 N/m", Value{30. / 1000, ForcePerLength}},
		{"30 deg", Value{30, Angle}},
		{"3/4", Of(0.75)},
		{"3 / 4", Of(0.75)},
		{"6 / 3/4", Of(8)}, // the fraction binds first
		{"2 * 3/4", Of(1.5)},
		{"12 / 2 / 3", Of(2)}, // from left to right
		{"10 - 3 - 2", Of(5)},
		{"2 + 3 * 4", Of(14)},
		{"(2 + 3) * 4", Of(20)},
		{"-3 * -2", Of(6)},
		{"-3/4", Of(-0.75)},
		{"2 - -3", Of(5)},
		{"-(2 + 3)", Of(-5)},
		{"- 3 + 5", Of(2)},
		{"span - 3", Of(27)},
		{"2 * m", Of(6)}, // m is a name where no number goes before it
		{"w.floor + 1", Of(13)},
		{"470 mm + 1", OfLength(470 + in)}, // a plain number that meets a length is in the units of the file
		{"1 + 470 mm", OfLength(470 + in)},
		{"2 * 470 mm", OfLength(940)},
		{"width / 2", OfLength(550)},
		{"width / 550 mm", Of(2)},
		{"left-post.x", OfLength(152.4)},
		{"wheels * 5 lb / 64 in", Value{70 * lb / (64 * in), MassPerLength}},
		{"sqrt(1 + slope * slope)", Of(1.25)},
		{"sqrt(3 in * 3 in + 4 in * 4 in)", OfLength(5 * units.Inch)},
		{"pipe.od / 2 * sqrt(1 + slope * slope)", OfLength(1.315 / 2 * 1.25 * units.Inch)},
		{"min(3, 2, 5)", Of(2)},
		{"max(3, 1 ft)", OfLength(304.8)},
		{"abs(-3 in)", OfLength(76.2)},
		{"round(7.3, 0.5)", Of(7.5)},
		{"roundup(7.1, 0.5)", Of(7.5)},
		{"rounddown(7.4, 1/4)", Of(7.25)},
		{"roundup(0.1 * 3, 0.1)", Of(0.1 * 3)},
		{"round(100 mm, 1)", OfLength(4 * units.Inch)},
		{"sin(30)", Of(0.5)},
		{"cos(60 deg)", Of(0.5)},
		{"tan(45)", Of(1)},
		{"sin(180) + cos(90)", Of(0)},
		{"distance(p, q)", OfLength(50)},
		{"distance(p, high.q) * 2", OfLength(260)},
	}
	for _, tt := range tests {
		e, err := Parse(tt.text, Pos{1, 1})
		require.NoError(t, err, tt.text)
		got, err := e.Eval(testWorld(units.InchSystem))
		require.NoError(t, err, tt.text)
		assert.Equal(t, tt.want.Kind, got.Kind, tt.text)
		assert.InDelta(t, tt.want.X, got.X, 1e-9, tt.text)
	}
}

// TestSineTable compares with a published table: Abramowitz and Stegun, Handbook of Mathematical Functions, table 4.10
// (values from memory, given to five places).
func TestSineTable(t *testing.T) {
	for deg, want := range map[int]float64{10: 0.17365, 20: 0.34202, 40: 0.64279, 50: 0.76604, 80: 0.98481} {
		e, err := Parse(fmt.Sprintf("sin(%d deg)", deg), Pos{1, 1})
		require.NoError(t, err)
		v, err := e.Eval(testWorld(units.InchSystem))
		require.NoError(t, err)
		assert.InDelta(t, want, v.X, 5e-6, "sin %d", deg)
	}
}

func TestMetricPlainNumbers(t *testing.T) {
	e, err := Parse("1 in + 4.6", Pos{1, 1})
	require.NoError(t, err)
	l, err := e.EvalLength(testWorld(units.MetricSystem), "a coordinate")
	require.NoError(t, err)
	assert.InDelta(t, 30, float64(l), 1e-9)
	e, err = Parse("66", Pos{1, 1})
	require.NoError(t, err)
	l, err = e.EvalLength(testWorld(units.MetricSystem), "a coordinate")
	require.NoError(t, err)
	assert.Equal(t, units.Length(66), l)
}

func TestParseFaults(t *testing.T) {
	tests := []struct {
		text string
		col  int
		want string
	}{
		{"", 1, "the formula ends where a value is expected"},
		{"3 +", 4, "the formula ends where a value is expected"},
		{"3 * ", 4, "the formula ends where a value is expected"},
		{"(3 + 4", 7, "( is not closed"},
		{"min(3, 4", 9, "( is not closed"},
		{"3 + 4)", 6, ") without its ("},
		{"a -3", 3, "- needs a space on both sides"},
		{"3-2", 2, "- needs a space on both sides"},
		{"3+ 2", 2, "+ needs a space on both sides"},
		{"½ + ½ +2", 7, "+ needs a space on both sides"},
		{"2e3", 1, "2e3 is not a number here: write it out"},
		{"1,000", 1, "1,000 is not a number here"},
		{"4 + 1.2.3", 5, "1.2.3 is not a number here"},
		{"1/0", 1, "1/0 is divided by zero"},
		{"7 ft 2", 6, "7 ft 2 what? write 7 ft 2 in"},
		{"3 4", 3, "a number is not expected here"},
		{"3 lenth", 3, "lenth is not expected here"},
		{"foo(3)", 1, "no function foo; there are min max"},
		{"round(3)", 1, "round takes a value and a step, found 1"},
		{"abs(3, 4)", 1, "abs takes one value, found 2"},
		{"distance(3, q)", 10, "distance takes the names of two points"},
		{"z + ?", 5, "? stands alone, as in z + ?"},
		{"3 ? 4", 3, "? stands alone"},
		{"--3", 2, "- is not expected here"},
		{"3 % 4", 3, "% is not expected here"},
		{"min()", 1, "min takes one value or more, found 0"},
		{"min(3,)", 7, ") is not expected here"},
		{"(+ 2)", 2, "+ is not expected here"},
		{strings.Repeat("(", 51) + "1" + strings.Repeat(")", 51), 51, "brackets more than 50 deep"},
		{strings.Repeat("9", 501), 1, "a formula of 501 characters; at most 500"},
		{strings.Repeat("9", 400), 1, "a number that large cannot be meant here"},
		{"nan(3)", 1, "no function nan"},
	}
	for _, tt := range tests {
		_, err := Parse(tt.text, Pos{7, 1})
		var at *Error
		require.ErrorAs(t, err, &at, tt.text)
		assert.Contains(t, at.Text, tt.want, tt.text)
		assert.Equal(t, Pos{7, tt.col}, at.At, tt.text)
	}
}

func TestEvalFaults(t *testing.T) {
	tests := []struct {
		text string
		col  int
		want string
	}{
		{"width + heavy", 7, "width is a length, heavy is a weight; they cannot be added"},
		{"20 kg - 3 in", 7, "20 kg is a weight, 3 in is a length; they cannot be subtracted"},
		{"3 kg + 2", 6, "3 kg is a weight, 2 is a plain number"},
		{"30 deg + 2", 8, "30 deg is an angle, 2 is a plain number"},
		{"3 lb + 2 N", 6, "3 lb is a weight, 2 N is a force"},
		{"max(3 in, 2 kg)", 11, "3 in is a length, 2 kg is a weight; they cannot be compared"},
		{"3 / (2 - 2)", 3, "divided by zero"},
		{"sqrt(-1)", 1, "the root of a number below zero"},
		{"sqrt(3 in)", 1, "3 in is a length; sqrt wants a plain number or an area"},
		{"sin(3 in)", 5, "3 in is a length; sin wants an angle in degrees"},
		{"tan(90)", 1, "tan of 90 has no end"},
		{"round(3, 0)", 10, "a step must be more than zero"},
		{"2 + nothing", 5, "no name nothing"},
		{"distance(p, nothing)", 1, "no such point"},
		{"40000 in", 1, "40000 in is more than 100 m"},
		{"width * width * width * width * width * width * width", 47, "no quantity is of such a power"},
		{strings.TrimSuffix(strings.Repeat("999999999999999 * ", 22), " * "), 359, "the result is too large for a number"},
	}
	for _, tt := range tests {
		e, err := Parse(tt.text, Pos{7, 1})
		require.NoError(t, err, tt.text)
		_, err = e.Eval(testWorld(units.InchSystem))
		var at *Error
		require.ErrorAs(t, err, &at, tt.text)
		assert.Contains(t, at.Text, tt.want, tt.text)
		assert.Equal(t, Pos{7, tt.col}, at.At, tt.text)
	}
}

func TestWantedKinds(t *testing.T) {
	w := testWorld(units.InchSystem)
	parse := func(s string) *Expr {
		e, err := Parse(s, Pos{2, 5})
		require.NoError(t, err, s)
		return e
	}
	_, err := parse("20 kg").EvalLength(w, "a coordinate")
	assert.EqualError(t, err, "2:5: 20 kg is a weight; a coordinate wants a length")
	_, err = parse("4000").EvalLength(w, "a coordinate")
	assert.EqualError(t, err, "2:5: 4000 in is more than 100 m")
	_, err = parse("3 in").EvalNumber(w, "a count")
	assert.EqualError(t, err, "2:5: 3 in is a length; a count wants a plain number")
	_, err = parse("1 + spoilt").EvalLength(w, "a coordinate")
	assert.ErrorIs(t, err, ErrSilent)
	_, err = Faulty("3 +", Pos{1, 1}).EvalLength(w, "a coordinate")
	assert.ErrorIs(t, err, ErrSilent)

	v, err := parse("20 lb").Eval(w)
	require.NoError(t, err)
	f, ok := v.InForce()
	assert.True(t, ok)
	assert.InDelta(t, 20*4.4482216152605, float64(f), 1e-9)
	_, ok = v.InForcePerLength()
	assert.False(t, ok)
	v, err = parse("30 lb/ft").Eval(w)
	require.NoError(t, err)
	per, ok := v.InForcePerLength()
	assert.True(t, ok)
	assert.InDelta(t, 30*14.593903, float64(per), 1e-3) // NIST SP 811: 1 lbf/ft = 14.593 90 N/m
	v, err = parse("150 N/m").Eval(w)
	require.NoError(t, err)
	per, ok = v.InForcePerLength()
	assert.True(t, ok)
	assert.InDelta(t, 150, float64(per), 1e-9)
}

// TestPrintedParses: what units print, formulas read back to the same value, but for the rounding of the print.
func TestPrintedParses(t *testing.T) {
	for _, sys := range []units.System{units.InchSystem, units.MetricSystem} {
		w := testWorld(sys)
		for _, x := range []float64{0.02, 1, 5.5, 22.48, 96.03125, 1234.5} {
			eval := func(text string) Value {
				e, err := Parse(text, Pos{1, 1})
				require.NoError(t, err, text)
				v, err := e.Eval(w)
				require.NoError(t, err, text)
				return v
			}
			l := units.Length(x) * units.Inch
			got, ok := eval(sys.Format(l)).InLength(sys)
			require.True(t, ok)
			assert.InDelta(t, float64(l), float64(got), 0.051, sys.Format(l))
			got, ok = eval(sys.Decimal(l)).InLength(sys)
			require.True(t, ok)
			assert.InDelta(t, float64(l), float64(got), 0.0128, sys.Decimal(l))
			m := units.Mass(x) * units.Pound
			f, ok := eval(sys.FormatMass(m)).InForce()
			require.True(t, ok)
			assert.InDelta(t, float64(m.Weight()), float64(f), 0.5, sys.FormatMass(m))
			f, ok = eval(sys.FormatForce(m.Weight())).InForce()
			require.True(t, ok)
			assert.InDelta(t, float64(m.Weight()), float64(f), 0.5, sys.FormatForce(m.Weight()))
			per := m.Weight().Per(units.Foot)
			p, ok := eval(sys.FormatForcePerLength(per)).InForcePerLength()
			require.True(t, ok)
			assert.InDelta(t, float64(per), float64(p), 0.75, sys.FormatForcePerLength(per))
		}
	}
}

func TestDelta(t *testing.T) {
	for text, want := range map[string]float64{"+ 3": 3, "- 3": -3, "- 3 + 2": -1, "+ 2 * 3 - 1": 5, "- -3": 3} {
		e, err := ParseDelta(text, Pos{1, 1})
		require.NoError(t, err, text)
		v, err := e.Eval(testWorld(units.InchSystem))
		require.NoError(t, err, text)
		assert.Equal(t, Of(want), v, text)
	}
	_, err := ParseDelta("+ 3 kg", Pos{1, 1})
	assert.NoError(t, err)
	_, err = ParseDelta("+3", Pos{1, 9})
	assert.EqualError(t, err, "1:9: + needs a space on both sides; write a + b")
}

func TestRefsNotesAndBare(t *testing.T) {
	e, err := Parse("min(knee.x, left) + distance(a, b) * 48-1/2 + 12-1/2", Pos{3, 10})
	require.NoError(t, err)
	assert.Equal(t, []Ref{
		{"knee.x", Pos{3, 14}, false}, {"left", Pos{3, 22}, false},
		{"a", Pos{3, 39}, true}, {"b", Pos{3, 42}, true},
	}, e.Refs())
	assert.Equal(t, []Note{{Pos{3, 47}, "48-1/2 is read as 48 1/2; for the difference write 48 - 1/2"}}, e.Notes(),
		"no note for 12-1/2: nobody means a difference there")
	_, bare := e.Bare()
	assert.False(t, bare)
	e, err = Parse(" tie-cleat ", Pos{3, 10})
	require.NoError(t, err)
	ref, bare := e.Bare()
	assert.True(t, bare)
	assert.Equal(t, Ref{"tie-cleat", Pos{3, 11}, false}, ref)
}

func TestKindNames(t *testing.T) {
	assert.Equal(t, "a weight per length", MassPerLength.String())
	assert.Equal(t, "an area", Kind{Length: 2}.String())
	assert.Equal(t, "a quantity in length^-1 angle^2", Kind{Length: -1, Angle: 2}.String())
}

func FuzzFormula(f *testing.F) {
	for _, s := range []string{
		"18 1/2 in", "5' 3 1/2\"", "-(2 + 3) * span", "min(1, 2 in)", "distance(p, q)", "((((", "48-1/2", "20 lb/ft",
		"width * width / 3", "1/0", "2e3", "½", "a.b.c", "- - -", "sqrt(-1)", "round(1, 0)", "\x00", "é", "999999999999999 * 999999999999999",
	} {
		f.Add(s)
	}
	w := testWorld(units.InchSystem)
	f.Fuzz(func(t *testing.T, s string) {
		for _, parse := range []func(string, Pos) (*Expr, error){Parse, ParseDelta} {
			e, err := parse(s, Pos{1, 1})
			if err != nil {
				checkPlaced(t, err, s)
				continue
			}
			for _, r := range e.Refs() {
				require.True(t, IsDottedName(r.Name), "%q in %q", r.Name, s)
			}
			v, err := e.Eval(w)
			if err != nil {
				checkPlaced(t, err, s)
				continue
			}
			require.False(t, math.IsNaN(v.X) || math.IsInf(v.X, 0), "%q gives %v", s, v.X)
		}
	})
}

// checkPlaced: a fault has words, and stands within the text or just after it.
func checkPlaced(t *testing.T, err error, s string) {
	if errors.Is(err, ErrSilent) {
		return
	}
	var at *Error
	require.ErrorAs(t, err, &at, s)
	require.NotEmpty(t, at.Text)
	require.Equal(t, 1, at.At.Line, s)
	require.GreaterOrEqual(t, at.At.Col, 1, s)
	require.LessOrEqual(t, at.At.Col, len([]rune(s))+1, s)
}

func ExampleParse() {
	e, _ := Parse("width / 2 + 3/4", Pos{Line: 1, Col: 8})
	w := world{values: map[string]Value{"width": OfLength(40 * units.Inch)}, sys: units.InchSystem}
	l, _ := e.EvalLength(w, "a coordinate")
	fmt.Println(w.sys.Format(l))
	// Output: 20 3/4 in
}
