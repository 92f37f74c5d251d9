package joinery_test

import (
	"fmt"

	"turnwise/assembly/joinery"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// Two pipes meet square: an elbow, and both pipes end 0.62 in short of the corner.
func ExampleChoose() {
	c := &standard.Catalogue{Family: standard.NPT}
	ch, err := joinery.Choose(c, joinery.Site{Point: "knee", Lines: []joinery.Line{
		{Name: "post", Dir: geom.AxisZ.Neg(), Size: "1/2"},
		{Name: "rail", Dir: geom.AxisX, Size: "1/2"},
	}})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(ch.Fitting.Text)
	for _, u := range ch.Lines {
		fmt.Printf("%s %.3f in\n", u.Port, u.TakeoutMM/25.4)
	}
	// Output:
	// 1/2 elbow
	// a 0.620 in
	// b 0.620 in
}
