// Package linework finds the lines of a technical drawing in plain buffers: what is seen at each pixel, how it is
// turned and how far it is. Image gradients play no part, so shading never makes or hides a line.
//
// Where two neighbouring pixels differ, the pair is one of these:
//
//	outer    a part against the paper, floor or wall
//	part     one part against another
//	self     one part against itself further back: the depth steps more than both slopes explain
//	crease   a sharp edge on one part: the normals are more than CreaseDeg apart
//	faint    anything on floor and walls
//
// The line is drawn around the nearer pixel of the pair, never over what is nearer still. Where a part passes well in
// front of another that it is not joined to, a halo keeps the lines and the fill of the farther one away from it. The
// halo grows with the logarithm of the depth between them, so far things stand back further. The thought is that of
// "Illustrative rendering of dense line data using depth-dependent halos", IEEE TVCG 2009; the way is our own.
//
// Lines have hard edges here and are twice as fine as the picture; bringing the picture down to size smooths them.
package linework

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"turnwise/render"
)

// Pens are the widths of lines in millimetres on the sheet.
type Pens struct {
	OuterMM, PartMM, SelfMM, CreaseMM, FaintMM float64
	HaloMM                                     float64 // the widest halo
	// StrongMM is for the outlines of parts that a picture is about, PaleMM for those of parts that only stand there;
	// 0 where a picture makes no difference.
	StrongMM, PaleMM float64
}

// Scale is the one scale of widths: those of ISO 128 (0.13, 0.18, 0.25, 0.35, from memory of the standard), wide to
// narrow about 2 to 1. The halo is two wide lines.
var Scale = Pens{OuterMM: 0.35, PartMM: 0.25, SelfMM: 0.25, CreaseMM: 0.13, FaintMM: 0.13, HaloMM: 0.8}

// Fine is the same scale one size down, for drawings in which a pipe is hardly wider than the lines of Scale.
var Fine = Pens{OuterMM: 0.25, PartMM: 0.18, SelfMM: 0.18, CreaseMM: 0.13, FaintMM: 0.13, HaloMM: 0.45}

// Step is the scale of pictures that set new parts off against old ones, StepFine the same one size down. What is new
// is drawn two sizes wider than what stands there.
var (
	Step     = Pens{OuterMM: 0.35, PartMM: 0.25, SelfMM: 0.25, CreaseMM: 0.13, FaintMM: 0.13, HaloMM: 0.8, StrongMM: 0.5, PaleMM: 0.18}
	StepFine = Pens{OuterMM: 0.25, PartMM: 0.18, SelfMM: 0.18, CreaseMM: 0.13, FaintMM: 0.13, HaloMM: 0.45, StrongMM: 0.35, PaleMM: 0.13}
)

// widths are those of the kinds of lines.
func (p Pens) widths() [kinds]float64 {
	return [kinds]float64{p.OuterMM, p.PartMM, p.SelfMM, p.CreaseMM, p.FaintMM, p.StrongMM, p.PaleMM, p.CreaseMM}
}

// CreaseDeg is the angle between neighbouring normals from which an edge is drawn. Round meshes turn by less than 15
// degrees from face to face and are smoothed besides; chamfers of 45 degrees are meant to show.
const CreaseDeg = 35

const (
	// stepSlopes is how many times the steeper slope of two pixels their depths must differ by to be a step. One is
	// exact for a plane; curved sides that turn away need more.
	stepSlopes = 3
	// steepest is the tangent from which a surface counts as seen edge-on.
	steepest = 8
	// flatPixels is a depth difference, in pixels, that is no step on any surface and needs no closer look.
	flatPixels = 2
	// haloOctaves is over how many doublings of the depth between two parts the halo grows to its full width. It grows
	// from nothing, so that a step about as large as the least one does not make it flicker.
	haloOctaves = 1.5
	// block is how many rows a goroutine takes at a time.
	block = 64
)

// Options say how lines are drawn.
type Options struct {
	Pens       Pens
	PixelsPer  float64 // pixels of the buffers per millimetre on the sheet
	Ground     []bool  // by id: floor and walls
	HaloStepMM float64 // scene millimetres one part must lie behind another for a halo
	// GroundStepMM is the step in depth, in scene millimetres, that shows on floor and walls. Leaning ones are made of
	// many flat pieces.
	GroundStepMM float64
	Strong, Pale []bool // by id: parts drawn with the strong and the pale pen; nil for none
	// Joined tells whether two parts touch, so that no halo goes between them. It may be nil. Ids come smaller first.
	Joined func(a, b int) bool
}

type kind uint8

const (
	outer kind = iota
	part
	self
	crease
	faint
	strong     // the outlines of a strong part
	pale       // those of a pale one
	paleCrease // its creases
	kinds
)

var inkOf = [kinds]uint8{render.InkLine, render.InkLine, render.InkLine, render.InkThin, render.InkFaint, render.InkLine, render.InkThin, render.InkFaint}

// mark is a pixel that a line runs through.
type mark struct {
	x, y  int32
	depth float32 // of the line
	kind  kind
	halo  float32 // radius in pixels, 0 for none
	back  float32 // with a halo: the depth of what lies behind
	side  edge    // of the pixel, that the line runs along
}

