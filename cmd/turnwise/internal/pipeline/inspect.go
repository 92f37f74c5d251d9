package pipeline

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
	"turnwise/geom/wall"
	"turnwise/render/picture"
)

// ErrNoPart is the error for a part that the design does not have, or that has no solid.
var ErrNoPart = errors.New("no such part")

// Inspection is what is known and measured of one part.
type Inspection struct {
	ID      string        `json:"id"`
	Number  int           `json:"number"`
	Name    string        `json:"name"`
	Kind    standard.Kind `json:"kind"`
	Count   int           `json:"count"` // parts with the same solid
	SizeMM  [3]float64    `json:"size_mm"`
	Volume  float64       `json:"volume_mm3"`
	Area    float64       `json:"area_mm2"`
	MassKG  float64       `json:"mass_kg"`
	WallMM  *float64      `json:"wall_mm"` // null when no wall was found
	WallAt  *[3]float64   `json:"wall_at_mm"`
	Within  float64       `json:"wall_within_mm"`
	Faces   int           `json:"triangles"`
	Dims    []Dimension   `json:"dimensions"`
	Files   []File        `json:"-"`
	Units   units.System  `json:"units"`
	Written []string      `json:"files"`
}

// Dimension is one figure that a part is made from.
type Dimension struct {
	Name     string         `json:"name"`
	MM       float64        `json:"mm"` // a ratio, a count or newtons where the name says so
	Source   string         `json:"source"`
	Grade    standard.Grade `json:"grade"`
	Override bool           `json:"override"` // given by the design
}

// Inspect works a design out and measures one of its parts, named by its id or by its number in the pictures. The result
// tells of the design; the inspection is nil when the design cannot be read.
func Inspect(q Request, part string) (*Result, *Inspection, error) {
	r, w, err := plan(q)
	if err != nil || !r.Readable {
		return r, nil, err
	}
	p, err := findPart(r.Plan.Parts, part)
	if err != nil {
		return r, nil, err
	}
	m, report, err := meshOne(p, w.solid)
	if err != nil {
		return r, nil, err
	}
	if report.MaxErrorMM > ToleranceMM*(1+errorSlack) {
		r.Remarks = append(r.Remarks, fmt.Sprintf("the mesh lies up to %.2f mm off the true surface in places", report.MaxErrorMM))
	}
	in := &Inspection{
		ID: p.ID, Number: p.Number, Kind: p.Kind, Name: wording.PartName(units.System(r.Plan.Design.Units), p), MassKG: p.MassKG,
		Volume: mesh.Volume(m), Area: mesh.Area(m), Faces: len(m.Triangles), Within: wall.AccuracyMM, Units: units.System(r.Plan.Design.Units),
	}
	size := mesh.Bounds(m).Size()
	in.SizeMM = [3]float64{size.X, size.Y, size.Z}
	for _, o := range r.Plan.Parts {
		if o.Solid == p.Solid {
			in.Count++
		}
	}
	in.Dims = dimensions(p)
	s, err := w.solid(p)
	if err != nil {
		return r, nil, err
	}
	if t, ok := wall.Thinnest(s, m); ok {
		in.WallMM, in.WallAt = &t.MM, &[3]float64{t.At.X, t.At.Y, t.At.Z}
	}
	return r, in, in.files(r.Plan.Design, p, m)
}

// files makes the mesh and the picture.
func (in *Inspection) files(h assembly.Header, p assembly.Part, m *mesh.Mesh) error {
	name := shapeName(p)
	var solid, drawing bytes.Buffer
	if err := stl.Write(&solid, m); err != nil {
		return fmt.Errorf("writing %s: %w", name, err)
	}
	pic, err := picture.Sides(h, p, m, fmt.Sprintf("%d  %s", p.Number, in.Name))
	if err != nil {
		return err
	}
	if err := pic.WritePNG(&drawing); err != nil {
		return err
	}
	in.Files = []File{{name + ".stl", SolidsGroup, solid.Bytes()}, {name + ".png", PicturesGroup, drawing.Bytes()}}
	return nil
}

// findPart takes an id, or a number that names one solid.
func findPart(parts []assembly.Part, name string) (assembly.Part, error) {
	number, err := strconv.Atoi(name)
	var alike []assembly.Part
	for _, p := range parts {
		if p.Solid == "" {
			continue
		}
		if p.ID == name {
			return p, nil
		}
		if err == nil && p.Number == number && !slices.ContainsFunc(alike, func(q assembly.Part) bool { return q.Solid == p.Solid }) {
			alike = append(alike, p)
		}
	}
	switch len(alike) {
	case 1:
		return alike[0], nil
	case 0:
		if halves := halvesOf(parts, name); len(halves) > 0 {
			return assembly.Part{}, fmt.Errorf("%w %q alone: it is in two pieces, %s; name one of them", ErrNoPart, name, someIDs(halves))
		}
		return assembly.Part{}, fmt.Errorf("%w %q; parts are named by their number or id: %s", ErrNoPart, name, someIDs(parts))
	}
	return assembly.Part{}, fmt.Errorf("%w %q alone: the number stands for %s", ErrNoPart, name, someIDs(alike))
}

// halvesOf are the two halves of the union of that name, which is one thing to buy and two bodies to build with.
func halvesOf(parts []assembly.Part, name string) []assembly.Part {
	var out []assembly.Part
	for _, p := range parts {
		if p.ID == name+".a" || p.ID == name+".b" {
			out = append(out, p)
		}
	}
	return out
}

// mostIDs bounds how many ids a message lists.
const mostIDs = 12

func someIDs(parts []assembly.Part) string {
	var ids []string
	for _, p := range parts {
		if p.Solid != "" {
			ids = append(ids, p.ID)
		}
	}
	if len(ids) > mostIDs {
		ids = append(ids[:mostIDs], "...")
	}
	return strings.Join(ids, ", ")
}

// dimensions lists what a part is made from by name; for wood, its boxes and holes are the dimensions.
func dimensions(p assembly.Part) []Dimension {
	out := []Dimension{}
	for name, f := range p.Dims {
		base, _, _ := strings.Cut(name, ".")
		given := slices.Contains(p.Override, name) || slices.Contains(p.Override, base)
		out = append(out, Dimension{name, f.MM, f.Source, f.Grade, given})
	}
	slices.SortFunc(out, func(a, b Dimension) int { return strings.Compare(a.Name, b.Name) })
	return out
}
