package standard

import (
	"fmt"
	"math"
)

// Form is the form of a primitive.
type Form string

// The forms of primitives. All lengths in mm, all angles in degrees.
const (
	// Turned is a solid of revolution about the line from At along Dir: straight between the points of Profile, which
	// are (distance along Dir, radius) with distances rising (equal ones make a step), closed by flat ends.
	Turned Form = "turned"
	// Bend is the tube of Radius round a line that goes straight for Lead, along an arc of radius BendRadius, and straight
	// again for Trail, with flat ends. The arc begins at At in the direction Dir (so the lead comes from behind At) and
	// turns towards Side by TurnDeg.
	Bend Form = "bend"
	// Ball is a ball of Radius about At.
	Ball Form = "ball"
	// Prism is a regular prism of Flats sides, Across flats, from At along Dir for Length; Side is the direction square
	// to Dir in which one flat faces.
	Prism Form = "prism"
	// Block is a box with its centre at At: Half[0] to each side along Dir, Half[1] along Side, Half[2] along Dir x Side.
	Block Form = "block"
	// Star is the union of Rods that begin at At, each in a ball about At, with the concave corners between them rounded by
	// Fillet: what no ball of that radius that is free of the rods can reach.
	Star Form = "star"
	// Flare is what rounds the corner between a flat face through At, square to Dir, and a barrel of Radius that stands on it
	// along Dir: a ring as wide and as high as Fillet with a quarter of a circle for its section. It goes on within the
	// barrel and below the face.
	Flare Form = "flare"
)

// Rod is one rod of a star, cut flat at its end.
type Rod struct {
	Dir            [3]float64 // unit
	Length, Radius float64
}

// Primitive is one simple solid. Which fields count depends on Form.
type Primitive struct {
	Form       Form
	At         [3]float64
	Dir        [3]float64 // unit
	Side       [3]float64 // unit, square to Dir
	Profile    []Station  // Turned
	Radius     float64    // Bend, Ball
	BendRadius float64    // Bend
	TurnDeg    float64    // Bend
	Lead       float64    // Bend
	Trail      float64    // Bend
	Flats      int        // Prism: 4 or 6
	Across     float64    // Prism
	Length     float64    // Prism
	Half       [3]float64 // Block
	Rods       []Rod      // Star
	Fillet     float64    // Star, Flare
	Thread     string     // Turned: the port whose thread this surface is, or ""; helical threads replace it
}

// Station is one point of a turned profile.
type Station struct{ S, R float64 }

// Solid is a part's metal: the union of Add less the union of Cut, and bodies that lie loose about that without touching it
// (the nut of a union). Cuts may reach beyond the metal.
type Solid struct {
	Add   []Primitive
	Cut   []Primitive
	Loose []Solid
}

// cutBeyond is how far cuts reach past a flat face of the metal, so that no skin of zero thickness is left.
const cutBeyond = 1.0

// weldMM is how far pieces of one body reach into each other: faces that only touched would leave a sheet of zero
// distance inside the metal.
const weldMM = 1.0

// SolidOf returns the exact solid of a part with plain threads. Half is "a" or "b" of a union, else "". It fails for
// kinds that are boxes (board, cleat, room) and for dimensions that are missing.
func SolidOf(kind Kind, half string, d Dims) (Solid, error) {
	m := maker{kind: kind, d: d}
	if err := m.make(half); err != nil {
		return Solid{}, err
	}
	return m.s, nil
}

// make gathers the primitives of a part.
func (m *maker) make(half string) error {
	switch m.kind {
	case Pipe:
		m.pipe()
	case Tee, Cross, SideTee, SideElbow:
		m.legs()
	case Elbow, Elbow45, StreetElbow, StreetElbow45:
		m.elbow()
	case Coupling, Reducer, RightLeft, LongScrew:
		m.legs()
	case Union:
		m.union(half)
	case Cap:
		m.cap()
	case Flange:
		m.flange()
	case Plug:
		m.plug()
	case Bushing:
		m.bushing()
	case Glide, Caster, Pad:
		m.foot()
	case Strap:
		m.strap()
	default:
		return fmt.Errorf("a %s is not a turned part", m.kind)
	}
	if len(m.missing) > 0 {
		return fmt.Errorf("%s: no dimension %s", m.kind, m.missing[0])
	}
	return nil
}

