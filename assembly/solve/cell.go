package solve

import (
	mathbits "math/bits"
	"sort"
	"strings"

	"turnwise/assembly/design"
	"turnwise/assembly/formula"
)

// cellState is how far the evaluation of a cell is.
type cellState int8

const (
	untouched cellState = iota
	busy
	done
	failed
)

// cell is one value that is evaluated on demand and kept: a given, a coordinate, a surface.
type cell struct {
	label string     // for messages: the name it belongs to
	at    design.Pos // of the key
	state cellState
	// hangs are the unknown distances that the value depends on.
	hangs bits
	// listed are the unknown distances whose list of cells holds this one.
	listed bits
}

// bits is a set of small numbers.
type bits []uint64

func (b *bits) add(i int) {
	for len(*b) <= i/64 {
		*b = append(*b, 0)
	}
	(*b)[i/64] |= 1 << (i % 64)
}

func (b *bits) join(c bits) {
	for len(*b) < len(c) {
		*b = append(*b, 0)
	}
	for i, w := range c {
		(*b)[i] |= w
	}
}

// each calls do with every number of the set, rising.
func (b bits) each(do func(i int)) {
	for k, w := range b {
		for ; w != 0; w &= w - 1 {
			do(k*64 + mathbits.TrailingZeros64(w))
		}
	}
}

func (b bits) has(i int) bool { return i/64 < len(b) && b[i/64]&(1<<(i%64)) != 0 }

func (b bits) remove(i int) { b[i/64] &^= 1 << (i % 64) }

func (b bits) isEmpty() bool {
	for _, w := range b {
		if w != 0 {
			return false
		}
	}
	return true
}

// get evaluates a cell once: make computes the value and stores it where the cell lives. Faults are reported here, and
// whoever hangs on a faulty cell gets ErrSilent.
func (s *solver) get(c *cell, make func() error) error {
	switch c.state {
	case busy:
		s.circle(c)
		return formula.ErrSilent
	case failed:
		return formula.ErrSilent
	case untouched:
		if s.full {
			return formula.ErrSilent
		}
		c.state = busy
		c.hangs = c.hangs[:0]
		s.stack = append(s.stack, c)
		err := make()
		s.stack = s.stack[:len(s.stack)-1]
		if err != nil {
			s.errs.formulaFault(err, c.at)
			c.state, s.silent = failed, true
			return formula.ErrSilent
		}
		if c.state == failed { // it was found to be part of a circle
			return formula.ErrSilent
		}
		c.state = done
		cost := perCell
		c.hangs.each(func(i int) {
			cost++
			if !c.listed.has(i) {
				c.listed.add(i)
				cost += perListing
				s.unknowns[i].cells = append(s.unknowns[i].cells, c)
			}
		})
		if len(c.hangs) > 0 {
			s.spend(cost)
		}
	}
	if len(s.stack) > 0 {
		s.stack[len(s.stack)-1].hangs.join(c.hangs)
	}
	return nil
}

// Prices, in that of one distance that a value hangs on: of an evaluation, and of noting that a value hangs on a distance,
// which takes memory.
const (
	perCell    = 10
	perListing = 4
)

// circle reports the names that wait for one another, at the key of the one that comes first in the file.
func (s *solver) circle(c *cell) {
	from := 0
	for i, on := range s.stack {
		if on == c {
			from = i
		}
	}
	ring := s.stack[from:]
	first := ring[0].at
	var names []string
	for _, on := range ring {
		if on.at.IsBefore(first) {
			first = on.at
		}
		if len(names) == 0 || names[len(names)-1] != on.label {
			names = append(names, on.label)
		}
		on.state = failed
	}
	if len(names) > 1 && names[0] == names[len(names)-1] {
		names = names[:len(names)-1]
	}
	if len(names) == 1 {
		s.errs.add(first, "%s goes round in a circle: it waits for itself", names[0])
		return
	}
	s.errs.add(first, "%s go round in a circle", strings.Join(startAtFirst(names, ring, first), ", "))
}

// startAtFirst turns the ring so that it begins with the name whose key comes first in the file.
func startAtFirst(names []string, ring []*cell, first design.Pos) []string {
	label := ""
	for _, c := range ring {
		if c.at == first {
			label = c.label
			break
		}
	}
	for i, n := range names {
		if n == label {
			return append(append([]string(nil), names[i:]...), names[:i]...)
		}
	}
	return names
}

// forget makes every cell that hangs on the unknown be evaluated anew.
func (u *unknown) forget() {
	for _, c := range u.cells {
		c.listed.remove(u.index)
		if c.state == done {
			c.state = untouched
		}
	}
	u.cells = u.cells[:0]
}

// unknown is a distance to be found.
type unknown struct {
	index  int
	point  *point
	change *design.Change
	value  float64 // mm, above zero
	found  bool
	by     *leg // that gave it
	short  *leg // that asks for less than nothing
	bad    bool // a fault is known for it
	rough  bool // it was found with the help of a place that has a fault
	cells  []*cell
}

// sortedKeys lists the keys of a map in order.
func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}
