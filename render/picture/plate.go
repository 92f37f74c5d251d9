package picture

import (
	"fmt"
	"image"
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
	"turnwise/render/lettering"
	"turnwise/render/linework"
	"turnwise/render/raster"
)

// Laid is one body on a plate, with what is written over it.
type Laid struct {
	Mesh  *mesh.Mesh // where it lies; z is up from the plate
	Label string
}

// Plate pictures.
const (
	plateTiltDeg  = 62 // elevation of the eye: steep, so that bodies do not hide one another
	plateMarginMM = 8.0
	plateLabelMM  = 2.2
)

// Plate draws bodies on a plate of widthMM by depthMM as they are printed, each with its label, and a title under it.
func Plate(title string, bodies []Laid, widthMM, depthMM float64) (*image.NRGBA, error) {
	if len(bodies) == 0 {
		return nil, fmt.Errorf("drawing %s: %w", title, render.ErrEmpty)
	}
	bed := boxMesh(geom.Box{Min: geom.V(0, 0, -1), Max: geom.V(widthMM, depthMM, 0)})
	scene := render.Scene{}
	for i, b := range bodies {
		scene.Instances = append(scene.Instances, render.Instance{ID: i + 1, Shape: render.NewShape(b.Mesh), Pose: geom.Identity(), Tone: tones[familyFitting]})
	}
	scene.Instances = append(scene.Instances, render.Instance{ID: len(bodies) + 1, Shape: render.NewShape(bed), Pose: geom.Identity(), Tone: roomTone, Ground: true})
	camera := render.LookFrom(-math.Pi/2, plateTiltDeg*math.Pi/180)
	frame := render.Frame{Left: plateMarginMM * PixelsPerMM, Top: plateMarginMM * PixelsPerMM,
		Right: (SheetWidthMM - plateMarginMM) * PixelsPerMM, Bottom: (SheetHeightMM - footMM) * PixelsPerMM}
	view := render.Fit(camera, scene.Bounds(camera, nil), SheetWidthMM*PixelsPerMM, SheetHeightMM*PixelsPerMM, frame)
	b, err := raster.Draw(scene, view.Finer(super))
	if err != nil {
		return nil, fmt.Errorf("drawing %s: %w", title, err)
	}
	colours, ground := scene.Tones()
	ink := linework.Trace(b, linework.Options{Pens: linework.Fine, PixelsPer: PixelsPerMM * super, Ground: ground})
	over := overlay{img: raster.Develop(b, ink, film(colours, ground), super), perMM: PixelsPerMM}
	names := newNamer(b, len(bodies))
	for i, body := range bodies {
		n := names.place(i+1, lettering.Bold.Width(body.Label, plateLabelMM), plateLabelMM)
		if n.far {
			over.line(pt(n.x, n.y), n.to, namePenMM, markInk)
		}
		w := lettering.Bold.Width(body.Label, plateLabelMM)
		over.rect(n.x-w/2-nameEdgeMM, n.y-plateLabelMM/2-nameEdgeMM, n.x+w/2+nameEdgeMM, n.y+plateLabelMM/2+nameEdgeMM, paper)
		over.centred(lettering.Bold, body.Label, plateLabelMM, n.x, n.y, markInk)
	}
	over.text(lettering.Bold, title, lettering.HeadMM, plateMarginMM, SheetHeightMM-footMM/3, markInk)
	return over.img, nil
}

// boxMesh is the skin of a box. Corners are numbered by their bits: 1 for the greatest x, 2 for y, 4 for z.
func boxMesh(b geom.Box) *mesh.Mesh {
	c := b.Corners()
	m := &mesh.Mesh{Vertices: c[:]}
	for _, f := range [][4]int32{{1, 3, 7, 5}, {0, 4, 6, 2}, {2, 6, 7, 3}, {0, 1, 5, 4}, {4, 5, 7, 6}, {0, 2, 3, 1}} {
		m.Triangles = append(m.Triangles, [3]int32{f[0], f[1], f[2]}, [3]int32{f[0], f[2], f[3]})
	}
	return m
}
