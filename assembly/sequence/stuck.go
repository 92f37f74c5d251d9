package sequence

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"turnwise/assembly"
	"turnwise/assembly/units"
)

// stuckSource is the rule behind the findings of a search that ended.
const stuckSource = "searched: straight motions of every body and group, and full turns of every side of every thread, past all that stands there"

// mostReasons bounds the reasons that a finding names.
const mostReasons = 3

// mostNames bounds the parts that a finding lists in its sentence.
const mostNames = 4

// stuck explains a scene that nothing can be taken off: by what its bodies are held, and how much is missing.
func (s *scene) stuck() assembly.Finding {
	ids := s.f.ids(s.members)
	f := assembly.Finding{
		Code: "STUCK", Severity: assembly.Stop, Parts: ids, Source: stuckSource,
		Values: map[string]float64{"parts_count": float64(len(ids))}, Repairs: []assembly.Repair{},
		Text: "no order was found in which " + few(ids) + " go together",
	}
	keys := s.reasons()
	said := map[string]bool{}
	sideways := s.sidewaysUnions(&f)
	for _, k := range keys {
		if sideways && s.reports[k].why == holds {
			continue // it is told better
		}
		text := s.reasonText(k)
		if !said[text] && len(said) < mostReasons {
			f.Text += "; " + text
			said[text] = true
		}
	}
	s.lonelyUnions(&f)
	if s.risen != nil {
		s.tooTall(&f)
		return f
	}
	if len(keys) == 0 {
		return f
	}
	worst := s.reports[keys[0]]
	if !sideways || worst.why != holds {
		f.Blame = s.f.ids([]int{worst.moving, worst.fixed})
	}
	switch worst.why {
	case noPlay:
		f.Code = "TRAVEL"
		f.Values["missing_mm"] = worst.short
		f.Repairs = append(f.Repairs, assembly.Repair{
			Text: "cut the pipe shorter by a clearance, so that a flange can be screwed deeper and backed off in place",
		})
	case bothFixed:
		f.Code = "TRAVEL"
		if j := &s.f.joints[keys[0].joint]; keys[0].kind == 's' {
			f.Values["missing_mm"] = 2 * j.EngagementMM
		}
		f.Repairs = append(f.Repairs, assembly.Repair{Text: "use a long screw there instead: it needs no room along the axis"})
	case tilts, headroom:
		f.Code, f.Source = "TILT", tiltSource
		f.Values["missing_mm"] = worst.short
	case noGrip:
		f.Code, f.Source = "HAND-REACH", reachSource
		f.Values["missing_mm"] = worst.short
	case noTravel:
		f.Code = "TRAVEL"
		f.Values["missing_mm"] = worst.short
	case swings:
		f.Code = "SWING"
		f.Values["missing_mm"] = worst.short
	}
	return f
}

// few names parts, or counts them where they are many.
func few(ids []string) string {
	if len(ids) > mostNames {
		return fmt.Sprintf("these %d parts", len(ids))
	}
	return strings.Join(ids, ", ")
}

// tooTall tells of a frame that can neither be stood up nor be put together standing.
func (s *scene) tooTall(fd *assembly.Finding) {
	f, why := s.f, s.risen.why
	fd.Code, fd.Source = "TILT", tiltSource
	fd.Blame = f.ids([]int{why.moving, why.fixed})
	fd.Values["missing_mm"], fd.Values["tilt_mm"] = why.short, s.risen.height
	fd.Text = fmt.Sprintf("the frame of %d parts cannot be stood up past %s, where %s is missing, and there is no room to put it together standing",
		len(s.risen.bodies), f.stands(why), f.length(why.short))
	fd.Repairs = append(fd.Repairs, assembly.Repair{Text: fmt.Sprintf("make it lower or shallower, until it needs %s less to be stood up", f.length(why.short))})
}

