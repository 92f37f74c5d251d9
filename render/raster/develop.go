package raster

import (
	"image"
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"turnwise/geom"
	"turnwise/render"
)

// Film is what buffers are developed with.
type Film struct {
	Tones  []render.Tone // by id
	Ground []bool        // by id: floor and walls
	Paper  render.Colour
	// Inks are the colours of the lines, indexed by the Ink values; InkHalo's is the paper's.
	Inks [render.InkLine + 1]render.Colour
	// Light points from the scene to the light, in the camera's frame: right, up, towards the eye.
	Light geom.Vec
	// CavityPixels is the radius, in buffer pixels, within which a surface that lies deeper than its surroundings is
	// darkened, as the inside of an open mouth is; 0 for none.
	CavityPixels int
}

// Develop shades the buffers, lays the ink over them and brings n x n buffer pixels to one of the image. Averaging is
// done on linear light, so thin dark lines keep their weight.
func Develop(b *render.Buffers, ink *render.Ink, film Film, n int) *image.NRGBA {
	w, h := b.Width/n, b.Height/n
	img := image.NewNRGBA(image.Rect(0, 0, w, h))
	film.Light = film.Light.Unit()
	inks := film.inks()
	rows(h, func(y int) {
		last := &lit{}
		line := img.Pix[img.PixOffset(0, y):][:4*w]
		for x := range w {
			p := line[4*x : 4*x+4 : 4*x+4]
			p[3] = 255
			if isBlank(b, ink, x*n, y*n, n) {
				p[0], p[1], p[2] = film.Paper.R, film.Paper.G, film.Paper.B
				continue
			}
			if n == 1 {
				c := film.colour(b, ink, x, y, last)
				p[0], p[1], p[2] = c.R, c.G, c.B
				continue
			}
			var sum light
			for sy := y * n; sy < y*n+n; sy++ {
				for sx := x * n; sx < x*n+n; sx++ {
					l := film.exposed(b, ink, &inks, sx, sy, last)
					sum[0], sum[1], sum[2] = sum[0]+l[0], sum[1]+l[1], sum[2]+l[2]
				}
			}
			for k := range 3 {
				p[k] = encode(sum[k] / float32(n*n))
			}
		}
	})
	return img
}

// isBlank tells whether n x n pixels of the buffers from x, y on are all paper.
func isBlank(b *render.Buffers, ink *render.Ink, x, y, n int) bool {
	for sy := y; sy < y+n; sy++ {
		at := sy*b.Width + x
		for i := at; i < at+n; i++ {
			if b.Packed[i] != 0 || ink != nil && ink.Mask[i] > render.InkHalo {
				return false
			}
		}
	}
	return true
}

// light is red, green and blue on a linear scale.
type light [3]float32

func lightOf(c render.Colour) light { return light{linear[c.R], linear[c.G], linear[c.B]} }

// inks gives the light of the inks; a halo is the paper's.
func (f *Film) inks() (out [render.InkLine + 1]light) {
	for k, c := range f.Inks {
		out[k] = lightOf(c)
	}
	out[render.InkHalo] = lightOf(f.Paper)
	return out
}

// exposed is the light of one pixel of the buffers. Lines, which are most of what is not paper, are looked up.
func (f *Film) exposed(b *render.Buffers, ink *render.Ink, inks *[render.InkLine + 1]light, x, y int, last *lit) light {
	if ink != nil {
		if m := ink.Mask[y*b.Width+x]; m != render.InkNone {
			return inks[m]
		}
	}
	return lightOf(f.colour(b, nil, x, y, last))
}

// colour is that of one pixel of the buffers.
func (f *Film) colour(b *render.Buffers, ink *render.Ink, x, y int, last *lit) render.Colour {
	i := y*b.Width + x
	if ink != nil && ink.Mask[i] > render.InkHalo {
		return f.Inks[ink.Mask[i]]
	}
	if b.Packed[i] == 0 || ink != nil && ink.Mask[i] == render.InkHalo {
		return f.Paper
	}
	return f.fill(b, x, y, last)
}

// rows calls do for rows 0 to h-1, on all cores.
func rows(h int, do func(y int)) {
	const block = 16 // rows taken at a time
	var next atomic.Int32
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for {
				y := int(next.Add(block)) - block
				if y >= h {
					return
				}
				for k := y; k < min(y+block, h); k++ {
					do(k)
				}
			}
		}()
	}
	wg.Wait()
}

// lit is the shade of the pixel that was filled last. Its neighbour on a flat face has the same.
type lit struct {
	packed uint32
	shade  render.Colour
}

// fill returns the shaded colour of a pixel on which something is seen.
func (f *Film) fill(b *render.Buffers, x, y int, last *lit) render.Colour {
	i := y*b.Width + x
	id := b.ID(i)
	if id >= len(f.Tones) {
		return f.Paper
	}
	if p := b.Packed[i]; p != last.packed {
		*last = lit{p, shade(f.Tones[id], b.Normal(i).Dot(f.Light))}
	}
	c := last.shade
	if f.CavityPixels > 0 && !f.Ground[id] {
		if d := f.cavity(b, x, y); d > 0 {
			c = c.Lerp(render.Colour{}, cavityMost*d)
		}
	}
	return c
}

// shade mixes the tone for a cosine to the light of -1 to 1. Half of the way is left for faces turned away, so that
// these do not melt into one flat patch.
func shade(t render.Tone, cosine float64) render.Colour {
	return t.Shade.Lerp(t.Light, (cosine+1)/2)
}

// cavityMost is how dark the deepest cavity gets. It stays below the lines.
const cavityMost = 0.5

// cavity returns 0 to 1: how much the pixel lies behind what surrounds it on opposite sides. Both sides must be nearer,
// so the far pipe of a crossing is not darkened by the near one, but the inside of a mouth by its rim is.
func (f *Film) cavity(b *render.Buffers, x, y int) float64 {
	r := f.CavityPixels
	if x < r || y < r || x >= b.Width-r || y >= b.Height-r {
		return 0
	}
	here := b.Depth[y*b.Width+x]
	full := float32(float64(r) * b.PixelMM) // as deep as the radius is wide
	var sum float32
	diagonal := r * 7 / 10
	for _, o := range [4]int{r, r * b.Width, diagonal * (b.Width + 1), diagonal * (b.Width - 1)} {
		i := y*b.Width + x
		behind := min(here-b.Depth[i+o], here-b.Depth[i-o])
		sum += max(0, min(behind, full))
	}
	return float64(sum / (4 * full))
}

// linear turns an sRGB byte into light, 0 to 1.
var linear = func() (t [256]float32) {
	for i := range t {
		t[i] = float32(toLinear(float64(i) / 255))
	}
	return t
}()

// toLinear is the transfer function of IEC 61966-2-1 (sRGB).
func toLinear(s float64) float64 {
	if s <= 0.04045 {
		return s / 12.92
	}
	return math.Pow((s+0.055)/1.055, 2.4)
}

// encode is the inverse of linear, by a table of 4,096 steps whose error is below one byte value.
func encode(l float32) uint8 { return encoded[int(min(max(l, 0), 1)*float32(len(encoded)-1)+0.5)] }

var encoded = func() (t [4096]uint8) {
	for i := range t {
		l := float64(i) / float64(len(t)-1)
		s := l * 12.92
		if l > 0.0031308 {
			s = 1.055*math.Pow(l, 1/2.4) - 0.055
		}
		t[i] = uint8(math.Round(s * 255))
	}
	return t
}()
