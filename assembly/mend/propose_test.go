package mend

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/solve"
)

// solved reads and solves a design.
func solved(t testing.TB, text string) *drawing {
	t.Helper()
	tree, errs := design.Read(strings.NewReader(text), "x.yaml")
	require.Empty(t, errs)
	a, errs := solve.Solve(tree)
	require.Empty(t, errs)
	return newDrawing(tree, a)
}

// write applies a repair to a text.
func write(t testing.TB, text string, r assembly.Repair) string {
	t.Helper()
	return changed(t, text, r.Splices...)
}

// changed applies splices by way of edits.
func changed(t testing.TB, text string, splices ...assembly.Splice) string {
	t.Helper()
	edits, err := Edits([]byte(text), splices)
	require.NoError(t, err)
	out, err := Apply([]byte(text), edits)
	require.NoError(t, err)
	return string(out)
}

// ways are the ways in which a run of one leg may be written. The marks stand for what a clearance adds.
var ways = []string{
	"runs:\n  rod: <>a to b<>    # why\n",
	"runs:\n  rod: <>'a to b'<>\n",
	"runs: {rod: <>a to b<>, }\n",
	"runs:\n  rod: {path: a to b<in>, size: 3/4}\n",
	"runs:\n  rod: {size: 3/4,\n    path: \"a to b\"<in>}   # last\n",
	"runs:\n  rod:\n    size: 3/4   # first\n<line>    path: a to b   # then\n",
	"runs:\n  rod:\n<line>    path: 'a to b'",
	"runs:\n    rod:\n\n<line>        path:   a to b\n",
	"runs:\n  rod:\n    path: a to b\n    clearance: 1<more>   # for the wall\n",
}

// TestClearanceInEveryWay: a clearance goes in however the run is written, and means what it should.
func TestClearanceInEveryWay(t *testing.T) {
	const head = "pipe: 3/4\nunits: mm\nthread: npt\nroom: {left: 0, right: 1200}\npoints: {a: 'left, 200, 900', b: 'right, 200, 900'}\n"
	for _, way := range ways {
		text := head + strings.NewReplacer("<>", "", "<in>", "", "<line>", "", "<more>", "").Replace(way)
		want := head + strings.NewReplacer("<in>", ", clearance: 2", "<line>", indentOf(way)+"clearance: 2\n", "1<more>", "3").Replace(way)
		want = strings.Replace(strings.Replace(want, "<>", "{path: ", 1), "<>", ", clearance: 2}", 1)
		d := solved(t, text)
		r, ok := d.clearance("rod.1", "b", 2)
		require.True(t, ok, way)
		got := write(t, text, r)
		assert.Equal(t, want, got)
		before, after := length(t, d, "rod.1"), length(t, solved(t, got), "rod.1")
		assert.InDelta(t, 2, before-after, 1e-9, way)
		_, ok = d.clearance("rod.1", "a", 2)
		assert.False(t, ok, "the clearance acts at the end of the run only")
	}
}

func indentOf(way string) string {
	_, rest, _ := strings.Cut(way, "<line>")
	return rest[:len(rest)-len(strings.TrimLeft(rest, " "))]
}

func length(t testing.TB, d *drawing, id string) float64 {
	t.Helper()
	require.Contains(t, d.parts, id)
	return d.parts[id].LengthMM
}

