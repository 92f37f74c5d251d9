package mend

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

const (
	// mostProposed bounds the changes that one finding gets.
	mostProposed = 10
	// mostUnions bounds the places where a further union is thought of for one finding.
	mostUnions = 4
	// mostClearances bounds the runs that are thought of cutting shorter for one finding.
	mostClearances = 3
)

// Propose adds to the findings of a plan the changes of the text that may take them away, those first that change least.
// It judges none of them: see Try.
func Propose(t *design.Tree, a *assembly.Assembly, p *assembly.Plan) {
	d := newDrawing(t, a)
	for i := range p.Findings {
		f := &p.Findings[i]
		if f.At == "" && f.Severity == assembly.Stop {
			f.At = d.blamed(*f)
		}
		if f.Severity == assembly.Stop && canReopen[f.Code] {
			f.Reopen = d.reopen(f.Parts)
		}
		more := d.answers(*f)
		if len(more) == 0 {
			continue
		}
		slices.SortStableFunc(more, func(x, y assembly.Repair) int { return len(x.Splices) - len(y.Splices) })
		f.Repairs = distinct(append(more, f.Repairs...))
	}
}

// canReopen are the findings that another place of a closing piece may answer.
var canReopen = map[string]bool{"STUCK": true, "TRAVEL": true, "SWING": true, "HAND-REACH": true, "CLOCK": true, "TILT": true}

// blamed is the place of the run that the first of the parts to blame belongs to.
func (d *drawing) blamed(f assembly.Finding) string {
	for _, id := range append(slices.Clone(f.Blame), f.Parts...) {
		if p, _ := d.point(id); p != nil && d.parts[id] != nil {
			return design.Place(d.tree.File, p.Name.At)
		}
		if r := d.run(id); r != nil {
			return design.Place(d.tree.File, r.PathAt)
		}
		if b, _ := d.board(id); b != nil {
			return design.Place(d.tree.File, b.Name.At)
		}
	}
	return ""
}

// distinct drops changes that are there already, and cuts the list.
func distinct(rs []assembly.Repair) []assembly.Repair {
	var out []assembly.Repair
	seen := map[string]bool{}
	changes := 0
	for _, r := range rs {
		k := fmt.Sprintf("%v", r.Splices)
		if len(r.Splices) == 0 {
			k = r.Text
		} else if changes++; changes > mostProposed {
			continue
		}
		if !seen[k] {
			seen[k] = true
			out = append(out, r)
		}
	}
	return out
}

// answers lists the changes for one finding, by its kind.
func (d *drawing) answers(f assembly.Finding) []assembly.Repair {
	if f.Code == wishCode {
		return d.dropWish(f)
	}
	if f.Severity != assembly.Stop {
		return nil
	}
	switch f.Code {
	case "SHORT-NIPPLE":
		return d.stretch(f)
	case "AVOIDED":
		return d.allow(f)
	case "PROUD":
		return d.backOffProud(f)
	case "CROSSING", "OVERLAP":
		return append(append(d.trim(f), d.joinCrossing(f)...), d.moveApart(f, f.Values["overlap_mm"]+f.Values["thick_mm"]-f.Values["apart_mm"])...)
	case "OUTSIDE":
		return d.moveApart(assembly.Finding{Blame: append(slices.Clone(f.Parts[:1]), string(standard.Room))}, f.Values["deep_mm"])
	case "LOOP":
		return nil // package sequence proposes whole sets
	}
	return d.unblock(f)
}

// unblock lists the changes for a frame that no order was found for: to make room by what is missing, to back a flange
// off, to take a piece that needs no room, or to divide a pipe by a union.
func (d *drawing) unblock(f assembly.Finding) []assembly.Repair {
	var out []assembly.Repair
	missing := max(f.Values["missing_mm"], f.Values["depth_mm"], f.Values["overlap_mm"])
	out = append(out, d.otherPiece(f)...)
	out = append(out, d.flanges(f)...)
	if missing > 0 && f.Code != "TILT" { // what is missing there is height, whoever stands beside
		out = append(out, d.moveApart(f, missing)...)
	}
	if f.Code == "TILT" && missing > 0 {
		out = append(out, d.lowered(f, d.up(missing))...)
		out = append(out, d.lowered(f, d.up(missing+handMM))...)
		out = append(out, d.dividedPosts(f)...)
	}
	out = append(out, d.clearances(f, missing)...)
	return append(out, d.unions(f)...)
}

