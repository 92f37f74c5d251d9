package picture

import (
	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
)

// roomMarginMM is how far floor and walls are drawn beyond the frame.
const roomMarginMM = 120

// roomShape returns the faces of the room that look at the frame, cut off a little beyond it. A face has no back, so
// a wall between the eye and the frame is not seen and hides nothing.
func roomShape(plan *assembly.Plan, frame geom.Box) *render.Shape {
	near := frame.Grow(roomMarginMM)
	m := &mesh.Mesh{}
	for _, p := range plan.Parts {
		if p.Kind != standard.Room {
			continue
		}
		for _, b := range p.Boxes {
			addFaces(m, b, near, frame.Centre())
		}
	}
	if len(m.Triangles) == 0 {
		return nil
	}
	return render.NewShape(m)
}

// addFaces adds those faces of b that have the frame's middle before them, cut to near.
func addFaces(m *mesh.Mesh, b, near geom.Box, middle geom.Vec) {
	cut := b.Intersect(near)
	if cut.IsEmpty() {
		return
	}
	c := cut.Corners()
	add := func(p0, p1, p2, p3 geom.Vec) {
		k := int32(len(m.Vertices))
		m.Vertices = append(m.Vertices, p0, p1, p2, p3)
		m.Triangles = append(m.Triangles, [3]int32{k, k + 1, k + 2}, [3]int32{k, k + 2, k + 3})
	}
	if middle.X > b.Max.X {
		add(c[1], c[3], c[7], c[5])
	}
	if middle.X < b.Min.X {
		add(c[0], c[4], c[6], c[2])
	}
	if middle.Y > b.Max.Y {
		add(c[2], c[6], c[7], c[3])
	}
	if middle.Y < b.Min.Y {
		add(c[0], c[1], c[5], c[4])
	}
	if middle.Z > b.Max.Z {
		add(c[4], c[5], c[7], c[6])
	}
	if middle.Z < b.Min.Z {
		add(c[0], c[2], c[3], c[1])
	}
}
