package sequence

import (
	"fmt"

	"turnwise/assembly"
	"turnwise/geom"
)

// The kit builds frames for tests out of tubes. Its measures are invented, but of the order of 3/4 in parts.
const (
	kitOD     = 26.7  // pipe, outside
	kitBore   = 20.9  // pipe, inside
	kitReach  = 33.3  // fitting: origin to face
	kitE      = 14.0  // engagement
	kitPitch  = 1.814 // 14 threads to the inch
	kitBand   = 36.0  // fitting: outside at the face
	kitHeight = 20.6  // flange
	kitPlate  = 6.0
	kitAcross = 89.0
	kitUnion  = 54.6 // union, end to end
	kitNut    = 52.0 // union nut, across
	kitOver   = 9.8  // nut over the seat
	kitCollar = 15.0
)

type kit struct {
	a        *assembly.Assembly
	outlines map[string]assembly.Outline
}

func newKit() *kit {
	return &kit{a: &assembly.Assembly{People: 2}, outlines: map[string]assembly.Outline{}}
}

func (k *kit) input() Input { return Input{Assembly: k.a, Outlines: k.outlines} }

func (k *kit) part(id string) *assembly.Part {
	for i := range k.a.Parts {
		if k.a.Parts[i].ID == id {
			return &k.a.Parts[i]
		}
	}
	panic("no part " + id)
}

func (k *kit) add(p assembly.Part, o assembly.Outline) {
	k.a.Parts = append(k.a.Parts, p)
	k.outlines[p.ID] = o
}

func tube(dir geom.Vec, from, to, od, id float64) assembly.Tube {
	return assembly.Tube{At: dir.Mul(from), Dir: dir, Length: to - from, Radius: od / 2, Bore: id / 2}
}

// fitting places a hub with a leg in each direction. Its frame is the finished frame moved.
func (k *kit) fitting(id, kind string, at geom.Vec, dirs ...geom.Vec) {
	p := assembly.Part{ID: id, Kind: kindOf(kind), Size: assembly.Sizes{"3/4"}, Pose: geom.At(at), MassKG: 0.2}
	var o assembly.Outline
	for i, d := range dirs {
		p.Ports = append(p.Ports, assembly.Port{Name: string(rune('a' + i)), At: at.Add(d.Mul(kitReach)), Out: d})
		o.Tubes = append(o.Tubes, tube(d, 0, kitReach, kitBand, kitBore))
	}
	k.add(p, o)
}

// flange places a flange with its mounting side at a point, its mouth towards out.
func (k *kit) flange(id string, at, out geom.Vec) {
	p := assembly.Part{ID: id, Kind: kindOf("flange"), Size: assembly.Sizes{"3/4"}, Pose: geom.Facing(at, out, geom.AxisX), MassKG: 0.4}
	p.Ports = []assembly.Port{{Name: "face", At: at, Out: out.Neg()}, {Name: "a", At: at.Add(out.Mul(kitHeight)), Out: out}}
	k.add(p, assembly.Outline{Tubes: []assembly.Tube{
		tube(geom.AxisZ, 0, kitPlate, kitAcross, kitOD-2), tube(geom.AxisZ, 0, kitHeight, kitBand, kitOD-2),
	}})
}

// mouth finds the threaded port of a part that looks along out.
func (k *kit) mouth(id string, out geom.Vec) assembly.Port {
	for _, p := range k.part(id).Ports {
		if p.Name != "face" && p.Name != "seat" && p.Out.Near(out, 1e-9) {
			return p
		}
	}
	panic(fmt.Sprintf("%s has no mouth towards %v", id, out))
}

// pipe joins two mouths that face each other.
func (k *kit) pipe(id, from, to string, dir geom.Vec) {
	a, b := k.mouth(from, dir), k.mouth(to, dir.Neg())
	k.rod(id, a.At.Sub(dir.Mul(kitE)), b.At.Add(dir.Mul(kitE)))
	k.thread(from, a.Name, id, "a")
	k.thread(id, "b", to, b.Name)
}

// rod places a pipe between two ends, without joints.
func (k *kit) rod(id string, from, to geom.Vec) {
	d := to.Sub(from)
	p := assembly.Part{ID: id, Kind: kindOf("pipe"), Size: assembly.Sizes{"3/4"}, LengthMM: d.Len(), Pose: geom.Facing(from, d, geom.AxisX), MassKG: 1.7e-3 * d.Len()}
	p.Ports = []assembly.Port{{Name: "a", At: from, Out: d.Unit().Neg()}, {Name: "b", At: to, Out: d.Unit()}}
	k.add(p, assembly.Outline{Tubes: []assembly.Tube{tube(geom.AxisZ, 0, d.Len(), kitOD, kitBore)}})
}

