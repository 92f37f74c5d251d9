package render_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/render"
	"turnwise/render/rendertest"
)

const rad = math.Pi / 180

// directions returns n unit vectors spread evenly over the sphere (a Fibonacci spiral).
func directions(n int) []geom.Vec {
	golden := math.Pi * (3 - math.Sqrt(5))
	out := make([]geom.Vec, n)
	for i := range out {
		z := 1 - 2*(float64(i)+0.5)/float64(n)
		s, c := math.Sincos(golden * float64(i))
		r := math.Sqrt(1 - z*z)
		out[i] = geom.V(r*c, r*s, z)
	}
	return out
}

func TestPackKeepsIDAndNormal(t *testing.T) {
	for i, n := range directions(20000) {
		id := 1 + i*7%render.MaxID
		b := render.Buffers{Packed: []uint32{render.Pack(id, n)}}
		require.Equal(t, id, b.ID(0), "id packed with normal %v", n)
		require.Less(t, b.Normal(0).Angle(n)/rad, 0.25, "degrees between %v and what comes back", n)
	}
	for _, n := range []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ, geom.AxisZ.Neg(), {}} {
		b := render.Buffers{Packed: []uint32{render.Pack(render.MaxID, n)}}
		assert.Equal(t, render.MaxID, b.ID(0))
		assert.True(t, b.Normal(0).IsFinite())
	}
}

// TestSlopeIsTheTangentOfTheNormal: to the eye.
func TestSlopeIsTheTangentOfTheNormal(t *testing.T) {
	for _, n := range directions(5000) {
		p := render.Pack(1, n)
		if back := render.UnpackNormal(p); back.Z > 0.01 {
			require.InEpsilon(t, math.Tan(back.Angle(geom.AxisZ))+1, render.Slope(p)+1, 1e-6, "%v", n)
		} else if back.Z < -0.01 {
			require.True(t, math.IsInf(render.Slope(p), 1), "%v", n)
		}
	}
}

func TestNormalsNearNeverSaysYesOfWhatIsFar(t *testing.T) {
	ds := directions(1500)
	for _, a := range ds {
		for _, b := range ds {
			if render.NormalsNear(render.Pack(1, a), render.Pack(1, b)) {
				require.Less(t, a.Angle(b)/rad, 12.0, "%v and %v", a, b)
			}
		}
	}
}

func TestCameraIsNoMirror(t *testing.T) {
	for az := -180.0; az <= 180; az += 30 {
		for _, el := range []float64{-20, 0, 35, 89.9} {
			c := render.LookFrom(az*rad, el*rad)
			pose := geom.Pose{X: c.Right, Y: c.Up, Z: c.Back}
			assert.True(t, pose.IsRigid(1e-12), "azimuth %v elevation %v: %+v", az, el, c)
			assert.InDelta(t, 0, c.Right.Z, 1e-12, "verticals stay vertical")
		}
	}
	// A person who stands at -y and looks at the back wall has +x on the right and the wall farther away.
	c := render.LookFrom(-90*rad, 0)
	r, u, near := c.Project(geom.V(3, 0, 4))
	assert.InDelta(t, 3, r, 1e-9)
	assert.InDelta(t, 4, u, 1e-9)
	_, _, far := c.Project(geom.V(3, 5, 4))
	assert.InDelta(t, 5, far-near, 1e-9)
}

// TestIsometricForeshortening: in the isometric view, 45 degrees round and atan(1/sqrt 2) up, all three axes are
// shortened to sqrt(2/3) = 0.8165 (ISO 5456-3 gives 0.816).
func TestIsometricForeshortening(t *testing.T) {
	c := render.LookFrom(45*rad, math.Atan(1/math.Sqrt2))
	for _, a := range []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
		assert.InDelta(t, math.Sqrt(2.0/3), c.Foreshortening(a), 1e-12)
	}
}