// reasons lists the moves that were tried: those between two faces first, then turns, then all others; those that the
// least is missing to first, then in the order of joints and bodies.
func (s *scene) reasons() []moveKey {
	var out []moveKey
	for k, c := range s.reports {
		if s.has(c.moving) && s.has(c.fixed) {
			out = append(out, k)
		}
	}
	sortBy(out, func(k moveKey) int { return k.side })
	sortBy(out, func(k moveKey) int { return k.joint })
	sortBy(out, func(k moveKey) int { return int(math.Round(s.reports[k].short * 1e3)) })
	sortBy(out, func(k moveKey) int {
		switch s.reports[k].why {
		case noPlay, bothFixed:
			return 0
		case tilts:
			return 1
		case swings:
			return 2
		case noGrip:
			return 3
		case headroom:
			return 4
		case noTravel:
			return 5
		case inTheWay:
			return 6
		}
		return 7
	})
	return out
}

func (s *scene) reasonText(k moveKey) string {
	c := s.reports[k]
	a, b := s.f.parts[c.moving].ID, s.f.stands(c)
	switch c.why {
	case noPlay:
		return fmt.Sprintf("%s fits exactly against %s and cannot be screwed deeper; %s of play is missing", a, b, s.f.length(c.short))
	case stiff:
		return fmt.Sprintf("%s meets %s sideways, and the frame is too stiff there to be sprung apart by %s", a, b, s.f.length(c.short))
	case tilts:
		return fmt.Sprintf("the frame with %s cannot be stood up past %s; %s is missing", a, b, s.f.length(c.short))
	case headroom:
		return fmt.Sprintf("%s has no room between floor and ceiling while the frame stands; %s is missing", a, s.f.length(c.short))
	case noGrip:
		return fmt.Sprintf("%s cannot be gripped: fingers have %s too little room, because of %s", a, s.f.length(c.short), b)
	case swings:
		return fmt.Sprintf("%s cannot be turned past %s, which stands %s too near", a, b, s.f.length(c.short))
	case encloses:
		return fmt.Sprintf("what hangs on %s cannot be brought there in one piece: it would begin about %s, or within it", a, b)
	case noTravel:
		return fmt.Sprintf("%s cannot come off its thread: %s leaves %s too little travel along it", a, b, s.f.length(c.short))
	case bothFixed:
		text := fmt.Sprintf("the sides that a right-and-left piece would draw together are held: %s by %s", a, b)
		if k.kind == 's' {
			text += fmt.Sprintf("; %s of travel is missing, the piece's engagement at both ends", s.f.length(2*s.f.joints[k.joint].EngagementMM))
		}
		return text
	case holds:
		return fmt.Sprintf("%s is held by %s", a, b)
	}
	if c.short >= 0.1 && k.kind == 's' {
		return fmt.Sprintf("%s is in the way of %s by %s", b, a, s.f.length(c.short))
	}
	return fmt.Sprintf("%s is in the way of %s", b, a)
}

// length prints millimetres in the units of the design.
func (f *frame) length(mm float64) string {
	system := units.System(f.a.Header.Units)
	if system != units.InchSystem {
		system = units.MetricSystem
	}
	return system.Decimal(units.Length(mm)) + " " + string(system)
}

// lonelyUnions adds what is wrong with unions that no turn can close: their halves meet along their axis only, so
// another joint of the ring has to run the same way, off that line.
func (s *scene) lonelyUnions(fd *assembly.Finding) {
	f := s.f
	for k := range f.joints {
		u := &f.joints[k]
		if u.Kind != assembly.UnionNut || !s.in[u.a] || !s.in[u.b] || u.state == open {
			continue
		}
		ring := s.ringOf(u)
		var better []string
		alone := len(ring) > 0
		for _, n := range ring {
			j := &f.joints[n]
			if parallelOff(j.Axis, u.Axis) {
				alone = false
			}
			if p := f.pipeOf(j); p >= 0 && f.parallelOnRing(n, ring) && !slices.Contains(better, f.parts[p].ID) {
				better = append(better, f.parts[p].ID)
			}
		}
		if !alone {
			continue
		}
		fd.Text += fmt.Sprintf("; the halves of %s meet only along their axis, and no other joint of the ring runs that way", u.ID)
		if len(better) > 0 {
			fd.Repairs = append(fd.Repairs, assembly.Repair{
				Text: fmt.Sprintf("move the union of %s into one of %s", u.ID, strings.Join(better, ", ")),
			})
		}
	}
}

