package solve

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/mend"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// measured are parts with round figures, so that sums can be done in the head: 1-1/4 to the centre, 1/2 of thread.
const measured = `
pipe: 3/4
parts:
  3/4: {engagement: 1/2, centre-to-end: 1 1/4}
  3/4 flange: {height: 3/4}
  3/4 union: {length: 2}
  3/4 coupling: {length: 1 1/2}
  3/4 right-left: {length: 1 1/2}
  3/4 long-screw: {length: 1 1/2}
`

func lengthIn(t *testing.T, a *assembly.Assembly, id string) float64 {
	t.Helper()
	return inches(part(t, a, id).LengthMM)
}

// TestPartsInAPath: a union without cuts sits in the middle of its leg; with cuts where they put it.
func TestPartsInAPath(t *testing.T) {
	a := solved(t, measured+`
points:
  a: left, 5, 40
  b: 40, 5, 40
  c: b, z - 20
runs:
  r: a to union to b
  s: {path: b to right-left to c, cut: 8 then rest}
fittings:
  c: open
`)
	// 40 between the points, the union's middle at 20: a flange takes 1/4, half a union 1/2, an elbow 3/4.
	assert.InDelta(t, 20-0.25-0.5, lengthIn(t, a, "r.1"), 1e-6)
	assert.InDelta(t, 20-0.5-0.75, lengthIn(t, a, "r.2"), 1e-6)
	seat := part(t, a, "r.union-1.a")
	assert.True(t, seat.Pose.Origin.Near(in(20, 5, 40), 1e-6))
	assert.Equal(t, "r.1", joint(t, a, "r.1", "r.union-1.a").A.Part, "half a faces the start of the path")
	assert.Equal(t, "seat", seat.Ports[1].Name)
	// 20 less an elbow 3/4, a coupling of 1-1/2 less twice 1/2, and the 8 that are given; the end is open.
	assert.InDelta(t, 8, lengthIn(t, a, "s.1"), 1e-6)
	assert.InDelta(t, 20-0.75-0.5-8, lengthIn(t, a, "s.2"), 1e-6)
	assert.Equal(t, "a", part(t, a, "s.2").LeftEnd, "the pipe after a right-and-left coupling is cut left-hand")
	one, two := joint(t, a, "s.1", "s.right-left-1"), joint(t, a, "s.2", "s.right-left-1")
	assert.Equal(t, [2]assembly.JointKind{assembly.RightLeft, assembly.RightLeft}, [2]assembly.JointKind{one.Kind, two.Kind})
	assert.Equal(t, [2]string{"right", "left"}, [2]string{one.Hand, two.Hand})
	for _, p := range a.Parts {
		assert.NotEqual(t, "c", p.ID, "an open end has no fitting")
	}
	assertSound(t, a)
}

// TestUnionBesideATee: where a tee sits in the middle of the leg, the union goes beside it.
func TestUnionBesideATee(t *testing.T) {
	a := solved(t, measured+`
points:
  a: left, 5, 40
  b: 40, 5, 40
  m: 20, 5, 40
  n: m, z - 20
runs:
  r: a to union to b
  s: m to n
`)
	require.Equal(t, standard.Tee, part(t, a, "m").Kind)
	// 20 between wall and tee, less 1/4, a union's 1, and 3/4, in two equal pieces.
	assert.InDelta(t, 9, lengthIn(t, a, "r.1"), 1e-6)
	assert.InDelta(t, 9, lengthIn(t, a, "r.2"), 1e-6)
	assertNoFaults(t, a)
	assertSound(t, a)
}

// TestLongScrew: the pipe before it carries the running thread.
func TestLongScrew(t *testing.T) {
	a := solved(t, measured+`
points:
  a: left, 5, 40
  b: 40, 5, 40
runs:
  r: {path: a to long-screw to b, cut: rest}
`)
	assert.Equal(t, "b", part(t, a, "r.1").Running)
	assert.Equal(t, assembly.LongScrew, joint(t, a, "r.1", "r.long-screw-1").Kind)
	assert.Equal(t, assembly.LongScrew, joint(t, a, "r.2", "r.long-screw-1").Kind)
	// a flange takes 1/4, the coupling 1/2, the free end nothing; both pipes share the rest.
	assert.InDelta(t, (40-0.25-0.5)/2, lengthIn(t, a, "r.1"), 1e-6)
	assert.InDelta(t, lengthIn(t, a, "r.1"), lengthIn(t, a, "r.2"), 1e-6)
	assertSound(t, a)
}

