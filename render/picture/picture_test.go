package picture

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"turnwise/assembly"
	"turnwise/render/rendertest"
)

func TestLook(t *testing.T) {
	f := rendertest.Bay()
	plan := f.Plan("A made-up bay")
	if os.Getenv("RING") != "" {
		f = rendertest.RingFrame()
		plan = f.Plan("A made-up ring")
		plan.Findings = append(plan.Findings, assembly.Finding{Code: "LOOP", Severity: assembly.Stop, Text: "the loop through pipe low-left, tee top-left, and so on round to where it began has no union and cannot be screwed together; write a union into the rail between top-left and top-right, line 14 of the design, or leave one of its four pipes out."})
	}
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
