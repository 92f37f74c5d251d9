package booklet

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/render/sheets"
)

// ModelInput is what the sheet of a scale model is made from.
type ModelInput struct {
	Plan      assembly.Plan // of the frame
	Book      *wording.Book
	Model     ModelFacts
	Plates    []ModelPlate
	Findings  []assembly.Finding // of the model
	Assembled *sheets.Drawing
	SizeMM    geom.Vec // of the model put together
	Gauges    []ModelGauge
	// OnePiece is into how many pieces the model in one piece is cut, 0 where there is none; OnePins how many pins join
	// them, OneGlued how many cuts have to be glued.
	OnePiece, OnePins, OneGlued int
}

// ModelFacts are the figures of a model.
type ModelFacts struct {
	Scale       string
	Pieces      []ModelPiece
	Rods        []ModelRod
	Thick       []ModelThick
	Pins        int
	PinMM       float64
	ClearanceMM float64
	// TrialMM are the clearances of the sockets of the fit test, in the order of their notches.
	TrialMM []float64
	Divide  float64 // the frame is so many times larger
}

// ModelPiece is one distinct piece to print.
type ModelPiece struct {
	Label string // its mark, or, where it has none, its name
	Kind  standard.Kind
	Half  string // "a" or "b" of a union
	Mark  bool
	Parts []string
	Count int
	// LongMM is the length of a rod, 0 for what is no rod.
	LongMM float64
}

// ModelGauge is a tool at true size.
type ModelGauge struct{ File, Kind, Name string }

// ModelRod is a length of bought rod.
type ModelRod struct {
	Label                string
	DiameterMM, LengthMM float64
	Count                int
}

// ModelThick is a dimension that is not true to scale.
type ModelThick struct {
	What         string
	TrueMM, IsMM float64
}

// ModelPlate is one plate.
type ModelPlate struct {
	Drawing *sheets.Drawing
	Title   string // "plate 1 of 2"
	File    string // without folder and ending
	Pieces  int
	Grams   float64
	Hours   float64
	Fill    float64
	Height  float64 // of its picture, in widths of the text
}

// modeller is a ModelInput with its words.
type modeller struct {
	ModelInput
	say   *wording.Pages
	label map[string]string // of the piece of each part
}

// ComposeModel makes the sheet of a scale model.
func ComposeModel(in ModelInput) (*sheets.Document, error) {
	say := wording.InUse()
	m := &modeller{ModelInput: in, say: say, label: map[string]string{}}
	for _, p := range in.Model.Pieces {
		for _, id := range p.Parts {
			m.label[id] = p.Label
		}
	}
	for _, p := range in.Plan.Parts {
		if m.label[p.ID] == "" && p.Number > 0 {
			m.label[p.ID] = strconv.Itoa(p.Number)
		}
	}
	title := say.Say("model.title", in.Plan.Design.Title, in.Model.Scale)
	return &sheets.Document{Title: title, Language: say.Say("language.tag"), Foot: title, Sections: []sheets.Section{m.about(title), m.printing(), m.pieces(), m.order(), m.gauges()}}, nil
}

func (m *modeller) about(title string) sheets.Section {
	lead := m.say.Say("model.lead")
	if len(m.Model.Rods) > 0 {
		lead = m.say.Say("model.lead-bought")
	}
	s := sheets.Section{ID: "model", Title: title, Blocks: []sheets.Block{sheets.Text{Words: lead, Large: true}}}
	if m.Assembled != nil {
		pic := *m.Assembled
		pic.Alt = m.say.Say("model.alt", m.Plan.Design.Title)
		s.Blocks = append(s.Blocks, sheets.Figure{Drawing: &pic, Caption: m.say.Say("model.caption"), Height: 0.42})
	}
	s.Blocks = append(s.Blocks, m.takes(), sheets.Subhead{Words: m.say.Say("model.how")}, sheets.List{Items: m.joints()})
	if len(m.Findings) > 0 {
		var items []string
		for _, f := range m.Findings {
			items = append(items, sentence(f.Text))
		}
		s.Blocks = append(s.Blocks, sheets.Notice{Title: m.say.Say("model.findings"), Items: items})
	}
	return s
}

