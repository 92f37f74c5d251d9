package linework_test

import (
	"math"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
	"turnwise/render/linework"
	"turnwise/render/raster"
	"turnwise/render/rendertest"
)

const rad = math.Pi / 180

func at(id int, m *mesh.Mesh, p geom.Pose) render.Instance {
	return render.Instance{ID: id, Shape: render.NewShape(m), Pose: p}
}

func centred(x, y, z float64) *mesh.Mesh {
	h := geom.V(x/2, y/2, z/2)
	return rendertest.Box(geom.Box{Min: h.Neg(), Max: h})
}

// pens draw lines of one pixel when there is one pixel to the millimetre.
var pens = linework.Pens{OuterMM: 1, PartMM: 1, SelfMM: 1, CreaseMM: 1, FaintMM: 1, HaloMM: 3}

func trace(t *testing.T, view render.View, o linework.Options, in ...render.Instance) (*render.Buffers, *render.Ink) {
	t.Helper()
	b, err := raster.Draw(render.Scene{Instances: in}, view)
	require.NoError(t, err)
	o.Pens, o.PixelsPer = pens, 1
	return b, linework.Trace(b, o)
}

// text draws outlines as #, creases as +, faint lines as -, halos as a blank, fill as . and paper as :
func text(b *render.Buffers, ink *render.Ink) string {
	var s strings.Builder
	s.WriteByte('\n')
	for y := range ink.Height {
		for x := range ink.Width {
			i := y*ink.Width + x
			c := " -+#"[max(0, int(ink.Mask[i])-1)]
			if ink.Mask[i] == render.InkNone {
				c = ':'
				if b.ID(i) != 0 {
					c = '.'
				}
			}
			s.WriteByte(c)
		}
		s.WriteByte('\n')
	}
	return s.String()
}

// TestCube: a cube seen over a corner shows nine edges, three of them creases, and nothing else.
func TestCube(t *testing.T) {
	c := render.LookFrom(-30*rad, 30*rad)
	cube := at(1, centred(100, 100, 100), geom.Identity())
	scene := render.Scene{Instances: []render.Instance{cube}}

	small := render.Fit(c, scene.Bounds(c, nil), 32, 34, render.Frame{Left: 2, Top: 2, Right: 30, Bottom: 32})
	b, ink := trace(t, small, linework.Options{}, cube)
	assert.Equal(t, cubeText, text(b, ink))

	view := render.Fit(c, scene.Bounds(c, nil), 400, 400, render.Frame{Left: 20, Top: 20, Right: 380, Bottom: 380})
	b, ink = trace(t, view, linework.Options{}, cube)
	edges, near := visibleEdges(cube, view)
	require.Len(t, edges, 9)
	for _, e := range edges {
		for i := range 101 {
			p := e[0].Lerp(e[1], float64(i)/100)
			require.True(t, inked(ink, p.X, p.Y, 1.5), "no line at %.1f, %.1f on the edge %v", p.X, p.Y, e)
		}
	}
	creases := 0
	for i, m := range ink.Mask {
		x, y := float64(i%400)+0.5, float64(i/400)+0.5
		if m != render.InkNone {
			require.Less(t, near(x, y), 2.0, "a line at %v, %v where the cube has no edge", x, y)
		}
		if m == render.InkThin {
			creases++
		}
	}
	assert.Greater(t, creases, 300, "the three inner edges are creases")
	_ = b
}

// visibleEdges returns the edges of a cube with at least one face towards the camera, in pixels, and the distance of
// a pixel from the nearest of them.
func visibleEdges(cube render.Instance, view render.View) (edges [][2]geom.Vec, near func(x, y float64) float64) {
	corners := cube.Shape.Box.Corners()
	for i := range corners {
		for _, bit := range []int{1, 2, 4} {
			j := i | bit
			if j == i {
				continue
			}
			seen := false
			for _, other := range []int{1, 2, 4} {
				n := [...]geom.Vec{1: geom.AxisX, 2: geom.AxisY, 4: geom.AxisZ}[other]
				if i&other == 0 {
					n = n.Neg()
				}
				seen = seen || other != bit && n.Dot(view.Back) > 0
			}
			if seen {
				ax, ay, _ := view.Pixel(corners[i])
				bx, by, _ := view.Pixel(corners[j])
				edges = append(edges, [2]geom.Vec{{X: ax, Y: ay}, {X: bx, Y: by}})
			}
		}
	}
	return edges, func(x, y float64) float64 {
		least := math.Inf(1)
		for _, e := range edges {
			d := e[1].Sub(e[0])
			t := max(0, min(1, geom.V(x, y, 0).Sub(e[0]).Dot(d)/d.Dot(d)))
			least = min(least, geom.V(x, y, 0).Sub(e[0].Add(d.Mul(t))).Len())
		}
		return least
	}
}

