package pipeline

import (
	"bytes"
	"fmt"
	"path"
	"slices"
	"strconv"

	"turnwise/assembly"
	"turnwise/assembly/mockup"
	"turnwise/assembly/replay"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
	"turnwise/geom/mesh/threemf"
	"turnwise/geom/sdf"
	"turnwise/render/booklet"
	"turnwise/render/picture"
)

// modelWork is a scale model on its way to files.
type modelWork struct {
	*work
	model    *mockup.Model
	meshes   []*mesh.Mesh // of the pieces, as they lie
	plates   []mockup.Plate
	findings []assembly.Finding
	whole    mockup.Whole
	gauges   []mockup.Gauge
	size     geom.Vec // of the model put together
}

// modelFiles makes the scale model: its plates, pictures of them and of the model put together, gauges at true size, and
// a sheet that tells how. A frame of which no model can be made has no files, and a remark that says why.
func (w *work) modelFiles(o mockup.Options) ([]File, error) {
	w.say("making the scale model")
	model, err := mockup.Build(*w.plan, o)
	if err != nil {
		w.remarks = append(w.remarks, "there is no scale model: "+err.Error())
		return nil, nil
	}
	w.addFitTests(model)
	m := &modelWork{work: w, model: model}
	if m.meshes, err = model.Meshes(); err != nil {
		return nil, fmt.Errorf("the scale model: %w", err)
	}
	var outside []assembly.Finding
	m.plates, outside = model.Plates(m.meshes)
	m.findings = append(slices.Clone(model.Findings), outside...)
	m.examine()
	var out []File
	for _, make := range []func() ([]File, error){m.plateFiles, m.gaugeFiles, m.onePiece, m.assembled, m.sheet} {
		files, err := make()
		if err != nil {
			return nil, err
		}
		out = append(out, files...)
	}
	return out, nil
}

// addFitTests adds a test of the fit for every size of pipe.
func (w *work) addFitTests(m *mockup.Model) {
	seen := map[standard.Size]bool{}
	for _, j := range w.plan.Joints {
		if j.Kind != assembly.Thread {
			continue
		}
		for _, p := range w.plan.Parts {
			if (p.ID == j.A.Part || p.ID == j.B.Part) && p.Kind == standard.Pipe && len(p.Size) > 0 && !seen[p.Size[0]] {
				seen[p.Size[0]] = true
				m.Pieces = append(m.Pieces, m.FitTest(p.Size[0], p.Dims[standard.DimOD].MM, j.EngagementMM)...)
			}
		}
	}
}

// examine replays the model's own plan, and measures every piece as it is printed.
func (m *modelWork) examine() {
	crashed := map[int]bool{}
	told := map[string]bool{}
	for _, f := range replayModel(m.model, m.model.Plan) {
		crashed[f.Step] = crashed[f.Step] || f.Code == replay.CodeCrash
		key := fmt.Sprint(f.Step, f.Code, f.Parts)
		if told[key] { // the same two bodies, met again on the same way
			continue
		}
		told[key] = true
		found := f.Finding()
		found.Severity = assembly.Warn
		found.Text = "the model, unlike the frame: " + f.String()
		m.findings = append(m.findings, found)
	}
	if len(told) > 0 {
		m.remarks = append(m.remarks, m.tooSmall(crashed))
	}
	for _, f := range replayModel(m.model, m.model.WholeTurns()) {
		if f.Code == replay.CodeCrash && !crashed[f.Step] {
			m.findings = append(m.findings, mockup.SwingFinding(f.Step, f.Parts))
		}
	}
	for i, p := range m.model.Pieces {
		m.findings = append(m.findings, mockup.Examine(p.Label(), m.meshes[i]).Findings()...)
	}
}

// replayModel is what the proof finds wrong with a plan of a model, told by the steps of its frame.
func replayModel(m *mockup.Model, plan assembly.Plan) []replay.Failure {
	out := replay.Check(plan, func(p assembly.Part) (sdf.Solid, error) { return m.Solid(p) }).Failures
	for i := range out {
		out[i].Step = m.FrameStep(out[i].Step)
	}
	return out
}

