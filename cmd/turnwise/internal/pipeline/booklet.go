package pipeline

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/bom"
	"turnwise/geom/mesh"
	"turnwise/render/booklet"
	"turnwise/render/picture"
	"turnwise/render/sheets"
)

// The frame on the page in which a part is drawn, in millimetres.
const (
	portraitWideMM = 50
	portraitHighMM = 32
)

// bookletFiles sets the instructions, from the pictures already drawn.
func (w *work) bookletFiles() ([]File, error) {
	w.say("setting the booklet")
	in := booklet.Input{
		Plan: *w.plan, Loads: w.solved.Loads, ToleranceMM: w.solved.ToleranceMM,
		Sticks: bom.Sticks(w.solved), KerfMM: bom.KerfMM,
		Finished: w.drawn["finished"], Exploded: w.drawn["exploded"],
		Steps: map[int]*sheets.Drawing{}, Parts: map[int]*sheets.Drawing{}, PartsPerMM: picture.PortraitPerMM,
	}
	for name, d := range w.drawn {
		if n, err := strconv.Atoi(strings.TrimPrefix(name, "step-")); err == nil {
			in.Steps[n] = d
		}
	}
	for i, m := range w.modules {
		in.Groups = append(in.Groups, booklet.Group{Step: m.Step, Drawing: w.drawn[picture.ModuleName(i+1)]})
	}
	meshes := func(p assembly.Part) *mesh.Mesh { return w.meshes[p.Solid] }
	in.Built = picture.Extent(w.plan, meshes)
	portraits, scale, err := picture.Portraits(w.plan, meshes, portraitWideMM, portraitHighMM)
	if err != nil {
		return nil, fmt.Errorf("drawing the parts: %w", err)
	}
	in.PartsScale = "1:" + strconv.FormatFloat(scale, 'f', -1, 64)
	for _, p := range portraits {
		if in.Parts[p.Number], err = drawing(p.Image); err != nil {
			return nil, err
		}
	}
	legend, err := picture.Legend()
	if err != nil {
		return nil, fmt.Errorf("drawing the legend: %w", err)
	}
	if in.Legend, err = drawing(legend.Image); err != nil {
		return nil, err
	}
	doc, err := booklet.Compose(in)
	if err != nil {
		return nil, err
	}
	return documentFiles(doc, "booklet", BookletGroup)
}

// documentFiles writes a document as a web page and as a PDF file.
func documentFiles(doc *sheets.Document, path, group string) ([]File, error) {
	var page, pdf bytes.Buffer
	if err := booklet.WriteHTML(&page, doc); err != nil {
		return nil, err
	}
	if err := sheets.WritePDF(&pdf, doc); err != nil {
		return nil, err
	}
	return []File{{path + ".html", group, page.Bytes()}, {path + ".pdf", group, pdf.Bytes()}}, nil
}

// drawing is a picture with its encoding.
func drawing(img image.Image) (*sheets.Drawing, error) {
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, fmt.Errorf("encoding a picture: %w", err)
	}
	return &sheets.Drawing{Image: img, PNG: slices.Clone(b.Bytes())}, nil
}