// Trace finds the lines of the buffers. Rows are shared out among the cores; what is drawn where lines meet does not
// depend on their order, so the result is the same bytes on any number of cores.
func Trace(b *render.Buffers, o Options) *render.Ink {
	ink, _ := traced(b, o, false)
	return ink
}

// Lines is Trace, with the same lines as strokes.
func Lines(b *render.Buffers, o Options) (*render.Ink, []Stroke) {
	ink, marks := traced(b, o, true)
	return ink, strokes(b, o, ink, marks)
}

// traced draws the lines and, if they are kept, returns their marks, row by row.
func traced(b *render.Buffers, o Options, keep bool) (*render.Ink, [][]mark) {
	ink := &render.Ink{Width: b.Width, Height: b.Height, Mask: make([]uint8, b.Width*b.Height)}
	kept := make([][]mark, (b.Height+block-1)/block)
	var next atomic.Int32
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			t := newTracer(b, o, ink)
			for {
				top := int(next.Add(block)) - block
				if top >= b.Height {
					return
				}
				own := t.trace(top, min(top+block, b.Height))
				if keep {
					kept[top/block] = append([]mark(nil), own...)
				}
			}
		}()
	}
	wg.Wait()
	return ink, kept
}

// tracer draws one block of rows at a time.
type tracer struct {
	*finder
	ink         *render.Ink
	radius      [kinds]float64
	reach       int // rows above and below a block whose marks may touch it
	top, bottom int
	halo        []float32 // per pixel of the block: depth of the nearest thing that holds its surroundings clear
	stained     bool      // there are halos in halo
	marks       []mark
}

func newTracer(b *render.Buffers, o Options, ink *render.Ink) *tracer {
	t := &tracer{finder: newFinder(b, o), ink: ink, halo: make([]float32, block*b.Width), stained: true}
	p := o.Pens
	widest := p.HaloMM * o.PixelsPer
	for k, w := range p.widths() {
		t.radius[k] = w * o.PixelsPer / 2
		widest = max(widest, t.radius[k])
	}
	t.reach = int(widest) + 1
	return t
}

// trace draws a block of rows and returns the marks of its own, until the next block is drawn.
func (t *tracer) trace(top, bottom int) []mark {
	t.top, t.bottom = top, bottom
	t.marks = t.find(t.marks[:0], max(0, top-t.reach), top)
	first := len(t.marks)
	t.marks = t.find(t.marks, top, bottom)
	last := len(t.marks)
	t.marks = t.find(t.marks, bottom, min(t.b.Height, bottom+t.reach))
	if t.stained {
		for i := range t.halo {
			t.halo[i] = float32(math.Inf(1))
		}
		t.stained = false
	}
	for i := range t.marks {
		if m := &t.marks[i]; m.halo > 0 {
			t.stained = true
			t.clear(m)
		}
	}
	if t.stained {
		t.blank()
	}
	for i := range t.marks {
		t.draw(&t.marks[i])
	}
	return t.marks[first:last]
}

// disc calls do for each run of pixels of a disc within the block: row, first and last column.
func (t *tracer) disc(m *mark, radius float64, do func(y, x0, x1 int)) {
	r := int(radius)
	for dy := -r; dy <= r; dy++ {
		y := int(m.y) + dy
		if y < t.top || y >= t.bottom {
			continue
		}
		half := int(math.Sqrt(radius*radius - float64(dy*dy)))
		do(y, max(0, int(m.x)-half), min(t.b.Width-1, int(m.x)+half))
	}
}

// clear notes the halo of m on what lies behind it. Half of the way back belongs to the part in front: its own sides
// curve away a little.
func (t *tracer) clear(m *mark) {
	behind := (m.depth + m.back) / 2
	t.disc(m, float64(m.halo), func(y, x0, x1 int) {
		for x := x0; x <= x1; x++ {
			if t.b.Depth[y*t.b.Width+x] > behind {
				h := &t.halo[(y-t.top)*t.b.Width+x]
				*h = min(*h, behind)
			}
		}
	})
}

// blank leaves the fill of parts within a halo out. Floor and walls are pale enough to run on.
func (t *tracer) blank() {
	for y := t.top; y < t.bottom; y++ {
		for x := range t.b.Width {
			i := y*t.b.Width + x
			if t.b.Depth[i] <= t.halo[(y-t.top)*t.b.Width+x] {
				continue
			}
			if id := t.b.ID(i); id != 0 && !t.isGround(id) {
				t.ink.Mask[i] = render.InkHalo
			}
		}
	}
}

// draw puts a disc of ink around m, sparing halos of nearer things and parts that are nearer than the line.
func (t *tracer) draw(m *mark) {
	w := t.b.Width
	own := t.b.ID(int(m.y)*w + int(m.x))
	nearest := m.depth - float32(flatPixels*t.b.PixelMM)
	v := inkOf[m.kind]
	t.disc(m, t.radius[m.kind], func(y, x0, x1 int) {
		for x := x0; x <= x1; x++ {
			i := y*w + x
			if m.depth > t.halo[(y-t.top)*w+x] || t.b.Depth[i] < nearest && t.b.ID(i) != own {
				continue
			}
			if t.ink.Mask[i] < v {
				t.ink.Mask[i] = v
			}
		}
	})
}
