package raster_test

import (
	"image"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/linework"
	"turnwise/render/raster"
	"turnwise/render/rendertest"
)

// bays is a made-up scene of 60 parts with 1.2 million triangles: short pipes with a bead, in five rows of twelve. No
// two share their mesh with more than the plain library would let them.
func bays() (render.Scene, render.Camera) {
	const sides, rings = 100, 100 // 2 x sides x rings triangles each
	var profile []rendertest.Ring
	for i := range rings / 2 {
		profile = append(profile, rendertest.Ring{R: 10.5, Z: 600 - float64(i)*600/(rings/2)})
	}
	for i := range rings / 2 {
		r := 13.35
		if i > 20 && i < 30 {
			r = 18
		}
		profile = append(profile, rendertest.Ring{R: r, Z: float64(i+1) * 600 / (rings / 2)})
	}
	shape := render.NewShape(rendertest.Turned(sides, profile...))
	var scene render.Scene
	tone := render.Tone{Light: render.Colour{R: 240, G: 244, B: 247}, Shade: render.Colour{R: 163, G: 180, B: 194}}
	for i := range 60 {
		pose := geom.At(geom.V(float64(i%12)*160, float64(i%3)*200, float64(i/12)*420))
		if i%2 == 1 {
			pose.X, pose.Z = geom.AxisZ.Neg(), geom.AxisX
		}
		scene.Instances = append(scene.Instances, render.Instance{ID: i + 1, Shape: shape, Pose: pose, Tone: tone})
	}
	return scene, render.LookFrom(-1, 0.5)
}

func bigView(scene render.Scene, c render.Camera) render.View {
	const w, h = 4800, 3600
	return render.Fit(c, scene.Bounds(c, nil), w, h, render.Frame{Left: 100, Top: 100, Right: w - 100, Bottom: h - 100})
}

// BenchmarkPicture measures, in one run on one scene, two passes of the plain library (a Phong picture and ids) and what
// this package and linework make: id, normal, depth, outlines and the shaded picture, as large as the buffers
// (full) or half as large each way, which is how pictures are smoothed (half). It reports how long ours takes as a
// fraction of the plain passes.
func BenchmarkPicture(b *testing.B) {
	scene, c := bays()
	view := bigView(scene, c)
	tones, ground := scene.Tones()
	film := raster.Film{Tones: tones, Ground: ground, Paper: render.Colour{R: 255, G: 255, B: 255}, Light: geom.V(-0.45, 0.75, 0.5), CavityPixels: 18}
	ours := func(b *testing.B, n int) {
		buf, err := raster.Draw(scene, view)
		require.NoError(b, err)
		ink := linework.Trace(buf, linework.Options{Pens: linework.Scale, PixelsPer: 20, Ground: ground, HaloStepMM: 15})
		var img *image.NRGBA = raster.Develop(buf, ink, film, n)
		require.NotNil(b, img)
	}
	plainMeshes := raster.PlainMeshes(scene, view)
	for _, one := range []struct {
		name string
		n    int
	}{{"full", 1}, {"half", 2}} {
		b.Run("size=4800x3600/triangles=1200k/"+one.name, func(b *testing.B) {
			var plain, own float64
			for b.Loop() {
				plain += seconds(func() {
					raster.PlainPhong(plainMeshes, view)
					raster.PlainIDs(plainMeshes, view)
				})
				own += seconds(func() { ours(b, one.n) })
			}
			b.ReportMetric(plain/float64(b.N)*1000, "plain-ms")
			b.ReportMetric(own/float64(b.N)*1000, "ours-ms")
			b.ReportMetric(own/plain, "of-plain")
		})
	}
	plainMeshes = nil
	runtime.GC()
	b.Run("size=4800x3600/triangles=1200k/memory", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			ours(b, 2)
		}
	})
}

// seconds is how long something takes.
func seconds(do func()) float64 {
	start := time.Now()
	do()
	return time.Since(start).Seconds()
}
