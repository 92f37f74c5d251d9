package mockup

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// board is the boxes of a board or cleat with its holes, and with room for the bodies of the model that reach into it.
func (b *builder) board(p *assembly.Part) (*shape, error) {
	if len(p.Boxes) == 0 {
		return nil, fmt.Errorf("it has no size")
	}
	hull := geom.EmptyBox()
	for _, x := range p.Boxes {
		hull = hull.Union(x)
	}
	thin := thinnest(hull)
	grow := geom.Vec{}
	size := b.small(side(hull, thin))
	if size < sheetMM {
		grow = axisOf(thin).Mul(sheetMM - size)
		b.thick("boards", size, sheetMM)
	}
	s := &shape{up: axisOf(thin)}
	var boxes []geom.Box
	for _, x := range p.Boxes {
		boxes = append(boxes, geom.Box{Min: b.smallVec(x.Min), Max: b.smallVec(x.Max).Add(grow)})
	}
	s.add = []sdf.Solid{sdf.Boxes(boxes...)}
	for _, h := range p.Holes {
		s.cut = append(s.cut, b.hole(p, h, size+grow.Len()))
	}
	s.cut = append(s.cut, b.pockets(p, hull)...)
	s.key = b.wayOfPockets(p, hull)
	s.marks = b.boardSpots(s, hull, thin)
	return s, nil
}

// hole is a hole or pocket of a board. One that goes right through lets a rod pass with its lug.
func (b *builder) hole(p *assembly.Part, h assembly.Hole, thick float64) sdf.Leafed {
	radius := b.small(h.Diameter) / 2
	depth := b.small(h.Depth)
	if h.Depth == 0 {
		for _, f := range b.sortedFits() {
			if f.trueRod <= 2*radius && (2*radius-f.trueRod) < 0.5*f.trueRod {
				least := f.slot + b.o.ClearanceMM
				b.thick("holes for pipes, across", 2*radius, 2*max(radius, least))
				radius = max(radius, least)
			}
		}
		depth = thick
	}
	at := b.smallVec(h.At)
	return sdf.Cylinder(at.Sub(h.Dir.Mul(1)), h.Dir, depth+2, radius)
}

// sortedFits lists the fits from the thinnest rod to the thickest.
func (b *builder) sortedFits() []fit {
	out := slices.Collect(maps.Values(b.fits))
	slices.SortFunc(out, func(x, y fit) int { return cmp.Compare(x.trueRod, y.trueRod) })
	return out
}

// pockets make room in a board for bodies of the model that are fatter than true and would stand in it.
func (b *builder) pockets(p *assembly.Part, hull geom.Box) []sdf.Solid {
	var out []sdf.Solid
	own := b.smallPose(p.Pose)
	box := geom.Box{Min: b.smallVec(hull.Min), Max: b.smallVec(hull.Max)}
	for i := range b.from.Parts {
		q := &b.from.Parts[i]
		if !isCast(q.Kind) {
			continue
		}
		s, err := b.shapeOf(q)
		if err != nil || s == nil {
			continue
		}
		pose := own.Inverse().Compose(b.smallPose(q.Pose))
		for _, a := range slices.Concat(s.arms, s.stems) {
			g := a
			g.radius += b.o.ClearanceMM
			g.at = g.at.Sub(g.dir.Mul(b.o.ClearanceMM))
			g.length += 2 * b.o.ClearanceMM
			tool := sdf.Move(g.solid(s.sideOf(a)), pose)
			if tool.Bounds().Overlaps(box.Grow(-0.01)) {
				out = append(out, tool)
			}
		}
	}
	return out
}

// isCast tells whether a part is a fitting that may stand under or beside a board.
func isCast(k standard.Kind) bool {
	switch k {
	case standard.Pipe, standard.Board, standard.Cleat, standard.Room, standard.Strap, standard.Flange, standard.Glide, standard.Caster,
		standard.Pad, standard.Bushing, standard.Plug, standard.Union:
		return false
	}
	return true
}

// wayOfPockets tells boards of one number apart whose pockets differ.
func (b *builder) wayOfPockets(p *assembly.Part, hull geom.Box) string {
	key := ""
	for _, t := range b.pockets(p, hull) {
		c := t.Bounds()
		key += fmt.Sprintf("%.1f %.1f %.1f;", roundTo(c.Min.X, 0.1), roundTo(c.Min.Y, 0.1), roundTo(c.Min.Z, 0.1))
	}
	return key
}

