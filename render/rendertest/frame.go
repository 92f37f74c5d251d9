package rendertest

import (
	"fmt"
	"math"
	"sort"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
)

// Made-up dimensions of the frames, in mm: about those of 3/4 pipe.
const (
	PipeOD       = 26.7
	PipeBore     = 21
	Reach        = 33 // centre of a fitting to the face of its mouth
	Engagement   = 14 // how far a pipe goes into a mouth
	bandOD       = 37
	bandWidth    = 9
	bodyOD       = 33
	flangeHeight = 25
	flangeOD     = 90
	unionHalf    = 30 // seat to mouth
	boardMM      = 24 // thickness
)

// Frame gathers a frame of pipe: points, and members between them. Fittings follow from the directions at each point.
type Frame struct {
	points  []point
	at      map[string]int
	members [][2]int
	unions  map[int]bool
	boards  []board
	walls   []geom.Box
	Sides   int // of a turned mesh; 0 is 32

	parts  []assembly.Part
	joints []assembly.Joint
	steps  []assembly.Step
	meshes map[int]*mesh.Mesh // by number, twice it plus 1 for b halves
}

type point struct {
	name string
	at   geom.Vec
	dirs []geom.Vec
}

type board struct {
	name  string
	box   geom.Box
	rests []string // points whose members it lies on
	posts []string // pipes that go through it
}

// Point names a place.
func (f *Frame) Point(name string, x, y, z float64) {
	if f.at == nil {
		f.at, f.unions = map[string]int{}, map[int]bool{}
	}
	f.at[name] = len(f.points)
	f.points = append(f.points, point{name: name, at: geom.V(x, y, z)})
}

// Run lays pipe from point to point, each named before.
func (f *Frame) Run(names ...string) {
	for i := 1; i < len(names); i++ {
		a, b := f.at[names[i-1]], f.at[names[i]]
		d := f.points[b].at.Sub(f.points[a].at).Unit()
		f.points[a].dirs = append(f.points[a].dirs, d)
		f.points[b].dirs = append(f.points[b].dirs, d.Neg())
		f.members = append(f.members, [2]int{a, b})
	}
}

// Union divides the member laid last by a union.
func (f *Frame) Union() { f.unions[len(f.members)-1] = true }

// Board lays a board of the given size, its least corner at x, y, z, on what meets at points.
func (f *Frame) Board(name string, x, y, z, dx, dy float64, rests ...string) {
	f.boards = append(f.boards, board{name: name, rests: rests, box: geom.Box{Min: geom.V(x, y, z), Max: geom.V(x+dx, y+dy, z+boardMM)}})
}

// BoredBoard threads a board onto upright pipes, named pipe-1 and so on in the order the members were laid.
func (f *Frame) BoredBoard(name string, x, y, z, dx, dy float64, pipes ...string) {
	f.boards = append(f.boards, board{name: name, posts: pipes, box: geom.Box{Min: geom.V(x, y, z), Max: geom.V(x+dx, y+dy, z+boardMM)}})
}

// Wall adds a body of the room.
func (f *Frame) Wall(b geom.Box) { f.walls = append(f.walls, b) }

// Plan returns the frame as a plan: parts in order, numbered, with joints, and steps for the boards.
func (f *Frame) Plan(title string) *assembly.Plan {
	for i := range f.points {
		f.fitting(&f.points[i])
	}
	for i, m := range f.members {
		f.member(i, m)
	}
	for _, b := range f.boards {
		f.board(b)
	}
	f.room()
	f.number()
	return &assembly.Plan{
		Format: assembly.Format, Design: assembly.Header{Title: title, Units: "mm", Thread: standard.NPT},
		Parts: f.parts, Joints: f.joints, Steps: f.steps,
	}
}

func (f *Frame) add(p assembly.Part) { f.parts = append(f.parts, p) }

func port(name string, pose geom.Pose, at, out geom.Vec) assembly.Port {
	return assembly.Port{Name: name, At: pose.Apply(at), Out: pose.Rotate(out)}
}

