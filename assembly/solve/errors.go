package solve

import (
	"errors"
	"fmt"

	"turnwise/assembly/design"
	"turnwise/assembly/formula"
)

// errorList gathers the faults of a file, each once.
type errorList struct {
	file string
	list design.Errors
	seen map[design.Error]bool
}

func (l *errorList) add(at design.Pos, format string, args ...any) {
	e := design.Error{File: l.file, At: at, Text: fmt.Sprintf(format, args...)}
	if l.seen[e] {
		return
	}
	l.seen[e] = true
	l.list = append(l.list, &e)
}

// formulaFault adds what an evaluation returned, unless it is already known. It reports at the given place when the
// fault has none of its own.
func (l *errorList) formulaFault(err error, at design.Pos) {
	var f *formula.Error
	switch {
	case err == nil || errors.Is(err, formula.ErrSilent):
	case errors.As(err, &f):
		l.add(f.At, "%s", f.Text)
	default:
		l.add(at, "%s", err)
	}
}

func (l *errorList) none() bool { return len(l.list) == 0 }

func (l *errorList) sorted() design.Errors {
	l.list.Sort()
	return l.list
}

// MaxSets bounds the copies, points, boards and runs of a design together: four times the points a file may hold.
const MaxSets = 20000

// MaxParts bounds the fittings, pipes and boards of a design: twenty times what people build by hand, and what can be put
// in an order within seconds.
const MaxParts = 2000

// Limits of the design format.
const (
	MaxPoints = 5000
	MaxCopies = 200
)
