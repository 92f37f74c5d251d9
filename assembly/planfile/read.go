package planfile

import (
	"errors"
	"fmt"
	"io"
	"math"

	"turnwise/assembly"
	"turnwise/geom"
)

// maxFaults is how many faults of a file are told before reading stops.
const maxFaults = 20

// Read reads a plan.json. Every field of the contract must be there and hold the right kind of value; fields it does
// not know are passed over, since a later version may add some. At most 32 MB are read. The error lists up to 20
// faults, each with the place in the file ("parts[3].pose.x: ...").
//
// Read judges form only; Validate judges sense.
func Read(r io.Reader) (assembly.Plan, error) {
	n, err := parse(r)
	if err != nil {
		return assembly.Plan{}, err
	}
	rd := &reader{}
	p := rd.plan(n)
	if len(rd.faults) > 0 {
		return assembly.Plan{}, errors.Join(rd.faults...)
	}
	return p, nil
}

// reader gathers faults, so that one run tells them all.
type reader struct{ faults []error }

func (r *reader) fault(path, format string, args ...any) {
	if len(r.faults) < maxFaults {
		r.faults = append(r.faults, fmt.Errorf("%s: %s", path, fmt.Sprintf(format, args...)))
	}
}

// obj is an object being read, with its place in the file.
type obj struct {
	r    *reader
	path string
	n    node
}

func (r *reader) object(path string, n node) obj {
	if n.kind != objectKind {
		r.fault(orPlan(path), "expected an object, found %v", n.kind)
	}
	return obj{r, path, n}
}

// orPlan names the document itself.
func orPlan(path string) string {
	if path == "" {
		return "the plan"
	}
	return path
}

func (o obj) at(key string) string {
	if o.path == "" {
		return key
	}
	return o.path + "." + key
}

// get returns a field that must be there.
func (o obj) get(key string) node {
	n, ok := o.find(key)
	if !ok && o.n.kind == objectKind {
		o.r.fault(orPlan(o.path), "the field %q is missing", key)
	}
	return n
}

// find returns a field that may be absent.
func (o obj) find(key string) (node, bool) {
	if o.n.kind != objectKind {
		return node{}, false
	}
	for i, k := range o.n.keys {
		if k == key {
			return o.n.items[i], true
		}
	}
	return node{}, false
}

// has tells whether a required field holds something; it reports a missing field.
func (o obj) has(key string) bool { return o.get(key).kind != nullKind }

// text reads a required field of text; null is "" where nullable.
func (o obj) text(key string, nullable bool) string { return o.r.text(o.at(key), o.get(key), nullable) }

// extra reads a field of text beyond the contract: absent or null is "".
func (o obj) extra(key string) string {
	n, _ := o.find(key)
	return o.r.text(o.at(key), n, true)
}

func (r *reader) text(path string, n node, nullable bool) string {
	if n.kind != stringKind && !(nullable && n.kind == nullKind) {
		r.fault(path, "expected text, found %v", n.kind)
	}
	return n.str
}

// number reads a required number; null is 0 where nullable.
func (o obj) number(key string, nullable bool) float64 {
	return o.r.number(o.at(key), o.get(key), nullable)
}

// extraNumber reads a number beyond the contract.
func (o obj) extraNumber(key string) float64 {
	n, _ := o.find(key)
	return o.r.number(o.at(key), n, true)
}

func (r *reader) number(path string, n node, nullable bool) float64 {
	if n.kind != numberKind && !(nullable && n.kind == nullKind) {
		r.fault(path, "expected a number, found %v", n.kind)
	}
	return n.num
}

// maxCount bounds whole numbers in a plan.
const maxCount = 1_000_000_000

// count reads a whole number of 0 or more.
func (o obj) count(key string, nullable bool) int {
	f := o.number(key, nullable)
	if f != math.Trunc(f) || f < 0 || f > maxCount {
		o.r.fault(o.at(key), "expected a whole number of 0 or more, found %v", f)
		return 0
	}
	return int(f)
}

