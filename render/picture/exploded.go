package picture

import (
	"fmt"
	"math"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
	"turnwise/render"
	"turnwise/render/callout"
	"turnwise/render/explode"
	"turnwise/render/lettering"
)

const (
	// gapMM is the clear space between mouths in space, and paperGapMM the one wanted on the sheet.
	gapMM      = 12
	paperGapMM = 4
	// leastForeshortening keeps a direction that is seen nearly end-on from being drawn out without bound.
	leastForeshortening = 0.45
	// gapRounds is how often gaps and scale are brought into line: more gap makes the picture smaller.
	gapRounds     = 3
	clearedRounds = 2
)

// Exploded draws the parts moved off one another along their joints, each number once in a balloon, with a key that
// names them.
func Exploded(plan *assembly.Plan, meshes Meshes) (*Picture, error) {
	sh, err := exploded(plan, meshes)
	if err != nil {
		return nil, err
	}
	return sh.picture("exploded")
}

// exploded draws the whole sheet.
func exploded(plan *assembly.Plan, meshes Meshes) (*sheet, error) {
	return explodedStage(newStage(plan, meshes), "taken apart",
		"numbers rise in the order of assembly; lengths in "+unitWord(units.System(plan.Design.Units)))
}

// explodedStage draws the parts of a stage moved apart. What is shown and a note stand in the title.
func explodedStage(whole *stage, what, note string) (*sheet, error) {
	plan := whole.plan
	s, cuts := whole.shortened()
	apart, best, err := s.explode()
	if err != nil {
		return nil, fmt.Errorf("choosing the view of the exploded frame: %w", err)
	}
	if len(cuts) > 0 {
		seen := s.moved(apart.Offsets).scene.Bounds(best.view.Camera, nil)
		s = whole.recut(cuts, apart, best.view.Camera, 1/keyFor(plan, seen).scale(seen))
	}
	moved := s.moved(apart.Offsets)
	seen := moved.scene.Bounds(best.view.Camera, nil)
	key := keyFor(plan, seen)
	sh := newSheet(moved, moved.scene, best.view.Camera, key.drawing(seen))
	if err := sh.draw(); err != nil {
		return nil, fmt.Errorf("drawing the exploded frame: %w", err)
	}
	sh.lines, sh.nested = apart.Guides, map[[2]int]bool{}
	for _, n := range apart.Nested {
		sh.nested[pair(s.id[n[0]], s.id[n[1]])] = true
	}
	sh.guides(apart.Guides)
	sh.balloons()
	sh.lengths()
	sh.thumbsOf = whole
	if err := sh.key(key); err != nil {
		return nil, fmt.Errorf("drawing the key: %w", err)
	}
	sh.warn()
	sh.title(what, note)
	return sh, nil
}

// narrower is by how much the gaps of a long chain of parts are narrowed, so that these are not what makes the drawing
// small; wider by how much they are widened then, if parts hide one another.
var (
	narrower = []float64{1, 0.75, 0.55, 0.4, 0.3}
	wider    = []float64{1.6, 2.4}
)

const (
	// leastShrink is how large the drawing must be for widened gaps, as a fraction of that of the frame in one piece.
	leastShrink = 0.25
	// mostOverlap is the share of an outline that others may cover before wider gaps are tried.
	mostOverlap = 0.06
	// widestGap is how wide gaps may be beside the longest side of the smallest fitting.
	widestGap = 1.25
	// plainlySeen is the mean visible fraction from which a picture is open enough.
	plainlySeen = 0.9
)

// explode chooses offsets and camera together: gaps of the size wanted where they fit, and others where these let more
// of the parts be seen. Narrow ones are tried first: they leave the parts larger.
func (s *stage) explode() (explode.Result, scored, error) {
	var apart explode.Result
	var best scored
	found := false
	cameras := candidates()
	for i := s.narrowest(); i >= 0; i-- {
		a, v, err := s.explodeBy(narrower[i], cameras)
		if err == nil {
			cameras = v.cameras() // what served badly with these gaps is not looked at with the next
			a, v, err = s.opened(a, v, narrower[i], cameras)
		}
		if err != nil {
			return apart, best, err
		}
		if !found || v.hidden < best.hidden || v.hidden == best.hidden && a.Overlap < apart.Overlap {
			apart, best, found = a, v, true
		}
		if best.hidden == 0 && apart.Overlap <= mostOverlap {
			break
		}
	}
	return apart, best, nil
}

