package sequence

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// follower does what the steps say, from nothing, with its own book-keeping and its own crude test of collisions:
// points on the surface of what moves, looked up in what stands, every few millimetres of the way. It shares with the
// planner only the outlines.
type follower struct {
	t      *testing.T
	k      *kit
	now    map[string]geom.Pose
	site   map[string]string
	turns  map[string]float64
	closed map[string]bool
}

// follow checks a plan and returns how many points it looked up.
func follow(t *testing.T, k *kit, steps []assembly.Step) int {
	t.Helper()
	w := &follower{t: t, k: k, now: map[string]geom.Pose{}, site: map[string]string{}, turns: map[string]float64{}, closed: map[string]bool{}}
	w.now["room"], w.site["room"] = geom.Identity(), "place"
	looked := 0
	for i, s := range steps {
		require.Equal(t, i+1, s.Number)
	}
	for _, s := range works(steps) {
		looked += w.step(s)
		if t.Failed() {
			t.Logf("step %+v", s)
			t.FailNow()
		}
	}
	for _, p := range k.a.Parts {
		pose, ok := w.now[p.ID]
		require.True(t, ok, "%s is never placed", p.ID)
		require.True(t, samePose(pose, p.Pose), "%s ends at %v, not %v", p.ID, pose, p.Pose)
	}
	for _, j := range k.a.Joints {
		require.True(t, w.closed[j.ID], "%s (%s) is never closed", j.ID, j.Kind)
		if n, ok := w.turns[j.ID]; ok {
			require.InDelta(t, j.EngagementMM, n*j.PitchMM, 1e-6, "%s ends at its engagement", j.ID)
		}
	}
	return looked
}

func samePose(a, b geom.Pose) bool {
	return a.Origin.Near(b.Origin, 1e-6) && a.X.Near(b.X, 1e-8) && a.Z.Near(b.Z, 1e-8)
}

func (w *follower) joint(id string) *assembly.Joint {
	for i := range w.k.a.Joints {
		if w.k.a.Joints[i].ID == id {
			return &w.k.a.Joints[i]
		}
	}
	require.FailNow(w.t, "no joint "+id)
	return nil
}

// rigid groups bodies over closed joints by flooding.
func (w *follower) rigid(from string) map[string]bool {
	seen := map[string]bool{from: true}
	for grown := true; grown; {
		grown = false
		for _, j := range w.k.a.Joints {
			if w.closed[j.ID] && j.Kind.IsRigid() && seen[j.A.Part] != seen[j.B.Part] {
				seen[j.A.Part], seen[j.B.Part], grown = true, true, true
			}
		}
	}
	return seen
}

func (w *follower) step(s assembly.Step) int {
	t := w.t
	moving := map[string]bool{}
	for _, id := range s.Moves {
		moving[id] = true
	}
	for _, id := range s.Onto {
		_, there := w.now[id]
		assert.True(t, there, "step %d meets %s, which is not there", s.Number, id)
		assert.False(t, moving[id])
		assert.True(t, id == "room" || w.site[id] == s.Where, "step %d is done in %s, %s is not there", s.Number, s.Where, id)
	}
	if s.Action != assembly.Adjust {
		for id := range moving {
			for o := range w.rigid(id) {
				assert.True(t, moving[o], "step %d moves %s without %s", s.Number, id, o)
			}
		}
	}
	looked := w.move(s)
	for _, id := range s.Joints {
		w.close(s, w.joint(id), moving)
	}
	for id := range moving {
		w.site[id] = s.Where
	}
	if s.Action == assembly.Adjust {
		w.adjust(s, moving)
	}
	return looked
}

func (w *follower) close(s assembly.Step, j *assembly.Joint, moving map[string]bool) {
	t := w.t
	assert.False(t, w.closed[j.ID], "%s is closed twice", j.ID)
	_, a := w.now[j.A.Part]
	_, b := w.now[j.B.Part]
	assert.True(t, a && b, "step %d closes %s before both bodies are there", s.Number, j.ID)
	if j.Kind == assembly.RightLeft || j.Kind == assembly.LongScrew {
		assert.Equal(t, assembly.Screw, s.Action)
		assert.Len(t, s.Joints, 2)
		assert.Len(t, s.Moves, 1)
	}
	if j.Kind == assembly.Thread {
		assert.Equal(t, assembly.Screw, s.Action)
		assert.Len(t, s.Joints, 1)
		assert.False(t, w.rigid(j.A.Part)[j.B.Part], "step %d screws %s and %s, which are one already", s.Number, j.A.Part, j.B.Part)
		assert.NotEqual(t, moving[j.A.Part], moving[j.B.Part])
		assert.GreaterOrEqual(t, s.Turns, j.Turns.Min-1e-9)
		assert.LessOrEqual(t, s.Turns, j.Turns.Max+1e-9)
		w.sense(s, j, moving)
		w.turns[j.ID] = s.Turns
	}
	w.closed[j.ID] = true
}

