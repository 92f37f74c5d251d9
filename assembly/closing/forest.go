package closing

// Forest is a union-find: which of some bodies are one so far. Bodies are numbers from 0.
type Forest []int

// NewForest returns n bodies that are all apart.
func NewForest(n int) Forest {
	u := make(Forest, n)
	for i := range u {
		u[i] = i
	}
	return u
}

// Root returns the body that stands for all that are one with i.
func (u Forest) Root(i int) int {
	for u[i] != i {
		u[i] = u[u[i]]
		i = u[i]
	}
	return i
}

// Join makes a and b one and tells whether they were apart. The lower root stays, so that results do not hang on the
// order of joining.
func (u Forest) Join(a, b int) bool {
	a, b = u.Root(a), u.Root(b)
	if a == b {
		return false
	}
	if a > b {
		a, b = b, a
	}
	u[b] = a
	return true
}
