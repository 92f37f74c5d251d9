// Package formula reads and evaluates the arithmetic of design files: quantities with units (18 1/2 in, 5' 3", 20
// lb/ft), the four operations, brackets, a few functions, and names. Parse keeps the text and its place in the file;
// Eval computes it in an Env that knows the names, checking kinds as it goes (a length and a weight cannot be added).
// Both report faults as *Error, at the line and column to blame.
package formula

import (
	"errors"
	"fmt"

	"turnwise/assembly/units"
)

// Pos is a place in a file: line and column from 1, the column counted in characters.
type Pos struct {
	Line, Col int
}

// IsBefore tells whether p stands earlier in the file than q.
func (p Pos) IsBefore(q Pos) bool {
	return p.Line < q.Line || p.Line == q.Line && p.Col < q.Col
}

// Plus is the place n characters further on the same line.
func (p Pos) Plus(n int) Pos { return Pos{p.Line, p.Col + n} }

// Error is a fault in a formula at a place. Text says what was found, what was expected and what to try.
type Error struct {
	At   Pos
	Text string
}

func (e *Error) Error() string { return fmt.Sprintf("%d:%d: %s", e.At.Line, e.At.Col, e.Text) }

// ErrSilent is what an Env returns for a name whose own value is faulty: Eval passes it on unchanged, and the caller
// does not report it again.
var ErrSilent = errors.New("hangs on a faulty value")

// Ref is a name that a formula uses.
type Ref struct {
	Name  string
	At    Pos
	Point bool // an argument of distance, hence a point and not a value
}

// Env gives the names of a formula their values. Names come as written: "width", "knee.x", "left", "pipe.od",
// "top.under". Inside a point x, y and z are names too. An error that is not an *Error is reported at the name.
type Env interface {
	// Value is the value of a name.
	Value(r Ref) (Value, error)
	// Distance is the straight distance between two points.
	Distance(p, q Ref) (units.Length, error)
	// Units are what plain numbers stand for where a length is wanted.
	Units() units.System
}

// Expr is a formula as written, not yet evaluated.
type Expr struct {
	Text string // as written, without blanks round it
	At   Pos    // of its first character

	root  node
	refs  []Ref
	notes []Note
}

// Note is something worth telling that is no fault.
type Note struct {
	At   Pos
	Text string
}

// Refs lists the names that the formula uses, in the order written, repeats included.
func (e *Expr) Refs() []Ref { return e.refs }

// Notes are readings that may surprise (a hyphen that could have been meant as a minus).
func (e *Expr) Notes() []Note { return e.notes }

// Bare gives the name when the whole formula is one name and nothing else.
func (e *Expr) Bare() (Ref, bool) {
	n, ok := e.root.(*nameNode)
	if !ok {
		return Ref{}, false
	}
	return n.ref, true
}

// Eval computes the value. Faults are *Error, or ErrSilent (wrapped or not) from the Env.
func (e *Expr) Eval(env Env) (Value, error) {
	v, err := e.root.eval(env)
	if err != nil {
		return Value{}, err
	}
	return v, checkSize(v, e.At)
}

// EvalLength computes a length; a plain number is in the units of the Env. What is the thing that wants it, with its
// article, for the message: "20 kg is a weight; a coordinate wants a length".
func (e *Expr) EvalLength(env Env, what string) (units.Length, error) {
	v, err := e.Eval(env)
	if err != nil {
		return 0, err
	}
	l, ok := v.InLength(env.Units())
	if !ok {
		return 0, &Error{e.At, fmt.Sprintf("%s is %s; %s wants a length", named(e.root), v.Kind, what)}
	}
	return l, checkSize(OfLength(l), e.At)
}

// EvalNumber computes a plain number, for counts.
func (e *Expr) EvalNumber(env Env, what string) (float64, error) {
	v, err := e.Eval(env)
	if err != nil {
		return 0, err
	}
	if v.Kind != Number {
		return 0, &Error{e.At, fmt.Sprintf("%s is %s; %s wants a plain number", named(e.root), v.Kind, what)}
	}
	return v.X, nil
}

// Faulty stands for a formula whose fault is already reported: Eval gives ErrSilent.
func Faulty(text string, at Pos) *Expr {
	return &Expr{Text: text, At: at, root: &faultyNode{}}
}

// IsFaulty tells whether e stands for a formula whose fault is already reported.
func (e *Expr) IsFaulty() bool {
	_, bad := e.root.(*faultyNode)
	return bad
}

type faultyNode struct{ span }

func (*faultyNode) eval(Env) (Value, error) { return Value{}, ErrSilent }
