package raster

import (
	"github.com/fogleman/fauxgl"

	"turnwise/geom"
	"turnwise/render"
)

// The plain library draws here what this package draws, as its own examples do: one mesh per part, copied, a shader for
// each picture. It is what results and speed are compared with.

// PlainMeshes copies the scene, projected into the unit cube of a view.
func PlainMeshes(scene render.Scene, view render.View) []*fauxgl.Mesh {
	near, far := 1e300, -1e300
	for _, in := range scene.Instances {
		b := view.Bounds(in.Pose.Box(in.Shape.Box))
		near, far = min(near, b.Min.Z-1), max(far, b.Max.Z+1)
	}
	var out []*fauxgl.Mesh
	for _, in := range scene.Instances {
		corner := func(v geom.Vec, n [3]float32) fauxgl.Vertex {
			x, y, d := view.Pixel(in.Pose.Apply(v))
			m := in.Pose.Rotate(geom.V(float64(n[0]), float64(n[1]), float64(n[2])))
			return fauxgl.Vertex{
				Position: fauxgl.Vector{X: x/float64(view.Width)*2 - 1, Y: 1 - y/float64(view.Height)*2, Z: (d-near)/(far-near)*2 - 1},
				Normal:   fauxgl.Vector{X: m.Dot(view.Right), Y: m.Dot(view.Up), Z: m.Dot(view.Back)},
			}
		}
		var ts []*fauxgl.Triangle
		for i, t := range in.Shape.Mesh.Triangles {
			n, v := in.Shape.Normals[i], in.Shape.Mesh.Vertices
			ts = append(ts, fauxgl.NewTriangle(corner(v[t[0]], n[0]), corner(v[t[1]], n[1]), corner(v[t[2]], n[2])))
		}
		out = append(out, fauxgl.NewTriangleMesh(ts))
	}
	return out
}

// PlainPhong draws the shaded picture.
func PlainPhong(meshes []*fauxgl.Mesh, view render.View) *fauxgl.Context {
	dc := fauxgl.NewContext(view.Width, view.Height)
	light := fauxgl.Vector{X: -0.45, Y: 0.75, Z: 0.5}.Normalize()
	for _, m := range meshes {
		s := fauxgl.NewPhongShader(fauxgl.Identity(), light, fauxgl.Vector{Z: 1})
		s.ObjectColor = fauxgl.HexColor("#AABBCC")
		dc.Shader = s
		dc.DrawMesh(m)
	}
	return dc
}

// PlainIDs draws the id of each mesh as a colour.
func PlainIDs(meshes []*fauxgl.Mesh, view render.View) *fauxgl.Context {
	dc := fauxgl.NewContext(view.Width, view.Height)
	for i, m := range meshes {
		id := i + 1
		dc.Shader = fauxgl.NewSolidColorShader(fauxgl.Identity(), fauxgl.Color{R: (float64(id>>8) + 0.5) / 255, G: (float64(id&255) + 0.5) / 255, B: 0, A: 1})
		dc.AlphaBlend = false
		dc.DrawMesh(m)
	}
	return dc
}

func plainIDs(scene render.Scene, view render.View) []int {
	dc := PlainIDs(PlainMeshes(scene, view), view)
	out := make([]int, view.Width*view.Height)
	for i := range out {
		if k := int(dc.ColorBuffer.Pix[4*i])<<8 | int(dc.ColorBuffer.Pix[4*i+1]); k > 0 {
			out[i] = scene.Instances[k-1].ID
		}
	}
	return out
}
