package joinery

import (
	"errors"
	"fmt"

	"turnwise/assembly/standard"
	"turnwise/geom"
)

// candidates are the kinds that may join so many lines when the design does not say.
var candidates = map[int][]standard.Kind{
	2: {standard.Coupling, standard.Elbow, standard.Elbow45},
	3: {standard.Tee, standard.SideElbow},
	4: {standard.Cross, standard.SideTee},
}

// mostOpenings is the most openings any fitting has.
const mostOpenings = 4

// derived chooses by directions alone.
func (s Site) derived(c *standard.Catalogue) (Choice, error) {
	n := len(s.Lines)
	if n > mostOpenings {
		f := s.fault(FaultCount, fmt.Sprintf("%s meet at %s; no fitting has more than four openings", count(n, "pipe"), s.Point))
		f.Try = s.splits(c)
		return Choice{}, f
	}
	for _, kind := range candidates[n] {
		found := fits(kind, s.Lines)
		if len(found) == 0 {
			continue
		}
		if kind == standard.Coupling && s.Lines[0].Size != s.Lines[1].Size {
			kind = standard.Reducer
		}
		if s.Avoid[kind] {
			return Choice{}, s.avoided(c, kind)
		}
		return s.take(c, kind, found)
	}
	return Choice{}, s.noAngle(c)
}

// asked stands for the kind the design wants.
func (s Site) asked(c *standard.Catalogue) (Choice, error) {
	kind := s.Ask.Kind
	if kind == standard.Coupling && len(s.Lines) == 2 && s.Lines[0].Size != s.Lines[1].Size {
		kind = standard.Reducer // a coupling of two sizes is a reducing one
	}
	ports := standard.PortsOf(kind)
	if err := s.askedWrong(kind, len(ports)); err != nil {
		return Choice{}, err
	}
	if s.Avoid[kind] {
		return Choice{}, s.fault(FaultAvoid, s.Point+": "+a(kind.Words())+" is asked for here, but it is under avoid", "take it out of one of the two")
	}
	found := s.filter(kind, fits(kind, s.Lines))
	if len(found) == 0 {
		return Choice{}, s.askedNoAngle(c, kind)
	}
	return s.take(c, kind, found)
}

// askedWrong refuses kinds that cannot take the lines whatever their angles.
func (s Site) askedWrong(kind standard.Kind, openings int) error {
	n := len(s.Lines)
	switch {
	case kind == standard.Plug:
		return s.fault(FaultAsk, s.Point+": a plug closes an opening of a fitting; a pipe's end takes a cap")
	case n == 1 && s.OnSurface && !isEnd(kind):
		return s.fault(FaultAsk, fmt.Sprintf("%s: %s here would stand half in the %s", s.Point, a(kind.Words()), s.surface()),
			"move the point off it, or write flange, cap, glide or caster")
	case openings == 0 || isEnd(kind) && n > 1:
		return s.fault(FaultAsk, fmt.Sprintf("%s: %s meet here; %s has one opening", s.Point, count(n, "pipe"), a(kind.Words())))
	case n > openings:
		return s.fault(FaultAsk, fmt.Sprintf("%s: %s meet here; %s has %s", s.Point, count(n, "pipe"), a(kind.Words()), count(openings, "opening")))
	case isStreet(kind) && n < 2:
		return s.fault(FaultAsk, fmt.Sprintf("%s: one pipe ends here; the male end of %s needs a run: say into RUN", s.Point, a(kind.Words())))
	case isStreet(kind) && s.Ask.Into == "":
		return s.fault(FaultAsk, fmt.Sprintf("%s: which run does the male end replace; write %s into %s or into %s",
			s.Point, kind, s.Lines[0].Name, s.Lines[1].Name))
	case isStreet(kind) && !s.has(s.Ask.Into):
		return s.fault(FaultAsk, s.Point+": no run "+s.Ask.Into+" leaves it; "+s.runs())
	case s.Ask.Along != "" && !s.has(s.Ask.Along):
		return s.fault(FaultAsk, s.Point+": no run "+s.Ask.Along+" leaves it; "+s.runs())
	case (kind == standard.Reducer || kind == standard.Bushing) && n < 2:
		return s.fault(FaultAsk, fmt.Sprintf("%s: one pipe ends here; %s joins two sizes", s.Point, a(kind.Words())))
	case (kind == standard.Reducer || kind == standard.Bushing) && s.Lines[0].Size == s.Lines[1].Size:
		return s.fault(FaultAsk, fmt.Sprintf("%s: both pipes are %s; %s joins two sizes", s.Point, s.Lines[0].Size, a(kind.Words())), "write coupling")
	}
	return nil
}

