package wording

import (
	_ "embed"
	"fmt"
	"strings"

	"turnwise/assembly/standard"
)

//go:embed english.txt
var english string

// Pages holds the words of pages by name. All of them stand in one text file, so that a translation is another file.
type Pages struct{ words map[string]string }

// EnglishPages returns the words of pages in English.
func EnglishPages() (*Pages, error) { return ReadPages(english) }

// ReadPages reads words: on each line a name, a colon and the words. Empty lines and lines that begin with # are
// skipped. A line without a colon and a name given twice are errors.
func ReadPages(text string) (*Pages, error) {
	p := &Pages{words: map[string]string{}}
	for i, line := range strings.Split(text, "\n") {
		line = strings.TrimSpace(line)
		if line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		name, words, ok := strings.Cut(line, ":")
		if !ok {
			return nil, fmt.Errorf("line %d: %q has no colon after the name", i+1, line)
		}
		if _, twice := p.words[name]; twice {
			return nil, fmt.Errorf("line %d: %s is given twice", i+1, name)
		}
		p.words[name] = strings.TrimSpace(words)
	}
	return p, nil
}

// Say returns the words called name, with {0}, {1} ... replaced by args. A name that is missing comes back in angle
// brackets, so that it is seen.
func (p *Pages) Say(name string, args ...string) string {
	words, ok := p.words[name]
	if !ok {
		return "<" + name + ">"
	}
	for i, a := range args {
		words = strings.ReplaceAll(words, fmt.Sprintf("{%d}", i), a)
	}
	return words
}

// Has tells whether there are words called name.
func (p *Pages) Has(name string) bool {
	_, ok := p.words[name]
	return ok
}

// words are those of every function of this package.
var words = readEnglish()

// Use puts the words of another language in the place of those that all functions of this package and all pages say,
// and returns those that were in use. Call it before any work begins: it must not run beside other calls.
func Use(p *Pages) (before *Pages) {
	before, words = words, p
	return before
}

// InUse are the words that pages say.
func InUse() *Pages { return words }

func readEnglish() *Pages {
	p, err := EnglishPages()
	if err != nil {
		panic("wording: " + err.Error()) // the file is part of the program, and a test reads it
	}
	return p
}

// say returns the words of a name, as Pages.Say.
func say(name string, args ...string) string { return words.Say(name, args...) }

// What says what a kind of part is for.
func (p *Pages) What(k standard.Kind) string { return p.Say("what." + string(k)) }

// Names lists the names there are, in no order.
func (p *Pages) Names() []string {
	out := make([]string, 0, len(p.words))
	for n := range p.words {
		out = append(out, n)
	}
	return out
}