// takes is what the model comes to.
func (m *modeller) takes() sheets.Facts {
	pieces, plates, grams := 0, 0, 0.0
	for _, p := range m.Plates {
		pieces, plates, grams = pieces+p.Pieces, plates+1, grams+p.Grams
	}
	fact := func(head, words string) sheets.Fact {
		return sheets.Fact{Head: head, Words: words}
	}
	whole := func(v float64) string { return strconv.FormatFloat(math.Ceil(v), 'f', 0, 64) }
	items := []sheets.Fact{
		fact(m.say.Say("model.size", whole(m.SizeMM.X), whole(m.SizeMM.Y), whole(m.SizeMM.Z)), m.say.Say("model.size-is")),
		fact(m.say.Say("model.amount", strconv.Itoa(pieces), strconv.Itoa(plates)), m.say.Say("model.grams", whole(grams))),
	}
	if n := m.Model.Pins; n > 0 {
		items = append(items, fact(m.say.Say("model.pin-count", strconv.Itoa(n)), m.say.Say("model.pin-cut", millimetres(m.Model.PinMM))))
	}
	return sheets.Facts{Items: items}
}

// joints tells how the joints work that the model has.
func (m *modeller) joints() []string {
	has := func(kinds ...standard.Kind) bool {
		return slices.ContainsFunc(m.Plan.Parts, func(p assembly.Part) bool { return slices.Contains(kinds, p.Kind) })
	}
	how := []string{m.say.Say("model.joint"), m.say.Say("model.stuck")}
	if len(m.Model.Rods) > 0 {
		how = []string{m.say.Say("model.joint-bought")}
	}
	if has(standard.Union) {
		how = append(how, m.say.Say("model.union"))
	}
	if has(standard.RightLeft) {
		how = append(how, m.say.Say("model.right-left"))
	}
	if has(standard.LongScrew) {
		how = append(how, m.say.Say("model.long-screw"))
	}
	if m.Model.Pins > 0 {
		how = append(how, m.say.Say("model.pins"))
	}
	return append(how, m.say.Say("model.tags"))
}

// thick is what is not true to scale, and by how much.
func (m *modeller) thick() sheets.Table {
	t := sheets.Table{Columns: []sheets.Column{
		{Title: m.say.Say("model.what")}, {Title: m.say.Say("model.true"), Right: true}, {Title: m.say.Say("model.is"), Right: true}, {Title: m.say.Say("model.by"), Right: true},
	}}
	for _, k := range m.Model.Thick {
		by := millimetres(k.IsMM - k.TrueMM)
		if k.IsMM > k.TrueMM {
			by = "+" + by
		}
		t.Rows = append(t.Rows, []string{k.What, millimetres(k.TrueMM), millimetres(k.IsMM), by})
	}
	return t
}

func millimetres(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) + " mm" }

func (m *modeller) printing() sheets.Section {
	var clearances []string
	for _, c := range m.Model.TrialMM {
		clearances = append(clearances, strconv.FormatFloat(c, 'f', 2, 64))
	}
	steps := []string{m.say.Say("model.layers"), m.say.Say("model.care")}
	if len(clearances) > 0 {
		steps = slices.Insert(steps, 0, m.say.Say("model.fit-test", wording.And(clearances), strconv.FormatFloat(m.Model.ClearanceMM, 'f', 2, 64)))
	}
	s := sheets.Section{ID: "printing", Title: m.say.Say("model.printing"), NewPage: true, Blocks: []sheets.Block{sheets.List{Items: steps}}}
	if m.OnePiece > 0 {
		s.Blocks = append(s.Blocks, sheets.Text{Words: m.say.Say("model.one-piece", strconv.Itoa(m.OnePiece), strconv.Itoa(m.OnePins), strconv.Itoa(m.OneGlued))})
	}
	for _, p := range m.Plates {
		if p.Drawing == nil {
			continue
		}
		pic := *p.Drawing
		pic.Alt = m.say.Say("model.plate-alt", p.Title, strconv.Itoa(p.Pieces))
		caption := m.say.Say("model.plate", p.File, sentence(p.Title), strconv.Itoa(p.Pieces), strconv.FormatFloat(math.Ceil(p.Grams), 'f', 0, 64), m.hours(p.Hours), strconv.FormatFloat(100*p.Fill, 'f', 0, 64))
		s.Blocks = append(s.Blocks, sheets.Figure{Drawing: &pic, Caption: caption, Height: p.Height})
	}
	return s
}

