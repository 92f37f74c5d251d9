package sequence

// member takes off a right-and-left or long-screw piece.
func (s *scene) member() *removal { return nil }
