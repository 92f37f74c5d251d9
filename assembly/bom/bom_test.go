package bom_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/bom"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

const inch = 25.4

// parts for an invented rack: two equal posts, a rail divided by a union, feet on a board, a strap, a wall flange.
func rack() *assembly.Assembly {
	a := &assembly.Assembly{
		Header: assembly.Header{Title: "rack", Units: "in", Thread: standard.NPT},
		People: 2,
		Room:   assembly.Room{Surfaces: []assembly.Surface{{Name: "back", Made: "1/2 in gypsum on studs"}, {Name: "left", Made: "brick"}}},
	}
	pipe := func(id string, number int, inches float64) {
		a.Parts = append(a.Parts, assembly.Part{
			ID: id, Number: number, Kind: standard.Pipe, Size: assembly.Sizes{"3/4"}, LengthMM: inches * inch,
			Family: standard.NPT, Material: "steel", Finish: "black lacquer",
			Dims: standard.Dims{standard.DimOD: {MM: 26.67, Source: "ASME B36.10M", Grade: standard.Verified}},
		})
	}
	fitting := func(id string, number int, k standard.Kind, s ...standard.Size) *assembly.Part {
		a.Parts = append(a.Parts, assembly.Part{
			ID: id, Number: number, Kind: k, Size: s, Family: standard.NPT, Material: "iron", Finish: "black lacquer",
		})
		return &a.Parts[len(a.Parts)-1]
	}
	board := func(id string, number int, kind standard.Kind, x, y, z float64) {
		a.Parts = append(a.Parts, assembly.Part{ID: id, Number: number, Kind: kind, Material: "pine",
			Boxes: []geom.Box{{Max: geom.V(x*inch, y*inch, z*inch)}}})
	}
	pipe("post-left.1", 3, 22.48)
	pipe("post-right.1", 3, 22.48)
	pipe("rail.1", 1, 6)
	a.Parts[2].Stock = true
	pipe("rail.2", 2, 39.43)
	for i, id := range []string{"foot-left", "foot-right", "wall"} {
		f := fitting(id, 4, standard.Flange, "3/4")
		f.Dims = standard.Dims{
			standard.DimHeight: {MM: 0.775 * inch, Source: "memory", Grade: standard.MemoryLow},
			standard.DimHoles:  {MM: 4, Grade: standard.CommonPractice}, standard.DimPlate: {MM: 5.6, Grade: standard.MemoryLow},
		}
		face := []geom.Vec{{Z: -1}, {Z: -1}, {Y: 1}}[i]
		f.Ports = []assembly.Port{{Name: "face", Out: face}, {Name: "a", Out: face.Neg()}}
	}
	fitting("rail.union-1.a", 5, standard.Union, "3/4").Half = "a"
	fitting("rail.union-1.b", 5, standard.Union, "3/4").Half = "b"
	for i := range 12 {
		fitting(fmt.Sprint("tee", i), 6, standard.Tee, "3/4", "3/4", "1/2")
	}
	board("base", 7, standard.Board, 60, 24, 0.75)
	a.Parts = append(a.Parts, assembly.Part{ID: "base.strap-1", Number: 8, Kind: standard.Strap, Size: assembly.Sizes{"3/4"}, Material: "steel"})
	a.Parts = append(a.Parts, assembly.Part{ID: "room", Kind: standard.Room})
	face := func(a, b string) assembly.Joint {
		return assembly.Joint{ID: a, Kind: assembly.Face, A: assembly.End{Part: a, Port: "face"}, B: assembly.End{Part: b}}
	}
	a.Joints = []assembly.Joint{face("foot-left", "base"), face("foot-right", "base"), face("wall", "room")}
	a.Pipes = []assembly.PipeSum{
		{Part: "post-left.1", Formula: "28 - 4.5 - 1.02 = 22.48", Stock: &assembly.Stock{LengthMM: 24 * inch, Moves: []assembly.PointShift{{Point: "left.top", By: geom.V(0, 0, 38)}, {Point: "rail", By: geom.V(0, 0, 1)}}}},
		{Part: "post-right.1", Formula: "other words", Stock: &assembly.Stock{LengthMM: 24 * inch, Moves: []assembly.PointShift{{Point: "right.top", By: geom.V(0, 0, 38)}, {Point: "rail", By: geom.V(0, 0, 2)}}}},
		{Part: "rail.1", Formula: "6"}, {Part: "rail.2", Formula: "48 - 1.52 - 1.05 - 6 = 39.43"},
	}
	a.Prices = []assembly.Price{
		{Kind: standard.Pipe, Size: assembly.Sizes{"3/4"}, Amount: 4.1, Length: 12 * inch, At: "rack.yaml:30:3"},
		{Kind: standard.Pipe, Size: assembly.Sizes{"3/4"}, Amount: 9, Length: 36 * inch, At: "rack.yaml:30:3"},
		{Kind: standard.Union, Size: assembly.Sizes{"3/4"}, Amount: 6.4, Unit: "EUR", Have: 1, At: "rack.yaml:31:3"},
		{Kind: standard.Union, Amount: 99, At: "rack.yaml:32:3"},
	}
	return a
}

