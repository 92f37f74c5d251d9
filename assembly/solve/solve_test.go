package solve

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/design"
	"turnwise/assembly/standard"
)

// readFile reads a design file that has no faults.
func readFile(t testing.TB, file string) *design.Tree {
	t.Helper()
	f, err := os.Open(file)
	require.NoError(t, err)
	defer f.Close()
	tree, errs := design.Read(f, filepath.Base(file))
	require.Empty(t, errs, "%v", errs)
	return tree
}

const briefs = "../../testdata/briefs/"

func solveBrief(t testing.TB, name string) *assembly.Assembly {
	t.Helper()
	a, errs := Solve(readFile(t, briefs+name+".yaml"))
	require.Empty(t, errs, "%v", errs)
	return a
}

// answer is a row of the answers that were worked by hand.
type answer struct {
	row, member string
	cut         float64
	pieces      int
}

func answers(t *testing.T) map[string][]answer {
	f, err := os.Open(briefs + "answers.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	out := map[string][]answer{}
	for _, r := range rows[1:] {
		a := answer{row: r[1], member: r[3]}
		a.cut, _ = strconv.ParseFloat(r[4], 64)
		a.pieces, _ = strconv.Atoi(r[5])
		out[r[0]] = append(out[r[0]], a)
	}
	return out
}

// counts are how many there are of each kind; a union is one.
func counts(a *assembly.Assembly) map[string]int {
	n := map[string]int{}
	for _, p := range a.Parts {
		if p.Half != "b" {
			n[string(p.Kind)]++
		}
	}
	return n
}

// TestBriefs solves five rooms whose cut lengths and parts were worked out by hand, without the program. They are
// stated to 0.005 in and must agree to 0.01 in.
func TestBriefs(t *testing.T) {
	const tolerance = 0.01
	all := answers(t)
	require.Len(t, all, 5)
	for name, rows := range all {
		t.Run(name, func(t *testing.T) {
			a := solveBrief(t, name)
			var want, got []float64
			total := 0.0
			for _, p := range a.Parts {
				if p.Kind == standard.Pipe {
					got = append(got, p.LengthMM/25.4)
					total += p.LengthMM / 25.4
				}
			}
			n := counts(a)
			fittings := 0
			for _, r := range rows {
				switch r.row {
				case "cut":
					for i := 0; i < r.pieces; i++ {
						want = append(want, r.cut)
					}
				case "fitting":
					assert.Equal(t, r.pieces, n[r.member], "number of %ss", r.member)
					fittings += r.pieces
				case "pipes":
					assert.Equal(t, r.pieces, len(got), "pieces of pipe")
				case "unions":
					assert.Equal(t, r.pieces, n["union"])
				case "total":
					assert.InDelta(t, r.cut, total, float64(len(got))*tolerance/2, "all pipe, in")
				case "loops":
					assert.Equal(t, r.pieces, loops(a), "independent loops")
				}
			}
			for k, v := range n { // and nothing else
				switch k {
				case "pipe", "board", "room", "cleat", "caster":
				default:
					fittings -= v
				}
			}
			assert.Zero(t, fittings, "fittings that the answers do not have: %v", n)
			sort.Float64s(want)
			sort.Float64s(got)
			require.Equal(t, len(want), len(got))
			for i := range want {
				assert.InDelta(t, want[i], got[i], tolerance)
			}
		})
	}
}

// loops counts the independent loops of threaded joints: joints - bodies + components.
func loops(a *assembly.Assembly) int {
	group := map[string]string{}
	var root func(string) string
	root = func(p string) string {
		if group[p] == "" || group[p] == p {
			return p
		}
		return root(group[p])
	}
	n := 0
	for _, j := range a.Joints {
		if !j.Kind.IsThreaded() {
			continue
		}
		x, y := root(j.A.Part), root(j.B.Part)
		if x == y {
			n++
		} else {
			group[x] = y
		}
	}
	return n
}
