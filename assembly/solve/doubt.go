package solve

import (
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
)

// standIn is the size that stands for all when the file's own cannot be read: the directions of pipes can be judged in
// any size.
const standIn standard.Size = "1/2"

// doubt is what of a file is not known, because reading found faults there. Names are those of the drawing, whatever the
// copy.
type doubt struct {
	any     bool // reading found faults
	all     bool // nothing of the file can be relied on
	sizes   bool // the size of pipe
	lengths bool // what the parts take up

	runs         map[string]bool
	lostRuns     bool // there are runs whose points are not known
	groups       map[string]bool
	fittings     map[string]bool // by the point's own name
	lostFittings bool
}

// doubtOf finds the entries of a file in which reading found faults.
func doubtOf(t *design.Tree, found design.Errors) doubt {
	d := doubt{any: true, runs: map[string]bool{}, groups: map[string]bool{}, fittings: map[string]bool{}}
	d.all = len(t.Lines) == 0 || len(found) > design.MaxFaults // those beyond are anywhere
	if t.Pipe.Size == "" {
		d.sizes, d.lengths = true, true
	}
	for _, e := range found {
		d.add(linesOver(t.Lines, e.At.Line))
	}
	for _, section := range []string{"units", "pipe", "thread", "make-up", "parts", "runs", "fittings"} {
		if t.IsSpoilt(section) { // by a key that was most likely meant for it
			d.add([]string{section + ":"})
		}
	}
	return d
}

// harmless are the sections whose faults leave the rest of the file as it is: what hangs on a faulty name has no value.
var harmless = map[string]bool{
	"turnwise": true, "title": true, "note": true, "finish": true, "tolerance": true, "people": true, "avoid": true, "givens": true,
	"room": true, "cleats": true, "boards": true, "points": true, "loads": true, "order": true,
}

// add takes the lines with the keys under which a fault stands, outermost first.
func (d *doubt) add(lines []string) {
	group, top := "", true
	for len(lines) > 1 && keyOf(lines[0]) == "groups" {
		group, lines, top = keyOf(lines[1]), lines[2:], false
	}
	if len(lines) == 0 {
		d.group(group)
		return
	}
	names := ""
	if len(lines) > 1 {
		names = keyOf(lines[1])
	}
	switch section := keyOf(lines[0]); {
	case harmless[section]:
	case section == "runs":
		d.lostRuns = addNames(d.runs, names) || d.lostRuns
	case section == "fittings":
		d.lostFittings = addNames(d.fittings, names) || d.lostFittings
	case section == "copies" && !top:
		d.group(group)
	case section == "units" && top:
		d.all = true
	case section == "pipe" && top:
		d.sizes, d.lengths = true, true
	case section == "thread" || section == "make-up" || section == "parts":
		d.lengths = true
	case section+":" != strings.TrimSpace(lines[0]): // a key with one value: not a section of anything
	default: // a key that is not known may have been meant for any
		d.lostRuns, d.lostFittings, d.lengths = true, true, true
	}
}

func (d *doubt) group(name string) {
	d.lostRuns = addNames(d.groups, name) || d.lostRuns
}

// addNames notes the names of a key, and tells whether there were none.
func addNames(set map[string]bool, key string) bool {
	for _, n := range strings.Split(key, ",") {
		n = strings.TrimSpace(n)
		set[n[strings.LastIndexByte(n, '.')+1:]] = true
	}
	return strings.TrimSpace(key) == ""
}

// isRun tells whether a run is in doubt.
func (d *doubt) isRun(t *design.Tree, r *design.Run) bool {
	return d.any && (d.runs[r.Name.Text] || t.IsSpoilt(r.Name.Text))
}

// linesOver are the lines with the keys under which a line stands, and itself, outermost first: each is indented less
// than the next.
func linesOver(lines []string, line int) []string {
	var out []string
	for i, left := min(line, len(lines))-1, -1; i >= 0 && left != 0; i-- {
		text := strings.TrimLeft(lines[i], " \t")
		indent := len(lines[i]) - len(text)
		if text == "" || text[0] == '#' || left >= 0 && indent >= left {
			continue
		}
		left = indent
		out = append([]string{text}, out...)
	}
	return out
}

// keyOf is the key of a line.
func keyOf(line string) string {
	key, _, _ := strings.Cut(line, ":")
	return strings.Trim(key, " \"'")
}

// doubtFittings marks the nodes at points whose entry under fittings is not known.
func (s *solver) doubtFittings(n *network) {
	if len(s.doubt.fittings) == 0 {
		return
	}
	for _, node := range n.nodes {
		for _, p := range node.points {
			node.skipped = node.skipped || s.doubt.lostFittings || s.doubt.fittings[p.src.Name.Text]
		}
	}
}

