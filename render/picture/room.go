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
	var boxes []geom.Box
	for _, p := range plan.Parts {
		if p.Kind == standard.Room {
			boxes = append(boxes, p.Boxes...)
		}
	}
	near := frame.Grow(roomMarginMM)
	for _, b := range boxes {
		near = within(near, b, frame)
	}
	m := &mesh.Mesh{}
	for _, b := range boxes {
		addFaces(m, b, near, frame.Centre())
	}
	if len(m.Triangles) == 0 {
		return nil
	}
	return render.NewShape(m)
}

// within ends what is drawn at the face of b that looks at the frame, if b stands before most of a side of it, as floor
// and walls do: nothing is seen behind them.
func within(near, b, frame geom.Box) geom.Box {
	const most = 0.5
	shared, side, middle := b.Intersect(frame.Grow(roomMarginMM)).Size(), frame.Size(), frame.Centre()
	x, y, z := shared.X >= most*side.X, shared.Y >= most*side.Y, shared.Z >= most*side.Z
	if y && z && middle.X > b.Max.X {
		near.Min.X = max(near.Min.X, b.Max.X)
	}
	if y && z && middle.X < b.Min.X {
		near.Max.X = min(near.Max.X, b.Min.X)
	}
	if x && z && middle.Y > b.Max.Y {
		near.Min.Y = max(near.Min.Y, b.Max.Y)
	}
	if x && z && middle.Y < b.Min.Y {
		near.Max.Y = min(near.Max.Y, b.Min.Y)
	}
	if x && y && middle.Z > b.Max.Z {
		near.Min.Z = max(near.Min.Z, b.Max.Z)
	}
	if x && y && middle.Z < b.Min.Z {
		near.Max.Z = min(near.Max.Z, b.Min.Z)
	}
	return near
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
