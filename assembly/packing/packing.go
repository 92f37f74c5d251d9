// Package packing shares the steps of a plan out among pictures: which neighbouring steps are drawn together.
//
// A picture shows one kind of action (taking the first part of a group to hand is none of its own), at most
// [MostBodies] new bodies, or any number when the same work is done again and again, all of it at one place and on one
// group. What moves as a whole group, closes a ring, is fastened or adjusted stands alone, or with work that is the
// same in all. Of all ways to cut the order of work into such pictures the cheapest is taken, by dynamic programming
// over the steps: cost of the first k = least over i of (cost of the first i + cost of a picture of i+1 to k).
//
// The pictures follow from the plan alone, not from how anything looks; so a plan names the same pictures whether or
// not they are drawn.
package packing

import (
	"fmt"
	"math"
	"strings"

	"turnwise/assembly"
	"turnwise/geom"
)

// MostBodies is how many new bodies one picture may show, unless they are copies of one piece of work. Our own choice:
// studies of instructions ask for few parts to a picture, and each needs room for a balloon.
const MostBodies = 4

// MostPattern is how many steps the work may have that a picture shows several times over.
const MostPattern = 2

// The costs, in pictures; our own choice.
const (
	pictureCost = 1.0
	bodyCost    = 0.12 // for each new body beyond easyBodies
	stopCost    = 0.30 // for each way beyond the first that some branch must point
	patternCost = 0.05 // for each copy beyond the first
	easyBodies  = 3
	easyCopies  = 12 // no picture shows more copies
)

// Number sets the number of the picture of every step, rising from 1.
func Number(parts []assembly.Part, joints []assembly.Joint, steps []assembly.Step) {
	p := newPacker(parts, joints, steps)
	n := len(steps)
	cost, from := make([]float64, n+1), make([]int, n+1)
	for k := 1; k <= n; k++ {
		cost[k] = math.Inf(1)
		for i := k - 1; i >= 0 && k-i <= MostPattern*easyCopies; i-- {
			c, ok := p.cost(i, k)
			if ok && cost[i]+c < cost[k] {
				cost[k], from[k] = cost[i]+c, i
			}
		}
	}
	var cuts []int
	for k := n; k > 0; k = from[k] {
		cuts = append(cuts, k)
	}
	k := 0
	for i := len(cuts) - 1; i >= 0; i-- {
		for ; k < cuts[i]; k++ {
			steps[k].Picture = len(cuts) - i
		}
	}
}

// packer knows of each step what matters for its picture.
type packer struct {
	steps []assembly.Step
	parts map[string]*assembly.Part
	group []int    // by step: the group worked on when it is done
	work  []string // by step: a label, equal for equal work
	stop  []string // by step: which way a branch must point, "" when nothing must
}

func newPacker(parts []assembly.Part, joints []assembly.Joint, steps []assembly.Step) *packer {
	p := &packer{steps: steps, parts: map[string]*assembly.Part{}}
	for i := range parts {
		p.parts[parts[i].ID] = &parts[i]
	}
	axes := map[string]*assembly.Axis{}
	for _, j := range joints {
		axes[j.ID] = j.Axis
	}
	groups := map[string]int{}
	for i, s := range steps {
		if isStart(s) {
			groups[s.Moves[0]] = i + 1
		}
		g := 0
		for _, id := range s.Onto {
			g = max(g, groups[id])
		}
		for _, id := range s.Moves {
			groups[id] = g
		}
		if isStart(s) {
			g = i + 1
			groups[s.Moves[0]] = g
		}
		p.group = append(p.group, g)
		p.work = append(p.work, p.label(s))
		p.stop = append(p.stop, p.stopOf(s, axes))
	}
	return p
}

// isStart tells whether a step only takes the first part of a group to hand.
func isStart(s assembly.Step) bool {
	return s.Action == assembly.Place && len(s.Onto) == 0 && len(s.Moves) == 1
}

// isSmall tells whether a step adds one body with one joint, so that others may stand beside it.
func (p *packer) isSmall(s assembly.Step) bool {
	return len(s.Moves) == 1 && len(s.Repeats) == 0 && (isStart(s) || s.Action == assembly.Screw && len(s.Joints) == 1)
}

