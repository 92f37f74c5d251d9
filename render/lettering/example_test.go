package lettering_test

import (
	"fmt"

	"turnwise/render/lettering"
)

func ExampleFont_Wrap() {
	for _, line := range lettering.Regular.Wrap("write a union into the upper rail", lettering.NoteMM, 30) {
		fmt.Println(line)
	}
	// Output:
	// write a union into
	// the upper rail
}