// sense checks that a right-hand thread tightens clockwise, seen from behind the body that turns: looking the way it
// goes, a point at the top goes to the right.
func (w *follower) sense(s assembly.Step, j *assembly.Joint, moving map[string]bool) {
	last := s.Motion[len(s.Motion)-1]
	require.Equal(w.t, assembly.Turn, last.Kind)
	way := last.Axis.Dir.Mul(last.AdvanceMM)
	to := j.B.Part
	if moving[to] {
		to = j.A.Part
	}
	look := way.Unit()
	up := look.Across()
	right := look.Cross(up)
	q := geom.At(last.Axis.At.Add(up)).Turned(last.Axis.At, last.Axis.Dir, last.ByDeg/math.Abs(last.ByDeg)*0.1, 0)
	clockwise := q.Origin.Sub(last.Axis.At).Dot(right) > 0
	assert.Equal(w.t, j.Hand == "right", clockwise, "step %d turns %s the wrong way", s.Number, j.ID)
	assert.InDelta(w.t, s.Turns*j.PitchMM, math.Abs(last.AdvanceMM), 1e-9)
	assert.InDelta(w.t, 360*s.Turns, math.Abs(last.ByDeg), 1e-6)
	// It goes in: at the start of the turn the mouths of both bodies lie in one plane.
	var from, mouth geom.Vec
	for _, e := range []assembly.End{j.A, j.B} {
		p, _ := w.port(e)
		if e.Part == to {
			mouth = p.At
		} else {
			from = p.At
		}
	}
	assert.InDelta(w.t, s.Turns*j.PitchMM, from.Sub(mouth).Dot(look)+(s.Turns*j.PitchMM-j.EngagementMM), 1e-6)
}

func (w *follower) port(e assembly.End) (assembly.Port, bool) {
	for _, p := range w.k.part(e.Part).Ports {
		if p.Name == e.Port {
			return p, true
		}
	}
	return assembly.Port{}, false
}

func (w *follower) adjust(s assembly.Step, moving map[string]bool) {
	for _, j := range w.k.a.Joints {
		if w.closed[j.ID] && j.Kind.IsRigid() && moving[j.A.Part] != moving[j.B.Part] {
			require.Equal(w.t, assembly.Thread, j.Kind)
			m := s.Motion[0]
			in := j.Axis.Dir
			if moving[j.B.Part] {
				in = in.Neg()
			}
			w.turns[j.ID] += m.ByDeg / 360 * m.Axis.Dir.Dot(in)
		}
	}
}

// Step widths of the crude test. A step of the turn is a fraction of a turn, which no pitch divides.
const (
	lookEvery = 12.0 // mm along a straight way
	lookTurn  = 11.3 // degrees
	lookDeep  = 0.25 // mm that a point must lie deep to count
)

// move carries the movers through the motion and looks for collisions.
func (w *follower) move(s assembly.Step) int {
	if len(s.Moves) == 0 {
		return 0
	}
	lead := s.Moves[0]
	rel := map[string]geom.Pose{}
	before := func(id string) geom.Pose {
		if p, ok := w.now[id]; ok {
			return p
		}
		return w.k.part(id).Pose
	}
	for _, id := range s.Moves {
		rel[id] = before(lead).Inverse().Compose(before(id))
	}
	if w.site[lead] == "place" {
		assert.True(w.t, samePose(before(lead), s.Start), "step %d starts where %s does not stand", s.Number, lead)
	}
	pose := s.Start
	looked := w.look(s, pose, rel, 0)
	for _, m := range s.Motion {
		n := 1
		if m.Kind == assembly.Translate {
			n = int(math.Ceil(m.By.Len() / lookEvery))
		} else {
			n = int(math.Ceil(math.Abs(m.ByDeg) / lookTurn))
		}
		for i := 1; i <= n && !w.t.Failed(); i++ {
			looked += w.look(s, partWay(pose, m, float64(i)/float64(n)), rel, i)
		}
		pose = partWay(pose, m, 1)
	}
	for _, id := range s.Moves {
		w.now[id] = pose.Compose(rel[id])
	}
	for _, d := range s.Draws {
		for _, id := range d.Moves {
			w.now[id] = w.now[id].Moved(d.By)
		}
	}
	return looked
}

func partWay(p geom.Pose, m assembly.Move, f float64) geom.Pose {
	if m.Kind == assembly.Translate {
		return p.Moved(m.By.Mul(f))
	}
	return p.Turned(m.Axis.At, m.Axis.Dir, m.ByDeg*f*math.Pi/180, m.AdvanceMM*f)
}

// look tests the movers at one pose against all that stands in the way.
func (w *follower) look(s assembly.Step, pose geom.Pose, rel map[string]geom.Pose, at int) int {
	looked := 0
	group := map[string]bool{}
	for _, id := range s.Onto {
		for o := range w.rigid(id) {
			group[o] = true
		}
	}
	for _, p := range w.k.a.Parts {
		standing, ok := w.now[p.ID]
		if _, moves := rel[p.ID]; !ok || moves || s.Where == "bench" && !group[p.ID] || s.Where == "place" && w.site[p.ID] != "place" {
			continue
		}
		for _, id := range s.Moves {
			mate := w.mating(id, p.ID)
			a, b := pose.Compose(rel[id]), standing
			looked += w.pair(s, id, a, p.ID, b, mate, at) + w.pair(s, p.ID, b, id, a, mate, at)
		}
	}
	return looked
}

