package standard

import (
	"fmt"
	"math"
	"strings"
)

// ThreadForm is the basic form of a family's threads, in pitches.
type ThreadForm struct {
	// FlankDeg is the angle between a flank and the plane square to the axis, half the angle of the form.
	FlankDeg float64
	// Depth is the height of the thread from root to crest.
	Depth float64
	// Round is the radius of crests and roots; 0: they are cut flat.
	Round  float64
	Source string
}

// FormOf returns the basic form of a family's threads.
func FormOf(f Family) ThreadForm {
	if f == BSPT {
		return ThreadForm{27.5, 0.640327, 0.137329, "ISO 7-1: 55 degrees, height 0.640327 p, crests and roots rounded by 0.137329 p"}
	}
	return ThreadForm{30, 0.8, 0, "ASME B1.20.1: 60 degrees, height 0.8 p, crests and roots cut flat"}
}

// Shapes of threads that no thread standard fixes, in pitches.
const (
	// mouthOver is how far the 45 degree chamfer at a mouth goes beyond the crest's or the root's cone: internal threads
	// are countersunk to a little over the major diameter, male ends bevelled to a little under the root. B1.20.1 and
	// B16.3 ask for a chamfer and leave its size open; common practice.
	mouthOver = 0.1
	// innerLead is the length over which an internal thread runs out at its inner end, the lead of the tap; at least
	// innerLeadLeast where the room is short. Common practice.
	innerLead      = 0.8
	innerLeadLeast = 0.5
	// shoulderRunOut is the length over which a male thread runs out before a head, or where its room ends: so short
	// that the chamfer of the mouth takes it in. Common practice.
	shoulderRunOut = 0.8
	// plainRing is the length left plain where a thread has run out.
	plainRing = 0.2
	// clearOf is how far the bounds of a rounded thread keep off its crests and roots, so that they never touch.
	clearOf = 0.02
)

// Smaller features than these would be slivers: a step between the end of a thread and the bore behind it, and a barrel
// between a thread and the head that follows.
const (
	boreStepMM = 0.25
	sliverMM   = 1.5
)

// Line is a cone about a thread's axis: radius R at s = 0, growing by Slope per mm.
type Line struct{ R, Slope float64 }

func (l Line) at(s float64) float64 { return l.R + l.Slope*s }

// through is the line with a slope through a station.
func through(s, r, slope float64) Line { return Line{r - slope*s, slope} }

// Helix is the true thread of one opening or end. S runs along Dir from At: the face of the opening, or the end of the
// male thread, inwards. Lengths in mm.
type Helix struct {
	Port            string
	At, Dir         [3]float64
	Internal, Left  bool
	Pitch           float64
	FlankDeg, Round float64
	Cone            Line // pitch cone
	// Floor and Ceiling bound the row of ridges: the greatest of Floor fills grooves, the least of Ceiling cuts
	// ridges. On an internal thread, where they cross, Floor decides (it is the bore), else Ceiling.
	Floor, Ceiling []Line
	From, To       float64
	// Start and End are the circles between which the thread lies on an otherwise plain body.
	Start, End Station
	// Before and After are how far the cut goes on beyond From and To.
	Before, After float64
}

// Threaded is a part's metal with true threads: Stock is the body before threads are cut, Plain the same body with a
// cone between the two circles of each thread in its place.
type Threaded struct {
	Stock, Plain Solid
	Threads      []Helix
}

// threads gathers the true threads of a part.
type threads struct {
	form  ThreadForm
	left  string
	list  []Helix
	bend  float64           // elbows: where the bend begins, from the origin
	stock map[int][]Station // by number of the primitive in Add: the male end before its thread is cut
}

// ThreadedOf returns a part with true threads. Left is the port whose thread is left-hand, or "".
func ThreadedOf(kind Kind, half string, d Dims, f Family, left string) (Threaded, error) {
	if kind == RightLeft {
		left = "b"
	}
	m := maker{kind: kind, d: d, helix: &threads{form: FormOf(f), left: left, stock: map[int][]Station{}}}
	if err := m.make(half); err != nil {
		return Threaded{}, err
	}
	stock := Solid{Loose: m.s.Loose}
	for i, a := range m.s.Add {
		if p, ok := m.helix.stock[i]; ok {
			a.Profile = p
		}
		stock.Add = append(stock.Add, a)
	}
	for _, c := range m.s.Cut {
		if c.Thread == "" {
			stock.Cut = append(stock.Cut, c)
		}
	}
	for _, h := range m.helix.list {
		if err := h.check(); err != nil {
			return Threaded{}, fmt.Errorf("%s: %w", kind, err)
		}
	}
	return Threaded{stock, m.s, m.helix.list}, nil
}