// label names the work of a step: equal labels are equal work on equal parts.
func (p *packer) label(s assembly.Step) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s %s %.3f", s.Action, s.Where, s.Turns)
	for _, ids := range [][]string{s.Moves, s.Onto} {
		b.WriteByte('/')
		for _, id := range ids {
			if q := p.parts[id]; q != nil {
				fmt.Fprintf(&b, " %d%s%s", q.Number, q.Half, q.LeftEnd)
			}
		}
	}
	return b.String()
}

// stopOf names the way the branches of a fitting that turns must point, in whole tens of degrees; "" for what is round.
func (p *packer) stopOf(s assembly.Step, axes map[string]*assembly.Axis) string {
	if s.Action != assembly.Screw || len(s.Moves) == 0 || len(s.Joints) == 0 || axes[s.Joints[0]] == nil {
		return ""
	}
	q := p.parts[s.Moves[0]]
	if q == nil {
		return ""
	}
	var out []string
	for _, d := range Branches(*q, axes[s.Joints[0]].Dir) {
		out = append(out, fmt.Sprintf("%.1f %.1f %.1f", d.X+0, d.Y+0, d.Z+0))
	}
	return strings.Join(out, ",")
}

// Branches returns the directions, in the finished frame, square to an axis, in which openings of a part point that
// turns about it: none for a part that looks the same however it is turned.
func Branches(p assembly.Part, axis geom.Vec) []geom.Vec {
	const leastSine = 0.1 // of an opening off the axis; the least angle of fittings is 45 degrees
	var out []geom.Vec
	for _, q := range p.Ports {
		if q.Name == "face" {
			continue // a flange's face lies square to its mouth
		}
		d := q.Out.Sub(axis.Mul(q.Out.Dot(axis)))
		if d.Len() > leastSine {
			out = append(out, d.Unit())
		}
	}
	return out
}

// cost returns what a picture of steps i to k-1 costs, false when they may not share one.
func (p *packer) cost(i, k int) (float64, bool) {
	if k-i == 1 {
		return pictureCost + p.extra(i, k), true
	}
	if copies := p.copies(i, k); copies > 1 {
		return pictureCost + patternCost*float64(copies-1) + p.extra(i, i+(k-i)/copies), true
	}
	if k-i > MostBodies {
		return 0, false
	}
	for s := i; s < k; s++ {
		if !p.isSmall(p.steps[s]) || p.group[s] != p.group[i] || s > i && isStart(p.steps[s]) || p.steps[s].Where != p.steps[i].Where {
			return 0, false
		}
	}
	return pictureCost + p.extra(i, k), true
}

// extra is what the bodies and stops of a picture cost beyond the easy ones.
func (p *packer) extra(i, k int) float64 {
	stops := map[string]bool{}
	for s := i; s < k; s++ {
		if p.stop[s] != "" {
			stops[p.stop[s]] = true
		}
	}
	return bodyCost*float64(max(0, k-i-easyBodies)) + stopCost*float64(max(0, len(stops)-1))
}

// copies returns how often steps i to k-1 do the same work: one step, or a few in the same order, over and over; 1 when
// they do not. Work on the whole frame is no copy of anything.
func (p *packer) copies(i, k int) int {
	n := k - i
	for size := 1; size <= MostPattern; size++ {
		if n%size != 0 || n/size < 2 || n/size > easyCopies {
			continue
		}
		same := true
		for s := i; s < k && same; s++ {
			first := i + (s-i)%size
			same = p.work[s] == p.work[first] && p.stop[s] == p.stop[first] && !isStart(p.steps[s]) && p.group[s] == p.group[i] && p.alone(s, size)
		}
		if same {
			return n / size
		}
	}
	return 1
}

// alone tells whether a step may be one of several copies: what is screwed, fastened or laid by itself.
func (p *packer) alone(s, size int) bool {
	st := p.steps[s]
	switch st.Action {
	case assembly.Screw:
		return p.isSmall(st)
	case assembly.Fasten, assembly.Place, assembly.PutStrap, assembly.Adjust:
		return size == 1 && len(st.Moves) <= 1 && len(st.Repeats) == 0
	}
	return false
}
