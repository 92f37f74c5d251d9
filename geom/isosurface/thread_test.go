package isosurface

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

const refPitch, refDepth = 1.814, 1.4512

// refNipple is a pipe of 50 mm with a taper thread whose crests the outside of the pipe cuts up to about z = 15, and which
// stops at the plane z = 5.
func refNipple() sdf.Leafed {
	const od, bore = 10.67, 7.9
	z := geom.AxisZ
	root := sdf.Limit{Radius: 9.2194 + 15.0/32, Slope: -1.0 / 32}
	start, end := sdf.Station{S: 4, R: od}, sdf.Station{S: 25, R: 8.6}
	zone := sdf.Zone{
		Thread: sdf.Thread{
			Dir: z, Side: geom.AxisX, From: 5, To: 25, Pitch: refPitch, Ridge: 15, Sheared: true, Flank: math.Pi / 6,
			Cone:    sdf.Limit{Radius: root.Radius + refDepth/2, Slope: root.Slope},
			Floor:   []sdf.Limit{root},
			Ceiling: []sdf.Limit{{Radius: root.Radius + refDepth, Slope: root.Slope}, {Radius: od}},
		},
		Start: start, End: end, After: 1,
	}
	stock := sdf.Tube(z.Mul(-25), z, 50, od, bore)
	plain := sdf.Revolve(geom.Vec{}, z, []sdf.Station{{S: -25, R: bore}, {S: -25, R: od}, start, end, {S: 25, R: bore}})
	return sdf.Threaded(stock, plain, zone)
}

// refCoupling is a hexagonal coupling with a parallel thread right through.
func refCoupling() sdf.Leafed {
	z := geom.AxisZ
	stock := sdf.Prism(z.Mul(-17), z, geom.AxisX, 34, 30, 6)
	zone := sdf.Zone{
		Thread: sdf.Thread{
			Dir: z, Side: geom.AxisX, From: -17, To: 17, Pitch: refPitch, Flank: math.Pi / 6,
			Cone: sdf.Limit{Radius: 9.2 + refDepth/2}, Floor: []sdf.Limit{{Radius: 9.2}}, Ceiling: []sdf.Limit{{Radius: 9.2 + refDepth}},
		},
		Start: sdf.Station{S: -17, R: 11.5}, End: sdf.Station{S: 17, R: 11.5}, Internal: true, Before: 1, After: 1,
	}
	return sdf.Threaded(stock, sdf.Cut(stock, sdf.Cylinder(z.Mul(-18), z, 36, 11.5)), zone)
}

// TestReferenceThreads: nipple and coupling keep the tolerance, on the mesh and off it.
func TestReferenceThreads(t *testing.T) {
	for _, ref := range []namedSolid{{"nipple", refNipple()}, {"coupling", refCoupling()}} {
		m, r := sound(t, ref.name, ref.s, Options{ToleranceMM: tolMM})
		assert.Equal(t, 1, r.Threads, "%v", r.Rejected)
		assert.LessOrEqual(t, len(m.Triangles), 40000, ref.name)
		assert.LessOrEqual(t, missed(ref.s, m), tolMM, "%s: points of the surface off the mesh", ref.name)
		t.Logf("%-12s %5d triangles, greatest error %.4f mm, rms %.4f mm, %s", ref.name, len(m.Triangles), r.MaxErrorMM, r.RMSErrorMM, r.Method)
	}
}

func BenchmarkThreads(b *testing.B) {
	for _, ref := range []namedSolid{{"nipple", refNipple()}, {"coupling", refCoupling()}} {
		b.Run("solid="+ref.name, func(b *testing.B) {
			for range b.N {
				if _, _, err := Mesh(ref.s, Options{ToleranceMM: tolMM}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