// check tells whether a thread has room.
func (h Helix) check() error {
	if !(h.Pitch > 0) || !(h.To > h.From) || !(h.Start.R > 0) || !(h.End.R > 0) {
		return fmt.Errorf("no room for the thread of port %s", h.Port)
	}
	return nil
}

// isLeft tells whether a port's thread is left-hand.
func (t *threads) isLeft(port string) bool { return strings.Contains(t.left, port) }

// base fills what all threads have: s is measured from at along dir, the pitch radius is r there and grows by slope.
func (m *maker) base(port string, at, dir [3]float64, r, slope float64) (h Helix, root, crest Line) {
	form := m.helix.form
	pitch := m.mm(DimPitch, port)
	h = Helix{
		Port: port, At: at, Dir: dir, Left: m.helix.isLeft(port), Pitch: pitch, FlankDeg: form.FlankDeg,
		Round: form.Round * pitch, Cone: Line{r, slope},
	}
	deep := form.Depth * pitch / 2
	if form.Round > 0 {
		deep += clearOf * pitch
	}
	return h, Line{r - deep, slope}, Line{r + deep, slope}
}

// internal makes the true thread of a socket, and returns its inner end, measured from the face. Where a wider bore bends
// away before that, the thread ends there.
func (m *maker) internal(p place) Station {
	reach, depth := m.mm(DimReach, p.name), m.mm(DimThreadLength, p.name)
	if wide := m.mm(DimBore, p.name) > m.mm(DimPitchDia, p.name); wide && m.helix.bend > 0 {
		depth = math.Min(depth, reach-m.helix.bend)
	}
	h, minor, major := m.base(p.name, along([3]float64{}, p.dir, reach), neg(p.dir), m.mm(DimPitchDia, p.name)/2, -m.mm(DimTaper, p.name)/2)
	h.Internal, h.To, h.Before = true, depth, cutBeyond
	mouth := through(0, major.R+mouthOver*h.Pitch, -1)
	h.Start = Station{0, mouth.R}
	bore := m.mm(DimBore, p.name) / 2
	h.Floor = []Line{minor, mouth}
	lead := math.Max(innerLeadLeast, math.Min(innerLead, (depth-m.mm(DimEngagement, p.name))/h.Pitch-plainRing)) * h.Pitch
	ring := depth - plainRing*h.Pitch // where the grooves end
	slope := (minor.at(ring) - major.at(ring-lead)) / lead
	h.Ceiling = []Line{major, through(ring, minor.at(ring), slope)}
	h.End = Station{depth, minor.at(depth)}
	if math.Abs(h.End.R-bore) < boreStepMM {
		// too small a step between thread and bore: a countersink at the inner end makes it one, longer than the bore
		// reaches into the thread
		out := through(depth, bore+weldMM+boreStepMM, 1)
		h.Floor = append(h.Floor, out)
		h.End.R = out.at(depth)
	}
	if h.End.R < bore {
		h.After = weldMM
	}
	m.helix.list = append(m.helix.list, h)
	return h.End
}

// rightThrough makes the thread of a hub or a coupling that is threaded from face to face, chamfered at both.
func (m *maker) rightThrough(port string, at, dir [3]float64, dia, slope, length float64) {
	h, minor, major := m.base(port, at, dir, dia/2, slope)
	over := mouthOver * h.Pitch
	h.Internal, h.To, h.Before, h.After = true, length, cutBeyond, cutBeyond
	out := through(length, major.at(length)+over, 1)
	h.Floor = []Line{minor, through(0, major.R+over, -1), out}
	h.Ceiling = []Line{major}
	h.Start, h.End = Station{0, major.R + over}, Station{length, out.at(length)}
	m.helix.list = append(m.helix.list, h)
	m.cut(Primitive{Form: Turned, At: at, Dir: dir, Thread: port, Profile: straight(h, cutBeyond, cutBeyond)})
}

// straight is the plain cone between a thread's two circles, gone on with beyond them.
func straight(h Helix, before, after float64) []Station {
	slope := (h.End.R - h.Start.R) / (h.End.S - h.Start.S)
	return []Station{
		{h.Start.S - before, h.Start.R - slope*before}, {h.End.S + after, h.End.R + slope*after},
	}
}

