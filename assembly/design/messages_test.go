package design

import (
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestMessages holds the messages and places that the format's reference promises, one fault in one small design each.
func TestMessages(t *testing.T) {
	tests := []struct{ old, new, want string }{ // new takes the place of old in the sketch
		{"  a:", "\ta:", "3:1: a tab: indent with spaces"},
		{"  rod: a", "  rod:a", "6:3: rod:a to b: a space goes after the colon"},
		{"66\n  b", "66\xff\n  b", "3:18: this byte is not UTF-8 text: save the file as UTF-8"},
		{"left, 12", "&p left, 12", "3:6: anchors and aliases are not read here: draw it once in groups and copy it"},
		{"left, 12, 66", "*p", "3:6: anchors and aliases are not read here: draw it once in groups and copy it"},
		{"rod: a to b", "rod: {path: a to b, colour: red}", "6:23: no key colour in a run: path, size, cut, clearance"},
		{"runs:", "board: {}\nruns:", "5:1: no key board; boards?"},
		{"  b: 40", "  a: 1, 2, 3\n  b: 40", "4:3: a is already the point in line 3"},
		{"rod: a", "a: a", "6:3: a is already the point in line 3"},
		{"pipe: 3/4\n", "pipe: 3/4\ngivens: {length: 3}\n", ""},
		{"40, 12", "right, 12", "4:6: no right wall: give right under room"},
		{"40, 12", "40, front", "4:10: no front wall: give front under room"},
		{"12, 66\nruns", "12, ceiling\nruns", "4:14: no ceiling: give ceiling under room"},
		{"40, 12", "2e3, 12", "4:6: 2e3 is not a number here: write it out"},
		{"40, 12", "7 ft 2, 12", "4:11: 7 ft 2 what? write 7 ft 2 in"},
		{"40, 12", "40, (12 + 3", "4:17: ( is not closed"},
		{"40, 12", "40, max(12, 3", "4:23: ( is not closed"},
		{"pipe: 3/4", "pipe: 5/8", "1:7: no pipe size 5/8; sizes are 1/4 3/8 1/2 3/4 1 1-1/4 1-1/2 2"},
		{"pipe: 3/4", "turnwise: 2\npipe: 3/4", "1:11: this program reads format 1, the file says 2"},
		{"pipe: 3/4", "units: feet\npipe: 3/4", "1:8: no units called feet; in or mm"},
		{"pipe: 3/4", "thread: bsp\npipe: 3/4", "1:9: no thread family called bsp; npt or bspt"},
		{"pipe: 3/4", "make-up: tight\npipe: 3/4", "1:10: no make-up called tight; normal, gauge or hand; measured? give engagement under parts"},
		{"runs:", "boards:\n  s: {size: 60 x 24, at: \"0, 0, 0\"}\nruns:", "6:13: a board has three sizes, found two"},
		{"runs:", "boards:\n  s: {size: 6 x 2 x 1, at: \"0, 0, 0\", copies: 3 each}\nruns:", "6:53: how each copy is moved is missing: 5 each z + 14 3/4"},
		{"runs:", "boards:\n  s: {size: 6 x 2 x 1, at: \"0, 0, ?\"}\nruns:", "6:35: ? needs lies-on"},
		{"a to b\n", "a to b\nloads: {rod: 20}\n", "7:14: 20 what? 20 lb/ft along it, or 20 lb in all"},
		{"a to b\n", "a to b\nloads: {rod: elephants}\n", "7:14: no load called elephants; clothes coats books records, or a number with its unit: 20 lb/ft, 20 lb"},
		{"runs:", "room:\n  right: 1,000\nruns:", "6:10: 1,000: a comma parts readings; write 1000"},
		{"pipe: 3/4", "finish: galvanised, paint\npipe: 3/4", ""},
		{"rod: a to b", "rod: {path: a to b, cut: 6, rest}", "6:31: rest is not a key: inside { } a comma ends the value; put the list in quotes"},
	}
	for _, tt := range tests {
		require.Contains(t, sketch, tt.old)
		_, errs := readString(strings.Replace(sketch, tt.old, tt.new, 1))
		if tt.want == "" {
			assert.Empty(t, errs, tt.new)
		} else if assert.Len(t, errs, 1, tt.new) {
			assert.True(t, strings.HasPrefix(errs[0].Error(), "d.yaml:"+tt.want), "%q: got %s, want %s", tt.new, errs[0], tt.want)
		}
	}
}

func TestNearestNames(t *testing.T) {
	const posts = `pipe: 3/4
givens: {length: 3, span: 30}
points:
  knee-a: lenth, 12, 66
  knee-b: span-3, 12, 66
  top: knee-a, z = knea-a.z + 4
runs:
  rod: knee-a to knee-2 to top
  rail: knee-a to knee-2
`
	_, errs := readString(posts)
	assert.EqualError(t, errs, `d.yaml:4:11: no name lenth; length?
d.yaml:5:11: no name span-3; span - 3 is a sum
d.yaml:6:20: no name knea-a.z; knee-a.z?
d.yaml:8:18: no point called knee-2; knee-a?
d.yaml:9:19: no point called knee-2; knee-a?`)
}

func TestEditDistance(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
	}{{"lenth", "length", 1}, {"board", "boards", 1}, {"knee", "knee", 0}, {"hieght", "height", 1}, {"a", "xyz", 3}, {"KNEE", "knee", 0}} {
		assert.Equal(t, tt.want, editDistance(tt.a, tt.b, 10), "%s %s", tt.a, tt.b)
		assert.Equal(t, tt.want, editDistance(tt.b, tt.a, 10), "%s %s", tt.b, tt.a)
	}
	assert.Equal(t, "", nearest("ab", []string{"ac"}), "short words all look alike")
}

// Most memory that reading may ask for in all, and for a file that is too large. Measured: 122 MiB, 1 MiB.
const (
	mostMemory      = 512 << 20
	mostForTooLarge = 8 << 20
)

func TestHostileMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("reads every hostile file a second time")
	}
	for name, r := range hostile() {
		used := allocated(r)
		assert.Less(t, used, uint64(mostMemory), name)
		if strings.HasPrefix(name, "100 MB") {
			assert.Less(t, used, uint64(mostForTooLarge), name)
		}
	}
}

func allocated(r io.Reader) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	Read(r, "d.yaml")
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}
