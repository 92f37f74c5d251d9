// Package raster draws a scene into buffers (id, normal, depth) and buffers into an image.
//
// The scene is drawn in a fixed number of horizontal strips. A goroutine owns the strip it draws, and draws the
// triangles of the scene in their order, so the result is the same bytes on any number of cores. One pass fills all
// buffers: the four bytes a fragment may write carry its id and normal, and the depth comes from the depth test.
//
// Instances share their shape: a worker turns the vertices of one instance at a time into a scratch list.
//
// Memory, for n pixels of the buffers: 8 n bytes of buffers, and per core 12 n / strips bytes of strip. Drawing at
// twice the final size and calling Develop is the anti-aliasing.
package raster

import (
	"math"
	"runtime"
	"sync"
	"sync/atomic"

	"github.com/fogleman/fauxgl"

	"turnwise/geom"
	"turnwise/render"
)

const (
	// strips is how many strips a picture is cut into: enough that two cores end together and that a strip's own
	// buffers are small, few enough that not many triangles are drawn twice.
	strips = 16
	// smallPixels is the size of a picture below which one strip is quicker.
	smallPixels = 1 << 18
)

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
	n := strips
	if view.Width*view.Height < smallPixels {
		n = 1
	}
	rows := (view.Height + n - 1) / n
	near, far := depthRange(scene, view.Camera)
	var next atomic.Int32
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			s := newStrip(view, rows, near, far)
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				s.draw(scene, i*rows)
				s.copyTo(b)
			}
		}()
	}
	wg.Wait()
	return b, nil
}

// depthRange returns depths that hold the whole scene with a little room at both ends, so that nothing is clipped.
func depthRange(scene render.Scene, c render.Camera) (near, far float64) {
	const roomMM = 1
	near, far = math.Inf(1), math.Inf(-1)
	for _, in := range scene.Instances {
		b := c.Bounds(in.Pose.Box(in.Shape.Box))
		if b.IsEmpty() {
			continue
		}
		near, far = min(near, b.Min.Z), max(far, b.Max.Z)
	}
	if near > far {
		return 0, 1
	}
	return near - roomMM, far + roomMM
}

// strip is the rows of a picture that one goroutine is drawing.
type strip struct {
	view      render.View
	top, rows int
	near, far float64
	dc        *fauxgl.Context
	shader    *packer
	corners   []fauxgl.Vector // of the instance in hand, in the strip's unit cube
	triangle  fauxgl.Triangle
}

func newStrip(view render.View, rows int, near, far float64) *strip {
	s := &strip{view: view, rows: rows, near: near, far: far, dc: fauxgl.NewContext(view.Width, rows), shader: &packer{}}
	s.dc.Shader = s.shader
	s.dc.AlphaBlend = false
	return s
}

// draw fills the strip that begins at the given row of the picture.
func (s *strip) draw(scene render.Scene, top int) {
	s.top = top
	s.dc.ClearColorBuffer()
	s.dc.ClearDepthBuffer()
	for i := range scene.Instances {
		if in := &scene.Instances[i]; s.meets(in) {
			s.instance(in)
		}
	}
}

// meets tells whether the box around an instance reaches into the strip.
func (s *strip) meets(in *render.Instance) bool {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, c := range in.Shape.Box.Corners() {
		_, y, _ := s.view.Pixel(in.Pose.Apply(c))
		lo, hi = min(lo, y), max(hi, y)
	}
	return hi >= float64(s.top) && lo <= float64(s.top+s.rows)
}

// cube returns where v of an instance's frame lies in the cube that holds all the strip shows: x right, y up, z away,
// each from -1 to 1.
func (s *strip) cube(x, y, depth float64) fauxgl.Vector {
	return fauxgl.Vector{
		X: x/float64(s.view.Width)*2 - 1,
		Y: 1 - (y-float64(s.top))/float64(s.rows)*2,
		Z: (depth-s.near)/(s.far-s.near)*2 - 1,
	}
}

