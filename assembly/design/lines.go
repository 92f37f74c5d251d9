package design

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/goccy/go-yaml/lexer"
	"github.com/goccy/go-yaml/token"
)

// tok is one token with its place in the file. Text is as written, without blanks and quotes round it.
type tok struct {
	kind   token.Type
	text   string
	quoted bool
	at     Pos // of the first character of text
	end    int // byte offset in its line after the token, quotes included
}

func (t tok) is(kinds ...token.Type) bool {
	for _, k := range kinds {
		if t.kind == k {
			return true
		}
	}
	return false
}

// isScalar tells whether the token is a text. Numbers, dates and words like null are texts too.
func (t tok) isScalar() bool {
	return t.is(token.StringType, token.SingleQuoteType, token.DoubleQuoteType, token.NullType, token.InfinityType,
		token.NanType, token.IntegerType, token.BinaryIntegerType, token.OctetIntegerType, token.HexIntegerType,
		token.FloatType, token.BoolType, token.MergeKeyType, token.ImplicitNullType)
}

// line is one line that holds something, cut into tokens. Each line is cut by itself: that keeps the library's folding
// of values over several lines out, bounds the work on hostile text, and lets reading go on after a faulty line.
type line struct {
	no     int
	indent int // blanks before the first token
	toks   []tok
	block  bool // ends in | or >: the lines below, indented deeper, are its text
	bad    bool // a fault was reported: say no more about it
	cut    bool // a bracket that is open at its end is never closed
}

// cutLines cuts every line into tokens and reports what is outside the subset.
func (s *source) cutLines() {
	inBlock := -1 // indent of the key whose block text runs, or -1
	flowIndent := 0
	for i, raw := range s.raw {
		no := i + 1
		indent := len(raw) - len(strings.TrimLeft(raw, " "))
		if strings.TrimSpace(raw) == "" || inBlock >= 0 && indent > inBlock {
			continue
		}
		inBlock = -1
		if s.flow > 0 && indent <= flowIndent {
			s.notClosed()
		}
		if s.flow == 0 && strings.HasPrefix(raw[indent:], "#") {
			continue
		}
		if s.hasBadChar(raw, no) {
			if s.flow == 0 && raw[indent] != '\t' { // else its indent says nothing
				s.lines = append(s.lines, line{no: no, indent: indent, bad: true})
			}
			continue
		}
		if s.flow == 0 {
			flowIndent = indent
		}
		l := s.cutLine(raw, no, indent)
		if l.block {
			inBlock = indent
		}
		if len(l.toks) > 0 || l.bad {
			s.lines = append(s.lines, l)
		}
	}
	if s.flow > 0 {
		s.notClosed()
	}
}

// notClosed reports brackets that are open at the end of the last line read.
func (s *source) notClosed() {
	last := &s.lines[len(s.lines)-1]
	end := last.toks[len(last.toks)-1].end
	s.fault(newPos(last.no, utf8.RuneCountInString(s.raw[last.no-1][:end])+1), "{ or [ is not closed")
	last.cut = true
	s.flow = 0
	s.unclosed = true
}

// hasBadChar reports the first character of a line that no text editor puts there for a builder.
func (s *source) hasBadChar(raw string, no int) bool {
	col := 1
	for i, r := range raw {
		switch {
		case r == '#' && (i == 0 || raw[i-1] == ' '):
			return false // the rest is a comment
		case r == '\t':
			s.fault(newPos(no, col), "a tab: indent with spaces")
			s.spoilRaw(raw)
			return true
		case r != ' ' && (unicode.IsControl(r) || unicode.IsSpace(r) || r == '\ufeff'):
			s.fault(newPos(no, col), "a character that cannot be seen (U+%04X): delete it, or put a space", r)
			s.spoilRaw(raw)
			return true
		}
		col++
	}
	return false
}

// spoilRaw tells of the key of a line that was not cut.
func (s *source) spoilRaw(raw string) {
	key, _, _ := strings.Cut(raw, ":")
	s.spoil(strings.TrimSpace(key))
}