func (m *modeller) pieces() sheets.Section {
	t := sheets.Table{Columns: []sheets.Column{
		{Title: m.say.Say("model.mark")}, {Title: m.say.Say("model.piece")}, {Title: m.say.Say("model.length"), Right: true}, {Title: m.say.Say("model.count"), Right: true}, {Title: m.say.Say("model.for")},
	}}
	var rest [][]string // what has no mark comes last
	for _, p := range m.Model.Pieces {
		if !p.Mark {
			rest = append(rest, []string{m.say.Say("model.no-mark"), p.Label, "", strconv.Itoa(p.Count), ""})
			continue
		}
		name, long := wording.KindName(p.Kind), ""
		switch {
		case p.Kind == standard.Pipe:
			name, long = m.say.Say("model.piece-rod"), strconv.FormatFloat(p.LongMM, 'f', 1, 64)+" mm"
		case p.Half != "":
			name = m.say.Say("model.piece-half", name, p.Half)
		}
		t.Rows = append(t.Rows, []string{p.Label, name, long, strconv.Itoa(p.Count), strings.Join(p.Parts, ", ")})
	}
	t.Rows = append(t.Rows, rest...)
	s := sheets.Section{ID: "pieces", Title: m.say.Say("model.pieces"), NewPage: true, Blocks: []sheets.Block{sheets.Text{Words: m.say.Say("model.variants")}, t}}
	if len(m.Model.Rods) > 0 {
		r := sheets.Table{Columns: []sheets.Column{{Title: m.say.Say("model.mark")}, {Title: m.say.Say("model.rod"), Right: true}, {Title: m.say.Say("model.length"), Right: true}, {Title: m.say.Say("model.count"), Right: true}}}
		total := 0.0
		for _, k := range m.Model.Rods {
			total += k.LengthMM * float64(k.Count)
			r.Rows = append(r.Rows, []string{k.Label, millimetres(k.DiameterMM), strconv.FormatFloat(k.LengthMM, 'f', 1, 64) + " mm", strconv.Itoa(k.Count)})
		}
		s.Blocks = append(s.Blocks, sheets.Subhead{Words: m.say.Say("model.rods")},
			sheets.Text{Words: m.say.Say("model.rods-lead", strconv.FormatFloat(math.Ceil(total/100)/10, 'f', 1, 64))}, r)
	}
	if len(m.Model.Thick) > 0 {
		s.Blocks = append(s.Blocks, sheets.Subhead{Words: m.say.Say("model.thick")}, sheets.Text{Words: m.say.Say("model.true-lead")}, m.thick())
	}
	return s
}

// gauges are the tools at true size; the section has no more than a line where there are none.
func (m *modeller) gauges() sheets.Section {
	s := sheets.Section{ID: "gauges", Title: m.say.Say("model.gauges"), Blocks: []sheets.Block{sheets.Text{Words: m.say.Say("model.gauges-lead")}}}
	if len(m.Gauges) == 0 {
		s.Blocks = []sheets.Block{sheets.Text{Words: m.say.Say("model.no-gauges")}}
		return s
	}
	t := sheets.Table{Columns: []sheets.Column{{Title: m.say.Say("model.file")}, {Title: m.say.Say("model.gauge")}}}
	for _, g := range m.Gauges {
		t.Rows = append(t.Rows, []string{g.File, g.Name + ": " + m.gauge(g.Kind)})
	}
	s.Blocks = append(s.Blocks, t)
	return s
}

// nearReachMM is the reach of what turns, in steel, from which it is told: less is within a hand's breadth.
const nearReachMM = 80

// gauge is what a gauge is for.
func (m *modeller) gauge(kind string) string {
	switch kind {
	case "ring":
		return m.say.Say("model.gauge-ring")
	case "holes":
		return m.say.Say("model.gauge-holes")
	}
	return m.say.Say("model.gauge-plug")
}

// PlateTitle is what the nth plate of so many is called; a trial is the fit test.
func PlateTitle(trial bool, n, of int) string {
	if trial {
		return wording.InUse().Say("model.trial-title")
	}
	return wording.InUse().Say("model.plate-title", strconv.Itoa(n), strconv.Itoa(of))
}

// hours is how long a plate takes to print, in words.
func (m *modeller) hours(h float64) string {
	switch {
	case h < 1:
		return m.say.Say("model.time-hour")
	case h < 4:
		return m.say.Say("model.time-afternoon")
	case h < 12:
		return m.say.Say("model.time-night")
	}
	return m.say.Say("model.time-day")
}

