package isosurface

import (
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// Figures of turned meshes.
const (
	// turnedPart is the part of the tolerance that the chords of the widest circle use up.
	turnedPart = 0.95
	// leastSteps is the least number of steps in a turn.
	leastSteps = 12
	// sameStation is how near two ends of sides are taken for one corner, in mm.
	sameStation = 1e-9
)

// turnedMesh meshes a solid of revolution straight from its profile: every corner becomes a ring of vertices, every
// side a strip. All rings have the same steps, so the chords of the widest one decide them. It returns false when the
// solid has no profile, or the result is not sound.
func turnedMesh(s sdf.Leafed, o Options) (*mesh.Mesh, Report, bool) {
	at, dir, sides, ok := sdf.Profile(s)
	if !ok || len(sides) == 0 {
		return nil, Report{}, false
	}
	widest := 0.0
	for _, e := range sides {
		widest = max(widest, e.From.R, e.To.R)
	}
	t := newTurner(at, dir, turnSteps(widest, turnedPart*o.ToleranceMM))
	for _, e := range sides {
		t.strip(t.ring(e.From), t.ring(e.To))
	}
	m := mesh.Round32(&t.m)
	r := Report{Method: Turned, RawTriangles: len(m.Triangles)}
	if !mesh.Examine(m).OK() {
		return nil, r, false
	}
	r.measure(s, m, o.ToleranceMM)
	return m, r, r.Folded == 0 && r.MaxErrorMM <= o.ToleranceMM*(1+errorSlack)
}

// turnSteps returns how many chords a circle takes so that they stand off it by at most tol: r (1 - cos(pi/n)) <= tol.
func turnSteps(r, tol float64) int {
	if r <= tol {
		return leastSteps
	}
	return max(leastSteps, int(math.Ceil(math.Pi/math.Acos(1-tol/r))))
}

// turner builds a turned mesh.
type turner struct {
	at, dir  geom.Vec
	out      []geom.Vec // unit vectors away from the axis, one for each step
	stations []sdf.Station
	first    []int32 // vertex of each station's ring
	m        mesh.Mesh
}

func newTurner(at, dir geom.Vec, steps int) *turner {
	t := &turner{at: at, dir: dir}
	u := dir.Across()
	v := dir.Cross(u)
	for k := range steps {
		s, c := math.Sincos(2 * math.Pi * float64(k) / float64(steps))
		t.out = append(t.out, u.Mul(c).Add(v.Mul(s)))
	}
	return t
}

// ring returns the number of a station, and makes its vertices when it is new: a single one on the axis.
func (t *turner) ring(s sdf.Station) int {
	for i, have := range t.stations {
		if math.Abs(have.S-s.S) <= sameStation && math.Abs(have.R-s.R) <= sameStation {
			return i
		}
	}
	t.stations = append(t.stations, s)
	t.first = append(t.first, int32(len(t.m.Vertices)))
	centre := t.at.Add(t.dir.Mul(s.S))
	if s.R <= sameStation {
		t.m.Vertices = append(t.m.Vertices, centre)
		return len(t.stations) - 1
	}
	for _, o := range t.out {
		t.m.Vertices = append(t.m.Vertices, centre.Add(o.Mul(s.R)))
	}
	return len(t.stations) - 1
}

// vertex returns the vertex of a station at a step.
func (t *turner) vertex(station, step int) int32 {
	if t.stations[station].R <= sameStation {
		return t.first[station]
	}
	return t.first[station] + int32(step%len(t.out))
}

// strip joins two rings. The material is on the right of the way from a to b.
func (t *turner) strip(a, b int) {
	for k := range t.out {
		a0, a1, b0, b1 := t.vertex(a, k), t.vertex(a, k+1), t.vertex(b, k), t.vertex(b, k+1)
		if a0 != a1 {
			t.m.Triangles = append(t.m.Triangles, [3]int32{a0, a1, b0})
		}
		if b0 != b1 {
			t.m.Triangles = append(t.m.Triangles, [3]int32{a1, b1, b0})
		}
	}
}
