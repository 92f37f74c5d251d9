// Package picture makes the pictures of a plan: the frame as built, and the frame taken apart along its joints with
// every part numbered.
//
// A picture is a sheet of 240 x 180 mm at 10 pixels to the millimetre. How one is made:
//
//  1. Parts become a scene, each distinct mesh once (stage).
//  2. The camera is chosen by counting pixels: the scene is drawn small from some sixty directions and the best kept
//     (choose, survey).
//  3. The scene is drawn at twice the size into buffers, the lines are found in them, and both are developed into the
//     image (raster, linework).
//  4. Balloons, guide lines and lettering are drawn over it, crisp (overlay).
//  5. What was promised is measured on the very buffers the picture was made from (Scores).
//
// The same plan and meshes give the same bytes on any number of cores.
package picture

import (
	"fmt"
	"image"
	"image/png"
	"io"
	"runtime"

	"turnwise/assembly"
	"turnwise/assembly/units"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/callout"
	"turnwise/render/explode"
	"turnwise/render/linework"
	"turnwise/render/raster"
)

// The sheet.
const (
	SheetWidthMM  = 240
	SheetHeightMM = 180
	PixelsPerMM   = 10
	// super is how many buffer pixels go to one of the image, each way.
	super = 2
)

// haloStepMM is how far one pipe must pass behind another for a halo. Parts that touch are told apart by name, so it
// need only be more than the slack of parts side by side.
const haloStepMM = 15

// groundStepMM is the step in depth that shows on floor and walls: more than a leaning one makes from piece to piece,
// a millimetre high, seen at 10 degrees up.
const groundStepMM = 15

var (
	paper     = render.Colour{R: 255, G: 255, B: 255}
	lineInk   = render.Colour{R: 22, G: 26, B: 32}
	thinInk   = render.Colour{R: 62, G: 70, B: 80}
	faintInk  = render.Colour{R: 176, G: 172, B: 162}
	markInk   = render.Colour{R: 22, G: 26, B: 32}
	stopInk   = render.Colour{R: 176, G: 22, B: 22}
	fromAbove = geom.Vec{X: -0.45, Y: 0.75, Z: 0.5} // light over the left shoulder
)

// Picture is a finished sheet with what was measured on it.
type Picture struct {
	Image  *image.NRGBA
	Vector Vector
	Scores Scores
}

// WritePNG writes the image.
func (p *Picture) WritePNG(w io.Writer) error {
	e := png.Encoder{CompressionLevel: png.DefaultCompression}
	if err := e.Encode(w, p.Image); err != nil {
		return fmt.Errorf("writing the picture: %w", err)
	}
	return nil
}

// Finished draws the frame as built, on pale floor and walls.
func Finished(plan *assembly.Plan, meshes Meshes) (*Picture, error) {
	sh, err := finished(plan, meshes, "as built")
	if err != nil {
		return nil, err
	}
	return sh.picture("finished")
}

// Model draws a model of the frame put together, with what it is in the title. Sizes are those of the frame.
func Model(plan *assembly.Plan, meshes Meshes, what string) (*Picture, error) {
	sh, err := finished(plan, meshes, what)
	if err != nil {
		return nil, err
	}
	return sh.picture("model")
}

// finished draws the whole sheet.
func finished(plan *assembly.Plan, meshes Meshes, what string) (*sheet, error) {
	s := newStage(plan, meshes)
	s.dashes = true
	best, err := s.bestView()
	if err != nil {
		return nil, fmt.Errorf("choosing the view of the finished frame: %w", err)
	}
	scene := s.scene
	if room := roomShape(plan, s.built); room != nil {
		scene.Instances = append(scene.Instances[:len(scene.Instances):len(scene.Instances)],
			render.Instance{ID: len(s.parts) + 1, Shape: room, Pose: geom.Identity(), Tone: roomTone, Ground: true})
	}
	frame := drawingFrame
	frame.Top += noticeHeight(plan)
	sh := newSheet(s, scene, best.view.Camera, frame)
	if seen, cut := mostly(frame, s.scene.Bounds(best.view.Camera, nil), scene.Bounds(best.view.Camera, nil)); cut {
		sh.aim(seen, frame)
		sh.crop = &frame
	}
	sh.joined = s.areJoined
	if err := sh.draw(); err != nil {
		return nil, fmt.Errorf("drawing the finished frame: %w", err)
	}
	if sh.crop != nil {
		sh.over.blankAround(*sh.crop)
	}
	if err := sh.dashHidden(best.survey); err != nil {
		return nil, fmt.Errorf("drawing what is hidden: %w", err)
	}
	sh.warn()
	sh.title(what, overall(units.System(plan.Design.Units), s.built))
	return sh, nil
}

// roomShare is how much larger than the frame the drawing may get by floor and walls.
const roomShare = 1.35

