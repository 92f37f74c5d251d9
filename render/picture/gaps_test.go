package picture

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/geom"
)

// TestWithin cuts lines through a box of 10 mm.
func TestWithin(t *testing.T) {
	b := geom.Box{Max: geom.V(10, 10, 10)}
	from, to, ok := within(b, geom.V(5, 5, -10), geom.V(5, 5, 30))
	assert.True(t, ok)
	assert.InDelta(t, 0.25, from, 1e-12)
	assert.InDelta(t, 0.5, to, 1e-12)
	_, _, ok = within(b, geom.V(11, 5, -10), geom.V(11, 5, 30))
	assert.False(t, ok, "it passes beside")
	_, _, ok = within(b, geom.V(5, 5, 12), geom.V(5, 5, 30))
	assert.False(t, ok, "it begins beyond")
}
