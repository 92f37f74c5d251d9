// Package threemf writes and reads 3MF packages: meshes with names, colours and places, in millimetres, by the 3MF core
// specification (version 1.3; clauses named here are from memory).
//
// A package is a ZIP archive with three parts: [Content_Types].xml, _rels/.rels, which names the model, and the model
// itself. Of the core specification this package uses objects of one mesh each, base materials with a display colour, and a build
// with a transform for each item. Write gives the same bytes for the same model: entries carry a fixed time.
//
// Read is for what Write writes, and for packages of others that keep to those means; it refuses components and required
// extensions rather than read half of a model.
package threemf

import (
	"archive/zip"
	"bufio"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// Material is a base material: a name and the colour it is shown in, sRGB.
type Material struct {
	Name             string
	Red, Green, Blue uint8
}

// Object is a body in its own frame, in millimetres.
type Object struct {
	Name     string
	Mesh     *mesh.Mesh
	Material int // index into Model.Materials
}

// Item is one copy of an object in the build.
type Item struct {
	Object int // index into Model.Objects
	Pose   geom.Pose
}

// Model is what a package holds.
type Model struct {
	Title       string
	Application string // the program that writes, with its version
	Materials   []Material
	Objects     []Object
	Items       []Item
}

// Errors of Write; what it returns wraps one of these.
var (
	ErrEmpty  = errors.New("nothing to write")
	ErrIndex  = errors.New("an index names something that is not there")
	ErrNumber = errors.New("a coordinate is not a number or too large")
	ErrPose   = errors.New("a pose is not a rigid motion")
)

// The parts of a package and what they are (core specification, 2 and appendices on content types and relationships; OPC, ECMA-376 part 2).
const (
	typesPath = "[Content_Types].xml"
	relsPath  = "_rels/.rels"
	modelPath = "3D/3dmodel.model"

	modelType = "application/vnd.ms-package.3dmanufacturing-3dmodel+xml"
	relsType  = "application/vnd.openxmlformats-package.relationships+xml"
	modelRel  = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"

	coreSpace  = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
	typesSpace = "http://schemas.openxmlformats.org/package/2006/content-types"
	relsSpace  = "http://schemas.openxmlformats.org/package/2006/relationships"
)

const xmlHead = `<?xml version="1.0" encoding="UTF-8"?>` + "\n"

// entryTime is the earliest that the ZIP format can say.
var entryTime = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// Write writes a package.
func Write(w io.Writer, m Model) error {
	if err := m.check(); err != nil {
		return fmt.Errorf("writing 3MF: %w", err)
	}
	z := zip.NewWriter(w)
	for _, part := range []struct {
		path  string
		write func(*bufio.Writer)
	}{{typesPath, writeTypes}, {relsPath, writeRels}, {modelPath, m.write}} {
		e, err := z.CreateHeader(&zip.FileHeader{Name: part.path, Method: zip.Deflate, Modified: entryTime})
		if err != nil {
			return fmt.Errorf("writing 3MF: %w", err)
		}
		b := bufio.NewWriter(e)
		part.write(b)
		if err := b.Flush(); err != nil {
			return fmt.Errorf("writing 3MF: %w", err)
		}
	}
	if err := z.Close(); err != nil {
		return fmt.Errorf("writing 3MF: %w", err)
	}
	return nil
}

// rigidTol is how far axes of a pose may be off unit length and squareness; rounding leaves 1e-15.
const rigidTol = 1e-6

// MaxCoordinateMM is the largest coordinate that is written or read: a kilometre, where 32-bit floats step by 0.06 mm.
const MaxCoordinateMM = 1e6

func fits(v geom.Vec) bool {
	return math.Abs(v.X) <= MaxCoordinateMM && math.Abs(v.Y) <= MaxCoordinateMM && math.Abs(v.Z) <= MaxCoordinateMM
}

func (m *Model) check() error {
	if len(m.Items) == 0 || len(m.Objects) == 0 {
		return ErrEmpty
	}
	for _, o := range m.Objects {
		if o.Mesh == nil || len(o.Mesh.Triangles) == 0 {
			return fmt.Errorf("object %s: %w", o.Name, ErrEmpty)
		}
		if o.Material < 0 || o.Material >= len(m.Materials) {
			return fmt.Errorf("object %s: %w", o.Name, ErrIndex)
		}
		for _, t := range o.Mesh.Triangles {
			for _, v := range t {
				if v < 0 || int(v) >= len(o.Mesh.Vertices) {
					return fmt.Errorf("object %s: %w", o.Name, ErrIndex)
				}
			}
		}
		for _, v := range o.Mesh.Vertices {
			if !fits(v) {
				return fmt.Errorf("object %s: %w", o.Name, ErrNumber)
			}
		}
	}
	for _, it := range m.Items {
		switch {
		case it.Object < 0 || it.Object >= len(m.Objects):
			return ErrIndex
		case !fits(it.Pose.Origin):
			return ErrNumber
		case !it.Pose.IsRigid(rigidTol):
			return ErrPose
		}
	}
	return nil
}

func writeTypes(b *bufio.Writer) {
	fmt.Fprintf(b, `%s<Types xmlns="%s">
 <Default Extension="rels" ContentType="%s"/>
 <Default Extension="model" ContentType="%s"/>
</Types>
`, xmlHead, typesSpace, relsType, modelType)
}

func writeRels(b *bufio.Writer) {
	fmt.Fprintf(b, `%s<Relationships xmlns="%s">
 <Relationship Id="rel0" Type="%s" Target="/%s"/>
</Relationships>
`, xmlHead, relsSpace, modelRel, modelPath)
}

// materialsID is the resource of all materials; objects are numbered on from it. Numbers begin at 1 and are shared by
// all resources.
const materialsID = 1

// write writes the model part. Errors stay in b until it is flushed.
func (m *Model) write(b *bufio.Writer) {
	fmt.Fprintf(b, "%s<model unit=\"millimeter\" xml:lang=\"en\" xmlns=\"%s\">\n", xmlHead, coreSpace)
	meta := func(name, text string) {
		if text != "" {
			fmt.Fprintf(b, " <metadata name=\"%s\">%s</metadata>\n", name, escaped(text))
		}
	}
	meta("Title", m.Title)
	meta("Application", m.Application)
	fmt.Fprintf(b, " <resources>\n  <basematerials id=\"%d\">\n", materialsID)
	for _, c := range m.Materials {
		fmt.Fprintf(b, "   <base name=\"%s\" displaycolor=\"#%02X%02X%02X\"/>\n", escaped(c.Name), c.Red, c.Green, c.Blue)
	}
	fmt.Fprintf(b, "  </basematerials>\n")
	for i := range m.Objects {
		m.Objects[i].write(b, materialsID+1+i)
	}
	fmt.Fprintf(b, " </resources>\n <build>\n")
	for _, it := range m.Items {
		fmt.Fprintf(b, "  <item objectid=\"%d\" transform=\"%s\"/>\n", materialsID+1+it.Object, transform(it.Pose))
	}
	fmt.Fprintf(b, " </build>\n</model>\n")
}

func (o *Object) write(b *bufio.Writer, id int) {
	fmt.Fprintf(b, "  <object id=\"%d\" type=\"model\" name=\"%s\" pid=\"%d\" pindex=\"%d\">\n   <mesh>\n    <vertices>\n", id, escaped(o.Name), materialsID, o.Material)
	for _, v := range o.Mesh.Vertices {
		fmt.Fprintf(b, "     <vertex x=\"%s\" y=\"%s\" z=\"%s\"/>\n", number(v.X), number(v.Y), number(v.Z))
	}
	b.WriteString("    </vertices>\n    <triangles>\n")
	for _, t := range o.Mesh.Triangles {
		fmt.Fprintf(b, "     <triangle v1=\"%d\" v2=\"%d\" v3=\"%d\"/>\n", t[0], t[1], t[2])
	}
	b.WriteString("    </triangles>\n   </mesh>\n  </object>\n")
}

// number writes a coordinate as short as a 32-bit float allows, which is what meshes are rounded to.
func number(x float64) string { return strconv.FormatFloat(float64(float32(x)), 'g', -1, 32) }

// transform writes a pose as the specification has it: points are rows, multiplied from the left, so that the first
// three numbers are where the x axis goes, and the last three the origin (core specification, 3.3 "3D Matrices").
func transform(p geom.Pose) string {
	var out []string
	for _, v := range []geom.Vec{p.X, p.Y, p.Z, p.Origin} {
		for _, x := range []float64{v.X, v.Y, v.Z} {
			out = append(out, strconv.FormatFloat(rounded(x), 'g', -1, 64))
		}
	}
	return strings.Join(out, " ")
}

// transformDigits keeps nine places: far below any tolerance, and free of the noise of rounding.
const transformDigits = 1e9

// rounded never returns minus nought, which would print differently.
func rounded(x float64) float64 { return math.Round(x*transformDigits)/transformDigits + 0 }

// escaped writes text for XML, also inside quotes. Characters that XML cannot hold become a space.
func escaped(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&quot;")
		case r < 0x20 || r == 0xFFFE || r == 0xFFFF || r == 0xFFFD:
			b.WriteByte(' ')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