// cutLine cuts one line. Within { } or [ ] that began on an earlier line, a bracket is put before it, so that the
// library takes commas as it should.
func (s *source) cutLine(raw string, no, indent int) line {
	l := line{no: no, indent: indent}
	prefix := ""
	if s.flow > 0 {
		prefix = "{"
	}
	text := raw[indent:]
	c := &cursor{raw: raw, col: 1}
	for i, t := range lexer.Tokenize(prefix + text) {
		if prefix != "" && i == 0 || t.Type == token.CommentType {
			continue
		}
		if t.Type == token.LiteralType || t.Type == token.FoldedType {
			l.block = true
		}
		if s.refuse(&l, t, indent-len(prefix)) {
			s.flow = 0 // what follows is read afresh
			return l
		}
		l.toks = append(l.toks, place(t, c, no, indent-len(prefix)))
		s.flow = max(0, s.flow+turn(t.Type))
	}
	return l
}

// turn is how a token changes the depth of brackets.
func turn(k token.Type) int {
	switch k {
	case token.MappingStartType, token.SequenceStartType:
		return 1
	case token.MappingEndType, token.SequenceEndType:
		return -1
	}
	return 0
}

// place turns a token of the library into one of ours. Shift is the number of characters before the text that was cut.
func place(t *token.Token, c *cursor, no, shift int) tok {
	col := shift + t.Position.Column
	out := tok{kind: t.Type, at: newPos(no, col)}
	origin := strings.TrimSpace(t.Origin)
	out.end = min(c.byteAt(col)+len(origin), len(c.raw))
	switch t.Type {
	case token.SingleQuoteType, token.DoubleQuoteType:
		out.quoted = true
		out.text = t.Value
		out.at.Col++
	default:
		out.text = origin
	}
	return out
}

// cursor finds bytes by column, quickly when columns rise from call to call.
type cursor struct {
	raw    string
	col, i int
}

// byteAt is the byte offset of a column.
func (c *cursor) byteAt(col int) int {
	if col < c.col {
		c.col, c.i = 1, 0
	}
	for ; c.col < col && c.i < len(c.raw); c.col++ {
		_, size := utf8.DecodeRuneInString(c.raw[c.i:])
		c.i += size
	}
	return c.i
}

// refuse reports a token that is outside the subset and marks the line as bad.
func (s *source) refuse(l *line, t *token.Token, shift int) bool {
	at := newPos(l.no, shift+t.Position.Column)
	say := ""
	switch t.Type {
	case token.AnchorType, token.AliasType, token.MergeKeyType:
		say = "anchors and aliases are not read here: draw it once in groups and copy it"
	case token.TagType:
		say = "tags are not read here: write the value alone, in quotes if it begins with !"
	case token.DirectiveType:
		say = "directives are not read here: delete the line"
	case token.MappingKeyType:
		say = "? before a key is not read here: write the key and a colon"
	case token.InvalidType:
		say = plainError(t) + "; a text with such signs goes in quotes, closed on the same line"
	case token.DocumentHeaderType:
		if !s.started && len(l.toks) == 0 {
			s.started = true
			return false
		}
		say = "a second document is not read here: one file, one design"
		if s.second == 0 {
			s.second = l.no
		}
	case token.DocumentEndType:
		say = "the end of a document is not marked here: delete the line"
	case token.SequenceEntryType:
		if t.Position.Column > 1 && len(l.toks) > 0 && !s.onlyDashes(l) {
			say = "a list entry goes on a line of its own; a number below zero is written -3, without a space"
		}
	}
	s.started = true
	if say != "" {
		s.fault(at, "%s", say)
		l.bad = true
	}
	return say != ""
}

func (s *source) onlyDashes(l *line) bool {
	for _, t := range l.toks {
		if t.kind != token.SequenceEntryType {
			return false
		}
	}
	return true
}

// plainError is the library's own word for an invalid token, cut short.
func plainError(t *token.Token) string {
	const most = 60
	if strings.HasPrefix(t.Error, "could not find end character of") {
		return "a quote is not closed"
	}
	if s := strings.TrimSpace(t.Error); s != "" {
		if len(s) > most {
			s = s[:most]
		}
		return s
	}
	return "an odd sign"
}
