package design

import (
	"strings"

	"github.com/goccy/go-yaml/token"
)

// nodeKind is what stands at a node.
type nodeKind int

const (
	emptyNode nodeKind = iota // a key with nothing after it
	textNode
	mapNode
	listNode
	badNode // faulty and already reported
)

// node is a value of the file: a text, a map, or a list.
type node struct {
	kind    nodeKind
	at      Pos    // of its first character; of an empty node, just after the colon
	text    string // textNode; listNode in brackets on one line: what is between the brackets
	textAt  Pos    // of the first character of text
	isBlock bool   // textNode: written under | or >
	entries []entry
	items   []*node
	level   int
}

// entry is one key of a map with its value.
type entry struct {
	key   string
	keyAt Pos
	value *node
}

// source turns lines of text into nodes.
type source struct {
	raw    []string
	lines  []line
	i      int // the next line
	flow   int // depth of brackets, while cutting lines
	second int // line where a second document begins, or 0
	// unclosed tells that a bracket was open where a line ended that has to close it.
	unclosed bool
	started  bool
	fault    func(at Pos, format string, args ...any)
	spoil    func(key string) // told of a key whose entry cannot be read
}

// parse builds the top map. The result is never nil.
func (s *source) parse() *node {
	s.cutLines()
	top := &node{kind: mapNode, at: newPos(1, 1), level: 1}
	for s.i < len(s.lines) {
		l := &s.lines[s.i]
		if len(l.toks) == 1 && l.toks[0].kind == token.DocumentHeaderType {
			s.i++
			continue
		}
		part := s.block(l.indent, 1)
		switch {
		case part.kind == mapNode:
			top.entries = append(top.entries, part.entries...)
		case part.kind != badNode:
			s.fault(part.at, "a list where the sections of a design are expected: pipe, points, runs ...")
		}
		if s.i < len(s.lines) && !s.lines[s.i].bad {
			s.wrongIndent(&s.lines[s.i])
		}
	}
	return top
}

func (s *source) wrongIndent(l *line) {
	s.fault(newPos(l.no, l.indent+1), "this line is indented unlike those above it: line it up with the entries it belongs to")
	s.skipDeeper(l.indent - 1)
}

// skipDeeper passes over the lines that are indented by more than n.
func (s *source) skipDeeper(n int) {
	for s.i < len(s.lines) && s.lines[s.i].indent > n {
		s.spoilLine(&s.lines[s.i])
		s.i++
	}
}

// spoilLine tells of the key that a line begins with, if it does.
func (s *source) spoilLine(l *line) {
	if len(l.toks) > 0 && l.toks[0].isScalar() {
		key, _, _ := strings.Cut(l.toks[0].text, ":")
		s.spoil(key)
	}
}

// block reads the map or list whose lines are indented by indent.
func (s *source) block(indent, level int) *node {
	l := &s.lines[s.i]
	n := &node{kind: mapNode, at: newPos(l.no, l.indent+1), level: level}
	if level > MaxLevels {
		s.fault(n.at, "nested deeper than %d levels", MaxLevels)
		s.skipDeeper(indent - 1)
		n.kind = badNode
		return n
	}
	if len(l.toks) > 0 && l.toks[0].kind == token.SequenceEntryType {
		n.kind = listNode
	}
	for s.i < len(s.lines) {
		l := &s.lines[s.i]
		switch {
		case l.indent < indent:
			return n
		case l.indent > indent:
			if !l.bad {
				s.wrongIndent(l)
			} else {
				s.skipDeeper(indent)
			}
		case l.bad:
			s.spoilLine(l)
			s.i++
			s.skipDeeper(indent)
		case n.kind == listNode && l.toks[0].kind != token.SequenceEntryType:
			return n // of the map around it, which may be indented alike
		case n.kind == listNode:
			n.items = append(n.items, s.item(l, level))
		case l.toks[0].kind == token.SequenceEntryType:
			s.fault(l.toks[0].at, "a list entry among keys: a list belongs under one key, every entry with its -")
			s.i++
			s.skipDeeper(indent)
		default:
			s.entry(n, l, level)
		}
	}
	return n
}

// item reads one "- value" line.
func (s *source) item(l *line, level int) *node {
	rest := l.toks[1:]
	if len(rest) == 0 {
		s.i++
		s.fault(l.toks[0].at, "nothing after the -")
		s.skipDeeper(l.indent)
		return &node{kind: badNode, at: l.toks[0].at}
	}
	v := s.inline(l, 1, level+1)
	s.noDeeper(l)
	return v
}

// entry reads one "key: value" line, and the lines that belong to it.
func (s *source) entry(n *node, l *line, level int) {
	key := l.toks[0]
	if !key.isScalar() || len(l.toks) < 2 || l.toks[1].kind != token.MappingValueType {
		s.noKey(l)
		s.spoilLine(l)
		s.i++
		s.skipDeeper(l.indent)
		return
	}
	e := entry{key: key.text, keyAt: key.at}
	if len(l.toks) > 2 {
		e.value = s.inline(l, 2, level+1)
		if !l.block {
			s.noDeeper(l)
		}
	} else {
		e.value = s.below(l, level+1)
	}
	n.entries = append(n.entries, e)
}

// noKey reports a line that does not begin with a key and a colon.
func (s *source) noKey(l *line) {
	t := l.toks[0]
	switch before, after, found := strings.Cut(t.text, ":"); {
	case t.isScalar() && !t.quoted && found && after != "" && before != "":
		s.fault(t.at, "%s: a space goes after the colon", clip(t.text))
	case t.isScalar() && s.i > 0:
		s.fault(t.at, "%s is no key with a colon; a value stays on the line of its key (only note may run over several)", clip(t.text))
	default:
		s.fault(t.at, "a key and a colon are expected here")
	}
}

// below reads the value of a key that has nothing behind its colon.
func (s *source) below(l *line, level int) *node {
	colon := l.toks[1]
	s.i++
	if s.i < len(s.lines) {
		next := &s.lines[s.i]
		isList := len(next.toks) > 0 && next.toks[0].kind == token.SequenceEntryType
		if next.indent > l.indent || next.indent == l.indent && isList {
			return s.block(next.indent, level)
		}
	}
	n := &node{kind: emptyNode, at: colon.at.Plus(1), level: level}
	if l.no < len(s.raw) && strings.HasPrefix(strings.TrimLeft(s.raw[l.no], " "), "\t") {
		n.kind = badNode // what is below is indented with a tab, and reported
	}
	return n
}

// noDeeper reports lines under a value that is already whole.
func (s *source) noDeeper(l *line) {
	if s.i >= len(s.lines) || s.lines[s.i].indent <= l.indent {
		return
	}
	next := &s.lines[s.i]
	if next.bad || len(next.toks) == 0 {
		s.skipDeeper(l.indent)
		return
	}
	if len(next.toks) > 1 && next.toks[1].kind == token.MappingValueType {
		s.fault(next.toks[0].at, "%s is indented under a line that has its value already", clip(next.toks[0].text))
	} else {
		s.fault(next.toks[0].at, "a value stays on one line (only note may run over several)")
	}
	s.skipDeeper(l.indent)
}

// clip shortens a text for a message.
func clip(s string) string {
	const most = 40
	if r := []rune(s); len(r) > most {
		return string(r[:most]) + "..."
	}
	return s
}