func TestCuts(t *testing.T) {
	cuts := bom.Cuts(rack())
	require.Len(t, cuts, 3)
	assert.Equal(t, []int{1, 2, 3}, []int{cuts[0].Number, cuts[1].Number, cuts[2].Number})
	assert.Equal(t, []int{1, 1, 2}, []int{cuts[0].Count, cuts[1].Count, cuts[2].Count})
	post := cuts[2]
	assert.Equal(t, "post-left.1, post-right.1", post.Label)
	assert.Equal(t, "28 - 4.5 - 1.02 = 22.48", post.Formula)
	assert.Equal(t, &assembly.Stock{LengthMM: 24 * inch, Moves: []assembly.PointShift{
		{Point: "left.top", By: geom.V(0, 0, 38)}, {Point: "rail", By: geom.V(0, 0, 2)}, {Point: "right.top", By: geom.V(0, 0, 38)},
	}}, post.Stock, "shifts of all pipes of the number, the greater where they meet")
	assert.Nil(t, cuts[0].Stock)
}

// A sum that takes off a figure which no table vouches for says so, once for each figure.
func TestCutsMeasure(t *testing.T) {
	a := rack()
	a.Pipes[0].Formula = "28 - 0.2 (flange foot-left) - 1.02 (tee top) = 26.78 in"
	a.Pipes[1].Formula = "28 - 0.2 (flange foot-right) - 1.02 (tee top) = 26.78 in"
	a.Pipes[3].Formula = "48 - 1.05 (union rail.union-1) - 6 (rail.1) - 1 (tee foot-left-2) = 39.95 in"
	for i := range a.Parts {
		if a.Parts[i].Kind == standard.Union {
			a.Parts[i].Dims = standard.Dims{
				standard.DimLength:       {MM: 2 * inch, Grade: standard.MemoryLow},
				standard.DimReach + ".a": {MM: inch, Grade: standard.MemoryLow},
			}
		}
	}
	cuts := bom.Cuts(a)
	assert.Empty(t, cuts[0].Measure)
	assert.Equal(t, []string{"3/4 in union length taken as 2 in"}, cuts[1].Measure, "half of its length is not told again")
	assert.Equal(t, []string{"3/4 in floor flange height taken as 3/4 in + 0.025"}, cuts[2].Measure)
	assert.Contains(t, find(t, bom.Shopping(a), "3/4 in union").Text, "measure yours (length taken as 2 in)")
}

// Pieces in hand go to pipes of their own length first; a longer one is cut; each serves one pipe, and never changes
// what the frame uses or what a bought piece costs.
func TestShoppingPiecesInHand(t *testing.T) {
	a := rack()
	have := func(inches float64, s standard.Size) {
		a.Prices = append(a.Prices, assembly.Price{Kind: standard.Pipe, Size: assembly.Sizes{s}, Length: inches * inch, Have: 1, At: "rack.yaml:40:3"})
	}
	have(24, "3/4") // cut to a post of 22.48
	have(22.48, "3/4")
	have(30, "3/4") // both posts are served: the rail of 6
	have(60, "1/2") // another size
	have(5, "3/4")  // too short for all
	items := bom.Shopping(a)
	post := find(t, items, "22 1/2 in - 0.020")
	assert.Contains(t, post.Text, "; 1 in hand; 1 to cut from longer pieces in hand")
	assert.Equal(t, 2, post.Count)
	assert.Equal(t, 9.0, *post.PriceEach)
	assert.Contains(t, find(t, items, "pipe, 6 in long").Text, "; 1 to cut from longer pieces in hand")
	assert.NotContains(t, find(t, items, "39 7/16 in").Text, "hand")
}

