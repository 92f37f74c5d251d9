package unite

import (
	"errors"
	"fmt"
	"math"

	"turnwise/geom"
	"turnwise/geom/mesh"
)

// Union is the skin of the bodies added so far. The zero Union is not ready: see New.
type Union struct {
	grain  float64 // the step of 32-bit floats where the bodies are
	points []geom.Vec
	bodies []body
	added  int // bodies given to Add, also ones refused
}

// body is what is left of the skin of a body that was added.
type body struct {
	triangles [][3]int32
	box       geom.Box
}

// New returns an empty union for bodies within room. The room only tells how coarse 32-bit floats are there.
func New(room geom.Box) *Union {
	most := 0.0
	for _, c := range room.Corners() {
		most = max(most, math.Abs(c.X), math.Abs(c.Y), math.Abs(c.Z))
	}
	return &Union{grain: float64(math.Nextafter32(float32(most), math.MaxFloat32)) - float64(float32(most))}
}

// Errors of Add; what it returns wraps one of these.
var (
	// ErrTouch: bodies lie face to face, or an edge in a face, whichever way the new one is moved a little.
	ErrTouch = errors.New("the bodies touch and do not overlap")
	// ErrSmall: they meet in triangles too small for 32-bit floats.
	ErrSmall = errors.New("the bodies meet in triangles that are too small to write")
)

// tries is how often a body is moved and tried before it is refused.
const tries = 24

// shakeGrains is how far a body is moved on the first try, in steps of 32-bit floats: far enough that whatever was flush is
// so no more, and not near enough to flush to leave slivers that round to nothing. Each try goes a little further.
const shakeGrains = 24

// Add adds a closed body. It is moved by a few hundred steps of 32-bit floats at most. On an error the union is as before.
func (u *Union) Add(m *mesh.Mesh) error {
	u.added++
	var err error
	for try := range tries {
		var done bool
		if done, err = u.try(m, u.shake(try)); done {
			return nil
		}
	}
	return err
}

// shake is a small move, different for each body and try. Its directions are the multiples of three ratios that fill a cube
// evenly (the generalised golden ratio of three dimensions: M. Roberts' R3 sequence).
func (u *Union) shake(try int) geom.Vec {
	n := float64(u.added + 17*try)
	part := func(ratio float64) float64 {
		_, f := math.Modf(0.5 + n*ratio)
		return 2*f - 1
	}
	far := u.grain * shakeGrains * (1 + float64(try)/4)
	return geom.V(part(0.8191725133961645), part(0.6710436067037893), part(0.5497004779019703)).Mul(far)
}

// Mesh returns the whole skin, rounded to 32-bit floats, with equal vertices made one.
func (u *Union) Mesh() *mesh.Mesh {
	m := &mesh.Mesh{Vertices: u.points}
	for _, b := range u.bodies {
		m.Triangles = append(m.Triangles, b.triangles...)
	}
	return mesh.Weld(m)
}

// try adds a body moved by some way. It reports false, and leaves the union alone, when that does not come out sound.
func (u *Union) try(m *mesh.Mesh, by geom.Vec) (done bool, err error) {
	s := u.begin(m, by)
	defer func() {
		if !done {
			u.points = u.points[:s.first]
		}
	}()
	if err := s.settle(); err != nil {
		return false, err
	}
	s.gather()
	if err := s.meet(); err != nil {
		return false, err
	}
	if len(s.line) > 0 {
		if err := s.divide(); err != nil {
			return false, err
		}
		if err := s.takeInside(); err != nil {
			return false, err
		}
		if err := s.tidy(); err != nil {
			return false, err
		}
	}
	s.commit()
	return true, nil
}

// The sides of a step.
const (
	old   = 0
	added = 1
)

