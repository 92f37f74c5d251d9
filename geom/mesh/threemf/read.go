package threemf

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strconv"
	"strings"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// Limits of Read: what a file may claim. A model of a hundred parts takes some megabytes.
const (
	MaxBytes        = 256 << 20 // of one part, unpacked
	maxPackageParts = 1000
)

// Errors of Read; what it returns wraps one of these or an error of the ZIP or XML reader.
var (
	ErrPackage  = errors.New("this is not a 3MF package")
	ErrTooLarge = errors.New("a part of the package is too large")
	ErrModel    = errors.New("the model says something that it must not")
	ErrBeyond   = errors.New("the model needs something beyond the core specification that is read here")
)

// Read reads a package of size bytes.
func Read(r io.ReaderAt, size int64) (Model, error) {
	z, err := zip.NewReader(r, size)
	if err != nil {
		return Model{}, fmt.Errorf("reading 3MF: %w: %w", ErrPackage, err)
	}
	if len(z.File) > maxPackageParts {
		return Model{}, fmt.Errorf("reading 3MF: %w", ErrTooLarge)
	}
	target, err := modelTarget(z)
	if err != nil {
		return Model{}, fmt.Errorf("reading 3MF: %w", err)
	}
	b, err := part(z, target)
	if err != nil {
		return Model{}, fmt.Errorf("reading 3MF: %w", err)
	}
	m, err := decode(b)
	if err != nil {
		return Model{}, fmt.Errorf("reading 3MF: %w", err)
	}
	return m, nil
}

// part unpacks one part of the package.
func part(z *zip.Reader, name string) ([]byte, error) {
	for _, f := range z.File {
		if f.Name != name {
			continue
		}
		r, err := f.Open()
		if err != nil {
			return nil, err
		}
		defer r.Close()
		b, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
		if err == nil && len(b) > MaxBytes {
			err = ErrTooLarge
		}
		return b, err
	}
	return nil, fmt.Errorf("%w: it has no %s", ErrPackage, name)
}

// modelTarget follows the relationships to the model, and checks that the package says what it is.
func modelTarget(z *zip.Reader) (string, error) {
	b, err := part(z, relsPath)
	if err != nil {
		return "", err
	}
	var rels struct {
		XMLName xml.Name `xml:"http://schemas.openxmlformats.org/package/2006/relationships Relationships"`
		List    []struct {
			Type   string `xml:"Type,attr"`
			Target string `xml:"Target,attr"`
		} `xml:"Relationship"`
	}
	if err := xml.Unmarshal(b, &rels); err != nil {
		return "", fmt.Errorf("%w: %w", ErrPackage, err)
	}
	for _, r := range rels.List {
		if r.Type == modelRel {
			target := strings.TrimPrefix(r.Target, "/")
			return target, checkType(z, target)
		}
	}
	return "", fmt.Errorf("%w: no relationship names a model", ErrPackage)
}

// checkType checks that the content types give the model's.
func checkType(z *zip.Reader, target string) error {
	b, err := part(z, typesPath)
	if err != nil {
		return err
	}
	var types struct {
		XMLName xml.Name `xml:"http://schemas.openxmlformats.org/package/2006/content-types Types"`
		Default []struct {
			Extension string `xml:"Extension,attr"`
			Type      string `xml:"ContentType,attr"`
		} `xml:"Default"`
		Override []struct {
			Part string `xml:"PartName,attr"`
			Type string `xml:"ContentType,attr"`
		} `xml:"Override"`
	}
	if err := xml.Unmarshal(b, &types); err != nil {
		return fmt.Errorf("%w: %w", ErrPackage, err)
	}
	for _, o := range types.Override {
		if o.Part == "/"+target && o.Type == modelType {
			return nil
		}
	}
	for _, d := range types.Default {
		if strings.EqualFold("."+d.Extension, path.Ext(target)) && d.Type == modelType {
			return nil
		}
	}
	return fmt.Errorf("%w: %s has not the content type of a model", ErrPackage, target)
}

// modelXML is the model part.
type modelXML struct {
	XMLName  xml.Name `xml:"http://schemas.microsoft.com/3dmanufacturing/core/2015/02 model"`
	Unit     string   `xml:"unit,attr"`
	Required string   `xml:"requiredextensions,attr"`
	Metadata []struct {
		Name string `xml:"name,attr"`
		Text string `xml:",chardata"`
	} `xml:"metadata"`
	Resources struct {
		Materials []struct {
			ID   int `xml:"id,attr"`
			Base []struct {
				Name   string `xml:"name,attr"`
				Colour string `xml:"displaycolor,attr"`
			} `xml:"base"`
		} `xml:"basematerials"`
		Objects []objectXML `xml:"object"`
	} `xml:"resources"`
	Items []struct {
		Object    int    `xml:"objectid,attr"`
		Transform string `xml:"transform,attr"`
	} `xml:"build>item"`
}