// maker gathers primitives.
type maker struct {
	kind    Kind
	d       Dims
	s       Solid
	missing []string
	helix   *threads // true threads are made too; nil: plain ones
}

// mm returns a dimension and notes when there is none.
func (m *maker) mm(dim, port string) float64 {
	if port != "" {
		dim += "." + port
	}
	f, ok := m.d[dim]
	if !ok || math.IsNaN(f.MM) || math.IsInf(f.MM, 0) {
		m.missing = append(m.missing, dim)
	}
	return f.MM
}

func (m *maker) add(p Primitive) {
	if !p.isEmpty() {
		m.s.Add = append(m.s.Add, p)
	}
}

func (m *maker) cut(p Primitive) {
	if !p.isEmpty() {
		m.s.Cut = append(m.s.Cut, p)
	}
}

// isEmpty tells whether a primitive has no volume.
func (p Primitive) isEmpty() bool {
	switch p.Form {
	case Turned:
		return len(p.Profile) < 2 || p.Profile[len(p.Profile)-1].S <= p.Profile[0].S
	case Prism:
		return p.Length <= 0
	case Flare:
		return p.Fillet <= 0
	}
	return false
}

// along returns at + dir x s.
func along(at, dir [3]float64, s float64) [3]float64 {
	return [3]float64{at[0] + dir[0]*s, at[1] + dir[1]*s, at[2] + dir[2]*s}
}

// neg returns -v.
func neg(v [3]float64) [3]float64 { return [3]float64{-v[0], -v[1], -v[2]} }

// rod is a cylinder on the line from the origin along dir, from s0 to s1.
func rod(dir [3]float64, s0, s1, diameter float64) Primitive {
	return Primitive{Form: Turned, Dir: dir, Profile: []Station{{s0, diameter / 2}, {s1, diameter / 2}}}
}

// opening cuts the female thread of a port and the bore behind it, from start (distance from the origin along the
// port's axis) to the face. The narrower of the two runs on into the wider, so that no face lies inside.
func (m *maker) opening(p place, start float64) {
	inner := m.socket(p)
	bore := m.mm(DimBore, p.name)
	if inner.R > bore/2 {
		m.cut(rod(p.dir, start, inner.S+weldMM, bore))
		return
	}
	m.cut(rod(p.dir, start, inner.S, bore))
}

// socket cuts the female thread of a port and returns the station of its inner end. It runs on inwards when the bore
// behind it is wider.
func (m *maker) socket(p place) Station {
	if m.helix != nil {
		return m.trueSocket(p)
	}
	reach, depth := m.mm(DimReach, p.name), m.mm(DimThreadLength, p.name)
	dia, taper := m.mm(DimPitchDia, p.name), m.mm(DimTaper, p.name)
	at := func(t float64) Station { return Station{reach - t, (dia - taper*t) / 2} }
	inner := at(depth)
	deep := depth
	if inner.R <= m.mm(DimBore, p.name)/2 {
		deep += weldMM
	}
	m.cut(Primitive{Form: Turned, Dir: p.dir, Thread: p.name, Profile: []Station{at(deep), at(-cutBeyond)}})
	return inner
}

// maleProfile returns the stations of a male thread from its end inwards: (distance from the end, radius), up to stop.
func (m *maker) maleProfile(port string, stop float64) []Station {
	dia, taper := m.mm(DimPitchDia, port), m.mm(DimTaper, port)
	length, vanish, od := m.mm(DimThreadLength, port), m.mm(DimVanish, port), m.mm(DimOD, port)
	at := func(s float64) float64 {
		r := dia + taper*math.Min(s, length)
		if s > length && vanish > 0 {
			r += (od - r) * math.Min(1, (s-length)/vanish)
		}
		return math.Min(r, od) / 2
	}
	out := []Station{{0, at(0)}}
	for _, s := range []float64{length, length + vanish, stop} {
		if last := out[len(out)-1].S; s > last && s <= stop {
			out = append(out, Station{s, at(s)})
		}
	}
	if last := out[len(out)-1].S; last < stop {
		out = append(out, Station{stop, at(stop)})
	}
	return out
}

// shell adds the body and band of a female port, from start (distance from the origin) outwards.
func (m *maker) shell(p place, start float64) {
	reach := m.mm(DimReach, p.name)
	m.add(rod(p.dir, start, reach, m.mm(DimBodyOD, p.name)))
	m.band(p)
}

