package mockup_test

import (
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/mockup"
	"turnwise/assembly/replay"
	"turnwise/assembly/sequence"
	"turnwise/assembly/solidify"
	"turnwise/assembly/solve"
	"turnwise/assembly/standard"
	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// planOf works a design out as far as the plan of its frame.
func planOf(t testing.TB, path string) assembly.Plan {
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	return planFrom(t, f, filepath.Base(path))
}

func planFrom(t testing.TB, text io.Reader, name string) assembly.Plan {
	tree, faults := design.Read(text, name)
	require.Empty(t, faults)
	a, faults := solve.Solve(tree)
	require.Empty(t, faults)
	outlines := map[string]assembly.Outline{}
	for _, p := range a.Parts {
		o, err := solidify.Outline(p)
		require.NoError(t, err)
		outlines[p.ID] = o
	}
	order := sequence.Plan(sequence.Input{Assembly: a, Outlines: outlines})
	sequence.Number(a, order.Steps)
	return assembly.Plan{Format: assembly.Format, Design: a.Header, Parts: a.Parts, Joints: a.Joints, Loops: order.Loops, Steps: order.Steps, Findings: order.Findings}
}

func designs(t testing.TB) []string {
	examples, err := filepath.Glob("../../examples/*.yaml")
	require.NoError(t, err)
	briefs, err := filepath.Glob("../../testdata/briefs/*.yaml")
	require.NoError(t, err)
	return append(examples, briefs...)
}

// TestModelsAreProven: the model of every example and worked design can be put together in the same order, by its own
// dimensions and its own joints.
func TestModelsAreProven(t *testing.T) {
	for i, path := range designs(t) {
		if testing.Short() && i%3 != 0 {
			continue
		}
		t.Run(strings.TrimSuffix(filepath.Base(path), ".yaml"), func(t *testing.T) {
			m, err := mockup.Build(planOf(t, path), mockup.Options{})
			require.NoError(t, err)
			assert.Empty(t, proveModel(m).Failures)
			assert.NotEmpty(t, m.Plan.Steps)
		})
	}
}

func proveModel(m *mockup.Model) replay.Report {
	return replay.Check(m.Plan, func(p assembly.Part) (sdf.Solid, error) { return m.Solid(p) })
}

func proveSteel(plan assembly.Plan) replay.Report {
	return replay.Check(plan, func(p assembly.Part) (sdf.Solid, error) { return solidify.Solid(p) })
}

// TestModelFailsAsSteelDoes: two steps changed one for the other come out alike in the frame and in its model.
func TestModelFailsAsSteelDoes(t *testing.T) {
	agreed, refused := 0, 0
	for _, path := range []string{"../../examples/club-jacket-rack.yaml", "../../testdata/briefs/school-cloakroom-rolling-coat-frame.yaml"} {
		plan := planOf(t, path)
		for i := range len(plan.Steps) - 1 {
			if testing.Short() && i%4 != 0 {
				continue
			}
			wrong := plan
			wrong.Steps = slices.Clone(plan.Steps)
			wrong.Steps[i], wrong.Steps[i+1] = wrong.Steps[i+1], wrong.Steps[i]
			wrong.Steps[i].Number, wrong.Steps[i+1].Number = i+1, i+2
			m, err := mockup.Build(wrong, mockup.Options{})
			require.NoError(t, err)
			steel, model := proveSteel(wrong), proveModel(m)
			assert.Equal(t, steel.OK(), model.OK(), "%s, steps %d and %d changed: steel %v, model %v", path, i+1, i+2, steel.Failures, model.Failures)
			agreed++
			if !steel.OK() {
				refused++
			}
		}
	}
	assert.Greater(t, refused, agreed/10, "too few orders were wrong to show anything")
	assert.Less(t, refused, agreed)
}

// TestRingOfPlainJoints: a ring whose last joint is screwed between bodies that are one is refused in the model as in
// steel.
func TestRingOfPlainJoints(t *testing.T) {
	plan := planOf(t, "../../examples/club-jacket-rack.yaml")
	for i := range plan.Joints {
		if plan.Joints[i].Kind == assembly.UnionNut { // as if the union were a coupling, screwed on in the step that closes it
			plan.Joints[i].Kind = assembly.Thread
			plan.Joints[i].Hand, plan.Joints[i].PitchMM, plan.Joints[i].EngagementMM = "right", 2, 10
			plan.Joints[i].Turns = &assembly.Window{Min: 4, Max: 6}
		}
	}
	m, err := mockup.Build(plan, mockup.Options{})
	require.NoError(t, err)
	assert.False(t, proveModel(m).OK())
}

// TestStepsKeepTheirNumbers: the model leaves out steps that only set a thread, and what is told of the rest is told by the numbers
// of the frame.
func TestStepsKeepTheirNumbers(t *testing.T) {
	plan := planOf(t, "../../examples/theatre-wardrobe-bay.yaml")
	m, err := mockup.Build(plan, mockup.Options{})
	require.NoError(t, err)
	require.Positive(t, adjusting(plan))
	for i, s := range m.Plan.Steps {
		from := plan.Steps[m.FrameStep(i+1)-1]
		assert.Equal(t, from.Moves, s.Moves)
		assert.Equal(t, from.Action, s.Action)
	}
	assert.Equal(t, 0, m.FrameStep(0))
}

// TestPlates: pieces lie within the bed and clear of one another, each as often as it is needed, flat on the plate; their
// meshes are sound; a printer does them well; and the same model gives the same plates.
func TestPlates(t *testing.T) {
	plan := planOf(t, "../../examples/club-jacket-rack.yaml")
	m, err := mockup.Build(plan, mockup.Options{RoomPlates: true})
	require.NoError(t, err)
	meshes, err := m.Meshes()
	require.NoError(t, err)
	for i, p := range m.Pieces {
		require.NoError(t, mesh.Check(mesh.Round32(meshes[i])), p.Label())
		assert.InDelta(t, 0, mesh.Bounds(meshes[i]).Min.Z, 1e-9, p.Label())
		assert.Empty(t, mockup.Examine(p.Label(), meshes[i]).Findings(), p.Label())
		if back, ok := m.Upright(i, meshes[i]); ok {
			off := 0.0
			for _, v := range back.Vertices {
				off = max(off, math.Abs(p.Printed.Distance(v)))
			}
			assert.Less(t, off, 0.1, "%s lies elsewhere", p.Label())
		} else {
			assert.True(t, p.Tag, p.Label())
		}
	}
	plates, outside := m.Plates(meshes)
	assert.Empty(t, outside)
	for _, pl := range plates {
		for _, l := range pl.Laid {
			assert.Equal(t, pl.Trial, m.Pieces[l.Piece].Trial)
		}
	}
	counts := map[int]int{}
	for n, pl := range plates {
		if n < len(plates)-1 {
			assert.GreaterOrEqual(t, pl.Fill, 0.55, "plate %d", n+1)
		}
		for i, l := range pl.Laid {
			counts[l.Piece]++
			b := mesh.Bounds(l.Mesh)
			assert.True(t, b.Min.X >= 3-1e-6 && b.Min.Y >= 3-1e-6 && b.Max.X <= 217+1e-6 && b.Max.Y <= 217+1e-6, "%v", b)
			for _, o := range pl.Laid[:i] {
				assert.False(t, b.Grow(0.9).Overlaps(mesh.Bounds(o.Mesh).Grow(0.9)), "two pieces nearer than 1.8 mm")
			}
		}
	}
	for i, p := range m.Pieces {
		assert.Equal(t, p.Count, counts[i], p.Label())
	}
	again, _ := m.Plates(meshes)
	assert.Equal(t, plates, again)
	m.Options.BedMM = [2]float64{120, 120} // the long rods and the shelf do not go there
	fewer, outside := m.Plates(meshes)
	require.NotEmpty(t, outside)
	for _, f := range outside {
		assert.Equal(t, "OUT-OF-BED", f.Code)
		assert.Greater(t, f.Values["long_mm"], f.Values["bed_long_mm"])
		assert.Equal(t, 114.0, f.Values["bed_long_mm"])
	}
	for _, pl := range fewer {
		for _, l := range pl.Laid {
			assert.LessOrEqual(t, mesh.Bounds(l.Mesh).Max.X, 117+1e-6)
		}
	}
}

// leastFill is what of a plate the rectangles of its pieces take at least, where there are enough of them.
const leastFill = 0.55

// TestPlatesAreFull: of every example and the largest of the worked designs, each plate but the last is full, and no smaller number of plates could
// hold the pieces at all.
func TestPlatesAreFull(t *testing.T) {
	if testing.Short() {
		t.Skip("all pieces of all designs")
	}
	for _, path := range designs(t) {
		if strings.Contains(path, "briefs") && !strings.Contains(path, "record-library") {
			continue
		}
		m, err := mockup.Build(planOf(t, path), mockup.Options{RoomPlates: true})
		require.NoError(t, err)
		meshes, err := m.Meshes()
		require.NoError(t, err)
		plates, outside := m.Plates(meshes)
		assert.Empty(t, outside)
		area := 0.0
		for n, pl := range plates {
			t.Logf("%s, plate %d: %d pieces, %.0f %%", filepath.Base(path), n+1, len(pl.Laid), 100*pl.Fill)
			if n < len(plates)-1 || len(pl.Laid) > 12 {
				assert.GreaterOrEqual(t, pl.Fill, leastFill, "%s, plate %d", path, n+1)
			}
			for _, l := range pl.Laid {
				area += l.Size[0] * l.Size[1]
			}
		}
		assert.LessOrEqual(t, len(plates), int(area/(leastFill*214*214))+1, "%s: more plates than its pieces need", path)
	}
}

// TestEveryPartHasItsPiece: each part of the frame but the room is a piece, or a length of bought rod.
func TestEveryPartHasItsPiece(t *testing.T) {
	plan := planOf(t, "../../examples/club-jacket-rack.yaml")
	for _, bought := range []bool{false, true} {
		m, err := mockup.Build(plan, mockup.Options{Bought: bought, Scale: 8})
		require.NoError(t, err)
		seen := map[string]int{}
		for _, p := range m.Pieces {
			assert.Len(t, p.Parts, map[bool]int{true: p.Count, false: 0}[p.Number > 0], p.Label())
			for _, id := range p.Parts {
				seen[id]++
			}
		}
		rods := 0
		for _, r := range m.Rods {
			rods += r.Count
			assert.Contains(t, []float64{2, 2.5, 3, 4}, r.DiameterMM)
		}
		for _, p := range plan.Parts {
			want := 1
			if p.Kind == standard.Room || bought && p.Kind == standard.Pipe {
				want = 0
			}
			if bought && p.Kind == standard.Pipe {
				rods--
			}
			assert.Equal(t, want, seen[p.ID], p.ID)
		}
		assert.Zero(t, rods)
	}
}

func TestScales(t *testing.T) {
	plan := planOf(t, "../../examples/club-jacket-rack.yaml")
	for _, tt := range []struct {
		o    mockup.Options
		want float64
	}{
		{mockup.Options{}, 8}, {mockup.Options{BedMM: [2]float64{300, 200}}, 5}, {mockup.Options{BedMM: [2]float64{120, 120}}, 15}, {mockup.Options{Scale: 12}, 12},
		{mockup.Options{BedMM: [2]float64{220, 60}}, 12}, // the base is 560 mm deep, and 54 mm of that bed are free
	} {
		m, err := mockup.Build(plan, tt.o)
		require.NoError(t, err)
		assert.Equal(t, tt.want, m.Scale)
	}
	for _, bad := range []mockup.Options{{Scale: 4}, {Scale: 0.5}, {Scale: 100}, {Scale: math.NaN()}, {BedMM: [2]float64{30, 30}}, {BedMM: [2]float64{220, 10}}, {Scale: 30, Bought: true}} {
		_, err := mockup.Build(plan, bad)
		assert.Error(t, err, "%+v", bad)
	}
	_, err := mockup.Build(assembly.Plan{}, mockup.Options{})
	assert.Error(t, err)
}

// TestExamineKnownBodies measures bodies whose walls, gaps and overhangs are known.
func TestExamineKnownBodies(t *testing.T) {
	meshOf := func(s sdf.Leafed) *mesh.Mesh {
		m, _, err := isosurface.Mesh(s, isosurface.Options{ToleranceMM: 0.01})
		require.NoError(t, err)
		return m
	}
	block := func(x0, y0, z0, x1, y1, z1 float64) sdf.Solid {
		return sdf.Box(geom.Box{Min: geom.V(x0, y0, z0), Max: geom.V(x1, y1, z1)})
	}
	sheet := mockup.Examine("sheet", meshOf(sdf.Boxes(geom.Box{Max: geom.V(30, 20, 0.6)})))
	assert.InDelta(t, 0.6, sheet.WallMM, 2e-4)
	assert.InDelta(t, 600, sheet.FirstLayer, 1e-3)
	assert.Empty(t, sheet.Findings())
	const shy = 1e-3
	for _, tt := range []struct {
		name, code, value string
		want, off         float64
		solid             sdf.Leafed
	}{
		{"a wall of 0.3", "THIN-WALL", "wall_mm", 0.3, shy, sdf.Boxes(geom.Box{Max: geom.V(30, 0.3, 20)})},
		{"a block with a fin of 1 x 1 on it", "SLIVER", "area_mm2", 2, 0.5, sdf.Join(block(0, 0, 0, 10, 10, 5), block(4, 4.8, 4, 5, 5.1, 6))},
		{"a slit of 0.05", "NARROW-GAP", "gap_mm", 0.05, shy, sdf.Cut(block(0, 0, 0, 20, 20, 10), block(9.95, -1, 2, 10.0, 21, 11))},
		{"a table on one leg", "OVERHANG", "overhang_mm2", 1600 - 16, 20, sdf.Join(block(-2, -2, 0, 2, 2, 21), block(-20, -20, 20, 20, 20, 24))},
		{"a post of 1.5 x 2", "FIRST-LAYER", "first_layer_mm2", 3, 0.01, sdf.Boxes(geom.Box{Max: geom.V(1.5, 2, 10)})},
		{"two blocks", "LOOSE-SHELL", "shells", 2, 0, sdf.Boxes(geom.Box{Max: geom.V(5, 5, 5)}, geom.Box{Min: geom.V(8, 0, 0), Max: geom.V(13, 5, 5)})},
	} {
		found := mockup.Examine(tt.name, meshOf(tt.solid)).Findings()
		require.Len(t, found, 1, tt.name)
		assert.Equal(t, tt.code, found[0].Code, tt.name)
		assert.InDelta(t, tt.want, found[0].Values[tt.value], tt.off, tt.name)
		assert.Contains(t, found[0].Text, "piece "+tt.name)
	}
	// What hangs between two sides, or stands out by less than two lines, needs no support; a little more does.
	bridge := mockup.Examine("bridge", meshOf(sdf.Cut(block(0, 0, 0, 20, 10, 10), block(6, -1, -1, 14, 11, 6))))
	assert.Empty(t, bridge.Findings())
	assert.InDelta(t, 8, bridge.WidestBridge, 0.2)
	for _, ledge := range []float64{0.8, 1.6} {
		found := mockup.Examine("ledge", meshOf(sdf.Join(block(0, 0, 0, 10, 10, 10), block(9, 0, 5, 10+ledge, 10, 10)))).Findings()
		assert.Len(t, found, map[float64]int{0.8: 0, 1.6: 1}[ledge], "%g: %v", ledge, found)
	}
}

func TestGauges(t *testing.T) {
	plan := planOf(t, "../../examples/bakery-alcove-shelves.yaml")
	all := mockup.Gauges(plan)
	require.NotEmpty(t, all)
	names := map[string]bool{}
	for _, g := range all {
		assert.False(t, names[g.Name], g.Name)
		names[g.Name] = true
		assert.Contains(t, []string{"ring", "holes", "plug"}, g.Kind)
		m, _, err := isosurface.Mesh(g.Solid, isosurface.Options{ToleranceMM: mockup.ToleranceMM})
		require.NoError(t, err)
		assert.Empty(t, mockup.Examine(g.Name, m).Findings(), g.Name)
	}
	assert.Len(t, all, 3, "a ring, a cross and a plug: one size of pipe, one of flange, one of hole")
}
