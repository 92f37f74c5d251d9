package raster

import (
	"bytes"
	"image/color"
	"math"
	"math/rand/v2"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
	"turnwise/render/rendertest"
)

const rad = math.Pi / 180

func at(id int, m *mesh.Mesh, p geom.Pose) render.Instance {
	return render.Instance{ID: id, Shape: render.NewShape(m), Pose: p}
}

func sceneOf(in ...render.Instance) render.Scene { return render.Scene{Instances: in} }

func box(x, y, z float64) *mesh.Mesh {
	h := geom.V(x/2, y/2, z/2)
	return rendertest.Box(geom.Box{Min: h.Neg(), Max: h})
}

// text draws ids as letters, . where nothing is seen.
func text(b *render.Buffers) string {
	var s strings.Builder
	for y := range b.Height {
		for x := range b.Width {
			if id := b.ID(y*b.Width + x); id > 0 {
				s.WriteByte('a' + byte(id) - 1)
			} else {
				s.WriteByte('.')
			}
		}
		s.WriteByte('\n')
	}
	return s.String()
}

// TestPicture: a tall box, a rod that passes in front of it, and a disc round its foot, from the front.
func TestPicture(t *testing.T) {
	scene := sceneOf(
		at(1, box(8, 8, 14), geom.Identity()),
		at(2, rendertest.Rod(24, 2, 26), geom.Facing(geom.V(-13, -10, 2), geom.AxisX, geom.AxisZ)),
		at(3, rendertest.Rod(24, 7, 4), geom.At(geom.V(0, 0, -8))),
	)
	view := render.View{Camera: render.LookFrom(-90*rad, 0), Width: 32, Height: 18, PixelMM: 1}
	b, err := Draw(scene, view)
	require.NoError(t, err)
	want := `
................................
................................
............aaaaaaaa............
............aaaaaaaa............
............aaaaaaaa............
...bbbbbbbbbbbbbbbbbbbbbbbbbb...
...bbbbbbbbbbbbbbbbbbbbbbbbbb...
...bbbbbbbbbbbbbbbbbbbbbbbbbb...
...bbbbbbbbbbbbbbbbbbbbbbbbbb...
............aaaaaaaa............
............aaaaaaaa............
............aaaaaaaa............
............aaaaaaaa............
.........cccccccccccccc.........
.........cccccccccccccc.........
.........cccccccccccccc.........
.........cccccccccccccc.........
................................
`
	assert.Equal(t, strings.TrimSpace(want), strings.TrimSpace(text(b)), "got\n%s", text(b))
}

// TestBall compares with the closed form of a sphere: area pi r², depth and normal at every pixel well inside.
func TestBall(t *testing.T) {
	const r = 40
	ball := at(9, sphere(192, r), geom.At(geom.V(5, 6, 7)))
	c := render.LookFrom(-37*rad, 28*rad)
	view := render.Fit(c, sceneOf(ball).Bounds(c, nil), 400, 360, render.Frame{Left: 40, Top: 20, Right: 360, Bottom: 340})
	b, err := Draw(sceneOf(ball), view)
	require.NoError(t, err)
	count := 0
	_, _, middle := c.Project(geom.V(5, 6, 7))
	for i := range b.Packed {
		if b.ID(i) == 0 {
			require.True(t, math.IsInf(float64(b.Depth[i]), 1))
			continue
		}
		count++
		x := (float64(i%b.Width) + 0.5 - 200) * view.PixelMM
		y := -(float64(i/b.Width) + 0.5 - 180) * view.PixelMM
		d := math.Hypot(x, y)
		if d > 0.9*r {
			continue
		}
		z := math.Sqrt(r*r - d*d)
		require.InDelta(t, middle-z, float64(b.Depth[i]), 0.05, "depth at %v, %v", x, y)
		require.Less(t, b.Normal(i).Angle(geom.V(x, y, z))/rad, 1.0, "normal at %v, %v", x, y)
	}
	area := float64(count) * view.PixelMM * view.PixelMM
	assert.InEpsilon(t, math.Pi*r*r, area, 0.005)
}