// narrowest returns the place in narrower of the gaps to begin with.
func (s *stage) narrowest() int {
	i := 0
	for i+1 < len(narrower) && s.isWide(narrower[i], s.roughScale(narrower[i])) {
		i++
	}
	return i
}

// opened widens gaps further if that lets plainly more be seen, and takes apart what lies over other parts on paper.
func (s *stage) opened(apart explode.Result, best scored, gap float64, cameras []render.Camera) (explode.Result, scored, error) {
	chosen := gap
	for _, w := range wider {
		if best.hidden == 0 && best.missing == 0 && best.mean >= plainlySeen {
			break
		}
		a, v, err := s.explodeBy(gap*w, cameras)
		if err != nil {
			return apart, best, err
		}
		v.score += sizeWeight * (best.view.PixelMM/v.view.PixelMM - 1)
		if v.score > best.score && s.shrink(a, v.view.Camera) >= leastShrink {
			apart, best, chosen = a, v, gap*w
		}
	}
	return s.unclutter(apart, best, chosen)
}

// isWide tells whether gaps are wide beside the fittings at a scale, in scene millimetres per millimetre of the sheet:
// then they are what makes the drawing small.
func (s *stage) isWide(gap, scale float64) bool {
	least := math.Inf(1)
	for i, p := range s.parts {
		if size := s.scene.Instances[i].Shape.Box.Size(); p.Kind != standard.Pipe && !isLoose(p) {
			least = min(least, max(size.X, size.Y, size.Z))
		}
	}
	return !math.IsInf(least, 1) && gap*paperGapMM > widestGap*least/scale
}

// roughScale is about the scale, in scene millimetres per millimetre of the sheet, of an exploded picture with gaps
// widened by a factor: seen from somewhere in front.
func (s *stage) roughScale(widen float64) float64 {
	front := render.LookFrom(-60*math.Pi/180, 30*math.Pi/180)
	scale := s.built.Diagonal() / drawingDiagonalMM
	for range gapRounds {
		apart := explode.Apart(s.plan, explode.Options{Boxes: s.boxes(), Cuts: s.closing, Shut: s.shut, Gap: func(d geom.Vec) float64 {
			return max(gapMM, widen*paperGapMM*scale/max(leastForeshortening, front.Foreshortening(d)))
		}})
		seen := s.moved(apart.Offsets).coarse.Bounds(front, nil)
		scale = 1 / keyFor(s.plan, seen).scale(seen)
	}
	return scale
}

// shrink returns how large the drawing is, as a fraction of that of the frame in one piece.
func (s *stage) shrink(apart explode.Result, c render.Camera) float64 {
	whole, open := s.coarse.Bounds(c, nil), s.moved(apart.Offsets).coarse.Bounds(c, nil)
	return keyFor(s.plan, open).scale(open) / keyFor(s.plan, whole).scale(whole)
}

// explodeBy works with gaps widened by a factor. The gap wanted on paper depends on the scale and on how far each
// direction is foreshortened, so the camera is chosen first, with about the right gaps.
func (s *stage) explodeBy(widen float64, cameras []render.Camera) (explode.Result, scored, error) {
	boxes := s.boxes()
	mmPerMM := s.built.Diagonal() / drawingDiagonalMM
	apart := explode.Apart(s.plan, explode.Options{Boxes: boxes, Cuts: s.closing, Shut: s.shut, Gap: func(geom.Vec) float64 { return max(gapMM, widen*paperGapMM*mmPerMM) }})
	few, err := s.moved(apart.Offsets).bestFew(cameras, glanced)
	if err != nil {
		return apart, scored{}, err
	}
	apart = s.fitGaps(apart, boxes, few[0].view.Camera, widen, nil)
	best, err := s.moved(apart.Offsets).bestOf([]render.Camera{few[0].view.Camera})
	if err == nil && best.hidden > 0 {
		// The gaps shifted something behind something else: look again from all sides.
		best, err = s.moved(apart.Offsets).bestOf(cameras)
	}
	best.others = few[1:]
	return apart, best, err
}

// boxes returns the box around each part as built.
func (s *stage) boxes() map[string]geom.Box {
	out := map[string]geom.Box{}
	for i, in := range s.scene.Instances {
		out[s.parts[i].ID] = in.Pose.Box(in.Shape.Box)
	}
	return out
}

