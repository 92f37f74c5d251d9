package design

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// Limits of a design file. They are far above what a frame of hundreds of parts needs, and keep hostile files cheap.
const (
	MaxBytes     = 256 << 10 // of the whole file
	MaxLineChars = 4000      // of one line
	MaxLevels    = 10        // of nesting; the top map is level 1
	MaxFaults    = 200       // that are listed; what is over is only counted
)

// readText reads the file and checks its bytes. A fault here ends the reading: nothing else can be trusted.
func readText(r io.Reader) (lines []string, fault *fault) {
	data, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil {
		return nil, faultAt(newPos(1, 1), "cannot be read: %v", err)
	}
	text, _ := strings.CutPrefix(string(data), "\ufeff")
	if len(data) > MaxBytes {
		return nil, faultAt(newPos(1, 1), "the file is larger than %d KiB; a design of that size cannot be meant", MaxBytes>>10)
	}
	if !utf8.ValidString(text) {
		return nil, faultAt(badByte(text), "this byte is not UTF-8 text: save the file as UTF-8")
	}
	lines = strings.Split(text, "\n")
	for i, l := range lines {
		l = strings.TrimSuffix(l, "\r")
		if n := utf8.RuneCountInString(l); n > MaxLineChars {
			return nil, faultAt(newPos(i+1, 1), "a line of %d characters; at most %d", n, MaxLineChars)
		}
		lines[i] = l
	}
	if n := len(lines); n > 1 && lines[n-1] == "" {
		lines = lines[:n-1]
	}
	return lines, nil
}

// badByte is the place of the first byte that is not UTF-8.
func badByte(text string) Pos {
	at := newPos(1, 1)
	for i, r := range text {
		if r == utf8.RuneError {
			if _, size := utf8.DecodeRuneInString(text[i:]); size == 1 {
				return at
			}
		}
		at.Col++
		if r == '\n' {
			at = newPos(at.Line+1, 1)
		}
	}
	return at
}

// fault is an error before the file's name is put to it.
type fault struct {
	at   Pos
	text string
}

func faultAt(at Pos, format string, args ...any) *fault {
	return &fault{at, fmt.Sprintf(format, args...)}
}
