package sequence

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/geom"
)

// TestJackOut: a post whose cap ends less than 2 mm under a ceiling is to be jacked out; with more room, or where both ends
// are fastened and backed off anyway, nothing is said.
func TestJackOut(t *testing.T) {
	const ceiling = 600.0
	notes := func(spare float64) []assembly.Finding {
		k := newKit()
		k.room(floor(), geom.Box{Min: geom.V(-3000, -3000, ceiling), Max: geom.V(3000, 3000, ceiling+50)})
		k.flange("foot", geom.V(0, 0, 0), ez)
		k.fitting("end", "cap", geom.V(0, 0, ceiling-spare), mz)
		k.pipe("post", "foot", "end", ez)
		k.join(assembly.Face, "foot", "face", "room", "")
		r := Plan(k.input())
		require.NotEmpty(t, r.Steps, "%v", r.Findings)
		return r.Findings
	}
	for _, spare := range []float64{0.4, 1.2, 1.9} {
		got := notes(spare)
		require.Len(t, got, 1)
		assert.Equal(t, "JACK-OUT", got[0].Code)
		assert.Equal(t, assembly.Note, got[0].Severity)
		assert.InDelta(t, spare, got[0].Values["spare_mm"], 1e-9)
		assert.Subset(t, []string{"foot", "end"}, got[0].Parts)
	}
	assert.Empty(t, notes(2.1))
	assert.Empty(t, Plan(poles(900, 0).input()).Findings)
}