// In a metric design screws come in steps of 5 mm: 5.6 + 19.05 - 3 = 21.65 mm gives 20; 5.6 + 12.7 + 38.1 = 56.4 gives 60.
func TestShoppingMetricScrews(t *testing.T) {
	a := rack()
	a.Header.Units = "mm"
	items := bom.Shopping(a)
	assert.Equal(t, 8, find(t, items, "20 mm long or less").Count)
	assert.Equal(t, 4, find(t, items, "60 mm long: through 1/2 in gypsum on studs, 38 mm into timber").Count)
}

// The list can be made before an order is known: unnumbered pipes are told apart by their looks.
func TestCutsWithoutNumbers(t *testing.T) {
	a := rack()
	for i := range a.Parts {
		a.Parts[i].Number = 0
	}
	cuts := bom.Cuts(a)
	require.Len(t, cuts, 3)
	assert.Equal(t, 2, cuts[0].Count)
}

func find(t *testing.T, items []assembly.Item, words string) assembly.Item {
	t.Helper()
	for _, it := range items {
		if strings.Contains(it.Text, words) {
			return it
		}
	}
	require.Failf(t, "no such item", "%s in %+v", words, items)
	return assembly.Item{}
}

func TestShopping(t *testing.T) {
	items := bom.Shopping(rack())
	var groups []string
	for _, it := range items {
		if len(groups) == 0 || groups[len(groups)-1] != it.Group {
			groups = append(groups, it.Group)
		}
		assert.Positive(t, it.Count, it.Text)
	}
	assert.Equal(t, []string{"pipe", "fittings", "fixings", "boards", "finish", "safety"}, groups)

	post := find(t, items, "22 1/2 in - 0.020")
	assert.Equal(t, "3/4 in black steel pipe, 22 1/2 in - 0.020 long, threaded at both ends", post.Text)
	assert.Equal(t, 3, post.Number)
	assert.Equal(t, 2, post.Count)
	require.NotNil(t, post.PriceEach)
	assert.Equal(t, 9.0, *post.PriceEach, "the shortest listed piece that is long enough")
	assert.Equal(t, "the design, line 30", *post.PriceSource)
	assert.Equal(t, 4.1, *find(t, items, "pipe, 6 in long").PriceEach)
	assert.Contains(t, find(t, items, "pipe, 6 in long").Text, "a stock length")
	assert.Nil(t, find(t, items, "39 7/16 in").PriceEach, "longer than any piece with a price")

	union := find(t, items, "union")
	assert.Equal(t, 1, union.Count, "two halves are one union")
	assert.Equal(t, 1, union.Spare)
	assert.Equal(t, 6.4, *union.PriceEach, "size and kind beat kind alone")
	assert.Equal(t, "the design, line 31, in EUR", *union.PriceSource)
	assert.Equal(t, "3/4 in union, black malleable iron, NPT thread; 1 in hand", union.Text)
	assert.Zero(t, union.Number)

	flange := find(t, items, "floor flange, black")
	assert.Equal(t, 3, flange.Count)
	assert.Contains(t, flange.Text, "measure yours (height taken as 3/4 in + 0.025)")
	tee := find(t, items, "3/4 x 3/4 x 1/2 in tee")
	assert.Equal(t, 12, tee.Count)
	assert.Equal(t, 2, tee.Spare, "a tenth, rounded up")
	assert.NotContains(t, tee.Text, "measure", "nothing of low grade")
}

