package planfile

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// kind tells what a node of the JSON tree holds.
type kind byte

const (
	nullKind kind = iota
	boolKind
	numberKind
	stringKind
	listKind
	objectKind
)

// String names the kind for people.
func (k kind) String() string {
	return [...]string{"null", "true or false", "a number", "text", "a list", "an object"}[k]
}

// node is one value of a JSON document. Unlike the maps of encoding/json it keeps the order of an object's fields,
// so that what is written is the same each time, and it notices a field that stands twice.
type node struct {
	kind  kind
	num   float64
	lit   string // a number as written
	str   string
	bool  bool
	keys  []string // of an object, one for each item
	items []node
}

const (
	// maxBytes bounds a plan file. A frame of 1,000 bodies takes about 6 MB.
	maxBytes = 32 << 20
	// maxDepth bounds nesting. The deepest value of a plan (a repeat's turn axis) lies 8 levels down.
	maxDepth = 24
	// lineWidth is the longest line on which an object or a list is kept together.
	lineWidth = 120
)

// parse reads one JSON document of at most maxBytes.
func parse(r io.Reader) (node, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return node{}, fmt.Errorf("reading the plan: %w", err)
	}
	if len(data) > maxBytes {
		return node{}, fmt.Errorf("the plan is larger than %d MB", maxBytes>>20)
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	n, err := parseValue(d, 0)
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return node{}, fmt.Errorf("byte %d: the plan ends too early", d.InputOffset())
	}
	if err != nil {
		return node{}, fmt.Errorf("byte %d: %w", d.InputOffset(), err)
	}
	if _, err := d.Token(); err != io.EOF {
		return node{}, fmt.Errorf("byte %d: text after the end of the plan", d.InputOffset())
	}
	return n, nil
}

// parseValue reads the next value.
func parseValue(d *json.Decoder, depth int) (node, error) {
	tok, err := d.Token()
	if err != nil {
		return node{}, err
	}
	if depth > maxDepth {
		return node{}, fmt.Errorf("nested deeper than %d levels", maxDepth)
	}
	switch t := tok.(type) {
	case json.Delim:
		if t == '[' {
			return parseList(d, depth)
		}
		return parseObject(d, depth)
	case json.Number:
		return parseNumber(t)
	case string:
		return text(t), nil
	case bool:
		return truth(t), nil
	}
	return null(), nil
}

// parseNumber refuses numbers that a float64 cannot hold.
func parseNumber(t json.Number) (node, error) {
	f, err := strconv.ParseFloat(t.String(), 64)
	if err != nil {
		return node{}, fmt.Errorf("%.40s is not a number this program can hold", t.String())
	}
	return node{kind: numberKind, num: f, lit: t.String()}, nil
}

func parseList(d *json.Decoder, depth int) (node, error) {
	n := node{kind: listKind}
	for d.More() {
		item, err := parseValue(d, depth+1)
		if err != nil {
			return node{}, err
		}
		n.items = append(n.items, item)
	}
	_, err := d.Token()
	return n, err
}

func parseObject(d *json.Decoder, depth int) (node, error) {
	n := node{kind: objectKind}
	seen := map[string]bool{}
	for d.More() {
		tok, err := d.Token()
		if err != nil {
			return node{}, err
		}
		key, _ := tok.(string) // the decoder has made sure that it is one
		if seen[key] {
			return node{}, fmt.Errorf("field %.60q stands twice in one object", key)
		}
		seen[key] = true
		item, err := parseValue(d, depth+1)
		if err != nil {
			return node{}, err
		}
		n.keys, n.items = append(n.keys, key), append(n.items, item)
	}
	_, err := d.Token()
	return n, err
}

func null() node         { return node{} }
func text(s string) node { return node{kind: stringKind, str: s} }
func truth(b bool) node  { return node{kind: boolKind, bool: b} }

// textOrNull is null for "".
func textOrNull(s string) node {
	if s == "" {
		return null()
	}
	return text(s)
}

// number is x rounded to a number of decimals, without a minus sign on zero.
func number(x float64, decimals int) node {
	f := rounded(x, decimals)
	return node{kind: numberKind, num: f, lit: strconv.FormatFloat(f, 'f', -1, 64)}
}