func (o obj) truth(key string) bool {
	n := o.get(key)
	if n.kind != boolKind && o.n.kind == objectKind {
		o.r.fault(o.at(key), "expected true or false, found %v", n.kind)
	}
	return n.bool
}

// extraTruth reads true or false beyond the contract; absent is false.
func (o obj) extraTruth(key string) bool {
	if _, ok := o.find(key); !ok {
		return false
	}
	return o.truth(key)
}

// extraCount reads a whole number beyond the contract; absent is 0.
func (o obj) extraCount(key string) int {
	if _, ok := o.find(key); !ok {
		return 0
	}
	return o.count(key, false)
}

// each reads a required list with f; an empty list gives nil.
func each[T any](o obj, key string, f func(path string, n node) T) []T {
	return eachOf(o.r, o.at(key), o.get(key), f)
}

func eachOf[T any](r *reader, path string, n node, f func(path string, n node) T) []T {
	if n.kind != listKind {
		r.fault(path, "expected a list, found %v", n.kind)
		return nil
	}
	var out []T
	for i, it := range n.items {
		if len(r.faults) >= maxFaults {
			return out
		}
		out = append(out, f(childPath(path, n, i), it))
	}
	return out
}

func (o obj) texts(key string) []string {
	return each(o, key, func(path string, n node) string { return o.r.text(path, n, false) })
}

func (o obj) vec(key string) geom.Vec { return o.r.vec(o.at(key), o.get(key)) }

func (r *reader) vec(path string, n node) geom.Vec {
	if n.kind != listKind || len(n.items) != 3 {
		r.fault(path, "expected 3 numbers, found %v", describe(n))
		return geom.Vec{}
	}
	var v [3]float64
	for i, it := range n.items {
		v[i] = r.number(childPath(path, n, i), it, false)
	}
	return geom.V(v[0], v[1], v[2])
}

// describe says what n is, with the length of a list.
func describe(n node) string {
	if n.kind == listKind {
		return fmt.Sprintf("a list of %d", len(n.items))
	}
	return n.kind.String()
}

// dirTolerance is how far from unit length a direction may be.
const dirTolerance = 1e-6

// dir reads a unit vector.
func (o obj) dir(key string) geom.Vec {
	v := o.vec(key)
	if l := v.Len(); math.Abs(l-1) > dirTolerance && o.get(key).kind == listKind {
		o.r.fault(o.at(key), "a direction has length 1, this one %.6g", l)
	}
	return v
}

func (r *reader) plan(n node) assembly.Plan {
	o := r.object("", n)
	if n.kind != objectKind {
		return assembly.Plan{}
	}
	p := assembly.Plan{Format: o.text("format", false)}
	if p.Format != assembly.Format {
		r.fault("format", "this program reads %q, the file says %.60q", assembly.Format, p.Format)
		return p
	}
	p.Design = r.header(o.at("design"), o.get("design"))
	p.Parts = each(o, "parts", r.part)
	p.Joints = each(o, "joints", r.joint)
	p.Loops = each(o, "loops", r.loop)
	p.Steps = each(o, "steps", r.step)
	p.Findings = each(o, "findings", r.finding)
	p.Cuts = each(o, "cuts", r.cut)
	p.Shopping = each(o, "shopping", r.item)
	if a, ok := o.find("assumptions"); ok {
		p.Assumptions = eachOf(r, "assumptions", a, r.assumption)
	}
	if e, ok := o.find("effort"); ok {
		p.Effort = r.effort("effort", e)
	}
	return p
}

func (r *reader) header(path string, n node) assembly.Header {
	o := r.object(path, n)
	h := assembly.Header{Title: o.text("title", true), Units: o.text("units", true)}
	setText(&h.Thread, o.text("thread", true))
	return h
}

func (r *reader) assumption(path string, n node) assembly.Assumption {
	o := r.object(path, n)
	return assembly.Assumption{Text: o.text("text", false), Key: o.text("key", true)}
}

