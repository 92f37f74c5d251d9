package design

import (
	"bytes"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly/formula"
	"turnwise/assembly/standard"
	"turnwise/assembly/units"
)

const testdata = "../../testdata/"

func readFile(t *testing.T, file string) (*Tree, Errors) {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	return Read(bytes.NewReader(data), filepath.Base(file))
}

func readString(s string) (*Tree, Errors) { return Read(strings.NewReader(s), "d.yaml") }

func files(t *testing.T, pattern string) []string {
	t.Helper()
	fs, err := filepath.Glob(testdata + pattern)
	require.NoError(t, err)
	require.NotEmpty(t, fs, pattern)
	return fs
}

func TestSound(t *testing.T) {
	for _, f := range append(files(t, "design/sound/*.yaml"), files(t, "briefs/*.yaml")...) {
		tree, errs := readFile(t, f)
		assert.Empty(t, errs, f)
		assert.Equal(t, filepath.Base(f), tree.File)
	}
}

// TestFaulty: each faulty design says in its head, in order, every fault that must be found, and no other.
func TestFaulty(t *testing.T) {
	want := regexp.MustCompile(`(?m)^# want (.*)$`)
	for _, f := range files(t, "design/faulty/*.yaml") {
		data, err := os.ReadFile(f)
		require.NoError(t, err)
		var wants, got []string
		for _, m := range want.FindAllStringSubmatch(string(data), -1) {
			wants = append(wants, m[1])
		}
		require.NotEmpty(t, wants, f)
		_, errs := readFile(t, f)
		for _, e := range errs {
			got = append(got, strings.TrimPrefix(e.Error(), filepath.Base(f)+":"))
		}
		assert.Equal(t, wants, got, f)
	}
}

// sketch is a sound design into which faults are put one at a time.
const sketch = `pipe: 3/4
points:
  a: left, 12, 66
  b: 40, 12, 66
runs:
  rod: a to b
`

func TestBytes(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"carriage returns", strings.ReplaceAll(sketch, "\n", "\r\n"), ""},
		{"byte-order mark", "\ufeff" + sketch, ""},
		{"no end of line", strings.TrimSuffix(sketch, "\n"), ""},
		{"tab before a comment's text", sketch + "# a\tb\n", ""},
		{"not UTF-8", "pipe: 3/4\npoints:\n  a: ½\xff0\n", "d.yaml:3:7: this byte is not UTF-8 text: save the file as UTF-8"},
		{"a tab", strings.Replace(sketch, "  b", "\tb", 1), "d.yaml:4:1: a tab: indent with spaces"},
		{"lone carriage return", strings.Replace(sketch, "66\n", "66\r", 1), "d.yaml:3:18: a character that cannot be seen (U+000D): delete it, or put a space"},
		{"no-break space", strings.Replace(sketch, "to b", "to\u00a0b", 1), "d.yaml:6:12: a character that cannot be seen (U+00A0): delete it, or put a space"},
		{"empty text", strings.Replace(sketch, "a to b", `""`, 1), "d.yaml:6:9: an empty text: write a value, or leave the key out"},
		{"zero byte", strings.Replace(sketch, "to b", "to \x00b", 1), "d.yaml:6:13: a character that cannot be seen (U+0000): delete it, or put a space"},
		{"an open bracket may hold what is missing", "pipe: 3/4\npoints: {a: \"0, 0, 1\"\n  runs: {r: a to b}\n",
			"d.yaml:3:20: { or [ is not closed"},
		{"empty", "", "d.yaml:1:1: no pipe in this file: pipe, points and runs are needed"},
		{"nothing drawn", "pipe: 3/4\npoints: {}\nruns:\n", "d.yaml:2:1: there are no points under points: a frame needs points, and runs through them"},
		{"no run", "pipe: 3/4\npoints:\n  a: 0, 0, 0\nruns:\n", "d.yaml:4:1: there are no runs under runs: a frame needs points, and runs through them"},
		{"a tab before a wall", strings.Replace(sketch, "points:", "room:\n\tright: 40\npoints:\n  c: right, 4, 4", 1), "d.yaml:3:1: a tab: indent with spaces"},
		{"two documents", sketch + "---\n" + sketch, "d.yaml:7:1: a second document is not read here: one file, one design"},
		{"a long line", sketch + "# " + strings.Repeat("x", 4000), "d.yaml:7:1: a line of 4002 characters; at most 4000"},
	}
	for _, tt := range tests {
		_, errs := readString(tt.text)
		if tt.want == "" {
			assert.Empty(t, errs, tt.name)
		} else if assert.NotEmpty(t, errs, tt.name) {
			assert.Equal(t, tt.want, errs[0].Error(), tt.name)
		}
	}
}