func TestShoppingFixings(t *testing.T) {
	items := bom.Shopping(rack())
	// Two flanges of four holes on a 3/4 in board: plate 5.6 mm + 19.05 mm - 3 mm = 21.65 mm, so 3/4 in (19.05 mm).
	board := find(t, items, "a longer one comes through the board (3/4 in)")
	assert.Equal(t, 8, board.Count)
	assert.Equal(t, 1, board.Spare)
	assert.Contains(t, board.Text, "3/4 in long or less")
	// Plate, 1/2 in of lining and 1-1/2 in of bite: 2.22 in, so 2-1/4 in.
	wall := find(t, items, "2 1/4 in long: through 1/2 in gypsum on studs, 1 1/2 in into timber")
	assert.Equal(t, 4, wall.Count)
	assert.Equal(t, 2, find(t, items, "screw for a pipe strap").Count)
	assert.Equal(t, 1, find(t, items, "pipe strap, two holes").Count)

	// 3/4 in boards: 2.47 in, so 2-1/2 in.
	a := rack()
	a.Room.Surfaces[0].Made = "3/4 in boards on joists"
	assert.Equal(t, 4, find(t, bom.Shopping(a), "2 1/2 in long: through 3/4 in boards on joists, 1 1/2 in into timber").Count)
	a.Room.Surfaces = nil
	assert.Equal(t, 4, find(t, bom.Shopping(a), "2 1/4 in long: 1 1/2 in into timber behind a covering of 1/2 in; for masonry take wall plugs").Count)

	a = rack()
	a.Parts[6].Ports[0].Out = geom.V(-1, 0, 0)
	assert.Equal(t, 4, find(t, bom.Shopping(a), "wall plug for brick").Count)
}

// A foot of 3/4 pipe has pi x 1.05 / 12 = 0.2749 square feet; a 12 oz can covers 10 of them a coat, as makers of spray
// cans say (10 to 20): 18.2 ft of pipe a can in two coats.
func TestShoppingFinish(t *testing.T) {
	cans := func(feet float64, finish string) int {
		a := rack()
		a.Parts = a.Parts[:1]
		a.Parts[0].LengthMM = feet * 12 * inch
		a.Parts[0].Finish = finish
		n := 0
		for _, it := range bom.Shopping(a) {
			if it.Group == "finish" && strings.Contains(it.Text, "can: ") {
				n += it.Count
			}
		}
		return n
	}
	const fittings = 1.15 // the list allows 15 % for fittings
	assert.Equal(t, 1, cans(18.1/fittings, "black paint"))
	assert.Equal(t, 2, cans(18.3/fittings, "black paint"))
	assert.Equal(t, 2, cans(36.3/fittings, "black lacquer"))
	assert.Equal(t, 0, cans(36, "black"))
	assert.Equal(t, 0, cans(36, "galvanised"))
	a := rack()
	for i := range a.Parts {
		a.Parts[i].Finish = "galvanised"
	}
	assert.Equal(t, 1, find(t, bom.Shopping(a), "zinc-rich").Count)
}

func TestShoppingSafety(t *testing.T) {
	items := bom.Shopping(rack())
	assert.Equal(t, 2, find(t, items, "eye protection").Count)
	find(t, items, "respirator")
	find(t, items, "dust mask")
	find(t, items, "detector for studs, pipes and live cables")
	a := rack()
	a.Joints = a.Joints[:2]
	for _, it := range bom.Shopping(a) {
		assert.NotContains(t, it.Text, "detector", "nothing is drilled into the room")
	}
}

func TestShoppingBoards(t *testing.T) {
	b := find(t, bom.Shopping(rack()), "pine board")
	assert.Equal(t, "pine board, 60 in x 24 in x 3/4 in", b.Text)
	assert.Equal(t, 7, b.Number)
	assert.Equal(t, "boards", b.Group)
}

// What each part of a catalogue is called: the kinds' own words, special orders told.
func TestShoppingKinds(t *testing.T) {
	a := rack()
	a.Parts = nil
	for _, k := range standard.FittingKinds() {
		a.Parts = append(a.Parts, assembly.Part{ID: string(k), Kind: k, Size: assembly.Sizes{"1"}, Family: standard.BSPT, Material: "iron", Finish: "galvanised"})
	}
	for _, it := range bom.Shopping(a) {
		if it.Group != "fittings" {
			continue
		}
		assert.True(t, strings.HasPrefix(it.Text, "1 in "+it.Kind.Words()+", galvanised malleable iron, BSPT thread"), it.Text)
		assert.Equal(t, standard.IsSpecialOrder(it.Kind), strings.Contains(it.Text, "special order"), it.Text)
	}
}

func BenchmarkShopping(b *testing.B) {
	for _, n := range []int{60, 1000} {
		a := rack()
		for i := len(a.Parts); i < n; i++ {
			p := a.Parts[i%4]
			p.ID = fmt.Sprint(p.ID, i)
			a.Parts = append(a.Parts, p)
		}
		b.Run(fmt.Sprintf("bodies=%d", n), func(b *testing.B) {
			for b.Loop() {
				bom.Cuts(a)
				bom.Shopping(a)
			}
		})
	}
}