// order tells the steps in the words of the model.
func (m *modeller) order() sheets.Section {
	s := sheets.Section{ID: "order", Title: m.say.Say("model.order"), NewPage: true, Blocks: []sheets.Block{sheets.Text{Words: m.say.Say("model.order-lead")}}}
	t := sheets.Table{Columns: []sheets.Column{{Title: m.say.Say("model.step")}, {Title: m.say.Say("model.do")}, {Title: m.say.Say("model.swing-steel"), Right: true}, {Title: m.say.Say("model.swing"), Right: true}}}
	system := units.System(m.Plan.Design.Units)
	for _, st := range m.Plan.Steps {
		if st.Action == assembly.Adjust {
			continue
		}
		steel, small := "", ""
		if r := st.SwingRadiusMM; r >= nearReachMM && m.Model.Divide > 0 {
			steel, small = wording.Near(system, r), strconv.FormatFloat(r/m.Model.Divide, 'f', 0, 64)+" mm"
		}
		t.Rows = append(t.Rows, []string{strconv.Itoa(st.Number), m.step(st), steel, small})
	}
	s.Blocks = append(s.Blocks, t)
	return s
}

func (m *modeller) step(st assembly.Step) string {
	what, onto := m.names(st.Moves), m.names(st.Onto)
	words := ""
	switch {
	case st.Action == assembly.Screw && len(st.Joints) > 1:
		words = m.say.Say("model.do-pair", what, onto)
	case st.Action == assembly.Screw && len(st.Joints) > 0 && m.handOf(st.Joints[0]) == "left":
		words = m.say.Say("model.do-left", what, onto)
	case st.Action == assembly.Screw && len(st.Joints) > 0:
		words = m.say.Say("model.do-screw", what, onto)
	case st.Action == assembly.JoinUnion:
		words = m.say.Say("model.do-union", m.names(m.bodies(st.Joints)))
	case st.Action == assembly.Fasten && len(st.Moves) == 0:
		words = m.say.Say("model.do-pins", m.names(slices.DeleteFunc(slices.Clone(st.Onto), func(id string) bool { return m.label[id] == "" })))
	case st.Action == assembly.Fasten || st.Action == assembly.PutStrap:
		words = m.say.Say("model.do-pin", what, onto)
	case st.Action == assembly.StandUp:
		words = m.say.Say("model.do-stand", what)
	case st.Action == assembly.ThreadOn:
		words = m.say.Say("model.do-thread", what, onto)
	case len(st.Onto) == 0:
		words = m.say.Say("model.do-begin", what)
	case m.runsBack(st):
		words = m.say.Say("model.do-run-back", what, onto)
	default:
		words = m.say.Say("model.do-put", what, onto)
	}
	var again []string
	for _, r := range st.Repeats {
		again = append(again, m.names(r.Moves))
	}
	if len(again) > 0 {
		words += " " + m.say.Say("model.do-again", wording.And(again))
	}
	return words
}

// handOf is the hand of a joint's thread.
func (m *modeller) handOf(id string) string {
	for _, j := range m.Plan.Joints {
		if j.ID == id {
			return j.Hand
		}
	}
	return ""
}

// runsBack tells whether a step brings a long screw on to its running thread.
func (m *modeller) runsBack(st assembly.Step) bool {
	return slices.ContainsFunc(m.Plan.Parts, func(p assembly.Part) bool {
		return p.Kind == standard.LongScrew && (slices.Contains(st.Moves, p.ID) || slices.Contains(st.Onto, p.ID))
	})
}

// bodies are the parts at the ends of joints.
func (m *modeller) bodies(joints []string) []string {
	var out []string
	for _, j := range m.Plan.Joints {
		if slices.Contains(joints, j.ID) {
			out = append(out, j.A.Part, j.B.Part)
		}
	}
	return out
}

// names are the labels of parts; of many, the first and how many more.
func (m *modeller) names(ids []string) string {
	const most = 4
	var words []string
	for _, id := range ids {
		name := id
		if l := m.label[id]; l != "" {
			name = fmt.Sprintf("%s (%s)", l, id)
		}
		words = append(words, name)
	}
	if len(words) > most {
		return m.say.Say("model.and-more", words[0], strconv.Itoa(len(words)-1))
	}
	return wording.And(words)
}