// has tells whether a line of that run leaves the point.
func (s Site) has(run string) bool {
	for _, l := range s.Lines {
		if l.Name == run {
			return true
		}
	}
	return false
}

// filter keeps the assignments that put the named runs where the design wants them.
func (s Site) filter(kind standard.Kind, found []fit) []fit {
	ports := standard.PortsOf(kind)
	var out []fit
	for _, f := range found {
		ok := true
		for i, l := range s.Lines {
			p := ports[f.ports[i]]
			if l.Name == s.Ask.Along && p.Name != "a" && p.Name != "b" && len(ports) > 2 {
				ok = false
			}
			if isStreet(kind) && p.Male != (l.Name == s.Ask.Into) {
				ok = false
			}
		}
		if ok {
			out = append(out, f)
		}
	}
	return out
}

// take makes the choice from the first assignment the tables have.
func (s Site) take(c *standard.Catalogue, kind standard.Kind, found []fit) (Choice, error) {
	var first error
	for _, f := range found {
		sizes, ok := s.sizes(kind, f)
		if !ok {
			continue
		}
		fitting, err := c.Fitting(kind, sizes)
		if err == nil {
			return s.place(c, fitting, f)
		}
		if first == nil {
			first = err
		}
	}
	if first == nil {
		return Choice{}, s.fault(FaultSize, fmt.Sprintf("%s: %s does not take these sizes: %s", s.Point, a(kind.Words()), s.sizesText()))
	}
	return Choice{}, s.noSize(c, kind, first)
}

// sizes gives every port its size: a line's, or for an opening left over that of the port opposite, or the first
// line's. It fails when a part with a larger end would have to stand the wrong way round.
func (s Site) sizes(kind standard.Kind, f fit) ([]standard.Size, bool) {
	ports := standard.PortsOf(kind)
	out := make([]standard.Size, len(ports))
	for i, l := range s.Lines {
		out[f.ports[i]] = l.Size
	}
	for i, p := range ports {
		for j, q := range ports {
			if out[i] == "" && out[j] != "" && vec(p.Dir).Near(vec(q.Dir).Neg(), 1e-9) {
				out[i] = out[j]
			}
		}
	}
	for i := range ports {
		if out[i] == "" {
			out[i] = s.Lines[0].Size
		}
	}
	switch kind {
	case standard.Elbow, standard.Reducer, standard.Bushing:
		return out, !standard.Less(out[0], out[1])
	}
	return out, true
}

// place works out pose, takeouts and plugs of a fitting that fits.
func (s Site) place(c *standard.Catalogue, fitting standard.Fitting, f fit) (Choice, error) {
	ch := Choice{Fitting: fitting, Pose: f.rotate}
	ch.Pose.Origin = s.origin(fitting)
	used := map[string]bool{}
	ports := standard.PortsOf(fitting.Kind)
	for i, l := range s.Lines {
		p, _ := fitting.Port(ports[f.ports[i]].Name)
		used[p.Name] = true
		ch.Lines = append(ch.Lines, ch.use(p, l))
	}
	for _, p := range fitting.Ports {
		if used[p.Name] || p.Plain {
			continue
		}
		if p.Male {
			return Choice{}, s.fault(FaultAsk, fmt.Sprintf("%s: the male end of %s would be bare", s.Point, a(fitting.Text)))
		}
		plug, err := s.plug(c, ch, p)
		if err != nil {
			return Choice{}, err
		}
		ch.Plugs = append(ch.Plugs, plug)
	}
	ch.Notes = s.notes(fitting, f.offDeg)
	return ch, nil
}