// band adds the band of a female port.
func (m *maker) band(p place) {
	reach := m.mm(DimReach, p.name)
	m.add(rod(p.dir, reach-m.mm(DimBandWidth, p.name), reach, m.mm(DimBandOD, p.name)))
}

// legs makes bodies whose ports' axes all begin at the origin. A straight pair that begins them is one run.
func (m *maker) legs() {
	ports := layout[m.kind]
	switch m.kind {
	case SideElbow:
		m.knuckle()
		return
	case Tee, Cross, SideTee:
		m.star(ports)
		m.runBore(ports[0], ports[1])
	default:
		m.run(ports[0], ports[1])
	}
	for _, p := range ports[2:] {
		m.opening(p, 0)
	}
}

// star adds the bodies of legs that meet at the origin, rounded where they meet, and their bands. A male leg ends as a
// shank, a little thicker than its thread, just beyond what is rounded. It returns how far out that is, 0 without a male leg.
func (m *maker) star(ports []place) (shank float64) {
	body := Primitive{Form: Star, Fillet: FilletMM}
	male := -1
	for i, p := range ports {
		if isMale(m.kind, p.name) {
			male = i
			body.Rods = append(body.Rods, Rod{p.dir, 1, m.mm(DimOD, p.name)/2 + ShankMM})
			continue
		}
		body.Rods = append(body.Rods, Rod{p.dir, m.mm(DimReach, p.name), m.mm(DimBodyOD, p.name) / 2})
	}
	if male >= 0 {
		shank = body.shank(&body.Rods[male], m.shankRoom(ports[male].name))
	}
	m.add(body)
	for _, p := range ports {
		if !isMale(m.kind, p.name) {
			m.band(p)
		}
	}
	return shank
}

// shankRoom is how far from the origin the shank of a male leg may reach: the thread must have run out before.
func (m *maker) shankRoom(port string) float64 {
	return m.mm(DimReach, port) - m.mm(DimThreadLength, port) - shoulderRunOut*m.mm(DimPitch, port)
}

// run makes two legs in line as one body. Of unequal legs the thinner reaches into the thicker.
func (m *maker) run(a, b place) {
	da, db := m.mm(DimBodyOD, a.name), m.mm(DimBodyOD, b.name)
	if da == db {
		m.add(rod(b.dir, -m.mm(DimReach, a.name), m.mm(DimReach, b.name), da))
		m.band(a)
		m.band(b)
	} else {
		m.shell(a, 0)
		m.shell(b, -weldMM)
	}
	m.runBore(a, b)
}

// runBore cuts the threads of two ports in line and one bore through the middle: both have the same (the narrower of the
// two).
func (m *maker) runBore(a, b place) {
	if m.helix != nil && m.kind == LongScrew { // its running thread goes right through
		m.rightThrough(a.name, along([3]float64{}, a.dir, m.mm(DimReach, a.name)), neg(a.dir), m.mm(DimPitchDia, a.name), 0,
			m.mm(DimReach, a.name)+m.mm(DimReach, b.name))
		return
	}
	ia, ib := m.socket(a), m.socket(b)
	bore := m.mm(DimBore, a.name)
	m.cut(rod(b.dir, -m.boreEnd(ia, bore), m.boreEnd(ib, bore), bore))
}

// boreEnd is where a bore ends that meets a thread whose inner end is s.
func (m *maker) boreEnd(s Station, bore float64) float64 {
	if s.R > bore/2 {
		return s.S + weldMM
	}
	return s.S
}