func sphere(sides int, r float64) *mesh.Mesh {
	var profile []rendertest.Ring
	n := sides / 2
	for i := range n + 1 {
		s, c := math.Sincos((float64(i)/float64(n) - 0.5) * math.Pi)
		profile = append(profile, rendertest.Ring{R: r * c, Z: r * s})
	}
	profile[0].R, profile[n].R = 0, 0
	return rendertest.Turned(sides, profile...)
}

// crowd is a scene whose triangles touch, overlap and share planes, to make the order of drawing matter.
func crowd() (render.Scene, render.Camera) {
	var in []render.Instance
	for i := range 12 {
		in = append(in, at(i+1, box(30, 30, 30), geom.At(geom.V(float64(i%4)*15, float64(i/4)*15, 0))))
	}
	in = append(in, at(20, rendertest.Tube(48, 8, 6, 900), geom.Facing(geom.V(-300, 0, -300), geom.V(1, 0.1, 1), geom.AxisX)))
	return sceneOf(in...), render.LookFrom(-50*rad, 30*rad)
}

func TestSameBytesOnAnyNumberOfCores(t *testing.T) {
	scene, c := crowd()
	view := render.Fit(c, scene.Bounds(c, nil), 800, 600, render.Frame{Left: 10, Top: 10, Right: 790, Bottom: 590})
	draw := func(cores int) *render.Buffers {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		b, err := Draw(scene, view)
		require.NoError(t, err)
		return b
	}
	one := draw(1)
	for range 4 {
		many := draw(4)
		require.Equal(t, one.Packed, many.Packed)
		require.Equal(t, one.Depth, many.Depth)
	}
}

// TestStripsAgreeWithTheWhole: cutting the picture into strips changes no pixel.
func TestStripsAgreeWithTheWhole(t *testing.T) {
	scene, c := crowd()
	view := render.Fit(c, scene.Bounds(c, nil), 800, 600, render.Frame{Left: 10, Top: 10, Right: 790, Bottom: 590})
	cut, err := Draw(scene, view)
	require.NoError(t, err)
	whole := &render.Buffers{Width: 800, Height: 600, Packed: make([]uint32, 480000), Depth: make([]float32, 480000)}
	shots := make([]shot, len(scene.Instances))
	for i := range shots {
		shots[i].project(&scene.Instances[i], view)
	}
	s := strip{b: whole, bottom: 600}
	s.draw(shots)
	require.Equal(t, whole.Packed, cut.Packed)
	require.Equal(t, whole.Depth, cut.Depth)
}

// TestNoGapAndNoPixelTwice: a square cut into random triangles about a point covers each of its pixels once, wherever
// its corners lie on the grid.
func TestNoGapAndNoPixelTwice(t *testing.T) {
	const size = 40
	rnd := rand.New(rand.NewPCG(5, 8))
	c := render.LookFrom(-math.Pi/2, 0)
	for range 200 {
		m := &mesh.Mesh{Vertices: []geom.Vec{{X: 18 + 4*rnd.Float64(), Z: 18 + 4*rnd.Float64()}}}
		n := 6 + rnd.IntN(9)
		for i := range n {
			s, co := math.Sincos((float64(i) + 0.8*rnd.Float64()) * 2 * math.Pi / float64(n))
			m.Vertices = append(m.Vertices, geom.V(20+14*co, 0, 20+14*s))
		}
		count := make([]int, size*size)
		for i := range n {
			one := &mesh.Mesh{Vertices: m.Vertices, Triangles: [][3]int32{{0, int32(1 + i), int32(1 + (i+1)%n)}}}
			b, err := Draw(sceneOf(at(1, one, geom.Identity())), render.View{Camera: c, Width: size, Height: size, PixelMM: 1, MidRight: 20, MidUp: 20})
			require.NoError(t, err)
			for k, p := range b.Packed {
				if p != 0 {
					count[k]++
				}
			}
		}
		for i := 1; i <= n; i++ {
			m.Triangles = append(m.Triangles, [3]int32{0, int32(i), int32(1 + i%n)})
		}
		b, err := Draw(sceneOf(at(1, m, geom.Identity())), render.View{Camera: c, Width: size, Height: size, PixelMM: 1, MidRight: 20, MidUp: 20})
		require.NoError(t, err)
		for k, p := range b.Packed {
			require.Equal(t, p != 0, count[k] == 1, "pixel %d, %d is drawn %d times", k%size, k/size, count[k])
			// All within 3 pixels of the point lies inside the figure.
			if math.Hypot(float64(k%size)+0.5-m.Vertices[0].X, size-float64(k/size)-0.5-m.Vertices[0].Z) < 3 {
				require.NotZero(t, p, "gap at %d, %d", k%size, k/size)
			}
		}
	}
}

