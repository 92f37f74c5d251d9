// Package mend proposes and proves changes of a design's text that take a refusal away.
//
// A repair is found as splices: so many characters out, some in, at a place of the text that a token gave. [Edits]
// makes whole lines of them, [Apply] writes those into the text and leaves every other byte as it was: comments,
// indentation, quotes, line ends. [Try] works each proposal out again, through a function it is handed, and marks those
// that hold. Nothing is called verified that was not.
package mend

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"turnwise/assembly"
)

// Run works a changed design out as far as the proven plan. It gives nil when the text has faults of its own.
type Run func(text []byte) (*assembly.Plan, error)

// Limits bound the work of Try.
type Limits struct {
	Runs   int // designs worked out again
	Proven int // of those, plans that went as far as the proof, which takes longest
}

// Report says what Try did.
type Report struct {
	Tried, Verified int
	Untried         int // distinct changes left over
}

// Try turns the splices of every repair into edits, works the changed designs out, and marks as verified those whose
// finding is gone without another fault that stops the work in its place. Repairs keep their order, cheapest first, but
// verified ones come before those not tried, and those before the ones that failed. Every finding has its first repair
// tried before any has its second; a finding with two ways proven is left at that.
func Try(text []byte, p *assembly.Plan, run Run, most Limits) (Report, error) {
	t := trial{text: text, plan: p, run: run, most: most, done: map[string]outcome{}, leaves: map[string]int{}}
	deepest := 0
	for i := range p.Findings {
		f := &p.Findings[i]
		if err := t.elsewhere(f); err != nil {
			return t.report, err
		}
		f.Repairs = once(t.written(f.Repairs))
		deepest = max(deepest, len(f.Repairs))
	}
	verified := make([]int, len(p.Findings))
	for rank := range deepest {
		for i := range p.Findings {
			f := &p.Findings[i]
			if rank >= len(f.Repairs) || len(f.Repairs[rank].Edits) == 0 || verified[i] >= enough {
				continue
			}
			r := &f.Repairs[rank]
			got, err := t.try(f.Code, r.Edits)
			if err != nil {
				return t.report, err
			}
			r.Tried, r.Verified, r.Leaves = got != untried, got == holds, t.leaves[key(f.Code, r.Edits)]
			if r.Verified {
				verified[i]++
			}
			if r.Verified && t.whole == nil && r.Leaves == 0 {
				whole := *r
				t.whole = &whole
			}
		}
	}
	if err := t.together(); err != nil {
		return t.report, err
	}
	t.share()
	t.sort()
	return t.report, nil
}

// together tries the first proven change of every finding all at once, where none of them leaves nothing in the way.
func (t *trial) together() error {
	if t.whole != nil {
		return nil
	}
	all := assembly.Repair{}
	code, texts := "", []string{}
	seen := map[string]bool{}
	for i := range t.plan.Findings {
		f := &t.plan.Findings[i]
		for _, r := range f.Repairs {
			k := key("", r.Edits)
			if !r.Verified || len(r.Splices) == 0 || f.Severity != assembly.Stop {
				continue
			}
			if !seen[k] {
				seen[k] = true
				all.Splices = append(all.Splices, r.Splices...)
				texts = append(texts, r.Text)
				code = f.Code
			}
			break
		}
	}
	if len(texts) < 2 {
		return nil
	}
	edits, err := Edits(t.text, all.Splices)
	if err != nil {
		return nil // two of them change the same words
	}
	all.Edits, all.Text = edits, "all of it at once: "+strings.Join(texts, "; ")
	got, err := t.try(code, edits)
	if err != nil {
		return err
	}
	if all.Leaves = t.leaves[key(code, edits)]; got == holds && all.Leaves == 0 {
		all.Tried, all.Verified = true, true
		t.whole = &all
	}
	return nil
}