// elbow makes a bend with its legs, or, when it has no bend, legs that meet at a ball.
func (m *maker) elbow() {
	radius, turn := m.mm(DimBendRadius, ""), turnDeg(m.kind)
	if radius == 0 {
		m.knuckle()
		return
	}
	start := radius * math.Tan(turn/2*math.Pi/180)
	if m.helix != nil {
		m.helix.bend = start
	}
	a, b := layout[m.kind][0], layout[m.kind][1]
	tube := Primitive{
		Form: Bend, At: along([3]float64{}, a.dir, start), Dir: neg(a.dir), Side: front,
		BendRadius: radius, TurnDeg: turn,
	}
	body, bore := tube, tube
	body.Radius, bore.Radius = m.mm(DimBodyOD, "a")/2, m.mm(DimBore, "a")/2
	body.Lead = m.mm(DimReach, "a") - start
	m.band(a)
	bore.Lead = math.Max(0, m.boreEnd(m.socket(a), 2*bore.Radius)-start)
	if isMale(m.kind, b.name) {
		m.spigot(b, start-weldMM, m.mm(DimReach, "b")-start)
		bore.Trail = m.mm(DimReach, "b") - start + cutBeyond
	} else {
		body.Trail = m.mm(DimReach, "b") - start
		m.band(b)
		bore.Trail = math.Max(0, m.boreEnd(m.socket(b), 2*bore.Radius)-start)
	}
	m.add(body)
	m.cut(bore)
}

// knuckle makes legs that begin at the origin, in a ball as wide as the first: a wide thread would run into a bend.
func (m *maker) knuckle() {
	ports := layout[m.kind]
	shank := m.star(ports)
	m.cut(Primitive{Form: Ball, Radius: m.mm(DimBore, "a") / 2})
	for _, p := range ports {
		if isMale(m.kind, p.name) {
			reach := m.mm(DimReach, p.name)
			m.spigot(p, 0, reach-shank)
			m.cut(rod(p.dir, 0, reach+cutBeyond, m.mm(DimBore, p.name)))
			continue
		}
		m.opening(p, 0)
	}
}

// spigot makes a male end from start out to its face; its thread has room up to a distance from the face.
func (m *maker) spigot(p place, start, room float64) {
	reach := m.mm(DimReach, p.name)
	m.male(p.name, along([3]float64{}, p.dir, reach), neg(p.dir), room, reach-start)
}

// union makes one half. The seat of half b is a cone whose wide end lies at the origin, where half a ends; it stands in that of
// half a, which goes on a little below it. Above the cone half b keeps off a little, so that the halves touch there and nowhere
// else. The nut of half b is a body of its
// own: it turns on the shoulder behind the seat, with the play that a print needs all round, and reaches over the collar of
// half a. The thread under it is left plain: no table gives it.
func (m *maker) union(half string) {
	bore, body := m.mm(DimBore, half)/2, m.mm(DimBodyOD, half)/2
	wide, deep := bore+seatOuter*(body-bore), (seatOuter-seatInner)*(body-bore)
	seat := func(from float64, to Station) Primitive {
		return Primitive{Form: Turned, Dir: up, Profile: []Station{{from, wide + from}, {0, wide}, to}}
	}
	switch half {
	case "a":
		p := layout[Union][0]
		m.shell(p, 0)
		m.opening(p, -cutBeyond)
		m.add(rod(down, 0, m.mm(DimCollarLength, ""), m.mm(DimCollarOD, "")))
		m.cut(seat(-deep-math.Min(seatFreeMM, seatInner*(body-bore)/2), Station{cutBeyond, wide + cutBeyond}))
	case "b":
		shoulder := m.mm(DimShoulder, "")
		m.shell(layout[Union][1], seatFreeMM)
		m.opening(layout[Union][1], -deep-cutBeyond)
		m.add(rod(up, seatFreeMM, shoulder, m.mm(DimCollarOD, "")))
		m.add(seat(-deep, Station{shoulder, wide}))
		m.s.Loose = append(m.s.Loose, m.nut(shoulder, body))
	default:
		m.missing = append(m.missing, "half")
	}
}

// nut makes the nut of a union: six flats, a bore over collar and shoulder, and a lip behind the shoulder.
func (m *maker) nut(shoulder, body float64) Solid {
	over, back := m.mm(DimNutOver, ""), m.mm(DimNutBack, "")
	wide, hole, lip := m.mm(DimNutBore, "")/2, body+nutPlayMM/2, shoulder+nutPlayMM/2
	return Solid{
		Add: []Primitive{{
			Form: Prism, At: [3]float64{0, 0, -over}, Dir: up, Side: right, Flats: 6,
			Across: m.mm(DimAcross, ""), Length: over + back,
		}},
		Cut: []Primitive{{Form: Turned, Dir: up, Profile: []Station{
			{-over - cutBeyond, wide}, {lip, wide}, {lip, hole}, {back + cutBeyond, hole},
		}}},
	}
}