// tooSmall says that a model does not go together as its frame does, and at which larger scale it would.
func (m *modelWork) tooSmall(steps map[int]bool) string {
	words := fmt.Sprintf("the scale model at 1:%g cannot be put together as the frame can: in %d of its %d steps bodies run into one another, because they are fatter than true; its sheet tells where",
		m.model.Scale, len(steps), len(m.model.Plan.Steps))
	for i := len(mockup.Scales) - 1; i >= 0; i-- {
		o := m.model.Options
		if o.Scale = mockup.Scales[i]; o.Scale >= m.model.Scale {
			continue
		}
		need := mockup.NeedsMM(*m.plan, o)
		o.BedMM = [2]float64{need, need}
		if larger, err := mockup.Build(*m.plan, o); err == nil && len(replayModel(larger, larger.Plan)) == 0 {
			return fmt.Sprintf("%s. At 1:%g it can: that takes a bed of %.0f mm", words, o.Scale, need)
		}
	}
	return words
}

// plateFiles writes every plate as STL and 3MF, and its picture.
func (m *modelWork) plateFiles() ([]File, error) {
	var out []File
	for n, plate := range m.plates {
		name := m.plateName(n)
		all := &mesh.Mesh{}
		pack := threemf.Model{
			Title: fmt.Sprintf("%s, model, %s", m.plan.Design.Title, m.plateTitle(n)), Application: "turnwise " + Version,
			Materials: []threemf.Material{{Name: "model", Red: 166, Green: 182, Blue: 197}},
		}
		var shown []picture.Laid
		for _, l := range plate.Laid {
			mesh.Append(all, l.Mesh)
			pack.Items = append(pack.Items, threemf.Item{Object: len(pack.Objects), Pose: geom.Identity()})
			label := m.model.Pieces[l.Piece].Label()
			pack.Objects = append(pack.Objects, threemf.Object{Name: label, Mesh: l.Mesh})
			shown = append(shown, picture.Laid{Mesh: l.Mesh, Label: label})
		}
		var s, p bytes.Buffer
		if err := stl.Write(&s, all); err != nil {
			return nil, fmt.Errorf("writing %s: %w", name, err)
		}
		if err := threemf.Write(&p, pack); err != nil {
			return nil, fmt.Errorf("writing %s: %w", name, err)
		}
		wide, deep := shownBed(plate, m.model.Options.BedMM)
		img, err := picture.Plate(fmt.Sprintf("%s, 1:%g", m.plateTitle(n), m.model.Scale), shown, wide, deep)
		if err != nil {
			return nil, err
		}
		d, err := drawing(img)
		if err != nil {
			return nil, err
		}
		m.drawn[name] = d
		out = append(out, File{name + ".stl", MockupGroup, s.Bytes()}, File{name + ".3mf", MockupGroup, p.Bytes()}, File{name + ".png", MockupGroup, d.PNG})
	}
	return out, nil
}

// shownBed is what of the bed a picture shows: of a plate that is little used, the part that is.
func shownBed(p mockup.Plate, bed [2]float64) (wide, deep float64) {
	const margin, little = 10, 0.6
	for _, l := range p.Laid {
		b := mesh.Bounds(l.Mesh)
		wide, deep = max(wide, b.Max.X+margin), max(deep, b.Max.Y+margin)
	}
	if wide > little*bed[0] || !p.Trial {
		wide = bed[0]
	}
	if deep > little*bed[1] {
		deep = bed[1]
	}
	return wide, deep
}

// trials is how many plates come first, to try the fit.
func (m *modelWork) trials() int {
	n := 0
	for n < len(m.plates) && m.plates[n].Trial {
		n++
	}
	return n
}

// plateName is the file of a plate, without its ending.
func (m *modelWork) plateName(n int) string {
	switch k := m.trials(); {
	case n >= k:
		return fmt.Sprintf("mockup/plate-%d", n-k+1)
	case k > 1:
		return fmt.Sprintf("mockup/fit-test-%d", n+1)
	}
	return "mockup/fit-test"
}

// plateTitle is what a plate is called.
func (m *modelWork) plateTitle(n int) string {
	k := m.trials()
	return booklet.PlateTitle(n < k, n-k+1, len(m.plates)-k)
}

