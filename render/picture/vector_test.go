package picture

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/render/rendertest"
)

// TestSVG: the vectors of a picture are well-formed XML of plain shapes, need nothing from elsewhere, and every width is
// one of ISO 128.
func TestSVG(t *testing.T) {
	f := rendertest.RingFrame()
	plan := stepped(f, "ring")
	plan.Steps = plan.Steps[:6]
	for _, p := range stepSheets(t, plan, f) {
		var b bytes.Buffer
		require.NoError(t, p.Vector.WriteSVG(&b))
		count := map[string]int{}
		widths := map[string]bool{"0.13": true, "0.18": true, "0.25": true, "0.35": true, "0.5": true, "0.7": true, "1": true}
		for d := xml.NewDecoder(&b); ; {
			tok, err := d.Token()
			if errors.Is(err, io.EOF) {
				break
			}
			require.NoError(t, err)
			e, ok := tok.(xml.StartElement)
			if !ok {
				continue
			}
			count[e.Name.Local]++
			for _, a := range e.Attr {
				if a.Name.Local == "stroke-width" {
					assert.True(t, widths[a.Value], "a line of %s mm", a.Value)
				}
				assert.False(t, strings.Contains(a.Value, "://") && a.Name.Local != "xmlns", "%s=%s", a.Name.Local, a.Value)
			}
		}
		for name := range count {
			assert.Contains(t, []string{"svg", "rect", "g", "path"}, name)
		}
		assert.Greater(t, count["path"], 5)
	}
}

func TestNumber(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 12.345: "12.35", -0.001: "0", 7.1: "7.1"} {
		assert.Equal(t, want, number(v))
	}
}
