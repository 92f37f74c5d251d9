package design

import (
	"strings"

	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
)

// parts reads what was measured, is in hand, or costs.
func (r *reader) parts(n *node) {
	if !r.isMap(n, "parts") {
		return
	}
	seen := map[string]Pos{}
	for _, e := range n.entries {
		r.value(e, func(v *node) {
			for _, p := range r.list(piece{e.key, e.keyAt}) {
				part := PartEntry{KeyAt: p.at}
				if !r.partKey(&part, p) || !r.isMap(v, "a part") {
					continue
				}
				id := part.id()
				if first, twice := seen[id]; twice {
					r.fail(p.at, "%s is already given in line %d", clip(p.text), first.Line)
					continue
				}
				seen[id] = p.at
				r.part(&part, v)
				r.tree.Parts = append(r.tree.Parts, part)
			}
		})
	}
}

// id tells entries apart however their key is written.
func (p *PartEntry) id() string {
	var s []string
	for _, size := range p.Sizes {
		s = append(s, string(size))
	}
	return strings.Join(append(s, string(p.Kind)), " ")
}

// partKey reads "3/4", "3/4 flange", "3/4 x 1/2 tee" or "caster".
func (r *reader) partKey(part *PartEntry, p piece) bool {
	sizes := p
	if ws := p.words(); len(ws) > 0 {
		last := ws[len(ws)-1]
		if c := last.text[0]; c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' {
			kind, ok := r.word(last.piece, "part", boughtKinds()...)
			if !ok {
				return false
			}
			part.Kind = standard.Kind(kind.Text)
			sizes = p.slice(0, last.start)
		}
	}
	if sizes.text == "" {
		return true
	}
	for _, q := range r.sizes(sizes) {
		s, ok := r.size(q)
		if !ok {
			return false
		}
		part.Sizes = append(part.Sizes, s)
	}
	return true
}

// boughtKinds are the kinds that may have an entry under parts.
func boughtKinds() []string {
	words := []string{string(standard.Pipe)}
	words = append(words, kindWords(standard.FittingKinds())...)
	return append(words, string(standard.RightLeft), string(standard.LongScrew), string(standard.Pad), string(standard.Strap))
}

func (r *reader) part(part *PartEntry, n *node) {
	r.fields(n, " in a part", []field{
		{"engagement", r.formulaOf(&part.Engagement)},
		{"centre-to-end", func(n *node) { r.centreToEnd(part, n) }},
		{"length", r.formulaOf(&part.Length)},
		{"height", r.formulaOf(&part.Height)},
		{"across", r.formulaOf(&part.Across)},
		{"circle", r.formulaOf(&part.Circle)},
		{"countersink", r.formulaOf(&part.Countersink)},
		{"holes", func(n *node) { part.Holes, part.HolesAt, _ = r.whole(n, "holes of a flange", 1, mostHoles) }},
		{"rated", r.formulaOf(&part.Rated)},
		{"stock", func(n *node) { part.Stock = r.formulas(n) }},
		{"have", func(n *node) { part.Have, part.HaveAt = r.formulas(n), n.at }},
		{"price", func(n *node) { r.prices(part, n) }},
		{"thread", func(n *node) { r.partThread(part, n) }},
		{"finish", func(n *node) { r.finish(n, &part.Finish) }},
	})
}

// mostHoles in a floor flange is far above the three or four there are.
const mostHoles = 12

func (r *reader) formulas(n *node) []*formula.Expr {
	p, ok := r.text(n)
	if !ok {
		return nil
	}
	var es []*formula.Expr
	for _, q := range r.list(p) {
		es = append(es, r.formula(q))
	}
	return es
}

// centreToEnd reads one distance, or run then outlet.
func (r *reader) centreToEnd(part *PartEntry, n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	parts := r.noEmpty(p.splitWord("then"), "a distance is missing beside then; 1.20 then 1.22")
	if len(parts) > 2 {
		r.fail(parts[2].at, "two distances at most: the run, then the outlet")
		return
	}
	for _, q := range parts {
		part.CentreToEnd = append(part.CentreToEnd, r.formula(q))
	}
}

// prices reads "3.20", "6 EUR" or "4.10 at 12, 21.50 at 120".
func (r *reader) prices(part *PartEntry, n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	for _, q := range r.list(p) {
		amount, at, length := q.cutAt("at")
		price := Price{At: q.at}
		ws := amount.words()
		number := false
		if len(ws) > 0 && len(ws) <= 2 {
			price.Amount, number = plainNumber(ws[0].text)
		}
		if !number {
			r.fail(q.at, "%s is not a price; 3.20, 6 EUR, or for pipe 4.10 at 12", clip(q.text))
			continue
		}
		if len(ws) == 2 {
			price.Unit = ws[1].text
		}
		if at.text != "" {
			price.Length = r.formula(length)
		}
		part.Prices = append(part.Prices, price)
	}
}

func (r *reader) partThread(part *PartEntry, n *node) {
	p, ok := r.text(n)
	if !ok {
		return
	}
	if w, ok := r.word(p, "thread family", "npt", "bspt", "bspt taper"); ok {
		family, taper, _ := strings.Cut(w.Text, " ")
		part.Thread, part.TaperInside, part.ThreadAt = standard.Family(family), taper != "", w.At
	}
}