// fitting chooses what joins the members at a point.
func (f *Frame) fitting(p *point) {
	kind, pose, outs := choose(p)
	part := assembly.Part{ID: p.name, Kind: kind, Size: assembly.Sizes{"3/4"}, Pose: pose}
	if kind == standard.Flange {
		part.Pose.Origin = p.at
		part.Ports = append(part.Ports, port("face", part.Pose, geom.Vec{}, geom.AxisZ.Neg()),
			port("a", part.Pose, geom.V(0, 0, flangeHeight), geom.AxisZ))
	} else {
		for i, o := range outs {
			part.Ports = append(part.Ports, port(string(rune('a'+i)), pose, o.Mul(Reach), o))
		}
	}
	f.add(part)
}

// choose returns kind, pose and the directions of the ports in the part frame.
func choose(p *point) (standard.Kind, geom.Pose, []geom.Vec) {
	d := p.dirs
	x, y, z := geom.AxisX, geom.AxisY, geom.AxisZ
	if len(d) == 1 {
		return standard.Flange, geom.Facing(p.at, d[0], d[0].Across()), []geom.Vec{z}
	}
	run, rest := straight(d)
	if run == nil && len(d) == 2 && d[0].Dot(d[1]) < -0.5 {
		out := geom.V(-math.Sqrt2/2, math.Sqrt2/2, 0)
		up := d[1].Sub(d[0].Mul(d[1].Dot(d[0]))).Unit()
		return standard.Elbow45, geom.Pose{Origin: p.at, X: d[0], Y: up, Z: d[0].Cross(up)}, []geom.Vec{x, out}
	}
	if run == nil {
		pose := geom.Pose{Origin: p.at, X: d[0], Y: d[1], Z: d[0].Cross(d[1])}
		if len(d) == 2 {
			return standard.Elbow, pose, []geom.Vec{x, y}
		}
		if pose.Z.Dot(d[2]) < 0 {
			pose = geom.Pose{Origin: p.at, X: d[1], Y: d[0], Z: d[2]}
		}
		return standard.SideElbow, pose, []geom.Vec{x, y, z}
	}
	across := run.Across()
	if len(rest) > 0 {
		across = rest[0]
	}
	pose := geom.Facing(p.at, *run, across)
	switch {
	case len(rest) == 0:
		return standard.Coupling, pose, []geom.Vec{z.Neg(), z}
	case len(rest) == 1:
		return standard.Tee, pose, []geom.Vec{z.Neg(), z, x}
	case rest[1].Dot(rest[0]) < -0.5:
		return standard.Cross, pose, []geom.Vec{z.Neg(), z, x, x.Neg()}
	case pose.Y.Dot(rest[1]) < 0:
		pose = geom.Facing(p.at, run.Neg(), across)
	}
	return standard.SideTee, pose, []geom.Vec{z.Neg(), z, x, y}
}

// straight finds two opposite directions and returns one of them and the others.
func straight(d []geom.Vec) (*geom.Vec, []geom.Vec) {
	for i := range d {
		for j := i + 1; j < len(d); j++ {
			if d[i].Dot(d[j]) < -0.99 {
				var rest []geom.Vec
				for k := range d {
					if k != i && k != j {
						rest = append(rest, d[k])
					}
				}
				return &d[j], rest
			}
		}
	}
	return nil, nil
}

// mouth finds the port of a point's fitting that looks along d.
func (f *Frame) mouth(p int, d geom.Vec) (string, assembly.Port) {
	part := f.parts[p]
	for _, q := range part.Ports {
		if q.Name != "face" && q.Out.Dot(d) > 0.99 {
			return part.ID, q
		}
	}
	panic("rendertest: no mouth")
}