// dropWish puts a wish that is not kept behind a comment sign.
func (d *drawing) dropWish(f assembly.Finding) []assembly.Repair {
	for _, w := range d.tree.Order {
		if design.Place(d.tree.File, w.At) != f.At {
			continue
		}
		line := d.tree.Lines[w.At.Line-1]
		dash := len(line) - len(strings.TrimLeft(line, " "))
		if !strings.HasPrefix(line[dash:], "-") {
			return nil // a list in brackets
		}
		return []assembly.Repair{{
			Text:    fmt.Sprintf("give up the wish %q", strings.TrimSpace(w.Text)),
			Splices: []assembly.Splice{{Line: w.At.Line, Col: dash + 1, Insert: "# "}},
		}}
	}
	return nil
}

// stretch moves the ends of a pipe that is too short further apart.
func (d *drawing) stretch(f assembly.Finding) []assembly.Repair {
	if len(f.Parts) == 0 || d.parts[f.Parts[0]] == nil {
		return nil
	}
	axis, sign, ok := alongAxis(drawn(d.parts[f.Parts[0]].Pose.Z))
	if !ok {
		return nil
	}
	need := sign * d.up(f.Values["least_mm"]-f.Values["length_mm"])
	a, b := d.ends(f.Parts[0])
	var out []assembly.Repair
	for _, end := range []struct {
		id string
		by float64
	}{{b, need}, {a, -need}} {
		if r, ok := d.movePoint(end.id, axis, end.by); ok {
			out = append(out, r)
		}
		if r, ok := d.moveBeyond(end.id, axis, end.by); ok {
			out = append(out, r)
		}
	}
	return out
}

// moveApart moves one of the two bodies to blame away from the other, along the axis on which they are apart most.
func (d *drawing) moveApart(f assembly.Finding, by float64) []assembly.Repair {
	who := f.Blame
	if len(who) == 0 {
		who = f.Parts
	}
	if len(who) != 2 || by <= 0 || math.IsNaN(by) {
		return nil
	}
	return append(d.moveEach(who, d.up(by)), d.moveEach(who, d.up(by+handMM))...)
}

// handMM is what is added where just clear is not enough: room for a hand, an inch.
const handMM = 25.4

func (d *drawing) moveEach(who []string, by float64) []assembly.Repair {
	var out []assembly.Repair
	for i, id := range who {
		p, o := d.parts[id], d.parts[who[1-i]]
		if p == nil || o == nil || p.Kind == standard.Room {
			continue
		}
		axis, sign := dominant(drawn(apart(p, o)))
		if r, ok := d.moveBody(p, axis, sign*by); ok {
			out = append(out, r)
		}
		if r, ok := d.moveBeyond(p.ID, axis, sign*by); ok && p.Kind != standard.Pipe && p.Kind != standard.Board {
			out = append(out, r)
		}
	}
	return out
}

// moveBody moves whatever stands in the file for a body.
func (d *drawing) moveBody(p *assembly.Part, axis int, by float64) (assembly.Repair, bool) {
	if p.Kind == standard.Board {
		return d.moveBoard(p.ID, axis, by)
	}
	if p.Kind != standard.Pipe {
		return d.movePoint(p.ID, axis, by)
	}
	a, b := d.ends(p.ID)
	x, okX := d.movePoint(a, axis, by)
	y, okY := d.movePoint(b, axis, by)
	if !okX || !okY {
		return assembly.Repair{}, false
	}
	x.Splices = append(x.Splices, y.Splices...)
	x.Text = fmt.Sprintf("move %s with both its ends %s %s", p.ID, d.length(math.Abs(by)), wayWord(axis, by))
	return x, true
}

// apart is the direction from the nearest material of o to the middle of p, finished frame. What a flange is screwed to is
// left out: it stands there in any case, and what it is too near to is something else.
func apart(p, o *assembly.Part) geom.Vec {
	at := middle(p)
	if len(o.Boxes) == 0 {
		return at.Sub(middle(o))
	}
	local := o.Pose.Inverse().Apply(at)
	best, dist := geom.Vec{}, math.Inf(1)
	for _, b := range o.Boxes {
		d, away := b.Distance(local), local.Sub(local.Max(b.Min).Min(b.Max))
		if d == 0 {
			d, away = wayOut(b, local)
		}
		if facesTo(p, o.Pose.Rotate(away).Neg()) {
			continue
		}
		if d < dist {
			best, dist = away, d
		}
	}
	return o.Pose.Rotate(best)
}

