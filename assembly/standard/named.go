package standard

import "fmt"

// Names of dimensions that formulas may use, besides the keys of "parts".
const (
	NameOD      = "od"
	NameTakeout = "takeout"
)

// PartDim returns a named dimension of a part of one size: od and engagement of the pipe; centre-to-end, length, height,
// across and circle of a fitting that has them; takeout, what the part takes off the distance: centre to end, or height,
// less engagement; of a coupling or union its length less twice that.
func (c *Catalogue) PartDim(kind Kind, s Size, name string) (Figure, error) {
	if kind == Pipe {
		return c.pipeDim(s, name)
	}
	f, err := c.Fitting(kind, []Size{s})
	if err != nil {
		return Figure{}, err
	}
	a := f.Ports[len(f.Ports)-1] // flanges, glides and casters have their face first
	if len(f.Ports) > 1 && !f.Ports[0].Plain {
		a = f.Ports[0]
	}
	switch name {
	case string(KeyEngagement):
		if !a.Plain {
			return a.Engagement, nil
		}
	case string(KeyCentreToEnd):
		if _, ok := f.Dims[DimLength]; !ok && f.Dims[DimHeight].MM == 0 {
			return f.Dims[DimReach+".a"], nil
		}
	case string(KeyLength):
		if v, ok := f.Dims[DimLength]; ok {
			return v, nil
		}
		if v, ok := f.Dims[DimHeight]; ok && kind == Cap {
			return v, nil
		}
	case string(KeyHeight), string(KeyAcross), string(KeyCircle):
		if v, ok := f.Dims[name]; ok {
			return v, nil
		}
	case NameTakeout:
		return f.takeout(a), nil
	}
	return Figure{}, fmt.Errorf("a %s has no %s", kind, name)
}

// takeout is what the part takes off a distance.
func (f Fitting) takeout(a Port) Figure {
	length, inline := f.Dims[DimLength]
	switch {
	case f.Kind == Cap: // on a free end the point is the pipe's end
		return Figure{MM: 0, Source: "the point is the pipe's end", Grade: Computed}
	case inline && len(f.Ports) == 2:
		mm := length.MM
		for _, p := range f.Ports {
			mm -= p.Engagement.MM
		}
		return derived(mm, "length less both engagements", length, a.Engagement)
	}
	if a.Plain {
		return f.Dims[DimReach+".a"]
	}
	return derived(a.TakeoutMM(), "reach less engagement", f.Dims[DimReach+".a"], a.Engagement)
}

func (c *Catalogue) pipeDim(s Size, name string) (Figure, error) {
	switch name {
	case NameOD:
		fam, _ := c.familyOf(Pipe, []Size{s})
		row, err := PipeOf(fam, s, c.Series)
		return row.OD, err
	case string(KeyEngagement):
		e, _, err := c.Engagement(Pipe, s)
		return e, err
	}
	return Figure{}, fmt.Errorf("pipe has no %s; od or engagement", name)
}
