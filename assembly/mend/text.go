package mend

import (
	"errors"
	"fmt"
	"sort"
	"strings"

	"turnwise/assembly"
)

// ErrChanged is what an edit meets in a text that is no longer the one it was made for.
var ErrChanged = errors.New("the line does not read as it did when the change was worked out")

// bom is the byte-order mark that some editors put before the first line. No column counts it.
const bom = "\ufeff"

// cutText cuts a text into lines with their ends; what comes before the first line is kept apart.
func cutText(text []byte) (mark string, lines []string) {
	rest, found := strings.CutPrefix(string(text), bom)
	if found {
		mark = bom
	}
	return mark, strings.SplitAfter(rest, "\n")
}

// cutEnd parts a line from its end, which is "\n", "\r\n" or nothing.
func cutEnd(line string) (text, end string) {
	text = strings.TrimSuffix(line, "\n")
	if len(text) < len(line) {
		text = strings.TrimSuffix(text, "\r")
	}
	return text, line[len(text):]
}

// Edits turns changes by position into changes of whole lines, in the order of lines. Every character of those lines
// that no splice names stays. A splice whose text ends in a line break inserts whole lines before its own.
func Edits(text []byte, splices []assembly.Splice) ([]assembly.Edit, error) {
	_, lines := cutText(text)
	sorted := append([]assembly.Splice(nil), splices...)
	sort.SliceStable(sorted, func(i, k int) bool {
		a, b := sorted[i], sorted[k]
		switch {
		case a.Line != b.Line:
			return a.Line < b.Line
		case isWhole(a) != isWhole(b):
			return isWhole(a)
		case a.Col != b.Col:
			return a.Col < b.Col
		}
		return a.Order < b.Order
	})
	var out []assembly.Edit
	for i := 0; i < len(sorted); {
		n := i + 1
		for n < len(sorted) && sorted[n].Line == sorted[i].Line {
			n++
		}
		edits, err := editLine(lines, sorted[i:n])
		if err != nil {
			return nil, err
		}
		out = append(out, edits...)
		i = n
	}
	return out, nil
}

// isWhole tells whether a splice inserts whole lines.
func isWhole(s assembly.Splice) bool { return strings.HasSuffix(s.Insert, "\n") && s.Col == 1 }

// editLine applies the splices of one line, sorted.
func editLine(lines []string, splices []assembly.Splice) ([]assembly.Edit, error) {
	no := splices[0].Line
	if no < 1 || no > len(lines) {
		return nil, fmt.Errorf("there is no line %d", no)
	}
	var out []assembly.Edit
	for len(splices) > 0 && isWhole(splices[0]) {
		for _, l := range strings.Split(strings.TrimSuffix(splices[0].Insert, "\n"), "\n") {
			out = append(out, assembly.Edit{Line: no, New: l})
		}
		splices = splices[1:]
	}
	if len(splices) == 0 {
		return out, nil
	}
	old, _ := cutEnd(lines[no-1])
	text, err := splice([]rune(old), splices)
	if err != nil {
		return nil, fmt.Errorf("line %d: %w", no, err)
	}
	return append(out, assembly.Edit{Line: no, Old: old, New: text}), nil
}

// splice applies changes to one line, in order of columns.
func splice(line []rune, splices []assembly.Splice) (string, error) {
	var b strings.Builder
	at := 0        // characters of the line already written
	inserted := "" // at this very column
	for _, s := range splices {
		from := s.Col - 1
		if from < at || s.Remove < 0 || from+s.Remove > len(line) {
			return "", errors.New("changes run into each other or beyond the line's end")
		}
		if strings.ContainsAny(s.Insert, "\r\n") {
			return "", errors.New("a line break within a line")
		}
		if from > at {
			inserted = ""
		}
		b.WriteString(string(line[at:from]))
		b.WriteString(withoutShared(inserted, s.Insert))
		inserted, at = s.Insert, from+s.Remove
	}
	b.WriteString(string(line[at:]))
	return b.String(), nil
}

// withoutShared drops the first point of a stretch of path when the stretch written just before it ends in the same
// one: "union to mid to " and "mid to union to " make "union to mid to union to ".
func withoutShared(before, next string) string {
	const to = " to "
	head := strings.TrimSuffix(before, to)
	last := head[strings.LastIndex(head, " ")+1:]
	if head != before && last != "" && strings.HasPrefix(next, last+to) {
		return next[len(last+to):]
	}
	return next
}

// Apply changes whole lines of a text. Every line that no edit names, every line end and a missing final line break
// stay as they are. It fails, and changes nothing, when a line does not read as its edit says.
func Apply(text []byte, edits []assembly.Edit) ([]byte, error) {
	mark, lines := cutText(text)
	end := usualEnd(lines)
	before := make([]string, len(lines)) // lines to insert before each
	changed := map[int]string{}
	for _, e := range edits {
		if e.Line < 1 || e.Line > len(lines) {
			return nil, fmt.Errorf("line %d: %w", e.Line, ErrChanged)
		}
		if e.Old == "" {
			before[e.Line-1] += e.New + end
			continue
		}
		old, tail := cutEnd(lines[e.Line-1])
		if _, twice := changed[e.Line-1]; twice || old != e.Old {
			return nil, fmt.Errorf("line %d: %w", e.Line, ErrChanged)
		}
		changed[e.Line-1] = e.New + tail
	}
	var b strings.Builder
	b.WriteString(mark)
	for i, l := range lines {
		b.WriteString(before[i])
		if c, ok := changed[i]; ok {
			l = c
		}
		b.WriteString(l)
	}
	return []byte(b.String()), nil
}

// usualEnd is the line end of the first line, "\n" in a text of one line.
func usualEnd(lines []string) string {
	if _, end := cutEnd(lines[0]); end != "" {
		return end
	}
	return "\n"
}