func inked(ink *render.Ink, x, y, r float64) bool {
	for j := int(y - r); j <= int(y+r); j++ {
		for i := int(x - r); i <= int(x+r); i++ {
			if i >= 0 && j >= 0 && i < ink.Width && j < ink.Height && ink.Mask[j*ink.Width+i] >= render.InkThin {
				return true
			}
		}
	}
	return false
}

// crossing is an upright rod and one that lies across before it, 40 nearer to a camera at -y.
func crossing() []render.Instance {
	return []render.Instance{
		at(1, rendertest.Rod(48, 5, 40), geom.At(geom.V(0, 0, -20))),
		at(2, rendertest.Rod(48, 4, 28), geom.Facing(geom.V(-14, -40, 0), geom.AxisX, geom.AxisZ)),
	}
}

// TestCrossingRods: the lines and the fill of the rod behind keep away from the one in front, on both sides of it.
func TestCrossingRods(t *testing.T) {
	view := render.View{Camera: render.LookFrom(-90*rad, 0), Width: 32, Height: 32, PixelMM: 1}
	b, ink := trace(t, view, linework.Options{HaloStepMM: 5}, crossing()...)
	assert.Equal(t, crossingText, text(b, ink))

	joined := linework.Options{HaloStepMM: 5, Joined: func(a, b int) bool { return a == 1 && b == 2 }}
	_, ink = trace(t, view, joined, crossing()...)
	assert.NotContains(t, ink.Mask, render.InkHalo, "parts that touch have no halo between them")
	_, ink = trace(t, view, linework.Options{HaloStepMM: 200}, crossing()...)
	assert.NotContains(t, ink.Mask, render.InkHalo, "nor have those that are near")
	_, ink = trace(t, view, linework.Options{HaloStepMM: 5, Ground: []bool{false, true}}, crossing()...)
	assert.NotContains(t, ink.Mask, render.InkHalo, "nor floor and walls")
}

// TestHaloGapsAtEveryCrossing: at each of the eight places where an outline of a grid's far rods meets one of its
// near rods, the far outline stops at least a line's width short.
func TestHaloGapsAtEveryCrossing(t *testing.T) {
	far1 := at(1, rendertest.Rod(48, 10, 240), geom.At(geom.V(-50, 0, -120)))
	far2 := at(2, rendertest.Rod(48, 10, 240), geom.At(geom.V(50, 0, -120)))
	near := at(3, rendertest.Rod(48, 10, 240), geom.Facing(geom.V(-120, -60, 0), geom.AxisX, geom.AxisZ))
	view := render.View{Camera: render.LookFrom(-90*rad, 0), Width: 260, Height: 260, PixelMM: 1}
	_, ink := trace(t, view, linework.Options{HaloStepMM: 15}, far1, far2, near)
	gaps := 0
	for _, x := range []int{130 - 60, 130 - 41, 130 + 40, 130 + 59} { // columns of the far outlines
		for dir, start := range map[int]int{-1: 119, 1: 140} { // the near rod takes rows 120 to 139
			gap := 0
			for y := start; ink.Mask[y*260+x] < render.InkFaint; y += dir {
				gap++
				require.Less(t, gap, 20, "the far outline at column %d never comes back", x)
			}
			assert.GreaterOrEqual(t, gap, 1, "column %d, side %d", x, dir)
			gaps++
		}
	}
	assert.Equal(t, 8, gaps)
}

// TestRoundSidesHaveNoLines: the side of a rod has no line between its outlines, however coarse its mesh.
func TestRoundSidesHaveNoLines(t *testing.T) {
	for _, sides := range []int{24, 64} {
		view := render.View{Camera: render.LookFrom(-73*rad, 25*rad), Width: 200, Height: 200, PixelMM: 0.5}
		_, ink := trace(t, view, linework.Options{}, at(1, rendertest.Rod(sides, 20, 200), geom.At(geom.V(0, 0, -100))))
		for y := range 200 {
			for x := 100 - 32; x < 100+32; x++ {
				require.Equal(t, render.InkNone, ink.Mask[y*200+x], "a line on the side at %d, %d", x, y)
			}
		}
	}
}