// room is floor and walls, true to scale, but that every face stands back by the clearance: a model goes between its
// walls without the play that a flange has on its thread in steel.
func (b *builder) room(p *assembly.Part) (*shape, error) {
	if len(p.Boxes) == 0 {
		return nil, nil
	}
	var boxes []geom.Box
	for _, x := range p.Boxes {
		small := geom.Box{Min: b.smallVec(x.Min), Max: b.smallVec(x.Max)}
		if back := small.Grow(-b.o.ClearanceMM); !back.IsEmpty() {
			small = back
		}
		boxes = append(boxes, small)
	}
	return &shape{up: geom.AxisZ, add: []sdf.Solid{sdf.Boxes(boxes...)}}, nil
}

// plateMM is how thick room plates are: deep enough for a pin to stand.
const plateMM = 3.0

// roomPlates makes a plate of each face of the room that flanges are fixed to, with holes for their pins, as large as
// the flanges on it need; one that does not go on the bed is cut into tiles.
func (b *builder) roomPlates() {
	type face struct {
		pose  geom.Pose // of the first flange's face: Z into the room
		boxes geom.Box  // of all flanges on it, in that frame
		holes []geom.Vec
	}
	faces := map[string]*face{}
	var order []string
	for i := range b.from.Parts {
		p := &b.from.Parts[i]
		if p.Kind != standard.Flange || !b.fixedToRoom(p) {
			continue
		}
		f, ok := b.fitAt(p, "a")
		if !ok {
			continue
		}
		pose := b.smallPose(p.Pose)
		name := assembly.SurfaceAlong(p.Pose.Z.Neg())
		fc := faces[name]
		if fc == nil {
			fc = &face{pose: pose, boxes: geom.EmptyBox()}
			faces[name], order = fc, append(order, name)
		}
		circle := b.pinCircle(p, f)
		for _, at := range pinPlaces(circle) {
			fc.holes = append(fc.holes, fc.pose.Local(pose.Apply(at)))
		}
		at := fc.pose.Local(pose.Origin)
		r := circle + pinHoleMM + 2
		fc.boxes = fc.boxes.Union(geom.BoxOf(at.Sub(geom.V(r, r, 0)), at.Add(geom.V(r, r, 0))))
	}
	for _, name := range order {
		fc := faces[name]
		for n, tile := range tiles(fc.boxes, b.o.BedMM) {
			body := sdf.Solid(sdf.Box(geom.Box{Min: geom.V(tile.Min.X, tile.Min.Y, 0), Max: geom.V(tile.Max.X, tile.Max.Y, plateMM)}))
			var cuts []sdf.Solid
			for _, h := range fc.holes {
				cuts = append(cuts, sdf.Cylinder(geom.V(h.X, h.Y, 0.6), geom.AxisZ, plateMM+1, pinHoleMM/2))
			}
			solid := sdf.Cut(body, cuts...)
			b.m.Pieces = append(b.m.Pieces, Piece{Name: fmt.Sprintf("%s plate %d", name, n+1), Kind: standard.Room, Count: 1, Solid: solid, Printed: solid, Up: geom.AxisZ})
		}
	}
}

// fixedToRoom tells whether a flange is screwed to the room.
func (b *builder) fixedToRoom(p *assembly.Part) bool {
	for _, j := range b.joints[p.ID] {
		if j.Kind == assembly.Face && (j.A.Part == string(standard.Room) || j.B.Part == string(standard.Room)) {
			return true
		}
	}
	return false
}

// tiles divides a rectangle into equal ones that go on the bed.
func tiles(box geom.Box, bed [2]float64) []geom.Box {
	size := box.Size()
	nx, ny := count(size.X, bed[0]-2*bedMarginMM), count(size.Y, bed[1]-2*bedMarginMM)
	var out []geom.Box
	for i := range nx {
		for k := range ny {
			at := func(fx, fy float64) geom.Vec {
				return geom.V(box.Min.X+size.X*fx/float64(nx), box.Min.Y+size.Y*fy/float64(ny), 0)
			}
			out = append(out, geom.Box{Min: at(float64(i), float64(k)), Max: at(float64(i+1), float64(k+1))})
		}
	}
	return out
}

// count is how many pieces of at most most a length makes.
func count(length, most float64) int {
	n := 1
	for most > 0 && length/float64(n) > most {
		n++
	}
	return n
}

// thinnest is the axis (0, 1, 2) along which a box is least.
func thinnest(b geom.Box) int {
	best := 0
	for i := 1; i < 3; i++ {
		if side(b, i) < side(b, best) {
			best = i
		}
	}
	return best
}

func side(b geom.Box, axis int) float64 {
	s := b.Size()
	return [3]float64{s.X, s.Y, s.Z}[axis]
}

func axisOf(axis int) geom.Vec {
	return [3]geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ}[axis]
}