// TestColumnsCountCharacters: characters of several bytes before a fault count as one column each.
func TestColumnsCountCharacters(t *testing.T) {
	_, errs := readString(strings.Replace(sketch, "left, 12", "18½ + ¼ + lenth, 12", 1))
	require.Len(t, errs, 1)
	assert.Equal(t, "d.yaml:3:16: no name lenth in this file", errs[0].Error())
}

func TestNotes(t *testing.T) {
	tree, errs := readString(strings.Replace(sketch, "b: 40,", "b: 48-1/2 + 12-1/2,", 1))
	assert.Empty(t, errs)
	assert.Equal(t, []Note{{At: newPos(4, 6), Text: "48-1/2 is read as 48 1/2; for the difference write 48 - 1/2"}}, tree.Notes)
}

func TestDefaults(t *testing.T) {
	tree, errs := readString(sketch)
	require.Empty(t, errs)
	assert.Equal(t, units.InchSystem, tree.Units)
	assert.Equal(t, standard.NPT, tree.Thread)
	assert.Equal(t, Finish{Base: "black"}, tree.Finish)
	assert.Equal(t, MakeUpNormal, tree.MakeUp)
	assert.Equal(t, 2, tree.People)
	assert.Nil(t, tree.Tolerance)
	assert.Equal(t, "  b: 40, 12, 66", tree.Lines[3])
	tree, errs = readString("units: mm\n" + sketch)
	require.Empty(t, errs)
	assert.Equal(t, standard.BSPT, tree.Thread, "bspt goes with mm")
	assert.Equal(t, "medium", tree.Pipe.Series)
	tree, errs = readString("units: mm\nthread: npt\n" + sketch)
	require.Empty(t, errs)
	assert.Equal(t, standard.NPT, tree.Thread)
	assert.Empty(t, tree.Pipe.Series)
	_, errs = readString("units: mm\nmake-up: gauge\n" + sketch)
	assert.EqualError(t, errs, "d.yaml:2:10: gauge is for npt; normal or hand")
	_, errs = readString(strings.Replace(sketch, "3/4", "3/4 heavy", 1))
	assert.EqualError(t, errs, "d.yaml:1:7: heavy is a series of bspt pipe; npt pipe is schedule 40: leave it out")
}

// TestEveryKey looks at the tree of a design that has every section and key.
func TestEveryKey(t *testing.T) {
	tree, errs := readFile(t, testdata+"design/sound/every-key.yaml")
	require.Empty(t, errs)
	assert.Equal(t, "Costume rail: the long one", tree.Title.Text)
	assert.Equal(t, "Measured twice: once by day,\nonce by night [and noted].", tree.Note)
	assert.Equal(t, Finish{"galvanised", "wax", newPos(10, 9)}, tree.Finish)
	assert.Equal(t, MakeUpGauge, tree.MakeUp)
	assert.Equal(t, 3, tree.People)
	assert.Equal(t, "1/32 in", tree.Tolerance.Text)
	assert.Equal(t, []Word{{"side-elbow", newPos(14, 8)}, {"bored", newPos(14, 20)}}, tree.Avoid)
	require.Len(t, tree.Givens, 3)
	assert.Equal(t, Name{"w.top", newPos(17, 22)}, tree.Givens[2].Name)
	assert.Equal(t, "2 * width", tree.Givens[2].Expr.Text)
	checkRoom(t, &tree.Room)
	checkThings(t, tree)
	checkGroups(t, tree)
	checkPartsAndOrder(t, tree)
}

