package picture

import (
	"fmt"
	"image"
	"image/draw"
	"math"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/lettering"
	"turnwise/render/linework"
	"turnwise/render/raster"
)

// key is the list on an exploded sheet that shows and names every number.
type key struct {
	keyStyle
	entries []entry
	numbers int     // in the plan, also when the key is left out
	wide    float64 // of an entry
	top     float64 // of the sheet, taken by the notice
}

// entry is one number of the key.
type entry struct {
	number int
	part   assembly.Part // one of those with the number
	count  int
	lines  [2]string // what it is and how many; its length or size
}

// keyStyle is how large a key is.
type keyStyle struct {
	pitchMM  float64 // from entry to entry
	thumbMM  float64 // width of the small picture; it is as high as the pitch allows
	numberMM float64 // height of the number
	textMM   float64 // height of capitals
}

// The styles: the large one, and one for keys that would leave the drawing too little room.
var (
	largeKey = keyStyle{pitchMM: 8.4, thumbMM: 10.5, numberMM: 2.8, textMM: 2}
	smallKey = keyStyle{pitchMM: 6.2, thumbMM: 7.5, numberMM: 2.3, textMM: 1.6}
)

const (
	thumbGapMM = 0.8 // between the small pictures
	keyGapMM   = 4   // between columns
	keyClearMM = 2   // between the lowest note and a key under it
	footMM     = 16  // of the sheet, for the title
	edgeMM     = 7   // of the sheet, left clear
	// The large key is used while the drawing keeps the fraction dearKey of the scale it has with the small one, and
	// the small one while it keeps tooDearKey of that without any; else the parts list has to do.
	dearKey, tooDearKey = 0.9, 0.4
)

// keyFor returns the key of a plan whose drawing has the given shape: large, unless that makes the drawing much
// smaller than it could be.
func keyFor(plan *assembly.Plan, seen geom.Box) *key {
	large, small := newKey(plan, largeKey), newKey(plan, smallKey)
	none := &key{numbers: small.numbers, top: small.top}
	switch {
	case small.scale(seen) < tooDearKey*none.scale(seen):
		return none
	case large.scale(seen) >= dearKey*small.scale(seen):
		return large
	}
	return small
}

// scale is how large a drawing of the given shape can be beside or over the key.
func (k *key) scale(seen geom.Box) float64 { return fitScale(k.drawing(seen), seen) }

// fitScale returns the sheet millimetres per millimetre at which a shape fills a frame; less than nothing when the
// frame has no room.
func fitScale(f render.Frame, seen geom.Box) float64 {
	s := seen.Size()
	return min((f.Right-f.Left)/s.X, (f.Bottom-f.Top)/s.Y)
}

func newKey(plan *assembly.Plan, style keyStyle) *key {
	k := &key{keyStyle: style, top: noticeHeight(plan)}
	at := map[int]int{}
	for _, p := range plan.Parts {
		if p.Number == 0 {
			continue
		}
		i, ok := at[p.Number]
		if !ok {
			i = len(k.entries)
			at[p.Number] = i
			k.entries = append(k.entries, entry{number: p.Number, part: p})
		}
		if p.Half != "b" {
			k.entries[i].count++
		}
	}
	sort.SliceStable(k.entries, func(i, j int) bool { return k.entries[i].number < k.entries[j].number })
	widest := 0.0
	for i := range k.entries {
		e := &k.entries[i]
		e.lines = describe(plan, *e)
		widest = max(widest, lettering.Bold.Width(e.lines[0], k.textMM), lettering.Regular.Width(e.lines[1], k.textMM))
	}
	k.numbers = len(k.entries)
	k.wide = k.thumbLeft() + k.thumbMM + k.margin() + widest
	return k
}

// thumbLeft is how far the small picture stands from the left edge of an entry: two figures and a margin.
func (k *key) thumbLeft() float64 { return lettering.Bold.Width("00", k.numberMM) + k.margin() }

func (k *key) margin() float64 { return k.textMM * 0.7 }

// describe returns the two lines of an entry: size, kind and how many; length or dimensions.
func describe(plan *assembly.Plan, e entry) [2]string {
	u := units.System(plan.Design.Units)
	first := e.part.Size.Text()
	if first != "" {
		first += "\" "
	}
	first += e.part.Kind.Words()
	if e.count > 1 {
		first += fmt.Sprintf("  ×%d", e.count)
	}
	switch {
	case e.part.Kind == standard.Pipe:
		return [2]string{first, u.Nearest(units.Length(e.part.LengthMM))}
	case len(e.part.Boxes) > 0:
		return [2]string{first, boardSize(u, e.part.Boxes)}
	}
	return [2]string{first, ""}
}