// facesTo tells whether the mounting face of a flange looks along a direction.
func facesTo(p *assembly.Part, dir geom.Vec) bool {
	const along = 0.9 // the cosine: faces lie within a few degrees of the axes
	for _, q := range p.Ports {
		if q.Name == "face" && dir.Len() > 0 && dir.Unit().Dot(q.Out) > along {
			return true
		}
	}
	return false
}

// wayOut is the direction from a place within a box to its nearest side, and minus the distance.
func wayOut(b geom.Box, at geom.Vec) (float64, geom.Vec) {
	best, away := math.Inf(1), geom.Vec{}
	for i, axis := range []geom.Vec{geom.AxisX, geom.AxisY, geom.AxisZ} {
		if d := coordinate(at, i) - coordinate(b.Min, i); d < best {
			best, away = d, axis.Neg()
		}
		if d := coordinate(b.Max, i) - coordinate(at, i); d < best {
			best, away = d, axis
		}
	}
	return -best, away
}

// middle is the middle of a body.
func middle(p *assembly.Part) geom.Vec {
	box := geom.EmptyBox()
	for _, b := range p.Boxes {
		box = box.Union(b)
	}
	switch {
	case !box.IsEmpty():
		return p.Pose.Apply(box.Centre())
	case p.Kind == standard.Pipe:
		return p.Pose.Apply(geom.V(0, 0, p.LengthMM/2))
	}
	return p.Pose.Origin
}

// allow takes a kind off the avoid list, or a part out of the path that names it.
func (d *drawing) allow(f assembly.Finding) []assembly.Repair {
	what, runs := "bored", []*design.Run(nil)
	if len(f.Parts) > 0 && d.parts[f.Parts[0]] != nil && d.parts[f.Parts[0]].Kind != standard.Board {
		what = string(d.parts[f.Parts[0]].Kind)
	}
	for _, r := range d.runs(d.pipeIDs()) {
		for _, item := range r.Path {
			if item.Part != "" && d.isAvoided(item.Part) && design.Place(d.tree.File, r.PathAt) == f.At {
				what, runs = string(item.Part), append(runs, r)
			}
		}
	}
	var out []assembly.Repair
	for _, w := range d.a.Avoid {
		if w.What == what && len(w.Allow) > 0 {
			out = append(out, assembly.Repair{Text: fmt.Sprintf("allow %s: take it off the avoid list", what), Splices: w.Allow})
		}
	}
	for _, r := range runs {
		out = append(out, d.swaps(r, standard.Kind(what))...)
	}
	return out
}

func (d *drawing) pipeIDs() []string {
	var out []string
	for i := range d.a.Parts {
		if d.a.Parts[i].Kind == standard.Pipe {
			out = append(out, d.a.Parts[i].ID)
		}
	}
	return out
}

// swaps puts another closing piece in the place of one that a path names.
func (d *drawing) swaps(r *design.Run, kind standard.Kind) []assembly.Repair {
	var out []assembly.Repair
	for _, item := range r.Path {
		if item.Part != kind || !isCloser(kind) {
			continue
		}
		for _, other := range []standard.Kind{standard.Union, standard.LongScrew, standard.RightLeft} {
			if other != kind && !d.isAvoided(other) {
				out = append(out, assembly.Repair{
					Text:    fmt.Sprintf("take a %s in place of the %s in the path of %s", other.Words(), kind.Words(), r.Name.Text),
					Splices: []assembly.Splice{{Line: item.Name.At.Line, Col: item.Name.At.Col, Remove: len(item.Name.Text), Insert: string(other)}},
				})
			}
		}
	}
	return out
}

// reopen takes the closing pieces of some parts out of the paths that name them; nil where that takes more than a word.
func (d *drawing) reopen(parts []string) []assembly.Splice {
	var out []assembly.Splice
	for _, r := range d.runs(parts) {
		pieces := 0
		for i, item := range r.Path {
			if !isCloser(item.Part) || i+1 >= len(r.Path) {
				continue
			}
			pieces++
			from, to := item.Name.At, r.Path[i+1].Name.At
			if from.Line != to.Line {
				return nil
			}
			out = append(out, assembly.Splice{Line: from.Line, Col: from.Col, Remove: to.Col - from.Col})
		}
		if pieces == 0 || len(r.Cuts) < 2 {
			continue
		}
		if pieces > 1 || len(r.Cuts) > 2 {
			return nil // whose cuts fall away is not plain
		}
		first, last := r.Cuts[0], r.Cuts[1]
		end := last.At.Col + len([]rune(last.Word))
		if last.Expr != nil {
			end = last.At.Col + len([]rune(last.Expr.Text))
		}
		out = append(out, assembly.Splice{Line: first.At.Line, Col: first.At.Col, Remove: end - first.At.Col, Insert: design.Rest})
	}
	return out
}

