package explode_test

import (
	"fmt"

	"turnwise/assembly"
	"turnwise/geom"
	"turnwise/render/explode"
)

// A pipe screwed 14 mm into a tee comes out along its axis: by what it was engaged and a gap of 20 mm.
func ExampleApart() {
	plan := &assembly.Plan{
		Parts: []assembly.Part{{ID: "tee", Pose: geom.Identity()}, {ID: "pipe", Pose: geom.At(geom.V(0, 0, 20))}},
		Joints: []assembly.Joint{{ID: "joint", Kind: assembly.Thread, A: assembly.End{Part: "tee"}, B: assembly.End{Part: "pipe"},
			Axis: &assembly.Axis{At: geom.V(0, 0, 34), Dir: geom.AxisZ}, EngagementMM: 14}},
	}
	r := explode.Apart(plan, explode.Options{
		Gap:   func(geom.Vec) float64 { return 20 },
		Boxes: map[string]geom.Box{"tee": {Max: geom.V(1, 1, 34)}, "pipe": {Max: geom.V(1, 1, 500)}},
	})
	fmt.Println(r.Offsets["pipe"].Sub(r.Offsets["tee"]))
	// Output: {0 0 34}
}
