package sequence

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/closing"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
	"turnwise/geom"
)

// loopSource is the rule behind a LOOP finding.
const loopSource = "derived: closing a taper thread takes several full turns of one side against the other, and two bodies that are already one cannot turn against each other"

const (
	// setsProposed is how many sets of closing pieces a finding proposes.
	setsProposed = 6
	// mostEdits bounds the lines that all findings together repeat of the first one's proposal.
	mostEdits = 4000
	// mostNamed bounds the parts that a sentence names.
	mostNamed = 8
)

// openLoops explains rings of plain threads, and proposes the cheapest sets of lines of the design that would close
// them all.
func (f *frame) openLoops(rings [][]int) []assembly.Finding {
	if len(rings) == 0 {
		return nil
	}
	c := f.closers(f.isAvoided)
	var repairs []assembly.Repair
	how := ""
	if len(c.answer.Held) == 0 {
		repairs = c.repairs(setsProposed)
		how = c.howSure()
	} else {
		repairs, how = f.forbidden(c)
	}
	var out []assembly.Finding
	for i, ring := range rings {
		fd := assembly.Finding{
			Code: "LOOP", Severity: assembly.Stop, Parts: f.ids(ring), Source: loopSource, Repairs: repairs,
			Values: map[string]float64{"parts_count": float64(len(ring)), "rings_count": float64(len(rings)), "lines_count": float64(c.answer.Lines)},
			Text: fmt.Sprintf("the last joint of this ring cannot be screwed up: all its joints are plain threads, and closing the last one takes full turns between parts that are one already; it runs through %s (%s)",
				named(f.corners(ring)), f.whereabouts(ring)),
		}
		if len(c.answer.Sets) > 0 {
			fd.Values["set_points"], fd.Values["bound_points"] = c.answer.Sets[0].Price, c.answer.Bound
		}
		fd.At = c.at(ring, repairs)
		if i == 0 {
			fd.Text += how
		} else {
			fd.Text = fmt.Sprintf("this ring of plain threads cannot be closed either: %s (%s)", named(f.corners(ring)), f.whereabouts(ring))
			fd.Repairs = repairs[:min(len(repairs), 1)]
			if len(repairs) > 0 && len(rings)*len(repairs[0].Splices) > mostEdits {
				fd.Repairs = []assembly.Repair{}
				fd.Text += "; what the first of these findings proposes closes this one too"
			}
		}
		out = append(out, fd)
	}
	return out
}

// named lists some names and counts the others.
func named(ids []string) string {
	if len(ids) <= mostNamed+1 {
		return strings.Join(ids, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(ids[:mostNamed], ", "), len(ids)-mostNamed)
}

// corners are the names of a ring's fittings: those the builder gave to points.
func (f *frame) corners(ring []int) []string {
	var out []string
	for _, b := range ring {
		if f.parts[b].Kind != standard.Pipe {
			out = append(out, f.parts[b].ID)
		}
	}
	return out
}

// whereabouts says between which places of the design's axes some bodies lie.
func (f *frame) whereabouts(bodies []int) string {
	box := geom.EmptyBox()
	for _, b := range bodies {
		box = box.Include(f.parts[b].Pose.Origin)
	}
	var at []string
	for _, axis := range []struct {
		name     string
		from, to float64
	}{{"x", box.Min.X, box.Max.X}, {"y", -box.Max.Y, -box.Min.Y}, {"z", box.Min.Z, box.Max.Z}} {
		from, to := f.nearest(axis.from), f.nearest(axis.to)
		if from == to {
			at = append(at, fmt.Sprintf("at %s %s", axis.name, from))
		} else {
			at = append(at, fmt.Sprintf("%s %s to %s", axis.name, from, to))
		}
	}
	return strings.Join(at, ", ")
}

// closers is a problem of closing with what its numbers stand for.
type closers struct {
	f      *frame
	lines  []closerLine
	answer closing.Answer
}

// closerLine is a place of the design that may take a piece, with the kinds of piece it may be, cheapest first.
type closerLine []closerKind

// closerKind is a piece at a place, in all the copies that the place stands for.
type closerKind struct {
	places []assembly.Closing
	price  float64
}

// closers finds the cheapest sets of lines, but for the kinds that are not wanted.
func (f *frame) closers(avoided func(standard.Kind) bool) *closers {
	c := &closers{f: f}
	p, edgeOf := f.ringGraph()
	onRing := func(body int) bool { return edgeOf[body] >= 0 }
	c.gather(avoided, onRing)
	for _, l := range c.lines {
		line := closing.Line{Price: l[0].price}
		for _, place := range l[0].places {
			body := f.index[place.Part]
			if onRing(body) {
				line.Breaks = append(line.Breaks, edgeOf[body])
			}
			line.Like = fmt.Sprintf("%s %.0f %s", f.parts[body].Size, f.parts[body].LengthMM, axisWord(f.parts[body].Pose.Z))
		}
		p.Lines = append(p.Lines, line)
	}
	c.answer = closing.Cheapest(p, setsProposed)
	return c
}

// gather groups the places that share a change of the text, with all kinds that may stand there.
func (c *closers) gather(avoided func(standard.Kind) bool, onRing func(int) bool) {
	lineOf, kindOf := map[string]int{}, map[string]int{}
	for _, place := range c.f.a.Closings {
		body, ok := c.f.index[place.Part]
		if !ok || avoided(place.Kind) || len(place.Splices) == 0 {
			continue
		}
		at := place.Splices[0]
		key := fmt.Sprint(at.Line, ":", at.Col, ":", at.Order)
		i, known := lineOf[key]
		if !known {
			i = len(c.lines)
			lineOf[key] = i
			c.lines = append(c.lines, nil)
		}
		key += string(place.Kind)
		k, known := kindOf[key]
		if !known {
			k = len(c.lines[i])
			kindOf[key] = k
			c.lines[i] = append(c.lines[i], closerKind{})
		}
		kind := &c.lines[i][k]
		kind.places = append(kind.places, place)
		kind.price += c.f.closingPrice(body, place, onRing)
	}
	for _, l := range c.lines {
		sort.SliceStable(l, func(i, k int) bool { return l[i].price < l[k].price })
	}
}

// axisWord is "x", "y" or "z" for what runs along an axis.
func axisWord(d geom.Vec) string {
	x, y, z := math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)
	switch {
	case z >= x && z >= y:
		return "z"
	case x >= y:
		return "x"
	}
	return "y"
}

