package design

import (
	"strings"
	"unicode/utf8"
)

// piece is part of a value with its place.
type piece struct {
	text string
	at   Pos
}

// slice is the part from byte i to byte j, without blanks round it.
func (p piece) slice(i, j int) piece {
	for i < j && p.text[i] == ' ' {
		i++
	}
	for j > i && p.text[j-1] == ' ' {
		j--
	}
	return piece{p.text[i:j], p.at.Plus(utf8.RuneCountInString(p.text[:i]))}
}

// end is the place just after the last character.
func (p piece) end() Pos { return p.at.Plus(utf8.RuneCountInString(p.text)) }

// isOpen tells whether a bracket is not closed.
func (p piece) isOpen() bool {
	return strings.Count(p.text, "(") > strings.Count(p.text, ")")
}

// split cuts at every separator that is not inside brackets. Blanks round the parts are left out; parts may be empty.
// When a bracket is not closed it cuts at all of them: most likely the bracket was forgotten before the next one.
func (p piece) split(sep byte) []piece {
	var parts []piece
	depth, start := 0, 0
	isOpen := p.isOpen()
	for i := 0; i < len(p.text); i++ {
		switch c := p.text[i]; {
		case c == '(' && !isOpen:
			depth++
		case c == ')' && depth > 0:
			depth--
		case c == sep && depth == 0:
			parts = append(parts, p.slice(start, i))
			start = i + 1
		}
	}
	return append(parts, p.slice(start, len(p.text)))
}

// word is a stretch without blanks (but for those inside brackets), by its bytes in the piece it was cut from.
type word struct {
	piece
	start, end int
}

// words cuts a piece at its blanks outside brackets.
func (p piece) words() []word {
	var ws []word
	depth, start := 0, -1
	cut := func(i int) {
		if start >= 0 {
			ws = append(ws, word{p.slice(start, i), start, i})
		}
		start = -1
	}
	for i := 0; i < len(p.text); i++ {
		c := p.text[i]
		if c == ' ' && depth == 0 {
			cut(i)
			continue
		}
		if start < 0 {
			start = i
		}
		if c == '(' {
			depth++
		} else if c == ')' && depth > 0 {
			depth--
		}
	}
	cut(len(p.text))
	return ws
}

// cutAt cuts a piece at the first of the given words that stands by itself: what is before, the word, what is after.
func (p piece) cutAt(words ...string) (before piece, found word, after piece) {
	for _, w := range p.words() {
		for _, want := range words {
			if w.text == want {
				return p.slice(0, w.start), w, p.slice(w.end, len(p.text))
			}
		}
	}
	return p, word{}, p.slice(len(p.text), len(p.text))
}

// splitWord cuts a piece at every given word that stands by itself.
func (p piece) splitWord(sep string) []piece {
	var parts []piece
	for {
		before, found, after := p.cutAt(sep)
		parts = append(parts, before)
		if found.text == "" {
			return parts
		}
		p = after
	}
}

// lettersPerSlip is how many letters a word has for each slip of the finger that is forgiven: one in three to five
// letters, none in shorter words, which all look alike.
const lettersPerSlip = 3

// nearest is the candidate most like s, or "" when none is near.
func nearest(s string, candidates []string) string {
	best, bestDist := "", 1+utf8.RuneCountInString(s)/lettersPerSlip
	for _, c := range candidates {
		if d := editDistance(s, c, bestDist); d < bestDist {
			best, bestDist = c, d
		}
	}
	return best
}

// maxNameChars is the length above which likeness is not computed: it is for slips of the finger in short words.
const maxNameChars = 60

// editDistance counts the letters to change, add, leave out or swap with a neighbour; it gives up at limit.
func editDistance(a, b string, limit int) int {
	x, y := []rune(strings.ToLower(a)), []rune(strings.ToLower(b))
	if len(x) > maxNameChars || len(y) > maxNameChars || len(x)-len(y) >= limit || len(y)-len(x) >= limit {
		return limit
	}
	var rows [3][]int
	for k := range rows {
		rows[k] = make([]int, len(y)+1)
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		row, up, upup := rows[i%3], rows[(i+2)%3], rows[(i+1)%3]
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(up[j]+1, row[j-1]+1, up[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], upup[j-2]+1)
			}
		}
	}
	return rows[len(x)%3][len(y)]
}
