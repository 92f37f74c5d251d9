package sequence

import (
	"fmt"
	"slices"

	"turnwise/assembly"
	"turnwise/geom"
)

// wayInSource is the rule behind findings of the way in.
const wayInSource = "a box passes an opening lengthwise when its two shorter sides fit into it, squarely or slanted (a rectangle in a rectangle; J. E. Wetzel, Mathematics Magazine 73, 2000, from memory)"

// fitsThrough tells whether a box passes an opening of w x h in some direction, square to it, and how much is missing, in mm,
// when it is held squarely.
//
// A rectangle p x q, p >= q, fits into a x b, a >= b, when p <= a and q <= b, or slanted when q <= b and
// ((a+b)/(p+q))^2 + ((a-b)/(p-q))^2 >= 2.
func fitsThrough(size geom.Vec, w, h float64) (missing float64, ok bool) {
	sides := []float64{size.X, size.Y, size.Z}
	slices.Sort(sides)
	q, p := sides[0], sides[1]
	b, a := min(w, h), max(w, h)
	if p <= a && q <= b {
		return 0, true
	}
	if q <= b && p > q {
		x, y := (a+b)/(p+q), (a-b)/(p-q)
		if x*x+y*y >= 2 {
			return 0, true
		}
	}
	return max(p-a, q-b), false
}

// comesIn tells whether a box passes the narrowest opening on the way in. It does where none is known.
func (f *frame) comesIn(size geom.Vec) (missing float64, ok bool) {
	w, h := f.a.Room.WayInMM[0], f.a.Room.WayInMM[1]
	if w <= 0 || h <= 0 {
		return 0, true
	}
	return fitsThrough(size, w, h)
}

// tooWide tells of single parts that do not pass the way in.
func (f *frame) tooWide() []assembly.Finding {
	var out []assembly.Finding
	for i := range f.parts {
		p := &f.parts[i]
		if i == f.room {
			continue
		}
		size := shapeOf(p, f.forms[i], geom.Identity()).box.Size()
		if short, ok := f.comesIn(size); !ok {
			fd := f.wayInFinding(assembly.Stop, []int{i}, size, short)
			fd.Text = fmt.Sprintf("%s does not pass the way in: %s; %s is missing", p.ID, f.against(size), f.length(short))
			fd.Repairs = []assembly.Repair{{Text: fmt.Sprintf("make %s of two pieces, or %s narrower", p.ID, f.length(short))}}
			out = append(out, fd)
		}
	}
	return out
}

// groupsTooWide tells of groups that have to be put together behind the narrowest opening, in the order of the steps.
func (f *frame) groupsTooWide(removals []*removal) []assembly.Finding {
	var out []assembly.Finding
	for i := len(removals) - 1; i >= 0; i-- {
		r := removals[i]
		if r.screw >= 0 || len(r.bodies) < 2 {
			continue
		}
		size := f.here(r.bodies).box().Size()
		if short, ok := f.comesIn(size); !ok {
			fd := f.wayInFinding(assembly.Note, r.bodies, size, short)
			fd.Text = fmt.Sprintf("put the group of %d parts together inside the room: in one piece it does not pass the way in: %s; %s is missing. It leaves the room in pieces, too",
				len(r.bodies), f.against(size), f.length(short))
			out = append(out, fd)
		}
	}
	return out
}

// against words a size and the opening it has to pass.
func (f *frame) against(s geom.Vec) string {
	w := f.a.Room.WayInMM
	return fmt.Sprintf("it is %s x %s x %s, the opening %s x %s", f.length(s.X), f.length(s.Y), f.length(s.Z), f.length(w[0]), f.length(w[1]))
}

func (f *frame) wayInFinding(severity assembly.Severity, bodies []int, size geom.Vec, short float64) assembly.Finding {
	return assembly.Finding{
		Code: "WAY-IN", Severity: severity, Parts: f.ids(bodies), Source: wayInSource, Repairs: []assembly.Repair{},
		Values: map[string]float64{"missing_mm": short, "x_mm": size.X, "y_mm": size.Y, "z_mm": size.Z},
	}
}