// member lays one pipe, or two and a union between.
func (f *Frame) member(i int, m [2]int) {
	d := f.points[m[1]].at.Sub(f.points[m[0]].at).Unit()
	a, pa := f.mouth(m[0], d)
	b, pb := f.mouth(m[1], d.Neg())
	id := fmt.Sprintf("pipe-%d", i+1)
	if !f.unions[i] {
		f.pipe(id, a, pa, b, pb)
		return
	}
	mid := pa.At.Lerp(pb.At, 0.5)
	pose := geom.Facing(mid, d, d.Across())
	u := fmt.Sprintf("union-%d", i+1)
	ha := assembly.Part{ID: u + ".a", Kind: standard.Union, Size: assembly.Sizes{"3/4"}, Half: "a", Pose: pose,
		Ports: []assembly.Port{port("a", pose, geom.V(0, 0, -unionHalf), geom.AxisZ.Neg()), port("seat", pose, geom.Vec{}, geom.AxisZ)}}
	hb := assembly.Part{ID: u + ".b", Kind: standard.Union, Size: assembly.Sizes{"3/4"}, Half: "b", Pose: pose,
		Ports: []assembly.Port{port("b", pose, geom.V(0, 0, unionHalf), geom.AxisZ), port("seat", pose, geom.Vec{}, geom.AxisZ.Neg())}}
	f.add(ha)
	f.add(hb)
	f.pipe(id+".1", a, pa, ha.ID, ha.Ports[0])
	f.pipe(id+".2", hb.ID, hb.Ports[0], b, pb)
	f.join(assembly.UnionNut, ha.ID, "seat", hb.ID, "seat", mid, d, 0)
}

func (f *Frame) pipe(id, a string, pa assembly.Port, b string, pb assembly.Port) {
	d := pa.Out
	start, end := pa.At.Sub(d.Mul(Engagement)), pb.At.Add(d.Mul(Engagement))
	length := end.Sub(start).Len()
	pose := geom.Facing(start, d, d.Across())
	f.add(assembly.Part{ID: id, Kind: standard.Pipe, Size: assembly.Sizes{"3/4"}, LengthMM: length, Pose: pose, Ports: []assembly.Port{
		port("a", pose, geom.Vec{}, geom.AxisZ.Neg()), port("b", pose, geom.V(0, 0, length), geom.AxisZ)}})
	f.join(assembly.Thread, a, pa.Name, id, "a", pa.At, d, Engagement)
	f.join(assembly.Thread, id, "b", b, pb.Name, pb.At, d, Engagement)
}

func (f *Frame) join(k assembly.JointKind, a, pa, b, pb string, at, dir geom.Vec, engagement float64) {
	f.joints = append(f.joints, assembly.Joint{ID: fmt.Sprintf("joint-%d", len(f.joints)+1), Kind: k,
		A: assembly.End{Part: a, Port: pa}, B: assembly.End{Part: b, Port: pb},
		Axis: &assembly.Axis{At: at, Dir: dir}, Hand: "right", PitchMM: 1.814, EngagementMM: engagement})
}

func (f *Frame) board(b board) {
	size := b.box.Size()
	part := assembly.Part{ID: b.name, Kind: standard.Board, Pose: geom.At(b.box.Min), Material: "pine",
		Boxes: []geom.Box{{Max: size}}}
	for _, r := range b.rests {
		p := f.points[f.at[r]]
		f.joints = append(f.joints, assembly.Joint{ID: fmt.Sprintf("joint-%d", len(f.joints)+1), Kind: assembly.Rest,
			A: assembly.End{Part: b.name}, B: assembly.End{Part: p.name}})
	}
	for _, pipe := range b.posts {
		for _, p := range f.parts {
			if p.ID == pipe {
				f.joints = append(f.joints, assembly.Joint{ID: fmt.Sprintf("joint-%d", len(f.joints)+1), Kind: assembly.Bored,
					A: assembly.End{Part: b.name}, B: assembly.End{Part: pipe}})
				hole := part.Pose.Local(p.Pose.Origin)
				part.Holes = append(part.Holes, assembly.Hole{At: geom.V(hole.X, hole.Y, 0), Dir: geom.AxisZ, Diameter: PipeOD + 4})
			}
		}
	}
	f.add(part)
	f.steps = append(f.steps, assembly.Step{Number: len(f.steps) + 1, Action: assembly.Place, Moves: []string{b.name},
		Start: part.Pose.Moved(geom.V(0, 0, 200)), Motion: []assembly.Move{{Kind: assembly.Translate, By: geom.V(0, 0, -200)}}})
}