// mating returns the thread between two parts.
func (w *follower) mating(a, b string) *assembly.Joint {
	for i := range w.k.a.Joints {
		j := &w.k.a.Joints[i]
		if (j.Kind == assembly.Thread || j.Kind == assembly.RightLeft || j.Kind == assembly.LongScrew) && (j.A.Part == a && j.B.Part == b || j.A.Part == b && j.B.Part == a) {
			return j
		}
	}
	return nil
}

// pair looks up points of one part in another.
func (w *follower) pair(s assembly.Step, a string, poseA geom.Pose, b string, poseB geom.Pose, mate *assembly.Joint, at int) int {
	if mate != nil {
		return 0 // a thread goes into its socket
	}
	formB := w.form(b)
	boxB := poseB.Box(formB.box)
	if !poseA.Box(w.form(a).box).Overlaps(boxB) {
		return 0
	}
	n := 0
	for _, p := range w.form(a).points {
		q := poseA.Apply(p)
		if !boxB.Contains(q) {
			continue
		}
		n++
		if deep := formB.deep(poseB.Local(q)); deep > lookDeep {
			assert.Fail(w.t, fmt.Sprintf("step %d: %s and %s meet, %.2f mm deep at %v (place %d of the motion)", s.Number, a, b, deep, q, at))
			return n
		}
	}
	return n
}

// form is a part as points and as a test of depth.
type form struct {
	tubes  []assembly.Tube
	boxes  []geom.Box
	holes  []assembly.Hole
	points []geom.Vec
	box    geom.Box
}

var forms = map[*kit]map[string]*form{}

func (w *follower) form(id string) *form {
	if forms[w.k] == nil {
		forms[w.k] = map[string]*form{}
	}
	if f := forms[w.k][id]; f != nil {
		return f
	}
	p := w.k.part(id)
	o := w.k.outlines[id]
	f := &form{tubes: o.Tubes, boxes: p.Boxes, holes: p.Holes, box: geom.EmptyBox()}
	if p.Half == "b" { // the nut is pushed back
		f.tubes = withoutNut(p, o).Tubes
	}
	for _, t := range f.tubes {
		f.points = append(f.points, tubePoints(t)...)
	}
	for _, b := range f.boxes {
		f.points = append(f.points, boxPoints(b)...)
	}
	for _, q := range f.points {
		f.box = f.box.Include(q)
	}
	forms[w.k][id] = f
	return f
}

// tubePoints spreads points over the outer surface and the ends of a tube.
func tubePoints(t assembly.Tube) []geom.Vec {
	u := t.Dir.Across()
	v := t.Dir.Cross(u)
	n := int(math.Ceil(t.Length/9)) + 1
	var out []geom.Vec
	for i := 0; i <= n; i++ {
		c := t.At.Add(t.Dir.Mul(t.Length * float64(i) / float64(n)))
		for k := 0; k < 12; k++ {
			sin, cos := math.Sincos(2 * math.Pi * float64(k) / 12)
			d := u.Mul(cos).Add(v.Mul(sin))
			out = append(out, c.Add(d.Mul(t.Radius)))
			if i == 0 || i == n {
				out = append(out, c.Add(d.Mul((t.Radius+t.Bore)/2)))
			}
		}
	}
	return out
}

// boxPoints spreads points over the edges and faces of a box.
func boxPoints(b geom.Box) []geom.Vec {
	const n = 12
	var out []geom.Vec
	s := b.Size()
	for i := 0; i <= n; i++ {
		for j := 0; j <= n; j++ {
			f, g := float64(i)/n, float64(j)/n
			for _, end := range []float64{0, 1} {
				out = append(out, b.Min.Add(geom.V(f*s.X, g*s.Y, end*s.Z)), b.Min.Add(geom.V(f*s.X, end*s.Y, g*s.Z)), b.Min.Add(geom.V(end*s.X, f*s.Y, g*s.Z)))
			}
		}
	}
	return out
}

// deep is how deep a point lies in the material, or less than zero.
func (f *form) deep(p geom.Vec) float64 {
	best := math.Inf(-1)
	for _, t := range f.tubes {
		d := p.Sub(t.At)
		z := d.Dot(t.Dir)
		r := d.Sub(t.Dir.Mul(z)).Len()
		in := math.Min(math.Min(z, t.Length-z), t.Radius-r)
		if t.Bore > 0 {
			in = math.Min(in, r-t.Bore)
		}
		best = math.Max(best, in)
	}
	for _, b := range f.boxes {
		lo, hi := p.Sub(b.Min), b.Max.Sub(p)
		in := math.Min(math.Min(math.Min(lo.X, lo.Y), lo.Z), math.Min(math.Min(hi.X, hi.Y), hi.Z))
		for _, h := range f.holes {
			in = math.Min(in, offAxis(p, h.At, h.Dir)-h.Diameter/2)
		}
		best = math.Max(best, in)
	}
	return best
}