// otherPiece swaps right-and-left pieces, which need room along their axis, for such as need none.
func (d *drawing) otherPiece(f assembly.Finding) []assembly.Repair {
	var out []assembly.Repair
	for _, r := range d.runs(f.Parts) {
		out = append(out, d.swaps(r, standard.RightLeft)...)
	}
	return out
}

// dividedPosts puts a union into every post, once into the topmost pipe that takes one and once into the longest: then
// the frame goes up in two halves, one upon the other.
func (d *drawing) dividedPosts(f assembly.Finding) []assembly.Repair {
	height := func(p *assembly.Part) float64 { return middle(p).Z }
	length := func(p *assembly.Part) float64 { return p.LengthMM }
	return append(d.dividedBy(f, height), d.dividedBy(f, length)...)
}

// dividedBy puts a union into the pipe of every post that has most of a measure.
func (d *drawing) dividedBy(f assembly.Finding, measure func(*assembly.Part) float64) []assembly.Repair {
	const upright = 0.999 // cosine of 2.6 degrees
	best := map[*design.Run]assembly.Closing{}
	var posts []*design.Run
	for _, c := range d.a.Closings {
		p, r := d.parts[c.Part], d.run(c.Part)
		if p == nil || r == nil || c.Kind != standard.Union || c.MissingMM > 0 || d.isAvoided(c.Kind) ||
			math.Abs(p.Pose.Z.Z) < upright || !slices.Contains(f.Parts, c.Part) {
			continue
		}
		was, known := best[r]
		if !known {
			posts = append(posts, r)
		}
		if !known || measure(p) > measure(d.parts[was.Part])+farMM {
			best[r] = c
		}
	}
	if len(posts) < 2 {
		return nil // one post: see unions
	}
	var out assembly.Repair
	var names []string
	for _, r := range posts {
		names = append(names, best[r].Part)
		out.Splices = append(out.Splices, best[r].Splices...)
	}
	out.Text = fmt.Sprintf("divide every post by a union, so that the frame goes up in two halves: %s", strings.Join(names, ", "))
	return []assembly.Repair{out}
}

// lowered brings the top of a frame that finds no room under a ceiling down.
func (d *drawing) lowered(f assembly.Finding, by float64) []assembly.Repair {
	top, high := "", math.Inf(-1)
	for _, id := range f.Parts {
		at, ok := d.place(id)
		if p, _ := d.point(id); ok && p != nil && at.Z > high+farMM {
			top, high = id, at.Z
		}
	}
	if by > high/2 {
		return nil // that would be another frame
	}
	const z = 2
	r, ok := d.moveAll(z, -by, func(at float64) bool { return at > high-farMM })
	if !ok {
		return nil
	}
	r.Text = fmt.Sprintf("make the frame lower: move %s, and all that is as high, %s down", top, d.length(by))
	return []assembly.Repair{r}
}

// flanges puts a flange in the place of a glide or caster that fits exactly against a face: a flange can be screwed
// deeper and backed off in place.
func (d *drawing) flanges(f assembly.Finding) []assembly.Repair {
	if f.Code != "TRAVEL" {
		return nil
	}
	var out []assembly.Repair
	for _, blamed := range []bool{true, false} {
		for _, id := range f.Parts {
			b, rest, _ := d.body(id)
			for _, e := range b.Fittings {
				if len(rest) != 1 || e.Point.Text != rest[0] || e.Kind != standard.Glide && e.Kind != standard.Caster || slices.Contains(f.Blame, id) != blamed {
					continue
				}
				out = append(out, assembly.Repair{
					Text:    fmt.Sprintf("take a flange in place of the %s at %s: it is screwed deeper and backed off in place", e.Kind.Words(), id),
					Splices: []assembly.Splice{{Line: e.At.Line, Col: e.At.Col, Remove: len(e.Kind), Insert: string(standard.Flange)}},
				})
			}
		}
	}
	return out
}