// TestClearance: the pipe is cut shorter, the last joint is backed off by as much, and its window of turns opens
// downwards. 14 turns to the inch: 0.1 in is 1.4 turns.
func TestClearance(t *testing.T) {
	a := solved(t, measured+`
room: {right: 40}
points:
  a: left, 5, 40
  b: right, 5, 40
runs:
  r: {path: a to b, clearance: 0.1}
`)
	assert.InDelta(t, 40-0.5-0.1, lengthIn(t, a, "r.1"), 1e-6)
	full, back := joint(t, a, "r.1", "a"), joint(t, a, "r.1", "b")
	assert.InDelta(t, 0.5*25.4, full.EngagementMM, 1e-9)
	assert.InDelta(t, 0.4*25.4, back.EngagementMM, 1e-9)
	assert.InDelta(t, 0.339*14+0.5, full.Turns.Min, 1e-3, "hand-tight (L1 of ASME B1.20.1) and half a turn")
	assert.InDelta(t, 0.4*14, back.Turns.Min-0.0, 0.4, "no more than what is left")
	assert.InDelta(t, min(0.339*14+0.5, 0.4*14), back.Turns.Min, 1e-3)
	assert.InDelta(t, 0.5*14+1, back.Turns.Max, 1e-9, "one turn past the engagement before the clearance")
	assert.Equal(t, []string{"engagement"}, back.Override)
	assertSound(t, a)
}

// TestStreetElbow: its male end takes the place of a pipe, and its length gives the distance.
func TestStreetElbow(t *testing.T) {
	a := solved(t, measured+`
points:
  a: left, 5, 40
  b: a, x + 10
  c: b, z + ?
  d: c, x + 15
runs:
  r: a to b
  s: b to c
  u: c to d
fittings:
  b: street-elbow into s
`)
	street := part(t, a, "b")
	require.Equal(t, standard.StreetElbow, street.Kind)
	male := street.Dims.MM(standard.DimReach, "b")
	// from the street elbow's centre to the end of its male thread, back by the engagement, and on to the elbow's centre
	assert.InDelta(t, male-0.5*25.4+1.25*25.4, a.Points["c"].Z-a.Points["b"].Z, 1e-6)
	assert.Equal(t, "c", joint(t, a, "b", "c").B.Part)
	assert.Zero(t, len(filter(a, "s.1")), "no pipe")
	assertSound(t, a)
}

func filter(a *assembly.Assembly, id string) []assembly.Part {
	var out []assembly.Part
	for _, p := range a.Parts {
		if p.ID == id {
			out = append(out, p)
		}
	}
	return out
}

// TestFeet: what stands and what is screwed, with and without a pad.
func TestFeet(t *testing.T) {
	a := solved(t, measured+`
points:
  a: 5, 5, floor
  b: 15, 5, floor
  c: 25, 5, floor
  d: 35, 5, floor
  e: 45, 5, floor
  a2: a, z + 30
  b2: b, z + 30
  c2: c, z + 30
  d2: d, z + 30
  e2: e, z + 30
runs:
  ra: a to a2
  rb: b to b2
  rc: c to c2
  rd: d to d2
  re: e to e2
fittings:
  b: flange loose
  c: glide
  d: flange pad 3/16 in
  e: cap
`)
	assert.Equal(t, assembly.Face, joint(t, a, "a", "room").Kind)
	assert.Equal(t, assembly.Rest, joint(t, a, "b", "room").Kind)
	assert.True(t, part(t, a, "b").Loose)
	assert.Equal(t, assembly.Rest, joint(t, a, "c", "room").Kind)
	assert.Equal(t, assembly.Face, joint(t, a, "rc.1", "c").Kind, "a glide is pushed into the pipe")
	assert.Equal(t, assembly.Face, joint(t, a, "d", "d.pad-1").Kind)
	assert.Equal(t, assembly.Face, joint(t, a, "d.pad-1", "room").Kind)
	assert.Equal(t, assembly.Rest, joint(t, a, "e", "room").Kind)
	assert.InDelta(t, 30-0.25-3./16, lengthIn(t, a, "rd.1"), 1e-6, "the pad counts in the length")
	assert.InDelta(t, 3./16*25.4, part(t, a, "d").Pose.Origin.Z, 1e-6)
	assert.InDelta(t, 0, part(t, a, "d.pad-1").Pose.Origin.Z, 1e-6)
	assert.InDelta(t, 30, lengthIn(t, a, "ra.1")+0.25, 1e-6, "the free end is the pipe's end; its cap comes on top")
	top := part(t, a, "a2")
	assert.Equal(t, standard.Cap, top.Kind)
	assert.InDelta(t, (30-0.5)*25.4, top.Pose.Origin.Z, 1e-6)
	assertSound(t, a)
}

