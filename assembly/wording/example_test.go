package wording_test

import (
	"fmt"

	"turnwise/assembly"
	"turnwise/assembly/units"
	"turnwise/assembly/wording"
)

func ExampleBook_Step() {
	parts, joints := model()
	b := wording.NewBook(units.InchSystem, parts, joints)
	fmt.Println(b.Step(assembly.Step{
		Action: assembly.Screw, Moves: []string{"tee"}, Onto: []string{"post.1"}, Joints: []string{"post-tee"}, People: 1,
	}))
	// Output:
	// Screw the 3/4 tee (3) onto the 3/4 pipe 46 1/2 in (2): 5 1/4 to 8 3/4 turns, clockwise seen from behind it; stop when the branch points towards you. Hold the pipe (2) still.
}
