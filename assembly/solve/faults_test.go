package solve

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
)

// TestFaults checks what a design is told that reads well but cannot be worked out: every situation of given lengths
// against points, and the rest that only solving finds. The place is that of the thing to blame.
func TestFaults(t *testing.T) {
	const head = "pipe: 1/2\nparts:\n  1/2: {engagement: 0.5, centre-to-end: 1.25}\n  1/2 flange: {height: 0.75}\n"
	tests := []struct{ name, text, want string }{
		{"nothing gives a distance", `
points:
  a: 0, 0, floor
  b: a, z + ?
runs:
  post: a to b
`, "test.yaml:7:13: nothing says how far b is above a: give cut on a run between them, or a number"},
		{"two distances in one leg", `
points:
  a: 0, 0, 10
  b: a, x - ?
  c: a, x + ?
runs:
  beam: {path: b to c, cut: 20}
`, "test.yaml:7:13: one leg, b to c, cannot say both how far b is to the left of a and how far c is to the right of a: give a cut on another run between them, or a number"},
		{"both ends placed, and a cut that differs", `
points:
  a: 0, 0, floor
  b: a, z = 30.82
  c: b, x + 20
runs:
  rail-2: {path: a to b, cut: 30}
  arm: b to c
`, "test.yaml:10:31: two answers for rail-2: the points ask for 29.82, cut says 30"},
		{"a ring that does not close", `
points:
  p: 0, 0, 10
  q: p, x + ?
  r: q, y + 10
  s: p, y + 10
runs:
  front-rung: {path: p to q, cut: 21.5}
  side-a: p to s
  side-b: q to r
  rear-rung: {path: s to r, cut: 20}
`, "test.yaml:14:34: rear-rung: s, p, q, r do not close: cut says 20, 21.5 is left"},
		{"below zero", `
points:
  a: 0, 0, floor
  b: 0, 0, 12
  c: b, z + ?
runs:
  post: {path: a to c, cut: 7}
`, "test.yaml:10:29: 7 in less what the fittings take is below zero"},
		{"too short for any pipe", `
points:
  a: 0, 0, floor
  b: 0, 0, 0.7
  c: b, x + 20
runs:
  post: a to b
  arm: b to c
`, "test.yaml:10:9: post would be -0.3 in; the shortest 1/2 pipe with two threads (close nipple) is 1 1/8"},
		{"circle", `
givens:
  reach: drop + 1
  drop: fall + 1
  fall: reach + 1
points:
  a: 0, 0, 0
  b: 0, 0, reach
runs:
  r: a to b
`, "test.yaml:6:3: reach, drop, fall go round in a circle"},
		{"circle of points", `
points:
  a: b.x + 1, 0, 0
  b: a.x + 1, 0, 10
runs:
  r: a to b
`, "test.yaml:6:3: a, b go round in a circle"},
		{"cuts against pipes", `
points:
  a: 0, 0, 0
  b: 0, 0, 20
  c: 0, 0, 60
runs:
  r: {path: "a to b to union to c", cut: 1 then 2}
`, "test.yaml:10:42: 2 cuts for 3 pipes: a-b, b-union, union-c"},
		{"angle", `
points:
  a: 0, 0, 0
  b: 30, 0, 0
  c: 30 + 10, 0, 27.5
runs:
  brace: a to b
  post: b to c
`, "test.yaml:7:3: b: 110 degrees between brace and post; fittings turn 45 or 90; move a point so that the pipes run straight on, or turn 45 or 90"},
		{"off a board", `
boards:
  seat: {size: 40 x 16 x 1, at: "0, 0, 20"}
points:
  leg: 3, 18, seat.under
  foot: leg, z = floor
runs:
  r: foot to leg
`, "test.yaml:8:3: leg: seat reaches y 0 to 16, the point is at y 18"},
		{"off a cleat", `
cleats:
  tie-cleat: on back, x 0 to 20, z 66 to 70, 3/4 in pine
points:
  hook: 10, tie-cleat, 72
  tip: hook, y + 10
runs:
  r: hook to tip
`, "test.yaml:8:3: hook: tie-cleat reaches z 66 to 70, the point is at z 72"},
		{"in an opening", `
room:
  back: 0
  zones:
    door: opening, back, x 30 to 60, z 0 to 80
points:
  arm-end: 40, back, 50
  tip: arm-end, y + 10
runs:
  r: arm-end to tip
`, "test.yaml:10:3: arm-end is in the opening door"},
		{"no such wall", `
groups:
  side:
    copies: {one: here, two: mirror x at 30}
    points:
      w: left, 10, 50
      v: w, x + 10
    runs:
      arm: w to v
points:
  q: 0, 0, 0
runs:
  post: q to two.v
`, "no right wall: give right under room"},
		{"one place", `
points:
  a: 0, 0, 0
  b: 0, 0, 0
runs:
  r: a to b
`, "test.yaml:9:11: a and b are in one place: no pipe goes from one to the other"},
		{"a weight for a length", `
points:
  a: 0, 0, 0
  b: 0, 0, 20 kg
runs:
  r: a to b
`, "test.yaml:7:12: 20 kg is a weight; a coordinate wants a length"},
		{"a leaning wall without a place", `
room:
  left: 0 at z 0, 1 at z 80
givens:
  w: left + 1
points:
  a: 0, 0, 0
  b: 0, 0, w
runs:
  r: a to b
`, "test.yaml:8:6: left is not the same everywhere: write left.least or left.most"},
		{"lies on unequal rungs", `
points:
  a: 0, 0, 10
  b: 20, 0, 10
  c: 0, 10, 10.375
  d: 20, 10, 10.375
boards:
  shelf: {size: 20 x 12 x 1, at: "0, -1, ?", lies-on: "rung-1, rung-2"}
runs:
  rung-1: a to b
  rung-2: c to d
`, "rung-1 is 3/8 in lower than rung-2"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			tree, errs := read(t, head+tt.text[1:])
			if len(errs) == 0 {
				var a *assembly.Assembly
				a, errs = Solve(tree)
				assert.Nil(t, a, "no assembly of a faulty file")
			}
			require.NotEmpty(t, errs)
			if strings.HasPrefix(tt.want, "test.yaml") {
				assert.Equal(t, tt.want, errs[0].Error(), "all: %v", errs)
			} else {
				assert.Contains(t, errs.Error(), tt.want)
			}
		})
	}
}