// mostly returns the part of a drawing that is shown: all of it, or, where floor and walls would make the frame too
// small, the frame with what of them fits round it.
func mostly(f render.Frame, frame, all geom.Box) (seen geom.Box, cut bool) {
	if fitScale(f, all)*roomShare >= fitScale(f, frame) {
		return all, false
	}
	scale := fitScale(f, frame) / roomShare
	mid := frame.Centre()
	half := geom.V((f.Right-f.Left)/2/scale, (f.Bottom-f.Top)/2/scale, all.Diagonal())
	return geom.Box{Min: mid.Sub(half), Max: mid.Add(half)}.Intersect(all), true
}

// drawingFrame is where the drawing goes on the sheet, in millimetres.
var drawingFrame = render.Frame{Left: edgeMM, Top: edgeMM, Right: SheetWidthMM - edgeMM, Bottom: SheetHeightMM - footMM - 2}

// sheet is one picture being made.
type sheet struct {
	stage        *stage
	scene        render.Scene
	view         render.View // of the image, not of the finer buffers
	buffers      *render.Buffers
	over         overlay
	regions      callout.Regions
	marked       []callout.Balloon
	numbers      []int               // of the marks, in their order
	radius       float64             // of the balloons
	joined       func(a, b int) bool // parts that touch, nil when none do
	crop         *render.Frame       // nothing is drawn outside, if there
	size         point               // of the sheet
	lines        []explode.Guide     // of an exploded picture
	nested       map[[2]int]bool     // pairs of its parts, by id, that are meant to lie over one another
	strokes      []linework.Stroke   // of the parts
	faces        []VectorFill        // what is seen of each part
	hair         []VectorLine        // thin lines that are no edges: threads
	pasted       []pasted            // smaller sheets on it
	thumbsOf     *stage              // whose parts the small pictures of a key show
	thumbs       []VectorInset       // small pictures of parts on it
	isInset      bool                // it is one of those
	heightsDrawn int                 // dimensions from the floor
	step         *stepMarks          // what a step picture is about, nil in others
}

func newSheet(s *stage, scene render.Scene, c render.Camera, f render.Frame) *sheet {
	sh := &sheet{stage: s, scene: scene, view: render.View{Camera: c}, size: pt(SheetWidthMM, SheetHeightMM)}
	sh.aim(scene.Bounds(c, nil), f)
	return sh
}

// aim fits what is seen into a frame of the sheet.
func (sh *sheet) aim(seen geom.Box, f render.Frame) {
	px := render.Frame{Left: f.Left * PixelsPerMM, Top: f.Top * PixelsPerMM, Right: f.Right * PixelsPerMM, Bottom: f.Bottom * PixelsPerMM}
	sh.view = render.Fit(sh.view.Camera, seen, int(sh.size.X*PixelsPerMM), int(sh.size.Y*PixelsPerMM), px)
}

// draw fills the buffers and develops the image.
func (sh *sheet) draw() error {
	if sh.step == nil {
		// The surveys leave some 200 MB behind, about as much as the buffers need. Clearing it first keeps the two from
		// adding up; with so little alive it takes a few milliseconds.
		runtime.GC()
	}
	b, err := raster.Draw(sh.scene, sh.view.Finer(super))
	if err != nil {
		return err
	}
	sh.buffers = b
	tones, ground := sh.scene.Tones()
	o := linework.Options{
		Pens: sh.pens(), PixelsPer: PixelsPerMM * super, Ground: ground, HaloStepMM: haloStepMM, GroundStepMM: groundStepMM, Joined: sh.joined,
	}
	if sh.step != nil {
		o.Strong, o.Pale = sh.step.strong, sh.step.pale
	}
	var ink *render.Ink
	ink, sh.strokes = linework.Lines(b, o)
	sh.faces = vectorFaces(b, tones, o.PixelsPer)
	sh.over = overlay{img: raster.Develop(b, ink, film(tones, ground), super), perMM: PixelsPerMM, fills: &[]VectorFill{}}
	sh.threads()
	return nil
}

// picture measures the sheet and hands it over.
func (sh *sheet) picture(name string) (*Picture, error) {
	scores, err := sh.scores(name)
	if err != nil {
		return nil, fmt.Errorf("measuring the picture: %w", err)
	}
	return &Picture{Image: sh.over.img, Vector: sh.vector(), Scores: scores}, nil
}

// fineScale is the scale, in scene millimetres per millimetre of the sheet, from which lines are drawn a size finer: a
// pipe 27 mm thick is then 2.2 mm wide.
const fineScale = 12

func (sh *sheet) pens() linework.Pens {
	fine := sh.view.PixelMM*PixelsPerMM > fineScale
	switch {
	case sh.step != nil && fine:
		return linework.StepFine
	case sh.step != nil:
		return linework.Step
	case fine:
		return linework.Fine
	}
	return linework.Scale
}

// film is how buffers are developed: the light over the left shoulder, and mouths darkened inside.
func film(tones []render.Tone, ground []bool) raster.Film {
	const cavityMM = 0.9
	return raster.Film{
		Tones: tones, Ground: ground, Paper: paper, Light: fromAbove, CavityPixels: cavityMM * PixelsPerMM * super,
		Inks: [...]render.Colour{render.InkNone: paper, render.InkHalo: paper, render.InkFaint: faintInk, render.InkThin: thinInk, render.InkLine: lineInk},
	}
}