// TestMovedPoints: a point moves by what it should, in whatever words it is given, in copies and mirrored ones too.
func TestMovedPoints(t *testing.T) {
	const file = `
units: in
pipe: 1/2
givens: {wide: 40}
points:
  plain: 10, 5, 30                  # three numbers
  half: 18 1/2, 5, 30
  sum: wide / 2 + 1, 5, 30
  unit: 600 mm, 5, 30
  named: wide, 5, 30
  like: plain, z + 20, y = 9 1/4
  alike: plain, y + 12
  low: plain, z - 12
  'quoted': '10, 5, 60'
groups:
  side:
    copies: {near: here, far: mirror y at 50}
    points:
      p: 5, 20, 10
      q: 5, 20, 40
    runs:
      post: p to q
runs:
  r1: plain to half to sum
  r2: like to alike
`
	for _, c := range []struct {
		id   string
		axis int
		by   float64
		want string
	}{
		{"plain", 0, 25.4 / 16, "plain: 10 1/16, 5, 30                  # three numbers"},
		{"plain", 2, -25.4, "plain: 10, 5, 29                  # three numbers"},
		{"half", 0, 25.4 * 1.5, "half: 20, 5, 30"},
		{"sum", 0, 25.4, "sum: wide / 2 + 1 + 1, 5, 30"},
		{"sum", 0, -25.4, "sum: wide / 2 + 1 - 1, 5, 30"},
		{"unit", 0, 25.4, "unit: 600 mm + 1, 5, 30"},
		{"named", 0, 25.4, "named: wide + 1, 5, 30"},
		{"like", 2, 25.4, "like: plain, z + 21, y = 9 1/4"},
		{"like", 1, 25.4, "like: plain, z + 20, y = 10 1/4"},
		{"like", 0, 25.4, "like: plain, z + 20, y = 9 1/4, x + 1"},
		{"alike", 2, -25.4, "alike: plain, y + 12, z - 1"},
		{"low", 2, 25.4, "low: plain, z - 12 + 1"},
		{"quoted", 1, 25.4, "'quoted': '10, 6, 60'"},
		{"near.p", 1, 25.4, "p: 5, 21, 10"},
		{"far.p", 1, 25.4, "p: 5, 19, 10"},
		{"far.p", 0, 25.4, "p: 6, 20, 10"},
	} {
		d := solved(t, file)
		was := d.a.Points[c.id]
		r, ok := d.movePoint(c.id, c.axis, c.by)
		require.True(t, ok, c.id)
		got := write(t, file, r)
		assert.Contains(t, got, "  "+c.want+"\n")
		tree, errs := design.Read(strings.NewReader(got), "x.yaml")
		require.Empty(t, errs)
		a, _ := solve.Solve(tree)
		if a == nil {
			continue // the point left the line that its run asks for
		}
		is := a.Points[c.id]
		for axis := range 3 {
			want := 0.0
			if axis == c.axis {
				want = c.by
			}
			assert.InDelta(t, want, coordinate(drawn(is.Sub(was)), axis), 1e-6, "%s along %d", c.id, axis)
		}
	}
	_, ok := solved(t, file).movePoint("nowhere", 0, 1)
	assert.False(t, ok)
}

// TestSurfacesStay: a point on a wall cannot be moved off it by a number, and can be along it.
func TestSurfacesStay(t *testing.T) {
	const file = "pipe: 1/2\npoints: {a: 'left, 5, 30', b: 'a, x = 20', c: 'b, y = back'}\nruns: {r: a to b to c}\n"
	d := solved(t, file)
	for _, c := range []struct {
		id   string
		axis int
		ok   bool
	}{{"a", 0, false}, {"a", 1, true}, {"b", 0, true}, {"c", 1, false}, {"c", 0, true}} {
		_, ok := d.movePoint(c.id, c.axis, 25.4)
		assert.Equal(t, c.ok, ok, "%s %d", c.id, c.axis)
	}
}

// TestBeyond: what lies beyond a point moves with it, each place once, what follows another by itself.
func TestBeyond(t *testing.T) {
	const file = `
pipe: 1/2
points:
  a: 0, 0, 30
  b: 20, 0, 30
  c: b, z = 50      # follows b
  d: 40, 0, 50
runs:
  low: a to b
  post: b to c
  high: c to d
`
	r, ok := solved(t, file).moveBeyond("b", 0, 25.4)
	require.True(t, ok)
	got := write(t, file, r)
	assert.Equal(t, strings.NewReplacer("b: 20", "b: 21", "d: 40", "d: 41").Replace(file), got)
	r, ok = solved(t, file).moveBeyond("c", 0, -25.4)
	require.True(t, ok)
	assert.Equal(t, strings.NewReplacer("a: 0,", "a: 0 - 1,", "b: 20", "b: 19").Replace(file), write(t, file, r))
}