// cap makes one leg that is closed at the top.
func (m *maker) cap() {
	height := m.mm(DimHeight, "")
	m.shell(layout[Cap][0], -height)
	m.opening(layout[Cap][0], m.mm(DimWall, "")-height)
}

// flange makes plate, hub, thread and screw holes.
func (m *maker) flange() {
	height, plate := m.mm(DimHeight, ""), m.mm(DimPlate, "")
	m.add(rod(up, 0, plate, m.mm(DimAcross, "")))
	m.add(rod(up, 0, height, m.mm(DimHubOD, "")))
	m.add(m.hubFlare())
	dia, taper := m.mm(DimPitchDia, "a"), m.mm(DimTaper, "a")
	if m.helix != nil {
		m.rightThrough("a", along([3]float64{}, up, height), down, dia, -taper/2, height)
	} else {
		at := func(z float64) Station { return Station{z, (dia - taper*(height-z)) / 2} }
		m.cut(Primitive{Form: Turned, Dir: up, Thread: "a", Profile: []Station{at(-cutBeyond), at(height + cutBeyond)}})
	}
	for _, c := range FlangeHoles(m.d) {
		hole := rod(up, -cutBeyond, plate+cutBeyond, m.mm(DimHole, ""))
		if wide := m.d.MM(DimCountersink, ""); wide > 0 {
			r, over := m.mm(DimHole, "")/2, wide/2+cutBeyond // at 45 degrees to the axis, on beyond the plate
			hole.Profile = []Station{{-cutBeyond, r}, {plate + r - wide/2, r}, {plate + cutBeyond, over}}
		}
		hole.At = [3]float64{c[0], c[1], 0}
		m.cut(hole)
	}
}

// hubFlare rounds the corner between hub and plate as far as the screws leave room.
func (m *maker) hubFlare() Primitive {
	hub, plate := m.mm(DimHubOD, "")/2, m.mm(DimPlate, "")
	hole := math.Max(m.mm(DimHole, ""), m.d.MM(DimCountersink, "")) / 2
	fillet := math.Min(FilletMM, math.Min(m.mm(DimCircle, "")/2-hole-hub-besideMM, m.mm(DimHeight, "")-plate-besideMM))
	if fillet < leastFilletMM {
		fillet = 0
	}
	return Primitive{Form: Flare, At: [3]float64{0, 0, plate}, Dir: up, Radius: hub, Fillet: fillet}
}

// FlangeHoles returns the centres of a flange's screw holes in its part frame: hole k at (k + 1/2) x 360 / holes from X.
func FlangeHoles(d Dims) [][2]float64 {
	n, r := int(math.Round(d.MM(DimHoles, ""))), d.MM(DimCircle, "")/2
	var out [][2]float64
	for k := range n {
		sin, cos := math.Sincos((float64(k) + 0.5) * 2 * math.Pi / float64(n))
		out = append(out, [2]float64{r * cos, r * sin})
	}
	return out
}

// plug makes a solid plug: the thread, then the square.
func (m *maker) plug() {
	reach, length := m.mm(DimReach, "a"), m.mm(DimThreadLength, "a")
	m.male("a", [3]float64{0, 0, -reach}, up, length, length)
	m.add(Primitive{
		Form: Prism, At: [3]float64{0, 0, length - reach - weldMM}, Dir: up, Side: right, Flats: 4,
		Across: m.mm(DimAcross, ""), Length: m.mm(DimHead, "") + weldMM,
	})
}

// bushing makes the male thread, the hexagon and the socket.
func (m *maker) bushing() {
	length, head := m.mm(DimLength, ""), m.mm(DimHead, "")
	m.male("a", [3]float64{0, 0, -length}, up, length-head, length-head+weldMM)
	m.add(Primitive{
		Form: Prism, At: [3]float64{0, 0, -head}, Dir: up, Side: right, Flats: 6,
		Across: m.mm(DimAcross, ""), Length: head,
	})
	m.opening(layout[Bushing][1], -length-cutBeyond)
}

