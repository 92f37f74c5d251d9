package picture

import (
	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
)

// Meshes gives the mesh of a part in its part frame, the same pointer for parts that are equal; nil for a part that is
// not drawn.
type Meshes func(assembly.Part) *mesh.Mesh

// stage is the plan's parts as a scene. Ids are places in parts, counted from 1.
type stage struct {
	plan    *assembly.Plan
	parts   []assembly.Part // those that are drawn
	scene   render.Scene
	coarse  render.Scene // the same in coarse shapes, for counting
	joined  map[[2]int]bool
	id      map[string]int     // of a part's ID
	built   geom.Box           // around all parts as built
	shut    []geom.Vec         // directions in which nothing is taken apart
	closing map[string]float64 // by joint between the halves of a broken pipe: how far it closes in an exploded picture, in mm
	dashes  bool               // what is hidden is drawn in dashes, so the view may be chosen for the rest
}

// coarsest is the grid coarse shapes are reduced to, as a fraction of the frame's diagonal: half a pixel of the
// pictures that only count. A short nipple shows no more than a millimetre or two between its fittings.
const coarsest = 1.0 / 1000

func newStage(plan *assembly.Plan, meshes Meshes) *stage {
	s := &stage{plan: plan, joined: map[[2]int]bool{}, id: map[string]int{}}
	shapes, coarse := map[*mesh.Mesh]*render.Shape{}, map[*mesh.Mesh]*render.Shape{}
	cellMM := extent(plan).Diagonal() * coarsest
	for _, p := range plan.Parts {
		if p.Kind == standard.Room {
			continue
		}
		m := meshes(p)
		if m == nil || len(m.Triangles) == 0 {
			continue
		}
		if shapes[m] == nil {
			shapes[m], coarse[m] = render.NewShape(m), render.NewShape(render.Coarse(m, cellMM))
		}
		s.add(p, [2]*render.Shape{shapes[m], coarse[m]})
	}
	s.join()
	return s
}

// add puts a part on the stage, with the shape it is drawn by and the coarse one it is counted by.
func (s *stage) add(p assembly.Part, shape [2]*render.Shape) {
	s.parts = append(s.parts, p)
	in := render.Instance{ID: len(s.parts), Shape: shape[0], Pose: p.Pose, Tone: toneOf(p)}
	s.scene.Instances = append(s.scene.Instances, in)
	in.Shape = shape[1]
	s.coarse.Instances = append(s.coarse.Instances, in)
	s.id[p.ID] = in.ID
}

// join notes what is joined, and how much room all that was added takes.
func (s *stage) join() {
	for _, j := range s.plan.Joints {
		s.joined[pair(s.id[j.A.Part], s.id[j.B.Part])] = true
	}
	s.built = s.box()
}

// extent returns the box around the origins and ports of all parts: about the frame's.
func extent(plan *assembly.Plan) geom.Box {
	b := geom.EmptyBox()
	for _, p := range plan.Parts {
		if p.Kind == standard.Room {
			continue
		}
		b = b.Include(p.Pose.Origin)
		for _, q := range p.Ports {
			b = b.Include(q.At)
		}
		for _, x := range p.Boxes {
			b = b.Union(p.Pose.Box(x))
		}
	}
	return b
}

func pair(a, b int) [2]int { return [2]int{min(a, b), max(a, b)} }

func (s *stage) areJoined(a, b int) bool { return s.joined[pair(a, b)] }

// box returns the box around all parts.
func (s *stage) box() geom.Box {
	out := geom.EmptyBox()
	for _, in := range s.scene.Instances {
		out = out.Union(in.Pose.Box(in.Shape.Box))
	}
	return out
}

// moved returns the stage with each part shifted by its offset.
func (s *stage) moved(offsets map[string]geom.Vec) *stage {
	out := *s
	shift := func(sc render.Scene) render.Scene {
		in := append([]render.Instance(nil), sc.Instances...)
		for i := range in {
			in[i].Pose = in[i].Pose.Moved(offsets[s.parts[i].ID])
		}
		return render.Scene{Instances: in}
	}
	out.scene, out.coarse = shift(s.scene), shift(s.coarse)
	return &out
}
