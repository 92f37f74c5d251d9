package solve

import (
	"errors"
	"fmt"

	"turnwise/assembly/design"
	"turnwise/assembly/enclosure"
	"turnwise/assembly/formula"
	"turnwise/geom"
)

// surface is a wall, floor or ceiling.
type surface struct {
	cell
	name  string
	axis  int
	below bool // its material lies towards smaller coordinates
	src   *design.Surface
	face  *enclosure.Face
	along [3]bool // the axes along which it was read
}

// cleat is timber on a wall.
type cleat struct {
	cell
	src   *design.Cleat
	thick float64
	box   geom.Box // its range along the wall; without bounds along the wall's axis
}

// zone is a named region, with the faces of a box when it is an obstacle.
type zone struct {
	cell
	src *design.Zone
	box geom.Box
}

func isSurface(name string) bool {
	_, ok := opposite[name]
	return ok
}

// surfaceAxis is the coordinate that a surface gives.
func surfaceAxis(name string) int {
	switch name {
	case "left", "right":
		return 0
	case "back", "front":
		return 1
	}
	return 2
}

func isBelow(name string) bool { return name == "left" || name == "back" || name == "floor" }

// addSurfaces makes the surfaces, cleats and zones of the file.
func (s *solver) addSurfaces() {
	s.surfaceUse = map[string]bool{"floor": true} // it always stands
	s.surfaceNamed = map[string]bool{}
	for _, name := range design.SurfaceNames {
		src := s.t.Room.Surface(name)
		if src == nil && !isBelow(name) {
			continue
		}
		f := &surface{cell: cell{label: name}, name: name, axis: surfaceAxis(name), below: isBelow(name), src: src}
		if src != nil {
			f.at = src.Name.At
			s.use(name)
		}
		s.surfaces[name] = f
	}
	for i := range s.t.Cleats {
		c := &s.t.Cleats[i]
		s.cleats[c.Name.Text] = &cleat{cell: cell{label: c.Name.Text, at: c.Name.At}, src: c}
		s.use(c.On.Text)
	}
	for i := range s.t.Room.Zones {
		z := &s.t.Room.Zones[i]
		s.zones = append(s.zones, &zone{cell: cell{label: z.Name.Text, at: z.Name.At}, src: z})
		if z.Surface.Text != "" {
			s.use(z.Surface.Text)
		}
	}
}

// use notes that the file names a surface: then it stands there.
func (s *solver) use(name string) { s.surfaceUse[name], s.surfaceNamed[name] = true, true }

// zone is the obstacle of that name, or nil.
func (s *solver) zone(name string) *zone {
	for _, z := range s.zones {
		if z.src.Name.Text == name {
			return z
		}
	}
	return nil
}

// surfaceFace is the surface of that name with its readings evaluated.
func (s *solver) surfaceFace(name string) (*surface, error) {
	f, ok := s.surfaces[name]
	if !ok && (s.doubt.any || s.t.IsSpoilt(name)) {
		return nil, formula.ErrSilent
	}
	if !ok {
		what := name + " wall"
		if name == "ceiling" {
			what = name
		}
		return nil, fmt.Errorf("no %s: give %s under room", what, name)
	}
	return f, s.get(&f.cell, func() error { return s.readFace(f) })
}

func (s *solver) readFace(f *surface) error {
	var readings []enclosure.Reading
	if f.src != nil {
		for i := range f.src.Face {
			r, err := s.reading(&f.src.Face[i])
			if err != nil {
				return err
			}
			for a, on := range r.On {
				f.along[a] = f.along[a] || on
			}
			readings = append(readings, r)
		}
	}
	if len(readings) == 0 {
		if f.src != nil && !f.below {
			return &formula.Error{At: f.src.Name.At, Text: fmt.Sprintf("%s has no reading: say where its face is", f.name)}
		}
		readings = []enclosure.Reading{{}}
	}
	face, err := enclosure.NewFace(enclosure.Axis(f.axis), f.below, readings)
	f.face = face
	return err
}

// reading evaluates one reading; other surfaces in it are where they are at its place.
func (s *solver) reading(r *design.Reading) (enclosure.Reading, error) {
	var out enclosure.Reading
	for _, a := range r.At {
		v, err := length(a.Expr, env{s: s, sc: s.root}, "a coordinate")
		if err != nil {
			return out, err
		}
		out.At[a.Axis.Index()], out.On[a.Axis.Index()] = v, true
	}
	at := func(i int) (float64, error) {
		if !out.On[i] {
			return 0, errNoPlace
		}
		return out.At[i], nil
	}
	v, err := length(r.Value, env{s: s, sc: s.root, at: at}, "a reading")
	out.Value = v
	return out, err
}

