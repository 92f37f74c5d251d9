// Package design reads a design file into a Tree that keeps every formula unevaluated and every place, or into a list
// of positioned errors: all that are wrong with the file, in file order.
//
//	tree, errs := design.Read(r, "rack.yaml")
//
// # What is checked here, and what when solving
//
// Checked here, without evaluating anything: bytes, size and nesting; the YAML subset; unknown, repeated and missing
// keys; the form of every value; words, sizes and kinds; the grammar of every formula (its kinds are checked by
// formula.Expr.Eval); reserved names and names used twice, also between a group and what is round it; and that every
// name that a formula, path, point, load, cut list, fitting or wish uses is there and is the right sort of thing,
// copies included as far as their number is written as a plain number (with a formula as the count any number is
// taken as there).
//
// Left to the solver, which evaluates: kinds and sizes of values (a weight where a length is wanted, thickness zero or
// less), circles among names, numbers of points and copies, whether a surface reaches a point, cuts against pipes,
// and all that follows from geometry.
package design
