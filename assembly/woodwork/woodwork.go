// Package woodwork works out what has to be cut from a board: holes where pipes pass through it, notches where they
// pass at an edge, and pockets where something round stands up into it.
//
// Everything is in one frame whose axes are the board's edges, in millimetres.
package woodwork

import (
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// Figures of the trade: common practice, no source.
const (
	// HoleAllowance is how much wider than the pipe a hole is bored: builders take 1/16 to 1/8 in.
	HoleAllowance = 25.4 / 8
	// PocketAllowance is how much deeper, and wider on each side, than the part a pocket is cut.
	PocketAllowance = 25.4 / 32
	// LeastBridge is the narrowest strip of wood that stands between a hole and an edge: anything narrower splits
	// off, so the hole is opened to the edge.
	LeastBridge = 25.4 / 4
)

// Touch is how deep a part may stand in a board and still count as lying on it: the agreement of a design, 1/64 in.
const Touch = 25.4 / 64

// Bar is a straight round part near a board: a pipe, or the collar of a fitting, with flat ends at A and B.
type Bar struct {
	A, B   geom.Vec
	Radius float64
}

// Meeting is how a bar meets a board.
type Meeting int

// The ways to meet.
const (
	Clear   Meeting = iota // outside, or only touching
	Through                // right through two opposite faces: a hole or a notch
	Dents                  // stands in it from one face: a pocket
	Within                 // ends inside, or runs along inside: cannot be made as drawn
)

// Carved is what is left of a board, and what was cut.
type Carved struct {
	Boxes []geom.Box      // the material, but for Holes
	Holes []assembly.Hole // round: right through (Depth 0), or pockets
	Met   []Meeting       // one for each bar
	Deep  []float64       // for each bar that dents: the depth of its pocket
}

// Carve cuts the bars out of a board. The faces that a bar may pass through or dent are those across the board's
// thinnest side; a bar that enters through an edge is Within.
func Carve(board geom.Box, bars []Bar) Carved {
	c := Carved{Boxes: []geom.Box{board}, Met: make([]Meeting, len(bars)), Deep: make([]float64, len(bars))}
	k := thin(board)
	for i, bar := range bars {
		c.Met[i] = meet(board, bar, k)
		switch c.Met[i] {
		case Through:
			c.bore(board, bar, k)
		case Dents:
			c.Deep[i] = c.pocket(board, bar, k)
		}
	}
	return c
}

// Volume returns the volume of the material in cubic millimetres. A round hole or notch is counted by its exact area
// where it lies wholly in the wood, or cuts one straight edge at its middle; pockets by what they take.
func (c Carved) Volume() float64 {
	v := 0.0
	for _, b := range c.Boxes {
		v += b.Volume()
	}
	for _, h := range c.Holes {
		v -= c.holeVolume(h)
	}
	return v
}

// ringSteps and spokeSteps divide a hole's disc for the sum in holeVolume. The disc meets at most straight edges, so
// a few hundred points give its wooden share to well under a thousandth of a board's volume.
const ringSteps, spokeSteps = 12, 48

func (c Carved) holeVolume(h assembly.Hole) float64 {
	u := h.Dir.Across()
	v := h.Dir.Cross(u)
	r := h.Diameter / 2
	inside := 0
	length := h.Depth
	for i := 0; i < ringSteps; i++ {
		rad := r * math.Sqrt((float64(i)+0.5)/ringSteps) // equal areas
		for j := 0; j < spokeSteps; j++ {
			s, co := math.Sincos(2 * math.Pi * (float64(j) + 0.5) / spokeSteps)
			p := h.At.Add(u.Mul(rad * co)).Add(v.Mul(rad * s))
			for _, b := range c.Boxes {
				mid := p.Add(h.Dir.Mul(middle(b, h)))
				if b.Contains(mid) {
					inside++
					if h.Depth == 0 {
						length = b.Size().Dot(abs(h.Dir))
					}
					break
				}
			}
		}
	}
	return math.Pi * r * r * float64(inside) / (ringSteps * spokeSteps) * length
}

// middle is how far along the hole from its start its middle inside b lies.
func middle(b geom.Box, h assembly.Hole) float64 {
	if h.Depth > 0 {
		return h.Depth / 2
	}
	return b.Centre().Sub(h.At).Dot(h.Dir)
}

func abs(v geom.Vec) geom.Vec { return geom.V(math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z)) }

func get(v geom.Vec, k int) float64 { return [3]float64{v.X, v.Y, v.Z}[k] }

func set(v *geom.Vec, k int, x float64) { *[3]*float64{&v.X, &v.Y, &v.Z}[k] = x }

// thin returns the axis of the least side.
func thin(b geom.Box) int {
	k := 0
	for i := 1; i < 3; i++ {
		if get(b.Size(), i) < get(b.Size(), k) {
			k = i
		}
	}
	return k
}

