package replay_test

import "fmt"

// An elbow that is turned 2 mm too near a wall.
func ExampleCheck() {
	k := build(lamp(wallAt(swing - 2)))
	r := k.check()
	fmt.Println("proved:", r.OK())
	f := r.Failures[0]
	fmt.Println(f.Code, "in step", f.Step, "between", f.Parts[0], "and", f.Parts[1])
	// Output:
	// proved: false
	// CRASH in step 3 between knee and room
}
