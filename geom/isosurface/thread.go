package isosurface

import (
	"math"
	"slices"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Figures of thread meshes.
const (
	// arcPart is the part of the tolerance that the chords of rounded crests and roots use up, mostArcChords their number
	// at most.
	arcPart       = 0.6
	mostArcChords = 12
	// sectionsPerTurn is how many sections of a thread are looked at to find where its pieces change: well under the
	// 0.07 mm of a crest's flat at a pitch of 1.8 mm, which passes in 1/26 of a turn.
	sectionsPerTurn = 360
	// eventRad is how well the angle of a change is found.
	eventRad = 1e-11
	// mergePart is the part of the tolerance within which vertices of a section become one.
	mergePart = 0.2
	// columnPart is the least distance of two columns, as a part of the tolerance. Changes nearer together share a column:
	// their corners then move along the ridges by that much, which is a thirtieth of it across them.
	columnPart = 1.0
	// ringPart is where the plain ring at either end of a thread lies, as a part of the way to the thread.
	ringPart = 0.5
	// stepPart is the part of the tolerance that the chords round the axis use up: they shorten radii, so diameters are off
	// by twice as much.
	stepPart = 0.45
)

// A thread in a half plane through its axis is a row of straight pieces. Turning the half plane shifts the ridges at a
// constant rate, so that in (angle, s) the surface consists of flat facets with straight borders: its radius is
// piecewise linear. piece is one of them: the points of the half plane at angle a with ns s + nr r = d + turn a.
type piece struct {
	id              int
	ns, nr, d, turn float64
}

// meet returns where two pieces cross at angle a.
func (p piece) meet(q piece, a float64) sdf.Station {
	det := p.ns*q.nr - p.nr*q.ns
	c, e := p.d+p.turn*a, q.d+q.turn*a
	return sdf.Station{S: (c*q.nr - e*p.nr) / det, R: (p.ns*e - q.ns*c) / det}
}

// cone is the piece of a surface of revolution.
func cone(id int, l sdf.Limit) piece { return piece{id: id, ns: -l.Slope, nr: 1, d: l.Radius} }

// Numbers of the pieces that are no limits and no part of the row.
const (
	firstFace = -1
	lastFace  = -2
	firstRim  = -3
	lastRim   = -4
	rowID     = 1000 // pieces of the row count from here
)

// section cuts a zone by half planes.
type section struct {
	sdf.Zone
	lead    float64
	form    []sdf.Station
	floor   []piece
	ceiling []piece
	rims    [2]piece // cylinders before and after the thread
	faces   [2]piece // flat faces at its ends
	marks   []float64
}

// arcChords returns the even number of chords that keep a rounded crest to the tolerance. It turns by what the two flanks
// leave of half a turn.
func arcChords(z sdf.Zone, tol float64) int {
	turn := math.Pi - 2*z.Flank
	n := 2
	for n < mostArcChords && z.Round*(1-math.Cos(turn/float64(2*n))) > arcPart*tol {
		n += 2
	}
	return n
}

func newSection(z sdf.Zone, tol float64) *section {
	c := &section{Zone: z, lead: z.Lead(), form: z.Form(arcChords(z, tol))}
	n := 0
	pieces := func(ls []sdf.Limit) []piece {
		var out []piece
		for _, l := range ls {
			out = append(out, cone(n, l))
			n++
		}
		return out
	}
	c.floor, c.ceiling = pieces(z.Floor), pieces(z.Ceiling)
	c.rims = [2]piece{c.rim(firstRim, z.Start.R), c.rim(lastRim, z.End.R)}
	c.faces = [2]piece{{id: firstFace, ns: 1, d: z.From}, {id: lastFace, ns: 1, d: z.To}}
	all := append(append([]piece(nil), c.floor...), c.ceiling...)
	for i := range all {
		for j := range all[:i] {
			if all[i].ns != all[j].ns {
				c.marks = append(c.marks, all[i].meet(all[j], 0).S)
			}
		}
	}
	slices.Sort(c.marks)
	return c
}

// rim is the cylinder of radius r; it is the same piece as a limit of the thread that is that cylinder.
func (c *section) rim(id int, r float64) piece {
	for _, l := range append(append([]piece(nil), c.floor...), c.ceiling...) {
		if l.ns == 0 && math.Abs(l.d-r) <= sameStation {
			return l
		}
	}
	return cone(id, sdf.Limit{Radius: r})
}

// at returns the radius of a piece of revolution or of the row.
func (p piece) at(s, a float64) float64 { return (p.d + p.turn*a - p.ns*s) / p.nr }

// active returns the piece that is the surface at s, of those in which row is the only piece of the row.
func (c *section) active(row piece, s, a float64) piece {
	floor, ceiling := c.floor[0], c.ceiling[0]
	for _, l := range c.floor[1:] {
		if l.at(s, a) > floor.at(s, a) {
			floor = l
		}
	}
	for _, l := range c.ceiling[1:] {
		if l.at(s, a) < ceiling.at(s, a) {
			ceiling = l
		}
	}
	f, r, t := floor.at(s, a), row.at(s, a), ceiling.at(s, a)
	switch {
	case c.FloorWins && f >= min(r, t):
		return floor
	case c.FloorWins && r < t:
		return row
	case c.FloorWins || t <= max(f, r):
		return ceiling
	case f >= r:
		return floor
	}
	return row
}

// ridge returns the number of the ridge whose period, from the groove before it, holds s at angle a.
func (c *section) ridge(s, a float64) int {
	return int(math.Floor((s - c.Ridge - c.lead*a - c.form[0].S) / c.Pitch))
}

// rowPiece returns piece i of the period of ridge k, and where it begins and ends at angle a.
func (c *section) rowPiece(k, i int, a float64) (p piece, from, to float64) {
	u, v := c.form[i], c.form[i+1]
	slope := (v.R - u.R) / (v.S - u.S)
	mid := c.Ridge + float64(k)*c.Pitch // the middle of the ridge at angle 0
	// r = Cone(s) + u.R + slope (s - mid - lead a - u.S)
	p = piece{
		id: rowID + (k+rowID)*len(c.form) + i, ns: -c.Cone.Slope - slope, nr: 1,
		d: c.Cone.Radius + u.R - slope*(mid+u.S), turn: -slope * c.lead,
	}
	return p, mid + c.lead*a + u.S, mid + c.lead*a + v.S
}

// pieces returns the surface at angle a from Start to End.
func (c *section) pieces(a float64) []piece {
	var out []piece
	add := func(p piece) {
		if len(out) == 0 || out[len(out)-1].id != p.id {
			out = append(out, p)
		}
	}
	c.end(0, a, add)
	last := c.ridge(c.To, a)
	for k := c.ridge(c.From, a); k <= last; k++ {
		for i := range len(c.form) - 1 {
			row, from, to := c.rowPiece(k, i, a)
			if from, to = max(from, c.From), min(to, c.To); from < to {
				c.stretch(row, from, to, a, add)
			}
		}
	}
	c.end(1, a, add)
	return out
}

// end adds what lies before or after the thread.
func (c *section) end(which int, a float64, add func(piece)) {
	circle, at := c.Start, c.From
	if which == 1 {
		circle, at = c.End, c.To
	}
	rim := math.Abs(circle.S-at) > sameStation
	face := math.Abs(c.radius(at, a)-circle.R) > sameStation
	if which == 0 && rim {
		add(c.rims[0])
	}
	if face {
		add(c.faces[which])
	}
	if which == 1 && rim {
		add(c.rims[1])
	}
}

// radius returns the radius of the thread's surface.
func (c *section) radius(s, a float64) float64 {
	k := c.ridge(s, a)
	for i := range len(c.form) - 1 {
		row, _, to := c.rowPiece(k, i, a)
		if s <= to || i == len(c.form)-2 {
			return c.active(row, s, a).at(s, a)
		}
	}
	return 0
}

// stretch adds the pieces between two places on one piece of the row.
func (c *section) stretch(row piece, from, to, a float64, add func(piece)) {
	cuts := []float64{from}
	put := func(s float64) {
		if s > from && s < to {
			cuts = append(cuts, s)
		}
	}
	for _, l := range c.floor {
		put(row.meet(l, a).S)
	}
	for _, l := range c.ceiling {
		put(row.meet(l, a).S)
	}
	for _, s := range c.marks {
		put(s)
	}
	slices.Sort(cuts)
	cuts = append(cuts, to)
	for i := 1; i < len(cuts); i++ {
		if cuts[i] > cuts[i-1] {
			add(c.active(row, (cuts[i]+cuts[i-1])/2, a))
		}
	}
}

// sameIDs tells whether two sections consist of the same pieces.
func sameIDs(p, q []piece) bool {
	return slices.EqualFunc(p, q, func(a, b piece) bool { return a.id == b.id })
}

// changes returns, in rising order, the angles within a turn at which the pieces change.
func (c *section) changes() []float64 {
	var out []float64
	a0, p0 := 0.0, c.pieces(0)
	for i := 1; i <= sectionsPerTurn; i++ {
		a1 := 2 * math.Pi * float64(i) / sectionsPerTurn
		p1 := c.pieces(a1)
		out = c.halve(out, a0, a1, p0, p1)
		a0, p0 = a1, p1
	}
	return out
}

// halve adds the changes between two angles.
func (c *section) halve(out []float64, a0, a1 float64, p0, p1 []piece) []float64 {
	if sameIDs(p0, p1) {
		return out
	}
	mid := (a0 + a1) / 2
	if a1-a0 < eventRad {
		return append(out, mid)
	}
	p := c.pieces(mid)
	return c.halve(c.halve(out, a0, mid, p0, p), mid, a1, p, p1)
}

// columns returns the angles of the vertices: every change, and enough others that chords keep to the tolerance. It
// begins with 0 and ends with a full turn.
func (c *section) columns(widest, tol float64) []float64 {
	turn := 2 * math.Pi
	least := columnPart * tol / widest
	fixed := []float64{0}
	for _, a := range c.changes() {
		if last := fixed[len(fixed)-1]; a-last > least && turn-a > least {
			fixed = append(fixed, a)
		}
	}
	fixed = append(fixed, turn)
	step := turn / float64(turnSteps(widest, stepPart*tol))
	var out []float64
	for i := 1; i < len(fixed); i++ {
		from, to := fixed[i-1], fixed[i]
		n := int(math.Ceil((to-from)/step - 1e-9))
		for k := range n {
			out = append(out, from+(to-from)*float64(k)/float64(n))
		}
	}
	return append(out, turn)
}

// strip is the mesh of a zone between the rings near its two ends, in its own half plane coordinates.
type strip struct {
	*section
	angles []float64       // of the columns, the last one a full turn
	cells  [][]piece       // pieces between neighbouring columns
	points [][]sdf.Station // by column, from ring to ring; the last column is the first
	first  []int32         // number of the first vertex of each column
	left   [][]int32       // by cell: where its corners are in the column before it
	right  [][]int32       // and in the one after it
	tris   [][3]int32
	merge  float64
}

// newStrip meshes a zone. It returns nil when an end of the thread has no plain ring.
func newStrip(z sdf.Zone, tol float64) *strip {
	c := newSection(z, tol)
	t := &strip{section: c, merge: mergePart * tol}
	t.angles = c.columns(max(z.Start.R, z.End.R, c.widest()), tol)
	n := len(t.angles) - 1
	for i := range n {
		t.cells = append(t.cells, c.pieces((t.angles[i]+t.angles[i+1])/2))
	}
	for _, p := range t.cells {
		if len(p) < 2 || p[0].id != t.cells[0][0].id || p[len(p)-1].id != t.cells[0][len(t.cells[0])-1].id {
			return nil
		}
	}
	ends, ok := t.rings()
	if !ok {
		return nil
	}
	t.place(ends)
	t.fill()
	return t
}

// widest returns the greatest radius of the zone's pieces at its ends.
func (c *section) widest() float64 {
	most := 0.0
	for i := range sectionsPerTurn / 10 {
		a := 2 * math.Pi * float64(i) * 10 / sectionsPerTurn
		p := c.pieces(a)
		for k := 1; k < len(p); k++ {
			most = max(most, p[k-1].meet(p[k], a).R)
		}
	}
	return most
}

// corners returns the places where the pieces of a cell follow one another, at angle a, between the two rings.
func (t *strip) corners(cell int, a float64, ends [2]sdf.Station) []sdf.Station {
	p := t.cells[cell]
	out := []sdf.Station{ends[0]}
	for k := 1; k < len(p); k++ {
		out = append(out, p[k-1].meet(p[k], a))
	}
	// A piece that begins a little later, in a column that stands for two, would run back here: it has no length then.
	for k := 2; k < len(out); k++ {
		if out[k].S < out[k-1].S {
			out[k] = out[k-1]
		}
	}
	return append(out, ends[1])
}

// rings returns where the plain rings lie: part of the way from each circle to the nearest place of the thread.
func (t *strip) rings() ([2]sdf.Station, bool) {
	var ends [2]sdf.Station
	for which, from := range [2]sdf.Station{t.Start, t.End} {
		near, at := math.Inf(1), sdf.Station{}
		for i := range t.cells {
			for _, a := range [2]float64{t.angles[i], t.angles[i+1]} {
				p := t.corners(i, a, ends)
				q := p[1]
				if which == 1 {
					q = p[len(p)-2]
				}
				if d := gap(from, q); d < near {
					near, at = d, q
				}
			}
		}
		if near < 2*t.merge {
			return ends, false
		}
		ends[which] = sdf.Station{S: from.S + (at.S-from.S)*ringPart, R: from.R + (at.R-from.R)*ringPart}
	}
	return ends, true
}

// gap is the distance between two stations.
func gap(a, b sdf.Station) float64 { return math.Hypot(a.S-b.S, a.R-b.R) }

// lengths returns how far along the section each corner is. Corners that rounding or merged columns put a little back count
// as where the one before is.
func lengths(p []sdf.Station) []float64 {
	out := make([]float64, len(p))
	for i := 1; i < len(p); i++ {
		out[i] = out[i-1] + gap(p[i-1], p[i])
	}
	return out
}

// place makes the vertices: those of the cells on both sides of each column, near ones as one.
func (t *strip) place(ends [2]sdf.Station) {
	n := len(t.cells)
	t.points = make([][]sdf.Station, n+1)
	t.left, t.right = make([][]int32, n), make([][]int32, n)
	for j := range n {
		before, angle := (j+n-1)%n, t.angles[j]
		if j == 0 {
			angle = t.angles[n]
		}
		a, b := t.corners(before, angle, ends), t.corners(j, t.angles[j], ends)
		t.points[j], t.right[before], t.left[j] = t.column(a, b)
	}
	t.points[n] = t.points[0]
	count := int32(0)
	for j := range n {
		t.first = append(t.first, count)
		count += int32(len(t.points[j]))
	}
	t.first = append(t.first, 0)
}

// column merges the corners of two sections at one angle, and returns for each where it is in the result.
func (t *strip) column(a, b []sdf.Station) (points []sdf.Station, ofA, ofB []int32) {
	la, lb := lengths(a), lengths(b)
	ofA, ofB = make([]int32, len(a)), make([]int32, len(b))
	i, j, from := 0, 0, math.Inf(-1)
	for i < len(a) || j < len(b) {
		useA := j == len(b) || (i < len(a) && la[i] <= lb[j])
		p, l := sdf.Station{}, 0.0
		if useA {
			p, l = a[i], la[i]
		} else {
			p, l = b[j], lb[j]
		}
		if l-from > t.merge {
			points, from = append(points, p), l
		}
		if useA {
			ofA[i] = int32(len(points) - 1)
			i++
		} else {
			ofB[j] = int32(len(points) - 1)
			j++
		}
	}
	return points, ofA, ofB
}

// fill makes the triangles, facing away from the axis.
func (t *strip) fill() {
	for c := range t.cells {
		for k := range t.cells[c] {
			t.facet(c, t.left[c][k], t.left[c][k+1], t.right[c][k], t.right[c][k+1])
		}
	}
}

// facet fills what lies between two columns and the given vertices on them, the shorter diagonal first.
func (t *strip) facet(c int, l, lEnd, r, rEnd int32) {
	for l < lEnd || r < rEnd {
		up := r == rEnd
		if l < lEnd && r < rEnd {
			up = t.across(c, l+1, r) <= t.across(c, l, r+1)
		}
		if up {
			t.tris = append(t.tris, [3]int32{t.first[c] + l, t.first[c+1] + r, t.first[c] + l + 1})
			l++
			continue
		}
		t.tris = append(t.tris, [3]int32{t.first[c] + l, t.first[c+1] + r, t.first[c+1] + r + 1})
		r++
	}
}

// across is the square of the distance between vertex l of column c and vertex r of the next.
func (t *strip) across(c int, l, r int32) float64 {
	p, q := t.points[c][l], t.points[c+1][r]
	cos := math.Cos(t.angles[c+1] - t.angles[c])
	return (p.S-q.S)*(p.S-q.S) + p.R*p.R + q.R*q.R - 2*p.R*q.R*cos
}

// vertices returns all vertices in space.
func (t *strip) vertices() []geom.Vec {
	f := geom.Facing(t.At, t.Dir, t.Side)
	var out []geom.Vec
	for j := range t.cells {
		s, c := math.Sincos(t.angles[j])
		for _, p := range t.points[j] {
			out = append(out, f.Apply(geom.V(p.R*c, p.R*s, p.S)))
		}
	}
	return out
}
