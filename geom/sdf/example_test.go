package sdf_test

import (
	"fmt"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

// A short piece of pipe with a hole drilled across it.
func Example() {
	pipe := sdf.Tube(geom.Vec{}, geom.AxisZ, 100, 13.4, 10.5)
	drill := sdf.Cylinder(geom.V(-20, 0, 50), geom.AxisX, 40, 3)
	s := sdf.Cut(pipe, drill)

	fmt.Printf("in the wall: %.2f mm\n", s.Distance(geom.V(0, 12, 20)))
	fmt.Printf("in the hole: %.2f mm\n", s.Distance(geom.V(12, 0, 50)))
	p := geom.V(0, 13.5, 50)
	fmt.Printf("nearest: %T\n", s.Leaves()[s.ActiveLeaf(p)])
	// Output:
	// in the wall: -1.40 mm
	// in the hole: 3.00 mm
	// nearest: sdf.CylinderLeaf
}