func (f *Frame) room() {
	if len(f.walls) == 0 {
		return
	}
	f.add(assembly.Part{ID: "room", Kind: standard.Room, Pose: geom.Identity(), Boxes: f.walls})
	for _, p := range f.parts {
		if p.Kind == standard.Flange {
			f.joints = append(f.joints, assembly.Joint{ID: fmt.Sprintf("joint-%d", len(f.joints)+1), Kind: assembly.Face,
				A: assembly.End{Part: p.ID, Port: "face"}, B: assembly.End{Part: "room"}})
		}
	}
}

// number gives equal parts equal numbers, in the order of the list.
func (f *Frame) number() {
	f.meshes = map[int]*mesh.Mesh{}
	seen := map[string]int{}
	for i := range f.parts {
		p := &f.parts[i]
		if p.Kind == standard.Room {
			continue
		}
		key := fmt.Sprintf("%s %.1f", p.Kind, p.LengthMM)
		if p.Kind == standard.Board {
			key = fmt.Sprintf("board %v", p.Boxes)
		}
		if seen[key] == 0 {
			seen[key] = len(seen) + 1
		}
		p.Number = seen[key]
	}
}

// Mesh returns the mesh of a part of the plan in its part frame, one for all equal parts, nil for the room.
func (f *Frame) Mesh(p assembly.Part) *mesh.Mesh {
	if p.Number == 0 {
		return nil
	}
	key := 2 * p.Number
	if p.Half == "b" {
		key++
	}
	if f.meshes[key] == nil {
		f.meshes[key] = f.build(p)
	}
	return f.meshes[key]
}

func (f *Frame) build(p assembly.Part) *mesh.Mesh {
	sides := f.Sides
	if sides == 0 {
		sides = 32
	}
	switch p.Kind {
	case standard.Pipe:
		return Tube(sides, PipeOD/2, PipeBore/2, p.LengthMM)
	case standard.Board:
		return Box(p.Boxes[0])
	case standard.Flange:
		return Turned(sides, Ring{PipeOD / 2, 0}, Ring{flangeOD / 2, 0}, Ring{flangeOD / 2, 8}, Ring{22, 9}, Ring{20, flangeHeight}, Ring{PipeOD / 2, flangeHeight})
	case standard.Union:
		return halfUnion(sides, p.Half)
	}
	var arms []*mesh.Mesh
	for _, q := range p.Ports {
		out := p.Pose.Unrotate(q.Out)
		arms = append(arms, Posed(arm(sides), geom.Facing(geom.Vec{}, out, out.Across())))
	}
	return Joined(append(arms, ball(sides))...)
}

// arm is one mouth of a fitting along +z, from its centre out.
func arm(sides int) *mesh.Mesh {
	r := PipeOD/2 + 0.4
	return Turned(sides, Ring{PipeBore / 2, 0}, Ring{bodyOD / 2, 0}, Ring{bodyOD / 2, Reach - bandWidth}, Ring{bandOD / 2, Reach - bandWidth + 1.5},
		Ring{bandOD / 2, Reach}, Ring{r, Reach}, Ring{r, Reach - Engagement - 4}, Ring{PipeBore / 2, Reach - Engagement - 4})
}

func ball(sides int) *mesh.Mesh {
	var profile []Ring
	n := sides / 4
	for i := -n; i <= n; i++ {
		s, c := math.Sincos(float64(i) / float64(n) * math.Pi / 2)
		profile = append(profile, Ring{math.Max(0, bodyOD/2*c), bodyOD / 2 * s})
	}
	profile[0].R, profile[len(profile)-1].R = 0, 0
	return Turned(sides, profile...)
}

