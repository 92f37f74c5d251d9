package geom

import "math"

// Box is an axis-parallel box, given by its least and greatest corner. The empty box is EmptyBox.
type Box struct {
	Min Vec `json:"min_mm"`
	Max Vec `json:"max_mm"`
}

// EmptyBox contains no point; growing it by points gives their bounding box.
func EmptyBox() Box {
	i := math.Inf(1)
	return Box{Vec{i, i, i}, Vec{-i, -i, -i}}
}

// BoxOf returns the bounding box of points.
func BoxOf(points ...Vec) Box {
	b := EmptyBox()
	for _, p := range points {
		b = b.Include(p)
	}
	return b
}

// Include returns the smallest box around b and p.
func (b Box) Include(p Vec) Box { return Box{b.Min.Min(p), b.Max.Max(p)} }

// Union returns the smallest box around both.
func (b Box) Union(c Box) Box { return Box{b.Min.Min(c.Min), b.Max.Max(c.Max)} }

// Intersect returns what both boxes share; it may be empty.
func (b Box) Intersect(c Box) Box { return Box{b.Min.Max(c.Min), b.Max.Min(c.Max)} }

// IsEmpty tells whether b contains no point.
func (b Box) IsEmpty() bool { return b.Min.X > b.Max.X || b.Min.Y > b.Max.Y || b.Min.Z > b.Max.Z }

// Grow moves every face outwards by d.
func (b Box) Grow(d float64) Box {
	if b.IsEmpty() {
		return b
	}
	g := Vec{d, d, d}
	return Box{b.Min.Sub(g), b.Max.Add(g)}
}

// Centre returns the middle of b.
func (b Box) Centre() Vec { return b.Min.Lerp(b.Max, 0.5) }

// Size returns the three edge lengths.
func (b Box) Size() Vec { return b.Max.Sub(b.Min) }

// Diagonal returns the length from Min to Max, 0 for an empty box.
func (b Box) Diagonal() float64 {
	if b.IsEmpty() {
		return 0
	}
	return b.Size().Len()
}

// Contains tells whether p lies in b or on its faces.
func (b Box) Contains(p Vec) bool {
	return p.X >= b.Min.X && p.X <= b.Max.X && p.Y >= b.Min.Y && p.Y <= b.Max.Y && p.Z >= b.Min.Z && p.Z <= b.Max.Z
}

// Overlaps tells whether b and c share a point.
func (b Box) Overlaps(c Box) bool { return !b.Intersect(c).IsEmpty() }

// Distance returns how far p is outside b, 0 inside.
func (b Box) Distance(p Vec) float64 {
	return p.Sub(p.Max(b.Min).Min(b.Max)).Len()
}

// Gap returns the distance between two boxes, 0 where they meet.
func (b Box) Gap(c Box) float64 {
	return b.Min.Sub(c.Max).Max(c.Min.Sub(b.Max)).Max(Vec{}).Len()
}

// Corners returns the eight corners, x changing fastest.
func (b Box) Corners() [8]Vec {
	var c [8]Vec
	for i := range c {
		c[i] = b.Min
		if i&1 != 0 {
			c[i].X = b.Max.X
		}
		if i&2 != 0 {
			c[i].Y = b.Max.Y
		}
		if i&4 != 0 {
			c[i].Z = b.Max.Z
		}
	}
	return c
}

// Volume returns the volume of b, 0 for an empty box.
func (b Box) Volume() float64 {
	if b.IsEmpty() {
		return 0
	}
	s := b.Size()
	return s.X * s.Y * s.Z
}

// Subtract returns b without c as up to six boxes that share no inner point.
func (b Box) Subtract(c Box) []Box {
	in := b.Intersect(c)
	if in.IsEmpty() || in.Volume() == 0 {
		return []Box{b}
	}
	var out []Box
	keep := func(p Box) {
		if p.Volume() > 0 {
			out = append(out, p)
		}
	}
	rest := b
	keep(Box{rest.Min, Vec{rest.Max.X, rest.Max.Y, in.Min.Z}})
	keep(Box{Vec{rest.Min.X, rest.Min.Y, in.Max.Z}, rest.Max})
	rest.Min.Z, rest.Max.Z = in.Min.Z, in.Max.Z
	keep(Box{rest.Min, Vec{rest.Max.X, in.Min.Y, rest.Max.Z}})
	keep(Box{Vec{rest.Min.X, in.Max.Y, rest.Min.Z}, rest.Max})
	rest.Min.Y, rest.Max.Y = in.Min.Y, in.Max.Y
	keep(Box{rest.Min, Vec{in.Min.X, rest.Max.Y, rest.Max.Z}})
	keep(Box{Vec{in.Max.X, rest.Min.Y, rest.Min.Z}, rest.Max})
	return out
}
