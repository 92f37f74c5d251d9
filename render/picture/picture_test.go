package picture

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"turnwise/render/rendertest"
)

func TestLook(t *testing.T) {
	f := rendertest.Bay()
	plan := f.Plan("A made-up bay")
	t0 := time.Now()
	p, err := Finished(plan, f.Mesh)
	require.NoError(t, err)
	t.Log(len(plan.Parts), time.Since(t0))
	w, _ := os.Create("/tmp/finished.png")
	require.NoError(t, p.WritePNG(w))
	w.Close()
	t0 = time.Now()
	p, err = Exploded(plan, f.Mesh)
	require.NoError(t, err)
	t.Log(time.Since(t0))
	t.Logf("%+v", p.Scores)
	w, _ = os.Create("/tmp/exploded.png")
	require.NoError(t, p.WritePNG(w))
	w.Close()
}