// once drops repairs that make the same edits as one before.
func once(rs []assembly.Repair) []assembly.Repair {
	var out []assembly.Repair
	seen := map[string]bool{}
	for _, r := range rs {
		k := key("", r.Edits)
		if len(r.Edits) > 0 && seen[k] {
			continue
		}
		seen[k] = true
		out = append(out, r)
	}
	return out
}

// share gives a change after which nothing stands in the way any more to every finding that has no proven one.
func (t *trial) share() {
	if t.whole == nil {
		return
	}
	for i := range t.plan.Findings {
		f := &t.plan.Findings[i]
		if f.Severity == assembly.Stop && !slices.ContainsFunc(f.Repairs, leavesNone) {
			f.Repairs = append(f.Repairs, *t.whole)
		}
	}
}

// elsewhere adds, to a finding that no order was found for, other places for the pieces that close its rings: with
// those taken out the frame is refused for its rings alone, and the cheapest places to close them come with that.
func (t *trial) elsewhere(f *assembly.Finding) error {
	if len(f.Reopen) == 0 || t.report.Tried >= t.most.Runs {
		return nil
	}
	edits, err := Edits(t.text, f.Reopen)
	if err != nil {
		return nil // written in a way that the positions do not tell of
	}
	bare, err := Apply(t.text, edits)
	if err != nil {
		return err
	}
	t.report.Tried++
	p, err := t.run(bare)
	if err != nil || p == nil {
		return err
	}
	var found []assembly.Repair
	for _, loop := range p.Findings {
		if loop.Code != "LOOP" {
			continue
		}
		for _, r := range loop.Repairs {
			if len(r.Splices) == 0 {
				continue
			}
			edits, err := Edits(bare, r.Splices)
			if err != nil {
				continue
			}
			text, err := Apply(bare, edits)
			if err != nil {
				return err
			}
			if both := between(t.text, text); len(both) > 0 {
				found = append(found, assembly.Repair{Text: "close the rings elsewhere: " + r.Text, Edits: both})
			}
		}
		break // the first proposes for all
	}
	f.Repairs = append(found, f.Repairs...)
	return nil
}

// between lists the lines in which two texts of equally many lines differ.
func between(was, is []byte) []assembly.Edit {
	_, a := cutText(was)
	_, b := cutText(is)
	var out []assembly.Edit
	for i := range min(len(a), len(b)) {
		if a[i] != b[i] {
			old, _ := cutEnd(a[i])
			now, _ := cutEnd(b[i])
			out = append(out, assembly.Edit{Line: i + 1, Old: old, New: now})
		}
	}
	return out
}

// enough is how many proven ways a finding gets.
const enough = 2

// outcome is what became of a change.
type outcome int

const (
	untried outcome = iota
	holds
	fails
)

type trial struct {
	text   []byte
	plan   *assembly.Plan
	run    Run
	most   Limits
	done   map[string]outcome
	leaves map[string]int // findings that stop the work after a change
	proven int
	whole  *assembly.Repair // the first that leaves nothing in the way
	report Report
}

// written gives repairs their edits. One that does not fit the text, as where a file is written in a way that its
// positions do not tell of, is left out.
func (t *trial) written(rs []assembly.Repair) []assembly.Repair {
	var out []assembly.Repair
	for _, r := range rs {
		if len(r.Splices) > 0 {
			edits, err := Edits(t.text, r.Splices)
			if err != nil {
				continue
			}
			r.Edits = edits
		}
		out = append(out, r)
	}
	return out
}

// key is equal for equal changes that answer a fault of the same kind.
func key(code string, edits []assembly.Edit) string { return fmt.Sprintf("%s %#v", code, edits) }

