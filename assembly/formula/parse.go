package formula

import (
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"turnwise/assembly/units"
)

// Limits of one formula. They keep hostile text cheap; no sketch comes near them.
const (
	MaxChars    = 500
	MaxBrackets = 50
)

// hyphenSurelyFraction is the greatest whole number before a hyphen that goes without a note: nobody writes 12-1/2 for a
// difference, but 48-1/2 may be one.
const hyphenSurelyFraction = 12

// Parse reads a formula whose first character stands at the given place:
//
//	sum      = product { ("+" | "-") product } ;          (* a space on both sides of + and - *)
//	product  = signed { ("*" | "/") signed } ;
//	signed   = ["-"] ( quantity | call | name | "(" sum ")" ) ;
//	call     = function "(" sum { "," sum } ")" ;
//	name     = word { "." word } ;   word = letter { ["-"] ( letter | digit | "_" ) } ;
//
// with the quantities of units.ScanQuantity.
func Parse(text string, at Pos) (*Expr, error) {
	return parse(text, at, false)
}

// ParseDelta reads what follows a coordinate in a change: "+ 3 - 2" is the formula 1. Text starts with the sign.
func ParseDelta(text string, at Pos) (*Expr, error) {
	return parse(text, at, true)
}

func parse(text string, at Pos, delta bool) (*Expr, error) {
	lead := len(text) - len(strings.TrimLeft(text, " "))
	at = at.Plus(lead)
	text = strings.Trim(text, " ")
	if n := utf8.RuneCountInString(text); n > MaxChars {
		return nil, &Error{at, fmt.Sprintf("a formula of %d characters; at most %d: name parts of it under givens", n, MaxChars)}
	}
	p := &parser{src: text, expr: &Expr{Text: text, At: at}}
	if delta {
		p.expr.root = p.sumAfter(&numberNode{span: span{p: p.expr}})
	} else {
		p.expr.root = p.sum()
	}
	p.blanks()
	if p.err == nil && p.i < len(p.src) {
		p.unexpected()
	}
	if p.err != nil {
		return nil, p.err
	}
	return p.expr, nil
}

// parser reads one formula by recursive descent. The first fault stops it: err is set, and every method returns at once.
type parser struct {
	src   string
	i     int // byte offset of what comes next
	depth int
	expr  *Expr
	err   error
}

func (p *parser) fail(offset int, format string, args ...any) {
	if p.err == nil {
		p.err = &Error{p.place(offset), fmt.Sprintf(format, args...)}
	}
}

// place is the position of a byte offset.
func (p *parser) place(offset int) Pos {
	return p.expr.At.Plus(utf8.RuneCountInString(p.src[:offset]))
}

func (p *parser) blanks() {
	for p.i < len(p.src) && p.src[p.i] == ' ' {
		p.i++
	}
}

// next is the byte that comes next after blanks, or 0 at the end.
func (p *parser) next() byte {
	p.blanks()
	if p.i < len(p.src) {
		return p.src[p.i]
	}
	return 0
}

func (p *parser) sum() node { return p.sumAfter(p.product()) }

// sumAfter reads the rest of a sum whose first term is known.
func (p *parser) sumAfter(left node) node {
	for p.err == nil {
		op := p.next()
		if op != '+' && op != '-' {
			break
		}
		sign := p.i
		if !p.spaced(sign) {
			p.fail(sign, "%c needs a space on both sides; write a %c b", op, op)
			break
		}
		p.i++
		right := p.product()
		left = &binaryNode{span: p.spanFrom(left, p.i), op: op, at: p.place(sign), left: left, right: right}
	}
	return left
}

// spaced tells whether the sign at the offset has a blank on both sides; the start of the text counts as one.
func (p *parser) spaced(offset int) bool {
	before := offset == 0 || p.src[offset-1] == ' '
	after := offset+1 >= len(p.src) || p.src[offset+1] == ' '
	return before && after
}

func (p *parser) product() node {
	left := p.signed()
	for p.err == nil {
		op := p.next()
		if op != '*' && op != '/' {
			break
		}
		sign := p.i
		p.i++
		right := p.signed()
		left = &binaryNode{span: p.spanFrom(left, p.i), op: op, at: p.place(sign), left: left, right: right}
	}
	return left
}

func (p *parser) signed() node {
	if p.next() != '-' {
		return p.operand()
	}
	start := p.i
	p.i++
	inner := p.operand()
	return &minusNode{span: p.span(start), inner: inner}
}

func (p *parser) operand() node {
	c := p.next()
	start := p.i
	switch {
	case p.err != nil:
	case c == 0:
		p.fail(len(p.src), "the formula ends where a value is expected")
	case c == '(':
		return p.brackets()
	case units.StartsNumber(p.src[start:]):
		return p.quantity()
	default:
		if name := nameAt(p.src[start:]); name != "" {
			return p.nameOrCall(name)
		}
		p.unexpected()
	}
	return &numberNode{span: p.span(start)}
}

func (p *parser) brackets() node {
	if !p.open() {
		return &numberNode{}
	}
	inner := p.sum()
	p.close()
	return inner
}

// open takes an opening bracket.
func (p *parser) open() bool {
	if p.depth++; p.depth > MaxBrackets {
		p.fail(p.i, "brackets more than %d deep; name parts of it under givens", MaxBrackets)
		return false
	}
	p.i++
	return true
}