// TestPlugs: an opening left over gets a plug.
func TestPlugs(t *testing.T) {
	a := solved(t, measured+`
points:
  a: 0, 5, 40
  b: 20, 5, 40
  c: 20, 5, 20
runs:
  r: a to b
  s: b to c
fittings:
  b: tee along r
`)
	tee := part(t, a, "b")
	require.Equal(t, standard.Tee, tee.Kind)
	plug := part(t, a, "b.plug-1")
	assert.True(t, plug.Pose.Z.Near(geom.AxisX, 1e-9), "out of the straight pair's other end")
	assert.Equal(t, "b", joint(t, a, "b.plug-1", "b").B.Part)
	assertSound(t, a)
}

// TestUnnamedPoints: ends of other runs on a leg divide it.
func TestUnnamedPoints(t *testing.T) {
	a := solved(t, measured+`
points:
  foot: 5, 5, floor
  top: foot, z = 60
  low: foot, z = 20
  high: 5 + 1/100, 5, 40
  l2: low, x + 20
  h2: high, y + 20
runs:
  post: foot to top
  rl: low to l2
  rh: high to h2
`)
	assert.InDelta(t, 20-0.25-0.75, lengthIn(t, a, "post.1"), 1e-6)
	assert.InDelta(t, 20-1.5, lengthIn(t, a, "post.2"), 1e-3)
	assert.Equal(t, standard.Tee, part(t, a, "low").Kind)
	assert.Equal(t, standard.Tee, part(t, a, "high").Kind, "1/100 in off the line is on it")
	require.Len(t, a.Closings, 15, "five pipes, three kinds of piece")
	assert.Equal(t, "post.2", a.Closings[3].Part)
	assert.Equal(t, "low to union to high to ", a.Closings[3].Splices[0].Insert)
	assert.Equal(t, "low to long-screw to high to ", a.Closings[5].Splices[0].Insert)
}

// TestClosingsWork: the change that a closing gives does put a union into that very pipe.
func TestClosingsWork(t *testing.T) {
	tree := readFile(t, briefs+"school-cloakroom-rolling-coat-frame.yaml")
	a, errs := Solve(tree)
	require.Empty(t, errs)
	changes := map[string][]assembly.Splice{}
	for _, c := range a.Closings {
		if c.Kind == standard.Union && c.MissingMM == 0 {
			changes[c.Part] = c.Splices
		}
	}
	require.Contains(t, changes, "coat-rail.1")
	require.NotContains(t, changes, "bag-rail.1", "it has a union already")
	file := []byte(strings.Join(tree.Lines, "\n"))
	for id, splices := range changes {
		edits, err := mend.Edits(file, splices)
		require.NoError(t, err)
		require.Len(t, edits, 1)
		e := edits[0]
		text, err := mend.Apply(file, edits)
		require.NoError(t, err)
		b := solved(t, string(text))
		assert.Equal(t, counts(a)["union"]+1, counts(b)["union"], "%s: %s", id, e.New)
		run := id[:len(id)-2]
		mid := part(t, a, id).Pose.Apply(geom.V(0, 0, part(t, a, id).LengthMM/2))
		assert.Less(t, part(t, b, run+".union-1.a").Pose.Origin.Sub(mid).Len(), part(t, a, id).LengthMM/2)
	}
}

