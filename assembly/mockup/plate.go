package mockup

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// ToleranceMM is how far the mesh of a piece may lie from its solid: a tenth of a line of a nozzle of 0.4 mm.
const ToleranceMM = 0.04

// gapMM is kept between pieces on a plate.
const gapMM = 2.0

// Laid is a piece lying on a plate: Mesh is in the plate's own frame, z up from the bed.
type Laid struct {
	Piece int // index into Model.Pieces
	Mesh  *mesh.Mesh
	At    [2]float64 // corner with least x and y
	Size  [2]float64
}

// Plate is what is printed at one time.
type Plate struct {
	Laid  []Laid
	Trial bool // of pieces to try the fit with, printed before the others
	// Fill is the share of the plate, up to the farthest piece, that pieces' rectangles take.
	Fill float64
}

// Meshes makes the mesh of every piece as it lies on a plate, its least corner at the origin. Pieces are worked on side by
// side; the result does not depend on how many at a time.
func (m *Model) Meshes() ([]*mesh.Mesh, error) {
	out := make([]*mesh.Mesh, len(m.Pieces))
	m.lies = make([]geom.Pose, len(m.Pieces))
	errs := make([]error, len(m.Pieces))
	next := make(chan int)
	var wg sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), max(1, len(m.Pieces))) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				out[i], m.lies[i], errs[i] = m.Pieces[i].lying()
			}
		}()
	}
	for i := range m.Pieces {
		next <- i
	}
	close(next)
	wg.Wait()
	for i, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("the mesh of %s: %w", m.Pieces[i].Label(), err)
		}
	}
	return out, nil
}

// lying is the piece's mesh, turned so that it lies as it is printed and takes the least room, and the pose in which it lies.
func (p Piece) lying() (*mesh.Mesh, geom.Pose, error) {
	along := geom.AxisZ // rods lie along x
	if abs(p.Up.Dot(along)) > 0.9 {
		along = geom.Vec{}
	}
	// Turned before it is meshed: the mesher's grid then runs along the flats.
	down := geom.Facing(geom.Vec{}, p.Up, along).Inverse()
	flat, _, err := isosurface.Mesh(sdf.Move(p.Printed, down), isosurface.Options{ToleranceMM: ToleranceMM})
	if err != nil {
		return nil, geom.Pose{}, err
	}
	round := geom.Identity().Turned(geom.Vec{}, geom.AxisZ, tightest(flat), 0)
	flat = mesh.Placed(flat, round)
	shift := geom.At(mesh.Bounds(flat).Min.Neg())
	return mesh.Placed(flat, shift), shift.Compose(round).Compose(down), nil
}

// Upright turns the mesh of a piece, as Meshes gives it, back into the frame of its part. There is none for a piece with a tag,
// which is broken off.
func (m *Model) Upright(piece int, lying *mesh.Mesh) (*mesh.Mesh, bool) {
	if piece >= len(m.lies) || m.Pieces[piece].Tag {
		return nil, false
	}
	return mesh.Placed(lying, m.lies[piece].Inverse()), true
}

// tightest is the angle about z that gives a mesh the least bounding rectangle, in radians. Rectangles turned by a right
// angle are alike, so a quarter turn is looked at, in steps of five degrees.
func tightest(m *mesh.Mesh) float64 {
	const step = 5
	best, least := 0.0, math.Inf(1)
	for deg := 0; deg < 90; deg += step {
		s, c := math.Sincos(float64(deg) * math.Pi / 180)
		x0, x1, y0, y1 := math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
		for _, v := range m.Vertices {
			x, y := c*v.X-s*v.Y, s*v.X+c*v.Y
			x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
		}
		if area := (x1 - x0) * (y1 - y0); area < least*(1-1e-6) {
			best, least = float64(deg)*math.Pi/180, area
		}
	}
	return best
}

// Plates lays all pieces, each as often as it is needed, on as few plates as the packing finds. A piece that does not go
// on the bed at all is left out, and a finding tells it. Pieces to try the fit with lie on the first plates, by themselves.
func (m *Model) Plates(meshes []*mesh.Mesh) ([]Plate, []assembly.Finding) {
	type item struct {
		piece int
		size  [2]float64
	}
	bed := [2]float64{m.Options.BedMM[0] - 2*bedMarginMM, m.Options.BedMM[1] - 2*bedMarginMM}
	var items []item
	var findings []assembly.Finding
	for i, p := range m.Pieces {
		s := mesh.Bounds(meshes[i]).Size()
		if max(s.X, s.Y) > max(bed[0], bed[1])+1e-9 || min(s.X, s.Y) > min(bed[0], bed[1])+1e-9 {
			findings = append(findings, outOfBed(p, s, bed))
			continue
		}
		for range p.Count {
			items = append(items, item{i, [2]float64{s.X, s.Y}})
		}
	}
	slices.SortStableFunc(items, func(a, b item) int { // trials, then long ones, then wide ones, then in the order of the pieces
		if t := m.Pieces[a.piece].Trial; t != m.Pieces[b.piece].Trial {
			return map[bool]int{true: -1, false: 1}[t]
		}
		la, lb := max(a.size[0], a.size[1]), max(b.size[0], b.size[1])
		if d := lb - la; math.Abs(d) > 1e-6 {
			return int(math.Copysign(1, d))
		}
		wa, wb := min(a.size[0], a.size[1]), min(b.size[0], b.size[1])
		if d := wb - wa; math.Abs(d) > 1e-6 {
			return int(math.Copysign(1, d))
		}
		return a.piece - b.piece
	})
	var plates []Plate
	var rooms []*room
	for _, it := range items {
		placed := false
		trial := m.Pieces[it.piece].Trial
		for i := 0; i <= len(plates) && !placed; i++ {
			if i < len(plates) && plates[i].Trial != trial {
				continue
			}
			if i == len(plates) {
				plates = append(plates, Plate{Trial: trial})
				rooms = append(rooms, newRoom(bed))
			}
			at, turned, ok := rooms[i].place(it.size)
			if ok {
				plates[i].Laid = append(plates[i].Laid, lay(it.piece, meshes[it.piece], at, it.size, turned))
				placed = true
			}
		}
	}
	for i := range plates {
		plates[i].Fill = fill(plates[i].Laid, bed)
	}
	return plates, findings
}

