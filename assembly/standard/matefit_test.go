package standard

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
)

// A pipe screwed in by its engagement, and one turn past it, meets no metal but its thread, whose overlap on the radius
// is (engagement - L1) / 32 at the most; and two pipes in one fitting do not meet. Every fitting at every size.
func TestPipesGoIn(t *testing.T) {
	everyFitting(t, func(c *Catalogue, f Fitting) {
		if testing.Short() && c.MakeUp != "" {
			return
		}
		halves := []string{""}
		if f.Kind == Union {
			halves = []string{"a", "b"}
		}
		var bodies []Solid
		for _, h := range halves {
			s, err := SolidOf(f.Kind, h, f.Dims)
			require.NoError(t, err)
			bodies = append(bodies, s)
		}
		var inside [][]([3]float64)
		for _, p := range f.Ports {
			if p.Plain || p.Male || f.Kind == LongScrew {
				continue
			}
			pts := pipePoints(t, c, p)
			inside = append(inside, pts)
			for _, q := range pts {
				for _, b := range bodies {
					require.False(t, b.holds(q), "%s %s port %s: a pipe meets metal at %.2f", f.Family, f.Text, p.Name, q)
				}
			}
		}
		for i := range inside {
			for j := range i {
				requireApart(t, f, inside[i], f.Ports, i, j)
			}
		}
	})
}

// turnPast is how far past its engagement a joint may be turned: one turn.
const turnPast = 1.0

// pipePoints are points just under the surface of a pipe in a port, a turn past its engagement, from its end to a
// pipe's width before the mouth; the thread's overlap and rounding are taken off.
func pipePoints(t *testing.T, c *Catalogue, p Port) [][3]float64 {
	t.Helper()
	pipe, err := c.Pipe(PipeSpec{Size: p.Size, LengthMM: 400})
	require.NoError(t, err)
	s, err := SolidOf(Pipe, "", pipe.Dims)
	require.NoError(t, err)
	deep := p.Engagement.MM + turnPast*p.Pitch.MM
	room := p.ReachMM - deep
	if room < 0 {
		deep = p.ReachMM // a short coupling: to the middle
	}
	under := math.Max(0, deep-p.HandTight.MM)/32 + 0.05
	across := [3]float64{1, 0, 0}
	if math.Abs(p.Dir[0]) > 0.5 {
		across = [3]float64{0, 0, 1}
	}
	other := cross(p.Dir, across)
	across = cross(other, p.Dir)
	var out [][3]float64
	for _, along01 := range []float64{0.02, 0.2, 0.4, 0.6, 0.8, 0.98, 1.3, 1.8} {
		z := along01 * deep
		r := s.Add[0].profileAt(z) - under
		for k := range 24 {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / 24)
			q := along([3]float64{}, p.Dir, p.ReachMM-deep+z)
			q = along(along(q, across, r*cos), other, r*sin)
			out = append(out, q)
		}
	}
	return out
}

// requireApart checks that no point of one pipe is within the other's cylinder.
func requireApart(t *testing.T, f Fitting, pts [][3]float64, ports []Port, i, j int) {
	t.Helper()
	var threaded []Port
	for _, p := range ports {
		if !p.Plain && !p.Male {
			threaded = append(threaded, p)
		}
	}
	if dot(threaded[i].Dir, threaded[j].Dir) < -0.9 {
		return // in line
	}
	p := threaded[j]
	end := p.ReachMM - p.Engagement.MM - p.Pitch.MM
	for _, q := range pts {
		s := dot(q, p.Dir)
		aside := sub(q, along([3]float64{}, p.Dir, s))
		require.False(t, s > end && math.Sqrt(dot(aside, aside)) < f.Dims.MM(DimPitchDia, p.Name)/2-0.3,
			"%s %s: the pipes in %s and %s meet", f.Family, f.Text, threaded[i].Name, p.Name)
	}
}
