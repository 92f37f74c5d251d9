package render

import (
	"math"

	"turnwise/geom"
)

// Camera looks at a scene from far away (orthographic). Right, Up and Back are unit vectors, square to one another
// and right-handed; Back points from the scene to the eye, so a picture is never a mirror image.
type Camera struct {
	Right, Up, Back geom.Vec
}

// LookFrom returns the camera whose eye lies at the given bearings from the scene: azimuth anticlockwise from +x seen
// from above, elevation up from the horizon, both in radians. Vertical edges stay vertical. An elevation of more than
// 89 degrees either way is taken as 89.
func LookFrom(azimuthRad, elevationRad float64) Camera {
	const most = 89 * math.Pi / 180
	elevationRad = max(-most, min(most, elevationRad))
	se, ce := math.Sincos(elevationRad)
	sa, ca := math.Sincos(azimuthRad)
	back := geom.V(ce*ca, ce*sa, se)
	right := geom.V(-sa, ca, 0)
	return Camera{Right: right, Up: back.Cross(right), Back: back}
}

// Project returns where v lies: to the right, up, and away from the eye, in mm. The last grows with distance.
func (c Camera) Project(v geom.Vec) (right, up, depth float64) {
	return v.Dot(c.Right), v.Dot(c.Up), -v.Dot(c.Back)
}

// Foreshortening returns the length on paper of a unit vector along dir: 1 across the line of sight, 0 along it.
func (c Camera) Foreshortening(dir geom.Vec) float64 {
	return math.Hypot(dir.Dot(c.Right), dir.Dot(c.Up))
}

// Bounds returns what the camera sees of boxes: a box in right, up and depth.
func (c Camera) Bounds(boxes ...geom.Box) geom.Box {
	out := geom.EmptyBox()
	for _, b := range boxes {
		if b.IsEmpty() {
			continue
		}
		for _, p := range b.Corners() {
			out = out.Include(geom.V(c.Project(p)))
		}
	}
	return out
}

// Bounds returns a box in right, up and depth around every vertex of every instance for which keep is true.
func (s Scene) Bounds(c Camera, keep func(Instance) bool) geom.Box {
	out := geom.EmptyBox()
	for _, in := range s.Instances {
		if keep != nil && !keep(in) {
			continue
		}
		r, u, b := in.Pose.Unrotate(c.Right), in.Pose.Unrotate(c.Up), in.Pose.Unrotate(c.Back)
		o := geom.V(c.Project(in.Pose.Origin))
		if own := reach(in.Shape.Mesh.Vertices, r, u, b.Neg()); !own.IsEmpty() {
			out = out.Union(geom.Box{Min: own.Min.Add(o), Max: own.Max.Add(o)})
		}
	}
	return out
}

// reach returns how far points go along three directions: least and most. Comparing plainly is several times as fast as
// with functions that look out for NaN, and views are chosen by looking at every vertex from every side.
func reach(points []geom.Vec, x, y, z geom.Vec) geom.Box {
	out := geom.EmptyBox()
	for _, v := range points {
		a, b, c := v.X*x.X+v.Y*x.Y+v.Z*x.Z, v.X*y.X+v.Y*y.Y+v.Z*y.Z, v.X*z.X+v.Y*z.Y+v.Z*z.Z
		if a < out.Min.X {
			out.Min.X = a
		}
		if a > out.Max.X {
			out.Max.X = a
		}
		if b < out.Min.Y {
			out.Min.Y = b
		}
		if b > out.Max.Y {
			out.Max.Y = b
		}
		if c < out.Min.Z {
			out.Min.Z = c
		}
		if c > out.Max.Z {
			out.Max.Z = c
		}
	}
	return out
}

// View is a camera with a window of pixels on what it sees.
type View struct {
	Camera
	Width, Height int     // pixels
	PixelMM       float64 // scene millimetres per pixel
	// MidRight and MidUp are what the middle of the window shows, in the camera's millimetres.
	MidRight, MidUp float64
}

// Pixel returns where v falls, in pixels from the top left corner of the window, and its depth in mm.
func (w View) Pixel(v geom.Vec) (x, y, depth float64) {
	r, u, d := w.Project(v)
	return float64(w.Width)/2 + (r-w.MidRight)/w.PixelMM, float64(w.Height)/2 - (u-w.MidUp)/w.PixelMM, d
}

// Finer returns the same view with n times as many pixels each way.
func (w View) Finer(n int) View {
	w.Width, w.Height, w.PixelMM = w.Width*n, w.Height*n, w.PixelMM/float64(n)
	return w
}

// Frame is a rectangle of pixels, left and top included.
type Frame struct{ Left, Top, Right, Bottom float64 }

// Fit returns the view of a window of width x height pixels in which seen (right, up, depth, as Bounds gives it)
// fills the frame as far as its shape allows, in the frame's middle.
func Fit(c Camera, seen geom.Box, width, height int, frame Frame) View {
	size := seen.Size()
	px := max(size.X/(frame.Right-frame.Left), size.Y/(frame.Bottom-frame.Top), math.SmallestNonzeroFloat32)
	mid := seen.Centre()
	fx, fy := (frame.Left+frame.Right)/2-float64(width)/2, (frame.Top+frame.Bottom)/2-float64(height)/2
	return View{Camera: c, Width: width, Height: height, PixelMM: px, MidRight: mid.X - fx*px, MidUp: mid.Y + fy*px}
}