// ringGraph is the frame's plain threads as a graph, and for each pipe on a ring one of its edges there; -1 for others.
func (f *frame) ringGraph() (closing.Problem, []int) {
	p := closing.Problem{Bodies: len(f.parts)}
	var joints []int
	for k := range f.joints {
		if j := &f.joints[k]; j.isScrew() {
			p.Edges = append(p.Edges, closing.Edge{A: j.a, B: j.b})
			joints = append(joints, k)
		}
	}
	edgeOf := make([]int, len(f.parts))
	for i := range edgeOf {
		edgeOf[i] = -1
	}
	for e, on := range closing.OnRings(p) {
		j := &f.joints[joints[e]]
		for _, b := range []int{j.a, j.b} {
			if on && f.parts[b].Kind == standard.Pipe && edgeOf[b] < 0 {
				edgeOf[b] = e
			}
		}
	}
	return p, edgeOf
}

// repairs proposes the sets, cheapest first; and the cheapest with other kinds of piece, should those not do.
func (c *closers) repairs(most int) []assembly.Repair {
	type offer struct {
		price float64
		kinds []closerKind
	}
	var offers []offer
	for n, set := range c.answer.Sets {
		for v := 0; v < 3; v++ {
			o, fresh := offer{}, v == 0
			for _, l := range set.Lines {
				kinds := c.lines[l]
				fresh = fresh || v < len(kinds) && !math.IsInf(kinds[v].price, 1)
				k := kinds[0]
				if v < len(kinds) && !math.IsInf(kinds[v].price, 1) {
					k = kinds[v]
				}
				o.kinds = append(o.kinds, k)
				o.price += k.price
			}
			if fresh && (v == 0 || n == 0) {
				offers = append(offers, o)
			}
		}
	}
	sort.SliceStable(offers, func(i, k int) bool { return offers[i].price < offers[k].price })
	var out []assembly.Repair
	for _, o := range offers[:min(most, len(offers))] {
		out = append(out, c.repair(o.kinds, o.price))
	}
	return out
}

// repair words one set of pieces.
func (c *closers) repair(kinds []closerKind, price float64) assembly.Repair {
	var r assembly.Repair
	var each []string
	for _, k := range kinds {
		p := k.places[0]
		text := fmt.Sprintf("%s, from %s to %s, by %s", p.Part, p.From, p.To, article(p.Kind.Words()))
		if n := len(k.places); n > 1 {
			text += fmt.Sprintf(" (and so in %d copies)", n)
		}
		if p.LosesCut {
			text += ", giving up the length it was cut to"
		}
		each = append(each, text)
		r.Splices = append(r.Splices, p.Splices...)
	}
	r.Text = fmt.Sprintf("divide %s (%s points)", strings.Join(each, "; "), points(price))
	return r
}

func article(word string) string {
	if strings.ContainsRune("aeio", rune(word[0])) { // "a union"
		return "an " + word
	}
	return "a " + word
}

// points writes a price.
func points(p float64) string { return fmt.Sprintf("%.0f", p) }