// external makes the true thread of a male end that must have run out before room, and returns the stations of the
// plain end and of the uncut one, up to stop.
func (m *maker) external(port string, at, dir [3]float64, room, stop float64) (plain, stock []Station) {
	h, root, crest := m.base(port, at, dir, m.mm(DimPitchDia, port)/2, m.mm(DimTaper, port)/2)
	od := m.mm(DimOD, port) / 2
	length, vanish, ring := m.mm(DimThreadLength, port), m.mm(DimVanish, port), plainRing*h.Pitch
	if length+vanish+ring > room {
		vanish = math.Max(shoulderRunOut*h.Pitch, room-ring-length)
		length = room - ring - vanish
	}
	ranOut := length + vanish
	h.To, h.Before = ranOut, cutBeyond
	full := ranOut // where the crests reach the outside
	if crest.Slope > 0 {
		full = math.Max(ranOut, (od-crest.R)/crest.Slope)
	}
	h.End = Station{math.Min(full+ring, room), od}
	switch {
	case crest.at(ranOut) >= od || crest.Slope > 0 && full+ring <= room:
		h.To = h.End.S
	case room < math.Inf(1) && stop >= room: // the crests end at the head, still below the outside
		h.To, h.End = room, Station{room, math.Min(od, crest.at(room))}
		od = h.End.R
	default: // a parallel thread: a small step up to the outside
		h.End.S = ranOut + ring
	}
	if h.To == h.End.S && stop >= room && room-h.To < sliverMM { // no sliver of plain barrel before the head
		h.To, h.End.S = room, room
	}
	h.Start = Station{0, root.R - mouthOver*h.Pitch}
	h.Floor = []Line{root, through(length, root.at(length), (od-root.at(length))/vanish)}
	h.Ceiling = []Line{crest, {R: od}, through(0, h.Start.R, 1)}
	m.helix.list = append(m.helix.list, h)
	return m.ends(h.Start, h.End, stop), m.ends(Station{0, od}, Station{h.End.S, od}, stop)
}

// ends are the stations of a male end up to stop.
func (m *maker) ends(start, end Station, stop float64) []Station {
	out := []Station{start, end}
	if stop > end.S {
		out = append(out, Station{stop, end.R})
	}
	return out
}

// male adds a male end: from at along dir, up to stop; its thread must have run out before room.
func (m *maker) male(port string, at, dir [3]float64, room, stop float64) {
	p := Primitive{Form: Turned, At: at, Dir: dir, Thread: port}
	if m.helix == nil {
		p.Profile = m.maleProfile(port, stop)
		m.add(p)
		return
	}
	var stock []Station
	p.Profile, stock = m.external(port, at, dir, room, stop)
	m.helix.stock[len(m.s.Add)] = stock
	m.add(p)
}

// trueSocket cuts the plain cone of a socket with a true thread and returns the station of its inner end. It goes on
// inwards when the bore behind it is wider.
func (m *maker) trueSocket(p place) Station {
	reach := m.mm(DimReach, p.name)
	end := m.internal(p)
	h := m.helix.list[len(m.helix.list)-1]
	m.cut(Primitive{
		Form: Turned, At: h.At, Dir: h.Dir, Thread: p.name, Profile: straight(h, h.Before, h.After),
	})
	return Station{reach - end.S, end.R}
}

// truePipe adds a pipe with true threads at both ends, which leave a plain ring between them.
func (m *maker) truePipe(length float64) {
	room := func(port string) float64 { // up to the middle, or up to the other thread where that is shorter
		other := "a"
		if port == "a" {
			other = "b"
		}
		need := m.mm(DimThreadLength, other) + m.mm(DimVanish, other) + plainRing*m.mm(DimPitch, other)
		return math.Max(length/2, length-need) - plainRing*m.mm(DimPitch, port)/2
	}
	a, _ := m.external("a", [3]float64{}, up, room("a"), 0)
	b, _ := m.external("b", [3]float64{0, 0, length}, down, room("b"), 0)
	profile := append([]Station(nil), a...)
	for i := len(b) - 1; i >= 0; i-- {
		profile = append(profile, Station{length - b[i].S, b[i].R})
	}
	od := m.mm(DimOD, "") / 2
	m.helix.stock[len(m.s.Add)] = []Station{{0, od}, {length, od}}
	m.add(Primitive{Form: Turned, Dir: up, Thread: "ab", Profile: profile})
}
