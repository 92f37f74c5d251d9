package sequence

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/closing"
	"turnwise/geom"
)

// sameLength is how far apart, in mm, two lengths may lie that are one length computed twice. It is far below what
// can be cut, and above the rounding of a frame.
const sameLength = 2e-4

// Number sets the Number of every part of a: equal for parts that may be swapped for one another, rising in order of
// first use in steps. Parts that no step places follow in the order of the list; the room has none. Halves of a union
// share one number.
//
// Parts may be swapped when they are of one kind, size, length, material, finish, thread and hand, with the same
// dimensions, boxes and holes. How a part is used does not matter: a flange that only stands is bought with the others.
// Mirror images of boards differ; fittings and pipes have no mirror images.
func Number(a *assembly.Assembly, steps []assembly.Step) {
	class := classes(a.Parts)
	index := map[string]int{}
	for i := range a.Parts {
		index[a.Parts[i].ID] = i
		a.Parts[i].Number = 0
	}
	number := map[int]int{}
	use := func(i int) {
		c := class[i]
		if c < 0 {
			return
		}
		if number[c] == 0 {
			number[c] = len(number) + 1
		}
	}
	for _, s := range steps {
		for _, id := range s.Moves {
			if i, ok := index[id]; ok {
				use(i)
			}
		}
		for _, r := range s.Repeats {
			for _, id := range r.Moves {
				if i, ok := index[id]; ok {
					use(i)
				}
			}
		}
	}
	for i := range a.Parts {
		use(i)
		if class[i] >= 0 {
			a.Parts[i].Number = number[class[i]]
		}
	}
}

// classes gives interchangeable parts one class: the index of the first of them; -1 for the room.
func classes(parts []assembly.Part) []int {
	snap := newSnapper(parts)
	u := closing.NewForest(len(parts))
	first := map[string]int{}
	halves := map[string]int{}
	for i := range parts {
		p := &parts[i]
		if p.Kind == roomKind {
			continue
		}
		key := likeness(p, snap)
		if k, ok := first[key]; ok {
			u.Join(k, i)
		} else {
			first[key] = i
		}
		if p.Half != "" {
			whole := strings.TrimSuffix(p.ID, "."+p.Half)
			if k, ok := halves[whole]; ok {
				u.Join(k, i)
			} else {
				halves[whole] = i
			}
		}
	}
	out := make([]int, len(parts))
	for i := range parts {
		out[i] = u.Root(i)
		if parts[i].Kind == roomKind {
			out[i] = -1
		}
	}
	return out
}

// snapper makes lengths that differ by rounding only equal.
type snapper []float64

func newSnapper(parts []assembly.Part) snapper {
	var all []float64
	for i := range parts {
		all = append(all, parts[i].LengthMM, parts[i].MassKG)
		for _, b := range parts[i].Boxes {
			all = append(all, b.Min.X, b.Min.Y, b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z)
		}
		for _, h := range parts[i].Holes {
			all = append(all, h.At.X, h.At.Y, h.At.Z, h.Diameter, h.Depth)
		}
		for _, d := range parts[i].Dims {
			all = append(all, d.MM)
		}
	}
	sort.Float64s(all)
	var s snapper
	for _, x := range all {
		if len(s) == 0 || x-s[len(s)-1] > sameLength {
			s = append(s, x)
		}
	}
	return s
}

// of returns the number of the cluster that x belongs to.
func (s snapper) of(x float64) int {
	return sort.Search(len(s), func(i int) bool { return s[i] > x }) - 1
}

func (s snapper) vec(v geom.Vec) string {
	return fmt.Sprintf("%d,%d,%d", s.of(v.X), s.of(v.Y), s.of(v.Z))
}

// likeness is all that makes a part what it is, but its name and place.
func likeness(p *assembly.Part, s snapper) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s|%v|%d|%d|%v|%s|%s|%s|%s|%s|%s", p.Kind, p.Size, s.of(p.LengthMM), s.of(p.MassKG), p.Stock,
		p.Family, p.Material, p.Finish, p.LeftEnd, p.Half, p.Running)
	names := make([]string, 0, len(p.Dims))
	for n := range p.Dims {
		names = append(names, n)
	}
	sort.Strings(names)
	for _, n := range names {
		fmt.Fprintf(&b, "|%s=%d", n, s.of(p.Dims[n].MM))
	}
	for _, box := range p.Boxes {
		b.WriteString("|" + s.vec(box.Min) + ";" + s.vec(box.Max))
	}
	for _, h := range p.Holes {
		dir := geom.V(tidy(h.Dir.X), tidy(h.Dir.Y), tidy(h.Dir.Z))
		fmt.Fprintf(&b, "|o%s %v %d %d", s.vec(h.At), dir, s.of(h.Diameter), s.of(h.Depth))
	}
	return b.String()
}

// tidy rounds a direction's coordinate, so that rounding errors make no difference.
func tidy(x float64) float64 { return math.Round(x*1e6)/1e6 + 0 }