// gaugeFiles writes the gauges, each a file of its own.
func (m *modelWork) gaugeFiles() ([]File, error) {
	var out []File
	m.gauges = mockup.Gauges(*m.plan)
	for i, g := range m.gauges {
		body, _, err := isosurface.Mesh(g.Solid, isosurface.Options{ToleranceMM: mockup.ToleranceMM})
		if err != nil {
			return nil, fmt.Errorf("the gauge %s: %w", g.Name, err)
		}
		var b bytes.Buffer
		if err := stl.Write(&b, body); err != nil {
			return nil, fmt.Errorf("writing the gauge %s: %w", g.Name, err)
		}
		out = append(out, File{gaugeFile(i), MockupGroup, b.Bytes()})
	}
	return out, nil
}

func gaugeFile(i int) string { return fmt.Sprintf("mockup/gauge-%d.stl", i+1) }

// drawnToleranceMM is how far a piece may lie off its surface in the picture of the model put together, which shows a
// quarter of a millimetre of the model in a pixel.
const drawnToleranceMM = 0.12

// onePiece writes the whole frame as one solid, where it is asked for: a file for each piece that it is cut into. Where it
// cannot be made, the rest of the model is.
func (m *modelWork) onePiece() ([]File, error) {
	whole, err := m.model.OnePiece()
	if err != nil {
		m.remarks = append(m.remarks, err.Error())
		return nil, nil
	}
	m.whole = whole
	var out []File
	for i, body := range whole.Pieces {
		name := fmt.Sprintf("mockup/one-piece-%d", i+1)
		var s, p bytes.Buffer
		if err := stl.Write(&s, body); err != nil {
			return nil, fmt.Errorf("writing %s: %w", name, err)
		}
		pack := threemf.Model{
			Title: fmt.Sprintf("%s, in one piece, %d of %d", m.plan.Design.Title, i+1, len(whole.Pieces)), Application: "turnwise " + Version,
			Materials: []threemf.Material{{Name: "model", Red: 166, Green: 182, Blue: 197}},
			Objects:   []threemf.Object{{Name: fmt.Sprintf("one piece %d", i+1), Mesh: body}},
			Items:     []threemf.Item{{Object: 0, Pose: geom.Identity()}},
		}
		if err := threemf.Write(&p, pack); err != nil {
			return nil, fmt.Errorf("writing %s: %w", name, err)
		}
		out = append(out, File{name + ".stl", MockupGroup, s.Bytes()}, File{name + ".3mf", MockupGroup, p.Bytes()})
	}
	return out, nil
}

// assembled draws the model put together. It is drawn at the size of the frame, for which the pictures are made.
func (m *modelWork) assembled() ([]File, error) {
	shapes := map[string]*mesh.Mesh{}
	for i, p := range m.model.Pieces {
		if len(p.Parts) == 0 {
			continue
		}
		body, ok := m.model.Upright(i, m.meshes[i])
		var err error
		if !ok {
			body, _, err = isosurface.Mesh(p.Shown, isosurface.Options{ToleranceMM: drawnToleranceMM})
		}
		if err != nil {
			return nil, fmt.Errorf("the mesh of %s: %w", p.Label(), err)
		}
		if body, err = scaled(body, Scale{m.model.Scale, 1}); err != nil {
			return nil, fmt.Errorf("the mesh of %s: %w", p.Label(), err)
		}
		for _, id := range p.Parts {
			shapes[id] = body
		}
	}
	if err := m.boughtShapes(shapes); err != nil {
		return nil, err
	}
	plan := *m.plan
	plan.Parts = append([]assembly.Part{}, plan.Parts...)
	for i := range plan.Parts {
		origin := m.model.Plan.Parts[i].Pose.Origin.Mul(m.model.Scale) // rods begin where their deeper joints do
		plan.Parts[i].Pose.Origin = origin
	}
	meshes := func(p assembly.Part) *mesh.Mesh { return shapes[p.ID] }
	m.size = picture.Extent(&plan, meshes).Size().Mul(1 / m.model.Scale)
	p, err := picture.Model(&plan, meshes, fmt.Sprintf("scale model 1:%g; sizes of the frame", m.model.Scale))
	if err != nil {
		return nil, fmt.Errorf("drawing the model: %w", err)
	}
	d, err := drawing(p.Image)
	if err != nil {
		return nil, err
	}
	m.drawn["mockup/assembled"] = d
	return []File{{"mockup/assembled.png", MockupGroup, d.PNG}}, nil
}