// fitGaps brings gaps and scale into line for a camera, with parts kept off one another on paper if that is given.
func (s *stage) fitGaps(apart explode.Result, boxes map[string]geom.Box, c render.Camera, widen float64, paper *explode.Paper) explode.Result {
	rounds := gapRounds
	if paper != nil {
		rounds = clearedRounds // what it starts from has gaps of about the right size
	}
	for range rounds {
		seen := s.moved(apart.Offsets).coarse.Bounds(c, nil)
		scale := 1 / keyFor(s.plan, seen).scale(seen)
		apart = explode.Apart(s.plan, explode.Options{Boxes: boxes, Cuts: s.closing, Shut: s.shut, Paper: paper, Gap: func(d geom.Vec) float64 {
			return max(gapMM, widen*paperGapMM*scale/max(leastForeshortening, c.Foreshortening(d)))
		}})
	}
	return apart
}

// drawingDiagonalMM is about how long the diagonal of a drawing is on the sheet, for a first guess at the scale.
const drawingDiagonalMM = 180

// guides draws the lines from mouth to mouth, leaving out what lies behind parts.
func (sh *sheet) guides(lines []explode.Guide) {
	const widthMM = 0.18
	for _, g := range lines {
		for _, d := range chain(sh.visible(g.From, g.To)) {
			sh.over.line(d[0], d[1], widthMM, guideInk)
		}
	}
}

var guideInk = render.Colour{R: 70, G: 96, B: 128}

// sheetPoint returns where v falls on the sheet.
func (sh *sheet) sheetPoint(v geom.Vec) (p point, depth float64) {
	x, y, d := sh.view.Pixel(v)
	return pt(x/PixelsPerMM, y/PixelsPerMM), d
}

// visible returns the stretches of a line that nothing stands before.
func (sh *sheet) visible(from, to geom.Vec) [][2]point {
	const stepMM, slackMM = 0.1, 0.5
	a, da := sh.sheetPoint(from)
	b, db := sh.sheetPoint(to)
	n := int(math.Hypot(b.X-a.X, b.Y-a.Y)/stepMM) + 1
	var out [][2]point
	open := false
	for i := range n + 1 {
		t := float64(i) / float64(n)
		p := pt(a.X+(b.X-a.X)*t, a.Y+(b.Y-a.Y)*t)
		if da+(db-da)*t > sh.depthAt(p)+slackMM {
			open = false
			continue
		}
		if !open {
			out = append(out, [2]point{p, p})
			open = true
		}
		out[len(out)-1][1] = p
	}
	return out
}

// buffer returns the index of the buffer pixel at a place on the sheet, false outside.
func (sh *sheet) buffer(p point) (int, bool) {
	x, y := int(p.X*PixelsPerMM*super), int(p.Y*PixelsPerMM*super)
	if x < 0 || y < 0 || x >= sh.buffers.Width || y >= sh.buffers.Height {
		return 0, false
	}
	return y*sh.buffers.Width + x, true
}

func (sh *sheet) depthAt(p point) float64 {
	if i, ok := sh.buffer(p); ok {
		return float64(sh.buffers.Depth[i])
	}
	return math.Inf(1)
}

// chain cuts stretches into the dashes of a chain line: long, short, long.
func chain(stretches [][2]point) [][2]point {
	const long, gap, short = 2.2, 0.6, 0.5
	pattern := [...]float64{long, gap, short, gap}
	var out [][2]point
	for _, s := range stretches {
		l := math.Hypot(s[1].X-s[0].X, s[1].Y-s[0].Y)
		at := func(t float64) point {
			t = min(t, l) / max(l, 1e-9)
			return pt(s[0].X+(s[1].X-s[0].X)*t, s[0].Y+(s[1].Y-s[0].Y)*t)
		}
		t := 0.0
		for k := 0; t < l; k++ {
			d := pattern[k%len(pattern)]
			if k%2 == 0 {
				out = append(out, [2]point{at(t), at(t + d)})
			}
			t += d
		}
	}
	return out
}