// unions divides pipes by a union, those first that meet the bodies to blame.
func (d *drawing) unions(f assembly.Finding) []assembly.Repair {
	near := map[string]bool{}
	blame := f.Blame
	if len(blame) == 0 && len(f.Parts) <= 2 {
		blame = f.Parts
	}
	for _, id := range blame {
		near[id] = true
	}
	for _, j := range d.a.Joints {
		if j.Kind == assembly.Thread && (slices.Contains(blame, j.A.Part) || slices.Contains(blame, j.B.Part)) {
			near[j.A.Part], near[j.B.Part] = true, true
		}
	}
	var out []assembly.Repair
	for _, close := range []bool{true, false} {
		for _, c := range d.a.Closings {
			if len(out) >= mostUnions {
				return out
			}
			if c.Kind == standard.Union && c.MissingMM == 0 && !d.isAvoided(c.Kind) && near[c.Part] == close && (close || slices.Contains(f.Parts, c.Part)) {
				out = append(out, assembly.Repair{Text: fmt.Sprintf("divide %s, from %s to %s, by a union", c.Part, c.From, c.To), Splices: c.Splices})
			}
		}
	}
	return out
}

// clearances cuts pipes shorter that end on a flange, so that the flange can be screwed deeper and backed off in place.
func (d *drawing) clearances(f assembly.Finding, missing float64) []assembly.Repair {
	if f.Code != "TRAVEL" && f.Code != "STUCK" {
		return nil
	}
	if missing <= 0 || f.Code == "STUCK" {
		missing = usualClearanceMM
	}
	var out []assembly.Repair
	for _, blamed := range []bool{true, false} {
		for _, j := range d.a.Joints {
			pipe, flange := j.A.Part, j.B.Part
			if d.kind(pipe) != standard.Pipe {
				pipe, flange = flange, pipe
			}
			if j.Kind != assembly.Thread || d.kind(pipe) != standard.Pipe || d.kind(flange) != standard.Flange ||
				slices.Contains(f.Blame, flange) != blamed || !slices.Contains(f.Parts, flange) || len(out) >= mostClearances {
				continue
			}
			if r, ok := d.clearance(pipe, flange, d.up(missing)); ok {
				out = append(out, r)
			}
		}
	}
	return out
}

// usualClearanceMM is what lets a frame in between two faces: a millimetre and a half, common practice, no source.
const usualClearanceMM = 1.5

func (d *drawing) kind(id string) standard.Kind {
	if p := d.parts[id]; p != nil {
		return p.Kind
	}
	return ""
}

// backOffProud gives the run that ends on a flange a clearance by which its pipe stands less deep.
func (d *drawing) backOffProud(f assembly.Finding) []assembly.Repair {
	if len(f.Parts) == 0 {
		return nil
	}
	for _, j := range d.a.Joints {
		for _, e := range [2][2]string{{j.A.Part, j.B.Part}, {j.B.Part, j.A.Part}} {
			if j.Kind == assembly.Thread && e[0] == f.Parts[0] {
				if r, ok := d.clearance(e[1], e[0], d.up(f.Values["proud_mm"])); ok {
					r.Text = fmt.Sprintf("cut %s shorter by %s, so that it stands less deep in %s", e[1], d.length(d.up(f.Values["proud_mm"])), e[0])
					return []assembly.Repair{r}
				}
			}
		}
	}
	return nil
}

// clearance cuts the last pipe of a run shorter. It fails where the flange is not at the run's end: there the clearance
// would act on another joint.
func (d *drawing) clearance(pipe, flange string, mm float64) (assembly.Repair, bool) {
	r := d.run(pipe)
	_, name, _ := d.body(flange)
	if r == nil || len(r.Path) == 0 || r.Path[len(r.Path)-1].Name.Text != strings.Join(name, ".") {
		return assembly.Repair{}, false
	}
	out := assembly.Repair{Text: fmt.Sprintf("cut %s shorter by %s, so that %s can be screwed deeper and backed off in place", pipe, d.length(mm), flange)}
	if r.Clearance != nil {
		out.Splices = []assembly.Splice{d.grown(r.Clearance.Text, r.Clearance.At, mm)}
		return out, true
	}
	out.Splices = d.withKey(r, "clearance: "+d.num(mm))
	return out, true
}

