package replay_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/planfile"
	"turnwise/assembly/replay"
	"turnwise/geom"
	"turnwise/geom/sdf"
)

// Any plan that reads is replayed without a panic, and gives the same report twice.
func FuzzCheck(f *testing.F) {
	for _, k := range []*kit{build(lamp()), comb(1), rightLeft(), longScrew(), backed()} {
		var b bytes.Buffer
		require.NoError(f, planfile.Write(&b, k.plan))
		f.Add(b.String())
	}
	ball := func(assembly.Part) (sdf.Solid, error) { return sdf.Sphere(geom.Vec{}, 5), nil }
	f.Fuzz(func(t *testing.T, text string) {
		p, err := planfile.Read(strings.NewReader(text))
		if err != nil || len(p.Steps) > 50 || wanders(p) {
			return
		}
		require.Equal(t, replay.Check(p, ball), replay.Check(p, ball))
	})
}

// wanders tells plans whose motions are too long to try many of.
func wanders(p assembly.Plan) bool {
	const most = 3000.0 // mm, and degrees
	for _, s := range p.Steps {
		for _, m := range s.Motion {
			if m.By.Len() > most || math.Abs(m.ByDeg) > most || m.Axis.At.Len() > most {
				return true
			}
		}
	}
	return false
}

// Figures without sense are refused before they keep the search busy.
func TestCheckSenseless(t *testing.T) {
	for name, spoil := range map[string]func(k *kit){
		"far away":      func(k *kit) { k.plan.Steps[1].Start.Origin.X = 1e12 },
		"endless turns": func(k *kit) { k.plan.Steps[1].Motion[1].ByDeg = 1e9 },
		"endless way":   func(k *kit) { k.plan.Steps[1].Motion[0].By.Z = -1e9 },
	} {
		k := build(lamp())
		spoil(k)
		r := k.check()
		requireFailure(t, r, replay.CodeDocument, 0, "nothing beyond 200 m is looked at")
		assert.Zero(t, r.Samples, name)
	}
}