// sidewaysUnions names the thread that comes nearest to being undone where only unions hold all of them: a turn closes
// several unions at once if the seats of all of them face along its axis.
func (s *scene) sidewaysUnions(fd *assembly.Finding) bool {
	f := s.f
	var best []int
	var last cut
	cuts := s.sides()
	for _, b := range s.members {
		if n, k := s.screws(b); n == 1 {
			cuts = append(cuts, cut{k, b, []int{b}})
		}
	}
	for _, c := range cuts {
		across, only := s.unionsAcross(c)
		if only && len(across) > 0 && (best == nil || len(across) < len(best)) {
			best, last = across, c
		}
	}
	if best == nil {
		return false
	}
	j := &f.joints[last.joint]
	var names []string
	for _, k := range best {
		names = append(names, strings.TrimSuffix(f.parts[f.joints[k].a].ID, ".a"))
	}
	fd.Blame = f.ids(append([]int{last.body}, f.joints[best[0]].a, f.joints[best[0]].b))
	fd.Values["sideways_count"] = float64(len(best))
	fd.Text += fmt.Sprintf("; turning %s on %s, with %d parts on it, comes nearest, but that would bring the halves of %s together sideways: all unions that one turn closes have to lie along its axis",
		f.parts[last.body].ID, f.parts[j.other(last.body)].ID, len(last.bodies)-1, strings.Join(names, " and "))
	fd.Repairs = append(fd.Repairs, assembly.Repair{
		Text: fmt.Sprintf("move the union of %s into a pipe that runs the same way as %s", names[0], f.parts[f.threadedPipe(j)].ID),
	})
	return true
}

// unionsAcross lists the unions between one side of a thread and the rest that do not lie along its axis, and whether
// nothing else holds that side.
func (s *scene) unionsAcross(c cut) (across []int, only bool) {
	j := &s.f.joints[c.joint]
	for _, n := range without(s.crossing(c.bodies), c.joint) {
		o := &s.f.joints[n]
		switch {
		case o.Kind != assembly.UnionNut:
			return nil, false
		case o.Axis.Dir.Cross(j.Axis.Dir).Len() > parallelTolerance:
			across = append(across, n)
		}
	}
	return across, true
}

// threadedPipe is the pipe of a thread, or its first body where it has none.
func (f *frame) threadedPipe(j *joint) int {
	if f.parts[j.b].Kind == pipeKind {
		return j.b
	}
	return j.a
}

// ringOf lists the plain threads on the way round from one half of a union to the other, not over other unions.
func (s *scene) ringOf(u *joint) []int {
	f := s.f
	by := map[int]int{u.a: -1}
	queue := []int{u.a}
	for len(queue) > 0 {
		x := queue[0]
		queue = queue[1:]
		for _, k := range f.at[x] {
			j := &f.joints[k]
			o := j.other(x)
			if _, seen := by[o]; !seen && j.isScrew() && s.in[o] {
				by[o] = k
				queue = append(queue, o)
			}
		}
	}
	var out []int
	for x := u.b; x != u.a; {
		k, ok := by[x]
		if !ok {
			return nil
		}
		out = append(out, k)
		x = f.joints[k].other(x)
	}
	return out
}

// parallelOff tells whether two axes are parallel and apart.
func parallelOff(a, b *assembly.Axis) bool {
	return a.Dir.Cross(b.Dir).Len() < parallelTolerance && offAxis(a.At, b.At, b.Dir) > 1
}

// parallelOnRing tells whether another thread of a ring is parallel to thread n and apart from it.
func (f *frame) parallelOnRing(n int, ring []int) bool {
	for _, k := range ring {
		if parallelOff(f.joints[k].Axis, f.joints[n].Axis) {
			return true
		}
	}
	return false
}
