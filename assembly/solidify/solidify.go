// Package solidify makes the shapes of parts from their dimensions.
//
// [Solid] returns the exact solid of a part in its part frame, as signed distance: for turned parts what
// [standard.SolidOf] describes, so that masses, meshes and collision checks are of one and the same body; for boards,
// cleats and the room their boxes, bored. [Outline] returns a coarser shape of tubes and boxes for planning. [Key]
// tells which parts have the same solid.
//
// [Threaded] returns the same part with its helical threads cut, for files to print and hold.
//
// In [Solid] threads are plain cones at the pitch diameter: a pipe end and a socket touch when screwed together by hand and
// overlap, all along, by (engagement - L1) / 32 on the radius when made up. Whoever checks for collisions allows that
// much there.
package solidify

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// beyondMM is how far a hole in a board is bored past its faces, so that no skin of zero thickness is left.
const beyondMM = 1.0

// isBoxes tells whether a part of this kind is described by its boxes and not by dimensions.
func isBoxes(k standard.Kind) bool {
	return k == standard.Board || k == standard.Cleat || k == standard.Room
}

// Solid returns the solid of a part in its part frame. The result is an sdf.Leafed. It fails when a dimension is
// missing or makes no body.
func Solid(p assembly.Part) (sdf.Solid, error) {
	s, err := solid(p)
	if err != nil {
		return nil, fmt.Errorf("solid of %s: %w", p.ID, err)
	}
	return s, nil
}

func solid(p assembly.Part) (sdf.Leafed, error) {
	if isBoxes(p.Kind) {
		return bored(p.Boxes, p.Holes)
	}
	shape, err := standard.SolidOf(p.Kind, p.Half, p.Dims)
	if err != nil {
		return nil, err
	}
	return body(shape)
}

// bored returns boxes less holes.
func bored(boxes []geom.Box, holes []assembly.Hole) (sdf.Leafed, error) {
	wood := sdf.Boxes(boxes...)
	if wood.Bounds().IsEmpty() {
		return nil, errors.New("its boxes have no volume")
	}
	var tools []sdf.Solid
	for _, h := range holes {
		t := drill(wood.Bounds(), h)
		if t.Bounds().IsEmpty() {
			return nil, fmt.Errorf("no hole of diameter %g along %v", h.Diameter, h.Dir)
		}
		tools = append(tools, t)
	}
	return sdf.Cut(wood, tools...), nil
}

// drill is what a hole takes away: from before its start to its depth, or right through all that is there.
func drill(all geom.Box, h assembly.Hole) sdf.Leafed {
	from, to := holeSpan(all, h)
	dir := h.Dir.Unit()
	return sdf.Cylinder(h.At.Add(dir.Mul(from)), dir, to-from, h.Diameter/2)
}

// holeSpan returns where along its direction a hole begins and ends, as distances from its At: a pocket begins before
// the face that At lies on, a through hole reaches past both ends of the box.
func holeSpan(all geom.Box, h assembly.Hole) (from, to float64) {
	if h.Depth > 0 {
		return -beyondMM, h.Depth
	}
	dir := h.Dir.Unit()
	from, to = math.Inf(1), math.Inf(-1)
	for _, c := range all.Corners() {
		s := c.Sub(h.At).Dot(dir)
		from, to = min(from, s), max(to, s)
	}
	return from - beyondMM, to + beyondMM
}

// keyDigits is how finely dimensions are told apart by Key: 1e-6 mm, far below any difference that can be made and
// far above rounding.
const keyDigits = 6

// Key returns a text that is equal for parts whose solids are equal in their part frames, to within rounding. It
// begins with the kind.
func Key(p assembly.Part) string {
	text := ""
	if isBoxes(p.Kind) {
		for _, b := range p.Boxes {
			text += "box" + numbers(b.Min.X, b.Min.Y, b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z)
		}
		for _, h := range p.Holes {
			text += "hole" + numbers(h.At.X, h.At.Y, h.At.Z, h.Dir.X, h.Dir.Y, h.Dir.Z, h.Diameter, h.Depth)
		}
	} else {
		shape, err := standard.SolidOf(p.Kind, p.Half, p.Dims)
		if err != nil { // no solid: alike to itself only
			return fmt.Sprintf("%s-none-%s", p.Kind, p.ID)
		}
		text = p.LeftEnd // the hand of its threads, for solids that have them
		text += solidText(shape)
	}
	return fmt.Sprintf("%s-%x", p.Kind, sha256.Sum256([]byte(text)))
}

func numbers(xs ...float64) string {
	text := ""
	for _, x := range xs {
		s := fmt.Sprintf(" %.*f", keyDigits, x)
		if s == fmt.Sprintf(" %.*f", keyDigits, math.Copysign(0, -1)) {
			s = fmt.Sprintf(" %.*f", keyDigits, 0.0)
		}
		text += s
	}
	return text + "\n"
}

func solidText(s standard.Solid) string {
	text := ""
	for _, a := range s.Add {
		text += "add" + primitiveText(a)
	}
	for _, c := range s.Cut {
		text += "cut" + primitiveText(c)
	}
	for _, l := range s.Loose {
		text += "loose" + solidText(l)
	}
	return text
}

func primitiveText(p standard.Primitive) string {
	text := fmt.Sprintf(" %s %d %q", p.Form, p.Flats, p.Thread)
	for _, v := range [][3]float64{p.At, p.Dir, p.Side, p.Half} {
		text += numbers(v[:]...)
	}
	for _, s := range p.Profile {
		text += numbers(s.S, s.R)
	}
	for _, r := range p.Rods {
		text += numbers(r.Dir[0], r.Dir[1], r.Dir[2], r.Length, r.Radius)
	}
	return text + numbers(p.Fillet) + numbers(p.Radius, p.BendRadius, p.TurnDeg, p.Lead, p.Trail, p.Across, p.Length)
}