// TestSlantedPlaneHasNoSteps: a plane seen nearly edge-on steps by several pixels' depth from pixel to pixel, and has
// no line on it.
func TestSlantedPlaneHasNoSteps(t *testing.T) {
	view := render.View{Camera: render.LookFrom(-90*rad, 9*rad), Width: 120, Height: 60, PixelMM: 1}
	b, ink := trace(t, view, linework.Options{}, at(1, centred(300, 400, 10), geom.Identity()))
	n := 0
	for y := 5; y < 28; y++ {
		for x := range 120 {
			if b.ID(y*120+x) == 1 && b.ID((y-4)*120+x) == 1 && b.ID((y+4)*120+x) == 1 {
				n++
				require.Equal(t, render.InkNone, ink.Mask[y*120+x], "a line at %d, %d", x, y)
			}
		}
	}
	assert.Greater(t, n, 1000)
}

// TestOneBodyBeforeItself: two boxes with one id are one body; where one passes before the other a line shows the step.
func TestOneBodyBeforeItself(t *testing.T) {
	view := render.View{Camera: render.LookFrom(-90*rad, 0), Width: 60, Height: 60, PixelMM: 1}
	_, ink := trace(t, view, linework.Options{},
		at(1, centred(40, 4, 40), geom.Identity()), at(1, centred(20, 4, 20), geom.At(geom.V(0, -30, 0))))
	assert.True(t, inked(ink, 20, 30, 1), "the left edge of the near box")
	assert.True(t, inked(ink, 40, 30, 1), "its right edge")
	assert.False(t, inked(ink, 30, 30, 3), "its middle")
}

func TestFaintLinesOfGround(t *testing.T) {
	view := render.View{Camera: render.LookFrom(-60*rad, 30*rad), Width: 80, Height: 80, PixelMM: 2}
	_, ink := trace(t, view, linework.Options{Ground: []bool{false, true}}, at(1, centred(90, 90, 2), geom.Identity()))
	assert.Contains(t, ink.Mask, render.InkFaint)
	assert.NotContains(t, ink.Mask, render.InkLine)
	assert.NotContains(t, ink.Mask, render.InkThin)
}

func TestSameLinesOnAnyNumberOfCores(t *testing.T) {
	view := render.View{Camera: render.LookFrom(-70*rad, 20*rad), Width: 300, Height: 300, PixelMM: 0.2}
	b, err := raster.Draw(render.Scene{Instances: crossing()}, view)
	require.NoError(t, err)
	o := linework.Options{Pens: linework.Scale, PixelsPer: 20, HaloStepMM: 5}
	run := func(cores int) []uint8 {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		return linework.Trace(b, o).Mask
	}
	one := run(1)
	for range 3 {
		require.Equal(t, one, run(4))
	}
}

// BenchmarkTrace traces a rod crossing at full sheet size.
func BenchmarkTrace(b *testing.B) {
	view := render.View{Camera: render.LookFrom(-70*rad, 20*rad), Width: 4800, Height: 3600, PixelMM: 0.012}
	buf, err := raster.Draw(render.Scene{Instances: crossing()}, view)
	require.NoError(b, err)
	b.Run("pixels=4800x3600", func(b *testing.B) {
		for b.Loop() {
			linework.Trace(buf, linework.Options{Pens: linework.Scale, PixelsPer: 20, HaloStepMM: 5})
		}
	})
}

const cubeText = `
::::::::::::::::::::::::::::::::
::::::::::::::::::::::::::::::::
::::::::::::::::::##::::::::::::
::::::::::::::####..#:::::::::::
:::::::::::###.......#::::::::::
:::::::####...........##::::::::
::::###.................#:::::::
:::#+....................#::::::
:::#++....................#:::::
:::#.++....................#::::
:::#..++....................#:::
:::#...++...............++++#:::
:::#....++...........++++...#:::
:::#......+......++++.......#:::
:::#.......++.++++..........#:::
:::#........++..............#:::
:::#........+...............#:::
:::#........+...............#:::
:::#........+...............#:::
:::#........+...............#:::
:::#........+...............#:::
:::#........+...............#:::
:::#........+...............#:::
:::#........+...............#:::
::::#.......+...............#:::
:::::#......+...............#:::
::::::#.....+...............#:::
:::::::#....+............###::::
::::::::##..+........####:::::::
::::::::::#.+.....###:::::::::::
:::::::::::#+.####::::::::::::::
::::::::::::##::::::::::::::::::
::::::::::::::::::::::::::::::::
::::::::::::::::::::::::::::::::
`

const crossingText = `
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::          :::::::::::
:::::::::::          :::::::::::
:::::::::::          :::::::::::
::############################::
::#..........................#::
::#..........................#::
::#..........................#::
::#..........................#::
::#..........................#::
::#..........................#::
::############################::
:::::::::::          :::::::::::
:::::::::::          :::::::::::
:::::::::::          :::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
:::::::::::#........#:::::::::::
`