func (r *reader) part(path string, n node) assembly.Part {
	o := r.object(path, n)
	p := assembly.Part{
		ID:       o.text("id", false),
		Number:   o.count("number", true),
		Size:     r.sizes(o.at("size"), o.get("size")),
		LengthMM: o.number("length_mm", true),
		Stock:    o.truth("stock"),
		Pose:     r.pose(o.at("pose"), o.get("pose")),
		MassKG:   o.number("mass_kg", true),
		Solid:    o.text("solid", true),
		Override: o.texts("override"),
		Ports:    each(o, "ports", r.port),
		Boxes:    each(o, "boxes", r.box),
		Holes:    each(o, "holes", r.hole),
		Material: o.extra("material"),
		Finish:   o.extra("finish"),
		LeftEnd:  o.extra("left"),
		Half:     o.extra("half"),
		Running:  o.extra("running"),
		Loose:    o.extraTruth("loose"),
	}
	setText(&p.Kind, o.text("kind", false))
	setText(&p.Family, o.extra("thread"))
	if d, ok := o.find("dims"); ok {
		r.dims(o.at("dims"), d, &p)
	}
	return p
}

// dims reads dimensions by name into p.
func (r *reader) dims(path string, n node, p *assembly.Part) {
	o := r.object(path, n)
	if len(o.n.keys) == 0 {
		return
	}
	figures := newMap(p.Dims)
	for i, name := range o.n.keys {
		f := r.object(childPath(path, n, i), n.items[i])
		fig := figures[name]
		fig.MM = f.number("mm", false)
		fig.Source = f.text("source", false)
		setText(&fig.Grade, f.text("grade", false))
		figures[name] = fig
	}
	p.Dims = figures
}

// newMap makes a map of the type of m.
func newMap[M ~map[K]V, K comparable, V any](M) M { return M{} }

// setText puts s into a field of a text type of its own.
func setText[T ~string](field *T, s string) { *field = T(s) }

// sizes reads one size, or a list with one per opening.
func (r *reader) sizes(path string, n node) assembly.Sizes {
	switch n.kind {
	case nullKind:
		return nil
	case listKind:
		s := make(assembly.Sizes, len(n.items))
		for i, it := range n.items {
			setText(&s[i], r.text(childPath(path, n, i), it, false))
		}
		return s
	}
	s := make(assembly.Sizes, 1)
	setText(&s[0], r.text(path, n, false))
	return s
}

func (r *reader) port(path string, n node) assembly.Port {
	o := r.object(path, n)
	return assembly.Port{Name: o.text("name", false), At: o.vec("at_mm"), Out: o.dir("out")}
}

func (r *reader) box(path string, n node) geom.Box {
	o := r.object(path, n)
	b := geom.Box{Min: o.vec("min_mm"), Max: o.vec("max_mm")}
	if b.IsEmpty() {
		r.fault(path, "the least corner %v lies beyond the greatest %v", b.Min, b.Max)
	}
	return b
}

func (r *reader) hole(path string, n node) assembly.Hole {
	o := r.object(path, n)
	return assembly.Hole{
		At: o.vec("at_mm"), Dir: o.dir("dir"), Diameter: o.number("d_mm", false), Depth: o.extraNumber("depth_mm"),
	}
}

// poseTolerance is how far a pose's axes may be from unit and square.
const poseTolerance = 1e-6

func (r *reader) pose(path string, n node) geom.Pose {
	o := r.object(path, n)
	p := geom.Pose{Origin: o.vec("origin_mm"), X: o.vec("x"), Y: o.vec("y"), Z: o.vec("z")}
	if n.kind == objectKind && !p.IsRigid(poseTolerance) {
		r.fault(path, "the axes of a pose are unit vectors, square and right-handed; these are not")
	}
	return p
}

