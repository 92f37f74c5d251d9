package solidify_test

import (
	"fmt"

	"turnwise/assembly"
	"turnwise/assembly/solidify"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// The wall of a coupling, half way along.
func ExampleSolid() {
	var c standard.Catalogue
	f, err := c.Fitting(standard.Coupling, []standard.Size{"3/4"})
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := solidify.Solid(assembly.Part{ID: "coupling", Kind: f.Kind, Dims: f.Dims})
	if err != nil {
		fmt.Println(err)
		return
	}
	middle := (f.Dims.MM(standard.DimBore, "a") + f.Dims.MM(standard.DimBodyOD, "a")) / 4
	fmt.Println("on the axis:", s.Distance(geom.Vec{}) < 0)
	fmt.Println("in the wall:", s.Distance(geom.V(middle, 0, 0)) < 0)
	// Output:
	// on the axis: false
	// in the wall: true
}
