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
	near := insideRoom(boxes, frame)
	m := &mesh.Mesh{}
	for i, b := range boxes {
		addFaces(m, b, near, frame.Centre(), func(f geom.Box) bool { return covered(f, boxes, i) })
	}
	if len(m.Triangles) == 0 {
		return nil
	}
	return render.NewShape(m)
}

// insideRoom returns the frame with a margin, ended at floor, ceiling and walls: nothing is seen behind them. A wall is
// the boxes on one side of the frame that together stand before most of it; a leaning one is a stack of boxes.
func insideRoom(boxes []geom.Box, frame geom.Box) geom.Box {
	near := frame.Grow(roomMarginMM)
	out := near
	for axis := range 3 {
		for _, sign := range []float64{-1, 1} {
			if at, ok := wallAt(boxes, frame, near, axis, sign); ok && sign < 0 {
				setAxis(&out.Min, axis, max(along(out.Min, axis), at))
			} else if ok {
				setAxis(&out.Max, axis, min(along(out.Max, axis), at))
			}
		}
	}
	return out
}

// wallAt returns where the wall on one side of the frame stands farthest off, if there is one.
func wallAt(boxes []geom.Box, frame, near geom.Box, axis int, sign float64) (at float64, ok bool) {
	const most = 0.5 // of the frame's face that a wall stands before
	u, v := (axis+1)%3, (axis+2)%3
	side := frame.Size()
	area, middle := 0.0, along(frame.Centre(), axis)
	for _, b := range boxes {
		face := along(b.Max, axis)
		if sign > 0 {
			face = along(b.Min, axis)
		}
		cut := b.Intersect(near)
		if (face-middle)*sign <= 0 || cut.IsEmpty() {
			continue
		}
		area += along(cut.Size(), u) * along(cut.Size(), v)
		if !ok || (face-at)*sign > 0 {
			at, ok = face, true
		}
	}
	return at, ok && area >= most*along(side, u)*along(side, v)
}

func along(v geom.Vec, axis int) float64 { return [3]float64{v.X, v.Y, v.Z}[axis] }

func setAxis(v *geom.Vec, axis int, to float64) {
	switch axis {
	case 0:
		v.X = to
	case 1:
		v.Y = to
	case 2:
		v.Z = to
	}
}

// covered tells whether nearly all of a flat box lies against another body of the room, as the ledges between the
// boxes of a leaning wall or floor do: all of it but a strip.
func covered(face geom.Box, boxes []geom.Box, own int) bool {
	const nearly, touchMM = 0.9, 0.01
	for i, b := range boxes {
		if i == own {
			continue
		}
		on := b.Grow(touchMM).Intersect(face)
		if on.IsEmpty() {
			continue
		}
		left := face.Size().Sub(on.Size())
		if area(on) >= nearly*area(face) || max(left.X, left.Y, left.Z) <= ledgeMM {
			return true
		}
	}
	return false
}

// ledgeMM is the height up to which a ledge between the pieces of a leaning surface is not drawn: they are a millimetre
// apart.
const ledgeMM = 2

// area returns that of the two longer sides of a box, 0 for an empty one.
func area(b geom.Box) float64 {
	if b.IsEmpty() {
		return 0
	}
	s := b.Size()
	return max(s.X*s.Y, s.Y*s.Z, s.Z*s.X)
}

// lapMM is how far the pieces of a surface are drawn over one another. Between the steps of a leaning one, a millimetre
// high, nothing may be seen through from 10 degrees up.
const lapMM = 8

// addFaces adds those faces of b that have the frame's middle before them and are not covered, cut to near.
func addFaces(m *mesh.Mesh, b, near geom.Box, middle geom.Vec, covered func(geom.Box) bool) {
	cut, lapped := b.Intersect(near), b.Grow(lapMM).Intersect(near)
	if cut.IsEmpty() {
		return
	}
	face := func(of geom.Box, axis int, at float64) geom.Box {
		setAxis(&of.Min, axis, at)
		setAxis(&of.Max, axis, at)
		return of
	}
	add := func(axis int, at float64, corners ...int) {
		if covered(face(cut, axis, at)) {
			return
		}
		c := face(lapped, axis, at).Corners()
		p := [4]geom.Vec{c[corners[0]], c[corners[1]], c[corners[2]], c[corners[3]]}
		k := int32(len(m.Vertices))
		m.Vertices = append(m.Vertices, p[:]...)
		m.Triangles = append(m.Triangles, [3]int32{k, k + 1, k + 2}, [3]int32{k, k + 2, k + 3})
	}
	if middle.X > b.Max.X {
		add(0, b.Max.X, 1, 3, 7, 5)
	}
	if middle.X < b.Min.X {
		add(0, b.Min.X, 0, 4, 6, 2)
	}
	if middle.Y > b.Max.Y {
		add(1, b.Max.Y, 2, 6, 7, 3)
	}
	if middle.Y < b.Min.Y {
		add(1, b.Min.Y, 0, 1, 5, 4)
	}
	if middle.Z > b.Max.Z {
		add(2, b.Max.Z, 4, 5, 7, 6)
	}
	if middle.Z < b.Min.Z {
		add(2, b.Min.Z, 0, 2, 3, 1)
	}
}
