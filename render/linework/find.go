package linework

import (
	"math"

	"turnwise/render"
)

// finder tells which pairs of pixels have a line between them.
type finder struct {
	b         *render.Buffers
	o         Options
	flat      float32
	cosCrease float64
}

func newFinder(b *render.Buffers, o Options) *finder {
	return &finder{b: b, o: o, flat: float32(flatPixels * b.PixelMM), cosCrease: math.Cos(CreaseDeg * math.Pi / 180)}
}

func (f *finder) isGround(id int) bool { return id < len(f.o.Ground) && f.o.Ground[id] }

// find appends the marks of pairs whose upper or left pixel is in rows top to bottom-1.
func (f *finder) find(marks []mark, top, bottom int) []mark {
	b, w := f.b, f.b.Width
	for y := top; y < bottom; y++ {
		for x := range w {
			i := y*w + x
			if b.Packed[i] == 0 && (x+1 == w || b.Packed[i+1] == 0) && (y+1 == b.Height || b.Packed[i+w] == 0) {
				continue // paper, which is most of a picture
			}
			if x+1 < w && !f.same(i, i+1) {
				marks = f.pair(marks, i, i+1, edge{int32(y*(w+1) + x + 1), true})
			}
			if y+1 < b.Height && !f.same(i, i+w) {
				marks = f.pair(marks, i, i+w, edge{int32((y+1)*(w+1) + x), false})
			}
		}
	}
	return marks
}

// same tells quickly that there is no line between two pixels.
func (f *finder) same(i, j int) bool {
	p, q := f.b.Packed[i], f.b.Packed[j]
	if p == 0 || q == 0 {
		return p == q
	}
	const idShift = 20
	d := f.b.Depth[i] - f.b.Depth[j]
	return p>>idShift == q>>idShift && d < f.flat && d > -f.flat && render.NormalsNear(p, q)
}

// pair appends the mark between two neighbouring pixels, if they have one.
func (f *finder) pair(marks []mark, i, j int, side edge) []mark {
	if f.b.Depth[j] < f.b.Depth[i] {
		i, j = j, i
	}
	k, ok := f.classify(i, j)
	if !ok {
		return marks
	}
	halo := k == part
	k = f.weight(k, f.b.ID(i))
	m := mark{x: int32(i % f.b.Width), y: int32(i / f.b.Width), depth: f.b.Depth[i], kind: k, side: side}
	if halo {
		m.halo, m.back = f.halo(i, j), f.b.Depth[j]
	}
	return append(marks, m)
}

// weight gives the lines of a strong or pale part their own pens. A line is the nearer part's.
func (f *finder) weight(k kind, id int) kind {
	switch {
	case k == faint:
	case id < len(f.o.Strong) && f.o.Strong[id] && k != crease:
		return strong
	case id < len(f.o.Pale) && f.o.Pale[id] && k == crease:
		return paleCrease
	case id < len(f.o.Pale) && f.o.Pale[id]:
		return pale
	}
	return k
}

// classify names the pair of pixel i and the farther pixel j.
func (f *finder) classify(i, j int) (kind, bool) {
	a, c := f.b.ID(i), f.b.ID(j)
	ga, gc := a == 0 || f.isGround(a), c == 0 || f.isGround(c)
	switch {
	case a != c && ga && gc:
		return faint, true
	case a != c && (ga || gc):
		return outer, true
	case a != c:
		return part, true
	case !f.steps(i, j) && !f.creases(i, j):
		return 0, false
	case ga && !f.creases(i, j) && float64(f.b.Depth[j]-f.b.Depth[i]) < f.o.GroundStepMM:
		return 0, false
	case ga:
		return faint, true
	case f.steps(i, j):
		return self, true
	}
	return crease, true
}

// steps tells whether the depths of two pixels of one part differ by more than their slopes explain.
func (f *finder) steps(i, j int) bool {
	d := f.b.Depth[j] - f.b.Depth[i]
	if d < f.flat {
		return false
	}
	steep := float64(d) / (stepSlopes * f.b.PixelMM) // more than both slopes
	return steep > steepest || steep > f.slope(i) && steep > f.slope(j)
}

// slope returns how much the depth grows per pixel of way, at most steepest.
func (f *finder) slope(i int) float64 { return min(steepest, render.Slope(f.b.Packed[i])) }

func (f *finder) creases(i, j int) bool {
	return !render.NormalsNear(f.b.Packed[i], f.b.Packed[j]) && f.b.Normal(i).Dot(f.b.Normal(j)) < f.cosCrease
}

// halo returns the radius of the halo, in pixels, that the part at i holds clear of the part at j; 0 for none.
func (f *finder) halo(i, j int) float32 {
	step := float64(f.b.Depth[j] - f.b.Depth[i])
	if step < f.o.HaloStepMM || f.o.HaloStepMM <= 0 {
		return 0
	}
	a, c := f.b.ID(i), f.b.ID(j)
	if f.o.Joined != nil && f.o.Joined(min(a, c), max(a, c)) {
		return 0
	}
	grown := math.Log2(step/f.o.HaloStepMM) / haloOctaves
	return float32(min(1, grown) * f.o.Pens.HaloMM * f.o.PixelsPer)
}