// The balloons.
const (
	balloonMM      = 4.0 // radius
	smallBalloonMM = 3.2 // radius when there are many
	tinyBalloonMM  = 2.5 // when there are very many
	manyNumbers    = 36
	mostNumbers    = 50
	clearMM        = 4.5  // from the drawing to the edge of a balloon
	noteSideMM     = 6    // for "×12" beside it
	noteOverMM     = 3    // for it over or under
	betweenMM      = 2.6  // from balloon to balloon
	leastInsideMM  = 0.35 // narrower regions are pointed at only when a number has no other
	dotMM          = 0.55 // radius
	dotInsideMM    = 1.3  // an anchor nearer to the edge than this is marked by an arrow instead
)

func balloonRadius(numbers int) float64 {
	switch {
	case numbers > mostNumbers:
		return tinyBalloonMM
	case numbers > manyNumbers:
		return smallBalloonMM
	}
	return balloonMM
}

// balloons places and draws one balloon for each number.
func (sh *sheet) balloons() {
	marks := sh.marks()
	r := balloonRadius(len(marks))
	x0, y0, x1, y1 := sh.drawn()
	d := clearMM + r
	l := callout.Layout{MinX: x0 - d, MinY: y0 - d, MaxX: x1 + d, MaxY: y1 + d, Radius: r, Pitch: 2*r + betweenMM, Over: sh.foreign}
	sh.marked, sh.radius = callout.Place(marks, l), r
	for _, b := range sh.marked {
		sh.leader(b)
	}
	for _, b := range sh.marked {
		sh.balloon(marks[b.Mark], b, r)
	}
}

// marks returns one mark per number, rising, with the places of all its parts that can be pointed at.
func (sh *sheet) marks() []callout.Mark {
	s := sh.stage
	const stride = 2
	sh.regions = callout.Measure(sh.buffers, len(s.parts), stride)
	count, anchors, narrow := map[int]int{}, map[int][]callout.Anchor{}, map[int][]callout.Anchor{}
	for i, p := range s.parts {
		if p.Half != "b" {
			count[p.Number]++
		}
		a := sh.anchors(i + 1)
		switch {
		case a[0].Inside >= leastInsideMM:
			anchors[p.Number] = append(anchors[p.Number], a...)
		case a[0].Inside > 0:
			narrow[p.Number] = append(narrow[p.Number], a[0])
		}
	}
	var marks []callout.Mark
	sh.numbers = s.numbers()
	for _, n := range sh.numbers {
		m := callout.Mark{Text: fmt.Sprint(n), Anchors: anchors[n]}
		if len(m.Anchors) == 0 {
			m.Anchors = narrow[n]
		}
		if count[n] > 1 {
			m.Note = fmt.Sprintf("×%d", count[n])
		}
		marks = append(marks, m)
	}
	return marks
}

// anchors returns the places of one part that can be pointed at, the best first.
func (sh *sheet) anchors(id int) []callout.Anchor {
	const besideCostMM = 4 // of leader, for not ending in the middle
	place := func(p callout.Point, extra float64) callout.Anchor {
		return callout.Anchor{At: pt(p.X/(PixelsPerMM*super), p.Y/(PixelsPerMM*super)),
			Inside: sh.regions.Inside[id] / (PixelsPerMM * super), ID: id, Extra: extra}
	}
	out := []callout.Anchor{place(sh.regions.At[id], 0)}
	more := sh.regions.More[id]
	for _, p := range more {
		out = append(out, place(p, besideCostMM))
	}
	if len(more) == 2 {
		for i := range out {
			out[i].Along = pt(more[1].X-more[0].X, more[1].Y-more[0].Y)
		}
	}
	return out
}

// numbers returns the numbers of the drawn parts, rising.
func (s *stage) numbers() []int {
	seen := map[int]bool{}
	var out []int
	for _, p := range s.parts {
		if p.Number > 0 && !seen[p.Number] {
			seen[p.Number] = true
			out = append(out, p.Number)
		}
	}
	sort.Ints(out)
	return out
}

// drawn returns the rectangle on the sheet that parts are drawn in.
func (sh *sheet) drawn() (x0, y0, x1, y1 float64) {
	seen := sh.scene.Bounds(sh.view.Camera, nil)
	mid, size := seen.Centre(), seen.Size()
	v := sh.view
	x := (float64(v.Width)/2 + (mid.X-v.MidRight)/v.PixelMM) / PixelsPerMM
	y := (float64(v.Height)/2 - (mid.Y-v.MidUp)/v.PixelMM) / PixelsPerMM
	w, h := size.X/v.PixelMM/PixelsPerMM/2, size.Y/v.PixelMM/PixelsPerMM/2
	return x - w, y - h, x + w, y + h
}

