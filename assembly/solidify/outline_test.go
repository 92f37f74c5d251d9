package solidify

import (
	"fmt"
	"math"
	"math/rand"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// outlineHolds tells whether a point is in the outline, or within tol of it.
func outlineHolds(o assembly.Outline, p geom.Vec, tol float64) bool {
	for _, b := range o.Boxes {
		if b.Grow(tol).Contains(p) {
			return true
		}
	}
	for _, t := range o.Tubes {
		d := p.Sub(t.At)
		s := d.Dot(t.Dir)
		r := d.Sub(t.Dir.Mul(s)).Len()
		if s >= -tol && s <= t.Length+tol && r >= t.Bore-tol && r <= t.Radius+tol {
			return true
		}
	}
	return false
}

// metal returns points in the material of s, half of them close under the surface.
func metal(s sdf.Solid, n int) []geom.Vec {
	rnd := rand.New(rand.NewSource(7))
	b := s.Bounds()
	var out []geom.Vec
	for tries := 0; len(out) < n && tries < 200*n; tries++ {
		d := b.Size()
		p := b.Min.Add(geom.V(d.X*rnd.Float64(), d.Y*rnd.Float64(), d.Z*rnd.Float64()))
		f := s.Distance(p)
		if f >= 0 {
			continue
		}
		if l, ok := s.(sdf.Leafed); ok && tries%2 == 0 {
			q := p.Sub(l.Leaves()[l.ActiveLeaf(p)].Gradient(p).Mul(f * 0.999999))
			if s.Distance(q) < 0 {
				p = q
			}
		}
		out = append(out, p)
	}
	return out
}

// TestOutlineHoldsTheSolid: no material is outside the outline.
func TestOutlineHoldsTheSolid(t *testing.T) {
	for _, tt := range everyPart(t, testing.Short()) {
		s, err := Solid(tt.part)
		require.NoError(t, err)
		o, err := Outline(tt.part)
		require.NoError(t, err)
		points := metal(s, 300)
		require.NotEmpty(t, points, tt.name)
		for _, p := range points {
			require.True(t, outlineHolds(o, p, 1e-7), "%s: %v", tt.name, p)
		}
	}
}

// TestOutlineIsTight: of parts about one line, no tube reaches further than a taper step from the metal.
func TestOutlineIsTight(t *testing.T) {
	tried := map[standard.Kind]int{}
	for _, tt := range everyPart(t, testing.Short()) {
		switch tt.part.Kind {
		case standard.Pipe, standard.Coupling, standard.Reducer, standard.RightLeft, standard.LongScrew, standard.Cap,
			standard.Glide, standard.Pad:
		default:
			continue
		}
		s, err := Solid(tt.part)
		require.NoError(t, err)
		o, err := Outline(tt.part)
		require.NoError(t, err)
		rnd := rand.New(rand.NewSource(8))
		for _, tube := range o.Tubes {
			for range 40 {
				sin, cos := math.Sincos(2 * math.Pi * rnd.Float64())
				r := tube.Bore + (tube.Radius-tube.Bore)*rnd.Float64()
				u := tube.Dir.Across()
				p := tube.At.Add(tube.Dir.Mul(tube.Length * rnd.Float64())).Add(u.Mul(r * cos)).Add(tube.Dir.Cross(u).Mul(r * sin))
				require.LessOrEqual(t, s.Distance(p), taperStepMM+1e-6, "%s: %v", tt.name, p)
				tried[tt.part.Kind]++
			}
		}
	}
	assert.GreaterOrEqual(t, len(tried), 7, "kinds")
}

// threadGrip is how deep, on the radius, the male thread of pipe end a stands in the metal round port p at the depth t
// from its face, worked out from the dimensions alone.
func threadGrip(pipe, f standard.Dims, port string, engagement, t float64) float64 {
	male := math.Min(pipe.MM(standard.DimPitchDia, "a")+pipe.MM(standard.DimTaper, "a")*(engagement-t), pipe.MM(standard.DimOD, ""))
	female := f.MM(standard.DimPitchDia, port) - f.MM(standard.DimTaper, port)*t
	return (male - female) / 2
}

// tapped calls do for every female threaded port of every fitting, with a pipe of its size and family.
func tapped(t *testing.T, short bool, do func(name string, s sample, port standard.Port, pipe standard.Fitting)) {
	n := 0
	for _, tt := range everyPart(t, short) {
		for _, port := range tt.fitting.Ports {
			other := tt.part.Half != "" && tt.part.Half != port.Name
			if port.Male || port.Plain || other || tt.part.Kind == standard.Pipe {
				continue
			}
			c := standard.Catalogue{Family: port.Family}
			pipe, err := c.Pipe(standard.PipeSpec{Size: port.Size, LengthMM: 300})
			require.NoError(t, err)
			do(fmt.Sprintf("%s, port %s", tt.name, port.Name), tt, port, pipe)
			n++
		}
	}
	require.Greater(t, n, 20)
}

// intoPort is where a pipe stands, in the fitting's frame, whose end a is screwed into the port.
func intoPort(port standard.Port, engagement float64) geom.Pose {
	out := vec(port.Dir)
	return geom.Facing(out.Mul(port.ReachMM-engagement), out, geom.Vec{})
}

// TestOutlineLetsThePipeIn: made up, the pipe's outline stands in the fitting's by no more than the threads do and two
// taper steps. Looked at is what stands clear of the outline of the other legs and of the bend (see Outline).
func TestOutlineLetsThePipeIn(t *testing.T) {
	looked, ports := 0, 0
	defer func() { assert.Greater(t, looked, 200*ports, "of 300 points for each port") }()
	tapped(t, testing.Short(), func(name string, s sample, port standard.Port, pipe standard.Fitting) {
		o, err := Outline(s.part)
		require.NoError(t, err)
		ports++
		engagement := port.Engagement.MM
		pose := intoPort(port, engagement)
		rnd := rand.New(rand.NewSource(5))
		for i := 0; i < 300; i++ {
			z := engagement * 1.3 * rnd.Float64() // from the pipe's end
			r := pipe.Dims.MM(standard.DimPitchDia, "a")/2 + z/32
			if port.ReachMM-engagement+z < clearOf(s.part, port) {
				continue
			}
			looked++
			if depth := engagement - z; depth > 0 {
				r -= max(0, threadGrip(pipe.Dims, s.part.Dims, port.Name, engagement, depth)) + 2*taperStepMM
			}
			bore := pipe.Dims.MM(standard.DimBore, "") / 2
			r = bore + (r-bore)*rnd.Float64()
			sin, cos := math.Sincos(2 * math.Pi * rnd.Float64())
			p := pose.Apply(geom.V(r*cos, r*sin, z))
			require.False(t, outlineHolds(o, p, 0), "%s: %v mm from the pipe's end, radius %v", name, z, r)
		}
	})
}

// clearOf is how far from the origin, along a port's axis, outlines of bends and of legs to the side end.
func clearOf(p assembly.Part, port standard.Port) float64 {
	turn := map[standard.Kind]float64{standard.Elbow: 90, standard.StreetElbow: 90, standard.Elbow45: 45, standard.StreetElbow45: 45}
	clear := 0.0
	for name, f := range p.Dims {
		if other, ok := strings.CutPrefix(name, standard.DimBodyOD+"."); ok && other != port.Name {
			clear = max(clear, f.MM/2)
		}
	}
	if t := turn[p.Kind]; t > 0 && p.Dims.MM(standard.DimBendRadius, "") > 0 {
		start := p.Dims.MM(standard.DimBendRadius, "") * math.Tan(t/2*math.Pi/180)
		return start + p.Dims.MM(standard.DimBodyOD, "a")/4
	}
	if p.Kind == standard.Coupling || p.Kind == standard.Reducer || p.Kind == standard.RightLeft || p.Kind == standard.LongScrew {
		return 0
	}
	return clear
}

// board is a shelf of our own: three boxes round a notch, a bored hole, a hole that leans, a hole at the edge, a pocket.
func board() assembly.Part {
	lean := geom.V(0.1, 0, 1).Unit()
	return assembly.Part{
		ID: "shelf", Kind: standard.Board,
		Boxes: []geom.Box{
			{Min: geom.V(0, 0, 0), Max: geom.V(600, 250, 19)}, {Min: geom.V(0, 250, 0), Max: geom.V(100, 300, 19)},
			{Min: geom.V(130, 250, 0), Max: geom.V(600, 300, 19)},
		},
		Holes: []assembly.Hole{
			{At: geom.V(300, 120, 0), Dir: geom.AxisZ, Diameter: 30},
			{At: geom.V(500, 120, 0), Dir: lean, Diameter: 30},
			{At: geom.V(115, 250, 0), Dir: geom.AxisZ, Diameter: 30},
			{At: geom.V(400, 60, 19), Dir: geom.AxisZ.Neg(), Diameter: 34, Depth: 6},
			{At: geom.V(595, 200, 0), Dir: geom.AxisZ, Diameter: 30},
		},
	}
}

// TestBoardOutline: the outline holds all the wood, and pipes as wide as they are bored for pass through it.
func TestBoardOutline(t *testing.T) {
	part := board()
	s, err := Solid(part)
	require.NoError(t, err)
	o, err := Outline(part)
	require.NoError(t, err)
	for _, p := range metal(s, 3000) {
		require.True(t, outlineHolds(o, p, 1e-7), "%v", p)
	}
	const play = 25.4 / 16 // half of what builders bore wider than the pipe; common practice
	rnd := rand.New(rand.NewSource(6))
	for i, h := range part.Holes {
		for k := 0; k < 400; k++ {
			u, r := h.Dir.Across(), (h.Diameter/2-play)*math.Sqrt(rnd.Float64())
			sin, cos := math.Sincos(2 * math.Pi * rnd.Float64())
			depth := 25.0
			if h.Depth > 0 {
				depth = h.Depth
			}
			p := h.At.Add(h.Dir.Mul(depth * rnd.Float64())).Add(u.Mul(r * cos)).Add(h.Dir.Cross(u).Mul(r * sin))
			require.False(t, outlineHolds(o, p, 0), "hole %d at %v", i, p)
		}
	}
	assert.Less(t, len(o.Boxes), 400, "few enough to plan with")
}

// TestStrapOutline: a strap lets its pipe through and keeps off the board.
func TestStrapOutline(t *testing.T) {
	var c standard.Catalogue
	f, err := c.StrapOver("3/4")
	require.NoError(t, err)
	part := partsOf("strap", f, 0)[0].part
	o, err := Outline(part)
	require.NoError(t, err)
	od := f.Dims.MM(standard.DimOD, "")
	assert.False(t, outlineHolds(o, geom.V(od/2+1e-6, 0, 0), 0), "the board")
	for k := 0; k < 48; k++ {
		s, co := math.Sincos(2 * math.Pi * float64(k) / 48)
		r := od/2 - 1.2*strapReachMM // the strips' corners, and the strap's own thickness across them
		assert.False(t, outlineHolds(o, geom.V(r*co, r*s, 0), 0), "the pipe at %d", k)
	}
}
