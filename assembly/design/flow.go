package design

import (
	"strings"

	"github.com/goccy/go-yaml/token"
)

// inline reads the value that begins at token k of the line, and goes on to the next line. A { } may run over several
// lines.
func (s *source) inline(l *line, k, level int) *node {
	f := &flowReader{s: s, l: l, k: k}
	n := f.value(level)
	if n.kind != badNode && f.k < len(f.l.toks) {
		f.trailing(n)
	}
	s.i++
	return n
}

// flowReader reads the tokens of one value.
type flowReader struct {
	s *source
	l *line
	k int
}

// peek is the next token; within brackets it goes on to the next line. False at the end.
func (f *flowReader) peek(inBrackets bool) (tok, bool) {
	for f.k >= len(f.l.toks) {
		if !inBrackets || f.l.bad || f.l.cut || f.s.i+1 >= len(f.s.lines) {
			return tok{}, false
		}
		f.s.i++
		f.l, f.k = &f.s.lines[f.s.i], 0
	}
	return f.l.toks[f.k], true
}

func (f *flowReader) value(level int) *node {
	t, ok := f.peek(false)
	if !ok {
		return &node{kind: badNode}
	}
	n := &node{at: t.at, level: level}
	switch {
	case t.isScalar():
		f.k++
		n.kind, n.text, n.textAt = textNode, t.text, t.at
	case t.kind == token.LiteralType || t.kind == token.FoldedType:
		f.block(n)
	case t.kind == token.MappingStartType:
		f.curly(n)
	case t.kind == token.SequenceStartType:
		f.square(n)
	default:
		f.s.fault(t.at, "%s is not expected here", clip(t.text))
		n.kind = badNode
	}
	return n
}

// block reads the text under | or >.
func (f *flowReader) block(n *node) {
	t := f.l.toks[f.k]
	n.kind, n.textAt = textNode, t.at
	f.k = len(f.l.toks)
	var text []string
	for i := f.l.no; i < len(f.s.raw); i++ {
		raw := f.s.raw[i]
		if blank := strings.TrimSpace(raw) == ""; !blank && len(raw)-len(strings.TrimLeft(raw, " ")) <= f.l.indent {
			break
		}
		text = append(text, strings.TrimSpace(raw))
	}
	n.text = strings.TrimSpace(strings.Join(text, "\n"))
	n.isBlock = true
}

// trailing reports what follows a whole value on its line.
func (f *flowReader) trailing(n *node) {
	t := f.l.toks[f.k]
	if t.kind == token.MappingValueType && n.kind == textNode {
		f.s.fault(t.at, "a second colon on this line: put a text that holds one in quotes, or go on in the next line")
	} else {
		f.s.fault(t.at, "%s is not expected here: the value is whole before it", clip(t.text))
	}
	n.kind = badNode
}

// tooDeep reports brackets that are nested too deep, and passes over the rest of the line.
func (f *flowReader) tooDeep(n *node) bool {
	if n.level <= MaxLevels {
		return false
	}
	f.s.fault(n.at, "nested deeper than %d levels", MaxLevels)
	f.giveUp(n)
	return true
}

// giveUp marks the value as bad and passes over what is left of its line.
func (f *flowReader) giveUp(n *node) {
	for _, e := range n.entries {
		f.s.spoil(e.key)
	}
	n.kind = badNode
	f.k = len(f.l.toks)
}

// curly reads { key: value, ... }.
func (f *flowReader) curly(n *node) {
	n.kind = mapNode
	f.k++
	if f.tooDeep(n) {
		return
	}
	for n.kind != badNode {
		t, ok := f.peek(true)
		switch {
		case !ok:
			f.giveUp(n) // reported when the lines were cut
		case t.kind == token.MappingEndType:
			f.k++
			return
		case t.kind == token.CollectEntryType:
			f.k++
		case t.isScalar():
			f.pair(n, t)
		default:
			f.s.fault(t.at, "%s is not expected here; inside { } stand entries key: value", clip(t.text))
			f.giveUp(n)
		}
	}
}

// pair reads key: value inside { }. A text without a colon is mostly a list that YAML has cut at its commas.
func (f *flowReader) pair(n *node, key tok) {
	f.k++
	colon, ok := f.peek(true)
	if !ok || colon.kind != token.MappingValueType {
		f.s.fault(key.at, "%s is not a key: inside { } a comma ends the value; put the list in quotes, or on a line of its own", clip(key.text))
		f.passStrays()
		if k := len(n.entries); k > 0 {
			n.entries[k-1].value = &node{kind: badNode, at: key.at}
		}
		return
	}
	f.k++
	e := entry{key: key.text, keyAt: key.at}
	next, ok := f.peek(true)
	if !ok || next.is(token.CollectEntryType, token.MappingEndType) {
		e.value = &node{kind: emptyNode, at: colon.at.Plus(1), level: n.level + 1}
	} else if e.value = f.value(n.level + 1); e.value.kind == badNode {
		f.giveUp(n)
	}
	n.entries = append(n.entries, e)
}

// passStrays passes over further texts without a colon.
func (f *flowReader) passStrays() {
	for {
		t, ok := f.peek(true)
		if !ok || !t.isScalar() && t.kind != token.CollectEntryType {
			return
		}
		if t.isScalar() && f.k+1 < len(f.l.toks) && f.l.toks[f.k+1].kind == token.MappingValueType {
			return
		}
		f.k++
	}
}

// square reads [a, b]. On one line what is between the brackets is kept as one text too.
func (f *flowReader) square(n *node) {
	open := f.l.toks[f.k]
	line := f.l
	n.kind = listNode
	f.k++
	if f.tooDeep(n) {
		return
	}
	for n.kind != badNode {
		t, ok := f.peek(true)
		switch {
		case !ok:
			f.giveUp(n)
		case t.kind == token.SequenceEndType:
			f.k++
			if f.l == line {
				raw := f.s.raw[line.no-1]
				n.text, n.textAt = raw[open.end:max(open.end, t.end-1)], open.at.Plus(1)
			}
			return
		case t.kind == token.CollectEntryType:
			f.k++
		case t.kind == token.MappingValueType:
			f.s.fault(t.at, "a colon inside [ ]: this list holds texts only")
			f.giveUp(n)
		default:
			item := f.value(n.level + 1)
			if item.kind == badNode {
				f.giveUp(n)
			}
			n.items = append(n.items, item)
		}
	}
}
