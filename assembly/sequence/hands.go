package sequence

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/closing"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// What hands can do.
const (
	// loneMass is what one person lifts at most under the best conditions: the load constant of the revised lifting
	// equation of the United States institute for occupational safety (Waters and others, Ergonomics 36, 1993).
	loneMass = 23.0 // kg
	// pairMass is what two people carry together, and each one more adds half of it: common practice, no source.
	pairMass = 40.0 // kg
	// loneReach is the longest side of a group that one person handles alone: common practice, no source.
	loneReach = 1800.0 // mm
	// loneSwing is the swing radius beyond which somebody else must keep the far end up: an arm's reach, common practice,
	// no source.
	loneSwing = 500.0 // mm
	// heldEach is how many groups a person holds: one in each hand.
	heldEach = 2
)

// hands sets how many people each step takes, never more than there are, and what is to be propped up beyond that. It
// reports steps that take more people than there are.
func (f *frame) hands(steps []assembly.Step) []assembly.Finding {
	there := max(1, f.a.People)
	g := &handler{f: f, groups: closing.NewForest(len(f.parts)), joint: f.jointIndex()}
	var short []int // steps that take more
	most, worst := there, 0
	for i := range steps {
		s := &steps[i]
		need, held := 1, []string(nil)
		for _, c := range works([]assembly.Step{*s}) {
			need = max(need, g.people(c))
			if h := g.held(c); len(h) > len(held) {
				held = h
			}
			g.done(c)
		}
		if len(held) > heldEach*need {
			need = max(need, min(there, (len(held)+heldEach-1)/heldEach))
		}
		if need > there {
			short = append(short, s.Number)
			if need > most {
				most, worst = need, i
			}
		}
		s.People = min(need, there)
		s.Props = []string{}
		if spare := len(held) - heldEach*s.People; spare > 0 {
			s.Props = held[len(held)-spare:]
		}
	}
	if len(short) == 0 {
		return nil
	}
	return []assembly.Finding{f.shortHanded(&steps[worst], short, most, there)}
}

// shortHanded tells of the steps that take more people than there are, by the one that takes most.
func (f *frame) shortHanded(s *assembly.Step, steps []int, need, there int) assembly.Finding {
	mass := 0.0
	for _, id := range s.Moves {
		mass += f.parts[f.index[id]].MassKG
	}
	return assembly.Finding{
		Code: "HANDS", Severity: assembly.Warn, Parts: slices.Clone(s.Moves), Repairs: []assembly.Repair{},
		Text: fmt.Sprintf("%s %s and the design has %d: %s; get help",
			stepList(steps), persons(need), there, f.burden(s, mass)),
		Values: map[string]float64{"people_count": float64(need), "there_count": float64(there), "mass_kg": mass, "swing_mm": s.SwingRadiusMM},
		Source: "load constant of the revised lifting equation, 23 kg; swing: common practice, no source",
	}
}

// stepList names steps as the subject of a sentence: "step 4 takes", "steps 4, 7, 9 take up to".
func stepList(steps []int) string {
	if len(steps) == 1 {
		return fmt.Sprintf("step %d takes", steps[0])
	}
	words := make([]string, len(steps))
	for i, n := range steps {
		words[i] = strconv.Itoa(n)
	}
	return "steps " + strings.Join(words, ", ") + " take up to"
}

func persons(n int) string {
	if n == 2 {
		return "two people"
	}
	return fmt.Sprintf("%d people", n)
}

// burden says why a step takes more than one.
func (f *frame) burden(s *assembly.Step, mass float64) string {
	if turnsRound(*s) && s.SwingRadiusMM > loneSwing {
		return "what turns reaches " + f.length(s.SwingRadiusMM) + " from its axis"
	}
	if mass > loneMass {
		system := units.System(f.a.Header.Units)
		unit := units.Kilogram
		if system == units.InchSystem {
			unit = units.Pound
		}
		return "what is lifted weighs " + system.FormatMass(units.Mass(math.Round(mass*float64(units.Kilogram)/float64(unit)))*unit)
	}
	return "what is moved is long, or more groups must be held than there are hands"
}

// handler follows which bodies are one.
type handler struct {
	f      *frame
	groups closing.Forest // over rigid joints so far
	joint  map[string]int
}

// people is how many a step takes for what it lifts and swings.
func (g *handler) people(s assembly.Step) int {
	mass, box := 0.0, geom.EmptyBox()
	for _, id := range s.Moves {
		b := g.f.index[id]
		mass += g.f.parts[b].MassKG
		box = box.Union(g.f.shapes[b].box)
	}
	n := 1
	if size := box.Size(); len(s.Moves) > 1 && math.Max(size.X, math.Max(size.Y, size.Z)) > loneReach {
		n = 2
	}
	if turnsRound(s) && s.SwingRadiusMM > loneSwing {
		n = 2
	}
	switch {
	case mass > pairMass:
		n = max(n, int(math.Ceil(mass/(pairMass/2)-1e-9)))
	case mass > loneMass:
		n = 2
	}
	return n
}

func turnsRound(s assembly.Step) bool {
	return slices.ContainsFunc(s.Motion, func(m assembly.Move) bool { return m.Kind == assembly.Turn })
}

// held lists the groups that hands must hold in a step, each by one of its bodies: what moves, and what it meets that
// nothing fixes yet. On the bench the bench carries what lies there, so that of what is met only the mate is held.
func (g *handler) held(s assembly.Step) []string {
	var roots []int
	var out []string
	add := func(id string) {
		b := g.f.index[id]
		if r := g.groups.Root(b); !slices.Contains(roots, r) && b != g.f.room && !g.firm(r) {
			roots, out = append(roots, r), append(out, id)
		}
	}
	for _, id := range s.Moves[:min(1, len(s.Moves))] {
		add(id)
	}
	for _, id := range s.Onto {
		if s.Where != "bench" || s.Action == assembly.Screw || s.Action == assembly.JoinUnion {
			add(id)
		}
	}
	return out
}

// firm tells whether a group is fixed to the room.
func (g *handler) firm(root int) bool { return g.f.room >= 0 && g.groups.Root(g.f.room) == root }

// done makes one what a step has joined. What stands in the room by its own feet stands firm, once all of it is one.
func (g *handler) done(s assembly.Step) {
	for i := range s.Moves {
		if s.Moves[0] != s.Moves[i] {
			g.groups.Join(g.f.index[s.Moves[0]], g.f.index[s.Moves[i]])
		}
	}
	for _, id := range s.Joints {
		j := &g.f.joints[g.joint[id]]
		if j.Kind.IsRigid() || j.a == g.f.room || j.b == g.f.room {
			g.groups.Join(j.a, j.b)
		}
	}
}
