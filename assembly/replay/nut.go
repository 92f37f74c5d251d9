package replay

import (
	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Names of a union's dimensions, as the parts of a plan carry them: how far the nut reaches past the seat, over half a,
// and back over half b.
const (
	dimNutOver = "nut-over"
	dimNutBack = "nut-back"
)

// nutBack is half b of a union with its nut drawn back. The nut is loose until the union is closed: a builder slides it
// back along half b until its front is level with the seat, brings the seats together, and only then draws it forward
// over half a, where the part's own solid has it. With the nut in front no ring of rigid pipe could be closed at all.
//
// Seats lie at z = 0 and half a on the side of negative z, so what b has there is nut and nothing else. It is taken
// away, and b's own front is put again that much further back, as far as the nut then reaches.
//
// The last result is false for other parts, and where the plan does not carry the nut's dimensions: then the nut
// counts where it is drawn.
func nutBack(p *assembly.Part, s sdf.Solid) (open sdf.Solid, box geom.Box, ok bool) {
	over, back := p.Dims[dimNutOver].MM, p.Dims[dimNutBack].MM
	if p.Half != "b" || over <= 0 || back <= 0 {
		return nil, box, false
	}
	box = s.Bounds()
	box.Min.Z, box.Max.Z = 0, max(box.Max.Z, over+back)
	seat := sdf.HalfSpace(geom.Vec{}, geom.AxisZ.Neg())
	behind := sdf.HalfSpace(geom.V(0, 0, over+back), geom.AxisZ)
	drawn := sdf.Move(s, geom.At(geom.V(0, 0, over)))
	return sdf.Join(sdf.Common(s, seat), sdf.Common(drawn, seat, behind)), box, true
}

// isOpen tells whether b is half of a union that is not closed yet.
func (b *body) isOpen() bool {
	for _, j := range b.joints {
		if j.Kind == assembly.UnionNut && !j.closed {
			return true
		}
	}
	return false
}

// shape is a body's solid and its box at this moment of the work.
func (b *body) shape() (sdf.Solid, geom.Box) {
	if b.open != nil && b.isOpen() {
		return b.open, b.openBox
	}
	return b.solid, b.box
}