// thread joins port of a to port of b.
func (k *kit) thread(a, portA, b, portB string) *assembly.Joint {
	return k.join(assembly.Thread, a, portA, b, portB)
}

func (k *kit) join(kind assembly.JointKind, a, portA, b, portB string) *assembly.Joint {
	j := assembly.Joint{
		ID: fmt.Sprintf("j%d", len(k.a.Joints)+1), Kind: kind,
		A: assembly.End{Part: a, Port: portA}, B: assembly.End{Part: b, Port: portB},
	}
	if kind.IsThreaded() {
		for _, p := range k.part(a).Ports {
			if p.Name == portA {
				j.Axis = &assembly.Axis{At: p.At, Dir: p.Out}
			}
		}
	}
	if kind.IsThreaded() && kind != assembly.UnionNut {
		n := kitE / kitPitch
		j.Hand, j.PitchMM, j.EngagementMM, j.HandTightMM = "right", kitPitch, kitE, 8.6
		j.Turns = &assembly.Window{Min: 8.6/kitPitch + 0.5, Max: n + 1}
	}
	k.a.Joints = append(k.a.Joints, j)
	return &k.a.Joints[len(k.a.Joints)-1]
}

// unionPipe joins two mouths by a pipe, a union and a pipe. first is the length of the first pipe.
func (k *kit) unionPipe(id, from, to string, dir geom.Vec, first float64) {
	a, b := k.mouth(from, dir), k.mouth(to, dir.Neg())
	start, end := a.At.Sub(dir.Mul(kitE)), b.At.Add(dir.Mul(kitE))
	seat := start.Add(dir.Mul(first - kitE + kitUnion/2))
	k.half(id+".union-1", "a", seat, dir)
	k.half(id+".union-1", "b", seat, dir)
	k.rod(id+".1", start, start.Add(dir.Mul(first)))
	k.rod(id+".2", seat.Add(dir.Mul(kitUnion/2-kitE)), end)
	k.thread(from, a.Name, id+".1", "a")
	k.thread(id+".1", "b", id+".union-1.a", "a")
	k.join(assembly.UnionNut, id+".union-1.a", "seat", id+".union-1.b", "seat")
	k.thread(id+".union-1.b", "b", id+".2", "a")
	k.thread(id+".2", "b", to, b.Name)
}

// piecePipe joins two mouths by a pipe, a right-left or long-screw coupling and a pipe.
func (k *kit) piecePipe(id, from, to string, dir geom.Vec, kind assembly.JointKind, first float64) {
	a, b := k.mouth(from, dir), k.mouth(to, dir.Neg())
	start, end := a.At.Sub(dir.Mul(kitE)), b.At.Add(dir.Mul(kitE))
	const long = 38.6
	mid := start.Add(dir.Mul(first - kitE + long/2))
	piece := id + "." + string(kind) + "-1"
	p := assembly.Part{ID: piece, Kind: kindOf(string(kind)), Size: assembly.Sizes{"3/4"}, Pose: geom.Facing(mid, dir, geom.AxisX), MassKG: 0.2}
	p.Ports = []assembly.Port{{Name: "a", At: mid.Sub(dir.Mul(long / 2)), Out: dir.Neg()}, {Name: "b", At: mid.Add(dir.Mul(long / 2)), Out: dir}}
	k.add(p, assembly.Outline{Tubes: []assembly.Tube{tube(geom.AxisZ, -long/2, long/2, kitBand, kitOD-2)}})
	k.rod(id+".1", start, start.Add(dir.Mul(first)))
	k.rod(id+".2", mid.Add(dir.Mul(long/2-kitE)), end)
	k.thread(from, a.Name, id+".1", "a")
	k.join(kind, id+".1", "b", piece, "a")
	other := k.join(kind, piece, "b", id+".2", "a")
	if kind == assembly.RightLeft {
		other.Hand = "left"
		k.part(id + ".2").LeftEnd = "a"
	} else {
		k.part(id + ".1").Running = "b"
	}
	k.thread(id+".2", "b", to, b.Name)
}