// close takes the closing bracket.
func (p *parser) close() {
	p.depth--
	switch c := p.next(); {
	case p.err != nil:
	case c == ')':
		p.i++
	case c == 0:
		p.fail(len(p.src), "( is not closed")
	default:
		p.unexpected()
	}
}

func (p *parser) quantity() node {
	start := p.i
	q, n, err := units.ScanQuantity(p.src[start:])
	if err != nil {
		offset := start
		var bad *units.ScanError
		if errors.As(err, &bad) {
			offset += bad.Offset
		}
		p.fail(offset, "%s", err)
		return &numberNode{}
	}
	p.i += n
	if q.Hyphen > 0 && q.Whole > hyphenSurelyFraction {
		p.hyphenNote(start, start+q.Hyphen)
	}
	return &numberNode{span: p.span(start), v: Value{q.X, kindOf(q)}}
}

// hyphenNote tells that the hyphen at the offset was read as part of a mixed fraction.
func (p *parser) hyphenNote(start, hyphen int) {
	end := hyphen + 1
	for end < len(p.src) && strings.IndexByte("0123456789/", p.src[end]) >= 0 {
		end++
	}
	for start < hyphen && strings.ContainsAny(p.src[start:hyphen], " '") {
		start++ // after the feet
	}
	whole, fraction := p.src[start:hyphen], p.src[hyphen+1:end]
	p.expr.notes = append(p.expr.notes, Note{p.place(start), fmt.Sprintf("%s-%s is read as %s %s; for the difference write %s - %s",
		whole, fraction, whole, fraction, whole, fraction)})
}

func kindOf(q units.Quantity) Kind {
	var k Kind
	switch q.Base {
	case units.LengthBase:
		k = Length
	case units.MassBase:
		k = Mass
	case units.ForceBase:
		k = Force
	case units.AngleBase:
		k = Angle
	}
	if q.Per == units.LengthBase {
		k.Length--
	}
	return k
}

func (p *parser) nameOrCall(name string) node {
	start := p.i
	p.i += len(name)
	if p.next() != '(' {
		p.i = start + len(name)
		return p.name(start, name, false)
	}
	f, ok := functions[name]
	if !ok {
		p.fail(start, "no function %s; there are %s", name, functionList)
		return &numberNode{}
	}
	if !p.open() {
		return &numberNode{}
	}
	call := &callNode{name: name, at: p.place(start)}
	for p.err == nil && (len(call.args) > 0 || p.next() != ')') {
		call.args = append(call.args, p.argument(f))
		if p.next() != ',' {
			break
		}
		p.i++
	}
	p.close()
	if n := len(call.args); p.err == nil && (n < f.least || n > f.most) {
		p.fail(start, "%s takes %s, found %d", name, f.takes, n)
	}
	call.span = p.span(start)
	return call
}

func (p *parser) argument(f function) node {
	if !f.points {
		return p.sum()
	}
	p.blanks()
	start := p.i
	name := nameAt(p.src[start:])
	if name == "" {
		p.fail(start, "distance takes the names of two points")
		return &numberNode{}
	}
	p.i += len(name)
	return p.name(start, name, true)
}

func (p *parser) name(start int, name string, point bool) node {
	ref := Ref{name, p.place(start), point}
	p.expr.refs = append(p.expr.refs, ref)
	return &nameNode{span: p.span(start), ref: ref}
}

// unexpected reports what stands where it cannot.
func (p *parser) unexpected() {
	rest := p.src[p.i:]
	r, _ := utf8.DecodeRuneInString(rest)
	switch {
	case r == ')' && p.depth > 0:
		p.fail(p.i, ") is not expected here; expected a number, a name or (")
	case r == ')':
		p.fail(p.i, ") without its (")
	case r == '.':
		p.fail(p.i, ". is not a number here: digits belong after the point")
	case r == '?':
		p.fail(p.i, "? stands alone, as in z + ?; it cannot be part of a sum")
	case nameAt(rest) != "":
		p.fail(p.i, "%s is not expected here; a sign goes between two values", nameAt(rest))
	case units.StartsNumber(rest):
		p.fail(p.i, "a number is not expected here; a sign or a comma goes between two values")
	default:
		p.fail(p.i, "%s is not expected here; expected a number, a name or (", quoteRune(r))
	}
}

func quoteRune(r rune) string {
	if r < ' ' || r == utf8.RuneError {
		return "a control character"
	}
	return string(r)
}

func (p *parser) span(start int) span { return span{p.expr, start, p.i} }

func (p *parser) spanFrom(left node, end int) span {
	return span{p.expr, left.where().start, end}
}

// nameAt is the dotted name at the start of s, or "".
func nameAt(s string) string {
	end := 0
	for {
		w := units.WordAt(s[end:])
		if w == "" {
			return strings.TrimSuffix(s[:end], ".")
		}
		end += len(w)
		if end >= len(s) || s[end] != '.' {
			return s[:end]
		}
		end++
	}
}

// IsName tells whether s is one word as names are: letters, digits and underscores with single hyphens between,
// beginning with a letter.
func IsName(s string) bool { return s != "" && units.WordAt(s) == s }

// IsDottedName tells whether s is one or more names with dots between.
func IsDottedName(s string) bool { return s != "" && nameAt(s) == s }