// boardSize is length by width by thickness, each to the nearest mark of a tape.
func boardSize(u units.System, boxes []geom.Box) string {
	b := geom.EmptyBox()
	for _, x := range boxes {
		b = b.Union(x)
	}
	s := b.Size()
	d := []float64{s.X, s.Y, s.Z}
	sort.Sort(sort.Reverse(sort.Float64Slice(d)))
	number := func(mm float64) string {
		t := u.Nearest(units.Length(mm))
		return t[:max(0, len(t)-len(" in"))] // both " in" and " mm"
	}
	return number(d[0]) + " × " + number(d[1]) + " × " + u.Nearest(units.Length(d[2]))
}

// columns returns how many columns and rows the key takes in a height.
func (k *key) columns(heightMM float64) (columns, rows int) {
	if len(k.entries) == 0 {
		return 0, 1
	}
	rows = max(1, int(heightMM/k.pitchMM))
	return (len(k.entries) + rows - 1) / rows, rows
}

// beside tells whether the key stands to the right of a drawing of the given shape or under it: wherever that leaves
// the drawing larger.
func (k *key) beside(seen geom.Box) bool {
	return fitScale(k.rightFrame(), seen) >= fitScale(k.underFrame(), seen)
}

// drawing returns the frame left for the drawing itself, inside the balloons.
func (k *key) drawing(seen geom.Box) render.Frame {
	if k.beside(seen) {
		return k.rightFrame()
	}
	return k.underFrame()
}

func (k *key) inner(right, bottom float64) render.Frame {
	d := clearMM + 2*balloonRadius(k.numbers)
	return render.Frame{Left: edgeMM + d + noteSideMM, Top: k.top + edgeMM + d + noteOverMM, Right: right - d - noteSideMM, Bottom: bottom - d - noteOverMM - keyClearMM}
}

func (k *key) rightFrame() render.Frame {
	n, _ := k.columns(SheetHeightMM - footMM - 2*edgeMM - k.top)
	return k.inner(SheetWidthMM-edgeMM-float64(n)*(k.wide+keyGapMM), SheetHeightMM-footMM)
}

// underRows returns the rows of a key that runs along the foot of the sheet.
func (k *key) underRows() (columns, rows int) {
	if len(k.entries) == 0 {
		return 1, 0
	}
	columns = max(1, int((SheetWidthMM-2*edgeMM+keyGapMM)/(k.wide+keyGapMM)))
	return columns, (len(k.entries) + columns - 1) / columns
}

func (k *key) underFrame() render.Frame {
	_, rows := k.underRows()
	return k.inner(SheetWidthMM-edgeMM, SheetHeightMM-footMM-float64(rows)*k.pitchMM)
}

// key draws the key where the drawing leaves room for it.
func (sh *sheet) key(k *key) error {
	seen := sh.scene.Bounds(sh.view.Camera, nil)
	_, rows := k.underRows()
	x0, y0 := float64(edgeMM), SheetHeightMM-footMM-float64(rows)*k.pitchMM
	if k.beside(seen) {
		var columns int
		columns, rows = k.columns(SheetHeightMM - footMM - 2*edgeMM - k.top)
		x0, y0 = SheetWidthMM-edgeMM-float64(columns)*(k.wide+keyGapMM)+keyGapMM, edgeMM+k.top
	}
	for i, e := range k.entries {
		if err := sh.entry(k, e, x0+float64(i/rows)*(k.wide+keyGapMM), y0+float64(i%rows)*k.pitchMM); err != nil {
			return err
		}
	}
	return nil
}

// entry draws one entry with its top left corner at x, y.
func (sh *sheet) entry(k *key, e entry, x, y float64) error {
	left := x + k.thumbLeft()
	if err := sh.thumb(k, e.part, left, y); err != nil {
		return err
	}
	n := fmt.Sprint(e.number)
	middle := y + (k.pitchMM-thumbGapMM)/2
	sh.over.text(lettering.Bold, n, k.numberMM, left-k.margin()-lettering.Bold.Width(n, k.numberMM), middle+k.numberMM/2, markInk)
	left += k.thumbMM + k.margin()
	if e.lines[1] == "" {
		sh.over.text(lettering.Bold, e.lines[0], k.textMM, left, middle+k.textMM/2, markInk)
		return nil
	}
	lead := 0.3 * k.textMM
	sh.over.text(lettering.Bold, e.lines[0], k.textMM, left, middle-lead, markInk)
	sh.over.text(lettering.Regular, e.lines[1], k.textMM, left, middle+lead+k.textMM, markInk)
	return nil
}