// outOfBed tells of a piece that does not go on the bed.
func outOfBed(p Piece, size geom.Vec, bed [2]float64) assembly.Finding {
	long, wide := max(size.X, size.Y), min(size.X, size.Y)
	room, across := max(bed[0], bed[1]), min(bed[0], bed[1])
	return assembly.Finding{
		Code: "OUT-OF-BED", Severity: assembly.Warn, Parts: p.Parts, Repairs: []assembly.Repair{},
		Text: fmt.Sprintf("piece %s takes %.0f x %.0f mm, and there is room for %.0f x %.0f mm on the bed: it is on no plate; take a smaller scale or a larger bed",
			p.Label(), math.Ceil(long), math.Ceil(wide), room, across),
		Values: map[string]float64{"long_mm": long, "wide_mm": wide, "bed_long_mm": room, "bed_wide_mm": across},
	}
}

// lay puts a piece's mesh at its place.
func lay(piece int, m *mesh.Mesh, at, size [2]float64, turned bool) Laid {
	pose := geom.Identity()
	if turned {
		pose = geom.Pose{Origin: geom.V(size[1], 0, 0), X: geom.AxisY, Y: geom.AxisX.Neg(), Z: geom.AxisZ}
		size = [2]float64{size[1], size[0]}
	}
	at = [2]float64{at[0] + bedMarginMM, at[1] + bedMarginMM}
	return Laid{Piece: piece, Mesh: mesh.Placed(m, pose.Moved(geom.V(at[0], at[1], 0))), At: at, Size: size}
}

// fill is the share of the used part of a plate that rectangles take: its whole width, up to the farthest piece.
func fill(laid []Laid, bed [2]float64) float64 {
	area, far := 0.0, 0.0
	for _, l := range laid {
		area += l.Size[0] * l.Size[1]
		far = max(far, l.At[1]-bedMarginMM+l.Size[1])
	}
	if far <= 0 {
		return 0
	}
	return area / (far * bed[0])
}

// room is what is left of a plate: rectangles that are free, the greatest ones there are, overlapping one another.
type room struct {
	bed  [2]float64
	free []rect
}

// rect is a rectangle: x, y, width, height.
type rect struct{ x, y, w, h float64 }

func newRoom(bed [2]float64) *room {
	// Pieces are laid with their gap on the far sides, which may hang over the edge.
	return &room{bed: bed, free: []rect{{0, 0, bed[0] + gapMM, bed[1] + gapMM}}}
}

// place takes the free rectangle whose nearest corner is lowest, then leftmost, in which a piece fits, upright or turned.
func (r *room) place(size [2]float64) (at [2]float64, turned, ok bool) {
	best := [3]float64{math.Inf(1)}
	for _, f := range r.free {
		for _, t := range []bool{false, true} {
			w, h := size[0]+gapMM, size[1]+gapMM
			if t {
				w, h = h, w
			}
			if w > f.w+1e-9 || h > f.h+1e-9 {
				continue
			}
			price := [3]float64{f.y + h, f.x, f.y}
			if slices.Compare(price[:], best[:]) < 0 {
				best, at, turned, ok = price, [2]float64{f.x, f.y}, t, true
			}
		}
	}
	if ok {
		w, h := size[0]+gapMM, size[1]+gapMM
		if turned {
			w, h = h, w
		}
		r.take(rect{at[0], at[1], w, h})
	}
	return at, turned, ok
}

// take removes a rectangle from what is free.
func (r *room) take(t rect) {
	var left []rect
	for _, f := range r.free {
		if t.x >= f.x+f.w || t.x+t.w <= f.x || t.y >= f.y+f.h || t.y+t.h <= f.y {
			left = append(left, f)
			continue
		}
		for _, n := range []rect{
			{f.x, f.y, t.x - f.x, f.h}, {t.x + t.w, f.y, f.x + f.w - t.x - t.w, f.h},
			{f.x, f.y, f.w, t.y - f.y}, {f.x, t.y + t.h, f.w, f.y + f.h - t.y - t.h},
		} {
			if n.w > 1e-9 && n.h > 1e-9 {
				left = append(left, n)
			}
		}
	}
	r.free = nil
	for i, a := range left {
		within := false
		for k, b := range left {
			if k != i && a.x >= b.x-1e-9 && a.y >= b.y-1e-9 && a.x+a.w <= b.x+b.w+1e-9 && a.y+a.h <= b.y+b.h+1e-9 && (a != b || k < i) {
				within = true
				break
			}
		}
		if !within {
			r.free = append(r.free, a)
		}
	}
}
