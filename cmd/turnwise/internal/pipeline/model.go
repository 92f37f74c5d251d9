package pipeline

import (
	"bytes"
	"fmt"
	"path"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/glb"
	"turnwise/render"
	"turnwise/render/explode"
	"turnwise/render/picture"
)

// The model's animation, in seconds: one part starts to leave every leaveEvery and is at its place leaveTakes later, so
// that one is gone before the next but one goes.
const (
	leaveEvery = 0.5
	leaveTakes = 0.8
)

// gapShare is the clear space between mouths in the model taken apart, as a part of the frame's diagonal, and leastGapMM
// the least: what is about a hand's breadth at a wardrobe and still shows at a coat rod.
const (
	gapShare   = 1.0 / 45
	leastGapMM = 12.0
)

// How much metal and wood shine: our own choice, for a look near the pictures'.
const (
	metalShine, metalRough = 0.35, 0.5
	woodShine, woodRough   = 0, 0.8
)

// frameModel writes the frame as named bodies in the colours of the pictures, with the way each part leaves. There is no
// file when nothing has a solid.
func (w *work) frameModel() ([]File, error) {
	s := glb.Scene{Title: w.plan.Design.Title, Generator: "turnwise " + Version, Animation: "taken apart, the last part placed first"}
	shapes, colours := map[string]int{}, map[int]int{}
	apart, leave := w.apart(), leaving(w.plan)
	for _, p := range w.plan.Parts {
		m := w.meshes[p.Solid]
		if m == nil {
			continue
		}
		shape, ok := shapes[p.Solid]
		if !ok {
			shape = len(s.Shapes)
			shapes[p.Solid] = shape
			family, tone := picture.FamilyOf(p.Kind)
			if _, ok := colours[family]; !ok {
				colours[family] = len(s.Materials)
				s.Materials = append(s.Materials, material(picture.Families[family], isWood(p), tone.Light))
			}
			s.Shapes = append(s.Shapes, glb.Shape{Name: shapeName(p), Mesh: m, Normals: render.NewShape(m).Normals, Material: colours[family]})
		}
		n := glb.Node{Name: p.ID, Shape: shape, Pose: p.Pose, Extras: map[string]any{"part": p.ID, "number": p.Number}}
		if by := apart[p.ID]; by != (geom.Vec{}) {
			start := leaveEvery * float64(leave[p.ID])
			n.Away = glb.Departure{By: by, Start: start, End: start + leaveTakes}
		}
		s.Nodes = append(s.Nodes, n)
	}
	if len(s.Nodes) == 0 {
		return nil, nil
	}
	var b bytes.Buffer
	if err := glb.Write(&b, s); err != nil {
		return nil, fmt.Errorf("the model of the frame: %w", err)
	}
	return []File{{"solids/frame.glb", SolidsGroup, b.Bytes()}}, nil
}

// shapeName is the name of a part's file without folder and ending: number, kind and half.
func shapeName(p assembly.Part) string {
	return strings.TrimSuffix(path.Base(p.Solid), path.Ext(p.Solid))
}

func isWood(p assembly.Part) bool { return p.Kind == standard.Board || p.Kind == standard.Cleat }

func material(name string, wood bool, c render.Colour) glb.Material {
	m := glb.Material{Name: name, Red: c.R, Green: c.G, Blue: c.B, Metallic: metalShine, Roughness: metalRough}
	if wood {
		m.Metallic, m.Roughness = woodShine, woodRough
	}
	return m
}

// apart gives the offset of each part in the model taken apart, by part id.
func (w *work) apart() map[string]geom.Vec {
	boxes, all := map[string]geom.Box{}, geom.EmptyBox()
	for _, p := range w.plan.Parts {
		if m := w.meshes[p.Solid]; m != nil {
			boxes[p.ID] = p.Pose.Box(mesh.Bounds(m))
			all = all.Union(boxes[p.ID])
		}
	}
	gap := max(leastGapMM, gapShare*all.Diagonal())
	return explode.Apart(w.plan, explode.Options{Boxes: boxes, Gap: func(geom.Vec) float64 { return gap }}).Offsets
}

// leaving gives each part its turn to leave, from 0: the last one placed goes first. A part is placed by the first step
// that names it; what a step moves comes after what it is moved onto. Parts that no step names go last.
func leaving(p *assembly.Plan) map[string]int {
	placed := map[string]bool{}
	var order []string
	place := func(ids ...string) {
		for _, id := range ids {
			if !placed[id] {
				placed[id] = true
				order = append(order, id)
			}
		}
	}
	for _, s := range p.Steps {
		place(s.Onto...)
		place(s.Moves...)
		for _, r := range s.Repeats {
			place(r.Onto...)
			place(r.Moves...)
		}
	}
	named := len(order)
	for _, q := range p.Parts {
		place(q.ID)
	}
	slices.Reverse(order[:named])
	turn := map[string]int{}
	n := 0
	for _, id := range order {
		if id != string(standard.Room) {
			turn[id] = n
			n++
		}
	}
	return turn
}
