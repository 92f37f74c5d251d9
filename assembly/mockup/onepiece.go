package mockup

import (
	"errors"
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// Figures of the model in one piece: common practice, no source.
const (
	// intoMM is how far bodies that only touch go into one another, so that they print as one.
	intoMM = 0.25
	// oneToleranceMM is how far its mesh may lie from it: half a line of a nozzle.
	oneToleranceMM = 0.2
	pegDeepMM      = 5.0 // of each half of the pin that joins two rods
	tabMM          = 3.0 // radius of the tab by which two halves of a board hook into one another
	besideMM       = 1.5 // kept between a cut and what it must not cut
)

// member is a body of the model in one piece.
type member struct {
	solid sdf.Leafed
	box   geom.Box
	rod   *straight // of a rod
	sheet bool      // a board
}

// straight is a rod.
type straight struct {
	at, dir        geom.Vec
	length, radius float64
}

// fuse adds a part to the model in one piece: whole, its ends a little into what they touch. All its faces are flat, so that
// the mesh of a whole frame stays small.
func (b *builder) fuse(p *assembly.Part, s *shape) {
	if !b.o.OnePiece {
		return
	}
	pose := b.smallPose(p.Pose)
	add := func(x sdf.Solid, m member) {
		m.solid = sdf.Move(x, pose)
		m.box = m.solid.Bounds()
		b.m.fused = append(b.m.fused, m)
	}
	switch p.Kind {
	case standard.Board, standard.Cleat:
		for _, x := range p.Boxes {
			small := geom.Box{Min: b.smallVec(x.Min), Max: b.smallVec(x.Max)}
			if thin := thinnest(small); side(small, thin) < sheetMM {
				small.Max = small.Max.Add(axisOf(thin).Mul(sheetMM - side(small, thin)))
			}
			add(sdf.Box(small.Grow(intoMM)), member{sheet: true})
		}
	case standard.Pipe:
		begin, long := b.ends(p)
		r := &straight{pose.Apply(geom.V(0, 0, begin-intoMM)), pose.Z, long + 2*intoMM, b.fits[p.Size[0]].rod / 2}
		add(sdf.Prism(geom.V(0, 0, begin-intoMM), geom.AxisZ, geom.AxisX, r.length, 2*r.radius*rodShare, 8), member{rod: r})
	default:
		for _, x := range s.limbs(intoMM) {
			add(x, member{})
		}
		for _, x := range s.plates {
			add(x, member{})
		}
	}
}

// Whole is the frame in one piece, cut where it does not go on the bed.
type Whole struct {
	Pieces []*mesh.Mesh // closed, each with its least corner at the origin, upright as in the frame
	Pins   int          // that join them, of filament of PinMM
	Glued  int          // cuts that go through something that neither pin nor tab holds
}

// OnePiece makes the whole frame as one closed solid. What is longer than the bed is cut square across its rods, which are
// joined by pins in holes, and its boards, which hook into one another. It has no joints to take apart, stands as the
// frame does, and asks the printer for support.
func (m *Model) OnePiece() (Whole, error) {
	var out Whole
	if len(m.fused) == 0 {
		return out, nil
	}
	c := &cutter{m: m, list: m.fused, holes: nil}
	hull := geom.EmptyBox()
	for _, f := range m.fused {
		hull = hull.Union(f.box)
	}
	least := min(m.Options.BedMM[0], m.Options.BedMM[1]) - 2*bedMarginMM
	var edges [3][]float64
	for axis := range 3 {
		edges[axis] = c.along(axis, part(hull.Min, axis)-1, part(hull.Max, axis)+1, least)
	}
	for i := range len(edges[0]) - 1 {
		for j := range len(edges[1]) - 1 {
			for k := range len(edges[2]) - 1 {
				cell := geom.Box{Min: geom.V(edges[0][i], edges[1][j], edges[2][k]), Max: geom.V(edges[0][i+1], edges[1][j+1], edges[2][k+1])}
				pieces, err := c.piecesIn(cell)
				if err != nil {
					return out, err
				}
				out.Pieces = append(out.Pieces, pieces...)
			}
		}
	}
	out.Pins, out.Glued = c.pins, c.glued
	return out, nil
}

// cutter divides the model in one piece.
type cutter struct {
	m     *Model
	list  []member
	holes []sdf.Solid // for pins
	tabs  []tab
	pins  int
	glued int
}

// tab hooks the half of a board below a cut into the one above it.
type tab struct {
	solid, room sdf.Leafed
	below       geom.Vec // a point of the half that has it
}

// along cuts the model across an axis into lengths of at most most, and returns where, ends included.
func (c *cutter) along(axis int, from, to, most float64) []float64 {
	edges := []float64{from}
	n := count(to-from, most-tabMM*2)
	for i := 1; i < n; i++ {
		even := from + (to-from)*float64(i)/float64(n)
		reach := (most - 2*tabMM - (to-from)/float64(n)) / 2 // both neighbours may be moved
		best, price := even, math.Inf(1)
		for step := -30; step <= 30; step++ {
			at := even + reach*float64(step)/30
			if p := 1000*float64(c.spoils(axis, at)) + abs(at-even); p < price {
				best, price = at, p
			}
		}
		c.glued += c.spoils(axis, best)
		c.cut(axis, best)
		edges = append(edges, best)
	}
	return append(edges, to)
}

// spoils counts the bodies that a cut goes through and that can be neither pinned nor hooked.
func (c *cutter) spoils(axis int, at float64) int {
	n := 0
	for _, f := range c.list {
		low, high := part(f.box.Min, axis), part(f.box.Max, axis)
		if at < low-besideMM || at > high+besideMM {
			continue
		}
		switch {
		case f.rod != nil && abs(part(f.rod.dir, axis)) > 0.99 && at > low+pegDeepMM+besideMM && at < high-pegDeepMM-besideMM:
		case f.sheet && at > low+2*tabMM+besideMM && at < high-2*tabMM-besideMM && c.tabAt(axis, at, f) != nil:
		default:
			n++
		}
	}
	return n
}

// cut makes the holes and tabs of a cut.
func (c *cutter) cut(axis int, at float64) {
	var collars []member
	for _, f := range c.list {
		if at <= part(f.box.Min, axis) || at >= part(f.box.Max, axis) {
			continue
		}
		switch {
		case f.rod != nil && abs(part(f.rod.dir, axis)) > 0.99:
			r := f.rod
			middle := r.at.Add(r.dir.Mul((at - part(r.at, axis)) / part(r.dir, axis)))
			begin := middle.Sub(r.dir.Mul(pegDeepMM))
			c.holes = append(c.holes, sdf.Prism(begin, r.dir, r.dir.Across(), 2*pegDeepMM, pinHoleMM, 8))
			c.pins++
			thick := 2 * (pinHoleMM/2 + wallMM)
			if 2*r.radius*rodShare < thick { // a collar where the pin would leave too thin a wall
				s := sdf.Prism(begin.Sub(r.dir), r.dir, r.dir.Across(), 2*pegDeepMM+2, thick, 8)
				collars = append(collars, member{solid: s, box: s.Bounds()})
			}
		case f.sheet:
			if t := c.tabAt(axis, at, f); t != nil {
				c.tabs = append(c.tabs, *t)
			}
		}
	}
	c.list = append(c.list, collars...)
}

// tabAt is the tab of a board at a cut, in the middle of its width or where nothing else is near; nil where there is no
// room for one, and for a board that does not lie along the axes.
func (c *cutter) tabAt(axis int, at float64, f member) *tab {
	thin := thinnest(f.box)
	if thin == axis {
		return nil
	}
	wide := 3 - thin - axis
	for _, share := range []float64{0.5, 0.35, 0.65, 0.2, 0.8} {
		y := part(f.box.Min, wide) + share*side(f.box, wide)
		centre := axisOf(axis).Mul(at + tabMM).Add(axisOf(wide).Mul(y)).Add(axisOf(thin).Mul(part(f.box.Min, thin)))
		s := tabSolid(centre, axis, wide, thin, side(f.box, thin), 0)
		room := tabSolid(centre, axis, wide, thin, side(f.box, thin), c.m.Options.ClearanceMM)
		free := share*side(f.box, wide) > 2*tabMM && (1-share)*side(f.box, wide) > 2*tabMM
		for _, o := range c.list {
			free = free && (o.box == f.box || !o.box.Overlaps(room.Bounds().Grow(besideMM/2)))
		}
		if free {
			return &tab{solid: s, room: room, below: centre.Sub(axisOf(axis).Mul(tabMM + 0.1))}
		}
	}
	return nil
}

// tabSolid is the tab itself, or, larger by gap, the room it goes into: an eight-sided head on a narrower neck.
func tabSolid(centre geom.Vec, axis, wide, thin int, thick, gap float64) sdf.Leafed {
	a, w, t := axisOf(axis), axisOf(wide), axisOf(thin)
	over := 0.0
	if gap > 0 {
		over = 1 // a tool reaches beyond the faces
	}
	base := centre.Sub(t.Mul(over))
	head := sdf.Prism(base, t, a, thick+2*over, 2*(tabMM*0.8+gap), 8)
	p := base.Sub(a.Mul(tabMM + 0.5)).Sub(w.Mul(tabMM/2 + gap))
	q := base.Add(w.Mul(tabMM/2 + gap)).Add(t.Mul(thick + 2*over))
	return sdf.Join(head, sdf.Box(geom.BoxOf(p, q)))
}

// piecesIn makes the pieces of one cell: one for each body that is left when all else is cut away.
func (c *cutter) piecesIn(cell geom.Box) ([]*mesh.Mesh, error) {
	var bodies, tools, tabs []sdf.Solid
	for _, f := range c.list {
		if f.box.Overlaps(cell) {
			bodies = append(bodies, f.solid)
		}
	}
	if len(bodies) == 0 {
		return nil, nil
	}
	for _, h := range c.holes {
		if h.Bounds().Overlaps(cell) {
			tools = append(tools, h)
		}
	}
	for _, t := range c.tabs {
		switch {
		case cell.Contains(t.below):
			tabs = append(tabs, t.solid)
		case t.room.Bounds().Overlaps(cell):
			tools = append(tools, t.room)
		}
	}
	solid := sdf.Common(sdf.Join(bodies...), sdf.Box(cell))
	if len(tools) > 0 {
		solid = sdf.Cut(solid, tools...)
	}
	if len(tabs) > 0 {
		solid = sdf.Join(append([]sdf.Solid{solid}, tabs...)...)
	}
	body, _, err := isosurface.Mesh(solid, isosurface.Options{ToleranceMM: oneToleranceMM})
	if errors.Is(err, isosurface.ErrEmpty) { // boxes overlap where the bodies in them do not
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("the model in one piece: %w", err)
	}
	var out []*mesh.Mesh
	for _, piece := range mesh.Apart(body) {
		piece = mesh.Round32(mesh.Placed(piece, geom.At(mesh.Bounds(piece).Min.Neg())))
		if err := mesh.Check(piece); err != nil {
			return nil, fmt.Errorf("the model in one piece: %w", err)
		}
		out = append(out, piece)
	}
	return out, nil
}

// part is one coordinate of a vector.
func part(v geom.Vec, axis int) float64 { return [3]float64{v.X, v.Y, v.Z}[axis] }