// boughtShapes adds the bought rods, which are no pieces, to the shapes of a picture.
func (m *modelWork) boughtShapes(shapes map[string]*mesh.Mesh) error {
	made := map[string]*mesh.Mesh{} // by number
	for _, p := range m.model.Plan.Parts {
		if p.Kind != standard.Pipe || shapes[p.ID] != nil {
			continue
		}
		number := strconv.Itoa(p.Number)
		if made[number] == nil {
			solid, err := m.model.Solid(p)
			if err != nil {
				return err
			}
			body, _, err := isosurface.Mesh(solid, isosurface.Options{ToleranceMM: drawnToleranceMM})
			if err != nil {
				return fmt.Errorf("the mesh of %s: %w", p.ID, err)
			}
			if made[number], err = scaled(body, Scale{m.model.Scale, 1}); err != nil {
				return fmt.Errorf("the mesh of %s: %w", p.ID, err)
			}
		}
		shapes[p.ID] = made[number]
	}
	return nil
}

// sheet tells how the model is printed and put together.
func (m *modelWork) sheet() ([]File, error) {
	in := booklet.ModelInput{
		Plan: *m.plan, Model: modelFacts(m.model), Findings: m.findings, Assembled: m.drawn["mockup/assembled"],
		Book: wording.NewBook(units.System(m.plan.Design.Units), m.plan.Parts, m.plan.Joints),
	}
	in.SizeMM = m.size
	for i, g := range m.gauges {
		in.Gauges = append(in.Gauges, booklet.ModelGauge{File: path.Base(gaugeFile(i)), Kind: g.Kind, Name: g.Name})
	}
	in.OnePiece, in.OnePins, in.OneGlued = len(m.whole.Pieces), m.whole.Pins, m.whole.Glued
	for n, p := range m.plates {
		e := p.Estimate()
		in.Plates = append(in.Plates, booklet.ModelPlate{
			Drawing: m.drawn[m.plateName(n)], Title: m.plateTitle(n), File: path.Base(m.plateName(n)), Pieces: len(p.Laid), Grams: e.Grams, Hours: e.Hours, Fill: p.Fill, Height: map[bool]float64{true: trialHigh, false: plateHigh}[p.Trial],
		})
	}
	doc, err := booklet.ComposeModel(in)
	if err != nil {
		return nil, err
	}
	return documentFiles(doc, "mockup/model-sheet", MockupGroup)
}

// How high the pictures of plates are on the sheet, in widths of its text: the fit test and one plate go under the words of the first page,
// two plates on any other.
const trialHigh, plateHigh = 0.26, 0.41

// modelFacts is what the sheet tells of a model.
func modelFacts(m *mockup.Model) booklet.ModelFacts {
	f := booklet.ModelFacts{Scale: "1:" + strconv.FormatFloat(m.Scale, 'f', -1, 64), Pins: m.Pins, PinMM: mockup.PinMM, ClearanceMM: m.Options.ClearanceMM}
	for _, p := range m.Pieces {
		f.Pieces = append(f.Pieces, booklet.ModelPiece{Label: p.Label(), Kind: p.Kind, Half: p.Half, Mark: p.Number > 0, Parts: p.Parts, Count: p.Count})
	}
	for i := range f.Pieces {
		f.Pieces[i].LongMM = rodLength(m, m.Pieces[i])
	}
	f.Divide = m.Scale
	if len(m.Trial) > 0 {
		f.TrialMM = m.Trial
	}
	for _, r := range m.Rods {
		f.Rods = append(f.Rods, booklet.ModelRod{Label: r.Label, DiameterMM: r.DiameterMM, LengthMM: r.LengthMM, Count: r.Count})
	}
	for _, t := range m.Thickened {
		f.Thick = append(f.Thick, booklet.ModelThick{What: t.What, TrueMM: t.TrueMM, IsMM: t.IsMM})
	}
	return f
}

// rodLength is how long a piece is that is a rod; 0 for others.
func rodLength(m *mockup.Model, p mockup.Piece) float64 {
	if p.Kind != standard.Pipe || len(p.Parts) == 0 {
		return 0
	}
	for i := range m.Plan.Parts {
		if m.Plan.Parts[i].ID == p.Parts[0] {
			return m.Plan.Parts[i].LengthMM
		}
	}
	return 0
}