// TestReopened: closing pieces are taken out of paths, and what the cuts say of their two pipes becomes one rest.
func TestReopened(t *testing.T) {
	const file = `
pipe: 1/2
points: {a: '0, 0, 30', b: '40, 0, 30', c: '40, 0, 60', d: '0, 0, 60'}
runs:
  low: {path: a to union to b, cut: 6 then rest}   # near a
  others: b to c to long-screw to d to a
`
	d := solved(t, file)
	var ids []string
	for _, p := range d.a.Parts {
		ids = append(ids, p.ID)
	}
	want := strings.NewReplacer("union to ", "", "6 then rest", "rest", "long-screw to ", "").Replace(file)
	assert.Equal(t, want, changed(t, file, d.reopen(ids)...))
	assert.Empty(t, d.reopen([]string{"c"}))
}

// TestWishes: a wish goes behind a comment sign, and one in brackets is left alone.
func TestWishes(t *testing.T) {
	const file = "pipe: 1/2\npoints: {a: '0, 0, 30', b: '40, 0, 30'}\nruns: {r: a to b}\norder:\n    - r first  # so\n"
	d := solved(t, file)
	f := assembly.Finding{Code: "WISH", At: d.a.Wishes[0].At}
	rs := d.answers(f)
	require.Len(t, rs, 1)
	assert.Equal(t, strings.Replace(file, "    - r", "    # - r", 1), write(t, file, rs[0]))
}

// TestProposeJudgesNothing: proposals carry no verdict, warnings get none, and no finding gets too many.
func TestProposeJudgesNothing(t *testing.T) {
	var b strings.Builder
	b.WriteString("pipe: 1/2\npoints:\n")
	runs, parts := "runs:\n", []string{}
	for i := range 20 {
		fmt.Fprintf(&b, "  p%d: 0, %d, 40\n  q%d: 40, %d, 40\n", i, 10*i, i, 10*i)
		runs += fmt.Sprintf("  r%d: p%d to q%d\n", i, i, i)
		parts = append(parts, fmt.Sprintf("r%d.1", i))
	}
	d := solved(t, b.String()+runs)
	p := &assembly.Plan{Findings: []assembly.Finding{
		{Code: "STUCK", Severity: assembly.Stop, Parts: parts, Blame: []string{"p3", "r9.1"}, Values: map[string]float64{"missing_mm": 4}},
		{Code: "SAG", Severity: assembly.Warn, Parts: parts},
		{Code: "SWING", Severity: assembly.Stop, Parts: []string{"none"}, Blame: []string{"none", "room"}, Values: map[string]float64{"missing_mm": math.NaN()}},
	}}
	Propose(d.tree, d.a, p)
	changes := 0
	for _, r := range p.Findings[0].Repairs {
		assert.False(t, r.Verified)
		if len(r.Splices) > 0 {
			changes++
		}
	}
	assert.Positive(t, changes)
	assert.LessOrEqual(t, changes, mostProposed)
	assert.Equal(t, "x.yaml:9:3", p.Findings[0].At, "the point p3")
	assert.Empty(t, p.Findings[1].Repairs)
	assert.Empty(t, p.Findings[2].Repairs)
}

// TestLowered: the top of a frame comes down, whatever else is as high with it; what follows those points follows.
func TestLowered(t *testing.T) {
	const file = `
units: mm
thread: bspt
pipe: 3/4
points:
  a: 300, 300, floor
  c: a, z = 2080
  a2: 1300, 300, floor
  c2: a2, z = 2080      # as high
runs: {one: a to c to c2 to a2}
`
	d := solved(t, file)
	rs := d.lowered(assembly.Finding{Parts: []string{"a", "c", "c2", "a2"}}, 280)
	require.Len(t, rs, 1)
	assert.Equal(t, strings.ReplaceAll(file, "2080", "1800"), write(t, file, rs[0]))
	assert.Empty(t, d.lowered(assembly.Finding{Parts: []string{"c"}}, 1500), "that would be another frame")
}
