package picture

import (
	"errors"
	"math"

	"turnwise/render"
	"turnwise/render/linework"
	"turnwise/render/raster"
)

// Outlines of parts that other parts hide are drawn in dashes, as ISO 128 draws hidden edges (from memory of the
// standard: a dashed narrow line).
const (
	hiddenMM    = 0.18
	dashMM      = 1.2
	dashGapMM   = 0.6
	surveyShare = 0.5  // and that below which it may be, counted on a small picture
	hiddenShare = 0.35 // visible fraction below which a part counts as hidden
)

// dashHidden draws the outlines of hidden parts where something stands before them. The survey of the view tells which
// parts may be.
func (sh *sheet) dashHidden(v survey) error {
	visible := make([]int, len(sh.stage.parts)+2)
	for i := range sh.buffers.Packed {
		visible[sh.buffers.ID(i)]++
	}
	fine := sh.view.Finer(super)
	n := len(sh.stage.parts)
	lines, errs := make([][]VectorLine, n), make([]error, n)
	parallel(n, func(i int) {
		if v.fraction(i+1) < surveyShare {
			lines[i], errs[i] = sh.outlineOf(sh.scene.Instances[i], visible[i+1], fine)
		}
	})
	if err := errors.Join(errs...); err != nil {
		return err
	}
	for i, ls := range lines {
		for _, l := range ls {
			sh.dashes(l, i+1)
		}
	}
	return nil
}

// outlineOf returns the outer lines of a part that is hidden, on the sheet; none for one that is seen.
func (sh *sheet) outlineOf(in render.Instance, visible int, fine render.View) ([]VectorLine, error) {
	w, left, top, ok := raster.Window(in, fine)
	if !ok {
		return nil, nil
	}
	const room = 2 // pixels round it, so that the outline is whole
	w.Width, w.Height = w.Width+2*room, w.Height+2*room
	b, err := raster.Draw(render.Scene{Instances: []render.Instance{in}}, w)
	if err != nil {
		return nil, err
	}
	alone := 0
	for _, p := range b.Packed {
		if p != 0 {
			alone++
		}
	}
	if alone == 0 || float64(visible) >= hiddenShare*float64(alone) {
		return nil, nil
	}
	o := linework.Options{Pens: linework.Fine, PixelsPer: PixelsPerMM * super}
	_, strokes := linework.Lines(b, o)
	out := vectorLines(strokes, PixelsPerMM*super)
	kept := out[:0]
	for _, l := range out {
		if l.Colour != lineInk {
			continue // only outlines: creases in dashes are a thicket
		}
		for k := range l.Points {
			l.Points[k].X += float64(left-room) / (PixelsPerMM * super)
			l.Points[k].Y += float64(top-room) / (PixelsPerMM * super)
		}
		kept = append(kept, l)
	}
	return kept, nil
}

// dashes draws a line in dashes where the part it belongs to is not seen.
func (sh *sheet) dashes(l VectorLine, id int) {
	const stepMM = 0.2 // a divisor of the dash and the gap
	at := 0.0
	for i := 1; i < len(l.Points); i++ {
		a, b := l.Points[i-1], l.Points[i]
		long := math.Hypot(b.X-a.X, b.Y-a.Y)
		n := int(long/stepMM) + 1
		for k := range n {
			t, u := float64(k)/float64(n), float64(k+1)/float64(n)
			p, q := pt(a.X+(b.X-a.X)*t, a.Y+(b.Y-a.Y)*t), pt(a.X+(b.X-a.X)*u, a.Y+(b.Y-a.Y)*u)
			mid := pt((p.X+q.X)/2, (p.Y+q.Y)/2)
			if math.Mod(at+long*(t+u)/2, dashMM+dashGapMM) < dashMM && sh.isCovered(mid, id) {
				sh.over.line(p, q, hiddenMM, thinInk)
			}
		}
		at += long
	}
}

// isCovered tells whether another part is seen at a place.
func (sh *sheet) isCovered(p point, id int) bool {
	i, ok := sh.buffer(p)
	if !ok {
		return false
	}
	k := sh.buffers.ID(i)
	return k != 0 && k != id && k <= len(sh.stage.parts)
}
