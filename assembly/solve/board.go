package solve

import (
	"fmt"

	"turnwise/assembly/design"
	"turnwise/assembly/formula"
	"turnwise/geom"
)

// board is one board of one copy.
type board struct {
	sc   *scope // around it; for a moved copy, one more scope
	src  *design.Board
	id   string
	low  [3]coordinate // drawn low corner, world: the low corner in the room
	size [3]coordinate // world: the size
	box  geom.Box      // when solved, finished frame
	body int           // its place among the bodies that may be shifted
}

func newBoard(s *solver, sc *scope, src *design.Board, id string) *board {
	b := &board{sc: sc, src: src, id: id}
	for i := range b.low {
		b.low[i].cell = cell{label: id, at: src.Name.At}
		b.size[i].cell = cell{label: id, at: src.Name.At}
	}
	return b
}

// boardSize is one side of a board.
func (s *solver) boardSize(b *board, i int) (float64, error) {
	c := &b.size[i]
	err := s.get(&c.cell, func() error {
		v, err := s.positive(b.src.Size[i], env{s: s, sc: b.sc, at: b.drawn(s)}, [3]string{"a width", "a depth", "a thickness"}[i])
		c.world = v
		return err
	})
	return c.world, err
}

// drawn gives the board's low corner in its drawing, on demand.
func (b *board) drawn(s *solver) placer {
	return func(i int) (float64, error) {
		low, err := s.boardFace(b, i, false)
		if err != nil {
			return 0, err
		}
		flip, err := s.flipped(b.sc, i)
		if err != nil {
			return 0, err
		}
		if flip {
			if low, err = s.boardFace(b, i, true); err != nil {
				return 0, err
			}
		}
		return s.toLocal(b.sc, i, low)
	}
}

// boardFace is the coordinate of a face of a board in the room.
func (s *solver) boardFace(b *board, i int, high bool) (float64, error) {
	c := &b.low[i]
	err := s.get(&c.cell, func() error {
		v, err := s.boardLow(b, i)
		c.world = v
		return err
	})
	if err != nil || !high {
		return c.world, err
	}
	size, err := s.boardSize(b, i)
	return c.world + size, err
}

// boardLow works out the low side of a board in the room.
func (s *solver) boardLow(b *board, i int) (float64, error) {
	at := &b.src.Low[i]
	if at.Unknown {
		return s.lieOn(b)
	}
	flip, err := s.flipped(b.sc, i)
	if err != nil {
		return 0, err
	}
	on, err := s.bare(b.sc, at.Expr, i)
	if err != nil {
		return 0, err
	}
	var w float64
	if on != nil {
		w, err = s.contactAt(on, func(j int) (float64, error) { return s.boardFace(b, j, false) })
	} else {
		var v float64
		if v, err = length(at.Expr, env{s: s, sc: b.sc, at: b.drawn(s), own: true}, "a coordinate"); err == nil {
			w, err = s.toWorld(b.sc, i, v)
		}
	}
	if err != nil || !flip {
		return w, err
	}
	size, err := s.boardSize(b, i)
	return w - size, err
}

func length(x *formula.Expr, e env, what string) (float64, error) {
	v, err := x.EvalLength(e, what)
	return float64(v), err
}

// boardBox is a board as a box in the room, in the design's axes.
func (s *solver) boardBox(b *board) (geom.Box, error) { return s.boardSides(b, 3) }

// boardSides is a board along its first n axes; along the others the box is without bounds.
func (s *solver) boardSides(b *board, n int) (geom.Box, error) {
	box := everywhere()
	lo, hi := coords(box.Min), coords(box.Max)
	for i := 0; i < n; i++ {
		var err error
		if lo[i], err = s.boardFace(b, i, false); err != nil {
			return box, err
		}
		if hi[i], err = s.boardFace(b, i, true); err != nil {
			return box, err
		}
	}
	return geom.Box{Min: vec(lo), Max: vec(hi)}, nil
}

func vec(c [3]float64) geom.Vec    { return geom.V(c[0], c[1], c[2]) }
func coords(v geom.Vec) [3]float64 { return [3]float64{v.X, v.Y, v.Z} }

// LieAgreement is how far apart in height the things may be on which a board lies: 1/32 in, as the format says.
const LieAgreement = 2 * Agreement

// lieOn finds the height of a board that lies on runs, cleats or boards.
func (s *solver) lieOn(b *board) (float64, error) {
	rect, err := s.boardSides(b, 2)
	if err != nil {
		return 0, err
	}
	best, bestName, found := 0.0, "", false
	for _, n := range b.src.LiesOn {
		z, err := s.topOf(b, n, rect)
		if err != nil {
			return 0, err
		}
		if found && z < best-LieAgreement || found && z > best+LieAgreement {
			low, high, d := n.Text, bestName, best-z
			if d < 0 {
				low, high, d = high, low, -d
			}
			return 0, &formula.Error{At: n.At, Text: fmt.Sprintf("%s is %s lower than %s", low, s.fraction(d)+" "+string(s.t.Units), high)}
		}
		if !found || z > best {
			best, bestName, found = z, n.Text, true
		}
	}
	if !found {
		return 0, &formula.Error{At: b.src.Low[2].At, Text: "? needs lies-on"}
	}
	return best, nil
}

// topOf is the height of the top of a run, cleat or board where it passes under the rectangle.
func (s *solver) topOf(b *board, n design.Name, rect geom.Box) (float64, error) {
	if c, ok := s.cleats[n.Text]; ok {
		box, err := s.cleatRange(c)
		return box.Max.Z, err
	}
	t, ok := s.find(b.sc, n.Text)
	switch {
	case ok && t.board != nil:
		return s.boardFace(t.board, 2, true)
	case ok && t.run != nil:
		return s.topOfRun(t.run, n, rect)
	}
	return 0, s.noSuch(n.At, "run, cleat or board", n.Text)
}

func (s *solver) topOfRun(r *run, n design.Name, rect geom.Box) (float64, error) {
	od, err := s.pipeOD(r.size)
	if err != nil {
		return 0, err
	}
	var last geom.Vec
	have, found, best := false, false, 0.0
	for _, item := range r.src.Path {
		if item.Part != "" {
			continue
		}
		t, ok := s.find(r.sc, item.Name.Text)
		if !ok || t.point == nil {
			continue
		}
		v, err := s.place(t.point)
		if err != nil {
			return 0, err
		}
		if have {
			if p, q, ok := clip(last, v, rect.Grow(od/2)); ok {
				if z := max(p.Z, q.Z); !found || z > best {
					best, found = z, true
				}
			}
		}
		last, have = v, true
	}
	if !found {
		return 0, &formula.Error{At: n.At, Text: fmt.Sprintf("%s does not pass under the board", n.Text)}
	}
	return best + od/2, nil
}

// clip cuts the line from p to q to a box.
func clip(p, q geom.Vec, box geom.Box) (geom.Vec, geom.Vec, bool) {
	a, d := coords(p), coords(q.Sub(p))
	lo, hi := coords(box.Min), coords(box.Max)
	from, to := 0.0, 1.0
	for i := range a {
		if d[i] == 0 {
			if a[i] < lo[i] || a[i] > hi[i] {
				return p, q, false
			}
			continue
		}
		t, u := (lo[i]-a[i])/d[i], (hi[i]-a[i])/d[i]
		from, to = max(from, min(t, u)), min(to, max(t, u))
	}
	return p.Lerp(q, from), p.Lerp(q, to), from <= to
}