func (r *reader) joint(path string, n node) assembly.Joint {
	o := r.object(path, n)
	j := assembly.Joint{
		ID:           o.text("id", false),
		A:            r.end(o.at("a"), o.get("a")),
		B:            r.end(o.at("b"), o.get("b")),
		Hand:         o.text("hand", true),
		PitchMM:      o.number("pitch_mm", true),
		EngagementMM: o.number("engagement_mm", true),
		Override:     o.texts("override"),
		HandTightMM:  o.extraNumber("hand_tight_mm"),
	}
	setText(&j.Kind, o.text("kind", false))
	if o.has("axis") {
		a := r.axis(o.at("axis"), o.get("axis"))
		j.Axis = &a
	}
	if o.has("turns") {
		w := r.object(o.at("turns"), o.get("turns"))
		j.Turns = &assembly.Window{Min: w.number("min", false), Max: w.number("max", false)}
	}
	return j
}

func (r *reader) end(path string, n node) assembly.End {
	o := r.object(path, n)
	return assembly.End{Part: o.text("part", false), Port: o.text("port", true)}
}

func (r *reader) axis(path string, n node) assembly.Axis {
	o := r.object(path, n)
	return assembly.Axis{At: o.vec("at_mm"), Dir: o.dir("dir")}
}

func (r *reader) loop(path string, n node) assembly.Loop {
	o := r.object(path, n)
	return assembly.Loop{Parts: o.texts("parts"), ClosedBy: o.text("closed_by", true)}
}

func (r *reader) step(path string, n node) assembly.Step {
	o := r.object(path, n)
	s := assembly.Step{
		Number:        o.count("number", false),
		Moves:         o.texts("moves"),
		Onto:          o.texts("onto"),
		Joints:        o.texts("joints"),
		Turns:         o.number("turns", true),
		Motion:        each(o, "motion", r.move),
		SwingRadiusMM: o.number("swing_radius_mm", true),
		Picture:       o.count("picture", true),
		Where:         o.text("where", true),
		People:        o.count("people", true),
		Text:          o.text("text", true),
		Draws:         each(o, "draws", r.draw),
		Repeats:       each(o, "repeats", r.repeat),
	}
	setText(&s.Action, o.text("action", false))
	s.Clock, s.Seconds, s.Mirrored = o.clock("clock"), o.extraNumber("seconds"), o.extraTruth("mirrored")
	if p, ok := o.find("props"); ok {
		s.Props = eachOf(r, o.at("props"), p, func(path string, n node) string { return r.text(path, n, false) })
	}
	s.Start = r.start(o, s.Moves)
	return s
}

// start reads the pose before the motion, which is null just when nothing moves.
func (r *reader) start(o obj, moves []string) geom.Pose {
	if o.has("start") {
		return r.pose(o.at("start"), o.get("start"))
	}
	if len(moves) > 0 {
		r.fault(o.at("start"), "bodies move, so their start is wanted, found null")
	}
	return geom.Pose{}
}

func (r *reader) repeat(path string, n node) assembly.Repeat {
	o := r.object(path, n)
	p := assembly.Repeat{
		Moves:  o.texts("moves"),
		Onto:   o.texts("onto"),
		Joints: o.texts("joints"),
		Motion: each(o, "motion", r.move),
	}
	p.Start, p.Clock = r.start(o, p.Moves), o.clock("clock")
	if d, ok := o.find("draws"); ok {
		p.Draws = eachOf(r, o.at("draws"), d, r.draw)
	}
	return p
}

// clock reads where a part must point, beyond the contract: absent or null is nil.
func (o obj) clock(key string) *assembly.Clock {
	n, ok := o.find(key)
	if !ok || n.kind == nullKind {
		return nil
	}
	c := o.r.object(o.at(key), n)
	return &assembly.Clock{
		Part: c.text("part", false), Port: c.text("port", true), Toward: c.dir("toward"), Against: c.text("against", true),
		Symmetry: c.count("symmetry", false), StopTurns: c.number("stop_turns", false), Stops: c.count("stops", false),
		StopMM: c.number("stop_mm", false),
	}
}