// thumb draws a small picture of a part by itself, always from the same side of its own frame, so that all the
// openings of a fitting are seen. Of a pipe only one end is shown: it runs out of the picture.
func (sh *sheet) thumb(k *key, p assembly.Part, x, y float64) error {
	scene := sh.thumbsOf.alone(p)
	if len(scene.Instances) == 0 {
		return nil
	}
	w, h := int(k.thumbMM*PixelsPerMM), int((k.pitchMM-thumbGapMM)*PixelsPerMM)
	view := thumbView(p, scene, w, h)
	b, err := raster.Draw(scene, view.Finer(super))
	if err != nil {
		return err
	}
	tones, ground := scene.Tones()
	o := linework.Options{Pens: linework.Fine, PixelsPer: PixelsPerMM * super, Ground: ground}
	ink, strokes := linework.Lines(b, o)
	f := film(tones, ground)
	f.CavityPixels = w / 8
	img := raster.Develop(b, ink, f, super)
	sh.thumbs = append(sh.thumbs, VectorInset{x, y, Vector{WidthMM: float64(w) / PixelsPerMM, HeightMM: float64(h) / PixelsPerMM,
		Faces: vectorFaces(b, tones, o.PixelsPer), Lines: vectorLines(strokes, PixelsPerMM*super)}})
	at := image.Pt(int(x*PixelsPerMM), int(y*PixelsPerMM))
	draw.Draw(sh.over.img, img.Rect.Add(at), img, image.Point{}, draw.Src)
	return nil
}

// alone is the scene of one part in its own frame; of a union, both halves a little apart.
func (s *stage) alone(p assembly.Part) render.Scene {
	scene := render.Scene{}
	for i, q := range s.parts {
		if q.Number != p.Number || q.Half == p.Half && len(scene.Instances) > 0 {
			continue
		}
		in := s.scene.Instances[i]
		in.ID, in.Pose = len(scene.Instances)+1, geom.Identity()
		if q.Half == "b" {
			in.Pose = geom.At(geom.V(0, 0, thumbApartMM))
		}
		scene.Instances = append(scene.Instances, in)
		if q.Half == "" || len(scene.Instances) == 2 {
			break
		}
	}
	return scene
}

const (
	thumbApartMM = 28  // how far the halves of a union stand apart in their small picture
	stubMM       = 110 // how much of a pipe its small picture shows
)

func thumbView(p assembly.Part, scene render.Scene, w, h int) render.View {
	const marginPixels = 4
	frame := render.Frame{Left: marginPixels, Top: marginPixels, Right: float64(w) - marginPixels, Bottom: float64(h) - marginPixels}
	c := thumbCamera(p)
	seen := scene.Bounds(c, nil)
	if p.Kind == standard.Pipe && p.LengthMM > stubMM {
		end := geom.BoxOf(geom.V(-15, -15, p.LengthMM-stubMM), geom.V(15, 15, p.LengthMM))
		seen = c.Bounds(end)
		frame.Left = -frame.Left // the cut end lies outside
	}
	return render.Fit(c, seen, w, h, frame)
}

// thumbCamera looks at a part's frame so that +x, +y and +z are all seen on their near side, and what is long lies
// along the picture.
func thumbCamera(p assembly.Part) render.Camera {
	switch p.Kind {
	case standard.Board, standard.Cleat, standard.Flange, standard.Cap, standard.Glide, standard.Caster, standard.Pad, standard.Elbow, standard.Elbow45:
		return render.LookFrom(40*math.Pi/180, 32*math.Pi/180)
	}
	// The part's z axis to the right and a little down, its x axis up.
	c := render.LookFrom(-50*math.Pi/180, 28*math.Pi/180)
	turn := func(v geom.Vec) geom.Vec { return geom.V(v.Z, -v.Y, v.X) }
	return render.Camera{Right: turn(c.Right).Neg(), Up: turn(c.Up), Back: turn(c.Back).Neg()}
}