// try works out a change, once.
func (t *trial) try(code string, edits []assembly.Edit) (outcome, error) {
	k := key(code, edits)
	if got, ok := t.done[k]; ok {
		return got, nil
	}
	if t.report.Tried >= t.most.Runs || t.proven >= t.most.Proven {
		t.done[k] = untried
		t.report.Untried++
		return untried, nil
	}
	changed, err := Apply(t.text, edits)
	if err != nil {
		return fails, err
	}
	t.report.Tried++
	p, err := t.run(changed)
	if err != nil {
		return fails, err
	}
	t.done[k] = fails
	if p == nil {
		return fails, nil
	}
	if len(p.Steps) > 0 {
		t.proven++
	}
	t.leaves[k] = stops(p)
	if t.answers(code, p) {
		t.done[k] = holds
		t.report.Verified++
	}
	return t.done[k], nil
}

// answers tells whether a changed plan has fewer faults of a kind and no more of any other, and steps where nothing
// stands against them.
func (t *trial) answers(code string, p *assembly.Plan) bool {
	before, after := faults(t.plan), faults(p)
	if after[code] >= before[code] {
		return false
	}
	for c, n := range after {
		if n > before[c] {
			return false
		}
	}
	return stops(p) > 0 || len(p.Steps) > 0
}

// wishCode is the one kind of warning that a change of the text answers.
const wishCode = "WISH"

// faults counts the findings that stop the work or go against a wish, by code.
func faults(p *assembly.Plan) map[string]int {
	out := map[string]int{}
	for _, f := range p.Findings {
		if f.Severity == assembly.Stop || f.Code == wishCode {
			out[f.Code]++
		}
	}
	return out
}

func stops(p *assembly.Plan) int {
	n := 0
	for _, f := range p.Findings {
		if f.Severity == assembly.Stop {
			n++
		}
	}
	return n
}

// Choice is a change that a person may pick, with the finding that it answers first.
type Choice struct {
	Number  int // from 1
	Finding int // index in the plan
	Repair  assembly.Repair
}

// Choices numbers the changes of a plan that are worth picking: each once, proven ones first, and of those the ones that
// leave nothing else in the way. Those not tried follow
// where a finding has none that is proven; those that were tried and failed are left out.
func Choices(p *assembly.Plan) []Choice {
	var out []Choice
	seen := map[string]bool{}
	for _, kind := range []func(*assembly.Finding, assembly.Repair) bool{
		func(_ *assembly.Finding, r assembly.Repair) bool { return leavesNone(r) },
		func(f *assembly.Finding, r assembly.Repair) bool {
			return r.Verified && !slices.ContainsFunc(f.Repairs, leavesNone)
		},
		func(f *assembly.Finding, r assembly.Repair) bool { return !r.Tried && !IsMended(f) },
	} {
		for i := range p.Findings {
			f := &p.Findings[i]
			for _, r := range f.Repairs {
				k := key("", r.Edits)
				if len(r.Edits) > 0 && !seen[k] && kind(f, r) {
					seen[k] = true
					out = append(out, Choice{len(out) + 1, i, r})
				}
			}
		}
	}
	return out
}

// leavesNone tells whether nothing stands in the way any more after a change.
func leavesNone(r assembly.Repair) bool { return r.Verified && r.Leaves == 0 }

// IsMended tells whether a proven change answers a finding.
func IsMended(f *assembly.Finding) bool {
	for _, r := range f.Repairs {
		if r.Verified {
			return true
		}
	}
	return false
}

// NumberOf is the number of the choice that makes the same edits; 0 when there is none.
func NumberOf(choices []Choice, edits []assembly.Edit) int {
	for _, c := range choices {
		if key("", c.Repair.Edits) == key("", edits) {
			return c.Number
		}
	}
	return 0
}

// sort puts the repairs of every finding in the order in which they are to be thought of.
func (t *trial) sort() {
	for i := range t.plan.Findings {
		f := &t.plan.Findings[i]
		rank := func(r assembly.Repair) int {
			switch {
			case r.Verified && r.Leaves == 0:
				return 0
			case r.Verified:
				return 1
			case !r.Tried:
				return 2
			}
			return 3
		}
		sort.SliceStable(f.Repairs, func(a, b int) bool { return rank(f.Repairs[a]) < rank(f.Repairs[b]) })
	}
}
