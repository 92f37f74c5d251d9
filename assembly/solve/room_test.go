package solve

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// holds tells whether the material of a part is at a place of the design, in inches.
func holds(t *testing.T, a *assembly.Assembly, id string, x, y, z float64) bool {
	t.Helper()
	p := part(t, a, id)
	for _, b := range p.Boxes {
		if p.Pose.Box(b).Contains(in(x, y, z)) {
			return true
		}
	}
	return false
}

const roomDesign = `
pipe: 1/2
finish: black wax
room:
  left: 0 at z 0, 2 at z 100
  right: left + 59 1/2 at z 0, left + 59 1/2 at z 100
  back: {made: brick, baseboard: 5 x 5/8}
  floor: {face: 0, joists: x every 16 from 4 wide 2}
  zones:
    hatch: opening, floor, x 30 to 54, y 30 to 50
    chest: obstacle, x 0 to 20, y 0 to 4, z 6 to 30
  air: damp
  way-in: 30
cleats:
  k: on left, y 2 to 22, z 60 to 66, 3/4 in oak
boards:
  shelf: {size: 10 x 8 x 1, at: "x2.z, left + z, chest.top", of: treated pine}
points:
  x2: 12, 12, 40
  a: k, 12, 63
  b: a, x + 20
  c: b, z = floor
  on-chest: 15, chest.front, 20
  tip: on-chest, y + 12
  s: 45, 32, shelf.top
  s2: s, z + 10
  low: 5, 40, floor
  low-2: low, z + 3, x + 9
runs:
  ab: a to b to c
  cd: on-chest to tip
  ss: s to s2
loads:
  b: 5 lb, 10 N right
  ab: 12 lb/ft anywhere
parts:
  1/2: {price: "4.10 at 12, 21.50 at 120", have: "30, 44"}
  1/2 elbow: {price: 1.20 EUR, have: 2, finish: galvanised}
order:
  - ab before ss
  - shelf, k, b last
`

// TestRoom checks what stands in a room: a leaning wall, a cleat on it, a hatch, a chest, a baseboard, joists.
func TestRoom(t *testing.T) {
	a := solved(t, roomDesign)
	assertSound(t, a)
	// the wall is at 63/50 at z 63, the cleat 3/4 thick
	assertAt(t, a, "a", 63./50+0.75, 12, 63)
	assertAt(t, a, "low-2", 14, 40, 3)
	assertAt(t, a, "on-chest", 15, 4, 20)
	assert.True(t, holds(t, a, "room", -1, 10, 0.5), "behind the left wall")
	assert.True(t, holds(t, a, "room", 1.15, 10, 60), "the wall leans: 1.2 at z 60")
	assert.False(t, holds(t, a, "room", 1.3, 10, 60))
	assert.True(t, holds(t, a, "room", 61.6, 10, 99), "the right wall is as wide from the left one at every height")
	assert.False(t, holds(t, a, "room", 61.4, 10, 99))
	assert.False(t, holds(t, a, "room", 40, 40, -1), "in the hatch")
	assert.True(t, holds(t, a, "room", 40, 20, -1))
	assert.True(t, holds(t, a, "room", 10, 2, 20), "the chest")
	assert.True(t, holds(t, a, "room", 40, 0.5, 3), "the baseboard")
	assert.True(t, holds(t, a, "k", 1.22+0.7, 12, 61) && !holds(t, a, "k", 1.22+0.8, 12, 61) && !holds(t, a, "k", 1.5, 23, 61), "the cleat")
	assert.Equal(t, "oak", part(t, a, "k").Material)
	assert.Equal(t, assembly.Face, joint(t, a, "k", "room").Kind)
	assert.Equal(t, assembly.Face, joint(t, a, "a", "k").Kind)
	assert.Equal(t, assembly.Face, joint(t, a, "on-chest", "room").Kind, "a flange on the chest")
	assert.Equal(t, [2]float64{30 * 25.4, 30 * 25.4}, a.Room.WayInMM)
	names := map[string]assembly.Surface{}
	for _, s := range a.Room.Surfaces {
		names[s.Name] = s
		assert.Equal(t, "damp", s.Air)
		assert.NotEmpty(t, s.Boxes, s.Name)
	}
	require.Len(t, names, 5, "left, right, back, floor and the cleat; no front, no ceiling")
	require.NotEmpty(t, names["floor"].Timbers)
	for i, j := range names["floor"].Timbers {
		assert.InDelta(t, names["floor"].Timbers[0].Middle+float64(i)*16*25.4, j.Middle, 1e-6)
		assert.Equal(t, 2*25.4, j.Width)
	}
}

// TestBoardFormulas: a board's corner may hang on points, surfaces at its place, its own coordinates, and obstacles.
func TestBoardFormulas(t *testing.T) {
	a := solved(t, roomDesign)
	shelf := part(t, a, "shelf")
	// x is the z of x2: 40; y is the left wall at z 30 (0.6) and 30 more; z the top of the chest.
	assert.True(t, shelf.Pose.Origin.Near(in(40, 0.6+30+8, 30), 1e-6), "%v", shelf.Pose.Origin.Mul(1/25.4))
	assert.Equal(t, "treated pine", shelf.Material)
	assert.Equal(t, assembly.Face, joint(t, a, "s", "shelf").Kind)
	lone := solved(t, "pipe: 1/2\npoints:\n  a: 0, 9, 50\n  b: 0, 9, 80\nruns:\n  r: a to b\nboards:\n  s: {size: 9 x 9 x 1, at: \"30, 30, 30\"}\n")
	assert.Equal(t, []string{"s"}, finding(t, lone, "FLOATING").Parts)
	// 80 cubic inches of eastern white pine, Wood Handbook: specific gravity 0.35, 392 kg/m3 at 12 % moisture
	assert.InDelta(t, 80*25.4*25.4*25.4*392e-9, shelf.MassKG, 1e-6)
}

