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
		Action: assembly.Screw, Moves: []string{"tee"}, Onto: []string{"post.1"}, Joints: []string{"post-tee"}, Turns: 7.875, People: 1,
	}))
	// Output:
	// Screw the 3/4 in tee (3) onto the pipe (2) at post.1: about 8 turns (5 1/2 to 8 1/2), until the branch points towards you. Turn it clockwise, seen from behind it, and hold the other piece still with a second wrench.
}
