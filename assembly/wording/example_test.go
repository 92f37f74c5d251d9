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
		Clock: &assembly.Clock{Part: "tee", Port: "c", Toward: back.Neg(), Symmetry: 1, StopTurns: 1, Stops: 3},
	}))
	// Output:
	// Screw the 3/4 in tee (3) onto the pipe (2) at post.1: 5 1/2 to 8 1/2 turns, and stop when the branch points towards you. Turn it clockwise, seen from behind it, and hold the other piece still with a second wrench. It comes round once in a turn: once past it, go on round to the next time and do not turn back.
}
