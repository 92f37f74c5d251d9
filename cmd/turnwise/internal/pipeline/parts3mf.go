package pipeline

import (
	"bytes"
	"fmt"

	"turnwise/assembly"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/threemf"
	"turnwise/render/picture"
)

// layGapMM is the clear space between parts that are laid side by side.
const layGapMM = 10.0

// partsPackage writes every distinct solid once into one file that knows its unit: named, coloured as in the pictures,
// and laid side by side, each along its longest side. They are true size and on no print plate in particular.
func (w *work) partsPackage() ([]File, error) {
	m := threemf.Model{Title: w.plan.Design.Title, Application: "turnwise " + Version}
	colours, y := map[int]int{}, 0.0
	for _, p := range w.files() {
		family, tone := picture.FamilyOf(p.Kind)
		if _, ok := colours[family]; !ok {
			colours[family] = len(m.Materials)
			m.Materials = append(m.Materials, threemf.Material{Name: picture.Families[family], Red: tone.Light.R, Green: tone.Light.G, Blue: tone.Light.B})
		}
		solid := w.fileMesh(p)
		pose := laid(mesh.Bounds(solid))
		box := pose.Box(mesh.Bounds(solid))
		pose = pose.Moved(geom.V(-box.Min.X, y-box.Min.Y, -box.Min.Z))
		y += box.Size().Y + layGapMM
		m.Items = append(m.Items, threemf.Item{Object: len(m.Objects), Pose: pose})
		m.Objects = append(m.Objects, threemf.Object{
			Name: fmt.Sprintf("%d %s", p.Number, wording.PartName(units.System(w.plan.Design.Units), p)), Mesh: solid, Material: colours[family],
		})
	}
	if len(m.Objects) == 0 {
		return nil, nil
	}
	var b bytes.Buffer
	if err := threemf.Write(&b, m); err != nil {
		return nil, fmt.Errorf("the parts in one package: %w", err)
	}
	return []File{{"solids/parts.3mf", SolidsGroup, b.Bytes()}}, nil
}

// fileMesh is the mesh of a part as its file has it: with threads where they were asked for.
func (w *work) fileMesh(p assembly.Part) *mesh.Mesh {
	if t := w.threaded[p.Solid]; t != nil {
		return t
	}
	return w.meshes[p.Solid]
}

// laid turns a body so that its longest side runs along x.
func laid(b geom.Box) geom.Pose {
	s := b.Size()
	switch {
	case s.Z > s.X && s.Z >= s.Y:
		return geom.Pose{X: geom.AxisY, Y: geom.AxisZ, Z: geom.AxisX}
	case s.Y > s.X:
		return geom.Pose{X: geom.AxisZ, Y: geom.AxisX, Z: geom.AxisY}
	}
	return geom.Identity()
}