// TestCarried: loads, wishes, prices and finishes come out resolved to parts.
func TestCarried(t *testing.T) {
	a := solved(t, roomDesign)
	require.Len(t, a.Loads, 3)
	assert.Equal(t, []string{"b"}, a.Loads[0].Parts)
	assert.InDelta(t, 5*4.4482216152605, a.Loads[0].Newtons, 1e-9)
	assert.Equal(t, geom.V(1, 0, 0), a.Loads[1].Dir)
	assert.True(t, a.Loads[2].Anywhere)
	assert.Equal(t, []string{"ab.1", "ab.2"}, a.Loads[2].Parts)
	require.Len(t, a.Wishes, 2)
	assert.Equal(t, assembly.Wish{Kind: "before", A: []string{"ab.1", "ab.2"}, B: []string{"ss.1"}, Text: "ab before ss", At: a.Wishes[0].At}, a.Wishes[0])
	assert.Equal(t, []string{"shelf", "k", "b"}, a.Wishes[1].A)
	assert.Equal(t, "galvanised", part(t, a, "b").Finish)
	assert.Equal(t, "black, wax", part(t, a, "ab.1").Finish)
	assert.Equal(t, "black, wax", part(t, a, "c").Finish)
	var pipes, elbows int
	for _, p := range a.Prices {
		switch p.Kind {
		case standard.Pipe:
			pipes++
		case standard.Elbow:
			elbows++
			assert.Equal(t, 1.2, p.Amount)
			assert.Equal(t, "EUR", p.Unit)
			assert.Equal(t, 2, p.Have)
		}
	}
	assert.Equal(t, [2]int{4, 1}, [2]int{pipes, elbows}, "two prices and two pieces in hand")
}

// TestMirroredBoard: a board in a mirrored copy is the mirror image of the drawn one, and so are its faces.
func TestMirroredBoard(t *testing.T) {
	a := solved(t, `
pipe: 1/2
room: {right: 100}
groups:
  g:
    copies: {one: here, two: mirror x at 50}
    boards:
      b: {size: 10 x 8 x 1, at: "left, 5, 20"}
      c: {size: 4 x 8 x 1, at: "b.right + 1, 5, 20"}
    points:
      p: b.right, 9, 20.5
      q: p, x + 30
      r: 3, 9, b.top
      s: r, z + 10
    runs:
      pq: p to q
      rs: r to s
`)
	assert.True(t, part(t, a, "one.b").Pose.Origin.Near(in(0, 13, 20), 1e-6))
	assert.True(t, part(t, a, "two.b").Pose.Origin.Near(in(90, 13, 20), 1e-6), "against the right wall")
	assert.True(t, part(t, a, "one.c").Pose.Origin.Near(in(11, 13, 20), 1e-6))
	assert.True(t, part(t, a, "two.c").Pose.Origin.Near(in(85, 13, 20), 1e-6))
	assertAt(t, a, "one.p", 10, 9, 20.5)
	assertAt(t, a, "two.p", 90, 9, 20.5)
	assertAt(t, a, "two.q", 60, 9, 20.5)
	assert.Equal(t, "two.b", joint(t, a, "two.p", "two.b").B.Part)
	assert.Equal(t, "two.b", joint(t, a, "two.r", "two.b").B.Part)
}

// TestAvoidBored: two ways round are offered for a board that would have to be bored.
func TestAvoidBored(t *testing.T) {
	a := solved(t, `
pipe: 1/2
avoid: bored, union
boards:
  shelf: {size: 20 x 10 x 1, at: "0, 0, 20"}
points:
  a: 5, 5, floor
  b: a, z = 40
  c: 50, 5, floor
  d: c, z = 40
runs:
  r: a to b
  s: c to union to d
`)
	var got []assembly.Finding
	for _, f := range a.Findings {
		if f.Code == "AVOIDED" {
			got = append(got, f)
		}
	}
	require.Len(t, got, 2)
	assert.Equal(t, []string{"shelf"}, got[0].Parts)
	assert.Len(t, got[0].Repairs, 2)
	assert.Contains(t, got[1].Text, "union")
}

// TestFormulaNames checks dimensions of the main size in formulas against the tables they come from: 3/4 pipe is 1.05
// across (ASME B36.10M), goes in 9/16 (the trade's normal engagement), elbows and tees measure 1.31 to the centre
// (ASME B16.3), couplings 1.52.
func TestFormulaNames(t *testing.T) {
	a := solved(t, `
pipe: 3/4
points:
  a: pipe.od, pipe.engagement, tee.centre-to-end
  b: elbow.takeout, coupling.length, coupling.takeout
  c: 0, 0, 50
  d: 0, 0, 80
runs:
  r: c to d
`)
	assertAt(t, a, "a", 1.05, 0.5625, 1.31)
	assertAt(t, a, "b", 1.31-0.5625, 1.52, 1.52-2*0.5625)
}
