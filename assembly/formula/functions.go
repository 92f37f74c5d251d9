package formula

import (
	"fmt"
	"math"
)

// function is one of the functions of formulas.
type function struct {
	least, most int    // number of arguments
	takes       string // the same in words
	points      bool   // the arguments are names of points
	eval        func(c *callNode, args []Value, env Env) (Value, error)
}

// functionList names the functions in messages.
const functionList = "min max abs sqrt round roundup rounddown sin cos tan distance"

// maxArgs is far more than a formula of MaxChars can hold.
const maxArgs = MaxChars

var functions = map[string]function{
	"min":       {1, maxArgs, "one value or more", false, least},
	"max":       {1, maxArgs, "one value or more", false, greatest},
	"abs":       {1, 1, "one value", false, magnitude},
	"sqrt":      {1, 1, "one value", false, root},
	"round":     {2, 2, "a value and a step", false, toStep(math.Round)},
	"roundup":   {2, 2, "a value and a step", false, toStep(math.Ceil)},
	"rounddown": {2, 2, "a value and a step", false, toStep(math.Floor)},
	"sin":       {1, 1, "one angle in degrees", false, ofAngle(sinDeg)},
	"cos":       {1, 1, "one angle in degrees", false, ofAngle(func(d float64) float64 { return sinDeg(d + 90) })},
	"tan":       {1, 1, "one angle in degrees", false, ofAngle(tanDeg)},
	"distance":  {2, 2, "the names of two points", true, nil},
}

type callNode struct {
	span
	name string // a key of functions
	at   Pos
	args []node
}

func (c *callNode) eval(env Env) (Value, error) {
	f := functions[c.name]
	if f.points {
		return c.distance(env)
	}
	args := make([]Value, len(c.args))
	var first error
	for i, a := range c.args {
		v, err := a.eval(env)
		if first == nil {
			first = err
		}
		args[i] = v
	}
	if first != nil {
		return Value{}, first
	}
	v, err := f.eval(c, args, env)
	if err != nil {
		return Value{}, err
	}
	return v, finite(v, c.at)
}

func (c *callNode) distance(env Env) (Value, error) {
	p, q := c.args[0].(*nameNode).ref, c.args[1].(*nameNode).ref
	d, err := env.Distance(p, q)
	return OfLength(d), placed(err, c.at)
}

func least(c *callNode, args []Value, env Env) (Value, error) {
	return c.pick(args, env, math.Min)
}

func greatest(c *callNode, args []Value, env Env) (Value, error) {
	return c.pick(args, env, math.Max)
}

func (c *callNode) pick(args []Value, env Env, better func(a, b float64) float64) (Value, error) {
	best := args[0]
	for i, v := range args[1:] {
		a, b, ok := alike(best, v, env)
		if !ok {
			return Value{}, &Error{c.args[i+1].where().pos(), unlike(c.args[0], a, c.args[i+1], b, "compared")}
		}
		best = Value{better(a.X, b.X), a.Kind}
	}
	return best, nil
}

func magnitude(_ *callNode, args []Value, _ Env) (Value, error) {
	return Value{math.Abs(args[0].X), args[0].Kind}, nil
}

func root(c *callNode, args []Value, _ Env) (Value, error) {
	k := args[0].Kind
	if args[0].X < 0 {
		return Value{}, &Error{c.at, "the root of a number below zero; sqrt wants zero or more"}
	}
	if k.Length%2 != 0 || k.Mass%2 != 0 || k.Force%2 != 0 || k.Angle%2 != 0 {
		return Value{}, &Error{c.at, fmt.Sprintf("%s is %s; sqrt wants a plain number or an area", named(c.args[0]), k)}
	}
	return Value{math.Sqrt(args[0].X), Kind{k.Length / 2, k.Mass / 2, k.Force / 2, k.Angle / 2}}, nil
}

// stepSlack lets a value that is a whole number of steps but for rounding count as such: roundup(3 * 0.1, 0.1) is 0.3.
const stepSlack = 1e-9

func toStep(round func(float64) float64) func(*callNode, []Value, Env) (Value, error) {
	return func(c *callNode, args []Value, env Env) (Value, error) {
		v, step, ok := alike(args[0], args[1], env)
		if !ok {
			return Value{}, &Error{c.args[1].where().pos(), unlike(c.args[0], v, c.args[1], step, "compared")}
		}
		if step.X <= 0 {
			return Value{}, &Error{c.args[1].where().pos(), "a step must be more than zero"}
		}
		n := v.X / step.X
		if near := math.Round(n); math.Abs(n-near) < stepSlack {
			n = near
		}
		return Value{round(n) * step.X, v.Kind}, nil
	}
}

func ofAngle(f func(deg float64) float64) func(*callNode, []Value, Env) (Value, error) {
	return func(c *callNode, args []Value, _ Env) (Value, error) {
		if k := args[0].Kind; k != Angle && k != Number {
			return Value{}, &Error{c.args[0].where().pos(), fmt.Sprintf("%s is %s; %s wants an angle in degrees", named(c.args[0]), k, c.name)}
		}
		v := f(args[0].X)
		if math.IsInf(v, 0) {
			return Value{}, &Error{c.at, fmt.Sprintf("%s of %s has no end; a square angle has no slope", c.name, named(c.args[0]))}
		}
		return Of(v), nil
	}
}

// sinDeg is exact at whole quarter turns, where squares and levels come from.
func sinDeg(d float64) float64 {
	d = math.Mod(d, 360)
	switch d {
	case 0, 180, -180:
		return 0
	case 90, -270:
		return 1
	case -90, 270:
		return -1
	case 30, 150, -210, -330:
		return 0.5
	case -30, -150, 210, 330:
		return -0.5
	}
	return math.Sin(d * math.Pi / 180)
}

func tanDeg(d float64) float64 {
	c := sinDeg(d + 90)
	if c == 0 {
		return math.Inf(1)
	}
	if m := math.Mod(d, 180); m == 45 || m == -135 {
		return 1
	}
	return sinDeg(d) / c
}