// squareCos is the cosine of 3 degrees: a pipe this near to square goes through a round hole with HoleAllowance in
// boards up to 60 mm thick.
var squareCos = math.Cos(3 * math.Pi / 180)

func meet(board geom.Box, bar Bar, k int) Meeting {
	box := barBox(bar)
	for i := 0; i < 3; i++ {
		in := math.Min(get(board.Max, i), get(box.Max, i)) - math.Max(get(board.Min, i), get(box.Min, i))
		if in <= Touch {
			return Clear
		}
	}
	dir := bar.B.Sub(bar.A).Unit()
	if math.Abs(get(dir, k)) >= squareCos {
		under := get(box.Min, k) - get(board.Min, k)
		over := get(board.Max, k) - get(box.Max, k)
		switch {
		case under <= Touch && over <= Touch:
			return Through
		case under <= Touch || over <= Touch:
			return Dents
		}
		return Within
	}
	// Lying along the board: it dents a face when its axis is outside that face or its lower half is.
	mid := get(bar.A.Lerp(bar.B, 0.5), k)
	if mid <= get(board.Min, k) || mid >= get(board.Max, k) {
		return Dents
	}
	return Within
}

// barBox is the exact bounding box of a cylinder with flat ends.
func barBox(bar Bar) geom.Box {
	d := bar.B.Sub(bar.A).Unit()
	half := geom.V(math.Sqrt(math.Max(0, 1-d.X*d.X)), math.Sqrt(math.Max(0, 1-d.Y*d.Y)), math.Sqrt(math.Max(0, 1-d.Z*d.Z))).Mul(bar.Radius)
	b := geom.BoxOf(bar.A, bar.B)
	return geom.Box{Min: b.Min.Sub(half), Max: b.Max.Add(half)}
}

// bore makes a hole, and opens it to every edge that is nearer than LeastBridge.
func (c *Carved) bore(board geom.Box, bar Bar, k int) {
	dir := bar.B.Sub(bar.A).Unit()
	if get(dir, k) < 0 {
		dir = dir.Neg()
	}
	at := bar.A.Add(dir.Mul((get(board.Min, k) - get(bar.A, k)) / get(dir, k)))
	r := bar.Radius + HoleAllowance/2
	c.Holes = append(c.Holes, assembly.Hole{At: at, Dir: dir, Diameter: 2 * r})
	for i := 0; i < 3; i++ {
		if i == k {
			continue
		}
		slot := geom.Box{Min: at.Sub(geom.V(r, r, r)), Max: at.Add(geom.V(r, r, r))}
		set(&slot.Min, k, get(board.Min, k))
		set(&slot.Max, k, get(board.Max, k))
		if get(at, i)-r-get(board.Min, i) < LeastBridge {
			low := slot
			set(&low.Min, i, get(board.Min, i))
			set(&low.Max, i, get(at, i))
			c.cut(low)
		}
		if get(board.Max, i)-get(at, i)-r < LeastBridge {
			high := slot
			set(&high.Min, i, get(at, i))
			set(&high.Max, i, get(board.Max, i))
			c.cut(high)
		}
	}
}

// pocket cuts the room for a bar that stands in one face and returns its depth.
func (c *Carved) pocket(board geom.Box, bar Bar, k int) float64 {
	box := barBox(bar)
	fromBelow := get(box.Min, k)+get(box.Max, k) < get(board.Min, k)+get(board.Max, k)
	depth := get(board.Max, k) - get(box.Min, k) + PocketAllowance
	if fromBelow {
		depth = get(box.Max, k) - get(board.Min, k) + PocketAllowance
	}
	if math.Abs(get(bar.B.Sub(bar.A).Unit(), k)) >= squareCos {
		at, dir := bar.A.Lerp(bar.B, 0.5), geom.Vec{}
		set(&dir, k, 1)
		set(&at, k, get(board.Min, k))
		if !fromBelow {
			set(&dir, k, -1)
			set(&at, k, get(board.Max, k))
		}
		c.Holes = append(c.Holes, assembly.Hole{At: at, Dir: dir, Diameter: 2*bar.Radius + 2*PocketAllowance, Depth: depth})
		return depth
	}
	cut := box.Grow(PocketAllowance)
	if fromBelow {
		set(&cut.Min, k, get(board.Min, k))
		set(&cut.Max, k, get(board.Min, k)+depth)
	} else {
		set(&cut.Max, k, get(board.Max, k))
		set(&cut.Min, k, get(board.Max, k)-depth)
	}
	c.cut(cut)
	return depth
}

func (c *Carved) cut(box geom.Box) {
	var out []geom.Box
	for _, b := range c.Boxes {
		out = append(out, b.Subtract(box)...)
	}
	c.Boxes = out
}