// errNoPlace is returned for a leaning surface where no place is known.
var errNoPlace = errors.New("no place")

// surfaceAt is where a surface is at a place in the room. Only the coordinates it leans along are asked for.
func (s *solver) surfaceAt(name string, at placer) (float64, error) {
	s.use(name)
	f, err := s.surfaceFace(name)
	if err != nil {
		return 0, err
	}
	var p [3]float64
	for i, leans := range f.along {
		if !leans {
			continue
		}
		if at == nil {
			return 0, fmt.Errorf("%s is not the same everywhere: write %s.least or %s.most", name, name, name)
		}
		p[i], err = at(i)
		if errors.Is(err, errNoPlace) {
			return 0, fmt.Errorf("%s leans along %s: say at which %s", name, design.Axes[i], design.Axes[i])
		}
		if err != nil {
			return 0, err
		}
	}
	return f.face.At(vec(p)), nil
}

// cleatAt is where a cleat's outer face is at a place in the room.
func (s *solver) cleatAt(c *cleat, at placer) (float64, error) {
	s.use(c.src.Name.Text)
	if _, err := s.cleatRange(c); err != nil {
		return 0, err
	}
	v, err := s.surfaceAt(c.src.On.Text, at)
	if isBelow(c.src.On.Text) {
		return v + c.thick, err
	}
	return v - c.thick, err
}

// everywhere is the box without bounds.
func everywhere() geom.Box {
	e := geom.EmptyBox()
	return geom.Box{Min: e.Max, Max: e.Min}
}

// cleatRange is where a cleat is along its wall.
func (s *solver) cleatRange(c *cleat) (geom.Box, error) {
	err := s.get(&c.cell, func() error {
		box, err := s.ranges(c.src.Ranges)
		if err != nil {
			return err
		}
		c.box = box
		c.thick, err = s.positive(c.src.Thickness, env{s: s, sc: s.root}, "a thickness")
		return err
	})
	return c.box, err
}

// ranges evaluates ranges along the axes; those not given are without bounds.
func (s *solver) ranges(r [3]*design.Range) (geom.Box, error) {
	box := everywhere()
	lo, hi := coords(box.Min), coords(box.Max)
	for i := range r {
		if r[i] == nil {
			continue
		}
		var err error
		if lo[i], err = length(r[i].Low, env{s: s, sc: s.root}, "a range"); err != nil {
			return box, err
		}
		if hi[i], err = length(r[i].High, env{s: s, sc: s.root}, "a range"); err != nil {
			return box, err
		}
		if hi[i] <= lo[i] {
			return box, &formula.Error{At: r[i].At, Text: fmt.Sprintf("%s runs from %s to %s; the greater number goes last", r[i].Axis, s.num(lo[i]), s.num(hi[i]))}
		}
	}
	return geom.Box{Min: vec(lo), Max: vec(hi)}, nil
}

func (s *solver) zoneBox(z *zone) (geom.Box, error) {
	err := s.get(&z.cell, func() error {
		box, err := s.ranges(z.src.Ranges)
		z.box = box
		return err
	})
	return z.box, err
}

// zoneFace is the coordinate of a face of an obstacle.
func (s *solver) zoneFace(z *zone, f faceName) (float64, error) {
	if z.src.Ranges[f.axis] == nil {
		return 0, fmt.Errorf("%s has no bounds along %s", z.src.Name.Text, design.Axes[f.axis])
	}
	box, err := s.zoneBox(z)
	if f.high {
		return coords(box.Max)[f.axis], err
	}
	return coords(box.Min)[f.axis], err
}

// out is the unit vector from a contact into the room at a place, in the design's axes.
func (s *solver) outOf(on *contact, at geom.Vec) geom.Vec {
	var n [3]float64
	n[on.axis] = 1
	switch {
	case on.surface != "":
		return s.surfaces[on.surface].face.Normal(at)
	case on.cleat != nil:
		return s.surfaces[on.cleat.src.On.Text].face.Normal(at)
	case !on.high:
		n[on.axis] = -1
	}
	return vec(n)
}
