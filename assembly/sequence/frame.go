package sequence

import (
	"turnwise/assembly"
	"turnwise/geom"
)

// roomKind is the kind of the one part that is the world.
const roomKind = "room"

// frame is an assembly with everything indexed: bodies and joints by their place in the assembly's lists.
type frame struct {
	a      *assembly.Assembly
	parts  []assembly.Part
	joints []joint
	at     [][]int // joints of each body
	shapes []shape // at pose
	pose   []geom.Pose
	forms  []assembly.Outline
	room   int // index, or -1
	index  map[string]int
	marked []bool // scratch: the bodies of the side in hand
	wishes wishes
	needs  map[[2]int]float64 // what pairs of bodies keep between them, as far as asked for
}

// joint is a joint with its bodies by index.
type joint struct {
	assembly.Joint
	a, b  int
	extra float64 // turns past the engagement that the joint stands at for the time being
	state jointState
}

// jointState is how far a piece with two joints has been opened.
type jointState int

const (
	closed   jointState = iota
	loosened            // the coupling of a long screw is run back on this side
	open
)

// other returns the body at the other side of j.
func (j *joint) other(body int) int {
	if j.a == body {
		return j.b
	}
	return j.a
}

// port returns the name of the port that body has in j.
func (j *joint) port(body int) string {
	if j.a == body {
		return j.A.Port
	}
	return j.B.Port
}

// into returns the direction in which body moves when j is screwed up.
func (j *joint) into(body int) geom.Vec {
	if j.a == body {
		return j.Axis.Dir
	}
	return j.Axis.Dir.Neg()
}

// turns is how many turns the thread has at its planned engagement.
func (j *joint) turns() float64 {
	if j.PitchMM <= 0 {
		return 0
	}
	return j.EngagementMM / j.PitchMM
}

// isScrew tells whether j is a plain taper thread, closed by turning one side.
func (j *joint) isScrew() bool { return j.Kind == assembly.Thread }

// isMember tells whether j belongs to a piece with two such joints that is turned between two sides.
func (j *joint) isMember() bool { return j.Kind == assembly.RightLeft || j.Kind == assembly.LongScrew }

// isContact tells whether j holds by lying against: it is closed by laying and screwing, not by a thread.
func (j *joint) isContact() bool { return !j.Kind.IsThreaded() }

func newFrame(in Input) *frame {
	a := in.Assembly
	f := &frame{a: a, parts: a.Parts, room: -1, index: map[string]int{}, needs: map[[2]int]float64{}}
	f.at = make([][]int, len(a.Parts))
	f.marked = make([]bool, len(a.Parts))
	for i := range a.Parts {
		p := &a.Parts[i]
		f.index[p.ID] = i
		if p.Kind == roomKind {
			f.room = i
		}
		f.pose = append(f.pose, p.Pose)
		form := withoutNut(p, in.Outlines[p.ID])
		f.forms = append(f.forms, form)
		f.shapes = append(f.shapes, shapeOf(p, form, p.Pose))
	}
	for _, j := range a.Joints {
		x, okA := f.index[j.A.Part]
		y, okB := f.index[j.B.Part]
		if !okA || !okB || x == y || j.Kind.IsThreaded() && j.Axis == nil {
			continue // not a joint of two bodies: the plan's own check names it
		}
		k := len(f.joints)
		f.joints = append(f.joints, joint{Joint: j, a: x, b: y})
		f.at[x] = append(f.at[x], k)
		f.at[y] = append(f.at[y], k)
	}
	f.wishes = f.readWishes()
	return f
}

// setPose moves a body and its shape.
func (f *frame) setPose(body int, p geom.Pose) {
	clear(f.needs)
	f.pose[body] = p
	f.shapes[body] = shapeOf(&f.parts[body], f.forms[body], p)
}

// ids returns the names of bodies.
func (f *frame) ids(bodies []int) []string {
	out := make([]string, len(bodies))
	for i, b := range bodies {
		out[i] = f.parts[b].ID
	}
	return out
}

func (f *frame) jointIDs(joints []int) []string {
	out := make([]string, len(joints))
	for i, j := range joints {
		out[i] = f.joints[j].ID
	}
	return out
}

// portOut is the direction out of a body's port, at the finished place.
func (f *frame) portOut(body int, name string) (geom.Vec, bool) {
	for _, p := range f.parts[body].Ports {
		if p.Name == name {
			return p.Out, true
		}
	}
	return geom.Vec{}, false
}