func TestFitFillsTheFrame(t *testing.T) {
	shape := render.NewShape(rendertest.Box(geom.Box{Max: geom.V(300, 200, 100)}))
	scene := render.Scene{Instances: []render.Instance{{ID: 1, Shape: shape, Pose: geom.At(geom.V(50, -70, 9))}}}
	c := render.LookFrom(-60*rad, 30*rad)
	frame := render.Frame{Left: 20, Top: 30, Right: 220, Bottom: 330}
	v := render.Fit(c, scene.Bounds(c, nil), 640, 480, frame)
	x0, y0, x1, y1 := math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, p := range shape.Box.Corners() {
		x, y, _ := v.Pixel(scene.Instances[0].Pose.Apply(p))
		x0, y0, x1, y1 = min(x0, x), min(y0, y), max(x1, x), max(y1, y)
	}
	assert.InDelta(t, frame.Left, x0, 1e-6, "the wider side fills the frame")
	assert.InDelta(t, frame.Right, x1, 1e-6)
	assert.InDelta(t, (frame.Top+frame.Bottom)/2, (y0+y1)/2, 1e-6, "the other is in its middle")
	assert.Greater(t, y0, frame.Top)
	x, y, _ := v.Finer(2).Pixel(geom.V(1, 2, 3))
	hx, hy, _ := v.Pixel(geom.V(1, 2, 3))
	assert.InDelta(t, 2*hx, x, 1e-9)
	assert.InDelta(t, 2*hy, y, 1e-9)
}

func TestNormalsAreRoundOnSoftEdgesAndSharpOnHardOnes(t *testing.T) {
	rod := render.NewShape(rendertest.Rod(24, 10, 50))
	for i, tri := range rod.Mesh.Triangles {
		for k, v := range tri {
			p := rod.Mesh.Vertices[v]
			n := rod.Normals[i][k]
			got := geom.V(float64(n[0]), float64(n[1]), float64(n[2]))
			side := geom.V(p.X, p.Y, 0).Unit()
			cap := math.Abs(got.Z) > 0.999
			assert.True(t, cap || got.Angle(side)/rad < 0.01, "normal %v at %v is neither that of the round side nor of the end", got, p)
		}
	}
	box := render.NewShape(rendertest.Box(geom.Box{Max: geom.V(1, 2, 3)}))
	for _, c := range box.Normals {
		assert.Equal(t, c[0], c[1], "a face of a box is flat")
		assert.Equal(t, c[1], c[2])
	}
}

func TestCoarse(t *testing.T) {
	m := rendertest.Tube(96, 13, 10, 400)
	c := render.Coarse(m, 4)
	assert.Less(t, len(c.Triangles), len(m.Triangles)/2)
	want, got := geom.BoxOf(m.Vertices...), geom.BoxOf(c.Vertices...)
	assert.True(t, want.Min.Near(got.Min, 4) && want.Max.Near(got.Max, 4), "%v became %v", want, got)
	assert.Same(t, m, render.Coarse(m, 0))
	assert.Empty(t, render.Coarse(m, 1e4).Triangles)
}

func TestCheck(t *testing.T) {
	shape := render.NewShape(rendertest.Box(geom.Box{Max: geom.V(1, 1, 1)}))
	good := render.Instance{ID: 1, Shape: shape, Pose: geom.Identity()}
	require.NoError(t, render.Scene{Instances: []render.Instance{good}}.Check())
	require.ErrorIs(t, render.Scene{}.Check(), render.ErrEmpty)
	for _, id := range []int{0, -1, render.MaxID + 1} {
		bad := good
		bad.ID = id
		require.ErrorIs(t, render.Scene{Instances: []render.Instance{good, bad}}.Check(), render.ErrID)
	}
	bad := good
	bad.Shape = nil
	require.Error(t, render.Scene{Instances: []render.Instance{bad}}.Check())
	bad = good
	bad.Pose.Origin.X = math.NaN()
	require.Error(t, render.Scene{Instances: []render.Instance{bad}}.Check())
	assert.Equal(t, geom.EmptyBox(), render.NewShape(&mesh.Mesh{}).Box)
}

func TestLuma(t *testing.T) {
	assert.InDelta(t, 1, render.Colour{R: 255, G: 255, B: 255}.Luma(), 1e-9)
	assert.InDelta(t, 0.587, render.Colour{G: 255}.Luma(), 1e-9)
	assert.Equal(t, render.Colour{R: 100, G: 50}, render.Colour{R: 0, G: 100}.Lerp(render.Colour{R: 200}, 0.5))
}