// rounded is x to a number of decimals, half away from zero; beyond 2^53 units of the last decimal x is kept.
func rounded(x float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	if math.Abs(x)*scale >= 1<<53 {
		return x
	}
	return math.Round(x*scale)/scale + 0 // + 0 turns -0 into 0
}

// count is a whole number.
func count(n int) node {
	return node{kind: numberKind, num: float64(n), lit: strconv.Itoa(n)}
}

// countOrNull is null for 0.
func countOrNull(n int) node {
	if n == 0 {
		return null()
	}
	return count(n)
}

// list makes a node of each item; it is never null.
func list[T any](items []T, f func(T) node) node {
	n := node{kind: listKind, items: make([]node, len(items))}
	for i, it := range items {
		n.items[i] = f(it)
	}
	return n
}

// object makes an object of fields in the given order.
func object(fields ...field) node {
	n := node{kind: objectKind, keys: make([]string, len(fields)), items: make([]node, len(fields))}
	for i, f := range fields {
		n.keys[i], n.items[i] = f.key, f.value
	}
	return n
}

// field is one field of an object.
type field struct {
	key   string
	value node
}

// check finds the first number in n that JSON cannot hold.
func check(path string, n node) error {
	if n.kind == numberKind && (math.IsNaN(n.num) || math.IsInf(n.num, 0)) {
		return fmt.Errorf("%s is %v, which is no number", path, n.num)
	}
	for i, it := range n.items {
		if err := check(childPath(path, n, i), it); err != nil {
			return err
		}
	}
	return nil
}

// childPath names item i of n: parts[3].pose.
func childPath(path string, n node, i int) string {
	if n.kind == listKind {
		return fmt.Sprintf("%s[%d]", path, i)
	}
	if path == "" {
		return n.keys[i]
	}
	return path + "." + n.keys[i]
}

// print writes n: short objects and lists on one line, longer ones with an item a line.
func print(b *bytes.Buffer, n node, indent int) {
	mark := b.Len()
	printFlat(b, n)
	if len(n.items) == 0 || b.Len()-mark+indent <= lineWidth && !hasDeep(n) {
		return
	}
	b.Truncate(mark)
	open, shut := "[", "]"
	if n.kind == objectKind {
		open, shut = "{", "}"
	}
	b.WriteString(open)
	pad := "\n" + strings.Repeat(" ", indent+2)
	for i, it := range n.items {
		if i > 0 {
			b.WriteByte(',')
		}
		b.WriteString(pad)
		if n.kind == objectKind {
			printString(b, n.keys[i])
			b.WriteString(": ")
		}
		print(b, it, indent+2)
	}
	b.WriteString(pad[:len(pad)-2])
	b.WriteString(shut)
}

// hasDeep tells whether n has objects among its items that hold more than numbers and text: such a list reads better
// with one a line.
func hasDeep(n node) bool {
	for _, it := range n.items {
		if it.kind == objectKind && n.kind == listKind && len(n.items) > 1 {
			return true
		}
	}
	return false
}

// printFlat writes n on one line.
func printFlat(b *bytes.Buffer, n node) {
	switch n.kind {
	case nullKind:
		b.WriteString("null")
	case boolKind:
		b.WriteString(strconv.FormatBool(n.bool))
	case numberKind:
		b.WriteString(n.lit)
	case stringKind:
		printString(b, n.str)
	case listKind:
		b.WriteByte('[')
		for i, it := range n.items {
			separate(b, i)
			printFlat(b, it)
		}
		b.WriteByte(']')
	case objectKind:
		b.WriteByte('{')
		for i, it := range n.items {
			separate(b, i)
			printString(b, n.keys[i])
			b.WriteString(": ")
			printFlat(b, it)
		}
		b.WriteByte('}')
	}
}

// separate goes between items on one line.
func separate(b *bytes.Buffer, i int) {
	if i > 0 {
		b.WriteString(", ")
	}
}

// printString writes s as a JSON string, with < > & left as they are.
func printString(b *bytes.Buffer, s string) {
	e := json.NewEncoder(b)
	e.SetEscapeHTML(false)
	_ = e.Encode(s) // a string and a memory buffer cannot fail
	b.Truncate(b.Len() - 1)
}
