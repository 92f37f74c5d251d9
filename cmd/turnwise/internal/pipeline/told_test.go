package pipeline

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
)

// stops are the texts of all stops of a plan.
func stops(p assembly.Plan) []string {
	var out []string
	for _, f := range p.Findings {
		if f.Severity == assembly.Stop {
			out = append(out, f.Code+": "+f.Text)
		}
	}
	return out
}

// TestOneCauseIsToldOnce: a rail drawn through the floor is told at the points to move, not again pipe by pipe.
func TestOneCauseIsToldOnce(t *testing.T) {
	r := checkText(t, `pipe: 1
room: {back: {face: 0, made: brick}}
points:
  aw: 0, back, 36
  a: aw, y = 3
  b: a, x + 12
  c: b, x + 40, z - 40
  d: c, x + 12
runs:
  rail: aw to a to b to c to d
`)
	got := stops(r.Plan)
	require.Len(t, got, 2, "%v", got)
	assert.Contains(t, got[0], "OUTSIDE: c: rail reaches")
	assert.Contains(t, got[1], "OUTSIDE: d: rail reaches")
	assert.Empty(t, r.Plan.Steps)
}

// TestRoomIsNamedByItsSurface: a text never sends a builder to look for what is wrong anywhere in the room.
func TestRoomIsNamedByItsSurface(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"obstacle", `pipe: 3/4
room:
  zones:
    meter: obstacle, x 28 to 32, y 0 to 14, z 0 to 20
points:
  a: 30, 12, floor
  b: a, z = 50
  c: b, x + 40
  d: c, z = floor
runs:
  r: a to b to c to d
`, "into meter; move it"},
		{"board on the floor", `pipe: 3/4
boards:
  foot: {size: 24 x 24 x 1 1/2, at: "0, 0, 0"}
points:
  a: 12, 12, foot.top
  b: a, z = 60
runs:
  mast: a to b
`, "Put the board foot (1) on the floor."},
		{"caps stand on the floor, a cleat hangs on a wall", `pipe: 1/2
room:
  right: 60 at z 0, 59 1/4 at z 80
cleats:
  bat: on right, y 2 to 20, z 30 to 34, 3/4 in pine
points:
  a: 20, 10, floor
  b: a, z = 32
  c: bat, 10, 32
runs:
  r: a to b to c
fittings:
  a: cap
`, "Fasten the cleat bat (1) to the right wall."},
		{"too tall", `pipe: 3/4
room: {ceiling: 62}
points:
  a: 12, 6, floor
  b: a, z = 61
  c: b, x + 30
  d: c, z = floor
  e: a, y + 40
  f: e, z = 61
  g: f, x + 30
  h: g, z = floor
runs:
  r: a to b to c to d
  s: e to f to g to h
  t: b to f
`, "the ceiling"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := checkText(t, c.text)
			var all []string
			for _, f := range r.Plan.Findings {
				all = append(all, f.Text)
				assert.NotContains(t, " "+f.Text+" ", " room and ")
				assert.NotContains(t, f.Text, "past room")
			}
			for _, s := range r.Plan.Steps {
				all = append(all, s.Text)
			}
			assert.Contains(t, strings.Join(all, "\n"), c.says)
		})
	}
}

// TestUnionHalvesAreNotCopies: two sides of a frame are built together, but the half with the nut is never told as one
// more half without it.
func TestUnionHalvesAreNotCopies(t *testing.T) {
	r := checkText(t, `pipe: 1/2
points:
  a: 4, 4, floor
  at: a, z = 40
  b: 36, 4, floor
  bt: b, z = 40
  c: 4, 16, floor
  ct: c, z = 40
  d: 36, 16, floor
  dt: d, z = 40
runs:
  f: a to at to bt to b
  g: c to ct to dt to d
  h: at to union to ct
  i: bt to union to dt
`)
	half := map[string]string{}
	for _, p := range r.Plan.Parts {
		half[p.ID] = p.Half
	}
	seen, copies := 0, 0
	for _, s := range r.Plan.Steps {
		copies = max(copies, len(s.Repeats))
		if len(s.Moves) != 1 {
			continue
		}
		h := half[s.Moves[0]]
		for _, c := range s.Repeats {
			assert.Equal(t, h, half[c.Moves[0]], s.Text)
		}
		if h != "" {
			seen += 1 + len(s.Repeats)
		}
	}
	assert.Equal(t, 4, seen)
	assert.Positive(t, copies, "the sides are built together")
}