func checkRoom(t *testing.T, room *Room) {
	floor := room.Surface("floor")
	assert.Equal(t, "boards", floor.Made.Material)
	assert.Equal(t, "3/4 in", floor.Made.Thickness.Text)
	assert.Equal(t, "joists", floor.Made.On)
	assert.Equal(t, X, floor.Joists.Axis)
	assert.Equal(t, "16", floor.Joists.Every.Text)
	assert.Equal(t, "8", floor.Joists.From.Text)
	ceiling := room.Surface("ceiling")
	require.Len(t, ceiling.Face, 3)
	require.Len(t, ceiling.Face[1].At, 2)
	assert.Equal(t, "96 1/4", ceiling.Face[1].Value.Text)
	assert.Equal(t, Y, ceiling.Face[2].At[1].Axis)
	assert.Equal(t, "60", ceiling.Face[2].At[1].Expr.Text)
	right := room.Surface("right")
	assert.Equal(t, "left + 99 1/2", right.Face[0].Value.Text)
	assert.Equal(t, "brick", right.Made.Material)
	assert.Nil(t, right.Made.Thickness)
	back := room.Surface("back")
	assert.Len(t, back.Studs.Middles, 3)
	assert.Equal(t, "35", back.Studs.Middles[2].Text)
	assert.Equal(t, "1 3/4", back.Studs.Wide.Text)
	assert.Equal(t, "5/8", back.Baseboard.Thickness.Text)
	require.Len(t, room.Zones, 3)
	assert.Equal(t, "back", room.Zones[0].Surface.Text)
	assert.Equal(t, NoDrilling, room.Zones[0].Kind.Text)
	assert.Nil(t, room.Zones[0].Ranges[1])
	assert.Equal(t, "96", room.Zones[0].Ranges[2].High.Text)
	assert.Equal(t, Name{}, room.Zones[2].Surface)
	assert.Equal(t, "damp", room.Air.Text)
	assert.Len(t, room.WayIn, 2)
}

func checkThings(t *testing.T, tree *Tree) {
	cleat := tree.Cleats[0]
	assert.Equal(t, "back", cleat.On.Text)
	assert.Equal(t, "w.floor", cleat.Thickness.Text)
	assert.Equal(t, "pine", cleat.Material.Text)
	base := tree.Boards[0]
	assert.True(t, base.Treated)
	assert.True(t, base.Low[2].Unknown)
	assert.Equal(t, "white pine", base.Wood.Text)
	assert.Equal(t, 2, base.Straps)
	assert.Len(t, base.LiesOn, 2)
	assert.Equal(t, "2", base.Copies.Count.Text)
	b := tree.Points[1]
	assert.Equal(t, "a", b.From.Text)
	assert.Equal(t, Toward, b.Changes[0].Op)
	assert.Equal(t, "c", b.Changes[0].To.Text)
	assert.True(t, tree.Points[4].Changes[0].Unknown)
	ref, bare := tree.Points[3].Coords[1].Bare()
	assert.True(t, bare)
	assert.Equal(t, "tie", ref.Name)
	f := tree.Points[5]
	require.Len(t, f.Changes, 2)
	assert.Equal(t, Add, f.Changes[0].Op)
	v, err := f.Changes[0].Expr.Eval(plainEnv{})
	require.NoError(t, err)
	assert.Equal(t, -1., v.X, "x - 3 + 2 is one less than x")
	assert.Equal(t, Set, f.Changes[1].Op)
	low, high, mid := tree.Runs[0], tree.Runs[1], tree.Runs[2]
	require.Len(t, low.Path, 4)
	assert.Equal(t, standard.Union, low.Path[1].Part)
	assert.Equal(t, standard.Size("1/2"), high.Size.Size)
	assert.Equal(t, Close, high.Cuts[0].Word)
	assert.Equal(t, []string{"", Rest, Close}, []string{mid.Cuts[0].Word, mid.Cuts[1].Word, mid.Cuts[2].Word})
	assert.Equal(t, "1/16 in", mid.Clearance.Text)
	require.Len(t, tree.Fittings, 5)
	assert.Equal(t, "c", tree.Fittings[1].Point.Text)
	assert.True(t, tree.Fittings[1].Loose)
	assert.Equal(t, "3/16 in", tree.Fittings[1].Pad.Text)
	assert.Equal(t, "low", tree.Fittings[2].Along.Text)
	assert.Equal(t, "high", tree.Fittings[3].Into.Text)
	assert.Equal(t, Open, tree.Fittings[4].Kind)
}

