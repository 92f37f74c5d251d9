package lettering_test

import (
	"math"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"

	"turnwise/render/lettering"
)

// bounds returns the box around an outline's points.
func bounds(o lettering.Outline) (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, s := range o {
		for _, p := range s.Points[:s.N] {
			x0, y0, x1, y1 = min(x0, p.X), min(y0, p.Y), max(x1, p.X), max(y1, p.Y)
		}
	}
	return x0, y0, x1, y1
}

// TestHeightOfCapitals: a capital H of height 5 is 5 mm high and stands on its line.
func TestHeightOfCapitals(t *testing.T) {
	for _, f := range []*lettering.Font{lettering.Regular, lettering.Bold} {
		_, y0, _, y1 := bounds(f.Outline("H", 5, 20, 100))
		assert.InDelta(t, 100, y1, 0.01)
		assert.InDelta(t, 95, y0, 0.05)
	}
}

// TestWidthAgreesWithTheFontLibrary compares with the library's own measure of a string at a large size.
func TestWidthAgreesWithTheFontLibrary(t *testing.T) {
	parsed, err := opentype.Parse(goregular.TTF)
	require.NoError(t, err)
	const size = 1000
	face, err := opentype.NewFace(parsed, &opentype.FaceOptions{Size: size, DPI: 72, Hinting: font.HintingNone})
	require.NoError(t, err)
	capital := float64(face.Metrics().CapHeight) / 64
	for _, s := range []string{"H", "3/4 tee", "46 1/2 in  ×12", "AVATAR", "Rückwand", ""} {
		want := float64(font.MeasureString(face, s)) / 64 / capital
		assert.InDelta(t, want, lettering.Regular.Width(s, 1), 0.01, "width of %q for capitals of 1", s)
	}
}

func TestOutlineStaysWithinItsWidth(t *testing.T) {
	const s = "0123456789 pipe ×4"
	x0, _, x1, _ := bounds(lettering.Bold.Outline(s, 3.5, 10, 0))
	assert.GreaterOrEqual(t, x0, 9.9)
	assert.LessOrEqual(t, x1, 10.1+lettering.Bold.Width(s, 3.5))
	assert.InDelta(t, 2*lettering.Bold.Width(s, 3.5), lettering.Bold.Width(s, 7), 1e-9)
}

func TestOutlinesAreClosedContours(t *testing.T) {
	o := lettering.Regular.Outline("B8", 5, 0, 0)
	require.NotEmpty(t, o)
	moves := 0
	for i, s := range o {
		if s.Op == lettering.MoveTo {
			moves++
		}
		require.Equal(t, [...]int{1, 1, 2, 3}[s.Op], s.N, "points of segment %d", i)
	}
	assert.Equal(t, lettering.MoveTo, o[0].Op)
	assert.Equal(t, 6, moves, "a B and an 8 have an outline and two holes each")
}

func TestWrap(t *testing.T) {
	text := "the loop has no union   and cannot be screwed together"
	lines := lettering.Regular.Wrap(text, 2.5, 40)
	require.Greater(t, len(lines), 1)
	for _, l := range lines {
		assert.LessOrEqual(t, lettering.Regular.Width(l, 2.5), 40.0, l)
	}
	assert.Equal(t, []string{"unbreakable"}, lettering.Regular.Wrap("unbreakable", 5, 1))
	assert.Empty(t, lettering.Regular.Wrap("  ", 5, 10))
}

func TestUnknownCharactersTakeRoom(t *testing.T) {
	assert.Greater(t, lettering.Regular.Width("\U0001F600", 5), 0.0)
}

func TestFontsMayBeShared(t *testing.T) {
	want := lettering.Bold.Width("shared", 3)
	var wg sync.WaitGroup
	for range 8 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for range 50 {
				assert.Equal(t, want, lettering.Bold.Width("shared", 3))
			}
		}()
	}
	wg.Wait()
}
