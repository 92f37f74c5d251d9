package picture

import "math/bits"

// common counts the bits set in both of two masks.
func common(a, b []uint64) int {
	n := 0
	for i := range a {
		n += bits.OnesCount64(a[i] & b[i])
	}
	return n
}
