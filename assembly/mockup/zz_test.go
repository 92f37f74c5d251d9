package mockup_test

import (
	"fmt"
	"os"
	"testing"
	"time"
	"turnwise/assembly/mockup"
	"turnwise/geom/mesh"
	"turnwise/geom/mesh/stl"
)

func TestZZ(t *testing.T) {
	plan := planOf(t, "../../examples/theatre-wardrobe-bay.yaml")
	m, err := mockup.Build(plan, mockup.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t0 := time.Now()
	ms, err := m.Meshes()
	t.Log(err, time.Since(t0))
	if err != nil {
		return
	}
	for i, p := range m.Pieces {
		r := mockup.Examine(p.Label(), ms[i])
		t.Logf("%s x%d %v tris %d wall %.2f gap %.2f over %.1f bridge %.1f first %.1f shells %d size %.1f", p.Label(), p.Count, p.Kind, r.Triangles, r.WallMM, r.GapMM, r.OverhangMM2, r.WidestBridge, r.FirstLayer, r.Shells, r.SizeMM)
	}
	pl, err := m.Plates(ms)
	t.Log(err, time.Since(t0))
	for i, p := range pl {
		t.Log(len(p.Laid), p.Fill, p.Estimate())
		all := &mesh.Mesh{}
		for _, l := range p.Laid {
			mesh.Append(all, l.Mesh)
		}
		f, _ := os.Create(fmt.Sprintf("/tmp/lead/plate%d.stl", i))
		stl.Write(f, all)
		f.Close()
	}
	t.Log(m.Thickened)
}