// foot makes glides, casters and pads.
func (m *maker) foot() {
	height := m.mm(DimHeight, "")
	switch m.kind {
	case Caster:
		wheel, width, plate := m.mm(DimWheel, ""), m.mm(DimWheelWidth, ""), m.mm(DimPlate, "")
		m.add(Primitive{
			Form: Turned, At: [3]float64{0, 0, wheel / 2}, Dir: right,
			Profile: []Station{{-width / 2, wheel / 2}, {width / 2, wheel / 2}},
		})
		m.add(rod(up, wheel/2, height-plate/2, m.mm(DimHubOD, "")))
		m.add(rod(up, height-plate, height, m.mm(DimAcross, "")))
	default:
		m.add(rod(up, 0, height, m.mm(DimAcross, "")))
	}
	if m.kind == Pad {
		return
	}
	if long := m.mm(DimStemLength, ""); long > 0 {
		m.add(rod(up, height-math.Min(weldMM, height/4), height+long, m.mm(DimStemOD, "")))
	}
}

// pipe makes a piece of pipe. Its ends may be so near that their threads meet: the smaller diameter holds.
func (m *maker) pipe() {
	length := m.mm(DimLength, "")
	od := m.mm(DimOD, "")
	for _, p := range layout[Pipe] { // the thread of a pipe starts from the pipe's own diameter
		m.d = m.d.with(DimOD+"."+p.name, Figure{MM: od})
	}
	if m.helix != nil {
		m.truePipe(length)
	} else {
		a, b := m.maleProfile("a", length), m.maleProfile("b", length)
		m.add(Primitive{Form: Turned, Dir: up, Thread: "ab", Profile: smaller(a, b, length)})
	}
	m.cut(rod(up, -cutBeyond, length+cutBeyond, m.mm(DimBore, "")))
}

// with returns the dimensions with one more.
func (d Dims) with(name string, f Figure) Dims {
	out := Dims{}
	for k, v := range d {
		out[k] = v
	}
	out[name] = f
	return out
}

// smaller is the pointwise minimum of profile a, measured from one end, and b, measured from the other, of a piece of
// that length. The stations are those of both and the places where they cross.
func smaller(a, b []Station, length float64) []Station {
	var marks []float64
	for _, s := range a {
		marks = append(marks, s.S)
	}
	for _, s := range b {
		marks = append(marks, length-s.S)
	}
	marks = sortedMarks(marks)
	var out []Station
	diff := func(z float64) float64 { return radiusAt(a, z) - radiusAt(b, length-z) }
	put := func(z float64) {
		out = append(out, Station{z, math.Min(radiusAt(a, z), radiusAt(b, length-z))})
	}
	for i, z := range marks {
		put(z)
		if i+1 < len(marks) {
			if d0, d1 := diff(z), diff(marks[i+1]); d0*d1 < 0 {
				put(z + (marks[i+1]-z)*d0/(d0-d1))
			}
		}
	}
	return out
}

// radiusAt is the radius of a profile without steps at s, held beyond its ends.
func radiusAt(p []Station, s float64) float64 {
	for i := 1; i < len(p); i++ {
		if s <= p[i].S {
			t := (s - p[i-1].S) / (p[i].S - p[i-1].S)
			return p[i-1].R + math.Max(0, t)*(p[i].R-p[i-1].R)
		}
	}
	return p[len(p)-1].R
}

// strap makes a U of sheet metal with two ears on the board at x = od / 2.
func (m *maker) strap() {
	od, t, w := m.mm(DimOD, ""), m.mm(DimWall, ""), m.mm(DimBandWidth, "")
	across, hole, circle := m.mm(DimAcross, ""), m.mm(DimHole, ""), m.mm(DimCircle, "")
	r := od / 2
	block := func(x0, x1, y0, y1, z float64) Primitive {
		return Primitive{
			Form: Block, At: [3]float64{(x0 + x1) / 2, (y0 + y1) / 2, 0}, Dir: right, Side: front,
			Half: [3]float64{(x1 - x0) / 2, (y1 - y0) / 2, z},
		}
	}
	m.add(rod(up, -w/2, w/2, od+2*t))
	m.add(block(0, r, -r-t, r+t, w/2))
	m.add(block(r-t, r, -across/2, across/2, w/2))
	m.cut(rod(up, -w, w, od))
	m.cut(block(0, r+t+cutBeyond, -r, r, w))
	m.cut(block(r, r+2*t+cutBeyond, -across, across, w))
	for _, side := range []float64{-1, 1} {
		h := rod(right, r-2*t, r+2*t, hole)
		h.At = [3]float64{0, side * circle / 2, 0}
		m.cut(h)
	}
}
