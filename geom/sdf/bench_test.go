package sdf_test

import (
	"math"
	"math/rand"
	"testing"

	"turnwise/geom"
	"turnwise/geom/sdf"
)

func BenchmarkDistance(b *testing.B) {
	o, z, x := geom.Vec{}, geom.AxisZ, geom.AxisX
	profile := func(corners int) []sdf.Station {
		out := []sdf.Station{{S: 0, R: 5}}
		for i := range corners - 2 {
			out = append(out, sdf.Station{S: float64(i), R: 10 + float64(i%2)})
		}
		return append(out, sdf.Station{S: float64(corners - 3), R: 5})
	}
	for _, tt := range []struct {
		name string
		s    sdf.Leafed
	}{
		{"cylinder", sdf.Cylinder(o, z, 20, 10)},
		{"bend", sdf.Bend(o, z, x, 20, 13.5, math.Pi/2, 12, 12)},
		{"hexagon", sdf.Prism(o, z, x, 20, 20, 6)},
		{"corners=8", sdf.Revolve(o, z, profile(8))},
		{"corners=32", sdf.Revolve(o, z, profile(32))},
		{"cylinders=8", row(8)},
		{"boxes=100", stack(100)},
	} {
		s := tt.s
		rnd := rand.New(rand.NewSource(1))
		size := s.Bounds().Size()
		points := make([]geom.Vec, 1024)
		for i := range points {
			points[i] = s.Bounds().Min.Add(geom.V(size.X*rnd.Float64(), size.Y*rnd.Float64(), size.Z*rnd.Float64()))
		}
		b.Run("solid="+tt.name, func(b *testing.B) {
			for i := 0; i < b.N; i++ {
				s.Distance(points[i%len(points)])
			}
		})
	}
}

func row(n int) sdf.Leafed {
	var all []sdf.Solid
	for i := range n {
		all = append(all, sdf.Cylinder(geom.V(float64(i)*8, 0, 0), geom.AxisZ, 20, 5))
	}
	return sdf.Join(all...)
}

// stack is a leaning wall as boxes, each a little further out than the one below.
func stack(n int) sdf.Leafed {
	var all []geom.Box
	for i := range n {
		x, z := float64(i)*0.8, float64(i)*25
		all = append(all, geom.Box{Min: geom.V(x-100, 0, z), Max: geom.V(x, 3000, z+25)})
	}
	return sdf.Boxes(all...)
}
