package picture

import (
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/lettering"
)

// Threads are suggested by a few thin lines round the ends of pipes and inside mouths, where these are seen: once the
// joint is made they lie inside the fitting and are not. Their number is what fits the sheet, not that of the turns;
// they lean the way the thread runs. The meshes drawn have none, for a thread is finer than the lines of a drawing.

const (
	// threadPitchMM is the least space between two lines of a thread on the sheet, and leastThreadLines how many there
	// must be room for: at smaller scales a thread would be a smudge.
	threadPitchMM    = 0.42
	leastThreadLines = 2
	// leastThreadMM is the least diameter on the sheet.
	leastThreadMM = 1.2
	// mostThreadLines keeps a large part from being hatched all over.
	mostThreadLines = 8
	// threadArcs is how many stretches a line has for each half turn, and threadSlackMM how far it may lie under the
	// surface that is drawn: the difference between crest and root, and what a tapered end is thinner.
	threadArcs    = 20
	threadSlackMM = 1.2
	// threadFacing is the least cosine between a surface and the line of sight where a line is drawn, so that it ends
	// before the outline.
	threadFacing = 0.12
)

// threads draws those of all parts.
func (sh *sheet) threads() {
	for i, p := range sh.stage.parts {
		if i >= len(sh.scene.Instances) {
			return
		}
		ink := thinInk
		if sh.step != nil && i+1 < len(sh.step.pale) && sh.step.pale[i+1] {
			ink = faintInk
		}
		for _, q := range p.Ports {
			if t, ok := threadOn(p, q); ok {
				sh.thread(i+1, t, ink)
			}
		}
	}
}

// thread is one end of a part as drawn lines need it, in the part frame.
type thread struct {
	at, out  geom.Vec // of the end: its middle, and out of the part
	radius   float64
	lengthMM float64
	pitchMM  float64
	inside   bool // in a mouth
	left     bool // left-hand
}

// threadOn returns the thread at a port, false where there is none.
func threadOn(p assembly.Part, q assembly.Port) (thread, bool) {
	pitch, ok := p.Dims[standard.DimPitch+"."+q.Name]
	grip, okGrip := p.Dims[standard.DimEngagement+"."+q.Name]
	if !ok || !okGrip || pitch.MM <= 0 || grip.MM <= 0 {
		return thread{}, false
	}
	t := thread{at: p.Pose.Local(q.At), out: p.Pose.Unrotate(q.Out), lengthMM: grip.MM, pitchMM: pitch.MM, left: p.LeftEnd == q.Name}
	if p.Kind == standard.Pipe {
		t.radius = p.Dims[standard.DimOD].MM / 2
	} else {
		t.inside, t.radius = true, p.Dims[standard.DimPitchDia+"."+q.Name].MM/2
	}
	return t, t.radius > 0
}

// thread draws the lines of one end, where it is seen.
func (sh *sheet) thread(id int, t thread, ink render.Colour) {
	in := sh.scene.Instances[id-1]
	mmPerMM := sh.view.PixelMM * PixelsPerMM
	out := in.Pose.Rotate(t.out)
	along := sh.view.Foreshortening(out)
	if 2*t.radius/mmPerMM < leastThreadMM || t.lengthMM*along/mmPerMM < leastThreadLines*threadPitchMM {
		return
	}
	n := min(mostThreadLines, int(t.lengthMM*along/mmPerMM/threadPitchMM), int(t.lengthMM/t.pitchMM))
	step := t.lengthMM / float64(n)
	at := in.Pose.Apply(t.at)
	// Round the axis from the side that faces the eye.
	x := sh.view.Back.Sub(out.Mul(sh.view.Back.Dot(out)))
	if x.Len() < 1e-6 {
		return
	}
	x = x.Unit()
	if t.inside {
		x = x.Neg()
	}
	y := out.Cross(x)
	lean := step / (2 * math.Pi)
	if t.left {
		lean = -lean
	}
	for k := range n {
		down := (float64(k) + 0.5) * step
		var line []lettering.Point
		for a := -threadArcs; a <= threadArcs; a++ {
			angle := float64(a) / threadArcs * math.Pi / 2
			s, c := math.Sincos(angle)
			r := x.Mul(c).Add(y.Mul(s))
			v := at.Add(r.Mul(t.radius)).Sub(out.Mul(down - lean*angle))
			p, depth := sh.sheetPoint(v)
			if math.Abs(r.Dot(sh.view.Back)) > threadFacing && sh.onPart(id, p, depth) {
				line = append(line, p)
				continue
			}
			sh.hairline(line, ink)
			line = nil
		}
		sh.hairline(line, ink)
	}
}

// onPart tells whether a point of a part, as far as given, is seen on it.
func (sh *sheet) onPart(id int, p point, depth float64) bool {
	i, ok := sh.buffer(p)
	return ok && sh.buffers.ID(i) == id && math.Abs(depth-float64(sh.buffers.Depth[i])) <= threadSlackMM+2*sh.buffers.PixelMM
}

// hairline draws a thin line through points, in the picture and among its vectors.
func (sh *sheet) hairline(points []lettering.Point, ink render.Colour) {
	if len(points) < 3 {
		return
	}
	width := sh.pens().CreaseMM
	sh.hair = append(sh.hair, VectorLine{Points: points, WidthMM: width, Colour: ink})
	over := sh.over
	over.fills = nil
	over.fill(ribbon(points, width), ink)
}

// ribbon is the outline of a line of a width through points.
func ribbon(points []lettering.Point, widthMM float64) lettering.Outline {
	n := len(points)
	around := make([]point, 2*n)
	for i, p := range points {
		a, b := points[max(0, i-1)], points[min(n-1, i+1)]
		dx, dy := b.X-a.X, b.Y-a.Y
		l := max(math.Hypot(dx, dy), 1e-9)
		ox, oy := -dy/l*widthMM/2, dx/l*widthMM/2
		around[i], around[2*n-1-i] = pt(p.X+ox, p.Y+oy), pt(p.X-ox, p.Y-oy)
	}
	return polygon(around...)
}
