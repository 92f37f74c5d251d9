package replay_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/assembly/replay"
	"turnwise/assembly/solidify"
	"turnwise/assembly/standard"
	"turnwise/geom"
)

// bought is a part of the catalogue with its true solid.
func (k *kit) bought(t *testing.T, id string, f standard.Fitting, length float64, pose geom.Pose) {
	p := assembly.Part{ID: id, Kind: f.Kind, Dims: f.Dims, LengthMM: length}
	s, err := solidify.Solid(p)
	require.NoError(t, err, id)
	var ports []port
	for _, q := range f.Ports {
		d := geom.V(q.Dir[0], q.Dir[1], q.Dir[2])
		ports = append(ports, port{q.Name, d.Mul(q.ReachMM), d})
	}
	if f.Kind == standard.Pipe {
		ports = []port{{"a", geom.Vec{}, geom.AxisZ.Neg()}, {"b", geom.V(0, 0, length), geom.AxisZ}}
	}
	k.add(id, f.Kind, pose, s, length, ports...)
}

// Pipes of both families in all sizes are screwed into every opening of every fitting at the make-ups that the tables
// give: ASME B1.20.1 and the handbook's normal engagement, ISO 7-1 and the mean engagement of EN 10242. The solids are
// those of the program, the allowance is (e - L1)/32 on the radius: every one must pass.
func TestCatalogueThreads(t *testing.T) {
	kinds := []standard.Kind{standard.Elbow, standard.Elbow45, standard.Tee, standard.Cross, standard.Coupling, standard.Flange, standard.Cap}
	tried := 0
	for _, family := range []standard.Family{standard.NPT, standard.BSPT} {
		cat := &standard.Catalogue{Family: family}
		for i, size := range standard.Sizes {
			if testing.Short() && i%3 != 0 {
				continue
			}
			for _, kind := range kinds {
				f, err := cat.Fitting(kind, []standard.Size{size})
				if err != nil {
					continue // the tables have no such row, as for 1/4 flanges
				}
				for _, p := range f.Ports {
					if p.Plain {
						continue
					}
					k := screwedIn(t, cat, f, p, size)
					name := fmt.Sprintf("%s %s %s port %s", family, size, kind, p.Name)
					assert.Empty(t, texts(k.check()), name)
					tried++
				}
			}
		}
	}
	assert.Greater(t, tried, 20)
}

// screwedIn is a fitting that is put down and a pipe screwed into one of its openings.
func screwedIn(t *testing.T, cat *standard.Catalogue, f standard.Fitting, p standard.Port, size standard.Size) *kit {
	const length = 200
	k := newKit()
	k.bought(t, "fitting", f, 0, geom.Identity())
	out := geom.V(p.Dir[0], p.Dir[1], p.Dir[2])
	e := p.Engagement.MM
	pipe, err := cat.Pipe(standard.PipeSpec{Size: size, LengthMM: length})
	require.NoError(t, err)
	k.bought(t, "pipe", pipe, length, geom.Facing(out.Mul(p.ReachMM-e), out, out.Across()))
	k.thread("thread", "pipe", "a", "fitting", p.Name)
	j := k.joint("thread")
	j.EngagementMM, j.PitchMM, j.HandTightMM = e, p.Pitch.MM, p.HandTight.MM
	j.Turns = &assembly.Window{Min: 1, Max: e/p.Pitch.MM + 1}
	k.put(assembly.Place, []string{"fitting"}, nil, nil, geom.V(0, 0, -10))
	k.screw("thread", 20, "fitting", "pipe")
	return k
}

// A joint that is made up by hand only, but whose parts stand as deep as a wrench brings them, overlaps more than its
// figures allow; so does a parallel thread driven on.
func TestCatalogueThreadsTooDeep(t *testing.T) {
	for _, family := range []standard.Family{standard.NPT, standard.BSPT} {
		cat := &standard.Catalogue{Family: family}
		f, err := cat.Fitting(standard.Coupling, []standard.Size{"3/4"})
		require.NoError(t, err)
		p, ok := f.Port("b")
		require.True(t, ok)
		k := screwedIn(t, cat, f, p, "3/4")
		requireOK(t, k.check())
		k.joint("thread").HandTightMM += 3.2 // a tenth of a millimetre less on the radius
		requireFailure(t, k.check(), replay.CodeOverlap, 0, "overlap by at least")
	}
}
