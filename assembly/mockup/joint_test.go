package mockup

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/sdf"
)

// deepest is the deepest point that two solids have in common within a box, on a lattice: negative when they overlap.
func deepest(a, b sdf.Solid, box geom.Box) float64 {
	const n = 60
	least := math.Inf(1)
	size := box.Size()
	for i := range n {
		for j := range n {
			for k := range n {
				p := box.Min.Add(geom.V(size.X*float64(i)/(n-1), size.Y*float64(j)/(n-1), size.Z*float64(k)/(n-1)))
				least = min(least, max(a.Distance(p), b.Distance(p)))
			}
		}
	}
	return least
}

// TestLugFollowsItsSlot: along the quarter turn a rod and its socket stay clear of one another; pushed straight, or turned
// the other way, they meet.
func TestLugFollowsItsSlot(t *testing.T) {
	const depth, clearance = 2.3, 0.15
	for _, left := range []bool{false, true} {
		f := fitFor(26.67, 8, clearance)
		mouth := geom.V(0, 0, 5)
		body := sdf.Cut(arm{geom.Vec{}, geom.AxisZ, 5, f.outer}.solid(geom.AxisX),
			socket(f, mouth, geom.AxisZ, geom.AxisX, depth, depth+floorMM, clearance, left, true))
		// A rod whose end at its origin points down into the socket when it is made up.
		rod := sdf.Join(arm{geom.Vec{}, geom.AxisZ, 12, f.rod * rodShare / 2}.solid(geom.AxisX), peg(f, geom.Vec{}, geom.AxisZ.Neg(), lug{dir: geom.AxisX, depth: depth}))
		made := geom.At(geom.V(0, 0, 5-depth))
		box := geom.Box{Min: geom.V(-f.slot-0.1, -f.slot-0.1, 2), Max: geom.V(f.slot+0.1, f.slot+0.1, 5.1)}
		hand := 1.0
		if left {
			hand = -1
		}
		back := func(share, turns float64) sdf.Solid { // share of the way out, turned back so many turns
			pose := made.Turned(geom.Vec{}, geom.AxisZ, hand*turns*2*math.Pi, share*depth)
			return sdf.Move(rod, pose)
		}
		for i := range 9 {
			s := float64(i) / 8
			assert.Greater(t, deepest(body, back(s, s*QuarterTurn), box), 0.0, "left %v, %g of the way out", left, s)
		}
		assert.Less(t, deepest(body, back(0.4, 0), box), -0.1, "left %v: pulled out straight", left)
		assert.Less(t, deepest(body, back(0.4, -0.4*QuarterTurn), box), -0.1, "left %v: turned the wrong way", left)
		assert.Less(t, deepest(body, back(0, -0.1), box), -0.05, "left %v: turned beyond the stop", left)
	}
}

// TestFiguresDiffer: every number looks unlike every other, also on its head, thanks to the line under it.
func TestFiguresDiffer(t *testing.T) {
	seen := map[string]string{}
	var all []string
	for n := range 100 {
		all = append(all, fmt.Sprint(n))
	}
	for n := range 2 * len(letters) {
		all = append(all, "7"+letter(n))
	}
	for _, words := range all {
		boxes := figures(words, 4, 0.4, 0.5)
		for _, turned := range []bool{false, true} {
			sum := geom.Vec{}
			key := ""
			for i := range 40 {
				for k := range 40 {
					p := geom.V(float64(i)*0.2-4, float64(k)*0.2-4, 0) // three figures of this height are less than 8 mm wide
					if turned {
						p = p.Neg()
					}
					in := 0
					for _, b := range boxes {
						if b.Contains(p) {
							in = 1
						}
					}
					key += fmt.Sprint(in)
					sum = sum.Add(p)
				}
			}
			name := fmt.Sprint(words, turned)
			assert.Empty(t, seen[key], "%s looks like %s", name, seen[key])
			seen[key] = name
		}
	}
}

func TestNearestRod(t *testing.T) {
	for _, tt := range []struct {
		d      float64
		market string
		want   float64
	}{{3.3, "mm", 3}, {2.67, "mm", 2.5}, {4.2, "in", 25.4 * 3 / 16}, {1.2, "mm", 0}, {30, "mm", 0}, {3, "no such", 0}} {
		got, ok := nearestRod(tt.d, tt.market)
		assert.Equal(t, tt.want > 0, ok, "%v", tt)
		assert.InDelta(t, tt.want, got, 1e-9, "%v", tt)
	}
}

// TestSlotsHaveNoFeatherEdges: a slot's roof is blunt at the mouth, and its floor clear of the bore's, whatever the
// clearance, so that the first grid does for a block with a socket: on sharp edges it is off by a tenth of a millimetre.
func TestSlotsHaveNoFeatherEdges(t *testing.T) {
	for _, left := range []bool{false, true} {
		for _, clearance := range []float64{0.05, 0.15, 0.2, 0.25} {
			const depth, high = 2.7, 4.5
			f := fitFor(26.67, 5, clearance)
			block := sdf.Box(geom.Box{Min: geom.V(-6, -6, 0), Max: geom.V(6, 6, high)})
			_, r, err := isosurface.Mesh(sdf.Cut(block, socket(f, geom.V(0, 0, high), geom.AxisZ, geom.AxisX, depth, depth, clearance, left, true)),
				isosurface.Options{ToleranceMM: ToleranceMM})
			require.NoError(t, err)
			assert.Equal(t, 1, r.Attempts, "clearance %g, left %v: %v", clearance, left, r.Rejected)
			assert.LessOrEqual(t, r.MaxErrorMM, ToleranceMM)
		}
	}
}
