package callout_test

import (
	"fmt"

	"turnwise/render/callout"
)

// Three parts in a row get their balloons, each where its leader is short and none crosses another.
func ExamplePlace() {
	var marks []callout.Mark
	for i, x := range []float64{60, 30, 90} {
		marks = append(marks, callout.Mark{Text: fmt.Sprint(i + 1), Anchors: []callout.Anchor{{At: callout.Point{X: x, Y: 30}, Inside: 3}}})
	}
	balloons := callout.Place(marks, callout.Layout{MinX: 10, MinY: 10, MaxX: 110, MaxY: 80, Radius: 4, Pitch: 12})
	for _, b := range balloons {
		fmt.Printf("%s ends at %.0f, %.0f\n", marks[b.Mark].Text, b.End.At.X, b.End.At.Y)
	}
	fmt.Println(callout.Crossings(balloons), "crossings")
	// Output:
	// 1 ends at 60, 30
	// 2 ends at 30, 30
	// 3 ends at 90, 30
	// 0 crossings
}
