// Package design reads a design file into a Tree that keeps every formula unevaluated and every place, or into a list
// of positioned errors: all that are wrong with the file, in file order.
//
//	tree, errs := design.Read(r, "rack.yaml")
//
// # How a file is read
//
//  1. Its bytes are checked: size, UTF-8, length of lines (bytes.go).
//  2. Every line is cut into tokens by itself with the YAML library's lexer, and what is outside the subset is refused:
//     tabs, anchors, aliases, tags, a second document, values over several lines (lines.go). Line by line, because the
//     work is then bounded for any text, nothing is folded silently, and reading goes on after a faulty line.
//  3. Indents and brackets make nodes: texts, maps, lists, at most MaxLevels deep (node.go, flow.go).
//  4. Sections are read from the nodes by tables of keys (sections.go, room.go, things.go, parts.go).
//  5. Names are declared in scopes and looked up (names.go, resolve.go).
//
// A fault is told once: names whose own entry is faulty are remembered, and what hangs on them is passed over in
// silence, here and by Tree.Merge.
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
// names of copies whose number is a formula, parts of a run named in a wish ("rail.2"), and all that follows from
// geometry.
package design