func halfUnion(sides int, half string) *mesh.Mesh {
	r := PipeOD/2 + 0.4
	if half == "a" {
		return Turned(sides, Ring{r, -unionHalf}, Ring{19, -unionHalf}, Ring{19, -8}, Ring{21, -7}, Ring{21, 6}, Ring{16, 6}, Ring{14, 0}, Ring{PipeBore / 2, 0}, Ring{PipeBore / 2, -14}, Ring{r, -14})
	}
	body := Turned(sides, Ring{PipeBore / 2, 0}, Ring{14, 0}, Ring{16, 4}, Ring{19, 14}, Ring{19, unionHalf}, Ring{r, unionHalf}, Ring{r, 14}, Ring{PipeBore / 2, 14})
	nut := Turned(8, Ring{21.5, -8}, Ring{29, -8}, Ring{29, 14}, Ring{18, 14})
	return Joined(body, nut)
}

// Bay returns a frame of about 60 parts that fills a bay: two posts' worth of ladder, rails, a ring with a union, shelves.
func Bay() *Frame {
	f := &Frame{}
	for i, x := range []float64{0, 900, 1800} {
		for j, y := range []float64{0, -350} {
			for k, z := range []float64{0, 500, 1100, 1700} {
				f.Point(fmt.Sprintf("p%d%d%d", i, j, k), x, y, z)
			}
			f.Run(name(i, j, 0), name(i, j, 1), name(i, j, 2), name(i, j, 3))
		}
		for k := 1; k < 4; k++ {
			f.Run(name(i, 0, k), name(i, 1, k))
			f.Union()
		}
	}
	for i := range 2 {
		f.Run(name(i, 0, 3), name(i+1, 0, 3))
		f.Union()
		f.Board(fmt.Sprintf("shelf-%d", i+1), float64(i)*900+30, -340, 500+PipeOD/2, 840, 330, name(i, 0, 1), name(i, 1, 1), name(i+1, 0, 1), name(i+1, 1, 1))
	}
	f.Wall(geom.Box{Min: geom.V(-3000, -3000, -100), Max: geom.V(5000, 200, 0)})
	f.Wall(geom.Box{Min: geom.V(-3000, 150, 0), Max: geom.V(5000, 250, 3000)})
	f.Wall(geom.Box{Min: geom.V(-500, -3000, 0), Max: geom.V(-400, 200, 3000)})
	return f
}

func name(i, j, k int) string { return fmt.Sprintf("p%d%d%d", i, j, k) }

// Ring returns a flat H frame: two feet, a ring of four corners with one union, and a rail over it.
func RingFrame() *Frame {
	f := &Frame{}
	f.Point("foot-left", 0, 0, 0)
	f.Point("foot-right", 800, 0, 0)
	f.Point("low-left", 0, 0, 400)
	f.Point("low-right", 800, 0, 400)
	f.Point("top-left", 0, 0, 1000)
	f.Point("top-right", 800, 0, 1000)
	f.Run("foot-left", "low-left", "top-left")
	f.Run("foot-right", "low-right", "top-right")
	f.Run("low-left", "low-right")
	f.Run("top-left", "top-right")
	f.Union()
	f.Wall(geom.Box{Min: geom.V(-1000, -1000, -100), Max: geom.V(2000, 1000, 0)})
	return f
}

// Stand returns two posts with a board threaded onto both, a tee over it on each, and a slanted brace.
func Stand() *Frame {
	f := &Frame{}
	for i, x := range []float64{0, 700} {
		f.Point(fmt.Sprintf("foot-%d", i), x, 0, 0)
		f.Point(fmt.Sprintf("knee-%d", i), x, 0, 800)
		f.Point(fmt.Sprintf("head-%d", i), x, 0, 1200)
		f.Run(fmt.Sprintf("foot-%d", i), fmt.Sprintf("knee-%d", i), fmt.Sprintf("head-%d", i))
	}
	f.Run("knee-0", "knee-1")
	f.Union()
	f.Run("head-0", "head-1")
	f.BoredBoard("shelf", -100, -150, 400, 900, 300, "pipe-1", "pipe-3")
	return f
}

// Numbers returns the numbers of a plan, rising.
func Numbers(p *assembly.Plan) []int {
	seen := map[int]bool{}
	var out []int
	for _, q := range p.Parts {
		if q.Number > 0 && !seen[q.Number] {
			seen[q.Number] = true
			out = append(out, q.Number)
		}
	}
	sort.Ints(out)
	return out
}
