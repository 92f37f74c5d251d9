package sequence

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// withoutNut cuts off what reaches over the seat of a union's half b: until it is tightened, the nut is pushed back.
func withoutNut(p *assembly.Part, o assembly.Outline) assembly.Outline {
	if p.Half != "b" {
		return o
	}
	var out assembly.Outline
	for _, t := range o.Tubes {
		if t.Dir.Z < 0 {
			t.At, t.Dir = t.At.Add(t.Dir.Mul(t.Length)), t.Dir.Neg()
		}
		if over := -t.At.Z; over > 0 && t.Dir.Z > 1-parallelTolerance {
			t.At.Z, t.Length = 0, t.Length-over
		}
		if t.Length > 0 {
			out.Tubes = append(out.Tubes, t)
		}
	}
	for _, b := range o.Boxes {
		b = b.Intersect(geom.Box{Min: geom.V(math.Inf(-1), math.Inf(-1), 0), Max: geom.V(math.Inf(1), math.Inf(1), math.Inf(1))})
		if !b.IsEmpty() {
			out.Boxes = append(out.Boxes, b)
		}
	}
	return out
}
