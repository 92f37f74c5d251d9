package isosurface_test

import (
	"fmt"

	"turnwise/geom"
	"turnwise/geom/isosurface"
	"turnwise/geom/mesh"
	"turnwise/geom/sdf"
)

// A board of 200 x 100 x 18 mm with a hole of 30 mm for a pipe.
func Example() {
	board := sdf.Cut(
		sdf.Box(geom.Box{Max: geom.V(200, 100, 18)}),
		sdf.Cylinder(geom.V(60, 50, -1), geom.AxisZ, 20, 15))
	m, report, err := isosurface.Mesh(board, isosurface.Options{ToleranceMM: 0.02})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("closed and free of crossings:", mesh.Check(m) == nil)
	fmt.Println("within 0.02 mm:", report.MaxErrorMM <= 0.02)
	fmt.Printf("%.0f cm3\n", mesh.Volume(m)/1000)
	// Output:
	// closed and free of crossings: true
	// within 0.02 mm: true
	// 347 cm3
}
