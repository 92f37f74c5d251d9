package bom_test

import (
	"fmt"

	"turnwise/assembly/bom"
)

func ExampleCuts() {
	for _, c := range bom.Cuts(rack()) {
		fmt.Printf("%d: %d x %s, %.2f in, for %s\n", c.Number, c.Count, c.Size, c.LengthMM/25.4, c.Label)
	}
	// Output:
	// 1: 1 x 3/4, 6.00 in, for rail.1
	// 2: 1 x 3/4, 39.43 in, for rail.2
	// 3: 2 x 3/4, 22.48 in, for post-left.1, post-right.1
}
