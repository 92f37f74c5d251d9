package booklet

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/assembly/wording"
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
}

// ModelPiece is one distinct piece to print.
type ModelPiece struct {
	Label string
	Kind  standard.Kind
	Parts []string
	Count int
}

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
	Pieces  int
	Grams   float64
	Class   string
	Fill    float64
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
	return &sheets.Document{Title: title, Language: say.Say("language.tag"), Foot: title, Sections: []sheets.Section{m.about(title), m.printing(), m.pieces(), m.order()}}, nil
}

func (m *modeller) about(title string) sheets.Section {
	s := sheets.Section{ID: "model", Title: title, Blocks: []sheets.Block{sheets.Text{Words: m.say.Say("model.lead"), Large: true}}}
	if m.Assembled != nil {
		pic := *m.Assembled
		pic.Alt = m.say.Say("model.alt", m.Plan.Design.Title)
		s.Blocks = append(s.Blocks, sheets.Figure{Drawing: &pic, Caption: m.say.Say("model.caption"), Height: 0.5})
	}
	how := []string{m.say.Say("model.joint"), m.say.Say("model.union"), m.say.Say("model.pins", strconv.Itoa(m.Model.Pins), millimetres(m.Model.PinMM)), m.say.Say("model.tags")}
	s.Blocks = append(s.Blocks, sheets.List{Items: how})
	if len(m.Findings) > 0 {
		var items []string
		for _, f := range m.Findings {
			items = append(items, sentence(f.Text))
		}
		s.Blocks = append(s.Blocks, sheets.Notice{Title: m.say.Say("model.findings"), Items: items})
	}
	if len(m.Model.Thick) > 0 {
		t := sheets.Table{Columns: []sheets.Column{{Title: m.say.Say("model.what")}, {Title: m.say.Say("model.true"), Right: true}, {Title: m.say.Say("model.is"), Right: true}}}
		for _, k := range m.Model.Thick {
			t.Rows = append(t.Rows, []string{k.What, millimetres(k.TrueMM), millimetres(k.IsMM)})
		}
		s.Blocks = append(s.Blocks, sheets.Subhead{Words: m.say.Say("model.thick")}, t)
	}
	return s
}

func millimetres(v float64) string { return strconv.FormatFloat(v, 'f', 2, 64) + " mm" }

func (m *modeller) printing() sheets.Section {
	s := sheets.Section{ID: "printing", Title: m.say.Say("model.printing"), NewPage: true, Blocks: []sheets.Block{
		sheets.List{Items: []string{m.say.Say("model.layers"), m.say.Say("model.fit-test", millimetres(m.Model.ClearanceMM)), m.say.Say("model.care")}},
	}}
	if m.OnePiece > 0 {
		s.Blocks = append(s.Blocks, sheets.Text{Words: m.say.Say("model.one-piece", strconv.Itoa(m.OnePiece), strconv.Itoa(m.OnePins), strconv.Itoa(m.OneGlued))})
	}
	for i, p := range m.Plates {
		if p.Drawing == nil {
			continue
		}
		pic := *p.Drawing
		pic.Alt = m.say.Say("model.plate-alt", strconv.Itoa(i+1), strconv.Itoa(p.Pieces))
		caption := m.say.Say("model.plate", strconv.Itoa(i+1), strconv.Itoa(p.Pieces), strconv.FormatFloat(p.Grams, 'f', 0, 64), p.Class, strconv.FormatFloat(100*p.Fill, 'f', 0, 64))
		s.Blocks = append(s.Blocks, sheets.Figure{Drawing: &pic, Caption: caption, Height: 0.48})
	}
	return s
}

func (m *modeller) pieces() sheets.Section {
	t := sheets.Table{Columns: []sheets.Column{{Title: m.say.Say("model.mark")}, {Title: m.say.Say("model.piece")}, {Title: m.say.Say("model.count"), Right: true}, {Title: m.say.Say("model.for")}}}
	for _, p := range m.Model.Pieces {
		t.Rows = append(t.Rows, []string{p.Label, wording.KindName(p.Kind), strconv.Itoa(p.Count), strings.Join(p.Parts, ", ")})
	}
	s := sheets.Section{ID: "pieces", Title: m.say.Say("model.pieces"), NewPage: true, Blocks: []sheets.Block{sheets.Text{Words: m.say.Say("model.variants")}, t}}
	if len(m.Model.Rods) > 0 {
		r := sheets.Table{Columns: []sheets.Column{{Title: m.say.Say("model.mark")}, {Title: m.say.Say("model.rod")}, {Title: m.say.Say("model.length"), Right: true}, {Title: m.say.Say("model.count"), Right: true}}}
		for _, k := range m.Model.Rods {
			r.Rows = append(r.Rows, []string{k.Label, millimetres(k.DiameterMM), millimetres(k.LengthMM), strconv.Itoa(k.Count)})
		}
		s.Blocks = append(s.Blocks, sheets.Subhead{Words: m.say.Say("model.rods")}, r)
	}
	return s
}

// order tells the steps in the words of the model.
func (m *modeller) order() sheets.Section {
	s := sheets.Section{ID: "order", Title: m.say.Say("model.order"), NewPage: true, Blocks: []sheets.Block{sheets.Text{Words: m.say.Say("model.order-lead")}}}
	t := sheets.Table{Columns: []sheets.Column{{Title: m.say.Say("model.step")}, {Title: m.say.Say("model.do")}}}
	for _, st := range m.Plan.Steps {
		if st.Action == assembly.Adjust {
			continue
		}
		t.Rows = append(t.Rows, []string{strconv.Itoa(st.Number), m.step(st)})
	}
	s.Blocks = append(s.Blocks, t)
	return s
}

func (m *modeller) step(st assembly.Step) string {
	what, onto := m.names(st.Moves), m.names(st.Onto)
	words := ""
	switch {
	case st.Action == assembly.Screw && len(st.Joints) > 0:
		words = m.say.Say("model.do-screw", what, onto)
	case st.Action == assembly.JoinUnion:
		words = m.say.Say("model.do-union", m.names(m.bodies(st.Joints)))
	case st.Action == assembly.Fasten || st.Action == assembly.PutStrap:
		words = m.say.Say("model.do-pin", what, onto)
	case st.Action == assembly.StandUp:
		words = m.say.Say("model.do-stand", what)
	case st.Action == assembly.ThreadOn:
		words = m.say.Say("model.do-thread", what, onto)
	case len(st.Onto) == 0:
		words = m.say.Say("model.do-begin", what)
	default:
		words = m.say.Say("model.do-put", what, onto)
	}
	if n := len(st.Repeats); n > 0 {
		words += " " + m.say.Say("model.do-again", strconv.Itoa(n))
	}
	return words
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
