package picture

import (
	"fmt"
	"image"
	"math"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/linework"
	"turnwise/render/raster"
)

// PortraitPerMM is how many pixels of a portrait go to the millimetre of the page it is made for.
const PortraitPerMM = 12

// Portrait is one part by itself, on white, cut to its outline.
type Portrait struct {
	Number int
	Image  *image.NRGBA
}

// portraitScales are the scales portraits may be drawn at: so many millimetres of the part to one of the page.
var portraitScales = []float64{1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10}

// Portraits draws one part of every number but the pipes, each from the side that shows its openings. Fittings are
// drawn at one scale, the largest at which all of them but casters and glides fit into a frame of the page; boards and
// cleats each as large as fits. The scale is returned as millimetres of the part to one of the page.
func Portraits(plan *assembly.Plan, meshes Meshes, widthMM, heightMM float64) ([]Portrait, float64, error) {
	s := newStage(plan, meshes)
	var scenes []portraitScene
	scale := portraitScales[0]
	seen := map[int]bool{}
	for _, p := range s.parts {
		if p.Number == 0 || seen[p.Number] || p.Kind == standard.Pipe {
			continue
		}
		seen[p.Number] = true
		ps := s.portraitOf(p)
		if !ps.wood && p.Kind != standard.Caster && p.Kind != standard.Glide {
			scale = max(scale, ps.shrink(widthMM, heightMM))
		}
		scenes = append(scenes, ps)
	}
	for _, one := range portraitScales {
		if one >= scale {
			scale = one
			break
		}
	}
	out := make([]Portrait, len(scenes))
	for i, ps := range scenes {
		own := scale
		if ps.wood {
			own = ps.shrink(widthMM, heightMM)
		}
		img, err := ps.draw(own)
		if err != nil {
			return nil, 0, fmt.Errorf("drawing part %d: %w", ps.number, err)
		}
		out[i] = Portrait{Number: ps.number, Image: img}
	}
	return out, scale, nil
}

// Extent is the box round all parts of the frame as built, by their meshes.
func Extent(plan *assembly.Plan, meshes Meshes) geom.Box { return newStage(plan, meshes).built }

// portraitScene is one part set up to be drawn.
type portraitScene struct {
	number int
	wood   bool
	scene  render.Scene
	camera render.Camera
	seen   geom.Box
}

func (s *stage) portraitOf(p assembly.Part) portraitScene {
	ps := portraitScene{number: p.Number, wood: p.Kind == standard.Board || p.Kind == standard.Cleat, camera: thumbCamera(p)}
	ps.scene = s.alone(p)
	ps.seen = ps.scene.Bounds(ps.camera, nil)
	return ps
}

// shrink is how many times smaller than it is the part must be drawn to fit into a frame.
func (ps portraitScene) shrink(widthMM, heightMM float64) float64 {
	size := ps.seen.Size()
	return max(size.X/widthMM, size.Y/heightMM)
}

// draw draws the part so many times smaller than it is.
func (ps portraitScene) draw(scale float64) (*image.NRGBA, error) {
	const marginPixels = 6
	perMM := PortraitPerMM / scale
	size := ps.seen.Size()
	w, h := int(math.Ceil(size.X*perMM))+2*marginPixels, int(math.Ceil(size.Y*perMM))+2*marginPixels
	frame := render.Frame{Left: marginPixels, Top: marginPixels, Right: float64(w) - marginPixels, Bottom: float64(h) - marginPixels}
	view := render.Fit(ps.camera, ps.seen, w, h, frame)
	b, err := raster.Draw(ps.scene, view.Finer(super))
	if err != nil {
		return nil, err
	}
	tones, ground := ps.scene.Tones()
	ink := linework.Trace(b, linework.Options{Pens: linework.Fine, PixelsPer: PortraitPerMM * super, Ground: ground})
	f := film(tones, ground)
	f.CavityPixels = w / 8
	return raster.Develop(b, ink, f, super), nil
}
