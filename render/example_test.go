package render_test

import (
	"fmt"
	"math"

	"turnwise/geom"
	"turnwise/render"
)

// A person in front of a shelf sees its left end on the left and its top above.
func ExampleLookFrom() {
	c := render.LookFrom(-math.Pi/2, 0)
	right, up, depth := c.Project(geom.V(300, 200, 1800))
	fmt.Printf("%.0f to the right, %.0f up, %.0f back\n", right, up, depth)
	// Output: 300 to the right, 1800 up, 200 back
}
