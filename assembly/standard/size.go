package standard

import (
	"fmt"
	"strings"
)

// index returns the place of s in Sizes, or -1.
func index(s Size) int {
	for i, t := range Sizes {
		if t == s {
			return i
		}
	}
	return -1
}

// Less tells whether s is a smaller nominal size than t. Unknown sizes come first.
func Less(s, t Size) bool { return index(s) < index(t) }

// Larger returns the larger of two nominal sizes.
func Larger(s, t Size) Size {
	if Less(s, t) {
		return t
	}
	return s
}

// SizeError is a nominal size that does not exist.
type SizeError struct{ Found string }

// Error names the sizes there are.
func (e *SizeError) Error() string {
	return fmt.Sprintf("no pipe size %s; sizes are %s", e.Found, strings.Join(sizeWords(), " "))
}

func sizeWords() []string {
	words := make([]string, len(Sizes))
	for i, s := range Sizes {
		words[i] = string(s)
	}
	return words
}

// vulgar are the fractions that have a character of their own.
var vulgar = strings.NewReplacer("¼", " 1/4", "½", " 1/2", "¾", " 3/4", "⅜", " 3/8")

// ParseSize reads a nominal size: 3/4, 1-1/4, 1 1/4, 1¼. The error is a *SizeError.
func ParseSize(text string) (Size, error) {
	s := strings.Join(strings.Fields(vulgar.Replace(text)), "-")
	if index(Size(s)) < 0 {
		return "", &SizeError{Found: strings.TrimSpace(text)}
	}
	return Size(s), nil
}

// ParseFamily reads a thread family.
func ParseFamily(text string) (Family, error) {
	switch f := Family(text); f {
	case NPT, BSPT:
		return f, nil
	}
	return "", fmt.Errorf("no thread family called %s; npt or bspt", text)
}