func (r *reader) effort(path string, n node) assembly.Effort {
	o := r.object(path, n)
	whole := func(path string, n node) int {
		f := r.number(path, n, false)
		if f != math.Trunc(f) || f < 0 || f > maxCount {
			r.fault(path, "expected a whole number of 0 or more, found %v", f)
			return 0
		}
		return int(f)
	}
	return assembly.Effort{Seconds: o.number("seconds", false), Hardest: each(o, "hardest", whole)}
}

func (r *reader) draw(path string, n node) assembly.Draw {
	o := r.object(path, n)
	return assembly.Draw{Moves: o.texts("moves"), By: o.vec("by_mm")}
}

func (r *reader) move(path string, n node) assembly.Move {
	o := r.object(path, n)
	switch kind := o.text("kind", false); kind {
	case "translate":
		return assembly.Move{Kind: assembly.Translate, By: o.vec("by_mm")}
	case "turn":
		return assembly.Move{
			Kind: assembly.Turn, Axis: r.axis(o.at("axis"), o.get("axis")),
			ByDeg: o.number("by_deg", false), AdvanceMM: o.number("advance_mm", false),
		}
	default:
		r.fault(o.at("kind"), "a motion is made of translate and turn, found %.60q", kind)
	}
	return assembly.Move{}
}

func (r *reader) finding(path string, n node) assembly.Finding {
	o := r.object(path, n)
	f := assembly.Finding{
		Code:    o.text("code", false),
		Text:    o.text("text", false),
		Parts:   o.texts("parts"),
		Repairs: each(o, "repairs", r.repair),
		Source:  o.text("source", true),
		At:      o.text("at", true),
	}
	setText(&f.Severity, o.text("severity", false))
	values := r.object(o.at("values"), o.get("values"))
	for i, name := range values.n.keys {
		if f.Values == nil {
			f.Values = map[string]float64{}
		}
		f.Values[name] = r.number(childPath(values.path, values.n, i), values.n.items[i], false)
	}
	return f
}

func (r *reader) repair(path string, n node) assembly.Repair {
	o := r.object(path, n)
	return assembly.Repair{Text: o.text("text", false), Verified: o.truth("verified"), Tried: o.extraTruth("tried"), Leaves: o.extraCount("leaves"), Edits: each(o, "edits", r.edit)}
}

func (r *reader) edit(path string, n node) assembly.Edit {
	o := r.object(path, n)
	return assembly.Edit{Line: o.count("line", false), Old: o.text("old", false), New: o.text("new", false)}
}

func (r *reader) cut(path string, n node) assembly.Cut {
	o := r.object(path, n)
	c := assembly.Cut{
		Number:   o.count("number", true),
		LengthMM: o.number("length_mm", false),
		Count:    o.count("count", false),
		Label:    o.text("label", true),
		Formula:  o.text("formula", true),
	}
	setText(&c.Size, o.text("size", false))
	if o.has("stock") {
		s := r.object(o.at("stock"), o.get("stock"))
		c.Stock = &assembly.Stock{LengthMM: s.number("length_mm", false), Moves: each(s, "moves", r.shift)}
	}
	if o.has("measure") {
		c.Measure = o.texts("measure")
	}
	return c
}

func (r *reader) shift(path string, n node) assembly.PointShift {
	o := r.object(path, n)
	return assembly.PointShift{Point: o.text("point", false), By: o.vec("by_mm")}
}

func (r *reader) item(path string, n node) assembly.Item {
	o := r.object(path, n)
	it := assembly.Item{
		Group:    o.text("group", false),
		Text:     o.text("text", false),
		Size:     r.sizes(o.at("size"), o.get("size")),
		Number:   o.count("number", true),
		LengthMM: o.number("length_mm", true),
		Count:    o.count("count", false),
		Spare:    o.count("spare", true),
	}
	setText(&it.Kind, o.text("kind", true))
	if o.has("price_each") {
		price := o.number("price_each", false)
		it.PriceEach = &price
	}
	if o.has("price_source") {
		source := o.text("price_source", false)
		it.PriceSource = &source
	}
	return it
}
