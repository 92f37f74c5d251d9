package sequence

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/standard"
)

func kindOf(s string) standard.Kind { return standard.Kind(s) }

// TestRectangle: a ring of plain threads is refused and its parts are named; one union makes it possible.
func TestRectangle(t *testing.T) {
	r := Plan(rectangle(false, 900, 600).input())
	require.Len(t, r.Loops, 1)
	assert.Empty(t, r.Loops[0].ClosedBy)
	assert.Len(t, r.Loops[0].Parts, 8)
	require.Len(t, r.Findings, 1)
	assert.Equal(t, "LOOP", r.Findings[0].Code)
	assert.ElementsMatch(t, r.Loops[0].Parts, r.Findings[0].Parts)
	assert.Empty(t, r.Steps)

	r = Plan(rectangle(true, 900, 600).input())
	assert.Empty(t, r.Findings)
	require.Len(t, r.Loops, 1)
	assert.Equal(t, "j3", r.Loops[0].ClosedBy)
	require.NotEmpty(t, r.Steps)
}