// step is the adding of one body.
type step struct {
	u     *Union
	first int32 // points from here on are the body's, and after those the line's
	cut   int32 // points from here on lie on the line
	near  []int // bodies of the union that are looked at
	box   geom.Box
	tris  []tri        // what may meet
	rest  [][][3]int32 // by body, what is too far away: by index of near, the new body last

	pierced map[edgeTri]int32   // where edges go through triangles, -1 for not
	onEdge  map[edge][]edgeMark // by edge, where it is cut
	line    map[int32][]seam    // by triangle, the pieces of the line that run in it
}

// tri is a triangle with the body it belongs to: an index of near, or len(near) for the new one.
type tri struct {
	v    [3]int32
	body int32
	// what divide and takeInside find out
	state state
}

type state int8

const (
	unknown state = iota
	outside
	inside
	divided // its pieces stand for it
)

type edge struct{ a, b int32 } // a < b

func edgeOf(a, b int32) edge { return edge{min(a, b), max(a, b)} }

type edgeTri struct {
	e edge
	t int32
}

type edgeMark struct {
	v int32
	t float64 // along the edge, from a to b
}

// seam is a piece of the line in which the skins meet, and the triangle of the other skin that it lies in.
type seam struct {
	a, b  int32
	other int32
}

func (s *step) side(t int32) int {
	if int(s.tris[t].body) == len(s.near) {
		return added
	}
	return old
}

// begin places a body.
func (u *Union) begin(m *mesh.Mesh, by geom.Vec) *step {
	s := &step{u: u, first: int32(len(u.points)), box: geom.EmptyBox()}
	for _, v := range m.Vertices {
		p := mesh.Round32Vec(v.Add(by))
		u.points = append(u.points, p)
		s.box = s.box.Include(p)
	}
	s.cut = int32(len(u.points))
	for _, t := range m.Triangles {
		s.tris = append(s.tris, tri{v: [3]int32{t[0] + s.first, t[1] + s.first, t[2] + s.first}})
	}
	return s
}

// gather sorts out which triangles of the union and of the new body may meet: those in each other's boxes. What of either lies
// inside the other lies in its box.
func (s *step) gather() {
	fresh := s.tris
	s.tris = nil
	for i, b := range s.u.bodies {
		if b.box.Overlaps(s.box) {
			s.near = append(s.near, i)
		}
	}
	s.rest = make([][][3]int32, len(s.near)+1)
	for k, i := range s.near {
		for _, t := range s.u.bodies[i].triangles {
			if s.u.boxOf(t).Overlaps(s.box) {
				s.tris = append(s.tris, tri{v: t, body: int32(k)})
			} else {
				s.rest[k] = append(s.rest[k], t)
			}
		}
	}
	for _, t := range fresh {
		t.body = int32(len(s.near))
		box, near := s.u.boxOf(t.v), false
		for _, i := range s.near {
			near = near || s.u.bodies[i].box.Overlaps(box)
		}
		if near {
			s.tris = append(s.tris, t)
		} else {
			s.rest[t.body] = append(s.rest[t.body], t.v)
		}
	}
}

// commit puts what the step made into the union.
func (s *step) commit() {
	for _, t := range s.tris {
		s.rest[t.body] = append(s.rest[t.body], t.v)
	}
	for k, i := range s.near {
		s.u.bodies[i].triangles = s.rest[k]
	}
	s.u.bodies = append(s.u.bodies, body{s.rest[len(s.near)], s.box})
}

// boxOf is the box of a triangle.
func (u *Union) boxOf(t [3]int32) geom.Box {
	a, b, c := u.points[t[0]], u.points[t[1]], u.points[t[2]]
	return geom.Box{Min: a.Min(b).Min(c), Max: a.Max(b).Max(c)}
}

func (s *step) corners(t int32) (a, b, c geom.Vec) {
	v := s.tris[t].v
	return s.u.points[v[0]], s.u.points[v[1]], s.u.points[v[2]]
}

func fault(kind error, format string, args ...any) error {
	return fmt.Errorf("%w: %s", kind, fmt.Sprintf(format, args...))
}