type objectXML struct {
	ID         int       `xml:"id,attr"`
	Name       string    `xml:"name,attr"`
	PID        int       `xml:"pid,attr"`
	PIndex     int       `xml:"pindex,attr"`
	Components *struct{} `xml:"components"`
	Vertices   []struct {
		X float64 `xml:"x,attr"`
		Y float64 `xml:"y,attr"`
		Z float64 `xml:"z,attr"`
	} `xml:"mesh>vertices>vertex"`
	Triangles []struct {
		A int32 `xml:"v1,attr"`
		B int32 `xml:"v2,attr"`
		C int32 `xml:"v3,attr"`
	} `xml:"mesh>triangles>triangle"`
}

func decode(b []byte) (Model, error) {
	var x modelXML
	d := xml.NewDecoder(bytes.NewReader(b))
	if err := d.Decode(&x); err != nil {
		return Model{}, fmt.Errorf("%w: %w", ErrModel, err)
	}
	switch {
	case x.Required != "":
		return Model{}, fmt.Errorf("%w: %q", ErrBeyond, x.Required)
	case x.Unit != "" && x.Unit != "millimeter":
		return Model{}, fmt.Errorf("%w: its unit is %q", ErrBeyond, x.Unit)
	case len(x.Resources.Materials) != 1:
		return Model{}, fmt.Errorf("%w: %d lists of materials", ErrBeyond, len(x.Resources.Materials))
	}
	m := Model{}
	for _, t := range x.Metadata {
		switch t.Name {
		case "Title":
			m.Title = t.Text
		case "Application":
			m.Application = t.Text
		}
	}
	list := x.Resources.Materials[0]
	for _, c := range list.Base {
		v, err := strconv.ParseUint(strings.TrimPrefix(c.Colour, "#"), 16, 32)
		if err != nil || len(c.Colour) != 7 || c.Colour[0] != '#' {
			return m, fmt.Errorf("%w: colour %q", ErrModel, c.Colour)
		}
		m.Materials = append(m.Materials, Material{c.Name, uint8(v >> 16), uint8(v >> 8), uint8(v)})
	}
	number := map[int]int{}
	for _, o := range x.Resources.Objects {
		if _, twice := number[o.ID]; twice || o.ID < 1 || o.ID == list.ID || o.PID != list.ID {
			return m, fmt.Errorf("%w: object %d", ErrModel, o.ID)
		}
		if o.Components != nil {
			return m, fmt.Errorf("%w: object %d has components", ErrBeyond, o.ID)
		}
		number[o.ID] = len(m.Objects)
		m.Objects = append(m.Objects, o.object())
	}
	for _, it := range x.Items {
		k, ok := number[it.Object]
		if !ok {
			return m, fmt.Errorf("%w: an item of object %d", ErrModel, it.Object)
		}
		pose, err := parseTransform(it.Transform)
		if err != nil {
			return m, err
		}
		m.Items = append(m.Items, Item{k, pose})
	}
	if err := m.check(); err != nil {
		return m, fmt.Errorf("%w: %w", ErrModel, err)
	}
	return m, nil
}

func (o *objectXML) object() Object {
	out := Object{Name: o.Name, Material: o.PIndex, Mesh: &mesh.Mesh{}}
	for _, v := range o.Vertices {
		out.Mesh.Vertices = append(out.Mesh.Vertices, mesh.Round32Vec(geom.V(v.X, v.Y, v.Z)))
	}
	for _, t := range o.Triangles {
		out.Mesh.Triangles = append(out.Mesh.Triangles, [3]int32{t.A, t.B, t.C})
	}
	return out
}

// parseTransform reads twelve numbers; none is the identity.
func parseTransform(text string) (geom.Pose, error) {
	if text == "" {
		return geom.Identity(), nil
	}
	words := strings.Fields(text)
	if len(words) != 12 {
		return geom.Pose{}, fmt.Errorf("%w: a transform of %d numbers", ErrModel, len(words))
	}
	var v [4]geom.Vec
	for i := range v {
		var x [3]float64
		for k := range x {
			f, err := strconv.ParseFloat(words[3*i+k], 64)
			if err != nil {
				return geom.Pose{}, fmt.Errorf("%w: %w", ErrModel, err)
			}
			x[k] = rounded(f)
		}
		v[i] = geom.V(x[0], x[1], x[2])
	}
	return geom.Pose{X: v[0], Y: v[1], Z: v[2], Origin: v[3]}, nil
}
