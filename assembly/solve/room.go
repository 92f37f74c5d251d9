package solve

import (
	"math"
	"path/filepath"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/enclosure"
	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// Sizes of the room's body in mm: how far round the frame its surfaces are drawn, and how thick. A swing or a carry in
// stays within the first; nothing reaches through the second.
const (
	roomMargin    = 1000.0
	roomThickness = 100.0
)

// baseName is the name of the design's file without folders and ending.
func baseName(file string) string {
	b := filepath.Base(file)
	return strings.TrimSuffix(b, filepath.Ext(b))
}

// extent is how far the surfaces of the room are drawn, in the design's axes: round all parts with a margin, ending a
// little behind the surfaces that stand.
func (s *solver) extent() geom.Box {
	box := geom.EmptyBox()
	for i := range s.out.Parts {
		p := &s.out.Parts[i]
		for _, q := range p.Ports {
			box = box.Include(q.At)
		}
		for _, b := range p.Boxes {
			box = box.Union(p.Pose.Box(b))
		}
	}
	if box.IsEmpty() {
		box = geom.BoxOf(geom.Vec{})
	}
	box = finishedBox(box).Grow(roomMargin)
	lo, hi := coords(box.Min), coords(box.Max)
	for _, name := range design.SurfaceNames {
		f, ok := s.surfaces[name]
		if !ok || !s.surfaceUse[name] {
			continue
		}
		if f.below {
			lo[f.axis] = max(lo[f.axis], f.face.Least()-roomThickness)
		} else {
			hi[f.axis] = min(hi[f.axis], f.face.Most()+roomThickness)
		}
	}
	for i := range lo { // a frame outside its own room keeps some of it
		if hi[i] < lo[i]+roomThickness {
			hi[i] = lo[i] + roomThickness
		}
	}
	return geom.Box{Min: vec(lo), Max: vec(hi)}
}

// layRoom puts down the room, if anything is fastened to it or stands on it, and tells what is known of it.
func (s *solver) layRoom() {
	extent := s.extent()
	room := assembly.Part{ID: roomID, Kind: standard.Room, Pose: geom.Identity(), Size: assembly.Sizes{}, Dims: standard.Dims{}}
	for _, name := range design.SurfaceNames {
		f, ok := s.surfaces[name]
		if !ok || !s.surfaceUse[name] {
			continue
		}
		boxes := finishedBoxes(s.cutOpenings(name, f.face.Boxes(extent, roomThickness, s.seats(name))))
		boxes = append(boxes, s.baseboard(f, extent)...)
		room.Boxes = append(room.Boxes, boxes...)
		s.out.Room.Surfaces = append(s.out.Room.Surfaces, s.tellSurface(f, boxes))
	}
	room.Boxes = append(room.Boxes, s.tellZones(extent)...)
	s.tellCleats()
	for _, j := range s.out.Joints {
		if j.A.Part == roomID || j.B.Part == roomID {
			s.add(room)
			return
		}
	}
}

// tellZones carries the zones, and returns the obstacles as boxes.
func (s *solver) tellZones(extent geom.Box) []geom.Box {
	var boxes []geom.Box
	for _, z := range s.zones {
		box, _ := s.zoneBox(z)
		s.out.Room.Zones = append(s.out.Room.Zones, assembly.Zone{
			Name: z.src.Name.Text, Kind: z.src.Kind.Text, Surface: z.src.Surface.Text, Box: finishedBox(box),
		})
		if z.src.Kind.Text != design.Obstacle {
			continue
		}
		if b := box.Intersect(extent); !b.IsEmpty() && b.Volume() > 0 {
			boxes = append(boxes, finishedBox(b))
		}
	}
	return boxes
}

// tellCleats carries the cleats, which are surfaces too.
func (s *solver) tellCleats() {
	for i := range s.t.Cleats {
		p := s.part(s.t.Cleats[i].Name.Text)
		var boxes []geom.Box
		for _, b := range p.Boxes {
			boxes = append(boxes, p.Pose.Box(b))
		}
		s.out.Room.Surfaces = append(s.out.Room.Surfaces, assembly.Surface{Name: p.ID, Made: p.Material, Boxes: boxes, Air: s.air()})
	}
}

// tellWayIn carries the narrowest opening on the way; one number holds for both sides.
func (s *solver) tellWayIn() {
	way := s.t.Room.WayIn
	if len(way) == 0 {
		return
	}
	for i := range s.out.Room.WayInMM {
		v, err := s.positive(way[min(i, len(way)-1)], env{s: s, sc: s.root}, "a way in")
		s.errs.formulaFault(err, s.t.Room.WayInAt)
		s.out.Room.WayInMM[i] = v
	}
}

func finishedBoxes(in []geom.Box) []geom.Box {
	out := make([]geom.Box, len(in))
	for i, b := range in {
		out[i] = finishedBox(b)
	}
	return out
}

// maxSeats bounds the feet that a leaning surface gives way to: each divides it once more, and on a surface that leans
// both ways the pieces grow with their square.
const maxSeats = 100

// seats are the places where feet and flanges sit on a leaning surface, or on a cleat that follows its lean.
func (s *solver) seats(name string) []enclosure.Seat {
	f := s.surfaces[name]
	if f.along == [3]bool{} {
		return nil
	}
	var out []enclosure.Seat
	for _, n := range s.net.nodes {
		if n.on == nil || n.choice.None || n.on.surface != name && (n.on.cleat == nil || n.on.cleat.src.On.Text != name) {
			continue
		}
		d := n.choice.Fitting.Dims
		r := max(d.MM(standard.DimAcross, ""), d.MM(standard.DimBandOD, "a")) / 2
		if out = append(out, enclosure.Seat{At: n.at, Radius: r}); len(out) == maxSeats {
			break
		}
	}
	return out
}

// cutOpenings takes the openings of a surface out of its material.
func (s *solver) cutOpenings(name string, boxes []geom.Box) []geom.Box {
	f := s.surfaces[name]
	for _, z := range s.zones {
		if z.src.Kind.Text != design.Opening || z.src.Surface.Text != name {
			continue
		}
		hole, _ := s.zoneBox(z)
		lo, hi := coords(hole.Min), coords(hole.Max)
		lo[f.axis], hi[f.axis] = math.Inf(-1), math.Inf(1)
		hole = geom.Box{Min: vec(lo), Max: vec(hi)}
		var left []geom.Box
		for _, b := range boxes {
			left = append(left, b.Subtract(hole)...)
		}
		boxes = left
	}
	return boxes
}

// strip is flat material of some thickness on a surface, within an extent: a cleat or a baseboard. Finished frame.
func (s *solver) strip(f *surface, extent geom.Box, thick float64, seats []enclosure.Seat) []geom.Box {
	if f == nil || f.face == nil {
		return nil
	}
	shift := thick
	if !f.below {
		shift = -thick
	}
	readings := []enclosure.Reading{{Value: shift}}
	if f.src != nil && len(f.src.Face) > 0 {
		readings = readings[:0]
		for i := range f.src.Face {
			r, err := s.reading(&f.src.Face[i])
			if err != nil {
				return nil
			}
			r.Value += shift
			readings = append(readings, r)
		}
	}
	outer, err := enclosure.NewFace(enclosure.Axis(f.axis), f.below, readings)
	if err != nil {
		return nil
	}
	whole := s.whole()
	lo, hi := coords(extent.Min), coords(extent.Max)
	wlo, whi := coords(whole.Min), coords(whole.Max)
	for i := range lo {
		lo[i], hi[i] = max(lo[i], wlo[i]), min(hi[i], whi[i])
		if i != f.axis && lo[i] >= hi[i] {
			return nil
		}
	}
	return finishedBoxes(outer.Boxes(geom.Box{Min: vec(lo), Max: vec(hi)}, thick, seats))
}

// whole bounds what has no bounds of its own: a room larger than any that is furnished by hand.
func (s *solver) whole() geom.Box {
	const far = float64(formula.MaxLength)
	return geom.Box{Min: geom.V(-far, -far, -far), Max: geom.V(far, far, far)}
}

// baseboard is the strip at the foot of a wall.
func (s *solver) baseboard(f *surface, extent geom.Box) []geom.Box {
	h, t := s.baseboardSize(f)
	if h <= 0 || f.axis == 2 {
		return nil
	}
	foot := s.surfaces["floor"].face.Least()
	extent.Min.Z = max(extent.Min.Z, foot)
	extent.Max.Z = min(extent.Max.Z, foot+h)
	if extent.Max.Z <= extent.Min.Z {
		return nil
	}
	return s.strip(f, extent, t, nil)
}

func (s *solver) baseboardSize(f *surface) (height, thick float64) {
	if f.src == nil || f.src.Baseboard == nil {
		return 0, 0
	}
	b := f.src.Baseboard
	h, err := s.positive(b.Height, env{s: s, sc: s.root}, "a height")
	s.errs.formulaFault(err, b.At)
	t, err := s.positive(b.Thickness, env{s: s, sc: s.root}, "a thickness")
	s.errs.formulaFault(err, b.At)
	return h, t
}

func (s *solver) air() string {
	if s.t.Room.Air.Text == "" {
		return "dry"
	}
	return s.t.Room.Air.Text
}

// checkSurfaceFormulas evaluates what a surface is described by, for its faults.
func (s *solver) checkSurfaceFormulas(f *surface) {
	e := env{s: s, sc: s.root}
	s.baseboardSize(f)
	if m := f.src.Made; m != nil && m.Thickness != nil {
		_, err := s.positive(m.Thickness, e, "a thickness")
		s.errs.formulaFault(err, m.At)
	}
	for _, t := range []*design.Timbers{f.src.Studs, f.src.Joists} {
		if t == nil {
			continue
		}
		for _, x := range append(append([]*formula.Expr{}, t.Middles...), t.From) {
			if x != nil {
				_, err := length(x, e, "a stud's middle")
				s.errs.formulaFault(err, x.At)
			}
		}
		for _, x := range []*formula.Expr{t.Every, t.Wide} {
			if x != nil {
				_, err := s.positive(x, e, "a stud's width or spacing")
				s.errs.formulaFault(err, x.At)
			}
		}
	}
}

// tellSurface carries what is known of a surface.
func (s *solver) tellSurface(f *surface, boxes []geom.Box) assembly.Surface {
	out := assembly.Surface{Name: f.name, Boxes: boxes, Air: s.air()}
	if f.src == nil {
		return out
	}
	if f.src.Made != nil {
		out.Made = f.src.Made.Text
	}
	out.Baseboard[0], out.Baseboard[1] = s.baseboardSize(f)
	for _, t := range []*design.Timbers{f.src.Studs, f.src.Joists} {
		if t != nil {
			out.Timbers = append(out.Timbers, s.timbers(f, t)...)
		}
	}
	return out
}

// Widths of studs and joists when the design does not say: 1-1/2 in dressed softwood, 38 mm metric. Common practice.
const (
	studWidthInch   = 1.5 * float64(units.Inch)
	studWidthMetric = 38.0
)

// maxTimbers bounds the studs of one wall.
const maxTimbers = 1000

func (s *solver) timbers(f *surface, t *design.Timbers) []assembly.Timber {
	e := env{s: s, sc: s.root}
	axis := t.Axis
	if axis == "" {
		axis = design.X
		if f.axis == 0 {
			axis = design.Y
		}
	}
	wide := studWidthInch
	if s.t.Units == units.MetricSystem {
		wide = studWidthMetric
	}
	if t.Wide != nil {
		v, err := s.positive(t.Wide, e, "a width")
		s.errs.formulaFault(err, t.At)
		wide = v
	}
	var out []assembly.Timber
	for _, m := range t.Middles {
		v, err := length(m, e, "a stud's middle")
		s.errs.formulaFault(err, m.At)
		out = append(out, assembly.Timber{Axis: string(axis), Middle: v, Width: wide})
	}
	if t.Every == nil {
		return out
	}
	return append(out, s.everyTimber(t, axis, wide)...)
}

// everyTimber lists timbers at even distances, as far as the room is drawn.
func (s *solver) everyTimber(t *design.Timbers, axis design.Axis, wide float64) []assembly.Timber {
	e := env{s: s, sc: s.root}
	var out []assembly.Timber
	every, err := s.positive(t.Every, e, "a spacing")
	s.errs.formulaFault(err, t.At)
	from := 0.0
	if t.From != nil {
		from, err = length(t.From, e, "a stud's middle")
		s.errs.formulaFault(err, t.At)
	}
	if every <= 0 {
		return out
	}
	box := s.extent()
	lo, hi := coords(box.Min)[axis.Index()], coords(box.Max)[axis.Index()]
	first := from + math.Ceil((lo-from)/every)*every
	for k := 0; k < maxTimbers && first+float64(k)*every <= hi; k++ {
		out = append(out, assembly.Timber{Axis: string(axis), Middle: first + float64(k)*every, Width: wide})
	}
	return out
}
