package sequence

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"turnwise/assembly"
	"turnwise/geom"
)

// loops counts the independent cycles over threaded joints and gives each the joint that closes it.
//
// Plain threads are laid into a spanning forest first, so a joint left over is a plain thread only when its whole
// cycle is made of plain threads: then nothing can close it, because closing it by a screw would need full turns
// between two bodies that are already one. Every other joint left over closes its own cycle, a different one each.
func (f *frame) loops() ([]assembly.Loop, []assembly.Finding) {
	tree := make([][]int, len(f.parts)) // forest joints of each body
	u := newForest(len(f.parts))
	var left []int
	for _, plain := range []bool{true, false} {
		for k := range f.joints {
			j := &f.joints[k]
			if !j.Kind.IsThreaded() || j.isScrew() != plain {
				continue
			}
			if !u.join(j.a, j.b) {
				left = append(left, k)
				continue
			}
			tree[j.a] = append(tree[j.a], k)
			tree[j.b] = append(tree[j.b], k)
		}
	}
	var loops []assembly.Loop
	var findings []assembly.Finding
	taken := map[int]bool{}
	for _, k := range left {
		j := &f.joints[k]
		round := f.treePath(tree, j.a, j.b)
		l := assembly.Loop{Parts: f.ids(round)}
		if !j.isScrew() {
			l.ClosedBy = j.ID
		} else {
			findings = append(findings, f.loopFinding(round, taken))
		}
		loops = append(loops, l)
	}
	return loops, findings
}

// treePath lists the bodies from a to b along forest joints.
func (f *frame) treePath(tree [][]int, a, b int) []int {
	from := map[int]int{a: -1}
	queue := []int{a}
	for len(queue) > 0 {
		x := queue[0]
		queue = queue[1:]
		if x == b {
			break
		}
		for _, k := range tree[x] {
			y := f.joints[k].other(x)
			if _, seen := from[y]; !seen {
				from[y] = x
				queue = append(queue, y)
			}
		}
	}
	var back []int
	for x := b; x >= 0; x = from[x] {
		back = append(back, x)
		if _, ok := from[x]; !ok {
			break
		}
	}
	for i, k := 0, len(back)-1; i < k; i, k = i+1, k-1 {
		back[i], back[k] = back[k], back[i]
	}
	return back
}

// loopSource is the rule behind a LOOP finding.
const loopSource = "derived: closing a taper thread takes several full turns of one side against the other, and two bodies that are already one cannot turn against each other"

// loopFinding explains a cycle of plain threads and where a union would open it. taken remembers the lines proposed
// for earlier loops, so that each loop gets a line of its own.
func (f *frame) loopFinding(round []int, taken map[int]bool) assembly.Finding {
	names := f.ids(round)
	finding := assembly.Finding{
		Code: "LOOP", Severity: assembly.Stop, Parts: names, Source: loopSource,
		Values:  map[string]float64{"parts_count": float64(len(round))},
		Repairs: []assembly.Repair{},
		Text: "these parts make a closed ring of plain threads, and the last joint of such a ring cannot be screwed up: " +
			strings.Join(names, ", ") + "; one pipe of the ring has to be divided by a union",
	}
	hint, ok := f.cheapestHint(round, taken)
	if !ok {
		return finding
	}
	finding.At = hint.At
	e := hint.Edit
	finding.Text += fmt.Sprintf("; change line %d to: %s", e.Line, strings.TrimSpace(e.New))
	finding.Repairs = []assembly.Repair{{
		Text:  fmt.Sprintf("divide %s by a union", hint.Part),
		Edits: []assembly.Edit{e},
	}}
	return finding
}

// Weights of a place for a union, in points; a union itself counts as ten. Proposed, no source.
const (
	priceUnion      = 10 // for every copy that the line makes
	priceCarries    = 6  // it carries a board or a load: hangers catch on the nut
	priceNoParallel = 8  // no other pipe of the ring runs the same way, so the ring cannot be closed by turning one
	priceShort      = 20 // too short for a union between two short pipes
	priceUpright    = 1  // a post rather than a rung
)

// shortForUnion is the length of pipe, in mm, that a union with a close nipple on both sides takes the place of in
// 3/4 in: 1 3/8 + 2.15 + 1 3/8 in, less four engagements.
const shortForUnion = 69.0

// cheapestHint picks the design line of the cheapest pipe of a ring to divide.
func (f *frame) cheapestHint(round []int, taken map[int]bool) (assembly.LoopHint, bool) {
	copies := map[int]int{}
	for _, h := range f.a.LoopHints {
		copies[h.Edit.Line]++
	}
	type offer struct {
		hint  assembly.LoopHint
		price float64
	}
	var offers []offer
	for _, h := range f.a.LoopHints {
		body, ok := f.index[h.Part]
		if !ok || taken[body] || !contains(round, body) {
			continue
		}
		offers = append(offers, offer{h, f.unionPrice(body, round, copies[h.Edit.Line])})
	}
	if len(offers) == 0 {
		return assembly.LoopHint{}, false
	}
	sort.SliceStable(offers, func(i, k int) bool { return offers[i].price < offers[k].price })
	best := offers[0].hint
	taken[f.index[best.Part]] = true
	return best, true
}

func (f *frame) unionPrice(body int, round []int, copies int) float64 {
	price := float64(priceUnion * max(copies, 1))
	if f.carries(body) {
		price += priceCarries
	}
	if f.parts[body].LengthMM < shortForUnion {
		price += priceShort
	}
	dir := f.parts[body].Pose.Z
	if math.Abs(dir.Dot(geom.AxisZ)) > 0.9 {
		price += priceUpright
	}
	for _, o := range round {
		p := &f.parts[o]
		if o != body && p.Kind == "pipe" && p.Pose.Z.Cross(dir).Len() < 1e-3 && offAxis(p.Pose.Origin, f.parts[body].Pose.Origin, dir) > 1 {
			return price
		}
	}
	return price + priceNoParallel
}

// carries tells whether a board or a load bears on a body.
func (f *frame) carries(body int) bool {
	for _, k := range f.at[body] {
		if kind := f.joints[k].Kind; kind == assembly.Rest || kind == assembly.StrapOn {
			return true
		}
	}
	for _, l := range f.a.Loads {
		for _, id := range l.Parts {
			if id == f.parts[body].ID {
				return true
			}
		}
	}
	return false
}

func contains(list []int, x int) bool {
	for _, y := range list {
		if y == x {
			return true
		}
	}
	return false
}
