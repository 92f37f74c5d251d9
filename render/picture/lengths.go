package picture

import (
	"math"

	"turnwise/assembly/units"
	"turnwise/render/lettering"
)

const (
	// lengthMM is the height of the length written beside a break, lengthClearMM the space around it, and lengthRows how
	// many places to either side along the pipe are tried, lengthStepMM apart.
	lengthMM      = 1.9
	lengthClearMM = 0.8
	lengthRows    = 5
	lengthStepMM  = 1.5
)

// label is a rectangle on the sheet that is written in.
type label struct{ x0, y0, x1, y1 float64 }

func (l label) holds(p point) bool { return p.X >= l.x0 && p.X <= l.x1 && p.Y >= l.y0 && p.Y <= l.y1 }

// lengths writes the length of broken pipes beside their breaks: of each number once, where there is room. The key has
// it too. Of pipes with one number the one that the balloon points at comes first.
func (sh *sheet) lengths() {
	var taken []label
	done := map[int]bool{}
	write := func(id int) {
		if id < 1 || id > len(sh.stage.parts) {
			return
		}
		p := sh.stage.parts[id-1]
		if done[p.Number] || !sh.isCut(p.ID) {
			return
		}
		u := units.System(sh.stage.plan.Design.Units)
		text := u.Nearest(units.Length(p.LengthMM))
		if l, ok := sh.lengthPlace(id, text, taken); ok {
			sh.over.centred(lettering.Regular, text, lengthMM, (l.x0+l.x1)/2, (l.y0+l.y1)/2, markInk)
			taken, done[p.Number] = append(taken, l), true
		}
	}
	for _, b := range sh.marked {
		write(b.End.ID)
	}
	for i := range sh.stage.parts {
		write(i + 1)
	}
}

// isCut tells whether a part is half of a broken pipe.
func (sh *sheet) isCut(id string) bool {
	p := sh.stage.parts[sh.stage.id[id]-1]
	return len(p.Ports) == 2 && p.Ports[1].Name == cutPort
}

// lengthPlace finds room for a text beside the break of a half pipe: on either side, at the break or a little along.
func (sh *sheet) lengthPlace(id int, text string, taken []label) (label, bool) {
	in, p := sh.scene.Instances[id-1], sh.stage.parts[id-1]
	at := in.Pose.Apply(p.Pose.Local(p.Ports[1].At)) // where the half is drawn
	end := in.Pose.Apply(p.Pose.Local(p.Ports[0].At))
	a, _ := sh.sheetPoint(at)
	b, _ := sh.sheetPoint(end)
	l := math.Hypot(b.X-a.X, b.Y-a.Y)
	if l == 0 {
		return label{}, false
	}
	ux, uy := (b.X-a.X)/l, (b.Y-a.Y)/l
	w, h := lettering.Regular.Width(text, lengthMM)/2+lengthClearMM/2, lengthMM/2+lengthClearMM/2
	radius := in.Shape.Box.Size().X / 2 / (sh.view.PixelMM * PixelsPerMM)
	off := radius + lengthClearMM/2 + math.Abs(uy)*w + math.Abs(ux)*h
	for row := range 2*lengthRows + 1 {
		t := float64((row+1)/2) * lengthStepMM
		if row%2 == 1 {
			t = -t
		}
		for _, side := range [2]float64{1, -1} {
			x, y := a.X+ux*t-uy*off*side, a.Y+uy*t+ux*off*side
			l := label{x - w, y - h, x + w, y + h}
			if sh.isBlank(l, taken) {
				return l, true
			}
		}
	}
	return label{}, false
}

// isBlank tells whether nothing is drawn in a rectangle: no part, guide, leader, balloon, key or other length.
func (sh *sheet) isBlank(l label, taken []label) bool {
	const stepMM = 0.25
	x0, y0, x1, y1 := sh.drawn()
	if l.x0 < x0-clearMM || l.y0 < y0-clearMM || l.x1 > x1+clearMM || l.y1 > y1+clearMM {
		return false
	}
	for y := l.y0; y <= l.y1; y += stepMM {
		for x := l.x0; x <= l.x1; x += stepMM {
			if i, ok := sh.buffer(pt(x, y)); !ok || sh.buffers.ID(i) != 0 {
				return false
			}
		}
	}
	for _, g := range sh.lines {
		a, _ := sh.sheetPoint(g.From)
		b, _ := sh.sheetPoint(g.To)
		if crosses(l, a, b) {
			return false
		}
	}
	for _, b := range sh.marked {
		if crosses(l, b.Start, b.End.At) || crosses(label{l.x0 - sh.radius, l.y0 - sh.radius, l.x1 + sh.radius, l.y1 + sh.radius}, b.Centre, b.Centre) {
			return false
		}
	}
	for _, o := range taken {
		if l.x0 < o.x1 && o.x0 < l.x1 && l.y0 < o.y1 && o.y0 < l.y1 {
			return false
		}
	}
	return true
}

// crosses tells whether a line comes into a rectangle.
func crosses(l label, a, b point) bool {
	const stepMM = 0.2
	n := int(math.Hypot(b.X-a.X, b.Y-a.Y)/stepMM) + 1
	for i := range n + 1 {
		t := float64(i) / float64(n)
		if l.holds(pt(a.X+(b.X-a.X)*t, a.Y+(b.Y-a.Y)*t)) {
			return true
		}
	}
	return false
}
