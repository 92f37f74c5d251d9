package solve

import (
	"fmt"
	"math"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

const (
	// stockAgreement is how near, in mm, a cut must be to a stock length to be bought as that: 0.005 in, a thirteenth of
	// what a saw holds.
	stockAgreement = 0.005 * 25.4
	// identicalStep is the step, in mm, in which lengths of identical pipes are compared.
	identicalStep = 0.01
	// beyondStock is how much longer than the longest stock length, in mm, a pipe may be and still be tried with it.
	beyondStock = 25.4
	// maxTrials bounds the distinct pipes that are tried at stock lengths, so that a hostile file stays quick.
	maxTrials = 200
	// parallelSin is the sine of half a degree: legs nearer than that run the same way.
	parallelSin = 0.0087
	// heldCos is the part of a movement along a surface's normal from which the surface holds: below it, the movement
	// is a slide along a leaning wall.
	heldCos = 0.5
)

// shifter finds what using stock lengths would move.
type shifter struct {
	s     *solver
	kinds map[string][]*pipe
	done  map[string]*assembly.Stock
	ids   map[string]int // bodies by part id: nodes first, then boards
	size  int
}

func (s *solver) newShifter() *shifter {
	h := &shifter{s: s, kinds: map[string][]*pipe{}, done: map[string]*assembly.Stock{}, ids: map[string]int{}}
	for _, n := range s.net.nodes {
		n.body, h.ids[n.name] = h.size, h.size
		h.size++
	}
	for _, b := range s.boards {
		b.body, h.ids[b.id] = h.size, h.size
		h.size++
	}
	for _, g := range s.net.segs {
		for _, p := range g.pipes {
			h.kinds[p.kind()] = append(h.kinds[p.kind()], p)
		}
	}
	return h
}

// kind is equal for pipes that are interchangeable.
func (p *pipe) kind() string {
	return fmt.Sprintf("%s %s %.0f %s %s", p.fitting.Family, p.size, p.length/identicalStep, p.left, p.running)
}

// stock is the nearest length that can be bought, and what using it for all pipes of this kind moves; nil when there is
// none, or nothing can move.
func (h *shifter) stock(p *pipe) *assembly.Stock {
	k := p.kind()
	if st, ok := h.done[k]; ok {
		return st
	}
	h.done[k] = nil
	if len(h.done) > maxTrials {
		return nil
	}
	length, ok := h.s.nearestStock(p)
	if !ok {
		return nil
	}
	st := &assembly.Stock{LengthMM: length, Moves: []assembly.PointShift{}}
	if math.Abs(length-p.length) > stockAgreement {
		moves, ok := h.shift(h.kinds[k], length)
		if !ok {
			return nil
		}
		st.Moves = moves
	}
	h.done[k] = st
	return st
}

// nearestStock is the stock length nearest to a pipe's, the shorter of two equally near.
func (s *solver) nearestStock(p *pipe) (float64, bool) {
	best, found := 0.0, false
	lengths := s.stockLengths(p.size)
	for _, l := range lengths {
		if !found || math.Abs(l-p.length) < math.Abs(best-p.length) {
			best, found = l, true
		}
	}
	if found && p.length > lengths[len(lengths)-1]+beyondStock {
		return 0, false
	}
	return best, found
}

// stockLengths are the lengths of a size that are sold threaded, rising: the shop's own when the design lists them. The
// longest of those is the full stick, which is not one.
func (s *solver) stockLengths(size standard.Size) []float64 {
	if out := s.listedStock(size); out != nil {
		return out[:len(out)-1]
	}
	var out []float64
	for _, f := range standard.StockLengths(s.pipeFamily(size), size) {
		out = append(out, f.MM)
	}
	sort.Float64s(out)
	return out
}

// fullStick is the longest pipe of a size that the shop keeps, with where that is from.
func (s *solver) fullStick(size standard.Size) standard.Figure {
	if out := s.listedStock(size); out != nil {
		return standard.Figure{MM: out[len(out)-1], Source: "the longest length under stock in the design"}
	}
	return standard.FullStick(s.pipeFamily(size))
}

// listedStock are the lengths of a size that the design says the shop keeps, rising; nil when it does not say.
func (s *solver) listedStock(size standard.Size) []float64 {
	var out []float64
	for i := range s.t.Parts {
		p := &s.t.Parts[i]
		if len(p.Stock) == 0 || len(p.Sizes) > 0 && p.Sizes[0] != size || p.Kind != "" && p.Kind != standard.Pipe {
			continue
		}
		out = nil
		for _, x := range p.Stock {
			v, err := s.positive(x, env{s: s, sc: s.root}, "a stock length")
			s.errs.formulaFault(err, x.At)
			out = append(out, v)
		}
		sort.Float64s(out)
	}
	return out
}

// frame is the network as bodies that may be shifted: nodes first, then boards.
type frame struct {
	h     *shifter
	size  int
	delta map[*segment]float64 // by how much a segment's pipes get longer
	cut   map[*pipe]float64    // the new lengths
	shift []geom.Vec
}

// shift moves what has to move so that the pipes get the length, and tells which points move. It fails when nothing
// that may move makes room, or when another given cut would not hold.
func (h *shifter) shift(pipes []*pipe, length float64) ([]assembly.PointShift, bool) {
	f := h.newFrame(pipes, length)
	var ways []geom.Vec
	for _, g := range h.s.net.segs {
		if math.Abs(f.delta[g]) > 0 && !isAlong(ways, g.dir) {
			ways = append(ways, g.dir)
		}
	}
	for _, d := range ways {
		if !f.shiftAlong(d) {
			return nil, false
		}
	}
	if !f.check() {
		return nil, false
	}
	return f.moves(), true
}

func isAlong(ways []geom.Vec, d geom.Vec) bool {
	for _, w := range ways {
		if isParallel(w, d) {
			return true
		}
	}
	return false
}

func isParallel(a, b geom.Vec) bool { return a.Cross(b).Len() <= parallelSin }

func (h *shifter) newFrame(pipes []*pipe, length float64) *frame {
	f := &frame{h: h, size: h.size, delta: map[*segment]float64{}, cut: map[*pipe]float64{}}
	f.shift = make([]geom.Vec, f.size)
	for _, p := range pipes {
		f.cut[p] = length
		f.delta[p.seg] += length - p.length
	}
	for g := range f.delta {
		if len(f.free(g)) > 0 { // a neighbour in the same segment takes it up
			f.delta[g] = 0
		}
	}
	return f
}

// free lists the pipes of a segment that may still take any length.
func (f *frame) free(g *segment) []*pipe {
	var out []*pipe
	for _, p := range g.pipes {
		if _, changed := f.cut[p]; !changed && !p.given {
			out = append(out, p)
		}
	}
	return out
}

// blocks are groups of bodies that move together, and how they are held.
type blocks struct {
	up   []int
	held []bool
}

func (b *blocks) root(i int) int {
	for b.up[i] != i {
		b.up[i] = b.up[b.up[i]]
		i = b.up[i]
	}
	return i
}

func (b *blocks) tie(i, j int) {
	i, j = b.root(i), b.root(j)
	if i > j {
		i, j = j, i
	}
	if i != j {
		b.up[j] = i
		b.held[i] = b.held[i] || b.held[j]
	}
}

// spring is a segment whose length changes: block b moves by more than block a along the way.
type spring struct {
	a, b int
	by   float64
}

// shiftAlong moves blocks along one direction: what is tied by legs that run another way moves together, what a surface
// holds stays.
func (f *frame) shiftAlong(d geom.Vec) bool {
	b := &blocks{up: make([]int, f.size), held: make([]bool, f.size)}
	for i := range b.up {
		b.up[i] = i
	}
	var springs []spring
	for _, g := range f.h.s.net.segs {
		i, j := g.a.body, g.b.body
		by := f.delta[g]
		switch {
		case !isParallel(g.dir, d):
			b.tie(i, j)
		case by != 0:
			if g.dir.Dot(d) < 0 {
				by = -by
			}
			springs = append(springs, spring{i, j, by})
		case len(f.free(g)) == 0:
			b.tie(i, j)
		}
	}
	f.hold(b, d)
	f.carry(b, d)
	offset, ok := f.relax(b, springs)
	if !ok {
		return false
	}
	for i := range f.shift {
		f.shift[i] = f.shift[i].Add(d.Mul(offset[b.root(i)]))
	}
	return true
}

// hold ties nodes to the surfaces they sit on: the room's hold, a board's tie to the board.
func (f *frame) hold(b *blocks, d geom.Vec) {
	for _, n := range f.h.s.net.nodes {
		for _, p := range n.points {
			for i := range p.coord {
				on := p.coord[i].on
				if on == nil || math.Abs(f.h.s.outOf(on, n.at).Dot(d)) < heldCos {
					continue
				}
				if on.board != nil {
					b.tie(n.body, on.board.body)
				} else {
					b.held[b.root(n.body)] = true
				}
			}
		}
	}
}

// carry ties boards to what they lie on, when the way is up or down.
func (f *frame) carry(b *blocks, d geom.Vec) {
	if math.Abs(d.Z) < heldCos {
		return
	}
	s := f.h.s
	for _, j := range s.out.Joints {
		if j.Kind != assembly.Rest { // what is screwed on is tied by its surface
			continue
		}
		if j.B.Part == roomID {
			if i, ok := f.h.ids[j.A.Part]; ok {
				b.held[b.root(i)] = true
			}
			continue
		}
		i, ok := f.h.ids[j.A.Part]
		if !ok {
			continue
		}
		if k, ok := f.h.ids[j.B.Part]; ok {
			b.tie(i, k)
		} else if g := s.segmentOf[j.B.Part]; g != nil {
			b.tie(i, g.a.body)
			b.tie(i, g.b.body)
		}
	}
}

// relax gives every block its shift, so that each spring gets its length, what is held stays, and of what is free the
// fewest points move.
func (f *frame) relax(b *blocks, springs []spring) ([]float64, bool) {
	offset := make([]float64, f.size)
	next := map[int][]spring{}
	for _, sp := range springs {
		i, j := b.root(sp.a), b.root(sp.b)
		if i == j {
			return nil, false
		}
		next[i] = append(next[i], spring{i, j, sp.by})
		next[j] = append(next[j], spring{j, i, -sp.by})
	}
	weight := f.weights(b)
	seen := make([]bool, f.size)
	for start := 0; start < f.size; start++ {
		if seen[start] || len(next[start]) == 0 {
			continue
		}
		seen[start] = true
		group := []int{start}
		for k := 0; k < len(group); k++ {
			for _, sp := range next[group[k]] {
				want := offset[group[k]] + sp.by
				if !seen[sp.b] {
					seen[sp.b] = true
					offset[sp.b] = want
					group = append(group, sp.b)
				} else if math.Abs(offset[sp.b]-want) > Agreement {
					return nil, false
				}
			}
		}
		if !settle(group, offset, weight, b.held) {
			return nil, false
		}
	}
	return offset, true
}

// weights counts the points in every block.
func (f *frame) weights(b *blocks) []int {
	w := make([]int, f.size)
	for _, n := range f.h.s.net.nodes {
		w[b.root(n.body)] += len(n.points)
	}
	return w
}

// settle shifts a group of blocks as one, so that held blocks stay where they are, or else as many points as possible.
func settle(group []int, offset []float64, weight []int, held []bool) bool {
	stay, found := 0.0, false
	for _, i := range group {
		if !held[i] {
			continue
		}
		if found && math.Abs(offset[i]-stay) > Agreement {
			return false
		}
		stay, found = offset[i], true
	}
	if !found {
		best := -1
		for _, i := range group {
			n := 0
			for _, j := range group {
				if math.Abs(offset[j]-offset[i]) <= sameDistance {
					n += weight[j]
				}
			}
			if n > best {
				best, stay = n, offset[i]
			}
		}
	}
	for _, i := range group {
		offset[i] -= stay
	}
	return true
}

// check works the shifted frame out again: points on leaning surfaces sit on them again, every leg still runs the same
// way, every given cut holds, and every pipe can be had.
func (f *frame) check() bool {
	s := f.h.s
	at := make(map[*node]geom.Vec, len(s.net.nodes))
	for _, n := range s.net.nodes {
		v, ok := f.settleOn(n, n.at.Add(f.shift[n.body]))
		if !ok {
			return false
		}
		f.shift[n.body] = v.Sub(n.at)
		at[n] = v
	}
	for _, g := range s.net.segs {
		way := at[g.b].Sub(at[g.a])
		if way.Dot(g.dir) <= 0 || way.Unit().Cross(g.dir).Len() > parallelSin {
			return false
		}
		left := way.Len() - g.dist
		for _, p := range g.pipes {
			if l, ok := f.cut[p]; ok {
				left -= l - p.length
			}
		}
		free := f.free(g)
		if len(free) == 0 && math.Abs(left) > Agreement {
			return false
		}
		for _, p := range free {
			if l := p.length + left/float64(len(free)); left < 0 && l < s.closeNipple(p.size)-stockAgreement {
				return false
			}
		}
	}
	return true
}

// settleOn puts a shifted node back on the surfaces it lies on, and tells whether they reach that far.
func (f *frame) settleOn(n *node, v geom.Vec) (geom.Vec, bool) {
	s := f.h.s
	for _, p := range n.points {
		for i := range p.coord {
			on := p.coord[i].on
			if on == nil {
				continue
			}
			c := coords(v)
			at := func(j int) (float64, error) { return c[j], nil }
			if on.surface != "" || on.cleat != nil {
				w, err := s.contactAt(on, at)
				if err != nil {
					return v, false
				}
				c[i] = w
				v = vec(c)
			}
			if !f.reaches(on, c) {
				return v, false
			}
		}
	}
	return v, true
}

// reaches tells whether a cleat or a shifted board still is where the point goes.
func (f *frame) reaches(on *contact, at [3]float64) bool {
	box := everywhere()
	switch {
	case on.cleat != nil:
		box, _ = f.h.s.cleatRange(on.cleat)
	case on.board != nil:
		box, _ = f.h.s.boardBox(on.board)
		by := f.shift[on.board.body]
		box = geom.Box{Min: box.Min.Add(by), Max: box.Max.Add(by)}
	}
	lo, hi := coords(box.Min), coords(box.Max)
	for i := range at {
		if i != on.axis && (at[i] < lo[i]-Agreement || at[i] > hi[i]+Agreement) {
			return false
		}
	}
	return true
}

// moves lists the points of the design that move, in file order, in the finished frame.
func (f *frame) moves() []assembly.PointShift {
	type move struct {
		assembly.PointShift
		at design.Pos
	}
	var list []move
	for _, n := range f.h.s.net.nodes {
		by := f.shift[n.body]
		if by.Len() <= sameDistance {
			continue
		}
		for _, p := range n.points {
			list = append(list, move{assembly.PointShift{Point: p.id, By: tidy(finished(by))}, p.src.Name.At})
		}
	}
	sort.SliceStable(list, func(i, j int) bool {
		if list[i].at != list[j].at {
			return list[i].at.IsBefore(list[j].at)
		}
		return list[i].Point < list[j].Point
	})
	out := make([]assembly.PointShift, len(list))
	for i, m := range list {
		out[i] = m.PointShift
	}
	return out
}