// withKey gives a run one more key, however the run is written: on one line, as a map in brackets, or over lines.
func (d *drawing) withKey(r *design.Run, entry string) []assembly.Splice {
	line := []rune(d.tree.Lines[r.PathAt.Line-1])
	last := r.Path[len(r.Path)-1].Name
	from, to := r.PathAt.Col, last.At.Col+len([]rune(last.Text))
	if from > 1 && (line[from-2] == '"' || line[from-2] == '\'') {
		from, to = from-1, to+1
	}
	before := strings.TrimRight(string(line[:from-1]), " ")
	name := d.tree.Lines[r.Name.At.Line-1]
	inBrackets := strings.Contains(string([]rune(name)[r.Name.At.Col-1:]), "{")
	at := func(col int, text string) assembly.Splice {
		return assembly.Splice{Line: r.PathAt.Line, Col: col, Insert: text}
	}
	switch {
	case !strings.HasSuffix(before, "path:"):
		return []assembly.Splice{at(from, "{path: "), at(to, ", "+entry+"}")}
	case inBrackets:
		return []assembly.Splice{at(to, ", "+entry)}
	}
	indent := string(line[:len(line)-len([]rune(strings.TrimLeft(string(line), " ")))])
	return []assembly.Splice{at(1, indent+entry+"\n")}
}

// joinCrossing gives two runs that pass through each other a point there, in both paths.
func (d *drawing) joinCrossing(f assembly.Finding) []assembly.Repair {
	var pipes []*assembly.Part
	for _, id := range f.Parts {
		if p := d.parts[id]; p != nil && p.Kind == standard.Pipe {
			pipes = append(pipes, p)
		}
	}
	if len(pipes) != 2 || len(d.tree.Points) == 0 {
		return nil
	}
	at, gap := meeting(pipes[0], pipes[1])
	first := d.tree.Points[0].Name.At
	line := d.tree.Lines[first.Line-1]
	if gap > farMM || strings.TrimLeft(line[:first.Col-1], " ") != "" {
		return nil // the lines do not meet, or the points stand in brackets
	}
	name := d.newName("crossing")
	v := drawn(at)
	splices := []assembly.Splice{{
		Line: first.Line, Col: 1,
		Insert: fmt.Sprintf("%s%s: %s, %s, %s\n", line[:first.Col-1], name, d.num(v.X), d.num(v.Y), d.num(v.Z)),
	}}
	for _, p := range pipes {
		sp, ok := d.through(p.ID, at, name)
		if !ok {
			return nil
		}
		splices = append(splices, sp)
	}
	return []assembly.Repair{{Text: fmt.Sprintf("join them by a fitting at a point of their own, %s", name), Splices: splices}}
}

// meeting is where the middle lines of two pipes come nearest to one another, and how near.
func meeting(p, q *assembly.Part) (geom.Vec, float64) {
	u, v := p.Pose.Z, q.Pose.Z
	w := p.Pose.Origin.Sub(q.Pose.Origin)
	b, d, e := u.Dot(v), u.Dot(w), v.Dot(w)
	den := 1 - b*b
	if den < 1e-9 {
		return geom.Vec{}, math.Inf(1)
	}
	x := p.Pose.Origin.Add(u.Mul((b*e - d) / den))
	y := q.Pose.Origin.Add(v.Mul((e - b*d) / den))
	return x.Lerp(y, 0.5), x.Sub(y).Len()
}

// through writes a point into the path of a pipe's run, between the points that it lies between.
func (d *drawing) through(pipe string, at geom.Vec, name string) (assembly.Splice, bool) {
	r := d.run(pipe)
	if _, rest, _ := d.body(pipe); r == nil || len(rest) != strings.Count(pipe, ".")+1 {
		return assembly.Splice{}, false // drawn in a group: its copies do not all pass there
	}
	for i := 1; i < len(r.Path); i++ {
		a, okA := d.a.Points[r.Path[i-1].Name.Text]
		b, okB := d.a.Points[r.Path[i].Name.Text]
		if okA && okB && at.Sub(a).Len()+at.Sub(b).Len() < b.Sub(a).Len()+farMM {
			to := r.Path[i].Name.At
			return assembly.Splice{Line: to.Line, Col: to.Col, Insert: name + " to "}, true
		}
	}
	return assembly.Splice{}, false
}

// newName is a name that the file does not use.
func (d *drawing) newName(stem string) string {
	text := strings.Join(d.tree.Lines, "\n")
	for i := 1; ; i++ {
		if name := fmt.Sprintf("%s-%d", stem, i); !strings.Contains(text, name) {
			return name
		}
	}
}