// TestAllFaultsInFileOrder: one run reports every fault, each once, by place: values, fittings, lengths and loads. What
// hangs on a faulty value is not reported again.
func TestAllFaultsInFileOrder(t *testing.T) {
	tree, errs := read(t, `pipe: 1/2
room:
  back: {studs: 3 kg}
points:
  a: 0, 0, 20 kg
  b: a, x + 10
  c: 0, 1 / 0, 0
  d: 0, 0, 5 lb
  hub: 50, 50, 50
  h1: hub, x + 20
  h2: hub, y + 20, x + 9
  e: hub, z + 60
  f: e, x + 30
runs:
  r: a to b
  s: c to d
  i: h1 to hub to h2
  k: {path: e to f, cut: 9}
loads:
  k: 2 * 10, 30 lb
  s: 3 in
boards:
  q: {size: 9 x 9 x 0, at: "0, 0, b.x"}
parts:
  1/2: {price: 4 at 3 kg}
`)
	require.Empty(t, errs)
	_, errs = Solve(tree)
	var got []string
	for _, e := range errs {
		got = append(got, e.Place())
	}
	want := []string{":3:17", ":5:12", ":7:11", ":8:12", ":9:3", ":18:26", ":20:6", ":21:6", ":23:21", ":25:21"}
	for i := range want {
		want[i] = "test.yaml" + want[i]
	}
	assert.Equal(t, want, got, "%v", errs)
}

// finding returns the one finding with that code.
func finding(t *testing.T, a *assembly.Assembly, code string) assembly.Finding {
	t.Helper()
	var got []assembly.Finding
	for _, f := range a.Findings {
		if f.Code == code && len(got) == 0 {
			got = append(got, f)
		}
	}
	require.Len(t, got, 1, "%s in %v", code, a.Findings)
	return got[0]
}

