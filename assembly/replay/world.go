package replay

import (
	"fmt"
	"math"
	"slices"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// site is where a body is.
type site int

const (
	absent site = iota
	bench
	placed
)

// body is one part during the replay.
type body struct {
	part    *assembly.Part
	solid   sdf.Solid
	box     geom.Box  // in the part frame
	open    sdf.Solid // a union half with its nut drawn back, or nil
	openBox geom.Box
	round   bool       // about z of the part frame
	outer   []geom.Vec // points that span its convex hull, once asked for
	site    site
	now     geom.Pose
	on      *body // what it was put on last, without a joint
	joints  []*closing
	moved   []occasion
}

// closing is a joint during the replay.
type closing struct {
	*assembly.Joint
	a, b   *body
	closed bool
	turns  float64 // made so far
}

// world is the state of the work: which bodies are where, and which joints are closed.
type world struct {
	plan     assembly.Plan
	bodies   []*body
	byID     map[string]*body
	joints   []*closing
	jointBy  map[string]*closing
	stopped  bool // a stop finding lets the plan end early
	failures []Failure
	tasks    []task

	// place in the plan, for failures
	stepNumber, copyNumber int
}

func newWorld(p assembly.Plan) *world {
	w := &world{plan: p, byID: map[string]*body{}, jointBy: map[string]*closing{}}
	for i := range p.Parts {
		b := &body{part: &p.Parts[i], now: p.Parts[i].Pose}
		if isRoom(b.part) {
			b.site = placed
		}
		w.bodies = append(w.bodies, b)
		w.byID[b.part.ID] = b
	}
	for i := range p.Joints {
		j := &p.Joints[i]
		c := &closing{Joint: j, a: w.byID[j.A.Part], b: w.byID[j.B.Part]}
		w.joints = append(w.joints, c)
		if c.a != nil && c.b != nil {
			c.a.joints, c.b.joints = append(c.a.joints, c), append(c.b.joints, c)
		}
		w.jointBy[j.ID] = c
	}
	w.stopped = slices.ContainsFunc(p.Findings, func(f assembly.Finding) bool { return f.Severity == assembly.Stop })
	return w
}

func isRoom(p *assembly.Part) bool { return p.Kind == "room" }

// sound tells whether every reference of the plan leads somewhere, so that it can be followed in spite of other faults.
func (w *world) sound() bool {
	for _, j := range w.joints {
		if j.a == nil || j.b == nil || j.a == j.b {
			return false
		}
	}
	known := func(ids []string) bool {
		return !slices.ContainsFunc(ids, func(id string) bool { return w.byID[id] == nil })
	}
	for _, s := range w.plan.Steps {
		for _, c := range copies(s) {
			ok := known(c.moves) && known(c.onto)
			for _, id := range c.joints {
				ok = ok && w.jointBy[id] != nil
			}
			for _, d := range c.draws {
				ok = ok && known(d.Moves)
			}
			if !ok {
				return false
			}
		}
	}
	return true
}

// farthest is the greatest coordinate or way of the plan, in mm; turns count as if maxTurns of them reached maxReachMM.
// A NaN comes through as one.
func (w *world) farthest() float64 {
	far := 0.0
	add := func(vs ...geom.Vec) {
		for _, v := range vs {
			far = max(far, math.Abs(v.X), math.Abs(v.Y), math.Abs(v.Z))
		}
	}
	for _, b := range w.bodies {
		add(b.part.Pose.Origin)
		for _, p := range b.part.Ports {
			add(p.At)
		}
	}
	for _, j := range w.joints {
		if j.Axis != nil {
			add(j.Axis.At)
		}
		far = max(far, math.Abs(j.PitchMM), math.Abs(j.EngagementMM), math.Abs(j.HandTightMM))
	}
	for _, s := range w.plan.Steps {
		for _, c := range copies(s) {
			add(c.start.Origin)
			for _, m := range c.motion {
				add(m.By, m.Axis.At)
				far = max(far, math.Abs(m.AdvanceMM), math.Abs(m.ByDeg)/360/maxTurns*maxReachMM)
			}
			for _, d := range c.draws {
				add(d.By)
			}
		}
	}
	return far
}

// loadSolids asks for every part's solid.
func (w *world) loadSolids(solids func(assembly.Part) (sdf.Solid, error)) []Failure {
	var out []Failure
	for _, b := range w.bodies {
		s, err := solids(*b.part)
		if err != nil || s == nil {
			out = append(out, Failure{
				Code: CodeSolid, Text: fmt.Sprintf("%s has no solid: %v", b.part.ID, err), Parts: []string{b.part.ID},
			})
			continue
		}
		b.solid, b.box = s, s.Bounds()
		b.round = isRound(b.part, s, b.box)
		if open, box, ok := nutBack(b.part, s); ok {
			b.open, b.openBox = open, box
		}
	}
	return out
}
