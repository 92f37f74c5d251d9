package pipeline

import (
	"bytes"
	"fmt"
	"slices"

	"turnwise/assembly"
	"turnwise/assembly/bom"
	"turnwise/assembly/design"
	"turnwise/assembly/mend"
	"turnwise/assembly/packing"
	"turnwise/assembly/planfile"
	"turnwise/assembly/sequence"
	"turnwise/assembly/solidify"
	"turnwise/assembly/solve"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
)

// stages is how many steps of progress a whole build reports, besides one for each mesh.
const stages = 8

// plan takes a design as far as the proven plan.
func plan(q Request) (*Result, *work, error) {
	text, digest, err := readAll(q.Design)
	if err != nil {
		return nil, nil, fmt.Errorf("reading %s: %w", q.Name, err)
	}
	w := newWork(q.Progress)
	if q.trial != nil {
		w.solids = q.trial.solids // most parts stay as they are
	}
	w.say("solving")
	tree, faults := design.Read(bytes.NewReader(text), q.Name)
	var a *assembly.Assembly
	if len(faults) > 0 {
		faults = solve.Faults(tree, faults)
	} else {
		a, faults = solve.Solve(tree)
	}
	if len(faults) > 0 {
		r, err := faulty(tree, faults)
		return r, nil, err
	}
	r := &Result{Readable: true, Digest: digest}
	w.say("finding an order")
	r.Plan, err = w.arrange(a)
	if err != nil {
		return nil, nil, err
	}
	w.say("proving the order")
	if err := w.prove(r, a); err != nil {
		return nil, nil, err
	}
	if q.trial == nil {
		mend.Propose(tree, a, &r.Plan)
	}
	if q.trial == nil && hasRepairs(r.Plan) {
		w.told.say("trying repairs", 0)
		if r.Mending, err = w.tryRepairs(q, text, &r.Plan); err != nil {
			return nil, nil, err
		}
		if err := r.encode(); err != nil {
			return nil, nil, err
		}
	}
	w.plan, w.solved = &r.Plan, a
	return r, w, nil
}

// faulty is the result of a design that cannot be worked out: findings only.
func faulty(t *design.Tree, faults design.Errors) (*Result, error) {
	h := assembly.Header{Title: t.Title.Text, Units: string(t.Units), Thread: t.Thread}
	var found []assembly.Finding
	for _, e := range faults {
		found = append(found, assembly.Finding{Code: DesignFault, Severity: assembly.Stop, Text: e.Text, At: e.Place()})
	}
	r := &Result{Plan: planfile.FindingsOnly(h, found)}
	return r, r.encode()
}

// arrange gives the parts an order, numbers, files and words, and counts what to cut and buy.
func (w *work) arrange(a *assembly.Assembly) (assembly.Plan, error) {
	outlines := map[string]assembly.Outline{}
	for _, p := range a.Parts {
		o, err := solidify.Outline(p)
		if err != nil {
			return assembly.Plan{}, fmt.Errorf("the outline of %s: %w", p.ID, err)
		}
		outlines[p.ID] = o
	}
	found := slices.Clone(a.Findings)
	order := sequence.Plan(sequence.Input{Assembly: a, Outlines: outlines})
	found = append(found, order.Findings...)
	found = append(found, backedOff(a, order.Steps)...)
	sequence.Number(a, order.Steps)
	nameSolids(a.Parts)
	packing.Number(a.Parts, a.Joints, order.Steps)
	book := wording.NewBook(units.System(a.Header.Units), a.Parts, a.Joints)
	for i, text := range book.Steps(order.Steps) {
		order.Steps[i].Text = text
	}
	return assembly.Plan{
		Format: assembly.Format, Design: a.Header, Parts: a.Parts, Joints: a.Joints, Loops: order.Loops,
		Steps: order.Steps, Findings: found, Cuts: bom.Cuts(a), Shopping: bom.Shopping(a), Assumptions: a.Assumptions,
		Effort: order.Effort,
	}, nil
}

// nameSolids names the file of each part: by number, and for a union by half, since its halves share one.
func nameSolids(parts []assembly.Part) {
	for i := range parts {
		p := &parts[i]
		if p.Number == 0 {
			continue
		}
		slug := string(p.Kind)
		if p.Half != "" {
			slug += "-" + p.Half
		}
		p.Solid = fmt.Sprintf("solids/%02d-%s.stl", p.Number, slug)
	}
}