// TestFindings checks what is told of designs that can be computed all the same.
func TestFindings(t *testing.T) {
	const head = "pipe: 1/2\nparts:\n  1/2: {engagement: 0.53, centre-to-end: 1.12}\n"
	tests := []struct {
		code     string
		severity assembly.Severity
		text     string
		want     string
		parts    []string
		value    string
		mm       float64
	}{
		// The tie of the record library, were its posts left where they stood: 2.5 - 0.75 - 0.81 = 0.94 in.
		{"SHORT-NIPPLE", assembly.Stop, `
  1/2 flange: {height: 0.75}
cleats:
  tie-cleat: on back, x 0 to 52, z 66 to 70, 3/4 in pine
points:
  w: 20, tie-cleat, 68
  c: w, y = 2.5
  f: c, z = floor
runs:
  tie: w to c
  post: c to f
`, "tie would be 0.94 in; the shortest 1/2 pipe with two threads (close nipple) is 1 1/8", []string{"tie.1"}, "length_mm", 0.94 * 25.4},
		// Caps come on top of the free ends, so the pipe is as long as its run.
		{"LONG-PIPE", assembly.Warn, `
  1/2 pipe: {stock: "48, 120"}
points:
  a: 0, 0, 20
  b: 130, 0, 20
runs:
  rod: a to b
`, "rod would be one piece of 130 in; the longest 1/2 pipe to be had is 120 in: put a coupling on its way (a to coupling to b), or list a longer one under parts, 1/2: stock",
			[]string{"rod.1"}, "length_mm", 130 * 25.4},
		// A mill sells 21 ft, 252 in.
		{"LONG-PIPE", assembly.Warn, `
points:
  a: 0, 0, 20
  b: 260, 0, 20
runs:
  rod: a to b
`, "rod would be one piece of 260 in; the longest 1/2 pipe to be had is 252 in: put a coupling on its way (a to coupling to b), or list a longer one under parts, 1/2: stock",
			[]string{"rod.1"}, "most_mm", 252 * 25.4},
		{"PROUD", assembly.Stop, `
  1/2 flange: {height: 0.4}
points:
  w: 20, back, 68
  c: w, y + 12
runs:
  arm: w to c
`, "w: the pipe's end stands 0.13 in proud of the flange's mounting face (0.53 in engaged, the flange is 0.4 in high): the flange rocks; screw it less deep, or take a higher flange",
			[]string{"w"}, "proud_mm", 0.13 * 25.4},
		{"MIXED-THREAD", assembly.Stop, `
  1/2 elbow: {thread: bspt}
points:
  a: 0, 0, 0
  b: 0, 0, 20
  c: 10, 0, 20
runs:
  r: a to b
  s: b to c
`, "1/2 elbow is bspt, the pipe in it npt: they bind after two turns", []string{"b", "r.1"}, "", 0},
		{"CROSSING", assembly.Stop, `
points:
  a: 12, 2, 0
  b: 12, 2, 60
  c: 0, 2.5, 30
  d: 24, 2.5, 30
runs:
  post: a to b
  brace: c to d
`, "brace passes through post at 12, 2.25, 30 with no point there: add one to both paths, or move one", []string{"brace.1", "post.1"}, "apart_mm", 12.7},
		{"AVOIDED", assembly.Stop, `
avoid: tee
points:
  a: 0, 0, 0
  b: 0, 0, 20
  c: 0, 0, 40
  d: 20, 0, 20
runs:
  r: a to b to c
  s: b to d
`, "b: a tee is needed here, and it is under avoid", []string{"b"}, "", 0},
		{"ANGLE", assembly.Warn, `
points:
  a: 0, 0, 0
  b: 0, 0, 20
  c: 20, 0, 20.5
runs:
  r: a to b
  s: b to c
`, "b: the pipes of the 1/2 elbow are 1.4 degrees from its angles", []string{"b"}, "off_deg", 1.432},
		{"NOT-ON", assembly.Note, `
points:
  a: 0, 12, 40
  b: 20, 12, 40
runs:
  r: a to b
`, "a ends at the left wall but is not on it: write left for a flange, or say cap under fittings", []string{"a"}, "", 0},
		{"CLEARANCE", assembly.Warn, `
  1/2 flange: {height: 0.75}
room: {right: 40}
points:
  a: left, 12, 40
  b: right, 12, 40
runs:
  r: {path: a to b, clearance: 0.3}
`, "r.1: a clearance of 0.3 in is 4.2 turns; the joint with b has 3.4 turns to spare above the four that should stay engaged", []string{"r.1", "b"}, "clearance_mm", 7.62},
		{"OUTSIDE", assembly.Stop, `
  1/2 flange: {height: 0.75}
room: {left: 0}
points:
  a: 5, 0.3, floor
  b: a, z = 40
  c: b, x + 20
runs:
  r: a to b to c
cleats:
  k: on back, x 30 to 40, z 10 to 20, 3/4 in pine
`, "a: r reaches 0.12 in into the back wall there; move the point, or put it on the surface by name", []string{"a", "r.1"}, "deep_mm", 0.12 * 25.4},
		{"UNHELD", assembly.Note, `
points:
  a: 10, 10, 30
  b: a, x + 30
runs:
  r: a to b
`, "no part of the frame stands on the floor or is fastened to a wall or the ceiling: write floor, back, left ... for a coordinate of the points that do", []string{}, "", 0},
		{"POCKET", assembly.Stop, `
points:
  a: 0, 0, 30
  b: 0, 20, 30
  c: 30, 0, 30
  d: 30, 20, 30
runs:
  r: a to union to b
  s: c to d
boards:
  slat: {size: 40 x 4 x 3/8, at: "-5, 8, ?", lies-on: "r, s"}
`, "slat: the pocket for r.union-1 would be 0.38 in deep, the board is 0.37 in thick; let the union sit elsewhere on its leg (give its run a cut, such as 4 then rest), or move slat", []string{"slat", "r.union-1.a", "r.union-1.b"}, "depth_mm", 9.717},
		{"OUTSIDE", assembly.Stop, `
  1/2 flange: {height: 0.75}
  1/2 cap: {height: 0.875}
room: {ceiling: 90}
points:
  a: 5, 9, floor
  b: a, z = 90
runs:
  r: a to b
`, "b: the cap on the pipe's end reaches 0.34 in into the ceiling; end the pipe sooner, or put the point on the surface", []string{"b"}, "deep_mm", (0.875 - 0.53) * 25.4},
		{"READING", assembly.Note, `
  1/2 flange: {height: 0.75}
room:
  left: 0 at z 0, 0.25 at z 30
points:
  a: left, 12, 40
  b: a, x + 20
runs:
  r: a to b
`, "a lies beyond the outer readings of the left wall", []string{"a"}, "", 0},
	}
	for _, tt := range tests {
		t.Run(tt.code, func(t *testing.T) {
			a := solved(t, head+tt.text[1:])
			f := finding(t, a, tt.code)
			assert.Equal(t, tt.severity, f.Severity)
			assert.True(t, strings.HasPrefix(f.Text, tt.want), "got  %s\nwant %s", f.Text, tt.want)
			assert.Equal(t, tt.parts, f.Parts)
			if tt.value != "" {
				assert.InDelta(t, tt.mm, f.Values[tt.value], 0.01)
			}
			assert.Regexp(t, `^test\.yaml:\d+:\d+$`, f.At)
			assertSound(t, a)
		})
	}
}

// TestSoundDesignsHaveNoFindings: the checks above do not cry wolf.
func TestSoundDesignsHaveNoFindings(t *testing.T) {
	a := solveBrief(t, "school-cloakroom-rolling-coat-frame")
	assert.Empty(t, a.Findings)
	a = solveBrief(t, "cellar-handrail-in-a-village-hall")
	assert.Empty(t, a.Findings)
}
