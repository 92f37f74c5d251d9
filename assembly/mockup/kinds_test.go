package mockup_test

import (
	"bytes"
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/mockup"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/mesh"
)

// frameHead begins the designs of these tests, whose measures are made up.
const frameHead = "title: made up\nunits: mm\nthread: npt\npipe: 3/4\n"

// kinds are designs that have each kind of part.
var kinds = map[string]struct {
	text string
	has  []standard.Kind
}{
	"crossing": {frameHead + `points: {f: "500, 300, floor", m: "500, 300, 600", t: "500, 300, 900", l: "200, 300, 600", r: "800, 300, 600"}
runs: {post: f to m to t, bar: l to m to r}
fittings:
  m: cross
`, []standard.Kind{standard.Cross, standard.Cap, standard.Flange}},
	"corner": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", e: "800, 500, 600", g: "500, 800, 600"}
runs: {post: f to k, a: k to e, b: k to g}
`, []standard.Kind{standard.SideElbow}},
	"brace": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", e: "800, 500, 900"}
runs: {post: f to k, a: k to e}
`, []standard.Kind{standard.Elbow45}},
	"street": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", e: "k, x + ?", g: "e, z + 200"}
runs: {post: f to k, a: k to e, b: e to g}
fittings:
  k: street-elbow into a
`, []standard.Kind{standard.StreetElbow}},
	"plugged": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", e: "800, 500, 600"}
runs: {post: f to k, a: k to e}
fittings:
  k: tee along post
`, []standard.Kind{standard.Plug}},
	"thin branch": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", t: "500, 500, 900", e: "800, 500, 600"}
runs:
  post: f to k to t
  a: {path: k to e, size: 1/2}
`, []standard.Kind{standard.Tee}},
	"rolling": {frameHead + `points: {f: "300, 300, floor", t: "300, 300, 900", u: "900, 300, 900", g: "900, 300, floor"}
runs: {a: f to t, b: t to u, c: u to g}
fittings:
  f, g: caster
boards:
  top: {size: 400 x 300 x 18, at: "400, 150, ?", lies-on: b, straps: 1}
`, []standard.Kind{standard.Caster, standard.Strap, standard.Board}},
	"glides": {frameHead + `points: {f: "300, 300, floor", t: "300, 300, 900"}
runs: {a: f to coupling to t}
fittings:
  f: glide
`, []standard.Kind{standard.Glide, standard.Coupling}},
	"bored": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", m: "500, 500, 250", n: "500, 700, 250", e: "800, 500, 600"}
runs: {p: f to m to k, a: k to e, peg: m to n}
boards: {deck: {size: 400 x 300 x 18, at: "350, 350, 400"}}
`, []standard.Kind{standard.Board}},
	"cleat": {frameHead + `cleats: {tie: "on back, x 100 to 700, z 860 to 940, 20 mm pine"}
points: {a: "400, tie, 900", b: "400, 300, 900"}
runs: {peg: a to b}
`, []standard.Kind{standard.Cleat, standard.Flange}},
	"closers": {frameHead + `points: {f: "300, 300, floor", t: "300, 300, 400", u: "900, 300, 400", g: "900, 300, floor"}
runs: {a: f to t, b: t to right-left to u, c: u to g}
`, []standard.Kind{standard.RightLeft}},
	"long screw": {frameHead + `points: {a: "300, 300, 300", b: "900, 300, 300", c: "900, 300, 900", d: "300, 300, 900"}
runs: {low: a to long-screw to b, mast: b to c, top: c to d, stay: d to a}
`, []standard.Kind{standard.LongScrew}},
	"reducing coupling": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", e: "500, 500, 900"}
runs:
  post: f to k
  a: {path: k to e, size: 1/2}
`, []standard.Kind{standard.Reducer, standard.Cap}},
	"bushing": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", t: "500, 500, 900", n: "k, x + ?", e: "n, x + 300"}
runs:
  post: f to k to t
  stub: k to n
  a: {path: n to e, size: 1/2}
fittings:
  n: bushing
`, []standard.Kind{standard.Bushing, standard.Tee}},
	"street 45": {frameHead + `points: {f: "500, 500, floor", k: "500, 500, 600", p: "600, 500, 700", e: "k, toward p + ?", g: "e, z + 200"}
runs: {post: f to k, a: k to e, b: e to g}
fittings:
  k: street-elbow45 into a
`, []standard.Kind{standard.StreetElbow45, standard.Elbow45}},
	"side tee": {frameHead + `points: {f: "500, 500, floor", m: "500, 500, 600", t: "500, 500, 900", l: "200, 500, 600", r: "500, 800, 600"}
runs: {post: f to m to t, bar: l to m, arm: m to r}
fittings:
  m: side-tee
`, []standard.Kind{standard.SideTee}},
	"pads": {frameHead + `points: {f: "300, 300, floor", t: "300, 300, 900", u: "900, 300, 900", g: "900, 300, floor"}
runs: {a: f to t, b: t to u, c: u to g}
fittings:
  f: flange pad 6
  g: glide pad 6
`, []standard.Kind{standard.Pad, standard.Glide, standard.Elbow}},
	"feet of caps": {frameHead + `points: {f: "300, 300, floor", t: "300, 300, 900", u: "900, 300, 900", g: "900, 300, floor"}
runs: {a: f to t, b: t to u, c: u to g}
fittings:
  f, g: cap
`, []standard.Kind{standard.Cap}},
	"open end": {frameHead + `points: {f: "300, 300, floor", t: "300, 300, 900", u: "900, 300, 900"}
runs: {a: f to t, b: t to u}
fittings:
  u: open
`, []standard.Kind{standard.Elbow}},
	"union": {frameHead + `points: {a: "300, 300, 300", b: "900, 300, 300", c: "900, 300, 900", d: "300, 300, 900"}
runs: {low: a to union to b, mast: b to c, top: c to d, stay: d to a}
`, []standard.Kind{standard.Union}},
}

