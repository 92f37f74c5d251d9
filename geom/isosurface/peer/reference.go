package main

import (
	"github.com/deadsy/sdfx/render"
	"github.com/deadsy/sdfx/sdf"
	v3 "github.com/deadsy/sdfx/vec/v3"
)

// shape is a reference solid as the reference mesher wants it. It is given the judge's field, which costs less than
// the same solid put together from the reference's own parts: the harder mark to beat.
type shape struct{ *judged }

func (s shape) Evaluate(p v3.Vec) float64 { return s.at(point{p.X, p.Y, p.Z}) }
func (s shape) BoundingBox() sdf.Box3 {
	return sdf.Box3{Min: v3.Vec{X: s.lo.x, Y: s.lo.y, Z: s.lo.z}, Max: v3.Vec{X: s.hi.x, Y: s.hi.y, Z: s.hi.z}}
}

// meshReference meshes on the reference's uniform grid and collects the triangles in memory.
func meshReference(j *judged) []triangle {
	size := j.hi.sub(j.lo)
	cells := int(max(size.x, size.y, size.z)/j.cellMM + 0.5)
	out := make(chan []*render.Triangle3, 1)
	go func() {
		render.NewMarchingCubesUniform(cells).Render(shape{j}, out)
		close(out)
	}()
	var all []triangle
	for part := range out {
		for _, t := range part {
			all = append(all, triangle{{t.V[0].X, t.V[0].Y, t.V[0].Z}, {t.V[1].X, t.V[1].Y, t.V[1].Z}, {t.V[2].X, t.V[2].Y, t.V[2].Z}})
		}
	}
	return all
}