func checkGroups(t *testing.T, tree *Tree) {
	bay := tree.Groups[0]
	require.Len(t, bay.Copies.Named, 3)
	assert.True(t, bay.Copies.Named[0].Here)
	assert.Len(t, bay.Copies.Named[1].Changes, 2)
	assert.Equal(t, X, bay.Copies.Named[2].Mirror)
	assert.Equal(t, "width / 2", bay.Copies.Named[2].MirrorAt.Text)
	assert.Equal(t, "rung", bay.Groups[0].Name.Text)
	low := tree.Loads[0].Items
	require.Len(t, low, 3)
	assert.Equal(t, "coats", low[0].Word)
	assert.Equal(t, "out", low[1].Dir)
	assert.True(t, low[2].Anywhere)
	assert.Equal(t, "out", low[2].Dir)
	assert.Equal(t, "200 lb", low[2].Expr.Text)
	assert.Equal(t, "left", bay.Loads[0].Items[0].Dir)
}

func checkPartsAndOrder(t *testing.T, tree *Tree) {
	require.Len(t, tree.Parts, 7)
	assert.Len(t, tree.Parts[0].Stock, 3)
	assert.Equal(t, []standard.Size{"3/4", "3/4", "1/2"}, tree.Parts[1].Sizes)
	assert.Equal(t, standard.Tee, tree.Parts[1].Kind)
	assert.Len(t, tree.Parts[1].CentreToEnd, 2)
	assert.Equal(t, Price{newPos(93, 36), 6.40, "EUR", nil}, tree.Parts[2].Prices[0])
	assert.Equal(t, 4, tree.Parts[3].Holes)
	assert.Equal(t, standard.Pipe, tree.Parts[4].Kind)
	assert.Equal(t, "120", tree.Parts[4].Prices[1].Length.Text)
	assert.Empty(t, tree.Parts[5].Sizes)
	assert.Equal(t, "75 lb", tree.Parts[5].Rated.Text)
	assert.True(t, tree.Parts[6].TaperInside)
	require.Len(t, tree.Order, 4)
	assert.Equal(t, First, tree.Order[0].Kind)
	assert.Len(t, tree.Order[0].A, 2)
	assert.Equal(t, Before, tree.Order[1].Kind)
	assert.Equal(t, "high", tree.Order[1].B[0].Text)
	assert.Equal(t, Bench, tree.Order[3].Kind)
}

// plainEnv knows no names.
type plainEnv struct{}

func (plainEnv) Value(r formula.Ref) (formula.Value, error) {
	return formula.Value{}, fmt.Errorf("no name %s", r.Name)
}
func (plainEnv) Distance(p, q formula.Ref) (units.Length, error) { return 0, fmt.Errorf("no points") }
func (plainEnv) Units() units.System                             { return units.InchSystem }

func TestListForms(t *testing.T) {
	tree, errs := readFile(t, testdata+"design/sound/lists.yaml")
	require.Empty(t, errs)
	require.Len(t, tree.Order, 3)
	assert.Equal(t, "rack.post, leg last", tree.Order[1].Text)
	assert.Equal(t, newPos(18, 3), tree.Order[1].At)
	require.Len(t, tree.Points, 4, "a key of two names is an entry for each")
	assert.Equal(t, "other", tree.Points[3].Name.Text)
	ref, bare := tree.Points[0].Coords[0].Bare()
	assert.True(t, bare)
	assert.Equal(t, formula.Ref{Name: "left", At: newPos(4, 9)}, ref)
}

