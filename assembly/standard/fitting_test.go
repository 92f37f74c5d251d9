package standard

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every kind at every size, in both families, is complete and has a mass.
func TestFittingEveryKindEverySize(t *testing.T) {
	for _, fam := range []Family{NPT, BSPT} {
		for _, mk := range []MakeUp{MakeUpNormal, MakeUpHand} {
			c := &Catalogue{Family: fam, MakeUp: mk}
			for _, kind := range FittingKinds() {
				for i, s := range Sizes {
					sizes := []Size{s}
					if kind == Reducer || kind == Bushing {
						if i == 0 {
							continue
						}
						sizes = []Size{s, Sizes[i-1]}
						if fam == BSPT && kind == Reducer && i < 3 {
							continue // EN 10242 rows at hand begin with 3/4 x 1/2
						}
					}
					f, err := c.Fitting(kind, sizes)
					require.NoError(t, err, "%s %s %v", fam, kind, sizes)
					if mk == MakeUpNormal && (s == "1/2" || s == "3/4" || s == "2") {
						t.Logf("%s %-28s %.3f kg", fam, f.Text, f.MassKG)
					}
					assert.Greater(t, f.MassKG, 0.0, f.Text)
				}
			}
		}
	}
}
