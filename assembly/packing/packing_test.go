package packing_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/packing"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// post returns n pipes and n tees screwed on in turn, on one tee to begin with. Every pipe has its own number; tees
// point to the front, or in turn to front and left.
func post(n int, turned bool) (parts []assembly.Part, joints []assembly.Joint, steps []assembly.Step) {
	add := func(id string, number int, kind standard.Kind, branch geom.Vec) {
		p := assembly.Part{ID: id, Number: number, Kind: kind}
		p.Ports = []assembly.Port{{Name: "a", Out: geom.AxisZ.Neg()}, {Name: "b", Out: geom.AxisZ}}
		if kind == standard.Tee {
			p.Ports = append(p.Ports, assembly.Port{Name: "c", Out: branch})
		}
		parts = append(parts, p)
		s := assembly.Step{Number: len(steps) + 1, Action: assembly.Place, Moves: []string{id}, Where: "bench"}
		if len(steps) > 0 {
			j := assembly.Joint{ID: "j" + id, Kind: assembly.Thread, Axis: &assembly.Axis{Dir: geom.AxisZ}}
			joints = append(joints, j)
			s = assembly.Step{Number: len(steps) + 1, Action: assembly.Screw, Moves: []string{id}, Where: "bench", Turns: 7,
				Onto: []string{parts[len(parts)-2].ID}, Joints: []string{j.ID}}
		}
		steps = append(steps, s)
	}
	add("tee", 1, standard.Tee, geom.AxisY.Neg())
	for i := range n {
		branch := geom.AxisY.Neg()
		if turned && i%2 == 1 {
			branch = geom.AxisX
		}
		add(fmt.Sprintf("pipe%d", i), 2+i, standard.Pipe, geom.Vec{})
		add(fmt.Sprintf("tee%d", i), 1, standard.Tee, branch)
	}
	return parts, joints, steps
}

func pictures(steps []assembly.Step) (out []int) {
	for _, s := range steps {
		out = append(out, s.Picture)
	}
	return out
}

// TestNumber: 9 bodies need at least three pictures of four; a count by hand. Three pictures of three cost no extra.
func TestNumber(t *testing.T) {
	parts, joints, steps := post(4, false)
	packing.Number(parts, joints, steps)
	assert.Equal(t, []int{1, 1, 1, 2, 2, 2, 3, 3, 3}, pictures(steps))
	packing.Number(parts, joints, nil)
}

func TestNumberShowsTheSameWorkOnce(t *testing.T) {
	parts, joints, steps := post(1, false)
	for i := range 6 {
		id := fmt.Sprintf("cap%d", i)
		parts = append(parts, assembly.Part{ID: id, Number: 9, Kind: standard.Cap})
		steps = append(steps, assembly.Step{Action: assembly.Screw, Moves: []string{id}, Onto: []string{"pipe0"}, Joints: []string{"x"}, Where: "bench", Turns: 7})
	}
	packing.Number(parts, joints, steps)
	assert.Equal(t, []int{1, 1, 1, 2, 2, 2, 2, 2, 2}, pictures(steps))
	// The same caps in place are other work: people stand elsewhere.
	for i := 5; i < len(steps); i++ {
		steps[i].Where = "place"
	}
	packing.Number(parts, joints, steps)
	assert.NotEqual(t, steps[4].Picture, steps[5].Picture)
}

// TestNumberKeepsTheRules tries every length of post: numbers rise by at most one, no picture has more than the most
// bodies, and none mixes kinds of action.
func TestNumberKeepsTheRules(t *testing.T) {
	for n := range 12 {
		for _, turned := range []bool{false, true} {
			parts, joints, steps := post(n, turned)
			big := steps[len(steps)-1]
			big.Action, big.Moves, big.Onto, big.Joints = assembly.Fasten, []string{"tee", "pipe0"}, []string{"room"}, nil
			steps = append(steps, big)
			packing.Number(parts, joints, steps)
			last, in := 0, map[int]int{}
			for i, s := range steps {
				require.Contains(t, []int{last, last + 1}, s.Picture, "step %d of %d", i+1, len(steps))
				last = s.Picture
				in[s.Picture]++
			}
			for k, c := range in {
				assert.LessOrEqual(t, c, packing.MostBodies, "picture %d of a post of %d", k, n)
			}
			assert.Equal(t, 1, in[last], "fastening the whole stands alone")
		}
	}
}

func TestBranches(t *testing.T) {
	tee := assembly.Part{Ports: []assembly.Port{{Out: geom.AxisX}, {Out: geom.AxisX.Neg()}, {Out: geom.AxisY}}}
	assert.Equal(t, []geom.Vec{geom.AxisY}, packing.Branches(tee, geom.AxisX))
	assert.Len(t, packing.Branches(tee, geom.AxisY), 2)
	flange := assembly.Part{Ports: []assembly.Port{{Name: "a", Out: geom.AxisZ}, {Name: "face", Out: geom.AxisZ.Neg()}}}
	assert.Empty(t, packing.Branches(flange, geom.AxisZ))
}
