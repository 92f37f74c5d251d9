package standard_test

import (
	"fmt"

	"turnwise/assembly/standard"
)

// A 3/4 tee: what it takes off the distance to a pipe's end, and where that is from.
func ExampleCatalogue_Fitting() {
	c := &standard.Catalogue{Family: standard.NPT}
	tee, err := c.Fitting(standard.Tee, []standard.Size{"3/4"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, p := range tee.Ports {
		fmt.Printf("%s: %.2f mm to the face, %.2f mm to the pipe\n", p.Name, p.ReachMM, p.TakeoutMM())
	}
	fmt.Println(tee.Dims[standard.DimReach+".a"].Grade)
	// Output:
	// a: 33.27 mm to the face, 18.99 mm to the pipe
	// b: 33.27 mm to the face, 18.99 mm to the pipe
	// c: 33.27 mm to the face, 18.99 mm to the pipe
	// memory-high
}

// A combination that is not made comes back with the nearest that is.
func ExampleNoRowError() {
	c := &standard.Catalogue{}
	_, err := c.Fitting(standard.Tee, []standard.Size{"1", "3/4", "1"})
	fmt.Println(err)
	// Output: no 1 x 3/4 x 1 reducing tee in the tables; a 1 tee with a 1 x 3/4 bushing would do
}
