package isosurface

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestRingsEveryCell tries all 256 sign patterns with all pairings of their ambiguous faces: every crossed edge is in
// exactly one ring, and each step of a ring stays on a face that both edges share.
func TestRingsEveryCell(t *testing.T) {
	tried := 0
	for signs := range 256 {
		for pairing := range 64 {
			joined := func(face int) bool { return pairing>>face&1 == 1 }
			r := ringsOf(uint8(signs), joined)
			crossed := 0
			for _, c := range edgeCorners {
				if signs>>c[0]&1 != signs>>c[1]&1 {
					crossed++
				}
			}
			n := 0
			if r.count > 0 {
				n = int(r.end[r.count-1])
			}
			require.Equal(t, crossed, n, "signs %08b pairing %06b", signs, pairing)
			checkRings(t, r, signs, pairing)
			tried++
		}
	}
	assert.Equal(t, 256*64, tried)
}

func checkRings(t *testing.T, r cellRings, signs, pairing int) {
	seen := map[int8]bool{}
	from := int8(0)
	for k := range r.count {
		require.GreaterOrEqual(t, r.end[k]-from, int8(3), "a ring has three crossings: signs %08b pairing %06b", signs, pairing)
		for n := from; n < r.end[k]; n++ {
			e := r.edges[n]
			require.False(t, seen[e], "signs %08b pairing %06b: edge %d twice", signs, pairing, e)
			seen[e] = true
			require.Equal(t, int8(k), r.ring[e])
			next := from
			if n+1 < r.end[k] {
				next = n + 1
			}
			f := r.faces[n]
			require.Contains(t, edgeFaces[e][:], f)
			require.Contains(t, edgeFaces[r.edges[next]][:], f)
		}
		from = r.end[k]
	}
}

// TestPairingIsSymmetric: two cells that share a face link its crossings alike, for all signs of its four corners and
// both pairings.
func TestPairingIsSymmetric(t *testing.T) {
	for axis := range 3 {
		for bits := range 16 {
			for _, joined := range []bool{false, true} {
				var low, high uint8 // cells below and above the face
				for i, c := range faceCorners[2*axis] {
					if bits>>i&1 == 1 {
						high |= 1 << c
						low |= 1 << (c | 1<<axis)
					}
				}
				pair := func(int) bool { return joined }
				assert.Equal(t, facePairs(low, 2*axis+1, pair), facePairs(high, 2*axis, pair), "axis %d corners %04b", axis, bits)
			}
		}
	}
}

// facePairs lists, for each of a face's edges in order, which other of them it is linked to across that face; -1: none.
func facePairs(signs uint8, face int, joined func(int) bool) [4]int {
	l := linkFaces(signs, joined)
	out := [4]int{-1, -1, -1, -1}
	for i, e := range faceEdges[face] {
		c := edgeCorners[e]
		if signs>>c[0]&1 == signs>>c[1]&1 {
			continue
		}
		to := l[e][sideOf(e, face)]
		for j, f := range faceEdges[face] {
			if f == to {
				out[i] = j
			}
		}
	}
	return out
}