// foreign returns how much of a line lies over parts other than id, in mm on the sheet.
func (sh *sheet) foreign(a, b point, id int) float64 {
	const stepMM = 0.5
	n := int(math.Hypot(b.X-a.X, b.Y-a.Y)/stepMM) + 1
	sum := 0.0
	for i := range n {
		t := (float64(i) + 0.5) / float64(n)
		if k, ok := sh.buffer(pt(a.X+(b.X-a.X)*t, a.Y+(b.Y-a.Y)*t)); ok {
			if o := sh.buffers.ID(k); o != 0 && o != id && o <= len(sh.stage.parts) {
				sum += stepMM
			}
		}
	}
	return sum
}

// leader draws a leader with a pale edge, so that it stands out from the lines it crosses, and its end: a dot well
// inside a part that is large enough not to be covered by it, otherwise an arrow just inside the part's outline.
func (sh *sheet) leader(b callout.Balloon) {
	const widthMM, edgeMM = 0.22, 0.22
	end := b.End.At
	if b.End.Inside < dotInsideMM {
		end = sh.outline(b)
	}
	sh.over.line(b.Start, end, widthMM+2*edgeMM, paper)
	sh.over.line(b.Start, end, widthMM, markInk)
	if b.End.Inside >= dotInsideMM {
		sh.over.disc(end, dotMM+edgeMM, paper)
		sh.over.disc(end, dotMM, markInk)
		return
	}
	const longMM, halfMM = 1.8, 0.45
	l := math.Hypot(b.Start.X-end.X, b.Start.Y-end.Y)
	if l < longMM {
		return
	}
	ux, uy := (b.Start.X-end.X)/l, (b.Start.Y-end.Y)/l
	head := func(grow float64) lettering.Outline {
		tip := pt(end.X-ux*grow, end.Y-uy*grow)
		x, y, h := end.X+ux*(longMM+grow), end.Y+uy*(longMM+grow), halfMM+grow
		return polygon(tip, pt(x-uy*h, y+ux*h), pt(x+uy*h, y-ux*h))
	}
	sh.over.fill(head(edgeMM/2), paper)
	sh.over.fill(head(0), markInk)
}

// outline returns where a leader comes into the part it ends on: the last place before its anchor from which the way
// to it lies on the part all along, and a little further.
func (sh *sheet) outline(b callout.Balloon) point {
	const stepMM, insideMM = 0.05, 0.25
	dx, dy := b.Start.X-b.End.At.X, b.Start.Y-b.End.At.Y
	l := math.Hypot(dx, dy)
	t := 0.0
	for t+stepMM < l {
		p := pt(b.End.At.X+dx*(t+stepMM)/l, b.End.At.Y+dy*(t+stepMM)/l)
		if i, ok := sh.buffer(p); !ok || sh.buffers.ID(i) != b.End.ID {
			break
		}
		t += stepMM
	}
	t = max(0, t-insideMM)
	return pt(b.End.At.X+dx*t/l, b.End.At.Y+dy*t/l)
}

// balloon draws the circle with its number, and the count outside it, away from the drawing.
func (sh *sheet) balloon(m callout.Mark, b callout.Balloon, r float64) {
	const ringMM = 0.3
	sh.over.disc(b.Centre, r, markInk)
	sh.over.disc(b.Centre, r-ringMM, paper)
	h := lettering.HeadMM * r / balloonMM * 0.9
	sh.over.centred(lettering.Bold, m.Text, h, b.Centre.X, b.Centre.Y, markInk)
	if m.Note == "" {
		return
	}
	const noteMM = 2.2
	w := lettering.Regular.Width(m.Note, noteMM)
	x, y := b.Centre.X, b.Centre.Y
	switch b.Side {
	case callout.Left:
		x -= r + 1 + w/2
	case callout.Right:
		x += r + 1 + w/2
	case callout.Top:
		y -= r + 1 + noteMM/2
	case callout.Bottom:
		y += r + 1 + noteMM/2
	}
	sh.over.centred(lettering.Regular, m.Note, noteMM, x, y, markInk)
}