func (s *strip) instance(in *render.Instance) {
	s.corners = s.corners[:0]
	for _, v := range in.Shape.Mesh.Vertices {
		s.corners = append(s.corners, s.cube(s.view.Pixel(in.Pose.Apply(v))))
	}
	s.shader.id = in.ID
	right, up, back := in.Pose.Unrotate(s.view.Right), in.Pose.Unrotate(s.view.Up), in.Pose.Unrotate(s.view.Back)
	for i, t := range in.Shape.Mesh.Triangles {
		a, b, c := s.corners[t[0]], s.corners[t[1]], s.corners[t[2]]
		if max(a.Y, b.Y, c.Y) < -1 || min(a.Y, b.Y, c.Y) > 1 || (b.X-a.X)*(c.Y-a.Y)-(c.X-a.X)*(b.Y-a.Y) <= 0 {
			continue // outside the strip, or its back
		}
		n := &in.Shape.Normals[i]
		s.triangle.V1 = fauxgl.Vertex{Position: a, Normal: seen(n[0], right, up, back)}
		s.triangle.V2 = fauxgl.Vertex{Position: b, Normal: seen(n[1], right, up, back)}
		s.triangle.V3 = fauxgl.Vertex{Position: c, Normal: seen(n[2], right, up, back)}
		s.dc.DrawTriangle(&s.triangle)
	}
}

// seen turns a normal of the shape's frame into the camera's.
func seen(n [3]float32, right, up, back geom.Vec) fauxgl.Vector {
	v := geom.V(float64(n[0]), float64(n[1]), float64(n[2]))
	return fauxgl.Vector{X: v.Dot(right), Y: v.Dot(up), Z: v.Dot(back)}
}

// copyTo moves the strip into its rows of the picture.
func (s *strip) copyTo(b *render.Buffers) {
	rows := min(s.rows, b.Height-s.top)
	if rows <= 0 {
		return
	}
	at := s.top * b.Width
	inf := float32(math.Inf(1))
	pix := s.dc.ColorBuffer.Pix
	for i := range rows * b.Width {
		p := pix[4*i : 4*i+4 : 4*i+4]
		b.Packed[at+i] = uint32(p[0])<<24 | uint32(p[1])<<16 | uint32(p[2])<<8 | uint32(p[3])
		if b.Packed[at+i] == 0 {
			b.Depth[at+i] = inf
			continue
		}
		b.Depth[at+i] = float32(s.near + s.dc.DepthBuffer[i]*(s.far-s.near))
	}
}

// packer is the shader: corners come in the unit cube, and the four bytes of a fragment carry its id and normal.
type packer struct{ id int }

// Vertex passes the corner on; it has been moved already.
func (p *packer) Vertex(v fauxgl.Vertex) fauxgl.Vertex {
	v.Output = fauxgl.VectorW{X: v.Position.X, Y: v.Position.Y, Z: v.Position.Z, W: 1}
	return v
}

// Fragment returns the packed pixel as a colour. Half a step is added to each byte, so that turning the colour back
// into bytes gives the same ones.
func (p *packer) Fragment(v fauxgl.Vertex) fauxgl.Color {
	w := render.Pack(p.id, geom.Vec(v.Normal))
	part := func(shift uint) float64 { return (float64(w>>shift&0xff) + 0.5) / 255 }
	return fauxgl.Color{R: part(24), G: part(16), B: part(8), A: part(0)}
}

// Alone counts the pixels that one instance covers when nothing stands before it, in the part of the view it reaches.
func Alone(in render.Instance, view render.View) (int, error) {
	b := view.Bounds(in.Pose.Box(in.Shape.Box))
	if b.IsEmpty() {
		return 0, nil
	}
	w := view
	w.Width, w.Height = int(b.Size().X/view.PixelMM)+2, int(b.Size().Y/view.PixelMM)+2
	// The window keeps the grid of the view, so that the same pixels are covered as in the whole picture.
	left := math.Floor((b.Min.X-view.MidRight)/view.PixelMM + float64(view.Width)/2)
	bottom := math.Floor((b.Min.Y-view.MidUp)/view.PixelMM + float64(view.Height)/2)
	w.MidRight = view.MidRight + (left+float64(w.Width)/2-float64(view.Width)/2)*view.PixelMM
	w.MidUp = view.MidUp + (bottom+float64(w.Height)/2-float64(view.Height)/2)*view.PixelMM
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