func TestFaultyFormulaIsSilent(t *testing.T) {
	tree, errs := readString(strings.Replace(sketch, "b: 40", "b: 4 +", 1))
	require.Len(t, errs, 1)
	assert.True(t, tree.Points[1].Coords[0].IsFaulty())
	_, err := tree.Points[1].Coords[0].Eval(plainEnv{})
	assert.ErrorIs(t, err, formula.ErrSilent)
}

func TestMerge(t *testing.T) {
	tree, found := readString(strings.Replace(sketch, "a: left", "a: &p left", 1))
	require.Len(t, found, 1)
	assert.True(t, tree.IsSpoilt("a"))
	assert.True(t, tree.IsSpoilt("a.x"))
	assert.False(t, tree.IsSpoilt("b"))
	later := Errors{
		{"d.yaml", newPos(4, 6), "20 kg is a weight; a coordinate wants a length"},
		{"d.yaml", newPos(3, 9), "on the same line"},
		{"d.yaml", newPos(6, 8), "no point called a"},
		{"d.yaml", newPos(1, 1), "another"},
	}
	all := tree.Merge(found, later)
	assert.Equal(t, Errors{later[3], found[0], later[0]}, all)
}

// tooSlow is ten times what an answer to hostile input may take: the test fails on runaway work, not on a busy machine.
const tooSlow = 10 * time.Second

// endless gives the same text again and again, n bytes of it.
type endless struct {
	text string
	n, i int
}

func (e *endless) Read(p []byte) (int, error) {
	n := 0
	for n < len(p) && e.n > 0 {
		p[n] = e.text[e.i%len(e.text)]
		n, e.i, e.n = n+1, e.i+1, e.n-1
	}
	if n == 0 {
		return 0, io.EOF
	}
	return n, nil
}

func hostile() map[string]io.Reader {
	full := MaxBytes - 1000
	if testing.Short() {
		full /= 8
	}
	some := full / 4
	all := map[string]io.Reader{
		"100 MB":        &endless{text: "a: b\n", n: 100 << 20},
		"100 MB binary": &endless{text: "\x00\xff\xfe", n: 100 << 20},
		"billion laughs": strings.NewReader("a: &a [x, x]\n" + func() string {
			var s strings.Builder
			for c := 'b'; c < 'z'; c++ {
				fmt.Fprintf(&s, "%c: &%c [*%c, *%c, *%c, *%c]\n", c, c, c-1, c-1, c-1, c-1)
			}
			return s.String()
		}()),
		"staircase": strings.NewReader(func() string {
			var s strings.Builder
			for i := 0; s.Len() < full; i++ {
				s.WriteString(strings.Repeat(" ", i) + "a:\n")
			}
			return s.String()
		}()),
		"many points": strings.NewReader(sketch + "givens:\n" + func() string {
			var s strings.Builder
			for i := 0; s.Len() < full; i++ {
				fmt.Fprintf(&s, "  g%d: h%d + 1\n", i, i)
			}
			return s.String()
		}()),
		"long formula": strings.NewReader(strings.Replace(sketch, "b: 40", "b: "+strings.Repeat("(", 3000), 1)),
	}
	for _, unit := range []string{
		"[", "{", "]", "- ", "-\n", "a: ", "a:\n", "? ", "\"", "'", "*a ", "&a ", "!t ", "#", "\n", "a: *x\n", "a", "|\n", "a: |\n",
		" ", "{a: ", "[a, ", "\\", "%", "---\n", "...\n", "@", "<<: ", "é", "\r\n", "\r", "1e", "a: {\n", "a: 1\n b: 2\n", "9", "a,",
		"points: {a: [\n", "note: |\n a\n", "- - ", "}{", ": ", ":\n", "a: b: ", "x + ", "(", "a.", "-", "½",
	} {
		all[fmt.Sprintf("only %q", unit)] = strings.NewReader(strings.Repeat(unit, full/len(unit)))
		short := strings.Repeat(unit, min(1000, MaxLineChars/len(unit)/2))
		all[fmt.Sprintf("lines of %q", unit)] = strings.NewReader(strings.Repeat(short+"\n", some/(len(short)+1)))
		all[fmt.Sprintf("keys and %q", unit)] = strings.NewReader(strings.Repeat("  a: "+short+"\n", some/(len(short)+6)))
		all[fmt.Sprintf("points and %q", unit)] = strings.NewReader("pipe: 3/4\npoints:\n" + strings.Repeat("  a: "+short+"\n", 50))
	}
	return all
}