// use is how a line meets a port of the chosen fitting.
func (ch Choice) use(p standard.Port, l Line) Use {
	at := ch.Pose.Apply(vec(p.Dir).Mul(p.ReachMM)).Dot(l.Dir.Unit())
	if p.Male {
		return Use{Port: p.Name, TakeoutMM: at, Street: true}
	}
	return Use{Port: p.Name, TakeoutMM: at - p.Engagement.MM}
}

// origin is where the part's origin lies, from the point. A coupling under a board touches it with its upper end: its
// middle is half its length down the pipe below.
func (s Site) origin(f standard.Fitting) geom.Vec {
	inline := f.Kind == standard.Coupling || f.Kind == standard.Reducer
	if !s.UnderBoard || !inline || len(s.Lines) != 2 {
		return geom.Vec{}
	}
	below := s.Lines[0].Dir
	if s.Lines[1].Dir.Dot(s.BoardUp) < below.Dot(s.BoardUp) {
		below = s.Lines[1].Dir
	}
	return below.Unit().Mul(f.Dims.MM(standard.DimLength, "") / 2)
}

// plug closes an opening that no line uses.
func (s Site) plug(c *standard.Catalogue, ch Choice, p standard.Port) (Extra, error) {
	f, err := c.Fitting(standard.Plug, []standard.Size{p.Size})
	if err != nil {
		return Extra{}, s.wrap(c, err)
	}
	out := ch.Pose.Rotate(vec(p.Dir))
	at := ch.Pose.Apply(vec(p.Dir).Mul(p.ReachMM))
	return Extra{Fitting: f, Pose: geom.Facing(at, out, upright(out)), Port: p.Name}, nil
}

// wrap makes a fault of an error of the tables, with lengths in the design's units.
func (s Site) wrap(c *standard.Catalogue, err error) *Fault {
	f := s.fault(FaultSize, s.Point+": "+err.Error())
	f.Err = err
	var room *standard.RoomError
	if errors.As(err, &room) {
		f.Text = fmt.Sprintf("%s: the thread of the %s goes in %s, there is room for %s", s.Point, room.Part(),
			s.length(c, room.NeedMM), s.length(c, room.RoomMM))
		f.Try = []string{"check its engagement, length and centre-to-end under parts"}
	}
	return f
}

// notes are what the builder must know about a choice that stands.
func (s Site) notes(f standard.Fitting, offDeg float64) []Note {
	var out []Note
	if offDeg > StraightDeg {
		out = append(out, Note{Code: "ANGLE", Deg: offDeg, Text: fmt.Sprintf(
			"%s: the pipes of the %s are %.1f degrees from its angles; it has to be sprung", s.Point, f.Text, offDeg)})
	}
	if f.SpecialOrder {
		out = append(out, Note{Code: "ORDER", Text: fmt.Sprintf(
			"%s: %s is a special order in most places", s.Point, a(f.Text))})
	}
	return out
}

// noSize is the fault of a combination that the tables lack.
func (s Site) noSize(c *standard.Catalogue, kind standard.Kind, err error) *Fault {
	f := s.wrap(c, err)
	var row *standard.NoRowError
	if !errors.As(err, &row) {
		return f
	}
	f.Text = fmt.Sprintf("%s: no %s of %s in the tables", s.Point, kind.Words(), s.sizesText())
	for i, n := range row.Nearest {
		if i == 2 {
			break
		}
		how := " would do"
		if len(n.Bushings) > 0 {
			how = " would do: draw a point of its own for it, ? from this one, with bushing under fittings"
		}
		f.Try = append(f.Try, n.Text()+how)
	}
	if len(f.Try) == 0 {
		f.Try = append(f.Try, "make the pipes of one size here and reduce with a coupling further along")
	}
	return f
}