// TestEveryKindOfPart: whatever a frame is made of, with either family of threads, its model is proven, and each of its pieces
// is one sound shell that prints without support and carries its mark.
func TestEveryKindOfPart(t *testing.T) {
	seen := map[standard.Kind]int{}
	for _, name := range slices.Sorted(maps.Keys(kinds)) {
		for _, family := range []string{"npt", "bspt"} {
			k := kinds[name]
			t.Run(strings.ReplaceAll(name, " ", "-")+"/"+family, func(t *testing.T) {
				plan := planText(t, strings.Replace(k.text, "thread: npt", "thread: "+family, 1))
				for _, kind := range k.has {
					assert.True(t, slices.ContainsFunc(plan.Parts, func(p assembly.Part) bool { return p.Kind == kind }), "the design has no %s", kind)
				}
				require.Empty(t, stops(plan))
				for _, bought := range []bool{false, true} {
					m, err := mockup.Build(plan, mockup.Options{Scale: 8, Bought: bought})
					require.NoError(t, err)
					assert.Empty(t, proveModel(m).Failures, "bought %v", bought)
					assert.Len(t, m.Plan.Steps, len(plan.Steps)-adjusting(plan))
					if !bought && family == "npt" {
						lookAtPieces(t, m, seen)
					}
				}
			})
		}
	}
}

// TestKindsAreAllTried: no kind of part is left out of the designs above.
func TestKindsAreAllTried(t *testing.T) {
	tried := map[standard.Kind]bool{standard.Pipe: true, standard.Room: true} // every design has these
	for _, k := range kinds {
		for _, kind := range k.has {
			tried[kind] = true
		}
	}
	for _, kind := range standard.Kinds() {
		assert.True(t, tried[kind], "no design has a %s", kind)
	}
}

func stops(plan assembly.Plan) []assembly.Finding {
	return slices.DeleteFunc(slices.Clone(plan.Findings), func(f assembly.Finding) bool { return f.Severity != assembly.Stop })
}

// adjusting counts the steps that a model has no need of.
func adjusting(plan assembly.Plan) int {
	n := 0
	for _, s := range plan.Steps {
		if s.Action == assembly.Adjust {
			n++
		}
	}
	return n
}

// TestPinsGoThrough: where a flange stands on a plate of the room, a pin through each of its holes meets a hole of the plate.
// The distance of the holes is that of the flange's pins in the finished model, whatever plate they are on.
func TestPinsGoThrough(t *testing.T) {
	plan := planText(t, kinds["closers"].text) // two flanges on the floor, 600 mm apart
	m, err := mockup.Build(plan, mockup.Options{Scale: 8, RoomPlates: true})
	require.NoError(t, err)
	i := slices.IndexFunc(m.Pieces, func(p mockup.Piece) bool { return p.Name == "floor plate 1" })
	require.GreaterOrEqual(t, i, 0)
	plate := m.Pieces[i].Solid
	var first *assembly.Part
	holes := 0
	for k := range m.Plan.Parts {
		p := &m.Plan.Parts[k]
		if p.Kind != standard.Flange {
			continue
		}
		if first == nil {
			first = p // the plate lies in the frame of its first flange
		}
		flange, err := m.Solid(*p)
		require.NoError(t, err)
		for r := 4.0; r < 12; r += 0.05 {
			for _, at := range []geom.Vec{geom.V(r, 0, 0), geom.V(-r, 0, 0)} {
				through := flange.Distance(at.Add(geom.V(0, 0, 0.5))) > 1.75/2 && flange.Distance(at.Add(geom.V(1.3, 0, 0.5))) < 0 && flange.Distance(at.Add(geom.V(-1.3, 0, 0.5))) < 0
				if !through {
					continue
				}
				in := first.Pose.Local(p.Pose.Apply(at))
				assert.Greater(t, plate.Distance(geom.V(in.X, in.Y, 2)), 1.75/2, "%s at %.2f", p.ID, r)
				holes++
			}
		}
	}
	assert.GreaterOrEqual(t, holes, 4)
}

// lookAtPieces looks at two pieces of each kind: pieces of a kind differ little, and meshing them takes its time.
func lookAtPieces(t *testing.T, m *mockup.Model, seen map[standard.Kind]int) {
	if testing.Short() {
		return
	}
	few := *m
	few.Pieces = slices.DeleteFunc(slices.Clone(m.Pieces), func(p mockup.Piece) bool {
		seen[p.Kind]++
		return seen[p.Kind] > 2
	})
	meshes, err := few.Meshes()
	require.NoError(t, err)
	for i, p := range few.Pieces {
		require.NoError(t, mesh.Check(mesh.Round32(meshes[i])), p.Label())
		assert.Empty(t, mockup.Examine(p.Label(), meshes[i]).Findings(), "%s %v", p.Kind, p.Parts)
		if p.Number > 0 {
			assert.NotEqual(t, p.Solid, p.Printed, "%s %v has no mark", p.Kind, p.Parts)
		}
	}
}

// planText works out a design given as text.
func planText(t testing.TB, text string) assembly.Plan {
	return planFrom(t, bytes.NewReader([]byte(text)), "made-up.yaml")
}
