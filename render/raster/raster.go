// Package raster draws a scene into buffers (id, normal, depth) and buffers into an image.
//
// One pass fills all buffers. The corners of every instance are brought into the window once, on a grid of 1/256 of a
// pixel, and shared out to a fixed number of horizontal strips. A goroutine owns the strip it draws and takes the
// triangles of the scene in their order. Whether a pixel lies in a triangle is decided in whole numbers, and depth and
// normal are worked out from the triangle alone; so neighbours leave no gap and no pixel twice, and the result is the
// same bytes on any number of cores. Of two surfaces at the same depth the first of the scene is seen.
//
//  1. project (corners.go): vertices of an instance to the window, backs left out
//  2. fill (triangle.go): the pixels of a triangle row by row, those nearer than what is there written
//  3. Develop (develop.go): shading, ink over it, and down to the size of the image
//
// A general rasterizer asks a shader for each pixel before it knows whether the pixel is seen, and makes one kind of
// picture at a time; the benchmark beside this package measures one in the same run.
//
// Memory: 8 bytes a pixel of the buffers, and 16 bytes a vertex of all instances while they are drawn. Drawing at twice
// the final size and calling Develop is the anti-aliasing.
package raster

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"turnwise/render"
)

// stripRows is how many rows of a picture are drawn by one goroutine at a time: few enough that all cores end together,
// many enough that few triangles lie in two.
const stripRows = 128

// Draw draws the scene as the view shows it. Parts of it outside the window are cut off.
func Draw(scene render.Scene, view render.View) (*render.Buffers, error) {
	if err := scene.Check(); err != nil {
		return nil, err
	}
	b := &render.Buffers{
		Width: view.Width, Height: view.Height, PixelMM: view.PixelMM,
		Packed: make([]uint32, view.Width*view.Height),
		Depth:  make([]float32, view.Width*view.Height),
	}
	shots := make([]shot, len(scene.Instances))
	share(len(shots), func(i int) { shots[i].project(&scene.Instances[i], view) })
	strips := (view.Height + stripRows - 1) / stripRows
	share(strips, func(i int) {
		s := strip{b: b, top: i * stripRows, bottom: min((i+1)*stripRows, view.Height)}
		s.draw(shots)
	})
	return b, nil
}

// share calls do for 0 to n-1 on all cores.
func share(n int, do func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	if workers <= 1 {
		for i := range n {
			do(i)
		}
		return
	}
	var next atomic.Int32
	var wg sync.WaitGroup
	for range workers {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		}()
	}
	wg.Wait()
}

// strip is the rows of a picture that one goroutine is drawing.
type strip struct {
	b           *render.Buffers
	top, bottom int
}

func (s *strip) draw(shots []shot) {
	inf := float32(math.Inf(1))
	depth := s.b.Depth[s.top*s.b.Width : s.bottom*s.b.Width]
	for i := range depth {
		depth[i] = inf
	}
	for i := range shots {
		if g := &shots[i]; g.bottom >= s.top && g.top < s.bottom {
			s.instance(g)
		}
	}
}

// instance draws the triangles of one instance that reach into the strip.
func (s *strip) instance(g *shot) {
	lo, hi := int32(s.top)*sub-half, int32(s.bottom)*sub+half
	normals := g.shape.Normals
	for i, t := range g.shape.Mesh.Triangles {
		a, b, c := &g.corners[t[0]], &g.corners[t[1]], &g.corners[t[2]]
		if a.y < lo && b.y < lo && c.y < lo || a.y > hi && b.y > hi && c.y > hi {
			continue
		}
		// Clockwise on the screen, whose y runs down, is the front.
		area := int64(b.x-a.x)*int64(c.y-a.y) - int64(b.y-a.y)*int64(c.x-a.x)
		if area < 0 {
			s.fill(g, a, c, b, -area, &normals[i][0], &normals[i][2], &normals[i][1])
		}
	}
}

// Window returns the part of a view that an instance reaches, on the same grid of pixels, and how many pixels it lies
// from the view's left and top; false when the instance is empty.
func Window(in render.Instance, view render.View) (w render.View, left, top int, ok bool) {
	b := view.Bounds(in.Pose.Box(in.Shape.Box))
	if b.IsEmpty() {
		return view, 0, 0, false
	}
	w = view
	w.Width, w.Height = int(b.Size().X/view.PixelMM)+2, int(b.Size().Y/view.PixelMM)+2
	x := math.Floor((b.Min.X-view.MidRight)/view.PixelMM + float64(view.Width)/2)
	bottom := math.Floor((b.Min.Y-view.MidUp)/view.PixelMM + float64(view.Height)/2)
	w.MidRight = view.MidRight + (x+float64(w.Width)/2-float64(view.Width)/2)*view.PixelMM
	w.MidUp = view.MidUp + (bottom+float64(w.Height)/2-float64(view.Height)/2)*view.PixelMM
	return w, int(x), view.Height - int(bottom) - w.Height, true
}

// Alone counts the pixels that one instance covers when nothing stands before it, in the part of the view it reaches.
func Alone(in render.Instance, view render.View) (int, error) {
	w, _, _, ok := Window(in, view)
	if !ok {
		return 0, nil
	}
	buf, err := Draw(render.Scene{Instances: []render.Instance{in}}, w)
	if err != nil {
		return 0, err
	}
	n := 0
	for _, p := range buf.Packed {
		if p != 0 {
			n++
		}
	}
	return n, nil
}
