package formula

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"unicode/utf8"

	"turnwise/assembly/units"
)

// MaxLength is the greatest length either way. Nothing built of pipe by hand is larger.
const MaxLength = 100 * units.Metre

// maxPower bounds the powers of a kind, so that they cannot run over.
const maxPower = 6

// node is a part of a formula.
type node interface {
	eval(Env) (Value, error)
	where() span
}

// span is where a node stands in the text of its formula, in bytes.
type span struct {
	p          *Expr
	start, end int
}

func (s span) where() span { return s }

// text is the node as written.
func (s span) text() string {
	if s.p == nil {
		return ""
	}
	return s.p.Text[s.start:s.end]
}

type numberNode struct {
	span
	v Value
}

func (n *numberNode) eval(Env) (Value, error) { return n.v, nil }

type nameNode struct {
	span
	ref Ref
}

func (n *nameNode) eval(env Env) (Value, error) {
	v, err := env.Value(n.ref)
	return v, placed(err, n.ref.At)
}

// placed puts an error without a place of its own at the given one.
func placed(err error, at Pos) error {
	var own *Error
	if err == nil || errors.Is(err, ErrSilent) || errors.As(err, &own) {
		return err
	}
	return &Error{at, err.Error()}
}

type minusNode struct {
	span
	inner node
}

func (n *minusNode) eval(env Env) (Value, error) {
	v, err := n.inner.eval(env)
	v.X = -v.X
	return v, err
}

type binaryNode struct {
	span
	op          byte
	at          Pos // of the sign
	left, right node
}

func (n *binaryNode) eval(env Env) (Value, error) {
	a, err := n.left.eval(env)
	b, errB := n.right.eval(env)
	if err != nil {
		return Value{}, err
	}
	if errB != nil {
		return Value{}, errB
	}
	var v Value
	switch n.op {
	case '+', '-':
		verb := map[byte]string{'+': "added", '-': "subtracted"}[n.op]
		a, b, ok := alike(a, b, env)
		if !ok {
			return Value{}, &Error{n.at, unlike(n.left, a, n.right, b, verb)}
		}
		v = Value{a.X + b.X, a.Kind}
		if n.op == '-' {
			v.X = a.X - b.X
		}
	case '*':
		v = Value{a.X * b.X, product(a.Kind, b.Kind, 1)}
	case '/':
		if b.X == 0 {
			return Value{}, &Error{n.at, "divided by zero"}
		}
		v = Value{a.X / b.X, product(a.Kind, b.Kind, -1)}
	}
	if power(v.Kind) > maxPower {
		return Value{}, &Error{n.at, "no quantity is of such a power: " + v.Kind.String()}
	}
	return v, finite(v, n.at)
}

// alike makes two values of one kind: a plain number that meets a length is in the units of the file.
func alike(a, b Value, env Env) (Value, Value, bool) {
	if a.Kind == Number && b.Kind == Length {
		a = Value{a.X * float64(env.Units().Unit()), Length}
	}
	if b.Kind == Number && a.Kind == Length {
		b = Value{b.X * float64(env.Units().Unit()), Length}
	}
	return a, b, a.Kind == b.Kind
}

func unlike(l node, a Value, r node, b Value, verb string) string {
	return fmt.Sprintf("%s is %s, %s is %s; they cannot be %s", named(l), a.Kind, named(r), b.Kind, verb)
}

// named is a part of a formula as messages name it.
func named(n node) string {
	const most = 40
	s := []rune(n.where().text())
	switch {
	case len(s) == 0:
		return "the coordinate"
	case len(s) > most:
		return string(s[:most]) + "..."
	}
	return string(s)
}

func product(a, b Kind, sign int8) Kind {
	return Kind{a.Length + sign*b.Length, a.Mass + sign*b.Mass, a.Force + sign*b.Force, a.Angle + sign*b.Angle}
}

// power is the greatest power in a kind.
func power(k Kind) int8 {
	most := int8(0)
	for _, p := range []int8{k.Length, k.Mass, k.Force, k.Angle} {
		most = max(most, p, -p)
	}
	return most
}

func finite(v Value, at Pos) error {
	if math.IsNaN(v.X) || math.IsInf(v.X, 0) {
		return &Error{at, "the result is too large for a number"}
	}
	return nil
}

// checkSize refuses what no design measures.
func checkSize(v Value, at Pos) error {
	if v.Kind == Length && math.Abs(v.X) > float64(MaxLength) {
		return &Error{at, tooLong(units.Length(v.X))}
	}
	return finite(v, at)
}

func tooLong(l units.Length) string {
	if in := l.Inches(); in == math.Trunc(in) && math.Abs(in) < 1e9 {
		return fmt.Sprintf("%s in is more than 100 m", strconv.FormatFloat(in, 'f', -1, 64))
	}
	return fmt.Sprintf("%s m is more than 100 m", strconv.FormatFloat(float64(l/units.Metre), 'g', 6, 64))
}

// pos is the place of the span's first character.
func (s span) pos() Pos {
	if s.p == nil {
		return Pos{}
	}
	return s.p.At.Plus(utf8.RuneCountInString(s.p.Text[:s.start]))
}
