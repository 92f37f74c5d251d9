package mend

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// sides names what is cut off a board at the low and the high end of an axis of the design.
var sides = [2][2]string{{"its left", "its right"}, {"its back", "its front"}}

// trim makes a board smaller that reaches into flanges on walls, so that it ends before all of them.
func (d *drawing) trim(f assembly.Finding) []assembly.Repair {
	var board *assembly.Part
	flange := false
	for _, id := range f.Parts {
		p := d.parts[id]
		if p == nil {
			return nil
		}
		flange = flange || p.Kind == standard.Flange
		if p.Kind == standard.Board {
			board = p
		}
	}
	if board == nil || !flange {
		return nil
	}
	src, turned := d.board(board.ID)
	hull := drawnHull(board)
	if src == nil || hull.IsEmpty() {
		return nil
	}
	cuts := d.cutsFor(hull)
	return d.trimmed(board.ID, src, turned, hull, cuts)
}

// cutsFor is how far a box has to end earlier, at the low and the high end of x and y, to clear every flange on a wall.
func (d *drawing) cutsFor(hull geom.Box) [2][2]float64 {
	var cuts [2][2]float64
	for i := range d.a.Parts {
		box, axis, sign, ok := wallFlange(&d.a.Parts[i])
		if !ok || box.Intersect(hull).IsEmpty() {
			continue
		}
		if sign < 0 { // its face looks to the low side, where the wall is
			cuts[axis][0] = max(cuts[axis][0], coordinate(box.Max, axis)-coordinate(hull.Min, axis))
		} else {
			cuts[axis][1] = max(cuts[axis][1], coordinate(hull.Max, axis)-coordinate(box.Min, axis))
		}
	}
	return cuts
}

// trimmed writes the cuts into the size and the low corner of a board. A mirrored copy has its ends the other way round.
func (d *drawing) trimmed(id string, src *design.Board, turned [3]bool, hull geom.Box, cuts [2][2]float64) []assembly.Repair {
	var r assembly.Repair
	var words []string
	for axis := range cuts {
		low, high := d.up(cuts[axis][0]), d.up(cuts[axis][1])
		if low+high <= 0 {
			continue
		}
		if 2*(low+high) > coordinate(hull.Size(), axis) || src.Size[axis] == nil || src.Low[axis].Expr == nil {
			return nil // less than half of it would be left, or its corner is not drawn
		}
		for end, cut := range []float64{low, high} {
			if cut > 0 {
				words = append(words, fmt.Sprintf("%s off %s", d.length(cut), sides[axis][end]))
			}
		}
		r.Splices = append(r.Splices, d.grown(src.Size[axis].Text, src.Size[axis].At, -low-high))
		if turned[axis] {
			low = high
		}
		if low > 0 {
			r.Splices = append(r.Splices, d.grown(src.Low[axis].Expr.Text, src.Low[axis].Expr.At, low))
		}
	}
	if len(words) == 0 {
		return nil
	}
	r.Text = fmt.Sprintf("make %s smaller, so that it ends before the flanges: %s", id, strings.Join(words, ", "))
	return []assembly.Repair{r}
}

// drawnHull is the box round a part of boxes, in the axes of the design.
func drawnHull(p *assembly.Part) geom.Box {
	hull := geom.EmptyBox()
	for _, b := range p.Boxes {
		b = p.Pose.Box(b)
		hull = hull.Include(drawn(b.Min)).Include(drawn(b.Max))
	}
	return hull
}

// wallFlange is the box round a flange that sits upright, in the axes of the design, with the way its face looks.
func wallFlange(p *assembly.Part) (box geom.Box, axis int, sign float64, ok bool) {
	if p.Kind != standard.Flange {
		return
	}
	for _, q := range p.Ports {
		if q.Name != "face" {
			continue
		}
		axis, sign, ok = alongAxis(drawn(q.Out))
		if !ok || axis > 1 {
			return box, axis, sign, false
		}
		at, out := drawn(q.At), drawn(q.Out)
		r := p.Dims.MM(standard.DimAcross, "") / 2
		wide := geom.V(1, 1, 1).Sub(geom.V(math.Abs(out.X), math.Abs(out.Y), math.Abs(out.Z))).Mul(r)
		end := at.Sub(out.Mul(p.Dims.MM(standard.DimHeight, "")))
		box = geom.EmptyBox().Include(at.Add(wide)).Include(at.Sub(wide)).Include(end.Add(wide)).Include(end.Sub(wide))
		return box, axis, sign, true
	}
	return
}
