package raster

import (
	"math"

	"turnwise/geom"
	"turnwise/render"
)

// Corners lie on a grid of 1/sub of a pixel. A window of 60,000 pixels still leaves products within 63 bits.
const (
	subBits = 8
	sub     = 1 << subBits
	half    = sub / 2
	// farthest is how far outside the window a corner may lie, in pixels; what is farther is brought there. Pictures
	// show whole scenes, so only a view that is zoomed a thousandfold meets it.
	farthest = 1 << 20
)

// corner is a vertex in the window: 1/sub pixels from its top left corner, and depth in mm.
type corner struct {
	x, y  int32
	depth float64
}

// shot is an instance brought into the window.
type shot struct {
	shape           *render.Shape
	id              int
	corners         []corner
	right, up, back [3]float32 // the camera's axes in the shape's frame
	top, bottom     int        // rows it reaches, both included
}

// project brings the vertices of an instance into the window.
func (g *shot) project(in *render.Instance, view render.View) {
	g.shape, g.id = in.Shape, in.ID
	right, up, back := in.Pose.Unrotate(view.Right), in.Pose.Unrotate(view.Up), in.Pose.Unrotate(view.Back)
	g.right, g.up, g.back = single(right), single(up), single(back)
	per := sub / view.PixelMM
	r0, u0, d0 := view.Project(in.Pose.Origin)
	x0 := float64(view.Width)*half + (r0-view.MidRight)*per
	y0 := float64(view.Height)*half - (u0-view.MidUp)*per
	rx, ry, rz := right.X*per, right.Y*per, right.Z*per
	ux, uy, uz := up.X*per, up.Y*per, up.Z*per
	g.corners = make([]corner, len(in.Shape.Mesh.Vertices))
	lo, hi := int32(math.MaxInt32), int32(math.MinInt32)
	for i, v := range in.Shape.Mesh.Vertices {
		y := snap(y0 - (v.X*ux + v.Y*uy + v.Z*uz))
		g.corners[i] = corner{snap(x0 + v.X*rx + v.Y*ry + v.Z*rz), y, d0 - (v.X*back.X + v.Y*back.Y + v.Z*back.Z)}
		lo, hi = min(lo, y), max(hi, y)
	}
	g.top, g.bottom = int(lo>>subBits), int(hi>>subBits)
}

func snap(v float64) int32 {
	const most = farthest * sub
	return int32(math.Floor(max(-most, min(most, v)) + 0.5))
}

func single(v geom.Vec) [3]float32 { return [3]float32{float32(v.X), float32(v.Y), float32(v.Z)} }