// TestAgreesWithAnotherRasterizer draws a crowd with fauxgl too, which shares nothing with this package: all but the
// pixels that an outline runs through are the same part at the same depth.
func TestAgreesWithAnotherRasterizer(t *testing.T) {
	scene, c := crowd()
	for i := range scene.Instances { // no two faces in one plane, where either may be seen
		scene.Instances[i].Pose.Origin = scene.Instances[i].Pose.Origin.Add(geom.V(0.13, 0.29, 0.37).Mul(float64(i)))
	}
	view := render.Fit(c, scene.Bounds(c, nil), 800, 600, render.Frame{Left: 10, Top: 10, Right: 790, Bottom: 590})
	ours, err := Draw(scene, view)
	require.NoError(t, err)
	theirs := plainIDs(scene, view)
	covered, differ := 0, 0
	for i, id := range theirs {
		if id != 0 {
			covered++
		}
		if id != ours.ID(i) {
			differ++
		}
	}
	assert.Greater(t, covered, 20000)
	assert.Less(t, float64(differ)/float64(covered), 0.01, "%d of %d pixels show another part", differ, covered)
}

func TestAloneCountsTheSamePixels(t *testing.T) {
	scene, c := crowd()
	view := render.Fit(c, scene.Bounds(c, nil), 500, 400, render.Frame{Left: 10, Top: 10, Right: 490, Bottom: 390})
	for _, in := range scene.Instances {
		b, err := Draw(sceneOf(in), view)
		require.NoError(t, err)
		want := 0
		for _, p := range b.Packed {
			if p != 0 {
				want++
			}
		}
		got, err := Alone(in, view)
		require.NoError(t, err)
		assert.InDelta(t, want, got, 2, "pixels of id %d", in.ID)
	}
}

func TestBacksAreNotSeen(t *testing.T) {
	// A wall of one face, seen from its back.
	wall := &mesh.Mesh{Vertices: []geom.Vec{{}, {X: 10}, {X: 10, Z: 10}, {Z: 10}}, Triangles: [][3]int32{{0, 1, 2}, {0, 2, 3}}}
	for az, want := range map[float64]bool{-90: true, 90: false} {
		c := render.LookFrom(az*rad, 10*rad)
		scene := sceneOf(at(1, wall, geom.Identity()))
		b, err := Draw(scene, render.Fit(c, scene.Bounds(c, nil), 20, 20, render.Frame{Left: 2, Top: 2, Right: 18, Bottom: 18}))
		require.NoError(t, err)
		assert.Equal(t, want, b.ID(10*20+10) == 1, "azimuth %v", az)
	}
}

func TestDrawRefuses(t *testing.T) {
	_, err := Draw(render.Scene{}, render.View{Width: 4, Height: 4, PixelMM: 1})
	require.ErrorIs(t, err, render.ErrEmpty)
}

// TestDevelopAveragesLight: half black and half white is sRGB 188, the byte for half the light (IEC 61966-2-1).
func TestDevelopAveragesLight(t *testing.T) {
	b := &render.Buffers{Width: 2, Height: 2, PixelMM: 1, Packed: make([]uint32, 4), Depth: make([]float32, 4)}
	ink := &render.Ink{Width: 2, Height: 2, Mask: []uint8{render.InkLine, 0, 0, render.InkLine}}
	img := Develop(b, ink, Film{Paper: render.Colour{R: 255, G: 255, B: 255}}, 2)
	assert.Equal(t, color.NRGBA{R: 188, G: 188, B: 188, A: 255}, img.NRGBAAt(0, 0))
}

func TestSRGBTableInverts(t *testing.T) {
	for i := range 256 {
		assert.Equal(t, uint8(i), encode(linear[i]), "byte %d", i)
	}
}