// skip marks all nodes along a leg: what meets there is not known.
func (l *leg) skip() {
	for _, g := range l.segs {
		g.a.skipped, g.b.skipped = !g.a.kept, !g.b.kept
	}
}

// isFaulty tells whether a point of the run has no fitting.
func (r *run) isFaulty() bool {
	for _, l := range r.legs {
		if l.isFaulty() {
			return true
		}
	}
	return false
}

// isUnsure tells whether a point hangs on a distance that was not found.
func (s *solver) isUnsure(p *point) bool {
	for i := range p.coord {
		if s.hasOpen(p.coord[i].hangs) {
			return true
		}
	}
	return false
}

func (s *solver) hasOpen(hangs bits) bool {
	open := false
	hangs.each(func(i int) { open = open || !s.unknowns[i].found || s.unknowns[i].rough })
	return open
}

// skipUnsure marks the nodes whose place, or whose pipes' directions, hang on a distance that was not found. A node whose
// own fault is why a distance is not quite known keeps it.
func (s *solver) skipUnsure() {
	for _, n := range s.net.nodes {
		for _, p := range n.points {
			n.unsure = n.unsure || s.isUnsure(p)
		}
	}
	for _, n := range s.net.nodes {
		n.kept = n.fault != nil && !n.skipped && s.isPlaced(n)
		n.skipped = n.skipped || n.unsure && !n.kept
	}
	for _, l := range s.net.legs {
		if l.a.unsure || l.b.unsure {
			l.skip()
		}
	}
}

// isPlaced tells whether all distances were found that bear on a node and the pipes at it.
func (s *solver) isPlaced(n *node) bool {
	ok := true
	for _, ln := range n.lines {
		l := ln.seg.leg
		for i := range l.from.coord {
			for _, h := range []bits{l.from.coord[i].hangs, l.to.coord[i].hangs} {
				h.each(func(k int) { ok = ok && s.unknowns[k].found })
			}
		}
	}
	return ok
}

// doubtDistances finds the distances that were worked out with the help of a faulty place, and returns those that are
// not known because of a fault told elsewhere.
func (s *solver) doubtDistances() bits {
	var out bits
	for _, u := range s.unknowns {
		if u.bad || s.doubt.lengths || s.doubt.lostRuns {
			u.found = u.found && !u.bad
			out.add(u.index)
		}
	}
	for _, u := range s.order { // each before those that were found with its help
		others := !u.by.from.hangsOnly(u, s) || !u.by.to.hangsOnly(u, s)
		u.rough = u.by.isFaulty() || others
	}
	for _, r := range s.runs {
		if !r.broken {
			continue
		}
		for _, p := range s.pathPoints(r) {
			p.joinHangs(&out)
		}
	}
	for _, l := range s.net.legs {
		for _, g := range l.segs {
			if g.a.skipped || g.b.skipped {
				l.joinHangs(&out)
			}
		}
	}
	return out
}

// hangsOnly tells whether all distances that a point hangs on are well known, but for one.
func (p *point) hangsOnly(but *unknown, s *solver) bool {
	ok := true
	for i := range p.coord {
		p.coord[i].hangs.each(func(k int) {
			u := s.unknowns[k]
			ok = ok && (u == but || u.found && !u.rough)
		})
	}
	return ok
}

// tellAtFaults adds the distances of legs that give none because of the fault at one of their ends.
func (s *solver) tellAtFaults(told *bits) {
	for _, n := range s.net.nodes {
		if n.fault == nil || n.skipped {
			continue
		}
		for _, ln := range n.lines {
			ln.seg.leg.joinHangs(told)
		}
	}
}

func (p *point) joinHangs(b *bits) {
	for i := range p.coord {
		b.join(p.coord[i].hangs)
	}
}

func (l *leg) joinHangs(b *bits) {
	l.from.joinHangs(b)
	l.to.joinHangs(b)
}

// inspectHealthy reports what keeps a design from being built where no fault was found: pipes too short, runs that cross
// or reach into the room's surfaces. In a design without faults these are findings.
func (s *solver) inspectHealthy() {
	var sure []*segment
	for _, g := range s.net.segs {
		if g.leg.run.doubtful || g.a.unsure || g.b.unsure {
			continue
		}
		sure = append(sure, g)
		for _, p := range g.pipes {
			if !s.doubt.lengths && !g.isFaulty() && !g.leg.run.broken && p.length > 0 {
				s.inspectPipe(p)
			}
		}
	}
	if !s.doubt.sizes {
		s.crossings(sure)
		s.pipesOutside(sure)
	}
	for _, f := range s.findings {
		if f.Severity == assembly.Stop {
			s.errs.add(f.pos, "%s", f.Text)
		}
	}
}
