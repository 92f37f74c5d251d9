package sdf

import (
	"math"

	"turnwise/geom"
)

// Feature is a line on the surface of a primitive where two of its leaves meet: a sharp edge, or a seam where the
// surface goes on smoothly but its curvature changes (a bend and its leads). It is the circle of Radius about At
// square to Dir, or the straight line from At to To when Radius is 0.
type Feature struct {
	At, To geom.Vec
	Dir    geom.Vec
	Radius float64
	Seam   bool
}

// Features lists the edges and seams of the primitives that s is made of. Parts of them may have been cut away or lie
// inside other members, and the edges that joins and cuts make where members cross are not among them. A mesher may
// put grid planes beside them.
func Features(s Solid) []Feature {
	if f, ok := s.(field); ok {
		return f.features()
	}
	return nil
}

// Box returns the bounding box of the line.
func (f Feature) Box() geom.Box {
	if f.Radius == 0 {
		return geom.BoxOf(f.At, f.To)
	}
	// a circle square to Dir reaches Radius x sqrt(1 - d^2) along an axis on which Dir has the part d
	reach := func(d float64) float64 { return f.Radius * math.Sqrt(math.Max(0, 1-d*d)) }
	h := geom.V(reach(f.Dir.X), reach(f.Dir.Y), reach(f.Dir.Z))
	return geom.Box{Min: f.At.Sub(h), Max: f.At.Add(h)}
}

// moved returns the feature in the outer frame of pose.
func (f Feature) moved(pose geom.Pose) Feature {
	f.At, f.To, f.Dir = pose.Apply(f.At), pose.Apply(f.To), pose.Rotate(f.Dir)
	return f
}