func (k *kit) half(id, half string, seat, dir geom.Vec) {
	p := assembly.Part{ID: id + "." + half, Half: half, Kind: kindOf("union"), Size: assembly.Sizes{"3/4"}, Pose: geom.Facing(seat, dir, geom.AxisX), MassKG: 0.25}
	if half == "a" {
		p.Ports = []assembly.Port{{Name: "a", At: seat.Sub(dir.Mul(kitUnion / 2)), Out: dir.Neg()}, {Name: "seat", At: seat, Out: dir}}
		k.add(p, assembly.Outline{Tubes: []assembly.Tube{
			tube(geom.AxisZ, -kitUnion/2, 0, kitBand, kitBore), tube(geom.AxisZ, -kitCollar, 0, 40, kitBore),
		}})
		return
	}
	p.Ports = []assembly.Port{{Name: "b", At: seat.Add(dir.Mul(kitUnion / 2)), Out: dir}, {Name: "seat", At: seat, Out: dir.Neg()}}
	k.add(p, assembly.Outline{Tubes: []assembly.Tube{
		tube(geom.AxisZ, 0, kitUnion/2, kitBand, kitBore), tube(geom.AxisZ, -kitOver, 0, kitNut, 40.5), tube(geom.AxisZ, 0, 5, kitNut, kitBore),
	}})
}

// room adds the world: boxes in the finished frame.
func (k *kit) room(boxes ...geom.Box) {
	k.add(assembly.Part{ID: "room", Kind: kindOf("room"), Pose: geom.Identity(), Boxes: boxes}, assembly.Outline{})
}

// floor is a slab under z = 0.
func floor() geom.Box { return geom.Box{Min: geom.V(-3000, -3000, -50), Max: geom.V(5000, 3000, 0)} }

// board places a board by its corners.
func (k *kit) board(id string, min, max geom.Vec, holes ...assembly.Hole) {
	p := assembly.Part{ID: id, Kind: kindOf("board"), Pose: geom.At(min), Boxes: []geom.Box{{Max: max.Sub(min)}}, Holes: holes, MassKG: 5}
	k.add(p, assembly.Outline{})
}

// flip is a direction without negative zeros.
func flip(v geom.Vec) geom.Vec { return geom.V(0-v.X, 0-v.Y, 0-v.Z) }

var (
	ex = geom.AxisX
	ey = geom.AxisY
	ez = geom.AxisZ
	mx = flip(geom.AxisX)
	my = flip(geom.AxisY)
	mz = flip(geom.AxisZ)
)

// rectangle builds a ring of four elbows and four pipes in the plane of x and z; the lower pipe has a union on demand.
func rectangle(union bool, w, h float64) *kit {
	k := newKit()
	k.fitting("e1", "elbow", geom.V(0, 0, 0), ex, ez)
	k.fitting("e2", "elbow", geom.V(w, 0, 0), mx, ez)
	k.fitting("e3", "elbow", geom.V(w, 0, h), mx, mz)
	k.fitting("e4", "elbow", geom.V(0, 0, h), ex, mz)
	if union {
		k.unionPipe("low", "e1", "e2", ex, 150)
	} else {
		k.pipe("low.1", "e1", "e2", ex)
	}
	k.pipe("left.1", "e1", "e4", ez)
	k.pipe("right.1", "e2", "e3", ez)
	k.pipe("top.1", "e4", "e3", ex)
	return k
}

// grid builds a frame of a x b x c fittings. A pipe is plain when it runs upwards, or lies on the floor of a plane, or
// is the first between two planes; all others have a union at mid-length.
func grid(a, b, c int) *kit {
	k := newKit()
	const pitch = 500
	name := func(x, y, z int) string { return fmt.Sprintf("n%d-%d-%d", x, y, z) }
	for x := 0; x < a; x++ {
		for y := 0; y < b; y++ {
			for z := 0; z < c; z++ {
				var dirs []geom.Vec
				for _, d := range []struct {
					v  geom.Vec
					on bool
				}{{mx, x > 0}, {ex, x < a-1}, {my, y > 0}, {ey, y < b-1}, {mz, z > 0}, {ez, z < c-1}} {
					if d.on {
						dirs = append(dirs, d.v)
					}
				}
				k.fitting(name(x, y, z), "tee", geom.V(float64(x), float64(y), float64(z)).Mul(pitch), dirs...)
			}
		}
	}
	span := func(id, from, to string, dir geom.Vec, plain bool) {
		if plain {
			k.pipe(id+".1", from, to, dir)
		} else {
			k.unionPipe(id, from, to, dir, (pitch-2*kitReach-kitUnion)/2+2*kitE)
		}
	}
	for x := 0; x < a; x++ {
		for y := 0; y < b; y++ {
			for z := 0; z < c; z++ {
				if x < a-1 {
					span("x"+name(x, y, z), name(x, y, z), name(x+1, y, z), ex, y == 0 && z == 0)
				}
				if y < b-1 {
					span("y"+name(x, y, z), name(x, y, z), name(x, y+1, z), ey, z == 0)
				}
				if z < c-1 {
					span("z"+name(x, y, z), name(x, y, z), name(x, y, z+1), ez, true)
				}
			}
		}
	}
	return k
}

// ranks is the order from the core outwards.
func (f *frame) ranks() []int { return f.ranksFrom(fromCore) }