// TestDevelopShades: a face into the light has the light tone, a face away from it the shade.
func TestDevelopShades(t *testing.T) {
	light := render.Colour{R: 200, G: 210, B: 220}
	dark := render.Colour{R: 20, G: 30, B: 40}
	film := Film{Tones: []render.Tone{{}, {Light: light, Shade: dark}}, Ground: make([]bool, 2), Light: geom.V(0, 0, 3)}
	b := &render.Buffers{Width: 2, Height: 1, PixelMM: 1, Depth: make([]float32, 2),
		Packed: []uint32{render.Pack(1, geom.AxisZ), render.Pack(1, geom.AxisZ.Neg())}}
	img := Develop(b, nil, film, 1)
	assert.Equal(t, color.NRGBA{R: 200, G: 210, B: 220, A: 255}, img.NRGBAAt(0, 0))
	assert.Equal(t, color.NRGBA{R: 20, G: 30, B: 40, A: 255}, img.NRGBAAt(1, 0))
}

// TestMouthsAreDark: looking into a tube, the ring is lighter than the bottom inside; the bottom without walls is not
// darkened.
func TestMouthsAreDark(t *testing.T) {
	tone := render.Tone{Light: render.Colour{R: 200, G: 200, B: 200}, Shade: render.Colour{R: 100, G: 100, B: 100}}
	tube := at(1, rendertest.Tube(64, 20, 12, 60), geom.Identity())
	floor := at(1, box(40, 40, 2), geom.Identity())
	tube.Tone, floor.Tone = tone, tone
	view := render.View{Camera: render.LookFrom(0, 89*rad), Width: 100, Height: 100, PixelMM: 0.5, MidUp: 0}
	level := func(in ...render.Instance) uint8 {
		b, err := Draw(sceneOf(in...), view)
		require.NoError(t, err)
		tones, ground := sceneOf(in...).Tones()
		film := Film{Tones: tones, Ground: ground, Light: geom.AxisZ, CavityPixels: 26}
		return Develop(b, nil, film, 1).NRGBAAt(50, 50).R
	}
	assert.Less(t, level(floor, tube), level(floor)-40)
}

func TestDevelopOnAnyNumberOfCores(t *testing.T) {
	scene, c := crowd()
	view := render.Fit(c, scene.Bounds(c, nil), 400, 300, render.Frame{Left: 5, Top: 5, Right: 395, Bottom: 295})
	b, err := Draw(scene, view)
	require.NoError(t, err)
	tones, ground := scene.Tones()
	film := Film{Tones: tones, Ground: ground, Light: geom.AxisZ, CavityPixels: 6}
	develop := func(cores int) []byte {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		return Develop(b, nil, film, 2).Pix
	}
	assert.True(t, bytes.Equal(develop(1), develop(3)))
}

// BenchmarkDraw draws a bay of made-up parts into the buffers of a full sheet.
func BenchmarkDraw(b *testing.B) {
	f := rendertest.Bay()
	plan := f.Plan("")
	shapes := map[*mesh.Mesh]*render.Shape{}
	var scene render.Scene
	for i, p := range plan.Parts {
		m := f.Mesh(p)
		if m == nil {
			continue
		}
		if shapes[m] == nil {
			shapes[m] = render.NewShape(m)
		}
		scene.Instances = append(scene.Instances, render.Instance{ID: i + 1, Shape: shapes[m], Pose: p.Pose})
	}
	c := render.LookFrom(-60*rad, 30*rad)
	for _, size := range [][2]int{{480, 360}, {2400, 1800}, {4800, 3600}} {
		w, h := size[0], size[1]
		b.Run("pixels="+sizeName(w), func(b *testing.B) {
			view := render.Fit(c, scene.Bounds(c, nil), w, h, render.Frame{Right: float64(w), Bottom: float64(h)})
			b.ReportAllocs()
			for b.Loop() {
				_, err := Draw(scene, view)
				require.NoError(b, err)
			}
		})
	}
}

func sizeName(w int) string {
	return map[int]string{480: "480x360", 2400: "2400x1800", 4800: "4800x3600"}[w]
}