func TestHostile(t *testing.T) {
	for name, r := range hostile() {
		done := make(chan Errors, 1)
		go func() {
			_, errs := Read(r, "d.yaml")
			done <- errs
		}()
		select {
		case errs := <-done:
			assert.NotEmpty(t, errs, name)
			assert.LessOrEqual(t, len(errs), MaxFaults+1, name)
			assert.Less(t, len(errs.Error()), 1<<20, name)
		case <-time.After(tooSlow):
			t.Fatalf("%s: no answer in %v", name, tooSlow)
		}
	}
}

func FuzzRead(f *testing.F) {
	for _, pattern := range []string{"design/*/*.yaml", "briefs/*.yaml"} {
		fs, _ := filepath.Glob(testdata + pattern)
		for _, file := range fs {
			if data, err := os.ReadFile(file); err == nil {
				f.Add(string(data))
			}
		}
	}
	f.Add("groups:\n A:\n  copies: {A:\"\"}")
	f.Fuzz(func(t *testing.T, s string) {
		tree, errs := readString(s)
		require.NotNil(t, tree)
		for i, e := range errs {
			require.NotEmpty(t, e.Text)
			require.Equal(t, "d.yaml", e.File)
			require.True(t, e.At.Line >= 1 && e.At.Col >= 1, e.Error())
			require.NotContains(t, e.Text, "\n")
			if tree.Lines != nil {
				require.LessOrEqual(t, e.At.Line, len(tree.Lines), e.Error())
				require.LessOrEqual(t, e.At.Col, len([]rune(tree.Lines[e.At.Line-1]))+1, "%s\n%s", e.Error(), tree.Lines[e.At.Line-1])
			}
			require.False(t, i > 0 && e.At.IsBefore(errs[i-1].At), "faults in file order: %s", errs)
		}
		again, errsAgain := readString(s)
		require.Equal(t, tree, again)
		require.Equal(t, errs, errsAgain)
	})
}

func BenchmarkRead(b *testing.B) {
	for _, n := range []int{10, 100, 1000} {
		var s strings.Builder
		s.WriteString("pipe: 3/4\npoints:\n  p0: left, 12, 66\n")
		for i := 1; i <= n; i++ {
			fmt.Fprintf(&s, "  p%d: p%d, x + 3 1/2 in, z = 66 - 1/4\n", i, i-1)
		}
		s.WriteString("runs:\n")
		for i := 1; i <= n; i++ {
			fmt.Fprintf(&s, "  r%d: p%d to p%d\n", i, i-1, i)
		}
		b.Run(fmt.Sprintf("points=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, errs := readString(s.String()); len(errs) > 0 {
					b.Fatal(errs)
				}
			}
		})
	}
}

func ExampleRead() {
	_, errs := Read(strings.NewReader("pipe: 3/4\npoints:\n  a: left, 12, 66\n  b: lenth, 12\nruns:\n  rod: a to c\n"), "rod.yaml")
	fmt.Println(errs)
	// Output:
	// rod.yaml:4:3: b has two coordinates; a point has three coordinates, or another point and changes: left, 12, 66 or foot, z = 28
	// rod.yaml:6:13: no point called c; there are a, b
}

// TestOneFaultIsToldOnce: what follows from a fault is not told beside it.
func TestOneFaultIsToldOnce(t *testing.T) {
	for _, text := range []string{
		sketch + "---\n" + sketch,
		strings.Replace(sketch, "points:", "room:\n\tright: 40\npoints:\n  c: right, 4, 4", 1),
	} {
		_, errs := readString(text)
		assert.Len(t, errs, 1, text)
	}
}