// TestBoards: a board on rungs, bored by a post, notched by another at its edge, with a pocket for a tee's collar.
func TestBoards(t *testing.T) {
	a := solved(t, measured+`
points:
  p: 5, 10, floor
  q: 25, 10, floor
  p2: p, z = 60
  q2: q, z = 60
  rp: p, z = 30
  rq: q, z = 30
runs:
  pp: p to p2
  qq: q to q2
  rung: rp to rq
boards:
  shelf:
    size: 24 x 12 x 2
    at: 3, 2, ?
    lies-on: rung
    straps: 1
    of: oak
  crate: {size: 10 x 10 x 10, at: "40, 0, floor"}
  lid: {size: 8 x 8 x 1, at: "41, 1, crate.top"}
loads:
  shelf: books
`)
	shelf := part(t, a, "shelf")
	assert.InDelta(t, 30*25.4+part(t, a, "rung.1").Dims.MM("od", "")/2, shelf.Pose.Origin.Z, 1e-6)
	assert.Equal(t, assembly.Rest, joint(t, a, "shelf", "rung.1").Kind)
	rests := 0
	for _, j := range a.Joints {
		if j.Kind == assembly.Rest && j.A.Part == "shelf" {
			rests++
		}
	}
	assert.Equal(t, 1, rests, "it lies on the rung alone")
	assert.Equal(t, assembly.Bored, joint(t, a, "shelf", "pp.2").Kind)
	assert.Equal(t, assembly.StrapOn, joint(t, a, "shelf.strap-1", "shelf").Kind)
	assert.Equal(t, assembly.StrapOn, joint(t, a, "shelf.strap-1", "rung.1").Kind)
	strap := part(t, a, "shelf.strap-1").Pose
	assert.True(t, strap.X.Near(geom.AxisZ, 1e-9), "towards the board")
	assert.Equal(t, assembly.Rest, joint(t, a, "crate", "room").Kind)
	assert.Equal(t, assembly.Rest, joint(t, a, "lid", "crate").Kind)
	through := 0
	for _, h := range shelf.Holes {
		if h.Depth == 0 {
			through++
		}
	}
	assert.Equal(t, 2, through)
	assert.Greater(t, len(shelf.Boxes), 1, "collars of the tees make pockets")
	oak, err := standard.Wood("oak")
	require.NoError(t, err)
	full := 24 * 12 * 2 * 25.4 * 25.4 * 25.4 * oak.DensityKGM3.Mid() * 1e-9
	assert.Less(t, shelf.MassKG, full)
	assert.Greater(t, shelf.MassKG, 0.9*full)
	assertNoFaults(t, a)
	assertSound(t, a)
}

// TestReducing: a branch of a smaller size.
func TestReducing(t *testing.T) {
	a := solved(t, `
pipe: 3/4
points:
  a: 0, 5, 40
  b: 20, 5, 40
  c: 40, 5, 40
  d: b, z - 20
runs:
  r: a to b to c
  s: {path: b to d, size: 1/2}
`)
	tee := part(t, a, "b")
	assert.Equal(t, assembly.Sizes{"3/4", "3/4", "1/2"}, tee.Size)
	// ASME B16.3, reducing tee 3/4 x 1/2: run 1.20, outlet 1.22 (from memory of the handbooks' tables); 1/2 goes in 1/2.
	assert.InDelta(t, 20-(1.22-0.5), lengthIn(t, a, "s.1"), 1e-6)
	assert.InDelta(t, 20-(1.20-0.5625), lengthIn(t, a, "r.1"), 1e-6)
	assertSound(t, a)
}

// TestAssumptions: defaults that mattered are told with the key that changes them; what the design gives is not.
func TestAssumptions(t *testing.T) {
	keys := func(a *assembly.Assembly) []string {
		var out []string
		for _, x := range a.Assumptions {
			out = append(out, x.Key)
		}
		return out
	}
	rod := keys(solved(t, rodDesign))
	assert.Contains(t, rod, "make-up, or parts: 3/4: engagement")
	assert.Contains(t, rod, "parts: 3/4 flange: height")
	assert.Contains(t, rod, "room: left")
	assert.NotContains(t, rod, "room: right")
	assert.NotContains(t, rod, "room: floor")
	brief := keys(solveBrief(t, "bike-workshop-wheel-rail-hung-from-ceiling"))
	assert.Empty(t, brief)
}

// TestUnionHalves: each half weighs what its own metal does, malleable iron at 7.3 g/cm3 (from memory); together they are
// the union that is bought.
func TestUnionHalves(t *testing.T) {
	a := solved(t, measured+`
points:
  a: 0, 0, 0
  b: 0, 0, 40
runs:
  r: a to union to b
`)
	sum := 0.0
	for _, half := range []string{"a", "b"} {
		p := part(t, a, "r.union-1."+half)
		v, err := standard.Fitting{Kind: p.Kind, Dims: p.Dims}.HalfVolume(half)
		require.NoError(t, err)
		assert.InEpsilon(t, v*standard.IronDensity, p.MassKG, 1e-6)
		sum += p.MassKG
	}
	sizes := []standard.Size{"3/4"}
	whole, err := (&standard.Catalogue{Family: standard.NPT, MakeUp: standard.MakeUpNormal, Overrides: []standard.Override{
		{Sizes: sizes, Key: standard.KeyEngagement, Values: []float64{0.5 * 25.4}},
		{Sizes: sizes, Kind: standard.Union, Key: standard.KeyLength, Values: []float64{2 * 25.4}},
	}}).Fitting(standard.Union, sizes)
	require.NoError(t, err)
	assert.InEpsilon(t, whole.MassKG, sum, 1e-6)
	assert.NotEqual(t, part(t, a, "r.union-1.a").MassKG, part(t, a, "r.union-1.b").MassKG, "the nut is on one of them")
}