// howSure says how good the first set is.
func (c *closers) howSure() string {
	a := c.answer
	if len(a.Sets) == 0 {
		return ""
	}
	text := fmt.Sprintf("; %d %s %d %s, to be put in %d of the %d %s of the design where one could stand",
		a.Rings, plural(a.Rings, "such ring needs", "such rings need"), a.Rings, plural(a.Rings, "closing piece", "closing pieces"),
		len(a.Sets[0].Lines), a.Lines, plural(a.Lines, "place", "places"))
	price := points(a.Sets[0].Price)
	switch {
	case a.Proven && a.Lines <= closing.MostExact:
		text += fmt.Sprintf(": of all choices of places, none costs less than %s points", price)
	case a.Proven:
		text += fmt.Sprintf(": a lower bound shows that no choice of places costs less than %s points", price)
	default:
		text += fmt.Sprintf(": too many to try every choice; the best one found costs %s points, and none can cost less than %s", price, points(math.Ceil(a.Bound-1e-9)))
	}
	return text + fmt.Sprintf(" (%d for a piece, more where it bears a load or little room is left for wrenches)", pricePiece)
}

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// at is the place of the design to blame for a ring: where the first piece on it would be written, else the first pipe's
// run.
func (c *closers) at(ring []int, repairs []assembly.Repair) string {
	on := map[string]bool{}
	for _, id := range c.f.ids(ring) {
		on[id] = true
	}
	if len(repairs) > 0 {
		for _, sp := range repairs[0].Splices {
			for _, p := range c.f.a.Closings {
				if q := p.Splices[0]; on[p.Part] && q.Line == sp.Line && q.Col == sp.Col && q.Order == sp.Order {
					return p.At
				}
			}
		}
	}
	for _, p := range c.f.a.Pipes {
		if on[p.Part] {
			return p.At
		}
	}
	return ""
}

// forbidden says why a ring cannot be closed at any of its pipes, and what there is to do: allow a kind that the design
// avoids, or draw the ring open.
func (f *frame) forbidden(c *closers) ([]assembly.Repair, string) {
	var reasons []string
	for _, e := range c.answer.Held[0] {
		j := f.screws()[e]
		for _, b := range []int{j.a, j.b} {
			if text := f.whyNot(b); f.parts[b].Kind == standard.Pipe && !hasID(reasons, text) {
				reasons = append(reasons, text)
			}
		}
	}
	text := "; none of its pipes can be divided: " + named(reasons)
	var repairs []assembly.Repair
	for _, w := range f.a.Avoid {
		if !isCloser(standard.Kind(w.What)) || len(w.Allow) == 0 {
			continue
		}
		other := f.closers(func(k standard.Kind) bool { return string(k) != w.What && f.isAvoided(k) })
		for _, r := range other.repairs(1) {
			r.Text = fmt.Sprintf("allow %s: take the word off the avoid list, and %s", article(standard.Kind(w.What).Words()), r.Text)
			r.Splices = append(append([]assembly.Splice(nil), w.Allow...), r.Splices...)
			repairs = append(repairs, r)
		}
	}
	repairs = append(repairs, assembly.Repair{Text: "draw the ring open: end one of its pipes on a flange on a wall or a board, which is screwed last, or lay a board on straps in its place"})
	return repairs, text
}

func isCloser(k standard.Kind) bool {
	return k == standard.Union || k == standard.RightLeft || k == standard.LongScrew
}

func (f *frame) isAvoided(k standard.Kind) bool {
	for _, w := range f.a.Avoid {
		if w.What == string(k) {
			return true
		}
	}
	return false
}

// screws lists the plain threads, in the order of the edges of ringGraph.
func (f *frame) screws() []*joint {
	var out []*joint
	for k := range f.joints {
		if f.joints[k].isScrew() {
			out = append(out, &f.joints[k])
		}
	}
	return out
}

// whyNot says why a pipe takes no closing piece.
func (f *frame) whyNot(body int) string {
	id := f.parts[body].ID
	short, avoided, any := math.Inf(1), 0, false
	for _, p := range f.a.Closings {
		if p.Part != id {
			continue
		}
		any = true
		if f.isAvoided(p.Kind) {
			avoided++
			continue
		}
		short = math.Min(short, p.MissingMM)
	}
	switch {
	case !any:
		return id + " (its length is given, or it has a piece already)"
	case math.IsInf(short, 1):
		return id + " (every piece for it is under avoid)"
	}
	return fmt.Sprintf("%s (too short by %s)", id, f.length(short))
}

// nearest prints a coordinate to what a tape reads.
func (f *frame) nearest(mm float64) string {
	system := units.System(f.a.Header.Units)
	if system != units.InchSystem {
		system = units.MetricSystem
	}
	return system.Nearest(units.Length(mm))
}
